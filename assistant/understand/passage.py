"""A transcript as the language stage sees it: tokens, sentences, numbers with units, names, cues and wordings.

Every part is a table look-up or a single pass, so the cost grows linearly with the length of the note.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from operator import attrgetter

from assistant.understand.lexicon import Spans, Wordings, find_wordings, lists_of, longest, wordings, words_of
from assistant.understand.number import Number
from assistant.understand.numbers import find_numbers
from assistant.understand.tokens import Tokens, load_table, read_tokens
from assistant.units import quantities

START, END = attrgetter("start"), attrgetter("end")  # of a number, a name, a moment …
_STOPS = frozenset(".?!;")
_TITLES = frozenset({"mr", "mrs", "ms", "dr"})
_ABBREVIATIONS = frozenset({"st", "no", "vs", "approx", "deg", "temp", "in", "ft", "lb", "oz"})
# Names that stand for one of several quantities, settled by what else was said.
PSEUDO_QUANTITIES = {
    "hood_airflow": ("return_airflow", "supply_airflow", "system_airflow"),
    "charge_target": ("subcooling", "superheat"),
    "line_temp": ("suction_line_temp", "liquid_line_temp"),
}


@dataclass(frozen=True, slots=True)
class Wording:
    """One row of phrases.toml."""

    quantity: str
    unit_needed: bool = False
    range_needed: bool = False
    behind_only: bool = False  # names only the number right before it
    vague: bool = False  # opens the subject more often than it names the value
    cue_needed: str | None = None  # "target" or "plate": without such a word beside it, the number is no reading


@dataclass(frozen=True, eq=False, slots=True)
class Name:
    """A place in the text where a quantity is named; `wordings` in the table's order. Each place is one of a kind."""

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
class Passage(Tokens):
    """What was found in a text. Tokens are numbered; `taken` marks those another extractor has used."""

    sentences: list[tuple[int, int]]
    sentence_at: list[int]  # which sentence a token is in
    wordings: dict[Wordings, Spans]  # where each list of wordings is said
    numbers: list[Number]
    vocabulary: frozenset[str]  # every word that is said, in lower case
    names: list[Name] = field(default_factory=list)
    units: dict[int, Unit] = field(default_factory=dict)  # by the token they start at
    cues: dict[str, Spans] = field(default_factory=dict)
    taken: set[int] = field(default_factory=set)
    false_starts: set[int] = field(default_factory=set)  # tokens of numbers begun and then said anew
    used_sentences: set[int] = field(default_factory=set)  # sentences some extractor understood

    def words(self, start: int, end: int) -> list[str]:
        """Tokens start..end in lower case; what lies outside the text is left out."""
        return self.lower[start if start > 0 else 0 : end if end > 0 else 0]

    def said(self, start: int, end: int) -> str:
        """The speaker's own words behind tokens start..end."""
        return self.text[self.offsets[start][0] : self.offsets[end - 1][1]]

    def sentence_of(self, token: int) -> int:
        if token < 0:
            raise IndexError(token)
        return self.sentence_at[token]

    def numbers_in(self, start: int, end: int) -> list[Number]:
        """The numbers that begin at tokens start..end, in order."""
        return beginning_in(self.numbers, start, end)

    def number_ending(self, at: int) -> Number | None:
        """The number whose last token stands right before `at`."""
        place = bisect_left(self.numbers, at, key=START) - 1
        return self.numbers[place] if place >= 0 and self.numbers[place].end == at else None

    def number_at(self, token: int) -> Number | None:
        """The number that a token is part of."""
        return covering(self.numbers, token)

    def drop_numbers(self, start: int, end: int, instead: Sequence[Number] = ()) -> None:
        """Forget the numbers that have a token in start..end, and put others in their place."""
        first = bisect_right(self.numbers, start, key=END)
        self.numbers[first : bisect_left(self.numbers, end, key=START)] = instead

    def names_in(self, start: int, end: int) -> list[Name]:
        """The names that begin at tokens start..end, in order."""
        return beginning_in(self.names, start, end)

    def name_at(self, token: int) -> Name | None:
        """The name that a token is part of."""
        return covering(self.names, token)

    def name_ending(self, at: int) -> Name | None:
        """The name whose last word stands right before `at`."""
        name = self.name_at(at - 1)
        return name if name and name.end == at else None

    def free(self, start: int, end: int) -> bool:
        return self.taken.isdisjoint(range(start, end))

    def take(self, start: int, end: int) -> None:
        self.taken.update(range(start, end))

    def set_aside(self, start: int, end: int, but: frozenset[Wordings]) -> None:
        """Forget every wording in tokens start..end but those of the lists `but`: what is asked did not happen."""
        self.wordings = {
            says: left
            for says, spans in self.wordings.items()
            if (left := spans if says in but else [span for span in spans if not start <= span[0] < end])
        }
        self.cues = {kind: [span for span in spans if not start <= span[0] < end] for kind, spans in self.cues.items()}

    def use(self, token: int) -> None:
        self.used_sentences.add(self.sentence_of(token))

    def cue_starts(self, kind: str) -> set[int]:
        return {start for start, _ in self.cues[kind]} if kind in self.cues else set()

    def cue_ends(self, kind: str) -> set[int]:
        return {end for _, end in self.cues[kind]} if kind in self.cues else set()

    def cues_in(self, kind: str, start: int, end: int) -> Spans:
        """The cues of a kind that begin at tokens start..end, in order."""
        cues = self.cues.get(kind, [])
        first = bisect_left(cues, (start,))
        return cues[first : bisect_left(cues, (end,), first)]

    def cue_ends_at(self, kind: str, token: int) -> bool:
        """Whether the last word of a cue stands right before a token."""
        cues = self.cues.get(kind, [])
        place = bisect_left(cues, (token,)) - 1
        return place >= 0 and cues[place][1] == token

    def first_cue(self, kind: str, start: int, end: int) -> tuple[int, int] | None:
        """The first cue that stands wholly within tokens start..end."""
        cues = self.cues.get(kind, [])
        place = bisect_left(cues, (start,))  # none overlaps another: the first to begin ends first
        return cues[place] if place < len(cues) and cues[place][1] <= end else None

    def has_cue(self, kind: str, start: int, end: int) -> bool:
        return self.first_cue(kind, start, end) is not None


def beginning_in(ordered: list, start: int, end: int) -> list:
    """Those of numbers, names or moments that begin at tokens start..end.

    A sentence's share is looked up, not searched for: a long note has many of all.
    """
    first = bisect_left(ordered, start, key=START)
    return ordered[first : bisect_left(ordered, end, first, key=START)]


def covering(ordered: list, token: int):
    """That of numbers, names or moments which a token is part of."""
    place = bisect_right(ordered, token, key=START) - 1
    return ordered[place] if place >= 0 and token < ordered[place].end else None


def read_passage(text: str) -> Passage:
    """`text` with all that tables tell of it."""
    tokens = read_tokens(text)
    sentences = _sentences(tokens)
    in_sentence: list[int] = []
    for place, (start, end) in enumerate(sentences):
        in_sentence += [place] * (end - start)
    found = find_wordings(tokens.lower)
    units = _units(tokens, found)
    inside = _inside_words(units, tokens)
    numbers = find_numbers(tokens, _inside(units, tokens) | inside)
    passage = Passage(
        text,
        tokens.tokens,
        tokens.lower,
        tokens.offsets,
        sentences,
        in_sentence,
        found,
        numbers,
        frozenset(tokens.lower),
        units=units,
    )
    passage.names = [name for name in _names(passage) if name.end not in inside]
    passage.cues = {kind: longest(found[says]) for kind, says in _CUES.items() if says in found}
    return passage


def _sentences(said: Tokens) -> list[tuple[int, int]]:
    """Ends at . ? ! ; but not after an abbreviation, nor where the next word carries on in lower case after one."""
    sentences, start, lower = [], 0, said.lower
    for at in [at for at, token in enumerate(lower) if token in _STOPS]:
        if lower[at] == "." and at:
            before = lower[at - 1]
            if before in _TITLES or (before in _ABBREVIATIONS and _goes_on(said, at)):
                continue
        sentences.append((start, at + 1))
        start = at + 1
    if start < len(lower):
        sentences.append((start, len(lower)))
    return sentences


def _goes_on(said: Tokens, stop: int) -> bool:
    return stop + 1 < len(said.tokens) and not said.tokens[stop + 1][0].isupper()


def _units(words: Tokens, said: dict[Wordings, Spans]) -> dict[int, Unit]:
    found = {}
    for start, end in longest(said.get(_UNITS, [])):
        row = _UNIT_ROWS[tuple(words.lower[start:end])]
        if row.get("attached") and not _attached(words, start):
            continue
        found[start] = Unit(start, end, (row["unit"], *row.get("also", ())), row.get("implies"))
    return found


def _attached(said: Tokens, at: int) -> bool:
    """ "3T": a capital right behind a digit."""
    behind_a_digit = at > 0 and said.tokens[at - 1][-1] in "0123456789" and not said.spaced(at - 1)
    return behind_a_digit and said.tokens[at].isupper()


def _inside(units: dict[int, Unit], said: Tokens) -> set[int]:
    """The tokens that only spell a unit, as the "2" of "inH2O" does; that of "in 2 hours" is a number."""
    return {
        at
        for unit in units.values()
        for at in range(unit.start + 1, unit.end)
        if said.offsets[at] == said.offsets[at - 1] or not said.spaced(at - 1)
    }


def _inside_words(units: dict[int, Unit], said: Tokens) -> set[int]:
    """The digits inside a word, as in "co2ming"; those of "at12psi" and "10x20in" are numbers."""
    letters = [word.isalpha() and word not in ("x", "by") for word in said.lower]
    glued = [first[1] == second[0] for first, second in pairwise(said.offsets)]
    return {
        at
        for at in range(1, len(said.lower) - 1)
        if said.lower[at][0] in "0123456789"
        and letters[at - 1] and glued[at - 1] and glued[at] and letters[at + 1]
        and at + 1 not in units
    }  # fmt: skip


def _names(passage: Passage) -> list[Name]:
    """Where quantities are named; a lookalike ("heads up") hides the name in it."""
    inside_numbers = {i for number in passage.numbers for i in range(number.start, number.end)}
    spans = [span for span in passage.wordings.get(_NAMES, ()) if inside_numbers.isdisjoint(range(*span))]
    named = ((start, end, _MEANINGS[tuple(passage.lower[start:end])]) for start, end in longest(spans))
    return [Name(start, end, meant) for start, end, meant in named if meant]


def _unit_wordings() -> tuple[Wordings, dict[tuple[str, ...], dict]]:
    rows: dict[tuple[str, ...], dict] = {}
    for row in load_table("units.toml")["unit"]:
        for said in row["say"]:
            rows.setdefault(words_of(said), row)
    return wordings(said for row in load_table("units.toml")["unit"] for said in row["say"]), rows


def _name_wordings() -> tuple[Wordings, dict[tuple[str, ...], tuple[Wording, ...]]]:
    known = quantities()
    meanings: dict[tuple[str, ...], list[Wording]] = {}
    every: list[str] = []
    for row in load_table("phrases.toml")["phrase"]:
        for lookalike in row.get("not_this", ()):
            every.append(lookalike)
            meanings.setdefault(words_of(lookalike), [])
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
                every.append(form)
                kept = meanings.setdefault(words_of(form), [])
                if wording.quantity not in [w.quantity for w in kept]:
                    kept.append(wording)
    return wordings(every), {said: tuple(meant) for said, meant in meanings.items()}


def _cue_wordings() -> dict[str, Wordings]:
    table = load_table("cues.toml")
    said = {**table["role"], **table["correction"]}
    said["plate"] = [*said["plate"], *said["written"]]
    for kind in ("plate", "target"):
        said[kind] = [*said[kind], *(f"{word}s" for word in said[kind])]  # "targets 10" for "target's ten"
    out = table["not_a_reading"]
    said |= {"count_noun": out["nouns"], "label_before": out["before"], "aside": out["sentences"]}
    said |= {"lasted": out["lasted"], "set_point_before": out["set_point_before"]}
    said |= {"comes_to": out["comes_to"]}
    said |= {"difference_before": out["difference_before"], "difference_after": out["difference_after"]}
    return lists_of(said)


_UNITS, _UNIT_ROWS = _unit_wordings()
LONGEST_UNIT = max(map(len, _UNIT_ROWS))  # tokens
_NAMES, _MEANINGS = _name_wordings()
_CUES = _cue_wordings()
