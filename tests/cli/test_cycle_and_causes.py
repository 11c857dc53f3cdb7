"""`superheard chart` draws the cycle of a job; `superheard log` lists what could explain readings that are off."""

import xml.etree.ElementTree as ET

FOUR = "410A, TXV, target ten. Head 342, liquid line 94, suction 118, suction line 53."


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


def test_without_a_file_the_picture_goes_to_stdout_and_nothing_else(superheard):
    superheard("tell", FOUR, "--job", "bakery")
    drawn = superheard("chart")
    assert drawn.stdout.startswith("<svg") and drawn.stdout.endswith("</svg>\n")
    assert drawn.stderr == ""


def test_a_system_the_job_has_not_got_is_answered_with_those_it_has(superheard):
    superheard("tell", FOUR, "--job", "bakery")
    drawn = superheard("chart", "--system", "upstairs")
    assert drawn.exit_code == 1
    assert drawn.stderr == "Error: This job has no system called 'upstairs'; it has main.\n"


def test_the_only_system_need_not_be_named(superheard):
    superheard("tell", f"Upstairs unit is a two ton. Upstairs {FOUR}", "--job", "bakery")
    drawn = superheard("chart")
    assert (drawn.exit_code, drawn.stderr) == (0, "")


def test_a_file_that_cannot_be_written_is_one_clear_line(superheard, tmp_path):
    superheard("tell", FOUR, "--job", "bakery")
    drawn = superheard("chart", "--to", str(tmp_path / "nowhere" / "cycle.svg"))
    assert drawn.exit_code == 1
    assert "cannot be written" in drawn.stderr and "Traceback" not in drawn.stderr


def test_what_could_explain_readings_that_are_off_is_listed(superheard):
    words = (
        "Three ton 410A TXV, target ten. Grid twelve hundred. Suction 92, suction line 60, head 330, liquid line 83."
    )
    superheard("tell", words, "--job", "shop")
    shown = superheard("log", "shop").stdout
    assert "What could explain it" in shown and "restriction" in shown
    superheard("tell", "410A, TXV, target ten. Head 342, liquid line 94. Airflow 1200, three ton.", "--job", "sound")
    assert "What could explain it" not in superheard("log", "sound").stdout


def test_each_cause_stands_with_what_speaks_for_it_and_the_next_measurement(superheard):
    words = "Three ton 410A TXV, target ten. Suction 95, suction line 66, head 260, liquid line 84."
    superheard("tell", words, "--job", "shop")
    page = superheard("log", "shop").stdout
    section = " ".join(page[page.index("What could explain it") :].split("\n\n")[0].split())
    assert section.startswith("What could explain it - low charge For: superheat 37 °F")
    assert section.endswith("Next: Measure the airflow first. Search for the leak before weighing anything in.")


def test_while_the_air_is_short_it_is_the_only_cause_listed(superheard):
    words = "Three ton 410A TXV, target ten. Grid seven hundred. Suction 95, suction line 66, head 260, liquid line 84."
    superheard("tell", words, "--job", "shop")
    page = superheard("log", "shop").stdout
    section = page[page.index("What could explain it") :].split("\n\n")[0]
    assert "- low airflow" in section
    assert section.count("Next:") == 1 and "charge" not in section
