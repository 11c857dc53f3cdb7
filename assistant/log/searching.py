"""Searching in everything that was said, typed or transcribed (SQLite FTS5)."""

from __future__ import annotations

import re
from dataclasses import dataclass

from assistant.log.record_json import unpack
from assistant.log.store import Store
from assistant.records import Transcript

_OPEN, _CLOSE = "\x02", "\x03"  # around a word that was looked for; no note holds them
_SNIPPET = 16  # words
_MOST = 1000


@dataclass(frozen=True, slots=True)
class Hit:
    """A note that was found."""

    note: str  # id
    job: str
    date: str  # ISO date of the visit
    snippet: str  # the words around what was looked for, with … where they were cut
    marks: tuple[tuple[int, int], ...]  # where in the snippet the words that were looked for are [characters]
    start_s: float | None  # where in the recording the first of them is; None for typed words
    by: str  # who told it
    recorded: bool  # whether there is a recording


def search(
    store: Store,
    words: str,
    job: str | None = None,
    since: str | None = None,
    until: str | None = None,
    system: str | None = None,
    finding: str | None = None,
    limit: int = 50,
) -> list[Hit]:
    """Notes that hold all the words, the one told last first. Nothing in `words` is taken for a command."""
    query = query_of(words)
    if words.strip() and not query:
        return []
    told = _told_between(store, since, until)
    if told == (None, None):
        return []
    sql, values = _sql(query, job, since, until, system, finding, told)
    found = store.rows(sql, *values, max(1, min(limit, _MOST)))
    return [_hit(row) for row in found]


def query_of(words: str) -> str:
    """What people type as an FTS5 query: all words, "in quotes" as they stand, the last one perhaps unfinished."""
    parts = []
    for quoted, word in re.findall(r'"([^"]*)"|([^\s"]+)', words):
        tokens = re.findall(r"\w+", quoted or word)
        if tokens:
            parts.append('"' + " ".join(tokens) + '"')
    unfinished = parts and not words.rstrip().endswith('"') and re.search(r"[^\W\d_]{2}\W*$", words)
    return " AND ".join(parts) + ("*" if unfinished else "")


# From day to day with two look-ups each, not note by note.
_TOLD_BETWEEN = """
    WITH RECURSIVE day (date) AS (
        SELECT min(date) FROM note WHERE date >= ?1 AND date <= ?2
        UNION ALL
        SELECT (SELECT min(date) FROM note WHERE note.date > day.date AND note.date <= ?2)
        FROM day WHERE day.date IS NOT NULL
    )
    SELECT min((SELECT min(seq) FROM note WHERE note.date = day.date)) AS first,
           max((SELECT max(seq) FROM note WHERE note.date = day.date)) AS last
    FROM day WHERE day.date IS NOT NULL
"""


def _told_between(store: Store, since: str | None, until: str | None) -> tuple[int | None, int | None] | None:
    """The first and the last place in which notes of these days were told, both None if there are none.

    None where the days are not bounded. Days are told nearly in order, so that old ones are a small part of the whole
    and need not be walked to from the newest note.
    """
    if since is None and until is None:
        return None
    (row,) = store.rows(_TOLD_BETWEEN, since or "", until or "9999-12-31")
    return row["first"], row["last"]


def _sql(query: str, job, since, until, system, finding, told) -> tuple[str, list[object]]:
    columns = "note.id AS note, note.job, note.date, note.by, note.recording IS NOT NULL AS recorded"
    newest = "(SELECT content FROM transcript WHERE transcript.note = note.id ORDER BY seq DESC LIMIT 1) AS content"
    clauses: list[tuple[str, tuple[object, ...]]] = []
    if query:
        marked = f"highlight(said, 0, '{_OPEN}', '{_CLOSE}') AS text"
        # Either table can give the newest first by itself; then the search ends with the last hit that is wanted.
        source, newest_first = "said CROSS JOIN note ON note.seq = said.rowid", "said.rowid"
        clauses.append(("said MATCH ?", (query,)))
    else:
        marked = "said.text AS text"
        source, newest_first = "note CROSS JOIN said ON said.rowid = note.seq", "note.seq"
    if told:
        clauses.append((f"{newest_first} BETWEEN ? AND ?", told))
    if job:
        clauses.append(("note.job = ?", (job,)))
    if since:
        clauses.append(("note.date >= ?", (since,)))
    if until:
        clauses.append(("note.date <= ?", (until,)))
    if system:
        clauses.append(("EXISTS (SELECT 1 FROM mention WHERE mention.note = note.id AND system = ?)", (system,)))
    if finding:
        about, _, status = finding.partition(":")
        of = " AND system = ?" if system else ""
        has = (
            f"note.job IN (SELECT job FROM concern WHERE code = ?{of} UNION ALL"
            f" SELECT job FROM verdict WHERE about = ? AND (? = '' OR status = ?){of})"
        )
        named = (system,) if system else ()
        clauses.append((has, (finding, *named, about, status, status, *named)))
    where = " AND ".join(clause for clause, _ in clauses) or "1"
    values = [value for _, each in clauses for value in each]
    sql = f"SELECT {columns}, {marked}, {newest} FROM {source} WHERE {where} ORDER BY {newest_first} DESC LIMIT ?"
    return sql, values


def _hit(row: dict) -> Hit:
    text, spans = _unmarked(row["text"])
    snippet, marks = _snippet(text, spans)
    start_s = None
    if spans and row["content"]:
        start_s = unpack(Transcript, row["content"]).span_times(*spans[0])[0]
    return Hit(row["note"], row["job"], row["date"], snippet, marks, start_s, row["by"], bool(row["recorded"]))


def _unmarked(text: str) -> tuple[str, list[tuple[int, int]]]:
    """The text without its marks, and where they were."""
    plain, spans, start = "", [], 0
    for piece in re.split(f"([{_OPEN}{_CLOSE}])", text):
        if piece == _OPEN:
            start = len(plain)
        elif piece == _CLOSE:
            spans.append((start, len(plain)))
        else:
            plain += piece
    return plain, spans


def _snippet(text: str, spans: list[tuple[int, int]]) -> tuple[str, tuple[tuple[int, int], ...]]:
    """The words around the first mark, and the marks that lie among them."""
    words = [match.span() for match in re.finditer(r"\S+", text)]
    if not words:
        return "", ()
    at = next((place for place, (_, end) in enumerate(words) if spans and end > spans[0][0]), 0)
    first = max(0, min(at - _SNIPPET // 3, len(words) - _SNIPPET))
    last = min(len(words), first + _SNIPPET) - 1
    begin, end = words[first][0], words[last][1]
    before = "… " if first else ""
    shift = len(before) - begin
    marks = tuple((a + shift, b + shift) for a, b in spans if a >= begin and b <= end)
    return before + text[begin:end] + (" …" if last < len(words) - 1 else ""), marks
