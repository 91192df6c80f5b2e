"""How the points of a mesh move with the corners of a section's regions.

A parameter moves corners. Where two edges of different direction meet on the visible border of regions, a point's
movement follows from the movement of both edges across themselves; along the straight pieces between it is spread
evenly, and inside the regions as a harmonic function. So the mesh stays a mesh of the changed section, and its
solution's derivative is that of the section. Where of two edges on one line only one moves, a step opens, and where
regions part, a gap: then nothing follows.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from bridge2d.spaces import ELIMINATED, assemble
from bridge2d.sparse import solved

if TYPE_CHECKING:
    from bridge2d.detail import Point, Section

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
ON_EDGE = 2.5e-6
"""How far a point may lie off the edge that it belongs to: the mesh counts in whole micrometres [m]."""
PARALLEL = 1e-3
"""Sine of the angle below which two edges run in one direction."""
AGREE = 1e-4
"""Largest disagreement of two edges' movements at a point, as a share of the greatest movement."""
JUMP = 2e-3
"""A corner that moves further at once jumps, as the end of what is drawn does, to the next centimetre [m]."""
EVEN = 0.02
"""Two steps of a corner that differ by more than this share of the greatest are not those of a smooth movement."""


class NoMotionError(Exception):
    """The mesh cannot follow: corners come or go, or a step or a gap opens."""


@dataclass(frozen=True)
class Corners:
    """All edges of a section's rings.

    Attributes:
        start, end: shape (n, 2) [m].
        region: index of the region; shape (n,).
    """

    start: FloatArray
    end: FloatArray
    region: IntArray


def corners(section: Section) -> Corners:
    """The edges of all rings of a section."""
    starts: list[Point] = []
    ends: list[Point] = []
    owners: list[int] = []
    for number, region in enumerate(section.regions):
        for ring in (region.polygon, *region.holes):
            starts += ring
            ends += (*ring[1:], ring[0])
            owners += [number] * len(ring)
    return Corners(np.array(starts), np.array(ends), np.array(owners, dtype=np.int64))


def alike(one: Section, other: Section) -> bool:
    """Whether two sections have the same regions, corners and surfaces, whatever their places."""
    return counts(one) == counts(other)


def counts(section: Section) -> tuple[object, ...]:
    """Names and numbers of corners of a section's regions, its surfaces, and how many environments it has."""
    rings = tuple((r.name, len(r.polygon), tuple(len(hole) for hole in r.holes)) for r in section.regions)
    return rings, tuple((s.environment, len(s.edge)) for s in section.surfaces), len(section.environments)


@dataclass(frozen=True)
class Speeds:
    """How a section's corners and the ends of its surfaces move.

    Attributes:
        start, end: of every edge of its rings, see `Corners`; shape (n, 2) [m per unit of the parameter].
        marks: of the points of every surface's edge; shape (k, 2) each.
        jumped: whether a corner jumps first, whose speed is that after its jump.
    """

    start: FloatArray
    end: FloatArray
    marks: tuple[FloatArray, ...]
    jumped: bool

    @property
    def greatest(self) -> float:
        """The greatest of all [m per unit of the parameter]."""
        return max(float(np.abs(one).max(initial=0.0)) for one in (self.start, *self.marks))

    def apart(self, other: Speeds) -> float:
        """By how much two movements differ at most."""
        pairs = zip((self.start, *self.marks), (other.start, *other.marks), strict=True)
        return max(float(np.abs(a - b).max(initial=0.0)) for a, b in pairs)


def speeds(here: Section, near: Section, further: Section, step: float) -> Speeds:
    """Speeds of a section's corners on one side of a parameter's value.

    Args:
        here: the section.
        near: one step away.
        further: two steps away.
        step: by how much the parameter differs, below 0 on the lower side.

    Raises:
        NoMotionError: corners or surfaces come or go, jump twice, or do not move evenly.
    """
    if not (alike(near, here) and alike(further, here)):
        raise NoMotionError
    places = [_places(one) for one in (here, near, further)]
    first, second = places[1] - places[0], places[2] - places[1]
    jumps = np.abs(first) > JUMP
    first = np.where(jumps, second, first)
    most = float(np.abs(first).max())
    if most > JUMP or float(np.abs(second - first).max()) > max(EVEN * most, 1e-12):
        raise NoMotionError
    speed = (1.5 * first - 0.5 * second) / step
    count = sum(len(ring) for region in here.regions for ring in (region.polygon, *region.holes))
    cuts = np.cumsum([count, count, *(len(surface.edge) for surface in here.surfaces)])
    start, end, *marks = np.split(speed, cuts[:-1])
    return Speeds(start, end, tuple(marks), bool(jumps.any()))


def _places(section: Section) -> FloatArray:
    """Starts and ends of all edges, then the points of the surfaces' edges."""
    rings = [ring for region in section.regions for ring in (region.polygon, *region.holes)]
    starts = [point for ring in rings for point in ring]
    ends = [point for ring in rings for point in (*ring[1:], ring[0])]
    return np.array([*starts, *ends, *(point for surface in section.surfaces for point in surface.edge)])


@dataclass(frozen=True)
class Border:
    """The visible borders of a mesh.

    Attributes:
        sides: point numbers of each side of a triangle on a border; shape (k, 2).
        edge: index of the edge of the section's rings that it lies on; shape (k,).
        other: the same of the region on its other side, −1 where that one has no edge there; shape (k,).
        share, other_share: where on these edges its two ends lie, 0 to 1; shape (k, 2).
        normal: of the edge; shape (k, 2).
        marks: points where a surface begins or ends within a straight piece, with surface and number of its point.
    """

    sides: IntArray
    edge: IntArray
    other: IntArray
    share: FloatArray
    other_share: FloatArray
    normal: FloatArray
    marks: tuple[tuple[int, int, int], ...]


class Mover:
    """Movements of one mesh of one section; what all movements share is found once."""

    def __init__(
        self,
        section: Section,
        points: FloatArray,
        triangles: IntArray,
        region: IntArray,
        rim_surface: dict[int, set[int]],
    ) -> None:
        """Find the borders.

        Args:
            section: the section.
            points: corners of the triangles; shape (n, 2) [m].
            triangles: shape (M, 3).
            region: of each triangle; shape (M,).
            rim_surface: for points of the outline the surfaces that meet there.

        Raises:
            NoMotionError: a border lies on no edge of its region.
        """
        self.section, self.points, self.triangles = section, points, triangles
        self.corners = corners(section)
        self.border = _border(section, self.corners, points, triangles, region, rim_surface)
        self.on_border = np.unique(self.border.sides)

    def motion(self, moving: Speeds) -> FloatArray | None:
        """Velocity of every corner of the mesh; None where nothing moves; shape (n, 2) [m per unit of the parameter].

        Args:
            moving: of the section's corners.

        Raises:
            NoMotionError: the mesh cannot follow.
        """
        greatest = moving.greatest
        if greatest == 0.0:
            return None
        border, at_corner = self.border, (moving.start, moving.end)
        ends = self._ends(border.edge, border.share, at_corner)
        self._refuse_gaps(ends, at_corner, greatest)
        fixed, normal, moved = self._at_points(ends, moving, greatest)
        return self._inside(self._along_borders(fixed, normal, moved))

    @staticmethod
    def _ends(edge: IntArray, share: FloatArray, at_corner: tuple[FloatArray, FloatArray]) -> list[FloatArray]:
        """Movement of both ends of sides with the edge that they lie on."""
        start, end = at_corner[0][edge], at_corner[1][edge]
        return [start * (1 - share[:, [k]]) + end * share[:, [k]] for k in (0, 1)]

    def _refuse_gaps(self, ends: list[FloatArray], at_corner: tuple[FloatArray, FloatArray], greatest: float) -> None:
        border = self.border
        both = border.other >= 0
        others = self._ends(border.other[both], border.other_share[both], at_corner)
        for one, other in zip(ends, others, strict=True):
            apart = ((one[both] - other) * border.normal[both]).sum(axis=1)
            if np.any(np.abs(apart) > AGREE * greatest):
                raise NoMotionError

    def _at_points(
        self, ends: list[FloatArray], moving: Speeds, greatest: float
    ) -> tuple[NDArray[np.bool_], FloatArray, FloatArray]:
        """Which border points are fixed by two directions, the one direction of the others, and their movement."""
        count = len(self.points)
        matrix, right, size = np.zeros((count, 2, 2)), np.zeros((count, 2)), np.zeros(count)
        normals = self.border.normal
        for k in (0, 1):
            at, across = self.border.sides[:, k], (normals * ends[k]).sum(axis=1)
            np.add.at(matrix, at, normals[:, :, None] * normals[:, None, :])
            np.add.at(right, at, normals * across[:, None])
            np.add.at(size, at, across**2)
        for point, surface, number in self.border.marks:
            speed = moving.marks[surface][number]
            eigen, vectors = np.linalg.eigh(matrix[point])
            if eigen[0] > PARALLEL**2 * eigen[1]:
                continue
            along = vectors[:, 0]
            matrix[point] += np.outer(along, along)
            right[point] += along * (along @ speed)
            size[point] += (along @ speed) ** 2
        here = self.on_border
        eigen, vectors = np.linalg.eigh(matrix[here])
        both = eigen[:, 0] > PARALLEL**2 * eigen[:, 1]
        moved = np.zeros((count, 2))
        share = np.einsum("kab,kb->ka", vectors.transpose(0, 2, 1), right[here])
        share = np.where(np.stack([both, np.ones_like(both)], axis=1), share / np.where(eigen > 1e-12, eigen, 1.0), 0.0)
        moved[here] = np.einsum("kab,kb->ka", vectors, share)
        rest = size[here] - (right[here] * moved[here]).sum(axis=1)
        if np.any(rest > (AGREE * greatest) ** 2):
            raise NoMotionError  # of two edges on one line only one moves
        fixed, normal = np.zeros(count, dtype=bool), np.zeros((count, 2))
        fixed[here] = both
        normal[here] = vectors[:, :, 1]
        return fixed, normal, moved

    def _along_borders(self, fixed: NDArray[np.bool_], normal: FloatArray, moved: FloatArray) -> FloatArray:
        """Movement along straight pieces spread evenly between the points that are fixed."""
        free = np.zeros(len(self.points), dtype=bool)
        free[self.on_border] = ~fixed[self.on_border]
        if not free.any():
            return moved
        sides = self.border.sides
        length = np.hypot(*(self.points[sides[:, 1]] - self.points[sides[:, 0]]).T)
        element = np.array([[1.0, -1.0], [-1.0, 1.0]]) / length[:, None, None]
        spread = _harmonic(element, sides, free, np.where(free[:, None], 0.0, moved))
        tangent = np.stack([-normal[:, 1], normal[:, 0]], axis=1)
        across = (moved * normal).sum(axis=1, keepdims=True) * normal
        along = (spread * tangent).sum(axis=1, keepdims=True) * tangent
        return np.where(free[:, None], across + along, moved)

    def _inside(self, moved: FloatArray) -> FloatArray:
        free = np.ones(len(self.points), dtype=bool)
        free[self.on_border] = False
        if not free.any():
            return moved
        p = self.points[self.triangles]
        sides = p[:, [2, 0, 1]] - p[:, [1, 2, 0]]
        area = np.abs(sides[:, 0, 0] * sides[:, 1, 1] - sides[:, 0, 1] * sides[:, 1, 0])
        element = np.einsum("mia,mja->mij", sides, sides) / (2.0 * area[:, None, None])
        return _harmonic(element, self.triangles, free, moved)


def _harmonic(element: FloatArray, nodes: IntArray, free: NDArray[np.bool_], given: FloatArray) -> FloatArray:
    """Values that are given at some points and harmonic at the free ones; shape (n, 2)."""
    number = np.where(free, np.cumsum(free) - 1, ELIMINATED)
    right = np.zeros_like(given)
    np.subtract.at(right, nodes, element @ given[nodes])
    result = given.copy()
    result[free] = solved(assemble([(element, number[nodes])], int(free.sum())), right[free])
    return result


# -- the borders -------------------------------------------------------------------------------------------------------


def _border(
    section: Section,
    edges: Corners,
    points: FloatArray,
    triangles: IntArray,
    region: IntArray,
    rim_surface: dict[int, set[int]],
) -> Border:
    sides, owner, behind = _border_sides(triangles, region)
    edge, share = _matched(points[sides], owner, edges)
    if np.any(edge < 0):
        raise NoMotionError
    other, other_share = _matched(points[sides], behind, edges)
    along = edges.end[edge] - edges.start[edge]
    along /= np.hypot(along[:, 0], along[:, 1])[:, None]
    normal = np.stack([-along[:, 1], along[:, 0]], axis=1)
    marks = []
    for point, here in rim_surface.items():
        for surface in here:
            for number, end in enumerate(section.surfaces[surface].edge):
                if np.hypot(*(points[point] - end)) < 4 * ON_EDGE:
                    marks.append((point, surface, number))
    return Border(sides, edge, other, share, other_share, normal, tuple(marks))


def _matched(ends: FloatArray, owner: IntArray, edges: Corners) -> tuple[IntArray, FloatArray]:
    """The edge of its owner that each side lies on, −1 for none, and where its ends lie on it."""
    edge, share = np.full(len(ends), -1, dtype=np.int64), np.zeros((len(ends), 2))
    for number in np.unique(owner[owner >= 0]).tolist():
        mine, theirs = np.flatnonzero(owner == number), np.flatnonzero(edges.region == number)
        found, places = _on_edges(ends[mine], edges.start[theirs], edges.end[theirs])
        edge[mine], share[mine] = np.where(found < 0, -1, theirs[found]), places
    return edge, share


def _border_sides(triangles: IntArray, region: IntArray) -> tuple[IntArray, IntArray, IntArray]:
    """Sides of triangles between two regions or on the outline, and the later and the earlier region (−1: none)."""
    pairs = np.sort(triangles[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2), axis=1)
    owner = np.repeat(region, 3)
    order = np.lexsort((pairs[:, 1], pairs[:, 0]))
    pairs, owner = pairs[order], owner[order]
    same = np.flatnonzero((pairs[1:] == pairs[:-1]).all(axis=1))
    alone = np.ones(len(pairs), dtype=bool)
    alone[same] = alone[same + 1] = False
    between = same[owner[same] != owner[same + 1]]
    sides = np.concatenate([pairs[alone], pairs[between]])
    pair = owner[between], owner[between + 1]
    nothing = np.full(int(alone.sum()), -1, dtype=np.int64)
    later = np.concatenate([owner[alone], np.maximum(*pair)])
    return sides, later, np.concatenate([nothing, np.minimum(*pair)])


def _on_edges(ends: FloatArray, start: FloatArray, end: FloatArray) -> tuple[IntArray, FloatArray]:
    """Which edge holds both ends of each side (−1 for none), and where on it they lie; shapes (k,) and (k, 2)."""
    along = end - start
    length = np.maximum(np.hypot(along[:, 0], along[:, 1]), 1e-12)
    offset = ends[:, :, None, :] - start
    off = np.abs(offset[..., 0] * along[:, 1] - offset[..., 1] * along[:, 0]) / length
    share = (offset * along).sum(axis=-1) / length**2
    slack = ON_EDGE / length
    holds = (off <= ON_EDGE) & (share >= -slack) & (share <= 1 + slack)
    distance = np.where(holds.all(axis=1), off.max(axis=1), np.inf)
    found = np.argmin(distance, axis=1)
    rows = np.arange(len(ends))
    places = share[rows, :, found]
    return np.where(np.isfinite(distance[rows, found]), found, -1), places
