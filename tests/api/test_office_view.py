"""One job as the office's page shows it."""

import dataclasses

import pytest

from api import office_view
from api.changes import changes, measured_again
from api.task_view import grouped, month, task_rows
from api.visit_view import Heard, hours, visits
from assistant.judge.tables import limit
from assistant.records import Job, JobLog, Labour, Reading, Task, Verdict, Visit
from tests.api.jobs import demo_history, told

LOG = demo_history().latest


def system(name):
    return next(part for part in office_view.systems(LOG) if part.system == name)


def finding(name, about):
    return next(row for row in system(name).findings if row.about == about)


def test_a_value_keeps_its_words_its_moment_and_how_sure_it_is():
    reading = Reading("liquid_pressure", 345.0, "psi", said="head pressure 345", note="a1", start_s=64.2, end_s=66.0,
                      confidence=0.934, position=7)  # fmt: skip
    line = office_view.value_line(reading)
    assert (line.name, line.shown, line.said, line.at) == ("liquid pressure", "345 psi", "head pressure 345", "1:04")
    assert (line.start_s, line.end_s, line.sure, line.became) == (64.2, 66.0, 93, "")


def test_a_range_shows_both_ends_and_never_only_its_midpoint():
    reading = Reading("superheat", 8.5, "delta_degF", said="eight to nine", low=8.0, high=9.0)
    assert office_view.shown(reading) == "8 °F to 9 °F"


def test_every_reading_of_the_log_stands_on_the_page_whatever_became_of_it():
    lines = [line for values in office_view.values_of(LOG).values() for line in values]
    assert len(lines) == len(LOG.readings) == 39
    assert [(line.said, line.became) for line in lines if line.status == "retracted"] == [
        ("Nitrogen is on at three hundred and fifty psi", "taken back")
    ]


def test_no_value_on_the_page_has_another_number_than_the_log():
    for reading in LOG.readings:
        assert float(office_view.value_line(reading).number) == pytest.approx(reading.value)


def test_values_of_the_same_words_have_anchors_of_their_own():
    lines = [line.anchor for values in office_view.values_of(LOG).values() for line in values]
    assert len(set(lines)) == len(lines)


def test_doubtful_values_come_before_badly_heard_ones_and_sure_ones_not_at_all():
    sure = Reading("suction_pressure", 118.0, "psi", note="a", confidence=0.95)
    unsure = Reading("liquid_pressure", 345.0, "psi", note="a", confidence=0.4, position=5)
    odd = Reading("liquid_line_temp", 704.0, "degF", note="a", status="doubtful", doubt="value_implausible", position=9)
    log = JobLog(Job("x"), visits=(Visit("2026-05-12", ("a",)),), readings=(sure, unsure, odd))
    listed = office_view.doubtful_first(log)
    assert [(day, line.quantity) for day, line in listed] == [
        ("2026-05-12", "liquid_line_temp"), ("2026-05-12", "liquid_pressure"),
    ]  # fmt: skip
    assert listed[0][1].became == "nobody measures that"


def test_a_verdict_shows_what_it_was_worked_out_from_with_method_and_source():
    charge = finding("studio", "charge")
    assert (charge.standing, charge.tone) == ("in range", "good")
    (basis,) = charge.basis
    assert basis.name == "subcooling" and basis.shown.startswith("10.3 ± ")
    assert {line.quantity: line.shown for line in basis.inputs} == {
        "liquid_pressure": "358 psi", "liquid_line_temp": "98 °F",
    }  # fmt: skip
    assert "CoolProp" in basis.source
    assert charge.limits == (limit("subcooling_tolerance").source,)


def test_a_charge_by_superheat_names_the_limits_and_the_target_of_superheat():
    charge = finding("upstairs", "charge")
    assert [basis.name for basis in charge.basis] == ["superheat", "target superheat"]
    assert limit("superheat_tolerance").source in charge.limits


def test_a_verdict_without_a_calculation_shows_the_readings_it_compares():
    gas = finding("studio", "gas_pressure")
    assert {line.shown for line in gas.readings} == {"7.2 inH2O", "3.5 inH2O"}


def test_every_verdict_there_can_be_has_its_limits_listed_and_each_limit_has_a_source():
    import assistant.judge

    listed = assistant.judge.__doc__.split("are about:")[1].split(";")[0].replace(" and ", ", ")
    abouts = [word.strip().replace(" ", "_") for word in listed.replace("\n", " ").split(",")]
    assert len(abouts) > 20
    rows = office_view._limits_of()
    for about in abouts:
        names = [f"charge_by_{m}" for m in ("subcooling", "superheat")] if about == "charge" else [about]
        assert all(name in rows for name in names), about
    assert all(limit(name).source for names in rows.values() for name in names)


def test_a_provisional_verdict_says_what_it_would_be_by_itself():
    log = demo_history("2025-08-19").latest
    (charge,) = [row for part in office_view.systems(log) for row in part.findings if row.about == "charge"]
    assert charge.standing == "provisional (in range)" and charge.tone == "info"
    assert any(line.startswith("studio: charge provisional (in range)") for line in office_view.not_settled(log))


def test_what_is_not_known_says_what_it_needs():
    log = told(("2026-05-12", "It's R-410A with a TXV, 4 ton. Head pressure is 345, liquid line 94.")).latest
    rows = [row for part in office_view.systems(log) for row in part.findings if row.needs]
    assert rows and all(row.standing == "not known yet" for row in rows)
    assert office_view.not_settled(log)


def test_concerns_that_stop_the_work_come_first():
    log = told(("2026-05-12", "Refrigerant is R-454B. Furnace flue: carbon monoxide 520 parts per million, oxygen 8 "
                              "percent."), job="flue").latest  # fmt: skip
    severities = [concern.severity for concern in office_view.concerns(log)]
    assert severities[0] == "stop" and severities == sorted(severities, key=("stop", "attention", "info").index)


# ---------------------------------------------------------------- then and now


def test_airflow_before_and_after_the_return_was_added():
    (studio,) = [each for each in changes(demo_history()) if each.system == "studio"]
    assert studio.dates[0] == "2025-08-19" and studio.dates[-1] == "2025-09-04"
    rows = {row.name: row for row in studio.rows}
    flow = rows["return airflow"]
    assert [cell.words for cell in flow.cells if cell.words] == ["1,230 cfm", "1,610 cfm"]
    assert flow.change == "+380 cfm"
    assert ("2025-08-27", "1 return run of 16 in round flex, 20 ft, added") in studio.done


def test_the_charge_was_provisional_and_is_in_range_since():
    (studio,) = [each for each in changes(demo_history()) if each.system == "studio"]
    charge = next(row for row in studio.rows if row.name == "charge")
    words = [cell.words for cell in charge.cells]
    assert words[0] == "provisional (in range)" and words[-1] == "in range"


def test_air_comes_before_charge_among_what_changed():
    names = [row.name for row in measured_again(demo_history(), "studio")]
    assert names.index("airflow_per_ton") < names.index("return_airflow") < names.index("subcooling")


def test_findings_of_the_air_stand_before_those_of_the_charge_and_the_weather_alone_is_no_comparison():
    (studio,) = changes(demo_history())
    assert studio.system == "studio"
    assert [row.name for row in studio.rows if row.quantity is None] == ["airflow", "return", "charge"]


def test_one_visit_has_nothing_to_compare():
    assert changes(told(("2026-05-12", "Suction 118, head 345."))) == ()


def test_a_value_that_stayed_is_unchanged_and_a_fall_has_a_minus():
    history = told(
        ("2026-05-12", "Suction pressure 118, head pressure 345."),
        ("2026-05-20", "Suction pressure 118, head pressure 330."),
    )
    (main,) = changes(history)
    rows = {row.quantity: row.change for row in main.rows if row.quantity}
    assert rows["suction_pressure"] == "unchanged" and rows["liquid_pressure"] == "\N{MINUS SIGN}15 psi"


# ---------------------------------------------------------------- visits, hours


def test_the_newest_visit_comes_first_and_notes_stay_in_order():
    heard = {note: Heard("…", recording=False) for visit in LOG.visits for note in visit.notes}
    parts = visits(LOG, heard)
    assert [part.date for part in parts] == ["2025-09-04", "2025-08-27", "2025-08-19"]
    assert [n.note for n in parts[-1].notes] == list(LOG.visits[0].notes)
    assert sum(part.values for part in parts) == 39
    told_so = [line for part in parts for note in part.notes for line in note.also]
    assert "gas inspection: passed, August 27 at 10:30 am" in told_so
    assert "one more 16 inch flex return: approved, owner, 1,140.00, August 27" in told_so


def test_hours_count_for_each_of_the_people_who_worked_them():
    log = dataclasses.replace(LOG, labour=(Labour(hours=4.0), Labour(hours=2.5, people=2), Labour(days=1.0)))
    assert hours(log) == 9.0


# ---------------------------------------------------------------- tasks


def test_tasks_are_grouped_by_what_presses():
    log = JobLog(Job("x"), tasks=(Task("late", due="2026-06-14"), Task("now", due="2026-06-15T10:30"),
                 Task("soon", due="2026-06-20"), Task("held", waits_on="the part"), Task("some day"),
                 Task("past", status="done"), Task("no more", status="dropped")))  # fmt: skip
    found = {name: [row.what for row in rows] for name, rows in grouped(task_rows([log], "2026-06-15"))}
    assert found == {
        "overdue": ["late"], "today": ["now"], "to come": ["soon"], "waiting": ["held"], "no day": ["some day"],
        "done": ["past"], "dropped": ["no more"],
    }  # fmt: skip


def test_an_inspection_that_is_set_stands_among_the_tasks_once():
    rows = [row for row in task_rows([LOG], "2025-09-04") if row.inspection]
    assert [(row.what, row.day, row.group) for row in rows] == [("sheet metal inspection", "2025-09-05", "to come")]


def test_a_month_has_whole_weeks_and_each_task_on_its_day():
    sheet = month(task_rows([LOG], "2025-09-04"), "2025-09", "2025-09-04")
    assert (sheet.name, sheet.before, sheet.after) == ("September 2025", "2025-08", "2025-10")
    assert all(len(week) == 7 for week in sheet.weeks)
    placed = {day.day.isoformat(): [row.what for row in day.rows] for week in sheet.weeks for day in week if day.rows}
    assert placed.keys() == {"2025-09-05", "2025-09-08"}
    assert [day.day.isoformat() for week in sheet.weeks for day in week if day.today] == ["2025-09-04"]


def test_a_finished_task_is_on_no_day_of_the_month():
    log = JobLog(Job("x"), tasks=(Task("past", due="2026-06-14", status="done"),))
    sheet = month(task_rows([log], "2026-06-15"), "2026-06", "2026-06-15")
    assert not any(day.rows for week in sheet.weeks for day in week)


@pytest.mark.parametrize("of", ["2026-13", "june", "2026", "2026-06-01"])
def test_what_is_no_month_is_refused(of):
    with pytest.raises(ValueError):
        month([], of, "2026-06-15")


def test_turning_back_from_january_reaches_december():
    sheet = month([], "2026-01", "2026-06-15")
    assert (sheet.before, sheet.after) == ("2025-12", "2026-02")


def test_a_verdict_with_no_row_of_limits_still_shows():
    log = JobLog(Job("x"), verdicts=(Verdict("something new", "main", "pass", "because"),))
    (part,) = office_view.systems(log)
    assert part.findings[0].limits == ()
