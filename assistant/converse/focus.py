"""What the talk was about a moment ago, so that "and upstairs?" need not say it all again."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Focus:
    """The last question's subject. The caller keeps it and hands it back with the next question."""

    job: str | None = None
    kind: str | None = None  # a [[kind]] of questions.toml, or "value"
    quantity: str | None = None  # the contract's name
    about: str | None = None  # the finding spoken of
    system: str | None = None  # None: no system was singled out
    topic: str | None = None  # the words of the task, event or agreement spoken of
    visit: int | None = None  # 0 is the first; None: the job as it stands
    notes: int = 0  # how many notes of the job had been told by then
