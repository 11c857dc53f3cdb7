"""Many phones at once, in short; at length: `python -m tests.api.load`."""

from __future__ import annotations

import asyncio

import psutil

from tests.api import load
from tests.api.process import served


def test_twenty_phones_at_once_lose_nothing_and_meet_no_fault(tmp_path):
    with served(tmp_path / "home", *load.AS_OFTEN_AS_THEY_LIKE) as server:
        process = psutil.Process(server.process.pid)
        came = asyncio.run(asyncio.wait_for(load.run(server.api, process, phones=20, notes=2), 120))
    assert came.sent == 40
    assert came.answers == {"201": 40}
    assert came.acknowledged == 40
    assert came.lost == 0
