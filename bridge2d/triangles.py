"""Triangles with their sides, and their division: the part of a mesh that knows nothing of a section.

A set of triangles is a value. Its sides are found once, when they are first asked for. Division is the one called red,
green and blue: a marked triangle becomes four, and a neighbour that has to follow is cut through its longest side
first, so that angles do not shrink without end (M. C. Rivara 1984, Algorithms for refining triangular grids).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
Whole = NDArray[np.int64]


@dataclass(frozen=True)
class Triangles:
    """Triangles.

    Attributes:
        p: points; shape (2, n) [m].
        t: point numbers of each triangle, rising; shape (3, m).
    """

    p: FloatArray
    t: Whole

    @cached_property
    def _sides(self) -> tuple[Whole, Whole, Whole]:
        """Each side's ends, shape (2, k); each triangle's sides, (3, m); how many triangles each side has, (k,)."""
        count = self.p.shape[1]
        a, b, c = self.t
        keys = np.concatenate([a * count + b, b * count + c, a * count + c])
        order = np.argsort(keys, kind="stable")
        ordered = keys[order]
        new = np.empty(len(keys), dtype=bool)
        new[:1] = True
        np.not_equal(ordered[1:], ordered[:-1], out=new[1:])
        number = np.empty(len(keys), dtype=np.int64)
        number[order] = np.cumsum(new) - 1
        ends = np.stack(np.divmod(ordered[new], count))
        return ends, number.reshape(3, -1), np.bincount(number)

    @property
    def facets(self) -> Whole:
        """Point numbers of each side, the smaller one first, sorted; shape (2, k)."""
        return self._sides[0]

    @property
    def t2f(self) -> Whole:
        """Numbers of each triangle's sides 0–1, 1–2 and 0–2; shape (3, m)."""
        return self._sides[1]

    def boundary_facets(self) -> Whole:
        """Numbers of the sides that belong to one triangle only; shape (b,)."""
        return np.flatnonzero(self._sides[2] == 1)

    @cached_property
    def rim(self) -> tuple[Whole, Whole, Whole]:
        """Numbers of the sides on the outline, their triangles, and which of its sides each is; shape (b,) each."""
        at = np.flatnonzero(self._sides[2][self.t2f.ravel()] == 1)
        sides = self.t2f.ravel()[at]
        order = np.argsort(sides)
        local, triangle = np.divmod(at[order], self.t.shape[1])
        return sides[order], triangle, local


def triangles(points: FloatArray, corners: Whole) -> Triangles:
    """Triangles from plain arrays.

    Args:
        points: shape (2, n) [m].
        corners: point numbers in any order; shape (3, m).
    """
    return Triangles(np.ascontiguousarray(points), np.sort(corners.astype(np.int64), axis=0))


def divided(coarse: Triangles, marked: Whole) -> tuple[Triangles, Whole]:
    """The marked triangles divided into four, and the others as far as they have to follow.

    Args:
        coarse: the triangles; they stay as they are.
        marked: numbers of those to be divided; shape (k,).

    Returns:
        the finer triangles, whose first points are the old ones, and the number of the old triangle that each is or was
        cut from.
    """
    corners, sides = _longest_last(coarse)
    split = _sides_to_split(sides, marked, coarse.facets.shape[1])
    middle = np.full(len(split), -1, dtype=np.int64)
    first = coarse.p.shape[1]
    middle[split] = first + np.arange(np.count_nonzero(split))
    a, b, c = corners
    ab, bc, ac = middle[sides]
    has_ab, has_bc, whole = ab >= 0, bc >= 0, ac < 0
    red = np.flatnonzero(has_ab & has_bc)
    second = np.flatnonzero(~has_ab & has_bc)
    third = np.flatnonzero(has_ab & ~has_bc)
    green = np.flatnonzero(~has_ab & ~has_bc & ~whole)
    rest = np.flatnonzero(whole)
    pieces = [
        (rest, (a, b, c)),
        *((red, piece) for piece in ((a, ab, ac), (b, ab, bc), (c, bc, ac), (bc, ac, ab))),
        *((second, piece) for piece in ((b, a, ac), (b, bc, ac), (c, ac, bc))),
        *((third, piece) for piece in ((a, ab, ac), (ac, ab, b), (c, ac, b))),
        *((green, piece) for piece in ((b, ac, a), (c, ac, b))),
    ]
    new = np.concatenate([np.stack([corner[chosen] for corner in piece]) for chosen, piece in pieces], axis=1)
    ends = coarse.facets[:, split]
    points = np.concatenate([coarse.p, 0.5 * (coarse.p[:, ends[0]] + coarse.p[:, ends[1]])], axis=1)
    return triangles(points, new), np.concatenate([chosen for chosen, _ in pieces])


def _longest_last(coarse: Triangles) -> tuple[Whole, Whole]:
    """Corners and sides of each triangle so that side 0–2 is its longest; shape (3, m) each."""
    x, y = coarse.p[:, coarse.facets[1]] - coarse.p[:, coarse.facets[0]]
    length = np.sqrt(x**2 + y**2)[coarse.t2f]
    corners, sides = coarse.t.copy(), coarse.t2f.copy()
    by_01 = np.flatnonzero((length[0] > length[2]) & (length[0] > length[1]))
    by_12 = np.flatnonzero((length[1] > length[0]) & (length[1] > length[2]))
    corners[1:, by_01] = corners[2:0:-1, by_01]
    sides[::2, by_01] = sides[::-2, by_01]
    corners[:2, by_12] = corners[1::-1, by_12]
    sides[1:, by_12] = sides[:0:-1, by_12]
    return corners, sides


def _sides_to_split(sides: Whole, marked: Whole, count: int) -> NDArray[np.bool_]:
    """Which sides are halved: those of the marked triangles, and the longest one of each triangle that has another."""
    split = np.zeros(count, dtype=bool)
    split[sides[:, marked]] = True
    while True:
        own = split[sides]
        follow = sides[2, (own[0] | own[1]) & ~own[2]]
        if not follow.size:
            return split
        split[follow] = True
