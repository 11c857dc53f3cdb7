"""A proposal for extra work, for its owner to read: what, why by the readings, what it costs if that was said."""

from __future__ import annotations

import functools
import re
import textwrap
import tomllib
from importlib import resources

from assistant.converse.history import JobHistory
from assistant.converse.report_words import days
from assistant.converse.vocabulary import title
from assistant.log.settle import same_scope
from assistant.papers.text import ADVICE, clean, dollars, full_day, job_title, name_of, sentence
from assistant.records import Agreement, JobLog, Verdict

_OFFERED = ("quoted", "pending", "approved")
_OFF = ("low", "high", "fail", "provisional")
_STANDING = {"low": "too low", "high": "too high", "fail": "does not pass", "provisional": "only provisional"}
_GOOD = {"in_range": "in range", "pass": "passes"}
_WIDTH = 92


def proposal_text(history: JobHistory) -> str:
    """The work that was quoted, is waited for or was approved, with the findings that speak for it, as plain text.

    The findings are those that stood when the work first came up; what was measured since is told after them. A
    price stands there only if one was said. Declined work is left out. Ends with a line feed.
    """
    log = history.latest
    offered = [a for a in log.agreements if a.status in _OFFERED] if log else []
    if log is None:
        return "Nothing has been told of this job yet.\n"
    lines = ["Proposal for extra work", job_title(log), f"Visited {days(log.visits[0].date, log.visits[-1].date)}", ""]
    if not offered:
        lines += ["No extra work was offered, or it was declined.", ""]
    for number, agreement in enumerate(offered, 1):
        lines += _work(history, log, agreement, number)
    return "\n".join([*lines, ADVICE]) + "\n"


def _work(history: JobHistory, log: JobLog, agreement: Agreement, number: int) -> list[str]:
    where = f" ({name_of(agreement.system)})" if name_of(agreement.system) else ""
    then = _concerned(_log_when_offered(history, agreement), agreement, _OFF)
    body = [f"{number}. {sentence(agreement.scope)}{where}", _status(agreement), _price(agreement)]
    body += ["Why:", *map(_finding, then)] if then else ["Why: no reading that was told says so."]
    since = [v for v in _concerned(log, agreement, (*_OFF, *_GOOD)) if _about(v) in map(_about, then)]
    changed = [line for line in map(_finding, since) if line not in body]
    body += ["Since then:", *changed] if changed else []
    return [*(line for each in body for line in _wrapped(each)), ""]


def _wrapped(line: str) -> list[str]:
    first = "   " if not re.match(r"\d+\. ", line) else ""
    return textwrap.wrap(line, _WIDTH, initial_indent=first, subsequent_indent="     ", break_on_hyphens=False)


def _status(agreement: Agreement) -> str:
    who, on = f"the {clean(agreement.by)}" if agreement.by else "the customer", full_day(agreement.when)
    when = f" on {on}" if on else ""
    return {
        "approved": f"Approved by {who}{when}.",
        "pending": f"Waiting for an answer from {who}{f', asked{when}' if when else ''}.",
        "quoted": f"Offered to {who}{when}; not answered yet.",
    }[agreement.status]


def _price(agreement: Agreement) -> str:
    return (
        "Price: not quoted yet." if agreement.price is None else f"Price: {dollars(agreement.price)}, as it was told."
    )


def _log_when_offered(history: JobHistory, agreement: Agreement) -> JobLog:
    for log in history.logs:
        if any(a.system == agreement.system and same_scope(a.scope, agreement.scope) for a in log.agreements):
            return log
    return history.logs[-1]


def _about(verdict: Verdict) -> tuple[str, str]:
    return verdict.about, verdict.system


def _concerned(log: JobLog, agreement: Agreement, statuses: tuple[str, ...]) -> list[Verdict]:
    """Findings on the system the work is for; all of them where its scope names no part we know."""
    abouts = _abouts(agreement.scope)
    fits = [v for v in log.verdicts if v.status in statuses and agreement.system in (v.system, "main")]
    return [v for v in fits if not abouts or v.about in abouts]


def _abouts(scope: str) -> frozenset[str]:
    words = scope.lower()
    return frozenset(
        about
        for topic in _topics()
        if any(re.search(rf"\b{re.escape(word)}", words) for word in topic["say"])
        for about in topic["about"]
    )


@functools.cache
def _topics() -> list[dict]:
    text = resources.files("assistant.papers").joinpath("proposal_topics.toml").read_text("utf-8")
    return tomllib.loads(text)["topic"]


def _finding(verdict: Verdict) -> str:
    """ "- Return: too low; 1230 cfm at the return, 1600 wanted for 4 ton." """
    where = f"{name_of(verdict.system)} " if name_of(verdict.system) else ""
    standing = (_STANDING | _GOOD)[verdict.status]
    return clean(f"- {sentence(where + title(verdict.about))}: {standing}; {verdict.because}.").replace("..", ".")
