"""A job's log as a page for the terminal, to be read from the top by someone with a wrench in the other hand.

First what can hurt someone, then what the readings come to, what to do next and what is still to be said.
After that the ledger: visit by visit the speaker's own words at their moment in the recording, and beside
them what was written down. Colour only repeats what the words say, and 80 columns are enough.
"""

from __future__ import annotations

from collections.abc import Iterable

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from assistant.converse import report_words as words
from assistant.converse.causes import causes_in, next_of
from assistant.converse.speech import day, weekday
from assistant.records import Concern, JobLog, Reading, Verdict, Visit

ADVICE = "This advises; it certifies nothing. Local codes and the licensed person decide."
_STATUS = {
    "in_range": "in range",
    "low": "LOW",
    "high": "HIGH",
    "pass": "passes",
    "fail": "FAILS",
    "provisional": "provisional",
    "unknown": "not known yet",
}
_STYLE = {"in_range": "green", "pass": "green", "low": "bold red", "high": "bold red", "fail": "bold red"}
_ON_THE_DAY = (  # what else a visit brought, and how each is written
    ("events", words.event),
    ("duct_runs", words.duct_run),
    ("materials", words.material),
    ("labour", words.labour),
    ("agreements", words.agreement),
)


def job_report(log: JobLog) -> RenderableType:
    """The page for one job, as rich prints it at any width of 60 columns and more."""
    several = len(log.systems()) > 1
    parts: list[RenderableType] = [_head(log)]
    parts += _section("Stop", _concerns(log, "stop"), style="bold red")
    parts += _section("What it comes to", _verdicts(log, several))
    parts += _section("Look at", _concerns(log, "attention"))
    parts += _section("What could explain it", _causes(log, several))
    parts += _section("Next", _tasks(log))
    parts += _section("Still to be said", [Text(f"? {ask.text}") for ask in log.asks])
    parts += _section("Good to know", _concerns(log, "info"))
    parts += _section("Worked out", _calculations(log, several))
    for visit in log.visits:
        parts += _section(f"Said on {weekday(visit.date)}, {day(visit.date)}", _visit(log, visit, several))
    parts += _section("Heard but not placed", _remarks(log))
    parts += [Text(), Text(ADVICE, style="italic")]
    return Group(*parts)


def _head(log: JobLog) -> RenderableType:
    job = log.job
    named = ", ".join(each for each in (job.site, job.customer) if each and each.casefold() != job.id.casefold())
    line = Table.grid(expand=True, padding=(0, 2, 0, 0))
    line.add_column(ratio=1)
    line.add_column(justify="right")
    when = words.days(log.visits[0].date, log.visits[-1].date) if log.visits else "nothing told yet"
    line.add_row(Text(job.id, style="bold") + Text(f"  {named}" if named else ""), when)
    systems = []
    for each in log.equipment:
        if described := words.equipment(each):
            name = "" if each.system == "main" else f"{each.system}: "
            systems.append(Text(f"{name}{described}"))
    return Group(line, *systems)


def _section(title: str, body: Iterable[RenderableType], style: str = "bold") -> list[RenderableType]:
    lines = list(body)
    if not lines:
        return []
    return [Text(), Text(title, style=style), *(Padding(line, (0, 0, 0, 2)) for line in lines)]


def _verdicts(log: JobLog, several: bool) -> list[RenderableType]:
    rows = [(each.system, (each.about.replace("_", " "), _standing(each), Text(each.because))) for each in log.verdicts]
    return _by_system(rows, several, widths=(16, 14, None))


def _by_system(
    rows: list[tuple[str, tuple[RenderableType, ...]]], several: bool, widths: tuple[int | None, ...]
) -> list[RenderableType]:
    """Rows of columns, system after system, each under its name where there are several."""
    body: list[RenderableType] = []
    for system in dict.fromkeys(system for system, _ in rows):
        table = Table.grid(padding=(0, 2, 0, 0))
        for width in widths:
            table.add_column(width=width, ratio=None if width else 1)
        for of, cells in rows:
            if of == system:
                table.add_row(*cells)
        body += [Text(system, style="dim"), Padding(table, (0, 0, 0, 2))] if several else [table]
    return body


def _standing(verdict: Verdict) -> Text:
    return Text(_said_of(verdict), style=_STYLE.get(verdict.status, ""))


def _said_of(verdict: Verdict) -> str:
    said = _STATUS.get(verdict.status, verdict.status)
    if verdict.status == "provisional" and verdict.finding:
        said += f" ({_STATUS.get(verdict.finding, verdict.finding)})"
    return said


def _concerns(log: JobLog, severity: str) -> list[RenderableType]:
    several = len(log.systems()) > 1
    mark = "-" if severity == "info" else "!"
    return [_concern(each, several, mark) for each in log.concerns if each.severity == severity]


def _concern(concern: Concern, several: bool, mark: str) -> RenderableType:
    where = f"{concern.system}: " if several and concern.system not in ("main", "site") else ""
    lines = [Text(f"{mark} {where}{concern.text}")]
    if concern.because:
        lines.append(Text(f"Because of: {'; '.join(concern.because)}", style="dim"))
    if concern.caution:
        lines.append(Text(f"Caution: {concern.caution}", style="bold"))
    return Group(lines[0], *(Padding(line, (0, 0, 0, 2)) for line in lines[1:]))


def _causes(log: JobLog, several: bool) -> list[RenderableType]:
    """Up to three causes a system whose readings are off, likeliest first, with what would tell them apart."""
    body: list[RenderableType] = []
    for system in log.systems():
        for cause in causes_in(log, system)[:3]:
            where = f"{system}: " if several and system != "main" else ""
            lines = [Text(f"- {where}{cause.name}")]
            for title, said in (("For", cause.speaks_for), ("Against", cause.speaks_against)):
                if said:
                    lines.append(Text(f"{title}: {'; '.join(said)}", style="dim"))
            lines.append(Text(f"Next: {next_of(log, system, cause)}"))
            body.append(Group(lines[0], *(Padding(line, (0, 0, 0, 2)) for line in lines[1:])))
    return body


def _tasks(log: JobLog) -> list[RenderableType]:
    marks = {"open": "[ ]", "done": "[x]", "dropped": "[-]"}
    ordered = sorted(log.tasks, key=lambda task: (list(marks).index(task.status), task.due or "9999"))
    return [Text(f"{marks[task.status]} {words.task(task)}") for task in ordered]


def _calculations(log: JobLog, several: bool) -> list[RenderableType]:
    rows = []
    for each in log.calculations:
        inputs = ", ".join(dict.fromkeys(words.reading(used, with_system=False) for used in each.inputs))
        whence = Text(f"from {inputs}" if inputs else each.method, style="dim")
        rows.append((each.system, (words.title(each.name, each.qualifier), words.amount(each), whence)))
    return _by_system(rows, several, widths=(25, 18, None))


def _visit(log: JobLog, visit: Visit, several: bool) -> list[RenderableType]:
    body: list[RenderableType] = []
    headed = True  # the columns are named once a visit
    for number, note in enumerate(visit.notes, 1):
        said = sorted((r for r in log.readings if r.note == note), key=lambda r: r.position)
        others = [
            f"- {write(record)}" for name, write in _ON_THE_DAY for record in getattr(log, name) if record.note == note
        ]
        if not said and not others:
            continue
        if len(visit.notes) > 1:
            body.append(Text(f"Note {number}", style="dim"))
        if said:
            body.append(_readings(said, several, headed=headed))
            headed = False
        body += [Text(line) for line in others]
    return body


def _remarks(log: JobLog) -> list[RenderableType]:
    """What was not understood, in the speaker's words, visit by visit."""
    body = []
    for visit in log.visits:
        said = " ".join(f'"{remark.text}"' for remark in log.remarks if remark.note in visit.notes)
        if said:
            body.append(Text(f"{day(visit.date)}: {said}"))
    return body


def _readings(said: list[Reading], several: bool, headed: bool) -> RenderableType:
    table = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False, show_header=headed, header_style="dim", expand=True)
    table.add_column("at", justify="right", width=5)
    table.add_column("said", ratio=4)
    table.add_column("written down", ratio=5)
    table.add_column("sure", justify="right", width=5)
    for reading in said:
        became = words.standing(reading)
        written = Text(words.reading(reading, several))
        if became:
            written += Text(f" - {became}", style="bold" if reading.status == "doubtful" else "dim")
        sure = f"{reading.confidence * 100:.0f} %"
        table.add_row(words.moment(reading), Text(f'"{reading.said}"'), written, sure)
    return table
