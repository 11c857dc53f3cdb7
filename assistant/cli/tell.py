"""`superheard tell`: recordings or typed words become notes of a job."""

from __future__ import annotations

import datetime
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import click

from assistant.cli.options import VisitDate, as_json, settings_in_force, settings_options
from assistant.cli.running import ProgressOnStderr, opened, print_json
from assistant.cli.speaking import speak, speak_options
from assistant.errors import AssistantError, NoteError

if TYPE_CHECKING:
    from assistant.door import Assistant, Reply

# fmt: off
AUDIO_SUFFIXES = frozenset((
    ".wav", ".flac", ".mp3", ".m4a", ".mp4", ".mov", ".aac", ".ogg", ".oga", ".opus", ".webm", ".mka", ".amr",
    ".3gp", ".wma", ".aif", ".aiff", ".caf", ".au",
))
# fmt: on

EPILOG = """\b
Examples:
  superheard tell "suction 118, head 345, liquid line 94" --job print-shop
  superheard tell visit-1.m4a visit-2.m4a --job print-shop --date 2026-05-12
  superheard tell - < visit-1.ogg

\b
A NOTE that names a file is a recording (a .txt file: typed words); anything
else is typed words. Words without quotes are taken as one note. - reads one
note, typed or recorded, from standard input. Without --job the job told last
goes on. --json prints one object for one note, a list for several.
"""


@dataclass(frozen=True, slots=True)
class Given:
    """One note as it was given on the command line."""

    name: str  # to call it by
    text: str | None = None
    audio: Path | bytes | None = None


@click.command(epilog=EPILOG, short_help="Tell notes: recordings, or typed words.")
@click.argument("notes", nargs=-1, required=True, metavar="NOTE...")
@click.option("--date", "date", type=VisitDate(), help="Date of the visit, as 2026-05-12. Default today.")
@as_json
@speak_options
@settings_options()
def tell(notes: tuple[str, ...], date: datetime.date | None, as_json: bool, aloud: bool, speak_to: Path | None) -> None:
    """Tell one or more notes: recordings, or typed words."""
    progress = ProgressOnStderr()
    replies, failed = [], 0
    given = what_was_given(notes)
    with opened(progress) as assistant:
        for each in given:
            try:
                progress.label = each.name
                reply = _told(assistant, each, date)
            except AssistantError as err:
                progress.close()
                click.echo(f"Error: {err}", err=True)
                failed += 1
                continue
            progress.close()
            replies.append({"note": reply.note, "log": reply.log, "say": reply.say, "new": reply.new})
            if not as_json:
                _print(each, reply, several=len(given) > 1)
    if as_json and replies:
        print_json(replies[0] if len(given) == 1 else replies)
    speak(" ".join(reply["say"] for reply in replies), aloud, speak_to)
    if failed:
        raise SystemExit(1)


def _told(assistant: Assistant, given: Given, date: datetime.date | None) -> Reply:
    job = settings_in_force().job
    if given.audio is not None:
        return assistant.tell(audio=given.audio, job=job, date=date)
    return assistant.tell(given.text, job=job, date=date)


def _print(given: Given, reply: Reply, several: bool) -> None:
    if several:
        click.echo(f"{given.name}  ({reply.log['job']['id']}, {reply.note['date']})")
        click.echo(f"  {reply.say}")
    else:
        click.echo(reply.say)


def what_was_given(arguments: Sequence[str]) -> list[Given]:
    """Which arguments are recordings and which are words. Raises NoteError for a recording that is not there."""
    found = [_one(argument) for argument in arguments]
    words = [argument for argument, given in zip(arguments, found, strict=True) if given.audio is None]
    loose = len(arguments) > 1 and len(words) == len(arguments) and not any(" " in word.strip() for word in words)
    if loose and "-" not in arguments:
        together = " ".join(words)
        return [Given(_shortened(together), text=together)]
    return found


def _one(argument: str) -> Given:
    if argument == "-":
        return _from_stdin()
    path = Path(argument)
    try:
        exists = path.exists()
    except OSError:  # far too long for a file's name, so it is words
        exists = False
    if exists and path.suffix.lower() == ".txt":
        return Given(path.name, text=_read_text(path))
    if exists:
        return Given(path.name, audio=path)
    if path.suffix.lower() in AUDIO_SUFFIXES:
        raise NoteError(f"There is no recording {argument}.")
    return Given(_shortened(argument), text=argument)


def _from_stdin() -> Given:
    raw = sys.stdin.buffer.read()
    text = _as_words(raw)
    return Given("standard input", text=text) if text is not None else Given("standard input", audio=raw)


def _as_words(raw: bytes) -> str | None:
    """`raw` as typed words; None when it is not text, so most likely sound."""
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        return None
    return None if any(ord(char) < 32 and not char.isspace() for char in text) else text


def _read_text(path: Path) -> str:
    try:
        return path.read_text("utf-8-sig")
    except (OSError, UnicodeDecodeError) as err:
        raise NoteError(f"{path} cannot be read as typed words: {err}.") from err


def _shortened(text: str) -> str:
    words = " ".join(text.split())
    return f'"{words}"' if len(words) <= 40 else f'"{words[:37]}…"'
