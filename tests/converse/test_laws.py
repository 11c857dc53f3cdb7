"""What holds for any question: it is answered, and no number is stated that was neither said nor worked out."""

from __future__ import annotations

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.converse import ask, is_question
from assistant.converse.vocabulary import asked, findings, kinds
from assistant.records import JobLog
from tests.converse.histories import corpus_job, numbers_in

JOBS = ["print-shop", "two-storey", "farmhouse", "cafe", "hardware-store", "library-annex", "bookshop", "music-school"]
_OPENINGS = [
    "what's my", "what was the", "how much", "is the", "was the", "did the", "how's the", "and the", "what about the",
    "when's the", "why is the", "how short is the", "what should the", "compare the", "which",
]  # fmt: skip
_SUBJECTS = [say for row in asked().values() for say in row.say if re.fullmatch(r"[a-z ]+", say)]
_SUBJECTS += [say for row in findings().values() for say in row.say]
_SUBJECTS += ["inspector", "return", "owner", "permit", "strap", "unit two", "upstairs", "mayor", "barometer", "hours"]
_ENDS = [
    "",
    "the first day",
    "last time",
    "on the twelfth",
    "in June",
    "upstairs",
    "be",
    "in range",
    "pass",
    "now",
    "before that",
]

questions = st.builds(
    lambda opening, subject, end: f"{opening} {subject} {end}".strip(),
    st.sampled_from(_OPENINGS),
    st.sampled_from(_SUBJECTS),
    st.sampled_from(_ENDS),
)


def known_numbers(log: JobLog) -> list[float]:
    """Every number the log holds, said or worked out, in its records and in the words of its findings."""
    values = [v for r in log.readings for v in (r.value, r.low, r.high) if v is not None]
    values += [c.value for c in log.calculations]
    values += [v for x in log.verdicts for v in (x.value, x.target, x.tolerance) if v is not None]
    values += [
        n for run in log.duct_runs for n in (run.count, run.length_ft, run.airflow_cfm, *run.size_in) if n is not None
    ]
    values += [a.price for a in log.agreements if a.price is not None]
    values += [w for work in log.labour for w in (work.hours, work.days) if w is not None]
    values += [m.quantity for m in log.materials] + [e.cooling_capacity for e in log.equipment if e.cooling_capacity]
    values += [
        n for r in log.readings if r.unit == "lb" for n in (r.value // 1, round(r.value % 1 * 16, 2), r.value * 16)
    ]
    texts = (
        [v.because for v in log.verdicts]
        + [c.text + (c.caution or "") for c in log.concerns]
        + [a.text for a in log.asks]
    )
    texts += [a.scope for a in log.agreements] + [t.what for t in log.tasks] + [m.item for m in log.materials]
    worded = " ".join(texts).replace("°F", " ").replace("%", " ").replace("±", " ")
    return values + numbers_in(worded)


def without_dates(say: str) -> str:
    months = "January|February|March|April|May|June|July|August|September|October|November|December"
    say = re.sub(rf"\b(?:{months}) \d+(?: at \d+(?::\d+)? [ap]m)?|\b\d+ (?:{months})\b", "", say)
    return re.sub(r"\b\d+-?\d*/\d+\b|\bR-\d+\w*\b", "", say)


@settings(max_examples=300, deadline=None)
@given(questions, st.sampled_from(JOBS))
def test_no_number_is_stated_that_was_neither_said_nor_worked_out(question: str, job: str):
    history = corpus_job(job)
    answer, _ = ask(question, {job: history}, job, None, history.notes[-1].date)
    assert answer.say
    known = [n for log in history.logs for n in known_numbers(log)]
    known += [a - b for a in known for b in known] if re.search("compare|change|up|down|gain|short", question) else []
    if '"' in answer.say or "would close" in answer.say or "carries" in answer.say:
        return  # the speaker's own words, or ducts reckoned for what is short
    for number in numbers_in(without_dates(answer.say)):
        assert any(abs(number - each) <= (0.51 if abs(each) > 100 else 0.06) for each in known), (
            question,
            answer.say,
            number,
        )


@settings(max_examples=200, deadline=None)
@given(st.lists(questions, min_size=1, max_size=5), st.sampled_from(JOBS))
def test_no_talk_stops_the_assistant(talk: list[str], job: str):
    history, focus = corpus_job(job), None
    for question in talk:
        answer, focus = ask(question, {job: history}, job, focus, history.notes[-1].date)
        assert answer.say
        assert (answer.value is None) or isinstance(answer.value, float | int)


@settings(max_examples=200, deadline=None)
@given(st.text(max_size=60))
def test_any_text_is_answered(text: str):
    history = corpus_job("print-shop")
    answer, _ = ask(text, {"print-shop": history}, "print-shop", None, "2026-05-20")
    assert answer.say
    assert is_question(text) in (True, False)


@pytest.mark.parametrize("kind", kinds(), ids=lambda kind: kind.name)
def test_every_kind_is_answered_for_a_job_without_a_word(kind):
    answer, _ = ask(kind.example, {"music-school": corpus_job("music-school")}, "music-school", None, "2026-05-21")
    assert answer.say
    assert answer.value is None
