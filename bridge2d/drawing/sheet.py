"""The paper under a drawing as a grid of small cells, on which labels look for free places.

A label's box is free where none of its cells is taken; a summed-area table answers that for all places at once.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from bridge2d.drawing.scene import Text

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
_Table = tuple[NDArray[np.int32], int, int]
CELL = 0.7
"""Side of a cell [mm]."""
MOST_PLACES = 80
"""So many of the nearest free places are looked at."""


class Sheet:
    """Which parts of the paper are taken.

    Attributes:
        width, height: of the paper [mm].
        taken: cells with a text, or with a line that no leader may cross; rows from the bottom up.
        edges: cells with a line that leaders may cross but no text.
        texts: cells with letters, which nothing may cross while there is another way.
    """

    def __init__(self, width: float, height: float) -> None:
        """An empty sheet [mm]."""
        self.width = width
        self.height = height
        self.taken: BoolArray = np.zeros((math.ceil(height / CELL), math.ceil(width / CELL)), dtype=bool)
        self.edges: BoolArray = np.zeros_like(self.taken)
        self.texts: BoolArray = np.zeros_like(self.taken)
        self._inside: dict[tuple[bytes, ...], BoolArray] = {}
        self._looked: dict[tuple[object, ...], tuple[BoolArray, _Table]] = {}

    def everywhere(self) -> BoolArray:
        """A mask of all cells."""
        return np.ones_like(self.taken)

    def within(self, rings: Sequence[FloatArray]) -> BoolArray:
        """Cells whose middle lies within rings [mm], by the even-odd rule; not to be written into."""
        key = tuple(ring.tobytes() for ring in rings)
        if key not in self._inside:
            self._inside[key] = self._within(rings)
            self._inside[key].setflags(write=False)
        return self._inside[key]

    def _within(self, rings: Sequence[FloatArray]) -> BoolArray:
        rows, columns = self.taken.shape
        start = np.concatenate(list(rings))
        end = np.concatenate([np.concatenate([ring[1:], ring[:1]]) for ring in rings])
        low, high = np.minimum(start[:, 1], end[:, 1]), np.maximum(start[:, 1], end[:, 1])
        first = np.clip(np.ceil(low / CELL - 0.5), 0, rows).astype(np.int64)
        count = np.clip(np.ceil(high / CELL - 0.5), 0, rows).astype(np.int64) - first
        side = np.repeat(np.arange(len(start)), count)
        row = np.arange(len(side)) - np.repeat(np.cumsum(count) - count, count) + first[side]
        (x0, y0), (x1, y1) = start[side].T, end[side].T
        x = x0 + ((row + 0.5) * CELL - y0) * (x1 - x0) / (y1 - y0)
        column = np.clip(np.ceil(x / CELL - 0.5), 0, columns).astype(np.int64)
        flips = np.bincount(row * (columns + 1) + column, minlength=rows * (columns + 1)).reshape(rows, columns + 1)
        inside: BoolArray = (np.cumsum(flips[:, :-1], axis=1) & 1).astype(bool)
        return inside

    def box(self, x0: float, y0: float, x1: float, y1: float) -> BoolArray:
        """Cells of a box [mm]."""
        mask = np.zeros_like(self.taken)
        mask[self._box(x0, y0, x1, y1)] = True
        return mask

    def take_box(self, x0: float, y0: float, x1: float, y1: float) -> None:
        """Take a box [mm]."""
        self.taken[self._box(x0, y0, x1, y1)] = True
        self._looked.clear()

    def take_text(self, text: Text, pad: float = 0.6) -> None:
        """Take the box around a text and a little more [mm]."""
        corners = text.corners()
        (x0, y0), (x1, y1) = corners.min(axis=0).tolist(), corners.max(axis=0).tolist()
        self.take_box(x0 - pad, y0 - pad, x1 + pad, y1 + pad)
        self.texts[self._box(x0, y0, x1, y1)] = True

    def take_lines(self, *lines: FloatArray) -> None:
        """Take the cells along lines [mm]."""
        self.taken[self._along(*lines)] = True
        self._looked.clear()

    def keep_texts_off(self, *lines: FloatArray) -> None:
        """Let no text stand on lines [mm], which leaders may cross."""
        self.edges[self._along(*lines)] = True
        self._looked.clear()

    def is_free(self, x0: float, y0: float, x1: float, y1: float) -> bool:
        """Whether nothing in a box is taken [mm]."""
        return not self.taken[self._box(x0, y0, x1, y1)].any()

    def crossed(self, start: FloatArray, ends: FloatArray, *, texts_only: bool = False) -> BoolArray:
        """Whether straight lines from a point to some others, shape (n, 2) [mm], run over anything taken, or a text."""
        cells_of = self.texts if texts_only else self.taken
        share = np.linspace(0.0, 1.0, 48)[:, None]
        rows, columns = self.taken.shape
        across = ((start[..., 0] + share * (ends[:, 0] - start[..., 0])) / CELL).astype(np.int64)
        up = ((start[..., 1] + share * (ends[:, 1] - start[..., 1])) / CELL).astype(np.int64)
        met: BoolArray = cells_of.ravel()[np.clip(up, 0, rows - 1) * columns + np.clip(across, 0, columns - 1)]
        return np.asarray(met.any(axis=0))

    def places(
        self,
        width: float,
        height: float,
        allowed: BoolArray,
        target: Sequence[float] | FloatArray,
        *,
        slant: float = 0.0,
        most: int = MOST_PLACES,
        reach: float = 70.0,
        over_edges: bool = False,
    ) -> FloatArray:
        """Middles of free places for a box, the best first; shape (n, 2) [mm].

        Args:
            width: of the box [mm].
            height: ditto.
            allowed: cells that it may cover.
            target: where it would best stand [mm].
            slant: how much worse a place is for each millimetre that it lies off the axes through the target.
            most: greatest number of places.
            reach: no place is looked for farther from the target than this, sideways or upward [mm].
            over_edges: whether the box may stand on edges of materials, where there is no better place.
        """
        rows, columns = math.ceil(height / CELL) + 1, math.ceil(width / CELL) + 1
        total, left, top = self._taken_before(allowed, target, reach, over_edges=over_edges)
        if rows >= total.shape[0] or columns >= total.shape[1]:
            return np.zeros((0, 2))
        bad = total[rows:, columns:] - total[:-rows, columns:] - total[rows:, :-columns] + total[:-rows, :-columns]
        row, column = np.nonzero(bad == 0)
        x, y = (column + left + 0.5 * columns) * CELL, (row + top + 0.5 * rows) * CELL
        dx, dy = np.abs(x - target[0]), np.abs(y - target[1])
        cost = np.hypot(dx, dy) + slant * np.minimum(dx, dy)
        few = np.argpartition(cost, most)[:most] if len(cost) > most else np.arange(len(cost))
        best = few[np.argsort(cost[few], kind="stable")]
        return np.stack([x[best], y[best]], axis=1)

    def _taken_before(
        self, allowed: BoolArray, target: Sequence[float] | FloatArray, reach: float, *, over_edges: bool
    ) -> _Table:
        """A summed-area table of what is not free around a target, and the column and row at which it begins.

        It is remembered until something is taken: a text that may be set in several ways looks at the same.
        """
        window = self._box(target[0] - reach, target[1] - reach, target[0] + reach, target[1] + reach)
        key = (id(allowed), *((side.start, side.stop) for side in window), over_edges)
        if key in self._looked:
            return self._looked[key][1]
        free = allowed[window] & ~self.taken[window]
        if not over_edges:
            free &= ~self.edges[window]
        upright, level = np.flatnonzero(free.any(axis=1)), np.flatnonzero(free.any(axis=0))
        low, first = (int(upright[0]), int(level[0])) if len(upright) else (0, 0)
        free = free[low : upright[-1] + 1, first : level[-1] + 1] if len(upright) else free[:0, :0]
        total = np.zeros((free.shape[0] + 1, free.shape[1] + 1), dtype=np.int32)
        np.cumsum(np.cumsum(~free, axis=0, dtype=np.int32), axis=1, out=total[1:, 1:])
        found = total, first + window[1].start, low + window[0].start
        self._looked[key] = allowed, found
        return found

    def place(
        self, width: float, height: float, allowed: BoolArray, target: Sequence[float] | FloatArray
    ) -> tuple[float, float] | None:
        """Middle of the free place for a box that is nearest to the target [mm]; None where there is none."""
        found = self.places(width, height, allowed, target, most=1)
        return (float(found[0, 0]), float(found[0, 1])) if len(found) else None

    def _box(self, x0: float, y0: float, x1: float, y1: float) -> tuple[slice, slice]:
        def cells(low: float, high: float) -> slice:
            return slice(max(math.floor(low / CELL), 0), max(math.ceil(high / CELL), 0))

        return cells(y0, y1), cells(x0, x1)

    def _along(self, *lines: FloatArray) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Rows and columns of the cells along lines [mm]."""
        start = np.concatenate([line[:-1] for line in lines])
        way = np.concatenate([line[1:] for line in lines]) - start
        count = (np.hypot(way[:, 0], way[:, 1]) / (0.6 * CELL)).astype(np.int64) + 2
        piece = np.repeat(np.arange(len(start)), count)
        step = np.arange(len(piece)) - np.repeat(np.cumsum(count) - count, count)
        share = step / (count[piece] - 1)
        cells = np.floor((start[piece] + share[:, None] * way[piece]) / CELL).astype(np.int64)
        rows, columns = self.taken.shape
        kept = (cells[:, 0] >= 0) & (cells[:, 0] < columns) & (cells[:, 1] >= 0) & (cells[:, 1] < rows)
        return cells[kept, 1], cells[kept, 0]


DEEP_ENOUGH = 24
"""Cells; where a square of this size fits, it does not matter how much larger one would."""


def deepest(mask: BoolArray) -> tuple[float, float, float] | None:
    """The middle of a large square of cells within a mask, and its side [mm]; None for an empty mask.

    Among equal squares the one nearest to the middle of the mask counts.

    Args:
        mask: cells of a shape.
    """
    used_rows, used_columns = np.flatnonzero(mask.any(axis=1)), np.flatnonzero(mask.any(axis=0))
    if not len(used_rows):
        return None
    top, left = int(used_rows[0]), int(used_columns[0])
    seen = mask[top : used_rows[-1] + 1, left : used_columns[-1] + 1]
    total = np.zeros((seen.shape[0] + 1, seen.shape[1] + 1), dtype=np.int32)
    np.cumsum(np.cumsum(seen, axis=0, dtype=np.int32), axis=1, out=total[1:, 1:])
    rows, columns = np.nonzero(seen)
    middle = np.array([rows.mean(), columns.mean()])
    low, high = 1, min(*seen.shape, DEEP_ENOUGH)
    best, side = np.stack([rows, columns], axis=1), 1
    while low <= high:
        n = (low + high) // 2
        count = total[n:, n:] - total[:-n, n:] - total[n:, :-n] + total[:-n, :-n]
        found = np.argwhere(count == n * n)
        if len(found):
            best, side, low = found, n, n + 1
        else:
            high = n - 1
    centres = best + 0.5 * side
    row, column = centres[np.argmin(((centres - middle - 0.5) ** 2).sum(axis=1))].tolist()
    return (column + left) * CELL, (row + top) * CELL, side * CELL
