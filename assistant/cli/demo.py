"""`python -m assistant.cli.demo demo_audio`: the demonstration job, told recording by recording into a fresh store.

The folder's scenario.toml names the job and lists its recordings with their dates. Nothing is left behind:
the store is a temporary folder. Recordings go through the same door and the same recogniser as any other.
"""

from __future__ import annotations

import datetime
import tempfile
import tomllib
from dataclasses import dataclass
from pathlib import Path

import click

from assistant.cli.options import as_json, settings_in_force, settings_options
from assistant.cli.running import ProgressOnStderr, print_json
from assistant.errors import AssistantError, NoteError


@dataclass(frozen=True, slots=True)
class DemoNote:
    recording: Path
    date: datetime.date


@click.command()
@click.argument("folder", type=click.Path(path_type=Path))
@as_json
@settings_options(shown=("model", "cache"))
def demo(folder: Path, as_json: bool) -> None:
    """Tell every recording of FOLDER's scenario, print each reply, then the job's log."""
    from assistant.door import Assistant

    progress = ProgressOnStderr()
    try:
        job, notes = scenario(folder)
        with (
            tempfile.TemporaryDirectory(prefix="superheard-demo-") as home,
            Assistant(home, settings=settings_in_force(), progress=progress) as assistant,
        ):
            for note in notes:
                progress.label = note.recording.name
                reply = assistant.tell(audio=note.recording, job=job, date=note.date)
                progress.close()
                if not as_json:
                    click.echo(f"{note.date}  {note.recording.name}\n  {reply.say}\n")
            log = assistant.job_log(job)
    except AssistantError as err:
        raise click.ClickException(str(err)) from err
    finally:
        progress.close()
    if as_json:
        from assistant.records import plain

        print_json(plain(log))
        return
    from rich.console import Console

    from assistant.converse.report import job_report

    Console().print(job_report(log))


def scenario(folder: Path) -> tuple[str, list[DemoNote]]:
    """The job's name and its recordings in order. Raises NoteError when the scenario or a recording is not there."""
    try:
        listed = tomllib.loads((folder / "scenario.toml").read_text("utf-8"))
    except FileNotFoundError:
        raise NoteError(f"There is no scenario.toml in {folder}.") from None
    notes = [DemoNote(folder / f"{note['name']}.ogg", note["date"]) for note in listed["note"]]
    for note in notes:
        if not note.recording.exists():
            raise NoteError(f"{note.recording} is missing; the scenario lists it.")
    return listed["job"], notes


if __name__ == "__main__":
    demo(prog_name="python -m assistant.cli.demo")
