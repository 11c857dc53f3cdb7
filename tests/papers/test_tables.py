"""Tables for the office: the log, the refrigerant, the invoice."""

from __future__ import annotations

import csv
import io

import pytest

from assistant.errors import SettingsError
from assistant.papers import invoice_csv, invoice_lines, log_csv, refrigerant, refrigerant_csv, refrigerant_record
from assistant.papers.csv_text import csv_text
from assistant.records import (
    Agreement,
    Calculation,
    Equipment,
    Job,
    JobLog,
    Labour,
    Material,
    Reading,
    Visit,
    plain,
)
from tests.papers.telling import day, demo, told


def rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_every_reading_of_the_log_is_a_row_and_comes_back_as_it_was():
    log = demo().latest
    table, readings = rows(log_csv(log)), plain(log)["readings"]
    assert len(table) == len(readings) == 39  # one of them taken back
    for row, reading in zip(table, readings, strict=True):
        for name in ("quantity", "unit", "role", "system", "said", "status", "note"):
            assert row[name] == reading[name]
        assert float(row["value"]) == reading["value"] and float(row["confidence"]) == reading["confidence"]
    assert {row["date"] for row in table} == {"2025-08-19", "2025-08-27", "2025-09-04"}
    assert [row["value"] for row in table if row["status"] == "retracted"] == ["350.0"]


@pytest.mark.parametrize(
    "words", ["=1+1", "+1", "-2 degrees", "@SUM(A1)", " =1", "\t=1", "'tis", "\uff1d1", "\u200b=1"]
)
def test_no_cell_becomes_a_formula_and_the_words_come_back(words: str):
    cell = next(csv.reader(io.StringIO(csv_text(["said"], [[words]]).split("\r\n", 1)[1])))[0]
    assert cell.startswith("'")
    assert cell[1:] == " ".join(words.replace("\u200b", " ").split())


def test_numbers_stay_numbers_and_quotes_commas_and_line_feeds_stay_in_their_cell():
    text = csv_text(["value", "said"], [[-10.5, 'he said "ten, or so"\nand left']])
    assert text == 'value,said\r\n-10.5,"he said ""ten, or so"" and left"\r\n'


def test_the_refrigerant_of_the_demo_adds_up_to_what_was_said():
    record = refrigerant_record(demo().latest)
    assert [(m.what, m.amount, m.running) for m in record.moved] == [
        ("factory charge", 9, None),
        ("added", 0.9375, 0.9375),
    ]
    assert record.moved[1].said == "weighed in fifteen ounces" and record.moved[1].date == "2025-08-19"
    (total,) = record.totals
    assert (total.system, total.refrigerant, total.added, total.recovered) == ("studio", "R-410A", 0.9375, 0)
    assert total.charge == pytest.approx(9.9375)
    assert "the cylinder it came from or went to" in total.not_recorded
    assert total.rules == ()  # under fifteen pounds


def test_amounts_in_and_out_run_on_through_the_visits():
    history = told(
        (day("2026-05-12"), "R-410A. Recovered six pounds."),
        (day("2026-05-14"), "Weighed in five pounds. Later I added eight ounces."),
    )
    moved = refrigerant_record(history.latest).moved
    assert [(m.date, m.what, m.running) for m in moved] == [
        ("2026-05-12", "recovered", -6), ("2026-05-14", "added", -1), ("2026-05-14", "added", -0.5),
    ]  # fmt: skip


def _weighed(
    *readings: Reading, refrigerant: str | None = "R-410A", charge: float | None = None, on="2026-05-12"
) -> JobLog:
    made = () if charge is None else (Calculation("total_charge", "main", charge, "lb", 0.1, (), "", ""),)
    return JobLog(
        Job("j", customer="a customer"), (Visit(on, ("n1",)),), (Equipment(refrigerant=refrigerant),), readings,
        calculations=made,
    )  # fmt: skip


def test_doubtful_and_guessed_amounts_are_listed_and_not_counted():
    log = _weighed(
        Reading("refrigerant_added", 2.0, "lb", note="n1"),
        Reading("refrigerant_added", 5000.0, "lb", note="n1", status="doubtful"),
        Reading("refrigerant_added", 1.0, "lb", "estimated", note="n1"),
        Reading("refrigerant_added", 3.0, "lb", note="n1", status="retracted"),
    )
    record = refrigerant_record(log)
    assert [(m.amount, m.remark) for m in record.moved] == [
        (2.0, ""), (5000.0, "doubtful, not counted"), (1.0, "estimated, not counted"),
    ]  # fmt: skip
    assert record.totals[0].added == 2.0


@pytest.mark.parametrize(
    ("name", "charge", "on", "expected"),
    [
        ("R-22", 50.0, "2026-05-12", ["82.157"]),
        ("R-22", 49.9, "2026-05-12", []),
        ("R-410A", 15.0, "2026-05-12", ["84.106"]),
        ("R-410A", 15.0, "2025-12-31", []),
        ("R-410A", 14.9, "2026-05-12", []),
        ("R-410A", None, "2026-05-12", []),
        (None, 60.0, "2026-05-12", []),
        ("R-999", 60.0, "2026-05-12", []),
    ],
)
def test_a_rule_is_named_only_where_size_refrigerant_and_day_ask_for_it(name, charge, on, expected):
    log = _weighed(Reading("refrigerant_added", 2.0, "lb", note="n1"), refrigerant=name, charge=charge, on=on)
    (total,) = refrigerant_record(log).totals
    assert len(total.rules) == len(expected)
    assert all(part in rule.source for part, rule in zip(expected, total.rules, strict=True))
    assert ("which refrigerant" in total.not_recorded) == (name is None)


def test_recovered_refrigerant_of_a_middling_system_brings_the_disposal_rule():
    log = _weighed(Reading("refrigerant_recovered", 6.0, "lb", note="n1"), charge=8.0)
    assert ["82.156" in rule.source for rule in refrigerant_record(log).totals[0].rules] == [True]


def test_a_record_rule_without_a_source_does_not_load(monkeypatch):
    refrigerant.record_rules.cache_clear()
    monkeypatch.setattr(refrigerant.tomllib, "loads", lambda _: {"rule": [{"name": "a rule"}]})
    with pytest.raises(SettingsError):
        refrigerant.record_rules()


def test_the_refrigerant_table_defers_to_local_rules():
    table = rows(refrigerant_csv(demo().latest))
    assert [row["row"] for row in table[:2]] == ["amount", "amount"]
    assert "licensed person decides" in table[-1]["remark"]


def test_the_invoice_of_the_demo_has_the_agreed_work_the_material_and_the_hours():
    lines = invoice_lines(demo().latest)
    assert [(line.kind, line.quantity, line.unit, line.price) for line in lines] == [
        ("work", None, None, 1140.0), ("material", 0.9375, "lb", None), ("material", 20.0, "ft", None),
        ("material", 1.0, "ea", None), ("labour", 4.0, "h", None),
    ]  # fmt: skip
    assert [row["price"] for row in rows(invoice_csv(demo().latest))] == ["1140.0", "", "", "", ""]


def test_work_that_was_not_approved_is_on_no_invoice_and_no_price_is_made_up():
    log = JobLog(
        Job("j"),
        (Visit("2026-05-12", ("n1",)),),
        agreements=(
            Agreement("a return", status="pending", price=900.0, note="n1"),
            Agreement("a drain", status="approved"),
        ),
        materials=(Material("valve", 2, status="needed", note="n1"), Material("elbow", 1, price=0.0, note="n1")),
        labour=(Labour(hours=6.0, people=2, note="n1"), Labour(days=2.5), Labour(what="an errand")),
    )
    lines = invoice_lines(log)
    assert [(line.item, line.price) for line in lines[:3]] == [("a drain", None), ("elbow", 0.0), ("valve", None)]
    assert [(line.quantity, line.unit, line.people) for line in lines[3:]] == [
        (6.0, "h", 2), (2.5, "days", None), (None, None, None),
    ]  # fmt: skip
