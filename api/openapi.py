"""The description of the interface, /api/v1/openapi.json: FastAPI's own, with what it does not know."""

from __future__ import annotations

from dataclasses import is_dataclass
from typing import Any

from fastapi import FastAPI
from pydantic import TypeAdapter

from api import problems
from assistant import records
from assistant.log.searching import Hit

DESCRIPTION = """\
Tell notes, ask questions, correct what was misheard, and take papers away.

What is asked from the machine that serves is the office's and needs no token. Over the network each device is paired
once and then sends its token, as a cookie or as `Authorization: Bearer`. A write that carries a cookie, or comes from a
browser at all, must carry the header `X-Superheard: 1` too. Every refusal is `application/problem+json`.

A note can be heard while it is spoken, over the WebSocket `/api/v1/listen`: JSON text messages (`start`, `done`,
`speaking`, `spoken`, `stop`; back come `listening`, `speech_began`, `heard_so_far`, `speech_ended`, `kept`, `answer`
and `problem`) and binary ones with 16 kHz mono 16-bit samples. The head of `api/listen.py` describes it.

It advises; it certifies nothing. Local codes and the licensed person decide.
"""

TAGS = [
    {"name": "notes", "description": "What is told: recordings, typed words and photos."},
    {"name": "jobs", "description": "What it comes to, job by job; corrections; tasks."},
    {"name": "asking", "description": "Questions in words, and search."},
    {"name": "papers", "description": "To take away: PDF, tables, drawings, texts, calendar."},
    {"name": "devices", "description": "Who may come in."},
]

_AT = "#/components/schemas/{model}"
_RECORDS = (records.JobLog, records.Note, records.Transcript, records.Answer, records.Correction, Hit)
_KINDS = {name: kind for name, kind in vars(records).items() if is_dataclass(kind)} | {"Hit": Hit}


def describe(app: FastAPI) -> None:
    """Have the application describe itself with the schemas of the records, of problems, and the ways to come in."""
    plain = app.openapi

    def described() -> dict[str, Any]:
        if app.openapi_schema is None:
            document = plain()
            parts = document.setdefault("components", {})
            parts.setdefault("schemas", {}).update(record_schemas(), Problem=problems.SCHEMA)
            parts["schemas"]["NoteState"]["properties"]["content"]["anyOf"][0] = {"$ref": _AT.format(model="Note")}
            parts["securitySchemes"] = {"token": {"type": "http", "scheme": "bearer"}}
            document["security"] = [{}, {"token": []}]
            app.openapi_schema = document
        return app.openapi_schema

    app.openapi = described


def record_schemas() -> dict[str, Any]:
    """The schema of each of the contract's records, made from the records themselves, so that it cannot differ."""
    schemas: dict[str, Any] = {}
    for kind in _RECORDS:
        schema = TypeAdapter(kind).json_schema(mode="serialization", ref_template=_AT)
        schemas |= schema.pop("$defs", {})
        schemas[kind.__name__] = schema
    return {name: _as_in_json(schema, _KINDS[name]) for name, schema in schemas.items()}


def _as_in_json(schema: dict[str, Any], kind: type) -> dict[str, Any]:
    """A record's schema with the names it has in JSON; those are always there but for a few that may be absent."""
    names = records.json_names(kind)
    properties = {name: _untitled(schema["properties"][name]) for name in names}
    always = [name for name, is_always in names.items() if is_always]
    return {**schema, "properties": properties, "required": always}


def _untitled(schema: dict[str, Any]) -> dict[str, Any]:
    """Without the title that only repeats the name, and without a default: in an answer nothing is left out."""
    return {key: value for key, value in schema.items() if key not in ("title", "default")}
