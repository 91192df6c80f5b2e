"""The part of a section that needs a larger scale: seals, joints, fixings that are thin in a drawing of the whole."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from bridge2d.detail import Dimension
from bridge2d.drawing.lines import enclosed_area
from bridge2d.drawing.section_geometry import NEAR, Box, Piece, SectionGeometry
from bridge2d.materials import Material

FINE = 0.011
"""A piece thinner than this share of the window is not seen well: a millimetre in a drawing of ten centimetres."""
SMALL = 0.35
"""Only pieces smaller than this share of the window count; thin layers go through the whole of it."""
NEAREST = 0.12
"""Pieces no farther apart than this share of the window belong to the same part."""
AROUND = 0.18
"""What is shown around the fine pieces, as a share of their extent, and at least as a share of the window."""
LEAST_AROUND = 0.03
WELL_SEEN = 0.3
"""A section no larger than this is drawn at half its size, at which a seal is seen [m]."""
SEEN, SHORTEST = 1.0, 0.06
"""A piece so thick on paper [mm] is seen well; no part is made shorter than this for it [m]."""
LARGEST = 0.5
"""A part that is larger than this share of the window would not be drawn much larger."""


def fine_part(geometry: SectionGeometry, room: float) -> Box | None:
    """The part with the most fine pieces, and some of its surroundings [m]; None where the whole shows all well.

    Args:
        geometry: the section.
        room: paper along the longer side of the part [mm]; where all of it would be too small there, the part is as
            long as shows its thinnest piece `SEEN` thick.
    """
    x0, y0, x1, y1 = geometry.window
    size = max(x1 - x0, y1 - y0)
    if size < WELL_SEEN:
        return None
    fine = _fine_pieces(geometry, size)
    clusters = _clusters([box for box, _ in fine], NEAREST * size)
    if not clusters:
        return None
    _, (left, bottom, right, top) = max(clusters, key=lambda cluster: cluster[0])
    around = max(AROUND * max(right - left, top - bottom), LEAST_AROUND * size)
    part = max(left - around, x0), max(bottom - around, y0), min(right + around, x1), min(top + around, y1)
    if max(part[2] - part[0], part[3] - part[1]) > LARGEST * size:
        return None
    thinnest = min(thick for box, thick in fine if _apart(box, part) == 0.0)
    return _shortened(geometry, part, max(room * thinnest / SEEN, SHORTEST))


def _shortened(geometry: SectionGeometry, part: Box, longest: float) -> Box:
    """The part, or of a longer one the piece with the most corners in it, the upper or right one where many have."""
    low, high = np.reshape(part, (2, 2))
    corners = np.concatenate([ring for piece in pieces_within(geometry, part) for ring in piece.rings])
    corners = corners[((corners > low) & (corners < high)).all(axis=1)]
    for axis in (0, 1):
        if high[axis] - low[axis] <= longest:
            continue
        along = corners[:, axis]
        starts = np.clip(
            np.concatenate([along - 0.1 * longest, along - 0.9 * longest]), low[axis], high[axis] - longest
        )
        counts = ((along >= starts[:, None]) & (along <= starts[:, None] + longest)).sum(axis=1)
        low[axis] = max(start for start, count in zip(starts.tolist(), counts, strict=True) if count == counts.max())
        high[axis] = low[axis] + longest
    return (*low.tolist(), *high.tolist())


def dimensions_within(dimensions: Sequence[Dimension], part: Box) -> tuple[Dimension, ...]:
    """The dimensions of which both ends lie in a part of the section.

    Args:
        dimensions: of the section.
        part: left, bottom, right and top [m].
    """
    x0, y0, x1, y1 = part
    return tuple(
        d
        for d in dimensions
        if all(x0 - NEAR <= x <= x1 + NEAR and y0 - NEAR <= y <= y1 + NEAR for x, y in (d.start, d.end))
    )


def pieces_within(geometry: SectionGeometry, part: Box) -> tuple[Piece, ...]:
    """The pieces of which something lies in a part of the section, with the rings that do.

    Args:
        geometry: the section.
        part: left, bottom, right and top [m].
    """
    low, high = np.reshape(part, (2, 2))
    found = []
    for piece in geometry.pieces:
        rings = tuple(ring for ring in piece.rings if bool((np.ptp(np.clip(ring, low, high), axis=0) > NEAR).all()))
        if rings:
            found.append(piece._replace(rings=rings))
    return tuple(found)


def only_within(geometry: SectionGeometry, part: Box) -> frozenset[Material]:
    """The materials that lie in a part of the section and nowhere else in its window.

    Args:
        geometry: the section.
        part: left, bottom, right and top [m].
    """
    low, high = np.reshape(part, (2, 2))
    outside = {
        piece.material
        for piece in geometry.pieces
        for ring in piece.rings
        if not bool(((ring > low - NEAR) & (ring < high + NEAR)).all())
    }
    return frozenset(piece.material for piece in geometry.pieces) - outside


def _fine_pieces(geometry: SectionGeometry, size: float) -> list[tuple[Box, float]]:
    """Boxes around the pieces that are small and thin, and how thick: as twice the area over the outline [m]."""
    found: list[tuple[Box, float]] = []
    for piece in geometry.pieces:
        for ring in piece.rings:
            low, high = ring.min(axis=0), ring.max(axis=0)
            doubled = 2.0 * enclosed_area([ring])  # a hole's is negative
            around = float(np.hypot(*(np.roll(ring, -1, axis=0) - ring).T).sum())
            if 0.0 < doubled < FINE * size * around and float((high - low).max()) < SMALL * size:
                found.append(((*low.tolist(), *high.tolist()), doubled / around))
    return found


def _clusters(boxes: Sequence[Box], near: float) -> list[tuple[int, Box]]:
    """Boxes that are near to each other, joined: how many, and the box around them."""
    found: list[tuple[int, Box]] = []
    for box in boxes:
        joined = (1, box)
        while touching := [other for other in found if _apart(joined[1], other[1]) <= near]:
            found = [other for other in found if other not in touching]
            for count, (left, bottom, right, top) in touching:
                x0, y0, x1, y1 = joined[1]
                joined = joined[0] + count, (min(x0, left), min(y0, bottom), max(x1, right), max(y1, top))
        found.append(joined)
    return found


def _apart(a: Box, b: Box) -> float:
    """How far two boxes are apart along the axis along which they are farther [m]; 0 where they overlap."""
    return max(a[0] - b[2], b[0] - a[2], a[1] - b[3], b[1] - a[3], 0.0)
