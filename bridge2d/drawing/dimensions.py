"""Dimension chains outside a section: where lines, ticks and texts stand.

Laid out along a side: u runs along it, v away from the section, both on paper in millimetres. A text that is wider than
its segment moves beyond the end of the chain or up a level, never over another text, and the texts of a level stand in
the order of their segments.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np

from bridge2d.detail import Dimension
from bridge2d.drawing.scene import INK, Item, Path, Run, Text, line, runs, runs_width, symbol_runs
from bridge2d.shown_units import IN_SI, DisplayUnits

SIZE = 6.8
LEVEL = 3.1
"""Height of one level of texts [mm]."""
GAP = 1.0
"""Least clear space beside a text [mm]."""
ROOM = 10.0
"""How far texts may stand out beyond the ends of the side [mm]."""
TICK = 0.8
"""Half the reach of a tick, sideways and upward [mm]."""
EXTENSION = "#8b959a"
SIDES = ("top", "bottom", "left", "right")


class Segment(NamedTuple):
    """A dimension on its side: ends [mm], whether each end lies beyond the window, and its text."""

    low: float
    high: float
    open_low: bool
    open_high: bool
    words: tuple[Run, ...]

    @property
    def middle(self) -> float:
        """Middle of what is seen [mm]."""
        return 0.5 * (self.low + self.high)


class PlacedText(NamedTuple):
    """A text of a chain: its middle along the side [mm], its level, and whose it is."""

    at: float
    level: int
    segment: Segment


class Row(NamedTuple):
    """One chain: its segments and texts."""

    segments: tuple[Segment, ...]
    texts: tuple[PlacedText, ...]

    @property
    def depth(self) -> float:
        """How much of the paper it needs, away from the section [mm]."""
        return 1.6 + LEVEL * (1 + max(text.level for text in self.texts))

    def overhang(self, limits: tuple[float, float]) -> tuple[float, float]:
        """How far texts stand out beyond both ends of the side [mm]."""
        ends = [(t.at - 0.5 * _text_width(t.segment), t.at + 0.5 * _text_width(t.segment)) for t in self.texts]
        return max(limits[0] - min(e[0] for e in ends), 0.0), max(max(e[1] for e in ends) - limits[1], 0.0)


class Chains(NamedTuple):
    """All chains of one side, the nearest to the section first."""

    side: str
    rows: tuple[Row, ...]

    @property
    def depth(self) -> float:
        """How much of the paper they need, away from the section [mm]."""
        return sum(row.depth for row in self.rows) + (1.0 if self.rows else 0.0)


def length_text(metres: float, shown: DisplayUnits = IN_SI) -> str:
    """A length as drawings write it, without its unit: millimetres to the micrometre ("330", "222.25"), or inches.

    Args:
        metres: the length [m].
        shown: units of the drawing.
    """
    return shown.length_number(metres)


def side_chains(
    dimensions: Sequence[Dimension],
    side: str,
    to_paper: Callable[[float], float],
    limits: tuple[float, float],
    shown: DisplayUnits = IN_SI,
) -> Chains:
    """The chains on one side of a section.

    Args:
        dimensions: of the section.
        side: one of `SIDES`.
        to_paper: from a coordinate along the side [m] to paper [mm].
        limits: the window's ends along the side [mm].
        shown: units of the texts.
    """
    axis = 0 if side in ("top", "bottom") else 1
    rows: dict[int, list[Segment]] = {}
    for item in sorted((d for d in dimensions if d.side == side), key=lambda d: d.row):
        low, high = sorted((item.start[axis], item.end[axis]))
        segment = _segment(item, length_text(high - low, shown), to_paper(low), to_paper(high), limits)
        if segment is None:
            continue
        row = item.row
        while any(segment.low < s.high - 0.05 and s.low < segment.high - 0.05 for s in rows.get(row, [])):
            row += 1
        rows.setdefault(row, []).append(segment)
    laid = [_row(tuple(sorted(rows[k], key=lambda s: s.low)), limits) for k in sorted(rows)]
    return Chains(side, tuple(laid))


def _segment(item: Dimension, length: str, low: float, high: float, limits: tuple[float, float]) -> Segment | None:
    words = runs(symbol_runs(item.symbol), " ") if item.symbol else ()
    open_low, open_high = low < limits[0] - 0.05, high > limits[1] + 0.05
    low, high = max(low, limits[0]), min(high, limits[1])
    if high - low < 0.05:
        return None
    return Segment(low, high, open_low, open_high, (*words, Run(length)))


def _row(segments: tuple[Segment, ...], limits: tuple[float, float]) -> Row:
    """Texts within their segments where they fit, else beyond the chain's end or a level up, in their true order."""
    reach = limits[0] - ROOM, limits[1] + ROOM
    narrow = [segment for segment in segments if _text_width(segment) > segment.high - segment.low]
    texts = [PlacedText(segment.middle, 0, segment) for segment in segments if segment not in narrow]
    beside = _beside(narrow[0], segments, reach) if len(narrow) == 1 else None
    return Row(segments, tuple([*texts, beside] if beside else texts + _above(narrow, reach)))


def _text_width(segment: Segment) -> float:
    """Width of a text with the clear space around it [mm]."""
    return runs_width(segment.words, SIZE) + GAP


def _beside(segment: Segment, segments: Sequence[Segment], reach: tuple[float, float]) -> PlacedText | None:
    """Beyond the end of the chain, where nothing else is."""
    width = _text_width(segment)
    for low in (segment.high + 0.6, segment.low - 0.6 - width):
        high = low + width
        if low >= reach[0] and high <= reach[1] and all(s.high < low + 0.5 or s.low > high - 0.5 for s in segments):
            return PlacedText(0.5 * (low + high), 0, segment)
    return None


def _above(narrow: Sequence[Segment], reach: tuple[float, float]) -> list[PlacedText]:
    """A level up, as near to their segments as they can stand side by side; on more levels where they are many."""
    levels = max(math.ceil(sum(map(_text_width, narrow)) / (reach[1] - reach[0])), 1)
    found: list[PlacedText] = []
    for level in range(levels):
        mine = narrow[level::levels]
        places = spread_out([s.middle for s in mine], [_text_width(s) for s in mine], reach)
        found += [PlacedText(at, level + 1, segment) for at, segment in zip(places, mine, strict=True)]
    return found


def spread_out(wanted: Sequence[float], widths: Sequence[float], reach: tuple[float, float]) -> list[float]:
    """Middles of texts in their order, none over another, the sum of squared moves the least.

    Texts that push each other form a block, which stands at the mean of what its texts want (isotonic regression).

    Args:
        wanted: ascending places [mm].
        widths: of the texts [mm].
        reach: both ends of the room, which is wide enough for all [mm].
    """
    offsets = [sum(widths[:k]) + 0.5 * widths[k] for k in range(len(widths))]
    blocks: list[tuple[float, int]] = []
    for want, offset in zip(wanted, offsets, strict=True):
        mean, count = want - offset, 1
        while blocks and blocks[-1][0] > mean:
            before, size = blocks.pop()
            mean, count = (before * size + mean * count) / (size + count), size + count
        blocks.append((mean, count))
    shifts = [mean for mean, count in blocks for _ in range(count)]
    low, high = reach[0], reach[1] - sum(widths)
    return [min(max(shift, low), high) + offset for shift, offset in zip(shifts, offsets, strict=True)]


def draw_chains(chains: Chains, base: float, origin: float) -> tuple[list[Item], list[Text]]:
    """Lines and texts of a side's chains on paper.

    Args:
        chains: what to draw.
        base: where the section's side stands, across the side [mm].
        origin: where chains begin, across the side [mm]; what lies between is left to labels.
    """
    outward = 1.0 if chains.side in ("top", "right") else -1.0
    texts_outward = chains.side in ("top", "left")
    upright = chains.side in ("left", "right")

    def at(u: float, v: float) -> tuple[float, float]:
        return (v, u) if upright else (u, v)

    lines: list[Item] = []
    texts: list[Text] = []
    edge = origin + outward * 1.0
    for row in chains.rows:
        levels = row.depth - 1.6
        place = edge + outward * (1.0 if texts_outward else 0.8 + levels)
        lines.extend(_row_lines(row, place, base, outward, at))
        for text in row.texts:
            away = 0.75 + LEVEL * text.level
            baseline = place - away if upright else place + away
            foot = at(text.at, baseline)
            if text.level:
                stem = 0.35 + LEVEL * text.level
                end = place - stem if upright else place + stem
                start = at(text.segment.middle, place)
                lines.append(line(start, at(min(max(text.segment.middle, text.at - 3), text.at + 3), end), width=0.1))
            texts.append(Text(*foot, text.segment.words, SIZE, "middle", 90.0 if upright else 0.0))
        edge += outward * row.depth
    return lines, texts


def _row_lines(
    row: Row, place: float, base: float, outward: float, at: Callable[[float, float], tuple[float, float]]
) -> list[Item]:
    found: list[Item] = []
    ticks = []
    for segment in row.segments:
        found.append(line(at(segment.low, place), at(segment.high, place), width=0.13))
        for end, is_open, sense in ((segment.low, segment.open_low, 1.0), (segment.high, segment.open_high, -1.0)):
            if is_open:
                tip = [at(end, place), at(end + sense * 2.2, place + 0.55), at(end + sense * 2.2, place - 0.55)]
                found.append(Path((np.array(tip),), closed=True, fill=INK))
                continue
            start, stop = at(end, base + outward * 0.9), at(end, place + outward * 0.9)
            found.append(line(start, stop, width=0.08, stroke=EXTENSION))
            x, y = at(end, place)
            ticks.append(np.array([[x - TICK, y - TICK], [x + TICK, y + TICK]]))
    for text in row.texts:
        if text.level == 0 and not text.segment.low <= text.at <= text.segment.high:
            half = 0.5 * runs_width(text.segment.words, SIZE)
            far = text.at + half if text.at > text.segment.high else text.at - half
            near = text.segment.high if text.at > text.segment.high else text.segment.low
            found.append(line(at(near, place), at(far, place), width=0.13))
    found.append(Path(tuple(ticks), stroke=INK, width=0.3))
    return found
