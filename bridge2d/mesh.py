"""The mesh: triangles that keep the name of their region, and sides that keep the surface they belong to.

Second step of the numerics: partition -> **mesh** -> fields. A mesh is a value; refining returns another one. There are
two meshers: a graded grid cut into triangles for axis-parallel sections, which needs no system library, and gmsh for
all others (`gmsh_mesh`, the only module that imports gmsh). Each is an independent check of the other.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from bridge2d.detail import Section
from bridge2d.elements import HIGHEST, QUADRATIC
from bridge2d.errors import SectionError
from bridge2d.partition import ADIABATIC, MICROMETRES, VOID, Grid, Overlay, Whole, partition
from bridge2d.triangles import Triangles, divided, triangles

FloatArray = NDArray[np.float64]
GROWTH = 3.0
"""How much longer than its neighbour the next interval of the graded grid is."""
OTHER_GROWTH = 1.8
"""The same of a grid that begins otherwise."""
OTHER_START = "-2"
"""After a mesher's name: the same mesher with another first mesh, none of whose inner triangles need be the same."""
LONGEST = 50.0
"""Intervals beside a line are at most this many times as long as the shortest interval across them: beside the end of a
thin layer, long thin triangles would have to be divided many times along for each time that is needed across."""
SMALLEST_ANGLE = 1e-7
"""Smallest angle that a triangle may have [rad]; below it rounding spoils the element's matrices."""


@dataclass(frozen=True)
class SectionMesh:
    """Triangles of a section.

    Attributes:
        mesh: points (2, n) [m], triangles (3, m), sides (2, k).
        region: index of each triangle's region; shape (m,).
        surface: surface index of each side of the mesh, ADIABATIC for all others; shape (k,).
        mesher: "grid" or "gmsh".
        revolution: whether x is the radius of a solid of revolution.
        order: of the functions on each triangle, 2 to 4; shape (m,); None where all are quadratic.
    """

    mesh: Triangles
    region: Whole
    surface: Whole
    mesher: str
    revolution: bool = False
    order: Whole | None = None

    @cached_property
    def side_orders(self) -> Whole:
        """Order of the functions on each side, the higher one of its triangles'; shape (k,)."""
        found = np.full(self.mesh.facets.shape[1], QUADRATIC, dtype=np.int64)
        if self.order is not None:
            for order in range(QUADRATIC + 1, HIGHEST + 1):
                found[self.mesh.t2f[:, self.order == order]] = order
        return found

    @property
    def unknowns(self) -> int:
        """Nodes, and functions of higher order on the sides."""
        higher = 0 if self.order is None else int((self.side_orders - QUADRATIC).sum())
        return int(self.mesh.p.shape[1] + self.mesh.facets.shape[1]) + higher


def mesh_section(section: Section, mesher: str = "auto") -> SectionMesh:
    """The first, coarse mesh of a section.

    Args:
        section: what is to be meshed.
        mesher: "grid", "gmsh", or "auto": the grid where all edges are parallel to the axes, else gmsh. "grid-2" and
            "gmsh-2" begin with another mesh, so that a result can be checked where the other mesher cannot be used.

    Returns:
        A mesh that respects every region and surface.

    Raises:
        SectionError: the section has oblique edges and "grid" was asked for, or cannot be meshed.
        MissingLibraryError: gmsh is needed and its system libraries are missing.
    """
    return replace(_meshed(section, mesher), revolution=section.revolution)


def _meshed(section: Section, mesher: str) -> SectionMesh:
    other = mesher.endswith(OTHER_START)
    if mesher.startswith("gmsh"):
        from bridge2d.gmsh_mesh import COARSEST_SHARE, OTHER_SHARE, gmsh_mesh
        from bridge2d.overlay import overlay

        return _sound(gmsh_mesh(overlay(section), OTHER_SHARE if other else COARSEST_SHARE))
    parts = partition(section)
    if isinstance(parts, Grid):
        return _sound(grid_mesh(parts, OTHER_GROWTH if other else GROWTH))
    if mesher.startswith("grid"):
        raise SectionError("has edges that are not parallel to the axes; the grid cannot mesh it", ("section",))
    from bridge2d.gmsh_mesh import gmsh_mesh

    assert isinstance(parts, Overlay)
    return _sound(gmsh_mesh(parts))


def labelled(
    points: FloatArray, corners: Whole, region: Whole, rim: Whole, rim_surface: Whole, mesher: str
) -> SectionMesh:
    """A mesh from plain arrays.

    Args:
        points: shape (n, 2) [m].
        corners: point numbers of each triangle, shape (m, 3).
        region: shape (m,).
        rim: point numbers of sides with a surface, shape (k, 2).
        rim_surface: their surface index, shape (k,).
        mesher: "grid" or "gmsh".
    """
    mesh = triangles(points.T, corners.T)
    surface = np.full(mesh.facets.shape[1], ADIABATIC, dtype=np.int64)
    if len(rim):
        surface[_side_numbers(mesh, rim)] = rim_surface
    return SectionMesh(mesh, region, surface, mesher)


def _side_numbers(mesh: Triangles, pairs: Whole) -> Whole:
    """Numbers of the sides between pairs of points; sides are sorted by them."""
    count = mesh.p.shape[1]
    sides = mesh.facets[0] * count + mesh.facets[1]
    wanted = pairs.min(axis=1).astype(np.int64) * count + pairs.max(axis=1)
    found = np.minimum(np.searchsorted(sides, wanted), len(sides) - 1)
    if not np.array_equal(sides[found], wanted):
        raise SectionError("the mesh has lost a piece of a surface", ("section",))
    return np.asarray(found, dtype=np.int64)


def refine(coarse: SectionMesh, marked: Whole, twice: Whole | None = None) -> SectionMesh:
    """A finer mesh in which the marked triangles, and those that have to follow, are divided.

    Args:
        coarse: the mesh to be refined; it stays as it is.
        marked: numbers of the triangles to be divided.
        twice: numbers of the triangles whose parts are divided once more.
    """
    new, parent = divided(coarse.mesh, np.asarray(marked, dtype=np.int64))
    old_sides = _parents(new.facets[:, new.boundary_facets()].T, coarse.mesh.p.shape[1])
    finer = inherited(coarse, new, parent, old_sides)
    if twice is None or not twice.size:
        return finer
    again = np.zeros(coarse.mesh.t.shape[1], dtype=bool)
    again[twice] = True
    return refine(finer, np.flatnonzero(again[parent]))


def inherited(coarse: SectionMesh, new: Triangles, parent: Whole, old_sides: Whole) -> SectionMesh:
    """Finer triangles with the regions, the surfaces and the orders of the coarse ones that they were cut from.

    Args:
        coarse: the mesh.
        new: its triangles divided.
        parent: number of the triangle that each was cut from; shape (m,).
        old_sides: the coarse side, as a pair of points, that each side on the new outline lies on; shape (b, 2).
    """
    surface = np.full(new.facets.shape[1], ADIABATIC, dtype=np.int64)
    surface[new.boundary_facets()] = coarse.surface[_side_numbers(coarse.mesh, old_sides)]
    order = None if coarse.order is None else coarse.order[parent]
    return SectionMesh(new, coarse.region[parent], surface, coarse.mesher, coarse.revolution, order)


def _parents(rim: Whole, old_points: int) -> Whole:
    """The coarse side, as a pair of points, that each side of the finer rim is or was cut from.

    A point that is new on the rim cuts one coarse side in two, whose ends are its two neighbours along the rim.
    """
    parents = rim.copy()
    halves = np.flatnonzero(rim[:, 1] >= old_points)
    order = halves[np.argsort(rim[halves, 1], kind="stable")].reshape(-1, 2)
    ends = np.stack([rim[order[:, 0], 0], rim[order[:, 1], 0]], axis=1)
    parents[order[:, 0]] = ends
    parents[order[:, 1]] = ends
    return parents


# -- the graded grid -----------------------------------------------------------------------------------------------


def grid_mesh(grid: Grid, growth: float = GROWTH) -> SectionMesh:
    """A graded grid of triangles on an axis-parallel section.

    Args:
        grid: the section's partition.
        growth: see GROWTH.
    """
    x, from_x = graded(grid.x, growth, LONGEST * _shortest(grid.y))
    y, from_y = graded(grid.y, growth, LONGEST * _shortest(grid.x))
    owner = grid.region[np.ix_(from_x, from_y)]
    nx, ny = len(x), len(y)
    i, j = np.nonzero(owner != VOID)
    corner = i * ny + j
    a, b, c, d = corner, corner + ny, corner + ny + 1, corner + 1
    rising = (i + j) % 2 == 0
    first = np.where(rising[:, None], np.stack([a, b, c], axis=1), np.stack([a, b, d], axis=1))
    second = np.where(rising[:, None], np.stack([a, c, d], axis=1), np.stack([b, c, d], axis=1))
    corners = np.concatenate([first, second])
    region = np.tile(owner[i, j], 2)
    upright = grid.upright[:, from_y]
    level = grid.level[from_x]
    at_x = np.searchsorted(x, grid.x)
    at_y = np.searchsorted(y, grid.y)
    k, m = np.nonzero(upright != ADIABATIC)
    u, v = np.nonzero(level != ADIABATIC)
    rim = np.concatenate(
        [
            np.stack([at_x[k] * ny + m, at_x[k] * ny + m + 1], axis=1),
            np.stack([u * ny + at_y[v], (u + 1) * ny + at_y[v]], axis=1),
        ]
    )
    rim_surface = np.concatenate([upright[k, m], level[u, v]])
    points = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(nx * ny, 2) / MICROMETRES
    used = np.zeros(nx * ny, dtype=bool)
    used[corners] = True
    number = np.cumsum(used) - 1
    return labelled(points[used], number[corners], region, number[rim], rim_surface, "grid")


def _shortest(lines: Whole) -> float:
    """Shortest interval between lines [µm]."""
    return float(np.diff(lines).min())


def graded(lines: Whole, growth: float = GROWTH, longest: float = np.inf) -> tuple[Whole, Whole]:
    """Grid lines with more between them, so that intervals grow by a factor from short ones to long ones.

    What is left over in the middle of a long interval, and a micrometre's rounding, may change faster.

    Args:
        lines: sorted coordinates [µm], shape (n + 1,).
        growth: the factor.
        longest: of the intervals on both sides of a line [µm].

    Returns:
        The finer coordinates [µm], shape (m + 1,), and for each finer interval the number of the coarse one, (m,).
    """
    near = np.minimum(np.diff(lines).astype(np.float64), longest)
    for k in range(1, near.size):
        near[k] = min(near[k], growth * near[k - 1])
    for k in range(near.size - 2, -1, -1):
        near[k] = min(near[k], growth * near[k + 1])
    finer: list[Whole] = []
    origin: list[Whole] = []
    for k in range(near.size):
        left = min(near[k - 1] * growth, longest) if k else np.inf
        right = min(near[k + 1] * growth, longest) if k + 1 < near.size else np.inf
        steps = _steps(float(lines[k + 1] - lines[k]), float(left), float(right), growth)
        finer.append(lines[k] + np.concatenate([[0], np.rint(np.cumsum(steps)[:-1])]).astype(np.int64))
        origin.append(np.full(len(steps), k, dtype=np.int64))
    return np.concatenate([*finer, lines[-1:]]), np.concatenate(origin)


def _steps(length: float, left: float, right: float, growth: float) -> FloatArray:
    """Intervals that fill a length, the first at most `left`, the last at most `right`, growing by a factor between."""
    start: list[float] = []
    end: list[float] = []
    rest = length
    while rest > min(left, right):
        if left <= right:
            start.append(left)
            rest -= left
            left *= growth
        else:
            end.append(right)
            rest -= right
            right *= growth
    neighbours = [*start[-1:], *end[-1:]]
    if neighbours and rest < max(neighbours) / growth:
        # What is left over would be a sliver between longer intervals: these are stretched over it.
        steps = np.array([*start, *end[::-1]])
        return np.asarray(steps * (length / steps.sum()))
    return np.array([*start, rest, *end[::-1]])


def _sound(made: SectionMesh) -> SectionMesh:
    """Refuse triangles without height before they spoil the solution unseen."""
    p, t = made.mesh.p, made.mesh.t
    a, b, c = p[:, t[0]], p[:, t[1]], p[:, t[2]]
    area = np.abs((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]))
    longest = np.maximum(np.maximum(_squared(b - a), _squared(c - b)), _squared(a - c))
    worst = int(np.argmin(area / longest))
    if area[worst] < SMALLEST_ANGLE * longest[worst]:
        at = (a + b + c)[:, worst] / 3 * 1000
        raise SectionError(
            f"two lines lie so close together at ({at[0]:g}, {at[1]:g}) mm that no triangle fits between them; "
            "move the corners there onto each other or further apart",
            ("region", int(made.region[worst])),
        )
    return made


def _squared(v: FloatArray) -> FloatArray:
    return np.asarray(v[0] ** 2 + v[1] ** 2)
