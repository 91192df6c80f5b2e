"""The stream function, the lower bound that it gives, and the local gap between both bounds.

Fourth step of the numerics, beside the temperature. Any heat flux that is the curl of a stream function ψ, constant on
every adiabatic piece of the outline, satisfies the balance exactly; with
    E(ψ) = ∫ ∇ψ·(λ⁻¹)⟂∇ψ + Σj ∫Γj Rj (∂ψ/∂s)²        and        ℓ(ψ) = −Σj θj (ψ(end) − ψ(start))
the largest value of 2ℓ(ψ) − E(ψ) is a lower bound of J (Prager and Synge 1947; Synge 1957, The Hypercircle in
Mathematical Physics). In a solid of revolution ψ is Stokes' stream function, see `revolution`. The difference of the
bounds is an integral of squares, so each triangle knows its share.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bridge2d.cuts import Cut, find_cuts
from bridge2d.errors import SectionError
from bridge2d.heat_flow import (
    ELIMINATED,
    SIDE_STIFFNESS,
    Conditions,
    FloatArray,
    Rim,
    Space,
    Temperature,
    add_on_rim,
    assemble,
    gradients,
    reference,
    side_integrals,
    side_shapes,
    stiffness,
    weighted_stiffness,
)
from bridge2d.partition import ADIABATIC, Whole
from bridge2d.revolution import Weights, axis_ties, side_weights
from bridge2d.sparse import Entries, connected, solved

SIDE_SLOPE = np.array([[-3.0, -1.0, 4.0], [1.0, 3.0, -4.0], [-4.0, 4.0, 0.0]]) / 6.0
"""∫ φi φj' along a side, nodes: start, end, middle."""
END_SLOPES = np.array([[-3.0, -1.0, 4.0], [1.0, 3.0, -4.0]])
"""φi' at the start and at the end of a side of length 1, nodes: start, end, middle."""
NO_RINGS = (
    "a hole that faces an environment makes a ring in a solid of revolution, which the stream function does not cover; "
    "fill it with a material, or leave its outline without an environment"
)
GAUSS_POINTS = np.sqrt(0.6) * np.array([-1.0, 0.0, 1.0])
GAUSS_WEIGHTS = np.array([5.0, 8.0, 5.0]) / 9.0


@dataclass(frozen=True)
class Stream:
    """Stream functions for unit environments.

    Attributes:
        local: value at each triangle's nodes with environment j at 1; shape (M, 6, E) [W/(m·K)].
        lower: lower bounds as a matrix, θᵀ·lower·θ ≤ J for any temperatures θ; shape (E, E) [W/(m·K)].
        unknowns: size of the linear system.
    """

    local: FloatArray
    lower: FloatArray
    unknowns: int


@dataclass(frozen=True)
class Gap:
    """The difference between both bounds.

    Attributes:
        triangle: each triangle's share, summed over the unit environments; shape (M,) [W/(m·K)].
        matrix: upper − lower over the environments; shape (E, E) [W/(m·K)].
    """

    triangle: FloatArray
    matrix: FloatArray


def stream_functions(on: Space, tensor: FloatArray, given: Conditions) -> Stream:
    """Stream functions of a section for unit environments.

    Args:
        on: the space.
        tensor: conductivity of each region; shape (R, 2, 2) [W/(m·K)].
        given: what the surfaces impose.
    """
    turned = turned_inverse(tensor)
    matrices = stiffness(on, turned) if on.weights is None else weighted_stiffness(on, turned, on.weights.over)
    films = on_surfaces(on.rim)
    add_on_rim(matrices, films, _film_stiffness(on, films, given.resistance[films.surface]))
    load = np.zeros((len(on.triangles), 6, given.count))
    owner = given.environment[films.surface]
    np.add.at(load, (films.triangle, films.local[:, 1], owner), -1.0)
    np.add.at(load, (films.triangle, films.local[:, 0], owner), 1.0)
    node_number, size = _numbering(on)
    number = node_number[on.triangles]
    cuts = find_cuts(on)
    ties = None
    if on.weights is not None:
        if cuts:
            raise SectionError(NO_RINGS, ("section",))
        ties, tied = axis_ties(on.weights.on_axis)
        # Values at tied nodes follow from the corners; the element matrices are those of the corners then.
        matrices, load = ties.transpose(0, 2, 1) @ matrices @ ties, ties.transpose(0, 2, 1) @ load
        number, size = _renumbered(np.where(tied, ELIMINATED, number))
    matrix = assemble(matrices, number, size + len(cuts))
    if cuts:
        matrix = _with_jumps(matrix, matrices, number, size, cuts)
    right = np.zeros((size + len(cuts) + 1, given.count))
    np.add.at(right, number, load)
    for k, cut in enumerate(cuts):
        right[size + k] = np.einsum("mi,mie->e", cut.weight, load[cut.triangle])
    solution = np.zeros_like(right)
    solution[:-1, :-1] = solved(matrix, right[:-1, :-1])
    solution[:, -1] = -solution[:, :-1].sum(axis=1)
    local = solution[number]
    if ties is not None:
        local = ties @ local
    for k, cut in enumerate(cuts):
        local[cut.triangle] += cut.weight[:, :, None] * solution[size + k]
    work = np.einsum("mie,mif->ef", load, local)
    energy = np.einsum("mie,mif->ef", local, matrices @ local)
    return Stream(local, np.asarray(work + work.T - energy), size)


def turned_inverse(tensor: FloatArray) -> FloatArray:
    """(λ⁻¹)⟂, the inverse turned by a right angle: λ/det λ for a symmetric 2 × 2 matrix.

    Args:
        tensor: conductivities; shape (k, 2, 2) [W/(m·K)].

    Returns:
        shape (k, 2, 2) [m·K/W].
    """
    determinant = tensor[:, 0, 0] * tensor[:, 1, 1] - tensor[:, 0, 1] * tensor[:, 1, 0]
    return np.asarray(tensor / determinant[:, None, None])


def _renumbered(number: Whole) -> tuple[Whole, int]:
    """Unknowns numbered without gaps, and their count."""
    used, again = np.unique(number, return_inverse=True)
    eliminated = int(np.count_nonzero(used < 0))
    return np.maximum(again.reshape(number.shape) - eliminated, ELIMINATED), len(used) - eliminated


def _film_stiffness(on: Space, films: Rim, factor: FloatArray) -> FloatArray:
    """`factor` times ∫ φi' φj' on rim sides, in a solid of revolution over 2πr; shape (k, 3, 3)."""
    if on.weights is None:
        return (factor / films.length)[:, None, None] * SIDE_STIFFNESS
    over = side_weights(*on.radii(films), films.length)[1] * (factor / films.length**2)[:, None, None]
    return np.asarray(np.einsum("ai,bj,kab->kij", END_SLOPES, END_SLOPES, over))


def on_surfaces(rim: Rim) -> Rim:
    """The rim's sides that face an environment."""
    return rim.where(rim.surface != ADIABATIC)


def _numbering(on: Space) -> tuple[Whole, int]:
    """Unknown of each node: one per connected adiabatic piece of the outline, the first of them eliminated."""
    rim = on.rim
    adiabatic = rim.surface == ADIABATIC
    sides = on.triangles[rim.triangle[adiabatic, None], rim.local[adiabatic]]
    number = connected(len(on.points), sides[:, :2].T.ravel(), np.tile(sides[:, 2], 2))
    zero = sides[0, 0] if len(sides) else on.triangles[rim.triangle[0], rim.local[0, 0]]
    number = np.where(number == number[zero], ELIMINATED, number - (number > number[zero]))
    return number, int(number.max()) + 1


def _with_jumps(matrix: Entries, matrices: FloatArray, number: Whole, size: int, cuts: tuple[Cut, ...]) -> Entries:
    """The global matrix with one more unknown per cut: the heat that flows across it."""
    data, rows, columns = [matrix.data], [matrix.row], [matrix.col]
    jump = np.zeros((len(cuts), len(number), 6))
    for k, cut in enumerate(cuts):
        jump[k, cut.triangle] = cut.weight
    for k in range(len(cuts)):
        force = np.einsum("mij,mj->mi", matrices, jump[k])
        kept = (number >= 0) & (force != 0)
        at = number[kept]
        here = np.full(at.size, size + k)
        data += [force[kept], force[kept]]
        rows += [at, here]
        columns += [here, at]
        for m in range(len(cuts)):
            data.append(np.array([np.vdot(jump[m], force)]))
            rows.append(np.array([size + m]))
            columns.append(np.array([size + k]))
    return Entries(np.concatenate(data), np.concatenate(rows), np.concatenate(columns), matrix.size)


def gap(on: Space, tensor: FloatArray, given: Conditions, warm: Temperature, stream: Stream) -> Gap:
    """How far both bounds are apart, triangle by triangle.

    In a plane section the gap is Σ_K ∫_K |λ^½∇u + λ^−½q|² + Σj ∫Γj Rj (q·n − (u − θj)/Rj)², q the curl of ψ.

    Args:
        on: the space.
        tensor: conductivity of each region; shape (R, 2, 2) [W/(m·K)].
        given: what the surfaces impose.
        warm: temperatures on this space.
        stream: stream functions on this space.
    """
    if on.weights is not None:
        return _gap_of_revolution(on, on.weights, tensor, given, warm, stream)
    flux = tensor[on.region][:, None] @ gradients(on, warm.nodes[on.triangles])
    curl = gradients(on, stream.local)
    flux[:, :, 0] += curl[:, :, 1]
    flux[:, :, 1] -= curl[:, :, 0]
    opposed = np.linalg.inv(tensor)[on.region][:, None] @ flux
    weighted = flux * (reference()[2][:, None, None] * on.scale[:, None, None, None])
    count, environments = len(on.triangles), flux.shape[-1]
    shares = weighted.reshape(count, -1, environments).transpose(0, 2, 1) @ opposed.reshape(count, -1, environments)
    _add_films(shares, on, given, warm, stream)
    return Gap(np.trace(shares, axis1=1, axis2=2), shares.sum(axis=0))


def _gap_of_revolution(
    on: Space, weights: Weights, tensor: FloatArray, given: Conditions, warm: Temperature, stream: Stream
) -> Gap:
    """The gap with its squares multiplied out: ∫ W ∇u·λ∇u + 2 ∇u·q + q·λ⁻¹q / W, and alike on the films.

    Each term is then integrated without error; what cancels between them is lost to rounding alone.
    """
    u, psi = warm.nodes[on.triangles], stream.local
    shares = u.transpose(0, 2, 1) @ weighted_stiffness(on, tensor, weights.times) @ u
    shares += psi.transpose(0, 2, 1) @ weighted_stiffness(on, turned_inverse(tensor), weights.over) @ psi
    slope, curl = gradients(on, u), gradients(on, psi)[:, :, ::-1] * np.array([1.0, -1.0])[:, None]
    both = np.einsum("q,mqae,mqaf->mef", reference()[2], slope, curl) * on.scale[:, None, None]
    shares += both + both.transpose(0, 2, 1)
    films = on_surfaces(on.rim)
    films = films.where(given.resistance[films.surface] > 0)
    unit = np.eye(given.count)[given.environment[films.surface]]
    difference = warm.nodes[on.triangles[films.triangle[:, None], films.local]] - unit[:, None, :]
    psi = stream.local[films.triangle[:, None], films.local]
    resistance = given.resistance[films.surface]
    sides = difference.transpose(0, 2, 1) @ side_integrals(on, films, 1.0 / resistance)[0] @ difference
    sides += psi.transpose(0, 2, 1) @ _film_stiffness(on, films, resistance) @ psi
    both = difference.transpose(0, 2, 1) @ (SIDE_SLOPE @ psi)
    np.add.at(shares, films.triangle, sides - both - both.transpose(0, 2, 1))
    return Gap(np.trace(shares, axis1=1, axis2=2), shares.sum(axis=0))


def _add_films(shares: FloatArray, on: Space, given: Conditions, warm: Temperature, stream: Stream) -> None:
    films = on_surfaces(on.rim)
    films = films.where(given.resistance[films.surface] > 0)
    s = 0.5 * (GAUSS_POINTS + 1.0)
    values, slopes = side_shapes(s)
    u = warm.nodes[on.triangles[films.triangle[:, None], films.local]]
    psi = stream.local[films.triangle[:, None], films.local]
    resistance = given.resistance[films.surface]
    unit = np.eye(given.count)[given.environment[films.surface]]
    leaving = slopes.T @ psi / films.length[:, None, None]
    taken = (values.T @ u - unit[:, None, :]) / resistance[:, None, None]
    off = leaving - taken
    weights = 0.5 * GAUSS_WEIGHTS * (films.length * resistance)[:, None]
    side = (off * weights[:, :, None]).transpose(0, 2, 1) @ off
    np.add.at(shares, films.triangle, side)
