"""START HERE for questions: which job, which visit, which system, what kind; then the answer.

A question seldom says everything. What it leaves out is taken from what was spoken of before (`Focus`), and
failing that from the last note, so that "did it pass?" is about what was just told.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import replace

from assistant.converse import (
    appointments,
    causes,
    compared,
    judged,
    looked_up,
    measured,
    open_work,
    permits,
    plant,
    shortfall,
    sizing,
    told,
)
from assistant.converse.asking import Asking, Told
from assistant.converse.focus import Focus
from assistant.converse.history import JobHistory, says_something
from assistant.converse.jobs import NamedJob, job_named
from assistant.converse.likeness import content_words, likeness
from assistant.converse.questions import Question, read_question
from assistant.converse.reckoning import reckoned
from assistant.converse.speech import day, joined, spoken
from assistant.converse.subject import (
    ABOUT_A_VALUE,
    asks_inspection,
    asks_yes_or_no,
    kind_meant,
    moves,
    subject_meant,
    visit_meant,
)
from assistant.converse.vocabulary import generic_words
from assistant.converse.when import visit_asked
from assistant.records import Answer, JobLog
from assistant.understand.patterns import plain_words
from assistant.understand.questions import is_question

_ANSWERS: dict[str, Callable[[Asking], Told]] = {
    "value": measured.value_answer,
    "target": measured.target_answer,
    "verdict": judged.verdict_answer,
    "why": judged.why_answer,
    "concerns": judged.concerns_answer,
    "causes": causes.causes_answer,
    "shortfall": shortfall.shortfall_answer,
    "size": sizing.size_answer,
    "done": looked_up.done_answer,
    "found": looked_up.found_answer,
    "compare": compared.compare_answer,
    "left": open_work.left_answer,
    "waiting": open_work.waiting_answer,
    "forgot": open_work.forgot_answer,
    "where": open_work.where_answer,
    "readback": open_work.readback_answer,
    "when": appointments.when_answer,
    "agreement": told.agreement_answer,
    "hours": told.hours_answer,
    "materials": told.materials_answer,
    "equipment": plant.equipment_answer,
    "ducts": plant.ducts_answer,
    "permit": permits.permit_answer,
    "inspection": permits.inspection_answer,
    "failed_on": permits.failed_on_answer,
}
_ABOUT_ALL = frozenset({"left", "waiting", "agreement", "inspection", "permit", "concerns", "forgot", "verdict"})
_MOST = 8  # as many jobs as an ear keeps
_ABOUT_OPEN_WORK = frozenset({"left", "waiting", "agreement", "inspection", "permit"})
_EVERY_JOB = re.compile(r"\b(?:which|what|any|all|every)(?: of)?(?: my| the| our)? jobs?\b|\b(?:anywhere|everywhere)\b")
_WHICH_ONE = re.compile(r"\bwhich (?:one|unit|system|side|floor)s?\b|\bwho is\b")
_SAID_OR_WANTED = re.compile(r"\b(?:say|want)\b")
_OTHER = re.compile(r"\bthe other (?:one|unit|system)\b")
_SYSTEM_WORDS = re.compile(
    r"\b(?:upstairs|downstairs|(?:unit|system|zone|rtu|rooftop) (?:\d+|one|two|three|four|five|six))\b"
)
_DIGIT = {"one": "1", "two": "2", "three": "3", "four": "4", "five": "5", "six": "6"}


def ask(
    question: str, jobs: Mapping[str, JobHistory], job: str | None, focus: Focus | None, today: str
) -> tuple[Answer, Focus]:
    """The answer to `question`, and what the talk is about afterwards.

    jobs   every job's history by its id; job: the one being worked on, None to search them all
    focus  what the last call gave back; None at the start
    today  ISO date, for "yesterday" and what is overdue
    """
    focus = focus or Focus()
    if two := _two_questions(question):
        first, focus = ask(two[0], jobs, job, focus, today)
        second, focus = ask(two[1], jobs, job, focus, today)
        return Answer(f"{first.say} {second.say}", evidence=(*first.evidence, *second.evidence)), focus
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


_AND_WHAT = re.compile(r",? and (?=(?:what|how|when|who|did|is|was)\b)", re.IGNORECASE)


def _two_questions(question: str) -> tuple[str, str] | None:
    """ "What's my superheat and what should it be?": two questions in one breath."""
    for joint in _AND_WHAT.finditer(question):
        first, second = question[: joint.start()], question[joint.end() :]
        if is_question(first) and is_question(second):
            return first, second
    return None


def _named_job(words: str, jobs: Mapping[str, JobHistory], job: str | None) -> NamedJob:
    """The job the words name. While one is worked on, another must be named as a place ("at the bakery")."""
    named = job_named(words, jobs, sites=job is None)
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
    every = bool(_EVERY_JOB.search(named.rest))
    asked_for = read_question(question, _EVERY_JOB.sub("", named.rest))
    if not every and (chosen is not None or asked_for.kind not in _ABOUT_OPEN_WORK):
        return None
    if asked_for.kind not in _ABOUT_ALL:
        return _with_words(asked_for, jobs), focus
    says, evidence = [], []
    for name, history in jobs.items():
        if history.latest is None:
            continue
        answer, _ = _about_one_job(question, asked_for.words, history, name, Focus(), today)
        if answer.evidence and _holds(asked_for, history.latest):
            says.append(f"{name.replace('-', ' ')}: {answer.say}")
            evidence.extend(answer.evidence)
    return Answer(joined(*says) if says else joined("None that I know of"), evidence=tuple(evidence)), focus


def _with_words(question: Question, jobs: Mapping[str, JobHistory]) -> Answer:
    """The jobs with a finding or concern like the words: "which job had the restriction"; without words, all jobs."""
    content = content_words(question.words) - generic_words()
    if not content and not question.about:
        told = sorted((history.notes[-1].date, name) for name, history in jobs.items() if history.notes)[::-1]
        named = [f"{name.replace('-', ' ')}, {day(date)}" for date, name in told[:_MOST]]
        more = f", and {len(told) - _MOST} earlier ones" if len(told) > _MOST else ""
        return Answer(joined(f"{'; '.join(named)}{more}"))
    says, evidence = [], []
    for name, history in jobs.items():
        log = history.latest
        if log is None:
            continue
        verdicts = [v for v in log.verdicts if v.about == question.about and v.status in _named_statuses(question)]
        concerns = [c for c in log.concerns if likeness(content, f"{c.code.replace('_', ' ')} {c.text}") >= 0.5]
        if verdicts or concerns:
            reason = verdicts[0].because if verdicts else concerns[0].text
            says.append(f"{name.replace('-', ' ')}: {spoken(reason)}")
            evidence.extend(verdicts)
    return Answer(joined(*says) if says else joined("None that I know of"), evidence=tuple(evidence))


def _named_statuses(question: Question) -> list[str]:
    """The statuses of a verdict that the question's words name."""
    words = question.words.split()
    return [status for status in ("low", "high", "fail", "provisional", "unknown", "pass") if status in words]


def _holds(question: Question, log: JobLog) -> bool:
    """For findings, whether the status the question names is that job's: "which jobs are low on charge"."""
    if question.kind == "inspection":
        states = {"failed": r"\bfail", "scheduled": r"\b(?:open|pending|coming|scheduled|left)\b", "passed": r"\bpass"}
        wanted = [state for state, pattern in states.items() if re.search(pattern, question.words)]
        return not wanted or any(event.outcome in wanted for event in permits.inspection_state(log).latest)
    if question.kind != "verdict":
        return True
    wanted = _named_statuses(question)
    about = question.about or "charge"
    return any(v.about == about and (not wanted or v.status in wanted) for v in log.verdicts)


# ---------------------------------------------------------------- one job


def _about_one_job(
    text: str, words: str, history: JobHistory, job: str, focus: Focus, today: str
) -> tuple[Answer, Focus]:
    count = sum(says_something(note) for note in history.notes)
    if focus.job not in (None, job):  # "how about at the print shop?" asks the same of another job
        focus = Focus(job=job, kind=focus.kind, quantity=focus.quantity, about=focus.about, notes=count)
    fresh = focus.notes == count  # nothing was told since the last question
    time = visit_asked(words, history, today, focus.visit if fresh else None)
    systems, single, rest = _systems(time.rest, history.logs[-1], focus)
    question = read_question(text, rest)
    asking = Asking(question, job, history, today, None, False, systems, single=single)
    kind = kind_meant(question, focus, time, single, history)
    quantities, about = subject_meant(question, kind, focus, fresh, history, systems[0])
    visit = None if moves(question) and not time.said else visit_meant(question, kind, time, focus, fresh)
    if time.nothing_then and (kind is None or kind in ABOUT_A_VALUE):
        return Answer(joined("I have nothing from that day at this job")), focus
    if kind == "value" and not quantities:
        kind = "verdict" if about else None
    asking = replace(asking, topic=focus.topic)
    if kind == "done" and (question.about or question.quantities) and not looked_up.fits_a_task(asking):
        kind = "verdict"  # "is the pressure test done?"
    if kind is None and asks_yes_or_no(question) and looked_up.fits_a_task(asking):
        kind = "done"
    if kind == "concerns" and not judged.speaks_against(asking):
        if question.about:
            kind, about = "verdict", question.about  # "any leaks?"
        elif looked_up.said_about(asking):
            kind = None  # "what's the matter with the trunk?" is about what was said of it
    if kind is None:
        own_words = looked_up.said_about(asking)
        return (own_words.answer if own_words else Answer(joined(_NOT_UNDERSTOOD))), focus
    if kind == "verdict" and about is None and quantities:
        kind = "value"
    if kind == "failed_on" and not _inspection_failed(history.logs[-1], question, about):
        kind = "agreement" if question.about is None and _SAID_OR_WANTED.search(question.words) else "why"
    if kind == "shortfall" and about and about not in shortfall.SHORTFALLS:
        kind = "verdict"
    if kind == "verdict" and asks_inspection(question, history.logs[-1], about):
        kind = "inspection"
    asking = replace(
        asking,
        visit=visit,
        visit_said=time.said and not time.now,
        quantities=quantities,
        about=about,
    )
    result = _ANSWERS[kind](asking)
    if visit is not None and not time.said and not result.answer.evidence:
        visit = None  # the visit was only carried over, and it has no answer
        result = _ANSWERS[kind](replace(asking, visit=None))
    last = len(history.visits()) - 1
    while time.look and visit is not None and 0 <= visit + time.look <= last and not result.answer.evidence:
        visit += time.look
        result = _ANSWERS[kind](replace(asking, visit=visit))
    of_a_value = kind in ABOUT_A_VALUE
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


def _inspection_failed(log: JobLog, question: Question, about: str | None) -> bool:
    """Whether "why did it fail" is about an inspection: one failed, and no test of ours was spoken of."""
    failed = any(event.kind == "inspection" and event.outcome in ("failed", "partial") for event in log.events)
    by_him = re.search(r"\b(?:he|she|they|us|inspector|inspection)\b", question.words)
    return failed and bool(by_him or about in (None, "inspection"))


def _systems(words: str, log: JobLog, focus: Focus) -> tuple[tuple[str, ...], bool, str]:
    """The systems meant, whether one was singled out, and the words without its name."""
    known = log.systems()
    spoken = re.sub(r"\b(one|two|three|four|five|six)\b", lambda m: _DIGIT[m.group(1)], words)
    for system in sorted(known, key=len, reverse=True):
        match = re.search(rf"\b(?:on |in |for |at )?(?:the )?{re.escape(system)}\b(?: (?:unit|system|one)\b)?", spoken)
        if match and system != "main":
            return (system,), True, " ".join((spoken[: match.start()] + spoken[match.end() :]).split())
    if _WHICH_ONE.search(words) and len(known) > 1:
        return tuple(system for system in known if system != "main"), False, words
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
