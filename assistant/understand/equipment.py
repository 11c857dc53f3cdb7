"""Refrigerant, metering device, size and kind of each system, and the numbers inside their names."""

from __future__ import annotations

from dataclasses import replace

from assistant.records import Equipment, Reading
from assistant.understand.context import Context
from assistant.understand.lexicon import lists_of, wordings
from assistant.understand.passage import Passage
from assistant.understand.systems import SystemMention, system_at
from assistant.understand.tokens import load_table
from assistant.understand.vocabulary import find_all, none_said, says_any

_TABLE = load_table("equipment.toml")
_REFRIGERANTS = lists_of(_TABLE["refrigerants"])
_METERING_DEVICES = lists_of(_TABLE["metering_devices"])
_KINDS = lists_of(_TABLE["kinds"])
_IDENTITY = lists_of(_TABLE["identity"])
_SAME_REFRIGERANT = wordings(_TABLE["same_refrigerant"])
_FORMERLY = wordings(_TABLE["formerly"])
_BURN_GAS = tuple([word] for word in _TABLE["orifices_of_burners"])
_NO_LONGER = wordings(_TABLE["no_longer"])
_TOLD_OF = (_SAME_REFRIGERANT, *_METERING_DEVICES.values(), *_KINDS.values(), *_IDENTITY.values())
_OFFERED = tuple(
    wordings(load_table("agreements.toml")["answer"][kind]) for kind in ("offered", "declined", "approved", "pending")
)
_ON_THE_TRUCK = tuple([container, "of"] for container in ("jug", "bottle", "cylinder", "tank", "drum", "can", "jugs"))
_PEOPLE = wordings(load_table("agreements.toml")["answer"]["people"])


def take_refrigerants(passage: Passage) -> list[tuple[int, str]]:
    """Where a refrigerant is named, as (token, ASHRAE number); its digits are no reading.

    Without its letter a number is only a refrigerant behind an R ("R twenty two"); "four ten a ton" is airflow.
    """
    found: list[tuple[int, str]] = []
    if none_said(passage, _REFRIGERANTS.values()):
        return found
    for refrigerant, says in _REFRIGERANTS.items():
        for start, end in find_all(passage, says):
            lettered = passage.lower[end - 1] in ("a", "b", "c")
            before = passage.words(max(0, start - 2), start)
            behind_r = before[-1:] in (["r"], ["are"]) or before == ["r", "-"]
            follow = passage.lower[end : end + 1]
            if not (behind_r or lettered or _in_an_equipment_list(passage, start, end)) or (
                lettered and not behind_r and follow[:1] in (["ton"], ["tons"])
            ):
                continue
            if not passage.free(start, end):
                continue
            start -= 0 if not behind_r else len(before) if before == ["r", "-"] else 1
            passage.take(start, end)
            found.append((start, refrigerant))
            passage.drop_numbers(start, end)
    return sorted(found)


def _in_an_equipment_list(passage: Passage, start: int, end: int) -> bool:
    """ "Two ton, twenty two, piston": between commas or behind "on", beside a size or a metering device."""
    first, last = passage.sentences[passage.sentence_of(start)]
    before, after = passage.words(start - 1, start), passage.words(end, end + 1)
    if (
        start > first
        and before[:1] not in ([","], ["on"], ["with"], ["of"], ["ton"], ["tons"])
        or after[:1] not in ([","], ["."], [], ["with"], ["and"], ["in"])
        and passage.words(end, end + 2) not in (["on", "a"], ["on", "an"])  # "three ton of twenty two on a piston"
    ):
        return False
    devices = any(says_any(passage, says, first, last) for says in _METERING_DEVICES.values())
    if devices or after == ["on"]:
        return devices
    return any((unit := passage.units.get(n.end)) and unit.kinds[0] == "ton" for n in passage.numbers_in(first, last))


def find_equipment(
    passage: Passage, context: Context, systems: list[SystemMention], refrigerants: list[tuple[int, str]]
) -> list[Equipment]:
    """What the passage says each system is. Equipment that is only being offered stays out."""
    facts: dict[str, Equipment] = {}
    if not refrigerants and none_said(passage, _TOLD_OF):
        return []

    def note(token: int, **said) -> None:
        start, end = passage.sentences[passage.sentence_of(token)]
        if says_any(passage, _OFFERED[0], start, end) or _answered_by_somebody(passage, start, end):
            return
        system = system_at(token, systems, passage, context)
        known = facts.get(system) or Equipment(system=system, note=context.note)
        facts[system] = replace(known, **{k: v for k, v in said.items() if getattr(known, k) is None})
        passage.use(token)

    refrigerants = [(token, name) for token, name in refrigerants if not _only_a_price(passage, token)]
    for token, refrigerant in _still_in_there(passage, context, systems, refrigerants):
        note(token, refrigerant=refrigerant)
    for start, _ in find_all(passage, _SAME_REFRIGERANT):
        others = [e.refrigerant for e in (*context.job.equipment, *facts.values()) if e.refrigerant]
        if others:
            note(start, refrigerant=others[-1])
    for device, start in _devices(passage):
        note(start, metering_device=device)
    for kind, says in _KINDS.items():
        for start, _ in find_all(passage, says):
            note(start, kind=kind)
    for field, says in _IDENTITY.items():
        for start, end in find_all(passage, says):
            label = _label_behind(passage, end)
            if label:
                note(start, **{field: label})
    return list(facts.values())


def with_listed(equipment: list[Equipment], names: list[str], note: str) -> list[Equipment]:
    """A system told apart by name is kept from then on, though nothing is known of it yet."""
    known = {each.system for each in equipment}
    return [*equipment, *(Equipment(system=name, note=note) for name in names if name not in known)]


def _answered_by_somebody(passage: Passage, start: int, end: int) -> bool:
    """ "Owner says yes to the heat pump": what is agreed to or declined is not there yet."""
    return says_any(passage, _PEOPLE, start, end) and any(says_any(passage, says, start, end) for says in _OFFERED[1:])


def with_capacity(equipment: list[Equipment], readings: list[Reading], note: str) -> tuple[Equipment, ...]:
    """The size said as a reading belongs to the system too."""
    facts = {e.system: e for e in equipment}
    for reading in readings:
        if reading.quantity == "cooling_capacity" and reading.status == "current":
            known = facts.get(reading.system) or Equipment(system=reading.system, note=note)
            facts[reading.system] = replace(known, cooling_capacity=reading.value)
    return tuple(facts.values())


def _devices(passage: Passage) -> list[tuple[str, int]]:
    """Metering devices, the longest wording at each place ("electronic expansion valve" is no "expansion valve")."""
    spans = [(a, b, device) for device, says in _METERING_DEVICES.items() for a, b in find_all(passage, says)]
    spans = [span for span in spans if passage.lower[span[0] - 1 : span[0]] not in _BURN_GAS]
    spans.sort(key=lambda span: (span[0], -span[1]))
    found, last = [], -1
    for start, end, device in spans:
        if start < last:
            continue
        none_of_it = passage.words(start - 1, start) in (["no"], ["not"])  # "piston, no TXV on it"
        if found and start - last <= 10 and not none_of_it and passage.has_cue("between", last, start):
            found.pop()  # "capillary feed, uh, no, there's a piston in it"
        found.append((device, start))
        last = end
    return found


def _still_in_there(
    passage: Passage, context: Context, systems: list[SystemMention], refrigerants: list[tuple[int, str]]
) -> list[tuple[int, str]]:
    """ "That was R22, it's on 407C now": what a system used to have gives way to what else it is said to have."""
    if none_said(passage, (_FORMERLY, _NO_LONGER)):
        return refrigerants
    ends = {end + more for _, end in find_all(passage, _FORMERLY) for more in (0, 1)}  # "was an R-22"
    starts = {start for start, _ in find_all(passage, _NO_LONGER)}
    gone = {token for token, _ in refrigerants if token in ends or _leads_to(passage, token, starts)}
    there = [(token, name, system_at(token, systems, passage, context)) for token, name in refrigerants]
    now = {(system, name) for token, name, system in there if token not in gone}
    return [
        (token, name)
        for token, name, system in there
        if token not in gone or not any(other != name for known, other in now if known == system)
    ]


def _leads_to(passage: Passage, token: int, starts: set[int]) -> bool:
    """Whether one of `starts` stands right behind the name of a refrigerant that begins at a token."""
    behind = min((at for at in starts if token < at <= token + 5), default=None)
    return behind is not None and "," not in passage.words(token, behind)


def _only_a_price(passage: Passage, token: int) -> bool:
    """ "R-22's eighty bucks a pound", "used to be R-22" and "a jug of 410A" say nothing of what is in this system."""
    before = passage.words(max(0, token - 4), token)
    return (
        before[-3:] in (["used", "to", "be"], ["it", "was", "an"])
        or before[-2:] in (["was", "on"], ["instead", "of"], ["from", "an"])
        or before[-3:] in (["used", "to", "have"],)
        or before[-2:] in _ON_THE_TRUCK
        or _the_old_ones(passage, token)
    )


def _the_old_ones(passage: Passage, token: int) -> bool:
    """ "Recovered four pounds of R-22 off the old one", "the old R-22 unit": gone, where "an old R-22" is there."""
    start, end = passage.sentences[passage.sentence_of(token)]
    before = passage.words(max(start, token - 4), token)
    around = before + passage.words(token, min(end, token + 7))
    return ("the", "old") in zip(around, around[1:], strict=False) and "new" not in before


def _label_behind(passage: Passage, end: int) -> str | None:
    """A model or serial number as said, to the end of the clause."""
    stop = end
    while stop < len(passage.lower) and passage.tokens[stop] not in ",;.?!" and stop - end < 14:
        stop += 1
    words = passage.words(end, stop)
    if not any(any(c.isdigit() for c in w) for w in words) and not any(passage.numbers_in(end, stop)):
        return None
    passage.take(end, stop)
    return passage.said(end, stop).strip(" :#") if stop > end else None
