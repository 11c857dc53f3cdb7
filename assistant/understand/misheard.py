"""Whether a value that was heard may have been heard wrong: then it is kept, asked about, and not used.

Only for what came through the recogniser. Typed words are the speaker's own.
"""

from __future__ import annotations

import math

from assistant.records import Reading
from assistant.understand.bind import Sense
from assistant.understand.context import Context
from assistant.understand.number import Number
from assistant.units import quantities

MISHEARD = "misheard"


def doubt_of_hearing(number: Number, sense: Sense) -> str | None:
    """Why a heard value is in doubt: it is not of every day, or another that is sounds the same. None if it is not."""
    if sense.doubt:
        return sense.doubt
    rivals = [value for value, _ in number.values if not math.isclose(value, sense.value)] if number.rivals else []
    doubted = not _everyday(sense.quantity, sense.value) or any(_everyday(sense.quantity, value) for value in rivals)
    return MISHEARD if doubted else None


def is_confirmed(reading: Reading, context: Context) -> bool:
    """Whether the same doubted value was said before: heard twice, it is believed."""
    return any(
        earlier.status == "doubtful"
        and (earlier.quantity, earlier.role, earlier.system) == (reading.quantity, reading.role, reading.system)
        and math.isclose(earlier.value, reading.value, rel_tol=1e-3)
        for earlier in context.job.readings
    )


def _everyday(quantity: str, value: float) -> bool:
    known = quantities()[quantity]
    return known.likely_low <= value <= known.likely_high
