"""What is installed is complete, pinned, and nothing that was not declared."""

from __future__ import annotations

import ast
import re
import sys
import tomllib
from importlib import metadata
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
PACKAGES = [ROOT / "api", ROOT / "assistant", ROOT / "models"]
PINNED = dict(
    line.split("==") for line in (ROOT / "constraints.txt").read_text("utf-8").splitlines() if not line.startswith("#")
)


def declared(*extras: str) -> set[str]:
    project = PROJECT["project"]
    listed = project["dependencies"] + [each for extra in extras for each in project["optional-dependencies"][extra]]
    return {canonicalize_name(Requirement(each).name) for each in listed} - {"superheard"}


def imported(folder: Path) -> dict[str, Path]:
    """Each package from outside that a file under `folder` imports, with one file that does."""
    found: dict[str, Path] = {}
    for file in folder.rglob("*.py"):
        for node in ast.walk(ast.parse(file.read_text("utf-8"))):
            names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
            if isinstance(node, ast.ImportFrom) and node.module and not node.level:
                names = [node.module]
            for name in names:
                found.setdefault(name.split(".")[0], file)
    inside = {"api", "assistant", "models", "tests"} | {file.stem for file in folder.rglob("*.py")}
    return {name: file for name, file in found.items() if name not in sys.stdlib_module_names | inside}


@pytest.mark.parametrize("folder", PACKAGES, ids=lambda folder: folder.name)
def test_every_data_file_is_of_a_kind_that_the_wheel_takes(folder):
    data = PROJECT["tool"]["setuptools"]["package-data"]
    taken = {pattern.removeprefix("*") for pattern in data["*"]}
    whole = [folder / pattern.removesuffix("/**") for pattern in data.get(folder.name, ())]
    left_out = [
        file
        for file in folder.rglob("*")
        if file.is_file()
        and file.suffix not in taken | {".py", ".pyc"}
        and file.name != "README.md"
        and not any(file.is_relative_to(each) for each in [*whole, folder / "pictures"])
    ]
    assert left_out == []


def test_every_folder_with_code_is_a_package():
    folders = {file.parent for package in PACKAGES for file in package.rglob("*.py")}
    assert [folder for folder in folders if not (folder / "__init__.py").exists()] == []


@pytest.mark.parametrize(
    ("folder", "extras"),
    [
        ("api", ()),
        ("assistant", ("voice", "workers")),
        ("models", ()),
        ("tests", ("test", "small", "voice", "workers", "bench")),
    ],
    ids=lambda each: str(each),
)
def test_nothing_is_imported_that_is_not_declared(folder, extras):
    providers = metadata.packages_distributions()
    for name, file in imported(ROOT / folder).items():
        packages = {canonicalize_name(package) for package in providers.get(name, [name])}
        assert packages & declared(*extras), f"{file} imports {name}, which pyproject.toml does not declare"


def test_everything_declared_is_pinned_by_name_and_version_alone():
    pinned = {canonicalize_name(name) for name in PINNED}
    assert declared("test", "small", "voice", "workers") <= pinned
    for name, version in PINNED.items():
        assert re.fullmatch(r"[\w.-]+", name) and re.fullmatch(r"[\w.+!]+", version)
    assert "torch" not in pinned


def test_each_pin_is_a_version_that_pyproject_allows():
    project = PROJECT["project"]
    for text in project["dependencies"] + project["optional-dependencies"]["small"]:
        requirement = Requirement(text)
        version = next(
            v for name, v in PINNED.items() if canonicalize_name(name) == canonicalize_name(requirement.name)
        )
        assert requirement.specifier.contains(version), text


def test_the_command_is_the_one_the_package_promises():
    assert PROJECT["project"]["scripts"] == {"superheard": "assistant.cli:main"}
