"""Every common sound file is read the same; everything else is refused in words."""

from __future__ import annotations

import hashlib
import io
import os
import signal
import tracemalloc
import wave
from random import Random

import av
import numpy as np
import pytest

from assistant.errors import RecordingError
from assistant.hear.recording import RATE, check_recording, read_recording
from tests.hear import hostile
from tests.hear.sounds import HERE, encoded

CARDS = HERE / "human" / "cards_005.flac"

FORMATS = [
    ("wav", "pcm_s16le", 8000, ".wav"), ("wav", "pcm_s16le", 44100, ".wav"), ("wav", "pcm_f32le", 48000, ".wav"),
    ("flac", "flac", 44100, ".flac"), ("mp3", "libmp3lame", 44100, ".mp3"), ("ipod", "aac", 48000, ".m4a"),
    ("ogg", "libopus", 48000, ".ogg"), ("webm", "libopus", 48000, ".webm"),
]  # fmt: skip


@pytest.mark.parametrize("channels", [1, 2])
@pytest.mark.parametrize(("container", "codec", "rate", "suffix"), FORMATS)
def test_every_common_format_holds_the_same_sound(container, codec, rate, suffix, channels):
    original = read_recording(CARDS)
    raw = encoded(original.samples, container, codec, rate, channels)
    again = read_recording(raw)
    assert again.suffix == suffix
    assert again.raw == raw
    assert again.sha256 == hashlib.sha256(raw).hexdigest()
    assert again.samples.dtype == np.float32
    assert again.duration_s == pytest.approx(original.duration_s, abs=0.08)  # encoders pad to whole frames
    # the two sounds line up but for the encoder's delay: compare how loud each twentieth of a second is
    shorter = min(len(again.samples), len(original.samples)) // 800 * 800
    loudness = [np.abs(r.samples[:shorter]).reshape(-1, 800).mean(axis=1) for r in (original, again)]
    assert np.corrcoef(*loudness)[0, 1] > 0.85


def test_a_file_and_its_bytes_are_the_same_recording():
    from_path, from_bytes = read_recording(CARDS), read_recording(CARDS.read_bytes())
    assert from_path.sha256 == from_bytes.sha256
    assert np.array_equal(from_path.samples, from_bytes.samples)


def test_a_name_that_lies_about_the_format_does_not_matter(tmp_path):
    lying = tmp_path / "memo.mp3"
    lying.write_bytes(CARDS.read_bytes())
    assert read_recording(lying).suffix == ".flac"


@pytest.mark.parametrize(("container", "codec", "rate", "suffix"), FORMATS)
def test_looking_a_file_through_finds_what_reading_it_finds(container, codec, rate, suffix):
    raw = encoded(read_recording(CARDS).samples, container, codec, rate, 1)
    read, checked = read_recording(raw), check_recording(raw)
    facts = ("sha256", "raw", "suffix", "duration_s")
    assert [getattr(checked, name) for name in facts] == [getattr(read, name) for name in facts]


def test_looking_through_an_hour_takes_no_more_memory_than_the_file_itself():
    hour = encoded(np.zeros(RATE * 3600, np.float32), "flac", "flac", RATE, 1)
    assert len(hour) < 2_000_000
    tracemalloc.start()
    try:
        assert check_recording(hour).duration_s == pytest.approx(3600, abs=0.1)
        assert tracemalloc.get_traced_memory()[1] < 8_000_000  # kept as samples it would be 230 million
    finally:
        tracemalloc.stop()


def test_what_is_too_long_is_refused_when_it_is_looked_through():
    with pytest.raises(RecordingError, match="too long"):
        check_recording(encoded(np.zeros(RATE * 30, np.float32), "flac", "flac", RATE, 1), longest_s=20)


def test_an_hour_long_file_is_read_whole_in_bounded_memory():
    hour = io.BytesIO()
    with wave.open(hour, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(8000)
        file.writeframes(bytes(2 * 8000 * 3600))
    tracemalloc.start()
    recording = read_recording(hour.getvalue())
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert recording.duration_s == pytest.approx(3600, abs=0.1)
    assert peak < 700e6  # 230 MB of samples, half that again while decoding, and the file itself


def test_a_small_file_that_unpacks_to_too_much_is_stopped():
    long = encoded(np.zeros(120 * RATE, np.float32), "ogg", "libopus", 48000, 1)
    assert len(long) < 100_000
    with pytest.raises(RecordingError, match="too long: more than 0.0166667 hours"):
        read_recording(long, longest_s=60)


def test_a_header_that_states_too_much_is_refused_before_decoding():
    with pytest.raises(RecordingError, match="too long"):
        read_recording(encoded(np.zeros(20 * RATE, np.float32), "flac", "flac", 16000, 1), longest_s=10)


def test_a_file_that_is_too_large_is_refused_unread(tmp_path):
    large = tmp_path / "large.wav"
    large.write_bytes(bytes(2000))
    with pytest.raises(RecordingError, match=r"large\.wav is too large: 2000 bytes; at most 1000"):
        read_recording(large, largest_bytes=1000)
    with pytest.raises(RecordingError, match="too large"):
        read_recording(bytes(2000), largest_bytes=1000)


@pytest.mark.parametrize(("container", "codec"), [("wav", "pcm_s16le"), ("flac", "flac"), ("ipod", "aac"),
                                                  ("webm", "libopus")])  # fmt: skip
@pytest.mark.parametrize("kept", [0.3, 0.7, 0.9])
def test_a_file_that_was_cut_off_is_refused_and_not_half_heard(container, codec, kept):
    whole = encoded(read_recording(CARDS).samples, container, codec, 48000, 1)
    with pytest.raises(RecordingError, match="cut off|cannot be decoded"):
        read_recording(whole[: int(len(whole) * kept)])


@pytest.mark.parametrize(("container", "codec"), [("mp3", "libmp3lame"), ("ogg", "libopus")])
def test_a_format_that_does_not_state_its_length_is_heard_as_far_as_it_goes(container, codec):
    original = read_recording(CARDS)
    whole = encoded(original.samples, container, codec, 48000, 1)
    assert 0.5 < read_recording(whole[: int(len(whole) * 0.7)]).duration_s < original.duration_s


def test_a_streamed_wav_file_without_a_length_is_not_taken_for_cut_off():
    raw = bytearray(encoded(read_recording(CARDS).samples, "wav", "pcm_s16le", 16000, 1))
    raw[4:8] = b"\xff\xff\xff\xff"
    at = raw.index(b"data") + 4
    raw[at : at + 4] = b"\xff\xff\xff\xff"
    assert read_recording(bytes(raw)).duration_s == pytest.approx(read_recording(CARDS).duration_s, abs=0.01)


def without_samples() -> bytes:
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(16000)
    return out.getvalue()


def silent_film() -> bytes:
    out = io.BytesIO()
    with av.open(out, "w", format="mp4") as file:
        stream = file.add_stream("mpeg4", rate=10)
        stream.width, stream.height, stream.pix_fmt = 64, 64, "yuv420p"
        for _ in range(5):
            file.mux(stream.encode(av.VideoFrame.from_ndarray(np.zeros((64, 64, 3), np.uint8), format="rgb24")))
        file.mux(stream.encode())
    return out.getvalue()


@pytest.mark.parametrize(
    ("raw", "why"),
    [
        (b"", "is empty: 0 bytes"),
        (without_samples(), "no sound in it: 0 seconds"),
        (silent_film(), "no sound in it .it was read as"),
        (b"Suction 118, head 345.\n" * 50, "cannot be decoded as sound"),
        (np.random.default_rng(1).bytes(40_000), "cannot be decoded as sound"),
        (b"RIFF", "cannot be decoded as sound"),
        (b"#EXTM3U\n#EXTINF:1,\nfile:///etc/hostname\n#EXT-X-ENDLIST\n", "cannot be decoded as sound"),
    ],
    ids=["empty", "no samples", "film", "text", "random bytes", "four bytes", "playlist"],
)
def test_what_is_no_recording_is_refused_with_its_name_and_the_reason(raw, why, tmp_path):
    path = tmp_path / "memo.wav"
    path.write_bytes(raw)
    with pytest.raises(RecordingError, match=rf"memo\.wav .*{why}"):
        read_recording(path)
    with pytest.raises(RecordingError, match=f"the recording .*{why}"):
        read_recording(raw)


def test_a_playlist_never_makes_another_file_be_read(tmp_path):
    other = tmp_path / "other.flac"
    other.write_bytes(CARDS.read_bytes())
    with pytest.raises(RecordingError, match="cannot be decoded"):
        read_recording(f"ffconcat version 1.0\nfile {other}\n".encode())


def test_a_missing_file_and_a_folder_are_refused_by_name(tmp_path):
    with pytest.raises(RecordingError, match=r"gone\.wav is not there"):
        read_recording(tmp_path / "gone.wav")
    with pytest.raises(RecordingError, match="is a folder, not a recording"):
        read_recording(tmp_path)
    with pytest.raises(RecordingError):
        read_recording("bad\0name.wav")


@pytest.mark.parametrize("seed", range(40))
def test_a_damaged_file_gives_a_recording_or_an_error_and_never_a_traceback(seed):
    rng = np.random.default_rng(seed)
    container, codec, rate, _ = FORMATS[seed % len(FORMATS)]
    raw = bytearray(encoded(read_recording(CARDS).samples[: 2 * RATE], container, codec, rate, 1))
    for at in rng.integers(0, len(raw), 60):
        raw[at] = rng.integers(256)
    try:
        recording = read_recording(bytes(raw))
    except RecordingError as err:
        assert "the recording" in str(err)
    else:
        assert np.isfinite(recording.samples).all()
        assert recording.duration_s < 60


@pytest.mark.parametrize("rate", [1, 50, 999, 768_001, 0x7FFFFFFF])
def test_a_rate_that_no_sound_has_is_refused(rate):
    """Found by chance files: two kilobytes took more than four gigabytes of memory."""
    with pytest.raises(RecordingError, match=f"is no sound: {rate} samples a second"):
        read_recording(hostile.wav(bytes(2048), rate))


@pytest.mark.parametrize("kind", dict.fromkeys(hostile.KINDS), ids=lambda kind: kind.__name__)
def test_no_hostile_file_does_harm(kind):
    """Each in a process of its own that has little memory. In short; at length: `python -m tests.hear.hostile`."""
    for number in range(4):
        ended = hostile.read_apart(kind(Random(f"{number}")), keep=number % 2 == 0)
        assert ended.how in ("recording", "refused"), ended


def test_harm_is_noticed(monkeypatch):
    quiet = hostile.wav(bytes(20_000_000), RATE)
    assert hostile.read_apart(quiet, keep=True).how == "recording"
    monkeypatch.setattr(hostile, "BUDGET", -2 * len(quiet))
    monkeypatch.setattr(hostile, "PER_SAMPLE", 0)
    assert hostile.read_apart(quiet, keep=True).how.startswith("took")
    monkeypatch.setattr(hostile, "check_recording", lambda raw: os.kill(os.getpid(), signal.SIGKILL))
    assert hostile.read_apart(quiet, keep=False).how == "killed by SIGKILL"
    monkeypatch.setattr(hostile, "check_recording", lambda raw: bytearray(8 << 30))
    assert hostile.read_apart(quiet, keep=False).how.startswith("MemoryError")
