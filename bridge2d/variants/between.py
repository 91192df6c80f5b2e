"""How far off a linear interpolation between the rows of a grid is: computed at some values between them.

rows → **values between** → computed like rows → error. Where to look is told by the rows: where their differences
change most, at each number's own places and in as many intervals of each parameter as the count allows; in a cell its
middle, the middle of an edge along each parameter, and in the worst cells quarters of these edges. Of a bend within it
the larger of both quarters' errors, or the middle's, is three quarters of the largest one at least, so the error stated
is 4/3 of the largest that was found. It is an estimate: in other cells it was not computed.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from bridge2d import units
from bridge2d.variants.rows import number_of, numbers_of

if TYPE_CHECKING:
    from bridge2d.variants.axes import Axis
    from bridge2d.variants.varied import Changes, Row

LEAST, SHARE = 16, 0.005
"""So many values between are computed at least, and more where a grid is large: this share of its variants."""
CELLS, CLOSER = 12, 4
"""Cells that are looked at, and those of them that are looked at in quarters too."""
BEYOND = 4.0 / 3.0
"""The largest error is taken to be so much of the largest one that was computed."""
LITTLE = 1e-6
"""Of two values nobody knows how the slope changes: where it is steep counts so much."""
FloatArray = NDArray[np.float64]


class Point(NamedTuple):
    """A place between rows.

    Attributes:
        corner: index of the cell's first corner on the grid, one number for each axis.
        shares: how far from it towards the next value along each axis, 0 to 1.
    """

    corner: tuple[int, ...]
    shares: tuple[float, ...]


@dataclass(frozen=True)
class Cells:
    """The grid with its values in rising order.

    Attributes:
        axes: what is varied.
        orders: for each axis the numbers of its values in rising order.
        moving: numbers of the axes along which values lie between others.
    """

    axes: tuple[Axis, ...]
    orders: tuple[tuple[int, ...], ...]
    moving: tuple[int, ...]

    @classmethod
    def of(cls, axes: Sequence[Axis]) -> Cells:
        """Those of a grid.

        Args:
            axes: what is varied.
        """
        moving = tuple(k for k, axis in enumerate(axes) if len(axis.values) > 1 and _has_between(axis))
        orders = tuple(
            tuple(
                sorted(range(len(axis.values)), key=axis.values.__getitem__) if k in moving else range(len(axis.values))
            )
            for k, axis in enumerate(axes)
        )
        return cls(tuple(axes), orders, moving)

    def values(self, name: str, rows: Sequence[Row]) -> FloatArray:
        """A number over the grid; nan where a variant was refused."""
        shape = [len(axis.values) for axis in self.axes]
        return np.array([number_of(row, name) for row in rows]).reshape(shape)[np.ix_(*self.orders)]

    def changes(self, point: Point) -> Changes:
        """What the variant at a place changes."""
        found: dict[str, float | str] = {}
        for k, axis in enumerate(self.axes):
            value = axis.values[self.orders[k][point.corner[k]]]
            if point.shares[k]:
                low, high = float(value), float(axis.values[self.orders[k][point.corner[k] + 1]])
                value = float(f"{low + point.shares[k] * (high - low):.12g}")
            found[axis.name] = value
        return found


def _has_between(axis: Axis) -> bool:
    return axis.info.kind is not None and axis.info.kind is not units.COUNT


def places(axes: Sequence[Axis], rows: Sequence[Row], count: int | None = None) -> list[Point]:
    """Where it is worth while to compute.

    Args:
        axes: what is varied.
        rows: of all variants, in the order of the grid.
        count: how many places at most; by the size of the grid unless given.
    """
    cells = Cells.of(axes)
    most = max(LEAST, math.ceil(SHARE * len(rows))) if count is None else count
    if not cells.moving or not most:
        return []
    bends = [_Bends.of(cells, cells.values(name, rows)) for name in _names(rows)]
    chosen = _chosen(bends)
    found = [Point(corner, tuple(0.5 if k in cells.moving else 0.0 for k in range(len(axes)))) for corner in chosen]
    edges = [_edges(cells, bends, corner) for corner in chosen]
    halves = [[_along(edge, k, 0.5) for k, edge in these] for these in edges if len(cells.moving) > 1]
    quarters = [[_along(edge, k, share) for k, edge in these for share in (0.25, 0.75)] for these in edges[:CLOSER]]
    for some in (*halves[:CLOSER], *quarters, *halves[CLOSER:]):
        found += some
    return list(dict.fromkeys(found))[:most]


def _names(rows: Sequence[Row]) -> list[str]:
    return numbers_of([({}, row) for row in rows])


def _along(corner: tuple[int, ...], axis: int, share: float) -> Point:
    return Point(corner, tuple(share if k == axis else 0.0 for k in range(len(corner))))


@dataclass(frozen=True)
class _Bends:
    """How much the differences of a number change.

    Attributes:
        by_axis: at each value of the grid, along each moving axis, as a share of the most; shape of the grid.
        cells: in each cell, as a share of the most; one less along each moving axis. −1 where a corner was refused.
    """

    by_axis: dict[int, FloatArray]
    cells: FloatArray

    @classmethod
    def of(cls, cells: Cells, values: FloatArray) -> _Bends:
        places = {k: np.array([float(cells.axes[k].values[j]) for j in cells.orders[k]]) for k in cells.moving}
        by_axis = {k: _bend(values, k, places[k]) for k in cells.moving}
        total = sum(by_axis.values(), np.zeros_like(values))
        corners, mixed, whole = _cut(total, cells.moving, ()), np.zeros(()), values
        for k in cells.moving:
            whole = np.diff(whole, axis=k)
        mixed = np.abs(whole) if len(cells.moving) > 1 else np.zeros_like(whole)
        for ends in product((0, 1), repeat=len(cells.moving)):
            corners = np.maximum(corners, _cut(total, cells.moving, ends))
        found = np.where(np.isfinite(whole), np.nan_to_num(corners) + np.nan_to_num(mixed), -1.0)
        most = float(found.max(initial=0.0)) or 1.0
        return cls(
            {k: np.nan_to_num(one) / most for k, one in by_axis.items()}, np.where(found < 0, -1.0, found / most)
        )


def _cut(values: FloatArray, moving: tuple[int, ...], ends: tuple[int, ...]) -> FloatArray:
    """The values at one corner of every cell; the first one where no ends are named."""
    for number, k in enumerate(moving):
        first = ends[number] if ends else 0
        values = np.take(values, range(first, first + values.shape[k] - 1), axis=k)
    return values


def _bend(values: FloatArray, axis: int, where: FloatArray) -> FloatArray:
    """By how much the slope changes at each value, times the wider interval beside it; ends as their neighbours."""
    steps = np.diff(where)
    sides = [-1 if k == axis else 1 for k in range(values.ndim)]
    slopes = np.diff(values, axis=axis) / steps.reshape(sides)
    if len(where) == 2:
        alike: FloatArray = np.nan_to_num(np.repeat(np.abs(slopes), 2, axis=axis) * LITTLE * steps[0])
        return alike
    wider = np.maximum(steps[1:], steps[:-1]).reshape(sides)
    inner = np.nan_to_num(np.abs(np.diff(slopes, axis=axis)) * wider)
    ends = [np.take(inner, [k], axis=axis) for k in (0, -1)]
    return np.concatenate([ends[0], inner, ends[1]], axis=axis)


def _chosen(bends: Sequence[_Bends]) -> list[tuple[int, ...]]:
    """Cells that are looked at: the worst of each number, then the worst in each interval of each axis."""
    if not bends:
        return []
    score = np.max([one.cells for one in bends], axis=0)
    worst = [int(np.argmax(one.cells)) for one in bends]
    by_interval = []
    for k in range(score.ndim):
        flat = np.moveaxis(np.arange(score.size).reshape(score.shape), k, 0).reshape(score.shape[k], -1)
        by_interval += [int(row[np.argmax(score.ravel()[row])]) for row in flat]
    by_interval.sort(key=lambda cell: -score.ravel()[cell])
    order = dict.fromkeys([*worst, *by_interval])
    known = [cell for cell in order if score.ravel()[cell] >= 0.0][:CELLS]
    return [tuple(int(one) for one in np.unravel_index(cell, score.shape)) for cell in known]


def _edges(cells: Cells, bends: Sequence[_Bends], corner: tuple[int, ...]) -> list[tuple[int, tuple[int, ...]]]:
    """Of a cell along each moving axis the edge at whose ends slopes change most: axis and the edge's first corner."""
    found = []
    for k in cells.moving:
        others = [j for j in cells.moving if j != k]

        def bend(first: tuple[int, ...], k: int = k) -> float:
            ends = (first, tuple(at + (j == k) for j, at in enumerate(first)))
            return max(float(one.by_axis[k][end]) for one in bends for end in ends)

        starts = [
            tuple(at + (ends[others.index(j)] if j in others else 0) for j, at in enumerate(corner))
            for ends in product((0, 1), repeat=len(others))
        ]
        found.append((k, max(starts, key=bend)))
    return found


def errors(
    axes: Sequence[Axis], rows: Sequence[Row], points: Sequence[Point], between: Sequence[Row]
) -> dict[str, float]:
    """The estimated error of a linear interpolation, by the number's name [SI].

    Args:
        axes: what is varied.
        rows: of all variants, in the order of the grid.
        points: places between them.
        between: rows computed there.
    """
    cells = Cells.of(axes)
    found = {}
    for name in _names(rows):
        values = cells.values(name, rows)
        off = [
            abs(number_of(row, name) - _interpolated(values, point)) for point, row in zip(points, between, strict=True)
        ]
        known = [one for one in off if math.isfinite(one)]
        if known:
            found[name] = BEYOND * max(known)
    return found


def _interpolated(values: FloatArray, point: Point) -> float:
    return sum(weight * float(values[corner]) for weight, corner in _corners(point))


def _corners(point: Point) -> Iterator[tuple[float, tuple[int, ...]]]:
    """Corners about a place with their weights."""
    moved = [k for k, share in enumerate(point.shares) if share]
    for ends in product((0, 1), repeat=len(moved)):
        corner, weight = list(point.corner), 1.0
        for k, end in zip(moved, ends, strict=True):
            corner[k] += end
            weight *= point.shares[k] if end else 1.0 - point.shares[k]
        yield weight, tuple(corner)
