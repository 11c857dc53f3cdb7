"""What the hearing tests share: the kept recordings with their words, and a way to write sound files."""

from __future__ import annotations

import io
import re
from pathlib import Path

import av
import jiwer
import numpy as np

HERE = Path(__file__).parent
RATE = 16_000

_UNITS = (
    "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
    "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen",
)  # fmt: skip
_TENS = {"twenty": 20, "thirty": 30, "forty": 40, "fifty": 50, "sixty": 60, "seventy": 70, "eighty": 80, "ninety": 90}


def with_words(folder: str) -> list[tuple[Path, str]]:
    """The recordings of `audio` or `human`, each with the words spoken in it."""
    lines = (HERE / folder / "words.tsv").read_text(encoding="utf-8").splitlines()
    return [(HERE / folder / name, words) for name, words in (line.split("\t") for line in lines)]


def encoded(samples: np.ndarray, container: str, codec: str, rate: int, channels: int) -> bytes:
    """16 kHz mono samples as the bytes of a sound file. ffmpeg names: "wav", "pcm_s16le"."""
    out = io.BytesIO()
    layout = "stereo" if channels == 2 else "mono"
    with av.open(out, "w", format=container) as file:
        stream = file.add_stream(codec, rate=rate, layout=layout)
        resampler = av.AudioResampler(format=stream.format, layout=layout, rate=rate)
        frame = av.AudioFrame.from_ndarray(samples[None, :].astype(np.float32), format="flt", layout="mono")
        frame.rate = RATE
        for part in [*resampler.resample(frame), *resampler.resample(None)]:
            part.pts = None
            file.mux(stream.encode(part))
        file.mux(stream.encode(None))
    return out.getvalue()


def plain_words(text: str) -> str:
    """Lower case, no punctuation, and every number spelt digit by digit, so that "345", "three forty five" and "3 45"
    are the same words and only hearing is scored, not spelling."""
    text = re.sub(r"(?<=\d),(?=\d{3})", "", text.casefold().replace("-", " "))
    text = re.sub(r"(\d)\.(\d)", r"\1 point \2", text)
    tokens = re.findall(r"[a-z']+|\d+", text.replace("and a half", "point five"))
    spelt: list[str] = []
    for at, token in enumerate(tokens):
        follows = tokens[at + 1] if at + 1 < len(tokens) else ""
        if token in _TENS:
            digits = str(_TENS[token])
            spelt += digits[0] if follows in _UNITS[1:10] else digits
        elif token in _UNITS:
            spelt += str(_UNITS.index(token))
        elif token == "oh":
            spelt += "0"
        elif token == "a" and follows in ("hundred", "thousand"):
            spelt += "1"
        elif token == "and" and at and tokens[at - 1] == "hundred" and (follows in _UNITS or follows in _TENS):
            continue
        elif token == "hundred":
            after = tokens[at + 2] if follows == "and" and at + 2 < len(tokens) else follows
            spelt += "" if after in _TENS or after in _UNITS[10:] else "0" if after in _UNITS else "00"
        elif token == "thousand":
            spelt += "0" if follows in _TENS else "000"
        elif token.isdigit():
            spelt += token
        else:
            spelt.append(token)
    return " ".join(spelt)


def says(text: str, number: str) -> bool:
    """Whether that number ("94.5") stands in the text, however it is spelt, and is not a part of a longer one."""
    return re.search(rf"(?<!\d )\b{plain_words(number)}\b(?! \d| point)", plain_words(text)) is not None


def word_errors(said: list[str], heard: list[str]) -> float:
    """Word error rate over all pairs together, after `plain_words`."""
    return jiwer.wer([plain_words(words) for words in said], [plain_words(words) for words in heard])
