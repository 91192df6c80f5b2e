"""Temperatures on a section's mesh, and the upper bound that they give.

Third step of the numerics: mesh -> **temperature** and stream function -> results. With
    a(u, v) = ∫ λ∇u·∇v + Σj ∫Γj u v / Rj        and        b(v) = Σj ∫Γj θj v / Rj
the temperature u solves a(u, v) = b(v) for all v, with u = θj where Rj = 0; its energy
    J(u) = ∫ λ|∇u|² + Σj ∫Γj (u − θj)² / Rj
is an upper bound of the true one. In a solid of revolution all integrals carry the circumference 2πr. All is done for
unit temperatures, one environment warm at a time, so that J becomes a matrix over the environments.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from bridge2d.detail import Section
from bridge2d.elements import side_matrices, side_shapes
from bridge2d.partition import ADIABATIC, Whole
from bridge2d.revolution import side_weights
from bridge2d.spaces import ELIMINATED, FloatArray, Rim, Space, assemble, condensed, stiffness
from bridge2d.sparse import solved


@cache
def _side_reference() -> tuple[FloatArray, FloatArray]:
    """∫ λa φi φj and ∫ λa φi along a side of length 1, λa the linear function of either end; (2, 3, 3) and (2, 3)."""
    points, gauss = np.polynomial.legendre.leggauss(3)
    s, gauss = 0.5 * (points + 1.0), 0.5 * gauss
    ends = np.stack([1 - s, s])
    values = side_shapes(s)[0][:3]
    return np.einsum("aq,iq,jq,q->aij", ends, values, values, gauss), np.einsum("aq,iq,q->ai", ends, values, gauss)


def side_integrals(on: Space, rim: Rim, factor: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Integrals of functions on rim sides, in a solid of revolution times 2πr.

    Args:
        on: the space.
        rim: the sides, shape (k,).
        factor: of each side; shape (k,).

    Returns:
        factor · ∫ φi φj, shape (k, s, s), and factor · ∫ φi, shape (k, s), for the s functions of `Rim.slots`.
    """
    if on.weights is None:
        sense, weight = rim.sense, factor * rim.length
        count = sense.shape[1]
        mass, load, _ = side_matrices()
        load = weight[:, None] * load[:count] * sense
        return weight[:, None, None] * mass[:count, :count] * sense[:, :, None] * sense[:, None, :], load
    at_ends = factor[:, None] * side_weights(*on.radii(rim), rim.length)[0]
    mass, load = _side_reference()
    return np.einsum("ka,aij->kij", at_ends, mass), at_ends @ load


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
        nodes: coefficients with environment j at 1 and all others at 0, temperatures at the nodes first; shape
            (size, E).
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
        matrices: of each block; shape (m, k, k).
        films: the rim sides with a film, shape (k,).
        at: numbers of their functions; shape (k, s).
        owner: their environment, shape (k,).
        mass: ∫ φi φj / R on them, shape (k, s, s).
        load: ∫ φi / R on them, shape (k, s).
        fixed: functions whose coefficient is prescribed, shape (size,).
        prescribed: share of each environment in it, shape (size, E).
        singular: whether two prescribed temperatures meet.
    """

    matrices: tuple[FloatArray, ...]
    films: Rim
    at: Whole
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
    """Temperatures of a section for unit environments and nothing more; shape (size, E).

    Args:
        on: the space.
        tensor: conductivity of each region; shape (R, 2, 2) [W/(m·K)].
        given: what the surfaces impose.
    """
    return _solved(on, _posed(on, tensor, given))[0]


def with_answers(on: Space, tensor: FloatArray, given: Conditions, nodes: Whole) -> tuple[FloatArray, FloatArray]:
    """Temperatures for unit environments, and the fields that answer a unit source at nodes, by one factorisation.

    An answer is nothing where the temperature is prescribed.

    Args:
        on: the space.
        tensor: conductivity of each region; shape (R, 2, 2) [W/(m·K)].
        given: what the surfaces impose.
        nodes: shape (p,).

    Returns:
        coefficients; shapes (size, E) and (size, p).
    """
    posed = _posed(on, tensor, given)
    source = np.zeros((on.size, len(nodes)))
    source[nodes, np.arange(len(nodes))] = 1.0
    load = np.zeros_like(posed.prescribed)
    np.add.at(load, (posed.at, posed.owner[:, None]), posed.load)
    right = np.concatenate([load[:, :-1], source], axis=1)
    prescribed = np.concatenate([posed.prescribed[:, :-1], np.zeros_like(source)], axis=1)
    found = _answered(on, posed, right, prescribed)[0]
    warm, answers = found[:, : -len(nodes)], found[:, -len(nodes) :]
    return np.concatenate([warm, (on.one - warm.sum(axis=1))[:, None]], axis=1), answers


def _posed(on: Space, tensor: FloatArray, given: Conditions) -> _Posed:
    rim = on.rim
    film = rim.surface != ADIABATIC
    film[film] = given.resistance[rim.surface[film]] > 0
    films = rim.where(film)
    owner = given.environment[films.surface]
    mass, load = side_integrals(on, films, 1.0 / given.resistance[films.surface])
    return _Posed(stiffness(on, tensor), films, on.along(films), owner, mass, load, *_prescribed(on, given))


def _solved(on: Space, posed: _Posed) -> tuple[FloatArray, int]:
    """Coefficients of the temperatures and the number of unknowns."""
    load = np.zeros_like(posed.prescribed)
    np.add.at(load, (posed.at, posed.owner[:, None]), posed.load)
    nodes, size = _answered(on, posed, load[:, :-1], posed.prescribed[:, :-1])
    # All environments at 1 make 1 everywhere.
    return np.concatenate([nodes, (on.one - nodes.sum(axis=1))[:, None]], axis=1), size


def _answered(on: Space, posed: _Posed, load: FloatArray, prescribed: FloatArray) -> tuple[FloatArray, int]:
    """Coefficients of the fields that a load makes, with some of them prescribed, and the number of unknowns."""
    outer = [condensed(block, matrices) for block, matrices in zip(on.blocks, posed.matrices, strict=True)]
    free = on.unknown & ~posed.fixed
    number = np.where(free, np.cumsum(free) - 1, ELIMINATED)
    size = int(np.count_nonzero(free))
    places = [*(block.outer for block in on.blocks), posed.at]
    parts = list(zip([*(matrices for matrices, _ in outer), posed.mass], places, strict=True))
    if posed.fixed.any():
        load = load - _applied(parts, prescribed)
    nodes = prescribed.copy()
    nodes[free] = solved(assemble([(matrices, number[at]) for matrices, at in parts], size), load[free])
    for block, (_, follow) in zip(on.blocks, outer, strict=True):
        if follow is not None:
            nodes[block.inner] = follow @ nodes[block.outer]
    return nodes, size


def _prescribed(on: Space, given: Conditions) -> tuple[NDArray[np.bool_], FloatArray, bool]:
    """Which coefficients are prescribed, the share of each environment in them, and whether two temperatures meet."""
    rim = on.rim
    share = np.zeros((on.size, given.count))
    side = rim.surface != ADIABATIC
    side[side] = given.resistance[rim.surface[side]] == 0
    sides = rim.where(side)
    at = on.along(sides)
    share[at[:, :3], given.environment[sides.surface][:, None]] = 1.0
    total = share.sum(axis=1)
    fixed = total > 0
    share[fixed] /= total[fixed, None]
    fixed[at] = True
    return fixed, share, bool((total > 1).any())


def _applied(parts: list[tuple[FloatArray, Whole]], values: FloatArray) -> FloatArray:
    """The global matrix times coefficients, without building it; shape (size, E)."""
    product = np.zeros_like(values)
    for matrices, at in parts:
        np.add.at(product, at, matrices @ values[at])
    return product


def _off(posed: _Posed, nodes: FloatArray) -> FloatArray:
    """Differences between temperatures and environments on the films; shape (k, s, E)."""
    difference = nodes[posed.at]
    difference[:, :3] -= np.eye(nodes.shape[1])[posed.owner][:, None, :]
    return difference


def _flows(on: Space, posed: _Posed, nodes: FloatArray) -> FloatArray:
    """Heat from environment i with environment j at 1: through its films, and the reaction at its fixed nodes."""
    count = nodes.shape[1]
    flows = np.zeros((count, count))
    np.add.at(flows, posed.owner, -(posed.load[:, None, :] @ _off(posed, nodes))[:, 0])
    if posed.fixed.any():
        whole = zip(posed.matrices, (block.functions for block in on.blocks), strict=True)
        product = _applied(list(whole), nodes)
        np.add.at(product, posed.at, posed.mass @ _off(posed, nodes))
        flows += posed.prescribed.T @ product
    return flows


def _energy(on: Space, posed: _Posed, nodes: FloatArray) -> FloatArray:
    """J as a matrix over the environments, a sum of products without cancellation."""
    difference = _off(posed, nodes)
    energy = _flat(difference).T @ _flat(posed.mass @ difference)
    for block, matrices in zip(on.blocks, posed.matrices, strict=True):
        at = nodes[block.functions]
        energy += _flat(at).T @ _flat(matrices @ at)
    return np.asarray(energy)


def _flat(values: FloatArray) -> FloatArray:
    """Values with all axes but the last joined."""
    return values.reshape(-1, values.shape[-1])
