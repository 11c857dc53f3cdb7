"""Numbers that stand together: ranges, "118 over 340", pounds with ounces, false starts and slips of the tongue."""

from __future__ import annotations

from dataclasses import dataclass, replace

from assistant.understand.number import Number
from assistant.understand.passage import Passage, Unit
from assistant.units import METRIC, same_kind

_HESITATION = frozenset(", . - — uh um er oh ah hm hmm huh is it a and well".split())
_ARTICLES = ("a", "one", "an", "another")
_MASS = {"lb": 16.0, "oz": 1.0}  # in ounces


@dataclass(frozen=True, slots=True)
class Slip:
    """The speaker said `wrong`, then put it right with `right`."""

    wrong: Number
    right: Number


def split_counts_from_sizes(passage: Passage) -> None:
    """ "one three ton heat pump", "ten seven inch flex": a count and a size, not 1.3 tons or 10.7 inches."""
    split: list[Number] = []
    for number in passage.numbers:
        unit = passage.units.get(number.end)
        if (
            unit
            and unit.kinds[0] in ("ton", "in")
            and len(number.parts) == 2
            and (max(number.parts) < 10 or unit.kinds[0] == "in" and number.parts[0] <= 16 and number.parts[1] <= 24)
            and number.kind == "cardinal"
        ):
            middle = number.end - 1
            split.append(Number(number.start, middle, ((number.parts[0], 1.0),), "cardinal", number.parts[:1]))
            split.append(Number(middle, number.end, ((number.parts[1], 1.0),), "cardinal", number.parts[1:]))
        else:
            split.append(number)
    passage.numbers = split


# A note that speaks of one of these is about a burner.
_BURNERS = frozenset("furnace boiler burner heater btu manifold inlet dial percenter burners chimney".split())
_ONE_AND_A = {"ton": "ton", "kilo": "kg", "kilogram": "kg", "pound": "lb"}


def join_one_and_a_half(passage: Passage) -> None:
    """ "ton and a half", "a kilo and a half": one and a half of the unit, though no one was said."""
    words = passage.lower
    if passage.vocabulary.isdisjoint(_ONE_AND_A):
        return
    for at, word in enumerate(words):
        if word not in _ONE_AND_A or words[at + 1 : at + 3] != ["and", "a"]:
            continue
        more = {"half": 0.5, "quarter": 0.25}.get(" ".join(words[at + 3 : at + 4]))
        if more is None or passage.number_ending(at):
            continue
        start = at - 1 if words[at - 1 : at] in (["a"], ["an"]) else at
        last = at + 3
        joined = Number(start, last, ((1 + more, 1.0),), "decimal", plain_article=True)
        passage.drop_numbers(start, last + 1, [joined])
        passage.units[last] = Unit(last, last + 1, (_ONE_AND_A[word],), "cooling_capacity" if word == "ton" else None)


def allow_unsaid_hundreds(passage: Passage) -> None:
    """ "Three and a quarter" of pressure may be 325, "two and a half" of vacuum 250, and "eighty in" 80,000."""
    burns = not _BURNERS.isdisjoint(passage.vocabulary)
    thousands = {passage.sentence_of(n.start) for n in passage.numbers if n.value >= 20_000 and _in_or_out(passage, n)}
    passage.numbers = [
        _scaled(passage, number, burns or bool(thousands) and passage.sentence_of(number.start) in thousands)
        for number in passage.numbers
    ]


def _in_or_out(passage: Passage, number: Number) -> bool:
    unit = passage.units.get(number.end)
    end = unit.end if unit else number.end
    return passage.words(end, end + 1) in (["in"], ["out"], ["input"], ["output"])


def _scaled(passage: Passage, number: Number, burns: bool) -> Number:
    words = passage.words(number.start, number.end)
    if words[-1:] in (["half"], ["quarter"]) and words[-3:-1] == ["and", "a"]:
        unsaid = 1 <= number.value < 10 and number.end not in passage.units
        return replace(number, scaled=(100 * number.value, "psi micron")) if unsaid else number
    rated = burns and number.kind in ("cardinal", "decimal") and 20 <= number.value <= 200
    if rated and _in_or_out(passage, number):
        return replace(number, scaled=(1000 * number.value, "Btu/h"))
    return number


def carry_metric_units(passage: Passage) -> None:
    """ "Return's twenty Celsius, supply's forty eight": who has begun in metric units may go on in them."""
    carried: str | None = None
    place, numbers = -1, []
    for number in passage.numbers:
        if passage.sentence_of(number.start) != place:
            place, carried = passage.sentence_of(number.start), None
        unit = passage.units.get(number.end)
        if unit:
            carried = unit.kinds[0] if unit.kinds[0] in METRIC else None
        numbers.append(replace(number, carried=carried) if carried and not unit else number)
    passage.numbers = numbers


def join_pounds_and_ounces(passage: Passage) -> None:
    """ "five pounds two ounces", "a pound six", "half a pound" become one number, counted in ounces."""
    if "pound" not in passage.vocabulary and not any(unit.kinds[0] == "lb" for unit in passage.units.values()):
        return
    joined: list[Number] = []
    numbers = {number.start: number for number in passage.numbers}
    skip_to = 0
    for at in range(len(passage.lower)):
        number = numbers.get(at)
        if at < skip_to or number is None and passage.lower[at + 1 : at + 2] != ["pound"]:
            continue
        amount = _mass_at(passage, at, numbers)
        if amount:
            end, ounces, unit = amount
            joined.append(Number(at, end, ((ounces, 1.0),), "decimal"))
            passage.units[end] = Unit(end, unit, ("oz",), None)
            skip_to = end + 1
        elif number:
            joined.append(number)
    passage.numbers = joined


def _mass_at(passage: Passage, at: int, numbers: dict[int, Number]) -> tuple[int, float, int] | None:
    """(last token before the closing unit, ounces, end of that unit) of a compound weight starting at `at`."""
    words = passage.lower[at : at + 12]
    number = numbers.get(at)
    if number and number.value == 0.5 and words[number.end - at : number.end - at + 2] == ["a", "pound"]:
        return number.end + 1, 8.0, number.end + 2
    if words[0] in _ARTICLES and not (number and number.end - number.start > 1) and words[1:2] == ["pound"]:
        pounds, after = 1.0, at + 2
    elif number and (unit := passage.units.get(number.end)) and unit.kinds[0] == "lb":
        pounds, after = number.value, unit.end
    else:
        return None
    tail = words[after - at : after - at + 3]
    if pounds % 1:
        return None  # nobody says ounces behind a half
    if tail == ["and", "a", "half"]:
        return after + 2, (pounds + 0.5) * 16, after + 3
    if tail == ["and", "a", "quarter"]:
        return after + 2, (pounds + 0.25) * 16, after + 3
    follow = after + 1 if tail[:1] in (["and"], [","]) else after
    ounces = numbers.get(follow)
    if ounces and ounces.value < 16 and ounces.kind != "ordinal":
        unit = passage.units.get(ounces.end)
        if unit and unit.kinds[0] == "oz":
            return ounces.end, pounds * 16 + ounces.value, unit.end
        named = passage.names_in(ounces.end, ounces.end + 1)
        in_it = passage.words(ounces.end, ounces.end + 2) in (["in", "it"], ["in", "her"], ["in", "there"])
        bare = follow == after and (in_it or unit is None and not named)
        if bare:
            return ounces.end, pounds * 16 + ounces.value, ounces.end
    if (
        words[0] in ("a", "an")
        and number is None
        and tail[:2] not in (["of", "pressure"], ["lost"])
        and passage.words(max(0, at - 1), at) != ["not"]
    ):
        follow_word = tail[:1]
        if follow_word not in (["lost"],) and passage.words(max(0, at - 2), at)[-1:] not in (["bucks"], ["dollars"]):
            return at + 1, 16.0, at + 2
    return None


def find_ranges(passage: Passage, numbers: list[Number]) -> tuple[list[Number], dict[int, tuple[float, float]]]:
    """Numbers with ranges joined into one, and low and high by the joined number's first token.

    "between eight and nine", "thirty five to sixty five", "twelve or thirteen". The value is the midpoint.
    """
    if len(numbers) < 2:
        return numbers, {}
    joined: list[Number] = []
    limits: dict[int, tuple[float, float]] = {}
    at = 0
    while at < len(numbers):
        first, second = numbers[at], numbers[at + 1] if at + 1 < len(numbers) else None
        if second and _is_range(passage, first, second):
            low, high = first.value, second.value
            limits[first.start] = (low, high)
            joined.append(
                replace(
                    second,
                    start=first.start,
                    values=(((low + high) / 2, min(first.values[0][1], second.values[0][1])),),
                )
            )
            at += 2
        else:
            joined.append(first)
            at += 1
    return joined, limits


def _is_range(passage: Passage, first: Number, second: Number) -> bool:
    first_unit = passage.units.get(first.end)
    between = passage.words(first_unit.end if first_unit else first.end, second.start)
    before = passage.words(max(0, first.start - 3), first.start)
    if not first.value < second.value or "ordinal" in (first.kind, second.kind):
        return False
    second_unit = passage.units.get(second.end)
    if first_unit and second_unit and not _alike(first_unit, second_unit):
        return False  # "8 pounds 8 to 315 microns"
    if "between" in before and between == ["and"]:
        return True
    if between in (["to"], ["through"], ["-"], ["–"], ["or"], ["up", "to"]):
        moved = {"from", "went", "climbed", "dropped", "rose", "came"} & set(before)
        swings = {
            "range",
            "runs",
            "reads",
            "says",
            "swinging",
            "bouncing",
            "drifting",
            "hunting",
            "anywhere",
            "floating",
            "ranging",
        }
        if between in (["to"], ["up", "to"]) and moved and not swings & set(before):
            return False
        if between == ["-"] and (passage.spaced(first.end) or first.value >= 50 and second.value > 1.5 * first.value):
            return False  # "118-342" is low side and high side
        return second.value <= 4 * max(first.value, 0.05)
    return False


def _alike(one: Unit, other: Unit) -> bool:
    return any(kind == other_kind or same_kind(kind, other_kind) for kind in one.kinds for other_kind in other.kinds)


def drop_false_starts(passage: Passage, numbers: list[Number]) -> list[Number]:
    """ "the grid says eleven, eleven thirty": the first try is not a value."""
    if len(numbers) < 2:
        return numbers
    kept = []
    for place, number in enumerate(numbers):
        follow = numbers[place + 1] if place + 1 < len(numbers) else None
        if follow and follow.start - number.end <= 10 and not passage.names_in(number.end, follow.start):
            mine, its = passage.words(number.start, number.end), passage.words(follow.start, follow.end)
            if (
                len(its) > len(mine)
                and its[: len(mine)] == mine
                and number.end not in passage.units
                and follow.start > number.end
                and "between" not in passage.words(max(0, number.start - 2), number.start)  # "eighty and eighty two"
            ):
                passage.false_starts.update(range(number.start, number.end))
                continue
        kept.append(number)
    return kept


def find_slips(passage: Passage, numbers: list[Number]) -> list[Slip]:
    """A number, words that take it back, and the number that replaces it, in this sentence or the next."""
    found: list[Slip] = []
    if "between" not in passage.cues:
        return found
    for place, (wrong, right) in enumerate(zip(numbers, numbers[1:], strict=False)):
        unit = passage.units.get(wrong.end)
        start = unit.end if unit else wrong.end
        between = passage.words(start, right.start)
        if not 0 < len(between) <= 16 or "?" in between:
            continue
        cues = passage.cues_in("between", start, right.start)
        cue = next(((a, b) for a, b in cues if b <= right.start and not _waits(passage, b)), None)
        if cue is None:
            continue
        first = cue[0]
        lead = passage.words(start, first)
        behind_a_comma = lead[-1:] == [","] and len(lead) <= 4 and not passage.names_in(start, first)
        if (behind_a_comma or all(word in _HESITATION for word in lead)) and not _other_value_named(
            passage, cue[1], right
        ):
            found += _slips_of_a_list(passage, numbers, place + 1) or [Slip(wrong, right)]
    return found


def _waits(passage: Passage, end: int) -> bool:
    """ "Six hundred, wait half an hour, five ninety": a wait that lasts takes nothing back."""
    return passage.lower[end - 1] == "wait" and not passage.free(end, end + 1)


def _slips_of_a_list(passage: Passage, numbers: list[Number], first: int) -> list[Slip]:
    """ "Suction 118 and head 340. No, 114 and 340": as many as are said anew, each for the one in its place."""
    anew = [numbers[first]]
    for number in numbers[first + 1 :]:
        if passage.words(anew[-1].end, number.start) not in (["and"], [","], ["over"], [",", "and"]):
            break
        anew.append(number)
    end = passage.sentences[passage.sentence_of(anew[-1].start)][1]
    wrong = numbers[max(0, first - len(anew)) : first]
    if len(anew) < 2 or len(wrong) < len(anew) or passage.names_in(anew[0].start, end):
        return []
    return [Slip(old, new) for old, new in zip(wrong, anew, strict=True)]


def _other_value_named(passage: Passage, start: int, right: Number) -> bool:
    """ "118, no, head 345" puts the name right, not the number: leave both to be read by their names."""
    return any(name.end <= right.start for name in passage.names_in(start, right.start))
