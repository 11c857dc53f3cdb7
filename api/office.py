"""The office page, one job, tasks, search, questions and devices."""

from __future__ import annotations

from fastapi import APIRouter

routes = APIRouter()
