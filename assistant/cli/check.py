"""`superheard check`: is this machine ready, and what to do if not."""

from __future__ import annotations

import os
import platform
import sqlite3
import sys
from dataclasses import asdict, dataclass
from pathlib import Path

import click

from assistant import __version__
from assistant.cli.options import as_json, settings_in_force, settings_options
from assistant.cli.running import print_json
from assistant.settings import Settings, rows, unknown_variables

EPILOG = """\b
Examples:
  superheard check
  superheard check --full
  superheard check --mend

--full also looks at every byte of every recording, photo, note and transcript.
--mend puts the recogniser together again and makes anew what follows from the
notes. If the store is damaged it is set aside, and every note that can still
be read is saved. Recordings that no note speaks of are moved to the folder
"untold": they were never acknowledged, or their notes are lost.
Exit code 0: ready.
"""
OLDEST_PYTHON = (3, 11)


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing looked at."""

    what: str
    ok: bool
    says: str  # what was found and, if it will not do, what would


@click.command(epilog=EPILOG, short_help="See whether this machine is ready.")
@click.option("--full", is_flag=True, help="Read every byte of the recogniser and of every recording.")
@click.option("--mend", "mend", is_flag=True, help="Put right what can be put right.")
@as_json
@settings_options(shown=("home", "model", "cache"))
def check(full: bool, mend: bool, as_json: bool) -> None:
    """See whether everything is ready: Python, packages, recogniser, store, settings."""
    settings = settings_in_force()
    done = _mend(settings, full) if mend else []
    found = [_python(), *_packages(), _model(settings, full), *_store(settings, full), *_misspelt()]
    ready = all(each.ok for each in found)
    if as_json:
        listed = {row.name: _setting(settings, row.name) for row in rows()}
        facts = {"ready": ready, "mended": done, "findings": [asdict(each) for each in found], "settings": listed}
        print_json(facts)
    else:
        _print(settings, done, found, ready)
    if not ready:
        raise SystemExit(1)


def _python() -> Finding:
    told = f"Python {platform.python_version()}, SQLite {sqlite3.sqlite_version}, superheard {__version__}"
    ok = sys.version_info[:2] >= OLDEST_PYTHON
    return Finding("python", ok, told if ok else f"{told}; it takes Python 3.11 or newer.")


def _packages() -> list[Finding]:
    """One finding for all packages that are there in a version that will do, and one for each that is not."""
    from importlib import metadata

    from packaging.requirements import Requirement
    from packaging.version import Version

    try:
        needed = [Requirement(text) for text in metadata.requires("superheard") or ()]
    except metadata.PackageNotFoundError:
        return [Finding("packages", False, "superheard is not installed; run: pip install -e .")]
    faults, fine = [], []
    for requirement in needed:
        if requirement.marker and not requirement.marker.evaluate({"extra": ""}):
            continue
        try:
            version = metadata.version(requirement.name)
        except metadata.PackageNotFoundError:
            faults.append(f"{requirement.name} is missing; run: pip install '{requirement}'")
            continue
        if requirement.specifier.contains(Version(version), prereleases=True):
            fine.append(f"{requirement.name} {version}")
        else:
            faults.append(f"{requirement.name} {version} will not do; run: pip install '{requirement}'")
    return [Finding("packages", True, ", ".join(fine)), *(Finding("packages", False, fault) for fault in faults)]


def _model(settings: Settings, full: bool) -> Finding:
    from models import fetch

    if settings.model not in fetch.known_models():
        folder = Path(settings.model).expanduser()
        if folder.is_dir():
            ok = (folder / "model.bin").is_file()
            return Finding("recogniser", ok, f"the folder {folder}" if ok else f"{folder} holds no model.bin.")
        return Finding("recogniser", True, f"{settings.model}, looked up by its hub name when it is first used")
    state = fetch.status(settings.model, cache=settings.cache, full=full)
    if not state.ready:
        return Finding("recogniser", False, "; ".join(state.faults) + f". Run: {state.mend}")
    checked = "every byte checked" if full else "sizes checked"
    return Finding(
        "recogniser", True, f"{settings.model}: {state.title}, {state.licence}, in {state.folder}; {checked}"
    )


def _store(settings: Settings, full: bool) -> list[Finding]:
    from assistant.log import checking

    state = checking.status(settings.home_folder(), full)
    known = [Finding("store", True, notice) for notice in state.notices]
    if state.faults:
        return [*(Finding("store", False, fault) for fault in state.faults), *known]
    if not state.exists:
        return [Finding("store", True, f"{state.path} is made with the first note; its folder can be written")]
    if state.waiting:
        told = f"{state.waiting} recordings are not transcribed yet. Run: superheard reread"
        return [Finding("store", False, told), *known]
    return [Finding("store", True, f"{state.path}: {state.jobs} jobs, {state.notes} notes"), *known]


def _misspelt() -> list[Finding]:
    return [
        Finding("settings", False, f"{name} is no setting's variable; unset it, or see the list below.")
        for name in unknown_variables(os.environ)
    ]


def _mend(settings: Settings, full: bool) -> list[str]:
    """Put right what can be; what was done."""
    from assistant.log import checking, mend
    from models import fetch

    done = []
    if settings.model in fetch.known_models() and not fetch.status(settings.model, settings.cache, full=True).ready:
        done.append(f"put the recogniser together in {fetch.put_together(settings.model, settings.cache, again=True)}")
    home = settings.home_folder()
    if checking.is_damaged(home):
        mended = mend.mend(home)
        done.append(
            f"set the damaged store aside as {mended.set_aside}; saved {mended.notes} notes "
            f"and {mended.transcripts} transcripts"
        )
    return done + mend.put_right(home)


def _setting(settings: Settings, name: str) -> dict[str, object]:
    value = getattr(settings, name)
    return {"value": str(value) if isinstance(value, Path) else value, "from": settings.origins[name]}


def _print(settings: Settings, done: list[str], found: list[Finding], ready: bool) -> None:
    from rich.console import Console
    from rich.table import Table

    console = Console(highlight=False)
    for each in done:
        console.print(f"Mended: {each}", markup=False)
    table = Table(box=None, show_header=False, padding=(0, 2, 0, 0))
    for each in found:
        table.add_row("ok" if each.ok else "NOT READY", each.what, _plain(each.says))
    console.print(table)
    listed = Table(box=None, padding=(0, 2, 0, 0), title="Settings", title_justify="left", title_style="bold")
    for heading in ("name", "value", "from"):
        listed.add_column(heading, header_style="dim", overflow="fold")
    for row in rows():
        value = getattr(settings, row.name)
        listed.add_row(row.name, _plain("-" if value is None else str(value)), _plain(settings.origins[row.name]))
    console.print()
    console.print(listed)
    console.print("\nReady." if ready else "\nNot ready: see above.")


def _plain(text: str):
    from rich.text import Text

    return Text(text)
