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
_LATER_TODAY = wordings(["this afternoon", "this evening"])
_LIST_OPENS = wordings(_TABLE["list"]["opens"])
_BEHIND_AN_OPENING = ([":"], [","], ["is"], ["are"], ["'s"], ["-"])
_HEARING_BACK, _ONLY_WITH_A_DAY, _BEFORE_A_VERB, _NOT_OURS, _JUST_SAID, _IMPERATIVES, _WITHOUT_A_DAY, _NO_WORK = (
    frozenset(_TABLE["open"][key])
    for key in (
        "hearing_back",
        "only_with_a_day",
        "before_a_verb",
        "not_ours",
        "for_what_was_just_said",
        "imperatives",
        "imperatives_without_a_day",
        "no_work",
    )
)
_SUBJECT_OF_OURS = frozenset({"i", "we", "'m", "'re", "you"})
_SUBJECTS = [["i"], ["we"], ["he"], ["she"], ["they"]]
_THEIRS = frozenset({"that", "'s", "who", *load_table("agreements.toml")["answer"]["people"]})
_SOMETHING = frozenset("the a an him her them that those my our it this these another two three four".split())
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
        what = _held(speech, holds[0], behind[0], start)
        on = _pointed(speech, behind[0][1], _clause_end(speech, behind[0][1], end))
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


def _held(speech: Speech, hold: tuple[int, int], wait: tuple[int, int], start: int) -> str:
    """What is not done yet, with what it is not done to: "the last two registers can't go up till …"."""
    what = _clean(speech, hold[0], wait[0])
    opens = _clause_start(speech, hold[0], start)
    subject = speech.passage.words(opens, hold[0])
    if not subject or not _SUBJECT_OF_OURS.isdisjoint(subject):
        return what
    return f"{_clean(speech, opens, hold[0])} {what}"


def _day_in_wait(speech: Speech, wait: tuple[int, int], end: int) -> bool:
    return any(m.day is None for m in speech.moments_in(wait[0], end))


def _without_not(what: str) -> str:
    for lead in ("I'm not ", "not ", "I am not ", "holding off on ", "hold off on ", "won't ", "can't "):
        if what.lower().startswith(lead.lower()):
            return what[len(lead) :]
    return what.replace(" can't ", " ").replace(" won't ", " ")


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
        due = _due(speech, clause[0], clause[1])
        if due is None and len(cues) == 1:
            due = _due(speech, clause[0], end) or _only_due(speech, clause[0])
        if not _is_to_do(speech, cue, clause, due):
            continue
        what = _what(speech, place, start, cue, clause, agreements)
        found.append(
            Task(what, due, _waits_behind(speech, *clause), note=speech.context.note, system=_system(speech, cue[0]))
        )
    told = [task.what for task in found]
    for a, b in _clauses(speech, start, end):
        what = _clean(speech, a, b)
        if not any(what and (what in other or other in what) for other in told) and (
            task := _ordered(speech, a, b, opens=a == start) or _doing_later(speech, a, b)
        ):
            found.append(task)
            told.append(task.what)
    found = [task for task in found if not any(_says_more(other, task) for other in found if other is not task)]
    return found or _coming_back(speech, start, end)


def _says_more(other: Task, task: Task) -> bool:
    return task.what in other.what and task.due in (None, other.due)


def _coming_back(speech: Speech, start: int, end: int) -> list[Task]:
    """ "Back Monday with a gauge", at the head of a sentence or a clause."""
    for a, b in _clauses(speech, start, end):
        due = _due(speech, a, b) if speech.passage.words(a, a + 1) in (["back"], ["returning"]) else None
        if due and due[:10] > speech.context.date.isoformat():
            what = f"come {_pointed(speech, a, b)}"
            return [Task(what[:160], due, note=speech.context.note, system=_system(speech, a))]
    return []


def _behind_to(speech: Speech, cue: tuple[int, int], start: int) -> bool:
    return speech.passage.words(max(start, cue[0] - 1), cue[0]) == ["to"]


def _clauses(speech: Speech, start: int, end: int) -> list[tuple[int, int]]:
    """The sentence cut where a clause ends; a comma inside a date cuts nothing."""
    clauses, words = [], speech.passage.lower
    while start < end:
        stop = max(_clause_end(speech, start, end), start + 1)
        joint = next(
            (at for at in range(start + 1, stop) if words[at] == "and" and words[at + 1 : at + 2] in _SUBJECTS), stop
        )
        clauses.append((start, joint))
        start = joint + 1
    return clauses


def _ordered(speech: Speech, start: int, end: int, opens: bool) -> Task | None:
    """ "Call him Wednesday", and at the head of a sentence without a day too: "Tell the office to move it"."""
    passage = speech.passage
    while start < end and passage.lower[start] in ("and", "then", "so", "but", "please", "okay"):
        start += 1
    word, due = passage.lower[start] if start < end else "", _due(speech, start, end)
    with_a_day = word in _IMPERATIVES and due is not None
    without = opens and word in _WITHOUT_A_DAY and start + 2 < end and passage.lower[start + 1] in _SOMETHING
    if not with_a_day and (not without or passage.names_in(start, end)):
        return None
    return Task(_pointed(speech, start, end), due, note=speech.context.note, system=_system(speech, start))


def _pointed(speech: Speech, start: int, end: int) -> str:
    """A clause in the speaker's words, with what stands before it where it only points: "I'm cutting it in Monday"."""
    passage, text = speech.passage, _clean(speech, start, end)
    if not _PRONOUNS.intersection(passage.words(start, end)):
        return text
    place = passage.sentence_of(start)
    before = _before(speech, place, passage.sentences[place][0], start)
    return f"{text} ({before})" if before else text


# What others do on a coming day that is no work: "he's coming back Monday".
_NOT_DOING_WORK = frozenset(
    {"coming", "being", "getting", "going", "meeting", "sending", "closing", "opening", "thinking"}
)


def _doing_later(speech: Speech, start: int, end: int) -> Task | None:
    """ "The day after tomorrow I'm bringing the lift back", "they'll move it Monday": work on a coming day."""
    passage = speech.passage
    due = _due(speech, start, end) or _only_due(speech, start)
    if due is None or due[:10] <= speech.context.date.isoformat():
        return None
    for at in range(start, end - 2):
        verb = passage.lower[at + 2]
        going = passage.words(at, at + 2) in (["i", "'m"], ["we", "'re"], ["i", "am"], ["we", "are"])
        others = passage.lower[at + 1] == "'ll" and verb.isalpha() and verb not in _NO_WORK
        somebody = at > start and passage.lower[at] in ("'s", "is") and passage.lower[at + 1] not in _NOT_DOING_WORK
        if somebody and passage.lower[at + 1].endswith("ing") or going and verb.endswith("ing") or others:
            return Task(
                _pointed(speech, start, end),
                due,
                _waits_behind(speech, start, end),
                note=speech.context.note,
                system=_system(speech, at),
            )
    return None


def _only_due(speech: Speech, token: int) -> str | None:
    """The day of the sentence, where it names only one: "Next Tuesday, the fifteenth, I'm swapping the wheel"."""
    start, end = speech.passage.sentences[speech.passage.sentence_of(token)]
    days = [m for m in speech.moments_in(start, end) if m.day and m.day > speech.context.date]
    return _due(speech, start, end) if len(days) == 1 and days[0].start < token else None


def _waits_behind(speech: Speech, start: int, end: int) -> str | None:
    """ "I'm ordering it tomorrow, soon as her deposit clears"."""
    stop = speech.passage.sentences[speech.passage.sentence_of(start)][1]
    behind = find_all(speech.passage, _WAITS, end, min(end + 3, stop))
    return _waits_on(speech, (start, _clause_end(speech, end + 1, stop) if behind else end))


def _is_to_do(speech: Speech, cue: tuple[int, int], clause: tuple[int, int], due: str | None) -> bool:
    """Vague openings ("order", "be back") only count with a coming day; "got to" not before a place."""
    said = speech.passage.phrase(cue[0], cue[1])
    if said == "it'll be":  # "it'll be Thursday at eight", not "it'll be here Thursday"
        opens = cue[1] + (speech.passage.lower[cue[1] : cue[1] + 1] in (["on"], ["around"], ["about"]))
        return any(moment.day and moment.start == opens for moment in speech.moments)
    if said in _ONLY_WITH_A_DAY:
        return due is not None
    if said in ("waiting on", "waiting for"):
        return True
    if said in _BEFORE_A_VERB:
        follow = speech.passage.words(cue[1], min(cue[1] + 1, len(speech.passage.lower)))
        if _NOT_OURS.intersection(follow) and _THEIRS.intersection(speech.passage.words(cue[0] - 2, cue[0])):
            return False
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
    if said in _JUST_SAID and clause[1] < passage.sentences[place][1]:
        text = _clean(speech, clause[0], passage.sentences[place][1])
    pending = next((a for status in ("pending", "quoted", "approved") for a in agreements if a.status == status), None)
    about = pending.scope if pending else None
    if said in _HEARING_BACK:
        who = pending.by if pending else "customer"
        return f"hear back from the {who} about {about or _before(speech, place, start, cue[0])}"
    has_its_own_purpose = " to " in f" {text} " or said in _JUST_SAID
    if about and said in _FOR_WHAT_WAS_AGREED and not has_its_own_purpose:
        return f"{about}: {text}"
    if says_any(passage, _FIRE, *clause) and says_any(passage, _FURNACE, 0, len(passage.lower)):
        return f"first fire of the furnace: {text}"
    points = set(words) & _PRONOUNS
    if points or len(words) < 4 or said in _JUST_SAID:
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
        if speech.passage.words(*w)[0] in ("till", "until", "til", "once", "as", "soon", "after", "when")
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
        return speech.context.date.isoformat() if says_any(speech.passage, _LATER_TODAY, start, end) else None
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
