"""Agreements: work offered beyond the job, its price, and what the other side answered."""

from __future__ import annotations

import functools
import re
from bisect import bisect_left
from collections import defaultdict
from dataclasses import replace

from assistant.records import Agreement, DuctRun
from assistant.understand.answers import ANSWER, STATUSES, answered_bare, status_in
from assistant.understand.claims import Price
from assistant.understand.events import Speech
from assistant.understand.groups import find_slips
from assistant.understand.lexicon import Wordings, wordings
from assistant.understand.systems import system_at
from assistant.understand.tokens import load_table
from assistant.understand.vocabulary import find_all, none_said, says_any

_TABLE = load_table("agreements.toml")
_SAYS_IT_ALONE = frozenset(_TABLE["answer"]["says_it_alone"])
_NAMED_PEOPLE = wordings(p for p in _TABLE["answer"]["people"] if p not in ("she", "he", "they", "wife", "husband"))
_QUOTED = wordings(["quoted", "offered", "pitched", "proposed", "quote"])
_TOLD_THE = tuple([verb, "the"] for verb in _TABLE["people"]["told"])
_ANSWERS = tuple([verb] for verb in _TABLE["people"]["answers"])
_IS_FINE = tuple(["'s", mood] for mood in _TABLE["people"]["is"])
_NOBODY = frozenset(_TABLE["people"]["nobody"])
_OPENS_A_LIST = wordings((*_TABLE["price"]["opens"], *_TABLE["price"]["opens_talk"]))
_POINTS_BACK, _ENDS_POINTING = (frozenset(_TABLE["bare"][key]) for key in ("points_back", "ends_pointing"))
_PARTS = wordings(load_table("events.toml")["parts"]["nouns"])
_WANTS = frozenset(_TABLE["bare"]["only_of_an_offer"])
_ASKED_FIRST = tuple(said.split() for said in _TABLE["people"]["asked_first"])
_AND_ANOTHER = tuple(["and", word] for word in ("a", "an", "another", "new", "for", "one"))
_ALIKE = {word: words[0] for words in _TABLE["scope"]["alike"] for word in words}
_LEAST_OF_A_LIST = 20  # dollars: "shoe rental's four dollars" behind an offer offers nothing
_OFFICIAL = wordings(["inspector", "inspection", "permit"])
# What follows an answer that says what it is about: "agreed to", "declined the humidifier".
# What begins a second answer in the same breath: "… and passed on the cabinet".
_ANSWERS_AGAIN = frozenset(
    "said says yes no forget skip passed turned he she they declined approved nixed does wants".split()
)
_OBJECTS = tuple([word] for word in ("to", "on", "for", "the", "a", "an", "both", "all"))


@functools.cache
def _lead() -> re.Pattern[str]:
    """Words that open a scope without belonging to it."""
    words = sorted(_TABLE["scope"]["leads"], key=len, reverse=True)
    return re.compile(rf"^(?:,|\s|(?:{'|'.join(map(re.escape, words))})\b)+[\s,]*", re.IGNORECASE)


@functools.cache
def _tail() -> re.Pattern[str]:
    """Words that lead from a scope to its price."""
    words = sorted(_TABLE["scope"]["tails"], key=len, reverse=True)
    return re.compile(rf"[\s,]*(?<![^\W_])(?:{'|'.join(map(re.escape, words))})$|'s$", re.IGNORECASE)


@functools.cache
def _pointing() -> frozenset[str]:
    return frozenset(_TABLE["scope"]["pointing"])


_CLOSED = re.compile(
    r"(?:,|\s+(?:and|but|so|because|since|if|when))\s+"
    r"(?:he|she|they|i|we|the owner|the \w+ (?:\w+ed|said|says|took)|that|it|there)\b.*$",
    re.IGNORECASE,
)


def find_agreements(speech: Speech, prices: list[Price], runs: list[DuctRun]) -> list[Agreement]:
    """Offers with their prices, then the answers matched to them or to what the job had pending."""
    passage = speech.passage
    if not prices and none_said(passage, (ANSWER["offered"], *STATUSES.values())):
        return []
    named = [span for span in people_in(passage, 0, len(passage.lower)) if not _asked_first(passage, span[0])]
    speech = replace(speech, people=named)
    return _answered(speech, _offers(speech, prices, runs), prices)


def _proposed(runs: list[DuctRun]) -> str:
    """ "The fix is one more sixteen inch return. I quoted her eleven forty": the run is what was quoted."""
    offered = [run for run in runs if run.status == "proposed"]
    if not offered:
        return ""
    run = offered[-1]
    size = " by ".join(f"{side:g}" for side in run.size_in)
    return " ".join(
        part
        for part in ("one more" if run.count == 1 else f"{run.count} more", size, "inch", run.material, run.side)
        if part
    )


def _offers(speech: Speech, prices: list[Price], runs: list[DuctRun]) -> list[tuple[Agreement, int]]:
    """What was offered, each with the token it was told at."""
    passage = speech.passage
    found: list[tuple[Agreement, int]] = []
    if not prices and ANSWER["offered"] not in passage.wordings:
        return found
    offered_at = -9  # the sentence in which something was last offered
    totals: dict[int, list[Price]] = defaultdict(list)  # prices that are no rates, by sentence
    for price in prices:
        if price.per is None:
            totals[passage.sentence_of(price.start)].append(price)
    for place, (start, end) in enumerate(passage.sentences):
        here = totals.get(place, [])
        cues = [cue for cue in find_all(passage, ANSWER["offered"], start, end) if not _passive(passage, cue)]
        if not cues and here:
            told_at_once = (place - offered_at <= 2 and here[0].dollars >= _LEAST_OF_A_LIST) or (
                _answered_at_once(passage, here[0], end) and not _answers_ahead(passage, place, prices)
            )
            cues = _told_somebody(passage, start, end) or ([(start, start)] if told_at_once else [])
        if cues and (not here or cues[0] == (start, start)) or find_all(passage, _OPENS_A_LIST, start, end):
            offered_at = place  # the next sentence may go on with the list
        if not cues and _for_a_run(passage, here, runs, end):
            cues = [(start, here[0].start)]  # "fifteen hundred even for another return": an offer without the word
        if not cues or not (here or says_any(passage, _QUOTED, start, end)):
            continue
        passage.used_sentences.add(place)
        edge = _behind_a_person(passage, cues[0][1], end)
        if not here:
            scope = _scope(passage.said(edge, end)) if edge < end else ""
            scope = scope if len(scope.split()) > 1 else _proposed(runs)
            if scope:
                found.append((_agreement(speech, scope, cues[0][0], None), cues[0][0]))
        for number, price in enumerate(here):
            if cues[0] == (start, start) and any(
                says_any(passage, says, edge, price.start) for says in STATUSES.values()
            ):
                continue  # "they passed on a return, which was four eighty": the answer tells what it is of
            stop = here[number + 1].start if number + 1 < len(here) else end
            before = (start, cues[0][0]) if not number else (start, start)
            ahead = (_behind_the_last(passage, edge, price.start) if number else edge, price.start)
            scope = _priced_scope(passage, before, ahead, _behind_a_price(price, stop))
            scope = scope if len(scope.split()) > 1 or scope and not runs else _proposed(runs) or scope
            if scope:
                found.append((_agreement(speech, scope, cues[0][0], price.dollars), price.start))
            edge = price.put_right[1] if price.put_right else price.end
    return found


def _passive(passage, cue: tuple[int, int]) -> bool:
    """ "I have been offered a mug"."""
    return passage.words(cue[0] - 1, cue[0]) in (["been"], ["was"], ["got"], ["being"])


def _behind_a_price(price: Price, stop: int) -> tuple[int, int]:
    """Where what it is for may stand: behind it, or behind what put it right; before that, if anything does."""
    if price.put_right is None:
        return price.end, stop
    opens, closes = price.put_right
    return (price.end, opens) if opens > price.end else (closes, stop)


def _behind_the_last(passage, start: int, end: int) -> int:
    """ "… with the grille, and a media cabinet for three sixty": the next thing begins behind its "and"."""
    joints = [at for at in range(start, end - 1) if passage.words(at, at + 2) in _AND_ANOTHER]
    return joints[-1] + 1 if joints else start


def _answered_at_once(passage, price: Price, end: int) -> bool:
    """ "Media cabinet, three ten, that's a yes": what was offered is told with its price and its answer."""
    return any(says_any(passage, says, price.end, end) for says in STATUSES.values()) or answered_bare(
        passage, price.end, end
    )


def _answers_ahead(passage, place: int, prices: list[Price]) -> bool:
    """ "So the owner's good with the upstairs return. One more run, six eighty, and she signed": one thing, not two."""
    if not place:
        return False
    start, end = passage.sentences[place - 1]
    priced = any(start <= price.start < end for price in prices)
    return not priced and says_any(passage, ANSWER["approved"], start, end) and _somebody(passage, start, end)


def _behind_a_person(passage, edge: int, end: int) -> int:
    """ "Sold the innkeeper a service plan": what was sold stands behind who it was sold to."""
    return next((b for a, b in people_in(passage, edge, min(edge + 3, end)) if a <= edge + 1), edge)


def _told_somebody(passage, start: int, end: int) -> list[tuple[int, int]]:
    """ "Told the barn manager he can …": whom a price was told, whatever stands before the name."""
    return [
        (a, b)
        for a, b in people_in(passage, start, end)
        if {"told", "gave", "texted", "emailed", "sold"} & set(passage.words(max(start, a - 4), a))
    ][:1]


def _priced_scope(passage, before: tuple[int, int], ahead: tuple[int, int], behind: tuple[int, int]) -> str:
    """What a price is for: "… nine hundred for X", else what leads to it, else what stands before the offer."""

    def scope(stretch: tuple[int, int]) -> str:
        said = _scope(passage.said(*stretch)) if stretch[0] < stretch[1] else ""
        return said if _content(said) else ""

    answers = any(says_any(passage, says, *behind) for says in STATUSES.values())  # "quoted 890, manager said go"
    leads_on = {"for", "on", "to"} & set(passage.words(behind[0], min(behind[0] + 2, behind[1])))
    return (scope(behind) if leads_on else "") or scope(ahead) or scope(before) or ("" if answers else scope(behind))


def _for_a_run(passage, prices: list[Price], runs: list[DuctRun], end: int) -> bool:
    """Whether a price is for duct that is only proposed."""
    if not prices or "for" not in passage.words(prices[0].end, prices[0].end + 2):
        return False
    behind = passage.said(prices[0].end, end)
    return any(run.status == "proposed" and run.said in behind for run in runs)


def _agreement(speech: Speech, scope: str, token: int, price: float | None) -> Agreement:
    return Agreement(
        scope,
        _person(speech, token),
        "quoted",
        price,
        speech.context.date.isoformat(),
        system_at(token, speech.systems, speech.passage, speech.context),
        speech.context.note,
    )


def _somebody(passage, start: int, end: int) -> bool:
    return says_any(passage, ANSWER["people"], start, end) or bool(people_in(passage, start, end))


def people_in(passage, start: int, end: int) -> list[tuple[int, int]]:
    """Who is named: an owner, a manager, and whoever is told or answers ("gave the treasurer", "dockmaster rang")."""
    spans = set(find_all(passage, _NAMED_PEOPLE, start, end))
    for at in range(start, end):
        word, before = passage.lower[at], passage.words(at - 1, at)
        told = before == ["the"] and passage.words(at - 2, at) in _TOLD_THE
        answers = (passage.words(at + 1, at + 2) in _ANSWERS or passage.words(at + 1, at + 3) in _IS_FINE) and (
            at == passage.sentences[passage.sentence_of(at)][0]
            or before == ["the"]
            and passage.words(at - 2, at - 1) != ["of"]  # "boss of the yard wants …"
        )
        if word.isalpha() and len(word) > 3 and (told or answers) and word not in _NOBODY and not passage.name_at(at):
            spans.add((at, at + 1))
    return sorted(spans)


def _content(scope: str) -> list[str]:
    """The words of a scope that name something."""
    return [word for word in re.findall(r"[a-z]{2,}", scope.lower()) if word not in _pointing()]


def _scope(text: str) -> str:
    text = _CLOSED.sub("", text.strip(" ,.;:$"))
    if text.lower().startswith("by "):
        return ""  # "the written quote by Friday": when, not what
    previous = None
    while previous != text:
        previous = text
        text = _tail().sub("", _lead().sub("", text)).strip(" ,.;:$")
    return text


def _person(speech: Speech, token: int) -> str:
    """Who it is agreed with: the nearest person named up to here in the note; the owner unless told otherwise."""
    passage, people = speech.passage, speech.people
    if not people:
        return "owner"
    end = passage.sentences[passage.sentence_of(min(token, len(passage.lower) - 1))][1]
    return passage.phrase(*people[bisect_left(people, (end,)) - 1])  # where nobody was named yet, the last of all


def _asked_first(passage, token: int) -> bool:
    """ "She's got to ask the landlord": whom the other side asks is not who answers."""
    return any(passage.words(token - len(said), token) == said for said in _ASKED_FIRST)


# ---------------------------------------------------------------- answers


def _answered(speech: Speech, offers: list[tuple[Agreement, int]], prices: list[Price]) -> list[Agreement]:
    """Each answer goes to the offer told before it whose words it shares, "it" to the last; else it stands alone."""
    passage = speech.passage
    result, told_at = [agreement for agreement, _ in offers], [at for _, at in offers]
    if not offers and none_said(passage, STATUSES.values()):
        return result
    open_before = [a for a in speech.context.job.agreements if a.status in ("quoted", "pending")]
    put_right = _put_right(passage, prices)
    for place, (start, end) in enumerate(passage.sentences):
        if says_any(passage, _OFFICIAL, start, end):
            continue
        last: str | None = None
        for a, b in _answer_clauses(speech, start, end):
            a = max([a, *(stop for first, stop in put_right if first <= a < stop)])
            if a >= b:
                continue  # "quoted 310, no, 360" and "subcool 12, no, 11" turn nothing down
            status = status_in(passage, a, b)
            told_before = open_before or any(at < b for at in told_at) or len(result) > len(told_at)
            if status is None or not told_before and _only_of_an_offer(passage, status, a, b):
                continue
            if status == last and not _somebody(passage, a, b) and not _own_scope(speech, ANSWER[status], a, b, prices):
                continue  # "she's in on the return, go ahead and do it"
            last = status
            later = [each for each, at in zip(result, told_at, strict=False) if at >= b]  # offered after this answer
            here = [i for i, at in enumerate(told_at) if start <= at < a or a <= at < b]
            kept = [each for each in result if each not in later]
            answered = _one_answer(
                speech, place, (a, b), status, kept, open_before, prices, [i for i in here if i < len(kept)]
            )
            if answered:
                result = [*answered[: len(told_at) - len(later)], *later, *answered[len(told_at) - len(later) :]]
                passage.used_sentences.add(place)
    return result


def _put_right(passage, prices: list[Price]) -> list[tuple[int, int]]:
    """Where a price or a value is put right: from the words that take it back to what it is now."""
    money = {token for price in prices for token in range(price.start, price.end)}
    slips = find_slips(passage, passage.numbers) if "between" in passage.cues else []
    return [price.put_right for price in prices if price.put_right] + [
        (slip.wrong.end, slip.right.end)
        for slip in slips
        if slip.wrong.start not in money and len({passage.sentence_of(n.start) for n in (slip.wrong, slip.right)}) == 1
    ]


def _part_before(passage, place: int) -> str:
    """ "Valve's stuck. Ordered a TXV. Quoted 890, manager said go": the part named last."""
    first = passage.sentences[max(0, place - 2)][0]
    parts = find_all(passage, _PARTS, first, passage.sentences[place][0])
    return passage.said(*parts[-1]) if parts else ""


def _priced_behind(passage, prices: list[Price], start: int, end: int) -> str:
    """ "Director signed, fifty four hundred for the furnace swap"."""
    behind = (p for p in prices if start <= p.start and p.end < end and passage.lower[p.end] in ("for", "to", "on"))
    return next((_scope(passage.said(p.end, end)) for p in behind), "")


def _only_of_an_offer(passage, status: str, start: int, end: int) -> bool:
    said = next(iter(find_all(passage, ANSWER[status], start, end)), None)
    return said is not None and passage.phrase(*said) in _WANTS


def _one_answer(speech, place: int, clause: tuple[int, int], status: str, result, open_before, prices, here):
    """`result` with one answer in it, or None where nobody can tell what it answers.

    here  indices of what was offered in the same sentence
    """
    a, b = clause
    passage, today = speech.passage, speech.context.date.isoformat()
    start, end = passage.sentences[place]
    told = {(r.price, r.note) for r in result}
    fresh = next((p for p in prices if start < p.start < a and (p.dollars, speech.context.note) not in told), None)
    own = _own_scope(speech, ANSWER[status], a, b, prices)
    if (
        here
        and _best(passage.said(a, b), [r.scope for i, r in enumerate(result) if i not in here], alone=False) is None
    ):
        choice = here[_best(passage.said(a, b), [result[i].scope for i in here], alone=True)]
        return [replace(r, status=status) if i == choice else r for i, r in enumerate(result)]
    if fresh and not own:  # "UV light's five ten, he said no": priced and answered in one breath
        scope = _scope(passage.said(start, fresh.start))
        scope = (scope if _content(scope) else _part_before(passage, place)) or passage.said(a, b).strip(" ,.")
        return [*result, replace(_agreement(speech, scope, a, fresh.dollars), status=status)]
    if status == "pending" and not own and _best(passage.said(a, b), [r.scope for r in result], alone=False) is None:
        waiting = [i for i, r in enumerate(result) if r.status == "quoted"]
        if result and waiting:  # "he'll tell me by Monday" speaks of all that was offered
            return [replace(r, status=status) if i in waiting else r for i, r in enumerate(result)]
        if result:
            return None
    alone = not own or status == "pending"
    choice = _best(passage.said(a, b), [r.scope for r in result], alone=alone)
    if choice is not None:
        return [replace(r, status=status) if i == choice else r for i, r in enumerate(result)]
    known = _best(passage.said(a, b), [r.scope for r in open_before], alone=alone)
    if known is not None:
        before = open_before[known]
        again = next((p.dollars for p in prices if a <= p.start < end and p.per is None), None)
        return [*result, replace(before, status=status, price=again, when=today, note=speech.context.note)]
    own = own or _priced_behind(passage, prices, b, end)
    own = own or (passage.said(a, b).strip(" ,.") if any(start <= p.start < end for p in prices) else "")
    if not own or not _somebody(passage, start, end):
        return None
    scope, price = _agreed(speech, place, own, a, end, prices)
    if status == "pending" and price is None:
        return None
    return [*result, replace(_agreement(speech, scope, a, price), status=status)]


def _answer_clauses(speech: Speech, start: int, end: int) -> list[tuple[int, int]]:
    """Clauses, cut before "and said no …" too, so that two answers in a breath stay two."""
    passage, clauses = speech.passage, []
    for a, b in speech.clauses(start, end):
        a -= passage.words(a - 1, a) == ["but"]  # "but not the wrap" answers as a whole
        cuts = [
            i
            for i in range(a + 1, b)
            if passage.lower[i] == "and" and passage.words(i + 1, i + 2)[:1] and passage.lower[i + 1] in _ANSWERS_AGAIN
        ]
        edges = [a, *cuts, b]
        clauses += list(zip(edges, edges[1:], strict=False))
    return clauses


def _own_scope(speech: Speech, says: Wordings, start: int, end: int, prices: list[Price]) -> str:
    """What the answer itself says it is about; empty for "he went for it"."""
    cue = next(iter(find_all(speech.passage, says, start, end)), None)
    pointed = cue is not None and speech.passage.lower[cue[1] - 1] in _POINTS_BACK  # "okayed it on the spot"
    if cue is None or pointed or _only_points(speech.passage.words(cue[1], min(cue[1] + 2, end))):
        return ""
    if speech.passage.phrase(cue[0], cue[1]) in _SAYS_IT_ALONE and speech.passage.words(cue[1], cue[1] + 1) not in (
        ["to"],
        ["on"],
        ["for"],
    ):
        return ""
    passage = speech.passage
    price = next((p for p in prices if cue[1] <= p.start < end), None)
    day = speech.moment_in(cue[1], end)
    stop = min(price.start if price else end, day.start if day else end)
    scope = _scope(passage.said(cue[1], stop)) if cue[1] < stop else ""
    if price and not scope and price.end < end and passage.lower[price.end] in ("for", "to", "on"):
        scope = _scope(passage.said(price.end, end))  # "okayed six fifty for the new whip"
    content = [word for word in _content(scope) if len(word) > 3]
    return scope if content else ""


def _only_points(words: list[str]) -> bool:
    """ "He okayed that over the phone", "took it on the spot"."""
    return bool(words) and words[0] in _POINTS_BACK and (len(words) == 1 or words[1] in _ENDS_POINTING)


def _named_in(text: str) -> set[str]:
    return {_ALIKE.get(word, word) for word in re.findall(r"[a-z]{3,}", text.lower())} - _pointing()


def _best(said: str, scopes: list[str], *, alone: bool) -> int | None:
    """Which scope an answer is about: most words shared; when it names nothing itself (`alone`), the last one."""
    if not scopes:
        return None
    words = _named_in(said)
    shared = [len(words & _named_in(scope)) for scope in scopes]
    best = max(range(len(scopes)), key=lambda i: shared[i])
    if shared[best]:
        return best
    return len(scopes) - 1 if alone else None


def _agreed(
    speech: Speech, place: int, own: str, start: int, end: int, prices: list[Price]
) -> tuple[str, float | None]:
    """The scope and price of work agreed without an offer heard: "… six hundred eighty dollars, and she signed"."""
    passage = speech.passage
    price = next(
        (p for p in prices if start <= p.start < end and p.per is None),
        None,
    )
    if price is None and place + 1 < len(passage.sentences):
        follow = passage.sentences[place + 1]
        offers_itself = says_any(passage, ANSWER["offered"], *follow)
        price = (
            None
            if offers_itself
            else next((p for p in prices if follow[0] <= p.start < follow[1] and p.per is None), None)
        )
        if price:
            more = _scope(passage.said(follow[0], price.start)) if price.start > follow[0] else ""
            own = ", ".join(part for part in (own, more) if part)
            passage.used_sentences.add(place + 1)
    return own, price.dollars if price else None
