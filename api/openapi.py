"""The description of the interface, /api/v1/openapi.json: FastAPI's own, with what it does not know."""

from __future__ import annotations

from typing import Any

from fastapi import FastAPI

from api import problems

DESCRIPTION = """\
Tell notes, ask questions, correct what was misheard, and take papers away.

What is asked from the machine that serves is the office's and needs no token. Over the network each device is paired
once and then sends its token, as a cookie or as `Authorization: Bearer`. A write that carries a cookie, or comes from a
browser at all, must carry the header `X-Superheard: 1` too. Every refusal is `application/problem+json`.

It advises; it certifies nothing. Local codes and the licensed person decide.
"""


def describe(app: FastAPI) -> None:
    """Have the application describe itself with the schemas and the ways to come in."""
    plain = app.openapi

    def described() -> dict[str, Any]:
        if app.openapi_schema is None:
            document = plain()
            parts = document.setdefault("components", {})
            parts.setdefault("schemas", {})["Problem"] = problems.SCHEMA
            parts["securitySchemes"] = {"token": {"type": "http", "scheme": "bearer"}}
            app.openapi_schema = document
        return app.openapi_schema

    app.openapi = described
