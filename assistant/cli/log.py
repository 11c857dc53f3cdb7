"""`superheard log`: one job's whole log."""

from __future__ import annotations

import click

from assistant.cli.options import as_json, settings_in_force, settings_options
from assistant.cli.running import opened, print_json

EPILOG = """\b
Examples:
  superheard log print-shop
  superheard log --json print-shop > print-shop.json

Without a name: the job told last.
"""


@click.command(epilog=EPILOG, short_help="Show a job's whole log.")
@click.argument("name", required=False, metavar="[JOB]")
@as_json
@settings_options()
def log(name: str | None, as_json: bool) -> None:
    """Show a job: findings, what to do next, what is missing, and every reading."""
    from assistant.records import plain

    with opened() as assistant:
        found = assistant.job_log(name or settings_in_force().job)
    if as_json:
        print_json(plain(found))
        return
    from rich.console import Console

    from assistant.converse.report import job_report

    Console().print(job_report(found))
