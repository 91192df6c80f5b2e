"""The temperature and the region at a place of a solved section, out of its plain fields."""

from __future__ import annotations

import numpy as np

from bridge2d.detail import Region
from bridge2d.results import SectionResult

NEAR = 1e-6
"""A place so little outside of a triangle, in shares of its size, counts as within it."""


def value_at(result: SectionResult, point: tuple[float, float]) -> tuple[float, Region] | None:
    """Temperature [°C] and region at a place; None outside the section.

    Args:
        result: the section's numbers.
        point: of the section as it is drawn, both halves of a mirrored one [m].
    """
    fields, section = result.fields, result.section
    x, y = (abs(point[0]) if section.half else point[0]), point[1]
    corners = fields.points[fields.triangles[:, :3]]
    low, high = corners.min(axis=1) - NEAR, corners.max(axis=1) + NEAR
    near = np.flatnonzero(((low <= (x, y)) & (high >= (x, y))).all(axis=1))
    if not near.size:
        return None
    start = corners[near, 0]
    along, across = corners[near, 1] - start, corners[near, 2] - start
    offset = np.array([x, y]) - start
    area = along[:, 0] * across[:, 1] - along[:, 1] * across[:, 0]
    a = (offset[:, 0] * across[:, 1] - offset[:, 1] * across[:, 0]) / area
    b = (along[:, 0] * offset[:, 1] - along[:, 1] * offset[:, 0]) / area
    inside = np.minimum(np.minimum(a, b), 1.0 - a - b)
    best = int(np.argmax(inside))
    if inside[best] < -NEAR:
        return None
    triangle, u, v = int(near[best]), float(a[best]), float(b[best])
    w = 1.0 - u - v
    shape = (w * (2 * w - 1), u * (2 * u - 1), v * (2 * v - 1), 4 * w * u, 4 * u * v, 4 * v * w)
    temperature = float(fields.temperature[fields.triangles[triangle]] @ np.array(shape))
    return temperature, section.regions[int(fields.region[triangle])]
