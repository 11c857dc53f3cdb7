"""What follows from the notes is kept, found again, and known to be out of date when it is."""

from __future__ import annotations

import pytest

from assistant.log import derived
from assistant.log.store import Store
from assistant.records import Concern, Job, JobLog, Note, Reading, Task, Transcript, Verdict, Visit


@pytest.fixture
def store():
    opened = Store(None)
    yield opened
    opened.close()


def log_with(value: float) -> JobLog:
    return JobLog(
        Job("print-shop", site="print shop"),
        visits=(Visit("2026-05-12", ("n",)),),
        readings=(Reading("liquid_pressure", value, "psi", said=f"head {value:g}", position=3),),
        tasks=(Task("recheck"), Task("call", status="done")),
        verdicts=(Verdict("charge", "main", "low", "because"),),
        concerns=(Concern("charge_low", "main", "attention", "low"), Concern("smoke_alarm_risk", "main", "stop", "s")),
    )


def steps(store: Store, *dates: str) -> list[derived.Step]:
    job = store.open_job("print-shop")
    notes = [store.add_note(job, date, text=f"head {place}") for place, date in enumerate(dates)]
    chains = derived.chains(job, notes, "rules")
    return [
        derived.Step(chain, Note(note.id, note.date, note.text), log_with(place))
        for place, (note, chain) in enumerate(zip(notes, chains, strict=True))
    ]


def test_each_note_and_the_log_after_it_are_found_again(store):
    made = steps(store, "2026-05-12", "2026-05-12", "2026-05-20")
    derived.save(store, "print-shop", 0, made)
    notes, logs = derived.history(store, "print-shop")
    assert notes == tuple(step.note for step in made)
    assert list(logs) == [step.log for step in made]
    assert logs[-1] == derived.latest_log(store, "print-shop") == made[-1].log
    assert logs[:2] == (made[0].log, made[1].log)
    with pytest.raises(IndexError):
        logs[3]


def test_saving_twice_leaves_the_same_rows(store):
    made = steps(store, "2026-05-12", "2026-05-20")
    for _ in range(2):
        derived.save(store, "print-shop", 0, made)
    tables = ("derived", "standing", "reading", "verdict", "concern")
    assert [store.db.table(table).count for table in tables] == [2, 1, 1, 1, 2]


def test_saving_from_a_place_on_leaves_what_came_before(store):
    made = steps(store, "2026-05-12", "2026-05-20")
    derived.save(store, "print-shop", 0, made)
    changed = derived.Step("other", made[1].note, log_with(99))
    derived.save(store, "print-shop", 1, [changed])
    assert list(derived.history(store, "print-shop")[1]) == [made[0].log, changed.log]


def test_a_job_is_summed_up_in_a_line(store):
    derived.save(store, "print-shop", 0, steps(store, "2026-05-12", "2026-05-20"))
    assert derived.job_lines(store) == [
        derived.JobLine(
            "print-shop", "print shop", None, "2026-05-12", "2026-05-20", 2, 1, (("main", "charge", "low"),), 1, 1
        )
    ]


def test_a_change_makes_everything_from_there_on_out_of_date_and_nothing_before(store):
    job = store.open_job("print-shop")
    first = store.add_note(job, "2026-05-12", text="a")
    last = store.add_note(job, "2026-05-20", text="b")
    before = derived.chains(job, store.notes(job), "rules")

    middle = store.add_note(job, "2026-05-14", text="c")
    after = derived.chains(job, store.notes(job), "rules")
    assert [note.id for note in store.notes(job)] == [first.id, middle.id, last.id]
    assert after[0] == before[0] and after[2] != before[1]

    store.add_transcript(first, Transcript("better", model="by hand"))
    assert not set(derived.chains(job, store.notes(job), "rules")) & set(after)


def test_other_rules_make_everything_out_of_date(store):
    job = store.open_job("print-shop")
    notes = [store.add_note(job, "2026-05-12", text="a")]
    assert derived.chains(job, notes, "older") != derived.chains(job, notes, "newer")
