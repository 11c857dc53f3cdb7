from __future__ import annotations

import pytest

from assistant.hear.transcript import Ears, load_ears


@pytest.fixture(scope="session")
def ears() -> Ears:
    """The default recogniser, loaded once for all hearing tests."""
    return load_ears()
