"""The pieces of a chart for narrow screens: text on lines of its own, tracks under it, one scale at the foot.

Colours stand in the attributes for a light page; the style sheet changes them where the reader's screen is dark.
Where style sheets are forbidden, the chart stays dark ink on white paper.
"""

from __future__ import annotations

import hashlib
import math
import textwrap
from collections.abc import Iterable
from dataclasses import dataclass
from xml.sax.saxutils import escape, quoteattr

from assistant.papers.text import clean

WIDTH = 360  # [px] of the picture, so that a phone shows it at its own size; wider pages enlarge it
MARGIN = 16
LINE = 16  # [px] from one line of text to the next
LETTER = 6.9  # [px] a letter takes at size 12 on average, at most; from looking at it
_ACROSS = int((WIDTH - 2 * MARGIN) / LETTER)

INK, PAPER, FAINT, HAVE, NEED, MARK = "#1c2024", "#ffffff", "#5b636b", "#7fb2d9", "#a33a00", "#1b4f8a"
_DARK = {"ink": "#eceff1", "faint": "#a9b1b8", "have": "#3d6f99", "need": "#ffb27a", "mark": "#9ccbff"}
_STYLE = (
    "text{font-family:system-ui,'DejaVu Sans',sans-serif}@media(prefers-color-scheme:dark){.paper{fill:#15181b}"
    + "".join(f".{name}{{fill:{colour}}}.{name}-line{{stroke:{colour}}}" for name, colour in _DARK.items())
    + ".hollow{fill:#15181b}}"
)


@dataclass(frozen=True, slots=True)
class Scale:
    """Values across the picture."""

    low: float
    high: float

    def x(self, value: float) -> float:
        """Where a value stands [px]; what is beyond the scale stands at its edge."""
        share = (min(max(value, self.low), self.high) - self.low) / (self.high - self.low)
        return MARGIN + share * (WIDTH - 2 * MARGIN)

    def ticks(self) -> list[float]:
        """Round values inside the scale, three to six of them."""
        step = _round_step((self.high - self.low) / 4)
        first = math.ceil(self.low / step - 1e-9)
        return [number * step for number in range(first, math.floor(self.high / step + 1e-9) + 1)]


def scale_of(values: Iterable[float], *, from_zero: bool = False) -> Scale:
    """A scale with some room around `values`; never one without width."""
    kept = [*values, *([0.0] if from_zero else [])] or [0.0]
    low, high = min(kept), max(kept)
    room = (high - low) * 0.08 or max(abs(high) * 0.1, 1.0)
    return Scale(0.0 if from_zero and low == 0 else low - room, high + room)


def _round_step(about: float) -> float:
    size = 10.0 ** math.floor(math.log10(about))
    return next(size * times for times in (1, 2, 2.5, 5, 10) if about <= size * times * 1.0001)


def wrapped(words: str) -> list[str]:
    """`words` on as many lines as the picture's width asks for."""
    return textwrap.wrap(clean(words), _ACROSS, break_on_hyphens=False) or [""]


def text(x: float, y: float, words: str, *, kind: str = "ink", anchor: str = "start", bold: bool = False) -> str:
    colour = {"ink": INK, "faint": FAINT, "need": NEED}[kind]
    weight = ' font-weight="600"' if bold else ""
    return (
        f'<text class="{kind}" x="{x:.1f}" y="{y:.1f}" font-size="12" text-anchor="{anchor}" fill="{colour}"{weight}>'
        f"{escape(clean(words))}</text>"
    )


def line(x1: float, y1: float, x2: float, y2: float, *, kind: str = "faint", width: float = 1, dash: str = "") -> str:
    colour = {"faint": FAINT, "need": NEED, "mark": MARK, "ink": INK}[kind]
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    return (
        f'<line class="{kind}-line" x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" stroke="{colour}" '
        f'stroke-width="{width:g}"{dashed}/>'
    )


def bar(x1: float, x2: float, y: float, height: float, *, opacity: float = 1.0) -> str:
    """A bar of the colour of what there is; `y` is its top."""
    return (
        f'<rect class="have" x="{x1:.1f}" y="{y:.1f}" width="{max(x2 - x1, 1):.1f}" height="{height:g}" rx="2" '
        f'fill="{HAVE}" fill-opacity="{opacity:g}"/>'
    )


def diamond(x: float, y: float, size: float = 6) -> str:
    points = f"{x:.1f},{y - size:.1f} {x + size:.1f},{y:.1f} {x:.1f},{y + size:.1f} {x - size:.1f},{y:.1f}"
    return f'<polygon class="mark" points="{points}" fill="{MARK}"/>'


def dot(x: float, y: float, *, hollow: bool = False, faint: bool = False) -> str:
    if hollow:
        return (
            f'<circle class="hollow mark-line" cx="{x:.1f}" cy="{y:.1f}" r="5" fill="{PAPER}" stroke="{MARK}" '
            'stroke-width="2" stroke-dasharray="3 2"/>'
        )
    opacity = ' fill-opacity="0.45"' if faint else ""
    return f'<circle class="mark" cx="{x:.1f}" cy="{y:.1f}" r="5" fill="{MARK}"{opacity}/>'


def axis(scale: Scale, y: float, unit: str) -> list[str]:
    """The line at the foot of a block with its values, and the unit under it; takes three lines of text."""
    parts = [line(MARGIN, y, WIDTH - MARGIN, y)]
    for value in scale.ticks():
        x, words = scale.x(value), f"{value:,.10g}"
        half = len(words) * LETTER / 2
        beside = min(max(x, half + 2), WIDTH - half - 2)  # never out of the picture
        parts += [line(x, y, x, y + 4), text(beside, y + LINE, words, kind="faint", anchor="middle")]
    return [*parts, text(WIDTH / 2, y + 2 * LINE, unit, kind="faint", anchor="middle")]


def document(title: str, description: str, body: Iterable[str], height: float) -> str:
    """The whole picture, with title and description for those who hear it."""
    key = hashlib.sha256(f"{title}\0{description}".encode("utf-8", "replace")).hexdigest()[:8]
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height:.0f}" role="img" '
        f"aria-labelledby={quoteattr(f't{key} d{key}')}>",
        f'<title id="t{key}">{escape(clean(title))}</title>',
        f'<desc id="d{key}">{escape(clean(description))}</desc>',
        f"<style>{_STYLE}</style>",
        f'<rect class="paper" width="{WIDTH}" height="{height:.0f}" fill="{PAPER}"/>',
        *body,
        "</svg>",
    ]
    return "\n".join(parts) + "\n"
