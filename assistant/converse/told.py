"""Answers that hand back what was told: when, agreed, worked, used, installed."""

from __future__ import annotations

import re
from collections.abc import Callable

from assistant.converse.asking import Asking, Told, equipment_of, system_name
from assistant.converse.permits import inspection_state, trade_named, trade_text
from assistant.converse.speech import amount, day, joined, listed, number, weekday
from assistant.records import Agreement, Answer, DuctRun, Event, JobLog, Material, Task

_EVENT_WORDS = {
    "startup": re.compile(
        r"\b(?:fir(?:e|ed)(?: it| that| her| them)? up|start(?:ed)?(?: it| that| her)? up|startup|turn(?:ed)? (?:it|her) on|running|start(?:ed)? (?:it|her))\b"
    ),
    "first_fire": re.compile(r"\b(?:lit|light|fire|fired|first fire)\b"),
    "arrival": re.compile(r"\b(?:get (?:here|there|to)|got (?:here|there)|arrive\w*|show up)\b"),
    "departure": re.compile(r"\b(?:leave|left|get out|out of (?:here|there))\b"),
    "delivery": re.compile(r"\b(?:deliver\w*|arriv\w*|get here|come in|coming in|ship\w*|show up)\b"),
    "evacuation": re.compile(r"\b(?:evacuat\w*|vacuum|pump)\b"),
    "pressure_test": re.compile(r"\b(?:pressure test|nitrogen)\b"),
    "recovery": re.compile(r"\brecover\w*\b"),
    "charging": re.compile(r"\b(?:charge|charged|weigh\w*)\b"),
    "part_replaced": re.compile(r"\b(?:replace\w*|swap\w*|change\w*|put in)\b"),
    "shutdown": re.compile(r"\b(?:shut\w*|turn(?:ed)? (?:it|her) off|red tag\w*)\b"),
    "permit": re.compile(r"\bpermits?\b"),
    "failure_found": re.compile(r"\b(?:find|found|fail\w*)\b"),
}
_INSPECTOR = re.compile(
    r"\b(?:he|she|inspector|inspectors|inspection|inspections|reinspection|they|inspect|inspected|inspecting)\b"
)
_ANSWERING = re.compile(
    r"\b(?:let(?:ting)? (?:me|us) know|decid\w*|answer\w*|hear(?:ing)? (?:back|from)|get(?:ting)? back to|call(?:ing)? (?:me|us)? ?back)\b"
)
_ME = re.compile(r"\b(?:am i|are we|i|we)\b")
_RETURNING = re.compile(r"\b(?:back|return|visit|going|come|coming)\b")
_SMALL_WORDS = frozenset(
    "when is was are were did does do will can should the a an i we he she they it be coming come going go back due to of at on for in"
    " what day date time my our you that this supposed get got here there have has so and up how much for many out say said yes no not yet still price cost quote quoted quoting pay paid him her them all told job each".split()
)


def content_words(words: str) -> set[str]:
    """The words of a question that carry what it is about."""
    return {word for word in re.findall(r"[a-z0-9]+", words) if word not in _SMALL_WORDS and len(word) > 2}


def likeness(words: set[str], text: str) -> float:
    """How much of a question's content words a record's text holds, 0 to 1; endings do not matter."""
    stems = {_stem(word) for word in re.findall(r"[a-z0-9]+", text.lower())}
    return sum(_stem(word) in stems for word in words) / len(words) if words else 0.0


def _stem(word: str) -> str:
    for ending in ("ing", "ed", "es", "s", "e"):
        if word.endswith(ending) and len(word) - len(ending) >= 3:
            return word[: -len(ending)]
    return word


def _content_asked(asking: Asking) -> set[str]:
    """The question's content words; those of what was spoken of before, when it only says "that"."""
    content = content_words(asking.words)
    if not content and asking.topic and asking.question.points_back:
        return content_words(asking.topic.lower())
    return content


# ---------------------------------------------------------------- when


def when_answer(asking: Asking) -> Told:
    """When something was, or is to be: the event, task or agreement the question's words fit best."""
    log, words = asking.log, asking.words
    content = _content_asked(asking)
    scheduled = inspection_state(log).scheduled
    trade = trade_named(words)
    if _INSPECTOR.search(words) and not (
        asking.question.past and not re.search(r"\b(?:coming|back|next|set for)\b", words)
    ):
        events = [event for event in scheduled if trade is None or event.trade == trade] or list(scheduled)
        if events:
            return _dated([(trade_text(event), event.when, event) for event in events])
    if _ANSWERING.search(words):
        found = _answers_due(log)
        if found:
            return _dated(found)
    candidates = _events_asked(asking, content, trade) + _tasks_asked(log.tasks, words, content)
    candidates += [(likeness(content, a.scope), a.scope, a.when, a) for a in log.agreements if a.when]
    best = max((score for score, *_ in candidates), default=0.0)
    if best > 0:
        chosen = [(text, when, record) for score, text, when, record in candidates if score == best]
        dated = [each for each in chosen if each[1]]
        if dated:
            future = [each for each in dated if (each[1] or "")[:10] >= asking.today]
            return _dated((dated if asking.question.past else future or dated)[-2:])
        return Told(
            Answer(
                joined(f"No day was said for {listed(text for text, _, _ in chosen[:2])}"),
                evidence=tuple(r for _, _, r in chosen),
            )
        )
    return Told(Answer(joined("Nobody said when")), about=None)


def _answers_due(log: JobLog) -> list[tuple[str, str | None, object]]:
    """When somebody is to answer: the open task that speaks of him and of what was offered to him."""
    pending = [offer for offer in log.agreements if offer.status in ("pending", "quoted")]
    about = content_words(" ".join(f"{offer.by} {offer.scope}" for offer in pending).lower())
    tasks = [task for task in log.tasks if task.status == "open" and task.due and likeness(about, task.what) > 0]
    return [(task.what, task.due, task) for task in tasks]


def _events_asked(asking: Asking, content: set[str], trade: str | None) -> list[tuple[float, str, str | None, Event]]:
    found = []
    for event in asking.log.events:
        pattern = _EVENT_WORDS.get(event.kind)
        score = likeness(
            content,
            f"{event.kind.replace('_', ' ')} {event.what or ''} {(event.trade or '').replace('_', ' ')} {event.said}",
        )
        if pattern and pattern.search(asking.words):
            score += 1.0
        if event.kind == "inspection" and _INSPECTOR.search(asking.words):
            score += 1.0
        if trade and event.trade == trade:
            score += 0.5
        note = asking.history.note(event.note)
        when = event.when or (note.date if note and event.outcome not in ("scheduled", "applied") else None)
        found.append((score, _event_text(event), when, event))
    return found


def _event_text(event: Event) -> str:
    if event.kind in ("inspection", "permit"):
        return trade_text(event)
    names = {"first_fire": "first fire", "part_replaced": "replacement", "failure_found": "fault"}
    text = names.get(event.kind, event.kind.replace("_", " "))
    return f"{text} of {event.what}" if event.what and event.kind in ("delivery", "part_replaced") else text


def _tasks_asked(tasks: tuple[Task, ...], words: str, content: set[str]) -> list[tuple[float, str, str | None, Task]]:
    found = []
    for task in tasks:
        if task.status == "dropped":
            continue
        score = likeness(content, task.what)
        if _ME.search(words) and _RETURNING.search(words) and task.status == "open" and task.due:
            score += 0.6 + (0.3 if _RETURNING.search(task.what) else 0)
        found.append((score, task.what, task.due, task))
    return found


def _dated(found: list[tuple[str, str | None, object]]) -> Told:
    texts = [
        f"{text}, {weekday(when or '')} {day(when)}" if when else f"{text}, no day said" for text, when, _ in found
    ]
    return Told(
        Answer(joined("; ".join(dict.fromkeys(texts))), evidence=tuple(record for *_, record in found)),
        about=_about_of(found),
        topic=found[0][0],
    )


def _about_of(found: list[tuple[str, str | None, object]]) -> str | None:
    kinds = {getattr(record, "kind", None) for *_, record in found}
    return "inspection" if kinds == {"inspection"} else None


# ---------------------------------------------------------------- agreed, worked, used


def agreement_answer(asking: Asking) -> Told:
    """What was offered, for how much, and the answer."""
    offers = list(asking.log.agreements)
    if not offers:
        return Told(Answer(joined("Nothing was quoted or agreed here that I know of")))
    chosen = _most_like(offers, _content_asked(asking), lambda offer: offer.scope)
    texts, evidence = [], []
    for offer in chosen:
        price = offer.price if offer.price is not None else _earlier_price(asking, offer)
        said = f", {number(price)} dollars" if price is not None else ", no price said"
        texts.append(
            f"{offer.scope}: {_STATUS_WORDS[offer.status].format(by=f'the {offer.by}')}{said}{_told_on(asking, offer)}"
        )
        evidence.append(offer)
    first = chosen[0]
    price = first.price if first.price is not None else _earlier_price(asking, first)
    return Told(
        Answer(joined(*texts), price, "dollars" if price is not None else None, tuple(evidence)), topic=first.scope
    )


_STATUS_WORDS = {
    "quoted": "quoted to {by}, no answer yet",
    "pending": "pending, {by} has not answered yet",
    "approved": "approved by {by}, yes",
    "declined": "declined by {by}, no",
}


def _told_on(asking: Asking, offer: Agreement) -> str:
    note = asking.history.note(offer.note)
    when = offer.when or (note.date if note else None)
    return f", {day(when)}" if when else ""


def _earlier_price(asking: Asking, offer: Agreement) -> float | None:
    """The price named when the same work was offered; the answer seldom repeats it."""
    prices = [
        said.price
        for note in asking.history.notes
        for said in note.agreements
        if said.price is not None and likeness(content_words(offer.scope.lower()), said.scope) >= 0.5
    ]
    return prices[-1] if prices else None


def _most_like(records: list, content: set[str], text_of: Callable[[object], str]) -> list:
    """The records the question's words fit best; all of them when the words fit none."""
    scores = [likeness(content, text_of(record)) for record in records]
    best = max(scores)
    return [record for record, score in zip(records, scores, strict=True) if score == best] if best > 0 else records


def hours_answer(asking: Asking) -> Told:
    """The hours and days told so far, or those of one piece of work."""
    labour = list(asking.log.labour)
    if not labour:
        return Told(Answer(joined("Nobody said how long it took")))
    content = {
        word
        for word in content_words(asking.words)
        if word not in ("hours", "days", "time", "take", "long", "far", "spend", "job")
    }
    fits = [entry for entry in labour if content and likeness(content, entry.what) > 0]
    chosen = fits or labour
    hours = [entry.hours for entry in chosen if entry.hours is not None]
    days = [entry.days for entry in chosen if entry.days is not None]
    total = [f"{number(sum(hours))} hours" if hours else "", f"{number(sum(days))} days" if days else ""]
    parts = [_labour_text(entry) for entry in chosen] if len(chosen) > 1 else [chosen[0].what]
    people = [entry.people for entry in chosen if entry.people]
    crew = f", {max(people)} people" if people else ""
    say = joined(f"{listed(total)}{crew}" if any(total) else "No hours were said", listed(parts))
    value, unit = (sum(hours), "h") if hours else (sum(days), "d") if days else (None, None)
    return Told(Answer(say, value, unit))


def _labour_text(entry) -> str:
    time = (
        f"{number(entry.hours)} hours"
        if entry.hours is not None
        else f"{number(entry.days)} days"
        if entry.days is not None
        else ""
    )
    return f"{time} {entry.what}".strip()


def materials_answer(asking: Asking) -> Told:
    """What was used, what is needed, what is on order."""
    materials = list(asking.log.materials)
    if not materials:
        return Told(Answer(joined("No materials were told here")))
    status = _status_asked(asking.words)
    chosen = [m for m in materials if m.status in status] if status else materials
    content = content_words(asking.words)
    scores = [likeness(content, f"{m.item} {m.unit}") for m in chosen]
    if chosen and max(scores) > 0:
        chosen = [m for m, score in zip(chosen, scores, strict=True) if score == max(scores)]
    if not chosen:
        return Told(Answer(joined(f"Nothing was told as {listed(status, 'or')}")))
    texts = [_material_text(material) for material in chosen]
    single = len(chosen) == 1
    return Told(
        Answer(joined(listed(texts)), chosen[0].quantity if single else None, chosen[0].unit if single else None)
    )


def _status_asked(words: str) -> tuple[str, ...]:
    if re.search(r"\b(?:order|ordered)\b", words):
        return ("ordered",)
    if re.search(r"\b(?:need|bring|buy|pick up|shopping)\b", words):
        return ("needed", "ordered")
    return ("used",) if re.search(r"\b(?:use|used|install|installed|put in)\b", words) else ()


def _material_text(material: Material) -> str:
    unit = "" if material.unit == "ea" else f"{_plural(material.unit, material.quantity)} of "
    status = {"needed": ", needed", "ordered": ", on order"}.get(material.status, "")
    price = f", {number(material.price)} dollars" if material.price is not None else ""
    many = (
        amount(material.quantity, "lb").removesuffix(" lb") + " lb of "
        if material.unit == "lb"
        else f"{number(material.quantity)} {unit}"
    )
    return f"{many}{material.item}{price}{status}"


def _plural(unit: str, quantity: float) -> str:
    if unit == "ft":
        return "feet"
    return unit + ("s" if quantity != 1 and len(unit) > 2 else "")


# ---------------------------------------------------------------- what is there

_DEVICE = {"txv": "an expansion valve (TXV)", "eev": "an electronic expansion valve (EEV)", "fixed_orifice": "a fixed orifice (piston)", "capillary": "a capillary tube"}  # fmt: skip


def equipment_answer(asking: Asking) -> Told:
    """Refrigerant, metering device, size and plate of each system."""
    texts = []
    value = None
    for system in asking.systems:
        known = equipment_of(asking.log, system)
        if known is None:
            continue
        value = known.cooling_capacity
        parts = [
            f"{number(known.cooling_capacity)} ton" if known.cooling_capacity else "",
            known.kind or "",
            known.refrigerant or "",
            f"with {_DEVICE[known.metering_device]}" if known.metering_device else "",
            f"model {known.model}" if known.model else "",
            f"serial {known.serial}" if known.serial else "",
        ]
        where = f"{system_name(system)}: " if system_name(system) else ""
        texts.append(f"{where}{', '.join(part for part in parts if part)}")
        missing = [
            name for name in ("model", "serial") if re.search(rf"\b{name}\b", asking.words) and not getattr(known, name)
        ]
        if missing:
            return Told(Answer(joined(f"The {listed(missing)} number was not said")))
    if not texts:
        return Told(
            Answer(
                joined(
                    "Nothing was said about the equipment yet: it would need the refrigerant, the metering device and the size"
                )
            )
        )
    size = re.search(r"\b(?:ton|tons|tonnage|big|size)\b", asking.words)
    return Told(
        Answer(joined(*texts), value if size else None, "ton" if size and value else None),
        system=asking.systems[0] if asking.single else None,
    )


def ducts_answer(asking: Asking) -> Told:
    """The duct runs that were told, on the side that was asked."""
    side = (
        "return"
        if re.search(r"\breturns?\b", asking.words)
        else "supply"
        if re.search(r"\b(?:supply|supplies|takeoffs?|take offs)\b", asking.words)
        else None
    )
    runs = [
        run
        for run in asking.log.duct_runs
        if side in (None, run.side) and (not asking.single or run.system in asking.systems)
    ]
    if not runs:
        return Told(Answer(joined(f"No {side or 'duct'} runs were told")))
    standing = [run for run in runs if run.status in ("existing", "added")]
    count = sum(run.count for run in standing)
    say = joined(listed(dict.fromkeys(run_text(run) for run in runs)))
    counted = re.search(r"\bhow many\b", asking.words) and standing
    return Told(
        Answer(f"{count}: {say}" if counted else say, float(count) if counted else None, "ea" if counted else None)
    )


def run_text(run: DuctRun) -> str:
    """ "2 returns, 12 inch flex", with what came of it."""
    size = " by ".join(number(side) for side in run.size_in)
    length = f", {number(run.length_ft)} feet" if run.length_ft else ""
    air = f", {number(run.airflow_cfm)} cfm" if run.airflow_cfm else ""
    status = {"proposed": ", proposed", "added": ", added", "removed": ", taken out"}.get(run.status, "")
    where = f"{system_name(run.system)} " if system_name(run.system) else ""
    side = {"return": "return", "supply": "supply run"}[run.side] + ("s" if run.count > 1 else "")
    return f"{run.count} {where}{side}, {size} inch {run.material or run.shape}{length}{air}{status}"
