"""One family of errors, each with its facts.

    AssistantError
    ├── RecordingError          the sound cannot be used
    ├── NoteError               a note or question that is empty or ill given  (also a ValueError)
    ├── ModelError              the recogniser's weights are missing, truncated or altered
    ├── UnitMismatch            a spoken unit cannot be the quantity's        (also a ValueError)
    ├── UnknownRefrigerant      no saturation data under that name            (also a LookupError)
    ├── OutOfRange              outside what a method or table is valid for   (also a ValueError)
    ├── MissingReadings         a chart asked for before its readings were said
    ├── NoSuchJob               no job under that name                        (also a LookupError)
    │   └── JobForgotten        it was there and has been deleted
    ├── NoSuchNote              no note under that id                         (also a LookupError)
    ├── AttachmentError         a photo that is none, or too large            (also a ValueError)
    ├── NoSuchAttachment        no photo under that hash                      (also a LookupError)
    ├── NoteConflict            an id that was given to a note with other content (also a ValueError)
    ├── NoSuchSystem            no system under that name in a job            (also a LookupError)
    ├── BackupError             a backup that cannot be made, or is not whole
    ├── SettingsError           a setting that cannot be used
    └── StoreError              the store cannot be read or written

Exceptions are for what the code cannot do. What the technician has not said yet is a finding
(`unknown`, with what it needs), never an exception.
"""

from __future__ import annotations


class AssistantError(Exception):
    """Base of every error this program raises on purpose; its text is fit to show."""


class RecordingError(AssistantError):
    """The recording cannot be used; says which and why."""


class NoteError(AssistantError, ValueError):
    """A note or question that cannot be taken as it was given: empty, both typed and recorded, or with no such date."""


class ModelError(AssistantError):
    """The recogniser's weights are missing, truncated or altered; names the file and the command that mends it."""


class UnitMismatch(AssistantError, ValueError):
    """A unit that cannot be the quantity's."""


class UnknownRefrigerant(AssistantError, LookupError):
    def __init__(self, name: str, known: list[str]):
        self.name, self.known = name, known
        super().__init__(f"No saturation data for {name!r}; there is data for {', '.join(known)}.")


class OutOfRange(AssistantError, ValueError):
    """Outside the range a method is valid for; says the range."""


class MissingReadings(AssistantError):
    """Readings a chart needs: not said yet, or said but of no use together."""

    def __init__(self, missing: list[str], apart: list[str] | None = None):
        self.missing, self.apart = missing, apart or []
        reasons = (
            ("Not said yet", self.missing),
            ("Said, but not together on the newest visit, or they cannot both be so", self.apart),
        )
        super().__init__(
            " ".join(
                f"{why}: {', '.join(name.replace('_', ' ') for name in names)}." for why, names in reasons if names
            )
        )


class NoSuchJob(AssistantError, LookupError):
    def __init__(self, job: str, known: list[str]):
        self.job, self.known = job, known
        there = f"there are: {', '.join(known)}" if known else "there are none yet"
        super().__init__(f"No job called {job!r}; {there}.")


class JobForgotten(NoSuchJob):
    """A job that was there and has been deleted, with all that was said in it."""

    def __init__(self, job: str, known: list[str], by: str, at: str):
        super().__init__(job, known)
        self.by, self.at = by, at
        self.args = (f"The job {job!r} was deleted on {at[:10]}{f' by {by}' if by else ''}; nothing of it is kept.",)


class NoSuchNote(AssistantError, LookupError):
    def __init__(self, note: str):
        self.note = note
        super().__init__(f"There is no note {note!r}.")


class NoteConflict(AssistantError, ValueError):
    """The id a phone gave to a note was given to another note before, with other content."""


class AttachmentError(AssistantError, ValueError):
    """A photo that is of no kind we keep, or too large; says which."""


class NoSuchAttachment(AssistantError, LookupError):
    def __init__(self, sha256: str):
        self.sha256 = sha256
        super().__init__(f"There is no photo {sha256[:12]}.")


class NoSuchSystem(AssistantError, LookupError):
    def __init__(self, system: str, known: tuple[str, ...]):
        self.system, self.known = system, known
        super().__init__(f"This job has no system called {system!r}; it has {', '.join(known)}.")


class SettingsError(AssistantError):
    """A setting that cannot be used; says which, where it came from and what would do."""


class BackupError(AssistantError):
    """A backup that cannot be made, or one that is not whole; says what is wrong with it."""


class StoreError(AssistantError):
    """The store cannot be read or written; says where and what to do."""


class RulesDiffer(AssistantError):
    """Work that was given to a program with other rules."""
