"""Which system is being talked about: "upstairs", "unit two", "the other one"."""

from __future__ import annotations

import functools
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


def find_systems(passage: Passage, context: Context) -> list[SystemMention]:
    """Where the speaker names a system. A place ("upstairs") counts once systems are being told apart."""
    table = load_table("systems.toml")
    nouns, places, rooms = set(table["nouns"]), table["places"], set(table["rooms"])
    several = _tells_apart(passage, context, table)
    words = passage.words(0, len(passage.lower))
    found: list[SystemMention] = []
    room_at = functools.partial(
        _room_at,
        words=words,
        rooms=rooms,
        nouns=nouns,
        leads=table["room_leads"],
        several=several,
        found=found,
        before=context.known_systems(),
    )
    for at, word in enumerate(words):
        if found and at < found[-1].end:
            continue
        count = _COUNTS.get(words[at + 1]) if at + 1 < len(words) else None
        if (
            word in table["counted"]
            and count
            and not (passage.units.get(at + 2) and passage.units[at + 2].kinds[0] != "A")
        ):
            found.append(SystemMention(at, at + 2, f"{word} {count}"))
            passage.take(at, at + 2)
            passage.numbers = [n for n in passage.numbers if n.end <= at or n.start >= at + 2] + numbers_from(
                passage, at + 2, passage.numbers
            )
            passage.numbers.sort(key=lambda n: n.start)
        elif word in table["counted"] and words[at + 1 : at + 2] and words[at + 1] in table["letters"]:
            found.append(SystemMention(at, at + 2, f"{word} {words[at + 1]}"))
        elif (
            word == "other" and words[at + 1 : at + 2] and words[at + 1] in nouns and (other := _other(found, context))
        ):
            found.append(SystemMention(at, at + 2, other))
        elif mention := _place_at(words, at, places, nouns, several, passage, context) or room_at(at):
            found.append(mention)
    return found


def _place_at(words, at, places, nouns, several, passage: Passage, context: Context) -> SystemMention | None:
    for place in places:
        if not place.startswith(words[at]):
            continue
        said = place.split()
        if words[at : at + len(said)] != said:
            continue
        end = at + len(said)
        known = place in context.known_systems() or place in load_table("systems.toml")["always"]
        beside_noun = words[end : end + 1] != [] and words[end] in nouns
        beside_name = any(name.start == end or name.end == at for name in passage.names)
        if place in _ALSO_PLAIN_WORDS and not beside_noun:
            continue
        if known or beside_noun or several or (beside_name and place in ("upstairs", "downstairs")):
            return SystemMention(at, end + (1 if beside_noun else 0), place)
    return None


def _room_at(at: int, *, words, rooms, nouns, leads, several: bool, found, before) -> SystemMention | None:
    """A room's name stands for its system: "the dining room unit", "starting with the studio"."""
    for length in (2, 1):
        room, end = " ".join(words[at : at + length]), at + length
        if room not in rooms:
            continue
        noun = words[end : end + 1] != [] and words[end] in nouns
        plain_noun = noun and words[end] in ("unit", "system")
        led = any(words[max(0, at - len(lead.split())) : at] == lead.split() for lead in leads)
        known = room in before or any(mention.name == room for mention in found)
        if known or plain_noun or (several and (noun or led)):
            return SystemMention(at, end + (1 if noun else 0), room)
    return None


def _tells_apart(passage: Passage, context: Context, table) -> bool:
    if context.known_systems():
        return True
    words = passage.words(0, len(passage.lower))
    if {"upstairs", "downstairs"} <= set(words):
        return True
    text = " ".join(words)
    return any(cue in text for cue in table["several"])


def _other(found: list[SystemMention], context: Context) -> str | None:
    known = list(dict.fromkeys([*context.known_systems(), *(mention.name for mention in found)]))
    current = found[-1].name if found else context.last_system()
    others = [name for name in known if name != current]
    if others:
        return others[0] if len(others) == 1 else None
    return {"unit 1": "unit 2", "unit 2": "unit 1", "upstairs": "downstairs", "downstairs": "upstairs"}.get(current)


def system_at(token: int, mentions: list[SystemMention], passage: Passage, context: Context) -> str:
    """The system in force at a token: the last one named before it, or right after it in the same clause."""
    before = [mention for mention in mentions if mention.start <= token]
    start, end = passage.sentences[passage.sentence_of(token)]
    here = [mention for mention in before if mention.start >= start]
    if here:
        return here[-1].name
    clause_end = next((i for i in range(token, end) if passage.tokens[i] in ",;:"), end)
    after = [mention for mention in mentions if token < mention.start < clause_end]
    if after:
        return after[0].name
    if before:
        return before[-1].name
    return context.last_system()
