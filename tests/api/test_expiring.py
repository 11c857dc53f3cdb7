"""A server sees to it that recordings go when they are as old as they are to be kept."""

from __future__ import annotations

import pytest

from api.app import create_app
from assistant import Assistant
from assistant.errors import StoreError
from assistant.settings import Settings
from tests.api.browser.at_work import until
from tests.api.conftest import client_of


@pytest.mark.parametrize("trouble", [None, StoreError("the disk is full")])
def test_recordings_are_deleted_by_age_every_day_whatever_happened_the_day_before(
    assistant: Assistant, home, monkeypatch, trouble
):
    asked = []

    def expire(by: str) -> int:
        asked.append(by)
        if trouble:
            raise trouble
        return 0

    monkeypatch.setattr("api.app._DAY_S", 0.05)
    monkeypatch.setattr(assistant, "expire", expire)
    with client_of(create_app(Settings(home=home), assistant)) as client:
        until(lambda: len(asked) >= 2, 10)
        assert client.get("/api/v1/health").is_success
    assert set(asked) == {"serve"}
