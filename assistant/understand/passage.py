"""A transcript as the language stage sees it: tokens, sentences, numbers with units, names and cues.

A blank English spaCy pipeline with our own tokenizer and components; no downloaded model. Every
component is a table look-up or a single pass, so the cost grows linearly with the length of the note.
"""

from __future__ import annotations

import bisect
import functools
from dataclasses import dataclass, field

import spacy
from spacy.language import Language
from spacy.matcher import PhraseMatcher
from spacy.tokens import Doc
from spacy.util import filter_spans

from assistant.understand.numbers import Number, find_numbers
from assistant.understand.tokens import Piece, load_table, pieces
from assistant.units import quantities

_STOPS = frozenset(".?!;")
_TITLES = frozenset({"mr", "mrs", "ms", "dr"})
_ABBREVIATIONS = frozenset({"st", "no", "vs", "approx", "deg", "temp", "in", "ft", "lb", "oz"})


@dataclass(frozen=True, slots=True)
class Wording:
    """One row of phrases.toml."""

    quantity: str
    unit_needed: bool = False
    range_needed: bool = False
    behind_only: bool = False  # names only the number right before it
    vague: bool = False  # opens the subject more often than it names the value
    cue_needed: str | None = None  # "target" or "plate": without such a word beside it, the number is no reading


@dataclass(frozen=True, slots=True)
class Name:
    """A place in the text where a quantity is named; `wordings` in the table's order."""

    start: int
    end: int
    wordings: tuple[Wording, ...]

    def quantities(self) -> tuple[str, ...]:
        return tuple(wording.quantity for wording in self.wordings)


@dataclass(frozen=True, slots=True)
class Unit:
    """A spoken unit; `kinds` are the units it can mean, likeliest first."""

    start: int
    end: int
    kinds: tuple[str, ...]
    implies: str | None


@dataclass(slots=True)
class Passage:
    """What the components found. Tokens are numbered; `taken` marks those another extractor has used."""

    doc: Doc
    offsets: list[tuple[int, int]]  # characters of the original text, by token
    text: str  # the original text
    sentences: list[tuple[int, int]] = field(default_factory=list)
    numbers: list[Number] = field(default_factory=list)
    names: list[Name] = field(default_factory=list)
    units: dict[int, Unit] = field(default_factory=dict)  # by the token they start at
    cues: dict[str, list[tuple[int, int]]] = field(default_factory=dict)
    taken: set[int] = field(default_factory=set)
    used_sentences: set[int] = field(default_factory=set)  # sentences some extractor understood
    lower: list[str] = field(init=False)  # every token in lower case

    def __post_init__(self) -> None:
        self.lower = [token.lower_ for token in self.doc]

    def words(self, start: int, end: int) -> list[str]:
        """Tokens start..end in lower case; what lies outside the text is left out."""
        return self.lower[max(0, start) : max(0, end)]

    def said(self, start: int, end: int) -> str:
        """The speaker's own words behind tokens start..end."""
        return self.text[self.offsets[start][0] : self.offsets[end - 1][1]]

    def sentence_of(self, token: int) -> int:
        place = bisect.bisect_right(self.sentences, token, key=lambda sentence: sentence[0]) - 1
        if place < 0 or token >= self.sentences[place][1]:
            raise IndexError(token)
        return place

    def numbers_in(self, start: int, end: int) -> list[Number]:
        """The numbers that begin at tokens start..end, in order."""
        return _beginning_in(self.numbers, start, end)

    def names_in(self, start: int, end: int) -> list[Name]:
        """The names that begin at tokens start..end, in order."""
        return _beginning_in(self.names, start, end)

    def free(self, start: int, end: int) -> bool:
        return not any(i in self.taken for i in range(start, end))

    def take(self, start: int, end: int) -> None:
        self.taken.update(range(start, end))

    def use(self, token: int) -> None:
        self.used_sentences.add(self.sentence_of(token))

    def has_cue(self, kind: str, start: int, end: int) -> bool:
        return any(start <= a and b <= end for a, b in self.cues.get(kind, ()))


def _beginning_in(ordered: list, start: int, end: int) -> list:
    """A sentence's share is looked up, not searched for: a long note has many of both."""
    first = bisect.bisect_left(ordered, start, key=lambda found: found.start)
    return ordered[first : bisect.bisect_left(ordered, end, first, key=lambda found: found.start)]


def read_passage(text: str) -> Passage:
    """Run the pipeline over `text`."""
    return _pipeline()(text).user_data["passage"]


@functools.cache
def _pipeline() -> Language:
    nlp = spacy.blank("en", vocab=vocabulary())
    nlp.tokenizer = _TradeTokenizer(nlp.vocab)
    for name in ("trade_sentences", "trade_numbers", "trade_units", "trade_names", "trade_cues"):
        nlp.add_pipe(name)
    return nlp


class _TradeTokenizer:
    """Our tokens as a spaCy Doc; the original character offsets travel in the passage."""

    def __init__(self, vocab):
        self.vocab = vocab

    def __call__(self, text: str) -> Doc:
        found: list[Piece] = pieces(text.replace("’", "'"))
        doc = Doc(self.vocab, words=[piece.text for piece in found], spaces=[piece.spaced for piece in found])
        doc.user_data["passage"] = Passage(doc, [(piece.start, piece.end) for piece in found], text)
        return doc

    def to_bytes(self, **_):  # spaCy asks every tokenizer for these; ours is all code and tables
        return b""

    def from_bytes(self, _, **__):
        return self


@Language.component("trade_sentences")
def _sentences(doc: Doc) -> Doc:
    """Ends at . ? ! ; but not after an abbreviation, nor where the next word carries on in lower case after one."""
    passage, start = doc.user_data["passage"], 0
    for token in doc:
        if token.text == "." and token.i and doc[token.i - 1].lower_ in _TITLES:
            continue
        if token.text in _STOPS and not (
            token.text == "." and token.i and doc[token.i - 1].lower_ in _ABBREVIATIONS and _goes_on(doc, token.i)
        ):
            passage.sentences.append((start, token.i + 1))
            start = token.i + 1
    if start < len(doc):
        passage.sentences.append((start, len(doc)))
    return doc


def _goes_on(doc: Doc, stop: int) -> bool:
    return stop + 1 < len(doc) and not doc[stop + 1].text[0].isupper()


@Language.component("trade_numbers")
def _numbers(doc: Doc) -> Doc:
    doc.user_data["passage"].numbers = find_numbers(doc)
    return doc


@Language.component("trade_units")
def _units(doc: Doc) -> Doc:
    matcher, rows = _unit_matcher()
    passage = doc.user_data["passage"]
    for span in filter_spans(matcher(doc, as_spans=True)):
        row = rows[span.label_]
        passage.units[span.start] = Unit(span.start, span.end, (row["unit"], *row.get("also", ())), row.get("implies"))
    return doc


@Language.component("trade_names")
def _names(doc: Doc) -> Doc:
    matcher, wordings = _name_matcher()
    passage = doc.user_data["passage"]
    inside_numbers = {i for number in passage.numbers for i in range(number.start, number.end)}
    spans = [s for s in matcher(doc, as_spans=True) if not inside_numbers.intersection(range(s.start, s.end))]
    for span in filter_spans(spans):
        if not wordings[tuple(token.lower_ for token in span)]:
            continue  # a lookalike: "heads up"
        passage.names.append(Name(span.start, span.end, wordings[tuple(token.lower_ for token in span)]))
    return doc


@Language.component("trade_cues")
def _cues(doc: Doc) -> Doc:
    matcher = _cue_matcher()
    passage = doc.user_data["passage"]
    by_kind: dict[str, list] = {}
    for span in matcher(doc, as_spans=True):
        by_kind.setdefault(span.label_, []).append(span)
    passage.cues = {kind: [(span.start, span.end) for span in filter_spans(spans)] for kind, spans in by_kind.items()}
    return doc


@functools.cache
def _unit_matcher():
    matcher, rows = PhraseMatcher(vocabulary(), attr="LOWER"), {}
    for row in load_table("units.toml")["unit"]:
        rows.setdefault(row["unit"], row)
        matcher.add(row["unit"], [as_doc(word) for word in row["say"]])
    return matcher, rows


@functools.cache
def _name_matcher():
    known = quantities()
    wordings: dict[tuple[str, ...], list[Wording]] = {}
    docs: list[Doc] = []
    for row in load_table("phrases.toml")["phrase"]:
        for lookalike in row.get("not_this", ()):
            docs.append(as_doc(lookalike))
            wordings.setdefault(tuple(token.lower_ for token in docs[-1]), [])
        for said in row["say"]:
            wording = Wording(
                row["quantity"],
                row.get("unit_needed", False),
                row.get("range_needed", False),
                row.get("behind_only", False),
                row.get("vague", False),
                row.get("cue_needed"),
            )
            if wording.quantity not in known and wording.quantity not in PSEUDO_QUANTITIES:
                raise KeyError(f"phrases.toml names an unknown quantity {wording.quantity!r}")
            for form in (said, f"{said}s"):  # a recogniser writes "returns" for "return's"
                docs.append(as_doc(form))
                kept = wordings.setdefault(tuple(token.lower_ for token in docs[-1]), [])
                if wording.quantity not in [w.quantity for w in kept]:
                    kept.append(wording)
    matcher = PhraseMatcher(vocabulary(), attr="LOWER")
    matcher.add("name", docs)
    return matcher, {said: tuple(rows) for said, rows in wordings.items()}


@functools.cache
def _cue_matcher() -> PhraseMatcher:
    matcher = PhraseMatcher(vocabulary(), attr="LOWER")
    table = load_table("cues.toml")
    for group in ("role", "correction"):
        for kind, said in table[group].items():
            forms = (
                [*said, *(f"{word}s" for word in said)] if kind in ("plate", "target") else said
            )  # "targets 10" for "target's ten"
            matcher.add(kind, [as_doc(word) for word in forms])
    matcher.add("count_noun", [as_doc(word) for word in table["not_a_reading"]["nouns"]])
    matcher.add("label_before", [as_doc(word) for word in table["not_a_reading"]["before"]])
    matcher.add("difference_before", [as_doc(word) for word in table["not_a_reading"]["difference_before"]])
    matcher.add("difference_after", [as_doc(word) for word in table["not_a_reading"]["difference_after"]])
    matcher.add("aside", [as_doc(word) for word in table["not_a_reading"]["sentences"]])
    return matcher


# Names that stand for one of several quantities, settled by what else was said.
PSEUDO_QUANTITIES = {
    "hood_airflow": ("return_airflow", "supply_airflow", "system_airflow"),
    "charge_target": ("subcooling", "superheat"),
    "line_temp": ("suction_line_temp", "liquid_line_temp"),
}


@functools.cache
def vocabulary():
    """The one spaCy vocabulary every matcher shares."""
    return spacy.blank("en").vocab


def as_doc(text: str) -> Doc:
    """A wording from a table, as tokens of the shared vocabulary."""
    found = pieces(text)
    return Doc(vocabulary(), words=[piece.text for piece in found], spaces=[piece.spaced for piece in found])
