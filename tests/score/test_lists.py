"""Events, tasks, agreements and the rest, findings and turns: only what the gold says is compared."""

import pytest

from tests.score import findings, lists, talk


def test_keys_missing_from_a_gold_event_are_free():
    logged = [{"kind": "inspection", "trade": "gas", "outcome": "passed", "when": "2027-06-08T11:00", "system": "main"}]
    assert lists.compare("events", logged, [{"kind": "inspection", "trade": "gas"}], lists.EVENT).found == 1
    assert lists.compare("events", logged, [{"kind": "inspection", "trade": "fire"}], lists.EVENT).found == 0


def test_an_event_beyond_the_gold_is_extra():
    outcome = lists.compare("events", [{"kind": "arrival"}, {"kind": "startup"}], [{"kind": "arrival"}], lists.EVENT)
    assert (outcome.found, outcome.missed, outcome.extra) == (1, (), ("kind=startup",))


def test_the_most_particular_gold_row_chooses_first():
    logged = [{"kind": "inspection", "trade": "gas"}, {"kind": "inspection", "trade": "fire"}]
    gold = [{"kind": "inspection"}, {"kind": "inspection", "trade": "gas"}]
    assert lists.compare("events", logged, gold, lists.EVENT).found == 2


def test_a_price_that_this_note_does_not_name_is_free():
    gold = [{"scope": "second return", "status": "approved", "price": None}]
    assert lists.compare("agreements", [{**gold[0], "price": 900}], gold, lists.AGREEMENT).found == 1
    named = [{**gold[0], "price": 800}]
    assert lists.compare("agreements", [{**gold[0], "price": 900}], named, lists.AGREEMENT).found == 0


def test_material_is_known_by_item_quantity_and_unit():
    gold = [{"item": "duct wrap", "quantity": 2, "unit": "roll"}]
    same = {"item": "rolls of duct wrap", "quantity": 2.0, "unit": "rolls", "status": "used"}
    assert lists.compare("materials", [same], gold, lists.MATERIAL).found == 1
    assert lists.compare("materials", [{**same, "unit": "ea"}], gold, lists.MATERIAL).found == 0


def test_a_task_done_is_not_one_open():
    gold = [{"keywords": ["strap"], "due": None}]
    assert lists.compare_tasks([{"what": "strap the boot", "status": "open"}], gold)[0].found == 1
    assert lists.compare_tasks([{"what": "strap the boot", "status": "done"}], gold)[0].found == 0


def test_of_two_tasks_that_fit_the_one_with_the_right_date_is_taken():
    logged = [{"what": "call", "due": None}, {"what": "call", "due": "2027-06-09"}]
    tasks, due = lists.compare_tasks(logged, [{"keywords": ["call"], "due": "2027-06-09"}])
    assert (tasks.found, due.found) == (1, 1)


def test_an_empty_gold_list_means_that_nothing_may_be_found():
    assert lists.compare_tasks([{"what": "call"}], [])[0].extra == ("what=call",)
    assert findings.compare_concerns([{"code": "charge_low"}], {"concerns": []})[0].extra == ("charge_low",)
    assert len(findings.compare_verdicts([{"about": "charge", "status": "low"}], []).extra) == 1
    assert len(findings.compare_calculations([{"name": "superheat", "value": 9}], []).extra) == 1


def test_a_calculation_must_lie_within_its_uncertainty():
    gold = [{"name": "superheat", "value": 10.0, "plus_minus": 0.6}]
    assert findings.compare_calculations([{"name": "superheat", "value": 10.6}], gold).found == 1
    assert findings.compare_calculations([{"name": "superheat", "value": 10.7}], gold).found == 0


def test_the_verdict_that_stands_last_counts():
    logged = [{"about": "charge", "status": "provisional"}, {"about": "charge", "status": "in_range"}]
    assert findings.has_verdict(logged, {"about": "charge", "status": "in_range"})
    assert not findings.has_verdict(logged, {"about": "charge", "status": "provisional"})


def test_a_verdict_is_looked_for_on_its_own_system():
    logged = [{"about": "charge", "system": "upstairs", "status": "low", "needs": []}]
    assert findings.has_verdict(logged, {"about": "charge", "status": "low"})
    assert not findings.has_verdict(logged, {"about": "charge", "status": "low", "system": "downstairs"})
    assert not findings.has_verdict(logged, {"about": "charge", "status": "low", "needs": ["liquid_line_temp"]})


def test_a_severity_is_that_of_the_concern():
    gold = {"severity": {"carbon_monoxide_high": "stop"}}
    assert findings.compare_concerns([{"code": "carbon_monoxide_high", "severity": "stop"}], gold)[0].found == 1
    assert findings.compare_concerns([{"code": "carbon_monoxide_high", "severity": "info"}], gold)[0].found == 0


_LOG = {"readings": [], "verdicts": []}


@pytest.mark.parametrize(
    ("expect", "say", "passes"),
    [
        ({"reply_contains": ["in range|yes"]}, "Yes, it was.", True),
        ({"reply_contains": ["in range|yes", "subcool"]}, "Yes, it was.", False),
        ({"reply_number": {"value": 11.0, "plus_minus": 0.6}}, "Subcooling is 11.4.", True),
        ({"reply_number": {"value": 11.0, "plus_minus": 0.6}}, "Subcooling is 12.", False),
        ({"reply_number": None}, "I have no liquid line for the R-410A unit 2 yet.", True),
        ({"reply_number": None}, "It is 9 degrees.", False),
        ({"verdict_after": {"about": "charge", "status": "unknown"}}, "", False),
        ({"readings_after": [{"quantity": "subcooling", "value": 10, "status": "current"}]}, "", False),
    ],
)
def test_a_turn_passes_when_reply_and_log_are_as_expected(expect, say, passes):
    assert (talk.faults(expect, say, _LOG) == []) is passes
