"""Lets outlines that nearly meet meet: what lies closer than a drawing is drawn becomes one point; last step to rings.

Two outlines with a gap of some micrometres between them would have a void between them, and no heat crosses a void.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from bridge2d.dxf.reading import CLOSED, FloatArray

ON = 1e-6
"""A corner that lies no further off a side than this is on it [mm]."""
CORNERS = 3
"""The least that an outline has."""


def met(polygons: Sequence[shapely.Polygon]) -> list[shapely.Polygon]:
    """Polygons whose corners that lie within `CLOSED` of each other are one, and whose sides take in corners so near.

    Args:
        polygons: in the order of drawing [mm]; a corner moves to that of an earlier one.

    Returns:
        The same polygons with corners moved by no more than that; one that would be spoiled by it stays as it is.
    """
    outlines = [np.asarray(ring.coords)[:-1] for one in polygons for ring in (one.exterior, *one.interiors)]
    corners = _together(np.concatenate(outlines)) if outlines else np.empty((0, 2))
    ends = np.cumsum([len(outline) for outline in outlines])
    tree = shapely.STRtree(shapely.points(np.unique(corners, axis=0)))
    moved = [
        _through(corners[end - len(outline) : end], tree) for outline, end in zip(outlines, ends.tolist(), strict=True)
    ]
    found, at = [], 0
    for one in polygons:
        count = 1 + len(one.interiors)
        shell, *holes = moved[at : at + count]
        at += count
        made = shapely.Polygon(shell, holes) if min(map(len, (shell, *holes))) >= CORNERS else one
        found.append(made if made.is_valid and made.area > 0 else one)
    return found


def _together(points: FloatArray) -> FloatArray:
    """Points, each moved to the first one that lies within `CLOSED` of it; shape (k, 2)."""
    tree = shapely.STRtree(shapely.points(points))
    one, other = tree.query(shapely.points(points), predicate="dwithin", distance=CLOSED)
    first = np.arange(len(points))
    np.minimum.at(first, one, other)
    return np.asarray(points[first[first]])


def _through(outline: FloatArray, tree: shapely.STRtree) -> FloatArray:
    """An outline whose sides run through all corners within `CLOSED` of them."""
    ends = np.roll(outline, -1, axis=0)
    along = ends - outline
    length = np.maximum(np.hypot(*along.T), 1e-12)
    side, corner = tree.query(
        shapely.linestrings(np.stack([outline, ends], axis=1)), predicate="dwithin", distance=CLOSED
    )
    places = shapely.get_coordinates(tree.geometries[corner])
    share = ((places - outline[side]) * along[side]).sum(axis=1) / length[side] ** 2
    off = places - outline[side] - share[:, None] * along[side]
    within = (share * length[side] > CLOSED) & ((1.0 - share) * length[side] > CLOSED)
    bent = np.zeros(len(outline), dtype=bool)
    bent[side[within & (np.hypot(*off.T) > ON)]] = True
    within &= bent[side]  # a side that stays straight passes what lies on it anyway
    keys = np.concatenate([np.arange(len(outline), dtype=float), side[within] + np.clip(share[within], 0.0, 1.0)])
    every = np.concatenate([outline, places[within]])[np.argsort(keys, kind="stable")]
    kept = np.any(every != np.roll(every, 1, axis=0), axis=1)
    return np.asarray(every[kept])
