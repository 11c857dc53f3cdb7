"""START HERE for questions: which job, which visit, which system, what kind; then the answer.

A question seldom says everything. What it leaves out is taken from what was spoken of before (`Focus`), and
failing that from the last note, so that "did it pass?" is about what was just told.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import replace

from assistant.converse import compared, judged, measured, open_work, permits, sizing, told
from assistant.converse.asking import Asking, Told, charge_quantity, on_system
from assistant.converse.focus import Focus
from assistant.converse.history import JobHistory, says_something
from assistant.converse.jobs import NamedJob, job_named
from assistant.converse.patterns import plain_words
from assistant.converse.questions import Question, read_question
from assistant.converse.reckoning import reckoned
from assistant.converse.speech import joined
from assistant.converse.vocabulary import asked, rank_of
from assistant.converse.when import Asked as AskedTime
from assistant.converse.when import visit_asked
from assistant.records import Answer, JobLog

_ANSWERS: dict[str, Callable[[Asking], Told]] = {
    "value": measured.value_answer,
    "target": measured.target_answer,
    "verdict": judged.verdict_answer,
    "why": judged.why_answer,
    "concerns": judged.concerns_answer,
    "shortfall": judged.shortfall_answer,
    "size": sizing.size_answer,
    "compare": compared.compare_answer,
    "left": open_work.left_answer,
    "waiting": open_work.waiting_answer,
    "forgot": open_work.forgot_answer,
    "where": open_work.where_answer,
    "readback": open_work.readback_answer,
    "when": told.when_answer,
    "agreement": told.agreement_answer,
    "hours": told.hours_answer,
    "materials": told.materials_answer,
    "equipment": told.equipment_answer,
    "ducts": told.ducts_answer,
    "permit": permits.permit_answer,
    "inspection": permits.inspection_answer,
    "failed_on": permits.failed_on_answer,
}
_ABOUT_A_VALUE = frozenset({"value", "target", "verdict", "why", "shortfall", "size", "compare"})
_ABOUT_ALL = frozenset({"left", "waiting", "agreement", "inspection", "permit", "concerns", "forgot", "verdict"})
_EVERY_JOB = re.compile(r"\b(?:which|what|any|all|every)(?: of)?(?: my| the| our)? jobs?\b|\b(?:anywhere|everywhere)\b")
_PLATE = re.compile(r"\b(?:plate|nameplate|sticker|tag|chart|book|panel|manual)\b")
_OTHER = re.compile(r"\bthe other (?:one|unit|system)\b")
_SYSTEM_WORDS = re.compile(
    r"\b(?:upstairs|downstairs|(?:unit|system|zone|rtu|rooftop) (?:\d+|one|two|three|four|five|six))\b"
)
_DIGIT = {"one": "1", "two": "2", "three": "3", "four": "4", "five": "5", "six": "6"}
_BARE_VALUE = re.compile(
    r"^(?:\w+ ){0,3}?what (?:is|was|did|were) (?:it|that|they|i|we)(?: (?:get|have|come to|now|then))?$|^(?:\w+ ){0,2}?how much$"
)
# Readings that only serve others: a note of nothing else does not change what the talk is about.
_SERVING = frozenset(
    {"outdoor_temp", "return_wet_bulb", "cooling_capacity", "altitude", "line_set_length", "test_duration"}
)
_INSPECTED = re.compile(
    r"\b(?:he|she|inspector|inspectors|they|us|we|sheet metal|electrical|mechanical|plumbing|building|piping|wiring|duct work)\b"
)


def ask(
    question: str, jobs: Mapping[str, JobHistory], job: str | None, focus: Focus | None, today: str
) -> tuple[Answer, Focus]:
    """The answer to `question`, and what the talk is about afterwards.

    jobs   every job's history by its id; job: the one being worked on, None to search them all
    focus  what the last call gave back; None at the start
    today  ISO date, for "yesterday" and what is overdue
    """
    focus = focus or Focus()
    words = plain_words(question)
    named = _named_job(words, jobs, job)
    chosen = named.job or job or (focus.job if focus.job in jobs else None)
    worked_out = reckoned(question, named.rest, jobs.get(chosen) if chosen else None, focus)
    if worked_out:
        return worked_out.answer, replace(focus, kind="value", quantity=worked_out.quantity or focus.quantity)
    if job is None and named.job is None and len(jobs) > 1:
        everywhere = _over_all_jobs(question, named, jobs, chosen, focus, today)
        if everywhere:
            return everywhere
    chosen = chosen or _likeliest_job(named.rest, jobs, today)
    if chosen is None or chosen not in jobs or jobs[chosen].latest is None:
        nothing = (
            "Nothing has been told about any job yet" if chosen is None else "Nothing has been told about this job yet"
        )
        return Answer(joined(nothing)), focus
    answer, after = _about_one_job(question, named.rest, jobs[chosen], chosen, focus, today)
    if job != chosen and len(jobs) > 1 and not answer.say.startswith("At "):
        answer = replace(answer, say=f"At {chosen.replace('-', ' ')}: {answer.say}")
    return answer, after


def _named_job(words: str, jobs: Mapping[str, JobHistory], job: str | None) -> NamedJob:
    """The job the words name. While one is worked on, another must be named as a place ("at the bakery")."""
    named = job_named(words, jobs)
    if job is None or named.job in (None, job):
        return named
    place = re.search(r"\b(?:at|for|over at|on|from) (?:the |that )?$", words[: _cut_at(words, named.rest)])
    return named if place or re.search(r"\bjob\b", words) else NamedJob(None, words)


def _cut_at(words: str, rest: str) -> int:
    """Where the name begins: after the small words that were cut with it."""
    same = 0
    while same < min(len(words), len(rest)) and words[same] == rest[same]:
        same += 1
    small = re.match(r"\s*(?:(?:at|for|over|on|of|in|from|the|that)\s+)*", words[same:])
    return same + (small.end() if small else 0)


def _likeliest_job(words: str, jobs: Mapping[str, JobHistory], today: str) -> str | None:
    """Without a name: the job last told that has a visit at the time the question names, else the job last told."""
    told_last = sorted(jobs, key=lambda name: max((note.date for note in jobs[name].notes), default=""), reverse=True)
    for name in told_last:
        if jobs[name].notes and not visit_asked(words, jobs[name], today, None).nothing_then:
            return name
    return told_last[0] if told_last else None


def _over_all_jobs(
    question: str, named: NamedJob, jobs: Mapping[str, JobHistory], chosen: str | None, focus: Focus, today: str
) -> tuple[Answer, Focus] | None:
    """The jobs a question over all of them is true of; None when it is about one job."""
    if named.unknown:
        return Answer(joined(f"I know no job called {named.unknown}", "Say its name the way you told it")), focus
    asked_for = read_question(question, _EVERY_JOB.sub("", named.rest))
    if not _EVERY_JOB.search(named.rest) or asked_for.kind not in _ABOUT_ALL:
        return None
    says, evidence = [], []
    for name, history in jobs.items():
        if history.latest is None:
            continue
        answer, _ = _about_one_job(question, asked_for.words, history, name, Focus(), today)
        if answer.evidence and _holds(asked_for, history.latest):
            says.append(f"{name.replace('-', ' ')}: {answer.say}")
            evidence.extend(answer.evidence)
    return Answer(joined(*says) if says else joined("None that I know of"), evidence=tuple(evidence)), focus


def _holds(question: Question, log: JobLog) -> bool:
    """For findings, whether the status the question names is that job's: "which jobs are low on charge"."""
    if question.kind == "inspection":
        states = {"failed": r"\bfail", "scheduled": r"\b(?:open|pending|coming|scheduled|left)\b", "passed": r"\bpass"}
        wanted = [state for state, pattern in states.items() if re.search(pattern, question.words)]
        return not wanted or any(event.outcome in wanted for event in permits.inspection_state(log).latest)
    if question.kind != "verdict":
        return True
    wanted = [
        status for status in ("low", "high", "fail", "provisional", "unknown", "pass") if status in question.words
    ]
    about = question.about or "charge"
    return any(v.about == about and (not wanted or v.status in wanted) for v in log.verdicts)


# ---------------------------------------------------------------- one job


def _about_one_job(
    text: str, words: str, history: JobHistory, job: str, focus: Focus, today: str
) -> tuple[Answer, Focus]:
    count = sum(says_something(note) for note in history.notes)
    if focus.job not in (None, job):
        focus = Focus(job=job)
    fresh = focus.notes == count  # nothing was told since the last question
    time = visit_asked(words, history, today, focus.visit if fresh else None)
    systems, single, rest = _systems(time.rest, history.logs[-1], focus)
    question = read_question(text, rest)
    asking = Asking(question, job, history, today, None, False, systems, single=single)
    kind = _kind(question, focus, time, single, history)
    quantities, about = _subject(question, kind, focus, fresh, history, systems[0])
    visit = _visit(question, kind, time, focus, fresh)
    if time.nothing_then:
        return Answer(joined("I have nothing from that day at this job")), focus
    if kind == "value" and not quantities:
        kind = "verdict" if about else None
    if kind is None:
        return Answer(joined(_NOT_UNDERSTOOD)), focus
    if kind == "verdict" and about is None and quantities:
        kind = "value"
    if kind == "verdict" and _asks_inspection(question, history.logs[-1], about):
        kind = "inspection"
    asking = replace(
        asking,
        visit=visit,
        visit_said=time.said and not time.now,
        quantities=quantities,
        about=about,
        topic=focus.topic,
    )
    result = _ANSWERS[kind](asking)
    if visit is not None and not time.said and not result.answer.evidence:
        visit = None  # the visit was only carried over, and it has no answer
        result = _ANSWERS[kind](replace(asking, visit=None))
    while time.or_before and visit and not result.answer.evidence:
        visit -= 1
        result = _ANSWERS[kind](replace(asking, visit=visit))
    of_a_value = kind in _ABOUT_A_VALUE
    after = Focus(
        job=job,
        kind=kind,
        quantity=result.quantity or (quantities[0] if quantities and of_a_value else focus.quantity),
        about=result.about or (about if of_a_value else None) or focus.about,
        system=result.system or (systems[0] if single else None),
        topic=result.topic or (focus.topic if of_a_value else None),
        visit=visit if of_a_value else focus.visit,
        notes=count,
    )
    return result.answer, after


_NOT_UNDERSTOOD = (
    "I didn't get what you're asking. Ask for a value, whether something is in range, or what's left to do"
)


def _systems(words: str, log: JobLog, focus: Focus) -> tuple[tuple[str, ...], bool, str]:
    """The systems meant, whether one was singled out, and the words without its name."""
    known = log.systems()
    spoken = re.sub(r"\b(one|two|three|four|five|six)\b", lambda m: _DIGIT[m.group(1)], words)
    for system in sorted(known, key=len, reverse=True):
        match = re.search(rf"\b(?:on |in |for |at )?(?:the )?{re.escape(system)}\b(?: (?:unit|system|one)\b)?", spoken)
        if match and system != "main":
            return (system,), True, " ".join((spoken[: match.start()] + spoken[match.end() :]).split())
    if _OTHER.search(words) and len(known) > 1:
        other = tuple(system for system in known if system != (focus.system or known[-1]))
        return other[:1], True, _OTHER.sub("", words)
    unknown = _SYSTEM_WORDS.search(spoken)
    if unknown:
        return (unknown.group(),), True, " ".join((spoken[: unknown.start()] + spoken[unknown.end() :]).split())
    if focus.system in known and len(known) > 1:
        return (focus.system,), True, words
    told_apart = tuple(system for system in known if system != "main") or known
    return told_apart, False, words


def _kind(question: Question, focus: Focus, time: AskedTime, single: bool, history: JobHistory) -> str | None:
    """The kind the words name; else that of the question before, when this one only changes its subject."""
    if _BARE_VALUE.search(question.words) and (focus.kind in _ABOUT_A_VALUE or question.kind is None):
        return "target" if focus.kind == "target" else "shortfall" if focus.kind == "shortfall" else "value"
    if question.kind == "when" and re.search(r"\bhow long\b", question.words):
        return "value"
    if question.kind is not None:
        return question.kind
    subject = bool(question.quantities or question.about)
    if question.goes_on and question.about == "charge" and not question.quantities and focus.kind in _ABOUT_A_VALUE:
        return "verdict" if focus.kind != "why" else "why"  # the charge has no value of its own
    follows = question.goes_on or time.said or single or len(question.words.split()) <= 4
    if focus.kind and follows and (subject or focus.quantity or focus.about or focus.kind not in _ABOUT_A_VALUE):
        return focus.kind
    if question.quantities:
        return "value"
    return "verdict" if question.about else None


def _subject(
    question: Question, kind: str | None, focus: Focus, fresh: bool, history: JobHistory, system: str
) -> tuple[tuple[str, ...], str | None]:
    """The quantities and the finding meant: by the words, the last note, or the question before."""
    log = history.logs[-1]
    if kind in ("verdict", "why", "shortfall", "size"):
        return (), _finding(question, kind, focus, fresh, history)
    if question.quantities:
        about = asked()[question.quantities[0]].about if question.quantities[0] in asked() else None
        if kind == "target" and question.quantities == ("target_superheat",):
            return ("superheat",), "charge"
        return question.quantities, about
    if kind == "compare":
        return (), None
    if kind == "target" and question.about == "charge":
        return (charge_quantity(log, system),), "charge"
    if kind == "target":
        quantity = _aimed_at(question, focus, fresh, history, system)
        return (quantity,), asked()[quantity].about
    if question.about and kind == "value":
        quantity = _main_quantity(question.about, log, system)
        return ((quantity,) if quantity else ()), question.about
    just_told = None if fresh else _last_told(history)
    if just_told and focus.quantity is None:
        quantity = _main_quantity(just_told, log, system)
        return ((quantity,) if quantity else ()), just_told
    if focus.quantity in asked():
        return (focus.quantity,), focus.about
    return (), question.about or focus.about


def _aimed_at(question: Question, focus: Focus, fresh: bool, history: JobHistory, system: str) -> str:
    """Whose target an unnamed one is: "it" is what was spoken of; "the target" is of something that has one."""
    log = history.logs[-1]
    known = focus.quantity if focus.quantity in asked() else None
    if known and fresh and (question.points_back or question.goes_on) and not _PLATE.search(question.words):
        return known
    just_told = None if fresh else _last_told(history)
    told_of = _main_quantity(just_told, log, system) if just_told else None
    charge = charge_quantity(log, system)
    said = [
        r
        for r in reversed(log.readings)
        if r.role in ("target", "rated") and r.status == "current" and on_system(r.system, system)
    ]
    aimed = {r.quantity for r in said} | {"superheat" for c in log.calculations if c.name == "target_superheat"}
    first = [known, told_of, charge] if focus.about == just_told or fresh else [told_of, known, charge]
    return next((each for each in first if each in aimed), charge if charge in aimed or not known else known)


def _finding(question: Question, kind: str, focus: Focus, fresh: bool, history: JobHistory) -> str | None:
    named = asked()[question.quantities[0]].about if question.quantities and question.quantities[0] in asked() else None
    if kind in ("shortfall", "size"):
        sides = {"return": "return_duct", "supply": "supply_duct"}
        side = next(
            (
                about
                for word, about in sides.items()
                if re.search(rf"\b{word}(?:s|es)?\b|\bsupplies\b", question.words) and word[:4] in question.words
            ),
            None,
        )
        return side or (focus.about if focus.about in sides.values() else None)
    if question.about and (named is None or named == "charge" or question.about == named or _says_more(question)):
        return question.about if not (named and named != question.about and not _says_more(question)) else named
    if named:
        return named
    just_told = _last_told(history)
    if just_told and not (fresh and focus.about):
        return just_told
    return focus.about or just_told or "charge"


def _says_more(question: Question) -> bool:
    """Whether the finding's name is told by more of the words than the quantity's: "gas pressure" over "gas"."""
    return bool(
        re.search(r"\b(?:charge|charged|overcharged|undercharged|return|returns|supply|supplies)\b", question.words)
    )


def _last_told(history: JobHistory) -> str | None:
    """The finding the newest note is about: of several the one that work hangs on most."""
    note = history.last_telling()
    abouts = []
    for reading in note.readings if note else ():
        row = asked().get(reading.quantity)
        if row and reading.quantity not in _SERVING and (about := _served_by(reading.quantity) or row.about):
            abouts.append(about)
    return min(abouts, key=rank_of, default=None)


def _served_by(quantity: str) -> str | None:
    """The finding of what a reading is an input of: head pressure serves the charge."""
    return next((row.about for row in asked().values() if quantity in row.needs and row.about), None)


def _main_quantity(about: str, log: JobLog, system: str) -> str | None:
    if about == "charge":
        return charge_quantity(log, system)
    return next((row.name for row in asked().values() if row.about == about), None)


def _visit(question: Question, kind: str | None, time: AskedTime, focus: Focus, fresh: bool) -> int | None:
    """The visit named; else the one spoken of before, while the talk stays in the past."""
    if time.said:
        return None if time.now else time.visit
    if kind in _ABOUT_A_VALUE and fresh and focus.visit is not None:
        if question.goes_on or question.points_back or question.past:
            return focus.visit
    return None


def _asks_inspection(question: Question, log: JobLog, about: str | None) -> bool:
    """ "Did we pass?" is about the inspector where there was one and nothing else is named."""
    if not any(event.kind == "inspection" for event in log.events):
        return False
    trade = permits.trade_named(question.words)
    passing = re.search(r"\b(?:pass|passed|fail|failed|good|sign)\b", question.words)
    named = question.about or (question.quantities and about)
    if trade and not re.search(r"\bpressure\b", question.words) and passing:
        return any(event.kind == "inspection" and event.trade == trade for event in log.events)
    return bool(passing and _INSPECTED.search(question.words) and not named)
