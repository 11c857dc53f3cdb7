"""`superheard jobs`: every job in a line."""

from __future__ import annotations

from typing import Any

import click

from assistant.cli.options import as_json, settings_options
from assistant.cli.running import opened, print_json

EPILOG = """\b
Example:
  superheard jobs
"""


@click.command(epilog=EPILOG, short_help="List the jobs.")
@click.option("--limit", default=100, show_default=True, type=click.IntRange(1), help="At most so many.")
@click.option("--behind", metavar="JOB", help="Only what comes after that job: the next page.")
@as_json
@settings_options(shown=("home",))
def jobs(limit: int, behind: str | None, as_json: bool) -> None:
    """List the jobs, the one told last first."""
    with opened() as assistant:
        found = assistant.jobs(limit + 1, behind)
    found, more = found[:limit], len(found) > limit
    if as_json:
        print_json(found)
    elif not found:
        click.echo('No jobs yet. Begin one with: superheard tell "…" --job NAME')
    else:
        _print_table(found)
        if more:
            click.echo(f"There are more: superheard jobs --behind '{found[-1]['id']}'")


def _print_table(found: list[dict[str, Any]]) -> None:
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    table = Table(box=None, padding=(0, 2, 0, 0), header_style="bold")
    for heading in ("Job", "Visits", "Notes", "To do", "Findings"):
        table.add_column(heading, overflow="fold", justify="right" if heading in ("Notes", "To do") else "left")
    for line in found:
        cells = (_name(line), _days(line), str(line["notes"]), str(line["open_tasks"]), _findings(line))
        table.add_row(*map(Text, cells))  # as they are: a job's name is no markup
    Console().print(table)


def _name(line: dict[str, Any]) -> str:
    site = line["site"]
    return f"{line['id']}\n{site}" if site and site.casefold() != line["id"].casefold() else line["id"]


def _days(line: dict[str, Any]) -> str:
    if line["first"] == line["last"]:
        return line["first"] or "-"
    return f"{line['first']}\nto {line['last']}"


def _findings(line: dict[str, Any]) -> str:
    counted = [
        f"{line[severity]} {word}"
        for severity, word in (("stop", "STOP"), ("attention", "to look at"))
        if line[severity]
    ]
    charge = [
        f"charge {status.replace('_', ' ')}" + ("" if system == "main" else f" ({system})")
        for system, about, status in line["verdicts"]
        if about == "charge"
    ]
    return "\n".join([*charge, *([", ".join(counted)] if counted else [])]) or "-"
