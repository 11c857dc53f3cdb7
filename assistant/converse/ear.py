"""Text as a voice should say it: numbers the trade's way, abbreviations letter by letter.

118 -> "one eighteen"    0.52 -> "point five two"    1,200 -> "twelve hundred"    R-410A -> "R four ten A"
"""

from __future__ import annotations

import re

_ONES = (
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen"
    " eighteen nineteen".split()
)
_TENS = "zero ten twenty thirty forty fifty sixty seventy eighty ninety".split()
_ORDINAL = {
    "one": "first", "two": "second", "three": "third", "five": "fifth", "eight": "eighth", "nine": "ninth",
    "twelve": "twelfth",
}  # fmt: skip
_PARTS = {2: "half", 4: "quarter", 8: "eighth", 16: "sixteenth", 32: "thirty second"}
_MONTHS = "January|February|March|April|May|June|July|August|September|October|November|December"
_SPELLED = {
    "psi": "P S I", "cfm": "C F M", "TXV": "T X V", "EEV": "E E V", "CO": "C O", "CO2": "C O two", "Btu": "B T U",
    "ppm": "parts per million",
    "lb": "pounds", "oz": "ounces", "ft": "feet", "inH2O": "inches of water", "RLA": "R L A",
    "am": "A M", "pm": "P M", "AM": "A M", "PM": "P M",
    "psig": "P S I", "BTU": "B T U", "lbs": "pounds", "rpm": "R P M", "RPM": "R P M", "gpm": "G P M", "GPM": "G P M",
    "MERV": "merv", "SEER": "seer",
    "FLA": "F L A", "LRA": "L R A", "MCA": "M C A", "ECM": "E C M", "TESP": "T E S P", "HVAC": "H V A C",
    "EPA": "E P A",
}  # fmt: skip
_NUMBER = r"\d{1,3}(?:,\d{3})+(?:\.\d+)?|\d+(?:\.\d+)?|\.\d+"
# Signs and short units, which stand for a unit only behind a figure: "4.2 A" is amps, "unit A" is not.
_UNITS = {
    "°F": "degrees", "°C": "degrees Celsius", "°": "degrees", "%": "percent", "V": "volts", "VAC": "volts",
    "VDC": "volts", "A": "amps", "W": "watts", "kW": "kilowatts", "Hz": "hertz", "hp": "horsepower", "s": "seconds",
    "min": "minutes", "MFD": "microfarads", "uF": "microfarads", "µF": "microfarads", "uA": "microamps",
    "µA": "microamps", "in2": "square inches", "ft2": "square feet", "ft3": "cubic feet", "in. w.c.": "inches of water",
    '" w.c.': "inches of water", '" wc': "inches of water", '"': "inch", "µ": "microns", "cfm/ton": "cfm a ton",
    "oz/ft": "ounces a foot", "Btu/h": "Btu an hour", "Btu/ft3": "Btu a cubic foot", "inH2O": "inches of water",
}  # fmt: skip
_UNIT = re.compile(
    r"(?<=\d)(?<!nit \d)\s*("  # "unit 3 A" has a letter for a name
    + "|".join(re.escape(unit) for unit in sorted(_UNITS, key=len, reverse=True))
    + r")(?!\w|/)(?! M\b)"
)
_RAISED = str.maketrans("²³μ", "23µ")
# Its quotation marks go first: the one that ends "head 342" is no inch.
_QUOTED = re.compile(r'(?<![\w"])"([^"]*)"')
_BARE_REFRIGERANT = re.compile(r"(?<![\w-])(134a|134A|404A|407C|410A|448A|449A|452B|454B|513A)\b")
_SIGNS = (
    (re.compile(r"(?<=\d)\s?[–—]\s?(?=\d)"), " to "),
    (re.compile(r"(?<![\d-])(\d{1,3})-(?=\d{1,3}(?![\d/-]))"), r"\1 to "),  # not a date, 1-1/8, or a telephone
    (re.compile(r"(?<=\d)-(?=\d+(?![\d/]))"), " "),
    (re.compile(r"[−–](?=\.?\d)"), "-"),
    (re.compile(r"(?<=\d)-(?=[A-Za-z])"), " "),  # "24-hour"
    (re.compile(r"(?<=\d)\s*[x×]\s*(?=\d)"), " by "),
    (re.compile(r"(?<=\d) in (?=flex\b|round\b|oval\b)"), " inch "),
    (re.compile(r"\$(\d[\d,]*(?:\.\d+)?)"), r"\1 dollars"),
    (re.compile(r"#\s*(?=\d)"), "number "),
    (re.compile(r"\+\s*(?=[\d.])"), " plus "),
    (re.compile(r"±"), " plus or minus "),
    (re.compile(r"&"), " and "),
    (re.compile(r"_"), " "),
    (re.compile(r"(?<=[A-Za-z])(?=\d)|(?<=\d)(?=[A-Za-z])"), " "),  # "A2L", "24VAC": letters and figures apart
)
# What is still no word after that is not said: brackets become a pause, the rest nothing.
_BRACKETS = re.compile(r"\s*[()\[\]{}](?=\s*[.,;:?!])|^\s*[(\[{]|\s*[()\[\]{}]\s*$")
_UNSAID = re.compile(r"[^\w\s.,;:?!'’-]|_|(?<!\w)[-'’]|[-'’](?!\w)")


def for_the_ear(text: str) -> str:
    """`text` with every number, sign and abbreviation written as it is said: words, and marks that pause."""
    text = _BARE_REFRIGERANT.sub(r"R-\1", _QUOTED.sub(r"\1", text.translate(_RAISED)))
    text = re.sub(
        r"\bR-?(\d+)([A-Za-z]?)\b", lambda m: f"R {_refrigerant(m.group(1))} {m.group(2).upper()}".rstrip(), text
    )
    text = _UNIT.sub(lambda m: f" {_UNITS[m.group(1)]}", text)
    text = re.sub(rf"\b(\d{{1,2}}) ({_MONTHS})\b", r"\2 \1", text)
    text = re.sub(r"\b(\d+)(?:st|nd|rd|th)\b", lambda m: ordinal(int(m.group(1))), text)
    for sign, said in _SIGNS:
        text = sign.sub(said, text)
    text = re.sub(
        r"\bat (\d+):(\d\d)(?!\s*[apAP][mM])\b", lambda m: f"at {_moment(int(m.group(1)), int(m.group(2)))}", text
    )
    text = re.sub(r"\b(\d{1,2}):(\d\d)\b", lambda m: f"{cardinal(int(m.group(1)))} {_minutes(int(m.group(2)))}", text)
    text = re.sub(rf"\b({_MONTHS}) (\d{{1,2}})\b", lambda m: f"{m.group(1)} {ordinal(int(m.group(2)))}", text)
    text = re.sub(r"\b(?:(\d+)-)?(\d+)/(\d+)\b", lambda m: _fraction(*m.groups()), text)
    text = re.sub(
        rf"(?<![\w.])(-)?({_NUMBER})(?![\w])",
        lambda m: ("minus " if m.group(1) else "") + number_aloud(m.group(2)),
        text,
    )
    text = re.sub(r"\b[A-Za-z]\w*\b", lambda m: _SPELLED.get(m.group(), m.group()), text)
    return _only_words(text)


def _only_words(text: str) -> str:
    """Without signs a voice would stumble over. Brackets pause; a slash or an underscore parts two words."""
    text = re.sub(r"\s*[(\[{]\s*|\s*[)\]}](?=\s*\w)", ", ", _BRACKETS.sub("", text))
    text = re.sub(r"\d+", lambda m: f" {number_aloud(m.group())} ", _UNSAID.sub(" ", text))
    return re.sub(r" (?=[.,;:?!])", "", re.sub(r"\s+", " ", text)).strip()


def number_aloud(digits: str) -> str:
    """A number in digits, as the trade says it."""
    whole, _, decimals = digits.replace(",", "").partition(".")
    if not decimals:
        return _whole(int(whole))
    tail = " ".join("oh" if d == "0" else _ONES[int(d)] for d in decimals)
    return f"point {tail}" if int(whole or 0) == 0 else f"{_whole(int(whole))} point {tail}"


def _whole(value: int) -> str:
    """Three and four figures side by side ("one eighteen", "eleven fifty"), the rest as cardinals."""
    if 100 < value < 1000 and value % 100:
        return f"{_ONES[value // 100]} {_two(value % 100)}"
    if 1100 <= value < 10000 and value % 1000:
        high, low = divmod(value, 100)
        if low == 0:
            return f"{cardinal(high)} hundred"
        if high % 10:
            return f"{cardinal(high)} {_two(low)}"
        if low >= 10:
            return f"{cardinal(high)} {_two(low)}"
    return cardinal(value)


def _two(value: int) -> str:
    return f"oh {_ONES[value]}" if value < 10 else cardinal(value)


def cardinal(value: int) -> str:
    """ "one hundred five", "eighty two thousand four hundred"."""
    if value < 20:
        return _ONES[value]
    if value < 100:
        return _TENS[value // 10] + (f" {_ONES[value % 10]}" if value % 10 else "")
    for size, name in ((1_000_000, "million"), (1000, "thousand"), (100, "hundred")):
        if value >= size:
            rest = f" {cardinal(value % size)}" if value % size else ""
            return f"{cardinal(value // size)} {name}{rest}"
    raise AssertionError("every value of at least 100 has a size")


def ordinal(value: int) -> str:
    """ "twelfth", "twenty fifth"."""
    words = cardinal(value).split()
    last = words[-1]
    words[-1] = _ORDINAL.get(last) or (last[:-1] + "ieth" if last.endswith("y") else last + "th")
    return " ".join(words)


def _refrigerant(digits: str) -> str:
    """ "four ten", "twenty two", "four oh seven", "one thirty four"."""
    value = int(digits)
    return f"{_ONES[value // 100]} {_two(value % 100)}" if value > 99 else cardinal(value)


def _moment(minutes: int, seconds: int) -> str:
    parts = [f"{cardinal(minutes)} minute{'s' if minutes != 1 else ''}"] if minutes else []
    if seconds or not minutes:
        parts.append(f"{cardinal(seconds)} second{'s' if seconds != 1 else ''}")
    return " ".join(parts)


def _minutes(minutes: int) -> str:
    return "o'clock" if minutes == 0 else _two(minutes)


def _fraction(whole: str | None, top: str, bottom: str) -> str:
    name = _PARTS.get(int(bottom))
    if name is None:
        return " ".join(
            filter(None, [whole and cardinal(int(whole)), cardinal(int(top)), "over", cardinal(int(bottom))])
        )
    many = "" if int(top) == 1 else "s"
    part = f"{'an' if name[0] == 'e' else 'a'} {name}" if whole and top == "1" else f"{cardinal(int(top))} {name}{many}"
    return f"{cardinal(int(whole))} and {part}" if whole else part.replace("one half", "half")
