"""The gold scores full marks, and every way of spoiling it scores less where it should and nowhere it should not."""

import json

import pytest
from click.testing import CliRunner

from tests.score import cases, replay, table
from tests.score.__main__ import main
from tests.score.fake import KnowsTheGold


@pytest.fixture(scope="module", params=list(cases.SETS))
def known(request):
    return cases.load(request.param)


@pytest.fixture(scope="module", params=[name for name in cases.SETS if cases.load(name).dialogues])
def whole(request):
    """The sets whose golds speak of findings and dialogues too."""
    return cases.load(request.param)


def _score(known, spoil=lambda note, log: None, **how):
    return replay.score(known, lambda: KnowsTheGold(known, spoil, **how))


def test_the_gold_itself_scores_full_marks_in_every_part(known):
    score = _score(known)
    assert score.crashed == []
    assert [(listed.case, listed.outcomes) for listed in score.listed] == []
    assert score.notes == len(known.cases)
    assert score.tally("readings").f1 == 1.0
    assert score.tally("dialogues").found == len(known.dialogues)


def test_a_made_up_reading_is_counted_apart_and_lowers_precision_only(known):
    def spoil(note, log):
        made_up = {"quantity": "vacuum_level", "value": 7777, "unit": "micron", "role": "measured", "note": note["id"]}
        note["readings"].append(made_up)
        log["readings"].append(made_up)

    score = _score(known, spoil)
    assert score.tally("invented").extra == len(known.cases)
    assert score.tally("readings").recall == 1.0
    assert score.tally("readings").precision < 1.0
    assert all("7777 micron" in line for line in table.invented(score))


@pytest.mark.parametrize(
    ("key", "value"), [("value", 1.01), ("status", "retracted"), ("quantity", "altitude"), ("qualifier", "other")]
)
def test_a_reading_with_a_wrong_field_is_missed(known, key, value):
    def spoil(note, log):
        for row in log["readings"]:
            row[key] = row["value"] * value + 1 if key == "value" else value

    assert _score(known, spoil).tally("readings").recall < 1.0


@pytest.mark.parametrize(("key", "part"), [("role", "role"), ("system", "system")])
def test_a_value_filed_under_another_role_or_system_lowers_that_accuracy(known, key, part):
    def spoil(note, log):
        for row in log["readings"]:
            row[key] = "elsewhere"

    score = _score(known, spoil)
    assert score.tally(part).recall < 0.2  # what is left is of the site, for which the system is free
    other = {"role": "system", "system": "role"}[part]
    assert score.tally(other).recall == 1.0


@pytest.mark.parametrize("part", ["events", "duct_runs", "agreements", "materials", "labour"])
def test_a_list_that_is_left_out_scores_nothing_and_one_that_is_doubled_is_imprecise(known, part):
    def leave_out(note, log):
        note[part] = []

    def double(note, log):
        note[part] = note[part] * 2

    assert _score(known, leave_out).tally(part).found == 0
    doubled = _score(known, double).tally(part)
    assert (doubled.recall, doubled.precision) == (1.0, 0.5)


@pytest.mark.parametrize("part", ["tasks", "calculations", "verdicts", "concerns"])
def test_what_is_left_out_of_the_log_is_not_recalled(whole, part):
    def leave_out(note, log):
        log[part] = []

    assert _score(whole, leave_out).tally(part).recall == 0.0


def test_a_wrong_due_date_is_told_from_a_missing_task(known):
    def spoil(note, log):
        for row in log["tasks"]:
            row["due"] = "1999-12-31"

    score = _score(known, spoil)
    assert score.tally("tasks").recall == 1.0
    left_open = sum("due" not in task for case in known.cases for task in case.gold.get("tasks", ()))
    assert score.tally("due").found == left_open  # a day the gold leaves open cannot be wrong


def test_raising_every_concern_spoils_the_false_concerns(whole):
    every = {code for case in whole.cases for code in case.gold.get("not_concerns", ())}

    def spoil(note, log):
        log["concerns"] = [{"code": code, "severity": "attention"} for code in every]

    assert _score(whole, spoil).tally("false concerns").recall == 0.0


def test_a_wrong_refrigerant_costs_one_field_of_the_equipment(known):
    def spoil(note, log):
        note["equipment"] = [{**row, "refrigerant": "R-12"} for row in note["equipment"]]

    equipment = _score(known, spoil).tally("equipment")
    named = [case.gold["equipment"] for case in known.cases if "equipment" in case.gold]
    rows = [row for gold in named for row in (gold if isinstance(gold, list) else [gold])]
    assert equipment.missed == sum("refrigerant" in row for row in rows)


def test_silence_fails_every_dialogue_that_wants_an_answer(whole):
    score = _score(whole, say=lambda words: "")
    assert score.tally("dialogues").found < score.tally("dialogues").missed


def test_a_note_that_raises_is_listed_and_its_gold_is_missed(known):
    class Broken:
        def tell(self, **told):
            raise ValueError("not today")

    score = replay.score(known, Broken)
    assert len(score.crashed) == len(known.cases)
    assert "ValueError: not today" in score.crashed[0]
    assert score.tally("readings").recall == 0.0
    assert score.tally("turns").found == 0


def test_the_figures_are_json(known):
    figures = json.loads(json.dumps(table.plain(_score(known))))
    assert figures["parts"]["readings"]["f1"] == 1.0
    assert figures["invented"] == []


def test_an_unknown_set_is_refused_with_the_names_there_are():
    result = CliRunner().invoke(main, ["--set", "nowhere"])
    assert result.exit_code == 2
    assert "corpus, heldout" in result.output
