"""How well the assistant does on notes and dialogues whose right answers are known: `python -m tests.score`."""
