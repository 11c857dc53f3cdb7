"""The WebSocket that hears a note while it is spoken."""

from __future__ import annotations

from fastapi import APIRouter

routes = APIRouter()
