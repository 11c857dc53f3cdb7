"""The tables: a limit without a source does not load, and every concern the contract names has its words."""

import re

import pytest

from assistant.errors import SettingsError
from assistant.judge.tables import concern, concern_rows, limit, mains, read_limits, refrigerant_facts, speaks_of

CODES = {  # the contract's list
    "charge_low",
    "charge_high",
    "charge_unverified",
    "charge_provisional",
    "airflow_low",
    "airflow_high",
    "return_undersized",
    "supply_undersized",
    "coil_freeze_risk",
    "superheat_low",
    "superheat_high",
    "head_pressure_high",
    "head_pressure_low",
    "suction_pressure_low",
    "static_pressure_high",
    "temperature_split_off",
    "temperature_rise_off",
    "gas_pressure_off",
    "input_rate_off",
    "carbon_monoxide_high",
    "draft_low",
    "flame_current_low",
    "voltage_off",
    "current_high",
    "capacitor_weak",
    "vacuum_not_reached",
    "vacuum_not_held",
    "pressure_test_lost",
    "restriction_suspected",
    "non_condensables_suspected",
    "condenser_airflow_suspected",
    "refrigerant_flammable",
    "inspection_failed",
    "inspection_open",
    "approval_pending",
    "value_implausible",
    "value_conflict",
    "unit_mismatch",
    "smoke_alarm_risk",
    "combustion_safety",
    "leak_suspected",
    "duct_sweating_risk",
    "refrigerant_record",
    "code_question",
    "filter_dirty",
    "hoses_swapped",
    "ambient_carbon_monoxide_high",
    "not_understood",
}


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ('[x]\nat = 5\nunit = "psi"', "has no source"),
        ('[x]\nat = 5\nunit = "psi"\nsource = "  "', "has no source"),
        ('[x]\nat = 5\nsource = "chart"', "has no unit"),
        ('[x]\nunit = "psi"\nsource = "chart"', "has no value"),
    ],
)
def test_a_limit_without_source_unit_or_value_does_not_load(row, says):
    with pytest.raises(SettingsError, match=says):
        read_limits(row)


def test_a_whole_limit_loads():
    found = read_limits('[x]\nlow = 1\nhigh = 2\nunit = "psi"\nsource = "maker chart 2012"')["x"]
    assert (found.low, found.high, found.unit, found.source) == (1, 2, "psi", "maker chart 2012")


# The contract's "Agreed limits".
@pytest.mark.parametrize(
    ("name", "part", "value"),
    [
        ("subcooling_tolerance", "within", 3),
        ("superheat_tolerance", "within", 5),
        ("airflow_per_ton_low", "at", 350),
        ("airflow_per_ton_nominal", "at", 400),
        ("freezing", "at", 32),
        ("total_static", "at", 0.5),
        ("vacuum", "at", 500),
        ("vacuum_hold", "at", 10),
        ("carbon_monoxide_attention", "at", 100),
        ("carbon_monoxide_stop", "at", 400),
        ("capacitor_percent_low", "at", 94),
    ],
)
def test_the_agreed_limits_are_the_contracts(name, part, value):
    assert getattr(limit(name), part) == value


def test_every_concern_of_the_contract_has_severity_and_words_and_there_are_no_others():
    assert set(concern_rows()) == CODES
    for row in concern_rows().values():
        assert row["severity"] in ("info", "attention", "stop")
        assert row["text"].endswith((".", "}"))


def test_a_concerns_text_is_filled_in_completely():
    for code, row in concern_rows().items():
        figures = {name: "x" for name in re.findall(r"{(\w+)}", row["text"])}
        assert "{" not in concern(code, "main", **figures).text


def test_every_other_table_names_its_source():
    assert all(window["source"] for window in mains())
    assert all(refrigerant_facts(name)["source"] for name in ("R-32", "R-454B", "R-290", "R-22"))
    assert refrigerant_facts("R-410A") is None


@pytest.mark.parametrize(
    ("topic", "words", "heard"),
    [
        ("leak", "oil stain round the valve", True),
        ("leak", "no leaks anywhere", False),
        ("filter", "new filter in the return", True),
        ("filter", "filter drier sweated in", False),
        ("capacitor", "dual run capacitor", True),
        ("capacitor", "ladder", False),
        ("recheck", "check the charge again Friday", True),
        ("leak", None, False),
    ],
)
def test_trade_words(topic, words, heard):
    assert speaks_of(topic, words) is heard
