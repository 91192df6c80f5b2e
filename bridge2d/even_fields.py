"""Fields of higher order as quadratic ones, on triangles each cut into four, for all that draws and stores them.

The values at the new nodes are those of the functions of higher order themselves, so that what is drawn is as close to
the solution as its nodes are dense.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from bridge2d.elements import shape_values
from bridge2d.results import Fields

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

HALVES = np.array([[0, 3], [3, 1], [1, 4], [4, 2], [2, 5], [5, 0], [3, 5], [3, 4], [4, 5]])
"""Nodes of a triangle between which a new one lies; its sides are 0–1, 1–2 and 2–0."""
QUARTERS = np.array([[0, 3, 5, 6, 12, 11], [3, 1, 4, 7, 8, 13], [5, 4, 2, 14, 9, 10], [3, 4, 5, 13, 14, 12]])
"""Nodes of the four parts of a triangle, the new ones after the old ones."""
SIDE_PARTS = np.array([[[0, 0], [1, 0]], [[1, 1], [2, 1]], [[2, 2], [0, 2]]])
"""The two parts of a triangle that have a half of each of its sides, and which side it is there."""


def even(fields: Fields) -> Fields:
    """Quadratic fields of all that functions of higher order say; themselves where there are none.

    Args:
        fields: of a solution.
    """
    higher = fields.higher
    if higher is None:
        return fields
    old, count = fields.triangles, len(fields.points)
    pairs = np.sort(old[:, HALVES], axis=2)
    keys = pairs[..., 0] * count + pairs[..., 1]
    sides, number = np.unique(keys.ravel(), return_inverse=True)
    whole = np.concatenate([old, count + number.reshape(keys.shape)], axis=1)
    ends = fields.points[sides // count], fields.points[sides % count]
    points = np.concatenate([fields.points, 0.5 * (ends[0] + ends[1])])
    shapes = shape_values(_new_nodes())

    def nodal(values: FloatArray, beside: FloatArray) -> FloatArray:
        found = np.concatenate([values, np.empty(len(sides))])
        found[whole[:, 6:]] = np.concatenate([values[old], beside], axis=1) @ shapes
        return found

    stream = np.concatenate([fields.stream, higher.stream], axis=1)
    return Fields(
        points,
        whole[:, QUARTERS].reshape(-1, 6),
        np.repeat(fields.region, 4),
        nodal(fields.temperature, higher.temperature),
        nodal(fields.temperature_f_rsi, higher.temperature_f_rsi),
        np.concatenate([fields.stream, stream @ shapes], axis=1)[:, QUARTERS].reshape(-1, 6),
        fields.conductivity,
        None if fields.rim is None else _rim(fields.rim),
    )


def _new_nodes() -> FloatArray:
    """The new nodes of the reference triangle; shape (2, 9)."""
    nodes = np.array([[0.0, 1.0, 0.0, 0.5, 0.5, 0.0], [0.0, 0.0, 1.0, 0.0, 0.5, 0.5]])
    return np.asarray(nodes[:, HALVES].mean(axis=2))


def _rim(rim: IntArray) -> IntArray:
    """Triangle, side and surface of both halves of each side."""
    triangle, side, surface = rim.T
    parts = SIDE_PARTS[side]
    found = np.stack([4 * triangle[:, None] + parts[..., 0], parts[..., 1], np.repeat(surface[:, None], 2, axis=1)], 2)
    return np.asarray(found.reshape(-1, 3))
