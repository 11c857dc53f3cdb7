"""`superheard chart` draws the cycle of a job; `superheard log` lists what could explain readings that are off."""

import xml.etree.ElementTree as ET


def test_the_cycle_of_a_job_is_drawn(superheard, tmp_path):
    words = "410A, TXV, target ten. Head 342, liquid line 94, suction 118, suction line 53, discharge line 170."
    superheard("tell", words, "--job", "bakery")
    drawn = superheard("chart", "bakery", "--to", str(tmp_path / "cycle.svg"))
    assert drawn.exit_code == 0, drawn.stderr
    root = ET.fromstring((tmp_path / "cycle.svg").read_text("utf-8"))
    assert root.tag.endswith("svg")
    assert "R-410A" in "".join(root.itertext())


def test_what_is_missing_is_named(superheard):
    superheard("tell", "410A, TXV. Head 342, liquid line 94.", "--job", "bakery")
    drawn = superheard("chart", "bakery")
    assert drawn.exit_code == 1
    assert "suction pressure, suction line temp" in drawn.stderr


def test_what_could_explain_readings_that_are_off_is_listed(superheard):
    words = (
        "Three ton 410A TXV, target ten. Grid twelve hundred. Suction 92, suction line 60, head 330, liquid line 83."
    )
    superheard("tell", words, "--job", "shop")
    shown = superheard("log", "shop").stdout
    assert "What could explain it" in shown and "restriction" in shown
    superheard("tell", "410A, TXV, target ten. Head 342, liquid line 94. Airflow 1200, three ton.", "--job", "sound")
    assert "What could explain it" not in superheard("log", "sound").stdout
