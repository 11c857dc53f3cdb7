"""A store that an earlier version wrote goes on with everything in it.

`stores/first.db.gz` was written by the version before names, corrections, photos and searching (its version 1): two
jobs, three typed notes, one recording transcribed twice and one not yet. Each later version adds a store of its own.
`stores/second.db.gz` was written by the version before jobs were listed in pages (its version 2): two jobs told by two
people, a correction, and a job of which nothing was told.
"""

from __future__ import annotations

import gzip
import sqlite3
from pathlib import Path

import pytest
from sqlite_utils import Database

from assistant import Assistant
from assistant.log import checking, schema
from assistant.log.store import DATABASE, Store

STORES = Path(__file__).parent / "stores"


@pytest.fixture
def home(tmp_path):
    (tmp_path / DATABASE).write_bytes(gzip.decompress((STORES / "first.db.gz").read_bytes()))
    return tmp_path


def test_the_fixture_is_of_the_first_version(home):
    assert sqlite3.connect(home / DATABASE).execute("PRAGMA user_version").fetchone() == (1,)


def test_every_note_is_there_with_its_newest_transcript(home):
    store = Store(home)
    assert schema.version(store.db) == len(schema.MIGRATIONS)
    told = [note for job in ("bakery", "print shop") for note in store.notes(store.job(job))]
    assert [(store.transcript(note).text if note.is_heard else None) for note in told] == [
        "Suction pressure is 118 psi, and the owner's oven was loud.",
        "Compressor amps eleven point two.",
        None,
        "410A, TXV. Head pressure is 345 psi and the liquid line is 94 degrees.",
        "Return airflow is 1230 cfm on four tons.",
    ]
    assert {note.by for note in told} == {""}
    assert store.waiting() == [told[2].id]
    assert store.state("current job") == "bakery"
    store.close()


def test_what_was_said_before_is_searched_in_its_newest_words(home):
    with Assistant(home) as assistant:
        assert [hit.job for hit in assistant.search("head")] == ["Print shop"]
        hit = assistant.search("amps")[0]
        assert (hit.job, hit.start_s, hit.recorded) == ("bakery", 1.0, True)
        assert assistant.search("rough") == []
        assert len(assistant.search()) == 4


def test_the_log_goes_on_and_can_be_corrected(home):
    with Assistant(home) as assistant:
        log = assistant.log("print shop")
        assert {r["quantity"]: r["value"] for r in log["readings"]}["liquid_pressure"] == 345.0
        reading = next(r for r in log["readings"] if r["quantity"] == "liquid_pressure")
        assistant.correct(
            reading["note"], quantity="liquid_pressure", said=reading["said"], action="correct", value=354, by="Ana"
        )
        assistant.tell(text="Suction pressure is 124 psi.", by="Bo")
        assert assistant.note_told(assistant.search("124")[0].note).by == "Bo"


def test_after_the_step_the_store_is_whole_and_still_never_changed(home):
    Store(home).close()
    faults = checking.status(home).faults
    assert all("recordings" in fault for fault in faults) and len(faults) == 2  # the fixture has no files beside it
    store = Store(home)
    for sql in ("DELETE FROM note", "UPDATE transcript SET model = 'x'", "DELETE FROM recording"):
        with pytest.raises(sqlite3.IntegrityError, match="never"):
            store.db.execute(sql)
    store.close()


def test_a_step_cut_off_half_way_is_taken_again_whole(home):
    half, _, _ = schema.MIGRATIONS[1].partition("CREATE VIRTUAL TABLE")
    conn = sqlite3.connect(home / DATABASE, isolation_level=None)
    with pytest.raises(sqlite3.OperationalError, match="nowhere"):
        schema.migrate(Database(conn), (schema.MIGRATIONS[0], half + "INSERT INTO nowhere VALUES (1);"))
    conn.close()
    with Assistant(home) as assistant:
        assert len(assistant.search()) == 4


def test_a_store_of_the_second_version_goes_on_and_lists_its_jobs_in_pages(tmp_path):
    (tmp_path / DATABASE).write_bytes(gzip.decompress((STORES / "second.db.gz").read_bytes()))
    assert sqlite3.connect(tmp_path / DATABASE).execute("PRAGMA user_version").fetchone() == (2,)
    with Assistant(tmp_path) as assistant:
        assert [line["id"] for line in assistant.jobs()] == ["Chapel", "Feed store", "Nothing told"]
        assert [line["id"] for line in assistant.jobs(limit=1, behind="Chapel")] == ["Feed store"]
        (set_right,) = assistant.corrections("feed store")
        assert (set_right.value, set_right.by, set_right.found) == (950, "office", True)
        assert {assistant.note_told(hit.note).by for hit in assistant.search()} == {"Ana", "Ben"}
    assert checking.status(tmp_path).faults == ()
