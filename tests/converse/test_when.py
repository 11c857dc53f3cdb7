"""Which visit a question means."""

from __future__ import annotations

import pytest

from assistant.converse.when import visit_asked
from assistant.understand.patterns import plain_words
from tests.converse.histories import corpus_job

PRINT_SHOP = corpus_job("print-shop")  # May 12, 19 and 20; the return was added on the 19th


@pytest.mark.parametrize(
    ("question", "visit"),
    [
        ("what was it the first day?", 0),
        ("what about the first visit, on the twelfth?", 0),
        ("on the second visit", 1),
        ("what was it day three", 2),
        ("originally", 0),
        ("at first", 0),
        ("last time", 1),
        ("on the previous visit", 1),
        ("yesterday", 1),
        ("what was it on May 12", 0),
        ("what was it on the 19th", 1),
        ("on May the nineteenth", 1),
        ("the twelfth of May", 0),
        ("back in May", 2),
        ("last week", 0),
        ("on Tuesday", 1),
        ("the last day", 2),
        ("before the return went in", 0),
        ("after the new return went in", 1),
    ],
)
def test_the_visit_is_found(question: str, visit: int):
    asked = visit_asked(plain_words(question), PRINT_SHOP, "2026-05-20", None)
    assert asked.visit == visit
    assert asked.said


def test_that_day_is_the_one_spoken_of():
    assert visit_asked("what was the subcool that day", PRINT_SHOP, "2026-05-20", 0).visit == 0


@pytest.mark.parametrize("question", ["in June", "on the thirtieth", "the fourth day", "last month"])
def test_a_day_without_a_visit_is_told_apart_from_no_day(question: str):
    asked = visit_asked(plain_words(question), PRINT_SHOP, "2026-05-20", None)
    assert asked.nothing_then


@pytest.mark.parametrize(
    "question", ["what's my subcool?", "did the second return help?", "what size is the first run?"]
)
def test_a_question_without_a_day_names_none(question: str):
    assert not visit_asked(plain_words(question), PRINT_SHOP, "2026-05-20", None).said
