"""Jobs are listed a page at a time, and no page misses or repeats one, whatever is told meanwhile."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant import Assistant
from assistant.errors import NoSuchJob
from assistant.log import derived
from assistant.log.store import Store

DAY = date(2026, 5, 12)


def _pages(store: Store, size: int) -> list[str]:
    found: list[str] = []
    while page := derived.job_lines(store, size, found[-1] if found else None):
        assert len(page) <= size
        found += [line.id for line in page]
    return found


@given(
    told=st.lists(st.integers(0, 6), max_size=20),
    opened=st.sets(st.integers(0, 9), max_size=10),
    size=st.integers(1, 7),
)
def test_the_pages_one_after_another_are_the_whole_list(told, opened, size):
    store = Store(None)
    for number in opened:
        store.open_job(f"job {number}")
    for place, number in enumerate(told):
        store.add_note(store.open_job(f"job {number}"), "2026-05-12", text=f"words {place}")
    every = [line.id for line in derived.job_lines(store)]
    last_told_first = list(dict.fromkeys(f"job {number}" for number in reversed(told)))
    assert every[: len(last_told_first)] == last_told_first
    assert sorted(every) == sorted({f"job {number}" for number in {*told, *opened}})
    assert _pages(store, size) == every
    store.close()


def test_what_is_told_between_two_pages_makes_the_second_miss_and_repeat_nothing():
    with Assistant() as assistant:
        for number in range(6):
            assistant.tell("Head is 340.", job=f"job {number}", date=DAY)
        first = [line["id"] for line in assistant.jobs(limit=3)]
        assistant.tell("Suction is 118.", job="job 0", date=DAY)
        assistant.tell("Suction is 118.", job="a new one", date=DAY)
        second = [line["id"] for line in assistant.jobs(limit=3, behind=first[-1])]
    assert (first, second) == (["job 5", "job 4", "job 3"], ["job 2", "job 1"])  # job 0 has come to the front


def test_a_page_has_its_own_findings_and_no_job_is_behind_one_that_is_not_there():
    with Assistant() as assistant:
        assistant.tell("Return airflow is 900 cfm on a four ton system.", job="shop", date=DAY)
        assistant.tell("I need to order a filter.", job="bakery", date=DAY)
        page = assistant.jobs(limit=1, behind="bakery")
        assert [(line["id"], [v[1:] for v in line["verdicts"] if v[1] == "airflow"]) for line in page] == [
            ("shop", [["airflow", "low"]])
        ]
        assert assistant.jobs_with_open_tasks() == ["bakery"]
        assert assistant.jobs_visited_since(date(2026, 5, 13)) == []
        with pytest.raises(NoSuchJob):
            assistant.jobs(behind="nowhere")
