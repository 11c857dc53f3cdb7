"""superheard: a voice-note assistant for people who install and commission heating and cooling.

    from assistant import Assistant

`assistant.pipeline` is where to start reading.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from assistant.door import Assistant, Reply

__version__ = "0.1.0"
__all__ = ["Assistant", "Reply", "__version__"]


def __getattr__(name: str):
    """`Assistant` and `Reply` on first use, so that `superheard --help` need not load the whole program."""
    if name in ("Assistant", "Reply"):
        from assistant import door

        return getattr(door, name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
