"""Which duct would make up for what is short, and whether the one that was quoted would."""

from __future__ import annotations

import re

from assistant.converse.asking import Asking, Told
from assistant.converse.shortfall import shortfall_answer
from assistant.converse.speech import amount, joined, listed, number
from assistant.records import Answer, DuctRun

_SIZE = re.compile(
    r"\b(\d{1,2}|four|five|six|seven|eight|nine|ten|twelve|fourteen|sixteen|eighteen|twenty)(?: inch| in)?\b"
)
_INCHES = {
    "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8, "nine": 9, "ten": 10, "twelve": 12, "fourteen": 14,
    "sixteen": 16, "eighteen": 18, "twenty": 20,
}  # fmt: skip
_COUNT = {1: "one", 2: "two"}


def size_answer(asking: Asking) -> Told:
    """The smallest added run, or pair of runs, that closes the shortfall; what the quoted one would carry."""
    from assistant.compute.constants import constant
    from assistant.compute.ducts import additions, run_airflow

    short = shortfall_answer(asking)
    missing = short.answer.value
    if not missing:
        return short
    material = "metal" if re.search(r"\bmetal\b", asking.words) else "flex"
    friction = constant("design_friction_rate")
    parts = []
    side = "supply" if short.about == "supply_duct" else "return"
    for run in _considered(asking, side, material):
        carries = run_airflow(run, friction)
        enough = (
            "enough"
            if carries.low >= missing
            else "enough only if it is pulled tight"
            if carries.high >= missing
            else "not enough"
        )
        parts.append(f"{_run(run)} carries {number(carries.low, 'cfm')} to {amount(carries.high, 'cfm')}: {enough}")
    options = additions(missing, friction, material=material)
    would = listed((_sizes(option.sizes_in, material) for option in options), "or")
    first = (
        f"{would} would close {amount(missing, 'cfm')}"
        if would
        else f"No one or two runs close {amount(missing, 'cfm')}"
    )
    made_of = "flex not pulled quite tight" if material == "flex" else "plain metal"
    rate = f"That is at {number(friction)} inches per hundred feet, with {made_of}"
    asked_one = bool(parts) and bool(re.search(r"^(?:\w+ )?would\b", asking.words))
    say = joined(*(parts + [first] if asked_one else [first, *parts]), rate)
    value = float(options[0].sizes_in[0]) if options and len(options[0].sizes_in) == 1 else None
    return Told(
        Answer(say, value, "in" if value else None, short.answer.evidence),
        quantity=short.quantity,
        about=short.about,
        system=short.system,
    )


def _considered(asking: Asking, side: str, material: str) -> list[DuctRun]:
    """The run the question names, else those that were proposed."""
    match = _SIZE.search(asking.words)
    if match:
        word = match.group(1)
        inches = float(_INCHES.get(word) or word)
        if 4 <= inches <= 24:
            return [DuctRun(side, size_in=(inches,), material=material)]
    return [
        r
        for r in asking.log.duct_runs
        if r.side == side and r.status == "proposed" and r.system in asking.systems and r.size_in
    ]


def _run(run: DuctRun) -> str:
    size = " by ".join(number(each) for each in run.size_in)
    return f"{_COUNT.get(run.count, str(run.count))} {size} inch {run.material or run.shape}"


def _sizes(sizes: tuple[int, ...], material: str) -> str:
    if len(sizes) == 1:
        return f"a {sizes[0]} inch {material}"
    if sizes[0] == sizes[1]:
        return f"two {sizes[0]} inch {material}"
    return f"a {sizes[0]} and a {sizes[1]} inch {material}"
