"""Prescribed returns against the table they are from."""

from __future__ import annotations

import re

import pytest

from assistant.compute.airflow import velocity
from assistant.compute.ducts import run_airflow
from assistant.compute.return_grille import grille_needed, prescribed_returns
from assistant.errors import OutOfRange
from assistant.records import DuctRun
from tests.compute.reference import rows

PRESCRIBED = [r for r in rows("airflow_duct.csv") if r["item"].startswith("prescriptive") and "return" in r["item"]]


@pytest.mark.parametrize("row", PRESCRIBED, ids=[f"{r['item'][13:24]} {r['inputs']}" for r in PRESCRIBED])
def test_the_smallest_return_is_the_printed_one(row):
    *ducts, area = (int(part) for part in re.findall(r"\d+", row["value"]))
    found = {len(r.ducts_in): r for r in prescribed_returns(float(row["inputs"].split()[0]))}
    assert found[len(ducts)].ducts_in == tuple(ducts)
    assert found[len(ducts)].grille_area == area


def test_a_large_system_has_no_single_return_and_a_size_between_rows_takes_the_next():
    assert [r.ducts_in for r in prescribed_returns(3.0)] == [(16, 14)]
    assert prescribed_returns(1.8) == prescribed_returns(2.0)
    with pytest.raises(OutOfRange):
        prescribed_returns(7.5)


def test_the_table_and_friction_agree_that_a_prescribed_return_is_large_enough():
    # A second route: at 350 cfm a ton and 0.08 inH2O per 100 ft, the prescribed duct in metal carries it.
    for tons in (1.5, 2.0, 2.5, 3.0, 3.5, 4.0, 5.0):
        for returns in prescribed_returns(tons):
            runs = [DuctRun("return", material="metal", size_in=(size,)) for size in returns.ducts_in]
            assert sum(run_airflow(run, 0.08).low for run in runs) > 350 * tons


def test_the_grille_area_is_what_its_face_velocity_asks_for():
    # Table 4-10: 2.0 ton at 350 cfm a ton through 600 in2 is 168 fpm.
    assert grille_needed(700, 168) == pytest.approx(600)
    assert velocity(700, grille_needed(700, 300)) == pytest.approx(300)
    with pytest.raises(OutOfRange):
        grille_needed(700, 0)
