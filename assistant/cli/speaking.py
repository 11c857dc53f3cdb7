"""`--speak` and `--speak-to`: an answer as sound, by a local voice. The words are printed either way.

The voice (hibari-tts, Apache-2.0) is an extra, for not every machine has to speak. Sound is played by a
player the system has: a sound library with native parts would be a burden for one short sentence.
"""

from __future__ import annotations

import io
import shutil
import subprocess
import tempfile
import wave
from collections.abc import Callable
from pathlib import Path

import click

from assistant.errors import AssistantError

RATE = 24_000  # Hz, the voice's own
_PLAYERS = (("aplay", "-q"), ("paplay",), ("afplay",), ("ffplay", "-nodisp", "-autoexit", "-loglevel", "quiet"))


class VoiceError(AssistantError):
    """The answer cannot be spoken; says what is missing and what to do."""


def speak_options(command: Callable) -> Callable:
    """Adds --speak and --speak-to to a command."""
    to = click.option(
        "--speak-to", type=click.Path(dir_okay=False, path_type=Path), help="Write the spoken answer to a WAV file."
    )
    return click.option("--speak", "aloud", is_flag=True, help="Say the answer aloud, with a local voice.")(to(command))


def speak(text: str, aloud: bool, to: Path | None) -> None:
    """Say `text` aloud, write it to a WAV file, or both. What cannot be done is said on stderr, nothing more."""
    if not (aloud or to) or not text:
        return
    try:
        sound = spoken(text)
        if to:
            to.write_bytes(sound)
        if aloud:
            _play(sound)
    except AssistantError as err:
        click.echo(f"Not spoken: {err}", err=True)


def spoken(text: str) -> bytes:
    """`text` as a WAV file: mono, 16 bit, 24 kHz. Raises VoiceError where the voice is not installed."""
    from assistant.converse import for_the_ear

    samples = _voice()(for_the_ear(text))
    import numpy as np

    pcm = (np.clip(np.asarray(samples, dtype=np.float32), -1, 1) * 32767).astype("<i2")
    file = io.BytesIO()
    with wave.open(file, "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(RATE)
        out.writeframes(pcm.tobytes())
    return file.getvalue()


def _voice() -> Callable:
    try:
        from hibari import Hibari
    except ImportError as err:
        raise VoiceError("The voice is not installed; run: pip install 'superheard[voice]'.") from err
    return Hibari(threads=1)


def _play(sound: bytes) -> None:
    player = next((command for command in _PLAYERS if shutil.which(command[0])), None)
    if player is None:
        raise VoiceError(f"No sound player was found; there is none of {', '.join(c[0] for c in _PLAYERS)}.")
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "answer.wav"
        file.write_bytes(sound)
        played = subprocess.run([*player, str(file)], check=False, capture_output=True, timeout=120)
    if played.returncode:
        raise VoiceError(f"{player[0]} could not play: {played.stderr.decode('utf-8', 'replace').strip()[:200]}")
