"""Closed forms: the exact value has to lie inside the bracket. Sources beside each; all are evaluated here."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from scipy.integrate import quad
from scipy.optimize import brentq
from scipy.special import ellipk

from bridge2d.detail import FlankingElement, Region, Section, Surface
from bridge2d.results import Bounded
from bridge2d.section_results import solve_section
from tests.shapes import (
    circle,
    corner,
    material,
    mm,
    quadrants,
    rectangle,
    ring,
    section,
    slab,
    strip,
    surface,
)

CORNER = 1 - 2 * math.log(2) / math.pi
"""What a two-dimensional corner adds to the shape factor, 0.55873 (conformal map)."""


def l2d(of: Section, tolerance: float = 1e-3, mesher: str = "auto") -> Bounded:
    result = solve_section(of, tolerance, mesher).l2d
    assert result is not None
    assert result.lower <= result.upper
    return result


def inside(bracket: Bounded, exact: float, doubt: float = 0.0) -> bool:
    """Whether the exact value, known to `doubt`, can lie in the bracket."""
    return bracket.lower - doubt <= exact <= bracket.upper + doubt


@pytest.mark.parametrize("mesher", ["grid", "gmsh"])
def test_plane_wall_to_1e_12(mesher: str) -> None:
    exact = 1 / (0.13 + 0.1 / 1.0 + 0.1 / 0.04 + 0.2 / 0.7 + 0.04)  # layers in series
    bracket = l2d(slab({"outside": 0}), mesher=mesher)
    assert bracket.value == pytest.approx(exact, rel=1e-12)
    assert inside(bracket, exact)
    assert bracket.half_width < 1e-10


def test_plane_wall_of_anisotropic_timber_at_an_angle() -> None:
    # Adiabatic sides would bend the flow; with prescribed temperatures on all of a wide plate's faces the middle is
    # plane, so take the grain along and across, where the plate is plane exactly: λ/d.
    for direction, conductivity in ((0.0, 0.13), (90.0, 0.23), (180.0, 0.13), (270.0, 0.23)):
        plate = Region("timber", material(0.13, 0.23), mm((0, 0), (1000, 0), (1000, 50), (0, 50)), (), direction)
        of = section(
            [plate], {"a": 0, "b": 1}, [surface("a", 0, (0, 0), (1000, 0)), surface("b", 0, (0, 50), (1000, 50))]
        )
        bracket = l2d(of)
        assert inside(bracket, conductivity / 0.05)
        assert bracket.value == pytest.approx(conductivity / 0.05, rel=1e-12)


@pytest.mark.parametrize("mesher", ["grid", "gmsh"])
def test_corner_of_two_equal_walls(mesher: str) -> None:
    # S = (a + b)/t + 1 − (2 ln 2)/π, exact for legs that are long against t; at a = 10 t what is missing is e^(−10 π).
    assert inside(l2d(corner(1000, 100), mesher=mesher), 20 + CORNER)


@pytest.mark.parametrize("mesher", ["grid", "gmsh"])
def test_thin_square_ring(mesher: str) -> None:
    # 8/(q − 1) + 4 · 0.55873; for q = 1.2 the corners are 10 t apart and what is missing is below 1e-12.
    h = 500.0
    bracket = l2d(ring(1.2 * 2 * h, mm((-h, -h), (h, -h), (h, h), (-h, h))), mesher=mesher)
    assert inside(bracket, 8 / 0.2 + 4 * CORNER)


@pytest.mark.parametrize("mesher", ["grid", "gmsh"])
def test_thick_square_ring(mesher: str) -> None:
    # For q = 2 the formula of thin walls, 10.2349, is no longer exact: corners are 2 t apart and disturb each other.
    # The exact value, 10.2341, comes from a conformal map of one eighth of the ring.
    h = 500.0
    bracket = l2d(ring(4 * h, mm((-h, -h), (h, -h), (h, h), (-h, h))), mesher=mesher)
    assert inside(bracket, square_in_square(2.0))
    assert abs(bracket.value - (8 + 4 * CORNER)) < 2e-3


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


def test_the_map_of_the_square_ring_meets_the_formula_of_thin_walls() -> None:
    assert square_in_square(1.2) == pytest.approx(8 / 0.2 + 4 * CORNER, abs=1e-7)
    assert square_in_square(2.0) == pytest.approx(10.2341, abs=1e-4)


def test_cylinder_in_a_square() -> None:
    # 2π/ln(1.0787 w/D): the factor 1.0787 is rounded to four decimals, so the value is known to 3e-5 of itself; the
    # polygon of 360 sides with the circle's area is off by 1e-5 at most.
    exact = 2 * math.pi / math.log(1.0787 * 5)
    bracket = l2d(ring(1000, circle(100, 360)))
    assert inside(bracket, exact, doubt=4e-5 * exact)


def test_buried_cylinder() -> None:
    # 2π/acosh(2z/D), half-plane: exact. The isotherms are circles, so the half-plane can be cut along one of them:
    # a circle round the focus at depth c = sqrt(z² − (D/2)²); here the outer cut is the circle at a tenth of the span.
    z, diameter = 1.0, 0.5
    c = math.sqrt(z**2 - diameter**2 / 4)
    span = math.acosh(2 * z / diameter)
    share = 0.4
    radius, depth = c / math.sinh(share * span), c / math.tanh(share * span)
    outer = circle(1000 * radius, 180, (0.0, -depth))
    inner = circle(1000 * diameter / 2, 180, (0.0, -z))
    of = section(
        [Region("ground", material(1.0), outer, holes=(inner,))],
        {"ground": share, "pipe": 1.0},
        [],
    )
    of = replace(
        of,
        surfaces=(Surface("ground", (*outer, outer[0]), 0, 0), Surface("pipe", (*inner, inner[0]), 0, 0)),
    )
    exact = 2 * math.pi / span / (1 - share)
    assert 2 * math.pi / span == pytest.approx(3.045009, abs=1e-6)  # as the check value prints it
    assert inside(l2d(of), exact, doubt=4e-5 * exact)


@pytest.mark.parametrize("ratio", [4.0, 10.0])
@pytest.mark.parametrize("mesher", ["grid", "gmsh"])
def test_quadrants(ratio: float, mesher: str) -> None:
    # Keller (1964), Dykhne (1970): the geometric mean, exactly.
    assert inside(l2d(quadrants(ratio), mesher=mesher), math.sqrt(ratio))


def two_outdoor_temperatures() -> tuple[float, float, dict[float, float]]:
    """Exact flow to the left, flow from the right [W/m] and inner surface temperatures of the slab, by a cosine series.

    Half of the outside at 0, half at 10 °C, the film's conductance 25; the terms of the flow fall like 25/n², so their
    limit is summed in closed form (Σ 1/n² over odd n is π²/8) and only the difference term by term.
    """
    layers = [(0.2, 0.7), (0.1, 0.04), (0.1, 1.0)]  # from inside out: thickness [m], conductivity

    def outside_in(n: int) -> tuple[float, float]:
        """Flow at the outside per unit of outdoor temperature of the n-th mode, and the inner surface's temperature."""
        value, flux, scale = 1.0, 1 / 0.13, 1.0  # inner surface at 1, outward flux into the room
        for thickness, k in layers:
            g = n * math.pi
            if n == 0:
                value += flux * thickness / k
            else:
                t = math.tanh(g * thickness)
                value, flux = value + flux * t / (k * g), flux + value * k * g * t
                scale *= math.exp(-g * thickness) * 2 / (1 + math.exp(-2 * g * thickness))
        outdoor = value + flux * 0.04
        return flux / outdoor, scale / outdoor

    flow = limit = 0.0
    surface_at = dict.fromkeys((0.0, 0.5, 1.0), 0.0)
    for n in range(1, 20001, 2):
        admittance, inner = outside_in(n)
        weight = 20 / (n * math.pi) ** 2
        flow += weight * (25 - admittance)
        amplitude = -20 * math.sin(n * math.pi / 2) / (n * math.pi)
        for x in surface_at:
            surface_at[x] += amplitude * inner * math.cos(n * math.pi * x)
    limit = 20 * 25 / 8
    mean_u = outside_in(0)[0]
    half = (20 - 5) * mean_u / 2
    exchanged = limit - flow
    mean_surface = 20 - (20 - 5) * mean_u * 0.13
    return half + exchanged, exchanged - half, {x: mean_surface + t for x, t in surface_at.items()}


def test_three_environments() -> None:
    # The check values print 9.584322 and 4.675486, a series cut off where 6e-5 are missing; here it is summed out.
    result = solve_section(slab({"left": 0, "right": 10}), 1e-5)
    flows = {flow.environment: flow.flow for flow in result.heat_flows}
    to_left, from_right, surface_at = two_outdoor_temperatures()
    assert to_left == pytest.approx(9.584322, abs=1e-4)
    assert from_right == pytest.approx(4.675486, abs=1e-4)
    doubt = 1e-8
    assert inside(flows["left"], -to_left, doubt)
    assert inside(flows["right"], from_right, doubt)
    assert inside(flows["inside"], to_left - from_right, doubt)
    assert to_left - from_right == pytest.approx(4.908836, abs=1e-6)
    published = {"left": 19.189178, "middle": 19.361851, "right": 19.534525}
    for probe in result.probes:
        assert probe.temperature == pytest.approx(surface_at[probe.point[0]], abs=1e-3), probe.name
        assert surface_at[probe.point[0]] == pytest.approx(published[probe.name], abs=1e-6), probe.name
    total = sum(flow.flow.value for flow in result.heat_flows)
    assert abs(total) < 1e-9


@pytest.mark.parametrize(("area_fraction", "exact"), [(0.2, 1.39146), (0.5, 2.41546)])
def test_square_array_of_cylinders(area_fraction: float, exact: float) -> None:
    # Perrins, McKenzie and McPhedran (1979), conductivity ratio 10; digits as the check values print them. A quarter of
    # the cell has the same effective conductivity.
    radius = 1000 * math.sqrt(area_fraction / math.pi)
    arc = [(radius * math.cos(a), radius * math.sin(a)) for a in (math.pi / 2 * k / 90 for k in range(91))]
    grown = math.sqrt(math.pi / 180 / math.sin(math.pi / 180))  # the polygon has the quarter circle's area
    quarter = Region("cylinder", material(10.0), mm((0, 0), *[(grown * x, grown * y) for x, y in arc]))
    of = section(
        [rectangle(1.0, 0, 0, 500, 500), quarter],
        {"left": 0, "right": 1},
        [surface("left", 0, (0, 0), (0, 500)), surface("right", 0, (500, 0), (500, 500))],
    )
    assert inside(l2d(of), exact, doubt=5e-5 * exact)


def test_ground_slab_between_wall_strips() -> None:
    # q' = (2kΔT/π)[ln(1 + B/w) + (B/w) ln(1 + w/B)], half-plane, the temperature rising linearly across the strips.
    # Not prescribed temperatures on one strip: checked as a formula only, at the printed digits.
    b, w, k = 8.0, 0.3, 2.0
    value = 2 * k / math.pi * (math.log(1 + b / w) + b / w * math.log(1 + w / b))
    assert value == pytest.approx(5.477393, abs=1e-6)


def test_series_and_parallel_strips() -> None:
    # Columns in series and rows in parallel, exact.
    assert inside(l2d(strip([[1.0], [0.04], [0.7]], 300.0)), 1 / (1 / 1.0 + 1 / 0.04 + 1 / 0.7))
    assert inside(l2d(strip([[1.0, 0.04, 0.7]], 100.0, 300.0)), 1.0 + 0.04 + 0.7)


def test_u_value_of_a_flanking_element_equals_the_plane_wall() -> None:
    of = slab({"outside": 0})
    of = replace(of, flanking=(FlankingElement("wall", ((1.0, 0.0), (1.0, 0.4)), {"external": 1.0}),))
    result = solve_section(of, 1e-3)
    assert result.l2d is not None
    assert result.flanking[0].u_value == pytest.approx(result.l2d.value, rel=1e-12)
