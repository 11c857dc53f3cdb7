"""The tech's phone page, in a real browser in front of a real server: typing, photos, jobs, keys, looks."""

from __future__ import annotations

import struct
import zlib

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from tests.api.browser.at_work import DEMO_JOB, DESKTOP, PHONE, ready

GAUGES = "410A, TXV, target subcool 10. Head pressure 342, liquid line 94."
LEAST_TARGET_PX = 48


def png(side: int = 8) -> bytes:
    """A small picture, made here."""
    rows = b"".join(b"\0" + bytes((x * 30 % 256, 90, 40)) * side for x in range(side))
    chunk = lambda kind, body: struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))  # noqa: E731
    head = struct.pack(">IIBBBBB", side, side, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(rows)) + chunk(b"IEND", b"")


def type_note(page: Page, words: str) -> None:
    page.click("#type")
    page.fill("#words", words)
    page.click("#type-form button[value=keep]")


def axe(page: Page, part: str = "html") -> list[str]:
    """What axe finds wrong, as sentences."""
    found = Axe().run(page, context=part).response["violations"]
    return [f"{each['id']}: {node['html']}" for each in found for node in each["nodes"]]


def test_a_first_visit_says_how_to_begin(phone, serve):
    page = ready(phone(), serve().url)
    expect(page.locator("#state")).to_have_text("Start")
    expect(page.locator("#job")).to_have_text("none yet")
    expect(page.locator("#known")).to_contain_text("the first note begins one")
    expect(page.locator("#waiting")).to_be_hidden()


def test_a_typed_note_is_answered_and_its_values_stand_on_the_page(phone, serve):
    server = serve()
    page = ready(phone(), server.url)
    type_note(page, GAUGES)
    expect(page.locator("#answer")).to_contain_text("342")
    expect(page.locator("#known .values")).to_contain_text("342 psi")
    expect(page.locator("#known .values")).to_contain_text("“Head pressure 342”")
    expect(page.locator("#waiting")).to_be_hidden()
    job = page.locator("#job").text_content()
    assert server.notes(job) == [GAUGES]


def test_undo_takes_the_last_value_back(phone, serve):
    server = serve()
    page = ready(phone(), server.url)
    type_note(page, GAUGES)
    expect(page.locator("#known .values")).to_contain_text("94 °F")
    page.click("#undo")
    expect(page.locator("#told-list")).to_contain_text("“undo”")
    expect(page.locator("#known")).not_to_contain_text("94 °F")
    expect(page.locator("#known")).to_contain_text("342 psi")


def test_notes_go_to_the_job_that_was_chosen(phone, serve):
    server = serve(demo=True)
    page = ready(phone(), server.url)
    expect(page.locator("#job")).to_have_text(DEMO_JOB)
    page.click("#choose")
    page.fill("#new-job", "Mill Lane 4")
    page.click("#job-form button[value=new]")
    expect(page.locator("#known")).to_contain_text("Nothing is noted for Mill Lane 4 yet")
    type_note(page, GAUGES)
    expect(page.locator("#known .values")).to_contain_text("342 psi")
    page.click("#choose")
    page.get_by_role("button", name=DEMO_JOB).click()
    expect(page.locator("#known")).to_contain_text("1,610 cfm")
    type_note(page, "Studio line voltage 241.")
    expect(page.locator("#known")).to_contain_text("241 V")
    assert server.notes("Mill Lane 4") == [GAUGES]
    assert server.notes()[-1] == "Studio line voltage 241."


def test_a_photo_is_kept_with_its_note_and_shown(phone, serve):
    server = serve()
    page = ready(phone(), server.url)
    picture = png()
    page.click("#photo")
    page.set_input_files("#image", {"name": "plate.png", "mimeType": "image/png", "buffer": picture})
    expect(page.locator("#preview")).to_be_visible()
    page.fill("#caption", "The plate of the condenser.")
    page.click("#photo-form button[value=keep]")
    shown = page.locator("#known .photos img")
    expect(shown).to_have_count(1)
    assert server.http.get(shown.get_attribute("src").removeprefix("/api/v1")).content == picture
    assert shown.evaluate("image => image.decode().then(() => image.naturalWidth)") == 8


def test_everything_can_be_done_with_the_keyboard_alone(phone, serve):
    server = serve()
    page = ready(phone(**DESKTOP, has_touch=False, device_scale_factor=1), server.url)

    def tab_to(selector: str) -> None:
        for _ in range(40):
            page.keyboard.press("Tab")
            if page.evaluate("selector => document.activeElement.matches(selector)", selector):
                return
        pytest.fail(f"Tab never comes to {selector}")

    tab_to("#choose")
    page.keyboard.press("Enter")
    page.keyboard.type("print-shop")
    page.keyboard.press("Enter")
    expect(page.locator("#job")).to_have_text("print-shop")
    tab_to("#type")
    page.keyboard.press("Space")
    page.keyboard.type(GAUGES)
    tab_to("#type-form button[value=keep]")
    page.keyboard.press("Enter")
    expect(page.locator("#answer")).to_contain_text("342")
    tab_to("#undo")
    page.keyboard.press("Enter")
    expect(page.locator("#told-list")).to_contain_text("“undo”")
    ring = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
    assert ring != "none"
    assert server.notes("print-shop") == [GAUGES, "undo"]


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("screen", [PHONE, DESKTOP], ids=["phone", "desktop"])
def test_axe_finds_nothing_wrong(phone, demo_server, scheme: str, screen: dict):
    page = ready(phone(**screen, color_scheme=scheme, reduced_motion="reduce"), demo_server.url)
    page.locator("#known details summary").first.click()
    assert axe(page) == []
    for opener, box in (("#type", "#type-dialog"), ("#photo", "#photo-dialog"), ("#choose", "#job-dialog")):
        page.click(opener)
        expect(page.locator(box)).to_be_visible()
        assert axe(page, box) == []
        page.locator(f"{box} button[value=leave]").click()
    for state in ("listening", "hearing", "thinking", "speaking"):
        page.evaluate("state => document.querySelector('#start').dataset.state = state", state)
        assert axe(page, "#start") == []
    for other in ("/pair", "/offline"):
        page.goto(demo_server.url + other)
        assert axe(page) == []


@pytest.mark.parametrize("screen", [PHONE, DESKTOP], ids=["phone", "desktop"])
def test_every_target_is_large_and_nothing_goes_over_the_edge(phone, demo_server, screen: dict):
    page = ready(phone(**screen), demo_server.url)
    small = page.evaluate(
        """least => [...document.querySelectorAll("button, summary, .aloud, .top a")].filter((each) => {
          const box = each.getBoundingClientRect();
          return box.width && (box.height < least || box.width < least);
        }).map((each) => each.outerHTML)""",
        LEAST_TARGET_PX,
    )
    assert small == []
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    assert page.locator("#start").bounding_box()["height"] > 250


def test_a_microphone_that_is_refused_is_explained(phone, chromium, serve):
    browser = chromium(None, "--use-fake-device-for-media-stream", "--deny-permission-prompts")
    page = ready(phone(browser), serve().url)
    page.click("#start")
    expect(page.locator("#trouble")).to_contain_text("The microphone is switched off for this page")
    expect(page.locator("#state")).to_have_text("Start")


def test_a_page_that_is_not_secure_says_where_to_go(phone, serve):
    page = phone()
    page.add_init_script("Object.defineProperty(window, 'isSecureContext', { value: false })")
    ready(page, serve().url).click("#start")
    expect(page.locator("#trouble")).to_contain_text("https address")


def test_a_phone_that_keeps_nothing_says_so_and_still_sends(phone, serve):
    server = serve()
    page = phone()
    page.add_init_script("IDBFactory.prototype.open = () => { throw new DOMException('no', 'InvalidStateError') }")
    ready(page, server.url)
    expect(page.locator("#trouble")).to_contain_text("keeps nothing on the phone")
    type_note(page, GAUGES)
    expect(page.locator("#answer")).to_contain_text("342")


def test_a_full_phone_says_so_and_still_sends(phone, serve):
    server = serve()
    page = phone()
    page.add_init_script(
        "IDBObjectStore.prototype.add = () => { throw new DOMException('full', 'QuotaExceededError') }"
    )
    ready(page, server.url)
    type_note(page, GAUGES)
    expect(page.locator("#trouble")).to_contain_text("no room left")
    expect(page.locator("#answer")).to_contain_text("342")
    expect(page.locator("#job")).not_to_have_text("none yet")
    assert server.notes(page.locator("#job").text_content()) == [GAUGES]


def test_it_can_be_installed(phone, serve):
    server = serve()
    page = ready(phone(), server.url)
    manifest = page.request.get(f"{server.url}/manifest.webmanifest")
    assert manifest.headers["content-type"].startswith("application/manifest+json")
    for icon in manifest.json()["icons"]:
        answer = page.request.get(server.url + icon["src"])
        assert answer.ok and answer.headers["content-type"] == icon["type"]
        if icon["type"] == "image/png":
            width, height = struct.unpack(">II", answer.body()[16:24])
            assert f"{width}x{height}" == icon["sizes"]
    errors = page.context.new_cdp_session(page).send("Page.getInstallabilityErrors")["installabilityErrors"]
    assert [each["errorId"] for each in errors if each["errorId"] != "in-incognito"] == []


def test_nothing_moves_for_those_who_do_not_want_it(phone, demo_server):
    page = ready(phone(reduced_motion="reduce"), demo_server.url)
    page.evaluate("document.querySelector('#start').dataset.state = 'thinking'")
    assert page.evaluate("getComputedStyle(document.querySelector('#start circle')).animationName") == "none"
