"""The commissioning record: what an inspector reads, and nothing that nobody said."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from assistant import Assistant
from assistant.converse import JobHistory
from assistant.papers import before_and_after, log_csv, record_pdf, trend_svg, values_by_visit
from assistant.papers.record import _breakable
from assistant.papers.sheet import record_sheet
from assistant.records import Correction, Job, JobLog, Note, Reading, Remark, Visit
from tests.founded import numbers_on, unfounded
from tests.papers.telling import day, demo, pdf_text, told

HOSTILE = [
    '#text(fill: red)[x] #panic("no")', "$x^2$ and @ref and <label>", 'a "quote" \\ back', "*bold* _under_ `raw`",
    "= heading", "// comment", "w" * 400, "emoji \U0001f525 漢字", "left\u202eright", "nul\x00 bell\x07",
    "]]></svg><script>1</script>", "half \ud800 sign", "", " ",
]  # fmt: skip


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> str:
    return pdf_text(record_pdf(demo()), tmp_path_factory.mktemp("record"))


def test_the_demo_record_is_two_pages_and_says_so():
    raw = record_pdf(demo())
    assert raw.startswith(b"%PDF-")
    assert len(re.findall(rb"/Type\s*/Page[^s]", raw)) <= 2


def test_every_value_of_the_demo_stands_under_its_visit(page: str):
    assert re.search(r"value +August 19, 2025 +September 4, 2025\s+return airflow +1,230 cfm +1,610 cfm", page)
    assert re.search(r"suction pressure +112 psi +124 psi", page)
    assert re.search(r"liquid line +96\.5 °F +98 °F", page)
    assert re.search(r"subcooling +10\.6 ± 1\.2 °F +10\.3 ± 1\.2 °F", page)
    assert re.search(r"vacuum +290 micron, then 360 micron", page)
    assert "told August 19, 2025" in page  # the permits' posting
    assert "August 27, 2025 at 10:30 am" in page  # the gas inspection
    assert "$1,140" in page


def test_no_number_on_the_demo_record_is_in_no_record(page: str):
    without_pages = re.sub(r"page \d of \d", "", page)
    assert len(numbers_on(without_pages)) > 100
    assert unfounded(without_pages, demo()) == []


def test_a_number_nobody_said_would_be_found(page: str):
    assert unfounded(page + "\n1,233 cfm and 97.5 °F", demo())[-2:] == ["1233", "97.5"]


def test_what_was_taken_back_is_not_on_it(page: str):
    assert "350 psi" not in page and "375 psi" in page


def test_air_stands_before_charge(page: str):
    assert 0 < page.index("return airflow") < page.index("Refrigerant charge") < page.index("suction pressure")


def test_it_says_what_was_not_told_and_that_it_certifies_nothing(page: str):
    assert "No value was told for: static pressure." in page
    assert "No value was told for: static pressure, ducts, electrical, vacuum and pressure test." in page
    assert page.count("This advises; it certifies nothing. Local codes and the licensed person decide.") == 2
    assert "page 1 of 2" in page and "page 2 of 2" in page


def test_it_tells_that_the_charge_was_only_provisional_on_the_first_day(page: str):
    assert "Earlier, August 19, 2025: provisional (by itself in range)" in page


def test_the_same_job_gives_the_same_bytes():
    assert record_pdf(demo()) == record_pdf(demo())


def test_a_doubtful_value_is_set_apart_and_stops_and_cautions_come_first(tmp_path):
    history = told(
        (day("2026-05-12"), "Three ton, R-454B, TXV, gas furnace. Flue carbon monoxide is 450 ppm, oxygen 8 percent."),
        (day("2026-05-12"), "Return airflow is 900 cfm. The outdoor temperature is 880 degrees."),
    )
    page = pdf_text(record_pdf(history), tmp_path)
    assert page.index("Stop") < page.index("Caution: Do not leave it running") < page.index("Airflow")
    assert "outdoor" in page.split("Doubtful: said, but not taken as fact")[1]
    assert '"The outdoor temperature is 880 degrees"' in page or '"outdoor temperature is 880 degrees"' in page
    assert "Weather and site" not in page  # a doubtful value is no fact of the site


def test_a_provisional_charge_is_called_so(tmp_path):
    history = told(
        (day("2026-05-12"), "Three ton, R-410A with a TXV. Return airflow is 900 cfm."),
        (day("2026-05-12"), "Suction 118, head 345, liquid line 94. Nameplate calls for ten of subcooling."),
    )
    page = pdf_text(record_pdf(history), tmp_path)
    assert re.search(r"Charge: provisional \(by itself", page)
    assert re.search(r"Airflow: too low", page)


def test_a_long_job_flows_over_several_tables_and_loses_no_visit(tmp_path):
    days = [f"2026-{month:02d}-10" for month in range(1, 13)]
    history = told(*((day(each), f"Suction is {110 + at}.") for at, each in enumerate(days)))
    page = pdf_text(record_pdf(history), tmp_path)
    assert all(f"{110 + at} psi" in page for at in range(12))
    charge = next(p for p in record_sheet(history)["systems"][0]["parts"] if p["title"] == "Refrigerant charge")
    assert [len(table["days"]) for table in charge["tables"]] == [4, 4, 4]


@pytest.mark.parametrize("words", HOSTILE)
def test_hostile_words_are_set_as_they_are(words: str, tmp_path):
    page = pdf_text(record_pdf(_job_of(words)), tmp_path)
    squeezed = re.sub(r"\s+", "", page)
    for part in re.findall(r"[\x21-\x7e]+", words.replace("\x00", " ").replace("\x07", " ")):
        assert part in squeezed, part


def test_no_word_runs_off_the_page():
    for each in _breakable({"a": ["x" * 500, "short words stay whole"]})["a"][0].split("\u200b"):
        assert len(each) <= 24


def test_a_job_of_nothing_is_a_page_that_says_so(tmp_path):
    assert "Nothing has been told of this job yet" in pdf_text(record_pdf(JobHistory((), ())), tmp_path)


def test_a_value_that_a_person_changed_says_so(tmp_path):
    with Assistant(home=None) as assistant:
        said = assistant.tell(
            text="Head pressure is 354, suction 118, liquid line 94.", job="j", date=day("2026-05-12")
        )
        note, words = said.note["id"], {r["quantity"]: r["said"] for r in said.note["readings"]}

        def change(quantity: str, action: str, value: float | None = None) -> None:
            assistant.correct(note, quantity=quantity, said=words[quantity], action=action, value=value, by="Kim")

        change("liquid_pressure", "correct", 345)
        change("suction_pressure", "confirm")
        change("liquid_line_temp", "discard")
        history = assistant.job_history("j")
    page = pdf_text(record_pdf(history), tmp_path)
    values, changed = page.split("Changed by a person")
    assert "345 psi (corrected)" in values and "118 psi (confirmed)" in values
    assert "354" not in values and "94" not in values
    assert re.search(r"May 12, 2026 +liquid pressure +354 psi +345 psi +corrected by Kim", changed)
    assert re.search(r"May 12, 2026 +suction pressure +118 psi +118 psi +confirmed by Kim", changed)
    assert re.search(r"May 12, 2026 +liquid line +94 °F +discarded +discarded by Kim", changed)
    table = log_csv(history.latest)
    assert re.search(r"345.0,psi,.*,correct,Kim,[^,]+,354.0,psi\r\n", table)
    assert "345 psi, corrected by a person" in trend_svg(history, "liquid_pressure")


def test_a_correction_that_fits_no_reading_any_more_is_told_apart(tmp_path):
    lost = Correction("n1", "superheat", "ten of superheat", "correct", 12, "delta_degF", 10, "delta_degF", "Kim",
                      "2026-05-13T08:00:00+00:00", found=False)  # fmt: skip
    history = _job_of("words")
    history = replace(history, logs=(replace(history.latest, corrections=(lost,)),))
    page = pdf_text(record_pdf(history), tmp_path)
    assert re.search(r"superheat +10 °F +nothing +by Kim, May 13, 2026; of no", page)


def test_the_first_and_the_last_visit_are_compared():
    changes = {change.label: change for change in before_and_after(demo(), "studio")}
    air = changes["return airflow"]
    assert (air.before, air.before_on, air.after, air.after_on) == (1230, "2025-08-19", 1610, "2025-09-04")
    assert air.difference == 380 and not air.worked_out
    assert changes["subcooling"].worked_out
    assert changes["subcooling"].difference == pytest.approx(10.3 - 10.6, abs=0.1)
    assert "line voltage" not in changes  # on one visit only


def test_a_calculation_stands_on_the_visit_its_values_were_measured_on():
    rows = {(row.name, row.worked_out): row for row in values_by_visit(demo(), "studio")}
    assert sorted(rows["subcooling", True].cells) == ["2025-08-19", "2025-09-04"]
    assert sorted(rows["vacuum_rise", True].cells) == ["2025-08-19"]
    assert sorted(rows["duct_capacity", True].cells) == ["2025-08-19", "2025-08-27"]


def _job_of(words: str) -> JobHistory:
    note = Note("n1", "2026-05-12", words or "-", remarks=(Remark(words or "-", "n1"),))
    reading = Reading("liquid_pressure", 9000.0, "psi", said=words, note="n1", status="doubtful")
    system = Reading("suction_pressure", 118.0, "psi", said=words, note="n1", system=words or "main")
    log = JobLog(Job(words or "job"), (Visit("2026-05-12", ("n1",)),), readings=(reading, system))
    return JobHistory((note,), (replace(log, remarks=note.remarks),))
