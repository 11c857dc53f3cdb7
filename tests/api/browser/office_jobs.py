"""Jobs for the tests of the office's pages: one that was spoken, one that needs much, one of hostile words."""

from __future__ import annotations

from datetime import date

from assistant import Assistant
from tests.api.browser.at_work import DEMO

SPOKEN, PRINT_SHOP, FLUE = "spoken", "print shop", "boiler room"
HOSTILE = """<script>document.title="taken"</script> "he said" 'maybe' & {{7*7}} <img src=x onerror=alert(1)>"""
PRINT_SHOP_NOTE = (
    "It's R-410A with a TXV, four ton. Airflow is 1600 CFM. Suction 118, head 345, liquid line 104, suction line 55. "
    "Calls for ten degrees of subcooling."
)


def tell_spoken(assistant: Assistant) -> str:
    """The gauges of the demonstration's first day, through the recogniser; its note's id."""
    told = assistant.tell(audio=DEMO / "05_gauges_first_day.ogg", job=SPOKEN, date=date(2025, 8, 19))
    return told.note["id"]


def tell_print_shop(assistant: Assistant) -> None:
    """A charge that is low by what was heard."""
    assistant.tell(PRINT_SHOP_NOTE, job=PRINT_SHOP, date=date(2026, 5, 12))


def tell_flue(assistant: Assistant) -> None:
    """A stop, a failed inspection, a doubtful value, an overdue task and an answer that is awaited."""
    day = date(2026, 5, 20)
    assistant.tell("Furnace flue: carbon monoxide 520 parts per million, oxygen 8 percent. The electrical inspection "
                   "failed.", job=FLUE, date=day)  # fmt: skip
    assistant.tell("Liquid line is 704. Order a filter by tomorrow.", job=FLUE, date=day)
    assistant.tell("I quoted him 900 dollars for a second return. He wants to think about it.", job=FLUE, date=day)


def tell_hostile(assistant: Assistant) -> None:
    assistant.tell(f"Head pressure is 345. {HOSTILE}", job=FLUE, date=date(2026, 5, 21))
