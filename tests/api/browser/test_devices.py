"""The office lets a phone in with a code it can photograph, and shuts it out again; over HTTPS, as in earnest."""

from __future__ import annotations

import threading
from collections.abc import Iterator

import httpx
import pytest
import uvicorn
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

from api.access import OFFICE
from api.app import create_app
from api.certificate import certificate_for
from api.serving import sockets_at
from assistant import Assistant
from assistant.settings import Settings
from tests.api.browser.at_work import DESKTOP, OWN, until


@pytest.fixture
def network(tmp_path) -> Iterator[tuple[str, str]]:
    """A server as `serve --lan` starts it, on loopback alone; its address and a code for the office."""
    certificate = certificate_for(("localhost", "127.0.0.1"), tmp_path / "certificate")
    with Assistant(tmp_path / "home") as assistant:
        app = create_app(Settings(home=tmp_path / "home"), assistant, certificate)
        server = uvicorn.Server(uvicorn.Config(app, log_level="critical", ssl_certfile=certificate.certificate,
                                               ssl_keyfile=certificate.key, timeout_graceful_shutdown=2))  # fmt: skip
        listening = sockets_at(0, to_the_network=False)
        thread = threading.Thread(target=server.run, args=(listening,), daemon=True)
        thread.start()
        until(lambda: server.started, 20)
        yield f"https://localhost:{listening[0].getsockname()[1]}", app.state.codes.make(OFFICE)
        server.should_exit = True
        thread.join(20)


@pytest.fixture
def office(network, phone):
    """The office's browser, paired."""
    address, code = network
    page = phone(ignore_https_errors=True, **DESKTOP)
    body = {"code": code, "name": "Desk"}
    assert page.request.post(f"{address}/api/v1/pair", data=body, headers=OWN).status == 201
    page.goto(f"{address}/devices")
    return page


def test_a_phone_is_let_in_with_the_code_and_shut_out_again(network, office):
    address, _ = network
    expect(office.get_by_role("rowheader", name="Desk")).to_contain_text("this one")
    office.get_by_role("button", name="Show a code").click()
    code = office.locator("[data-code]")
    expect(code).to_be_visible()
    picture = office.get_by_role("img", name="QR picture")
    office.wait_for_function("image => image.complete && image.naturalWidth > 0", arg=picture.element_handle())
    expect(office.locator("[data-address]")).to_have_text(f"{address}/pair#{code.inner_text()}")
    with httpx.Client(base_url=f"{address}/api/v1", verify=False) as device:
        body = {"code": code.inner_text(), "name": "Ana's phone", "keep": "token"}
        token = device.post("/pair", json=body).raise_for_status().json()["token"]
        bearer = {"authorization": f"Bearer {token}"}
        assert device.get("/me", headers=bearer).json()["role"] == "tech"
        office.reload()
        row = office.get_by_role("row", name="Ana's phone")
        expect(row).to_contain_text("tell and ask")
        row.get_by_role("button", name="Let in no more").click()
        office.get_by_role("button", name="Keep it").click()
        assert device.get("/me", headers=bearer).status_code == 200
        row.get_by_role("button", name="Let in no more").click()
        office.get_by_role("button", name="Let it in no more").click()
        expect(office.get_by_role("row", name="Ana's phone")).to_have_count(0)
        assert device.get("/me", headers=bearer).status_code == 401


def test_the_page_with_a_code_shuts_nobody_out(office):
    office.get_by_role("button", name="Show a code").click()
    expect(office.locator("[data-code]")).to_be_visible()
    for width in (360, 1280):
        office.set_viewport_size({"width": width, "height": 900})
        assert office.evaluate("() => document.documentElement.scrollWidth <= innerWidth")
        for colours in ("light", "dark"):
            office.emulate_media(color_scheme=colours)
            found = Axe().run(office)
            assert found.violations_count == 0, found.generate_report()
