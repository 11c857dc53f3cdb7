"""A phone in the network: let in with a code over HTTPS, and shut out again."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from api.access import TECH
from api.certificate import certificate_for
from tests.api.browser.at_work import FIGURE_S, microphone_file, until
from tests.api.browser.test_hands_free import HEARD_MS, VOICE
from tests.api.browser.test_offline import waits
from tests.api.browser.test_phone import GAUGES, type_note


@pytest.fixture(scope="module")
def trusting(chromium, tmp_path_factory):
    """A browser that trusts the server's own certificate, as a phone does on which it was installed."""
    sound = microphone_file(
        tmp_path_factory.mktemp("sound") / "note.wav", "10_hood_again", until_s=FIGURE_S, after_s=60
    )
    return chromium(sound, "--ignore-certificate-errors")


@pytest.fixture
def network(serve, tmp_path):
    return serve(certificate=certificate_for(("localhost",), tmp_path / "certificate"))


def test_a_phone_is_let_in_with_a_code_and_talks(phone, trusting, network):
    page = phone(trusting)
    page.add_init_script(VOICE)
    page.goto(network.url)
    expect(page.locator("h1")).to_have_text("Let this phone in")
    page.fill("#code", "WRNG-CODE")
    page.fill("#name", "Ana's phone")
    page.click("#pair button")
    expect(page.locator("#outcome")).to_contain_text("That code is wrong")

    page.goto("about:blank")
    page.goto(f"{network.url}/pair#{network.app.state.codes.make(TECH)}")  # what the picture leads to
    expect(page.locator("#code")).not_to_have_value("")
    assert "#" not in page.url  # the code does not stay in the history
    page.fill("#name", "Ana's phone")
    page.keyboard.press("Enter")
    page.wait_for_selector("html[data-ready=yes]")
    page.click("#start")
    until(lambda: page.evaluate("window.spoken.length"), HEARD_MS / 1000)
    expect(page.locator("#known")).to_contain_text("1,610 cfm")
    (cookie,) = page.context.cookies()
    assert cookie["httpOnly"] and cookie["secure"] and cookie["sameSite"] == "Strict"


def test_a_phone_that_is_shut_out_keeps_its_notes_and_says_so(phone, trusting, network):
    page = phone(trusting)
    page.goto(f"{network.url}/pair#{network.app.state.codes.make(TECH)}")
    page.fill("#name", "Ben's phone")
    page.keyboard.press("Enter")
    page.wait_for_selector("html[data-ready=yes]")
    for each in network.app.state.devices.listed():
        network.app.state.devices.revoke(each.id)
    type_note(page, GAUGES)
    expect(page.locator("#shut-out a")).to_be_visible()
    waits(page, 1)

    page.goto(network.url)
    expect(page.locator("h1")).to_have_text("Let this phone in")
    page.fill("#code", network.app.state.codes.make(TECH))
    page.fill("#name", "Ben's phone")
    page.click("#pair button")
    expect(page.locator("#known")).to_contain_text("342 psi")
    expect(page.locator("#waiting")).to_be_hidden()
