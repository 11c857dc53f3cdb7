"""A person sets a reading right: which one is meant, whether that can be, and that it is kept."""

from __future__ import annotations

import math

from assistant.errors import NoteError, UnitMismatch
from assistant.ledger import Ledger
from assistant.log import corrections
from assistant.log.correcting import place_of
from assistant.log.store import Store, Told
from assistant.records import Correction, Reading
from assistant.units import to_contract, unit_of


def set_right(
    store: Store,
    ledger: Ledger,
    note: str,
    quantity: str,
    said: str,
    action: str,
    value: float | None,
    unit: str | None,
    by: str,
) -> Correction:
    """Keep a correction and bring the job up to date with it. Raises NoSuchNote, NoteError, UnitMismatch."""
    told = store.note(note)
    ledger.bring_up_to_date(told.job)
    reading = _meant(ledger, told, quantity, said)
    value, unit = _given(reading.quantity, reading.doubt, action, value, unit)
    mark = reading.correction
    was = (mark.was, mark.was_unit) if mark else (reading.value, reading.unit)
    corrections.add(store, Correction(note, quantity, reading.said, action, value, unit, *was, by))
    return [each for each in ledger.log(told.job).corrections if each.note == note][-1]


def _meant(ledger: Ledger, told: Told, quantity: str, said: str) -> Reading:
    readings = ledger.note(told.id).readings if told.is_heard else ()
    place = place_of(Correction(told.id, quantity, said, ""), readings)
    if place is None:
        raise NoteError(f"Note {told.id} has no {quantity.replace('_', ' ')} in the words {said!r}.")
    return readings[place]


def _given(
    quantity: str, doubt: str | None, action: str, value: float | None, unit: str | None
) -> tuple[float | None, str | None]:
    """The value a correction gives, in the contract's unit; None for both where it gives none."""
    if action not in ("correct", "confirm", "discard"):
        raise NoteError(f"A reading is corrected, confirmed or discarded; {action!r} is none of these.")
    if action != "correct":
        if value is not None:
            raise NoteError(f"To {action} a reading takes no value.")
        if action == "confirm" and doubt == "unit_mismatch":
            raise NoteError("Its unit cannot be that quantity's, so it cannot be confirmed; correct it, or discard it.")
        return None, None
    if value is None or not math.isfinite(value):
        raise NoteError("To correct a reading takes the value it should be.")
    own = unit_of(quantity)
    try:
        return to_contract(value, unit or own, own), own
    except UnitMismatch:
        raise
    except Exception as err:  # the unit library has its own kinds for a name it does not know
        raise UnitMismatch(f"{unit!r} is no unit that is known; {quantity.replace('_', ' ')} is in {own}.") from err
