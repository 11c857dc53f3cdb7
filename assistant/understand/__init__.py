"""Transcript to note: what was said, as records. Rules and vocabulary are the TOML tables beside the code."""

from assistant.understand.read import read

__all__ = ["read"]
