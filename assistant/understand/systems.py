"""Which system is being talked about: "upstairs", "unit two", "the other one"."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass

from assistant.understand.context import Context
from assistant.understand.numbers import numbers_from
from assistant.understand.passage import Passage
from assistant.understand.tokens import load_table


@dataclass(frozen=True, slots=True)
class SystemMention:
    start: int
    end: int
    name: str


_COUNTS = {
    **{word: n for n, word in enumerate("one two three four five six seven eight nine ten eleven twelve".split(), 1)},
    **{str(n): n for n in range(1, 21)},
}
# Words of direction that are systems only beside "unit", "suction" and the like ("back at eight" is not).
_ALSO_PLAIN_WORDS = frozenset({"front", "rear", "back", "north", "south", "east", "west"})
_NO_NAMES_BEFORE = frozenset({"new", "whole", "entire", "complete", "old", "a", "this"})
_TABLE = load_table("systems.toml")
_NOUNS, _ROOMS, _COUNTED, _LETTERS = (frozenset(_TABLE[key]) for key in ("nouns", "rooms", "counted", "letters"))
_LEADS = tuple(lead.split() for lead in _TABLE["room_leads"])
_HEADS_BEFORE = frozenset(_TABLE["heads_before"])
_PLACES: dict[str, list[list[str]]] = {}  # by their first words, in the table's order
for _place in _TABLE["places"]:
    _PLACES.setdefault(_place.split()[0], []).append(_place.split())
_FIRST_WORDS = frozenset({*_PLACES, *(room.split()[0] for room in _ROOMS), *_COUNTED, "other"})
_IN_TABLES = _ROOMS.union(_TABLE["places"])
_LIST = _TABLE["list"]
_LISTED, _HERE, _NO_NAME = (frozenset(_LIST[key]) for key in ("nouns", "here", "no_name"))
_MOST_WORDS = 3  # of a name in a list


@dataclass(frozen=True, slots=True)
class _Told:
    """What decides whether a place or a room stands for a system."""

    passage: Passage
    several: bool  # systems are told apart
    known: tuple[str, ...]  # before this note, or from a list in it


def find_systems(passage: Passage, context: Context) -> list[SystemMention]:
    """Where the speaker names a system. A place ("upstairs") counts once systems are being told apart."""
    words = passage.lower
    known = context.known_systems()
    counted_at, listed = _list_at(passage)
    own = tuple(dict.fromkeys((*known, *listed)))  # names this job has given its systems
    firsts = _FIRST_WORDS.union(name.split()[0] for name in own)
    if firsts.isdisjoint(passage.vocabulary):
        return []
    apart = bool(known or listed) or _tells_apart(words)
    before, behind = _Told(passage, apart, known), _Told(passage, apart, own)
    found: list[SystemMention] = []
    for at in [at for at, word in enumerate(words) if word in firsts]:
        if found and at < found[-1].end:
            continue
        told = behind if at > counted_at else before  # a list names nothing that was said before it
        word, follow = words[at], words[at + 1] if at + 1 < len(words) else ""
        if word in _COUNTED and (words[at - 1] if at else "") in _NO_NAMES_BEFORE:
            continue  # "a whole new system eleven five": what it costs
        if word in _COUNTED and (count := _COUNTS.get(follow)) and _no_unit_but_amperes(passage, at + 2):
            found.append(SystemMention(at, at + 2, f"{word} {count}"))
            _take_count(passage, at)
        elif word in _COUNTED and follow in _LETTERS:
            found.append(SystemMention(at, at + 2, f"{word} {follow}"))
        elif word == "other" and follow in _NOUNS and (other := _other(found, context)):
            found.append(SystemMention(at, at + 2, other))
        elif mention := _place_at(at, told) or _room_at(at, told, found) or _own_name_at(at, told):
            found.append(mention)
    return found


def names_listed(passage: Passage) -> list[str]:
    """The names of systems that a passage lists; see `_list_at`."""
    return _list_at(passage)[1]


def _list_at(passage: Passage) -> tuple[int, list[str]]:
    """Where systems are counted, and the names in "two systems here, office and den"; none unless as many."""
    words = passage.lower
    if _LISTED.isdisjoint(passage.vocabulary):
        return 0, []
    for noun in [at for at, word in enumerate(words) if word in _LISTED]:
        count = next((_COUNTS[word] for word in words[max(0, noun - 2) : noun] if word in _COUNTS), 0)
        if not 2 <= count <= len(_LETTERS):
            continue
        _, end = passage.sentences[passage.sentence_of(noun)]
        start = noun + 1
        while start < end and (words[start] in _HERE or words[start] in (",", ":", "-")):
            start += 1
        names = _parted(words[start:end])
        if len(names) == count and all(map(_is_name, names)):
            return noun, [" ".join(name) for name in names]
    return 0, []


def _parted(words: list[str]) -> list[list[str]]:
    """Words cut at commas and "and", without articles and "one for"."""
    parts: list[list[str]] = [[]]
    for word in words:
        if word in (",", "and", "&"):
            parts.append([])
        elif word in _LIST["leads_to_a_name"] and "one" in parts[-1]:
            parts[-1] = []  # "a little one on the casita"
        elif word != ".":
            parts[-1].append(word)
    parts = [[word for word in part if word not in _LIST["beside"]] for part in parts]
    return [part for part in parts if part]


def _is_name(words: list[str]) -> bool:
    return 0 < len(words) <= _MOST_WORDS and _NO_NAME.isdisjoint(words) and all(word.isalpha() for word in words)


def _own_name_at(at: int, told: _Told) -> SystemMention | None:
    """A name from the job's own list, where it heads a clause, is led to, or stands beside "unit" and the like."""
    words = told.passage.lower
    for name in told.known:
        said = name.split()
        end = at + len(said)
        if words[at:end] != said or name in _IN_TABLES or said[0] in _COUNTED:
            continue
        noun = end < len(words) and words[end] in _NOUNS
        heads = at == 0 or words[at - 1] in (",", ".", ":", ";", "the", "and", "in")
        if noun or heads:
            return SystemMention(at, end + (1 if noun else 0), name)
    return None


def _no_unit_but_amperes(passage: Passage, at: int) -> bool:
    """ "system 10 psi" is a value; the "a" of "unit 2 a" is seldom a current."""
    return at not in passage.units or passage.units[at].kinds[0] == "A"


def _take_count(passage: Passage, at: int) -> None:
    """The number behind "unit" is part of its name; what ran on behind it is a number of its own."""
    passage.take(at, at + 2)
    passage.drop_numbers(at, at + 2, numbers_from(passage, at + 2, passage.numbers_in(0, at + 2)[-1:]))


def _place_at(at: int, told: _Told) -> SystemMention | None:
    words = told.passage.lower
    for said in _PLACES.get(words[at], ()):
        end = at + len(said)
        if words[at:end] != said:
            continue
        place = " ".join(said)
        known = place in told.known or place in _TABLE["always"]
        beside_noun = end < len(words) and words[end] in _NOUNS
        if place in _ALSO_PLAIN_WORDS and not beside_noun:
            continue
        upright = place in ("upstairs", "downstairs")
        if known or beside_noun or told.several or upright and _beside_a_name(told.passage, at, end):
            return SystemMention(at, end + (1 if beside_noun else 0), place)
    return None


def _beside_a_name(passage: Passage, start: int, end: int) -> bool:
    """ "Upstairs suction", "suction upstairs", and as a heading: "Upstairs: suction", "Upstairs, head is"."""
    opens = start == passage.sentences[passage.sentence_of(start)][0]
    heading = opens and passage.words(end, end + 1) in ([":"], [","])
    follows = end + 1 if heading else end
    return bool(passage.names_in(follows, follows + 1) or passage.name_ending(start))


def _room_at(at: int, told: _Told, found: list[SystemMention]) -> SystemMention | None:
    """A room's name stands for its system: "the dining room unit", "starting with the studio"."""
    words = told.passage.lower
    opens = at == told.passage.sentences[told.passage.sentence_of(at)][0] or words[at - 1] in ("alright", "okay", "now")
    for length in (2, 1):
        room, end = " ".join(words[at : at + length]), at + length
        if room not in _ROOMS:
            continue
        noun = end < len(words) and words[end] in _NOUNS
        plain_noun = noun and words[end] in ("unit", "system")
        led = any(words[max(0, at - len(lead)) : at] == lead for lead in _LEADS)
        known = room in told.known or any(mention.name == room for mention in found)
        heads = opens and not told.known and end < len(words) and words[end] in _HEADS_BEFORE
        if known or plain_noun or (told.several and (noun or led or heads)):
            return SystemMention(at, end + (1 if noun else 0), room)
    return None


def _tells_apart(words: list[str]) -> bool:
    if "upstairs" in words and "downstairs" in words:
        return True
    text = " ".join(words)
    return any(cue in text for cue in _TABLE["several"])


def _other(found: list[SystemMention], context: Context) -> str | None:
    known = list(dict.fromkeys([*context.known_systems(), *(mention.name for mention in found)]))
    current = found[-1].name if found else context.last_system()
    others = [name for name in known if name != current]
    if others:
        return others[0] if len(others) == 1 else None
    return {"unit 1": "unit 2", "unit 2": "unit 1", "upstairs": "downstairs", "downstairs": "upstairs"}.get(current)


def system_at(token: int, mentions: list[SystemMention], passage: Passage, context: Context) -> str:
    """The system in force at a token: the last one named before it, or right after it in the same clause."""
    if not mentions:
        return context.last_system()
    following = bisect_right(mentions, token, key=lambda mention: mention.start)
    before = mentions[following - 1] if following else None
    start, end = passage.sentences[passage.sentence_of(token)]
    if before and before.start >= start:
        return before.name
    if following < len(mentions):
        clause_end = next((i for i in range(token, end) if passage.lower[i] in ",;:"), end)
        if mentions[following].start < clause_end:
            return mentions[following].name
    return before.name if before else context.last_system()
