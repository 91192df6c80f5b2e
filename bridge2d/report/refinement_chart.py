"""A chart of the bracket closing: both bounds against the number of unknowns, told apart by dash and mark."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import pairwise

from bridge2d import nomenclature as n
from bridge2d.drawing.colours import ACCENT, GREY, INK, PAPER, RULE
from bridge2d.drawing.scene import Item, Path, Run, Scene, Text, circle_ring, line, rectangle_ring, runs
from bridge2d.report.layout import WIDTH
from bridge2d.report.words import exact_ends, symbol
from bridge2d.results import SectionResult
from bridge2d.shown_units import IN_SI, DisplayUnits

HEIGHT = 36.0
"""Of the whole chart [mm]."""
AXIS, NAMES = 20.0, 52.0
"""Room for the numbers on the left and the names on the right [mm]."""
FLOOR, CEILING = 9.5, 6.0
"""Room for the numbers below and the quantity above [mm]."""
SIZE = 7.0
"""Type size [pt]."""
STEPS = 4
"""Lines across the chart, about."""
NEXT = 3.4
"""Least distance of two lines of text [mm]."""
DASH = (1.6, 1.0)


def refinement_chart(section: SectionResult, shown: DisplayUnits = IN_SI) -> Scene | None:
    """Both bounds of the coupling coefficient over the passes; None where there are fewer than two with bounds.

    Args:
        section: the section's numbers.
        shown: units of everything that is written.
    """
    quantity = n.coupling(section.section.revolution)
    passes = [(p.unknowns, p.lower, p.upper) for p in section.passes if p.lower is not None and p.upper is not None]
    if len(passes) < 2 or len(passes) < len(section.passes):
        return None
    factor = shown.scale(quantity)[0]
    counts = [count for count, _, _ in passes]
    lower, upper = ([factor * one[k] for one in passes] for k in (1, 2))
    low, high, step = _reach(min(lower), max(upper))
    left, right, top = AXIS, WIDTH - NAMES, HEIGHT - CEILING

    def up(number: float) -> float:
        return FLOOR + (number - low) / (high - low) * (top - FLOOR)

    first, last = math.log(counts[0]), math.log(counts[-1])
    xs = [left + 4.0 + (math.log(c) - first) / max(last - first, 1e-9) * (right - left - 8.0) for c in counts]
    items = _grid(low, high, step, up, left, right)
    unit = runs(symbol(quantity), f" in {shown.unit(quantity)}")
    items.append(Text(0.0, HEIGHT - 2.8, unit, SIZE, colour=GREY))
    items += _counts(counts, xs)
    items += _drawn(xs, [up(v) for v in upper], dashed=False) + _drawn(xs, [up(v) for v in lower], dashed=True)
    ends = exact_ends(quantity, passes[-1][1], passes[-1][2], shown)
    items += _names(ends, up(lower[-1]), up(upper[-1]), right + 2.0)
    return Scene(WIDTH, HEIGHT, tuple(items))


def _reach(least: float, most: float) -> tuple[float, float, float]:
    """Ends of the upright axis at whole steps, and the step."""
    span = max(most - least, 1e-9 * max(abs(most), abs(least)), 1e-12)
    power = 10.0 ** math.floor(math.log10(span / STEPS))
    step = next(m * power for m in (1.0, 2.0, 5.0, 10.0) if m * power >= span / STEPS * (1 - 1e-9))
    low, high = math.floor(least / step + 1e-9) * step, math.ceil(most / step - 1e-9) * step
    return low, max(high, low + step), step


def _grid(low: float, high: float, step: float, up: Callable[[float], float], left: float, right: float) -> list[Item]:
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    items: list[Item] = []
    for number in range(round((high - low) / step) + 1):
        at = low + number * step
        items.append(line((left, up(at)), (right, up(at)), width=0.1, stroke=RULE))
        words = f"{at + 0.0:.{decimals}f}".replace("-", n.MINUS)
        items.append(Text(left - 1.6, up(at) - 0.9, runs(words), SIZE, "end", colour=GREY))
    return items


def _counts(counts: Sequence[int], xs: Sequence[float]) -> list[Item]:
    """The number of unknowns under each pass, where it does not touch the one before."""
    items: list[Item] = []
    end = -math.inf
    for count, x in reversed(list(zip(counts, xs, strict=True))):
        text = Text(x, FLOOR - 4.2, runs(str(count)), SIZE, "middle")
        if end == -math.inf or x + 0.5 * text.width + 1.5 < end:
            items.append(text)
            end = x - 0.5 * text.width
    middle = 0.5 * (xs[0] + xs[-1])
    return [*items, Text(middle, FLOOR - 8.2, runs("unknowns"), SIZE, "middle", colour=GREY)]


def _drawn(xs: Sequence[float], ys: Sequence[float], *, dashed: bool) -> list[Item]:
    """A line with its marks: full with dots, or dashed with hollow squares."""
    points = list(zip(xs, ys, strict=True))
    colour = INK if dashed else ACCENT
    items: list[Item] = [
        line(a, b, width=0.3 if dashed else 0.5, stroke=colour, dash=DASH if dashed else ())
        for a, b in pairwise(points)
    ]
    for x, y in points:
        if dashed:
            ring = rectangle_ring(x - 0.8, y - 0.8, x + 0.8, y + 0.8)
            items.append(Path((ring,), closed=True, fill=PAPER, stroke=colour, width=0.25))
        else:
            items.append(Path((circle_ring((x, y), 0.85),), closed=True, fill=colour, stroke=colour, width=0.1))
    return items


def _names(ends: tuple[str, str], low: float, high: float, left: float) -> list[Item]:
    """The names of both lines with their last values beside their ends, apart where they would touch."""
    middle = 0.5 * (low + high)
    apart = max(0.5 * (high - low), 0.5 * NEXT)
    return [
        Text(left, middle + apart - 0.9, runs(Run("upper", "bold"), f" {ends[1]}"), SIZE, colour=ACCENT),
        Text(left, middle - apart - 0.9, runs(Run("lower", "bold"), f" {ends[0]}"), SIZE),
    ]
