"""Events: permits, inspections and what was done when."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from assistant.records import Event
from assistant.understand.clock import Moment
from assistant.understand.context import Context
from assistant.understand.lexicon import Spans, Wordings, lists_of, wordings
from assistant.understand.passage import Passage, beginning_in, covering
from assistant.understand.systems import SystemMention, system_at
from assistant.understand.tokens import load_table
from assistant.understand.vocabulary import find_all, none_said, says_any

_TABLE = load_table("events.toml")
_PERMIT, _TRADES, _INSPECTION = (lists_of(_TABLE[part]) for part in ("permit", "trades", "inspection"))
_NOT_A_TRADE_BEFORE = frozenset(_TABLE["not_a_trade_before"]["words"])
_TOLD = [_INSPECTION[key] for key in ("passed", "failed", "partial", "scheduled")]
_PARTS = wordings(_TABLE["parts"]["nouns"])
_SHUT_DOWN = wordings(["shut it off", "red tagged it"])
_CAME = wordings(
    ["showed", "was here", "came by", "came at", "here at", "stopped by", "came out", "came through", "got here"]
)
_NOT_PASSED = wordings(["has n't passed", "before", "to pass", "should pass", "once"])
_COMES_BACK = _INSPECTION["comes_back"]
_OF_INSPECTIONS = (_INSPECTION["words"], *_TRADES.values(), _COMES_BACK)  # without one, none is told of
_INSPECTOR = wordings(["he", "she", "they", "inspector", "guy"])
_NEAR = 25  # tokens back in which a part is looked for that "it" and "one" stand for
_CUTS = frozenset({",", ";", ":", "but"})
_COOLING = wordings(["suction", "head", "subcool", "superheat", "liquid line", "subcooling"])
_HEATING = wordings(
    ["furnace", "burner", "burners", "boiler", "manifold", "gas", "heat exchanger", "flame", "flue", "inlet"]
)
_IT_WAS_THE = wordings(["it was the"])
_EARLIER_TODAY = wordings(["this morning", "this afternoon"])


@dataclass(frozen=True, slots=True)
class _Kind:
    """One row of events.toml."""

    kind: str
    outcome: str | None
    say: Wordings
    not_this: Wordings | None
    needs: Wordings | None
    needs_time: bool
    right_before_a_time: bool


def _list_in(row: dict, key: str) -> Wordings | None:
    return wordings(row[key]) if key in row else None


_KINDS = tuple(
    _Kind(
        row["kind"],
        row.get("outcome"),
        wordings(row["say"]),
        _list_in(row, "not_this"),
        _list_in(row, "needs"),
        row.get("needs_time", False),
        row.get("right_before_a_time", False),
    )
    for row in _TABLE["event"]
)
_KIND_SAYS = frozenset(row.say for row in _KINDS)


@dataclass(frozen=True, slots=True)
class Speech:
    """What every event reader needs of a passage."""

    passage: Passage
    context: Context
    systems: list[SystemMention]
    moments: list[Moment]
    people: Spans = field(default_factory=list)  # who is named, where it matters: something was offered or answered

    def moments_in(self, start: int, end: int) -> list[Moment]:
        return beginning_in(self.moments, start, end)

    def moment_in(self, start: int, end: int) -> Moment | None:
        return next(iter(self.moments_in(start, end)), None)

    def moment_at(self, token: int) -> Moment | None:
        return covering(self.moments, token)

    def when_in(self, start: int, end: int) -> str | None:
        moment = self.moment_in(start, end)
        return moment.when(self.context.date) if moment else None

    def clauses(self, start: int, end: int) -> list[tuple[int, int]]:
        """The stretch cut at commas and "but"."""
        lower = self.passage.lower
        edges = [start, *[i + 1 for i in range(start, end) if lower[i] in _CUTS], end]
        return [(a, b) for a, b in zip(edges, edges[1:], strict=False) if b > a]


def find_events(speech: Speech) -> list[Event]:
    """Every event, in the order spoken."""
    passage = speech.passage
    told = [] if none_said(passage, _KIND_SAYS) else [row for row in _KINDS if row.say in passage.wordings]
    no_inspection = none_said(passage, _OF_INSPECTIONS)
    if not told and no_inspection and _PERMIT["words"] not in passage.wordings:
        return []
    found: list[Event] = []
    of_permits = False  # the sentence before told of permits, for "electrical's only been applied for" in the next
    inspection: Event | None = None  # the inspection being told about, for "electrical passed" in a later sentence
    for place, (start, end) in enumerate(passage.sentences):
        permits: list[Event] = []
        inspections: list[Event] = []
        goes_on = of_permits and _goes_on_about_permits(passage, start, end)
        of_permits = goes_on or says_any(passage, _PERMIT["words"], start, end)
        for a, b, is_of_permits in [(start, end, True)] if goes_on else _parts_of(speech, start, end):
            if is_of_permits:
                permits += _permits(speech, a, b, goes_on)
            elif not no_inspection:
                told_here, inspection = _inspections(speech, a, b, inspection, found + inspections)
                inspections += told_here
        only_inspected = inspections and not says_any(passage, _SHUT_DOWN, start, end)
        others = [] if only_inspected else _others(speech, told, start, end, permits)
        fresh = permits + inspections + others
        if fresh:
            passage.used_sentences.add(place)
        found += fresh
    return _once(found)


def _parts_of(speech: Speech, start: int, end: int) -> list[tuple[int, int, bool]]:
    """A sentence as stretches of clauses, each about permits or not.

    "Mechanical permit's on the door, electrical inspector comes Friday" tells of one permit and one inspection.
    """
    passage = speech.passage
    if not says_any(passage, _PERMIT["words"], start, end):
        back = _opens_a_return(speech, start, end)
        return [(start, back, False), (back, end, False)] if back else [(start, end, False)]
    parts: list[tuple[int, int, bool]] = []
    for a, b in speech.clauses(start, end):
        of_permits = says_any(passage, _PERMIT["words"], a, b)
        decided = of_permits or says_any(passage, _INSPECTION["words"], a, b)
        if parts and (not decided or parts[-1][2] == of_permits):
            parts[-1] = (parts[-1][0], b, parts[-1][2])
        else:
            parts.append((a, b, of_permits or not decided))
    return parts


def _opens_a_return(speech: Speech, start: int, end: int) -> int | None:
    """Where "…, he'll be back Wednesday" begins behind something else that was told of the inspection."""
    passage = speech.passage
    if _COMES_BACK not in passage.wordings:
        return None
    for a, b in speech.clauses(start, end)[1:]:
        if _inspector_comes_back(passage, a, b) and speech.moment_in(a, b):
            return a
    return None


def _inspector_comes_back(passage: Passage, start: int, end: int) -> bool:
    """ "He'll be back", and without a word for him what opens with it: "…, coming back Friday"."""
    back = find_all(passage, _COMES_BACK, start, end)
    opens = bool(back) and back[0][0] <= start + 1 and passage.words(start, start + 1) not in (["i"], ["we"])
    return bool(back) and (says_any(passage, _INSPECTOR, start, end) or opens)


# ---------------------------------------------------------------- permits


def _goes_on_about_permits(passage: Passage, start: int, end: int) -> bool:
    """ "Electrical's only been applied for", right behind a sentence about permits."""
    told = says_any(passage, _PERMIT["words"], start, end) or says_any(passage, _INSPECTION["words"], start, end)
    return not told and bool(_trades(passage, start, start + 3)) and bool(_permit_outcome(passage, start, end))


def _permits(speech: Speech, start: int, end: int, goes_on: bool = False) -> list[Event]:
    passage = speech.passage
    if not goes_on and not says_any(passage, _PERMIT["words"], start, end):
        return []
    found = []
    clauses = speech.clauses(start, end)
    outcomes = [_permit_outcome(passage, a, b) for a, b in clauses]
    for number, (a, b) in enumerate(clauses):
        outcome = (
            outcomes[number]
            or next((o for o in outcomes[number + 1 :] if o), None)
            or next((o for o in outcomes[:number][::-1] if o), None)
        )
        for trade in _trades(passage, a, b):
            day = speech.when_in(a, b) or (
                speech.context.date.isoformat()
                if outcome == "applied" and says_any(passage, _EARLIER_TODAY, a, b)
                else None
            )
            found.append(
                Event(
                    "permit",
                    trade,
                    outcome,
                    day if day and (outcome == "applied" or _dated_behind(speech, a, b)) else None,
                    _said(passage, start, end),
                    note=speech.context.note,
                )
            )
    return found


def _dated_behind(speech: Speech, start: int, end: int) -> bool:
    """ "Mechanical permit posted 4/10": the day stands behind what it is of."""
    moment, posted = speech.moment_in(start, end), find_all(speech.passage, _PERMIT["posted"], start, end)
    return bool(moment and moment.day and posted) and moment.start >= posted[0][1]


def _permit_outcome(passage: Passage, start: int, end: int) -> str | None:
    if says_any(passage, _PERMIT["applied"], start, end):
        return "applied"
    return "posted" if says_any(passage, _PERMIT["posted"], start, end) else None


def _trades(passage: Passage, start: int, end: int) -> list[str]:
    if none_said(passage, _TRADES.values()):
        return []
    spans = sorted(
        (a, -b, trade)
        for trade, says in _TRADES.items()
        for a, b in find_all(passage, says, start, end)
        if not _NOT_A_TRADE_BEFORE.intersection(passage.words(b, b + 1))
    )
    return list(dict.fromkeys(trade for _, _, trade in spans))


# ---------------------------------------------------------------- inspections


def _inspections(speech: Speech, start: int, end: int, going: Event | None, earlier: list[Event]):
    """Inspections told in one sentence. A sentence that only names trades and outcomes belongs to the last one."""
    passage = speech.passage
    about = says_any(passage, _INSPECTION["words"], start, end)
    named = _trades(passage, start, end)
    result = any(says_any(passage, _INSPECTION[key], start, end) for key in ("passed", "failed"))
    open_before = [e for e in speech.context.job.events if e.kind == "inspection"]
    to_come = says_any(passage, _INSPECTION["scheduled"], start, end)
    if about and not result and says_any(passage, _INSPECTION["called"], start, end):
        return [], going  # "call the inspector tomorrow" is ours to do
    booked = named and going and to_come and speech.moment_in(start, end)
    if not about and not booked and not (named and result and (going or open_before or _leads(passage, start))):
        return _return_visit(speech, start, end, going, earlier), going
    found: list[Event] = []
    moment = speech.when_in(start, end)
    for a, b in _outcome_clauses(speech, start, end):
        outcome = _inspection_outcome(speech, a, b)
        here = _trades(passage, a, b) or (named if len(named) == 1 and about else [])
        if not here and outcome in ("passed", "failed", "partial") and not found:
            here = [e.trade for e in open_before if e.outcome == "scheduled"][-1:] or (
                [going.trade] if going and going.trade else []
            )
        for trade in here:
            own = speech.when_in(a, b)
            past = moment if moment and moment[:10] <= speech.context.date.isoformat() else None
            when = (
                own
                or (past if outcome in ("passed", "failed", "partial") else moment)
                or (going.when if going and outcome in ("passed", "failed") else None)
            )
            if outcome is None:
                continue
            if when and when[:10] > speech.context.date.isoformat():
                outcome = "scheduled"  # "signs off on Monday" has not happened yet
            if outcome in ("passed", "failed", "partial"):
                when = when or speech.context.date.isoformat()
            found.append(
                Event("inspection", trade, outcome, when, _said(passage, start, end), note=speech.context.note)
            )
    if about and not found:
        found = _each_its_own(speech, start, end)
    if about and not found:
        scheduled = to_come and moment
        came = says_any(passage, _CAME, start, end)
        if came and not result:
            return [], Event("inspection", named[0] if named else None, None, moment or speech.context.date.isoformat())
        if scheduled:
            trade = named[0] if named else (open_before[-1].trade if open_before else None)
            found.append(
                Event("inspection", trade, "scheduled", moment, _said(passage, start, end), note=speech.context.note)
            )
        elif result:
            outcome = "failed" if says_any(passage, _INSPECTION["failed"], start, end) else "passed"
            trade = named[0] if named else next((e.trade for e in open_before[::-1] if e.trade), None)
            found.append(
                Event(
                    "inspection",
                    trade,
                    outcome,
                    moment or speech.context.date.isoformat(),
                    _said(passage, start, end),
                    note=speech.context.note,
                )
            )
    return found, (found[-1] if found else going)


def _each_its_own(speech: Speech, start: int, end: int) -> list[Event]:
    """ "Rough-in passed this morning, final's set for the twentieth": two inspections whose trade was not said."""
    told = [(a, b, _inspection_outcome(speech, a, b)) for a, b in speech.clauses(start, end)]
    told = [each for each in told if each[2] and says_any(speech.passage, _INSPECTION["words"], *each[:2])]
    if len(told) < 2:
        return []
    today, note = speech.context.date.isoformat(), speech.context.note
    return [
        Event("inspection", None, outcome, speech.when_in(a, b) or today, _said(speech.passage, start, end), note=note)
        for a, b, outcome in told
    ]


def _leads(passage: Passage, start: int) -> bool:
    """ "Sheet metal passed": the trade opens the sentence."""
    return any(a <= start + 1 for says in _TRADES.values() for a, _ in find_all(passage, says, start, start + 4))


def _outcome_clauses(speech: Speech, start: int, end: int) -> list[tuple[int, int]]:
    """Clauses, with those that hold neither trade nor outcome joined to the one before."""
    clauses: list[tuple[int, int]] = []
    for a, b in speech.clauses(start, end):
        own = _trades(speech.passage, a, b) and (
            any(says_any(speech.passage, says, a, b) for says in _TOLD) or speech.moment_in(a, b) is not None
        )
        if clauses and not own:
            clauses[-1] = (clauses[-1][0], b)
        else:
            clauses.append((a, b))
    return clauses


def _inspection_outcome(speech: Speech, start: int, end: int) -> str | None:
    passage = speech.passage
    if any(passage.words(a - 1, a) not in (["no"], ["without"], ["zero"]) for a, _ in _failures(passage, start, end)):
        return "failed"
    if says_any(passage, _INSPECTION["partial"], start, end):
        return "partial"
    if says_any(passage, _INSPECTION["passed"], start, end) and not says_any(passage, _NOT_PASSED, start, end):
        return "passed"
    moment = speech.when_in(start, end)
    coming = moment is not None and moment[:10] > speech.context.date.isoformat()
    if moment and (coming or says_any(passage, _INSPECTION["scheduled"], start, end)):
        return "scheduled"
    return None


def _failures(passage: Passage, start: int, end: int) -> list[tuple[int, int]]:
    return find_all(passage, _INSPECTION["failed"], start, end)


def _return_visit(speech: Speech, start: int, end: int, going: Event | None, earlier: list[Event]) -> list[Event]:
    """ "He'll be back next Friday to look again": the inspector, if one was just spoken of."""
    last = next((e for e in earlier[::-1] if e.kind == "inspection"), going)
    when = speech.when_in(start, end)
    if last is None or when is None or not _inspector_comes_back(speech.passage, start, end):
        return []
    return [
        Event("inspection", last.trade, "scheduled", when, _said(speech.passage, start, end), note=speech.context.note)
    ]


# ---------------------------------------------------------------- the rest


def _others(speech: Speech, told: list[_Kind], start: int, end: int, permits: list[Event]) -> list[Event]:
    passage = speech.passage
    found = []
    for row in told:
        if row.kind == "arrival" and permits:
            continue
        spans = find_all(passage, row.say, start, end)
        if not spans or (row.not_this and says_any(passage, row.not_this, start, end)):
            continue
        near = max(0, start - _NEAR) if row.kind == "part_replaced" else start  # "cap's bad. Hung a new one on it"
        if row.needs and not says_any(passage, row.needs, near, end):
            continue
        when = _near_moment(speech, spans[0], start, end)
        if row.needs_time and when is None:
            continue
        if row.right_before_a_time and not any(m.time for m in speech.moments_in(spans[0][1], spans[0][1] + 1)):
            continue
        if spans[0] == next(iter(find_all(passage, _IT_WAS_THE, start, end)), None) and not says_any(
            passage, _PARTS, start, end
        ):
            continue
        if row.kind in ("failure_found", "part_replaced", "charging", "recovery", "evacuation"):
            when = when if when and "T" in when and when.startswith(speech.context.date.isoformat()) else None
        if row.kind == "delivery" and row.outcome == "scheduled" and when is None:
            continue
        if row.kind in ("arrival",) and when is None:
            when = speech.context.date.isoformat()
        what = (
            _part(passage, _PARTS, start, end) if row.kind in ("failure_found", "part_replaced", "delivery") else None
        )
        found.append(
            Event(
                "startup" if row.kind == "first_fire" and _is_of_cooling(speech) else row.kind,
                None,
                row.outcome,
                when,
                _said(passage, start, end),
                system_at(spans[0][0], speech.systems, passage, speech.context),
                what,
                speech.context.note,
            )
        )
    return found


def _is_of_cooling(speech: Speech) -> bool:
    """ "Lit her up at five past nine": with gauges on it and no gas, a condenser was started, no burner lit."""
    passage = speech.passage
    return says_any(passage, _COOLING, 0, len(passage.lower)) and not says_any(passage, _HEATING, 0, len(passage.lower))


def _near_moment(speech: Speech, span: tuple[int, int], start: int, end: int) -> str | None:
    inside = speech.moments_in(start, end)
    if not inside:
        return None
    inside = [m for m in inside if m.time] or inside
    nearest = min(inside, key=lambda m: abs(m.start - span[1]))
    day = next((m.day for m in speech.moments_in(start, nearest.start) if m.day), None)
    return nearest.when(nearest.day or day or speech.context.date)  # "on Friday's truck, here by noon"


def _part(passage: Passage, nouns: Wordings, start: int, end: int) -> str | None:
    spans = find_all(passage, nouns, start, end) or find_all(passage, nouns, max(0, start - _NEAR), end)
    if not spans:
        return None
    longest = max(spans, key=lambda span: span[1] - span[0])
    return passage.said(*longest)


def _said(passage: Passage, start: int, end: int) -> str:
    return passage.said(start, end)


def _once(events: list[Event]) -> list[Event]:
    """One event per kind, trade and outcome in a note; the one with a time is kept."""
    kept: dict[tuple, Event] = {}
    for event in events:
        key = (
            (event.kind, event.trade, event.outcome, event.what, event.system)
            if event.kind != "arrival"
            else ("arrival",)
        )
        if key not in kept or (kept[key].when or "") < (event.when or "") and "T" not in (kept[key].when or ""):
            known = kept[key].what if key in kept else None
            kept[key] = replace(event, what=known) if known and not event.what else event
    return list(kept.values())
