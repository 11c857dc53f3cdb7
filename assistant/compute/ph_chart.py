"""A pressure-enthalpy chart with the job's cycle on it, as SVG text."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from xml.sax.saxutils import escape

from assistant.compute.cycle import Cycle
from assistant.compute.refrigerant import Fluid, pressure_range

WIDTH, HEIGHT, MARGIN = 760, 520, 64
_STEP = 1.03  # from one point of the dome to the next at most; as far as CoolProp's mixtures can be led


def ph_chart(cycle: Cycle, title: str = "") -> str:
    """The saturation dome of the cycle's refrigerant and the cycle on it, as one SVG document.

    Enthalpy [Btu/lb] across, absolute pressure [psi] up on a logarithmic scale. Reads in black and white. A
    temperature that was worked out and not measured says so.
    Source: CoolProp 8. Raises OutOfRange where CoolProp has no state.
    """
    fluid = Fluid(cycle.refrigerant)
    low, high = pressure_range(cycle.refrigerant)
    low = max(low, cycle.suction.psia / 2)
    steps = math.ceil(math.log(high / low) / math.log(_STEP))
    pressures = [low * (high / low) ** (place / steps) for place in range(steps + 1)]
    bubble = [(state["enthalpy"], state["psia"]) for state in fluid.along(pressures, 0)]
    dew = [(state["enthalpy"], state["psia"]) for state in fluid.along(pressures, 1)]
    loop = [(point.enthalpy, point.psia) for point in (*cycle.points, cycle.suction)]
    place = _scale([*bubble, *dew, *loop])
    name = escape(title or f"{cycle.refrigerant} cycle")
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" role="img" aria-label="{name}">',
        f'<rect width="{WIDTH}" height="{HEIGHT}" fill="#fff"/>',
        _text(WIDTH / 2, 28, name, 18),
        *_axes(bubble, dew, loop, place),
        _path(bubble, place, 'stroke="#555" stroke-width="1.5"'),
        _path(dew, place, 'stroke="#555" stroke-width="1.5" stroke-dasharray="6 4"'),
        _path(loop, place, 'stroke="#000" stroke-width="3" stroke-linejoin="round"'),
        *(_below(curve[0], place, of) for curve, of in ((bubble, "all liquid"), (dew, "all vapour"))),
        *_labels(cycle, place),
        "</svg>",
    ]
    return "\n".join(parts) + "\n"


Place = Callable[[float, float], tuple[float, float]]


def _scale(points: Iterable[tuple[float, float]]) -> Place:
    across = [h for h, _ in points]
    up = [math.log(p) for _, p in points]
    left, right, bottom, top = min(across) - 5, max(across) + 5, min(up) - 0.1, max(up) + 0.1

    def place(enthalpy: float, psia: float) -> tuple[float, float]:
        x = MARGIN + (enthalpy - left) / (right - left) * (WIDTH - 2 * MARGIN)
        return x, HEIGHT - MARGIN - (math.log(psia) - bottom) / (top - bottom) * (HEIGHT - 2 * MARGIN)

    return place


def _path(points: list[tuple[float, float]], place: Place, style: str) -> str:
    spots = " ".join("{:.1f},{:.1f}".format(*place(*point)) for point in points)
    return f'<polyline points="{spots}" fill="none" {style}/>'


def _text(x: float, y: float, words: str, size: int = 13, anchor: str = "middle") -> str:
    # The white edge keeps words readable where a line runs behind them.
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-family="sans-serif" font-size="{size}" text-anchor="{anchor}" '
        f'stroke="#fff" stroke-width="4" stroke-linejoin="round" paint-order="stroke">{words}</text>'
    )


def _below(point: tuple[float, float], place: Place, words: str) -> str:
    x, y = place(*point)
    return _text(x, y + 16, words, 11)


def _axes(bubble: list, dew: list, loop: list, place: Place) -> list[str]:
    everything = [*bubble, *dew, *loop]
    enthalpies = [h for h, _ in everything]
    pressures = [p for _, p in everything]
    parts = []
    for step in range(math.ceil(min(enthalpies) / 20) * 20, math.floor(max(enthalpies)) + 1, 20):
        x, _ = place(step, min(pressures))
        line = f'x1="{x:.1f}" x2="{x:.1f}" y1="{MARGIN}" y2="{HEIGHT - MARGIN}"'
        parts += [f'<line {line} stroke="#ddd"/>', _text(x, HEIGHT - MARGIN + 20, f"{step}")]
    for psia in (5, 10, 20, 50, 100, 200, 500):
        if min(pressures) <= psia <= max(pressures):
            x, y = place(min(enthalpies), psia)
            line = f'x1="{MARGIN}" x2="{WIDTH - MARGIN}" y1="{y:.1f}" y2="{y:.1f}"'
            parts += [f'<line {line} stroke="#ddd"/>', _text(MARGIN - 8, y + 4, f"{psia}", anchor="end")]
    parts.append(_text(WIDTH / 2, HEIGHT - 16, "enthalpy, Btu/lb"))
    parts.append(_text(MARGIN, 48, "psi absolute", anchor="start"))
    return parts


# Where each point's words stand: steps right and down from the point [px], and which end of them is there. Beside
# the loop, or just inside it where the dome would run through them.
_BESIDE = {
    "suction": (8, 18, "start"),
    "discharge": (0, -12, "middle"),
    "liquid": (-8, -8, "end"),
    "evaporator_inlet": (10, -10, "start"),
}
_LETTER = 7.5  # [px] a letter takes at size 13, at most; from looking at it


def _labels(cycle: Cycle, place: Place) -> list[str]:
    parts = []
    for point in cycle.points:
        x, y = place(point.enthalpy, point.psia)
        parts.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4"/>')
        guessed = point is cycle.evaporator_inlet or (point is cycle.discharge and not cycle.discharge_measured)
        words = f"{point.name.replace('_', ' ')} {point.temp:.0f} \N{DEGREE SIGN}F{', estimated' if guessed else ''}"
        right, down, anchor = _BESIDE[point.name]
        half = len(words) * _LETTER / 2
        middle = x + right + {"start": half, "middle": 0, "end": -half}[anchor]
        middle = min(max(middle, half + 8), WIDTH - half - 8)  # never out of the picture
        parts.append(_text(middle + {"start": -half, "middle": 0, "end": half}[anchor], y + down, words, anchor=anchor))
    return parts
