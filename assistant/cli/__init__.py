"""The command `superheard`. Each command is one small file; what takes time to load is loaded when it is used."""

from __future__ import annotations

import click

from assistant import __version__
from assistant.cli.options import settings_options
from assistant.errors import AssistantError


class Commands(click.Group):
    """The group of commands; turns the program's own errors into one line on stderr and exit code 1."""

    def invoke(self, ctx: click.Context):
        try:
            return super().invoke(ctx)
        except AssistantError as err:
            raise click.ClickException(str(err)) from err

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(self.commands)  # as they are used, not by the alphabet


EPILOG = """\b
Examples:
  superheard tell "head pressure 345, liquid line 94" --job print-shop
  superheard tell visit-1.m4a visit-2.m4a --job print-shop --date 2026-05-12
  superheard ask "was the charge in range?"
  superheard log print-shop

\b
A setting comes from its option, else its environment variable, else the
settings file, else the default. `superheard check` lists the ones in force.

The assistant advises and never certifies. Local codes and the licensed person decide.
"""


@click.group(
    cls=Commands, epilog=EPILOG, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100}
)
@click.version_option(__version__, prog_name="superheard")
@settings_options(shown=None)
def main() -> None:
    """Tell it what you measured; ask it what it comes to.

    superheard listens on this machine, writes down each value that was said, does the engineering, says what is in
    range and what is not, and answers questions about any job later.
    """


def _add_commands() -> None:
    from assistant.cli import ask, backup, chart, check, forget, jobs, log, paper, reread, serve, tell

    for command in (
        tell.tell,
        ask.ask,
        log.log,
        jobs.jobs,
        chart.chart,
        paper.paper,
        serve.serve,
        reread.reread,
        check.check,
        backup.backup,
        backup.restore,
        forget.forget,
    ):
        main.add_command(command)


_add_commands()
