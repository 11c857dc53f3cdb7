"""The figures in the data files: each has its source, and one without it is not used."""

from __future__ import annotations

import importlib
import inspect
import re
import tomllib
from pathlib import Path

import pytest

from assistant import compute
from assistant.compute.constants import constants, read_constants, read_rows, rows
from assistant.compute.leak_rate import refrigerant_facts
from assistant.compute.refrigerant import REFRIGERANTS
from assistant.errors import SettingsError

FOLDER = Path(compute.__file__).parent


@pytest.mark.parametrize("field", ["value", "unit", "source"])
def test_a_constant_without_it_does_not_load(field):
    whole = {"value": "value = 1", "unit": 'unit = "ft"', "source": 'source = "a page"'}
    assert read_constants("[length]\n" + "\n".join(whole.values()))["length"].value == 1
    part = "\n".join(line for name, line in whole.items() if name != field)
    with pytest.raises(SettingsError, match=f"'length' has no {field}"):
        read_constants(f"[length]\n{part}\n")


def test_a_table_row_without_a_source_does_not_load():
    assert read_rows('a,source\n1,"a page"\n') == [{"a": "1", "source": "a page"}]
    with pytest.raises(SettingsError, match="Row 2"):
        read_rows('a,source\n1,"a page"\n2,\n')


def test_every_constant_is_used_by_name():
    code = "".join(path.read_text("utf-8") for path in FOLDER.glob("*.py"))
    built = {
        "roughness_metal",
        "roughness_flex",
        "roughness_board",
        "capacitance_under_load_60",
        "capacitance_under_load_50",
    }
    built |= {"natural_gas_ultimate_carbon_dioxide", "propane_ultimate_carbon_dioxide"}
    unused = [name for name in constants() if f'"{name}"' not in code and name not in built]
    assert unused == []


def test_every_refrigerant_has_its_facts_with_a_source():
    assert [refrigerant_facts(name).name for name in REFRIGERANTS] == list(REFRIGERANTS)
    text = (FOLDER / "refrigerants.toml").read_text("utf-8")
    assert all(row["source"] for row in tomllib.loads(text).values())


@pytest.mark.parametrize(
    "name", ["target_superheat.csv", "target_temperature_split.csv", "return_grille.csv", "copper_tube.csv"]
)
def test_the_tables_load_with_their_sources(name):
    assert all(row["source"] for row in rows(name))


def test_no_file_of_this_stage_is_too_long_to_read():
    assert {path.name for path in FOLDER.glob("*.py") if len(path.read_text("utf-8").splitlines()) > 400} == set()


NO_NUMBER = {
    "canonical",
    "refrigerant_facts",
    "leak_rule",
    "decay_meaning",
    "runs_in_place",
    "duct_capacity",
    "ph_chart",
}


def test_every_public_formula_says_the_unit_of_what_it_takes_or_gives():
    words = ("charge", "airflow", "static_pressure", "ducts", "moist_air", "gas_heat", "electrical", "evacuation")
    words += ("pressure_test", "leak_rate", "cycle", "sweating", "refrigerant", "altitude")
    bare = []
    for word in words:
        module = importlib.import_module(f"assistant.compute.{word}")
        for name, thing in vars(module).items():
            ours = inspect.isfunction(thing) and thing.__module__ == module.__name__ and not name.startswith("_")
            if ours and name not in NO_NUMBER and not re.search(r"\[[^\]]+\]", thing.__doc__ or ""):
                bare.append(f"{word}.{name}")
    assert bare == []
