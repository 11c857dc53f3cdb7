"""What a question leaves out: its kind, quantity, finding and visit, from what was spoken of last."""

from __future__ import annotations

import re

from assistant.converse import permits
from assistant.converse.asking import charge_quantity, on_system
from assistant.converse.focus import Focus
from assistant.converse.history import JobHistory
from assistant.converse.likeness import content_words
from assistant.converse.questions import Question
from assistant.converse.vocabulary import asked, generic_words, rank_of
from assistant.converse.when import Asked as AskedTime
from assistant.records import JobLog

_MOVED = re.compile(r"\bit (?:come|came|go|went|get|got|drop|dropped|rise|rose|end|ended|fall|fell|climb|climbed)\b")
ABOUT_A_VALUE = frozenset({"value", "target", "verdict", "why", "causes", "shortfall", "size", "compare"})
_PLATE = re.compile(r"\b(?:plate|nameplate|sticker|tag|chart|book|panel|manual)\b")
_BARE_VALUE = re.compile(
    r"^(?:\w+ ){0,3}?what (?:is|was|did|were) (?:it|that|they|i|we)(?: (?:get|have|come to|now|then))?$"
    r"|^(?:\w+ ){0,2}?how much$"
)
_JUDGED = re.compile(
    r"^(?:(?:so|and|okay|ok|but|is|was|it|that|all) )*"
    r"(?:good|okay|ok|fine|in range|right|all right|alright|acceptable|enough|low|high|bad|passed?|fail(?:ed)?|tight)"
    r"(?: enough| then| yet)?$"
)
_AIM = re.compile(r"\b(?:target|plate|nameplate|rating|rated|limit|supposed|spec)\b")
_TOUCH = re.compile(
    r"\b(?:add|pull|take|recover|needs?|more|less|low on)\b(?: \w+){0,3} (?:refrigerant|freon|gas|juice|charge)\b"
)
_MEASURED = re.compile(
    r"\b(?:(?:have|do|did) (?:i|we) (?:got|get|have)|(?:am|are) (?:i|we) getting|actual\w*|measured?)\b"
)
# Readings that only serve others: a note of nothing else does not change what the talk is about.
_SERVING = frozenset(
    {"outdoor_temp", "return_wet_bulb", "cooling_capacity", "altitude", "line_set_length", "test_duration"}
)
_INSPECTED = re.compile(
    r"\b(?:he|she|inspectors?|they|us|we|sheet metal|electrical|mechanical|plumbing|building|piping|wiring|duct work)\b"
)


def kind_meant(question: Question, focus: Focus, time: AskedTime, single: bool, history: JobHistory) -> str | None:
    """The kind the words name; else that of the question before, when this one only changes its subject."""
    if question.kind is None and _BARE_VALUE.search(question.words) and (focus.kind or "value") in ABOUT_A_VALUE:
        return "target" if focus.kind == "target" else "shortfall" if focus.kind == "shortfall" else "value"
    if question.kind == "when" and re.search(r"\bhow long\b", question.words):
        return "value"
    if question.kind == "compare" and _AIM.search(question.words):
        return "verdict"  # "subcool versus target" compares no visits
    if question.kind is not None:
        return question.kind
    if _JUDGED.search(question.words):
        return "verdict"
    if time.now and focus.kind == "target" and not (question.quantities or question.about):
        return "value"  # "and now?" after something was told anew
    if focus.kind == "target" and _MEASURED.search(question.words):
        return "value"  # "and how many have I got?" after what is needed
    subject = bool(question.quantities or question.about)
    if question.goes_on and question.about == "charge" and not question.quantities and focus.kind in ABOUT_A_VALUE:
        return "verdict" if focus.kind != "why" else "why"  # the charge has no value of its own
    follows = question.goes_on or time.said or single or len(question.words.split()) <= 4
    if focus.kind and follows and (subject or focus.quantity or focus.about or focus.kind not in ABOUT_A_VALUE):
        return focus.kind
    if question.quantities:
        return "value"
    if question.about:
        return "verdict"
    return _by_its_opening(question, focus, history)


def _by_its_opening(question: Question, focus: Focus, history: JobHistory) -> str | None:
    """ "How high did it climb?": no subject, so the one spoken of; "what" asks its value, "is" its finding."""
    subjects = content_words(question.words) - generic_words()
    if subjects or len(question.words.split()) < 2 or not (focus.quantity or focus.about or last_told(history)):
        return None
    if re.match(r"(?:\w+ ){0,2}?(?:what|how|from)\b", question.words):
        return "value" if focus.quantity or last_told(history) else None
    return "verdict" if asks_yes_or_no(question) else None


def asks_yes_or_no(question: Question) -> bool:
    """Whether the sentence opens like one that is answered with yes or no."""
    return bool(re.match(r"(?:\w+ ){0,2}?(?:is|was|did|does|are|were|am|do|has|have)\b", question.words))


def moves(question: Question) -> bool:
    """ "And what did it come down to?": where a value ended up, whichever was spoken of."""
    return bool(question.newest and _MOVED.search(question.words))


def subject_meant(
    question: Question, kind: str | None, focus: Focus, fresh: bool, history: JobHistory, system: str
) -> tuple[tuple[str, ...], str | None]:
    """The quantities and the finding meant: by the words, the last note, or the question before."""
    log = history.logs[-1]
    if kind in ("verdict", "why", "causes", "shortfall", "size", "failed_on"):
        return (), _finding(question, kind, focus, fresh, history, system)
    if fresh and moves(question) and focus.quantity in asked():
        return (focus.quantity,), focus.about
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
    just_told = None if fresh else last_told(history)
    if just_told and just_told != focus.about:  # "and now?" once something else was told
        named = [row.name for row in asked().values() if row.about == just_told]
        newest = [reading.quantity for reading in history.last_telling().readings if reading.quantity in named]
        quantity = newest[-1] if newest else _main_quantity(just_told, log, system)
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
    just_told = None if fresh else last_told(history)
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


def _finding(question: Question, kind: str, focus: Focus, fresh: bool, history: JobHistory, system: str) -> str | None:
    """The finding a verdict, a reason or a shortfall is asked of."""
    if kind in ("shortfall", "size"):
        if re.search(r"\bsuppl(?:y|ies)\b", question.words):
            return "supply_duct"
        if re.search(r"\breturns?\b", question.words):
            return "return_duct"
        if re.search(r"\b(?:air|airflow|cfm|cfms)\b", question.words):
            return None
        row = asked().get(question.quantities[0]) if question.quantities else None
        return row.about if row else focus.about if fresh else None
    if kind == "verdict" and _TOUCH.search(question.words):
        return "charge"  # "should I add refrigerant?"
    row = asked().get(question.quantities[0]) if question.quantities else None
    named = row.about if row else None
    if question.newest:  # "did it hold" may be the vacuum or the nitrogen: the one that was told last
        newest = history.newest([r for r in history.logs[-1].readings if r.quantity in question.quantities])
        named = asked()[newest.quantity].about if newest else None
    if row and row.name == "superheat" and charge_quantity(history.logs[-1], system) != "superheat":
        named = "superheat"  # with a valve the superheat judges the valve, not the charge
    if question.about and (named in (None, question.about) or _says_more(question)):
        return question.about
    if named:
        return named
    just_told = last_told(history)
    meant = just_told if just_told and not (fresh and focus.about) else focus.about or just_told or "charge"
    if re.search(r"\bprovisional\b", question.words):
        return _provisional(history.logs[-1], system, meant)
    return meant


def _provisional(log: JobLog, system: str, meant: str) -> str:
    """ "Why is it provisional?" is about the finding that is, whatever was spoken of last."""
    held = [v.about for v in log.verdicts if v.status == "provisional" and on_system(v.system, system)]
    return meant if meant in held or not held else held[0]


def _says_more(question: Question) -> bool:
    """Whether the finding's own word outweighs a quantity's: "is the charge good at that subcool"."""
    side = question.newest and re.search(r"\b(?:returns?|supply|supplies)\b", question.words)
    return bool(side or re.search(r"\b(?:charge|charged|overcharged|undercharged)\b", question.words))


def last_told(history: JobHistory) -> str | None:
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


def visit_meant(question: Question, kind: str | None, time: AskedTime, focus: Focus, fresh: bool) -> int | None:
    """The visit named; else the one spoken of before, while the talk stays in the past."""
    if time.said:
        return None if time.now else time.visit
    stays = fresh and (question.goes_on or question.points_back or question.past)
    return focus.visit if stays and kind in ABOUT_A_VALUE else None


def asks_inspection(question: Question, log: JobLog, about: str | None) -> bool:
    """ "Did we pass?" is about the inspector where there was one and nothing else is named."""
    if not any(event.kind == "inspection" for event in log.events):
        return False
    trade = permits.trade_named(question.words)
    passing = re.search(r"\b(?:pass|passed|fail|failed|good|sign)\b", question.words)
    named = question.about or (question.quantities and about)
    if trade and not re.search(r"\bpressure\b", question.words) and passing:
        return any(event.kind == "inspection" and event.trade == trade for event in log.events)
    return bool(passing and _INSPECTED.search(question.words) and not named)
