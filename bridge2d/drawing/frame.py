"""What both pictures of a section share: scale and place on paper, outlines, break lines, surfaces and their labels."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import islice
from typing import NamedTuple

import numpy as np

from bridge2d.detail import Dimension
from bridge2d.drawing.colours import INK
from bridge2d.drawing.dimensions import SIDES, Chains, side_chains
from bridge2d.drawing.lines import FloatArray, thinned
from bridge2d.drawing.scene import Clip, Item, Path, Text, rectangle, rectangle_ring, runs
from bridge2d.drawing.section_geometry import NEAR, Box, SectionGeometry
from bridge2d.nomenclature import LENGTH
from bridge2d.shown_units import IN_SI, DisplayUnits

SCALES = (1, 2, 2.5, 5, 10, 20, 25, 50, 100, 200, 500)
"""Usual scales of drawings, 1 to …"""
INCH_POUND_SCALES = {
    1: "full size",
    2: "6 in = 1 ft",
    4: "3 in = 1 ft",
    8: "1 1/2 in = 1 ft",
    12: "1 in = 1 ft",
    16: "3/4 in = 1 ft",
    24: "1/2 in = 1 ft",
    48: "1/4 in = 1 ft",
    96: "1/8 in = 1 ft",
    192: "1/16 in = 1 ft",
    480: "1 in = 40 ft",
}
"""Usual scales of drawings in feet and inches, as they are written (common practice)."""
FREE_SCALES = tuple(m * p for p in (0.1, 1, 10, 100) for m in (1, 1.2, 1.5, 1.8, 2, 2.5, 3, 3.5, 4, 5, 6, 7, 8, 9))
"""Scales of pictures from which nobody takes a length."""
AIR = 8.5
"""Paper left beside a surface for what stands in the air [mm]."""
LITTLE_AIR = 4.5
"""The same where the picture is small and has few labels [mm]."""
EDGE = 3.5
"""Paper left beside a side that no air touches [mm]."""
LABEL = 6.8
"""Type size of labels [pt]."""
LINE_HEIGHT = 3.1
NOTE = 3.4
"""Height of one note under the picture [mm]."""
ATTEMPTS = 3
"""So often the paper around the section is laid out, wider each time, where labels find no room."""
WIDENED = 9.0
"""By so much each time [mm]."""
BARS = (1.0, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01), 0.005
BARS_IN_INCHES = tuple(inches * 0.0254 for inches in (48, 36, 24, 12, 8, 4, 2, 1, 0.5)), 0.25 * 0.0254
"""Lengths of the scale bar, the longest first, and the least one [m]."""


class Frame(NamedTuple):
    """A section's window on paper.

    Attributes:
        geometry: the section.
        scale: 1 to this.
        left, bottom: where the window's lower left corner stands [mm].
        width, height: of the whole picture [mm].
        chains: dimension chains by side; empty where none are drawn.
        air: paper between the window and the chains, by side [mm].
        shown: units of everything that is written.
    """

    geometry: SectionGeometry
    scale: float
    left: float
    bottom: float
    width: float
    height: float
    chains: dict[str, Chains]
    air: dict[str, float]
    shown: DisplayUnits = IN_SI

    def x(self, metres: float) -> float:
        """From the section's x [m] to paper [mm]."""
        return (metres - self.geometry.window[0]) * 1000.0 / self.scale + self.left

    def y(self, metres: float) -> float:
        """From the section's y [m] to paper [mm]."""
        return (metres - self.geometry.window[1]) * 1000.0 / self.scale + self.bottom

    def paper(self, points: FloatArray) -> FloatArray:
        """Points of the section, shape (n, 2) [m], on paper [mm]."""
        window = self.geometry.window
        moved: FloatArray = (points - (window[0], window[1])) * (1000.0 / self.scale) + (self.left, self.bottom)
        return moved

    @property
    def window(self) -> Box:
        """The window on paper [mm]."""
        x0, y0, x1, y1 = self.geometry.window
        return self.x(x0), self.y(y0), self.x(x1), self.y(y1)

    @property
    def window_ring(self) -> FloatArray:
        """The window as a ring on paper [mm]."""
        return rectangle_ring(*self.window)


def frame(
    geometry: SectionGeometry,
    width: float,
    height: float,
    dimensions: Sequence[Dimension] = (),
    *,
    usual_scale: bool = False,
    at_least: float = 0.0,
    beside: float = AIR,
    shown: DisplayUnits = IN_SI,
) -> Frame:
    """Place a section on paper at the largest scale that fits.

    Args:
        geometry: the section.
        width: greatest width of the picture [mm].
        height: greatest height of the picture [mm].
        dimensions: whose chains stand around it.
        usual_scale: whether the scale is one that drawings have, from which lengths are taken.
        at_least: the scale is 1 to this or smaller, for pictures that share one.
        beside: paper left beside a surface to begin with [mm].
        shown: units of everything that is written.
    """
    air = {side: beside if _has_air(geometry, side) else EDGE for side in SIDES}
    paper = max(
        (geometry.window[2] - geometry.window[0]) * 1000.0 / width,
        (geometry.window[3] - geometry.window[1]) * 1000.0 / height,
        at_least,
    )
    scales = usual_scales(shown) if usual_scale else FREE_SCALES
    for scale in [s for s in scales if s >= paper] or scales[-1:]:
        placed = _at_scale(geometry, scale, air, dimensions, shown)
        if placed.width <= width and placed.height <= height:
            return placed
    return placed


def usual_scales(shown: DisplayUnits) -> tuple[float, ...]:
    """Scales of drawings from which lengths are taken, 1 to each of these."""
    return SCALES if shown.is_si else tuple(INCH_POUND_SCALES)


def widened(placed: Frame, sides: Iterable[str], width: float, dimensions: Sequence[Dimension] = ()) -> Frame:
    """The same section with more paper beside some sides; the picture grows, at the same scale where the width allows.

    Args:
        placed: the section on paper.
        sides: where more paper is wanted.
        width: greatest width of the picture [mm].
        dimensions: whose chains stand around it.
    """
    air = {side: placed.air[side] + (WIDENED if side in sides else 0.0) for side in SIDES}
    usual = usual_scales(placed.shown)
    scales = usual if placed.scale in usual else FREE_SCALES
    for scale in [s for s in scales if s >= placed.scale] or [placed.scale]:
        grown = _at_scale(placed.geometry, scale, air, dimensions, placed.shown)
        if grown.width <= width:
            break
    return grown


def _at_scale(
    geometry: SectionGeometry,
    scale: float,
    air: dict[str, float],
    dimensions: Sequence[Dimension],
    shown: DisplayUnits,
) -> Frame:
    x0, y0, x1, y1 = geometry.window
    paper = 1000.0 / scale
    seen_width, seen_height = (x1 - x0) * paper, (y1 - y0) * paper

    def laid_out(left: float, bottom: float) -> dict[str, Chains]:
        level = (lambda m: (m - x0) * paper + left), (left, left + seen_width)
        upright = (lambda m: (m - y0) * paper + bottom), (bottom, bottom + seen_height)
        return {
            side: side_chains(dimensions, side, *(level if side in ("top", "bottom") else upright), shown)
            for side in SIDES
        }

    chains = laid_out(0.0, 0.0)
    over_left, over_right = _overhang(chains, ("top", "bottom"), seen_width)
    over_bottom, over_top = _overhang(chains, ("left", "right"), seen_height)
    depth = {side: air[side] + chains[side].depth for side in SIDES}
    left, right = max(depth["left"], over_left), max(depth["right"], over_right)
    bottom, top = max(depth["bottom"], over_bottom), max(depth["top"], over_top)
    width, height = left + seen_width + right, bottom + seen_height + top
    # chains were laid out from the window's corner: move them to where it stands
    return Frame(geometry, scale, left, bottom, width, height, laid_out(left, bottom), air, shown)


def _overhang(chains: dict[str, Chains], sides: tuple[str, str], length: float) -> tuple[float, float]:
    """Room for texts that stand out beyond both ends of chains [mm]."""
    over = [row.overhang((0.0, length)) for side in sides for row in chains[side].rows]
    return max((low for low, _ in over), default=0.0), max((high for _, high in over), default=0.0)


def _has_air(geometry: SectionGeometry, side: str) -> bool:
    """Whether a surface lies on a side of the window."""
    axis = 0 if side in ("left", "right") else 1
    at = geometry.window[{"left": 0, "bottom": 1, "right": 2, "top": 3}[side]]
    low, high = geometry.window[1 - axis], geometry.window[3 - axis]
    for face in geometry.faces:
        for points in face.lines:
            on = np.abs(points[:, axis] - at) < NEAR
            both = on[:-1] & on[1:]
            spans = np.maximum(points[:-1, 1 - axis], points[1:, 1 - axis]) > low
            spans &= np.minimum(points[:-1, 1 - axis], points[1:, 1 - axis]) < high
            if bool((both & spans).any()):
                return True
    return False


# -- lines of the section ----------------------------------------------------------------------------------------


def outlines(placed: Frame, colour: str = INK, thin: float = 0.16, heavy: float = 0.42) -> list[Item]:
    """Edges between materials thin, surfaces heavy, all within the window."""
    geometry = placed.geometry
    between = tuple(placed.paper(ring) for piece in geometry.pieces for ring in piece.rings)
    faces = tuple(placed.paper(points) for face in geometry.faces for points in face.lines)
    inner: list[Item] = [Path(between, closed=True, stroke=colour, width=thin)]
    inner.append(Path(faces, stroke=colour, width=heavy))
    x0, y0, x1, y1 = placed.window
    ring = rectangle_ring(x0 - heavy, y0 - heavy, x1 + heavy, y1 + heavy)
    return [Clip((ring,), tuple(inner))]


def break_lines(placed: Frame) -> list[Item]:
    """A zigzag across each piece of the section that goes on beyond the window."""
    found: list[Item] = []
    for side, beyond in cut_sides(placed.geometry).items():
        if not beyond:
            continue
        number = {"left": 0, "bottom": 1, "right": 2, "top": 3}[side]
        at = placed.window[number]
        for low, high in _crossed(placed, side):
            ends = np.array([[at, low], [at, high]]) if side in ("left", "right") else np.array([[low, at], [high, at]])
            zigzag = _zigzag(ends[0], ends[1])
            found.append(Path((zigzag,), stroke="#ffffff", width=1.3))
            found.append(Path((zigzag,), stroke=INK, width=0.16))
    return found


def cut_sides(geometry: SectionGeometry) -> dict[str, float]:
    """How far the section goes on beyond each side of the window [m]; 0 where it ends there."""
    box, window = geometry.box, geometry.window
    beyond = {
        "left": window[0] - box[0],
        "bottom": window[1] - box[1],
        "right": box[2] - window[2],
        "top": box[3] - window[3],
    }
    return {side: length if length > NEAR else 0.0 for side, length in beyond.items()}


def _crossed(placed: Frame, side: str) -> list[tuple[float, float]]:
    """Where material crosses a side of the window, with a little more at both ends [mm]."""
    geometry = placed.geometry
    axis = 0 if side in ("left", "right") else 1
    at = geometry.window[{"left": 0, "bottom": 1, "right": 2, "top": 3}[side]]
    crossings: list[float] = []
    for ring in geometry.outline:
        after = np.roll(ring, -1, axis=0)
        spans = (ring[:, axis] > at) != (after[:, axis] > at)
        a, b = ring[spans], after[spans]
        crossings.extend((a[:, 1 - axis] + (at - a[:, axis]) / (b - a)[:, axis] * (b - a)[:, 1 - axis]).tolist())
    to_paper = placed.y if axis == 0 else placed.x
    lowest, highest = placed.window[1 - axis], placed.window[3 - axis]
    places = sorted(min(max(to_paper(c), lowest), highest) for c in crossings)
    return [(a - 1.5, b + 1.5) for a, b in zip(places[::2], places[1::2], strict=True) if b - a > 0.1]


def _zigzag(start: FloatArray, end: FloatArray) -> FloatArray:
    length = float(np.hypot(*(end - start)))
    along = (end - start) / length
    across = np.array([-along[1], along[0]])
    middle, size = 0.5 * length, min(1.6, 0.12 * length)
    steps = [(0.0, 0.0), (middle - size, 0.0), (middle - 0.5 * size, size), (middle + 0.5 * size, -size)]
    steps += [(middle + size, 0.0), (length, 0.0)]
    return np.array([start + u * along + v * across for u, v in steps])


def for_paper(lines: Sequence[FloatArray], closed: bool = False) -> tuple[FloatArray, ...]:
    """Lines on paper [mm] without points that no printer resolves."""
    return tuple(line for line in thinned(lines, closed, spacing=0.12, tolerance=1e-3) if len(line) > 1)


def groups_for_paper(groups: Sequence[Sequence[FloatArray]], closed: bool = False) -> list[tuple[FloatArray, ...]]:
    """Groups of lines [mm], each as `for_paper` makes it; all at once, which is quicker."""
    flat = iter(thinned([line for group in groups for line in group], closed, spacing=0.12, tolerance=1e-3))
    return [tuple(line for line in islice(flat, len(group)) if len(line) > 1) for group in groups]


# -- labels --------------------------------------------------------------------------------------------------------


def scale_bar(placed: Frame, x: float, y: float, longest: float = 32.0, *, figures: bool = True) -> list[Item]:
    """A bar with its length, at most as long as asked; 3.5 mm high from a corner [mm].

    Args:
        placed: the section on paper.
        x: left edge [mm].
        y: lower edge [mm].
        longest: greatest length of the bar [mm].
        figures: whether the scale stands beside it in figures, which a screen does not keep.
    """
    bars, shortest = BARS if placed.shown.is_si else BARS_IN_INCHES
    length = next((m for m in bars if 1000.0 * m / placed.scale <= longest), shortest)
    bar = 1000.0 * length / placed.scale
    found: list[Item] = []
    found += [rectangle(x + k * bar / 4, y, bar / 4, 1.0, fill=("#ffffff" if k % 2 else INK)) for k in range(4)]
    found.append(Path((rectangle_ring(x, y, x + bar, y + 1.0),), closed=True, stroke=INK, width=0.13))
    words = placed.shown.length(length)
    if figures and placed.scale in usual_scales(placed.shown):
        named = "" if placed.shown.is_si else f"{INCH_POUND_SCALES[int(placed.scale)]} = "
        words += f"    scale {named}1:{placed.scale:g}"
    found.append(Text(x + bar + 2.0, y - 0.6, runs(words), LABEL))
    return found


def continuation_note(geometry: SectionGeometry, shown: DisplayUnits = IN_SI) -> str:
    """What the window leaves out, in words; empty where it shows all."""
    factor, unit = shown.scale(LENGTH)[0], shown.unit(LENGTH)
    parts = [f"{side} {length * factor:.2f} {unit}" for side, length in cut_sides(geometry).items() if length]
    return f"section continues to the cut-off planes: {', '.join(parts)}" if parts else ""
