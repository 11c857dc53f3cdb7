"""Every setting in one list: name, default, help and what values it takes.

A value comes from the command's option, else the environment (SUPERHEARD_MODEL for `model`), else the
settings file (TOML, `model = "base"`), else the default. Nothing is read when this module is imported.
"""

from __future__ import annotations

import difflib
import os
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

from assistant.errors import SettingsError

PREFIX = "SUPERHEARD_"
FILE_VARIABLE = "SUPERHEARD_SETTINGS"  # names the settings file itself


@dataclass(frozen=True, slots=True)
class Setting:
    """One row of the list."""

    name: str
    kind: str  # text | path | whole | number
    default: Any
    help: str
    low: float | None = None
    high: float | None = None
    choices: tuple[str, ...] = ()

    @property
    def variable(self) -> str:
        return PREFIX + self.name.upper()

    @property
    def option(self) -> str:
        return "--" + self.name.replace("_", "-")

    @property
    def takes(self) -> str:
        """What would do, in words."""
        if self.choices:
            return "one of " + ", ".join(self.choices)
        between = f" from {self.low:g} to {self.high:g}" if self.low is not None else ""
        return {"whole": "a whole number", "number": "a number", "path": "a folder", "text": "some text"}[
            self.kind
        ] + between


def _setting(default: Any, kind: str, help: str, **limits: Any) -> Any:
    return field(default=default, metadata={"kind": kind, "help": help, **limits})


_COMPUTE_TYPES = ("int8", "int8_float16", "int8_float32", "float16", "float32", "auto")


@dataclass(frozen=True)
class Settings:
    """The settings in force. Each field is one row of the list; `rows()` gives them with their help."""

    home: Path | None = _setting(None, "path", "Folder that keeps jobs and recordings; the user's data folder if none.")
    job: str | None = _setting(None, "text", "Job to use when a command names none; else the one told last.")
    model: str = _setting("base", "text", "Recogniser: base, tiny.en, a folder, or a model's hub name.")
    cache: Path | None = _setting(None, "path", "Folder for put-together recognisers; the user's cache folder if none.")
    device: str = _setting("cpu", "text", "Where the recogniser runs.", choices=("cpu", "cuda", "auto"))
    compute_type: str = _setting("int8", "text", "Number format the recogniser computes in.", choices=_COMPUTE_TYPES)
    threads: int = _setting(0, "whole", "Processor threads for the recogniser; 0 lets it choose.", low=0, high=256)
    max_recording_hours: float = _setting(
        4.0, "number", "Longest recording that is accepted, in hours.", low=0.01, high=24
    )
    gauge_percent: float = _setting(
        1.0, "number", "Accuracy of the refrigerant gauges, in percent of the reading.", low=0, high=20
    )
    thermometer_degf: float = _setting(
        1.0, "number", "Accuracy of the thermometers, in degrees Fahrenheit.", low=0, high=20
    )
    keep_recordings_days: int = _setting(
        0, "whole", "Days after which a recording is deleted, its words kept; 0 keeps all.", low=0, high=36500
    )
    port: int = _setting(8642, "whole", "Port that `serve` listens on; 0 is any that is free.", low=0, high=65535)
    max_upload_mb: float = _setting(
        200.0, "number", "Largest recording that `serve` takes, in megabytes.", low=0.01, high=1024
    )
    max_photo_mb: float = _setting(
        20.0, "number", "Largest photo that `serve` takes, in megabytes.", low=0.01, high=100
    )
    requests_per_minute: int = _setting(
        600, "whole", "Requests a minute that `serve` answers to one device.", low=1, high=1_000_000
    )
    device_days: int = _setting(
        180, "whole", "Days after which a device that was not seen must be paired again.", low=1, high=3650
    )
    end_pause_s: float = _setting(
        1.0, "number", "Seconds of silence that end a note which is heard while it is spoken.", low=0.4, high=10
    )
    spoken_at_once: int = _setting(
        32, "whole", "Connections over which `serve` listens to notes at once.", low=1, high=1000
    )
    workers: str | None = _setting(
        None,
        "text",
        "Where `serve` has recordings heard: a number of processes, or a Dask scheduler's address; itself if none.",
    )
    origins: Mapping[str, str] = field(default_factory=dict, compare=False, repr=False)  # where each value came from

    def home_folder(self) -> Path:
        """The folder that keeps jobs and recordings, whether or not it exists yet."""
        if self.home is not None:
            return self.home
        from platformdirs import user_data_path

        return user_data_path("superheard", appauthor=False)


@cache
def rows() -> tuple[Setting, ...]:
    """Every setting there is, in the order they are listed to people."""
    listed = (f for f in fields(Settings) if f.metadata)
    return tuple(Setting(name=f.name, default=f.default, **f.metadata) for f in listed)


def load(
    options: Mapping[str, Any] = MappingProxyType({}),
    environ: Mapping[str, str] | None = None,
    file: Path | None = None,
) -> Settings:
    """The settings in force, with where each came from in `origins`.

    options  name → value as given on the command line; None where it was not
    environ  the environment; the process's own if None
    file     the settings file; else the one SUPERHEARD_SETTINGS names, else the user's if there is one

    Raises SettingsError, naming the setting, where it came from and what would do.
    """
    environ = os.environ if environ is None else environ
    written, path = _file_values(file, environ)
    values: dict[str, Any] = {}
    origins: dict[str, str] = {}
    for row in rows():
        found = (
            (options.get(row.name), f"option {row.option}"),
            (environ.get(row.variable) or None, f"environment variable {row.variable}"),
            (written.get(row.name), f"settings file {path}"),
        )
        raw, origin = next(((raw, origin) for raw, origin in found if raw is not None), (None, "default"))
        if raw is not None:
            values[row.name] = parse(row, raw, origin)
        origins[row.name] = origin
    return Settings(**values, origins=origins)


def unknown_variables(environ: Mapping[str, str]) -> list[str]:
    """Environment variables that look like settings and are none: most likely misspelt."""
    known = {row.variable for row in rows()} | {FILE_VARIABLE}
    return sorted(name for name in environ if name.startswith(PREFIX) and name not in known)


def parse(row: Setting, raw: Any, origin: str) -> Any:
    """`raw`, as typed or as TOML has it, as the setting's value. Raises SettingsError."""
    try:
        value = {"text": _text, "path": _path, "whole": _whole, "number": _number}[row.kind](raw)
    except (TypeError, ValueError) as err:
        raise _unusable(row, raw, origin) from err
    outside = row.low is not None and not row.low <= value <= row.high
    if outside or (row.choices and value not in row.choices):
        raise _unusable(row, raw, origin)
    return value


def _unusable(row: Setting, raw: Any, origin: str) -> SettingsError:
    return SettingsError(f"{row.name} cannot be {raw!r} (from the {origin}); it takes {row.takes}.")


def _text(raw: Any) -> str:
    if not isinstance(raw, str) or not raw.strip():
        raise ValueError("no text")
    return raw.strip()


def _path(raw: Any) -> Path:
    path = raw if isinstance(raw, Path) else Path(_text(raw))
    return path.expanduser()


def _whole(raw: Any) -> int:
    if isinstance(raw, bool) or (isinstance(raw, float) and not raw.is_integer()):
        raise ValueError("not whole")
    return int(raw)


def _number(raw: Any) -> float:
    if isinstance(raw, bool):
        raise ValueError("not a number")
    return float(raw)


def _file_values(file: Path | None, environ: Mapping[str, str]) -> tuple[dict[str, Any], Path | None]:
    """What the settings file says, and which file that is. The user's own file may be absent; a named one may not."""
    named = file or (Path(environ[FILE_VARIABLE]).expanduser() if environ.get(FILE_VARIABLE) else None)
    path = named or _user_file()
    try:
        text = path.read_text("utf-8")
    except FileNotFoundError:
        if named is None:
            return {}, None
        raise SettingsError(f"There is no settings file {path}.") from None
    except (OSError, UnicodeDecodeError) as err:
        raise SettingsError(f"The settings file {path} cannot be read: {err}.") from err
    try:
        written = tomllib.loads(text)
    except tomllib.TOMLDecodeError as err:
        raise SettingsError(f"The settings file {path} is not TOML: {err}.") from err
    known = [row.name for row in rows()]
    for name in written:
        if name not in known:
            near = difflib.get_close_matches(name, known, n=1)
            meant = f"did you mean {near[0]}?" if near else f"there are: {', '.join(known)}."
            raise SettingsError(f"There is no setting {name!r} (from the settings file {path}); {meant}")
    return written, path


def _user_file() -> Path:
    from platformdirs import user_config_path

    return user_config_path("superheard", appauthor=False) / "settings.toml"
