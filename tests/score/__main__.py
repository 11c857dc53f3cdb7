"""`python -m tests.score`: the assistant against notes and dialogues whose right answers are known."""

from __future__ import annotations

import json
import tempfile
from pathlib import Path

import click
from rich.console import Console

from tests.score import cases, replay, table
from tests.score.scribe import Scribe
from tests.score.speech import LEVELS, transcribe_all


@click.command(help=__doc__)
@click.option("--set", "name", default="corpus", show_default=True, help="corpus, heldout, blind or a JSON Lines file.")
@click.option(
    "--transcripts", type=click.Path(exists=True, file_okay=False, path_type=Path), help="Hear DIR/<id>.json or .txt."
)
@click.option("--speech", type=click.Choice(LEVELS), help="Hear the corpus's recordings, at dB over a condenser.")
@click.option(
    "--keep", type=click.Path(file_okay=False, path_type=Path), help="With --speech: leave what was heard in DIR."
)
@click.option("--verbose", is_flag=True, help="List every miss with its note.")
@click.option("--json", "as_json", is_flag=True, help="The figures as JSON, and nothing else.")
def main(
    name: str, transcripts: Path | None, speech: str | None, keep: Path | None, verbose: bool, as_json: bool
) -> None:
    if speech and (transcripts or name != "corpus"):
        raise click.UsageError("--speech hears the recordings of the corpus: no --transcripts and no other --set.")
    if keep and not speech:
        raise click.UsageError("--keep leaves what --speech heard; say which --speech.")
    if name not in cases.SETS and not Path(name).is_file():
        raise click.BadParameter(f"{name!r} is neither a file nor one of {', '.join(cases.SETS)}.", param_hint="--set")
    chosen = cases.load(name)
    if transcripts:
        everything, chosen = len(chosen.cases), cases.heard(chosen, transcripts)
        click.echo(f"{len(chosen.cases)} of {everything} notes have a transcript in {transcripts}.", err=True)
    hearing = None
    if speech:
        with tempfile.TemporaryDirectory() as unkept:
            folder = keep or Path(unkept)
            folder.mkdir(parents=True, exist_ok=True)
            hearing = transcribe_all(chosen, speech, folder)
            chosen = cases.heard(chosen, folder)
    from assistant import Assistant  # loads the whole program, so not before the options are known to be good

    heard_once = any(case.heard for case in chosen.cases)
    score = replay.score(chosen, Scribe if heard_once else lambda: Assistant(home=None))
    if as_json:
        heard = {"speech": hearing.plain()} if hearing else {}
        click.echo(json.dumps(table.plain(score) | heard, indent=1))
    else:
        table.show(score, Console(), verbose=verbose)
        if hearing:
            click.echo(str(hearing))


if __name__ == "__main__":
    main()
