"""Other people's habits of saying the same: where the name stands, what is left out, what is set side by side."""

import pytest

from tests.understand.heard import current, note, readings


@pytest.mark.parametrize(
    ("said", "values"),
    [
        ("one twenty two and three sixty on the gauges", {"suction_pressure": 122, "liquid_pressure": 360}),
        ("pipe temps are fifty one and ninety four", {"suction_line_temp": 51, "liquid_line_temp": 94}),
        (
            "118 over 342, 52 on the vapor",
            {"suction_pressure": 118, "liquid_pressure": 342, "suction_line_temp": 52},
        ),
        ("inside's sixty seven wet bulb, dry bulb seventy eight, ninety outdoors", {"outdoor_temp": 90}),
        ("supply fifty eight dry fifty six wet", {"supply_air_temp": 58, "supply_wet_bulb": 56}),
        ("seventy eight dry, sixty five wet", {"return_air_temp": 78, "return_wet_bulb": 65}),
        ("humidity in the house is running fifty eight percent", {"relative_humidity": 58}),
        (
            "return temp seventy two, supply sixty four, that's only eight degrees",
            {"return_air_temp": 72, "supply_air_temp": 64, "temperature_split": 8},
        ),
        ("return sixty six, supply one twenty, that's fifty four", {"temperature_rise": 54}),
        ("zero CO in the mechanical room", {"ambient_carbon_monoxide": 0}),
        ("CO in the flue is thirty", {"carbon_monoxide": 30}),
        ("draft's negative oh two", {"draft_pressure": -0.02}),
        ("lines are inch and an eighth by three eighths", {"suction_line_size": 1.125, "liquid_line_size": 0.375}),
        ("the rise is coming out fifty five", {"temperature_rise": 55}),
        ("the subcool came up from five to eleven", {"subcooling": 11}),
        ("factory's got six pounds fourteen in it", {"factory_charge": 6.875}),
        ("I put fourteen ounces in her", {"refrigerant_added": 0.875}),
        ("return's pulling fourteen hundred on the hood, that's two eighty a ton", {"return_airflow": 1400}),
        ("where was I, suction was one thirteen", {"suction_pressure": 113}),
        ("head's three and a quarter, suction a buck twenty", {"liquid_pressure": 325, "suction_pressure": 120}),
        ("pulled it down to two and a half on the micron gauge", {"vacuum_level": 250}),
        ("manifold's three and a half", {"manifold_pressure": 3.5}),
        ("we're at 121 on suction, 355 on the discharge", {"suction_pressure": 121, "liquid_pressure": 355}),
        ("discharge temp's two ten", {"discharge_line_temp": 210}),
        ("I've got a hundred eighteen and 341 on 410A", {"suction_pressure": 118, "liquid_pressure": 341}),
        ("furnace is an eighty K input", {"heating_input": 80_000}),
        ("CO in the kitchen's zero, CO at the flue is 85", {"ambient_carbon_monoxide": 0, "carbon_monoxide": 85}),
        ("room's at eighty one and the stat's set for seventy two", {"return_air_temp": 81}),
        ("a hundred and five cubic feet a minute coming out of that register", {"supply_airflow": 105}),
        ("outdoor's thirty C", {"outdoor_temp": 86}),
        ("return's nine hundred fifty square inches of filter", {"filter_face_area": 950}),
        ("half an inch of static total", {"total_static_pressure": 0.5}),
        ("the head's like three hundred, uh, three hundred thirty three", {"liquid_pressure": 333}),
        ("nail supply warehouse 5 ton 410a txv", {"cooling_capacity": 5}),
        ("412 on the big return and 385 on the hall one, so 797", {"return_airflow": 797}),
    ],
)
def test_a_habit_of_saying_it_gives_the_same_values(said, values):
    found = current(said)
    assert {quantity: found.get(quantity) for quantity in values} == pytest.approx(values)


@pytest.mark.parametrize(
    ("said", "never"),
    [
        ("supply air's fourteen Celsius out the supply", "outdoor_temp"),
        ("that's two eighty a ton of air", "return_airflow"),
        ("thirty two mini-split", "temperature_split"),
        ("seventy five in", "heating_input"),
        ("there's no harm in forty", "capacitance"),
        ("charge weighed out at six four", "outdoor_temp"),
        ("face velocity at the grille is five hundred ten feet a minute", "system_airflow"),
        ("cylinder weighed twenty two pounds four before I started", "refrigerant_added"),
        ("combustion air opening's a hundred square inches", "filter_face_area"),
        ("room's at eighty one", "ambient_carbon_monoxide"),
        ("insulate that last ten feet of suction line", "suction_line_size"),
        ("he wants to charge me seventy five for the return label", "return_air_temp"),
        ("used forty feet of five eighths insulation and six hangers", "line_set_length"),
        ("seventy nine for the cap and a hundred ten for the call, he paid cash", "capacitance"),
    ],
)
def test_a_lookalike_is_no_reading(said, never):
    assert never not in [r.quantity for r in readings(said)]


def test_a_clock_still_tells_five_to_eleven():
    assert [e.when for e in note("Got here at five to eleven.").events] == ["2026-05-12T10:55"]


def test_what_cannot_be_right_is_taken_back_and_what_follows_takes_its_place():
    found = readings("Liquid line one oh one. Hm. That can't be right. Let me move the clamp. Okay ninety four.")
    assert [(r.value, r.status) for r in found] == [(101, "retracted"), (94, "current")]


def test_a_unit_that_does_not_fit_is_still_asked_about():
    (reading,) = readings("liquid line's ninety six volts")
    assert (reading.quantity, reading.status, reading.doubt) == ("liquid_line_temp", "doubtful", "unit_mismatch")


def test_a_section_of_a_capacitor_is_told_by_the_words_before_it():
    (reading,) = readings("Herm side of the cap reads thirty eight six")
    assert (reading.value, reading.qualifier) == (38.6, "herm")


def test_how_long_a_test_has_stood_may_be_a_guess():
    found = readings("Nitrogen's at four hundred and it's been there since lunch, call it ninety minutes.")
    assert [(r.quantity, r.value, r.role) for r in found][1:] == [("test_duration", 90, "estimated")]


def test_a_place_that_heads_what_follows_is_its_system():
    assert {r.system for r in readings("Upstairs: suction 110, head 330.")} == {"upstairs"}
    assert {r.system for r in readings("Downstairs, head is 342 and liquid line 95.")} == {"downstairs"}
    assert {r.system for r in readings("I went upstairs, suction was 110.")} == {"main"}


def test_the_side_of_a_duct_is_the_word_behind_its_size_where_two_stand_as_near():
    runs = note("Two 14 inch flex returns and six 8 inch flex supplies.").duct_runs
    assert [(run.side, run.count, run.size_in) for run in runs] == [("return", 2, (14.0,)), ("supply", 6, (8.0,))]


@pytest.mark.parametrize(
    ("said", "items"),
    [
        (
            "Used 2 ball valves at 38 dollars each and one filter drier.",
            {"ball valve": (2, 38), "filter drier": (1, None)},
        ),
        ("Used two contactors and a disconnect at 95 dollars.", {"contactor": (2, None), "disconnect": (1, 95)}),
        ("Used one contactor, 42 dollars.", {"contactor": (1, 42)}),
    ],
)
def test_a_price_is_the_things_it_was_said_of_and_no_thing_itself(said, items):
    assert {m.item: (m.quantity, m.price) for m in note(said).materials} == items


def test_what_was_measured_before_a_question_is_a_reading_and_what_is_only_supposed_is_none():
    said = note("Head's 342, what's my subcool?")
    assert ([(r.quantity, r.value) for r in said.readings], said.questions) == (
        [("liquid_pressure", 342.0)],
        ("what's my subcool?",),
    )
    for supposed in ("At 118 on 410A suction, what's saturation?", "If the head was 342, what would the subcool be?"):
        asked = note(supposed)
        assert (asked.readings, asked.questions) == ((), (supposed,))


def test_what_the_plate_calls_for_and_what_was_got_are_two_values():
    found = readings("Twelve hundred's what the plate calls for on the airflow, eleven sixty's what I've got.")
    assert [(r.value, r.role, r.status) for r in found] == [(1200, "target", "current"), (1160, "measured", "current")]


def test_what_is_asked_did_not_happen():
    for asked in (
        "is the electrical permit up",
        "did the owner approve the return for nine hundred?",
        "any safety stuff I should know",
        "did we swap the compressor contactor already?",
    ):
        said = note(asked)
        assert (said.questions, said.events, said.tasks, said.agreements, said.materials) == ((asked,), (), (), (), ())


def test_what_is_put_like_a_question_and_meant_to_be_written_down_is():
    (task,) = note("Can you remind me to call the inspector tomorrow at nine?").tasks
    assert ("call the inspector" in task.what, task.due) == (True, "2026-05-13T09:00")


def test_a_permit_and_an_inspection_in_one_sentence_are_each_their_own():
    said = note("Mechanical permit's on the door, electrical inspector comes Friday at ten.")
    assert [(e.kind, e.trade, e.outcome, e.when) for e in said.events] == [
        ("permit", "mechanical", "posted", None),
        ("inspection", "electrical", "scheduled", "2026-05-15T10:00"),
    ]


@pytest.mark.parametrize(
    ("said", "people"),
    [
        ("Me and two guys been on this since six, call it eleven hours.", 3),
        ("That took the three of us five hours.", 3),
    ],
)
def test_who_tells_it_worked_too(said, people):
    assert [labour.people for labour in note(said).labour] == [people]


def test_returns_that_are_counted_have_no_temperature():
    assert readings("Ductwork at the co-op. Two returns, one of them is metal.") == []


def test_each_pair_of_legs_has_its_voltage():
    found = readings("L1 to L2 two oh eight, L2 to L3 two oh six, L1 to L3 two oh nine.")
    assert [(r.quantity, r.value) for r in found] == [("line_voltage", value) for value in (208, 206, 209)]


def test_a_list_of_what_is_left_is_as_many_tasks():
    tasks = note("Two things left: label the disconnect and register the warranty by Friday.").tasks
    assert [(t.what, t.due) for t in tasks] == [
        ("label the disconnect", None),
        ("register the warranty by Friday", "2026-05-15"),
    ]


def test_what_comes_before_something_does_not_wait_on_it():
    (task,) = note("The electrician has to land the whip before I hang the grille.").tasks
    assert task.waits_on is None


@pytest.mark.parametrize(
    ("said", "told"),
    [
        (
            "Gas inspector red tagged the flex connector, he'll be back Wednesday at two.",
            [("gas", "failed", "2026-05-12"), ("gas", "scheduled", "2026-05-13T14:00")],
        ),
        (
            "Rough-in passed this morning, final's set for the twentieth.",
            [(None, "passed", "2026-05-12"), (None, "scheduled", "2026-05-20")],
        ),
        ("Mechanical inspector walked it at nine, no corrections.", [("mechanical", "passed", "2026-05-12T09:00")]),
        ("City's sending somebody out Thursday for the electrical.", [("electrical", "scheduled", "2026-05-14")]),
        ("Plumbing inspector didn't like the trap, wants it redone.", [("plumbing", "failed", "2026-05-12")]),
    ],
)
def test_inspections_are_told_in_passing(said, told):
    found = note(said)
    assert [(e.trade, e.outcome, e.when) for e in found.events] == told
    assert found.tasks == ()


@pytest.mark.parametrize(
    ("said", "refrigerant"),
    [
        ("Recovered four pounds eleven ounces of R-22 off the old one.", None),
        ("Need another jug of 410A and a filter drier for tomorrow.", None),
        ("Old piston unit, R twenty two, two and a half tons.", "R-22"),
        ("The old one was R-22, new one's on R-454B.", "R-454B"),
    ],
)
def test_only_what_is_in_the_system_is_its_refrigerant(said, refrigerant):
    assert next((e.refrigerant for e in note(said).equipment), None) == refrigerant


def test_goods_are_counted_once_and_never_by_a_name_or_a_size():
    used = note("Used three rolls of foil tape and fifty feet of seven eighths copper.")
    assert {m.item: m.quantity for m in used.materials} == {"foil tape": 3, "copper tubing": 50}
    assert used.readings == ()
    needed = note("Need another jug of 410A and a filter drier for tomorrow.")
    assert {m.item: m.quantity for m in needed.materials} == {"filter drier": 1}
    sized = note("Installed 20 by 25 filters.")
    assert [m.quantity for m in sized.materials if m.quantity > 1] == []


def test_a_note_that_only_names_a_quantity_asks_for_it():
    assert note("and the superheat").questions == ("and the superheat",)
    assert [r.quantity for r in readings("Superheat. Eleven.")] == ["superheat"]


def test_a_note_may_end_in_the_middle_of_a_time():
    assert note("Back at the barn 8:15 this").text


def test_a_weight_puts_no_pressure_right():
    from tests.understand.test_taking_back import _log

    found = _log("Head 340.", "Hang on, two pounds two ounces.")
    assert found["liquid_pressure"] == [(340, "current")]


def test_a_weight_is_no_leg_of_the_line():
    found = readings("Legs are 440, 360 and forty pounds two ounces.")
    assert "line_voltage" not in [r.quantity for r in found if r.value == 642]
