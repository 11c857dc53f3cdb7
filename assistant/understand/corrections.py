"""Taking back what was said: "scratch that", and "no wait, that was nine fifty, not nine hundred"."""

from __future__ import annotations

import math
from dataclasses import replace

from assistant.records import Reading, Retraction
from assistant.understand.bind import best_sense, plain_wording
from assistant.understand.context import Context
from assistant.understand.passage import Passage
from assistant.units import quantities, unit_of


def apply_corrections(
    passage: Passage, context: Context, readings: list[Reading]
) -> tuple[list[Reading], tuple[Retraction, ...]]:
    """The note's readings with what it takes back retracted, and what it takes back from earlier notes."""
    readings, retractions = _without_all(passage, context, list(readings))
    for start, end in passage.cues.get("take_back", ()):
        at = passage.offsets[start][0]
        if _replaced_at_once(readings, at, passage, end):
            continue
        before = [i for i, r in enumerate(readings) if r.position < at and r.status in ("current", "doubtful")]
        if before:
            readings[before[-1]] = replace(readings[before[-1]], status="retracted")
        elif earlier := _last_earlier(context, retractions):
            retractions.append(Retraction(earlier.note, earlier.position, earlier.quantity))
        passage.use(start)
    for quantities_named in _named_take_backs(passage):
        before = [
            i for i, r in enumerate(readings) if r.quantity in quantities_named and r.status in ("current", "doubtful")
        ]
        earlier = [r for r in context.last_readings() if r.quantity in quantities_named]
        if before:
            readings[before[-1]] = replace(readings[before[-1]], status="retracted")
        elif earlier:
            retractions.append(Retraction(earlier[-1].note, earlier[-1].position, earlier[-1].quantity))
    readings = _renamed(passage, readings)
    readings, more = _replacements(passage, context, readings)
    return readings, (*retractions, *more)


def _without_all(
    passage: Passage, context: Context, readings: list[Reading]
) -> tuple[list[Reading], list[Retraction]]:
    """ "Forget all that", "I had those backwards": all of the note so far, or where that is nothing the one before."""
    retractions: list[Retraction] = []
    for start, _ in passage.cues.get("take_back_all", ()):
        at = passage.offsets[start][0]
        if any(r.position < at for r in readings):
            readings = [replace(r, status="retracted") if r.position < at else r for r in readings]
        else:
            last = context.last_readings()[-1:]
            told = [r for r in context.last_readings() if last and r.note == last[0].note]
            retractions += [Retraction(r.note, r.position, r.quantity) for r in told]
        passage.use(start)
    return readings, retractions


def _named_take_backs(passage: Passage) -> list[tuple[str, ...]]:
    """ "take back the supply": the quantities the name can mean, where no new value is said with it."""
    found = []
    for _, end in passage.cues.get("take_back_named", ()):
        name = next(iter(passage.names_in(end, end + 2)), None)
        sentence = passage.sentences[passage.sentence_of(end - 1)]
        if name and not passage.numbers_in(*sentence):
            found.append(name.quantities())
            passage.use(end - 1)
    return found


def _renamed(passage: Passage, readings: list[Reading]) -> list[Reading]:
    """ "Sorry, I said superheat, I meant subcool": the value stands, its name was wrong."""
    meant = {  # the last in each sentence
        passage.sentence_of(b - 1): b
        for _, b in passage.cues.get("between", ())
        if passage.lower[b - 1] in ("meant", "mean")
    }
    for sentence, at in meant.items():
        start, end = passage.sentences[sentence]
        name = next(iter(passage.names_in(at, at + 3)), None)
        if name is None or passage.numbers_in(start, end):
            continue
        place = max((i for i, r in enumerate(readings) if r.position < passage.offsets[start][0]), default=None)
        known = [
            q
            for q in name.quantities()
            if q in quantities() and place is not None and unit_of(q) == readings[place].unit
        ]
        if known and readings[place].status == "current":
            wrong = readings[place]
            readings = [
                *readings[:place],
                replace(wrong, status="retracted"),
                replace(wrong, quantity=known[0]),
                *readings[place + 1 :],
            ]
            passage.use(start)
    return readings


def _replaced_at_once(readings: list[Reading], at: int, passage: Passage, end: int) -> bool:
    """ "118, scratch that, 120": the slip already gave way to its replacement."""
    before = [r for r in readings if r.position < at]
    return bool(before) and before[-1].status == "retracted"


def _last_earlier(context: Context, gone: list[Retraction]) -> Reading | None:
    taken = {(g.note, g.position, g.quantity) for g in gone}
    left = [r for r in context.last_readings() if (r.note, r.position, r.quantity) not in taken]
    return left[-1] if left else None


def _replacements(
    passage: Passage, context: Context, readings: list[Reading]
) -> tuple[list[Reading], list[Retraction]]:
    """A note that opens by putting an earlier value right, with or without naming it."""
    retractions: list[Retraction] = []
    if "replace" not in passage.cues and "not" not in passage.vocabulary:
        return readings, retractions
    for start, end in passage.sentences[:2]:
        cue = next(((a, b) for a, b in passage.cues.get("replace", ()) if start <= a and b <= end), None)
        numbers = passage.numbers_in(start, end)
        denies = any(passage.words(n.start - 1, n.start) == ["not"] for n in numbers)
        if cue is None and not (denies and len(numbers) > 1):
            continue
        here = [r for r in readings if passage.offsets[start][0] <= r.position <= passage.offsets[end - 1][1]]
        if any(r.status == "retracted" for r in here) or not numbers:
            continue
        denied = [n for n in numbers if passage.words(max(0, n.start - 1), n.start) == ["not"]]
        if here:
            for reading in here:
                retractions += [Retraction(o.note, o.position, o.quantity) for o in _same(context, reading)]
            readings = [r for r in readings if not any(_stands_at(passage, n, r) for n in denied)]
            continue
        said = [n for n in numbers if n not in denied and passage.free(n.start, n.end)]
        old = _meant(context, [n.value for n in denied])
        if not said or old is None:
            continue
        sense = best_sense(passage, (plain_wording(old.quantity),), said[0], frozenset(), tight=False)
        if sense is None:
            continue  # "hang on, two pounds two" puts no current right
        value = sense.value
        first, last = passage.offsets[said[0].start][0], passage.offsets[said[0].end - 1][1]
        start_s, end_s, heard = context.transcript.span_times(first, last)
        readings.append(
            replace(
                old,
                value=value,
                said=passage.text[first:last],
                note=context.note,
                start_s=start_s,
                end_s=end_s,
                confidence=round(0.9 * (heard if heard is not None else 1.0), 3),
                status="current",
                doubt=None,
                low=None,
                high=None,
                position=first,
            )
        )
        retractions.append(Retraction(old.note, old.position, old.quantity))
        for number in numbers:
            passage.take(number.start, number.end)
        passage.use(said[0].start)
    return readings, retractions


def _stands_at(passage: Passage, number, reading: Reading) -> bool:
    return passage.offsets[number.start][0] <= reading.position <= passage.offsets[number.end - 1][1]


def _same(context: Context, reading: Reading) -> list[Reading]:
    """The earlier values of the same thing on the same visit, which this one puts right."""
    today = {note for visit in context.job.visits if visit.date == context.date.isoformat() for note in visit.notes}
    return [r for r in context.last_readings() if _key(r) == _key(reading) and r.note in today]


def _key(reading: Reading) -> tuple:
    return reading.quantity, reading.role, reading.system, reading.qualifier


def _meant(context: Context, denied: list[float]) -> Reading | None:
    """Which earlier reading is put right: the one with the denied value, else the last one."""
    earlier = context.last_readings()
    if denied:
        return next((r for r in reversed(earlier) if any(math.isclose(r.value, d, rel_tol=1e-3) for d in denied)), None)
    return earlier[-1] if earlier else None
