"""A reading in the making, and what is at hand while one sentence is listened to."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from assistant.understand.bind import Sense, best_sense, plain_wording
from assistant.understand.context import Context
from assistant.understand.number import Number
from assistant.understand.passage import PSEUDO_QUANTITIES, Name, Passage
from assistant.understand.roles import Role, of_a_new_capacitor, role_of, speaks_of_roles, unspoken_role
from assistant.understand.systems import SystemMention
from assistant.understand.topics import Topics
from assistant.units import quantities, same_kind, to_contract, unit_of


@dataclass(slots=True)
class Heard:
    """Where a value stands and what it means."""

    number: Number
    sense: Sense
    cost: float  # how far its name is; confidence falls with it
    name: Name | None
    sentence: int
    role: Role = Role("measured", False)
    status: str = "current"
    limits: tuple[float, float] | None = None
    qualifier: str | None = None


@dataclass(frozen=True, slots=True)
class Listening:
    """The whole passage, with what other extractors made of it."""

    passage: Passage
    context: Context
    facts: object  # equipment and duct runs of this note
    systems: list[SystemMention]
    unsure: frozenset[int]  # tokens that may tell a time of day
    slips: dict[int, Number]  # first token of a number that puts another right: the one it puts right
    topics: Topics
    special: dict[int, list[Heard]]  # values found by their own shape, by sentence


@dataclass(frozen=True, slots=True)
class Sentence:
    """One sentence while its numbers are sorted out."""

    place: int
    start: int  # first token
    end: int
    numbers: list[Number]
    limits: dict[int, tuple[float, float]]  # ranges, by first token

    def heard(self, number: Number, sense: Sense, cost: float, name: Name | None = None, **more) -> Heard:
        """A value of this sentence, with its range if it is one."""
        limits = self.limits.get(number.start) or (number.ends if _is_the_range(number, sense) else None)
        return Heard(number, sense, cost, name, self.place, limits=limits, **more)


def _is_the_range(number: Number, sense: Sense) -> bool:
    """Whether a number that may be a range ("12-15") was read as one."""
    return number.ends is not None and sense.spoken_unit is None and math.isclose(sense.value, sum(number.ends) / 2)


def end_of(passage: Passage, number: Number) -> int:
    """One past a number's unit, or past the number where it has none."""
    unit = passage.units.get(number.end)
    return unit.end if unit else number.end


def role_in(passage: Passage, sentence: Sentence, item: Heard, names: list[Name]) -> Role:
    """The role of a value, from its own stretch of words: back to the number before, on to the next number or name."""
    number = item.number
    if item.sense.quantity == "capacitance" and of_a_new_capacitor(passage, number):
        return Role("rated", True)
    if not speaks_of_roles(passage, sentence.start, sentence.end):
        return unspoken_role(item.sense.quantity, is_range=item.limits is not None)
    earlier = [
        n for n in passage.numbers_in(sentence.start, number.start) if n.end <= number.start and n.kind != "ordinal"
    ]
    before = max([end_of(passage, n) for n in earlier] + [sentence.start])
    after = min([n.start for n in sentence.numbers if n.start > number.start] + [sentence.end])
    follow = [
        name.start
        for name in names
        if name.start >= number.end and name is not item.name and name.quantities()[0] not in PSEUDO_QUANTITIES
    ]
    return role_of(
        passage, number, item.sense.quantity, before, min([after, *follow]), is_range=item.limits is not None
    )


def as_quantity(passage: Passage, number: Number, quantity: str, unit: str | None = None) -> Sense | None:
    """The number as that quantity, doubtful or not; None where its unit cannot be.

    unit  what the value before was spoken in ("twelve ounces, then another six"), where none is said here
    """
    if unit and number.end not in passage.units and same_kind(unit, unit_of(quantity)):
        values = tuple((to_contract(value, unit, unit_of(quantity)), likelihood) for value, likelihood in number.values)
        number = replace(number, values=values, carried=None)
    return best_sense(passage, (plain_wording(quantity),), number, frozenset(), tight=True)


def in_range(passage: Passage, number: Number, quantity: str) -> Sense | None:
    """The number as that quantity, only inside its everyday range."""
    sense = best_sense(passage, (plain_wording(quantity, range_needed=True),), number, frozenset(), tight=False)
    known = quantities()[quantity]
    return sense if sense and known.likely_low <= sense.value <= known.likely_high else None
