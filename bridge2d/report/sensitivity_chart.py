"""Level bars to either side of zero, each with its name and number."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from bridge2d.drawing.colours import ACCENT, GREY, INK, PAPER
from bridge2d.drawing.scene import Item, Path, Scene, Text, line, rectangle_ring, runs
from bridge2d.report.layout import WIDTH
from bridge2d.report.text import shortened

PITCH, THICK = 4.6, 2.8
"""Distance and thickness of the bars [mm]."""
NAMES, NUMBERS = 62.0, 18.0
"""Room for the names, and for a number beside a bar [mm]."""
SIZE = 7.5
"""Type size [pt]."""


class Bar(NamedTuple):
    """A bar.

    Attributes:
        name: what stands before it.
        size: how long it is, of any unit; below 0 to the left.
        number: what stands at its end.
    """

    name: str
    size: float
    number: str


def bar_chart(bars: Sequence[Bar]) -> Scene:
    """The chart; bars to the left are hollow, so that their sense is told without colour.

    Args:
        bars: from the top.
    """
    height = PITCH * len(bars) + 2.0
    low, high = min(0.0, *(bar.size for bar in bars)), max(0.0, *(bar.size for bar in bars))
    left = NAMES + (NUMBERS if low < 0 else 0.0)
    scale = (WIDTH - NUMBERS - left) / ((high - low) or 1.0)
    zero = left - low * scale
    items: list[Item] = [line((zero, 0.5), (zero, height - 0.5), width=0.2, stroke=GREY)]
    for number, bar in enumerate(bars):
        middle = height - 1.0 - (number + 0.5) * PITCH
        end = zero + bar.size * scale
        ring = rectangle_ring(min(zero, end), middle - 0.5 * THICK, max(zero, end), middle + 0.5 * THICK)
        fill = ACCENT if bar.size >= 0 else PAPER
        items.append(Path((ring,), closed=True, fill=fill, stroke=ACCENT, width=0.25))
        name = shortened(bar.name, "regular", SIZE, NAMES - 3.0)
        items.append(Text(0.0, middle - 0.9, runs(name), SIZE, colour=INK))
        place, anchor = (end + 1.2, "start") if bar.size >= 0 else (end - 1.2, "end")
        items.append(Text(place, middle - 0.9, runs(bar.number), SIZE, anchor, colour=GREY))
    return Scene(WIDTH, height, tuple(items))
