"""What a command needs while it runs: the assistant on the user's store, progress on stderr, JSON on stdout."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from typing import TYPE_CHECKING, Any

import click

from assistant.cli.options import settings_in_force

if TYPE_CHECKING:
    from assistant.door import Assistant


class ProgressOnStderr:
    """Shows what takes long: a bar on a terminal, one line a piece of work elsewhere. Nothing until there is any."""

    def __init__(self) -> None:
        self._bar: Any = None
        self._task: Any = None
        self._what: str | None = None
        self.label = ""  # what it is done to, "visit-1.m4a"

    def __call__(self, what: str, done: float, total: float) -> None:
        what = f"{what}: {self.label}" if self.label else what
        if what != self._what:
            self._begin(what, total)
        if self._bar is not None:
            self._bar.update(self._task, completed=done, total=total)

    def _begin(self, what: str, total: float) -> None:
        from rich.console import Console
        from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn, TimeRemainingColumn

        self.close()
        self._what = what
        console = Console(stderr=True)
        if not console.is_terminal:
            click.echo(f"{what} …", err=True)
            return
        columns = (TextColumn("{task.description}"), BarColumn(), TaskProgressColumn(), TimeRemainingColumn())
        self._bar = Progress(*columns, console=console, transient=True)
        self._task = self._bar.add_task(what, total=total)
        self._bar.start()

    def close(self) -> None:
        """Take the bar off the terminal."""
        if self._bar is not None:
            self._bar.stop()
        self._bar, self._what = None, None


@contextmanager
def opened(progress: ProgressOnStderr | None = None, with_workers: bool = False) -> Iterator[Assistant]:
    """The assistant on the store the settings name, closed afterwards.

    with_workers  whether it has the workers that the settings name do its work
    """
    from assistant.door import Assistant

    settings = settings_in_force()
    try:
        with ExitStack() as closing:
            place = None
            if with_workers and settings.workers:
                from assistant.hear.elsewhere import elsewhere

                place = closing.enter_context(elsewhere(settings.workers))
            yield closing.enter_context(
                Assistant(settings.home_folder(), settings=settings, progress=progress, elsewhere=place)
            )
    finally:
        if progress:
            progress.close()


def print_json(value: Any) -> None:
    click.echo(json.dumps(value, ensure_ascii=False, indent=2))
