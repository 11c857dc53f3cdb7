"""Logs to words: the spoken answer after a note, and answers to questions now and long after."""

from __future__ import annotations

from assistant.converse.ask import ask
from assistant.converse.ear import for_the_ear
from assistant.converse.focus import Focus
from assistant.converse.history import JobHistory
from assistant.converse.jobs import job_called
from assistant.converse.reply import reply
from assistant.understand.questions import is_question

__all__ = ["Focus", "JobHistory", "ask", "for_the_ear", "is_question", "job_called", "reply"]
