"""The tech's phone page."""

from __future__ import annotations

from fastapi import APIRouter

routes = APIRouter()  # for whoever has been let in
open_routes = APIRouter()  # for anybody who reaches the server: nothing of a job here
