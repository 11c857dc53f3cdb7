"""spaCy is loaded without the tools that a typed note does not need, and its tools stay usable."""

from __future__ import annotations

import subprocess
import sys


def run(code: str) -> str:
    return subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout.strip()


def test_reading_a_note_loads_no_command_line_tool_of_spacy():
    code = (
        "import sys; from assistant.understand.lexicon import find_wordings, wordings\n"
        "head = wordings(['head pressure'])\n"
        "assert find_wordings('the head pressure is'.split()) == {head: [(1, 3)]}\n"
        "print(sorted({'spacy.cli', 'typer', 'weasel', 'httpx', 'requests', 'rich'} & set(sys.modules)))"
    )
    assert run(code) == "[]"


def test_who_wants_the_tools_gets_the_real_ones():
    code = (
        "from assistant.understand.spacy_parts import Doc\n"
        "import spacy.cli.info\n"
        "print(spacy.cli.info.__module__, spacy.cli.download.__module__)"
    )
    assert run(code).split()[-1] == "spacy.cli.download"


def test_spacy_loaded_before_is_left_as_it_is():
    code = (
        "import spacy; info = spacy.info\n"
        "from assistant.understand.spacy_parts import PhraseMatcher\n"
        "print(spacy.info is info and info is not None)"
    )
    assert run(code) == "True"
