"""A transcript becomes a note: the one place where the extractors meet, in the order they claim words."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date

from assistant.records import (
    Agreement,
    DuctRun,
    Equipment,
    Event,
    JobLog,
    Material,
    Note,
    Reading,
    Remark,
    Task,
    Transcript,
)
from assistant.understand.agreements import find_agreements
from assistant.understand.claims import (
    find_durations,
    find_prices,
    put_prices_right,
    take_counts_and_labels,
    take_moments,
    take_offered_sizes,
)
from assistant.understand.clock import find_moments
from assistant.understand.commands import job_change
from assistant.understand.context import Context
from assistant.understand.corrections import apply_corrections
from assistant.understand.duct_runs import find_duct_runs, with_airflow
from assistant.understand.equipment import find_equipment, take_refrigerants, with_capacity, with_listed
from assistant.understand.events import Speech, find_events
from assistant.understand.groups import (
    allow_unsaid_hundreds,
    carry_metric_units,
    join_one_and_a_half,
    join_pounds_and_ounces,
    split_counts_from_sizes,
)
from assistant.understand.held_tests import find_moved, find_test_events, find_weak_capacitors, without_overtaken
from assistant.understand.materials import find_labour, find_materials
from assistant.understand.passage import Passage, read_passage
from assistant.understand.questions import SUPPOSING, is_question
from assistant.understand.readings import find_readings
from assistant.understand.special import (
    dry_and_wet,
    dual_capacitors,
    line_sizes,
    signed_statics,
    timed_meters,
    voltage_legs,
)
from assistant.understand.spoken import settle_spoken_numbers
from assistant.understand.systems import find_systems, names_listed, system_at
from assistant.understand.tasks import find_tasks, finished_words
from assistant.understand.topics import RAISED_BY

# What stands beside a name in a question that is nothing but that: "okay, and the upstairs superheat now".
_BESIDE_A_NAME = frozenset(
    "and the my our a so okay ok now also then on for upstairs downstairs about what how".split()
)


@dataclass(slots=True)
class Facts:
    """What is known of this note before its readings are sorted out."""

    equipment: list[Equipment] = field(default_factory=list)
    duct_runs: list[DuctRun] = field(default_factory=list)


def read(transcript: Transcript, note: str, day: str, job: JobLog) -> Note:
    """Everything one note says, given what the job already knows. Pure; raises nothing for any text."""
    passage = read_passage(transcript.text)
    context = Context(note, date.fromisoformat(day), transcript, job)
    questions = _set_questions_aside(passage)

    split_counts_from_sizes(passage)
    join_one_and_a_half(passage)
    join_pounds_and_ounces(passage)
    allow_unsaid_hundreds(passage)
    carry_metric_units(passage)
    refrigerants = take_refrigerants(passage)
    systems = find_systems(passage, context)
    moments = [m for m in find_moments(passage, context.date) if passage.free(m.start, m.end)]
    prices = find_prices(passage, in_context=False)
    take_moments(passage, moments)
    durations = find_durations(passage)
    special = timed_meters(passage, durations)
    equipment = find_equipment(passage, context, systems, refrigerants)
    equipment = with_listed(equipment, names_listed(passage), note)
    runs = find_duct_runs(passage, context, systems)
    special += dual_capacitors(passage) + voltage_legs(passage) + line_sizes(passage) + dry_and_wet(passage)
    special += signed_statics(passage)
    prices += find_prices(passage, in_context=True)
    prices = put_prices_right(passage, prices)
    take_offered_sizes(passage, prices)
    take_counts_and_labels(passage)
    if transcript.words:
        settle_spoken_numbers(passage)

    readings = find_readings(passage, context, systems, durations, moments, Facts(equipment, runs), special)
    readings, retractions = apply_corrections(passage, context, readings)
    systems_equipment = with_capacity(equipment, readings, note)

    speech = Speech(passage, context, systems, moments)
    agreements = find_agreements(speech, prices, runs)
    events = find_events(speech) + find_test_events(passage, context, readings)
    events += find_moved(context, readings, events) + find_weak_capacitors(context, readings, events)
    events = without_overtaken(events)
    readings = _without_old_capacitors(passage, readings, events)
    tasks = find_tasks(speech, agreements, events)
    tasks += [Task(words, status=status, note=note) for words, status in finished_words(speech)]
    materials = find_materials(speech, runs, readings, systems_equipment, prices)
    materials = [item for item in materials if not _only_offered(item, agreements)]
    labour = find_labour(speech, durations, readings)
    return Note(
        id=note,
        date=day,
        text=transcript.text,
        readings=tuple(readings),
        equipment=systems_equipment,
        duct_runs=with_airflow(runs, readings, passage),
        events=tuple(events),
        tasks=tuple(tasks),
        agreements=tuple(agreements),
        materials=tuple(materials),
        labour=tuple(labour),
        remarks=_remarks(passage, context),
        retractions=retractions,
        questions=tuple(questions),
        site=change.name if (change := job_change(transcript.text)) and change.is_new else None,
        system=system_at(len(passage.lower) - 1, systems, passage, context) if len(passage.lower) else None,
    )


def _set_questions_aside(passage: Passage) -> list[str]:
    """Numbers inside a question ("what's saturation at 118?") are asked about, not measured."""
    asked = []
    for place, (start, end) in enumerate(passage.sentences):
        if is_question(passage.said(start, end)) or _only_names(passage):
            begins = _behind_a_statement(passage, start, end)
            asked.append(passage.said(begins, end).strip())
            passage.take(begins, end)
            passage.set_aside(begins, end, but=RAISED_BY)
            passage.used_sentences.add(place)
    return asked


def _only_offered(item: Material, agreements: list[Agreement]) -> bool:
    """ "A new thermostat, two forty", and he passed on it: the price is the offer's, and nothing was used."""
    return item.price is not None and any(
        item.price == offer.price and offer.status in ("quoted", "pending", "declined") for offer in agreements
    )


def _only_names(passage: Passage) -> bool:
    """ "And the superheat": a note that names a quantity and nothing more wants to know it."""
    if passage.numbers or not passage.names or len(passage.sentences) > 1:
        return False
    named = {token for name in passage.names for token in range(name.start, name.end)}
    return all(
        token in named or word in _BESIDE_A_NAME or not word[0].isalnum() for token, word in enumerate(passage.lower)
    )


def _behind_a_statement(passage: Passage, start: int, end: int) -> int:
    """Where the question begins in "head's 342, what's my saturation": what stands before it was measured.

    "At 118 on 410A, what's saturation" only supposes, and is a question from its first word on.
    """
    cut = max((at for at in range(start, end) if passage.lower[at] in (",", ";")), default=start)
    stated = cut > start and passage.lower[start] not in SUPPOSING and not is_question(passage.said(start, cut))
    if (
        stated
        and passage.names_in(start, cut)
        and passage.numbers_in(start, cut)
        and is_question(passage.said(cut + 1, end))
    ):
        return cut + 1
    return start


def _without_old_capacitors(passage: Passage, readings: list[Reading], events: list[Event]) -> list[Reading]:
    """What an old capacitor read is superseded where the note goes on to say that it was replaced."""
    swapped = [e for e in events if e.kind == "part_replaced" and "cap" in (e.what or "").lower()]
    at = passage.text.find(swapped[0].said) if swapped else -1
    return [
        replace(r, status="superseded")
        if r.quantity == "capacitance" and r.role == "measured" and r.status == "current" and r.position < at
        else r
        for r in readings
    ]


def _remarks(passage: Passage, context: Context) -> tuple[Remark, ...]:
    """What nothing understood, in order: nothing that was said is lost."""
    found = []
    for place, (start, end) in enumerate(passage.sentences):
        if place in passage.used_sentences:
            continue
        first, last = passage.offsets[start][0], passage.offsets[end - 1][1]
        if not any(c.isalnum() for c in passage.text[first:last]):
            continue
        start_s, end_s, _ = context.transcript.span_times(first, last)
        found.append(Remark(passage.text[first:last].strip(), context.note, start_s, end_s))
    return tuple(found)
