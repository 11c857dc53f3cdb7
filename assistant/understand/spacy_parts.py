"""The three parts of spaCy that are used here, loaded without its command-line tools.

`import spacy` also loads the tools that download and train models, and with them a web client, a terminal painter and
a command parser: a third of the time and of the processor that a typed note takes to start, for nothing.
"""

from __future__ import annotations

import sys
from types import ModuleType

_TOOLS = "spacy.cli"
_INFO = f"{_TOOLS}.info"  # the one name of them that the package itself takes in


def _without_tools() -> None:
    """Load spaCy with nothing in the place of its tools; whoever imports those later gets the real ones."""
    if "spacy" in sys.modules:
        return
    tools, info = ModuleType(_TOOLS), ModuleType(_INFO)
    info.info = None
    sys.modules |= {_TOOLS: tools, _INFO: info}
    try:
        import spacy  # noqa: F401
    finally:
        del sys.modules[_TOOLS], sys.modules[_INFO]


_without_tools()

from spacy.matcher import PhraseMatcher  # noqa: E402
from spacy.tokens import Doc  # noqa: E402
from spacy.vocab import Vocab  # noqa: E402

__all__ = ["Doc", "PhraseMatcher", "Vocab"]
