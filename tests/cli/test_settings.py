"""A setting comes from its option, else the environment, else the file, else its default; a bad one says whence."""

from __future__ import annotations

from pathlib import Path

import pytest

from assistant import settings
from assistant.errors import SettingsError


@pytest.fixture(autouse=True)
def no_file_of_the_user(monkeypatch, tmp_path):
    monkeypatch.setattr(settings, "_user_file", lambda: tmp_path / "none" / "settings.toml")


def written(tmp_path, text: str) -> Path:
    file = tmp_path / "settings.toml"
    file.write_text(text, "utf-8")
    return file


def test_the_option_rules_then_the_environment_then_the_file_then_the_default(tmp_path):
    file = written(tmp_path, 'model = "from-file"\nthreads = 2\n')
    environ = {"SUPERHEARD_MODEL": "from-environment"}
    assert settings.load({}, {}).model == "base"
    assert settings.load({}, {}, file).model == "from-file"
    assert settings.load({}, environ, file).model == "from-environment"
    assert settings.load({"model": "from-option"}, environ, file).model == "from-option"


def test_each_value_says_where_it_came_from(tmp_path):
    file = written(tmp_path, "threads = 2\n")
    origins = settings.load({"model": "tiny.en"}, {"SUPERHEARD_JOB": "bakery"}, file).origins
    assert origins["model"] == "option --model"
    assert origins["job"] == "environment variable SUPERHEARD_JOB"
    assert origins["threads"] == f"settings file {file}"
    assert origins["device"] == "default"


def test_the_file_can_be_named_in_the_environment(tmp_path):
    file = written(tmp_path, 'model = "tiny.en"\n')
    assert settings.load({}, {"SUPERHEARD_SETTINGS": str(file)}).model == "tiny.en"


def test_every_setting_has_a_help_and_a_default_that_will_do():
    for row in settings.rows():
        assert row.help.endswith(".")
        if row.default is not None:
            assert settings.parse(row, row.default, "default") == row.default


@pytest.mark.parametrize("row", settings.rows(), ids=lambda row: row.name)
def test_every_setting_can_be_given_all_three_ways(row, tmp_path):
    raw = {"path": "/somewhere", "whole": 3, "number": 2, "text": (row.choices or ("words",))[-1]}[row.kind]
    file = written(tmp_path, f"{row.name} = {raw!r}\n")
    from_option = settings.load({row.name: str(raw)}, {})
    from_environment = settings.load({}, {row.variable: str(raw)})
    from_file = settings.load({}, {}, file)
    assert from_option == from_environment == from_file
    assert str(getattr(from_file, row.name)).removesuffix(".0") == str(raw)


BAD = [
    ("device", "gpu", "one of cpu, cuda, auto"),
    ("threads", "-1", "a whole number from 0 to 256"),
    ("threads", "two", "a whole number"),
    ("threads", "1.5", "a whole number"),
    ("max_recording_hours", "nan", "a number from 0.01 to 24"),
    ("max_recording_hours", "100", "a number from 0.01 to 24"),
    ("model", "  ", "some text"),
]


@pytest.mark.parametrize(("name", "raw", "takes"), BAD)
def test_a_bad_value_names_the_setting_where_it_came_from_and_what_would_do(name, raw, takes):
    with pytest.raises(SettingsError) as error:
        settings.load({}, {f"SUPERHEARD_{name.upper()}": raw})
    for part in (name, f"environment variable SUPERHEARD_{name.upper()}", takes):
        assert part in str(error.value)


@pytest.mark.parametrize("line", ["threads = true", 'threads = "many"', "model = 3", "home = []", "threads = 1.5"])
def test_a_value_of_the_wrong_type_in_the_file_names_the_file(tmp_path, line):
    file = written(tmp_path, line)
    with pytest.raises(SettingsError, match=f"settings file {file}"):
        settings.load({}, {}, file)


def test_a_misspelt_name_in_the_file_is_pointed_out_with_the_nearest(tmp_path):
    with pytest.raises(SettingsError, match="'modle'.*did you mean model"):
        settings.load({}, {}, written(tmp_path, 'modle = "base"'))


def test_a_misspelt_variable_is_found():
    assert settings.unknown_variables({"SUPERHEARD_MODLE": "x", "SUPERHEARD_MODEL": "x", "HOME": "/"}) == [
        "SUPERHEARD_MODLE"
    ]


def test_a_file_that_is_not_toml_or_not_there_is_a_clear_error(tmp_path):
    with pytest.raises(SettingsError, match="not TOML"):
        settings.load({}, {}, written(tmp_path, "model: base"))
    with pytest.raises(SettingsError, match="no settings file"):
        settings.load({}, {}, tmp_path / "missing.toml")
    with pytest.raises(SettingsError, match="cannot be read"):
        settings.load({}, {}, tmp_path)


def test_a_home_folder_may_be_written_with_a_tilde():
    assert settings.load({"home": "~/notes"}, {}).home_folder() == Path.home() / "notes"


def test_without_a_home_the_users_data_folder_is_meant():
    assert settings.load({}, {}).home_folder().name == "superheard"
