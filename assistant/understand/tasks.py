"""Tasks: what is still to be done, by when, what it waits on, and what is done since."""

from __future__ import annotations

from assistant.records import Agreement, Event, Task
from assistant.understand.events import Speech
from assistant.understand.lexicon import wordings
from assistant.understand.tokens import load_table
from assistant.understand.vocabulary import find_all, none_said, says_any

_TABLE = load_table("tasks.toml")
_WAITS, _NOT_DOING = wordings(_TABLE["waits"]["say"]), wordings(_TABLE["waits"]["not_doing"])
_OPEN, _NOT_OPEN = wordings(_TABLE["open"]["say"]), wordings(_TABLE["open"]["not_this"])
_OPEN_ALL_THE_SAME = wordings(["remind me", "coming back", "i'm calling"])
_FOR_WHAT_WAS_AGREED = frozenset(_TABLE["open"]["for_what_was_agreed"])
_FIRE, _FURNACE = wordings(_TABLE["fire"]["say"]), wordings(["furnace", "burner", "burners", "gas"])
_DONE, _NOT_DONE = wordings(_TABLE["done"]["say"]), wordings(_TABLE["done"]["not_this"])
_DROPPED = wordings(_TABLE["dropped"]["say"])
_LIST_OPENS = wordings(_TABLE["list"]["opens"])
_BEHIND_AN_OPENING = ([":"], [","], ["is"], ["are"], ["'s"], ["-"])
_IMPERATIVES = frozenset(_TABLE["open"]["imperatives"])
_PRONOUNS = frozenset(_TABLE["pronouns"]["say"])
_PARTS = wordings(load_table("events.toml")["parts"]["nouns"])
_PERMIT = wordings(load_table("events.toml")["permit"]["words"])


def find_tasks(speech: Speech, agreements: list[Agreement], events: list[Event]) -> list[Task]:
    """Every task said in the passage, open ones first told, then what is done since."""
    passage = speech.passage
    found: list[Task] = []
    if not speech.moments and none_said(passage, (_WAITS, _OPEN, _LIST_OPENS)):
        return found
    coming = [e.said for e in events if e.kind == "inspection" and e.outcome == "scheduled"]
    for place, (start, end) in enumerate(passage.sentences):
        if coming and any(said in passage.said(start, end) for said in coming):
            continue  # the inspector comes back; nothing for us to do
        tasks = (
            _waiting(speech, start, end) or _listed(speech, start, end) or _open(speech, place, start, end, agreements)
        )
        if tasks:
            passage.used_sentences.add(place)
        found += tasks
    return found


# ---------------------------------------------------------------- not before something has happened


def _waiting(speech: Speech, start: int, end: int) -> list[Task]:
    """ "I'm not lighting it till everybody's left": first fire, waiting on everybody having left."""
    passage = speech.passage
    waits = find_all(passage, _WAITS, start, end)
    if not waits:
        return []
    holds = find_all(passage, _NOT_DOING, start, end)
    if holds and (behind := [w for w in waits if w[0] >= holds[0][0]]):
        what = _clean(speech, holds[0][0], behind[0][0])
        on = _clean(speech, behind[0][1], _clause_end(speech, behind[0][1], end))
        if says_any(passage, _FIRE, holds[0][0], behind[0][0]):
            what = "first fire of the furnace"
        return [
            Task(
                _without_not(what),
                _due(speech, holds[0][0], end) if not _day_in_wait(speech, behind[0], end) else None,
                on,
                note=speech.context.note,
                system=_system(speech, start),
            )
        ]
    opening = waits[0]
    said = passage.words(*opening)
    if said[:1] == ["waiting"] and opening[0] <= start + 3:
        before = next((w for w in waits[1:] if passage.words(*w)[0] in ("before", "till", "until")), None)
        on = _clean(speech, opening[1], before[0] if before else _clause_end(speech, opening[1], end))
        what = _clean(speech, before[1], end) if before else f"wait for {on}"
        return [Task(what, _due(speech, start, end), on, note=speech.context.note, system=_system(speech, start))]
    return []


def _day_in_wait(speech: Speech, wait: tuple[int, int], end: int) -> bool:
    return any(m.day is None for m in speech.moments_in(wait[0], end))


def _without_not(what: str) -> str:
    for lead in ("I'm not ", "not ", "I am not ", "holding off on ", "hold off on ", "won't ", "can't "):
        if what.lower().startswith(lead.lower()):
            return what[len(lead) :]
    return what


# ---------------------------------------------------------------- a list of what is left


def _listed(speech: Speech, start: int, end: int) -> list[Task]:
    """ "Two things left: label the disconnect and register the warranty": each by itself."""
    passage = speech.passage
    opens = next(iter(find_all(passage, _LIST_OPENS, start, end)), None)
    if opens is None or passage.words(opens[1], opens[1] + 1) not in _BEHIND_AN_OPENING:
        return []
    edges = [opens[1], *[at for at in range(opens[1] + 1, end) if passage.lower[at] in (",", "and")], end]
    parts = [(a + 1, b) for a, b in zip(edges, edges[1:], strict=False)]
    return [
        Task(what, _due(speech, a, b), note=speech.context.note, system=_system(speech, a))
        for a, b in parts
        if len((what := _clean(speech, a, b)).split()) > 1
    ]


# ---------------------------------------------------------------- to be done

_HEARING_BACK = frozenset(
    {
        "let me know",
        "let us know",
        "get back to me",
        "get back to us",
        "call me back",
        "waiting to hear",
        "he'll tell me",
        "she'll tell me",
        "they'll tell me",
        "he'll ring me",
        "she'll ring me",
        "they'll ring me",
        "she'll text me",
        "he'll text me",
        "they'll text me",
        "he'll call",
        "she'll call",
        "they'll call",
    }
)


def _open(speech: Speech, place: int, start: int, end: int, agreements: list[Agreement]) -> list[Task]:
    passage = speech.passage
    cues = find_all(passage, _OPEN, start, end)
    if not cues and not speech.moment_in(start, end):
        return []  # nothing to do, and no day to do it on
    if says_any(passage, _NOT_OPEN, start, end) and not says_any(passage, _OPEN_ALL_THE_SAME, start, end):
        return []
    found: list[Task] = []
    covered = start
    answers = [cue for cue in cues if passage.phrase(cue[0], cue[1]) in _HEARING_BACK]
    cues = [cue for cue in cues if cue in answers or not any(a[0] - 4 <= cue[0] < a[0] for a in answers)]
    for number, cue in enumerate(cues):
        if cue[0] < covered or (_behind_to(speech, cue, start) and cue not in answers):
            continue  # "back Thursday to recheck the charge" is one task
        clause = (_clause_start(speech, cue[0], start), _clause_end(speech, cue[1], end))
        for other in cues[number + 1 :]:
            if _behind_to(speech, other, start):
                continue
            opens = _clause_start(speech, other[0], start)
            if cue[1] < opens < clause[1]:
                clause = (clause[0], opens)
        covered = clause[1]
        due = _due(speech, clause[0], clause[1]) or (_due(speech, clause[0], end) if len(cues) == 1 else None)
        if not _is_to_do(speech, cue, clause, due):
            continue
        what = _what(speech, place, start, cue, clause, agreements)
        found.append(
            Task(what, due, _waits_on(speech, clause), note=speech.context.note, system=_system(speech, cue[0]))
        )
    if not found and passage.lower[start] in _IMPERATIVES and (due := _due(speech, start, end)):
        found.append(Task(_clean(speech, start, end), due, note=speech.context.note, system=_system(speech, start)))
    if not found and (task := _doing_later(speech, start, end)):
        found.append(task)
    if (
        not found
        and passage.words(start, start + 1) in (["back"], ["returning"])
        and (due := _due(speech, start, end))
        and due[:10] > speech.context.date.isoformat()
    ):
        found.append(
            Task(
                f"come {_clean(speech, start, end)}"[:160], due, note=speech.context.note, system=_system(speech, start)
            )
        )
    return found


def _behind_to(speech: Speech, cue: tuple[int, int], start: int) -> bool:
    return speech.passage.words(max(start, cue[0] - 1), cue[0]) == ["to"]


# What others do on a coming day that is no work: "he's coming back Monday".
_NO_WORK = frozenset({"coming", "being", "getting", "going", "meeting", "sending", "closing", "opening", "thinking"})


def _doing_later(speech: Speech, start: int, end: int) -> Task | None:
    """ "The day after tomorrow I'm bringing the lift back": someone of ours doing something on a coming day."""
    passage = speech.passage
    due = _due(speech, start, end)
    if due is None or due[:10] <= speech.context.date.isoformat():
        return None
    for at in range(start, end - 2):
        going = passage.words(at, at + 2) in (["i", "'m"], ["we", "'re"], ["i", "am"], ["we", "are"])
        somebody = at > start and passage.lower[at] in ("'s", "is") and passage.lower[at + 1] not in _NO_WORK
        if somebody and passage.lower[at + 1].endswith("ing") or going and passage.lower[at + 2].endswith("ing"):
            return Task(
                _clean(speech, *_widest(speech, at, start, end)),
                due,
                note=speech.context.note,
                system=_system(speech, at),
            )
    return None


def _widest(speech: Speech, token: int, start: int, end: int) -> tuple[int, int]:
    return _clause_start(speech, token, start), _clause_end(speech, token, end)


def _is_to_do(speech: Speech, cue: tuple[int, int], clause: tuple[int, int], due: str | None) -> bool:
    """Vague openings ("order", "be back") only count with a coming day; "got to" not before a place."""
    said = speech.passage.phrase(cue[0], cue[1])
    if said in (
        "be back",
        "back on",
        "i can get back",
        "i'll be back",
        "coming back",
        "i'm back",
        "we're back",
        "recheck is",
        "charge recheck",
        "returning",
        "order",
        "schedule",
        "pick up",
        "next trip",
        "let me know",
        "get back to me",
        "call me back",
        "is supposed to",
        "i'm returning",
        "to do",
        "i'm coming back",
    ):
        return due is not None or said in (
            "i'm coming back",
            "let me know",
            "get back to me",
            "call me back",
            "pick up",
            "next trip",
            "charge recheck",
        )
    if said in ("waiting on", "waiting for"):
        return True
    if said in ("has to", "needs to", "have to", "got to", "need to", "going to", "gonna"):
        follow = speech.passage.words(cue[1], min(cue[1] + 1, len(speech.passage.lower)))
        if follow == ["be"] and due is not None:
            return True  # "warranty has to be filed by Friday"
        return follow not in (["the"], ["be"], ["rain"], ["."])
    return True


def _what(speech: Speech, place: int, start: int, cue, clause, agreements: list[Agreement]) -> str:
    """The task in the speaker's words; where they only point ("do that"), what they point at is added."""
    passage = speech.passage
    words = passage.words(*clause)
    said = passage.phrase(cue[0], cue[1])
    text = _clean(speech, *clause)
    if said in ("put me down for", "got me down for") and clause[1] < passage.sentences[place][1]:
        text = _clean(speech, clause[0], passage.sentences[place][1])
    pending = next((a for a in agreements if a.status in ("pending", "approved", "quoted")), None)
    about = pending.scope if pending else None
    if said in _HEARING_BACK:
        who = pending.by if pending else "customer"
        return f"hear back from the {who} about {about or _before(speech, place, start, cue[0])}"
    has_its_own_purpose = " to " in f" {text} " or said in ("put me down for", "got me down for")
    if about and said in _FOR_WHAT_WAS_AGREED and not has_its_own_purpose:
        return f"{about}: {text}"
    if says_any(passage, _FIRE, *clause) and says_any(passage, _FURNACE, 0, len(passage.lower)):
        return f"first fire of the furnace: {text}"
    points = set(words) & _PRONOUNS
    if points or len(words) < 4:
        before = _before(speech, place, start, clause[0])
        return f"{text} ({before})" if before else text
    return text


def _before(speech: Speech, place: int, start: int, token: int) -> str:
    """What was said just before: the earlier part of the sentence, and the sentence ahead where a part was named."""
    passage = speech.passage
    here = passage.said(start, token).strip(" ,.") if token > start else ""
    ahead = passage.said(*passage.sentences[place - 1]).strip(" .") if place else ""
    if place and (not here or says_any(passage, _PARTS, *passage.sentences[place - 1])):
        return f"{ahead}; {here}".strip("; ")
    return here or ahead


def _waits_on(speech: Speech, clause: tuple[int, int]) -> str | None:
    waits = [
        w
        for w in find_all(speech.passage, _WAITS, *clause)
        if speech.passage.words(*w)[0] in ("till", "until", "til", "once", "as", "after", "when")
    ]
    if not waits:
        return None
    start, end = waits[-1][1], clause[1]
    if speech.moment_in(start, start + 3):
        return None
    on = _clean(speech, start, end)
    if on and speech.passage.lower[start] in _PRONOUNS:  # "owner's getting a chimney guy, I go back once he's been"
        sentence = speech.passage.sentences[speech.passage.sentence_of(start)][0]
        before = speech.passage.said(sentence, clause[0]).strip(" ,.") if sentence < clause[0] else ""
        return f"{on} ({before})" if before else on
    return on or None


def _due(speech: Speech, start: int, end: int) -> str | None:
    """The day or time said; a coming day wins over a time alone."""
    inside = speech.moments_in(start, end)
    dated = [m for m in inside if m.day and m.day >= speech.context.date] or [m for m in inside if m.time and m.sure]
    if not dated:
        return None
    first = dated[0]
    return first.when(speech.context.date)


def _system(speech: Speech, token: int) -> str:
    from assistant.understand.systems import system_at

    return system_at(token, speech.systems, speech.passage, speech.context)


def _clause_start(speech: Speech, token: int, start: int) -> int:
    return next(
        (
            i + 1
            for i in range(token - 1, start - 1, -1)
            if speech.passage.tokens[i] in ",;:" or speech.passage.lower[i] in ("so", "but", "and")
        ),
        start,
    )


def _clause_end(speech: Speech, token: int, end: int) -> int:
    """To the next comma that opens something else; a comma inside a date ("Thursday, the sixteenth") does not."""
    passage = speech.passage
    for i in range(token, end):
        if passage.words(i + 1, i + 2) == ["to"]:
            continue  # "back on Thursday, the fourth, to recheck the charge"
        if passage.tokens[i] in ";:" or passage.tokens[i] == "," and not speech.moment_at(i + 1):
            return i
    return end


def _clean(speech: Speech, start: int, end: int) -> str:
    while start < end and speech.passage.lower[start] in (
        ",",
        "and",
        "so",
        "but",
        "uh",
        "um",
        "that",
        "well",
        "okay",
        ".",
    ):
        start += 1
    return speech.passage.said(start, end).strip(" ,.;:?") if end > start else ""


# ---------------------------------------------------------------- done since


def finished_words(speech: Speech) -> list[tuple[str, str]]:
    """Sentences and clauses that say something is done, as (words, "done" | "dropped"), for the log to match."""
    passage = speech.passage
    found: list[tuple[str, str]] = []
    if none_said(passage, (_DONE, _DROPPED)):
        return found
    for start, end in passage.sentences:
        if says_any(passage, _PERMIT, start, end):
            continue  # a permit that is up is an event
        if not (says_any(passage, _DROPPED, start, end) or says_any(passage, _DONE, start, end)):
            continue
        for a, b in speech.clauses(start, end):
            dropped = says_any(passage, _DROPPED, a, b)
            done = says_any(passage, _DONE, a, b) and not says_any(passage, _NOT_DONE, a, b)
            if done or dropped:
                found.append((passage.said(a, b), "dropped" if dropped else "done"))
    return found
