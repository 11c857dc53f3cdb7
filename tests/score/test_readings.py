"""Which logged reading answers which gold one: the corpus's rules, one by one."""

from tests.score import readings


def _row(value=345, quantity="liquid_pressure", **more):
    return {"quantity": quantity, "value": value, "unit": "psi", "role": "measured", **more}


def _counts(logged, gold):
    paired = readings.pair(logged, gold)
    return len(paired.found), len(paired.missed), len(paired.beyond)


def test_a_reading_without_system_or_status_is_current_and_of_the_main_one():
    assert _counts([_row(system="main", status="current")], [_row()]) == (1, 0, 0)
    assert _counts([_row(system="upstairs")], [_row()]) == (0, 1, 1)


def test_what_was_taken_back_may_be_logged_or_left_out_but_not_be_current():
    gold = [_row(550, status="retracted"), _row(540)]
    assert _counts([_row(550, status="retracted"), _row(540)], gold) == (1, 0, 0)
    assert _counts([_row(540)], gold) == (1, 0, 0)
    assert _counts([_row(550), _row(540)], gold) == (1, 0, 1)


def test_what_was_superseded_must_be_logged_so():
    gold = [_row(310, status="superseded"), _row(390)]
    assert _counts([_row(310, status="superseded"), _row(390)], gold) == (2, 0, 0)
    assert _counts([_row(310), _row(390)], gold) == (1, 1, 1)
    assert _counts([_row(390)], gold) == (1, 1, 0)


def test_an_impossible_value_may_be_kept_as_doubtful():
    assert _counts([_row(704, status="doubtful")], [_row(704)]) == (1, 0, 0)
    assert not readings.is_reading(_row(704, status="doubtful"), _row(704, status="current"))


def test_one_logged_reading_answers_one_gold_reading():
    assert _counts([_row()], [_row(), _row()]) == (1, 1, 0)
    assert _counts([_row(), _row()], [_row()]) == (1, 0, 1)


def test_the_outdoor_temperature_belongs_to_the_site():
    assert _counts([_row(90, "outdoor_temp", system="site")], [_row(90, "outdoor_temp")]) == (1, 0, 0)


def test_a_plate_limit_may_be_rated_or_target_but_not_measured():
    gold = [_row(0.8, "total_static_pressure", role="rated")]
    assert _counts([_row(0.8, "total_static_pressure", role="target")], gold) == (1, 0, 0)
    assert _counts([_row(0.8, "total_static_pressure")], gold) == (0, 1, 1)


def test_a_qualifier_is_compared_only_if_the_gold_has_one():
    logged = [_row(30, "test_duration", qualifier="pressure_test")]
    assert _counts(logged, [_row(30, "test_duration")]) == (1, 0, 0)
    assert _counts(logged, [_row(30, "test_duration", qualifier="evacuation")]) == (0, 1, 1)


def test_the_gold_with_a_qualifier_chooses_first():
    gold = [_row(5, "capacitance"), _row(5, "capacitance", qualifier="fan")]
    logged = [_row(5, "capacitance", qualifier="fan"), _row(5, "capacitance", qualifier="herm")]
    assert _counts(logged, gold) == (2, 0, 0)


def test_a_range_keeps_its_ends():
    gold = [_row(12.5, "subcooling", low=12, high=13)]
    assert _counts([_row(12.5, "subcooling", low=12, high=13)], gold) == (1, 0, 0)
    assert _counts([_row(12.5, "subcooling")], gold) == (0, 1, 1)


def test_readings_beyond_the_gold_that_are_not_current_are_free():
    assert _counts([_row(1, status="doubtful"), _row(2, status="superseded")], []) == (0, 0, 0)


def test_a_value_that_was_said_but_filed_wrong_is_told_from_one_made_up():
    outcomes = {outcome.part: outcome for outcome in readings.compare([_row(role="target"), _row(99)], [_row()])}
    assert outcomes["invented"].extra == (
        "345 psi liquid_pressure target main (said, but filed wrong)",
        "99 psi liquid_pressure measured main",
    )
    assert (outcomes["role"].found, len(outcomes["role"].missed)) == (0, 1)
    assert outcomes["system"].found == 1
