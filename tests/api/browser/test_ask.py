"""The asking page: a question in words or by voice, answered with what it rests on."""

from __future__ import annotations

import io
import re
import wave
from collections.abc import Iterator

import pytest
from playwright.sync_api import expect

from assistant.cli.speaking import spoken
from tests.api.browser.at_work import DEMO_JOB, Server, microphone_file, tell_demo
from tests.api.browser.office_jobs import SPOKEN, tell_spoken


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    server = Server(tmp_path_factory.mktemp("ask") / "home")
    try:
        tell_demo(server.assistant)
        tell_spoken(server.assistant)
        yield server.start()
    finally:
        server.close()


def test_a_question_is_answered_with_its_evidence(told, phone):
    page = phone()
    page.goto(f"{told.url}/ask")
    page.get_by_label("Your question").fill("was the charge in range?")
    page.get_by_label("About").select_option(DEMO_JOB)
    page.get_by_role("button", name="Ask", exact=True).click()
    expect(page.locator("#say")).to_contain_text("the studio charge is in range: subcool 10.3 degrees")
    evidence = page.locator(".evidence li")
    expect(evidence.filter(has_text="liquid pressure 358 psi")).to_contain_text("September 4, 2025")
    expect(evidence.filter(has_text="liquid pressure 358 psi").locator("q")).to_contain_text(
        "three hundred and fifty eight"
    )


def test_it_answers_without_a_script(told, phone):
    page = phone(java_script_enabled=False)
    page.goto(f"{told.url}/ask")
    page.get_by_label("Your question").fill("what is the liquid line at the pottery studio?")
    page.get_by_role("button", name="Ask", exact=True).click()
    expect(page.locator("#say")).to_contain_text("98 degrees")


def test_the_recording_behind_an_answer_is_played_at_its_second(told, phone):
    page = phone()
    page.goto(f"{told.url}/ask?job={SPOKEN}&question=what+was+the+head+pressure%3F")
    expect(page.locator("#say")).to_contain_text("352")
    page.locator(".evidence .play").first.click()
    log = told.http.get(f"/jobs/{SPOKEN}/log").json()
    head = next(each for each in log["readings"] if each["quantity"] == "liquid_pressure")
    page.wait_for_function("() => !document.querySelector('#player audio').paused")
    assert abs(page.evaluate("() => document.querySelector('#player audio').currentTime") - head["start_s"]) < 1.5


def test_what_it_does_not_know_it_says_and_invents_nothing(told, phone):
    page = phone()
    page.goto(f"{told.url}/ask?job={SPOKEN}&question=what+is+the+static+pressure%3F")
    assert not re.search(r"\d", page.locator("#say").inner_text())
    expect(page.locator(".answer")).to_contain_text("No single reading or note stands behind this.")


def test_a_question_of_nothing_but_blanks_is_refused_in_words(told, phone):
    page = phone()
    page.goto(f"{told.url}/ask?question=+++")
    expect(page.get_by_role("alert")).to_contain_text("nothing in that question")


def test_a_question_asked_aloud_is_heard_answered_and_said_and_no_note_is_made(told, phone, chromium, tmp_path):
    before = told.http.get("/jobs").json()
    question = tmp_path / "question.wav"
    question.write_bytes(_after_a_pause(spoken("Was the charge in range at the pottery studio?")))
    page = phone(chromium(question), permissions=["microphone"])
    page.add_init_script("window.spoken = []; speechSynthesis.speak = (words) => spoken.push(words.text);")
    page.goto(f"{told.url}/ask")
    page.get_by_role("button", name="Ask aloud").click()
    expect(page.get_by_role("status")).to_contain_text("Listening")
    page.wait_for_timeout(5500)  # the question and a breath
    page.get_by_role("button", name="Done asking").click()
    expect(page.locator("#say")).to_contain_text("the studio charge is in range: subcool 10.3 degrees", timeout=60_000)
    assert "charge" in page.get_by_label("Your question").input_value().casefold()
    (said,) = page.evaluate("() => spoken")
    assert "ten point three degrees" in said, "and it is said as the trade says it"
    assert told.http.get("/jobs").json() == before


def test_where_nobody_spoke_nothing_is_asked(told, phone, chromium, tmp_path):
    silence = microphone_file(tmp_path / "silence.wav", "10_hood_again", until_s=0.01)  # before anybody speaks
    page = phone(chromium(silence), permissions=["microphone"])
    page.goto(f"{told.url}/ask")
    page.get_by_role("button", name="Ask aloud").click()
    page.wait_for_timeout(1500)
    page.get_by_role("button", name="Done asking").click()
    expect(page.get_by_role("status")).to_contain_text("No words were heard", timeout=60_000)
    expect(page).to_have_url(f"{told.url}/ask")


def _after_a_pause(sound: bytes, pause_s: float = 1.0) -> bytes:
    """A WAV file with silence before it, while the page begins to record."""
    made = io.BytesIO()
    with wave.open(io.BytesIO(sound)) as read, wave.open(made, "wb") as write:
        write.setparams(read.getparams())
        write.writeframes(b"\0\0" * int(read.getframerate() * pause_s))
        write.writeframes(read.readframes(read.getnframes()))
    return made.getvalue()
