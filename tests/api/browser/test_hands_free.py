"""Talking to the phone: a recording for a microphone, the real recogniser, and the voice observed as it is used."""

from __future__ import annotations

import json

import pytest
from playwright.sync_api import Page, expect

from assistant.converse.ear import for_the_ear
from tests.api.browser.at_work import Server, microphone_file, ready, until
from tests.api.browser.test_offline import HEARD_MS, all_notes, waits

# The browser has no voice here: what it is given to say is kept, and said to be over after a while.
VOICE = """
window.spoken = [];
SpeechSynthesis.prototype.speak = function (utterance) {
  if (utterance.text.trim()) window.spoken.push(utterance.text);
  setTimeout(() => utterance.onend && utterance.onend(new Event("end")), 1500);
};
"""


@pytest.fixture(scope="module")
def once(chromium, tmp_path_factory):
    """A browser that hears one note."""
    return chromium(microphone_file(tmp_path_factory.mktemp("sound") / "once.wav", "10_hood_again", after_s=60))


@pytest.fixture(scope="module")
def nobody(chromium, tmp_path_factory):
    """A browser that hears a condenser, and nobody."""
    return chromium(microphone_file(tmp_path_factory.mktemp("sound") / "fan.wav", "13_only_the_fan", after_s=1))


def talking(page: Page, server: Server) -> list[tuple[str, object]]:
    """Opens the page, and writes down what goes over its line: ("said" | "told", message), ("sound", bytes)."""
    line: list[tuple[str, object]] = []

    def watch(socket) -> None:
        socket.on("framesent", lambda it: line.append(
            ("sound", len(it)) if isinstance(it, bytes) else ("said", json.loads(it))))  # fmt: skip
        socket.on("framereceived", lambda it: line.append(("told", json.loads(it))))

    page.on("websocket", watch)
    page.add_init_script(VOICE)
    ready(page, server.url)
    return line


def kinds(line: list[tuple[str, object]], who: str) -> list[str]:
    return [what["kind"] for by, what in line if by == who]


def readings(server: Server) -> list[tuple[str, float]]:
    job = server.http.get("/jobs").json()[0]["key"]
    log = server.http.get(f"/jobs/{job}/log").json()
    return [(reading["quantity"], reading["value"]) for reading in log["readings"] if reading["status"] == "current"]


def test_a_note_is_spoken_with_the_hands_free_and_answered_aloud(phone, once, serve):
    server = serve()
    page = phone(once)
    line = talking(page, server)
    page.click("#start")
    expect(page.locator("#state")).to_have_text("Listening")
    expect(page.locator("#state")).to_have_text("I hear you")
    expect(page.locator("#state")).to_have_text("Answering", timeout=HEARD_MS)
    (spoken,) = page.evaluate("window.spoken")
    assert for_the_ear("1610") in spoken  # "sixteen ten"
    expect(page.locator("#answer")).to_contain_text("1610")
    expect(page.locator("#known")).to_contain_text("1,610 cfm")
    expect(page.locator("#state")).to_have_text("Listening")  # again
    expect(page.locator("#waiting")).to_be_hidden()
    assert [note["recorded"] for note in all_notes(server)] == [True]
    assert readings(server) == [("return_airflow", 1610)]
    assert page.evaluate("window.spoken.length") == 1

    spoke, was_quiet = kinds(line, "said").index("speaking"), kinds(line, "said").index("spoken")
    assert spoke < was_quiet
    order = [what["kind"] if by == "said" else by for by, what in line if by != "told"]
    assert "sound" not in order[order.index("speaking") : order.index("spoken")]  # it does not hear itself
    assert "sound" in order[order.index("spoken") :]  # and hears again
    page.click("#start")
    expect(page.locator("#state")).to_have_text("Start")


def test_words_show_while_they_are_spoken(phone, once, serve):
    page = phone(once)
    line = talking(page, serve())
    page.click("#start")
    expect(page.locator("#heard")).to_contain_text("pottery studio", timeout=HEARD_MS, ignore_case=True)
    assert "speech_ended" not in kinds(line, "told")


def test_push_to_talk_is_one_note_however_long_the_pauses(phone, once, serve):
    server = serve()
    page = phone(once)
    line = talking(page, server)
    hold = page.locator("#hold")
    hold.hover()
    page.mouse.down()
    expect(hold).to_have_attribute("aria-pressed", "true")
    expect(page.locator("#start")).to_have_attribute("data-state", "hearing")
    page.wait_for_timeout(14_000)
    page.mouse.up()
    until(lambda: page.evaluate("window.spoken.length"), HEARD_MS / 1000)
    assert for_the_ear("1610") in page.evaluate("window.spoken[0]")
    assert readings(server) == [("return_airflow", 1610)]
    assert len(all_notes(server)) == 1
    assert [what["mode"] for by, what in line if by == "said" and what["kind"] == "start"][0] == "push_to_talk"
    expect(page.locator("#state")).to_have_text("Start")
    expect(hold).to_have_attribute("aria-pressed", "false")


def test_push_to_talk_works_from_the_keyboard_by_two_short_presses(phone, once, serve):
    server = serve()
    page = phone(once)
    talking(page, server)
    page.focus("#hold")
    page.keyboard.press("Space")
    expect(page.locator("#hold")).to_have_attribute("aria-pressed", "true")
    page.wait_for_timeout(14_000)
    page.keyboard.press("Space")
    until(lambda: page.evaluate("window.spoken.length"), HEARD_MS / 1000)
    assert readings(server) == [("return_airflow", 1610)]


def test_a_condenser_alone_is_no_note(phone, nobody, serve):
    server = serve()
    page = phone(nobody)
    talking(page, server)
    page.click("#start")
    expect(page.locator("#state")).to_have_text("Listening")
    page.wait_for_timeout(18_000)
    page.click("#start")
    expect(page.locator("#state")).to_have_text("Start", timeout=HEARD_MS)
    expect(page.locator("#waiting")).to_be_hidden()
    assert server.http.get("/jobs").json() == [] or readings(server) == []
    assert page.evaluate("window.spoken") == []


def test_a_line_that_breaks_in_mid_note_costs_nothing(phone, once, serve):
    server = serve()
    page = phone(once)
    page.add_init_script(
        """
        window.lines = [];
        window.WebSocket = class extends WebSocket { constructor(...all) { super(...all); window.lines.push(this); } };
        """
    )
    talking(page, server)
    page.click("#start")
    expect(page.locator("#state")).to_have_text("I hear you")
    page.wait_for_timeout(4000)
    page.evaluate("window.lines.at(-1).close()")
    expect(page.locator("#state")).to_have_text("Answering", timeout=HEARD_MS)
    until(lambda: readings(server), 20)
    assert readings(server) == [("return_airflow", 1610)]
    assert len(all_notes(server)) == 1
    assert "pottery studio" in all_notes(server)[0]["said"].lower()  # its beginning too
    assert page.evaluate("window.lines.length") > 1


def test_the_server_dies_in_mid_note_and_the_note_goes_by_the_outbox(phone, once, serve):
    server = serve()
    page = phone(once)
    talking(page, server)
    page.click("#start")
    expect(page.locator("#state")).to_have_text("I hear you")
    page.wait_for_timeout(4000)
    server.stop()
    expect(page.locator("#state")).to_have_text("Recording")
    expect(page.locator("#waiting")).to_be_visible(timeout=40_000)  # the phone itself notices the end
    waits(page, 1)
    page.click("#start")
    server.start()
    expect(page.locator("#waiting")).to_be_hidden(timeout=40_000)
    until(lambda: [note["state"] for note in all_notes(server)] == ["heard"], HEARD_MS / 1000)
    assert readings(server) == [("return_airflow", 1610)]
    assert "pottery studio" in all_notes(server)[0]["said"].lower()


def test_a_reload_while_talking_loses_nothing_that_was_said(phone, once, serve):
    server = serve()
    page = phone(once)
    talking(page, server)
    page.click("#start")
    expect(page.locator("#state")).to_have_text("I hear you")
    page.wait_for_timeout(6000)
    page.reload()
    page.wait_for_selector("html[data-ready=yes]")
    expect(page.locator("#waiting")).to_be_hidden(timeout=40_000)
    until(lambda: [note["state"] for note in all_notes(server)] == ["heard"], HEARD_MS / 1000)
    assert "pottery studio" in all_notes(server)[0]["said"].lower()
