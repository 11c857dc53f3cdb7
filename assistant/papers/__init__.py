"""The papers of a job: pure functions from its log or its history to text, tables, calendars, charts and a PDF.

Nothing here writes a file. No number stands on any of them that is not in a record.
"""

from assistant.papers.by_visit import Change, Row, before_and_after, values_by_visit
from assistant.papers.ducts_chart import ducts_svg
from assistant.papers.invoice import InvoiceLine, invoice_csv, invoice_lines
from assistant.papers.log_csv import log_csv
from assistant.papers.proposal import proposal_text
from assistant.papers.record import record_pdf
from assistant.papers.refrigerant import RefrigerantRecord, refrigerant_csv, refrigerant_record
from assistant.papers.tasks_calendar import tasks_calendar
from assistant.papers.trend_chart import trend_points, trend_svg

__all__ = [
    "Change",
    "InvoiceLine",
    "RefrigerantRecord",
    "Row",
    "before_and_after",
    "ducts_svg",
    "invoice_csv",
    "invoice_lines",
    "log_csv",
    "proposal_text",
    "record_pdf",
    "refrigerant_csv",
    "refrigerant_record",
    "tasks_calendar",
    "trend_points",
    "trend_svg",
    "values_by_visit",
]
