"""What of a drawing deserves a second look: overlaps, narrow gaps, voids that face nothing; with their places."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from bridge2d import units
from bridge2d.detail import Point, Section
from bridge2d.dxf.rings import Ring, place

SMALL = 0.01
"""Overlaps and gaps of less area are rounding [mm²]."""
NARROW = 1.0
"""A gap that is nowhere wider than this is reported [mm]."""
SNAPPED = 0.01
"""Narrower gaps are closed where regions are laid over each other [mm]."""
MOST = 8
"""So many places of a kind are told, the rest counted."""


def overlaps(rings: Sequence[Ring]) -> tuple[str, ...]:
    """A sentence for every two rings of different layers that overlap; the later one lies on top.

    Args:
        rings: in the order of drawing [mm].
    """
    shapes = np.array([ring.outline for ring in rings], dtype=object)
    first, second = shapely.STRtree(shapes).query(shapes, predicate="intersects") if len(shapes) else ([], [])
    found = []
    for a, b in sorted(zip(list(first), list(second), strict=True)):
        if a >= b or rings[a].layer.casefold() == rings[b].layer.casefold():
            continue
        common = rings[a].outline.intersection(rings[b].outline)
        if common.area > SMALL:
            where = place(common.point_on_surface().coords[0])
            found.append(
                f"in the drawing {rings[b].layer!r} lies over {rings[a].layer!r} at {where}, "
                f"on {units.plain(round(common.area, 2))} mm²; the one drawn later counts"
            )
    return _some(found, "overlaps")


def gaps(section: Section, origin: Point) -> tuple[str, ...]:
    """A sentence for every narrow gap between regions, and for every void that faces no environment.

    Args:
        section: with all of its regions and surfaces.
        origin: the point of the drawing at which the section's coordinates begin [mm].
    """
    shapes = [shapely.Polygon(_moved(r.polygon, origin), [_moved(h, origin) for h in r.holes]) for r in section.regions]
    filled = shapely.unary_union(shapely.set_precision(np.array(shapes, dtype=object), 1e-3))
    edges = shapely.MultiLineString([_moved(s.edge, origin) for s in section.surfaces])
    found = []
    for part in shapely.get_parts(filled):
        for ring in part.interiors:
            if edges.intersection(ring.buffer(0.01)).length < 0.1:
                void = shapely.Polygon(ring)
                where = place(void.point_on_surface().coords[0])
                found.append(
                    f"the regions enclose a void of {units.plain(round(void.area, 2))} mm² at {where} of the drawing, "
                    "which faces no environment; no heat crosses it"
                )
    return _some(found, "voids") + _some(_narrow(filled), "narrow gaps")


def _narrow(filled: shapely.Geometry) -> list[str]:
    half = 0.5 * NARROW
    grown = filled.buffer(half, join_style="mitre", mitre_limit=10.0).buffer(
        -half, join_style="mitre", mitre_limit=10.0
    )
    found = []
    for part in shapely.get_parts(grown.difference(filled)):
        length = 0.5 * part.length
        is_gap = part.geom_type == "Polygon" and part.area > SMALL and length > 3.0 * NARROW
        if is_gap and part.area > SNAPPED * length:
            width = units.plain(round(part.area / length, 3))
            where = place(part.point_on_surface().coords[0])
            found.append(
                f"a gap about {width} mm wide lies between regions at {where} of the drawing; no heat crosses it"
            )
    return found


def _moved(points: Sequence[Point], origin: Point) -> list[tuple[float, float]]:
    return [(1000.0 * x + origin[0], 1000.0 * y + origin[1]) for x, y in points]


def _some(found: Sequence[str], what: str) -> tuple[str, ...]:
    if len(found) <= MOST:
        return tuple(found)
    return (*found[:MOST], f"the drawing has {len(found) - MOST} more {what}")
