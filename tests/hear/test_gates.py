"""The gates cut what was made up, keep what was said, and lose nothing: what is cut is kept as unclear."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.hear.gates import Heard, sift
from assistant.records import Word


def heard(text: str, seconds: float = 20.0, probability: float = 0.9, **facts) -> Heard:
    words = text.split()
    step = seconds / max(1, len(words))
    spoken = tuple(Word(word, i * step, (i + 1) * step, probability) for i, word in enumerate(words))
    facts = {"log_probability": -0.2, "no_speech": 0.02, "compression": 1.3} | facts
    return Heard(words=spoken, start_s=0.0, end_s=seconds, **facts)


def kept(offered: Heard) -> str:
    return " ".join(word.text for word in sift(offered)[0])


def reasons(offered: Heard) -> list[str]:
    return [cut.why for cut in sift(offered)[1]]


def test_a_clear_note_passes_whole():
    note = "Suction 118, head 345, liquid line 94.5."
    assert kept(heard(note)) == note
    assert reasons(heard(note)) == []


@pytest.mark.parametrize(
    ("facts", "why"),
    [
        # as measured on fan noise, hum, babble and voices played backwards with the base model
        ({"log_probability": -1.73, "no_speech": 0.87}, "no_speech"),
        ({"log_probability": -0.57, "no_speech": 0.79}, "no_speech"),
        ({"log_probability": -1.27, "no_speech": 0.28}, "low_confidence"),
        ({"log_probability": -0.23, "compression": 15.0}, "loop"),
        ({"probability": 0.2}, "low_confidence"),
        ({"seconds": 0.3}, "low_confidence"),
    ],
)
def test_a_window_like_those_heard_in_noise_is_cut_whole_and_kept_as_unclear(facts, why):
    offered = heard("We are going to start with the first one.", **facts)
    words, unclear = sift(offered)
    assert words == ()
    assert [(cut.text, cut.why, cut.start_s, cut.end_s) for cut in unclear] == [
        (offered.text, why, offered.start_s, offered.end_s)
    ]


@pytest.mark.parametrize(
    "label", ["(fan whirring)", "[Music]", "[BLANK_AUDIO]", "*static*", "♪ la la ♪", "(345 beeps)"]
)
def test_a_sound_label_is_cut_and_the_words_around_it_are_kept(label):
    offered = heard(f"Suction 118. {label} Head 345.")
    assert kept(offered) == "Suction 118. Head 345."
    assert reasons(offered) == ["no_speech"]


def test_an_unclosed_label_takes_only_the_rest_of_the_window():
    assert kept(heard("Suction 118. (engine running and")) == "Suction 118."


@pytest.mark.parametrize(
    "loop", ["air, " * 12, "345. " * 6, "I've never seen it before. " * 4, "Head 345, suction 118. " * 5]
)
def test_words_said_over_and_over_are_cut_all_of_them(loop):
    offered = heard(f"Liquid line 94. {loop} Done here.")
    assert kept(offered) == "Liquid line 94. Done here."
    assert reasons(offered) == ["loop"]


@pytest.mark.parametrize("note", ["No, no, no, that's 118.", "five five five", "5 5 5 5", "Ninety four.", "94.5"])
def test_what_people_do_repeat_is_kept(note):
    assert kept(heard(note, seconds=3)) == note


pieces = ["suction", "head", "118", "345,", "(hum)", "[x", "]", "*a*", "air,", "air,", "no"]
spoken = st.lists(st.sampled_from(pieces), max_size=40)


@given(spoken, st.floats(-2, 0), st.floats(0, 1), st.floats(0.5, 5), st.floats(0.5, 28))
def test_every_word_is_either_kept_or_unclear_and_in_order(words, log_probability, no_speech, compression, seconds):
    offered = heard(
        " ".join(words), seconds, log_probability=log_probability, no_speech=no_speech, compression=compression
    )
    trusted, unclear = sift(offered)
    assert sorted([w.text for w in trusted] + [w for cut in unclear for w in cut.text.split()]) == sorted(words)
    assert [w.start_s for w in trusted] == sorted(w.start_s for w in trusted)
