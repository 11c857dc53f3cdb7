"""Papers, drawings and the calendar over HTTP: the right type, a safe name, and problems told as such."""

from __future__ import annotations

import csv
import io

import pytest
from fastapi.testclient import TestClient
from icalendar import Calendar

from api.app import create_app
from api.headers import FILE_POLICY
from assistant import Assistant
from assistant.settings import Settings
from tests.api.conftest import client_of

JOB = "Print shop 12/14"
KEY = "print-shop-12-14"
TOLD = (
    "410A, TXV, four ton. Suction 118, head 345, liquid line 94, suction line 54, target subcool 10. "
    "Return airflow 1230 cfm, two 14 inch flex returns. I'll call the owner on Monday."
)


@pytest.fixture(scope="module")
def client():
    with Assistant() as assistant, client_of(create_app(Settings(), assistant)) as client:
        assistant.tell(TOLD, job=JOB)
        yield client


@pytest.mark.parametrize(
    ("paper", "media_type", "begins"),
    [
        ("record.pdf", "application/pdf", b"%PDF-"),
        ("log.csv", "text/csv; charset=utf-8", b"\xef\xbb\xbf"),
        ("refrigerant.csv", "text/csv; charset=utf-8", b"\xef\xbb\xbf"),
        ("invoice.csv", "text/csv; charset=utf-8", b"\xef\xbb\xbf"),
        ("proposal.txt", "text/plain; charset=utf-8", b"Proposal"),
        ("cycle.svg", "image/svg+xml", b"<svg"),
        ("ducts.svg", "image/svg+xml", b"<svg"),
        ("trend.svg?quantity=return_airflow", "image/svg+xml", b"<svg"),
    ],
)
def test_each_paper_comes_as_what_it_is_under_the_jobs_name_and_can_run_nothing(client, paper, media_type, begins):
    answer = client.get(f"/api/v1/jobs/{KEY}/{paper}")
    assert answer.status_code == 200, answer.text
    assert answer.headers["content-type"] == media_type
    assert answer.content.startswith(begins)
    assert f'filename="{KEY}-{paper.partition("?")[0]}"' in answer.headers["content-disposition"]
    assert answer.headers["content-security-policy"] == FILE_POLICY
    assert answer.headers["x-content-type-options"] == "nosniff"


def test_the_log_as_a_table_has_the_values_that_were_said(client):
    rows = list(csv.DictReader(io.StringIO(client.get(f"/api/v1/jobs/{KEY}/log.csv").content.decode("utf-8-sig"))))
    found = {row["quantity"]: float(row["value"]) for row in rows if "quantity" in row and row["value"]}
    assert found["liquid_pressure"] == 345
    assert found["return_airflow"] == 1230


def test_the_calendar_is_one_that_a_calendar_program_reads(client):
    answer = client.get("/api/v1/calendar.ics")
    assert answer.headers["content-type"] == "text/calendar; charset=utf-8"
    events = Calendar.from_ical(answer.content).walk("VEVENT") + Calendar.from_ical(answer.content).walk("VTODO")
    assert any("call the owner" in str(event["summary"]).lower() for event in events)


@pytest.mark.parametrize("job", ["", f"?job={KEY}"])
def test_a_calendar_can_be_of_one_job_or_of_all(client, job):
    assert "owner" in client.get(f"/api/v1/calendar.ics{job}").text


def test_a_calendar_of_a_job_that_is_none_is_not_found(client):
    assert client.get("/api/v1/calendar.ics?job=nowhere").status_code == 404


@pytest.mark.parametrize(
    "paper", ["record.pdf", "log.csv", "cycle.svg", "ducts.svg", "trend.svg?quantity=superheat", "log"]
)
def test_a_job_that_is_none_has_no_paper(client, paper):
    answer = client.get(f"/api/v1/jobs/nowhere/{paper}")
    assert answer.status_code == 404
    assert answer.headers["content-type"] == "application/problem+json"
    assert "nowhere" in answer.json()["detail"]


def test_a_chart_of_what_was_not_said_yet_says_what_is_missing(client):
    client.app.state.assistant.tell("suction 118", job="bare")
    answer = client.get("/api/v1/jobs/bare/cycle.svg")
    assert answer.status_code == 409
    assert "liquid pressure" in answer.json()["detail"]
    assert client.get("/api/v1/jobs/bare/trend.svg?quantity=vacuum_level").status_code == 409


def test_a_system_that_a_job_does_not_have_is_not_found(client):
    answer = client.get(f"/api/v1/jobs/{KEY}/cycle.svg?system=basement")
    assert answer.status_code == 404


@pytest.mark.parametrize("name", ["naïve café", "Ünder 5", 'a"; filename="b'])
def test_no_jobs_name_can_break_out_of_the_name_of_its_file(client: TestClient, name):
    client.app.state.assistant.tell("suction 118", job=name)
    key = next(line["key"] for line in client.get("/api/v1/jobs").json() if line["id"] == name)
    disposition = client.get(f"/api/v1/jobs/{key}/log.csv").headers["content-disposition"]
    kind, plain, full = disposition.split("; ")
    assert kind == "attachment"
    assert plain.startswith('filename="')
    assert plain.count('"') == 2
    assert full.startswith("filename*=UTF-8''")
