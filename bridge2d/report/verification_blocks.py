"""Blocks of the validation's pages: a case with its picture beside it, and the chart of the brackets' width."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

from bridge2d.drawing.colours import ACCENT, GREY, INK, RULE
from bridge2d.drawing.scene import Item, Path, Placed, Scene, Text, circle_ring, line, runs
from bridge2d.report.layout import WIDTH, Block, Whole
from bridge2d.report.text import shortened

PICTURE = 38.0
"""Width of a case's picture [mm]."""
GAP = 3.5
BESIDE = WIDTH - PICTURE - GAP
"""Width of what stands beside it [mm]."""
AXIS, NAMES, FLOOR = 14.0, 62.0, 9.0
SIZE = 7.5
STEP = 3.9
"""Least distance between the names at the lines' ends [mm]."""


class BesidePicture(Whole):
    """A picture on the left and blocks on the right of it; stays whole."""

    def __init__(self, picture: Scene | None, blocks: Sequence[Block], after: float = 4.0) -> None:
        """Keep picture, blocks and the space below them [mm]."""
        self.picture, self.blocks, self.after = picture, tuple(blocks), after

    @property
    def height(self) -> float:
        """See `Block`."""
        beside = sum(block.height for block in self.blocks)
        return max(beside, self.picture.height if self.picture else 0.0) + self.after

    def items(self, left: float, top: float) -> list[Item]:
        """See `Block`."""
        found: list[Item] = [line((left, top + 1.4), (left + WIDTH, top + 1.4), width=0.1, stroke=RULE)]
        if self.picture:
            across = left + 0.5 * (PICTURE - self.picture.width)
            found.append(Placed(self.picture, across, top - 1.0 - self.picture.height))
        for block in self.blocks:
            found += block.items(left + PICTURE + GAP, top)
            top -= block.height
        return found


class Curve(NamedTuple):
    """How a bracket closes: name, and for every pass the unknowns and the bracket's width over its middle."""

    name: str
    points: tuple[tuple[int, float], ...]


def convergence_chart(curves: Sequence[Curve], height: float) -> Scene:
    """Relative width of brackets over the number of unknowns, both scales logarithmic.

    Args:
        curves: at least one, each with at least one point above zero.
        height: of the whole [mm].
    """
    unknowns = [n for curve in curves for n, _ in curve.points]
    widths = [w for curve in curves for _, w in curve.points]
    low, high = math.floor(math.log10(min(widths))), math.ceil(math.log10(max(widths)))
    start, end = math.floor(math.log10(min(unknowns))), math.ceil(math.log10(max(unknowns)))
    right, top = WIDTH - NAMES, height - 2.0

    def place(n: float, w: float) -> tuple[float, float]:
        across = (math.log10(n) - start) / max(end - start, 1)
        up = (math.log10(w) - low) / max(high - low, 1)
        return AXIS + across * (right - AXIS), FLOOR + up * (top - FLOOR)

    items: list[Item] = []
    for power in range(low, high + 1):
        y = place(10**start, 10.0**power)[1]
        items.append(line((AXIS, y), (right, y), width=0.1, stroke=RULE))
        items.append(Text(AXIS - 1.6, y - 0.9, runs(_power(power)), SIZE, "end", colour=GREY))
    for power in range(start, end + 1):
        x = place(10**power, 10.0**low)[0]
        items.append(line((x, FLOOR), (x, top), width=0.1, stroke=RULE))
        items.append(Text(x, FLOOR - 4.0, runs(f"{10**power:,}"), SIZE, "middle", colour=GREY))
    items.append(Text(right, 0.6, runs("unknowns"), SIZE, "end", colour=GREY))
    ends = []
    for number, curve in enumerate(curves):
        points = [place(*point) for point in curve.points]
        colour = ACCENT if number % 2 == 0 else INK
        dash = ((), (1.6, 1.0), (0.5, 0.8))[number // 2 % 3]
        items += [line(a, b, width=0.35, stroke=colour, dash=dash) for a, b in pairwise(points)]
        items += [Path((circle_ring(p, 0.6),), closed=True, fill=colour, stroke=colour, width=0.1) for p in points]
        ends.append((points[-1], curve.name, colour))
    return Scene(WIDTH, height, (*items, *_names(ends, right + 2.0, top)))


def _power(power: int) -> str:
    return "1" if power == 0 else f"1e{power}".replace("-", "\N{MINUS SIGN}")


def _names(ends: Sequence[tuple[tuple[float, float], str, str]], left: float, top: float) -> list[Item]:
    """The curves' names, moved apart, each joined to its end by a thin line."""
    ordered = sorted(ends, key=lambda one: one[0][1])
    heights = [point[1] - 0.9 for point, _, _ in ordered]
    for k in range(1, len(heights)):
        heights[k] = max(heights[k], heights[k - 1] + STEP)
    for k in reversed(range(len(heights))):
        above = heights[k + 1] - STEP if k + 1 < len(heights) else top - 0.9
        heights[k] = min(heights[k], above)
    items: list[Item] = []
    for (point, name, colour), y in zip(ordered, heights, strict=True):
        items.append(line((point[0] + 0.8, point[1]), (left - 0.6, y + 0.9), width=0.08, stroke=GREY))
        items.append(Text(left, y, runs(shortened(name, "regular", SIZE, NAMES - 3.0)), SIZE, colour=colour))
    return items
