"""More habits: a part's own figures, targets without a name, signs for sides, and what comes after a test.

Each text is compared with all that is read from it, so what stands beside a value may not become one either.
"""

import pytest

from assistant.records import Reading
from tests.understand.heard import note, readings


def _told(reading: Reading) -> str:
    role = reading.role if reading.role != "measured" else None
    return " ".join(filter(None, [f"{reading.value:g}", reading.quantity, reading.qualifier, role]))


@pytest.mark.parametrize(
    ("said", "told"),
    [
        # a breaker's, a heater's or a contactor's figure is not that of the value before
        (
            "Compressor 14.2, RLA 16. Line 242, control 25.2. Breaker max 35, MCA 21.1.",
            "14.2 compressor_current, 16 compressor_current rated, 242 line_voltage, 25.2 control_voltage, "
            "35 breaker_size rated, 21.1 minimum_circuit_ampacity rated",
        ),
        (
            "Control's twenty five. Breaker's maximum is thirty, minimum circuit ampacity eighteen.",
            "25 control_voltage, 30 breaker_size rated, 18 minimum_circuit_ampacity rated",
        ),
        ("Control voltage 26.1, max OCPD forty five.", "26.1 control_voltage, 45 breaker_size rated"),
        (
            "Biggest fuse it takes is forty five amps, min circuit twenty eight.",
            "45 breaker_size rated, 28 minimum_circuit_ampacity rated",
        ),
        ("Control voltage 26.1. Breaker, 35 max.", "26.1 control_voltage"),
        ("Compressor's at 11.4. Crankcase heater's rated 40.", "11.4 compressor_current"),
        ("Line 242, control 25.2. Contactor's rated thirty.", "242 line_voltage, 25.2 control_voltage"),
        ("The heat strips are pulling eighteen amps a leg.", ""),
        ("Breaker tripped at thirty eight amps.", ""),
        (
            "Line's 241 at the disconnect with everything on. Nameplate says 197 minimum.",
            "241 line_voltage, 197 line_voltage rated",
        ),
        # a bare target, told with the metering device; what a plate gives is not measured again
        (
            "3.5 ton that was R22, it's on 407C now, TXV, 12's the number on the tag. 235 on the head.",
            "3.5 cooling_capacity rated, 12 subcooling target, 235 liquid_pressure",
        ),
        ("4 ton 410A TXV. Ten's the number on the door.", "4 cooling_capacity rated, 10 subcooling target"),
        ("Four ton, TXV, eleven is what the sticker wants.", "4 cooling_capacity rated, 11 subcooling target"),
        ("TXV, and the install book's after nine and a half.", "9.5 subcooling target"),
        ("TXV, and the sheet's asking for eight and a half.", "8.5 subcooling target"),
        ("Piston. Superheat should land at fourteen and it's at twenty one.", "14 superheat target, 21 superheat"),
        ("Four ton, and I'm only getting twelve an hour.", "4 cooling_capacity rated"),
        ("TXV. Nine was the count on the sticker roll.", ""),
        # what a known size moves
        ("Three ton. Plate in the slot, eleven sixty, that's fine.", "3 cooling_capacity rated, 1160 system_airflow"),
        ("Stuck the plate in the rack, thirteen forty.", "1340 system_airflow"),
        ("Three ton and I'm only getting nine forty.", "3 cooling_capacity rated, 940 system_airflow"),
        ("It's a three ton and all I'm getting is nine hundred.", "3 cooling_capacity rated, 900 system_airflow"),
        (
            "Three ton, and the plate jumps to eleven forty, total static's down to point four six.",
            "3 cooling_capacity rated, 1140 system_airflow, 0.46 total_static_pressure",
        ),
        (
            "Three ton. Total static is .44 and I've got 1190.",
            "3 cooling_capacity rated, 0.44 total_static_pressure, 1190 system_airflow",
        ),
        ("Three ton and I'm only getting nine hundred for the whole job.", "3 cooling_capacity rated"),
        ("Zero ton. I'm only getting nine forty.", "0 cooling_capacity rated"),
        ("Three ton. He's getting nine hundred out of me.", "3 cooling_capacity rated"),
        (
            "Four ton, static's point seven and I got 1400 from him for the deposit.",
            "4 cooling_capacity rated, 0.7 total_static_pressure",
        ),
        ("Three ton. Plate says twelve hundred on it.", "3 cooling_capacity rated"),
        # both sides of a blower, by their signs
        (
            "Static plus point two one and minus point two three.",
            "0.21 supply_static_pressure, 0.23 return_static_pressure",
        ),
        (
            "Static's positive point three, negative point two eight.",
            "0.3 supply_static_pressure, 0.28 return_static_pressure",
        ),
        (
            "Static is point two one positive and point two three negative.",
            "0.21 supply_static_pressure, 0.23 return_static_pressure",
        ),
        (
            "Negative static point three one, positive point one eight.",
            "0.31 return_static_pressure, 0.18 supply_static_pressure",
        ),
        ("Manometer says plus 0.31, minus 0.27.", "0.31 supply_static_pressure, 0.27 return_static_pressure"),
        (
            "Statics plus .22 out the top, minus .41 coming in, total's .63.",
            "0.22 supply_static_pressure, 0.41 return_static_pressure, 0.63 total_static_pressure",
        ),
        ("Draft is minus point oh two and static plus point two.", "-0.02 draft_pressure, 0.2 total_static_pressure"),
        ("Static, plus two boxes and minus one roll.", ""),
        # the pump's test is not nitrogen's
        (
            "480 nitrogen for 45 minutes and it never moved. Pump got to 290, 10 minutes off the pump it was 365.",
            "480 test_pressure, 45 test_duration pressure_test, 290 vacuum_level, 10 test_duration evacuation, "
            "365 vacuum_level",
        ),
        (
            "Held 500 psi nitrogen for an hour. Pump pulled it to 310, fifteen minutes valved off, 390.",
            "500 test_pressure, 60 test_duration pressure_test, 310 vacuum_level, 15 test_duration evacuation, "
            "390 vacuum_level",
        ),
        (
            "Nitrogen 450 held 30 minutes. Pump took us down to two eighty, off the pump ten minutes, three forty.",
            "450 test_pressure, 30 test_duration pressure_test, 280 vacuum_level, 10 test_duration evacuation, "
            "340 vacuum_level",
        ),
        ("Broke the vacuum with nitrogen, second pull got to 240.", "240 vacuum_level"),
        ("The heat pump got to 290 before it quit. Nitrogen's at 400.", "400 test_pressure"),
        (
            "300 microns, valved off 10 minutes, 380. Turned it on. Twenty minutes later, suction one fourteen.",
            "300 vacuum_level, 10 test_duration evacuation, 380 vacuum_level, 114 suction_pressure",
        ),
        (
            "300 microns held. Started her up at nine. Half an hour later head's three ten.",
            "300 vacuum_level, 310 liquid_pressure",
        ),
        ("Pump off, packed up, drove ninety miles, home by six forty.", ""),
        # gas at a burner and before it, in any unit
        (
            "Burner's at eight point seven millibar and the standing gas is twenty millibar.",
            "3.49273 manifold_pressure, 8.02926 gas_inlet_pressure",
        ),
        (
            "Standing pressure on the gas is seven inches, burner's at three and a half inches.",
            "7 gas_inlet_pressure, 3.5 manifold_pressure",
        ),
        (
            "Working gas is 18.5 millibar, at the burner it's 9.2 millibar.",
            "7.42707 gas_inlet_pressure, 3.69346 manifold_pressure",
        ),
        ("Burner's been out for twelve days, and it's four inches of soot.", ""),
        # what a capacitor is, and what it reads
        ("Fan cap's a five and it's three point one.", "5 capacitance fan rated, 3.1 capacitance fan"),
        ("Run cap's a forty. It's down to thirty three.", "40 capacitance run rated, 33 capacitance run"),
        ("Herm's a forty five, it's at thirty nine.", "45 capacitance herm rated, 39 capacitance herm"),
        ("Fan cap is a seven and a half and it's only making six.", "7.5 capacitance fan rated, 6 capacitance fan"),
        ("Herm side of the cap reads 38.6, it's a forty five.", "38.6 capacitance herm, 45 capacitance herm rated"),
        ("Run cap's reading thirty one, it's a forty.", "31 capacitance run, 40 capacitance run rated"),
        ("Run cap's reading thirty one, it's a ten minute job.", "31 capacitance run"),
        ("Fan cap's a five and it's three days old.", "5 capacitance fan rated"),
        ("The cap's a forty five and it's ninety five out.", "45 capacitance rated, 95 outdoor_temp"),
        # thousands left unsaid behind thousands said
        ("Plate says eighty thousand in and seventy six out.", "80000 heating_input rated, 76000 heating_output rated"),
        (
            "New furnace. Plate's a hundred thousand in, ninety six out.",
            "100000 heating_input rated, 96000 heating_output rated",
        ),
        ("Sixty thousand Btu in, fifty five and a half out on the tag.", "60000 heating_input rated"),
        ("It's ninety one in and eighty three out.", ""),
        # a weight on the scale, and the plate's own
        (
            "That's three point three ounces by the chart, "
            "so three point three ounces on the scale and turned her loose.",
            "0.20625 refrigerant_added",
        ),
        ("Set two pounds four on the scale and opened her up.", "2.25 refrigerant_added"),
        ("Snuck in six ounces. Eased in half a pound.", "0.375 refrigerant_added, 0.5 refrigerant_added"),
        (
            "Charged 8 lb 8 oz by weight, that's what the plate calls for.",
            "8.5 refrigerant_added, 8.5 factory_charge rated",
        ),
        (
            "Weighed in three pounds six ounces, that's what the tag says too.",
            "3.375 refrigerant_added, 3.375 factory_charge rated",
        ),
        ("Cylinder was twenty two pounds four on the scale before I started.", ""),
        ("Chart says six ounces for the extra line.", ""),
        # a gauge and a clamp on one side
        ("Three thirty four and ninety nine on the liquid side.", "334 liquid_pressure, 99 liquid_line_temp"),
        (
            "335 and 98 on the high side, 118 and 54 on the low side.",
            "335 liquid_pressure, 98 liquid_line_temp, 118 suction_pressure, 54 suction_line_temp",
        ),
        (
            "Suction side's one eighteen and fifty five, liquid side's three forty and ninety four.",
            "118 suction_pressure, 55 suction_line_temp, 340 liquid_pressure, 94 liquid_line_temp",
        ),
        ("One hundred and twenty and fifty on the low side of the street.", ""),
    ],
)
def test_a_text_gives_these_values_and_no_other(said, told):
    assert ", ".join(map(_told, readings(said))) == told


@pytest.mark.parametrize(
    ("said", "refrigerant"),
    [
        ("3.5 ton that was R22, it's on 407C now", "R-407C"),
        ("three ton converted from R-22 to 407C", "R-407C"),
        ("it came with R-22 but somebody put 407C in it", "R-407C"),
        ("it left the factory on R-22, they've got 407C in it now", "R-407C"),
        ("used to be on R22 and it's on 407C these days", "R-407C"),
        ("retrofit, R22 out, 407C in", "R-407C"),
        ("had R-22 in it, it's 407C now", "R-407C"),
        ("it was R-22, 3 ton, piston", "R-22"),
        ("it's on R-22, and I've a jug of 407C on the truck", "R-22"),
        ("three ton of twenty two on a piston", "R-22"),
        ("five ton of thirty two on a TXV", "R-32"),
        ("two ton, twenty two on a ladder all day", None),
        ("three ton, twenty two on the superheat", None),
    ],
)
def test_what_was_in_a_system_gives_way_to_what_is(said, refrigerant):
    assert [e.refrigerant for e in note(said).equipment] == [refrigerant]


@pytest.mark.parametrize(
    ("said", "device"),
    [
        ("two ton, capillary feed, uh, no, there's a piston in it", "fixed_orifice"),
        ("it's a piston, no wait, it's a TXV", "txv"),
        ("there's a piston in it, no TXV", "fixed_orifice"),
        ("burner orifice is a number forty two", None),
    ],
)
def test_the_metering_device_said_last_is_the_one(said, device):
    assert [e.metering_device for e in note(said).equipment if e.metering_device] == [device] * (device is not None)
