"""How well the instruments read, which decides how far a calculation can be trusted."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from assistant.compute.constants import constant


@dataclass(frozen=True, slots=True)
class Instruments:
    """Accuracy taken for every reading; settings may say otherwise."""

    gauge_percent: float = 1.0  # refrigerant gauges, percent of the reading
    thermometer_degF: float = 1.0  # clamps and air probes
    airflow_percent: float = field(default_factory=lambda: constant("airflow_percent"))  # hood or flow grid


def combined(*parts: float) -> float:
    """Independent uncertainties in one unit, together: the root of the sum of their squares (JCGM 100, 5.1.2)."""
    return math.sqrt(sum(part * part for part in parts))
