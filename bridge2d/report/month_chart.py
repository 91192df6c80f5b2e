"""A chart of quantities over the twelve months: lines told apart by dash and mark, each with its name at its end."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from itertools import pairwise
from typing import NamedTuple

from bridge2d.climate import MONTHS
from bridge2d.drawing.colours import ACCENT, GREY, INK, PAPER, RULE
from bridge2d.drawing.scene import Item, Path, Run, Scene, Text, circle_ring, line, rectangle_ring, runs
from bridge2d.report.layout import WIDTH
from bridge2d.report.text import wrapped

AXIS = 11.0
"""Room for the numbers beside the chart [mm]."""
NAMES = 46.0
"""Room for the names of the lines [mm]."""
MONTH_ROW = 6.0
"""Room for the months' names [mm]."""
SIZE = 7.5
"""Type size [pt]."""
NAME_STEP = 3.9
"""Least distance between names [mm]."""
DASH = (1.6, 1.0)


class Line(NamedTuple):
    """A quantity over the months.

    Attributes:
        name: what stands at its end.
        values: by month; None where there is none.
        mark: "dot" or "square" at every value, or empty for a plain line.
        dashed: whether it is dashed.
        accent: whether it is the detail's own, drawn heavy.
    """

    name: tuple[Run, ...]
    values: tuple[float | None, ...]
    mark: str = ""
    dashed: bool = False
    accent: bool = False

    @property
    def last(self) -> float | None:
        """The last value that there is."""
        return next((value for value in reversed(self.values) if value is not None), None)


class Range(NamedTuple):
    """A chart's upright axis.

    Attributes:
        low, high: its ends.
        step: between its numbers.
        factor: by which the numbers are multiplied before they are written.
        form: how they are written.
        limit: where a line is drawn across the chart; None for no line.
    """

    low: float
    high: float
    step: float
    factor: float = 1.0
    form: str = "{:.1f}"
    limit: float | None = None


def month_chart(lines: Sequence[Line], axis: Range, height: float, bold: Iterable[int] = ()) -> Scene:
    """The chart.

    Args:
        lines: what is shown; values beyond the axis end at it.
        axis: range and numbers of the upright axis.
        height: of the whole [mm].
        bold: numbers of the months whose names are set bold, from 0.
    """
    floor, top = MONTH_ROW, height - 3.0
    left, right = AXIS, WIDTH - NAMES
    step = (right - left) / 12

    def up(value: float) -> float:
        share = (min(max(value, axis.low), axis.high) - axis.low) / (axis.high - axis.low)
        return floor + share * (top - floor)

    items: list[Item] = []
    for number in range(round((axis.high - axis.low) / axis.step) + 1):
        value = axis.low + number * axis.step
        items.append(line((left, up(value)), (right, up(value)), width=0.1, stroke=RULE))
        number_text = axis.form.format(value * axis.factor + 0.0).replace("-", "\N{MINUS SIGN}")
        items.append(Text(left - 1.6, up(value) - 0.9, runs(number_text), SIZE, "end", colour=GREY))
    if axis.limit is not None:
        items.append(line((left, up(axis.limit)), (right, up(axis.limit)), width=0.25, stroke=INK))
    marked = set(bold)
    for number, month in enumerate(MONTHS):
        words = runs(Run(month[:3], "bold" if number in marked else "regular"))
        items.append(Text(left + (number + 0.5) * step, 1.6, words, SIZE, "middle"))
    places = [left + (number + 0.5) * step for number in range(12)]
    for one in lines:
        items += _drawn(one, places, [None if v is None else up(v) for v in one.values], left, right)
    return Scene(WIDTH, height, (*items, *_names(lines, up, right + 2.0, top)))


def _drawn(one: Line, xs: Sequence[float], ys: Sequence[float | None], left: float, right: float) -> list[Item]:
    colour, width = (ACCENT, 0.6) if one.accent else (INK, 0.3)
    dash = DASH if one.dashed else ()
    points = [(x, y) for x, y in zip(xs, ys, strict=True) if y is not None]
    if one.accent and len(set(ys)) == 1 and points:
        return [line((left, points[0][1]), (right, points[0][1]), width=width, stroke=colour, dash=dash)]
    items: list[Item] = []
    for (x, y), (u, v) in pairwise(zip(xs, ys, strict=True)):
        if y is not None and v is not None:
            items.append(line((x, y), (u, v), width=width, stroke=colour, dash=dash))
    for x, y in points:
        if one.mark == "dot":
            items.append(Path((circle_ring((x, y), 0.8),), closed=True, fill=colour, stroke=colour, width=0.1))
        elif one.mark == "square":
            ring = rectangle_ring(x - 0.75, y - 0.75, x + 0.75, y + 0.75)
            items.append(Path((ring,), closed=True, fill=PAPER, stroke=colour, width=0.22))
    return items


def _names(lines: Sequence[Line], up: Callable[[float], float], left: float, top: float) -> list[Item]:
    """The lines' names beside their ends, moved apart where they would touch."""
    ends = sorted((up(last) - 0.9, k) for k, one in enumerate(lines) if (last := one.last) is not None)
    heights = [y for y, _ in ends]
    for k in range(1, len(heights)):
        heights[k] = max(heights[k], heights[k - 1] + NAME_STEP)
    for k in reversed(range(len(heights))):
        above = heights[k + 1] - NAME_STEP if k + 1 < len(heights) else top - 0.9
        heights[k] = min(heights[k], above)
    return [
        Text(left, y, _shortened(lines[k].name), SIZE, colour=ACCENT if lines[k].accent else INK)
        for y, (_, k) in zip(heights, ends, strict=True)
    ]


def _shortened(name: tuple[Run, ...]) -> tuple[Run, ...]:
    """A name cut to the room beside the chart, with an ellipsis where something is missing."""
    first, *rest = wrapped(name, SIZE, NAMES - 5.0)
    return (*first, Run("…")) if rest else first


def round_range(values: Iterable[float], step: float, form: str) -> Range:
    """An axis that begins and ends at whole steps around some values.

    Args:
        values: what has to fit.
        step: of the numbers.
        form: how they are written.
    """
    present = list(values)
    low, high = math.floor(min(present) / step + 1e-9) * step, math.ceil(max(present) / step - 1e-9) * step
    return Range(low, max(high, low + step), step, form=form)
