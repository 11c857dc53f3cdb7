"""Every verdict, concern, severity and derived task of the corpus, from its readings alone."""

import pytest

from tests.judge.jobs import Told, corpus_items, corpus_jobs


def _weighed() -> dict:
    after = {}
    for _, entries in corpus_jobs():
        job = Told()
        for entry in entries:
            job.tell(*corpus_items(entry), date=entry["date"], note=entry["id"])
            after[entry["id"]] = (entry["gold"], job.log)
    return after


WEIGHED = _weighed()
VERDICTS = [(note, v) for note, (gold, _) in WEIGHED.items() for v in gold.get("verdicts", [])]
WITH_CONCERNS = [note for note, (gold, _) in WEIGHED.items() if gold.get("concerns")]
WITH_NONE_OF = [note for note, (gold, _) in WEIGHED.items() if gold.get("not_concerns")]
TASKS = [
    (note, t)
    for note, (gold, _) in WEIGHED.items()
    for t in gold.get("tasks", [])
    if {"recheck", "charge"} <= set(t["keywords"])
]


@pytest.mark.parametrize(("note", "expected"), VERDICTS, ids=[f"{n}-{v['about']}" for n, v in VERDICTS])
def test_the_verdict_is_the_one_a_mechanic_gave(note, expected):
    about, system = expected["about"], expected.get("system", "main")
    found = next(v for v in WEIGHED[note][1].verdicts if (v.about, v.system) == (about, system))
    assert (found.status, found.finding) == (expected["status"], expected.get("finding"))
    assert set(expected.get("needs", ())) <= set(found.needs)
    assert found.because


@pytest.mark.parametrize("note", WITH_CONCERNS)
def test_every_concern_is_raised(note):
    gold, log = WEIGHED[note]
    assert set(gold["concerns"]) <= {c.code for c in log.concerns}


@pytest.mark.parametrize("note", WITH_NONE_OF)
def test_no_false_concern_is_raised(note):
    gold, log = WEIGHED[note]
    assert not set(gold["not_concerns"]) & {c.code for c in log.concerns}


@pytest.mark.parametrize("note", [n for n, (gold, _) in WEIGHED.items() if "severity" in gold])
def test_a_concern_is_as_grave_as_a_mechanic_calls_it(note):
    gold, log = WEIGHED[note]
    for code, severity in gold["severity"].items():
        assert {c.severity for c in log.concerns if c.code == code} == {severity}


@pytest.mark.parametrize(("note", "expected"), TASKS, ids=[f"{n}-{t.get('status', 'open')}" for n, t in TASKS])
def test_the_recheck_is_opened_and_closed(note, expected):
    log = WEIGHED[note][1]
    rechecks = [t for t in log.tasks if "recheck" in t.what and "charge" in t.what]
    wanted = expected.get("status", "open")
    assert (wanted, expected["due"]) in [(t.status, t.due) for t in rechecks]
    if wanted == "done":
        assert not [t for t in rechecks if t.status == "open"]
    if expected.get("origin") == "inferred":
        assert [t.origin for t in rechecks if t.status == "open"] == ["inferred"]


def test_small_talk_gives_no_finding():
    gold, log = WEIGHED["d046"]
    assert gold["verdicts"] == gold["concerns"] == []
    assert log.verdicts == log.concerns == ()
