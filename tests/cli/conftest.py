"""Commands are run on a store of their own, with none of the user's settings."""

from __future__ import annotations

import os

import pytest
from click.testing import CliRunner, Result

from assistant.cli import main


@pytest.fixture(autouse=True)
def no_settings_of_the_user(monkeypatch, tmp_path):
    for name in list(os.environ):
        if name.startswith("SUPERHEARD_"):
            monkeypatch.delenv(name)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))


@pytest.fixture
def superheard(tmp_path):
    """Run a command on the store in tmp_path/home; stdout and stderr are kept apart."""

    def run(*arguments: str, input: bytes | str | None = None) -> Result:
        environ = {"SUPERHEARD_HOME": str(tmp_path / "home"), "COLUMNS": "80"}
        return CliRunner().invoke(main, list(arguments), input=input, env=environ)

    return run
