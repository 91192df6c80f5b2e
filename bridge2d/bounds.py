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

from bridge2d.cuts import find_cuts
from bridge2d.elements import HIGHEST, OUTER, rule, side_matrices, side_shapes
from bridge2d.errors import SectionError
from bridge2d.heat_flow import Conditions, Temperature, side_integrals
from bridge2d.partition import ADIABATIC, Whole
from bridge2d.revolution import Weights, axis_ties, side_weights
from bridge2d.spaces import (
    ELIMINATED,
    Block,
    FloatArray,
    Rim,
    Space,
    assemble,
    condensed,
    gradients,
    stiffness,
    weighted_stiffness,
)
from bridge2d.sparse import Entries, connected, solved

SIDE_SLOPE = np.array([[-3.0, -1.0, 4.0], [1.0, 3.0, -4.0], [-4.0, 4.0, 0.0]]) / 6.0
"""∫ φi φj' along a side, nodes: start, end, middle."""
END_SLOPES = np.array([[-3.0, -1.0, 4.0], [1.0, 3.0, -4.0]])
"""φi' at the start and at the end of a side of length 1, nodes: start, end, middle."""
NO_RINGS = (
    "a hole that faces an environment makes a ring in a solid of revolution, which the stream function does not cover; "
    "fill it with a material, or leave its outline without an environment"
)


@dataclass(frozen=True)
class Stream:
    """Stream functions for unit environments.

    Attributes:
        local: coefficients of each triangle's functions with environment j at 1, the values at its nodes first; shape
            (M, 6, E), (M, 15, E) in a space with higher functions [W/(m·K)].
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
    posed = _posed_round(on, tensor, given) if on.weights is not None else _posed(on, tensor, given)
    solution = np.zeros((posed.size + posed.jump.shape[2] + 1, given.count))
    solution[:-1, :-1] = solved(_system(posed), _right(posed)[:-1, :-1])
    solution[:, -1] = -solution[:, :-1].sum(axis=1)
    local = _local(on, posed, solution)
    work = np.einsum("mie,mif->ef", posed.load, local[:, :6])
    energy = np.zeros_like(work)
    whole = [(block.triangles[:, None], np.array(block.slots)) for block in on.blocks]
    films = [part.place for part in posed.parts[len(on.blocks) :]]
    matrices = [*posed.matrices, *(part.matrices for part in posed.parts[len(on.blocks) :])]
    for element, (triangle, slots) in zip(matrices, [*whole, *films], strict=True):
        at = local[triangle, slots]
        energy += np.einsum("mie,mif->ef", at, element @ at)
    return Stream(local, np.asarray(work + work.T - energy), posed.size)


@dataclass(frozen=True)
class _Part:
    """Element matrices that make a part of the system.

    Attributes:
        matrices: shape (m, k, k).
        number: unknowns of their functions; shape (m, k).
        place: triangles that they belong to, shape (m, 1), and the functions there, shape (k,) or (m, k).
    """

    matrices: FloatArray
    number: Whole
    place: tuple[Whole, Whole]


@dataclass(frozen=True)
class _Posed:
    """The problem on a space.

    Attributes:
        matrices: element matrices of each block, inner functions among them; shape (m, k, k).
        follow: of each block, what inner functions follow from the others by, see `spaces.condensed`.
        parts: of the system: one for each block, and the films.
        load: of each triangle's nodes; shape (M, 6, E).
        number: unknown of each triangle's nodes; shape (M, 6).
        size: count of unknowns but those of cuts.
        jump: share of the jump across each cut at each triangle's functions; shape (M, 6, C), (M, 15, C).
        ties: of a solid of revolution, values at a triangle's nodes from those that are free; shape (M, 6, 6).
    """

    matrices: tuple[FloatArray, ...]
    follow: list[FloatArray | None]
    parts: list[_Part]
    load: FloatArray
    number: Whole
    size: int
    jump: FloatArray
    ties: FloatArray | None = None


def _posed(on: Space, tensor: FloatArray, given: Conditions) -> _Posed:
    matrices = stiffness(on, turned_inverse(tensor))
    films = on_surfaces(on.rim)
    number, size = _numbering(on)
    outer = [condensed(block, element) for block, element in zip(on.blocks, matrices, strict=True)]
    parts = [
        _Part(element, number[block.outer], (block.triangles[:, None], np.arange(element.shape[1])))
        for block, (element, _) in zip(on.blocks, outer, strict=True)
    ]
    on_films = _film_stiffness(on, films, given.resistance[films.surface])
    parts.append(_Part(on_films, number[on.along(films)], (films.triangle[:, None], films.slots)))
    cuts = find_cuts(on)
    jump = np.zeros((*on.functions.shape, len(cuts)))
    for k, cut in enumerate(cuts):
        jump[cut.triangle, :6, k] = cut.weight
    follow = [one for _, one in outer]
    return _Posed(matrices, follow, parts, _load(on, films, given), number[on.triangles], size, jump)


def _posed_round(on: Space, tensor: FloatArray, given: Conditions) -> _Posed:
    """The same for a solid of revolution, where values at tied nodes follow from the corners."""
    assert on.weights is not None
    if find_cuts(on):
        raise SectionError(NO_RINGS, ("section",))
    matrices = weighted_stiffness(on, turned_inverse(tensor), on.weights.over)
    films = on_surfaces(on.rim)
    at = films.triangle[:, None, None], films.local[:, :, None], films.local[:, None, :]
    np.add.at(matrices, at, _film_stiffness(on, films, given.resistance[films.surface]))
    ties, tied = axis_ties(on.weights.on_axis)
    number, size = _renumbered(np.where(tied, ELIMINATED, _numbering(on)[0][on.triangles]))
    matrices = ties.transpose(0, 2, 1) @ matrices @ ties
    part = _Part(matrices, number, (np.arange(len(number))[:, None], np.arange(6)))
    load = ties.transpose(0, 2, 1) @ _load(on, films, given)
    return _Posed((matrices,), [None], [part], load, number, size, np.zeros((*number.shape, 0)), ties)


def _load(on: Space, films: Rim, given: Conditions) -> FloatArray:
    """What ℓ makes of each triangle's nodes; shape (M, 6, E)."""
    load = np.zeros((len(on.triangles), 6, given.count))
    owner = given.environment[films.surface]
    np.add.at(load, (films.triangle, films.local[:, 1], owner), -1.0)
    np.add.at(load, (films.triangle, films.local[:, 0], owner), 1.0)
    return load


def _right(posed: _Posed) -> FloatArray:
    """The right side, with a row for what is eliminated; shape (size + C + 1, E)."""
    right = np.zeros((posed.size + posed.jump.shape[2] + 1, posed.load.shape[2]))
    np.add.at(right, posed.number, posed.load)
    right[posed.size : -1] = np.einsum("mic,mie->ce", posed.jump[:, :6], posed.load)
    return right


def _local(on: Space, posed: _Posed, solution: FloatArray) -> FloatArray:
    """Coefficients of each triangle's functions; shape (M, 6, E) or (M, 15, E)."""
    local = np.zeros((*on.functions.shape, solution.shape[1]))
    for block, part, follow in zip(on.blocks, posed.parts[: len(on.blocks)], posed.follow, strict=True):
        local[part.place] = solution[part.number]
        if posed.jump.shape[2]:
            local[part.place] += posed.jump[part.place] @ solution[posed.size : -1]
        if follow is not None:
            local[part.place[0], block.slots[OUTER[block.order] :]] = follow @ local[part.place]
    return local if posed.ties is None else posed.ties @ local


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
    """`factor` times ∫ φi' φj' on rim sides, in a solid of revolution over 2πr; shape (k, s, s)."""
    if on.weights is None:
        sense = films.sense
        count = sense.shape[1]
        along = side_matrices()[2][:count, :count] * sense[:, :, None] * sense[:, None, :]
        return np.asarray((factor / films.length)[:, None, None] * along)
    over = side_weights(*on.radii(films), films.length)[1] * (factor / films.length**2)[:, None, None]
    return np.asarray(np.einsum("ai,bj,kab->kij", END_SLOPES, END_SLOPES, over))


def on_surfaces(rim: Rim) -> Rim:
    """The rim's sides that face an environment."""
    return rim.where(rim.surface != ADIABATIC)


def _numbering(on: Space) -> tuple[Whole, int]:
    """Unknown of each function, and their count.

    One per connected adiabatic piece of the outline, the first of them eliminated; on all of them higher functions are.
    """
    rim = on.rim
    adiabatic = rim.where(rim.surface == ADIABATIC)
    sides = on.along(adiabatic)
    nodes = len(on.points)
    piece = connected(nodes, sides[:, :2].T.ravel(), np.tile(sides[:, 2], 2))
    zero = sides[0, 0] if len(sides) else on.triangles[rim.triangle[0], rim.local[0, 0]]
    number = np.full(on.size, ELIMINATED)
    number[:nodes] = np.where(piece == piece[zero], ELIMINATED, piece - (piece > piece[zero]))
    size = int(number.max()) + 1
    higher = on.unknown.copy()
    higher[:nodes] = False
    higher[sides[:, 3:]] = False
    number[higher] = size + np.arange(np.count_nonzero(higher))
    return number, size + int(np.count_nonzero(higher))


def _system(posed: _Posed) -> Entries:
    """The global matrix, with one more unknown per cut: the heat that flows across it."""
    count = posed.jump.shape[2]
    matrix = assemble([(part.matrices, part.number) for part in posed.parts], posed.size + count)
    if not count:
        return matrix
    data, rows, columns = [matrix.data], [matrix.row], [matrix.col]
    own = posed.size + np.arange(count)
    first, second = np.tril_indices(count)
    for part in posed.parts:
        jump = posed.jump[part.place]
        force = part.matrices @ jump
        m, i, k = np.nonzero((part.number >= 0)[:, :, None] & (force != 0))
        data += [force[m, i, k], np.einsum("mic,mid->cd", jump, force)[first, second]]
        rows += [own[k], own[first]]
        columns += [part.number[m, i], own[second]]
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
    shares = np.empty((len(on.triangles), given.count, given.count))
    inverse = np.asarray(np.linalg.inv(tensor), dtype=np.float64)
    for block in on.blocks:
        shares[block.triangles] = _block_gap(on, block, (tensor, inverse), warm, stream)
    _add_films(shares, on, given, warm, stream)
    return Gap(np.trace(shares, axis1=1, axis2=2), shares.sum(axis=0))


def _block_gap(
    on: Space, block: Block, tensor: tuple[FloatArray, FloatArray], warm: Temperature, stream: Stream
) -> FloatArray:
    """The gap within the triangles of a block; shape (m, E, E).

    Args:
        on: the space.
        block: the triangles.
        tensor: conductivity of each region and its inverse; shape (R, 2, 2) each.
        warm: temperatures on this space.
        stream: stream functions on this space.
    """
    region = on.region[block.triangles]
    flux = tensor[0][region][:, None] @ gradients(on, block, warm.nodes[block.functions])
    curl = gradients(on, block, stream.local[block.triangles[:, None], block.slots])
    flux[:, :, 0] += curl[:, :, 1]
    flux[:, :, 1] -= curl[:, :, 0]
    opposed = tensor[1][region][:, None] @ flux
    weighted = flux * (rule(block.order)[1][:, None, None] * on.scale[block.triangles, None, None, None])
    count, environments = len(region), flux.shape[-1]
    return np.asarray(
        weighted.reshape(count, -1, environments).transpose(0, 2, 1) @ opposed.reshape(count, -1, environments)
    )


def _gap_of_revolution(
    on: Space, weights: Weights, tensor: FloatArray, given: Conditions, warm: Temperature, stream: Stream
) -> Gap:
    """The gap with its squares multiplied out: ∫ W ∇u·λ∇u + 2 ∇u·q + q·λ⁻¹q / W, and alike on the films.

    Each term is then integrated without error; what cancels between them is lost to rounding alone.
    """
    u, psi = warm.nodes[on.triangles], stream.local
    shares = u.transpose(0, 2, 1) @ weighted_stiffness(on, tensor, weights.times) @ u
    shares += psi.transpose(0, 2, 1) @ weighted_stiffness(on, turned_inverse(tensor), weights.over) @ psi
    (block,) = on.blocks
    slope, curl = gradients(on, block, u), gradients(on, block, psi)[:, :, ::-1] * np.array([1.0, -1.0])[:, None]
    both = np.einsum("q,mqae,mqaf->mef", rule(block.order)[1], slope, curl) * on.scale[:, None, None]
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
    points, gauss = np.polynomial.legendre.leggauss(HIGHEST + 1)
    count = films.slots.shape[1]
    values, slopes = (shape[:count] for shape in side_shapes(0.5 * (points + 1.0)))
    sense = films.sense[:, :, None]
    u = warm.nodes[on.along(films)] * sense
    psi = stream.local[films.triangle[:, None], films.slots] * sense
    resistance = given.resistance[films.surface]
    unit = np.eye(given.count)[given.environment[films.surface]]
    leaving = slopes.T @ psi / films.length[:, None, None]
    taken = (values.T @ u - unit[:, None, :]) / resistance[:, None, None]
    off = leaving - taken
    weights = 0.5 * gauss * (films.length * resistance)[:, None]
    side = (off * weights[:, :, None]).transpose(0, 2, 1) @ off
    np.add.at(shares, films.triangle, side)
