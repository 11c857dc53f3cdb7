"""What goes in and what comes out over HTTP, beside the contract's own lists.

Field names are the contract's; what it does not know (a note on its way, a device) is named here.
"""

from __future__ import annotations

import re
from datetime import date as Date
from datetime import datetime
from typing import Annotated, Any, Literal

from fastapi import Path
from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, StringConstraints

from assistant.log.store import job_key

LONGEST_TEXT = 50_000  # characters of a typed note or a question; an hour of talk

NOTE_ID = r"^[0-9a-f]{12}$"
SHA256 = r"^[0-9a-f]{64}$"


def _a_name(name: str) -> str:
    name = " ".join(name.split())
    if not name.isprintable() or not job_key(name):
        raise ValueError("a name has letters or digits, and nothing that cannot be printed")
    return name


def _storable(text: str) -> str:
    """Half a character cannot be stored, and is no text."""
    try:
        text.encode()
    except UnicodeEncodeError as err:
        raise ValueError("not Unicode text") from err
    return text


def text_of(most: int, least: int = 0) -> Any:
    """Text that may come in, with so many characters."""
    return Annotated[str, StringConstraints(min_length=least, max_length=most), AfterValidator(_storable)]


def _an_iso_day(given: Any) -> Any:
    """A number is no day, though it could be taken for one; nor is a moment."""
    if isinstance(given, str) and not re.fullmatch(r"\d{4}-\d\d-\d\d", given):
        raise ValueError("a day is year-month-day, as 2026-05-12")
    return given


NoteText = text_of(LONGEST_TEXT)
Words = text_of(200)
Short = text_of(100, 1)  # the name of a quantity, a system, a finding
JobName = Annotated[text_of(200, 1), AfterValidator(_a_name)]
PersonName = Annotated[text_of(60, 1), AfterValidator(_a_name)]
JobInPath = Annotated[
    str,
    Path(min_length=1, max_length=200, description="A job's name, whatever its case, spaces and marks, or its key."),
]
NoteInPath = Annotated[str, Path(pattern=NOTE_ID)]
Day = Annotated[Date, Field(ge=Date(2000, 1, 1), le=Date(2099, 12, 31)), BeforeValidator(_an_iso_day)]
Role = Literal["tech", "office"]


class Given(BaseModel):
    """What a caller sends; a field we do not know is refused, because it is most likely misspelt."""

    model_config = ConfigDict(extra="forbid")


# ---------------------------------------------------------------- notes


class AcceptedNote(BaseModel):
    """A note that is safe on the disk. It is answered once it has been heard: see its progress."""

    note: str = Field(description="Its id.")
    job: str
    date: Date
    new: bool = Field(description="False: it had been told before, and nothing changed.")
    state: Literal["heard", "waiting"]


class NoteState(BaseModel):
    note: str
    job: str
    date: Date
    received_at: datetime
    state: Literal["heard", "waiting", "hearing", "failed"]
    recorded: bool = Field(description="Whether there is a recording to play.")
    said: str | None = Field(None, description="The words: typed, or as they were heard. None until they are.")
    say: str | None = Field(None, description="The assistant's answer, written for the ear.")
    content: dict[str, Any] | None = Field(None, description="What this note alone said: a `Note`.")
    what: str | None = Field(None, description="What is being done, while it is.")
    share: float | None = Field(None, description="How much of that is done, 0 to 1.", ge=0, le=1)
    reason: str | None = Field(None, description="Why it could not be heard.")


class Progress(BaseModel):
    """What an event of a note's progress carries."""

    note: str
    state: Literal["waiting", "hearing", "heard", "failed"]
    what: str = ""
    share: float = 0.0
    say: str | None = None
    said: str | None = None
    reason: str | None = None


class Photo(BaseModel):
    sha256: str
    note: str
    media_type: str
    bytes: int


# ---------------------------------------------------------------- jobs


class JobWanted(Given):
    name: JobName = Field(examples=["print-shop"])


class OpenedJob(BaseModel):
    job: str
    key: str = Field(description="For addresses: the name without case, spaces and marks.")


class JobLine(BaseModel):
    """A job in a line."""

    id: str
    key: str = Field(description="For addresses: the name without case, spaces and marks.")
    site: str | None = None
    customer: str | None = None
    first: Date | None = Field(None, description="Of its visits; none before its first note.")
    last: Date | None = None
    notes: int
    open_tasks: int
    stop: int = Field(description="Concerns that say stop.")
    attention: int = Field(description="Concerns that want attention.")
    verdicts: list[tuple[str, str, str]] = Field(description="System, what about, status.")


class TaskLine(BaseModel):
    """A task, and whose job it is of."""

    job: str
    what: str
    due: str | None = Field(description="ISO date or date-time.")
    waits_on: str | None
    status: Literal["open", "done", "dropped"]
    who: str | None
    origin: Literal["said", "inferred"]
    system: str
    note: str


class CorrectionWanted(Given):
    """A reading of a note is set right, confirmed or discarded. The original stays beside it."""

    note: Annotated[str, StringConstraints(pattern=NOTE_ID)]
    quantity: Short
    said: text_of(1000, 1) = Field(
        description="The reading's own words: they and the quantity tell which one is meant."
    )
    action: Literal["correct", "confirm", "discard"]
    value: float | None = Field(None, allow_inf_nan=False, description="What it should be; for `correct` alone.")
    unit: text_of(30, 1) | None = None


# ---------------------------------------------------------------- asking


class Question(Given):
    question: text_of(2000, 1) = Field(examples=["was the charge in range at the bakery?"])
    job: JobName | None = Field(None, description="Over all jobs if none.")


# ---------------------------------------------------------------- devices


class Pairing(Given):
    code: Annotated[str, StringConstraints(min_length=1, max_length=40)] = Field(examples=["K7QF-2M9T"])
    name: PersonName = Field(description="Whose device it is; goes beside what it tells.", examples=["Ana"])
    keep: Literal["cookie", "token"] = Field(
        "cookie", description="`cookie` for a browser; `token` for a program, which sends it as a bearer token."
    )


class CodeWanted(Given):
    role: Role = "tech"


class Paired(BaseModel):
    id: str
    name: str = Field(description="With a number behind it where another device has that name.")
    role: Role
    token: str | None = Field(None, description="Shown this once, and only if it was asked for.")


class Code(BaseModel):
    code: str
    role: Role
    ends_at: datetime
    address: str = Field(description="What a phone opens to be paired; the code is behind its #.")
    qr_svg: str = Field(description="The address as a QR picture.")


class DeviceLine(BaseModel):
    id: str
    name: str
    role: Literal["tech", "office", "calendar"]
    made_at: datetime
    seen_at: datetime
    this: bool = Field(description="Whether it is the one that asks.")


class Me(BaseModel):
    name: str
    role: Role
    device: str | None = Field(description="None on the machine itself.")


class CalendarLink(BaseModel):
    id: str = Field(description="To take it back with, as a device.")
    address: str = Field(description="For a calendar program; whoever has it can read the tasks, and nothing else.")


class Health(BaseModel):
    status: Literal["ok"] = "ok"
    version: str
