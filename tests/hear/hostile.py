"""Sound files that somebody made to do harm, and broken ones, each read in a process of its own.

    python -m tests.hear.hostile [--files 2000] [--seed 0] [--faults FOLDER]

A file is drawn from the kinds below: cut off, bits turned, a header that lies, pieces swapped or doubled, one file in
another, no sound file at all, and small files that unpack to much. The process that reads it may take little memory
beyond the file's own size, and the samples' where they are kept; it ends by itself, in a Recording or a RecordingError.
Whatever does not is printed and kept. The same seed gives the same files.
"""

from __future__ import annotations

import argparse
import errno
import functools
import io
import multiprocessing
import resource
import signal
import struct
import zipfile
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from random import Random

import numpy as np

from assistant.errors import RecordingError
from assistant.hear.recording import RATE, check_recording, read_recording
from tests.hear.sounds import encoded

BUDGET = 64 << 20  # bytes of memory beyond the file and its samples
PER_SAMPLE = 8  # bytes: two as they come, four as they are kept, and the pieces between
STUCK_S = 120
FORMATS = (
    ("wav", "pcm_s16le", 16000), ("wav", "pcm_f32le", 48000), ("flac", "flac", 44100), ("mp3", "libmp3lame", 44100),
    ("ipod", "aac", 48000), ("ogg", "libopus", 48000), ("webm", "libopus", 48000),
    ("matroska", "pcm_s16le", 16000), ("aiff", "pcm_s16be", 16000), ("adts", "aac", 16000), ("caf", "pcm_s16le", 16000),
)  # fmt: skip
_SILENCES = (
    ("flac", "flac", 44100, 7200), ("mp3", "libmp3lame", 44100, 1200), ("ipod", "aac", 48000, 1200),
    ("ogg", "libopus", 48000, 3600), ("webm", "libopus", 48000, 3600),
)  # fmt: skip
_LIES = (0, 1, 0x7F, 0x7FFF, 0xFFFF, 0x7FFFFFFF, 0x80000000, 0xFFFFFFFF)


@functools.cache
def sound(container: str, codec: str, rate: int) -> bytes:
    """A second and a half of a tone and noise."""
    chance = np.random.default_rng(1)
    samples = 0.3 * np.sin(np.arange(RATE * 3 // 2) / 9) + chance.normal(0, 0.05, RATE * 3 // 2)
    return encoded(samples, container, codec, rate, 1)


def _sound(chance: Random) -> bytearray:
    return bytearray(sound(*chance.choice(FORMATS)))


# ---------------------------------------------------------------- the kinds


def cut_off(chance: Random) -> bytes:
    raw = _sound(chance)
    start, end = sorted(chance.randrange(len(raw) + 1) for _ in range(2))
    return bytes(chance.choice((raw[:end], raw[start:], raw[start:end], raw[: chance.randrange(200)])))


def turned_bits(chance: Random) -> bytes:
    raw = _sound(chance)
    for _ in range(2 ** chance.randint(0, 10)):
        raw[chance.randrange(len(raw))] ^= 1 << chance.randrange(8)
    return bytes(raw)


def lying_header(chance: Random) -> bytes:
    raw = _sound(chance)
    for _ in range(chance.randint(1, 4)):
        at, size = chance.randrange(min(len(raw) - 8, 400)), chance.choice((1, 2, 4))
        value = chance.choice((*_LIES, chance.randrange(1 << 32))) & ((1 << 8 * size) - 1)
        raw[at : at + size] = value.to_bytes(size, chance.choice(("little", "big")))
    return bytes(raw)


def moved_pieces(chance: Random) -> bytes:
    raw = _sound(chance)
    for _ in range(chance.randint(1, 6)):
        start, end = sorted(chance.randrange(len(raw)) for _ in range(2))
        piece = raw[start:end]
        at = chance.randrange(len(raw))
        raw[at:at] = piece * chance.choice((1, 1, 2, 5))
        if chance.random() < 0.5:
            del raw[start:end]
    return bytes(raw[: 4 << 20])


def one_in_another(chance: Random) -> bytes:
    """A file in the middle, behind or in front of another, or as the samples of a wav file in a wav file."""
    outer, inner = _sound(chance), bytes(_sound(chance))
    if chance.random() < 0.3:
        for _ in range(chance.randint(1, 30)):
            inner = wav(inner, rate=16000)
        return inner
    at = chance.choice((0, len(outer), chance.randrange(len(outer))))
    outer[at:at] = inner * chance.randint(1, 4)
    return bytes(outer)


def no_sound_file(chance: Random) -> bytes:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as file:
        file.writestr("note.wav", bytes(1_000_000))
    heads = (b"", b"\0", b"%PDF-1.7\n", b"\x89PNG\r\n\x1a\n", b"GIF89a", b"ID3\x04\0\0\x7f\x7f\x7f\x7f", b"#EXTM3U\n",
             b"ffconcat version 1.0\nfile /etc/passwd\n", b"<smil>", b"[playlist]", b"\x1aE\xdf\xa3", b"OggS\0\x02",
             b"fLaC\0\0\0\x22", b"\0\0\0\x20ftypM4A ", b"RF64", b"FORM", b"MThd", packed.getvalue())  # fmt: skip
    return chance.choice(heads) + chance.randbytes(chance.choice((0, 1, 100, 5000)))


def bomb(chance: Random) -> bytes:
    """Small, and hours of sound: silence, or few samples that claim to be very slow, or many channels."""
    kind = chance.randrange(4)
    if kind == 0:
        return silent(*chance.choice(_SILENCES))
    if kind == 1:
        return wav(bytes(2 << chance.randrange(8, 20)), rate=chance.choice((1, 2, 7, 50, 1000)))
    if kind == 2:
        rate = chance.choice((1, 16000, 192_000, 0x7FFFFFFF, 0xFFFFFFFF))
        return wav(bytes(1 << chance.randrange(8, 22)), rate, channels=chance.choice((1, 2, 8, 64, 255, 65535)))
    raw = bytearray(sound("flac", "flac", 44100))  # rate, channels and count of samples are at 18 to 25
    raw[18:26] = chance.randbytes(8)
    return bytes(raw)


@functools.cache
def silent(container: str, codec: str, rate: int, seconds: int) -> bytes:
    return encoded(np.zeros(RATE * seconds, np.float32), container, codec, rate, 1)


def wav(data: bytes, rate: int, channels: int = 1) -> bytes:
    """A wav file whose header says so, whether or not that can be."""
    head = struct.pack("<HHIIHH", 1, channels, rate, (rate * channels * 2) & 0xFFFFFFFF, (channels * 2) & 0xFFFF, 16)
    body = b"WAVEfmt " + struct.pack("<I", 16) + head + b"data" + struct.pack("<I", len(data)) + data
    return b"RIFF" + struct.pack("<I", len(body)) + body


KINDS: tuple[Callable[[Random], bytes], ...] = (
    cut_off, turned_bits, turned_bits, lying_header, lying_header, moved_pieces, one_in_another, no_sound_file, bomb,
)  # fmt: skip


def hostile(seed: int, number: int) -> tuple[str, bytes]:
    """(kind, file) of that number."""
    chance = Random(f"{seed}:{number}")
    kind = chance.choice(KINDS)
    return kind.__name__, kind(chance)


# ---------------------------------------------------------------- reading one


@dataclass(frozen=True, slots=True)
class Ended:
    """How the process that read a file ended."""

    how: str  # "recording", "refused", or what went wrong
    grew: int = 0  # bytes of memory, at the most
    samples: int = 0
    why: str = ""


def read_apart(raw: bytes, keep: bool) -> Ended:
    """Read a file in a process of its own; `keep` its samples, or look it through only."""
    context = multiprocessing.get_context("fork")
    here, there = context.Pipe(duplex=False)
    process = context.Process(target=_read, args=(there, raw, keep))
    process.start()
    there.close()
    try:
        told = here.recv() if here.poll(STUCK_S) else None
    except EOFError:  # it is gone without a word
        told = None
    if told is None and process.is_alive():
        process.join(1)
    if told is None and process.is_alive():
        process.kill()
        process.join()
        return Ended(f"not done after {STUCK_S} s")
    process.join()
    if told is None:
        return Ended(f"killed by {signal.Signals(-process.exitcode).name}" if process.exitcode < 0 else "gone")
    return _within_bounds(Ended(*told), len(raw), keep)


def _within_bounds(ended: Ended, size: int, keep: bool) -> Ended:
    most = BUDGET + 2 * size + (PER_SAMPLE * ended.samples if keep else 0)
    if ended.how in ("recording", "refused") and ended.grew > most:
        return Ended(f"took {ended.grew >> 20} MB, allowed are {most >> 20}", ended.grew, ended.samples, ended.why)
    return ended


def _read(there: multiprocessing.connection.Connection, raw: bytes, keep: bool) -> None:
    before = _peak()
    most = _mapped() + (4 << 30 if keep else 1 << 30)
    resource.setrlimit(resource.RLIMIT_AS, (most, most))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    samples, why = 0, ""
    try:
        found = (read_recording if keep else check_recording)(raw)
        how, samples = "recording", round(found.duration_s * RATE)
        if keep and not np.isfinite(found.samples).all():
            how = "samples that are no numbers"
    except RecordingError as err:
        out = isinstance(err.__cause__, MemoryError) or getattr(err.__cause__, "errno", None) == errno.ENOMEM
        how, why = ("out of memory" if out else "refused"), str(err)
    except BaseException as err:  # anything else is what is looked for
        how = f"{type(err).__name__}: {err}"
    there.send((how, _peak() - before, samples, why))


def _peak() -> int:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss << 10


def _mapped() -> int:
    return int(Path("/proc/self/statm").read_text().split()[0]) * resource.getpagesize()


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--files", type=int, default=2000)
    options.add_argument("--seed", type=int, default=0)
    options.add_argument("--faults", type=Path, default=Path("hostile_faults"), help="where what does harm is kept")
    asked = options.parse_args()
    came: Counter[tuple[str, str]] = Counter()
    grew = {False: 0, True: 0}
    faults = 0
    for number in range(asked.files):
        kind, raw = hostile(asked.seed, number)
        keep = number % 3 == 0
        ended = read_apart(raw, keep)
        came[kind, ended.how if ended.how in ("recording", "refused") else "harm"] += 1
        grew[keep] = max(grew[keep], ended.grew)
        if ended.how not in ("recording", "refused"):
            faults += 1
            asked.faults.mkdir(parents=True, exist_ok=True)
            path = asked.faults / f"{asked.seed}-{number}-{kind}.bin"
            path.write_bytes(raw)
            print(
                f"HARM ({kind}, {'kept' if keep else 'looked through'}, {len(raw)} bytes): {ended}, in {path}",
                flush=True,
            )
    for (kind, how), times in sorted(came.items()):
        print(f"{kind:16} {how:10} {times}")
    print(
        f"seed {asked.seed}: {asked.files} files, {faults} did harm; memory at the most {grew[False] >> 20} MB", end=" "
    )
    print(f"looking through, {grew[True] >> 20} MB with the samples kept")
    raise SystemExit(bool(faults))


if __name__ == "__main__":
    main()
