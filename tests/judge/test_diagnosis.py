"""The pattern of readings and what it means. Patterns: common practice, with California 2008 RA3.2.2 for charge."""

import pytest

from assistant.judge import diagnose
from assistant.judge.diagnosis import causes_of
from assistant.judge.signs import Sign
from assistant.judge.tables import concern_rows, patterns
from assistant.records import Equipment
from tests.judge.jobs import r, target, told

UNIT = Equipment(refrigerant="R-410A", metering_device="txv", cooling_capacity=3.0)


def signs(**levels):
    return {name: Sign(name, level, f"{name} {level}") for name, level in levels.items()}


@pytest.mark.parametrize(
    ("levels", "first"),
    [
        ({"suction": "low", "superheat": "low", "airflow": "low", "split": "high"}, "airflow_low"),
        ({"suction": "low", "superheat": "high", "subcooling": "high", "head": "ok"}, "restriction_suspected"),
        ({"suction": "low", "superheat": "high", "subcooling": "low", "head": "low"}, "charge_low"),
        ({"superheat": "low", "subcooling": "high", "head": "high"}, "charge_high"),
        ({"superheat": "ok", "subcooling": "high", "head": "high", "suction": "ok"}, "non_condensables_suspected"),
        ({"subcooling": "ok", "head": "high", "current": "high"}, "condenser_airflow_suspected"),
        ({"superheat": "low", "suction": "high", "subcooling": "ok"}, "superheat_low"),
        ({"suction": "high", "head": "low", "split": "low"}, "head_pressure_low"),
    ],
)
def test_each_pattern_leads_to_its_cause(levels, first):
    assert causes_of(signs(**levels))[0].code == first


def test_what_was_not_heard_leads_nowhere():
    assert causes_of({}) == ()
    assert causes_of(signs(suction="low")) == ()


def test_what_speaks_against_a_cause_puts_it_last():
    causes = causes_of(signs(superheat="high", subcooling="low", airflow="low", suction="low"))
    assert [c.code for c in causes] == ["airflow_low", "charge_low"]
    assert causes[1].speaks_against == ("airflow low",)


def test_high_superheat_speaks_against_short_air_yet_the_air_comes_first():
    first, *rest = causes_of(signs(airflow="low", superheat="high", subcooling="low", suction="low"))
    assert (first.code, first.speaks_against) == ("airflow_low", ("superheat high",))
    assert [c.code for c in rest] == ["charge_low"]
    assert causes_of(signs(airflow="low", superheat="low"))[0].speaks_against == ()


def test_nothing_is_recovered_before_air_and_weight_and_then_by_somebody_certified():
    (cause,) = [c for c in causes_of(signs(subcooling="high", superheat="low")) if c.code == "charge_high"]
    told = cause.next.lower()
    assert told.index("airflow") < told.index("weighed in") < told.index("certified") < told.index("recovers")


def test_every_pattern_can_be_read_and_none_says_to_add_refrigerant():
    levels, names = {"low", "ok", "high"}, {"suction", "head", "superheat", "subcooling", "split", "current", "airflow"}
    for pattern in patterns():
        assert pattern.code in concern_rows()
        for part in (pattern.must, pattern.speaks_for, pattern.speaks_against):
            assert set(part) <= names and set(part.values()) <= levels
        assert pattern.next.endswith(".")
        assert not pattern.next.lower().startswith("add")


# R-410A at 480 psig condenses at about 129 °F (CoolProp); 34 above 95 outside.
HOT = (r("liquid_pressure", 480), r("outdoor_temp", 95), r("system_airflow", 1200))


def test_a_hot_condenser_with_ordinary_subcooling_is_short_of_air():
    job = told(UNIT, *HOT, r("liquid_line_temp", 119), target("subcooling", 10))
    assert {"head_pressure_high", "condenser_airflow_suspected"} <= job.codes()
    assert "non_condensables_suspected" not in job.codes()
    assert "Look at the coil" in job.concern("condenser_airflow_suspected").text


def test_a_hot_condenser_with_much_subcooling_is_overcharged_or_holds_air():
    job = told(UNIT, *HOT, r("liquid_line_temp", 110), target("subcooling", 10))
    assert {"head_pressure_high", "charge_high", "non_condensables_suspected"} <= job.codes()
    assert diagnose(job.log)[0].next


def test_weather_and_return_air_of_an_earlier_visit_say_nothing_about_todays_pressures():
    hot = told(
        UNIT, r("liquid_pressure", 480), r("outdoor_temp", 95), r("suction_pressure", 100), r("return_air_temp", 85)
    )
    assert {"head_pressure_high", "suction_pressure_low"} <= hot.codes()
    hot.tell(r("liquid_pressure", 400), r("suction_pressure", 125), date="2026-06-20")
    assert not {"head_pressure_high", "suction_pressure_low"} & hot.codes()


def test_superheat_and_subcooling_of_different_visits_make_no_pattern():
    job = told(UNIT, target("subcooling", 10), r("suction_pressure", 90), r("suction_line_temp", 62))
    assert "superheat_high" in job.codes()
    job.tell(r("liquid_pressure", 365), r("liquid_line_temp", 90), date="2026-06-20")
    assert "restriction_suspected" not in job.codes()
    assert job.verdict("charge").status == "high"


def test_an_ordinary_condenser_raises_nothing():
    job = told(
        UNIT, r("liquid_pressure", 365), r("outdoor_temp", 92), r("liquid_line_temp", 100), target("subcooling", 10)
    )
    assert not {"head_pressure_high", "head_pressure_low"} & job.codes()


def test_on_short_air_no_other_cause_is_put_forward():
    job = told(UNIT, r("liquid_pressure", 480), r("outdoor_temp", 95), r("system_airflow", 800),
               r("liquid_line_temp", 119), target("subcooling", 10))  # fmt: skip
    assert not {c for c in job.codes() if c.endswith("_suspected")}


@pytest.mark.parametrize(
    ("suction", "low"),
    [(101.6, False), (100.8, True)],  # R-410A dew point 32 °F at 101.2 psig (CoolProp)
)
def test_the_coil_can_freeze_at_32_and_below(suction, low):
    job = told(UNIT, r("suction_pressure", suction))
    assert ("coil_freeze_risk" in job.codes()) == low
    assert job.verdict("freeze").status == ("low" if low else "in_range")


def test_close_to_freezing_the_gauge_cannot_tell():
    assert "within its own" in told(UNIT, r("suction_pressure", 101.6)).verdict("freeze").because


def test_a_freezer_is_meant_to_freeze():
    job = told(Equipment(refrigerant="R-404A", kind="walk-in freezer"), r("suction_pressure", 15))
    assert "coil_freeze_risk" not in job.codes()


def test_a_heat_pump_in_heat_has_its_cold_coil_outside():
    warm_air = (r("suction_pressure", 80), r("return_air_temp", 68), r("supply_air_temp", 98))
    assert "coil_freeze_risk" not in told(UNIT, Equipment(kind="heat pump"), *warm_air).codes()
    assert "coil_freeze_risk" in told(UNIT, *warm_air).codes()  # furnace and cooling may be tried on one visit


# California 2008 RA3.2.2.6: a metering valve gives 4 to 25 °F where the maker gives no range.
@pytest.mark.parametrize(("spoken", "code"), [(3, "superheat_low"), (4, None), (25, None), (26, "superheat_high")])
def test_a_valves_superheat(spoken, code):
    found = {c for c in told(UNIT, r("superheat", spoken)).codes() if c.startswith("superheat")}
    assert found == ({code} if code else set())


# At least 5 °F at the service port (fixed-orifice instruction); 35 is more than any weather of a cooling day wants.
@pytest.mark.parametrize(("spoken", "code"), [(4, "superheat_low"), (20, None), (46, "superheat_high")])
def test_a_pistons_superheat_without_a_target(spoken, code):
    job = told(Equipment(refrigerant="R-22", metering_device="fixed_orifice"), r("superheat", spoken))
    assert {c for c in job.codes() if c.startswith("superheat")} == ({code} if code else set())
    assert job.verdict("charge").status == "unknown"


@pytest.mark.parametrize(("supply", "off"), [(56, False), (66, True), (48, True)])
def test_a_split_far_from_the_usual_is_off(supply, off):
    job = told(r("return_air_temp", 76), r("supply_air_temp", supply))
    assert ("temperature_split_off" in job.codes()) == off
