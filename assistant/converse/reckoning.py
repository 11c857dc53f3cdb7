"""Reckoning on the spot: "what's saturation at 118 on 410A?" is worked out from the question's own numbers.

Nothing of it is written into the log: a number in a question is no reading.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field

from assistant.converse.focus import Focus
from assistant.converse.history import JobHistory
from assistant.converse.speech import amount, joined, number, spoken
from assistant.converse.vocabulary import refrigerants
from assistant.converse.when import MONTHS
from assistant.errors import AssistantError
from assistant.records import Answer
from assistant.understand.patterns import found

_WORTH_A_LOOK = re.compile(
    r"satur|\bsat\b|superheat|subcool|line ?set|\bdial\b|\bmeter\b|\bair free\b|\bton|\bpressure\b|\bboil",
    re.IGNORECASE,
)
_HOLDS_A_NUMBER = re.compile(
    r"\d|\b(?:two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|\w+teen|twenty|thirty|forty|fifty|sixty|seventy"
    r"|eighty|ninety|hundred|one|half|point)\b",
    re.IGNORECASE,
)
_SATURATION = re.compile(r"\bsat(?:uration|urated|urate|urating)?\b|\bboil")
_ASSUMED = "R-410A"
_NAMES = frozenset({"unit", "system", "zone", "rtu", "day", "visit", "that", "this", "which", *MONTHS})


@dataclass(frozen=True, slots=True)
class Reckoned:
    answer: Answer
    quantity: str | None = None


@dataclass(frozen=True, slots=True)
class Figures:
    """A question's words with its numbers and refrigerant taken out: "target superheat <0> wet bulb <1> outside"."""

    text: str
    values: tuple[float, ...]
    refrigerant: str | None  # named in the question, else the job's own
    refrigerant_named: bool = False
    known: dict[str, float] = field(default_factory=dict)  # the job's own readings, for what the question leaves out

    def beside(self, *patterns: str) -> float | None:
        """The first number that stands as one of the patterns says; N marks its place."""
        for pattern in patterns:
            match = re.search(pattern.replace("N", r"<(\d+)>"), self.text)
            if match:
                return self.values[int(match.group(1))]
        return None


def reckoned(question: str, words: str, history: JobHistory | None, focus: Focus) -> Reckoned | None:
    """What the question's own numbers give; None when it is no reckoning but asks about the job."""
    if not (_WORTH_A_LOOK.search(question) and _HOLDS_A_NUMBER.search(question)):
        return None
    figures = _figures(question, history, focus)
    if not figures.values:
        return None
    for reckoner in _RECKONERS:
        try:
            result = reckoner(figures)
        except AssistantError as err:
            return Reckoned(Answer(joined("I can't work that out", spoken(str(err)))))
        if result:
            return result
    return None


def _figures(question: str, history: JobHistory | None, focus: Focus) -> Figures:
    from assistant.understand.numbers import find_numbers  # most questions hold no number
    from assistant.understand.tokens import read_tokens

    refrigerant, question = _refrigerant(question)
    known, own = _known(history, focus)
    said = read_tokens(question)
    words, values, at = [], [], 0
    for each in find_numbers(said):
        before = said.lower[each.start - 1] if each.start else ""
        if each.kind == "ordinal" or before in _NAMES:
            continue  # "the first day", "unit two", "May 12": no figures to reckon with
        words += said.lower[at : each.start]
        words.append(f"<{len(values)}>")
        values.append(float(each.value))
        at = each.end
    words += said.lower[at:]
    text = re.sub(r"[^\w<>'/ ]", " ", " ".join(words)).replace("'s", "is")
    return Figures(" ".join(text.split()), tuple(values), refrigerant or own, refrigerant is not None, known)


def _refrigerant(question: str) -> tuple[str | None, str]:
    """The refrigerant a question names, and the question without it, so that "410" is no number of it."""
    lowered = " ".join(
        re.findall(r"[a-z]+|\d+(?:\.\d+)?[a-z]*|[^\w\s]", question.lower().replace("-", " ").replace("r4", "r 4"))
    )
    best: tuple[int, str, int, int] | None = None
    for name, wordings in refrigerants().items():
        match = found(wordings, lowered)
        if match and (best is None or len(match.group()) > best[0]):
            best = (len(match.group()), name, match.start(), match.end())
    if best is None:
        return None, question
    shifted = f" {lowered}"
    return best[1], f"{shifted[: best[2]]} {shifted[best[3] :]}".strip()


def _known(history: JobHistory | None, focus: Focus) -> tuple[dict[str, float], str | None]:
    if history is None or history.latest is None:
        return {}, None
    log = history.latest
    values = {f"{r.role} {r.quantity}": r.value for r in log.readings if r.status == "current"}
    system = focus.system or next(iter(log.systems()))
    own = next((e.refrigerant for e in log.equipment if e.system == system and e.refrigerant), None)
    return values, own


# ---------------------------------------------------------------- one by one


def _saturation(figures: Figures) -> Reckoned | None:
    turned = figures.refrigerant_named and re.search(r"\bpressure\b", figures.text)  # "what pressure is 40 on 22?"
    if re.search("superheat|subcool", figures.text) or not (turned or _SATURATION.search(figures.text)):
        return None
    from assistant.compute.refrigerant import saturation_pressure, saturation_temp

    refrigerant, assumed = _or_assumed(figures)
    temp = figures.beside(r"N (?:degrees?|f\b|fahrenheit)")
    if temp is not None and re.search(r"\bpressure\b|\bpsi\b", figures.text):
        point = "bubble" if re.search(r"head|liquid|high|condens|bubble", figures.text) else "dew"
        psi = saturation_pressure(temp, refrigerant, point=point)
        return _told(
            psi, "psi", f"{amount(psi, 'psi')} is {number(temp)} degrees saturated on {refrigerant}{assumed}", None
        )
    pressure = figures.beside(
        r"(?:at|of|for|on|with) N\b", r"N (?:psi|pounds|head|suction|on|satur)", r"(?:head|suction|side) N\b"
    )
    if pressure is None:
        return None
    dew, bubble = (saturation_temp(pressure, refrigerant, point=point) for point in ("dew", "bubble"))
    liquid = bool(re.search(r"head|liquid|high|condens|bubble", figures.text)) or (
        dew > 75 and not re.search(r"suction|low|vapou?r|evap|dew|coil", figures.text)
    )
    value, other, name = (bubble, dew, "dew") if liquid else (dew, bubble, "bubble")
    glide = f", {name} point {number(other, 'degF')}" if abs(dew - bubble) >= 1 else ""
    return _told(
        value,
        "degF",
        f"{amount(value, 'degF')} saturation at {number(pressure)} psi on {refrigerant}{glide}{assumed}",
        None,
    )


def _target_superheat(figures: Figures) -> Reckoned | None:
    if "superheat" not in figures.text:
        return None
    from assistant.compute.charge import target_superheat

    wet = figures.beside(
        r"N (?:degrees? )?(?:of )?(?:(?:indoor|return|entering|inside) )?wet",
        r"wet bulb (?:(?:is|of|at|temp|temperature|and) )*N",
    )
    outside = figures.beside(
        r"N (?:degrees? )?(?:(?:it )?is )?(?:out\b|outside|outdoors?|ambient)",
        r"(?:outside|outdoors?|ambient|out) (?:(?:is|of|at|temp|temperature|air) )*N",
    )
    if wet is None and outside is None:
        return None
    wet = wet if wet is not None else figures.known.get("measured return_wet_bulb")
    outside = outside if outside is not None else figures.known.get("measured outdoor_temp")
    if wet is None or outside is None:
        needs = "the return wet bulb" if wet is None else "the outdoor temperature"
        return Reckoned(
            Answer(joined(f"I can't work out the target superheat: it would need {needs} too")), "superheat"
        )
    value = target_superheat(wet, outside)
    at = f"at {number(wet)} wet bulb and {number(outside)} outside"
    say = f"{amount(value, 'delta_degF')} target superheat {at}, by the table for a fixed orifice"
    return _told(value, "delta_degF", say, "superheat")


def _line_set(figures: Figures) -> Reckoned | None:
    if not re.search(r"line ?set|\bof line\b|liquid line", figures.text) or not re.search(
        r"\bhow much|\bcharge|\badd|\bextra|\bweigh|\bounces", figures.text
    ):
        return None
    from assistant.compute.charge import line_charge_rate, line_set_charge

    included = figures.beside(
        r"N (?:(?:feet|foot|ft) )?(?:(?:is|are|was|comes|come) )?(?:included|covered|allowed|pre ?charged|free)",
        r"(?:included|covers?|good for|charged for|allows|comes with|first|less|minus|includes) (?:(?:for|is|the) )*N",
    )
    rate = figures.beside(r"N (?:of )?(?:an? )?(?:ounces?|oz) (?:a|per|for each|each|to the) (?:foot|ft)")
    size = figures.beside(
        r"N (?:inch(?:es)? )?(?:liquid|line\b(?! ?set)|copper|pipe)",
        r"(?:liquid|liquid line) (?:(?:is|line|of) )*N(?! (?:feet|foot|ft))",
    )
    size = (
        size
        if size is not None and size <= 1.125
        else next((v for v in figures.values if v <= 1.125 and v not in (rate,)), None)
    )
    lengths = [v for v in figures.values if v not in (included, rate, size) and v > 1.125]
    length = figures.beside(r"N (?:feet|foot|ft) (?:of )?(?:line|long|run|total)") or (lengths[0] if lengths else None)
    length = length if length is not None else figures.known.get("measured line_set_length")
    included = included if included is not None else figures.known.get("rated line_set_length")
    size = size if size is not None else figures.known.get("measured liquid_line_size")
    missing = [
        name
        for name, value in (
            ("the line set length", length),
            ("the length the factory charge covers", included),
            ("the liquid line size", rate or size),
        )
        if value is None
    ]
    if missing:
        return Reckoned(
            Answer(joined(f"I can't work out that charge: it would need {' and '.join(missing)}")), "line_set_charge"
        )
    refrigerant, assumed = _or_assumed(figures)
    each = rate if rate is not None else line_charge_rate(size, refrigerant)
    pounds = line_set_charge(length, included, each)
    over = f"{number(length - included)} feet over, at {number(each, decimals=2)} ounces a foot"
    liquid = (
        f" of liquid {refrigerant} in the line{assumed}; the maker's own figure comes first" if rate is None else ""
    )
    return _told(
        pounds,
        "lb",
        f"{number(pounds, decimals=2)} lb, that is {number(pounds * 16, decimals=1)} oz: {over}{liquid}",
        "line_set_charge",
    )


def _heating_input(figures: Figures) -> Reckoned | None:
    if not re.search(r"\bdial\b|\bmeter\b", figures.text):
        return None
    from assistant.compute.constants import constant
    from assistant.compute.gas_heat import heating_input

    seconds = figures.beside(r"N (?:and a half )?(?:seconds?|secs?)\b", r"(?:in|took|takes) N\b")
    dial = figures.beside(
        r"N (?:cubic )?(?:foot|feet|ft)(?: test)? dial",
        r"dial (?:(?:is|of|at) )*N",
        r"N (?:cubic )?(?:foot|feet|ft)\b(?! dial)",
    )
    content = figures.beside(r"N (?:btus?|b t us?)", r"N (?:a|per) (?:cubic )?(?:foot|ft)")
    turns = figures.beside(r"N (?:turns|revolutions|revs)") or 1
    if seconds is None or dial is None:
        missing = [
            name
            for name, value in (("the seconds for one turn", seconds), ("the size of the dial", dial))
            if value is None
        ]
        return Reckoned(
            Answer(joined(f"I can't work out the input: it would need {' and '.join(missing)}")), "heating_input"
        )
    content = content or figures.known.get("rated gas_heating_value") or figures.known.get("measured gas_heating_value")
    usual = content is None
    content = content or constant("natural_gas_heating_value")
    value = heating_input(dial, seconds, content, turns)
    gas = f"{number(content)} Btu a cubic foot" + (
        ", the usual figure for natural gas; the gas company's own comes first" if usual else ""
    )
    return _told(
        value,
        "Btu/h",
        f"{amount(value, 'Btu/h')} input: {number(dial)} foot dial, {number(seconds)} seconds, {gas}",
        "heating_input",
    )


def _charge_check(figures: Figures) -> Reckoned | None:
    """Subcooling or superheat of a pressure and a line temperature told in the question."""
    from assistant.compute.charge import subcooling, superheat

    if "subcool" in figures.text:
        pressure, line = (
            figures.beside(
                r"(?:head|liquid pressure|high side)(?: \w+)? N", r"N (?:psi )?(?:head|on the head|on the high side)"
            ),
            figures.beside(r"(?:liquid line|liquid|line)(?: \w+)? N", r"N (?:degrees? )?(?:on the )?(?:liquid )?line"),
        )
        work, name, of, at = subcooling, "subcooling", "head", "liquid line"
    elif "superheat" in figures.text:
        pressure, line = (
            figures.beside(r"(?:suction|low side)(?: pressure)?(?: \w+)? N", r"N (?:psi )?(?:suction|on the low side)"),
            figures.beside(
                r"(?:suction line|big line|line|vapou?r line)(?: \w+)? N",
                r"N (?:degrees? )?(?:on the )?(?:suction |big )?line",
            ),
        )
        work, name, of, at = superheat, "superheat", "suction", "suction line"
    else:
        return None
    if pressure is None or line is None:
        return None
    refrigerant, assumed = _or_assumed(figures)
    value = work(pressure, line, refrigerant)
    inputs = f"{of} {number(pressure)} and {at} {number(line)}"
    say = f"{amount(value, 'delta_degF')} {name} on {refrigerant}, {inputs}{assumed}"
    return _told(value, "delta_degF", say, name)


def _air(figures: Figures) -> Reckoned | None:
    """What so many tons need, or what so many cfm are a ton."""
    from assistant.compute.airflow import airflow_per_ton, airflow_target

    tons, cfm = figures.beside(r"N (?:and a half )?tons?\b"), figures.beside(r"N (?:cfms?|c f m)")
    if tons is None or not re.search(r"\bcfm|\bair|\bmove|\bper ton|\ba ton", figures.text):
        return None
    if cfm is not None:
        value = airflow_per_ton(cfm, tons)
        return _told(
            value, "cfm/ton", f"{amount(value, 'cfm/ton')}: {number(cfm)} cfm on {number(tons)} ton", "airflow_per_ton"
        )
    value = airflow_target(tons)
    return _told(
        value,
        "cfm",
        f"{amount(value, 'cfm')} for {number(tons)} ton, at the usual {number(value / tons)} a ton",
        "airflow_target",
    )


def _air_free(figures: Figures) -> Reckoned | None:
    if "air free" not in figures.text:
        return None
    from assistant.compute.gas_heat import carbon_monoxide_air_free

    monoxide = figures.beside(r"(?:co|monoxide)(?: \w+){0,3} N", r"N (?:ppm|parts|co\b|carbon)")
    oxygen = figures.beside(r"(?:oxygen|o2)(?: \w+){0,2} N", r"N (?:percent )?(?:oxygen|o2)")
    if monoxide is None or oxygen is None:
        return None
    value = carbon_monoxide_air_free(monoxide, oxygen)
    say = f"{number(value, decimals=0)} ppm air free, from {number(monoxide)} ppm at {number(oxygen)} percent oxygen"
    return _told(value, "ppm", say, "carbon_monoxide_air_free")


def _or_assumed(figures: Figures) -> tuple[str, str]:
    """The refrigerant meant; where none was ever said, the commonest, and a word that it is assumed."""
    if figures.refrigerant:
        return figures.refrigerant, ""
    return _ASSUMED, ", taken as that since no refrigerant was said"


def _told(value: float, unit: str, say: str, quantity: str | None) -> Reckoned:
    return Reckoned(Answer(joined(say), value, unit), quantity)


_RECKONERS: tuple[Callable[[Figures], Reckoned | None], ...] = (
    _saturation, _charge_check, _target_superheat, _line_set, _heating_input, _air_free, _air,
)  # fmt: skip
