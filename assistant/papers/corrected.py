"""What a person in the office changed about a reading, shown as such on every paper."""

from __future__ import annotations

from typing import Any

from assistant.records import Reading, plain


def correction_of(reading: Reading) -> dict[str, Any]:
    """What was done about a reading (`action`, `by`, `at`, `was`), as the log's JSON has it; empty for nothing."""
    return plain(reading).get("correction") or {}
