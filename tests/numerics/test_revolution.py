"""Solids of revolution: both bounds against closed forms, their order, scaling, balance, and what is refused."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import dblquad, quad
from scipy.optimize import brentq
from scipy.special import j0, j1

from bridge2d.detail import Cavity, FlankingElement, Section
from bridge2d.errors import SectionError
from bridge2d.results import Bounded, SectionResult
from bridge2d.revolution import side_weights, weights
from bridge2d.section_check import check_section
from bridge2d.section_results import solve_section
from tests.shapes import mm, rectangle, section, surface

ONE = {"one": 1.0, "other": 0.0}
MESHERS = ("grid", "gmsh")


def turned(of: Section) -> Section:
    return replace(of, revolution=True, psi_half_width=1e3)


def solved(of: Section, tolerance: float = 1e-4, mesher: str = "auto") -> SectionResult:
    return solve_section(turned(of), tolerance, mesher)


def l3d(of: Section, tolerance: float = 1e-4, mesher: str = "auto") -> Bounded:
    found = solved(of, tolerance, mesher).l2d
    assert found is not None
    return found


def assert_holds(bracket: Bounded, exact: float, width: float) -> None:
    assert bracket.lower <= exact * (1 + 1e-12)
    assert bracket.upper >= exact * (1 - 1e-12)
    assert bracket.half_width <= width * exact


@pytest.mark.parametrize(
    "corners", [(0.1, 0.2, 0.35), (0.2, 0.0, 0.3), (0.0, 0.3, 0.0), (1e-2, 1.0, 0.4), (1.0, 2.0, 2.0)]
)
def test_triangle_weights_are_the_integrals(corners: tuple[float, float, float]) -> None:
    # Exact: adaptive quadrature of the same integrals.
    area = 0.7
    found = weights(np.array([corners]), np.array([area]))

    def integral(v: int, w: int, power: int) -> float:
        def inside(b: float, a: float) -> float:
            share = (1 - a - b, a, b)
            radius = max(float(np.dot(corners, share)), 1e-300)
            return 2 * area * share[v] * share[w] * (2 * math.pi * radius) ** power

        return float(dblquad(inside, 0, 1, 0, lambda a: 1 - a, epsabs=1e-12, epsrel=1e-9)[0])

    for v in range(3):
        for w in range(3):
            assert found.times[0, v, w] == pytest.approx(integral(v, w, 1), rel=1e-8)
            if corners[v] and corners[w]:
                assert found.over[0, v, w] == pytest.approx(integral(v, w, -1), rel=1e-8)
            else:
                assert found.over[0, v, w] == 0


@pytest.mark.parametrize(
    "ends", [(0.1, 0.3), (0.3, 0.1), (0.2, 0.2), (0.2, 0.20001), (0.0, 0.4), (0.4, 0.0), (1e-5, 1.0)]
)
def test_side_weights_are_the_integrals(ends: tuple[float, float]) -> None:
    times, over = side_weights(np.array(ends[:1]), np.array(ends[1:]), np.array([0.5]))
    assert times.sum() / 2 == pytest.approx(math.pi * 0.5 * sum(ends))
    for a in range(2):
        for b in range(2):
            if ends[a] and ends[b]:
                exact = quad(
                    lambda s, a=a, b=b: (
                        0.5 * (1 - s, s)[a] * (1 - s, s)[b] / (2 * math.pi * ((1 - s) * ends[0] + s * ends[1]))
                    ),
                    0,
                    1,
                    limit=300,
                )[0]
                assert over[0, a, b] == pytest.approx(exact, rel=1e-9)
            else:
                assert over[0, a, b] == 0


@pytest.mark.parametrize("mesher", MESHERS)
@pytest.mark.parametrize("inner", [0.0, 20.0])
def test_a_plane_layer_is_exact(mesher: str, inner: float) -> None:
    # Exact: U·A of a disc or a ring.
    plane = section(
        [rectangle(0.5, inner, 0, 400, 100)],
        ONE,
        [surface("one", 0.13, (inner, 100), (400, 100)), surface("other", 0.04, (inner, 0), (400, 0))],
    )
    assert_holds(l3d(plane, mesher=mesher), math.pi * (0.16 - (inner / 1000) ** 2) / 0.37, 1e-11)


def test_a_rod_in_parallel_with_its_surroundings_is_exact() -> None:
    # Exact: both carry heat along the axis only.
    rod = section(
        [rectangle(0.5, 0, 0, 100, 100), rectangle(50, 0, 0, 5, 100)],
        ONE,
        [surface("one", 0, (0, 100), (100, 100)), surface("other", 0, (0, 0), (100, 0))],
    )
    exact = math.pi * ((0.01 - 0.005**2) * 0.5 + 0.005**2 * 50) / 0.1
    assert_holds(l3d(rod), exact, 1e-11)


@pytest.mark.parametrize("mesher", MESHERS)
def test_a_pipe_with_films_lies_in_the_bracket(mesher: str) -> None:
    # Exact: resistances in series per length, ISO 12241, 4.1.
    pipe = section(
        [rectangle(0.5, 20, 0, 100, 300)],
        ONE,
        [surface("one", 0.05, (20, 0), (20, 300)), surface("other", 0.1, (100, 0), (100, 300))],
    )
    series = math.log(5) / (2 * math.pi * 0.5) + 0.05 / (2 * math.pi * 0.02) + 0.1 / (2 * math.pi * 0.1)
    assert_holds(l3d(pipe, mesher=mesher), 0.3 / series, 1e-4)


@pytest.mark.parametrize("mesher", MESHERS)
def test_a_pin_fin_lies_in_the_bracket(mesher: str) -> None:
    # Exact: Carslaw and Jaeger, Conduction of Heat in Solids, ch. VIII (remembered): a rod from a base of given
    # temperature, its mantle in still air, its tip adiabatic; a series of Bessel functions.
    radius, length, conductivity, film = 0.05, 0.2, 0.6, 0.08
    biot = radius / film / conductivity

    def condition(x: float) -> float:
        return float(x * j1(x) - biot * j0(x))

    grid = np.linspace(1e-9, 3000, 100_000)
    sign = grid * j1(grid) - biot * j0(grid)
    roots = np.array([brentq(condition, grid[k], grid[k + 1]) for k in np.flatnonzero(sign[:-1] * sign[1:] < 0)])
    share = 2 * biot / ((roots**2 + biot**2) * j0(roots))
    exact = float(np.sum(conductivity * share * np.tanh(roots * length / radius) * 2 * math.pi * radius * j1(roots)))
    fin = section(
        [rectangle(0.6, 0, 0, 50, 200)],
        ONE,
        [surface("one", 0, (0, 0), (50, 0)), surface("other", film, (50, 0), (50, 200))],
    )
    # The series is cut off where 1e-4 of it is missing at most.
    bracket = l3d(fin, 1e-3, mesher)
    assert bracket.lower <= exact * (1 + 1e-4)
    assert bracket.upper >= exact
    assert bracket.half_width <= 1e-3 * exact


tiles = st.lists(st.floats(-1.5, 1.5).map(lambda e: round(10.0**e, 6)), min_size=6, max_size=6)


@settings(max_examples=25)
@given(tiles, st.sampled_from([0.0, 0.04]), st.sampled_from([0.0, 30.0]))
def test_random_sections_keep_order_balance_and_scale(k: list[float], film: float, inner: float) -> None:
    edges = (inner, inner + 20, inner + 60, inner + 100)
    regions = [
        rectangle(k[3 * j + i], edges[i], 40.0 * j, edges[i + 1], 40.0 * (j + 1)) for i in range(3) for j in range(2)
    ]
    surfaces = [
        surface("one", film, (inner, 80), (edges[2], 80)),
        surface("other", 0.1, (edges[3], 0), (inner, 0)),
    ]
    result = solved(section(regions, ONE, surfaces), 1e-2)
    assert result.l2d is not None
    assert 0 < result.l2d.lower <= result.l2d.upper
    assert result.balance <= 1e-9
    assert all(-1e-9 <= t <= 1 + 1e-9 for t in result.fields.temperature[: len(result.fields.temperature) // 4])
    doubled = [
        rectangle(2 * k[3 * j + i], edges[i], 40.0 * j, edges[i + 1], 40.0 * (j + 1))
        for i in range(3)
        for j in range(2)
    ]
    halved = [replace(s, resistance=s.resistance / 2, f_rsi_resistance=s.resistance / 2) for s in surfaces]
    again = l3d(section(doubled, ONE, halved), 1e-2)
    assert again.value == pytest.approx(2 * result.l2d.value, rel=1e-2)


@settings(max_examples=10)
@given(tiles)
def test_both_meshers_agree(k: list[float]) -> None:
    regions = [
        rectangle(k[0], 0, 0, 100, 80),
        rectangle(k[1], 0, 0, 30, 80),
        rectangle(k[2], 0, 20, 60, 40),
    ]
    surfaces = [surface("one", 0.04, (0, 80), (100, 80)), surface("other", 0.1, (100, 0), (0, 0))]
    one, other = (l3d(section(regions, ONE, surfaces), 1e-3, mesher) for mesher in MESHERS)
    assert one.lower <= other.upper
    assert other.lower <= one.upper


def test_a_thin_ring_far_from_the_axis_is_a_plane_section() -> None:
    # Between 10.0 m and 10.1 m the circumference changes by 1 %: L3D lies within that of 2πr·L2D.
    def nib(start: float) -> Section:
        regions = [rectangle(1.0, start, 0, start + 100, 100), rectangle(10.0, start, 0, start + 30, 60)]
        surfaces = [
            surface("one", 0.1, (start, 100), (start + 100, 100)),
            surface("other", 0.04, (start, 0), (start + 100, 0)),
        ]
        return replace(section(regions, ONE, surfaces), psi_half_width=1e3)

    plane = solve_section(nib(10_000), 1e-4).l2d
    assert plane is not None
    ring = l3d(nib(10_000))
    assert 2 * math.pi * 10.0 * plane.lower <= ring.upper
    assert ring.lower <= 2 * math.pi * 10.1 * plane.upper


def test_a_duct_s_element_is_the_pipe_itself() -> None:
    # Exact: U per outer area times that area is the pipe's whole loss.
    pipe = section(
        [rectangle(0.5, 20, 0, 60, 1500), rectangle(0.04, 60, 0, 100, 1500)],
        ONE,
        [surface("other", 0.05, (20, 0), (20, 1500)), surface("one", 0.1, (100, 0), (100, 1500))],
        (FlankingElement("pipe", (mm((20, 1500))[0], mm((100, 1500))[0]), {"external": 2 * math.pi * 0.1 * 1.5}),),
    )
    result = solved(pipe)
    (element,) = result.flanking
    assert result.l2d is not None
    assert_holds(result.l2d, element.u_value * element.lengths["external"], 1e-4)


def cylinder() -> Section:
    return turned(
        section(
            [rectangle(1.0, 0, 0, 100, 100)],
            ONE,
            [surface("one", 0.1, (0, 100), (100, 100)), surface("other", 0.04, (0, 0), (100, 0))],
        )
    )


def test_what_has_no_place_round_an_axis_is_refused() -> None:
    sound = cylinder()
    check_section(sound)
    beyond = replace(sound, regions=(*sound.regions, rectangle(2.0, -10, 0, 10, 50)))
    cavity = replace(sound, regions=(replace(sound.regions[0], cavity=Cavity()),))
    on_axis = replace(sound, surfaces=(*sound.surfaces, surface("one", 0.1, (0, 20), (0, 60))))
    for wrong, words in ((beyond, "beyond the axis"), (cavity, "cavity"), (on_axis, "axis of revolution")):
        with pytest.raises(SectionError, match=words):
            check_section(wrong)
    ring = replace(
        sound,
        regions=(replace(sound.regions[0], holes=(mm((40, 40), (60, 40), (60, 60), (40, 60)),)),),
        surfaces=(*sound.surfaces, surface("one", 0.1, (40, 40), (60, 40), (60, 60), (40, 60), (40, 40))),
    )
    with pytest.raises(SectionError, match="makes a ring"):
        solve_section(ring, 1e-2)


def test_a_bubble_on_the_axis_gives_off_its_heat() -> None:
    # A hollow on the axis that is warm: ψ differs above and below it. Its flow has to balance the outside's.
    regions = [rectangle(1.0, 0, 0, 100, 40), rectangle(1.0, 30, 40, 100, 60), rectangle(1.0, 0, 60, 100, 100)]
    surfaces = [
        surface("one", 0.1, (0, 60), (30, 60), (30, 40), (0, 40)),
        surface("other", 0.04, (100, 0), (100, 100)),
    ]
    result = solved(section(regions, ONE, surfaces), 1e-3)
    assert result.l2d is not None
    assert 0 < result.l2d.lower <= result.l2d.upper
    assert result.l2d.half_width <= 1e-3 * result.l2d.value
    assert result.balance <= 1e-9


@pytest.mark.parametrize("mesher", ["grid", "gmsh"])
def test_rounding_does_not_push_the_bracket_off_the_exact_value(mesher: str) -> None:
    """Both fields are exact here, so that nothing but rounding is left between the bounds, and more than usual."""
    layers = ((0.0407, 0, 25), (0.828, 25, 30), (1.42, 30, 280), (197, 280, 281))
    regions = [rectangle(conductivity, 20, low, 80, high) for conductivity, low, high in layers]
    surfaces = [surface("one", 0.22, (20, 0), (80, 0)), surface("other", 0.248, (20, 281), (80, 281))]
    ring = replace(section(regions, {"one": 9.0, "other": 37.0}, surfaces), revolution=True)
    found = solve_section(ring, 1e-2, mesher).l2d
    resistance = 0.22 + 0.025 / 0.0407 + 0.005 / 0.828 + 0.25 / 1.42 + 0.001 / 197 + 0.248
    exact = math.pi * (0.08**2 - 0.02**2) / resistance  # ISO 6946: layers in series over the ring's area
    assert found is not None
    assert found.lower <= exact <= found.upper
    assert found.upper - found.lower < 1e-9 * exact
