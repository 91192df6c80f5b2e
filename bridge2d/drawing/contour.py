"""Isolines and filled bands of a quadratic field; first step of every drawing of results.

The quadratic triangles are divided evenly into linear ones that still share their nodes. A crossing of a level with a
side is known by the side's two nodes, so lines are chained by whole numbers and never by comparing coordinates.
Whatever is drawn above a level is a closed ring: pieces of the level's own line and pieces of the outline.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from bridge2d.drawing.lines import FloatArray, IntArray, Line, directed_border

FINE_BELOW = 500
"""Meshes with fewer quadratic triangles are divided twice, so that their isolines are smooth on paper."""
CHILDREN = np.array([[0, 3, 5], [3, 1, 4], [5, 4, 2], [3, 4, 5]])
"""The four linear triangles of a quadratic one."""
OUTER_SIDES = np.array([[0, 3, 1], [1, 3, 0], [1, 4, 2], [2, 4, 1], [2, 5, 0], [0, 5, 2]])
"""Corner, middle and far corner of the six half sides."""
INNER_WEIGHTS = np.array(
    [[0.0, -1.0, -1.0, 4.0, 2.0, 4.0], [-1.0, 0.0, -1.0, 4.0, 4.0, 2.0], [-1.0, -1.0, 0.0, 2.0, 4.0, 4.0]]
)
"""Eighths of the six nodal values in the middles of the sides 3-5, 3-4 and 4-5."""


class LinearField(NamedTuple):
    """A field that is linear on each triangle.

    Attributes:
        points: nodes; shape (N, 2) [m].
        triangles: node numbers, counter-clockwise; shape (K, 3).
        values: at the nodes; shape (N,).
    """

    points: FloatArray
    triangles: IntArray
    values: FloatArray


def linear_field(
    points: FloatArray, triangles: IntArray, values: FloatArray, divisions: int | None = None
) -> LinearField:
    """Divide a quadratic field evenly into linear triangles.

    Args:
        points: nodes; shape (N, 2) [m].
        triangles: three corners and the middles of sides 0–1, 1–2, 2–0; shape (M, 6).
        values: at the nodes, shape (N,), or at each triangle's nodes, shape (M, 6), where they may jump.
        divisions: how often sides are halved (1, 2, …); None lets the number of triangles decide.

    Returns:
        The field on triangles that share their nodes wherever the values agree.
    """
    if values.ndim == 2:
        points, triangles, values = _joined(points, triangles, values)
    halvings = divisions or (1 if len(triangles) >= FINE_BELOW else 2)
    for _ in range(halvings - 1):
        points, triangles, values = _halved(points, triangles, values)
    linear = triangles[:, CHILDREN].reshape(-1, 3)
    return LinearField(points, linear, values)


def isolines(field: LinearField, levels: Sequence[float]) -> list[list[tuple[Line, bool]]]:
    """Lines on which the field has given values.

    Args:
        field: the field.
        levels: ascending values.

    Returns:
        For each level its lines, higher values to their left, and whether each is closed.
    """
    found: list[list[tuple[Line, bool]]] = [[] for _ in levels]
    if len(levels) == 0:
        return found
    keys, spots = _level_segments(field, np.asarray(levels, dtype=float))
    for key, line, closed in _chained(keys, spots):
        found[key % len(levels)].append((line, closed))
    return found


def rings_above(field: LinearField, levels: Sequence[float]) -> list[list[Line]]:
    """Rings around all that lies at or above given values; holes run clockwise.

    Painted one after the other, ascending, they show filled bands without any seam.

    Args:
        field: the field.
        levels: ascending values; −inf stands for the whole section.
    """
    found: list[list[Line]] = [[] for _ in levels]
    if len(levels) == 0:
        return found
    heights = np.asarray(levels, dtype=float)
    keys, spots = _level_segments(field, heights)
    border_keys, border_spots = _border_segments(field, heights)
    for key, line, _ in _chained(np.concatenate([keys, border_keys]), np.concatenate([spots, border_spots])):
        if len(line) > 2:
            found[key % len(levels)].append(line)
    return found


# -- division into linear triangles ------------------------------------------------------------------------------


def _joined(points: FloatArray, triangles: IntArray, values: FloatArray) -> tuple[FloatArray, IntArray, FloatArray]:
    """Nodes of their own wherever the values of triangles that share a node differ."""
    flat, given = triangles.ravel(), values.ravel()
    nodal = np.zeros(len(points))
    nodal[flat] = given
    reach = float(np.ptp(given)) or 1.0
    if np.abs(nodal[flat] - given).max() <= 1e-9 * reach:
        return points, triangles, nodal
    steps = np.round((given - given.min()) / (1e-7 * reach)).astype(np.int64)
    _, first, number = np.unique(flat * (steps.max() + 1) + steps, return_index=True, return_inverse=True)
    return points[flat[first]], number.reshape(triangles.shape), given[first]


def _halved(points: FloatArray, triangles: IntArray, values: FloatArray) -> tuple[FloatArray, IntArray, FloatArray]:
    """Each quadratic triangle as four quadratic ones; the field stays exactly the same."""
    sides = triangles[:, OUTER_SIDES]
    near, middle, far = (sides[..., k].ravel() for k in range(3))
    key = near * len(points) + middle
    _, first, number = np.unique(key, return_index=True, return_inverse=True)
    outer = len(points) + number.reshape(-1, 6)
    inner = len(points) + len(first) + np.arange(3 * len(triangles)).reshape(-1, 3)
    near, middle, far = near[first], middle[first], far[first]
    new = [points], [values]
    for grown, old in zip(new, (points, values), strict=True):
        grown.append(0.375 * old[near] + 0.75 * old[middle] - 0.125 * old[far])
        grown.append(np.einsum("sk,mk...->ms...", INNER_WEIGHTS / 8.0, old[triangles]).reshape(-1, *old.shape[1:]))
    a, b, c, d, e, f = triangles.T
    h = outer.T
    i = inner.T
    children = np.stack(
        [
            np.stack([a, d, f, h[0], i[0], h[5]], axis=1),
            np.stack([d, b, e, h[1], h[2], i[1]], axis=1),
            np.stack([f, e, c, i[2], h[3], h[4]], axis=1),
            np.stack([d, e, f, i[1], i[2], i[0]], axis=1),
        ],
        axis=1,
    ).reshape(-1, 6)
    return np.concatenate(new[0]), children, np.concatenate(new[1])


# -- crossings and chains ----------------------------------------------------------------------------------------


def _level_segments(field: LinearField, levels: FloatArray) -> tuple[IntArray, FloatArray]:
    """Pieces of the levels' lines: keys of their two ends, shape (P, 2), and the ends, shape (P, 2, 2)."""
    corner = field.values[field.triangles]
    lowest = np.searchsorted(levels, corner.min(axis=1), side="right")
    count = np.searchsorted(levels, corner.max(axis=1), side="right") - lowest
    owner = np.repeat(np.arange(len(count)), count)
    level = np.arange(len(owner)) - np.repeat(np.cumsum(count) - count, count) + lowest[owner]
    inside = corner[owner] >= levels[level][:, None]
    single = inside.sum(axis=1) == 1
    odd = np.where(single, np.argmax(inside, axis=1), np.argmin(inside, axis=1))
    nodes = field.triangles[owner]
    rows = np.arange(len(owner))
    a, b, c = nodes[rows, odd], nodes[rows, (odd + 1) % 3], nodes[rows, (odd + 2) % 3]
    first, second = np.where(single, b, c), np.where(single, c, b)
    key = np.stack([_side_key(field, a, first), _side_key(field, a, second)], axis=1)
    spot = np.stack([_crossing(field, a, first, levels[level]), _crossing(field, a, second, levels[level])], axis=1)
    return key * len(levels) + level[:, None], spot


def _border_segments(field: LinearField, levels: FloatArray) -> tuple[IntArray, FloatArray]:
    """Pieces of the outline at or above the levels, as in `_level_segments`."""
    count = len(levels)
    border, _ = directed_border(field.triangles, np.zeros(len(field.triangles), dtype=np.int64), len(field.points))
    start, end = np.repeat(border[:, 0], count), np.repeat(border[:, 1], count)
    level = np.tile(np.arange(count), len(border))
    height = levels[level]
    from_above, to_above = field.values[start] >= height, field.values[end] >= height
    kept = from_above | to_above
    start, end, level, height = start[kept], end[kept], level[kept], height[kept]
    from_above, to_above = from_above[kept], to_above[kept]
    crossed = ~(from_above & to_above)
    crossing = field.points[start].copy()
    crossing[crossed] = _crossing(field, start[crossed], end[crossed], height[crossed])
    side = _side_key(field, start, end)
    key = np.stack(
        [
            np.where(from_above, _side_key(field, start, start), side),
            np.where(to_above, _side_key(field, end, end), side),
        ],
        axis=1,
    )
    spot = np.stack(
        [
            np.where(from_above[:, None], field.points[start], crossing),
            np.where(to_above[:, None], field.points[end], crossing),
        ],
        axis=1,
    )
    return key * count + level[:, None], spot


def _side_key(field: LinearField, a: IntArray, b: IntArray) -> IntArray:
    return np.minimum(a, b) * len(field.points) + np.maximum(a, b)


def _crossing(field: LinearField, a: IntArray, b: IntArray, level: FloatArray) -> FloatArray:
    low, high = np.minimum(a, b), np.maximum(a, b)
    v = field.values[low]
    share = (level - v) / (field.values[high] - v)
    return field.points[low] + share[:, None] * (field.points[high] - field.points[low])


def _chained(keys: IntArray, spots: FloatArray) -> list[tuple[int, Line, bool]]:
    """Chain directed pieces: key of the first end, points, whether closed."""
    known, first, number = np.unique(keys.ravel(), return_index=True, return_inverse=True)
    place = spots.reshape(-1, 2)[first]
    number = number.reshape(-1, 2)
    following = np.full(len(known), -1, dtype=np.int64)
    following[number[:, 0]] = number[:, 1]
    entered = np.zeros(len(known), dtype=bool)
    entered[number[:, 1]] = True
    successor: list[int] = following.tolist()
    open_starts = np.flatnonzero(~entered).tolist()
    chains = []
    for start in [*open_starts, *np.flatnonzero(entered).tolist()]:
        at = successor[start]
        if at < 0:
            continue
        walk = [start]
        successor[start] = -1
        while at >= 0 and at != start:
            walk.append(at)
            successor[at], at = -1, successor[at]
        chains.append((int(known[start]), place[walk], at == start))
    return chains
