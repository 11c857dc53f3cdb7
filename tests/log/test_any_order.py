"""Whatever is told, in whatever order and however often: each note is there once, and ordered by date."""

from __future__ import annotations

import hashlib

from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.log.store import Store

dates = st.dates().map(str)
words = st.text(min_size=1, max_size=40).map(lambda text: text.encode("utf-8", "replace").decode())
sounds = st.binary(min_size=1, max_size=40)
jobs = st.sampled_from(["print-shop", "bakery", "Two storey"])
tellings = st.lists(st.tuples(jobs, dates, st.one_of(words, sounds)), max_size=25)


@given(tellings, st.randoms())
@settings(max_examples=60, deadline=None)
def test_every_acknowledged_note_is_there_exactly_once(told, random):
    store = Store(None)
    again = told + told
    random.shuffle(again)
    acknowledged = {}
    for job, date, what in again:
        job = store.open_job(job)
        if isinstance(what, bytes):
            sha256 = hashlib.sha256(what).hexdigest()
            store.keep_recording(sha256, "ogg", what, None)
            note, key = store.add_note(job, date, recording=sha256), (job, what)
        else:
            note, key = store.add_note(job, date, text=what), (job, date, what)
        assert acknowledged.setdefault(key, note.id) == note.id
    kept = [note for job in store.job_names() for note in store.notes(job)]
    assert sorted(note.id for note in kept) == sorted(acknowledged.values())
    for job in store.job_names():
        in_order = [note.date for note in store.notes(job)]
        assert in_order == sorted(in_order)
    store.close()
