"""A store of any age is brought up to date, whole or not at all."""

from __future__ import annotations

import sqlite3

import pytest
from sqlite_utils import Database

from assistant.errors import StoreError
from assistant.log import schema
from assistant.log.store import Store

LATER = (*schema.MIGRATIONS, "ALTER TABLE job ADD COLUMN colour TEXT; UPDATE job SET colour = 'red';")
BROKEN = (*schema.MIGRATIONS, "ALTER TABLE job ADD COLUMN colour TEXT; INSERT INTO nowhere VALUES (1);")


def test_a_new_store_has_every_step(tmp_path):
    store = Store(tmp_path)
    assert schema.version(store.db) == len(schema.MIGRATIONS)
    store.close()


def test_an_older_store_keeps_its_notes_and_gains_what_is_new(tmp_path):
    store = Store(tmp_path)
    note = store.add_note(store.open_job("print-shop"), "2026-05-12", text="head 345")
    schema.migrate(store.db, LATER)
    assert schema.version(store.db) == len(LATER)
    assert store.notes("print-shop") == [note]
    assert store.db.execute("SELECT colour FROM job").fetchone() == ("red",)
    store.close()


def test_a_step_that_fails_changes_nothing():
    db = Database(sqlite3.connect(":memory:", isolation_level=None))
    schema.migrate(db)
    before = db.schema
    with pytest.raises(sqlite3.OperationalError, match="nowhere"):
        schema.migrate(db, BROKEN)
    assert db.schema == before
    assert schema.version(db) == len(schema.MIGRATIONS)


def test_bringing_up_to_date_twice_changes_nothing():
    db = Database(sqlite3.connect(":memory:", isolation_level=None))
    schema.migrate(db)
    before = db.schema
    schema.migrate(db)
    assert db.schema == before


def test_a_store_of_a_later_version_is_left_alone(tmp_path):
    store = Store(tmp_path)
    store.db.execute("PRAGMA user_version = 99")
    store.close()
    with pytest.raises(StoreError, match="newer superheard.*nothing was changed"):
        Store(tmp_path)
