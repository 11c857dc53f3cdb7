"""Laws of every paper, on random jobs: nothing raises, and no number stands there that is in no record."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from datetime import date, timedelta
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from icalendar import Calendar

from assistant import papers
from assistant.converse import JobHistory
from assistant.errors import AssistantError
from assistant.papers.sheet import record_sheet
from assistant.records import (
    Agreement,
    Calculation,
    Concern,
    Corrected,
    DuctRun,
    Equipment,
    Event,
    Job,
    JobLog,
    Labour,
    Material,
    Note,
    Reading,
    Remark,
    Task,
    Verdict,
    Visit,
)
from assistant.units import quantities
from tests.founded import unfounded

NOTES = ("n1", "n2", "n3")
DAYS = tuple((date(2026, 5, 12) + timedelta(days=at)).isoformat() for at in range(3))
# Letters only: a number said in words is no number of a record, so that each one found is looked for among values.
words = st.text(st.characters(codec="utf-8", exclude_categories=("N",)), max_size=12) | st.sampled_from(
    ["#panic()", "$x$", "@ref", "=cmd()", '"', "\\", "<b>", "]]>", "🔥", "w" * 90, "\u202e", ""]
)
value = st.floats(-5000, 5000).map(lambda number: round(number, 4)) | st.sampled_from(
    [0.0, 0.375, 99999.0, -99999.0, 1e-4]
)
maybe = st.none() | value
note = st.sampled_from(NOTES + ("of another job",))
system = st.sampled_from(["main", "studio", "unit", "site"])
moment = st.none() | st.sampled_from([*DAYS, "2026-05-20T09:15", "someday", ""])
readings = st.builds(
    Reading,
    st.sampled_from(sorted(quantities())),
    value,
    st.sampled_from(sorted({q.unit for q in quantities().values()})),
    st.sampled_from(["measured", "target", "rated", "estimated"]),
    system,
    words,
    note,
    st.none() | st.floats(0, 100),
    status=st.sampled_from(["current", "superseded", "retracted", "doubtful"]),
    qualifier=st.none() | st.sampled_from(["fan", "return"]),
    low=maybe,
    high=maybe,
    doubt=st.none() | st.just("value_implausible"),
    position=st.integers(0, 500),
    correction=st.none()
    | st.builds(
        Corrected,
        st.sampled_from(["correct", "confirm", "discard"]),
        words,
        st.just("2026-05-13T09:15:00+00:00"),
        value,
        st.sampled_from(["psi", "cfm"]),
    ),
)
calculations = st.builds(
    Calculation,
    st.sampled_from(["subcooling", "duct_capacity", "airflow_target", "total_charge", "vacuum_rise", "dew_point"]),
    system,
    value,
    st.sampled_from(["cfm", "delta_degF", "lb", "micron"]),
    st.floats(0, 50).map(lambda number: round(number, 3)),
    st.lists(readings, max_size=2).map(tuple),
    words,
    words,
    st.none() | st.sampled_from(["return", "supply"]),
)
verdicts = st.builds(
    Verdict,
    st.sampled_from(["charge", "airflow", "return_duct", "static", "vacuum", "an unknown thing"]),
    system,
    st.sampled_from(["in_range", "low", "high", "pass", "fail", "provisional", "unknown"]),
    words,
    maybe,
    maybe,
    maybe,
    st.lists(st.sampled_from(sorted(quantities())), max_size=2).map(tuple),
    st.none() | st.just("in_range"),
)


equipment = st.builds(
    Equipment,
    system,
    st.sampled_from([None, "R-410A", "R-999"]),
    st.sampled_from([None, "txv"]),
    maybe,
    st.none() | words,
    st.none() | words,
    st.none() | words,
)
duct_runs = st.builds(
    DuctRun,
    st.sampled_from(["return", "supply"]),
    st.integers(1, 4),
    st.sampled_from(["round", "rect"]),
    st.sampled_from([None, "flex"]),
    st.lists(value, max_size=2).map(tuple),
    maybe,
    maybe,
    system,
    st.sampled_from(["existing", "proposed", "added", "removed"]),
    note,
    words,
)
events = st.builds(
    Event,
    st.sampled_from(["inspection", "permit", "arrival", "delivery"]),
    st.sampled_from([None, "gas"]),
    st.sampled_from([None, "scheduled", "passed", "failed"]),
    moment,
    words,
    system,
    st.none() | words,
    note,
)
tasks = st.builds(
    Task,
    words,
    moment,
    st.none() | words,
    st.sampled_from(["open", "done", "dropped"]),
    st.none() | words,
    st.sampled_from(["said", "inferred"]),
    system,
    note,
)
offered = st.sampled_from(["quoted", "pending", "approved", "declined"])
agreements = st.builds(Agreement, words, words, offered, maybe, moment, system, note)
materials = st.builds(
    Material,
    words,
    value,
    st.sampled_from(["ea", "ft", "lb"]),
    st.sampled_from(["used", "needed", "ordered"]),
    maybe,
    note,
)
labour = st.builds(Labour, maybe, maybe, st.none() | st.integers(1, 9), words, note)
concerns = st.builds(
    Concern,
    words,
    system,
    st.sampled_from(["info", "attention", "stop"]),
    words,
    st.lists(words, max_size=2).map(tuple),
    st.none() | words,
)


@st.composite
def histories(draw: st.DrawFn) -> JobHistory:
    def some(records: st.SearchStrategy) -> tuple:
        return tuple(draw(st.lists(records, max_size=3)))

    visits = tuple(Visit(day, (name,)) for day, name in zip(DAYS, NOTES, strict=True))
    log = JobLog(
        Job(draw(words), draw(st.none() | words), draw(st.none() | words)),
        visits,
        some(equipment),
        tuple(draw(st.lists(readings, max_size=8))),
        some(duct_runs),
        some(events),
        some(tasks),
        some(agreements),
        some(materials),
        some(labour),
        some(calculations),
        some(verdicts),
        some(concerns),
    )
    notes = tuple(Note(name, day, "-", remarks=(Remark("-"),)) for name, day in zip(NOTES, DAYS, strict=True))
    early = replace(log, verdicts=log.verdicts[1:], calculations=log.calculations[1:], visits=visits[:2])
    return JobHistory(notes, (early, early, log))


SLOW = settings(max_examples=25)  # a PDF takes a tenth of a second


@SLOW
@given(histories())
def test_a_record_can_be_set_of_any_job(history: JobHistory):
    assert papers.record_pdf(history).startswith(b"%PDF-")


@given(histories())
def test_no_number_of_a_record_is_in_no_record(history: JobHistory):
    sheet = record_sheet(history)
    sheet.pop("advice")
    shown = [text for text in _texts(sheet) if text]
    assert unfounded("\n".join(shown), history, also=_of_times(history)) == []


@given(histories())
def test_the_tables_hold_each_record_once_and_no_formula(history: JobHistory):
    log = history.latest
    for text in (papers.log_csv(log), papers.refrigerant_csv(log), papers.invoice_csv(log)):
        header, *rows = csv.reader(io.StringIO(text, newline=""))
        assert all(len(row) == len(header) for row in rows)
        cells = [cell for row in rows for cell in row]
        assert not [cell for cell in cells if cell[:1] in "=+@\t" and cell]
        assert not [cell for cell in cells if cell.startswith("-") and not _is_number(cell)]
    assert len(papers.log_csv(log).splitlines()) == 1 + len(log.readings)
    assert len(papers.invoice_lines(log)) >= len(log.materials) + len(log.labour)


@given(histories())
def test_any_calendar_can_be_read_and_no_two_entries_share_a_uid(history: JobHistory):
    entries = [e for e in Calendar.from_ical(papers.tasks_calendar([history.latest])).walk() if e.name != "VCALENDAR"]
    assert len({str(entry["uid"]) for entry in entries}) == len(entries)


@given(histories())
def test_a_proposal_has_no_number_that_is_in_no_record(history: JobHistory):
    items = {float(number) for number in range(1, len(history.latest.agreements) + 1)}
    text = papers.proposal_text(history)
    assert unfounded(text, history, also=items | _of_times(history)) == []
    told = [a for a in history.latest.agreements if a.price is not None and a.status != "declined"]
    assert sum(line.strip().startswith("Price: $") for line in text.splitlines()) == len(told)


@given(histories(), st.sampled_from(["subcooling", "suction_pressure", "total_charge", "outdoor_temp"]), system)
def test_a_chart_is_a_picture_or_says_what_is_missing(history: JobHistory, quantity: str, where: str):
    for draw in (lambda: papers.trend_svg(history, quantity, where), lambda: papers.ducts_svg(history, where)):
        try:
            picture = draw()
        except AssistantError as err:
            assert str(err)
            continue
        root = ElementTree.fromstring(picture)
        assert not [each for each in root.iter() if each.tag.rpartition("}")[2] in ("script", "b")]
        for each in root.iter():
            for name in ("x", "x1", "x2", "cx"):
                assert 0 <= float(each.get(name, 1)) <= 360


@given(histories(), system)
def test_nothing_doubtful_is_among_the_values_of_a_visit(history: JobHistory, where: str):
    doubted = {r.value for r in history.latest.readings if r.status in ("doubtful", "retracted") or r.doubt}
    sure = {r.value for r in history.latest.readings if r.status in ("current", "superseded") and not r.doubt}
    for row in papers.values_by_visit(history, where):
        if not row.worked_out:
            assert all(cell.value not in doubted - sure for cell in row.cells.values())


def test_the_law_can_fail():
    assert unfounded("subcooling 11.4 °F", Reading("subcooling", 11.3, "delta_degF")) == ["11.4"]


@pytest.mark.parametrize("number", ["3.5", "-2", "1e-05"])
def test_a_number_is_told_from_a_formula(number: str):
    assert _is_number(number) and not _is_number("-2+3")


def _is_number(cell: str) -> bool:
    try:
        float(cell)
    except ValueError:
        return False
    return True


def _texts(value: object) -> list[str]:
    if isinstance(value, str):
        return [value]
    if isinstance(value, dict):
        return [text for each in value.values() for text in _texts(each)]
    return [text for each in value for text in _texts(each)] if isinstance(value, list) else []


def _of_times(history: JobHistory) -> set[float]:
    """An hour as people say it: of 21:15 they say 9:15."""
    said = json.dumps([e.when for e in history.latest.events])
    return {9.0} if "T09" in said else set()
