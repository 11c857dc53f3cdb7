"""Answers that are findings: is it in range, did it pass, why, how much is it short, is anything wrong."""

from __future__ import annotations

import re

from assistant.converse.asking import (
    Asking,
    Told,
    charge_quantity,
    evidence_readings,
    found_values,
    on_system,
    system_name,
    verdict_on,
    visit_of,
)
from assistant.converse.likeness import content_words, likeness
from assistant.converse.speech import (
    amount,
    evidence_text,
    joined,
    needed,
    sentence,
    spoken,
    without_digits,
)
from assistant.converse.vocabulary import asked, findings, full, generic_words, short, title
from assistant.records import Answer, Calculation, Concern, JobLog, Reading, Verdict

GOOD = frozenset({"in_range", "pass"})
_PRAISE = re.compile(
    r"\b(?:in range|within|on target|on the money|in spec|pass|passed|passes|good|okay|ok|all right|alright"
    r"|fine|right|hold|held|holding|legal|tight|acceptable|dialed in|enough|normal|correct|happy|big enough)\b"
)
_BLAME = {
    "low": re.compile(r"\b(?:low|undercharged|light|weak|undersized|short|too cold)\b"),
    "high": re.compile(r"\b(?:high|overcharged|heavy|fat|hot|too hot|overdrawing)\b"),
    "fail": re.compile(r"\b(?:fail|failed|leak|leaking|leaked|lose|drop|dropped|bad|out of range|out of spec|off)\b"),
}
_ASKS_WHICH = re.compile(r"\b(?:how|which|what)\b")
_STATUS = {"in_range": "in range", "low": "low", "high": "high", "pass": "passed", "fail": "failed"}
_SEVERITY = {"stop": 0, "attention": 1, "info": 2}


def verdict_answer(asking: Asking) -> Told:
    """The finding asked about, in plain words, with its figures and their evidence."""
    about = asking.about or "charge"
    told = [(system, verdict_on(asking.log, about, system)) for system in asking.systems]
    held = [(system, verdict) for system, verdict in told if verdict]
    if not held:
        return _no_verdict(asking, about)
    records: list = [verdict for _, verdict in held]
    says = []
    for system, verdict in held:
        readings = readings_behind(asking, about, system)
        records.extend(readings)
        says.append(joined(_verdict_text(asking, verdict, system), source_of(asking, readings, verdict)))
    first = held[0][1]
    unit = _unit_of(asking.log, about, held[0][0])
    value = first.value if len(held) == 1 and unit else None
    quantity = _quantity_of(asking.log, about, held[0][0])
    return Told(
        Answer(" ".join(says), value, unit if value is not None else None, tuple(dict.fromkeys(records))),
        quantity=quantity,
        about=about,
        system=held[0][0] if asking.single or len(held) == 1 and len(asking.systems) > 1 else None,
    )


def _quantity_of(log: JobLog, about: str, system: str) -> str | None:
    """The quantity a finding is about, by the value it compares, else the first that is known."""
    if about == "charge":
        return charge_quantity(log, system)
    named = [row.name for row in asked().values() if row.about == about]
    verdict = verdict_on(log, about, system)
    compared = _with_value(log, named, verdict, system)
    known = {r.quantity for r in log.readings if r.status == "current"} | {c.name for c in log.calculations}
    return compared or next((name for name in named if name in known), named[0] if named else None)


def _with_value(log: JobLog, named: list[str], verdict: Verdict | None, system: str) -> str | None:
    """Which of the quantities has the very value the verdict compares."""
    if verdict is None or verdict.value is None:
        return None
    values = [(r.quantity, r.value) for r in log.readings if r.status == "current" and on_system(r.system, system)]
    values += [(c.name, c.value) for c in log.calculations if on_system(c.system, system)]
    return next((name for name, value in values if name in named and abs(value - verdict.value) < 1e-6), None)


def _unit_of(log: JobLog, about: str, system: str) -> str | None:
    """The unit of a verdict's value; None where the value is no quantity's own."""
    verdict = verdict_on(log, about, system)
    named = [row.name for row in asked().values() if row.about == about]
    quantity = charge_quantity(log, system) if about == "charge" else _with_value(log, named, verdict, system)
    units = [r.unit for r in log.readings if r.quantity == quantity]
    units += [c.unit for c in log.calculations if c.name == quantity]
    return units[0] if units else None


def _verdict_text(asking: Asking, verdict: Verdict, system: str) -> str:
    name = title(verdict.about)
    where = f"{without_digits(system)} " if system_name(system) and (len(asking.systems) > 1 or asking.single) else ""
    what = f"the {where}{name}"
    because = _figures(asking.log, verdict)
    if verdict.status == "unknown":
        return _unknown_text(asking, verdict, what, system)
    if verdict.status == "provisional":
        finding = _STATUS.get(verdict.finding or "", "open")
        by_itself = f"by itself {what} would be {finding}" if verdict.finding else f"{what} stays open"
        return joined(f"Provisional, because {provisional_because(asking.log, system)}", f"{by_itself}, {because}")
    status = _STATUS[verdict.status]
    word = _yes_or_no(asking.words, verdict.status)
    verb = "" if verdict.status in ("pass", "fail") else "is "
    return f"{word}{what} {verb}{status}: {because}" if because else f"{word}{what} {verb}{status}"


def provisional_because(log: JobLog, system: str) -> str:
    """Air that is short now, or air that was mended since: then the charge is to be checked again."""
    air = verdict_on(log, "airflow", system)
    if air is None or air.status == "low":
        return "the airflow is short"
    return "it was read while the airflow was short, and the charge has not been checked again since the air was mended"


def _figures(log: JobLog, verdict: Verdict) -> str:
    """What the verdict compares. The charge in few words; else the reason the judgement gives."""
    if verdict.about == "charge" and verdict.value is not None and verdict.target is not None:
        name = short(charge_quantity(log, verdict.system))
        return (
            f"{name} {amount(verdict.value, 'delta_degF')}, calls for {amount(verdict.target, 'delta_degF').split()[0]}"
        )
    return spoken(verdict.because)


def _yes_or_no(words: str, status: str) -> str:
    """ "Yes, " or "No, " where the question can be answered so; else nothing."""
    if not re.match(
        r"(?:\w+ ){0,2}?(?:is|was|are|were|did|does|do|has|have|am)\b(?! it (?:do|go|look))", words
    ) or _ASKS_WHICH.search(words):
        return ""
    blamed = next((blame for blame, pattern in _BLAME.items() if pattern.search(words)), None)
    if blamed:
        agrees = status == blamed or (blamed == "fail" and status not in GOOD)
        return "Yes, " if agrees else "No, "
    if _PRAISE.search(words):
        return "Yes, " if status in GOOD else "No, "
    return ""


def _unknown_text(asking: Asking, verdict: Verdict, what: str, system: str) -> str:
    if verdict.about == "vacuum" and found_values(asking, "vacuum_level", system):
        got = found_values(asking, "vacuum_level", system)[0]
        return joined(
            f"Not yet, {what} is unknown: it got down to {amount(got.value, got.unit)}, "
            "but it has to be valved off and held for ten minutes before it counts"
        )
    if verdict.about == "pressure_test":
        return joined(f"Not yet, {what} is unknown: it has to be held, and read again after a known time")
    if verdict.needs:
        return joined(
            f"Unknown: to judge {what} I still need {needed(_need(asking, need, system) for need in verdict.needs)}"
        )
    return joined(
        f"Unknown: {spoken(verdict.because)}" if verdict.because else f"Unknown: nothing to judge {what} by yet"
    )


def _need(asking: Asking, need: str, system: str) -> str:
    """What a verdict lacks, in words: of a value that is known it is the plate's figure that is missing."""
    if need in ("subcooling", "superheat"):
        return f"the target {short(need)}"
    return f"the plate's figure for the {full(need)}" if found_values(asking, need, system) else need


def readings_behind(asking: Asking, about: str, system: str) -> list[Reading]:
    """The readings that carry a finding: the inputs of the quantities it is about."""
    names = (
        [charge_quantity(asking.log, system)]
        if about == "charge"
        else [r.name for r in asked().values() if r.about == about]
    )
    records: list[Reading | Calculation] = []
    for name in names:
        records += found_values(asking, name, system)
    readings = evidence_readings(records)
    newest = max((visit_of(r, asking.history) for r in readings), default=-1)
    return [r for r in readings if visit_of(r, asking.history) == newest]


def source_of(asking: Asking, readings: list[Reading], verdict: Verdict) -> str:
    """Where the figures come from; nothing when a needed value is missing, so that no figure stands there."""
    if verdict.status == "unknown" or not readings:
        return ""
    return f"From {evidence_text(readings, asking.history)}"


def _no_verdict(asking: Asking, about: str) -> Told:
    """No limit gave a verdict: a concern may still speak for it, else say what it would need."""
    row = findings().get(about)
    raised = [
        c for c in asking.log.concerns if row and c.code in row.concerns and c.system in (*asking.systems, "site")
    ]
    quantity = _quantity_of(asking.log, about, asking.systems[0])
    if raised:
        say = joined(*[_concern_text(concern, asking) for concern in raised])
        return Told(Answer(say, evidence=()), quantity=quantity, about=about)
    records = [
        each for system in asking.systems for each in (found_values(asking, quantity, system) if quantity else [])
    ]
    name = title(about)
    if records:
        readings = evidence_readings(records)
        say = joined(
            f"Nothing speaks against the {name}: {short(quantity)} {amount(records[0].value, records[0].unit)}",
            f"From {evidence_text(readings, asking.history)}",
            "I have no limit to hold it against, so that is unknown",
        )
        return Told(
            Answer(say, records[0].value, records[0].unit, tuple(dict.fromkeys([*records, *readings]))),
            quantity=quantity,
            about=about,
        )
    where = f" for {without_digits(asking.systems[0])}" if asking.single and system_name(asking.systems[0]) else ""
    then = " that day" if asking.visit is not None else ""
    needs = _needs_of(about, quantity, asking)
    say = joined(
        f"Unknown: nothing was said{then} to judge the {name}{where} by", f"It would need {needs}" if needs else ""
    )
    return Told(Answer(say), quantity=quantity, about=about, system=asking.systems[0] if asking.single else None)


def _needs_of(about: str, quantity: str | None, asking: Asking) -> str:
    if about == "vacuum":
        return "the vacuum pulled, valved off and held"
    row = asked().get(quantity or "")
    return needed(row.needs or (row.name,)) if row else ""


# ---------------------------------------------------------------- why


def why_answer(asking: Asking) -> Told:
    """The reasons behind a finding: the judgement's own, and what the concerns add."""
    about = asking.about or "charge"
    for system in asking.systems:
        verdict = verdict_on(asking.log, about, system)
        if verdict is None:
            continue
        if verdict.status == "unknown":
            say = _unknown_text(asking, verdict, f"the {title(about)}", system)
            return Told(Answer(say, evidence=(verdict,)), about=about, quantity=_quantity_of(asking.log, about, system))
        row = findings().get(about)
        codes = row.concerns if row else ()
        raised = [c for c in asking.log.concerns if c.system == system and c.code in (*codes, f"{about}_provisional")]
        reason = f"Because {spoken(verdict.because)}" if verdict.because else ""
        if verdict.status == "provisional":
            reason = f"Because {provisional_because(asking.log, system)}: {spoken(verdict.because)}"
        readings = readings_behind(asking, about, system)
        unit = _unit_of(asking.log, about, system)
        caution = next((concern.caution for concern in raised if concern.caution), None)
        say = joined(reason, caution or "", source_of(asking, readings, verdict))
        return Told(
            Answer(say, verdict.value if unit else None, unit, (verdict, *readings)),
            about=about,
            quantity=_quantity_of(asking.log, about, system),
        )
    return _no_verdict(asking, about)


def speaks_against(asking: Asking) -> bool:
    """Whether a concern speaks of what the question names, or the question names nothing."""
    content = content_words(asking.words) - generic_words()
    texts = [f"{concern.code.replace('_', ' ')} {concern.text}" for concern in asking.log.concerns]
    return not content or any(likeness(content, text) > 0 for text in texts)


def concerns_answer(asking: Asking) -> Told:
    """Everything that speaks against the job as it stands, what stops it first."""
    log = asking.log
    chosen = [c for c in log.concerns if not asking.single or c.system in (*asking.systems, "site")]
    named = [c for c in chosen if likeness(content_words(asking.words), f"{c.code.replace('_', ' ')} {c.text}") > 0]
    chosen = sorted(named or [c for c in chosen if c.severity != "info"], key=lambda c: _SEVERITY[c.severity])
    if not chosen:
        missing = f"I'd still like to know: {log.asks[0].text}" if log.asks else ""
        return Told(Answer(joined("Nothing wrong that I know of", missing)))
    return Told(Answer(joined(*[_concern_text(concern, asking) for concern in chosen[:4]])))


def _concern_text(concern: Concern, asking: Asking) -> str:
    where = f"{concern.system}: " if system_name(concern.system) and len(asking.history.logs[-1].systems()) > 1 else ""
    stop = "Stop. " if concern.severity == "stop" else ""
    caution = f" {sentence(spoken(concern.caution))}" if concern.caution and concern.severity == "stop" else ""
    return f"{stop}{where}{sentence(spoken(concern.text))}{caution}"
