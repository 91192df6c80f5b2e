"""Closed forms behind the exact values of details/validation/cases.toml, evaluated here and nowhere copied.

Each function gives what the table's row of that name holds; `test_published_cases` compares them digit by digit.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np
from scipy.integrate import quad
from scipy.optimize import brentq
from scipy.special import ellipk, gamma, j0, j1, jn_zeros

CORNER = 1 - 2 * math.log(2) / math.pi
"""What a two-dimensional corner adds to the shape factor, 0.55873 (conformal map)."""


def square_in_square(ratio: float) -> float:
    """Exact shape factor of a square ring, outer side over inner side `ratio`.

    One eighth of the ring, with corners (i, 0), (o, 0), (o, o), (i, i) and angles of 90, 90, 45 and 135 degrees, is the
    image of the upper half-plane with these corners at 0, 1, s and infinity (Schwarz and Christoffel):
    dz/dw = w^(-1/2) (w - 1)^(-1/2) (w - s)^(-3/4). The half-plane maps to a rectangle with sides 2K and 2K', m = 1/s.
    """

    def gap(s: float) -> float:  # ∫ from 0 to 1, w = sin² a
        return float(quad(lambda a: 2 * (s - math.sin(a) ** 2) ** -0.75, 0, math.pi / 2)[0])

    def side(s: float) -> float:  # ∫ from 1 to s, w = 1 + (s - 1)(1 - sin⁴ b)
        def integrand(b: float) -> float:
            w = 1 + (s - 1) * (1 - math.sin(b) ** 4)
            return 4 * (s - 1) ** -0.25 / math.sqrt(w * (1 + math.sin(b) ** 2))

        return float(quad(integrand, 0, math.pi / 2)[0])

    s = float(brentq(lambda s: side(s) / gap(s) - ratio / (ratio - 1), 1 + 1e-9, 1e9))
    return float(8 * ellipk(1 - 1 / s) / ellipk(1 / s))


def buried_cylinder(depth: float = 1.0, diameter: float = 0.5) -> float:
    """Cylinder under a plane, 2π/acosh(2z/D) (Carslaw and Jaeger; Incropera, DeWitt)."""
    return 2 * math.pi / math.acosh(2 * depth / diameter)


def eccentric_cylinders(outer: float, inner: float, offset: float) -> float:
    """Cylinder within a cylinder, 2π/acosh((D² + d² − 4e²)/(2Dd)), diameters and distance of the axes."""
    return 2 * math.pi / math.acosh((outer**2 + inner**2 - 4 * offset**2) / (2 * outer * inner))


def cylinder_in_square(ratio: float) -> float:
    """Cylinder in a square, side over diameter `ratio`: 2π/ln(8√π/Γ(1/4)² · w/D), the square's conformal radius.

    Exact for a thin cylinder; the square's fourfold symmetry leaves an error of the order (D/w)⁸.
    """
    return 2 * math.pi / math.log(8 * math.sqrt(math.pi) / gamma(0.25) ** 2 * ratio)


def cylinder_between_planes(depth: float, diameter: float) -> float:
    """Cylinder midway between two planes at distance z: 2π/ln(8z/(πD)), exact for a thin one."""
    return 2 * math.pi / math.log(8 * depth / (math.pi * diameter))


def strip_on_half_plane(elliptic: float) -> float:
    """Half-plane between a strip and the confocal half ellipse of elliptic radius ξ: π/ξ (Carslaw and Jaeger)."""
    return math.pi / elliptic


def slab_on_ground(half_slab: float, half_outside: float) -> float:
    """Half-plane, slab |x| < b at 1, ground |x| > c at 0, between them adiabatic: 2 K(k)/K'(k), k = b/c."""
    m = (half_slab / half_outside) ** 2
    return float(2 * ellipk(m) / ellipk(1 - m))


def iso_10211_case_1(x: float, y: float) -> float:
    """Temperature of ISO 10211 reference case 1 in a square of side 1, y from the cold bottom (Fourier series)."""
    return (
        80
        / math.pi
        * sum(
            math.sin(n * math.pi * x) * math.sinh(n * math.pi * y) / math.sinh(n * math.pi) / n
            for n in range(1, 201, 2)
        )
    )


class Layer(NamedTuple):
    """A layer of the series: thickness [m], conductivity across and along it [W/(m·K)]."""

    thickness: float
    across: float
    along: float


def through(layers: Sequence[Layer], r_si: float, r_se: float, g: float) -> tuple[float, float]:
    """Flux into the outside film per kelvin of outside temperature, and the inner surface's temperature, of one mode.

    The mode varies as cos(g x), or as J0(g r) round an axis, along the layers; g = 0 is the plain series.
    Starts at the inner surface with a temperature of 1 and the flux 1/R_si into the room, and goes outward.
    """
    value, flux, scale = 1.0, 1.0 / r_si, 1.0
    for layer in layers:
        if g == 0:
            value += flux * layer.thickness / layer.across
            continue
        root, k = g * math.sqrt(layer.along / layer.across), math.sqrt(layer.along * layer.across)
        t = math.tanh(root * layer.thickness)
        value, flux = value + flux * t / (k * g), flux + value * k * g * t
        scale *= 2 * math.exp(-root * layer.thickness) / (1 + math.exp(-2 * root * layer.thickness))
    outside = value + flux * r_se
    return flux / outside, scale / outside


SLAB = [Layer(0.2, 0.7, 0.7), Layer(0.1, 0.04, 0.04), Layer(0.1, 1.0, 1.0)]
"""Layers of check value 5 from inside out."""
GRAINED = [Layer(0.05, 0.13, 0.13), Layer(0.1, 0.13, 0.24), Layer(0.05, 0.9, 0.9)]
"""Plaster board, timber with its grain along the layer, render; from inside out."""


def outdoor_pieces(
    layers: Sequence[Layer], temperatures: Sequence[float], inside: float, r_si: float, r_se: float, terms: int = 20000
) -> tuple[list[float], Callable[[float], float]]:
    """Flow from each of equal outdoor pieces into a slab 1 m wide [W/m], and its inner surface's temperature at x.

    A cosine series. The terms of a flow fall like 1/(R_se n²); what the plain film would make is summed in closed form
    (the piece's whole own flow into a surface at 0) and only the difference term by term.
    """
    count = len(temperatures)
    ends = [k / count for k in range(count + 1)]
    mean = sum(temperatures) / count
    u = 1 / (r_si + sum(layer.thickness / layer.across for layer in layers) + r_se)
    flows = [(mean - inside) * u / count + (t - mean) / r_se / count for t in temperatures]
    modes = []
    for n in range(1, terms + 1):
        g = n * math.pi
        shares = [(math.sin(g * ends[k + 1]) - math.sin(g * ends[k])) / g for k in range(count)]
        amplitude = 2 * sum(t * s for t, s in zip(temperatures, shares, strict=True))
        flux, surface = through(layers, r_si, r_se, g)
        for k in range(count):
            flows[k] += amplitude * shares[k] * (flux - 1 / r_se)
        if n <= 400:
            modes.append((g, amplitude * surface))
    base = inside + (mean - inside) * u * r_si

    def surface_temperature(x: float) -> float:
        return base + sum(a * math.cos(g * x) for g, a in modes)

    return flows, surface_temperature


def disc_and_ring(terms: int = 20000) -> tuple[float, float]:
    """Flow from an outdoor disc of 10 °C and from the ring of 0 °C round it into a cylinder of 100 mm [W].

    Layers from inside out 40 mm of 0.2 and 60 mm of 0.8 W/(m·K), R_si 0.13, R_se 0.04, inside 20 °C, mantle adiabatic,
    disc of 50 mm. Modes J0(j r/a) with J1(j) = 0; a series of Bessel functions.
    """
    a, b, warm, inside, r_si, r_se = 0.1, 0.05, 10.0, 20.0, 0.13, 0.04
    layers = [Layer(0.04, 0.2, 0.2), Layer(0.06, 0.8, 0.8)]
    mean = warm * (b / a) ** 2
    whole, disc = math.pi * a**2, math.pi * b**2
    u = 1 / (r_si + sum(layer.thickness / layer.across for layer in layers) + r_se)
    from_disc = (mean - inside) * u * disc + (warm - mean) / r_se * disc
    roots = jn_zeros(1, terms)
    for root in roots:
        g = float(root) / a
        share = 2 * math.pi * b * float(j1(g * b)) / g  # of the mode over the disc
        amplitude = warm * share / (whole * float(j0(root)) ** 2)
        from_disc += amplitude * share * (through(layers, r_si, r_se, g)[0] - 1 / r_se)
    total = (mean - inside) * u * whole
    return from_disc, total - from_disc


def straight_fin(half: float, length: float, conductivity: float, film: float, terms: int = 4000) -> float:
    """Half a straight fin from a base one kelvin warmer than the air, tip adiabatic [W/(m·K)].

    Carslaw and Jaeger, Conduction of Heat in Solids, ch. V (remembered): modes cos(x y/t) with x tan x = Bi.
    Terms fall like 1/x²·tanh; what is cut off is below 2 Bi² k/(π² terms) and is added as its integral.
    """
    biot = half / film / conductivity
    flow = 0.0
    for n in range(terms):
        low, high = n * math.pi, n * math.pi + math.pi / 2
        x = float(brentq(lambda x: x * math.sin(x) - biot * math.cos(x), low + 1e-12, high))
        amplitude = 2 * math.sin(x) / (x + math.sin(x) * math.cos(x))
        flow += conductivity * amplitude * math.sin(x) * math.tanh(x * length / half)
    # beyond: sin x ≈ Bi/x, so a term is 2 k Bi²/x³ and the rest 2 k Bi²/(2π (n π)²)
    return flow + conductivity * biot**2 / (math.pi * (terms * math.pi) ** 2)


def pin_fin(radius: float, length: float, conductivity: float, film: float, terms: int = 4000) -> float:
    """Pin fin from a base one kelvin warmer than the air, tip adiabatic [W/K].

    Carslaw and Jaeger, ch. VIII (remembered): modes J0(x r/a) with x J1(x) = Bi J0(x); the rest like that of a fin.
    """
    biot = radius / film / conductivity
    flow = 0.0
    zeros = [0.0, *jn_zeros(0, terms).tolist()]
    tops = [0.0, *jn_zeros(1, terms).tolist()]
    for n in range(terms):
        x = float(brentq(lambda x: x * j1(x) - biot * j0(x), tops[n] + 1e-12, zeros[n + 1]))
        amplitude = 2 * biot / ((x**2 + biot**2) * j0(x))
        flow += conductivity * amplitude * math.tanh(x * length / radius) * 2 * math.pi * radius * float(j1(x))
    # beyond: a term is 4π r k Bi²/x³
    return flow + 2 * conductivity * radius * biot**2 / (terms * math.pi) ** 2


def lattice_sum(order: int) -> float:
    """Σ over the square lattice of 1/z^order without z = 0, by Hurwitz' series; order 4, 8, 12 …, and π for 2."""
    if order == 2:
        return math.pi  # of a long needle of cells, as Rayleigh sums it
    if order % 4:
        return 0.0
    q = [n ** (order - 1) / math.expm1(2 * math.pi * n) for n in range(1, 40)]
    zeta = sum(n**-order for n in range(1, 2000))
    return 2 * zeta + 2 * (2 * math.pi) ** order / math.factorial(order - 1) * sum(q)


def square_array(ratio: float, fraction: float, terms: int = 30) -> float:
    """Effective conductivity of a square array of cylinders in a matrix of 1 (Rayleigh; Perrins, McKenzie, McPhedran).

    Rayleigh's identity A_l = E δ_l1 − Σ_m C(l+m−1, l) S_(l+m) B_m, with A_l = B_l a^(−2l) (1+σ)/(1−σ) at the cylinder,
    for odd l and m; the effective conductivity is 1 − 2π B_1/E.
    """
    radius = math.sqrt(fraction / math.pi)
    orders = range(1, 2 * terms, 2)
    # scaled by a^l, so that the matrix stays well conditioned
    matrix = np.zeros((terms, terms))
    for row, el in enumerate(orders):
        for column, m in enumerate(orders):
            matrix[row, column] = math.comb(el + m - 1, el) * lattice_sum(el + m) * radius ** (el + m)
        matrix[row, row] += (1 + ratio) / (1 - ratio)
    right = np.zeros(terms)
    right[0] = radius
    return 1 - 2 * math.pi * radius * float(np.linalg.solve(matrix, right)[0])


def hollow_sphere(inner: float, outer: float, conductivity: float, r_in: float, r_out: float) -> float:
    """Hollow sphere with films, resistances in series [W/K]."""
    layer = (1 / inner - 1 / outer) / (4 * math.pi * conductivity)
    return 1 / (layer + r_in / (4 * math.pi * inner**2) + r_out / (4 * math.pi * outer**2))


def pipe(inner: float, outer: float, conductivity: float, r_in: float, r_out: float, length: float) -> float:
    """Pipe with films, resistances in series (ISO 12241) [W/K]."""
    layer = math.log(outer / inner) / (2 * math.pi * conductivity)
    return length / (layer + r_in / (2 * math.pi * inner) + r_out / (2 * math.pi * outer))


def disc_on_half_space(radius: float, conductivity: float, elliptic: float) -> float:
    """Half-space between a disc and the confocal oblate half spheroid: 2π a k/atan ζ; 4 a k for ζ without end [W/K]."""
    return 2 * math.pi * radius * conductivity / math.atan(elliptic)
