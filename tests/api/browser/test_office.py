"""The office at its desk: what needs attention, one job, changing what was misheard, papers, tasks, search."""

from __future__ import annotations

import re
import subprocess
from collections.abc import Iterator
from datetime import date

import httpx
import pytest
from axe_playwright_python.sync_playwright import Axe
from icalendar import Calendar
from playwright.sync_api import Page, expect

from tests.api.browser.at_work import DEMO_JOB, DESKTOP, PHONE, Server, tell_demo
from tests.api.browser.office_jobs import (
    FLUE,
    HOSTILE,
    PRINT_SHOP,
    PRINT_SHOP_NOTE,
    SPOKEN,
    tell_flue,
    tell_hostile,
    tell_print_shop,
    tell_spoken,
)

PAGES = {
    "jobs": "/office",
    "one job": f"/office/jobs/{DEMO_JOB}",
    "a job with trouble": "/office/jobs/boiler-room",
    "a spoken job": f"/office/jobs/{SPOKEN}",
    "tasks": "/office/tasks?month=2025-09",
    "search": "/office/search?words=return",
    "devices": "/devices",
    "asking": "/ask?question=was+the+charge+in+range%3F&job=" + DEMO_JOB,
}


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """A server with all the jobs, for tests that only look."""
    server = Server(tmp_path_factory.mktemp("office") / "home")
    try:
        tell_demo(server.assistant)
        server.spoken = tell_spoken(server.assistant)
        tell_print_shop(server.assistant)
        tell_flue(server.assistant)
        tell_hostile(server.assistant)
        yield server.start()
    finally:
        server.close()


@pytest.fixture
def shop(serve) -> Server:
    """A server of one's own with the print shop, to change things in."""
    server = serve()
    tell_print_shop(server.assistant)
    return server


@pytest.fixture
def at_desk(phone):
    """Opens a page as a desktop has it."""
    return lambda **options: phone(**{"device_scale_factor": 1, "has_touch": False, **DESKTOP, **options})


_FOCUSED = """() => { const on = document.activeElement, style = getComputedStyle(on);
    const drawn = style.outlineStyle !== "none";
    return [on.ariaLabel || on.textContent.trim(), drawn ? parseFloat(style.outlineWidth) : 0]; }"""


def opened(page: Page, server: Server, path: str) -> Page:
    page.goto(server.url + path)
    return page


def value(page: Page, said: str):
    """The line of a value in the visits, by the words it was said in."""
    return page.locator("#visits .heard", has=page.locator(f'q:text-is("{said}")'))


def finding(page: Page, name: str):
    return page.locator(".findings > li", has=page.locator(f'.about:text-is("{name}")'))


def verdict(server: Server, job: str, about: str) -> dict:
    log = server.http.get(f"/jobs/{job}/log").raise_for_status().json()
    return next(each for each in log["verdicts"] if each["about"] == about)


# ---------------------------------------------------------------- jobs


def test_the_job_with_a_stop_comes_first_and_says_why(desk, at_desk):
    page = opened(at_desk(), desk, "/office")
    names = page.locator(".jobs h2").all_inner_texts()
    assert names[0] == FLUE and set(names) == {FLUE, PRINT_SHOP, SPOKEN, DEMO_JOB}
    first = page.locator(".job").first
    for words in ("stop", "1 inspection", "1 answer awaited", "1 task overdue", "1 doubtful value"):
        expect(first.locator(".counts")).to_contain_text(words)
    expect(first).to_contain_text("electrical inspection failed")


def test_filters_choose_jobs_without_a_script(desk, phone):
    page = opened(phone(java_script_enabled=False), desk, "/office")
    page.get_by_label("Finding").select_option("charge:low")
    page.get_by_role("button", name="Show").click()
    assert page.locator(".jobs h2").all_inner_texts() == [PRINT_SHOP]
    page.get_by_role("link", name="All jobs").click()
    page.get_by_label("Visited from").fill("2025-08-01")
    page.get_by_label("to", exact=True).fill("2025-09-30")
    page.get_by_role("button", name="Show").click()
    assert set(page.locator(".jobs h2").all_inner_texts()) == {SPOKEN, DEMO_JOB}
    page.get_by_label("System").select_option("upstairs")
    page.get_by_role("button", name="Show").click()
    assert page.locator(".jobs h2").all_inner_texts() == [DEMO_JOB]


# ---------------------------------------------------------------- one job


def test_then_and_now_stand_side_by_side_with_what_was_done(desk, at_desk):
    page = opened(at_desk(), desk, f"/office/jobs/{DEMO_JOB}")
    row = page.locator("#changes tr", has=page.locator('th:text-is("return airflow")'))
    expect(row).to_have_text(re.compile(r"1,230 cfm.*1,610 cfm.*\+380 cfm", re.S))
    charge = page.locator("#changes tr", has=page.locator('th:text-is("charge")'))
    expect(charge).to_have_text(re.compile(r"provisional \(in range\).*in range", re.S))
    expect(page.locator("#changes")).to_contain_text("16 in round flex")


def test_a_finding_opens_to_its_inputs_method_and_sources(desk, at_desk):
    page = opened(at_desk(), desk, f"/office/jobs/{DEMO_JOB}")
    charge = finding(page, "charge").first
    expect(charge.get_by_text("Limits from:")).to_be_hidden()
    charge.locator("summary").click()
    expect(charge).to_contain_text("liquid pressure 358 psi")
    expect(charge).to_contain_text("Source: CoolProp")
    expect(charge.get_by_text("Limits from:")).to_be_visible()


def test_every_chart_is_drawn_and_says_in_words_what_it_shows(desk, at_desk):
    page = opened(at_desk(), desk, f"/office/jobs/{DEMO_JOB}")
    images = page.locator("#charts img")
    assert images.count() >= 3
    for image in images.all():
        image.scroll_into_view_if_needed()
        page.wait_for_function("image => image.complete && image.naturalWidth > 0", arg=image.element_handle())
        assert len(image.get_attribute("alt")) > 40
    page.get_by_label("Trend of").select_option("studio:subcooling")
    page.locator("#trend button").click()
    expect(page.locator("#trend img")).to_have_attribute(
        "alt", re.compile("subcooling: 10.6 .* on 2025-08-19, then 10.3")
    )


def test_hostile_words_are_shown_and_nothing_in_them_is_run(desk, at_desk):
    page = opened(at_desk(), desk, "/office/jobs/boiler-room")
    page.locator("#visits .words summary").first.click()
    said = page.locator("#visits blockquote").first
    assert HOSTILE in said.inner_text()
    assert said.locator("*").count() == 0, "the words hold no element"
    assert page.title() == FLUE
    found = opened(page, desk, "/office/search?words=maybe").locator(".snippet").first
    assert "{{7*7}}" in found.inner_text() and found.locator("script, img").count() == 0


# ---------------------------------------------------------------- playing


def test_the_play_button_plays_the_very_second_and_stops(desk, at_desk):
    page = opened(at_desk(), desk, f"/office/jobs/{SPOKEN}")
    log = desk.http.get(f"/jobs/{SPOKEN}/log").json()
    head = next(each for each in log["readings"] if each["quantity"] == "liquid_pressure")
    page.evaluate("""() => { const audio = document.querySelector("#player audio"); window.times = [];
        audio.addEventListener("playing", () => times.push(audio.currentTime));
        audio.addEventListener("pause", () => times.push(audio.currentTime)); }""")
    button = value(page, head["said"]).locator(".play")
    expect(button).to_have_attribute("aria-label", re.compile(re.escape(head["said"])))
    button.click()
    page.wait_for_function("() => times.length >= 2 && document.querySelector('#player audio').paused")
    begun, stopped = page.evaluate("() => [times[0], times.at(-1)]")
    assert head["start_s"] - 0.6 <= begun <= head["start_s"] + 0.2
    assert head["end_s"] <= stopped <= head["end_s"] + 0.8
    expect(button).to_have_attribute("aria-pressed", "false")


def test_without_a_script_a_value_still_links_to_its_second(desk, phone):
    page = opened(phone(java_script_enabled=False), desk, f"/office/jobs/{SPOKEN}")
    assert re.search(
        r"/recording#t=\d+\.\d\d,\d+\.\d\d$", page.locator("#visits .heard .play").first.get_attribute("href")
    )


def test_a_typed_value_has_nothing_to_play(desk, at_desk):
    page = opened(at_desk(), desk, "/office/jobs/print-shop")
    expect(page.locator("#visits .heard").first).to_contain_text("typed")
    assert page.locator("#visits .heard .play").count() == 0


# ---------------------------------------------------------------- changing


def test_a_correction_works_the_log_out_anew_and_the_original_stays(shop, at_desk):
    assert verdict(shop, "print-shop", "charge")["status"] == "low"
    page = opened(at_desk(), shop, "/office/jobs/print-shop")
    expect(finding(page, "charge")).to_contain_text("low")
    value(page, "liquid line 104").get_by_role("button", name="Change liquid line").click()
    page.get_by_label("Right value").fill("94")
    page.get_by_role("button", name="Write the right value").click()
    expect(finding(page, "charge").locator(".tag").first).to_have_text("in range")
    line = value(page, "liquid line 104")
    expect(line.locator("s")).to_contain_text("104")
    expect(line.locator("strong")).to_have_text("94 °F")
    expect(line).to_contain_text("corrected")
    expect(line).to_contain_text("by this computer")
    assert str(date.today().year) in line.inner_text()
    after = verdict(shop, "print-shop", "charge")
    assert after["status"] == "in_range" and after["value"] == pytest.approx(11.6, abs=0.6)
    (kept,) = shop.http.get("/jobs/print-shop/corrections").json()
    assert (kept["action"], kept["value"], kept["by"]) == ("correct", 94.0, "this computer")
    assert shop.notes("print-shop") == [PRINT_SHOP_NOTE]


def test_a_correction_in_another_unit_is_converted(shop, at_desk):
    page = opened(at_desk(), shop, "/office/jobs/print-shop")
    value(page, "liquid line 104").get_by_role("button", name="Change liquid line").click()
    page.get_by_label("Right value").fill("35")
    page.get_by_label("Unit").fill("degC")
    page.get_by_role("button", name="Write the right value").click()
    expect(value(page, "liquid line 104").locator("strong")).to_have_text("95 °F")


def test_a_discarded_value_is_struck_out_and_judged_by_no_more(shop, at_desk):
    page = opened(at_desk(), shop, "/office/jobs/print-shop")
    value(page, "liquid line 104").get_by_role("button", name="Change liquid line").click()
    page.get_by_role("button", name="Discard it").click()
    expect(value(page, "liquid line 104")).to_contain_text("discarded")
    expect(value(page, "liquid line 104").locator("s")).to_contain_text("104")
    expect(finding(page, "charge").locator(".tag").first).to_have_text("not known yet")
    assert verdict(shop, "print-shop", "charge")["status"] == "unknown"


def test_a_doubtful_value_comes_first_and_counts_once_it_is_confirmed(serve, at_desk):
    server = serve()
    tell_flue(server.assistant)
    page = opened(at_desk(), server, "/office/jobs/boiler-room")
    doubtful = page.locator("#doubtful .heard")
    expect(doubtful).to_have_count(1)
    expect(doubtful).to_contain_text("704")
    doubtful.get_by_role("button", name="Change liquid line").click()
    page.get_by_role("button", name="It is right as heard").click()
    expect(page.locator("#doubtful")).to_have_count(0)
    expect(page.locator("#visits .heard", has_text="704")).to_contain_text("confirmed")
    log = server.http.get("/jobs/boiler-room/log").json()
    (reading,) = [each for each in log["readings"] if each["quantity"] == "liquid_line_temp"]
    assert reading["status"] == "current" and reading["correction"]["action"] == "confirm"


def test_what_is_no_number_is_not_sent(shop, at_desk):
    page = opened(at_desk(), shop, "/office/jobs/print-shop")
    value(page, "liquid line 104").get_by_role("button", name="Change liquid line").click()
    page.get_by_label("Right value").fill("ninety four")
    page.get_by_role("button", name="Write the right value").click()
    expect(page.get_by_role("alert")).to_contain_text("is a number")
    page.get_by_role("button", name="Leave it").click()
    assert shop.http.get("/jobs/print-shop/corrections").json() == []


def test_a_unit_that_cannot_be_is_refused_in_words_and_nothing_changes(shop, at_desk):
    page = opened(at_desk(), shop, "/office/jobs/print-shop")
    value(page, "liquid line 104").get_by_role("button", name="Change liquid line").click()
    page.get_by_label("Unit").fill("psi")
    page.get_by_role("button", name="Write the right value").click()
    expect(page.get_by_role("alert")).to_contain_text("psi")
    assert shop.http.get("/jobs/print-shop/corrections").json() == []


# ---------------------------------------------------------------- papers, tasks, search


def test_the_record_opens_from_the_page_and_has_the_right_numbers(desk, at_desk, tmp_path):
    page = opened(at_desk(), desk, f"/office/jobs/{DEMO_JOB}")
    link = page.get_by_role("link", name="Commissioning record").get_attribute("href")
    answer = page.request.get(desk.url + link)
    assert answer.ok and answer.headers["content-type"] == "application/pdf"
    paper = tmp_path / "record.pdf"
    paper.write_bytes(answer.body())
    text = subprocess.run(["pdftotext", "-layout", paper, "-"], capture_output=True, text=True, check=True).stdout
    for figure in ("10.3", "1,610 cfm", "1,230", "358 psi", "98"):
        assert figure in text, figure


@pytest.mark.parametrize("name", ["Proposal", "Invoice lines", "Refrigerant record", "Values", "Whole log"])
def test_every_other_paper_opens(desk, at_desk, name):
    page = opened(at_desk(), desk, f"/office/jobs/{DEMO_JOB}")
    answer = page.request.get(desk.url + page.get_by_role("link", name=name).get_attribute("href"))
    assert answer.ok and len(answer.body()) > 100


def test_tasks_stand_in_the_month_and_the_calendar_file_parses(desk, at_desk):
    page = opened(at_desk(), desk, "/office/tasks?month=2025-09")
    eighth = page.locator(".month td", has=page.locator('.date:text-is("8")')).first
    expect(eighth).to_contain_text("call the owner")
    answer = page.request.get(desk.url + page.get_by_role("link", name="Calendar file").get_attribute("href"))
    calendar = Calendar.from_ical(answer.body())
    due = {str(event["summary"]): event.decoded("dtstart") for event in calendar.walk("VEVENT")}
    assert any("call the owner" in name and day == date(2025, 9, 8) for name, day in due.items())


def test_the_calendar_link_is_read_without_any_cookie(serve, at_desk):
    server = serve(demo=True)
    page = opened(at_desk(), server, "/office/tasks")
    page.get_by_role("button", name="Make a link").click()
    link = page.get_by_label("Link for a calendar program")
    expect(link).to_be_visible()
    answer = httpx.get(link.input_value())
    assert len(Calendar.from_ical(answer.content).walk("VEVENT")) >= 1


def test_search_finds_what_was_said_and_filters_it(desk, at_desk):
    page = opened(at_desk(), desk, "/office/search")
    page.get_by_label("Words").fill("glazing room")
    page.get_by_role("button", name="Search").click()
    hit = page.locator(".hits li")
    expect(hit).to_have_count(1)
    expect(hit.locator("mark").first).to_have_text(re.compile("glazing", re.I))
    expect(hit).to_contain_text("August 19, 2025")
    hit.get_by_role("link", name=DEMO_JOB).click()
    expect(page).to_have_url(re.compile(rf"/office/jobs/{DEMO_JOB}#n-[0-9a-f]+$"))
    opened(page, desk, "/office/search?words=return")
    assert len(page.locator(".hit-head time").all()) > 2
    opened(page, desk, "/office/search?words=return&since=2025-09-01&until=2025-12-31")
    assert page.locator(".hit-head time").all_inner_texts() == ["September 4, 2025"]
    opened(page, desk, "/office/search?words=piston&system=upstairs")
    assert page.locator(".hit-head time").all_inner_texts() == ["August 27, 2025"]
    opened(page, desk, "/office/search?words=&finding=charge:low")
    assert page.locator(".hit-head a").all_inner_texts() == [PRINT_SHOP]
    opened(page, desk, "/office/search?words=nothing+like+that")
    expect(page.get_by_role("status")).to_contain_text("No notes")


def test_a_hit_in_a_recording_can_be_played(desk, at_desk):
    page = opened(at_desk(), desk, f"/office/search?words=nameplate&job={SPOKEN}")
    button = page.locator(".hits .play").first
    button.click()
    expect(button).to_have_attribute("aria-pressed", "true")
    page.wait_for_function("() => document.querySelector('#player audio').currentTime > 1")


# ---------------------------------------------------------------- for everybody


@pytest.mark.parametrize("name", PAGES)
def test_no_page_shuts_anybody_out(desk, phone, name):
    page = opened(phone(), desk, PAGES[name])
    page.evaluate("() => document.querySelectorAll('details').forEach((each) => { each.open = true; })")
    for shape in (PHONE, DESKTOP):
        page.set_viewport_size(shape["viewport"])
        assert page.evaluate("() => document.documentElement.scrollWidth <= innerWidth"), "it scrolls sideways"
        for colours in ("light", "dark"):
            page.emulate_media(color_scheme=colours)
            found = Axe().run(page)
            assert found.violations_count == 0, f"{shape['viewport']}, {colours}: {found.generate_report()}"


def test_the_dialog_shuts_nobody_out_either(desk, phone):
    page = opened(phone(), desk, "/office/jobs/print-shop")
    page.locator("#visits .change").first.click()
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()


def test_a_value_is_changed_with_the_keyboard_alone(shop, at_desk):
    page = opened(at_desk(), shop, "/office/jobs/print-shop")
    page.keyboard.press("Tab")
    assert page.evaluate("() => document.activeElement.className") == "skip"
    page.keyboard.press("Enter")
    wanted = "Change liquid line 104 °F"
    walked = []
    for _ in range(150):
        page.keyboard.press("Tab")
        name, outline = page.evaluate(_FOCUSED)
        walked.append(name)
        assert outline >= 2, f"the focus cannot be seen on {name}"
        if walked[-1] == wanted:
            break
    assert walked[-1] == wanted
    page.keyboard.press("Enter")
    expect(page.get_by_label("Right value")).to_be_focused()
    page.keyboard.press("Escape")
    assert page.evaluate("() => document.activeElement.ariaLabel") == wanted, "back where it was opened from"
    page.keyboard.press("Enter")
    page.keyboard.type("94")
    page.keyboard.press("Enter")
    expect(finding(page, "charge").locator(".tag").first).to_have_text("in range")
