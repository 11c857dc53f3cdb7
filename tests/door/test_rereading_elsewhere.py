"""Logs worked out by other processes, and by the workers of a Dask scheduler: the same as one after another here."""

from __future__ import annotations

import os
import signal
from concurrent.futures import ThreadPoolExecutor
from datetime import date

import pytest

from assistant import Assistant, ledger
from assistant.hear.elsewhere import Elsewhere, elsewhere
from assistant.ledger import worked_out

DAY = date(2026, 5, 12)
WORDS = ("Suction 118, head 340, R-410A, TXV.", "Liquid line 95, plate wants ten.", "Order a filter by Friday.")


@pytest.fixture
def told(tmp_path):
    """A store of six jobs, and what it says of them."""
    with Assistant(tmp_path) as assistant:
        for number in range(6):
            for text in WORDS:
                assistant.tell(f"{text} Door {number}.", job=f"job {number}", date=DAY)
        (first,) = [r for r in assistant.log("job 2")["readings"] if r["quantity"] == "suction_pressure"]
        assistant.correct(first["note"], quantity="suction_pressure", said=first["said"], action="discard", by="Ana")
    return tmp_path, _all(tmp_path)


def _all(home) -> dict[str, dict]:
    with Assistant(home) as assistant:
        return {line["id"]: assistant.log(line["id"]) for line in assistant.jobs()}


def test_processes_work_out_the_same_logs(told):
    home, before = told
    with elsewhere("2") as place, Assistant(home, elsewhere=place) as assistant:
        done = assistant.reread()
    assert (done.jobs, done.notes, done.changed) == (6, 18, ())
    assert _all(home) == before


def test_never_more_jobs_are_under_way_than_are_allowed(told):
    home, _ = told
    most, now = [], []

    class Counting(ThreadPoolExecutor):
        def submit(self, work, *given):
            future = super().submit(work, *given)
            now.append(future)
            most.append(sum(not each.done() for each in now))
            return future

    with Counting(4) as pool, Assistant(home, elsewhere=Elsewhere(pool, lambda: 4, 2)) as assistant:
        assert assistant.reread().jobs == 6
    assert max(most) <= 2


def test_what_is_told_meanwhile_is_in_the_log(told):
    home, _ = told
    with Assistant(home) as other, ThreadPoolExecutor(1) as pool:

        class Telling(ThreadPoolExecutor):
            def submit(self, work, *given):
                if given[0].job == "job 3":
                    other.tell("Outdoor is 91.", job="job 3", date=DAY)
                return pool.submit(work, *given)

        with Telling(1) as telling, Assistant(home, elsewhere=Elsewhere(telling, lambda: 1, 1)) as assistant:
            assistant.reread()
    readings = _all(home)["job 3"]["readings"]
    assert [r["value"] for r in readings if r["quantity"] == "outdoor_temp"] == [91]


def _die(work):
    os.kill(os.getpid(), signal.SIGKILL)


def test_a_process_that_is_killed_loses_no_job(told, monkeypatch, caplog):
    home, before = told
    monkeypatch.setattr("assistant.rereading.worked_out", _die)
    with elsewhere("1") as place, Assistant(home, elsewhere=place) as assistant:
        assert assistant.reread().notes == 18
    assert _all(home) == before
    assert "is worked out here" in caplog.text


def test_a_worker_with_other_rules_is_not_believed(told, monkeypatch, caplog):
    home, before = told
    with Assistant(home) as assistant:
        work = assistant._ledger.work("job 1")
    monkeypatch.setattr(ledger, "rules_version", lambda: "older")
    with pytest.raises(ledger.RulesDiffer):
        worked_out(work)


def test_a_cluster_works_them_out_though_a_worker_is_killed(told, cluster):
    home, before = told
    address, workers = cluster
    with elsewhere(address) as place, Assistant(home, elsewhere=place) as assistant:
        assert assistant.reread().notes == 18
        workers[0].kill()
        assert assistant.reread().notes == 18
    assert _all(home) == before
