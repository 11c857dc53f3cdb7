"""Nothing that was said or typed is lost or told twice: without a signal, over reloads, when the server goes away."""

from __future__ import annotations

import datetime
import json

import pytest
from playwright.sync_api import Page, Route, expect

from tests.api.browser.at_work import PLACE_S, Server, microphone_file, ready, until
from tests.api.browser.test_phone import GAUGES, png, type_note

HEARD_MS = 60_000  # a recording is heard by the real recogniser, on a machine that does other things too


@pytest.fixture(scope="module")
def listening_browser(chromium, tmp_path_factory):
    return chromium(microphone_file(tmp_path_factory.mktemp("sound") / "note.wav", "10_hood_again", until_s=PLACE_S))


def kept_by_worker(page: Page) -> None:
    """Waits until the phone keeps the page itself."""
    page.wait_for_function("navigator.serviceWorker.ready.then(() => navigator.serviceWorker.controller !== null)")


def waits(page: Page, count: int) -> None:
    words = f"{count} note{'s wait' if count != 1 else ' waits'} on this phone"
    expect(page.locator("#waiting-title")).to_have_text(words)
    expect(page.locator("#waiting-list > li")).to_have_count(count)


def all_notes(server: Server) -> list[dict]:
    """Every note of every job that the server has, in the order they were told."""
    jobs = server.http.get("/jobs").raise_for_status().json()
    notes = []
    for job in jobs:
        log = server.http.get(f"/jobs/{job['key']}/log").raise_for_status().json()
        notes += [server.http.get(f"/notes/{note}").json() for visit in log["visits"] for note in visit["notes"]]
    return sorted(notes, key=lambda note: note["received_at"])


def test_a_day_offline_with_a_reload_loses_nothing_and_tells_nothing_twice(phone, listening_browser, serve):
    server = serve()
    page = ready(phone(listening_browser), server.url)
    kept_by_worker(page)
    page.context.set_offline(True)
    type_note(page, "410A, TXV, studio is a four ton.")
    waits(page, 1)
    type_note(page, "Target subcool 10.")
    waits(page, 2)
    hold = page.locator("#hold")
    hold.hover()
    page.mouse.down()
    expect(page.locator("#state")).to_have_text("Recording")
    page.wait_for_timeout(4500)
    page.mouse.up()
    waits(page, 3)

    page.reload()
    page.wait_for_selector("html[data-ready=yes]")
    waits(page, 3)
    expect(page.locator("#signal")).to_contain_text("No signal")
    type_note(page, "Line voltage 241.")
    waits(page, 4)
    assert server.http.get("/jobs").json() == []

    page.context.set_offline(False)
    expect(page.locator("#waiting")).to_be_hidden(timeout=HEARD_MS)
    until(lambda: all(note["state"] == "heard" for note in all_notes(server)), HEARD_MS / 1000)
    notes = all_notes(server)
    assert [note["recorded"] for note in notes] == [False, False, True, False]
    assert notes[0]["said"] == "410A, TXV, studio is a four ton."
    assert "pottery studio" in notes[2]["said"].lower()
    assert notes[3]["said"] == "Line voltage 241."
    recording = server.http.get(f"/notes/{notes[2]['note']}/recording").content
    assert len(recording) / 32000 == pytest.approx(4.5, abs=1.5)
    page.reload()
    page.wait_for_selector("html[data-ready=yes]")
    expect(page.locator("#waiting")).to_be_hidden()
    assert len(all_notes(server)) == 4


def test_an_answer_that_was_lost_on_the_way_does_not_make_a_note_twice(phone, serve):
    server = serve()
    page = ready(phone(), server.url)
    lost = []

    def lose(route: Route) -> None:
        if len(lost) < 2:
            lost.append(route.fetch().status)  # the server has it; the phone never hears so
            route.abort()
        else:
            route.continue_()

    page.route("**/api/v1/notes", lose)
    type_note(page, "94")  # words that, said again, would be another note
    until(lambda: len(lost) == 2, 15, page)
    expect(page.locator("#waiting")).to_be_hidden()
    assert lost == [201, 200]
    assert [note["said"] for note in all_notes(server)] == ["94"]


def test_something_else_that_answers_in_the_servers_place_does_not_count(phone, serve):
    server = serve()
    page = ready(phone(), server.url)
    answered = []

    def portal(route: Route) -> None:
        answered.append(route.request.url)
        route.fulfill(status=200, content_type="text/html", body="<h1>Sign in to this network</h1>")

    page.route("**/api/v1/**", portal)
    type_note(page, GAUGES)
    expect(page.locator("#signal")).to_contain_text("No signal")
    assert answered
    waits(page, 1)
    page.unroute("**/api/v1/**")
    expect(page.locator("#waiting")).to_be_hidden(timeout=30_000)  # by itself
    assert [note["said"] for note in all_notes(server)] == [GAUGES]


def test_a_note_the_server_refuses_is_kept_and_does_not_hold_up_the_next(phone, serve):
    server = serve()
    page = ready(phone(), server.url)

    def refuse(route: Route) -> None:
        if b"liquid line 94" in (route.request.post_data_buffer or b""):
            body = json.dumps({"title": "No", "detail": "That is no note.", "status": 422})
            return route.fulfill(status=422, content_type="application/problem+json", body=body)
        return route.continue_()

    page.route("**/api/v1/notes", refuse)
    type_note(page, GAUGES)
    expect(page.locator("#waiting-list")).to_contain_text("That is no note.")
    type_note(page, "Suction 118.")
    expect(page.locator("#answer")).to_contain_text("118")
    waits(page, 1)
    page.reload()
    page.wait_for_selector("html[data-ready=yes]")
    waits(page, 1)
    page.unroute("**/api/v1/notes")
    page.get_by_role("button", name="Try again").click()
    expect(page.locator("#waiting")).to_be_hidden()
    assert [note["said"] for note in all_notes(server)] == ["Suction 118.", GAUGES]


def test_a_reload_in_the_middle_of_a_recording_loses_at_most_its_last_second(phone, listening_browser, serve):
    server = serve()
    page = ready(phone(listening_browser), server.url)
    kept_by_worker(page)
    page.context.set_offline(True)
    page.click("#start")
    expect(page.locator("#state")).to_have_text("Recording")
    page.wait_for_timeout(3000)
    page.reload()
    page.wait_for_selector("html[data-ready=yes]")
    waits(page, 1)
    page.context.set_offline(False)
    expect(page.locator("#waiting")).to_be_hidden(timeout=HEARD_MS)
    (note,) = until(lambda: all_notes(server), 20)
    recording = server.http.get(f"/notes/{note['note']}/recording").content
    assert len(recording) / 32000 > 2


def test_a_note_is_of_the_day_it_was_said_on(phone, serve):
    server = serve()
    page = phone()
    page.clock.set_fixed_time(datetime.datetime(2026, 3, 2, 16, 0))
    ready(page, server.url)
    page.context.set_offline(True)
    type_note(page, GAUGES)
    waits(page, 1)
    page.clock.set_fixed_time(datetime.datetime(2026, 3, 4, 8, 0))
    page.context.set_offline(False)
    expect(page.locator("#waiting")).to_be_hidden()
    assert [note["date"] for note in all_notes(server)] == ["2026-03-02"]


def test_the_server_goes_away_and_comes_back(phone, serve):
    server = serve()
    page = ready(phone(), server.url)
    kept_by_worker(page)
    server.stop()
    type_note(page, GAUGES)
    expect(page.locator("#signal")).to_contain_text("No signal")
    page.reload()
    page.wait_for_selector("html[data-ready=yes]")
    waits(page, 1)
    server.start()
    expect(page.locator("#waiting")).to_be_hidden(timeout=30_000)  # by itself
    assert [note["said"] for note in all_notes(server)] == [GAUGES]


def test_two_tabs_send_a_note_once(phone, serve):
    server = serve()
    page = ready(phone(), server.url)
    page.context.set_offline(True)
    type_note(page, GAUGES)
    waits(page, 1)
    other = page.context.new_page()
    page.context.set_offline(False)
    ready(other, server.url)
    expect(other.locator("#waiting")).to_be_hidden()
    expect(page.locator("#waiting")).to_be_hidden()
    assert [note["said"] for note in all_notes(server)] == [GAUGES]


def test_a_photo_waits_with_its_note_and_goes_after_it(phone, serve):
    server = serve()
    page = ready(phone(), server.url)
    page.context.set_offline(True)
    page.click("#photo")
    page.set_input_files("#image", {"name": "plate.png", "mimeType": "image/png", "buffer": png()})
    page.fill("#caption", "The plate.")
    page.click("#photo-form button[value=keep]")
    waits(page, 2)
    page.context.set_offline(False)
    expect(page.locator("#waiting")).to_be_hidden()
    expect(page.locator("#known .photos img")).to_have_count(1)


def test_without_a_signal_the_job_shows_as_it_last_stood(phone, serve):
    server = serve(demo=True)
    page = ready(phone(), server.url)
    kept_by_worker(page)
    expect(page.locator("#known")).to_contain_text("1,610 cfm")
    page.context.set_offline(True)
    page.reload()
    page.wait_for_selector("html[data-ready=yes]")
    expect(page.locator("#known")).to_contain_text("1,610 cfm")
    expect(page.locator("#as-of")).to_contain_text("As it stood at")
    page.goto(f"{server.url}/office")
    expect(page.locator("h1")).to_have_text("No signal")
