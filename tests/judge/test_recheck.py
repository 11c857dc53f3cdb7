"""The recheck the program derives: opened when the charge is provisional, closed when it was checked on good air."""

from dataclasses import replace

from assistant.compute import work_out
from assistant.judge import weigh
from assistant.records import DuctRun, Equipment, Task
from tests.judge.jobs import r, target, told

UNIT = Equipment(refrigerant="R-454B", metering_device="txv", cooling_capacity=2.0)
CHARGE = (r("liquid_pressure", 330), r("liquid_line_temp", 98), target("subcooling", 8))  # 8.0 °F, in range
SHORT, ENOUGH = r("system_airflow", 600), r("system_airflow", 800)


def test_it_is_opened_once_and_only_once():
    job = told(UNIT, SHORT, *CHARGE).tell(r("control_voltage", 25)).tell(SHORT)
    assert [t.origin for t in job.rechecks()] == ["inferred"]


def test_it_waits_on_the_return_where_the_return_is_what_is_short():
    job = told(UNIT, DuctRun("return", size_in=(10.0,)), SHORT, *CHARGE)
    assert job.rechecks()[0].what == "recheck the charge once the return is enlarged"
    assert job.rechecks()[0].waits_on == "the return to be enlarged"


def test_it_waits_on_the_air_where_the_narrow_side_is_not_known():
    assert told(UNIT, SHORT, *CHARGE).rechecks()[0].waits_on == "the airflow to be mended"


def test_it_is_done_once_the_charge_was_checked_on_enough_air():
    job = told(UNIT, SHORT, *CHARGE).tell(ENOUGH, *CHARGE, date="2026-05-20")
    assert job.rechecks() == []
    assert len(job.rechecks("done")) == 1


def test_it_stays_open_while_only_the_air_was_mended():
    job = told(UNIT, SHORT, *CHARGE).tell(ENOUGH, date="2026-05-20")
    assert len(job.rechecks()) == 1


def test_a_charge_found_wrong_on_enough_air_was_rechecked_all_the_same():
    wrong = (r("liquid_pressure", 330), r("liquid_line_temp", 104))
    job = told(UNIT, SHORT, *CHARGE).tell(ENOUGH, *wrong, date="2026-05-20")
    assert job.verdict("charge").status == "low"
    assert len(job.rechecks("done")) == 1


def test_the_speakers_own_task_takes_its_place_and_is_closed_the_same_way():
    said = Task("recheck the charge tomorrow", due="2026-05-13")
    job = told(UNIT, SHORT, *CHARGE).tell(said)
    assert [t.origin for t in job.rechecks()] == ["said"]
    job.tell(ENOUGH, *CHARGE, date="2026-05-13")
    assert [(t.origin, t.status, t.due) for t in job.log.tasks] == [("said", "done", None)]


def test_a_recheck_planned_in_the_same_breath_as_a_good_reading_stays_open():
    job = told(UNIT, ENOUGH, *CHARGE, Task("recheck the charge on a hot day", due="2026-07-01"))
    assert [t.status for t in job.log.tasks] == ["open"]


def test_it_is_dropped_when_the_short_airflow_is_taken_back():
    log = told(UNIT, SHORT, *CHARGE).log
    taken_back = tuple(replace(x, status="retracted") if x.quantity == SHORT.quantity else x for x in log.readings)
    log = replace(log, readings=taken_back)
    log = weigh(replace(log, calculations=work_out(log)))
    assert [t.status for t in log.tasks] == ["dropped"]


def test_each_system_has_its_own():
    parts = []
    for system, cfm in (("unit 1", 600), ("unit 2", 650)):
        parts += [Equipment(system, "R-454B", "txv", 2.0), r("system_airflow", cfm, system=system)]
        parts += [r(x.quantity, x.value, x.role, system=system) for x in CHARGE]
    job = told(*parts)
    assert sorted(t.system for t in job.rechecks()) == ["unit 1", "unit 2"]
    again = [r(x.quantity, x.value, x.role, system="unit 1") for x in (*CHARGE, ENOUGH)]
    job.tell(*again, date="2026-05-20")
    assert [t.system for t in job.rechecks()] == ["unit 2"]


def test_nothing_is_derived_where_the_air_is_in_order():
    assert told(UNIT, ENOUGH, *CHARGE).log.tasks == ()
