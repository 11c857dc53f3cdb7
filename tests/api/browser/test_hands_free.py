"""Talking to the phone: a recording for a microphone, the real recogniser, and the voice observed as it is used."""

from __future__ import annotations

import json

import pytest
from playwright.sync_api import Page, expect

from assistant.converse.ear import for_the_ear
from tests.api.browser.at_work import FIGURE_S, PLACE_S, Server, microphone_file, ready, until
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
    return chromium(
        microphone_file(tmp_path_factory.mktemp("sound") / "once.wav", "10_hood_again", until_s=FIGURE_S, after_s=60)
    )


@pytest.fixture(scope="module")
def short(chromium, tmp_path_factory):
    """A browser that hears a few words."""
    return chromium(
        microphone_file(tmp_path_factory.mktemp("sound") / "short.wav", "10_hood_again", until_s=PLACE_S, after_s=60)
    )


@pytest.fixture(scope="module")
def nobody(chromium, tmp_path_factory):
    """A browser that hears a condenser, and nobody."""
    return chromium(
        microphone_file(tmp_path_factory.mktemp("sound") / "fan.wav", "13_only_the_fan", until_s=6, after_s=1)
    )


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
    told = kinds(line, "told")
    assert told.index("heard_so_far") < told.index("answer")  # the words come before the answer does
    so_far = [what["text"].casefold() for by, what in line if by == "told" and what["kind"] == "heard_so_far"]
    assert any("pottery studio" in text for text in so_far)
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


def test_push_to_talk_is_one_note_from_one_press_of_a_key_to_the_next(phone, once, serve):
    server = serve()
    page = phone(once)
    line = talking(page, server)
    hold = page.locator("#hold")
    hold.focus()
    page.keyboard.press("Space")
    expect(hold).to_have_attribute("aria-pressed", "true")
    expect(page.locator("#start")).to_have_attribute("data-state", "hearing")
    page.wait_for_timeout(10_500)
    page.keyboard.press("Space")
    until(lambda: page.evaluate("window.spoken.length"), HEARD_MS / 1000)
    assert for_the_ear("1610") in page.evaluate("window.spoken[0]")
    assert readings(server) == [("return_airflow", 1610)]
    assert len(all_notes(server)) == 1
    assert [what["mode"] for by, what in line if by == "said" and what["kind"] == "start"] == ["push_to_talk"]
    expect(page.locator("#state")).to_have_text("Start")
    expect(hold).to_have_attribute("aria-pressed", "false")


def test_a_condenser_alone_is_no_note(phone, nobody, serve):
    server = serve()
    page = phone(nobody)
    talking(page, server)
    page.click("#start")
    expect(page.locator("#state")).to_have_text("Listening")
    page.wait_for_timeout(8000)
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


def test_the_server_dies_in_mid_note_and_the_note_goes_by_the_outbox(phone, short, serve):
    server = serve()
    page = phone(short)
    talking(page, server)
    page.click("#start")
    expect(page.locator("#state")).to_have_text("I hear you")
    page.wait_for_timeout(1000)
    server.stop()
    expect(page.locator("#state")).to_have_text("Recording")
    expect(page.locator("#waiting")).to_be_visible(timeout=40_000)  # the phone itself notices the end
    waits(page, 1)
    page.click("#start")
    server.start()
    expect(page.locator("#waiting")).to_be_hidden(timeout=40_000)
    until(lambda: [note["state"] for note in all_notes(server)] == ["heard"], HEARD_MS / 1000)
    assert "pottery studio" in all_notes(server)[0]["said"].lower()


@pytest.mark.parametrize("dead_after_s", [0.2, 2], ids=["before", "while"])
def test_a_line_that_only_looks_open_costs_nothing(phone, short, serve, dead_after_s: float):
    """The signal went, and nobody has noticed: what the phone sends goes nowhere, and nothing comes back."""
    server = serve()
    page = phone(short)
    dead = []

    def between(line) -> None:
        far = line.connect_to_server()
        line.on_message(lambda message: dead or far.send(message))
        far.on_message(lambda message: dead or line.send(message))

    page.route_web_socket("**/listen", between)
    talking(page, server)
    page.click("#start")
    expect(page.locator("#state")).to_have_text("Listening")
    page.wait_for_timeout(dead_after_s * 1000)
    dead.append(True)
    page.route("**/api/v1/**", lambda route: route.abort())
    expect(page.locator("#waiting")).to_be_visible(timeout=40_000)
    waits(page, 1)
    page.click("#start")
    page.unroute("**/api/v1/**")
    dead.clear()
    page.click("#send")
    expect(page.locator("#waiting")).to_be_hidden(timeout=40_000)
    until(lambda: [note["state"] for note in all_notes(server)] == ["heard"], HEARD_MS / 1000)
    assert "pottery studio" in all_notes(server)[0]["said"].lower()


def test_a_spoken_note_whose_acknowledgement_was_lost_is_one_note(phone, short, serve):
    """The server has kept it, and the line broke before the phone heard so: the outbox finds out."""
    server = serve()
    page = phone(short)
    lost, posted = [], []

    def between(line) -> None:
        far = line.connect_to_server()
        line.on_message(far.send)

        def back(message: str) -> None:
            if not lost and json.loads(message)["kind"] == "kept":
                lost.append(message)
                line.close()
                far.close()
            elif not lost or json.loads(message)["kind"] != "answer":
                line.send(message)

        far.on_message(back)

    page.route_web_socket("**/listen", between)
    page.on("response", lambda it: posted.append(it.status) if it.url.endswith("/api/v1/notes") else None)
    talking(page, server)
    page.click("#start")
    until(lambda: lost, HEARD_MS / 1000, page)
    until(lambda: posted, 20, page)
    assert posted == [409]  # the same note, in other bytes
    expect(page.locator("#waiting")).to_be_hidden(timeout=20_000)
    page.click("#start")
    assert [note["recorded"] for note in all_notes(server)] == [True]


def test_a_reload_while_talking_loses_nothing_that_was_said(phone, short, serve):
    server = serve()
    page = phone(short)
    talking(page, server)
    page.click("#start")
    expect(page.locator("#state")).to_have_text("I hear you")
    page.wait_for_timeout(2500)
    page.reload()
    page.wait_for_selector("html[data-ready=yes]")
    expect(page.locator("#waiting")).to_be_hidden(timeout=40_000)
    until(lambda: [note["state"] for note in all_notes(server)] == ["heard"], HEARD_MS / 1000)
    assert "pottery studio" in all_notes(server)[0]["said"].lower()
