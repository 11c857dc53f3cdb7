"""The page a job is printed on holds everything, at any width, and needs no colour."""

from __future__ import annotations

import re
from dataclasses import replace
from io import StringIO

import pytest
from rich.console import Console

from assistant.converse.report import ADVICE, job_report
from assistant.records import Job, JobLog, Reading
from tests.cli.sample import JOB_LOG


def printed(log: JobLog, width: int = 80, colour: bool = False) -> str:
    out = StringIO()
    Console(file=out, width=width, force_terminal=colour, color_system="standard" if colour else None).print(
        job_report(log)
    )
    return out.getvalue()


def together(page: str) -> str:
    return " ".join(page.split())


@pytest.mark.parametrize("width", [60, 80, 100, 160])
def test_no_line_is_wider_than_the_terminal(width):
    assert max(map(len, printed(JOB_LOG, width).splitlines())) <= width


def test_every_reading_is_there_with_its_words_value_moment_and_confidence():
    page = together(printed(JOB_LOG, width=160))
    for reading in JOB_LOG.readings:
        assert f'"{reading.said}"' in page
    assert '1:04 "head three thirty eight" liquid pressure 338 psi 93 %' in page
    assert "target subcooling 10 °F" in page
    assert "vacuum 380 to 400 micron" in page


def test_a_reading_that_is_not_simply_in_force_says_so():
    page = together(printed(JOB_LOG, width=160))
    assert "return airflow 1,200 cfm - later replaced" in page
    assert "upstairs: suction pressure 1,180 psi - DOUBTFUL: nobody measures that" in page


def test_what_can_hurt_someone_comes_first_with_its_caution():
    page = printed(JOB_LOG)
    places = [
        page.index(title) for title in ("Stop", "What it comes to", "Look at", "Next", "Still to be said", "Said")
    ]
    assert places == sorted(places)
    assert "Caution: Nobody in the building; open the windows." in page


def test_a_provisional_verdict_keeps_what_it_would_say_by_itself():
    assert re.search(r"charge +provisional +the air is short *\n +\(in range\)", printed(JOB_LOG))


def test_findings_of_several_systems_stand_under_the_systems_name():
    page = printed(JOB_LOG)
    found = page[page.index("What it comes to") : page.index("Look at")].split()
    assert found.index("main") < found.index("airflow") < found.index("upstairs") < found.index("not")
    alone = printed(replace(JOB_LOG, equipment=(), readings=JOB_LOG.readings[:2], verdicts=JOB_LOG.verdicts[:2]))
    assert "main" not in alone


def test_sizes_and_weights_are_written_as_the_trade_says_them():
    line = Reading("liquid_line_size", 0.375, "in", said="three eighths liquid", note="n1")
    added = Reading("refrigerant_added", 0.9375, "lb", said="fifteen ounces", note="n1")
    page = together(printed(replace(JOB_LOG, readings=(line, added)), width=160))
    assert "liquid line size 3/8 inch" in page and "(15 oz)" in page


def test_what_else_was_said_is_on_its_day():
    page = printed(JOB_LOG)
    first, second = page.split("Said on Wednesday, May 20")
    for line in (
        "- gas permit: posted, May 12 at 7:50 am",
        "- 1 return run of 16 in round flex, 18 ft, proposed",
        "- 18 ft 16 inch flex duct, used",
        "- 3.5 h: return duct",
        "- one more 16 inch return: pending, owner, 1,150.00",
    ):
        assert line in first
        assert line not in second
    assert 'May 20: "the owner has a parrot"' in second


def test_open_work_comes_before_work_that_is_done():
    page = together(printed(JOB_LOG))
    assert "[ ] recheck the charge (waits on the return; follows from the readings) [x] call the owner" in page


def test_a_calculation_names_the_readings_it_came_from():
    assert "subcooling 9.7 ± 1.2 °F from liquid pressure 338 psi, liquid line 94.5 °F" in together(
        printed(JOB_LOG, 120)
    )


def test_colour_adds_nothing_that_the_words_do_not_say():
    assert re.sub(r"\x1b\[[0-9;]*m", "", printed(JOB_LOG, colour=True)) == printed(JOB_LOG)


def test_it_always_ends_by_saying_that_it_certifies_nothing():
    for log in (JOB_LOG, JobLog(Job("empty"))):
        assert printed(log).rstrip().endswith(ADVICE)


def test_an_empty_job_shows_no_empty_sections():
    assert printed(JobLog(Job("empty"))).split() == ["empty", "nothing", "told", "yet", *ADVICE.split()]


def test_what_the_speaker_says_is_never_taken_for_markup():
    odd = replace(JOB_LOG.readings[0], said="[bold]head[/] [link=x]")
    assert '"[bold]head[/] [link=x]"' in printed(replace(JOB_LOG, readings=(odd,)), width=160)
