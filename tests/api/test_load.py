"""Many phones at once, in short; at length: `python -m tests.api.load`."""

from __future__ import annotations

import asyncio

from tests.api import load


def test_twenty_phones_at_once_lose_nothing_and_meet_no_fault(tmp_path):
    with load.server(tmp_path / "home") as (address, process):
        came = asyncio.run(asyncio.wait_for(load.run(address, process, phones=20, notes=2), 120))
    assert came.sent == 40
    assert came.answers == {"201": 40}
    assert came.acknowledged == 40
    assert came.lost == 0
