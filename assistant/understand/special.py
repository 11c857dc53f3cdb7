"""Values with a shape of their own: dual capacitors ("forty five five"), and gas meters timed by a dial."""

from __future__ import annotations

from assistant.understand.bind import Sense
from assistant.understand.claims import Duration
from assistant.understand.heard import Heard
from assistant.understand.lexicon import wordings
from assistant.understand.number import Number, written_in_digits
from assistant.understand.passage import Passage
from assistant.understand.qualify import dial_text
from assistant.understand.roles import Role
from assistant.understand.vocabulary import says_any

_CAPACITOR = wordings(["cap", "caps", "capacitor", "capacitors", "microfarad", "microfarads", "dual", "can"])
_MEASURED = wordings(
    ["measure", "measured", "measures", "reads", "reading", "meter says", "i read",
     "tested", "tests", "got", "getting", "i get", "seeing", "meter shows"]
)
_METER = wordings(["meter", "dial", "clocked", "clock", "clocking", "turn", "revolution"])
_A_TURN = wordings(["a turn", "per turn", "a revolution", "one turn", "around", "one revolution", "per revolution"])
_LEGS = wordings(["l1", "l2", "l3", "legs", "leg to leg", "phases", "three phase", "phase to phase"])
_JOINS_SECTIONS = (["/"], ["over"], ["plus"], ["+"], ["and"], ["by"], ["-"])
_STATIC = wordings(["static", "statics", "manometer", "external", "esp", "magnehelic", "plenums"])
_SIGNS = {**dict.fromkeys(("plus", "positive", "+"), "supply"), **dict.fromkeys(("minus", "negative", "-"), "return")}
_NAMED_ITSELF = frozenset(
    f"{what}_pressure" for what in ("supply_static", "return_static", "draft", "manifold", "test")
) | {"filter_pressure_drop", "coil_pressure_drop"}
_LINES = wordings(["lines", "line set", "copper", "lineset", "feet", "flares", "line", "pipe", "tubing"])
_OTHER_PIPES = frozenset({"gas", "iron", "drain", "pvc", "water", "condensate", "flue", "vent"})
_WHICH_ONE = {
    f"{on} the {size} one": quantity
    for on in ("on", "for")
    for quantity, sizes in (
        ("liquid_line_size", ("small", "little", "skinny", "thin")),
        ("suction_line_size", ("big", "fat", "large", "insulated")),
    )
    for size in sizes
}

_BULBS = {"dry": frozenset({"dry", "db"}), "wet": frozenset({"wet", "wb"})}
_DIALS = (0.25, 0.5, 1, 2, 5, 10)  # cubic feet a turn, on the meters of houses
_SIDES = {
    **dict.fromkeys(("return", "returns", "entering", "indoor", "inside", "ra"), "return"),
    **dict.fromkeys(("supply", "supplies", "leaving", "sa"), "supply"),
}


def dual_capacitors(passage: Passage) -> list[Heard]:
    """ "A forty five five, reading thirty eight and four nine": the two sections of a dual capacitor, herm first."""
    found: list[Heard] = []
    if _CAPACITOR not in passage.wordings:
        return found
    for place, (start, end) in enumerate(passage.sentences):
        if not says_any(passage, _CAPACITOR, start, end) and not _goes_on_about_a_capacitor(passage, place, found):
            continue
        numbers = [n for n in passage.numbers_in(start, end) if passage.free(n.start, n.end)]
        while numbers:
            number, follow = numbers[0], numbers[1] if len(numbers) > 1 else None
            read = says_any(passage, _MEASURED, max(start, number.start - 6), number.start)
            pair = _measured_pair(passage, number, follow) if read else _rated_pair(passage, number, follow)
            if pair is None:
                numbers = numbers[1:]
                continue
            (herm, fan), last = pair
            role = Role("measured", False) if read else Role("rated", True)
            for value, section in ((herm, "herm"), (fan, "fan")):
                stand = Number(number.start, last, ((value, 1.0),))
                sense = Sense("capacitance", value, 0.95, 0.5, None, None)
                found.append(Heard(stand, sense, 0.5, None, place, role, qualifier=section))
            passage.take(number.start, last)
            numbers = [n for n in numbers if n.start >= last]
    return found


def _goes_on_about_a_capacitor(passage: Passage, place: int, found: list[Heard]) -> bool:
    """ "Unit two's rated forty five and five as well", "Reads thirty three and four eight": two sections, unnamed."""
    start, end = passage.sentences[place]
    if place == 0 or passage.names_in(start, end):
        return False
    if says_any(passage, _MEASURED, start, start + 2):
        return bool(found) and found[-1].sentence == place - 1
    first = passage.sentences[max(0, place - 3)][0]
    return says_any(passage, _CAPACITOR, first, start) and passage.has_cue("rated", start, end)


def _measured_pair(passage: Passage, number: Number, follow: Number | None):
    """Two bare readings in a row, the second the size of a fan section; names beside them tell more."""
    if follow is None or passage.words(number.end, follow.start) not in (["and"], ["over"], ["/"], [","]):
        return None
    named = any(passage.names_in(end, end + 1) for end in (number.end, follow.end))
    if named or follow.end in passage.units or not (8 <= number.value <= 110 and 1 <= follow.value <= 15):
        return None
    return (number.value, follow.value), follow.end


def _rated_pair(passage: Passage, number: Number, follow: Number | None):
    """((herm, fan), last token) of "forty five five", "45/5", "45 plus 5" or a recogniser's "455"."""
    if len(number.parts) == 2 and _sections(*number.parts):
        return (number.parts[0], number.parts[1]), number.end
    joined = follow and passage.words(number.end, follow.start) in _JOINS_SECTIONS
    joined = joined or follow and follow.start == number.end  # "thirty five plus five", "forty five seven and a half"
    if joined and _sections(number.value, follow.value):
        unit = passage.units.get(follow.end)
        if unit is None or unit.kinds[0] == "microfarad":
            return (number.value, follow.value), follow.end
    digits = passage.tokens[number.start]
    run_together = number.end == number.start + 1 and written_in_digits(digits) and len(digits) == 3
    if run_together and _sections(float(digits[:2]), float(digits[2])) and number.end not in passage.units:
        before = passage.words(number.start - 1, number.start)
        if before in (["a"], ["in"], ["the"], ["dual"]):
            return (float(digits[:2]), float(digits[2])), number.end
    return None


def _sections(herm: float, fan: float) -> bool:
    """Run capacitors come as 15 to 100 microfarad for the compressor and 3 to 12.5 for the fan."""
    return 15 <= herm <= 100 and 3 <= fan <= 12.5 and herm % 2.5 == 0 and fan % 0.5 == 0


def timed_meters(passage: Passage, durations: list[Duration]) -> list[Heard]:
    """ "Two foot dial, ninety seconds a turn": seconds for one turn, the dial in the qualifier."""
    found = []
    for duration in durations:
        place = passage.sentence_of(duration.start)
        near_start = passage.sentences[max(0, place - 1)][0]
        near_end = passage.sentences[min(len(passage.sentences) - 1, place + 1)][1]
        if duration.minutes > 10 or not says_any(passage, _METER, near_start, near_end):
            continue
        seconds = duration.minutes * 60
        dial = _dial(passage, near_start, near_end)
        own = passage.sentences[place]
        if dial is None and not says_any(passage, _A_TURN, *own):
            continue
        number = Number(duration.start, duration.end, ((seconds, 1.0),))
        found.append(
            Heard(
                number,
                Sense("meter_time", seconds, 1.0, 0.3, None, "s"),
                0.3,
                None,
                place,
                qualifier=dial_text(dial) if dial else None,
            )
        )
        passage.use(duration.start)
    return found


def _dial(passage: Passage, start: int, end: int) -> Number | None:
    for number in passage.numbers_in(start, end):
        unit = passage.units.get(number.end)
        stop = unit.end if unit else number.end
        words = passage.words(number.end, min(number.end + 5, passage.sentences[passage.sentence_of(number.start)][1]))
        foot = (unit is None or unit.kinds[0] == "ft") or words[:2] in (["cubic", "foot"], ["cubic", "feet"])
        on_the = passage.words(number.start - 2, number.start) == ["on", "the"]
        if number.value in _DIALS and ("dial" in words or on_the and unit) and foot:
            passage.take(number.start, stop)
            return number
    return None


def voltage_legs(passage: Passage) -> list[Heard]:
    """ "Three legs, four sixty one, four fifty eight, four sixty three": a voltage for each pair of legs."""
    found: list[Heard] = []
    if _LEGS not in passage.wordings:
        return found
    for place, (start, end) in enumerate(passage.sentences):
        if not says_any(passage, _LEGS, start, end):
            continue
        volts = [n for n in passage.numbers_in(start, end) if 100 <= n.value <= 700 and _may_be_volts(passage, n)]
        if len(volts) != 3:
            continue
        for leg, number in enumerate(volts, 1):
            found.append(
                Heard(
                    number,
                    Sense("line_voltage", number.value, 0.95, 0.5, None, "V"),
                    0.5,
                    None,
                    place,
                    qualifier=f"leg {leg}",
                )
            )
            passage.take(number.start, number.end)
    return found


def _may_be_volts(passage: Passage, number: Number) -> bool:
    unit = passage.units.get(number.end)
    return passage.free(number.start, number.end) and (unit is None or unit.kinds[0] == "V")


def dry_and_wet(passage: Passage) -> list[Heard]:
    """ "Supply fifty eight dry fifty six wet": two bulbs in one stream of air, the return's where none is named."""
    found: list[Heard] = []
    if any(said.isdisjoint(passage.vocabulary) for said in _BULBS.values()):
        return found
    for first, second in zip(passage.numbers, passage.numbers[1:], strict=False):
        dry, wet = _bulb(passage, first, "dry"), _bulb(passage, second, "wet")
        place = passage.sentence_of(first.start)
        near = dry and passage.words(dry, second.start) in ([], [","], ["and"], [",", "and"], ["/"])
        if not (near and wet and second.value <= first.value and passage.free(first.start, wet)):
            continue
        sides = [word for word in passage.words(passage.sentences[place][0], first.start) if word in _SIDES]
        sides = passage.words(wet, wet + 1) if _SIDES.keys() & set(passage.words(wet, wet + 1)) else sides
        side = _SIDES[sides[-1]] if sides else "return"
        for number, quantity, end in ((first, f"{side}_air_temp", dry), (second, f"{side}_wet_bulb", wet)):
            found.append(Heard(number, Sense(quantity, number.value, 0.95, 0.5, None, "degF"), 0.5, None, place))
            passage.take(number.start, end)
    return found


def _bulb(passage: Passage, number: Number, kind: str) -> int | None:
    """One past "dry", "dry bulb" or "db" right behind a number; None where it does not stand there."""
    beside = number.end < len(passage.lower) and passage.lower[number.end] in _BULBS[kind]
    if not beside or not 30 <= number.value <= 130:
        return None
    return number.end + 2 if passage.words(number.end + 1, number.end + 2) == ["bulb"] else number.end + 1


def line_sizes(passage: Passage) -> list[Heard]:
    """ "Quarter inch and half inch lines", "three eighths and three quarter": the small line is the liquid line."""
    found: list[Heard] = []
    if _LINES not in passage.wordings:
        return found
    for place, (start, end) in enumerate(passage.sentences):
        if not says_any(passage, _LINES, start, end):
            continue
        sizes = [
            n
            for n in passage.numbers_in(start, end)
            if passage.free(n.start, n.end) and n.kind in ("fraction", "decimal")
        ]
        for first, second in zip(sizes, sizes[1:], strict=False):
            small, big = sorted((first, second), key=lambda size: size.value)
            unit, other = passage.units.get(first.end), passage.units.get(second.end)
            between = passage.words(unit.end if unit else first.end, second.start)
            stop = other.end if other else second.end
            fits = 0.25 <= small.value < big.value <= 2.125 and small.value <= 0.875
            if not fits or between not in (["and"], ["by"], ["x"], ["/"], [","]):
                continue
            if any(u and "in" not in u.kinds for u in (unit, other)):
                continue
            named = any(
                name.start in (stop, stop + 1) or name.end in (first.start, second.start)
                for name in passage.names_in(start, stop + 2)
                if name.quantities()[0]
                in ("suction_pressure", "liquid_pressure", "suction_line_temp", "liquid_line_temp")
            )
            if named:
                continue
            for number, quantity in ((small, "liquid_line_size"), (big, "suction_line_size")):
                found.append(Heard(number, Sense(quantity, number.value, 0.9, 0.8, None, "in"), 0.8, None, place))
                passage.take(number.start, stop if number is second else number.end)
            break
        found += _sizes_of_ones(passage, place, sizes)
    return found


def _sizes_of_ones(passage: Passage, place: int, sizes: list[Number]) -> list[Heard]:
    """ "Three quarter on the big line, three eighths on the small one": which line, by how big it is."""
    found: list[Heard] = []
    if not _OTHER_PIPES.isdisjoint(passage.words(*passage.sentences[place])):
        return found
    for number in sizes if len(sizes) > 1 else ():
        unit = passage.units.get(number.end)
        end = unit.end if unit else number.end
        quantity = _WHICH_ONE.get(" ".join(passage.words(end, end + 4)))
        if quantity is None:
            lead = passage.words(number.start - 4, number.start)
            quantity = _WHICH_ONE.get(" ".join(["on", *lead[-4:-1]])) if lead[-1:] in (["is"], ["'s"]) else None
        fits = 0.25 <= number.value <= 2.125 and number.kind == "fraction" and (unit is None or "in" in unit.kinds)
        if quantity and fits and passage.free(number.start, end):
            found.append(Heard(number, Sense(quantity, number.value, 0.9, 0.8, None, "in"), 0.8, None, place))
            passage.take(number.start, end)
    return found


def signed_statics(passage: Passage) -> list[Heard]:
    """ "Static plus point two one and minus point two three": above the room's air it is the supply."""
    found: list[Heard] = []
    if _STATIC not in passage.wordings:
        return found
    for first, second in zip(passage.numbers, passage.numbers[1:], strict=False):
        place = passage.sentence_of(first.start)
        sides = _signed_side(passage, first), _signed_side(passage, second)
        stop, last = _past_its_unit(passage, first), _past_its_unit(passage, second)
        near = second.start - stop <= 5 and passage.free(first.start, last)
        if sorted(filter(None, sides)) != ["return", "supply"] or not near:
            continue
        if any(not _NAMED_ITSELF.isdisjoint(name.quantities()) for name in passage.names_in(first.start - 4, last + 4)):
            continue  # "plus point two on the supply", "draft's minus point oh two": the names tell
        fine = all(abs(n.value) <= 2 and (n.kind != "cardinal" or n.end in passage.units) for n in (first, second))
        if not fine or not says_any(passage, _STATIC, *passage.sentences[place]):
            continue  # "static's plus two boxes and minus one": nobody reads whole inches
        for number, side, end in ((first, sides[0], stop), (second, sides[1], last)):
            sense = Sense(f"{side}_static_pressure", abs(number.value), 0.95, 0.5, None, None)
            found.append(Heard(number, sense, 0.5, None, place))
            passage.take(number.start, end)
    return found


def _past_its_unit(passage: Passage, number: Number) -> int:
    unit = passage.units.get(number.end)
    return unit.end if unit else number.end


def _signed_side(passage: Passage, number: Number) -> str | None:
    """The side of the blower that a sign at a number speaks of; None without one, or in another unit than inches."""
    unit = passage.units.get(number.end)
    if unit and "inH2O" not in unit.kinds:
        return None
    end = _past_its_unit(passage, number)
    before = 2 if passage.words(number.start - 1, number.start) == ["static"] else 1  # "negative static point three"
    around = passage.words(number.start - before, number.start + 1) + passage.words(end, end + 1)
    return next((_SIGNS[word] for word in around if word in _SIGNS), None)
