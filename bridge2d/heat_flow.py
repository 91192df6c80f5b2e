"""Temperatures: quadratic elements on a section's mesh, and the upper bound that they give.

Third step of the numerics: mesh -> **temperature** and stream function -> results. With
    a(u, v) = ∫ λ∇u·∇v + Σj ∫Γj u v / Rj        and        b(v) = Σj ∫Γj θj v / Rj
the temperature u solves a(u, v) = b(v) for all v, with u = θj where Rj = 0; its energy
    J(u) = ∫ λ|∇u|² + Σj ∫Γj (u − θj)² / Rj
is an upper bound of the true one. In a solid of revolution all integrals carry the circumference 2πr. All is done for
unit temperatures, one environment warm at a time, so that J becomes a matrix over the environments. Triangles have
straight sides and one conductivity each, so that the integrals are products of the reference element with a 2 × 2
matrix per triangle, exactly.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from bridge2d.detail import Section
from bridge2d.mesh import SectionMesh
from bridge2d.partition import ADIABATIC, Whole
from bridge2d.revolution import Weights, side_weights, weights
from bridge2d.sparse import Entries, solved

FloatArray = NDArray[np.float64]
ELIMINATED = -1
SIDE_CORNERS = np.array([[0, 1, 3], [1, 2, 4], [0, 2, 5]])
"""Local nodes of each side of a triangle, 0–1, 1–2 and 0–2: its two ends and its middle."""
SIDE_MASS = np.array([[4.0, -1.0, 2.0], [-1.0, 4.0, 2.0], [2.0, 2.0, 16.0]]) / 30.0
"""∫ φi φj along a side of length 1, nodes: start, end, middle."""
SIDE_LOAD = np.array([1.0, 1.0, 4.0]) / 6.0
"""∫ φi along a side of length 1."""
SIDE_STIFFNESS = np.array([[7.0, 1.0, -8.0], [1.0, 7.0, -8.0], [-8.0, -8.0, 16.0]]) / 3.0
"""∫ φi' φj' along a side of length 1."""


@cache
def reference() -> tuple[FloatArray, FloatArray, FloatArray]:
    """The quadratic reference triangle, with the three middles of its sides as quadrature points.

    Returns:
        stiffness for the three entries of a symmetric tensor, shape (3, 36); gradients of the six shape functions at
        the quadrature points, shape (6, q, 2); the points' weights, shape (q,).
    """
    gradients = shape_gradients(np.array([[0.5, 0.5, 0.0], [0.0, 0.5, 0.5]]))
    weights = np.full(3, 1.0 / 6.0)  # exact for squares, which products of gradients are
    products = np.einsum("iqa,jqb,q->abij", gradients, gradients, weights)
    stiffness = np.stack([products[0, 0], products[0, 1] + products[1, 0], products[1, 1]])
    return stiffness.reshape(3, 36), gradients, weights


def shape_gradients(points: FloatArray) -> FloatArray:
    """Gradients of the shape functions of corners and of middles of sides 0–1, 1–2, 0–2.

    Args:
        points: of the reference triangle; shape (2, q).

    Returns:
        shape (6, q, 2).
    """
    x, y = points
    z, zero = 1.0 - x - y, np.zeros_like(x)
    along_x = [1 - 4 * z, 4 * x - 1, zero, 4 * (z - x), 4 * y, -4 * y]
    along_y = [1 - 4 * z, zero, 4 * y - 1, -4 * x, 4 * x, 4 * (z - y)]
    return np.stack([np.stack(along_x), np.stack(along_y)], axis=2)


@cache
def corner_reference() -> FloatArray:
    """Products of the shape functions' gradients at pairs of corners of the reference triangle.

    Returns:
        ∂a φi at corner v times ∂b φj at corner w; rows (v, w, a, b), columns (i, j); shape (36, 36).
    """
    corners = np.array([[0.0, 1.0, 0.0], [0.0, 0.0, 1.0]])
    gradients = shape_gradients(corners)
    return np.asarray(np.einsum("iva,jwb->vwabij", gradients, gradients)).reshape(36, 36)


def side_shapes(s: FloatArray) -> tuple[FloatArray, FloatArray]:
    """The shape functions of start, end and middle of a side of length 1, and their slopes; shape (3, q) each.

    Args:
        s: places on the side from 0 to 1; shape (q,).
    """
    values = np.stack([(1 - s) * (1 - 2 * s), s * (2 * s - 1), 4 * s * (1 - s)])
    return values, np.stack([4 * s - 3, 4 * s - 1, 4 - 8 * s])


@cache
def side_reference() -> tuple[FloatArray, FloatArray]:
    """∫ λa φi φj and ∫ λa φi along a side of length 1, λa the linear function of either end; (2, 3, 3) and (2, 3)."""
    points, gauss = np.polynomial.legendre.leggauss(3)
    s, gauss = 0.5 * (points + 1.0), 0.5 * gauss
    ends = np.stack([1 - s, s])
    values, _ = side_shapes(s)
    return np.einsum("aq,iq,jq,q->aij", ends, values, values, gauss), np.einsum("aq,iq,q->ai", ends, values, gauss)


@dataclass(frozen=True)
class Rim:
    """The outline's sides, each with the section on its left.

    Attributes:
        triangle: triangle that the side belongs to; shape (k,).
        local: its local nodes start, end, middle; shape (k, 3).
        surface: surface index or ADIABATIC; shape (k,).
        length: [m]; shape (k,).
    """

    triangle: Whole
    local: Whole
    surface: Whole
    length: FloatArray

    def where(self, chosen: NDArray[np.bool_]) -> Rim:
        """Those of the sides that are chosen.

        Args:
            chosen: shape (k,).
        """
        return Rim(self.triangle[chosen], self.local[chosen], self.surface[chosen], self.length[chosen])


@dataclass(frozen=True)
class Space:
    """Quadratic functions on a mesh.

    Attributes:
        points: nodes, the mesh's points first, then the middles of its sides; shape (N, 2) [m].
        triangles: node numbers, corners then middles of sides 0–1, 1–2, 0–2; shape (M, 6).
        inverse: inverse of each triangle's map from the reference triangle; shape (M, 2, 2) [1/m].
        scale: twice each triangle's area; shape (M,) [m²].
        region: index of each triangle's region; shape (M,).
        rim: the outline.
        weights: of a solid of revolution; None in a plane section.
    """

    points: FloatArray
    triangles: Whole
    inverse: FloatArray
    scale: FloatArray
    region: Whole
    rim: Rim
    weights: Weights | None = None

    def radii(self, rim: Rim) -> tuple[FloatArray, FloatArray]:
        """Values of x at the start and the end of rim sides; shape (k,) each [m]."""
        ends = self.points[self.triangles[rim.triangle[:, None], rim.local[:, :2]], 0]
        return ends[:, 0], ends[:, 1]


def space(section_mesh: SectionMesh) -> Space:
    """Quadratic functions on a mesh, see `Space`."""
    mesh = section_mesh.mesh
    p, t = np.ascontiguousarray(mesh.p.T), np.ascontiguousarray(mesh.t.T)
    count = p.shape[0]
    triangles = np.concatenate([t, count + mesh.t2f.T], axis=1)
    points = np.concatenate([p, 0.5 * (p[mesh.facets[0]] + p[mesh.facets[1]])])
    edges = np.stack([p[t[:, 1]] - p[t[:, 0]], p[t[:, 2]] - p[t[:, 0]]], axis=2)
    determinant = edges[:, 0, 0] * edges[:, 1, 1] - edges[:, 0, 1] * edges[:, 1, 0]
    adjugate = np.stack([edges[:, 1, 1], -edges[:, 0, 1], -edges[:, 1, 0], edges[:, 0, 0]], axis=1).reshape(-1, 2, 2)
    inverse = adjugate / determinant[:, None, None]
    scale, rim = np.abs(determinant), _rim(section_mesh, determinant)
    round_axis = weights(p[t, 0], 0.5 * scale) if section_mesh.revolution else None
    return Space(points, triangles, inverse, scale, section_mesh.region, rim, round_axis)


def _rim(section_mesh: SectionMesh, determinant: FloatArray) -> Rim:
    mesh = section_mesh.mesh
    sides, triangle, number = mesh.rim
    local = SIDE_CORNERS[number]
    # The side 0–2 runs against the sense of the corners, and so do all sides of a clockwise triangle.
    backward = (number == 2) != (determinant[triangle] < 0)
    local = np.where(backward[:, None], local[:, [1, 0, 2]], local)
    along = mesh.p[:, mesh.facets[1, sides]] - mesh.p[:, mesh.facets[0, sides]]
    return Rim(triangle, local, section_mesh.surface[sides], np.hypot(along[0], along[1]))


def stiffness(on: Space, tensor: FloatArray) -> FloatArray:
    """Element matrices ∫ ∇φi·(tensor ∇φj), in a solid of revolution times 2πr.

    Args:
        on: the space.
        tensor: symmetric matrix of each region; shape (R, 2, 2).

    Returns:
        shape (M, 6, 6).
    """
    if on.weights is not None:
        return weighted_stiffness(on, tensor, on.weights.times)
    mapped = (on.inverse @ tensor[on.region]) @ on.inverse.transpose(0, 2, 1) * on.scale[:, None, None]
    entries = np.stack([mapped[:, 0, 0], mapped[:, 0, 1], mapped[:, 1, 1]], axis=1)
    return np.asarray(entries @ reference()[0]).reshape(-1, 6, 6)


def weighted_stiffness(on: Space, tensor: FloatArray, corners: FloatArray) -> FloatArray:
    """Element matrices ∫ w ∇φi·(tensor ∇φj) for a weight w that is known by its integrals.

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


def add_on_rim(matrices: FloatArray, rim: Rim, sides: FloatArray) -> None:
    """Add a 3 × 3 matrix per rim side to the element matrices in place.

    Args:
        matrices: shape (M, 6, 6).
        rim: the sides, shape (k,).
        sides: shape (k, 3, 3).
    """
    rows = rim.local[:, :, None]
    columns = rim.local[:, None, :]
    np.add.at(matrices, (rim.triangle[:, None, None], rows, columns), sides)


def side_integrals(on: Space, rim: Rim, factor: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Integrals of shape functions on rim sides, in a solid of revolution times 2πr.

    Args:
        on: the space.
        rim: the sides, shape (k,).
        factor: of each side; shape (k,).

    Returns:
        factor · ∫ φi φj, shape (k, 3, 3), and factor · ∫ φi, shape (k, 3).
    """
    if on.weights is None:
        weight = factor * rim.length
        return weight[:, None, None] * SIDE_MASS, weight[:, None] * SIDE_LOAD
    at_ends = factor[:, None] * side_weights(*on.radii(rim), rim.length)[0]
    mass, load = side_reference()
    return np.einsum("ka,aij->kij", at_ends, mass), at_ends @ load


def assemble(matrices: FloatArray, number: Whole, size: int) -> Entries:
    """The global matrix of element matrices.

    Args:
        matrices: shape (M, 6, 6).
        number: unknown of each triangle's node, ELIMINATED where it is none; shape (M, 6).
        size: count of unknowns.
    """
    rows = np.broadcast_to(number[:, :, None], matrices.shape)
    columns = np.broadcast_to(number[:, None, :], matrices.shape)
    kept = (rows >= 0) & (columns >= 0)
    return Entries(matrices[kept], rows[kept], columns[kept], size)


@dataclass(frozen=True)
class Conditions:
    """What the surfaces of a section impose, per surface index.

    Attributes:
        environment: index of the environment of each surface; shape (S,).
        resistance: surface resistance [m²·K/W]; shape (S,).
        count: number of environments.
    """

    environment: Whole
    resistance: FloatArray
    count: int


def conditions(section: Section, for_f_rsi: bool = False) -> Conditions:
    """The section's surfaces as arrays.

    Args:
        section: the section.
        for_f_rsi: take the surface resistances of the temperature factor instead of those of the heat flow.
    """
    names = [environment.name for environment in section.environments]
    return Conditions(
        np.array([names.index(s.environment) for s in section.surfaces], dtype=np.int64),
        np.array([s.f_rsi_resistance if for_f_rsi else s.resistance for s in section.surfaces]),
        len(names),
    )


@dataclass(frozen=True)
class Temperature:
    """Temperatures for unit environments.

    Attributes:
        nodes: temperature at the nodes with environment j at 1 and all others at 0; shape (N, E).
        upper: upper bounds as a matrix, θᵀ·upper·θ ≥ J for any temperatures θ; shape (E, E) [W/(m·K)].
        flows: flow from environment i into the section with environment j at 1, from the solution itself;
            shape (E, E) [W/(m·K)].
        unknowns: size of the linear system.
        singular: whether two prescribed temperatures meet in a point, so that no finite flow exists.
    """

    nodes: FloatArray
    upper: FloatArray
    flows: FloatArray
    unknowns: int
    singular: bool


@dataclass(frozen=True)
class _Posed:
    """The problem on a space: element matrices without films, the films, and what is prescribed.

    Attributes:
        matrices: shape (M, 6, 6).
        films: the rim sides with a film, shape (k,).
        owner: their environment, shape (k,).
        mass: ∫ φi φj / R on them, shape (k, 3, 3).
        load: ∫ φi / R on them, shape (k, 3).
        fixed: whether a node's temperature is prescribed, shape (N,).
        prescribed: share of each environment in it, shape (N, E).
        singular: whether two prescribed temperatures meet.
    """

    matrices: FloatArray
    films: Rim
    owner: Whole
    mass: FloatArray
    load: FloatArray
    fixed: NDArray[np.bool_]
    prescribed: FloatArray
    singular: bool


def temperatures(on: Space, tensor: FloatArray, given: Conditions) -> Temperature:
    """Temperatures of a section for unit environments, with the energies and flows that they make.

    Args:
        on: the space.
        tensor: conductivity of each region; shape (R, 2, 2) [W/(m·K)].
        given: what the surfaces impose.
    """
    posed = _posed(on, tensor, given)
    nodes, size = _solved(on, posed)
    return Temperature(nodes, _energy(on, posed, nodes), _flows(on, posed, nodes), size, posed.singular)


def nodal_temperatures(on: Space, tensor: FloatArray, given: Conditions) -> FloatArray:
    """Temperatures of a section for unit environments and nothing more; shape (N, E).

    Args:
        on: the space.
        tensor: conductivity of each region; shape (R, 2, 2) [W/(m·K)].
        given: what the surfaces impose.
    """
    return _solved(on, _posed(on, tensor, given))[0]


def _posed(on: Space, tensor: FloatArray, given: Conditions) -> _Posed:
    rim = on.rim
    film = rim.surface != ADIABATIC
    film[film] = given.resistance[rim.surface[film]] > 0
    films = rim.where(film)
    owner = given.environment[films.surface]
    mass, load = side_integrals(on, films, 1.0 / given.resistance[films.surface])
    return _Posed(stiffness(on, tensor), films, owner, mass, load, *_prescribed(on, given))


def _solved(on: Space, posed: _Posed) -> tuple[FloatArray, int]:
    """Nodal temperatures and the number of unknowns."""
    with_films = posed.matrices.copy()
    add_on_rim(with_films, posed.films, posed.mass)
    load = np.zeros_like(posed.prescribed)
    at = on.triangles[posed.films.triangle[:, None], posed.films.local]
    np.add.at(load, (at, posed.owner[:, None]), posed.load)
    free = ~posed.fixed
    number = np.where(free, np.cumsum(free) - 1, ELIMINATED)
    size = int(free.sum())
    system = assemble(with_films, number[on.triangles], size)
    right = (load - _applied(with_films, on.triangles, posed.prescribed))[free] if posed.fixed.any() else load
    nodes = posed.prescribed.copy()
    nodes[free, :-1] = solved(system, right[:, :-1])
    nodes[:, -1] = 1.0 - nodes[:, :-1].sum(axis=1)
    return nodes, size


def _prescribed(on: Space, given: Conditions) -> tuple[NDArray[np.bool_], FloatArray, bool]:
    """Which nodes have a prescribed temperature, its share of each environment, and whether two of them meet."""
    rim = on.rim
    share = np.zeros((len(on.points), given.count))
    side = rim.surface != ADIABATIC
    side[side] = given.resistance[rim.surface[side]] == 0
    nodes = on.triangles[rim.triangle[side, None], rim.local[side]]
    share[nodes, given.environment[rim.surface[side]][:, None]] = 1.0
    total = share.sum(axis=1)
    fixed = total > 0
    share[fixed] /= total[fixed, None]
    return fixed, share, bool((total > 1).any())


def _applied(matrices: FloatArray, triangles: Whole, values: FloatArray) -> FloatArray:
    """The global matrix times nodal values, without building it; shape (N, E)."""
    product = np.zeros_like(values)
    np.add.at(product, triangles, matrices @ values[triangles])
    return product


def _flows(on: Space, posed: _Posed, nodes: FloatArray) -> FloatArray:
    """Heat from environment i with environment j at 1: through its films, and the reaction at its fixed nodes."""
    count = nodes.shape[1]
    flows = np.zeros((count, count))
    at = on.triangles[posed.films.triangle[:, None], posed.films.local]
    unit = np.eye(count)[posed.owner]
    through = posed.load.sum(axis=1)[:, None] * unit - (posed.load[:, None, :] @ nodes[at])[:, 0]
    np.add.at(flows, posed.owner, through)
    if posed.fixed.any():
        product = _applied(posed.matrices, on.triangles, nodes)
        np.add.at(product, at, posed.mass @ (nodes[at] - unit[:, None, :]))
        flows += posed.prescribed.T @ product
    return flows


def _energy(on: Space, posed: _Posed, nodes: FloatArray) -> FloatArray:
    """J as a matrix over the environments, a sum of products without cancellation."""
    at = nodes[on.triangles]
    inner = _flat(at).T @ _flat(posed.matrices @ at)
    unit = np.eye(nodes.shape[1])[posed.owner]
    difference = nodes[on.triangles[posed.films.triangle[:, None], posed.films.local]] - unit[:, None, :]
    outer = _flat(difference).T @ _flat(posed.mass @ difference)
    return np.asarray(inner + outer)


def _flat(values: FloatArray) -> FloatArray:
    """Values with all axes but the last joined."""
    return values.reshape(-1, values.shape[-1])


def gradients(on: Space, values: FloatArray) -> FloatArray:
    """Gradients at the quadrature points of each triangle.

    Args:
        on: the space.
        values: values at each triangle's nodes; shape (M, 6, E).

    Returns:
        shape (M, q, 2, E) [1/m times the values' unit].
    """
    _, shape_gradients, _ = reference()
    points = shape_gradients.shape[1]
    table = shape_gradients.transpose(1, 2, 0).reshape(points * 2, 6)
    local = (table @ values).reshape(len(values), points, 2, values.shape[2])
    return np.asarray(on.inverse.transpose(0, 2, 1)[:, None] @ local)
