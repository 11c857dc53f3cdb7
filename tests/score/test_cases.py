"""The sets themselves: well formed, in the contract's names and units, and independent of each other."""

import json
from datetime import date
from itertools import chain

import pytest

from assistant.records import Transcript, Word
from assistant.units import quantities
from tests.score import cases
from tests.score.scribe import Scribe

_ROLES = {"measured", "target", "rated", "estimated"}
_STATUSES = {"current", "superseded", "retracted", "doubtful"}


@pytest.fixture(scope="module", params=list(cases.SETS))
def known(request):
    return cases.load(request.param)


def _readings(known):
    said = chain.from_iterable(case.gold["readings"] for case in known.cases)
    turns = chain.from_iterable(dialogue.turns for dialogue in known.dialogues)
    return [*said, *chain.from_iterable(turn.expect.get("readings_after", ()) for turn in turns)]


def test_every_gold_reading_has_a_quantity_unit_role_and_status_of_the_contract(known):
    for row in _readings(known):
        assert row["unit"] == quantities()[row["quantity"]].unit
        assert row["role"] in _ROLES
        assert row.get("status", "current") in _STATUSES


def test_a_range_has_its_midpoint_as_value(known):
    ranges = [row for row in _readings(known) if "low" in row]
    assert ranges
    assert all(row["value"] == pytest.approx((row["low"] + row["high"]) / 2) for row in ranges)


def test_earlier_notes_come_first_and_belong_to_the_job(known):
    seen = {}
    for case in known.cases:
        assert all(seen[earlier] == case.job for earlier in case.after)
        seen[case.id] = case.job
    assert all(seen[earlier] == dialogue.job for dialogue in known.dialogues for earlier in dialogue.after)
    assert len(seen) == len(known.cases)


def test_dates_and_moments_are_iso(known):
    for case in known.cases:
        date.fromisoformat(case.date)
        named = [event.get("when") for event in case.gold.get("events", ())]
        named += [task.get("due") for task in case.gold.get("tasks", ())]
        assert all(date.fromisoformat(moment[:10]) >= date(2026, 1, 1) for moment in named if moment)


def test_the_heldout_set_is_large_varied_and_not_the_corpus():
    heldout, corpus = cases.load("heldout"), cases.load("corpus")
    assert len(heldout.cases) >= 170
    assert sum(not case.gold["readings"] for case in heldout.cases) >= 35
    assert {case.text for case in heldout.cases}.isdisjoint(case.text for case in corpus.cases)
    assert {case.job for case in heldout.cases}.isdisjoint(case.job for case in corpus.cases)
    assert len({row["quantity"] for row in _readings(heldout)}) >= 50


def test_the_blind_set_is_large_varied_and_neither_of_the_others():
    blind, others = cases.load("blind"), [cases.load("corpus"), cases.load("heldout")]
    assert len(blind.cases) >= 150
    assert sum(not case.gold["readings"] for case in blind.cases) >= 25
    assert len({row["quantity"] for row in _readings(blind)}) >= 50
    for other in others:
        assert {case.text for case in blind.cases}.isdisjoint(case.text for case in other.cases)
        assert {case.job for case in blind.cases}.isdisjoint(case.job for case in other.cases)


def test_a_transcript_takes_the_place_of_the_text_and_the_rest_is_left_out(tmp_path):
    (tmp_path / "d001.txt").write_text("Four ton.\n", "utf-8")
    (tmp_path / "d003.txt").write_text("It builds on d002, which nobody heard.", "utf-8")
    heard = cases.heard(cases.load("corpus"), tmp_path)
    assert [(case.id, case.text) for case in heard.cases] == [("d001", "Four ton.")]
    assert heard.dialogues == ()


def test_a_file_of_notes_and_dialogues_is_a_set(tmp_path):
    path = tmp_path / "own.jsonl"
    path.write_text(
        '{"id": "a", "job": "j", "date": "2027-06-01", "context": null, "text": "Hi.", "gold": {"readings": []}}\n'
        '{"id": "b", "job": "j", "date": "2027-06-01", "turns": [{"say": "Hm?", "expect": {}}]}\n',
        "utf-8",
    )
    own = cases.load(str(path))
    assert (len(own.cases), len(own.dialogues)) == (1, 1)


def test_a_kept_transcript_is_told_with_its_words_probabilities(tmp_path):
    words = [{"text": text, "start_s": 0.0, "end_s": 1.0, "probability": 0.5} for text in ("head", "345")]
    kept = {"text": "head 345", "words": words, "unclear": [], "duration_s": 1.0, "model": "base"}
    (tmp_path / "a.json").write_text(json.dumps(kept))
    (tmp_path / "b.txt").write_text("suction 118\n")
    gold = {"readings": []}
    known = cases.Set(tuple(cases.Case(name, "one", "2027-01-01", "typed", gold) for name in "abc"), ())
    heard = cases.heard(known, tmp_path)
    assert [case.text for case in heard.cases] == ["head 345", "suction 118"]
    assert heard.cases[0].heard.span_times(5, 8)[2] == 0.5
    assert heard.cases[1].heard is None


def test_what_was_heard_is_read_with_its_doubts():
    words = (Word("head", 0, 1, 0.9), Word("345", 1, 2, 0.4))
    note, log = Scribe().tell_heard(Transcript("head 345", words, (), 2.0, "base"), "one", date(2027, 1, 1))
    (reading,) = note["readings"]
    assert (reading["value"], reading["start_s"]) == (345, 0)
    assert reading["confidence"] < 0.45
    assert log["readings"] == note["readings"]
