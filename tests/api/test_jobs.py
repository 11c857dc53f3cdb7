"""Jobs, corrections, questions, search and tasks over HTTP."""

from __future__ import annotations

import json

import pytest

from tests.api.conftest import told

JOBS = "/api/v1/jobs"


def log_of(client, job: str) -> dict:
    answer = client.get(f"{JOBS}/{job}/log")
    assert answer.status_code == 200, answer.text
    return answer.json()


def value_of(log: dict, quantity: str) -> list[float]:
    return [r["value"] for r in log["readings"] if r["quantity"] == quantity and r["status"] == "current"]


def correct(client, job: str, note: dict, **fields):
    asked = {"note": note["note"], "quantity": "liquid_pressure", "said": "head 354", "action": "correct", **fields}
    return client.post(f"{JOBS}/{job}/corrections", json=asked)


# ---------------------------------------------------------------- jobs


def test_a_job_is_begun_once_and_gone_on_with_under_any_way_of_writing_it(shop):
    first = shop.post(JOBS, json={"name": "Print shop, 12/14"}).json()
    assert first == {"job": "Print shop, 12/14", "key": "print-shop-12-14"}
    assert shop.post(JOBS, json={"name": "print SHOP 12 14"}).json() == first
    answer = shop.post("/api/v1/notes", data={"text": "suction 118"})
    assert answer.json()["job"] == "Print shop, 12/14"  # the caller's current one from then on
    assert [line["id"] for line in shop.get(JOBS).json()] == ["Print shop, 12/14"]
    assert value_of(log_of(shop, "print-shop-12-14"), "suction_pressure") == [118.0]


@pytest.mark.parametrize("name", ["", "  ", "---", "x" * 201, "a\nb\x00", 5, None])
def test_what_is_no_name_begins_no_job(shop, name):
    assert shop.post(JOBS, json={"name": name}).status_code == 422
    assert shop.get(JOBS).json() == []


def test_a_field_that_nobody_knows_is_refused_because_it_is_misspelt(shop):
    answer = shop.post(JOBS, json={"name": "a", "jub": "b"})
    assert answer.status_code == 422
    assert answer.json()["errors"][0]["where"] == "body.jub"


# ---------------------------------------------------------------- corrections


def test_a_correction_rules_from_then_on_with_who_and_when_and_the_original_stays(net):
    note = net.client.post("/api/v1/notes", data={"text": "head 354", "job": "a"}, headers=net.tech).json()
    net.client.headers.update(net.office)
    answer = correct(net.client, "a", note, value=345)
    assert answer.status_code == 201
    (reading,) = [r for r in answer.json()["readings"] if r["quantity"] == "liquid_pressure"]
    assert reading["value"] == 345
    assert reading["said"] == "head 354"
    assert reading["correction"] == {**reading["correction"], "action": "correct", "by": "Desk", "was": 354.0}
    assert log_of(net.client, "a") == answer.json()
    (kept,) = net.client.get(f"{JOBS}/a/corrections").json()
    assert (kept["by"], kept["was"], kept["value"]) == ("Desk", 354.0, 345.0)
    assert net.client.get(f"/api/v1/notes/{note['note']}").json()["said"] == "head 354"


def test_a_confirmed_reading_stays_and_a_discarded_one_counts_no_more(shop):
    note = told(shop, "head 354", job="a")
    assert value_of(correct(shop, "a", note, action="confirm").json(), "liquid_pressure") == [354.0]
    assert value_of(correct(shop, "a", note, action="discard").json(), "liquid_pressure") == []
    assert [each["action"] for each in shop.get(f"{JOBS}/a/corrections").json()] == ["confirm", "discard"]


@pytest.mark.parametrize(
    "fields",
    [
        {"quantity": "superheat"},
        {"said": "head 345"},
        {"action": "delete"},
        {"action": "correct"},
        {"action": "correct", "value": "many"},
        {"action": "correct", "value": 40, "unit": "cfm"},
        {"action": "confirm", "by": "somebody else"},
    ],
)
def test_what_is_no_correction_changes_nothing(shop, fields):
    note = told(shop, "head 354", job="a")
    before = log_of(shop, "a")
    assert correct(shop, "a", note, **fields).status_code == 422
    assert log_of(shop, "a") == before


def test_a_number_that_is_none_is_no_correction(shop):
    note = told(shop, "head 354", job="a")
    asked = {"note": note["note"], "quantity": "liquid_pressure", "said": "head 354", "action": "correct"}
    body = json.dumps({**asked, "value": float("nan")})
    answer = shop.post(f"{JOBS}/a/corrections", content=body, headers={"content-type": "application/json"})
    assert answer.status_code in (400, 422)


def test_a_note_is_corrected_in_its_own_job_and_no_other(shop):
    note = told(shop, "head 354", job="a")
    told(shop, "head 360", job="b")
    assert correct(shop, "b", note, value=345).status_code == 404
    assert correct(shop, "nowhere", note, value=345).status_code == 404
    assert correct(shop, "a", {"note": "0" * 12}, value=345).status_code == 404


# ---------------------------------------------------------------- asking


def test_a_question_is_answered_with_what_it_rests_on(shop):
    told(shop, "head 345", job="a")
    answer = shop.post("/api/v1/ask", json={"question": "what was the head pressure?", "job": "A"}).json()
    assert (answer["value"], answer["unit"]) == (345.0, "psi")
    assert "345" in answer["say"]
    assert answer["evidence"][0]["said"] == "head 345"


def test_a_question_about_no_job_is_not_found_and_no_question_is_refused(shop):
    assert shop.post("/api/v1/ask", json={"question": "what?", "job": "nowhere"}).status_code == 404
    assert shop.post("/api/v1/ask", json={"question": "   "}).status_code == 422
    assert shop.post("/api/v1/ask", json={"question": "x" * 2001}).status_code == 422


def test_two_people_ask_without_mixing_up_what_that_is(net):
    for headers, text in ((net.tech, "head 345"), (net.office, "suction 118")):
        net.client.post("/api/v1/notes", data={"text": text, "job": "a"}, headers=headers)
    asks = ((net.tech, "what was the head pressure?"), (net.office, "what was the suction pressure?"))
    for headers, question in asks:
        net.client.post("/api/v1/ask", json={"question": question, "job": "a"}, headers=headers)
    again = {"question": "is that right?", "job": "a"}
    said = [net.client.post("/api/v1/ask", json=again, headers=headers).json() for headers in (net.tech, net.office)]
    assert [each["value"] for each in said] == [345.0, 118.0]


def test_what_was_said_is_found_by_its_words_job_and_day(shop):
    told(shop, "head 345, the filter is dirty", job="a", date="2025-08-19")
    told(shop, "the filter is new", job="b", date="2025-09-04")

    def found(**asked) -> list[str]:
        answer = shop.get("/api/v1/search", params=asked)
        assert answer.status_code == 200, answer.text
        return [hit["job"] for hit in answer.json()]

    assert sorted(found(words="filter")) == ["a", "b"]
    assert found(words="dirty filter") == ["a"]
    assert found(words="filter", job="b") == ["b"]
    assert found(words="filter", since="2025-09-01") == ["b"]
    assert found(words="filter", until="2025-08-31") == ["a"]
    assert found(words="compressor") == []
    assert len(found(words="filter", limit=1)) == 1


@pytest.mark.parametrize(
    "asked", [{"since": "0"}, {"until": "soon"}, {"limit": 0}, {"limit": 201}, {"words": "x" * 201}]
)
def test_a_search_that_cannot_be_is_refused(shop, asked):
    assert shop.get("/api/v1/search", params=asked).status_code == 422


def test_tasks_of_all_jobs_come_with_the_first_due_first(shop):
    told(shop, "I'll call the owner on Friday", job="a", date="2025-08-19")
    told(shop, "I'll call the owner tomorrow", job="b", date="2025-08-19")
    tasks = shop.get("/api/v1/tasks").json()
    assert [(task["job"], task["due"]) for task in tasks][:2] == [("b", "2025-08-20"), ("a", "2025-08-22")]
    assert shop.get("/api/v1/tasks?status=dropped").json() == []
