"""Sizes of ducts as they are said: "two ten inch flex", "a pair of fourteens", "fourteen by twenty", "and a ten"."""

from __future__ import annotations

from dataclasses import dataclass, replace

from assistant.understand.lexicon import lists_of, wordings
from assistant.understand.number import Number
from assistant.understand.passage import Passage
from assistant.understand.tokens import load_table
from assistant.understand.vocabulary import find_all, says_any

_DIAMETERS = range(3, 37)  # inches a round duct comes in
_SAID_BARE = range(4, 25)  # of those, what is said without its inches
_MOST_RUNS = 24
_WORDS = load_table("ducts.toml")["words"]
_DUCT, _OVAL, _ON_PAPER, _CHANGED = (wordings(_WORDS[key]) for key in ("duct", "oval", "on_paper", "changed"))
_NEEDED = wordings(["need", "order", "ordered", "pick up", "bring", "short"])
_SIDE_WORDS = tuple(lists_of(load_table("ducts.toml")["side"]).values())
_COUNTED, _BESIDE, _THINGS, _CLOSES = (
    frozenset(_WORDS[key]) for key in ("counted", "beside", "other_things", "closes")
)
_DUCT_ITSELF = frozenset({"flex", "flexes", "duct", "ducts", "ductwork", "trunk", "spiral"})
_IS = (["is"], ["'s"], ["went"], ["goes"])
_WAS = frozenset({"is", "'s", "was", "are", "were", "only", "just", "with", "got", "has"})
_ARTICLES = ("a", "an", "the")
_PERHAPS_A_VALUE = frozenset({"of", "line", "gas", "gap"})  # "ten inch of", "six inch gas" may be read yet
_SEVERAL = {
    "fours": 4, "fives": 5, "sixes": 6, "sevens": 7, "eights": 8, "nines": 9, "tens": 10, "twelves": 12,
    "fourteens": 14, "sixteens": 16, "eighteens": 18, "twenties": 20,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Size:
    """One size in the text, from its count on."""

    start: int
    end: int
    count: int | None
    inches: tuple[float, ...]
    shape: str
    plural: bool = False  # "fourteens": there are several, and they are worth a row only if we know how many


def find_sizes(passage: Passage, start: int, end: int, known: set[float]) -> list[Size]:
    """Sizes of ducts in one sentence, in order; `known` are the diameters the job has."""
    numbers = [n for n in passage.numbers_in(start, end) if passage.free(n.start, n.end)]
    found: list[Size] = []
    for place, number in enumerate(numbers):
        follow = numbers[place + 1] if place + 1 < len(numbers) else None
        if any(size.start <= number.start < size.end for size in found):
            continue
        size = _rectangle(passage, number, follow, end) or _round(passage, number, start, end, known)
        if size:
            found.append(_counted(passage, size, start, end))
    found += [_counted(passage, size, start, end) for size in _plurals(passage, start, end)]
    for number in numbers:
        inside = any(size.start <= number.start < size.end for size in found)
        if not inside and _is_bare(passage, number, found, start, end, known):
            size = Size(number.start, number.end, None, (number.value,), "round")
            found.append(_counted(passage, size, start, end))
    there = [size for size in found if not _is_on_paper(passage, size, start)]
    return sorted(_without_counts(there), key=lambda size: size.start)


def _without_counts(found: list[Size]) -> list[Size]:
    """What one size counts by is none itself."""
    return [
        size
        for size in found
        if not any(other is not size and other.start <= size.start and size.end < other.end for other in found)
    ]


def _is_on_paper(passage: Passage, size: Size, start: int) -> bool:
    """ "Plans call for ten at six inch": what the paper says, up to the next comma."""
    said = [b for _, b in find_all(passage, _ON_PAPER, start, size.start)]
    return bool(said) and {",", "but", ";"}.isdisjoint(passage.words(said[-1], size.start))


# ---------------------------------------------------------------- how many


def _counted(passage: Passage, size: Size, start: int, end: int) -> Size:
    """`size` with the count that stands before it, or behind it."""
    if size.count is not None:
        return size
    if before := _count_before(passage, size, start):
        return replace(size, start=before[0], count=before[1])
    if behind := _count_behind(passage, size, end):
        return replace(size, end=behind[0], count=behind[1])
    return size


def _count_before(passage: Passage, size: Size, start: int) -> tuple[int, int] | None:
    """ "Two more returns, sixteen inch", "both ten inch", "two of the old twelve inch", "seven at six inch"."""
    noun = comma = False
    for at in range(size.start - 1, max(start, size.start - 8) - 1, -1):
        word = passage.lower[at]
        if number := passage.number_ending(at + 1):
            fits = number.kind == "cardinal" and number.value in range(1, _MOST_RUNS + 1)
            fits = fits and passage.free(number.start, number.end) and not _is_a_label(passage, number)
            return (number.start, int(number.value)) if fits and (noun or not comma) else None
        if word in ("both", "pair", "couple"):
            return (at, 2) if noun or not comma else None
        if word in _COUNTED:
            noun = True
        elif word == "," and not comma:
            comma = True
        elif word not in _BESIDE:
            return None
    return None


def _count_behind(passage: Passage, size: Size, end: int) -> tuple[int, int] | None:
    """ "Twelve inch flex, two of them"."""
    for number in passage.numbers_in(size.end, min(end, size.end + 7)):
        of_them = passage.words(number.end, number.end + 2) in (["of", "them"], ["of", "'em"], ["of", "those"])
        if of_them and number.value in range(1, _MOST_RUNS + 1) and passage.free(number.start, number.end):
            return number.end, int(number.value)
    return None


def _is_a_label(passage: Passage, number: Number) -> bool:
    return passage.cue_ends_at("label_before", number.start)


def _count_and_size(passage: Passage, number: Number) -> tuple[int | None, float]:
    """A count run into a size: "eight ten" and "210" before "inch" are eight of ten and two of ten."""
    if (
        len(number.parts) == 2
        and number.value > max(_DIAMETERS)
        and number.parts[1] in _DIAMETERS
        and number.parts[0] <= _MOST_RUNS
    ):
        return (None if _is_a_label(passage, number) else int(number.parts[0])), number.parts[1]
    in_digits = passage.lower[number.start].isdigit()  # "fifty seven inch" is no five of seven
    if in_digits and number.value > max(_DIAMETERS) and len(number.parts) <= 1 and number.value == int(number.value):
        digits = f"{number.value:.0f}"
        for cut in (len(digits) - 2, len(digits) - 1):
            if (
                cut > 0
                and int(digits[cut:]) in _DIAMETERS
                and digits[cut] != "0"
                and 1 <= int(digits[:cut]) <= _MOST_RUNS
            ):
                return int(digits[:cut]), float(digits[cut:])
    return None, number.value


# ---------------------------------------------------------------- which size


def _rectangle(passage: Passage, number: Number, follow: Number | None, end: int) -> Size | None:
    """ "fourteen by twenty in duct board", "two fourteen by twenty fours", "8x14"."""
    unit = passage.units.get(number.end)
    by = unit.end if unit else number.end
    if passage.words(by, by + 1) not in (["by"], ["x"], ["×"]) or number.kind == "ordinal":
        return None
    count, side = (int(number.parts[0]), number.parts[1]) if len(number.parts) == 2 else (None, number.value)
    other, stop = _other_side(passage, by + 1, follow)
    if other is None or not 3 <= side <= 60 or not 3 <= other <= 60:
        return None
    if not says_any(passage, _DUCT, max(0, number.start - 8), min(end, stop + 8)):
        return None
    if _of_another_thing(passage, number.start, stop, end):
        return None
    shape = "oval" if says_any(passage, _OVAL, max(0, number.start - 4), min(end, stop + 4)) else "rect"
    return Size(number.start, stop, count, (side, other), shape)


def _other_side(passage: Passage, at: int, follow: Number | None) -> tuple[float | None, int]:
    """The side behind "by", which may be said of several: "twenty fours", "twelves"."""
    if follow is None or follow.start != at:
        value = _SEVERAL.get(" ".join(passage.words(at, at + 1)))
        return value, at + 1
    ones = _SEVERAL.get(" ".join(passage.words(follow.end, follow.end + 1)), 0)
    if follow.value in (20, 30) and 0 < ones < 10:
        return follow.value + ones, follow.end + 1
    return follow.value, passage.units[follow.end].end if follow.end in passage.units else follow.end


def _of_another_thing(passage: Passage, start: int, stop: int, end: int) -> bool:
    """ "A sixteen by twenty filter grille", "eight inch boots", "the grille's a twenty by twenty": no duct."""
    for word in passage.words(stop, min(end, stop + 3)):
        if word in _THINGS:
            if word not in _PERHAPS_A_VALUE:
                passage.take(start, stop)
            return True
        if not word.isalpha() or word in _CLOSES:
            break
    before = passage.words(start - 3, start)
    return any(word in _THINGS for word in before) and {",", "'s", "is"} & set(before) != set()


def _round(passage: Passage, number: Number, start: int, end: int, known: set[float]) -> Size | None:
    """ "two ten inch flex", "sixteen inch flex return", and the recogniser's "210 inch flex"."""
    unit = passage.units.get(number.end)
    if unit is None or "in" not in unit.kinds or number.kind not in ("cardinal", "decimal"):
        return None
    count, inches = _count_and_size(passage, number)
    beside = says_any(passage, _DUCT, unit.end, min(end, unit.end + 4)) or says_any(
        passage, _DUCT, max(start, number.start - 6), number.start
    )
    told_of = inches in known and passage.words(unit.end, unit.end + 1) in _IS  # "the twelve inch is hung"
    one_of_them = passage.lower[unit.start] == "inch" and _stands_for_a_duct(passage, number, unit.end, start, end)
    if not (beside or told_of or one_of_them) or inches not in _DIAMETERS:
        return None
    if _only_goods(passage, number, start) or _of_another_thing(passage, number.start, unit.end, end):
        return None
    return Size(number.start, unit.end, count, (inches,), "round")


def _only_goods(passage: Passage, number: Number, start: int) -> bool:
    """ "Still need another forty feet of six inch flex": to be bought, no run."""
    needed = says_any(passage, _NEEDED, start, number.start)
    return needed and passage.words(number.start - 2, number.start) in (["feet", "of"], ["foot", "of"], ["roll", "of"])


def _plurals(passage: Passage, start: int, end: int) -> list[Size]:
    """ "Two fourteens", "four sixes and two eights", "a pair of 12s": where ducts are spoken of."""
    found: list[Size] = []
    if not _speaks_of_ducts(passage, start, end):
        return found
    for at in range(start, end):
        value = _SEVERAL.get(passage.lower[at])
        if value and passage.words(at - 1, at) not in (["by"], ["x"], ["the"], ["twenty"], ["thirty"]):
            found.append(Size(at, at + 1, None, (float(value),), "round", plural=True))
    for number in passage.numbers_in(start, end):
        marked = passage.words(number.end, number.end + 1)
        count, inches = _count_and_size(passage, number)
        told = marked in (["s"], ["inchers"]) or (count and marked == ["'s"])
        if told and inches in _SAID_BARE and passage.free(number.start, number.end):
            found.append(Size(number.start, number.end + 1, count, (inches,), "round", plural=True))
    return found


def _speaks_of_ducts(passage: Passage, start: int, end: int) -> bool:
    sided = any(says_any(passage, says, start, end) for says in _SIDE_WORDS)
    return sided or not _DUCT_ITSELF.isdisjoint(passage.lower[start:end])


def _stands_for_a_duct(passage: Passage, number: Number, stop: int, start: int, end: int) -> bool:
    """ "The crushed twelve", "a ten": nothing follows that could have this size, and ducts are spoken of."""
    return (
        number.kind == "cardinal"
        and number.value in _SAID_BARE
        and passage.words(number.start - 1, number.start) not in ([], [","], ["."])
        and (stop >= end or passage.lower[stop] in _CLOSES)
        and _speaks_of_ducts(passage, start, end)
    )


def _is_bare(passage: Passage, number: Number, found: list[Size], start: int, end: int, known: set[float]) -> bool:
    """ "… and a ten", "the return's only a fourteen", "went up to an eighteen", "left the old ten": no inches said."""
    if _has_a_unit(passage, number) or not _stands_for_a_duct(passage, number, number.end, start, end):
        return False
    at = number.start - 1
    if passage.lower[at] == "at":  # "seven at six inch and one at eight"
        counts = passage.words(at - 1, at) == ["one"] or passage.number_ending(at) is not None
        return bool(found) and counts
    if not (article := _article_of(passage, number, start)):
        return False
    word, behind, old = article
    if word not in _ARTICLES and not (old and found):
        return False
    if word in ("a", "an") and _told_of_a_duct(passage, behind, start):
        return True
    if _names_something_else(passage, start, end):
        return False
    several = sum(
        not _has_a_unit(passage, other)
        and _stands_for_a_duct(passage, other, other.end, start, end)
        and (_article_of(passage, other, start) or ("",))[0] in _ARTICLES
        for other in passage.numbers_in(start, end)
    )
    return bool(found) or several > 1 or (old and number.value in known) or says_any(passage, _CHANGED, start, end)


def _has_a_unit(passage: Passage, number: Number) -> bool:
    """ "Put a twelve in on the return" has none."""
    return number.end in passage.units and passage.words(number.end, number.end + 1) != ["in"]


def _article_of(passage: Passage, number: Number, start: int) -> tuple[str, int, bool] | None:
    """The word that opens "the old crushed ten", its place, and whether anything stands between."""
    at, old = number.start - 1, False
    while at > start and passage.lower[at] in _BESIDE and passage.lower[at] not in _ARTICLES:
        old, at = True, at - 1
    return (passage.lower[at], at, old) if at >= start else None


def _told_of_a_duct(passage: Passage, article: int, start: int) -> bool:
    """ "The return's only a …", "a second return, a …"."""
    before = passage.words(max(start, article - 1), article)
    if before == [","]:
        return passage.words(article - 2, article - 1) != [] and passage.lower[article - 2] in _COUNTED
    return before != [] and before[0] in _WAS and _speaks_of_ducts(passage, max(start, article - 6), article)


def _names_something_else(passage: Passage, start: int, end: int) -> bool:
    """ "The split went from a twelve to a sixteen with the return open" tells of no duct."""
    sides = [span for says in _SIDE_WORDS for span in find_all(passage, says, start, end)]
    return any(
        not any(a <= name.start and name.end <= b for a, b in sides)
        and passage.lower[name.start] not in _CLOSES  # "in" may name what a furnace takes in
        and not all(wording.unit_needed for wording in name.wordings)
        for name in passage.names_in(start, end)
    )
