"""The pictures of the pages that the read-me shows, made from the demonstration job.

    python -m tests.api.browser.pictures
"""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

from tests.api.browser.at_work import DEMO_JOB, DESKTOP, PHONE, Server, ready, tell_demo

PICTURES = Path(__file__).parents[3] / "api" / "pictures"


def main() -> None:
    PICTURES.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as home, sync_playwright() as player:
        server = Server(Path(home))
        tell_demo(server.assistant)
        server.start()
        browser = player.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
        try:
            phone = browser.new_context(**PHONE, color_scheme="light").new_page()
            ready(phone, server.url)
            phone.get_by_text("1,610 cfm").first.wait_for()
            keep(phone, "phone")
            desk = browser.new_context(**DESKTOP, color_scheme="light").new_page()
            for name, path in {"office": "/office", "job": f"/office/jobs/{DEMO_JOB}"}.items():
                desk.goto(f"{server.url}{path}")
                keep(desk, name)
            desk.goto(f"{server.url}/ask?question=was the charge in range on the second visit%3F&job={DEMO_JOB}")
            keep(desk, "ask")
        finally:
            browser.close()
            server.close()


def keep(page: Page, name: str) -> None:
    page.screenshot(path=PICTURES / f"{name}.png")


if __name__ == "__main__":
    main()
