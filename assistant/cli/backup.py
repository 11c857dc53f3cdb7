"""`superheard backup` and `superheard restore`: the whole store in one file, and back again."""

from __future__ import annotations

from pathlib import Path

import click

from assistant.cli.options import as_json, settings_in_force, settings_options
from assistant.cli.running import print_json

BACKUP = """\b
Example:
  superheard backup /media/disk/superheard-2026-05-12.tar

It may be made while notes are told and pages served: it is the store as it is
at one moment. The file is a tar with the database, the recordings, the photos
and a list of their hashes. Paired phones are not in it: they are paired anew.
"""
RESTORE = """\b
Example:
  superheard restore /media/disk/superheard-2026-05-12.tar --home /srv/restored

The folder must be new or empty. Every file is compared with its hash and the
database is checked through before anything stands there; exit code 0 means
that all of it is there.
"""


@click.command(epilog=BACKUP, short_help="Copy everything into one file.")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@as_json
@settings_options(shown=("home",))
def backup(file: Path, as_json: bool) -> None:
    """Copy the whole store into FILE, which must not exist yet."""
    from assistant.log import backup as copies

    _say("Backed up", file, copies.back_up(settings_in_force().home_folder(), file.absolute()), as_json)


@click.command(epilog=RESTORE, short_help="Make a new store of a backup, and prove it.")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False, exists=True))
@as_json
@settings_options(shown=("home",))
def restore(file: Path, as_json: bool) -> None:
    """Make a store in a new folder (--home) of the backup FILE, and prove that it is whole."""
    from assistant.log import backup as copies

    home = settings_in_force().home_folder()
    _say("Restored and proven", home, copies.restore(file, home), as_json)


def _say(done: str, where: Path, copied, as_json: bool) -> None:
    from dataclasses import asdict

    if as_json:
        print_json({"where": str(where), **asdict(copied)})
    else:
        files = f"{copied.files} recordings and photos"
        click.echo(f"{done}: {where}, {copied.jobs} jobs, {copied.notes} notes, {files}, as of {copied.made_at}.")
    for name in copied.missing:
        click.echo(f"Not in it, because it was missing or altered on the disk: {name}", err=True)
