"""`superheard ask`: a question about one job or all of them."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from assistant.cli.options import as_json, settings_in_force, settings_options
from assistant.cli.running import opened, print_json
from assistant.cli.speaking import speak, speak_options

EPILOG = """\b
Examples:
  superheard ask "was the charge in range?" --job print-shop
  superheard ask how much return am I short
  superheard ask "and upstairs?" --speak

A question may lean on the one before it. Without --job it is about all jobs.
"""


@click.command(epilog=EPILOG, short_help="Ask about readings, findings and what is left.")
@click.argument("question", nargs=-1, required=True, metavar="QUESTION")
@as_json
@speak_options
@settings_options()
def ask(question: tuple[str, ...], as_json: bool, aloud: bool, speak_to: Path | None) -> None:
    """Ask about what was measured, what it comes to, and what is left to do."""
    from assistant.records import plain

    words = sys.stdin.read() if question == ("-",) else " ".join(question)
    with opened() as assistant:
        answer = assistant.ask(words, job=settings_in_force().job)
    if as_json:
        print_json(plain(answer))
    else:
        click.echo(answer.say)
    speak(answer.say, aloud, speak_to)
