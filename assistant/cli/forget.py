"""`superheard forget`: delete a job, or old recordings, for good."""

from __future__ import annotations

import click

from assistant.cli.options import as_json, settings_options
from assistant.cli.running import opened, print_json

EPILOG = """\b
Examples:
  superheard forget bakery --by Ana
  superheard forget --expired --keep-recordings-days 730

A job goes with its notes, recordings, photos, corrections and its words for
searching; a recording that another job has too stays. Kept is only that a job
was deleted, when and by whom. --expired deletes recordings that are older than
the setting keep_recordings_days and keeps their words. Backups made before are
not touched. Neither can be undone.
"""


@click.command(epilog=EPILOG, short_help="Delete a job, or old recordings, for good.")
@click.argument("name", metavar="[JOB]", required=False)
@click.option("--by", help="Name of whoever deletes; the name of this machine's user if none.")
@click.option("--expired", is_flag=True, help="Recordings older than the setting allows, instead of a job.")
@click.option("--yes", is_flag=True, help="Do not ask.")
@as_json
@settings_options(shown=("home", "keep_recordings_days"))
def forget(name: str | None, by: str | None, expired: bool, yes: bool, as_json: bool) -> None:
    """Delete JOB with everything that was said in it, or old recordings, for good."""
    if (name is None) == (not expired):
        raise click.UsageError("Give the name of a job, or --expired.")
    by = by or _user()
    if expired:
        _expire(by, as_json)
    else:
        _forget(name, by, yes, as_json)


def _expire(by: str, as_json: bool) -> None:
    with opened() as assistant:
        days = assistant.settings.keep_recordings_days
        if not days:
            raise click.UsageError("All recordings are kept: the setting keep_recordings_days is 0.")
        deleted = assistant.expire(by)
    if as_json:
        print_json({"recordings": deleted, "days": days})
    else:
        click.echo(f"{deleted} recordings older than {days} days are deleted; their words are kept.")


def _forget(job: str, by: str, yes: bool, as_json: bool) -> None:
    with opened() as assistant:
        name = assistant.job_log(job).job.id
        notes = sum(len(visit.notes) for visit in assistant.job_log(job).visits)
        if not yes:
            click.confirm(f"Delete {name} with its {notes} notes for good?", abort=True, err=True)
        done = assistant.forget(name, by)
    if as_json:
        print_json({"job": name, "notes": done.notes, "files": done.files, "copies": [str(c) for c in done.copies]})
    else:
        click.echo(f"{name} is deleted: {done.notes} notes, {done.files} recordings and photos.")
    for copy in done.copies:
        click.echo(f"This copy may still hold it; delete it yourself: {copy}", err=True)


def _user() -> str:
    import getpass

    try:
        return getpass.getuser()
    except OSError:  # a user without a name
        raise click.UsageError("Say who deletes: --by NAME.") from None
