"""Whisper's weights as openai-whisper names them, read out of the file in which CTranslate2 keeps them.

The layout is that of CTranslate2's model files, version 6: after the name and the revisions each variable with its
name, shape, kind and bytes, then the aliases. It holds whatever the converter wrote; here that is half precision.
Source: CTranslate2, python/ctranslate2/specs/model_spec.py (`_serialize`), and specs/whisper_spec.py for the names.
"""

from __future__ import annotations

import struct
from pathlib import Path
from typing import BinaryIO

import numpy as np

_VERSION = 6
_KINDS = {0: np.float32, 1: np.int8, 2: np.int16, 3: np.int32, 4: np.float16}
_HEADS = 64  # columns of one attention head, in every size of Whisper


def variables(path: Path) -> dict[str, np.ndarray]:
    """Every variable of a model file by its name. Raises ValueError for a file of another kind."""
    with path.open("rb") as file:
        (version,) = _read(file, "I")
        if version != _VERSION:
            raise ValueError(f"{path} is of version {version}; only {_VERSION} is known.")
        _string(file)
        _, count = _read(file, "II")
        found = dict(_variable(file) for _ in range(count))
        (aliases,) = _read(file, "I")
        for _ in range(aliases):
            alias, name = _string(file), _string(file)
            found[alias] = found[name]
    return found


def _variable(file: BinaryIO) -> tuple[str, np.ndarray]:
    name, (rank,) = _string(file), _read(file, "B")
    shape, (kind, size) = _read(file, f"{rank}I"), _read(file, "BI")
    return name, np.frombuffer(file.read(size), _KINDS[kind]).reshape(shape)


def _read(file: BinaryIO, layout: str) -> tuple[int, ...]:
    return struct.unpack(f"<{layout}", file.read(struct.calcsize(f"<{layout}")))


def _string(file: BinaryIO) -> str:
    (length,) = _read(file, "H")
    return file.read(length).rstrip(b"\0").decode()


def dimensions(held: dict[str, np.ndarray]) -> dict[str, int]:
    """The model's sizes, as openai-whisper calls them."""
    layers = {side: sum(name.endswith("ffn/linear_0/weight") and name.startswith(side) for name in held)
              for side in ("encoder", "decoder")}  # fmt: skip
    vocabulary, width = held["decoder/embeddings/weight"].shape
    return {
        "n_mels": held["encoder/conv1/weight"].shape[1],
        "n_audio_ctx": held["encoder/position_encodings/encodings"].shape[0],
        "n_audio_state": width,
        "n_audio_head": width // _HEADS,
        "n_audio_layer": layers["encoder"],
        "n_vocab": vocabulary,
        "n_text_ctx": held["decoder/position_encodings/encodings"].shape[0],
        "n_text_state": width,
        "n_text_head": width // _HEADS,
        "n_text_layer": layers["decoder"],
    }


def state(held: dict[str, np.ndarray]) -> dict[str, np.ndarray]:
    """The weights under openai-whisper's names, in single precision."""
    found = {
        "encoder.positional_embedding": held["encoder/position_encodings/encodings"],
        "decoder.positional_embedding": held["decoder/position_encodings/encodings"],
        "decoder.token_embedding.weight": held["decoder/embeddings/weight"],
    }
    for conv in ("conv1", "conv2"):
        found |= {f"encoder.{conv}.{part}": held[f"encoder/{conv}/{part}"] for part in ("weight", "bias")}
    found |= _norm(held, "encoder/layer_norm", "encoder.ln_post") | _norm(held, "decoder/layer_norm", "decoder.ln")
    for side in ("encoder", "decoder"):
        place = 0
        while f"{side}/layer_{place}/ffn/linear_0/weight" in held:
            found |= _block(held, f"{side}/layer_{place}", f"{side}.blocks.{place}", side == "decoder")
            place += 1
    return {name: np.array(values, np.float32) for name, values in found.items()}


def _block(held: dict[str, np.ndarray], here: str, there: str, crosses: bool) -> dict[str, np.ndarray]:
    attention, cross, ffn = f"{here}/self_attention", f"{here}/attention", f"{here}/ffn"
    found = _norm(held, f"{attention}/layer_norm", f"{there}.attn_ln")
    found |= _split(held, f"{attention}/linear_0", f"{there}.attn", ("query", "key", "value"))
    found |= _linear(held, f"{attention}/linear_1", f"{there}.attn.out")
    if crosses:
        found |= _norm(held, f"{cross}/layer_norm", f"{there}.cross_attn_ln")
        found |= _linear(held, f"{cross}/linear_0", f"{there}.cross_attn.query")
        found |= _split(held, f"{cross}/linear_1", f"{there}.cross_attn", ("key", "value"))
        found |= _linear(held, f"{cross}/linear_2", f"{there}.cross_attn.out")
    found |= _norm(held, f"{ffn}/layer_norm", f"{there}.mlp_ln")
    return (
        found | _linear(held, f"{ffn}/linear_0", f"{there}.mlp.0") | _linear(held, f"{ffn}/linear_1", f"{there}.mlp.2")
    )


def _linear(held: dict[str, np.ndarray], here: str, there: str) -> dict[str, np.ndarray]:
    return {f"{there}.{part}": held[f"{here}/{part}"] for part in ("weight", "bias")}


def _split(held: dict[str, np.ndarray], here: str, there: str, parts: tuple[str, ...]) -> dict[str, np.ndarray]:
    """Layers that CTranslate2 keeps as one. Whisper's keys have no bias; there it keeps zeros."""
    weights, biases = (np.split(held[f"{here}/{part}"], len(parts)) for part in ("weight", "bias"))
    found = {f"{there}.{part}.weight": weight for part, weight in zip(parts, weights, strict=True)}
    return found | {f"{there}.{part}.bias": b for part, b in zip(parts, biases, strict=True) if part != "key"}


def _norm(held: dict[str, np.ndarray], here: str, there: str) -> dict[str, np.ndarray]:
    return {f"{there}.weight": held[f"{here}/gamma"], f"{there}.bias": held[f"{here}/beta"]}
