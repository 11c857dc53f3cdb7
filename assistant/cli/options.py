"""Options that several commands share: every setting, `--json`, and the date of a visit."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

from assistant.errors import SettingsError
from assistant.settings import FILE_VARIABLE, Setting, Settings, load, parse, rows

_GIVEN = "superheard.given"  # in click's meta, which a group shares with its commands
_FILE = "superheard.file"

as_json = click.option("--json", "as_json", is_flag=True, help="JSON on stdout and nothing else.")


def settings_options(shown: tuple[str, ...] | None = ("home", "job")) -> Callable:
    """Give a command an option for every setting; its help shows only those in `shown` (all if None)."""

    def add(command: Callable) -> Callable:
        command = click.option(
            "--settings",
            metavar="FILE",
            expose_value=False,
            callback=_take_file,
            hidden=shown is not None,
            help=f"Settings file in TOML. [{FILE_VARIABLE}]",
        )(command)
        for row in reversed(rows()):
            command = click.option(
                row.option,
                metavar=row.kind.upper() if row.kind != "path" else "FOLDER",
                expose_value=False,
                callback=_take(row),
                hidden=shown is not None and row.name not in shown,
                help=_help(row),
            )(command)
        return command

    return add


def _help(row: Setting) -> str:
    default = "" if row.default is None else f" Default {row.default}."
    takes = f" Takes {row.takes}." if row.choices or row.low is not None else ""
    return f"{row.help}{takes}{default} [{row.variable}]"


def _take(row: Setting) -> Callable:
    def callback(ctx: click.Context, param: click.Parameter, value: str | None) -> None:
        if value is not None:
            try:
                parse(row, value, f"option {row.option}")
            except SettingsError as err:
                raise click.BadParameter(str(err), ctx=ctx, param=param) from err
            ctx.meta.setdefault(_GIVEN, {})[row.name] = value

    return callback


def _take_file(ctx: click.Context, param: click.Parameter, value: str | None) -> None:
    if value is not None:
        ctx.meta[_FILE] = Path(value).expanduser()


def settings_in_force() -> Settings:
    """The settings of the command that is running. Raises SettingsError."""
    meta: dict[str, Any] = click.get_current_context().meta
    return load(meta.get(_GIVEN, {}), file=meta.get(_FILE))


class VisitDate(click.ParamType):
    """An ISO date, "today" or "yesterday"."""

    name = "date"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> datetime.date:
        if isinstance(value, datetime.date):
            return value
        days_ago = {"today": 0, "yesterday": 1}.get(value.strip().lower())
        if days_ago is not None:
            return datetime.date.today() - datetime.timedelta(days=days_ago)
        try:
            return datetime.date.fromisoformat(value)
        except ValueError:
            self.fail(
                f"{value!r} is no date; it takes year-month-day, as 2026-05-12, or today or yesterday.", param, ctx
            )
