"""Rings and lines as arrays of points: area, thinning, and chains of directed sides."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]


IntArray = NDArray[np.int64]


Line = FloatArray
"""Points of a line, shape (n, 2); a ring does not repeat its first point."""


LARGEST_TURN = 0.3
"""A line turns by no more than this between two points that are kept [rad]."""


def enclosed_area(rings: Sequence[Line]) -> float:
    """Area of rings of which the holes run clockwise, in the square of the points' unit.

    Args:
        rings: rings that do not cross; shape (n, 2) each.
    """
    return sum(0.5 * float(np.sum(_cross(ring, np.roll(ring, -1, axis=0)))) for ring in rings)


def thinned(lines: Sequence[Line], closed: bool, spacing: float = 0.0, tolerance: float = 1e-9) -> list[Line]:
    """Lines without points that nobody would miss: on the straight between their neighbours, or crowded.

    Args:
        lines: points of each; shape (n, 2).
        closed: whether each last point is joined to the first.
        spacing: points nearer than this to the one before may go, where the line does not turn a corner.
        tolerance: greatest distance from the straight; so small that even a run of dropped points stays on the line.
            Both in the unit of the points.
    """
    if not lines:
        return []
    points = np.concatenate(list(lines))
    points = points[moved] if not (moved := _moves(points, lines, closed, tolerance)).all() else points
    sizes = np.array([len(line) for line in lines])
    owner = np.repeat(np.arange(len(lines)), sizes)[moved]
    ahead = _following(points, owner, 1) - points
    behind = points - _following(points, owner, -1)
    before, after = np.hypot(*behind.T), np.hypot(*ahead.T)
    bend = np.abs(_cross(behind, ahead))
    back = (behind * ahead).sum(axis=1) < 0
    keep = (bend > tolerance * np.hypot(before, after)) | back
    if spacing:
        corner = back | (bend > 0.3 * before * after)
        travelled = np.cumsum(before)
        step = np.floor(travelled / spacing)
        keep &= corner | (np.diff(step, prepend=-1.0) > 0)
    # A tight curve of many short pieces turns a corner though none of its points does.
    turned = np.cumsum(np.arctan2(bend, (behind * ahead).sum(axis=1)))
    keep |= np.diff(np.floor(turned / LARGEST_TURN), prepend=0.0) > 0
    ends = np.diff(owner, prepend=-1, append=-1) != 0
    if not closed:
        keep |= ends[:-1] | ends[1:]
    places = np.flatnonzero(ends)
    return [points[a:b][keep[a:b]] for a, b in pairwise(places)]


def _moves(points: FloatArray, lines: Sequence[Line], closed: bool, tolerance: float) -> NDArray[np.bool_]:
    """Points at which a line goes on; a level through a node crosses all of its sides in one spot."""
    owner = np.repeat(np.arange(len(lines)), [len(line) for line in lines])
    moves: NDArray[np.bool_] = np.abs(_following(points, owner, 1) - points).max(axis=1) > tolerance
    last = np.diff(owner, append=-1) != 0
    first = np.diff(owner, prepend=-1) != 0
    kept: NDArray[np.bool_] = moves | first | last if not closed else moves | first
    return kept


def _following(points: FloatArray, owner: IntArray, step: int) -> FloatArray:
    """The next (or last) point of the same ring for each point."""
    ends = np.flatnonzero(np.diff(owner, prepend=-1, append=-1))
    number = np.arange(len(points)) + step
    if step > 0:
        number[ends[1:] - 1] = ends[:-1]
    else:
        number[ends[:-1]] = ends[1:] - 1
    found: FloatArray = points[number]
    return found


def directed_border(triangles: IntArray, group: IntArray, nodes: int) -> tuple[IntArray, IntArray]:
    """Directed sides between triangles of different groups, and on the outline.

    Args:
        triangles: corners, counter-clockwise; shape (K, 3).
        group: group of each triangle; shape (K,).
        nodes: number of nodes.

    Returns:
        The sides, each with its own group to the left, shape (B, 2), and that group, shape (B,).
    """
    start, end = triangles.ravel(), triangles[:, [1, 2, 0]].ravel()
    owner = np.repeat(group, 3)
    low, high = np.minimum(start, end), np.maximum(start, end)
    undirected = (owner * nodes + low) * nodes + high
    order = np.argsort(undirected)
    sorted_keys = undirected[order]
    alone = np.ones(len(order), dtype=bool)
    same = sorted_keys[1:] == sorted_keys[:-1]
    alone[1:] &= ~same
    alone[:-1] &= ~same
    kept = np.sort(order[alone])
    return np.stack([start[kept], end[kept]], axis=1), owner[kept]


def _cross(a: FloatArray, b: FloatArray) -> FloatArray:
    crossed: FloatArray = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
    return crossed


def chain_sides(sides: IntArray, owner: IntArray) -> list[tuple[list[int], int]]:
    """Rings of directed sides.

    Args:
        sides: first and last node of each; shape (B, 2).
        owner: group of each; shape (B,).

    Returns:
        For each ring its nodes and its group; where a group touches itself in a node, a ring turns the sharpest way
        that the order of sides allows, and the even-odd rule still fills it rightly.
    """
    leaving: dict[tuple[int, int], list[int]] = {}
    for start, end, group in zip(sides[:, 0].tolist(), sides[:, 1].tolist(), owner.tolist(), strict=True):
        leaving.setdefault((group, start), []).append(end)
    rings = []
    for group, first in list(leaving):
        while leaving[group, first]:
            ring = [first]
            at = leaving[group, first].pop()
            while at != first:
                ring.append(at)
                at = leaving[group, at].pop()
            rings.append((ring, group))
    return rings
