"""A sound file of any common kind becomes a Recording: its bytes, its hash, and 16 kHz mono samples.

This is the only place that opens sound files. Whatever is wrong with one ends in a RecordingError that
names the file and says why.
"""

from __future__ import annotations

import hashlib
import io
from collections import deque
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

import av
import numpy as np

from assistant.errors import RecordingError

RATE = 16_000  # samples per second, what the recogniser hears
LONGEST_S = 4 * 3600.0  # seconds; longer is no voice note, and would fill the memory
LARGEST_BYTES = 1 << 30  # an hour of studio-quality stereo fits

_SUFFIX = {
    "wav": ".wav", "flac": ".flac", "mp3": ".mp3", "mov": ".m4a", "ogg": ".ogg", "matroska": ".webm", "aac": ".aac",
    "aiff": ".aiff", "amr": ".amr", "caf": ".caf", "asf": ".wma", "w64": ".w64", "au": ".au",
}  # fmt: skip
_RATES = range(1000, 768_001)  # samples per second; to bring any other to ours takes memory without an end
_MISSING_S = 0.3  # a file this much shorter than it says was cut off; encoders themselves are off by less
_STREAMED = (0, 0xFFFFFFFF)  # what a recorder writes for the length of a wav file that it cannot go back to
_DAMAGED_SHARE = 0.1  # of the packets; fewer bad ones are skipped, as players do

# A playlist is "audio" to the decoder and could make it read other files or the network. Nothing but the
# bytes handed over is ever opened.
_OPEN_OPTIONS = {"protocol_whitelist": "none"}


@dataclass(frozen=True, slots=True, eq=False)
class SoundFile:
    """A file that was looked through to its end and is a recording. `raw` is what is kept."""

    sha256: str  # of `raw`, in hexadecimal
    raw: bytes = field(repr=False)
    suffix: str  # of the container found inside, ".ogg"; not of the file's name
    duration_s: float  # of the sound


@dataclass(frozen=True, slots=True, eq=False)
class Recording(SoundFile):
    """One recording, decoded. `samples` is what is heard."""

    samples: np.ndarray = field(repr=False)  # float32, mono, 16 kHz, -1 to 1


def read_recording(
    source: Path | str | bytes, *, longest_s: float = LONGEST_S, largest_bytes: int = LARGEST_BYTES
) -> Recording:
    """The recording in a file, or in bytes that were a file.

    longest_s      [s]  enforced while decoding, so that a small file that unpacks to days stops early
    largest_bytes  [B]  of the file itself

    Any container, codec, rate and channel count that PyAV decodes; channels are mixed to one.
    Raises RecordingError: missing, a folder, empty, too large or long, cut off, damaged, or no sound in it.
    """
    pieces: deque[np.ndarray] = deque()
    file = _looked_through(source, longest_s, largest_bytes, pieces.append)
    return Recording(file.sha256, file.raw, file.suffix, file.duration_s, _joined(pieces))


def check_recording(
    source: Path | str | bytes, *, longest_s: float = LONGEST_S, largest_bytes: int = LARGEST_BYTES
) -> SoundFile:
    """Whether a file, or bytes that were one, is a recording, as `read_recording` finds out.

    Its sound goes by and is not kept: hours of it take no more memory than a second. Raises RecordingError.
    """
    return _looked_through(source, longest_s, largest_bytes, lambda piece: None)


def sound_of(file: SoundFile) -> Iterator[np.ndarray]:
    """The sound of a file that was looked through, piece by piece as `Recording.samples` has it, decoded once more.

    Raises RecordingError where it cannot be, which looking it through would have shown.
    """
    if isinstance(file, Recording):
        yield file.samples
        return
    try:
        with av.open(io.BytesIO(file.raw), mode="r", metadata_errors="ignore", options=_OPEN_OPTIONS) as container:
            for piece in _pieces(container, container.streams.audio[0], "the recording"):
                yield np.divide(piece, 32768, dtype=np.float32)
    except (av.error.FFmpegError, ValueError, OSError, MemoryError) as err:
        raise RecordingError(f"the recording cannot be decoded as sound: {_reason(err)}.") from err


def _looked_through(
    source: Path | str | bytes, longest_s: float, largest_bytes: int, take: Callable[[np.ndarray], None]
) -> SoundFile:
    """The file, with its sound given to `take` piece by piece."""
    name = "the recording" if isinstance(source, bytes) else str(source)
    raw = source if isinstance(source, bytes) else _read_file(Path(source), largest_bytes)
    if not raw:
        raise RecordingError(f"{name} is empty: 0 bytes.")
    if len(raw) > largest_bytes:
        raise RecordingError(f"{name} is too large: {len(raw)} bytes; at most {largest_bytes} are read.")
    try:
        container_name, count = _decode(raw, name, longest_s, take)
    except (av.error.FFmpegError, ValueError, OSError, MemoryError) as err:
        raise RecordingError(f"{name} cannot be decoded as sound: {_reason(err)}.") from err
    suffix = _SUFFIX.get(container_name) or (Path(name).suffix.lower() or ".audio")
    return SoundFile(hashlib.sha256(raw).hexdigest(), raw, suffix, count / RATE)


def _joined(pieces: deque[np.ndarray]) -> np.ndarray:
    """The pieces as one array of -1 to 1; each is let go as soon as it is in, so that hours fit in memory."""
    samples = np.empty(sum(map(len, pieces)), np.float32)
    at = 0
    while pieces:
        piece = pieces.popleft()
        np.divide(piece, 32768, out=samples[at : at + len(piece)])
        at += len(piece)
    samples.setflags(write=False)
    return samples


def _read_file(path: Path, largest_bytes: int) -> bytes:
    try:
        if path.is_dir():
            raise RecordingError(f"{path} is a folder, not a recording.")
        if not path.exists():
            raise RecordingError(f"{path} is not there.")
        if not path.is_file():
            raise RecordingError(f"{path} is not a file.")
        if path.stat().st_size > largest_bytes:
            raise RecordingError(f"{path} is too large: {path.stat().st_size} bytes; at most {largest_bytes} are read.")
        return path.read_bytes()
    except (OSError, ValueError) as err:
        raise RecordingError(f"{path} cannot be read: {_reason(err)}.") from err


def _decode(raw: bytes, name: str, longest_s: float, take: Callable[[np.ndarray], None]) -> tuple[str, int]:
    """The container's first name and how many samples there were. Decoding errors of PyAV pass through."""
    with av.open(io.BytesIO(raw), mode="r", metadata_errors="ignore", options=_OPEN_OPTIONS) as container:
        container_name = container.format.name.split(",")[0]
        if not container.streams.audio:
            raise RecordingError(f"{name} has no sound in it (it was read as {container.format.long_name}).")
        stream = container.streams.audio[0]
        stated_s = _stated_s(container, stream, raw)
        if stated_s > longest_s:
            raise RecordingError(_too_long(name, longest_s))
        count = 0
        for piece in _pieces(container, stream, name):
            count += len(piece)
            if count > longest_s * RATE:
                raise RecordingError(_too_long(name, longest_s))
            take(piece)
    if not count:
        raise RecordingError(f"{name} has no sound in it: 0 seconds.")
    if stated_s - count / RATE > _MISSING_S:
        raise RecordingError(
            f"{name} is cut off: it says {stated_s:.1f} seconds and holds {count / RATE:.1f}. Send it again."
        )
    return container_name, count


def _stated_s(container: av.container.InputContainer, stream: av.audio.AudioStream, raw: bytes) -> float:
    """Seconds of sound the file says it holds; 0 where it does not say, or only lets one guess (ogg, mp3)."""
    kind = container.format.name.split(",")[0]
    if kind == "wav":
        stated = int.from_bytes(raw[4:8], "little")  # of everything after these eight bytes
        missing = 0 if stated in _STREAMED else max(0, stated + 8 - len(raw))
        return (len(raw) + missing) * 8 / stream.bit_rate if missing and stream.bit_rate else 0.0
    if kind in ("flac", "mov") and stream.duration and stream.time_base:
        return float(stream.duration * stream.time_base)
    if kind == "matroska" and container.duration and not container.streams.video:
        return container.duration / av.time_base
    return 0.0


def _pieces(container: av.container.InputContainer, stream: av.audio.AudioStream, name: str) -> Iterator[np.ndarray]:
    """The sound, piece by piece, as int16 mono at 16 kHz. Single bad packets are skipped."""
    resampler = av.audio.resampler.AudioResampler(format="s16", layout="mono", rate=RATE)
    good = bad = 0
    for packet in container.demux(stream):
        try:
            frames = packet.decode()
            good += 1
        except av.error.InvalidDataError:
            frames, bad = [], bad + 1
        for frame in frames:
            if frame.sample_rate not in _RATES:
                raise RecordingError(f"{name} is no sound: {frame.sample_rate} samples a second.")
            frame.pts = None  # broken time stamps must not stop the sound
            for mono in resampler.resample(frame):
                yield mono.to_ndarray()[0]
    for mono in resampler.resample(None):
        yield mono.to_ndarray()[0]
    if bad > _DAMAGED_SHARE * (good + bad):
        raise RecordingError(f"{name} is damaged: {bad} of {good + bad} pieces of it cannot be decoded.")


def _too_long(name: str, longest_s: float) -> str:
    return f"{name} is too long: more than {longest_s / 3600:g} hours, which is the most that is heard at once."


def _reason(err: BaseException) -> str:
    return str(getattr(err, "strerror", None) or err or type(err).__name__).rstrip(".")
