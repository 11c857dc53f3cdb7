"""Habits of telling: typed short, a test tried twice, air in a roundabout way, whose figure it is, and weights.

Each text is compared with all that is read from it, so what stands beside a value may not become one either.
"""

import pytest

from assistant.records import Reading
from tests.understand.heard import readings


def _told(reading: Reading) -> str:
    role = reading.role if reading.role != "measured" else None
    status = reading.status if reading.status != "current" else None
    return " ".join(filter(None, [f"{reading.value:g}", reading.quantity, reading.qualifier, role, status]))


def _all_told(said: str) -> str:
    return ", ".join(_told(reading) for reading in readings(said))


@pytest.mark.parametrize(
    ("said", "told"),
    [
        (
            "Suct 121 psi, head press 342, liq line 96, suct line 54, OD 91F. SC target 10.",
            "121 suction_pressure, 342 liquid_pressure, 96 liquid_line_temp, 54 suction_line_temp, 91 outdoor_temp, "
            "10 subcooling target",
        ),
        (
            "R22, piston, 2.5T. OA 94, RA 77 db / 64 wb. Suct. 66, suct line 58.",
            "2.5 cooling_capacity rated, 94 outdoor_temp, 77 return_air_temp, 64 return_wet_bulb, "
            "66 suction_pressure, 58 suction_line_temp",
        ),
        ("RA 78, SA 57, dT 21.", "78 return_air_temp, 57 supply_air_temp, 21 temperature_split"),
        (
            "80db/68wb return, 59 db 57 wb supply.",
            "80 return_air_temp, 68 return_wet_bulb, 59 supply_air_temp, 57 supply_wet_bulb",
        ),
        (
            "Liq press 340 psi, suct press 119 psi, disch temp 171.",
            "340 liquid_pressure, 119 suction_pressure, 171 discharge_line_temp",
        ),
        (
            "TESP 0.58, max 0.8. Ret static 0.33. Sup static 0.25. CFM 1640.",
            "0.58 total_static_pressure, 0.8 total_static_pressure rated, 0.33 return_static_pressure, "
            "0.25 supply_static_pressure, 1640 system_airflow",
        ),
        ("CFM 1240 at the return grilles.", "1240 return_airflow"),
        ("PPM 34 in the stack. Microns 420.", "34 carbon_monoxide, 420 vacuum_level"),
        (
            "Comp 12.4A, cond fan 1.1A, ctrl 26.1V.",
            "12.4 compressor_current, 1.1 condenser_fan_current, 26.1 control_voltage",
        ),
        # what is typed as short and is no value
        ("9 supply takeoffs, 8 in flex. 4 return drops, 12 new supply registers.", ""),
        ("There are four supply trunks and two return ducts.", ""),
        ("Attic's 131 deg. Used 1 gal mastic.", ""),
        ("RA damper's at 20, OA damper's open.", ""),
        ("Liq line drier 60 cu in. Suct accumulator 40 lb.", ""),
        ("Noise is 72 db at the lot line.", ""),
        ("The T is 3 ft off the trunk.", ""),
        ("Pipe's 1 1/8 OD. OA 200 cfm.", ""),
        ("Amb CO 3 ppm.", "3 ambient_carbon_monoxide"),
    ],
)
def test_what_is_typed_short_is_what_it_stands_for(said, told):
    assert _all_told(said) == told


@pytest.mark.parametrize(
    ("said", "told"),
    [
        (
            "Nitrogen test. Four hundred went in at nine ten. Half an hour on it was down to three eighty eight. Took "
            "the valve cap off and there it bubbled. Second go, four hundred, one hour by the clock, and four hundred "
            "it still is.",
            "400 test_pressure superseded, 30 test_duration pressure_test superseded, 388 test_pressure superseded, "
            "400 test_pressure, 60 test_duration pressure_test",
        ),
        (
            "Nitrogen on. Five ten. Fifty minutes. Five ten. Good.",
            "510 test_pressure, 50 test_duration pressure_test",
        ),
        (
            "Nitrogen's in at six hundred. Twenty minutes. Five eighty eight. There's a leak.",
            "600 test_pressure superseded, 20 test_duration pressure_test, 588 test_pressure",
        ),
        (
            "Nitrogen, four forty. An hour and ten minutes. Four forty. Done.",
            "440 test_pressure, 70 test_duration pressure_test",
        ),
        ("Press test. 450 psi at 9:15, 60 min, 450 psi.", "450 test_pressure, 60 test_duration pressure_test"),
        (
            "Put the lines under pressure, three hundred and seventy pounds, and a full hour later they're at three "
            "seventy.",
            "370 test_pressure, 60 test_duration pressure_test",
        ),
        (
            "Pressured it up to five hundred. Had a sandwich. Two hours on and it still reads five hundred.",
            "500 test_pressure, 120 test_duration pressure_test",
        ),
        (
            "Nitrogen's on, three ninety five. Hour's up, and it's three ninety five yet.",
            "395 test_pressure, 60 test_duration pressure_test",
        ),
        (
            "Nitrogen, four twenty five. Left her an hour and a quarter. Not a pound lost.",
            "425 test_pressure, 75 test_duration pressure_test",
        ),
        (
            "Nitrogen test at six hundred, wait half an hour, five ninety.",
            "600 test_pressure superseded, 30 test_duration pressure_test, 590 test_pressure",
        ),
        (
            "Nitrogen, five forty. An hour later it's down at five twenty eight and no, it wasn't the weather.",
            "540 test_pressure superseded, 60 test_duration pressure_test, 528 test_pressure",
        ),
        (
            "Nitrogen pressure started at five twenty and after lunch, fifty minutes, read five twenty.",
            "520 test_pressure, 50 test_duration pressure_test",
        ),
        (
            "Triple evac, last one got to one eighty, held two ten for fifteen minutes.",
            "180 vacuum_level superseded, 210 vacuum_level, 15 test_duration evacuation",
        ),
        # a pump is no nitrogen, nor the other way round
        (
            "It held three hundred of nitrogen for forty minutes. Pumped it to two ninety, then with the pump valved "
            "off it was three fifty after ten minutes.",
            "300 test_pressure, 40 test_duration pressure_test, 290 vacuum_level superseded, 350 vacuum_level, "
            "10 test_duration evacuation",
        ),
        (
            "It held six hundred of nitrogen for an hour. Pumped it to two eighty, shut the valve and ten minutes on "
            "it's three forty.",
            "600 test_pressure, 60 test_duration pressure_test, 280 vacuum_level superseded, "
            "10 test_duration evacuation, 340 vacuum_level",
        ),
        (
            "Pumped it to four fifty with nitrogen and it held an hour.",
            "450 test_pressure, 60 test_duration pressure_test",
        ),
        ("Nitrogen. Pumped it to three fifty. Held it an hour.", "350 test_pressure, 60 test_duration pressure_test"),
        # nor is everything that is under pressure being tested, or everything that lasts a test
        ("System's under pressure, one eighteen on the low side.", "118 suction_pressure"),
        ("Nitrogen at five hundred. Spent two hours on the wiring. Five hundred still.", "500 test_pressure"),
        ("Took the service cap off and it's 40 psi.", ""),
    ],
)
def test_a_test_is_told_in_pieces_and_tried_again(said, told):
    assert _all_told(said) == told


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ("I hooded all three returns and between the lot of them there's only nine eighty.", "980 return_airflow"),
        (
            "I hung the hood on the return grilles and all told they only come to thirteen fifty.",
            "1350 return_airflow",
        ),
        ("I held the hood up to the two returns, and what I got was thirteen ten.", "1310 return_airflow"),
        (
            "Put the hood over the big return and the little one and altogether there's maybe nine sixty.",
            "960 return_airflow estimated",
        ),
        ("Hooded every return in the place and the lot of them adds up to sixteen twenty.", "1620 return_airflow"),
        ("I hooded the one return, and all I get is seven ninety.", "790 return_airflow"),
        ("I hooded the supplies too, and they add up to twelve eighty.", "1280 supply_airflow"),
        ("Hood at the return, thirteen forty on the nose.", "1340 return_airflow"),
        # a hood that is sold or paid for measures nothing
        ("I hung a new hood on the range and it's four fifty.", ""),
        ("I hung the hood on the return and told her a bigger one, it's four fifty.", ""),
        ("Two new return grilles and a hood, they come to three eighty.", ""),
        ("Put in two new filter grilles, and all told they come to ninety six.", ""),
    ],
)
def test_what_the_hood_comes_to_may_stand_far_from_it(said, told):
    assert _all_told(said) == told


@pytest.mark.parametrize(
    ("said", "told"),
    [
        (
            "Run cap says thirty five on the label and I get twenty eight point four out of it.",
            "35 capacitance run rated, 28.4 capacitance run",
        ),
        ("Cap's marked fifty, and my meter shows forty seven point nine.", "50 capacitance rated, 47.9 capacitance"),
        (
            "Dual cap's rated forty on the herm and five on the fan, and I'm getting thirty six point one herm, four "
            "point nine fan.",
            "40 capacitance herm rated, 5 capacitance fan rated, 36.1 capacitance herm, 4.9 capacitance fan",
        ),
        (
            "Unit one's cap is rated thirty five herm and five fan, five even on the fan. Unit two's rated forty and "
            "five as well.",
            "35 capacitance herm rated, 5 capacitance fan rated, 5 capacitance fan, 40 capacitance herm rated, "
            "5 capacitance fan rated",
        ),
        (
            "Cap's rated thirty five and five. Reads thirty three and four point eight.",
            "35 capacitance herm rated, 5 capacitance fan rated, 33 capacitance herm, 4.8 capacitance fan",
        ),
        ("It's got its new run cap, a thirty five microfarad, and off it goes.", "35 capacitance run rated"),
        ("New forty microfarad run cap went in.", "40 capacitance run rated"),
        ("Run cap reads a forty.", "40 capacitance run"),
        (
            "Dual cap, forty five seven and a half, reads forty four and seven point one.",
            "45 capacitance herm rated, 7.5 capacitance fan rated, 44 capacitance herm, 7.1 capacitance fan",
        ),
        (
            "The tag says 14.1 RLA on the compressor and it's drawing eleven nine.",
            "14.1 compressor_current rated, 11.9 compressor_current",
        ),
        ("TXV. Still nine on the sticker, eighty eight outside.", "9 subcooling target, 88 outdoor_temp"),
        ("Piston. Fourteen by the chart, suction sixty six.", "14 superheat target, 66 suction_pressure"),
        ("CFM 1200 was the design, CFM 980 is what I got.", "1200 system_airflow target, 980 system_airflow"),
        ("Twelve is the target, ten point five subcool.", "12 subcooling target, 10.5 subcooling"),
        (
            "Head three forty is what the chart says, three twenty two is what I've got.",
            "340 liquid_pressure rated, 322 liquid_pressure",
        ),
        ("Somebody wrote eleven subcool on the lid.", "11 subcooling target"),
        ("The last guy wrote subcool nine inside the panel.", "9 subcooling target"),
        ("Eight of subcool is wrote on the door.", "8 subcooling target"),
        ("Label says four pounds nine and a nine degree subcool.", "4.5625 factory_charge rated, 9 subcooling target"),
        ("Somebody wrote suction one eighteen, head three forty on the cover.", ""),
        ("Put the lid back on, suction one eighteen.", "118 suction_pressure"),
        ("Tag's bleached white but I'd guess four ton.", "4 cooling_capacity estimated"),
        ("Sticker's gone, my guess is two and a half ton.", "2.5 cooling_capacity estimated"),
        ("Plate says three ton.", "3 cooling_capacity rated"),
        (
            "Manifold pressure is three point one where it's meant to be three and a half.",
            "3.1 manifold_pressure, 3.5 manifold_pressure target",
        ),
        (
            "Supply static's point four where it ought to be point two.",
            "0.4 supply_static_pressure, 0.2 supply_static_pressure target",
        ),
        ("Minimum circuit twenty four amps.", "24 minimum_circuit_ampacity rated"),
        (
            "Line's two thirty eight, control's twenty five, fan's one point two.",
            "238 line_voltage, 25 control_voltage, 1.2 condenser_fan_current",
        ),
        (
            "Compressor's pulling eleven two, fan's two point four.",
            "11.2 compressor_current, 2.4 condenser_fan_current",
        ),
        ("Fan's four point nine, herm's forty one.", "4.9 capacitance fan, 41 capacitance herm"),
        ("Took the old thirty five out, it read twenty eight.", ""),
    ],
)
def test_whose_figure_it_is_tells_its_role(said, told):
    assert _all_told(said) == told


@pytest.mark.parametrize(
    ("said", "told"),
    [
        (
            "Twenty feet over comes to five ounces by the book, so that's what went in, five ounces on the scale.",
            "0.3125 refrigerant_added",
        ),
        ("Ten ounces more on the scale for the long run.", "0.625 refrigerant_added"),
        ("Another nine ounces across the scale and she leveled out.", "0.5625 refrigerant_added"),
        ("Old charge is out, five pounds two ounces of it.", "5.125 refrigerant_recovered"),
        ("All the refrigerant's out, weighed two pounds nine.", "2.5625 refrigerant_recovered"),
        (
            "Sucked out six pounds ten, weighed back in seven pounds two.",
            "6.625 refrigerant_recovered, 7.125 refrigerant_added",
        ),
        (
            "Out came four pounds fourteen, in went five pounds four.",
            "4.875 refrigerant_recovered, 5.25 refrigerant_added",
        ),
        ("Charge is out of spec, two pounds low.", ""),
        ("Cylinder's at eighteen pounds on the scale.", ""),
        ("Comes to twelve ounces by the sticker.", ""),
        ("Needs about six ounces more but my jug's empty.", ""),
        ("Plate says four pounds eleven.", "4.6875 factory_charge rated"),
        # the two lines, by how big they are
        (
            "It's seven eighths on the big line, three eighths on the small one.",
            "0.875 suction_line_size, 0.375 liquid_line_size",
        ),
        (
            "Copper's what was there, the fat line's three quarter and the skinny one's three eighths.",
            "0.75 suction_line_size, 0.375 liquid_line_size",
        ),
        (
            "Five eighths on the fat pipe, quarter inch on the little pipe.",
            "0.625 suction_line_size, 0.25 liquid_line_size",
        ),
        ("Black iron pipe, three quarter on the big one and half inch on the small one.", ""),
    ],
)
def test_a_weight_is_what_was_done_with_it_and_a_size_is_of_its_line(said, told):
    assert _all_told(said) == told
