"""A note heard while it is spoken: where it begins and ends, what is decoded when, and that its words are those of
its recording."""

from __future__ import annotations

import threading

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.hear.desk import Desk, Pressing
from assistant.hear.gates import Heard
from assistant.hear.live import Began, Ended, LiveNote
from assistant.hear.recording import read_recording
from assistant.hear.transcript import Ears, hear, transcribe
from assistant.hear.windows import PAD_S, PARTED_S, RATE, Window, speech_windows
from assistant.records import Word
from tests.hear.nonspeech import condenser
from tests.hear.sounds import HERE

CHARGE = HERE / "audio" / "charge.ogg"
PIECE = RATE // 10


def pcm(samples: np.ndarray) -> bytes:
    return np.round(samples * 32768).clip(-32768, 32767).astype("<i2").tobytes()


def silence(seconds: float) -> np.ndarray:
    return np.random.default_rng(1).normal(0, 1e-4, int(seconds * RATE)).astype(np.float32)


@pytest.fixture(scope="module")
def charge() -> np.ndarray:
    return read_recording(CHARGE).samples


def heard(text: str, window: Window) -> list[Heard]:
    words = text.split()
    step = (window.end_s - window.start_s) / max(1, len(words))
    spoken = tuple(
        Word(w, window.start_s + i * step, window.start_s + (i + 1) * step, 0.9) for i, w in enumerate(words)
    )
    return [Heard(spoken, window.start_s, window.end_s, -0.2, 0.02, 1.2)]


def speak(note: LiveNote, samples: np.ndarray, words: str | None = None, piece: int = PIECE) -> list[Began | Ended]:
    """Feed it all; every window is heard as `words` the moment it is wanted, or never (None)."""
    events: list[Began | Ended] = []
    sound = pcm(samples)
    for at in range(0, len(sound), piece * 2):
        events += note.feed(sound[at : at + piece * 2])
        while words is not None and (window := note.wanted()):
            events += note.take_heard(window, heard(words, window))
        if note.ended:
            break
    return events


# ---------------------------------------------------------------- beginning and end


def test_a_note_begins_a_moment_before_somebody_speaks_and_ends_with_the_pause(charge):
    note = LiveNote(1.0)
    began, ended = speak(note, np.concatenate([silence(5), charge, silence(3)]), "Suction 118.")
    assert 3.5 < began.at / RATE < 5.0
    assert ended.why == "pause"
    assert ended.at / RATE == pytest.approx(5 + len(charge) / RATE + 1.0, abs=0.5)
    assert read_recording(note.recording()).duration_s == pytest.approx((ended.at - began.at) / RATE)


def test_silence_and_a_running_condenser_begin_no_note():
    for sound in (silence(20), condenser(20, np.random.default_rng(4)) * 0.3):
        note = LiveNote(1.0)
        assert speak(note, sound, "made up") == []
        assert note.wanted() is None
        assert note.is_empty and note.recording() == b""


def test_silence_takes_no_memory_however_long():
    note, minute = LiveNote(1.0), pcm(silence(60))
    for _ in range(10):
        assert note.feed(minute) == []
        assert len(note._sound) <= 2 * RATE * 2
    assert note.received == 600 * RATE


@pytest.mark.parametrize(("gap_s", "end_pause_s", "ends"), [(0.7, 1.0, False), (2.5, 1.0, True), (2.5, 4.0, False)])
def test_a_pause_shorter_than_the_end_pause_does_not_end_it(charge, gap_s, end_pause_s, ends):
    note = LiveNote(end_pause_s)
    events = speak(note, np.concatenate([charge, silence(gap_s), charge]), "Suction 118.")
    assert any(isinstance(event, Ended) for event in events) is ends


def test_a_sentence_that_is_not_at_its_end_is_waited_for(charge):
    """The tech says "suction is", looks at the gauge, and says the number."""
    sound = np.concatenate([charge, silence(4)])
    whole, cut = LiveNote(1.0), LiveNote(1.0)
    speak(whole, sound, "Suction is 118.")
    speak(cut, sound, "Suction is")
    assert cut.ended.at - whole.ended.at == pytest.approx(1.5 * RATE, abs=0.15 * RATE)


def test_a_note_whose_words_are_not_known_yet_is_waited_for_but_not_for_ever(charge):
    note = LiveNote(1.0)
    speak(note, np.concatenate([charge, silence(4)]))
    assert note.ended.at / RATE == pytest.approx(len(charge) / RATE + 2.5, abs=0.5)


def test_words_that_come_after_the_end_pause_end_it_at_once(charge):
    note = LiveNote(1.0)
    speak(note, np.concatenate([charge, silence(1.5)]))
    assert note.ended is None
    window = note.wanted()
    (ended,) = note.take_heard(window, heard("Suction 118.", window))
    assert ended.why == "pause" and note.is_heard


def test_with_push_to_talk_no_pause_ends_it_and_every_sample_is_kept(charge):
    note = LiveNote(None)
    sound = np.concatenate([silence(4), charge, silence(9)])
    (began,) = speak(note, sound, "Suction is")
    assert began.at == 0
    assert note.end("done") == Ended(len(sound), "done")
    assert np.array_equal(
        read_recording(note.recording()).samples, np.frombuffer(pcm(sound), "<i2") / np.float32(32768)
    )


def test_what_comes_after_the_end_is_given_back_whole(charge):
    sound = pcm(np.concatenate([charge, silence(9)]))
    note = LiveNote(0.5, longest_s=4.0)
    back = note.feed(sound)[-1]
    assert (back.why, back.at) == ("longest", 4 * RATE)
    assert back.rest == sound[4 * RATE * 2 :]
    assert note.feed(b"\1\0" * 10) == [Ended(back.at, back.why, b"\1\0" * 10)]
    assert note.received == 4 * RATE


def test_the_longest_note_ends_at_a_pause_where_there_is_one(charge):
    note = LiveNote(None, longest_s=60.0)
    speak(note, np.concatenate([charge, silence(0.6)] * 6))
    assert note.ended.why == "longest"
    assert 30 < note.ended.at / RATE < 60


# ---------------------------------------------------------------- what is decoded, and when


def test_a_long_pause_settles_a_window_and_it_is_decoded_once(charge):
    note, asked = LiveNote(None), []
    for at in range(0, len(sound := pcm(np.concatenate([charge, silence(4), charge, silence(4)]))), PIECE * 2):
        note.feed(sound[at : at + PIECE * 2])
        if (window := note.wanted(provisional=False)) and window not in asked:
            asked.append(window)
            assert note.is_sure(window)
            note.take_heard(window, heard("Suction 118.", window))
    assert len(asked) == 2
    assert note.text == "Suction 118. Suction 118."


def test_what_was_said_before_a_real_pause_is_decoded_while_the_note_goes_on(charge):
    note, long = LiveNote(None), np.concatenate([charge, charge])[: 10 * RATE]
    note.feed(pcm(np.concatenate([long, silence(PARTED_S + 2 * PAD_S + 0.1)])))
    window = note.wanted(provisional=False)
    assert window is not None and note.is_sure(window)
    note.take_heard(window, heard("Suction 118.", window))
    note.feed(pcm(np.concatenate([charge[: 3 * RATE], silence(0.5)])))
    last = note.wanted()
    assert last.start_s > window.end_s and last.end_s - last.start_s < 5


def test_a_window_at_a_pause_is_no_longer_wanted_once_the_speaker_goes_on(charge):
    note = LiveNote(None)
    note.feed(pcm(np.concatenate([charge, silence(0.6)])))
    window = note.wanted()
    assert window is not None and note.wants(window) and not note.is_sure(window)
    note.feed(pcm(charge[: 2 * RATE]))
    assert not note.wants(window)


def test_a_decoding_that_comes_in_late_does_not_take_back_the_words_that_follow_it(charge):
    note = LiveNote(None)
    note.feed(pcm(np.concatenate([charge, silence(0.6)])))
    earlier = note.wanted()
    note.feed(pcm(np.concatenate([charge, silence(0.6)])))
    note.take_heard(note.wanted(), heard("Suction 118, head 345.", note.wanted()))
    note.take_heard(earlier, heard("Suction 118.", earlier))
    assert note.text.endswith("Suction 118, head 345.")


sounds = st.lists(st.tuples(st.booleans(), st.floats(0.1, 4.0)), min_size=1, max_size=10)


@settings(max_examples=25)
@given(parts=sounds, piece=st.sampled_from([160, 1600, 4000, 32_000]))
def test_whatever_the_pauses_and_pieces_the_windows_are_those_of_the_recording(parts, piece):
    speech = read_recording(CHARGE).samples
    sound = np.concatenate([speech[: int(s * RATE)] if spoken else silence(s) for spoken, s in parts])
    note, asked = LiveNote(None), {}
    for at in range(0, len(raw := pcm(sound)), piece * 2):
        note.feed(raw[at : at + piece * 2])
        while window := note.wanted():
            asked[window] = f"w{len(asked)}."
            note.take_heard(window, heard(asked[window], window))
    note.end("done")
    while window := note.wanted():
        asked[window] = f"w{len(asked)}."
        note.take_heard(window, heard(asked[window], window))
    windows = speech_windows(read_recording(note.recording()).samples)
    assert note.transcript("base").text.split() == [asked[window] for window in windows]


# ---------------------------------------------------------------- with the recogniser


@pytest.mark.parametrize("mode", ["hands_free", "push_to_talk"])
def test_the_words_are_those_of_the_recording_to_the_last_time_and_probability(charge, ears: Ears, mode):
    hands_free = mode == "hands_free"
    note = LiveNote(1.0 if hands_free else None)
    sound = pcm(np.concatenate([silence(2), charge, silence(2.5)]))
    for at in range(0, len(sound), PIECE * 2):
        note.feed(sound[at : at + PIECE * 2])
        while window := note.wanted():
            note.take_heard(window, hear(note.samples(window), [window], ears)[0])
    assert (note.ended is not None) is hands_free
    note.end("done")
    while window := note.wanted():
        note.take_heard(window, hear(note.samples(window), [window], ears)[0])
    assert note.is_heard
    live = note.transcript(ears.name)
    assert live == transcribe(read_recording(note.recording()), ears)
    assert "10 degrees of subcool" in live.text


# ---------------------------------------------------------------- one recogniser for all


def test_the_desk_hears_the_most_pressing_first_and_nothing_that_is_no_longer_wanted(charge):
    begun, gate, order = threading.Event(), threading.Event(), []

    def hears(samples, window):
        begun.set()
        gate.wait(5)
        order.append(window)
        return heard("Suction 118.", window)

    desk = Desk(lambda: hears)
    notes = []
    for cut in (0, 1600, 3200, 4800):
        note = LiveNote(None)
        note.feed(pcm(np.concatenate([charge[cut:], silence(0.6)])))
        notes.append((note, note.wanted()))
    first = desk.hear(*notes[0], Pressing.MAYBE)
    assert begun.wait(5) and not desk.is_idle
    maybe, over = desk.hear(*notes[1], Pressing.MAYBE), desk.hear(*notes[2], Pressing.OVER)
    stale = desk.hear(*notes[3], Pressing.SURE)
    notes[3][0].feed(pcm(charge[: 2 * RATE]))
    gate.set()
    assert [bool(future.result(5)) for future in (first, maybe, over)] == [True] * 3
    assert stale.result(5) is None
    assert order == [notes[0][1], notes[2][1], notes[1][1]]
    desk.close()
    assert desk.hear(*notes[0], Pressing.OVER).cancelled()


def test_a_desk_with_two_hands_hears_a_second_window_beside_a_slow_one(charge):
    slow, gate, loaded = threading.Event(), threading.Event(), []

    def hears(samples, window):
        if not slow.is_set():
            slow.set()
            gate.wait(5)
        return heard("Suction 118.", window)

    desk = Desk(lambda: loaded.append(1) or hears, hands=2)
    notes = []
    for cut in (0, 1600):
        note = LiveNote(None)
        note.feed(pcm(np.concatenate([charge[cut:], silence(0.6)])))
        notes.append((note, note.wanted()))
    first = desk.hear(*notes[0], Pressing.MAYBE)
    assert slow.wait(5) and desk.is_idle
    assert desk.hear(*notes[1], Pressing.OVER).result(5)[0].text == "Suction 118."
    assert not first.done()
    gate.set()
    assert first.result(5)
    assert loaded == [1]
    desk.close()


def test_a_recogniser_that_fails_on_one_note_hears_the_next(charge):
    failed = []

    def hears(samples, window):
        if not failed:
            failed.append(1)
            raise RuntimeError("no")
        return heard("Suction 118.", window)

    desk, note = Desk(lambda: hears), LiveNote(None)
    note.feed(pcm(np.concatenate([charge, silence(0.6)])))
    with pytest.raises(RuntimeError):
        desk.hear(note, note.wanted(), Pressing.OVER).result(5)
    assert desk.hear(note, note.wanted(), Pressing.OVER).result(5)[0].text == "Suction 118."
    desk.close()
