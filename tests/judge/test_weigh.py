"""Laws of the whole: pure, weighing twice changes nothing, systems apart, and light to import."""

import subprocess
import sys
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.compute import work_out
from assistant.judge import weigh
from assistant.records import DuctRun, Equipment, Event, Job, JobLog, Remark, Task, plain
from assistant.units import quantities
from tests.judge.jobs import Told, corpus_items, corpus_jobs, r, target, told

STATUSES = {"in_range", "low", "high", "pass", "fail", "provisional", "unknown"}
_VALUES = st.sampled_from(sorted(quantities())).flatmap(
    lambda name: st.builds(
        r,
        st.just(name),
        st.floats(quantities()[name].low, quantities()[name].high),
        st.sampled_from(["measured", "target", "rated", "estimated"]),
        system=st.sampled_from(["main", "upstairs"]),
        status=st.sampled_from(["current", "current", "current", "doubtful", "retracted"]),
    )
)
_EVENTS = ["evacuation", "pressure_test", "inspection", "first_fire", "part_replaced"]
_OUTCOMES = [None, "passed", "failed", "scheduled"]
_SAID = st.one_of(
    _VALUES,
    _VALUES,
    st.builds(
        Event,
        st.sampled_from(_EVENTS),
        outcome=st.sampled_from(_OUTCOMES),
        what=st.sampled_from([None, "capacitor", "filter"]),
    ),
    st.builds(
        DuctRun, st.sampled_from(["supply", "return"]), status=st.sampled_from(["existing", "added", "proposed"])
    ),
    st.builds(
        Task,
        st.sampled_from(["recheck the charge", "fix the leak", "open the return"]),
        status=st.sampled_from(["open", "done"]),
    ),
    st.builds(Remark, st.sampled_from(["no bubbles", "the trunk is sweating", "forty psi of something"])),
)
_UNITS = st.builds(
    Equipment,
    st.sampled_from(["main", "upstairs"]),
    st.sampled_from([None, "R-410A", "R-22", "R-454B", "R-999"]),
    st.sampled_from([None, "txv", "eev", "fixed_orifice", "capillary"]),
    st.sampled_from([None, 2.0, 4.0]),
)


@st.composite
def jobs(draw):
    job = Told()
    for day in range(draw(st.integers(1, 3))):
        said = draw(st.lists(_SAID, max_size=8))
        job.tell(*draw(st.lists(_UNITS, max_size=1)), *said, date=f"2026-05-{10 + day}")
    return job


@settings(max_examples=40, deadline=None)
@given(jobs())
def test_weighing_twice_changes_nothing_and_every_finding_is_whole(job):
    assert weigh(job.log) == job.log
    for verdict in job.log.verdicts:
        assert verdict.status in STATUSES and verdict.because
        assert (verdict.finding is None) == (verdict.status != "provisional")
    assert all(c.severity in ("info", "attention", "stop") and c.text for c in job.log.concerns)
    assert len({(v.about, v.system) for v in job.log.verdicts}) == len(job.log.verdicts)
    plain(job.log)


@settings(max_examples=40, deadline=None)
@given(jobs())
def test_nothing_that_was_said_is_changed(job):
    before = replace(job.log, verdicts=(), concerns=(), asks=())
    after = weigh(before)
    for part in ("readings", "equipment", "duct_runs", "events", "agreements", "remarks", "calculations", "visits"):
        assert getattr(after, part) == getattr(before, part)
    assert [t.what for t in after.tasks if t.origin == "said"] == [t.what for t in before.tasks if t.origin == "said"]


@settings(max_examples=40, deadline=None)
@given(jobs())
def test_on_air_known_to_be_short_no_verdict_on_charge_is_final(job):
    short = {v.system for v in job.log.verdicts if v.about == "airflow" and v.status == "low"}
    final = {v.system for v in job.log.verdicts if v.about == "charge" and v.status not in ("provisional", "unknown")}
    assert not short & final


@settings(max_examples=40, deadline=None)
@given(jobs())
def test_no_doubtful_or_retracted_reading_is_evidence_for_a_verdict(job):
    used = {id(x) for c in job.log.calculations for x in c.inputs if x.status in ("doubtful", "retracted")}
    assert not used


def test_an_empty_job_gives_no_finding():
    empty = JobLog(Job("x"))
    assert weigh(empty) == empty


def test_replaying_a_whole_job_gives_the_same_as_weighing_its_end():
    for _, entries in corpus_jobs():
        job = Told()
        for entry in entries:
            job.tell(*corpus_items(entry), date=entry["date"], note=entry["id"])
        again = weigh(replace(job.log, calculations=work_out(job.log), verdicts=(), concerns=(), asks=()))
        assert again == job.log


def test_two_systems_do_not_leak_into_each_other():
    alone = told(
        Equipment("upstairs", "R-410A", "txv", 3.0),
        *(r(q, v, system="upstairs") for q, v in (("liquid_pressure", 365), ("liquid_line_temp", 100))),
        target("subcooling", 10, system="upstairs"),
    )
    beside = told(
        Equipment("upstairs", "R-410A", "txv", 3.0),
        Equipment("downstairs", "R-22", "fixed_orifice", 2.0),
        *(r(q, v, system="upstairs") for q, v in (("liquid_pressure", 365), ("liquid_line_temp", 100))),
        target("subcooling", 10, system="upstairs"),
        *(r(q, v, system="downstairs") for q, v in (("system_airflow", 400), ("suction_pressure", 40))),
    )
    mine = [v for v in beside.log.verdicts if v.system == "upstairs"]
    assert mine == list(alone.log.verdicts)
    assert beside.codes("upstairs") == alone.codes()
    assert {"airflow_low", "coil_freeze_risk"} <= beside.codes("downstairs")


@pytest.mark.parametrize(
    "heavy", ["CoolProp", "scipy", "numpy", "spacy", "pint", "fluids", "psychrolib", "faster_whisper"]
)
def test_importing_the_judge_loads_nothing_heavy(heavy):
    program = f"import sys, assistant.judge; sys.exit({heavy!r} in sys.modules)"
    assert subprocess.run([sys.executable, "-c", program], check=False).returncode == 0


def test_importing_the_judge_adds_less_than_a_tenth_of_a_second():
    # Beside the records and units every stage imports; processor time, best of three, for a busy machine.
    program = (
        "import time, assistant.records, assistant.units; t = time.process_time(); import assistant.judge; "
        "print(time.process_time() - t)"
    )
    runs = [float(subprocess.check_output([sys.executable, "-c", program])) for _ in range(3)]
    assert min(runs) < 0.1
