"""Answers that hand back what was told: what was agreed, how long it took, what was used."""

from __future__ import annotations

import re
from collections.abc import Callable

from assistant.converse.asking import Asking, Told
from assistant.converse.likeness import content_asked, content_words, likeness
from assistant.converse.looked_up import said_about
from assistant.converse.speech import amount, day, joined, listed, number
from assistant.records import Agreement, Answer, Labour, Material


def agreement_answer(asking: Asking) -> Told:
    """What was offered, for how much, and the answer."""
    offers = list(asking.log.agreements)
    if not offers:
        return Told(Answer(joined("Nothing was quoted or agreed here that I know of")))
    chosen = _most_like(offers, content_asked(asking), lambda offer: offer.scope)
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


def _labour_text(entry: Labour) -> str:
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
        return said_about(asking) or Told(Answer(joined("No materials were told here")))
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
    many = f"{amount(material.quantity, 'lb')} of " if material.unit == "lb" else f"{number(material.quantity)} {unit}"
    return f"{many}{material.item}{price}{status}"


def _plural(unit: str, quantity: float) -> str:
    if unit == "ft":
        return "feet"
    return unit + ("s" if quantity != 1 and len(unit) > 2 else "")
