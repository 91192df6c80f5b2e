"""Dimensions of a section that brings none: overall sizes, and the layers of its flanking elements or all its corners.

All lengths are those of the section, in metres.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from bridge2d.detail import Dimension, Point
from bridge2d.drawing.section_geometry import NEAR, SectionGeometry

MOST_PLACES = 12
"""A side with more distinct coordinates than this has no chain."""


def drawn_dimensions(geometry: SectionGeometry) -> tuple[Dimension, ...]:
    """The section's own dimensions, or automatic ones where it has none.

    Args:
        geometry: the section.
    """
    if geometry.section.dimensions:
        return geometry.section.dimensions
    chains = _layer_chains(geometry) or [_places_chain(geometry, 0), _places_chain(geometry, 1)]
    found = [dimension for chain in dict.fromkeys(chains) for dimension in chain]
    shown = {(d.side in ("top", "bottom"), *_ends(d)) for d in found}
    for axis, side in ((0, "bottom"), (1, "left")):
        low, high = geometry.box[axis], geometry.box[axis + 2]
        if (axis == 0, round(low, 6), round(high, 6)) not in shown:
            row = 1 if any(d.side == side for d in found) else 0
            found.append(_dimension(axis, low, high, side, row))
    return tuple(found)


def _ends(dimension: Dimension) -> tuple[float, float]:
    axis = 0 if dimension.side in ("top", "bottom") else 1
    low, high = sorted((dimension.start[axis], dimension.end[axis]))
    return round(low, 6), round(high, 6)


def _dimension(axis: int, low: float, high: float, side: str, row: int = 0) -> Dimension:
    start, end = ((low, 0.0), (high, 0.0)) if axis == 0 else ((0.0, low), (0.0, high))
    return Dimension(start, end, "", side, row)


def _layer_chains(geometry: SectionGeometry) -> list[tuple[Dimension, ...]]:
    """A chain along each flanking element's cut that is level or upright, on the side nearest to it."""
    found = []
    for element in geometry.section.flanking:
        start, end = element.cut
        for axis in (0, 1):
            across = 1 - axis
            if abs(start[across] - end[across]) < NEAR < abs(start[axis] - end[axis]):
                low, high = geometry.box[across], geometry.box[across + 2]
                sides = ("bottom", "top") if axis == 0 else ("left", "right")
                side = sides[start[across] - low > high - start[across]]
                places = _crossings(geometry, element.cut, axis)
                found.append(tuple(_dimension(axis, a, b, side) for a, b in pairwise(places)))
    return found


def _crossings(geometry: SectionGeometry, cut: tuple[Point, Point], axis: int) -> list[float]:
    """Where edges of materials meet a cut, from one of its ends to the other."""
    across, at = 1 - axis, cut[0][1 - axis]
    low, high = sorted((cut[0][axis], cut[1][axis]))
    found = [low, high]
    for piece in geometry.pieces:
        for ring in piece.rings:
            after = np.roll(ring, -1, axis=0)
            way = after[:, across] - ring[:, across]
            meets = (np.abs(way) > NEAR) & (np.minimum(ring[:, across], after[:, across]) < at + NEAR)
            meets &= np.maximum(ring[:, across], after[:, across]) > at - NEAR
            share = (at - ring[meets, across]) / way[meets]
            found += (ring[meets, axis] + share * (after[meets, axis] - ring[meets, axis])).tolist()
    return sorted({round(place, 6) for place in found if low - NEAR < place < high + NEAR})


def _places_chain(geometry: SectionGeometry, axis: int) -> tuple[Dimension, ...]:
    """A chain over the distinct coordinates of all corners in the window; none where they are too many."""
    low, high = geometry.window[axis], geometry.window[axis + 2]
    corners = np.concatenate([ring[:, axis] for piece in geometry.pieces for ring in piece.rings])
    seen = np.unique(np.round(corners[(corners > low - NEAR) & (corners < high + NEAR)], 6)).tolist()
    if not 2 <= len(seen) <= MOST_PLACES:
        return ()
    return tuple(_dimension(axis, a, b, "bottom" if axis == 0 else "left") for a, b in pairwise(seen))
