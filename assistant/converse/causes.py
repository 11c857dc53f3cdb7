"""What could explain readings that are off: the causes that fit the pattern, the likeliest first."""

from __future__ import annotations

import re

from assistant.converse.asking import Asking, Told, evidence_readings, found_values, system_name, verdict_on
from assistant.converse.judged import GOOD, concerns_answer, verdict_answer, why_answer
from assistant.converse.speech import joined, listed, spoken, without_digits
from assistant.judge import Cause, diagnose
from assistant.records import Answer, JobLog, Reading

_OFF = frozenset({"low", "high", "fail", "provisional"})
# What a pattern of the refrigerant side speaks of; why a duct or a flame is off it cannot tell.
_FINDINGS = frozenset({"charge", "superheat", "freeze"})
_QUANTITIES = frozenset({
    "suction_pressure", "suction_saturation_temp", "superheat", "liquid_pressure", "liquid_saturation_temp",
    "subcooling", "condensing_split", "evaporator_split", "temperature_split", "compressor_current",
})  # fmt: skip
_EVIDENCE = ("superheat", "subcooling", "suction_saturation_temp", "condensing_split", "temperature_split")
_CHARGE = frozenset({"charge_low", "charge_high"})
_MOST_SIGNS = 3  # as many as an ear keeps
_ASKS_WHY = re.compile(r"\b(?:why|how come)\b")


def causes_in(log: JobLog, system: str) -> tuple[Cause, ...]:
    """The causes that fit a system with something out of range, the likeliest first.

    Short air comes alone: it explains much by itself, and no other pattern can be trusted before it is mended.
    """
    if not any(verdict.system == system and verdict.status in _OFF for verdict in log.verdicts):
        return ()
    causes = diagnose(log, system)
    return tuple(cause for cause in causes if cause.code == "airflow_low") or causes


def next_of(log: JobLog, system: str, cause: Cause) -> str:
    """The measurement that would tell; the air before the charge, where it is not known to be in order."""
    air = verdict_on(log, "airflow", system)
    if cause.code not in _CHARGE or (air and air.status in GOOD):
        return cause.next
    return f"Measure the airflow first. {cause.next}"


def causes_answer(asking: Asking) -> Told:
    """The likeliest cause, what speaks for and against it, and the measurement that would tell.

    Where no pattern fits: the reasons of the finding, or what else speaks against the job.
    """
    named = bool(asking.question.about or asking.question.quantities)
    of_pattern = asking.about in _FINDINGS or bool(_QUANTITIES & set(asking.question.quantities))
    if named and not of_pattern:
        return why_answer(asking)
    asks_why = bool(_ASKS_WHY.search(asking.words))
    verdicts = [verdict_on(asking.log, asking.about or "charge", system) for system in asking.systems]
    if asks_why and verdicts and all(verdict and verdict.status in GOOD for verdict in verdicts):
        return verdict_answer(asking)  # "why is it high?" when it is not
    fitting = [(system, causes) for system in asking.systems if (causes := causes_in(asking.log, system))]
    if fitting:
        several = asking.single or len(asking.systems) > 1
        says = [_cause_text(asking, system, causes[0], several) for system, causes in fitting]
        evidence = [reading for system, _ in fitting for reading in _readings_of(asking, system)]
        answer = Answer(" ".join(says), evidence=tuple(dict.fromkeys(evidence)))
        return Told(answer, about=asking.about, system=fitting[0][0] if len(fitting) == 1 and several else None)
    return why_answer(asking) if asks_why else _no_cause(asking)


def _cause_text(asking: Asking, system: str, cause: Cause, several: bool) -> str:
    where = f"{without_digits(system)}, " if several and system_name(system) else ""
    speaks_for = spoken(listed(cause.speaks_for[:_MOST_SIGNS]))
    if cause.code == "airflow_low":  # whatever else is off: no claim that the air is behind all of it
        first, after = "the air comes first: ", "The rest can be judged once the air is right"
    else:
        first, after = "most likely: ", ""
    against = f"Against it: {spoken(listed(cause.speaks_against))}" if cause.speaks_against else ""
    return joined(f"{where}{first}{cause.name}, {speaks_for}", against, next_of(asking.log, system, cause), after)


def _readings_of(asking: Asking, system: str) -> list[Reading]:
    """The readings behind the pattern."""
    return evidence_readings(record for quantity in _EVIDENCE for record in found_values(asking, quantity, system))


def _no_cause(asking: Asking) -> Told:
    told = concerns_answer(asking)
    off = any(verdict.status in _OFF for verdict in asking.log.verdicts)
    say = joined("No one cause fits what I have" if off else "", told.answer.say)
    return Told(Answer(say, evidence=told.answer.evidence), about=asking.about)
