"""`superheard chart`: a job's refrigeration cycle on a pressure-enthalpy chart."""

from __future__ import annotations

from pathlib import Path

import click

from assistant.cli.options import settings_in_force, settings_options
from assistant.cli.running import opened

EPILOG = """\b
Examples:
  superheard chart bakery --to bakery.svg
  superheard chart two-storey --system upstairs > upstairs.svg

Needs suction and head pressure, both line temperatures and the refrigerant.
"""


@click.command(epilog=EPILOG, short_help="Draw a job's cycle on a pressure-enthalpy chart.")
@click.argument("name", required=False, metavar="[JOB]")
@click.option("--system", default="main", help="Which system, where the job has several.", show_default=True)
@click.option("--to", type=click.Path(dir_okay=False, path_type=Path), help="File to write; standard output if none.")
@settings_options()
def chart(name: str | None, system: str, to: Path | None) -> None:
    """Draw a job's cycle, from the readings its charge was judged by, as an SVG picture."""
    from assistant.compute.job_cycle import cycle_of
    from assistant.compute.ph_chart import ph_chart

    with opened() as assistant:
        job = assistant.job_log(name or settings_in_force().job)
    where = "" if system == "main" else f", {system}"
    cycle = cycle_of(job, system)
    picture = ph_chart(cycle, f"{job.job.id}{where}: {cycle.refrigerant}")
    if to is None:
        click.echo(picture)
        return
    to.write_text(picture, "utf-8")
    click.echo(f"Written to {to}.", err=True)
