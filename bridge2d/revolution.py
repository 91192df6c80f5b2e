"""Solids of revolution: the weights that a circumference 2πr gives to the integrals over a section.

Beside the third and fourth step of the numerics. A section of revolution is the half at x = r ≥ 0 of a cut through its
axis x = 0. With W = 2πr the temperatures minimise ∫ W λ|∇v|² + Σj ∫Γj W (v − θj)²/Rj; a flux that satisfies the balance
is the curl of Stokes' stream function ψ, here the heat that passes within r [W], and its complementary energy is
∫ ∇ψ·(λ⁻¹)⟂∇ψ / W + Σj ∫Γj Rj (∂ψ/∂s)² / W. Gradients of quadratic functions are linear on a triangle, so that each
integral is a sum over pairs of a triangle's corners, ∫ λv λw W and ∫ λv λw / W, with λv the corner's linear function.
On the axis ψ and its slope vanish: there the weight 1/W needs no corner that lies on the axis, and what is left is
integrated exactly or, with the logarithm of r as variable, to rounding.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
GAUSS_POINTS = 24
"""Points of the rule in the logarithm of r: to rounding up to a ratio of 10⁶ between a triangle's radii."""
QUARTER = 0.25
"""How far ψ has grown in the middle of a side that starts on the axis: there it grows with r²."""


@dataclass(frozen=True)
class Weights:
    """Integrals over each triangle of products of its corners' linear functions.

    Attributes:
        times: ∫ λv λw 2πr; shape (M, 3, 3) [m³].
        over: ∫ λv λw / (2πr), nothing for corners on the axis; shape (M, 3, 3) [m].
        on_axis: which corners lie on the axis; shape (M, 3).
    """

    times: FloatArray
    over: FloatArray
    on_axis: NDArray[np.bool_]


def weights(radius: FloatArray, area: FloatArray) -> Weights:
    """The weights of triangles.

    Args:
        radius: r at the corners of each triangle, not negative; shape (M, 3) [m].
        area: of each triangle; shape (M,) [m²].
    """
    return Weights(_times(radius, area), _over(radius, area) / (2 * np.pi), radius == 0)


def _times(radius: FloatArray, area: FloatArray) -> FloatArray:
    """∫ λu λv λw = A (1 + …)/60: 6 for three equal corners, 2 for two, 1 for none, over 60."""
    total = radius.sum(axis=1)[:, None, None]
    pair = radius[:, :, None] + radius[:, None, :]
    # Two different corners: 2 r_v + 2 r_w + r_u = total + r_v + r_w; the same corner twice: 6 r_v + 2 (rest).
    different = total + pair
    same = 2 * total + 2 * pair
    chosen = np.where(np.eye(3, dtype=bool), same, different)
    return np.asarray(2 * np.pi * area[:, None, None] / 60.0 * chosen)


def _over(radius: FloatArray, area: FloatArray) -> FloatArray:
    """∫ λv λw / r over each triangle, along the lines of equal radius; nothing for corners on the axis."""
    order = np.argsort(radius, axis=1, kind="stable")
    r = np.take_along_axis(radius, order, axis=1)
    middle, high = r[:, 1], r[:, 2]
    inner = np.zeros((len(r), 3, 3))
    clear, corner, side = r[:, 0] > 0, (r[:, 0] == 0) & (middle > 0), middle == 0
    inner[clear] = _piece(r[clear], outer=False)
    inner[corner] = _from_axis(middle[corner], high[corner])
    # With a side on the axis, λ of the far corner is r/r₃ and the line at r is 2A (r₃ − r)/r₃² long.
    inner[side, 2, 2] = 1.0 / (6.0 * high[side])
    inner[~side] += _piece(r[~side], outer=True)
    on_axis = r == 0
    inner[on_axis[:, :, None] | on_axis[:, None, :]] = 0.0
    result = np.empty_like(inner)
    rows = np.arange(len(r))[:, None, None]
    result[rows, order[:, :, None], order[:, None, :]] = inner
    return np.asarray(2 * area[:, None, None] * result)


def _from_axis(middle: FloatArray, high: FloatArray) -> FloatArray:
    """The part of ∫ λv λw / r, in shares of 2A, between a corner on the axis and the middle radius: a polynomial."""
    part = np.zeros((len(middle), 3, 3))
    part[:, 1, 1] = 1.0 / (9.0 * high)
    part[:, 2, 2] = middle**2 / (9.0 * high**3)
    part[:, 1, 2] = part[:, 2, 1] = middle / (18.0 * high**2)
    return part


def _piece(r: FloatArray, outer: bool) -> FloatArray:
    """∫ λv λw / r, in shares of 2A, between the lowest and the middle radius, or from there to the highest.

    With t = ln r the integrand is a polynomial in eᵗ.

    Args:
        r: sorted radii of the corners; shape (M, 3) [m].
        outer: the part beyond the middle radius.
    """
    low, middle, high = (column[:, None] for column in r.T)
    start, end = (middle, high) if outer else (low, middle)
    points, gauss = _rule()
    span = np.log(end / start)
    at = start * np.exp(span * points)
    # The line of radius `at` runs from the side low–high to one of the two others; λ at both ends, and its length.
    from_side = np.stack([(high - at), np.zeros_like(at), at - low], axis=1) / (high - low)[:, None]
    width = np.where(end > start, end - start, 1.0)
    near, far = (end - at) / width, (at - start) / width
    nothing = np.zeros_like(at)
    to_side = np.stack([nothing, near, far] if outer else [near, far, nothing], axis=1)
    length = (near if outer else far) / (high - low)
    share = length * span * gauss
    mixed = np.einsum("mvq,mwq,mq->mvw", from_side, to_side, share)
    own = np.einsum("mvq,mwq,mq->mvw", from_side, from_side, share)
    own += np.einsum("mvq,mwq,mq->mvw", to_side, to_side, share)
    return np.asarray((2 * own + mixed + mixed.transpose(0, 2, 1)) / 6.0)


@cache
def _rule() -> tuple[FloatArray, FloatArray]:
    """Points and weights of Gauss's rule on 0 to 1."""
    points, gauss = np.polynomial.legendre.leggauss(GAUSS_POINTS)
    return 0.5 * (points + 1.0), 0.5 * gauss


def side_weights(start: FloatArray, end: FloatArray, length: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Integrals along sides of products of their ends' linear functions.

    Args:
        start: r at one end; shape (k,) [m].
        end: r at the other; shape (k,) [m].
        length: shape (k,) [m].

    Returns:
        ∫ 2πr along a side as the weight of either end, shape (k, 2) [m²]; ∫ λa λb / (2πr), nothing for an end on the
        axis, shape (k, 2, 2) [1].
    """
    times = 2 * np.pi * length[:, None] * np.stack([start, end], axis=1)
    over = np.zeros((len(start), 2, 2))
    for k, (a, b) in enumerate(((start, end), (end, start))):
        # The end at radius b, the other at 0: ∫ λ²/r with λ = s is half the length over b.
        from_axis = (a == 0) & (b > 0)
        over[from_axis, 1 - k, 1 - k] = 0.5 / b[from_axis]
    clear = (start > 0) & (end > 0)
    over[clear] = _side_over(start[clear], end[clear])
    return times, over * (length / (2 * np.pi))[:, None, None]


def _side_over(start: FloatArray, end: FloatArray) -> FloatArray:
    """∫ λa λb / r along sides of length 1 that do not reach the axis."""
    points, gauss = _rule()
    low, high = np.minimum(start, end), np.maximum(start, end)
    ratio = high / low
    level = ratio < 1 + 1e-3
    # dr/r over r's span; where r hardly changes along the side the plain rule is exact to rounding.
    at = np.where(level[:, None], points, 0.0)
    step = np.where(level[:, None], gauss / (low[:, None] + (high - low)[:, None] * points), 0.0)
    span = np.log(ratio[~level])
    rise = np.expm1(span[:, None] * points)
    at[~level] = rise / (ratio[~level] - 1)[:, None]
    step[~level] = (span / (high - low)[~level])[:, None] * gauss
    both = np.stack([1.0 - at, at], axis=1)
    over = np.einsum("kaq,kbq,kq->kab", both, both, step)
    falling = start > end
    over[falling] = over[falling][:, ::-1, ::-1]
    return np.asarray(over)


def axis_ties(on_axis: NDArray[np.bool_]) -> tuple[FloatArray, NDArray[np.bool_]]:
    """What the middles of sides that start on the axis are tied to, so that ψ grows with r² there.

    Args:
        on_axis: which corners of each triangle lie on the axis; shape (M, 3).

    Returns:
        Values at a triangle's six nodes from those that are free, shape (M, 6, 6), and which nodes are tied, shape
        (M, 6).
    """
    ties = np.tile(np.eye(6), (len(on_axis), 1, 1))
    tied = np.zeros((len(on_axis), 6), dtype=bool)
    for middle, (a, b) in enumerate(((0, 1), (1, 2), (0, 2)), start=3):
        for axis, other in ((a, b), (b, a)):
            here = on_axis[:, axis] & ~on_axis[:, other]
            ties[here, middle, middle] = 0.0
            ties[here, middle, axis] = 1.0 - QUARTER
            ties[here, middle, other] = QUARTER
            tied[here, middle] = True
    return ties, tied
