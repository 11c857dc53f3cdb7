"""Goods that no row of materials.toml names: whatever is counted behind "used", "ordered" or "hung"."""

from __future__ import annotations

from assistant.records import Material
from assistant.understand.claims import Price
from assistant.understand.counts_said import CONTAINERS, Count, counts_in, held_in, past_adjectives, singular
from assistant.understand.events import Speech
from assistant.understand.lexicon import lists_of, wordings
from assistant.understand.passage import Passage
from assistant.understand.tokens import load_table
from assistant.understand.vocabulary import find_all, none_said, says_any

_TABLE = load_table("materials.toml")
_LIST = _TABLE["list"]
_NOT_YET, _NO_LIST = wordings(_TABLE["not_yet"]), wordings(_LIST["not_this"])
_STATUS = lists_of(_TABLE["status"])
_LIST_OPENS, _OPENS_KNOWN, _BEHIND = (lists_of(_LIST[key]) for key in ("opens", "opens_known", "behind"))
_STOPS, _FITTINGS, _BY_THE_FOOT = (frozenset(_LIST[key]) for key in ("stops", "fittings", "by_the_foot"))
_AND = ([","], ["and"], ["plus"])
_GOES_ON = (*_AND, ["were"], ["used"], ["need"], ["ordered"], [":"], ["with"])
_BE = (["is"], ["'s"], ["are"], ["was"], ["were"], ["has"])


def listed(speech: Speech, prices: list[Price]) -> list[Material]:
    """ "Used forty feet of five eighths insulation and six hangers", "ordered two contactors": any counted thing.

    Behind "hung" or "put in" it has to be a fitting: one hangs a hood and puts in a call, too.
    """
    passage = speech.passage
    found: list[Material] = []
    if none_said(passage, (*_LIST_OPENS.values(), *_OPENS_KNOWN.values(), *_BEHIND.values())):
        return found
    money = {token for price in prices for token in range(price.start, price.end)}
    for start, end in passage.sentences:
        if says_any(passage, _NO_LIST, start, end):
            continue
        cues = cues_of(passage, start, end)
        if not cues and not any(says_any(passage, says, start, end) for says in _BEHIND.values()):
            continue
        for count in counts_in(passage, start, end):
            opened = next((cue for cue in reversed(cues) if cue[0] <= count.start), None)
            cue, status, only_known = opened or (start, "", False)
            if count.start in money or count.start - cue > 25 or not _may_count(passage, count, cue):
                continue
            thing = _thing(passage, count, end)
            if thing is None:
                continue
            item, unit, value, stop = thing
            if behind := _said_behind(passage, stop, end):
                status, only_known = behind, False
            if not status or (only_known and not _is_a_fitting(passage, item, unit, stop, start, end)):
                continue
            price = price_of(speech, prices, count.start, count.end)
            found.append(Material(item, value, unit, status, price, speech.context.note))
            passage.used_sentences.add(passage.sentence_of(start))
    return found


def cues_of(passage: Passage, start: int, end: int) -> list[tuple[int, str, bool]]:
    """Where a list opens, what becomes of its things, and whether they have to be fittings."""
    return sorted(
        (b, status, known)
        for known, table in ((False, _LIST_OPENS), (True, _OPENS_KNOWN))
        for status, says in table.items()
        for _, b in find_all(passage, says, start, end)
    )


def _may_count(passage: Passage, count: Count, cue: int) -> bool:
    """ "Two elbows, a collar and one filter drier": an article counts one where a list goes on."""
    goes_on = passage.words(count.start - 1, count.start) in _GOES_ON or count.start == cue
    return goes_on or not count.article


def _said_behind(passage: Passage, at: int, end: int) -> str | None:
    """ "A dozen hangers I still have to order"."""
    return next(
        (status for status, says in _BEHIND.items() if any(a <= at + 1 for a, _ in find_all(passage, says, at, end))),
        None,
    )


def _is_a_fitting(passage: Passage, item: str, unit: str, stop: int, start: int, end: int) -> bool:
    told_on = passage.words(stop, stop + 1) in _BE  # "…, a valve is stuck"
    known = _FITTINGS | _BY_THE_FOOT if unit == "ft" else _FITTINGS
    return item.split()[-1] in known and not told_on and not says_any(passage, _NOT_YET, start, end)


def contained(speech: Speech, prices: list[Price]) -> list[Material]:
    """ "Hosed it out, two jugs of cleaner": what is counted in containers was used, where nothing says otherwise."""
    passage = speech.passage
    found: list[Material] = []
    if CONTAINERS.isdisjoint(passage.vocabulary):
        return found
    for start, end in passage.sentences:
        if CONTAINERS.isdisjoint(passage.lower[start:end]):
            continue
        asked = any(says_any(passage, says, start, end) for says in (_NOT_YET, _NO_LIST, *_STATUS.values()))
        for count in [] if asked else counts_in(passage, start, end):
            thing = _thing(passage, count, end)
            if thing and thing[1] in CONTAINERS and not count.article:
                price = price_of(speech, prices, count.start, count.end)
                found.append(Material(thing[0], thing[2], thing[1], "used", price, speech.context.note))
                passage.use(count.start)
    return found


def _thing(passage: Passage, count: Count, end: int) -> tuple[str, str, float, int] | None:
    """(item, unit, how many, where it ends) of what a count counts."""
    held = held_in(passage, count, end)
    if held is None:
        return None
    first, unit, value = held
    begins = at = past_adjectives(passage, first, end)
    sizes = {token for token in range(begins - 1, min(first + 9, len(passage.lower))) if passage.number_at(token)}
    named = False
    while at < min(first + 8, end):
        word = passage.lower[at]
        between_sizes = word in ("by", "x") and at - 1 in sizes and at + 1 in sizes
        if not between_sizes and at not in sizes and (word in _STOPS or not (word[0].isalpha() or word in '-"')):
            break
        if at in sizes and named:
            break  # "two elbows 90 degrees": what comes behind the name is another matter
        named = named or not (at in sizes or between_sizes or at in passage.units or word in '-"')
        at += 1
    words = passage.phrase(begins, at).split()
    if (
        not words
        or len(words) > 6
        or words[-1] in CONTAINERS
        or not (named or unit != "ea")
        or (unit == "lb" and not passage.free(first, at))
    ):
        return None
    return " ".join([*words[:-1], singular(words[-1])]), unit, value, at


def price_of(speech: Speech, prices: list[Price], start: int, end: int) -> float | None:
    """What was said for the thing at start..end: the price behind it, before the next thing; else none is written down.

    A price that stands before every thing of the sentence is only the one thing's that is there.
    """
    passage = speech.passage
    first, last = passage.sentences[passage.sentence_of(start)]
    own = [price for price in prices if first <= price.start < last and price.per is None]
    if not own:
        return None
    parts = {token for price in prices for token in range(price.start, price.end)}
    counts = [n.start for n in passage.numbers_in(first, last)]
    counts += [c.start for c in counts_in(passage, first, last) if _may_count(passage, c, first)]
    others = [at for at in counts if at not in parts and not start - 2 <= at < end]
    behind = next((price for price in own if price.start >= end), None)
    if behind and not any(end <= at < behind.start and passage.words(at - 1, at) in _AND for at in others):
        return behind.dollars
    return own[0].dollars if own and not others else None
