"""`superheard chart`: a job's refrigeration cycle on a pressure-enthalpy chart."""

from __future__ import annotations

from pathlib import Path

import click

from assistant.cli.options import settings_in_force, settings_options
from assistant.cli.running import opened
from assistant.errors import StoreError

EPILOG = """\b
Examples:
  superheard chart bakery --to bakery.svg
  superheard chart two-storey --system upstairs > upstairs.svg

Needs suction and head pressure, both line temperatures and the refrigerant,
all of one visit. Without a discharge line temperature that one is estimated.
Without a name: the job told last.
"""


@click.command(epilog=EPILOG, short_help="Draw a job's cycle on a pressure-enthalpy chart.")
@click.argument("name", required=False, metavar="[JOB]")
@click.option("--system", metavar="NAME", help="Which system, where the job has several.")
@click.option(
    "--to",
    metavar="FILE.svg",
    type=click.Path(dir_okay=False, path_type=Path),
    help="File to write; standard output if none.",
)
@settings_options()
def chart(name: str | None, system: str | None, to: Path | None) -> None:
    """Draw a job's cycle, from the readings its charge was judged by, as an SVG picture."""
    from assistant.compute.job_cycle import cycle_of
    from assistant.compute.ph_chart import ph_chart

    with opened() as assistant:
        job = assistant.job_log(name or settings_in_force().job)
    known = job.systems()
    system = system or (known[0] if len(known) == 1 else "main")
    cycle = cycle_of(job, system)
    where = "" if system == "main" else f", {system}"
    picture = ph_chart(cycle, f"{job.job.id}{where}: {cycle.refrigerant}")
    if to is None:
        click.echo(picture, nl=False)
        return
    try:
        to.write_text(picture, "utf-8")
    except OSError as err:
        raise StoreError(f"The chart cannot be written to {to}: {err.strerror}.") from err
    click.echo(f"Written to {to}.", err=True)
