"""What needs attention first, job by job."""

from api.attention import KINDS, chosen, first_things_first, matters, standing
from assistant.records import Agreement, Concern, Event, Job, JobLog, Reading, Task, Verdict, Visit
from tests.api.jobs import demo_history, told

TODAY = "2026-06-15"
VISITS = (Visit("2026-06-01", ("n1",)),)


def log(name: str = "job", **parts) -> JobLog:
    return JobLog(Job(name), **{"visits": VISITS, **parts})


def kinds(a_log: JobLog, today: str = TODAY) -> list[str]:
    return [matter.kind for matter in matters(a_log, today)]


def test_a_task_is_overdue_the_day_after_it_was_due():
    a_log = log(tasks=(Task("call the owner", due="2026-06-14"), Task("order a filter", due="2026-06-15")))
    assert [m.words for m in matters(a_log, TODAY) if m.kind == "overdue"] == ["call the owner (due June 14)"]
    assert kinds(a_log, "2026-06-14") == []


def test_a_task_due_at_an_hour_is_not_overdue_that_day():
    assert kinds(log(tasks=(Task("first fire", due="2026-06-15T17:00"),))) == []


def test_a_task_that_is_done_or_dropped_asks_for_nothing():
    done = tuple(Task("call", due="2026-01-01", status=status) for status in ("done", "dropped"))
    assert kinds(log(tasks=done)) == []


def test_a_failed_inspection_and_one_whose_day_went_by_in_silence_are_both_listed():
    failed = Event("inspection", "gas", "failed", "2026-06-01", note="n1")
    silent = Event("inspection", "electrical", "scheduled", "2026-06-10", note="n1")
    to_come = Event("inspection", "sheet_metal", "scheduled", "2026-06-20", note="n1")
    words = [m.words for m in matters(log(events=(failed, silent, to_come)), TODAY)]
    assert words == ["gas inspection failed", "electrical inspection was set for June 10, no result told"]


def test_a_permit_that_nobody_inspected_is_missing_its_inspection():
    permit = Event("permit", "electrical", "posted", note="n1")
    assert [m.words for m in matters(log(events=(permit,)), TODAY)] == ["electrical permit, but no inspection told"]
    assert kinds(log(events=(permit,)), VISITS[0].date) == [], "not on the day the work is done"
    passed = Event("inspection", "electrical", "passed", note="n1")
    assert kinds(log(events=(permit, passed))) == []


def test_a_provisional_verdict_without_a_task_is_a_recheck_and_with_one_it_is_counted_once():
    verdict = Verdict("charge", "main", "provisional", "the airflow is short", finding="in_range")
    assert kinds(log(verdicts=(verdict,))) == ["recheck"]
    task = Task("recheck the charge once the return is enlarged", origin="inferred")
    assert kinds(log(verdicts=(verdict,), tasks=(task,))) == ["recheck"]


def test_work_offered_waits_for_its_answer_with_its_price():
    offered = Agreement("second return", status="pending", price=1140.0)
    (matter,) = matters(log(agreements=(offered,)), TODAY)
    assert (matter.kind, matter.words) == ("agreement", "second return: pending, owner, 1,140.00")
    assert kinds(log(agreements=(Agreement("second return", status="approved"),))) == []


def test_a_doubtful_value_is_listed_with_the_words_it_was_said_in():
    reading = Reading("liquid_line_temp", 704.0, "degF", said="liquid line 704", status="doubtful", note="n1")
    (matter,) = matters(log(readings=(reading,)), TODAY)
    assert matter.kind == "doubt" and '"liquid line 704"' in matter.words


def test_what_another_kind_counts_is_not_counted_again_as_a_finding():
    concerns = tuple(
        Concern(code, "main", "attention", code)
        for code in ("charge_provisional", "approval_pending", "inspection_failed", "value_implausible", "charge_low")
    )
    assert [m.words for m in matters(log(concerns=concerns), TODAY)] == ["charge_low"]


def test_a_concern_for_your_information_does_not_ask_for_attention():
    assert kinds(log(concerns=(Concern("refrigerant_record", "main", "info", "…"),))) == []


def test_what_can_hurt_comes_before_everything_and_one_stop_before_many_late_tasks():
    stop = log("flue", concerns=(Concern("carbon_monoxide_high", "main", "stop", "500 ppm"),))
    late = log("late", tasks=tuple(Task(f"task {n}", due="2026-01-01") for n in range(9)))
    quiet = log("quiet")
    ordered = first_things_first(standing(each, TODAY) for each in (quiet, late, stop))
    assert [each.job for each in ordered] == ["flue", "late", "quiet"]


def test_of_equally_urgent_jobs_the_one_visited_last_comes_first():
    old = log("old", visits=(Visit("2026-01-01", ("n1",)),))
    assert [s.job for s in first_things_first(standing(each, TODAY) for each in (old, log("new")))] == ["new", "old"]


def test_counts_are_words_with_their_plural():
    tasks = tuple(Task(f"task {n}", due="2026-01-01") for n in range(2))
    reading = Reading("superheat", 400.0, "delta_degF", said="400", status="doubtful")
    counted = standing(log(tasks=tasks, readings=(reading,)), TODAY).counts()
    assert counted == [("overdue", "2 tasks overdue"), ("doubt", "1 doubtful value")]
    assert set(dict(counted)) <= set(KINDS)


def test_the_demonstration_job_in_the_middle_and_at_its_end():
    first_day = demo_history("2025-08-19").latest
    found = {matter.kind for matter in matters(first_day, "2025-08-20")}
    assert {"recheck", "agreement"} <= found
    last = matters(demo_history().latest, "2025-09-09")
    words = [matter.words for matter in last]
    assert "sheet metal inspection was set for September 5, no result told" in words
    assert any(m.kind == "overdue" and "call the owner" in m.words for m in last)
    assert not any(m.kind in ("recheck", "agreement", "finding") for m in last)


def jobs():
    low = standing(told(("2026-05-12", "The upstairs unit is R-410A with a TXV. Upstairs suction 118, head 345, liquid "
                         "line 104, calls for ten of subcool."), job="print-shop").latest, TODAY)  # fmt: skip
    other = standing(log("bakery"), TODAY)
    return low, other


def test_filters_by_name_date_system_finding_and_kind():
    low, other = jobs()
    both = [low, other]
    assert chosen(both) == both
    assert chosen(both, words="print shop") == [low]
    assert chosen(both, since="2026-05-20") == [other]
    assert chosen(both, until="2026-05-20") == [low]
    assert chosen(both, since="2026-05-12", until="2026-05-12") == [low]
    assert chosen(both, system="Upstairs") == [low]
    assert chosen(both, finding="charge:low") == [low]
    assert chosen(both, finding="charge_low") == [low]
    assert chosen(both, kind="finding") == [low]
    assert chosen(both, kind="stop") == []
