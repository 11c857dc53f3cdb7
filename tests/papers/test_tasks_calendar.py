"""The calendar: right days, one entry a thing, and the same entry when it is imported again."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime

from icalendar import Calendar

from assistant.papers import tasks_calendar
from assistant.records import Event, Job, JobLog, Task, Visit
from tests.papers.telling import demo


def entries(*logs: JobLog) -> list:
    return [part for part in Calendar.from_ical(tasks_calendar(logs)).walk() if part.name in ("VEVENT", "VTODO")]


def _log(*events: Event, tasks: tuple[Task, ...] = (), job: str = "bakery") -> JobLog:
    visits = (Visit("2026-05-12", ("n1",)), Visit("2026-05-14", ("n2", "n3")))
    return JobLog(Job(job), visits, events=events, tasks=tasks)


def test_the_demo_has_the_call_the_passed_and_the_coming_inspection():
    found = {str(entry["summary"]): entry for entry in entries(demo().latest)}
    assert len(found) == 3
    call = next(entry for title, entry in found.items() if "call the owner" in title)
    assert call["dtstart"].dt == date(2025, 9, 8) and call["dtend"].dt == date(2025, 9, 9)
    assert found["gas inspection: passed (pottery-studio)"]["dtstart"].dt == datetime(2025, 8, 27, 10, 30)
    assert found["sheet metal inspection (pottery-studio)"]["dtstart"].dt == date(2025, 9, 5)


def test_an_hour_is_floating_and_has_no_length_because_none_was_said():
    (entry,) = entries(_log(tasks=(Task("meet the inspector", "2026-05-20T09:15", note="n1"),)))
    assert entry["dtstart"].dt == datetime(2026, 5, 20, 9, 15) and entry["dtstart"].dt.tzinfo is None
    assert "dtend" not in entry and "duration" not in entry
    assert b"DTSTART:20260520T091500\r\n" in tasks_calendar([_log(tasks=(Task("meet", "2026-05-20T09:15"),))])


def test_an_open_task_without_a_day_is_a_to_do_and_a_finished_one_is_gone():
    found = entries(_log(tasks=(Task("order a grille"), Task("seal the boot", status="done"))))
    assert [(entry.name, str(entry["summary"])) for entry in found] == [("VTODO", "order a grille (bakery)")]
    assert "dtstart" not in found[0] and "due" not in found[0]


def test_a_dropped_task_that_has_a_day_is_cancelled():
    (entry,) = entries(_log(tasks=(Task("call back", "2026-05-20", status="dropped"),)))
    assert entry["status"] == "CANCELLED" and str(entry["summary"]).startswith("Dropped: ")


def test_an_inspection_that_was_moved_and_passed_is_one_entry_with_its_uid():
    first = Event("inspection", "gas", "scheduled", "2026-05-20", note="n1")
    moved = Event("inspection", "gas", "scheduled", "2026-05-22T10:00", note="n2")
    passed = Event("inspection", "gas", "passed", None, note="n3")
    (before,), (between,), (after,) = (
        entries(_log(first)),
        entries(_log(first, moved)),
        entries(_log(first, moved, passed)),
    )
    assert between["dtstart"].dt == after["dtstart"].dt == datetime(2026, 5, 22, 10)
    assert before["uid"] == between["uid"] == after["uid"]
    assert str(after["summary"]) == "gas inspection: passed (bakery)"


def test_a_new_inspection_after_one_that_failed_is_another_entry():
    failed = Event("inspection", "gas", "failed", "2026-05-12", note="n1")
    again = Event("inspection", "gas", "scheduled", "2026-05-20", note="n2")
    found = entries(_log(failed, again))
    assert [entry["dtstart"].dt for entry in found] == [date(2026, 5, 12), date(2026, 5, 20)]
    assert len({str(entry["uid"]) for entry in found}) == 2


def test_a_delivery_that_was_set_is_there_and_an_arrival_is_not():
    found = entries(
        _log(Event("delivery", None, "scheduled", "2026-05-20", note="n1"), Event("arrival", when="2026-05-12T07:20"))
    )
    assert [str(entry["summary"]) for entry in found] == ["delivery (bakery)"]


def test_a_task_keeps_its_uid_when_its_day_moves_and_two_jobs_never_share_one():
    task = Task("call the owner", "2026-05-20", note="n1")
    (one,), (other,) = entries(_log(tasks=(task,))), entries(_log(tasks=(replace(task, due="2026-05-21"),)))
    assert one["uid"] == other["uid"]
    both = entries(_log(tasks=(task, task)), _log(tasks=(task,), job="diner"))
    assert len({str(entry["uid"]) for entry in both}) == 3


def test_the_same_logs_give_the_same_bytes_stamped_with_the_last_visit():
    log = _log(tasks=(Task("call", "2026-05-20"),))
    assert tasks_calendar([log]) == tasks_calendar([log])
    (entry,) = entries(log)
    assert entry["dtstamp"].dt == datetime(2026, 5, 14, tzinfo=UTC) and entry["sequence"] == 3


def test_hostile_words_stay_inside_their_line():
    words = "BEGIN:VEVENT\r\nSUMMARY:x;y,z\\n\u202e\x00 \U0001f525"
    (entry,) = entries(_log(tasks=(Task(words, "2026-05-20"),)))
    assert str(entry["summary"]) == "BEGIN:VEVENT SUMMARY:x;y,z\\n \U0001f525 (bakery)"


def test_no_jobs_make_an_empty_calendar():
    assert entries() == []
