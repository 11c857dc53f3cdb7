"""Signs of a leak, open until something was mended or a test passed; and the refrigerant that went in or out."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from assistant.judge.facts import Facts, evidence, shown
from assistant.judge.tables import concern, limit, refrigerant_facts, speaks_of
from assistant.records import Concern, Reading, Verdict
from assistant.units import pounds_and_ounces


def weigh_leaks(facts: Facts, tightness: Iterable[Verdict]) -> Iterator[Concern]:
    """`tightness`: the verdicts on pressure test and vacuum, for a loss that nobody called a failure."""
    closed = _closed_at(facts)
    signs = [words for place, words in (*_signs(facts), *_losses(facts, tightness)) if place > closed]
    if signs:
        yield concern("leak_suspected", facts.system, tuple(signs), figures=signs[0])


def _signs(facts: Facts) -> Iterator[tuple[int, str]]:
    """(place of the note, words): a test that failed, a leak found or seen, a leak still to be mended."""
    for event in facts.events:
        words = event.what or event.said
        if event.kind == "pressure_test" and event.outcome == "failed" and facts.measured("test_pressure") is None:
            yield facts.place(event.note), words or "the pressure test failed"
        elif event.kind == "failure_found" and speaks_of("leak", words):
            yield facts.place(event.note), words
    for task in facts.tasks:
        if task.status == "open" and speaks_of("leak", task.what):
            yield facts.place(task.note), f"still to do: {task.what}"
    for remark in facts.remarks:
        if speaks_of("leak", remark.text):
            yield facts.place(remark.note), remark.text


def _losses(facts: Facts, tightness: Iterable[Verdict]) -> Iterator[tuple[int, str]]:
    """A pressure test that failed by its figures, and a vacuum that rose too fast for moisture."""
    for verdict in tightness:
        last = facts.measured({"pressure_test": "test_pressure", "vacuum": "vacuum_level"}[verdict.about])
        if verdict.status != "fail" or last is None:
            continue
        if verdict.about == "pressure_test":
            yield facts.place(last.note), f"pressure test {verdict.because}"
        else:
            rise, fastest = facts.calculation("vacuum_rise"), limit("vacuum_rise_of_a_leak").at
            minutes = [r.value for r in rise.inputs if r.quantity == "test_duration"] if rise else []
            if rise and last in rise.inputs and minutes and minutes[0] and rise.value / minutes[0] >= fastest:
                yield facts.place(last.note), f"vacuum {verdict.because}, {rise.value / minutes[0]:.0f} a minute"


def _closed_at(facts: Facts) -> int:
    """The last note in which a leak was mended or the system was shown to be tight; -1 for never."""
    places = [-1]
    for event in facts.events:
        passed = event.kind in ("pressure_test", "evacuation") and event.outcome == "passed"
        mended = event.kind == "part_replaced" and speaks_of("leak", event.what or event.said)
        if passed or mended:
            places.append(facts.place(event.note))
    places += [facts.place(t.note) for t in facts.tasks if t.status == "done" and speaks_of("leak", t.what)]
    return max(places)


def weigh_records(facts: Facts) -> Iterator[Concern]:
    """What went in and out, for the record; and what burns."""
    name = facts.equipment.refrigerant or ""
    kind = refrigerant_facts(name)
    if kind and kind["burns"]:
        safety_class = kind["safety_class"]
        proof = (f"{name}: {safety_class}, {kind['source']}",)
        yield concern("refrigerant_flammable", facts.system, proof, refrigerant=name, safety_class=safety_class)
    moved = [(r, word) for r, word in _moved(facts)]
    if not moved:
        return
    figures = ", ".join(f"{pounds_and_ounces(r.value) or shown(r.value, r.unit)} {word}" for r, word in moved)
    full = facts.calculation("total_charge")
    big = limit("leak_rule_charge").at
    # The federal leak-repair rule is for large charges of ozone-depleting refrigerant. A house unit is never
    # told that it must be repaired.
    if kind and kind["depletes_ozone"] and full and full.value >= big:
        figures += f"; with {full.value:.0f} lb of {name} the federal leak-repair rule may apply, so check the log"
    yield concern("refrigerant_record", facts.system, evidence(*(r for r, _ in moved)), figures=figures)


def _moved(facts: Facts) -> Iterator[tuple[Reading, str]]:
    for name, word in (("refrigerant_added", "in"), ("refrigerant_recovered", "out")):
        for reading in facts.history(name):
            yield reading, word
