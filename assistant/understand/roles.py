"""What kind of value a number is: measured, target, rated or estimated, from the words around it."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass

from assistant.understand.number import Number
from assistant.understand.passage import START, Passage
from assistant.understand.tokens import load_table

# On a plate these are what to aim for; every other quantity on a plate is a rating.
_AIMED_FOR = frozenset(
    {"subcooling", "superheat", "target_superheat", "manifold_pressure", "system_airflow", "temperature_split"}
)
# Said plainly, these are ratings: nobody measures them with an instrument.
ALWAYS_RATED = frozenset(
    {
        "cooling_capacity",
        "heating_output",
        "heating_input",
        "locked_rotor_current",
        "minimum_circuit_ampacity",
        "breaker_size",
        "factory_charge",
        "line_set_charge_rate",
        "gas_heating_value",
    }
)
_ALWAYS_A_RATING = frozenset(
    {"capacitance", "line_voltage", "compressor_current"}
)  # what a part "should be" is its rating
_ALWAYS_TARGET = frozenset({"target_airflow_per_ton", "target_superheat"})
_NEVER_RATED = frozenset({"test_pressure", "vacuum_level"})
_UNREADABLE = frozenset(load_table("cues.toml")["role"]["unreadable"])
_OTHER_PLATES = tuple([word] for word in load_table("cues.toml")["role"]["other_plates"])
_SEPARATES = frozenset({",", ";", "and", "but", "so"})
_STOPS = frozenset({",", ".", ";"})
_SAYS = frozenset("says said wants asks calls for gives shows has had".split())
_SAYS_WHERE = frozenset("on by per from off inside in of the its their that it is 's was what".split())
_CUES = ("target", "plate", "rated", "estimated", "guess")
_NEVER_TARGET = frozenset({"line_set_length", "liquid_line_size", "suction_line_size", "outdoor_temp"})


@dataclass(frozen=True, slots=True)
class Role:
    role: str
    spoken: bool  # a cue said so; False: the default


_MEASURED, _TARGET, _RATED = (Role(role, False) for role in ("measured", "target", "rated"))  # no cue said so


def role_of(
    passage: Passage, number: Number, quantity: str, before: int, after: int, *, is_range: bool = False
) -> Role:
    """The role of a number. `before` and `after` bound the words that can speak for it (tokens)."""
    unit = passage.units.get(number.end)
    end = unit.end if unit else number.end
    if _is_guessed(passage, number, before):
        return Role("estimated", True)
    target, plate, rated = (_speaks(passage, kind, number, end, before, after) for kind in ("target", "plate", "rated"))
    if rated and not target and not plate and quantity in _NEVER_RATED:
        rated = False  # "nitrogen's on a 550" was "on at"
    if target or plate or rated:
        if quantity in ALWAYS_RATED:
            return Role("rated", True)
        if quantity in _ALWAYS_A_RATING or rated and not target and quantity not in _AIMED_FOR - {"system_airflow"}:
            return Role("rated", True)
        if quantity in _NEVER_TARGET:
            return Role("rated" if rated or plate else "measured", True)
        if target and not plate:
            return Role("target", True)
        return Role("target" if quantity in _AIMED_FOR else "rated", True)
    if _speaks(passage, "estimated", number, end, max(before, number.start - 7), min(after, end + 3)):
        return Role("estimated", True)
    return unspoken_role(quantity, is_range=is_range)


_CAPACITORS = frozenset({"cap", "capacitor", "can"})
_SHOWS = frozenset("read reads reading measure measures measured get getting got checks shows tests tested".split())


def of_a_new_capacitor(passage: Passage, number: Number) -> bool:
    """ "Put in a new cap, fifty on the herm and five on the fan": what is printed on it, not measured."""
    start = passage.sentences[passage.sentence_of(number.start)][0]
    words = passage.words(start, number.start)
    new = next((at for at, word in enumerate(words) if word == "new"), None)
    return new is not None and bool(_CAPACITORS.intersection(words[new:])) and _SHOWS.isdisjoint(words[new:])


def _is_guessed(passage: Passage, number: Number, before: int) -> bool:
    """ "Tag's bleached white but I'd guess three ton": said of the value itself, whatever plate was named before."""
    if "guess" not in passage.cues:
        return False
    guesses = passage.cues_in("guess", before, number.start)
    return any(number.start - 3 <= stop <= number.start for _, stop in guesses[-2:])


def unspoken_role(quantity: str, *, is_range: bool) -> Role:
    """What a value is that no cue speaks of."""
    if is_range and quantity == "temperature_rise":
        return _RATED  # a plate gives a range; a rise is measured as one figure
    if quantity in _ALWAYS_TARGET:
        return _TARGET
    return _RATED if quantity in ALWAYS_RATED else _MEASURED


def speaks_of_roles(passage: Passage, start: int, end: int) -> bool:
    """Whether tokens start..end hold any cue of a role."""
    return any(passage.cues_in(kind, start, end) for kind in _CUES if kind in passage.cues)


def _speaks(passage: Passage, kind: str, number: Number, end: int, before: int, after: int) -> bool:
    """Whether a cue of `kind` stands in the number's own stretch of words.

    Ahead of the number it may stand anywhere back to the previous value; behind it only up to the next
    comma ("ten is the target" speaks for ten, "ten, target twelve" does not).
    """
    if kind not in passage.cues:
        return False
    first, last = passage.sentences[passage.sentence_of(number.start)]
    cues = passage.cues_in(kind, first, last)
    if not cues:
        return False
    place = bisect_left(passage.numbers, end, key=START)
    following = passage.numbers[place].start if place < len(passage.numbers) else last
    next_start = following if following < last else 10**9
    own = bisect_left(passage.numbers, number.start, key=START)
    before = max(before, _end_of_a_cleft(passage, before, number.start))
    for start, stop in cues:
        if passage.words(start - 1, start) == ["n't"]:
            continue  # "where I don't want that coil to get to"
        if passage.lower[stop - 1] == "a" and stop != number.start:
            continue  # "on a nineteen amp" rates; "on a house that …" does not
        if kind == "plate" and passage.words(start - 1, start) in _OTHER_PLATES:
            continue  # "eight ninety on the flow plate", "fan chart puts it at 820"
        if kind == "plate" and _measures_air(passage, start, stop):
            continue  # "plate's in the slot, eleven sixty"
        if kind == "plate" and not _UNREADABLE.isdisjoint(passage.words(stop, stop + 4)):
            continue
        closes_the_last = before and _closes_a_clause(passage, before, start, stop)
        if closes_the_last and kind != "target" and own and _is_read_off(passage, passage.numbers[own - 1]):
            closes_the_last = False  # "pulling 11.4 rated, 14": the first was measured, so the second is rated
        ahead = before <= start and stop <= number.start
        if ahead and not closes_the_last and not _read_off_since(passage, stop, number):
            return True
        leads_the_next = next_start - stop <= start - end and not _closes_a_clause(passage, end, start, stop)
        if (
            end <= start
            and stop <= after
            and not leads_the_next
            and not (kind != "target" and following < last and _is_read_off(passage, number))
            and not _SEPARATES.intersection(passage.words(end, start))
        ):
            return True
        if start < number.start and number.start < stop <= end:  # "on a nineteen": the cue runs into the number
            return True
    return False


def _closes_a_clause(passage: Passage, before: int, start: int, stop: int) -> bool:
    """ "Eleven on the sticker, ninety one outside": right behind the value before, and nothing of it is said after."""
    leads_to_it = _SAYS_WHERE.issuperset(passage.words(before, start))
    by_where = start > before
    while by_where and stop < len(passage.lower) and passage.lower[stop] in _SAYS:
        stop += 1  # "… is what the chart says"
    return leads_to_it and stop < len(passage.lower) and passage.lower[stop] in (_SEPARATES if by_where else _STOPS)


def _read_off_since(passage: Passage, stop: int, number: Number) -> bool:
    """ "Says forty on the label and I get twenty six": a clause begun since, with its own word for where it is from."""
    breaks = [at for at in range(stop, number.start) if passage.lower[at] in _SEPARATES]
    return bool(breaks) and passage.has_cue("measured", breaks[0] + 1, number.start)


def _measures_air(passage: Passage, start: int, stop: int) -> bool:
    names = passage.names_in(start, stop)
    return any(stop < name.end and "system_airflow" in name.quantities() for name in names)


def _end_of_a_cleft(passage: Passage, before: int, start: int) -> int:
    """ "1200's what the plate calls for on the airflow, 1160's what I've got": the first clause is of the first."""
    words = passage.words(before, start)
    if words[1:2] == ["what"] and words[0] in ("is", "'s", "was") and "," in words:
        return before + words.index(",")
    return before


def _is_read_off(passage: Passage, number: Number) -> bool:
    """ "Pulling 11.4", "reads 38": what stands right before the number makes it a measured one."""
    return passage.cue_ends_at("measured", number.start)
