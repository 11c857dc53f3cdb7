"""`superheard reread`: work every log out again from what was told."""

from __future__ import annotations

import click

from assistant.cli.options import as_json, settings_options
from assistant.cli.running import ProgressOnStderr, opened, print_json

EPILOG = """\b
Examples:
  superheard reread
  superheard reread --listen --model tiny.en
  superheard reread --workers 4

Notes, recordings and transcripts stay as they are. A log whose rules have
changed is worked out again by itself when it is looked at; this does all of
them now, and transcribes recordings that have not been yet. --workers has
other processes do it, or the workers of a Dask scheduler (tcp://hub:8786).
"""


@click.command(epilog=EPILOG, short_help="Work every log out again from what was told.")
@click.option("--listen", is_flag=True, help="Transcribe every recording again too; the new transcript then rules.")
@as_json
@settings_options(shown=("home", "model", "workers"))
def reread(listen: bool, as_json: bool) -> None:
    """Work out every job again from what was told, with the rules of today."""
    from dataclasses import asdict

    progress = ProgressOnStderr()
    with opened(progress, with_workers=True) as assistant:
        done = assistant.reread(listen=listen)
    if as_json:
        print_json(asdict(done))
    else:
        click.echo(f"{done.jobs} jobs, {done.notes} notes read again, {done.heard} recordings transcribed.")
        click.echo(f"Changed: {', '.join(done.changed)}." if done.changed else "No log changed.")
    for failure in done.failed:
        click.echo(f"Error: {failure}", err=True)
    if done.failed:
        raise SystemExit(1)
