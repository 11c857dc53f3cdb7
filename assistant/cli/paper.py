"""`superheard paper`: a job's commissioning record, tables, calendar, proposal and charts as files."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import click

from assistant.cli.options import settings_in_force, settings_options
from assistant.cli.running import opened
from assistant.errors import StoreError

if TYPE_CHECKING:
    from assistant.converse import JobHistory

EPILOG = """\b
Examples:
  superheard paper bakery --as record.pdf --to bakery.pdf
  superheard paper bakery --as proposal.txt
  superheard paper two-storey --as ducts.svg --system upstairs --to ducts.svg
  superheard paper two-storey --as trend.svg --quantity subcooling --system upstairs --to trend.svg

\b
record.pdf       commissioning record for inspector and owner
log.csv          every reading, a row each
tasks.ics        open tasks, inspections and appointments for a calendar
proposal.txt     extra work that was offered or agreed, with its reasons
refrigerant.csv  refrigerant added and recovered, with what is not on record
invoice.csv      agreed work, material and hours
ducts.svg        what the ducts carry and what they should
trend.svg        one value over the visits

Without a name: the job told last. Without --to: standard output.
"""
_KINDS = (
    "record.pdf", "log.csv", "tasks.ics", "proposal.txt", "refrigerant.csv", "invoice.csv", "ducts.svg", "trend.svg",
)  # fmt: skip


@click.command(epilog=EPILOG, short_help="Write a job's record, tables, calendar, proposal or charts.")
@click.argument("name", required=False, metavar="[JOB]")
@click.option("--as", "kind", type=click.Choice(_KINDS), required=True, help="Which paper.")
@click.option("--system", metavar="NAME", help="Which system a chart is drawn of, where the job has several.")
@click.option("--quantity", metavar="NAME", help="Which value trend.svg is drawn of, in the contract's name.")
@click.option(
    "--to",
    metavar="FILE",
    type=click.Path(dir_okay=False, path_type=Path),
    help="File to write; standard output if none.",
)
@settings_options()
def paper(name: str | None, kind: str, system: str | None, quantity: str | None, to: Path | None) -> None:
    """Write one of a job's papers. None of them holds a number that was not said or worked out from what was said."""
    if kind == "trend.svg" and not quantity:
        raise click.UsageError("trend.svg needs --quantity, such as subcooling or return_airflow.")
    with opened() as assistant:
        history = assistant.job_history(name or settings_in_force().job)
    raw = _papers(system, quantity)[kind](history)
    if to is None:
        sys.stdout.buffer.write(raw)
        sys.stdout.buffer.flush()
        return
    try:
        to.write_bytes(raw)
    except OSError as err:
        raise StoreError(f"The paper cannot be written to {to}: {err.strerror}.") from err
    click.echo(f"Written to {to}.", err=True)


def _papers(system: str | None, quantity: str | None) -> dict[str, Callable[[JobHistory], bytes]]:
    from assistant import papers
    from assistant.log.settle import start_job
    from assistant.records import JobLog

    def log(history: JobHistory) -> JobLog:
        return history.latest or start_job("")

    def of(history: JobHistory) -> str:
        known = log(history).systems()
        return system or (known[0] if len(known) == 1 else "main")

    table = "utf-8-sig"  # the mark that spreadsheets know UTF-8 by
    return {
        "record.pdf": papers.record_pdf,
        "log.csv": lambda h: papers.log_csv(log(h)).encode(table),
        "tasks.ics": lambda h: papers.tasks_calendar([log(h)]),
        "proposal.txt": lambda h: papers.proposal_text(h).encode(),
        "refrigerant.csv": lambda h: papers.refrigerant_csv(log(h)).encode(table),
        "invoice.csv": lambda h: papers.invoice_csv(log(h)).encode(table),
        "ducts.svg": lambda h: papers.ducts_svg(h, of(h)).encode(),
        "trend.svg": lambda h: papers.trend_svg(h, quantity or "", of(h)).encode(),
    }
