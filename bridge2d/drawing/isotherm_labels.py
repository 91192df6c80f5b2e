"""Labels of isotherms, each along its own line, and the scale of temperatures beside the picture."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from bridge2d.drawing.callouts import backing
from bridge2d.drawing.colours import INK, ink_on, temperature_colour
from bridge2d.drawing.fonts import MILLIMETRES_PER_POINT
from bridge2d.drawing.frame import LABEL, Frame
from bridge2d.drawing.lines import FloatArray
from bridge2d.drawing.scene import Clip, Item, Path, Run, Text, rectangle_ring, runs, runs_width
from bridge2d.drawing.sheet import Sheet
from bridge2d.nomenclature import MINUS


class Span(NamedTuple):
    """Coldest and warmest temperature, and the step between isotherms, all in degrees of the unit."""

    low: float
    high: float
    step: float
    unit: str = "°C"

    @property
    def levels(self) -> list[float]:
        """Temperatures of the isotherms."""
        first, last = math.ceil(self.low / self.step + 1e-6), math.floor(self.high / self.step - 1e-6)
        return [k * self.step for k in range(first, last + 1)]

    def share(self, level: float) -> float:
        """Place of a temperature between the coldest (0) and the warmest (1)."""
        return (level - self.low) / max(self.high - self.low, 1e-9)

    def band_colour(self, level: float) -> str:
        """Colour of the band from a level to the next one."""
        whole = math.floor(max(level, self.low) / self.step + 1e-6)
        middle = 0.5 * (max(whole * self.step, self.low) + min((whole + 1) * self.step, self.high))
        return temperature_colour(self.share(middle))


def line_labels(
    placed: Frame, sheet: Sheet, lines: list[list[FloatArray]], levels: list[float], span: Span
) -> list[Item]:
    """The temperature on each isotherm, along its straightest free piece."""
    found: list[Item] = []
    for points, level in zip(lines, levels, strict=True):
        ground = temperature_colour(span.share(level))
        words = runs(f"{level:g}".replace("-", MINUS))
        found += one_label(placed, sheet, points, words, ground)
    return found


def one_label(
    placed: Frame, sheet: Sheet, lines: list[FloatArray], words: tuple[Run, ...], ground: str = "#ffffff"
) -> list[Item]:
    """Words on one of some lines, on a ground of their own; none where no piece of a line is free."""
    text = _along_line(placed, sheet, lines, words)
    if text is None:
        return []
    text = text._replace(colour=ink_on(ground))
    sheet.take_text(text, 0.8)
    return [Clip((placed.window_ring,), (backing(text, ground),)), text]


def _along_line(placed: Frame, sheet: Sheet, lines: list[FloatArray], words: tuple[Run, ...]) -> Text | None:
    x0, y0, x1, y1 = placed.window
    width = runs_width(words, LABEL) + 1.2
    middle = np.array([0.5 * (x0 + x1), 0.5 * (y0 + y1)])
    spots = []
    for points in sorted(lines, key=len, reverse=True)[:3]:
        lengths = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
        if lengths[-1] < width:
            continue
        at = np.arange(0.5 * width, lengths[-1] - 0.5 * width + 1e-9, 2.5)
        ends = [np.stack([np.interp(at + s * width, lengths, points[:, k]) for k in (0, 1)], 1) for s in (-0.5, 0.5)]
        chord = ends[1] - ends[0]
        centre = np.stack([np.interp(at, lengths, points[:, k]) for k in (0, 1)], 1)
        bend = np.hypot(*(0.5 * (ends[0] + ends[1]) - centre).T)
        inside = (centre > (x0 + 0.6 * width, y0 + 2)).all(axis=1) & (centre < (x1 - 0.6 * width, y1 - 2)).all(axis=1)
        cost = 12.0 * bend + 0.25 * np.hypot(*(centre - middle).T)
        spots += [
            (c, *p, math.degrees(math.atan2(d[1], d[0])))
            for c, p, d in zip(cost[inside].tolist(), centre[inside].tolist(), chord[inside].tolist(), strict=True)
        ]
    for _, x, y, turn in sorted(spots)[:60]:
        upright = 90.0 - (90.0 - turn) % 180.0  # read from below or from the right
        rise = math.radians(upright)
        wide, high = 0.5 * width + 0.3, 0.5 * LABEL * MILLIMETRES_PER_POINT + 0.5
        half_x = wide * math.cos(rise) + high * abs(math.sin(rise))
        half_y = wide * abs(math.sin(rise)) + high * math.cos(rise)
        if sheet.is_free(x - half_x, y - half_y, x + half_x, y + half_y):
            return Text(x + 0.85 * math.sin(rise), y - 0.85 * math.cos(rise), words, LABEL, "middle", upright)
    return None


def level_scale(x: float, base: float, length: float, span: Span) -> list[Item]:
    """A level scale of temperatures, for pictures that share it; its lower left end at a place [mm]."""
    found: list[Item] = []

    def at(level: float) -> float:
        return x + length * span.share(level)

    for a, b in pairwise([span.low, *span.levels, span.high]):
        colour = span.band_colour(a)
        found.append(
            Path((rectangle_ring(at(a), base, at(b), base + 3.0),), closed=True, fill=colour, stroke=colour, width=0.05)
        )
    found.append(Path((rectangle_ring(x, base, x + length, base + 3.0),), closed=True, stroke=INK, width=0.13))
    every = max(math.ceil(len(span.levels) * 6.0 / length), 1)
    for level in span.levels[::every]:
        found.append(Path((np.array([[at(level), base], [at(level), base - 0.8]]),), stroke=INK, width=0.13))
        found.append(Text(at(level), base - 3.2, runs(f"{level:g}".replace("-", MINUS)), 6.2, "middle"))
    found.append(Text(x + length + 1.5, base + 0.5, runs(span.unit), 6.2))
    return found


def temperature_scale(x: float, base: float, length: float, span: Span) -> list[Item]:
    """An upright scale of temperatures; its lower end at a place [mm]."""
    found: list[Item] = []

    def at(level: float) -> float:
        return base + length * span.share(level)

    for a, b in pairwise([span.low, *span.levels, span.high]):
        colour = span.band_colour(a)
        ring = rectangle_ring(x, at(a), x + 3.2, at(b))
        found.append(Path((ring,), closed=True, fill=colour, stroke=colour, width=0.05))
    frame_ring = rectangle_ring(x, base, x + 3.2, base + length)
    found.append(Path((frame_ring,), closed=True, stroke=INK, width=0.13))
    every = max(math.ceil(len(span.levels) * 3.4 / length), 1)
    for level in span.levels[::every]:
        found.append(Path((np.array([[x + 3.2, at(level)], [x + 4.0, at(level)]]),), stroke=INK, width=0.13))
        found.append(Text(x + 8.6, at(level) - 0.8, runs(f"{level:g}".replace("-", MINUS)), 6.2, "end"))
    found.append(Text(x, base + length + 1.4, runs(span.unit), 6.2))
    return found
