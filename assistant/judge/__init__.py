"""Readings and calculations → verdicts, concerns, derived tasks and the questions that are left."""

from assistant.judge.diagnosis import Cause
from assistant.judge.weigh import diagnose, weigh

__all__ = ["Cause", "diagnose", "weigh"]
