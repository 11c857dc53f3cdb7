"""Transcript to note: what was said, as records. Start at `read.py`; the TOML tables beside it hold the words.

Nothing is imported here: `read` brings spaCy, and telling a question from a statement does not need it.
"""
