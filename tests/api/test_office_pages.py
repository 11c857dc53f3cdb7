"""Who may see the office's pages, and what they say where there is little or something went wrong."""

import json
import time
from datetime import date

import pytest

from api.office_data import pieces
from assistant.errors import RecordingError
from assistant.records import Transcript, Unclear, Word
from tests.api.conftest import DEMO, told

PAGES = ("/office", "/office/tasks", "/office/search", "/office/jobs/print-shop", "/devices")


@pytest.mark.parametrize("page", PAGES)
def test_the_office_sees_its_pages_and_a_tech_does_not(net, page):
    net.client.app.state.assistant.tell("Head pressure is 345.", job="print shop")
    assert net.client.get(page, headers=net.office).status_code == 200
    assert net.client.get(page, headers=net.tech).status_code == 403


@pytest.mark.parametrize("page", [*PAGES, "/ask"])
def test_who_is_not_paired_is_led_to_the_pairing_page_and_sees_nothing(net, page):
    answer = net.client.get(page, follow_redirects=False)
    assert (answer.status_code, answer.headers["location"]) == (303, "/pair")


def test_a_tech_may_ask(net):
    assert net.client.get("/ask", headers=net.tech).status_code == 200


def test_a_correction_carries_the_name_of_the_device_it_was_made_on(net):
    assistant = net.client.app.state.assistant
    note = assistant.tell("Head pressure is 345.", job="print shop").note["id"]
    body = {"note": note, "quantity": "liquid_pressure", "said": "Head pressure is 345", "action": "confirm"}
    path = "/api/v1/jobs/print-shop/corrections"
    assert net.client.post(path, json=body, headers=net.tech).status_code == 403
    assert net.client.post(path, json=body, headers=net.office).status_code == 201
    page = net.client.get("/office/jobs/print-shop", headers=net.office).text
    assert "by Desk" in page


def test_a_job_that_was_only_opened_has_a_page(shop, assistant):
    assistant.open_job("new place")
    page = shop.get("/office/jobs/new-place")
    assert page.status_code == 200 and "Nothing told yet" in page.text
    assert "nothing told yet" in shop.get("/office").text


def test_before_the_first_note_every_page_says_so_and_none_fails(shop):
    assert "No job yet" in shop.get("/office").text
    for page in ("/office/tasks", "/office/search?words=anything", "/ask", "/ask?question=was+it+low%3F", "/devices"):
        assert shop.get(page).status_code == 200


def test_a_job_that_is_not_there_is_told_as_a_page(shop):
    answer = shop.get("/office/jobs/nowhere", headers={"accept": "text/html"})
    assert answer.status_code == 404 and "nowhere" in answer.text and "<h1>" in answer.text


@pytest.mark.parametrize(
    "path",
    ["/office?since=yesterday", "/office?since=2026-13-45", "/office?kind=nonsense", "/office/tasks?month=2026-13",
     "/office/tasks?month=0000-01", "/office/search?until=2026-02-31&words=a"],
)  # fmt: skip
def test_what_is_no_date_month_or_kind_is_refused_in_words(shop, path):
    assert shop.get(path).status_code == 422


def test_a_name_of_signs_and_slashes_has_a_page_like_any_other(shop, assistant):
    assistant.tell("Head pressure is 345.", job="Müller & Co. / 2nd floor <b>")
    link = shop.get("/office").text.split('<h2><a href="')[1].split('"')[0]
    page = shop.get(link)
    assert page.status_code == 200
    assert "Müller &amp; Co. / 2nd floor &lt;b&gt;" in page.text and "<b>" not in page.text


def test_what_is_only_heard_badly_is_not_said_to_take_no_part(shop, assistant, slow_ears):
    assistant.tell("Liquid line is 704.", job="doubted")
    assert "takes no part" in (doubted := shop.get("/office/jobs/doubted").text)
    assert "counts as it stands" not in doubted
    words = (Word("Suction", 0, 0.4, 0.4), Word("118.", 0.5, 0.9, 0.4))
    note = assistant.accept(audio=(DEMO / "01_arrival.ogg").read_bytes(), job="badly").note
    assistant.heard(note, Transcript("Suction 118.", words, (), 1.0, "stand-in"))
    assert "counts as it stands" in (badly := shop.get("/office/jobs/badly").text)
    assert "takes no part" not in badly


def test_a_recording_that_was_given_up_is_on_the_page_with_its_reason(shop, assistant, monkeypatch):
    raw = (DEMO / "05_gauges_first_day.ogg").read_bytes()
    note = assistant.accept(audio=raw, job="print shop", date=date(2026, 5, 12)).note
    page = shop.get("/office/jobs/print-shop").text
    assert "Not heard yet" in page and "waits its turn" in page
    assert "1 recording still to be heard" in shop.get("/office").text

    def damaged(note, progress=None):
        raise RecordingError("It is damaged.")

    monkeypatch.setattr(assistant, "hear", damaged)
    shop.app.state.hearing.add(note)
    until(lambda: shop.app.state.hearing.state(note).state == "failed")
    page = shop.get("/office/jobs/print-shop").text
    assert "given up: It is damaged." in page and f'data-note="{note}"' in page


def until(true, within_s=10.0):
    ends = time.monotonic() + within_s
    while not true():
        assert time.monotonic() < ends
        time.sleep(0.01)


def test_an_unclear_stretch_can_be_listened_to(shop, assistant):
    raw = (DEMO / "05_gauges_first_day.ogg").read_bytes()
    note = assistant.accept(audio=raw, job="print shop", date=date(2026, 5, 12)).note
    words = tuple(Word(w, n / 2, n / 2 + 0.4, 0.9) for n, w in enumerate("Head pressure is 345.".split()))
    unclear = (Unclear(9.0, 11.5, "mumble", "loop"),)
    assistant.heard(note, Transcript("Head pressure is 345.", words, unclear, 18.7, "x"))
    page = shop.get("/office/jobs/print-shop").text
    assert f"/api/v1/notes/{note}/recording#t=8.60,12.00" in page
    assert "mumble" not in page, "what could not be trusted is not shown as if it had been said"


@pytest.mark.parametrize(
    ("marks", "cut"),
    [
        ((), ((False, "one more return"),)),
        (((9, 15),), ((False, "one more "), (True, "return"))),
        (((0, 3), (4, 8)), ((True, "one"), (False, " "), (True, "more"), (False, " return"))),
    ],
)
def test_a_snippet_is_cut_at_its_marks_and_nothing_is_lost(marks, cut):
    assert pieces("one more return", marks) == cut


def test_nothing_of_a_page_is_written_inline(shop):
    told(shop, "Head pressure is 345.")
    for path in (*PAGES, "/office/search?words=head", "/ask?question=what+was+the+head%3F"):
        page = shop.get(path).text
        assert " style=" not in page and "<style" not in page and " onclick=" not in page
        assert all(tag.startswith(' type="module" src=') for tag in page.split("<script")[1:])


def test_words_of_a_question_come_back_and_nothing_is_kept(shop, assistant):
    raw = (DEMO / "13_only_the_fan.ogg").read_bytes()
    answer = shop.post("/api/v1/ask/words", files={"audio": ("question", raw)}, headers={"x-superheard": "1"})
    assert answer.status_code == 200 and answer.json() == {"text": ""}
    assert assistant.jobs() == [] and assistant.waiting() == []


def test_a_question_that_is_no_recording_is_refused(shop):
    answer = shop.post("/api/v1/ask/words", files={"audio": ("q", b"no sound")}, headers={"x-superheard": "1"})
    assert answer.status_code == 415 and json.loads(answer.text)["detail"]


def test_many_jobs_come_a_hundred_at_a_time_and_filters_go_along(shop, assistant):
    for number in range(103):
        assistant.open_job(f"shop {number}")
    first = shop.get("/office?words=shop").text
    assert first.count('<li class="card job">') == 100 and "here 1 to 100" in first and "Those before" not in first
    link = first.split('rel="next"')[0].rsplit('href="', 1)[1].split('"')[0].replace("&amp;", "&")
    second = shop.get(link).text
    assert second.count('<li class="card job">') == 3 and "words=shop" in link and "Those after" not in second
