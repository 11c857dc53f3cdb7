"""What goes in and what comes out over HTTP, beside the contract's own lists.

Field names are the contract's; what it does not know (a note on its way, a device) is named here.
"""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, StringConstraints

from assistant.log.store import job_key

LONGEST_TEXT = 50_000  # characters of a typed note or a question; an hour of talk

NOTE_ID = r"^[0-9a-f]{12}$"
SHA256 = r"^[0-9a-f]{64}$"


def _a_name(name: str) -> str:
    name = " ".join(name.split())
    if not name.isprintable() or not job_key(name):
        raise ValueError("a name has letters or digits, and nothing that cannot be printed")
    return name


def _stored(text: str) -> str:
    """Half a character cannot be stored, and is no text."""
    try:
        text.encode()
    except UnicodeEncodeError as err:
        raise ValueError("not Unicode text") from err
    return text


Text = Annotated[str, AfterValidator(_stored)]
JobName = Annotated[
    str, StringConstraints(min_length=1, max_length=200), AfterValidator(_stored), AfterValidator(_a_name)
]
PersonName = Annotated[
    str, StringConstraints(min_length=1, max_length=60), AfterValidator(_stored), AfterValidator(_a_name)
]
Role = Literal["tech", "office"]


class Given(BaseModel):
    """What a caller sends; a field we do not know is refused, because it is most likely misspelt."""

    model_config = ConfigDict(extra="forbid")


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
