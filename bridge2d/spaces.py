"""Spaces of functions on a section's mesh, and the matrices of forms on them.

Between the mesh and the fields. A space is quadratic, and of third or fourth order in triangles that the mesh says.
Triangles have straight sides and one conductivity each, so that the integrals are products of the reference triangle
with a 2 × 2 matrix per triangle, exactly. Triangles of one order make a block; inner functions are eliminated triangle
by triangle before a system is assembled (static condensation). Where orders differ a side has the higher one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, cached_property

import numpy as np
from numpy.typing import NDArray

from bridge2d.elements import OUTER, QUADRATIC, SLOTS, reference, shape_gradients
from bridge2d.mesh import SectionMesh
from bridge2d.partition import Whole
from bridge2d.revolution import Weights, weights
from bridge2d.sparse import Entries

FloatArray = NDArray[np.float64]
Flags = NDArray[np.bool_]
ELIMINATED = -1
SIDE_CORNERS = np.array([[0, 1, 3], [1, 2, 4], [0, 2, 5]])
"""Local nodes of each side of a triangle, 0–1, 1–2 and 0–2: its two ends and its middle."""
HIGHER_OF_SIDE = np.array([[6, 9], [7, 10], [8, 11]])
"""Local functions of third and fourth order of each side."""


@cache
def corner_reference() -> FloatArray:
    """Products of the quadratic functions' gradients at pairs of corners of the reference triangle.

    Returns:
        ∂a φi at corner v times ∂b φj at corner w; rows (v, w, a, b), columns (i, j); shape (36, 36).
    """
    corners = np.array([[0.0, 1.0, 0.0], [0.0, 0.0, 1.0]])
    gradients = shape_gradients(corners)[:6]
    return np.asarray(np.einsum("iva,jwb->vwabij", gradients, gradients)).reshape(36, 36)


@dataclass(frozen=True)
class Rim:
    """The outline's sides, each with the section on its left.

    Attributes:
        triangle: triangle that the side belongs to; shape (k,).
        local: its local nodes start, end, middle; shape (k, 3).
        surface: surface index or ADIABATIC; shape (k,).
        length: [m]; shape (k,).
        slots: the side's local functions, those of `local` first; shape (k, 3), (k, 5) where there are higher ones.
        backward: whether the side runs against the sense of its higher functions; shape (k,).
    """

    triangle: Whole
    local: Whole
    surface: Whole
    length: FloatArray
    slots: Whole
    backward: Flags

    def where(self, chosen: Flags) -> Rim:
        """Those of the sides that are chosen.

        Args:
            chosen: shape (k,).
        """
        return Rim(
            self.triangle[chosen],
            self.local[chosen],
            self.surface[chosen],
            self.length[chosen],
            self.slots[chosen],
            self.backward[chosen],
        )

    @property
    def sense(self) -> FloatArray:
        """What coefficients are multiplied by so that they count from start to end: −1 or 1; as `slots`."""
        found = np.ones_like(self.slots, dtype=np.float64)
        if found.shape[1] > 3:
            found[self.backward, 3] = -1.0
        return found


@dataclass(frozen=True)
class Block:
    """The triangles of one order.

    Attributes:
        order: 2 to 4.
        triangles: their numbers; shape (m,).
        functions: numbers of their functions; shape (m, k).
    """

    order: int
    triangles: Whole
    functions: Whole

    @property
    def outer(self) -> Whole:
        """Numbers of the functions that do not vanish on all sides; shape (m, o)."""
        return self.functions[:, : OUTER[self.order]]

    @property
    def inner(self) -> Whole:
        """Numbers of those that do; shape (m, k − o)."""
        return self.functions[:, OUTER[self.order] :]

    @property
    def slots(self) -> list[int]:
        """Which of a triangle's functions `functions` are."""
        return SLOTS[self.order]


@dataclass(frozen=True)
class Space:
    """Functions on a mesh, quadratic at least.

    The coefficients of a function are a vector: its values at the nodes, then what belongs to higher functions, and
    last a zero for the functions that a triangle has not.

    Attributes:
        points: nodes, the mesh's points first, then the middles of its sides; shape (N, 2) [m].
        triangles: node numbers, corners then middles of sides 0–1, 1–2, 0–2; shape (M, 6).
        functions: numbers of each triangle's functions, `triangles` first; shape (M, 6), (M, 15) with higher ones.
        size: length of vectors of coefficients.
        blocks: the triangles by order.
        unknown: which functions a system may have unknowns for: all but inner and missing ones; shape (size,).
        inverse: inverse of each triangle's map from the reference triangle; shape (M, 2, 2) [1/m].
        scale: twice each triangle's area; shape (M,) [m²].
        region: index of each triangle's region; shape (M,).
        rim: the outline.
        weights: of a solid of revolution, in which all functions are quadratic; None in a plane section.
    """

    points: FloatArray
    triangles: Whole
    functions: Whole
    size: int
    blocks: tuple[Block, ...]
    unknown: Flags
    inverse: FloatArray
    scale: FloatArray
    region: Whole
    rim: Rim
    weights: Weights | None = None

    def radii(self, rim: Rim) -> tuple[FloatArray, FloatArray]:
        """Values of x at the start and the end of rim sides; shape (k,) each [m]."""
        ends = self.points[self.triangles[rim.triangle[:, None], rim.local[:, :2]], 0]
        return ends[:, 0], ends[:, 1]

    def along(self, rim: Rim) -> Whole:
        """Numbers of the functions of rim sides; shape (k, 3) or (k, 5)."""
        return np.asarray(self.functions[rim.triangle[:, None], rim.slots])

    @cached_property
    def one(self) -> FloatArray:
        """Coefficients of the function that is 1; shape (size,)."""
        return (np.arange(self.size) < len(self.points)).astype(np.float64)

    @cached_property
    def boxes(self) -> tuple[FloatArray, FloatArray]:
        """Least and greatest coordinates of each triangle; shape (M, 2) each [m]."""
        a, b, c = (self.points[self.triangles[:, k]] for k in range(3))
        return np.minimum(np.minimum(a, b), c), np.maximum(np.maximum(a, b), c)


def space(section_mesh: SectionMesh) -> Space:
    """The functions that a mesh asks for, see `Space`."""
    mesh = section_mesh.mesh
    p, t = np.ascontiguousarray(mesh.p.T), np.ascontiguousarray(mesh.t.T)
    triangles = np.concatenate([t, p.shape[0] + mesh.t2f.T], axis=1)
    points = np.concatenate([p, 0.5 * (p[mesh.facets[0]] + p[mesh.facets[1]])])
    first, second = p[t[:, 1]] - p[t[:, 0]], p[t[:, 2]] - p[t[:, 0]]
    determinant = first[:, 0] * second[:, 1] - second[:, 0] * first[:, 1]
    adjugate = np.empty((len(t), 2, 2))
    adjugate[:, 0, 0], adjugate[:, 0, 1] = second[:, 1], -second[:, 0]
    adjugate[:, 1, 0], adjugate[:, 1, 1] = -first[:, 1], first[:, 0]
    inverse = adjugate / determinant[:, None, None]
    scale = np.abs(determinant)
    functions, size, blocks, unknown = _functions(section_mesh, triangles, len(points))
    rim = _rim(section_mesh, determinant, functions.shape[1] > triangles.shape[1])
    round_axis = weights(p[t, 0], 0.5 * scale) if section_mesh.revolution else None
    return Space(
        points, triangles, functions, size, blocks, unknown, inverse, scale, section_mesh.region, rim, round_axis
    )


def _functions(
    section_mesh: SectionMesh, triangles: Whole, nodes: int
) -> tuple[Whole, int, tuple[Block, ...], NDArray[np.bool_]]:
    """Numbers of all functions, their count, the triangles by order, and what may be unknown, see `Space`."""
    order, sides = section_mesh.order, section_mesh.mesh.t2f.T
    if order is None:
        every = np.arange(len(triangles))
        return triangles, nodes, (Block(QUADRATIC, every, triangles),), np.ones(nodes, dtype=bool)
    count = section_mesh.mesh.facets.shape[1]
    of_side = section_mesh.side_orders
    third, fourth = nodes + np.arange(count), nodes + count + np.arange(count)
    inner = nodes + 2 * count + np.arange(3 * len(triangles)).reshape(-1, 3)
    nothing = nodes + 2 * count + inner.size
    third[of_side < 3] = nothing
    fourth[of_side < 4] = nothing
    functions = np.concatenate([triangles, third[sides], fourth[sides], inner], axis=1)
    unknown = np.zeros(nothing + 1, dtype=bool)
    unknown[:nodes] = True
    unknown[nodes : nodes + count] = of_side >= 3
    unknown[nodes + count : nodes + 2 * count] = of_side >= 4
    highest = of_side[sides].max(axis=1)
    blocks = []
    for one, slots in SLOTS.items():
        chosen = np.flatnonzero(highest == one)
        if chosen.size:
            blocks.append(Block(one, chosen, functions[chosen[:, None], slots]))
    return functions, nothing + 1, tuple(blocks), unknown


def _rim(section_mesh: SectionMesh, determinant: FloatArray, higher: bool) -> Rim:
    mesh = section_mesh.mesh
    sides, triangle, number = mesh.rim
    local = SIDE_CORNERS[number]
    # The side 0–2 runs against the sense of the corners, and so do all sides of a clockwise triangle.
    backward = (number == 2) != (determinant[triangle] < 0)
    local = np.where(backward[:, None], local[:, [1, 0, 2]], local)
    slots = np.concatenate([local, HIGHER_OF_SIDE[number]], axis=1) if higher else local
    along = mesh.p[:, mesh.facets[1, sides]] - mesh.p[:, mesh.facets[0, sides]]
    return Rim(triangle, local, section_mesh.surface[sides], np.hypot(along[0], along[1]), slots, backward)


def stiffness(on: Space, tensor: FloatArray) -> tuple[FloatArray, ...]:
    """Element matrices ∫ ∇φi·(tensor ∇φj) of every block, in a solid of revolution times 2πr.

    Args:
        on: the space.
        tensor: symmetric matrix of each region; shape (R, 2, 2).

    Returns:
        for each block, shape (m, k, k).
    """
    if on.weights is not None:
        return (weighted_stiffness(on, tensor, on.weights.times),)
    mapped = (on.inverse @ tensor[on.region]) @ on.inverse.transpose(0, 2, 1) * on.scale[:, None, None]
    entries = mapped.reshape(-1, 4)[:, [0, 1, 3]]
    found = []
    for block in on.blocks:
        size = len(block.slots)
        found.append((entries[block.triangles] @ reference(block.order)[0]).reshape(-1, size, size))
    return tuple(found)


def weighted_stiffness(on: Space, tensor: FloatArray, corners: FloatArray) -> FloatArray:
    """Element matrices ∫ w ∇φi·(tensor ∇φj) of quadratic functions for a weight w that is known by its integrals.

    Args:
        on: the space.
        tensor: symmetric matrix of each region; shape (R, 2, 2).
        corners: ∫ λv λw w over each triangle; shape (M, 3, 3).

    Returns:
        shape (M, 6, 6).
    """
    mapped = (on.inverse @ tensor[on.region]) @ on.inverse.transpose(0, 2, 1)
    entries = corners.reshape(-1, 9, 1) * mapped.reshape(-1, 1, 4)
    return np.asarray(entries.reshape(-1, 36) @ corner_reference()).reshape(-1, 6, 6)


def condensed(block: Block, matrices: FloatArray) -> tuple[FloatArray, FloatArray | None]:
    """Element matrices of the outer functions alone, the inner ones following from them.

    Args:
        block: the triangles.
        matrices: shape (m, k, k).

    Returns:
        shape (m, o, o), and what coefficients of outer functions are multiplied by to have those of the inner ones,
        shape (m, k − o, o); None where there are none.
    """
    outer = OUTER[block.order]
    if outer == matrices.shape[1]:
        return matrices, None
    beside = matrices[:, outer:, :outer]
    follow = -np.linalg.solve(matrices[:, outer:, outer:], beside)
    return matrices[:, :outer, :outer] + beside.transpose(0, 2, 1) @ follow, np.asarray(follow, dtype=np.float64)


def assemble(parts: Sequence[tuple[FloatArray, Whole]], size: int) -> Entries:
    """The global matrix of element matrices.

    Args:
        parts: element matrices, symmetric, shape (m, k, k), and the unknown of each of their functions, ELIMINATED
            where it is none, shape (m, k).
        size: count of unknowns.
    """
    data, rows, columns = [], [], []
    for matrices, number in parts:
        size_of_one = number.shape[1]
        first, second = np.tril_indices(size_of_one)
        values = matrices.reshape(-1, size_of_one**2)[:, first * size_of_one + second]
        one, other = number[:, first], number[:, second]
        row, column = np.maximum(one, other), np.minimum(one, other)
        twice = (row == column) & (first != second)  # two functions with one unknown meet on its diagonal both ways
        if twice.any():
            values[twice] *= 2.0
        kept = column >= 0
        every = bool(kept.all())
        data.append(values.ravel() if every else values[kept])
        rows.append(row.ravel() if every else row[kept])
        columns.append(column.ravel() if every else column[kept])
    return Entries(np.concatenate(data), np.concatenate(rows), np.concatenate(columns), size)


def gradients(on: Space, block: Block, values: FloatArray) -> FloatArray:
    """Gradients at the points of a block's rule.

    Args:
        on: the space.
        block: the triangles.
        values: coefficients of each triangle's functions; shape (m, k, E).

    Returns:
        shape (m, q, 2, E) [1/m times the values' unit].
    """
    shapes = reference(block.order)[1]
    points = shapes.shape[1]
    table = shapes.transpose(1, 2, 0).reshape(points * 2, -1)
    local = (table @ values).reshape(len(values), points, 2, values.shape[2])
    return np.asarray(on.inverse[block.triangles].transpose(0, 2, 1)[:, None] @ local)
