"""Which system is being talked about: "upstairs", "unit two", "the other one"."""

from __future__ import annotations

from dataclasses import dataclass

from assistant.understand.context import Context
from assistant.understand.passage import Passage
from assistant.understand.tokens import load_table


@dataclass(frozen=True, slots=True)
class SystemMention:
    start: int
    end: int
    name: str


def find_systems(passage: Passage, context: Context) -> list[SystemMention]:
    """Where the speaker names a system. A place ("upstairs") counts once systems are being told apart."""
    table = load_table("systems.toml")
    nouns, places, rooms = set(table["nouns"]), table["places"], set(table["rooms"])
    several = _tells_apart(passage, context, table)
    numbers = {number.start: number for number in passage.numbers}
    words = passage.words(0, len(passage.doc))
    found: list[SystemMention] = []
    for at, word in enumerate(words):
        if found and at < found[-1].end:
            continue
        number = numbers.get(at + 1)
        if word in table["counted"] and number and number.kind == "cardinal" and number.value in range(1, 21) and number.end not in passage.units:
            found.append(SystemMention(at, number.end, f"unit {number.value:.0f}"))
            passage.take(at, number.end)
        elif word in table["counted"] and words[at + 1 : at + 2] and words[at + 1] in table["letters"]:
            found.append(SystemMention(at, at + 2, f"unit {words[at + 1]}"))
        elif word == "other" and words[at + 1 : at + 2] and words[at + 1] in nouns and (other := _other(found, context)):
            found.append(SystemMention(at, at + 2, other))
        elif mention := _place_at(words, at, places, rooms, nouns, several, passage, context):
            found.append(mention)
    return found


def _place_at(words, at, places, rooms, nouns, several, passage: Passage, context: Context) -> SystemMention | None:
    for place in places:
        said = place.split()
        if words[at : at + len(said)] != said:
            continue
        end = at + len(said)
        known = place in context.known_systems()
        beside_noun = words[end : end + 1] != [] and words[end] in nouns
        beside_name = any(name.start == end or name.end == at for name in passage.names)
        leads = (at == 0 or words[at - 1] in ".?!") and words[end : end + 1] in ([","], [":"])
        if known or beside_noun or (several and (beside_name or leads or True)) or (beside_name and place in ("upstairs", "downstairs")):
            return SystemMention(at, end + (1 if beside_noun else 0), place)
    for length in (2, 1):
        room, end = " ".join(words[at : at + length]), at + length
        if room in rooms and (room in context.known_systems() or words[end : end + 1] and words[end] in ("unit", "system", "one", "condenser", "furnace")):
            return SystemMention(at, end + 1, room)
    return None


def _tells_apart(passage: Passage, context: Context, table) -> bool:
    if context.known_systems():
        return True
    text = " ".join(passage.words(0, len(passage.doc)))
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
    clause_end = next((i for i in range(token, end) if passage.doc[i].text in ",;:"), end)
    after = [mention for mention in mentions if token < mention.start < clause_end]
    if after:
        return after[0].name
    if before:
        return before[-1].name
    return context.last_system()
