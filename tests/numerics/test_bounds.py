"""What the two bounds must survive: order, duality, scaling, symmetry, balance, orders of convergence."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from bridge2d.bounds import turned_inverse
from bridge2d.detail import Environment, Region, Section, Surface
from bridge2d.errors import SectionError
from bridge2d.heat_flow import conditions, temperatures
from bridge2d.mesh import mesh_section, refine
from bridge2d.refinement import settle
from bridge2d.results import Bounded
from bridge2d.section_results import solve_section
from bridge2d.solution import Solution, solve, tensors
from bridge2d.spaces import space
from tests.shapes import material, mm, quadrants, rectangle, section, strip, surface

conductivities = st.floats(-1.5, 1.5).map(lambda e: round(10.0**e, 6))
tilings = st.integers(1, 3).flatmap(
    lambda rows: st.lists(st.lists(conductivities, min_size=rows, max_size=rows), min_size=1, max_size=4)
)


def l2d(of: Section, tolerance: float = 1e-2, mesher: str = "auto") -> Bounded:
    result = solve_section(replace(of, psi_half_width=1e3), tolerance, mesher)
    assert result.l2d is not None
    return result.l2d


@settings(max_examples=80)
@given(tilings)
def test_duality_of_a_section_and_its_inverse(tiles: list[list[float]]) -> None:
    # Exact (Hakula, Rasila, Vuorinen, ETNA 48, 2018): G_x[k] · G_y[1/k] = 1 for any section of this kind.
    size = 120.0
    across = l2d(strip(tiles, size, size))
    inverse = l2d(strip([[1 / k for k in column] for column in tiles], size, size, turned=True))
    assert across.lower <= across.upper
    assert inverse.lower <= inverse.upper
    assert across.lower * inverse.lower <= 1.0 <= across.upper * inverse.upper


@settings(max_examples=25)
@given(tilings)
def test_both_bounds_swap_under_duality_on_the_same_mesh(tiles: list[list[float]]) -> None:
    # The stream function of a section is the temperature of its dual: upper · lower = 1 to rounding, pass by pass.
    one, other = strip(tiles, 120.0, 120.0), strip([[1 / k for k in c] for c in tiles], 120.0, 120.0, turned=True)
    first = solve(mesh_section(one), tensors(one), conditions(one))
    second = solve(mesh_section(other), tensors(other), conditions(other))
    assert first.warm.upper[0, 0] * second.stream.lower[0, 0] == pytest.approx(1.0, rel=1e-9)
    assert first.stream.lower[0, 0] * second.warm.upper[0, 0] == pytest.approx(1.0, rel=1e-9)


@settings(max_examples=40)
@given(tilings, st.floats(0.01, 100.0))
def test_l2d_scales_with_conductivity(tiles: list[list[float]], factor: float) -> None:
    one, other = strip(tiles, 120, 120), strip([[factor * k for k in c] for c in tiles], 120, 120)
    plain, scaled = l2d(one, 0.1), l2d(other, 0.1)  # pass by pass the same
    assert scaled.lower == pytest.approx(factor * plain.lower, rel=1e-9)
    assert scaled.upper == pytest.approx(factor * plain.upper, rel=1e-9)


@settings(max_examples=25)
@given(tilings)
def test_mirror_and_quarter_turn_change_nothing(tiles: list[list[float]]) -> None:
    plain = l2d(strip(tiles, 120, 120))
    mirrored = l2d(strip(tiles[::-1], 120, 120))
    turned = l2d(strip([list(row) for row in zip(*tiles, strict=True)], 120, 120, turned=True))
    for other in (mirrored, turned):
        assert max(plain.lower, other.lower) <= min(plain.upper, other.upper) * (1 + 1e-12)


@settings(max_examples=25)
@given(tilings, st.floats(0.04, 0.5), st.floats(0.04, 0.5))
def test_meshers_are_independent_and_their_brackets_overlap(tiles: list[list[float]], one: float, other: float) -> None:
    of = strip(tiles, 120, 120)
    of = replace(of, surfaces=tuple(replace(s, resistance=r) for s, r in zip(of.surfaces, (one, other), strict=True)))
    grid, gmsh = l2d(of, mesher="grid"), l2d(of, mesher="gmsh")
    assert max(grid.lower, gmsh.lower) <= min(grid.upper, gmsh.upper)


@settings(max_examples=40)
@given(tilings, st.floats(0.0, 0.5), st.floats(-20.0, 40.0), st.floats(-20.0, 40.0))
@example([[1.0]], 0.0, 1.0, 1.0)
def test_balance_and_maximum_principle(tiles: list[list[float]], resistance: float, one: float, other: float) -> None:
    resistance = 0.0 if resistance < 0.01 else resistance
    of = strip(tiles, 120, 120)
    of = replace(
        of,
        environments=(Environment("one", one), Environment("other", other)),
        surfaces=tuple(replace(s, resistance=resistance, f_rsi_resistance=resistance) for s in of.surfaces),
        psi_half_width=1e3,
    )
    result = solve_section(of, 1e-2)
    assert result.balance <= 1e-9
    flows = [flow.flow.value for flow in result.heat_flows]
    assert abs(sum(flows)) <= 1e-9 * max(map(abs, flows)) + 1e-12
    low, high = min(one, other), max(one, other)
    corners = result.fields.temperature[: result.fields.triangles[:, :3].max() + 1]
    slack = 0.02 * (high - low) + 1e-9
    assert corners.min() >= low - slack
    assert corners.max() <= high + slack


def test_the_gap_is_the_difference_of_the_bounds() -> None:
    of = quadrants(10.0)
    of = replace(of, surfaces=tuple(replace(s, resistance=0.1) for s in of.surfaces))
    solution = solve(mesh_section(of), tensors(of), conditions(of))
    assert np.allclose(solution.gap.matrix, solution.warm.upper - solution.stream.lower, rtol=1e-9, atol=1e-12)
    assert solution.gap.triangle.min() >= 0
    assert solution.gap.triangle.sum() == pytest.approx(np.trace(solution.gap.matrix))


def test_energy_equals_heat_flow() -> None:
    of = quadrants(10.0)
    of = replace(of, surfaces=tuple(replace(s, resistance=r) for s, r in zip(of.surfaces, (0.1, 0.0), strict=True)))
    warm = temperatures(space(mesh_section(of)), tensors(of), conditions(of))
    assert warm.upper == pytest.approx(warm.flows, rel=1e-11)


def test_smooth_field_without_corners_converges_with_order_four() -> None:
    # A quarter of an annulus between two films: radial flow. The polygon's corners of nearly 180 degrees do not matter
    # yet at these meshes. Quadratic elements: error in the energy norm of order 2, the gap is its square.
    sides = 32
    angles = [np.pi / 2 * k / sides for k in range(sides + 1)]
    inner = [(100 * np.cos(a), 100 * np.sin(a)) for a in angles]
    outer = [(200 * np.cos(a), 200 * np.sin(a)) for a in angles]
    of = section(
        [Region("ring", material(1.0), mm(*inner, *outer[::-1]))],
        {"in": 1, "out": 0},
        [surface("in", 0.02, *inner), surface("out", 0.02, *outer)],
    )
    mesh = mesh_section(of)
    gaps = []
    for _ in range(3):
        solution = solve(mesh, tensors(of), conditions(of))
        gaps.append(np.trace(solution.gap.matrix))
        mesh = refine(mesh, np.arange(len(solution.on.triangles)))
    orders = np.log2(np.array(gaps[:-1]) / gaps[1:])
    assert orders[-1] > 3.8, orders


def test_any_number_of_adiabatic_pieces() -> None:
    # Four environments on parts of the four sides, with adiabatic pieces between; couplings from one factorisation have
    # to reproduce the flows of any temperatures.
    of = section(
        [rectangle(1.0, 0, 0, 400, 400), rectangle(0.1, 100, 100, 250, 300)],
        {"a": 0, "b": 10, "c": 20, "d": -5},
        [
            surface("a", 0.1, (50, 0), (350, 0)),
            surface("b", 0.0, (400, 100), (400, 200)),
            surface("c", 0.2, (300, 400), (100, 400)),
            surface("d", 0.13, (0, 300), (0, 150)),
        ],
    )
    result = solve_section(of, 1e-4)
    t = {e.name: e.temperature for e in of.environments}
    for flow in result.heat_flows:
        total = 0.0
        for link in result.coupling:
            if flow.environment in (link.start, link.end):
                other = link.end if link.start == flow.environment else link.start
                total += link.coefficient.value * (t[flow.environment] - t[other])
        assert flow.flow.value == pytest.approx(total, rel=1e-9)
    assert result.l2d is None
    assert all(link.coefficient.lower <= link.coefficient.upper for link in result.coupling)
    assert len(result.coupling) == 6


def test_couplings_do_not_depend_on_temperatures() -> None:
    # The coupling of two environments depends on no temperature.
    def of(temperatures_: dict[str, float]) -> Section:
        return section(
            [rectangle(1.0, 0, 0, 300, 100)],
            temperatures_,
            [
                surface("a", 0.1, (0, 0), (300, 0)),
                surface("b", 0.1, (0, 100), (150, 100)),
                surface("c", 0.1, (150, 100), (300, 100)),
            ],
        )

    one = solve_section(of({"a": 0, "b": 10, "c": 20}), 1e-4)
    other = solve_section(of({"a": 7, "b": -3, "c": 1}), 1e-4)
    for first, second in zip(one.coupling, other.coupling, strict=True):
        assert first.coefficient.value == pytest.approx(second.coefficient.value, rel=1e-5)
    # Symmetry: b and c are mirror images.
    by_pair = {(c.start, c.end): c.coefficient.value for c in one.coupling}
    assert by_pair["a", "b"] == pytest.approx(by_pair["a", "c"], rel=1e-3)


@pytest.mark.parametrize("mesher", ["grid", "gmsh"])
def test_two_holes_are_cut(mesher: str) -> None:
    # Symmetry: a block with two equal holes at one temperature is twice a half block with one.
    def holes(*centres: float) -> tuple[tuple[tuple[float, float], ...], ...]:
        return tuple(mm((c - 20, 80), (c + 20, 80), (c + 20, 120), (c - 20, 120)) for c in centres)

    def block(width: float, *centres: float) -> Section:
        cut = holes(*centres)
        surfaces = [surface("outside", 0.04, (0, 0), (width, 0))]
        surfaces += [Surface("pipe", (*hole, hole[0]), 0.1, 0.1) for hole in cut]
        outline = mm((0, 0), (width, 0), (width, 200), (0, 200))
        return section([Region("block", material(1.0), outline, cut)], {"outside": 0, "pipe": 1}, surfaces)

    two = l2d(block(400, 100, 300), 1e-3, mesher)
    one = l2d(block(200, 100), 1e-3, mesher)
    assert max(two.lower, 2 * one.lower) <= min(two.upper, 2 * one.upper)
    assert two.half_width < 1e-3 * two.value


def pierced(*edges: tuple[tuple[float, float], ...]) -> Section:
    """A block with a square hole of 200 mm, outside below, an environment on parts of the hole's rim."""
    block = Region("block", material(1.0), mm((0, 0), (500, 0), (500, 500), (0, 500)))
    hole = mm((150, 150), (350, 150), (350, 350), (150, 350))
    surfaces = [surface("outside", 0.04, (0, 0), (500, 0)), *[surface("duct", 0.1, *edge) for edge in edges]]
    return section([replace(block, holes=(hole,))], {"outside": 0, "duct": 20}, surfaces)


@pytest.mark.parametrize("mesher", ["grid", "gmsh"])
@pytest.mark.parametrize(
    "edges",
    [
        [((150, 150), (350, 150))],
        [((150, 350), (350, 350))],
        [((200, 150), (330, 150)), ((350, 200), (350, 320))],
        [((150, 150), (350, 150), (350, 350), (150, 350), (150, 150))],
        [((240, 150), (241, 150))],
    ],
)
def test_a_hole_may_face_an_environment_on_any_part_of_its_rim(
    edges: list[tuple[tuple[float, float], ...]], mesher: str
) -> None:
    result = solve_section(pierced(*edges), 1e-3, mesher)
    assert result.l2d is not None
    assert 0 < result.l2d.upper - result.l2d.lower <= 1e-3 * result.l2d.value
    assert result.warnings == ()


@pytest.mark.parametrize("thickness", [0.01, 0.05, 0.2, 1.5])
def test_thin_metal_in_insulation_is_solved(thickness: float) -> None:
    # A foil across the heat flow, exact: layers in series.
    of = section(
        [rectangle(0.03, 0, 0, 1000, 100), rectangle(230.0, 0, 50, 1000, 50 + thickness)],
        {"a": 0, "b": 1},
        [surface("a", 0.13, (0, 0), (1000, 0)), surface("b", 0.04, (0, 100), (1000, 100))],
    )
    result = solve_section(of, 1e-3)
    assert result.l2d is not None
    exact = 1 / (0.13 + 0.04 + (0.1 - thickness / 1000) / 0.03 + thickness / 1000 / 230)
    assert result.l2d.lower <= exact <= result.l2d.upper
    # 10 µm of metal, 1 m long: ten decimals are lost to the contrast; ISO 10211 asks for 1e-4.
    assert result.balance <= 1e-7


def test_a_wild_section_ends_in_time_with_a_bracket_that_holds(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("bridge2d.refinement.MOST_UNKNOWNS", 12_000)
    tiles = [[1.0 if (i + j) % 2 else 100.0 for j in range(8)] for i in range(8)]
    result = solve_section(strip(tiles, 80, 80), 1e-6)
    assert result.l2d is not None
    assert result.l2d.lower <= 10.0 <= result.l2d.upper  # exact: the geometric mean (Keller 1964, Dykhne 1970)
    assert result.passes[-1].unknowns <= 12_000
    assert any("refinement ended" in warning for warning in result.warnings)


def test_a_corner_that_holds_the_gap_ends_the_loop() -> None:
    # What lies around such a corner was refined up to the most unknowns there may be, for next to nothing.
    result = solve_section(replace(strip([[1.0, 400.0], [400.0, 1.0]], 120, 120), psi_half_width=1e3), 1e-2)
    assert result.l2d is not None
    assert result.l2d.lower <= 20.0 <= result.l2d.upper  # exact: the geometric mean (Keller 1964, Dykhne 1970)
    assert any("refinement ended" in warning for warning in result.warnings)
    assert result.passes[-1].unknowns < 40_000


def test_a_finer_mesh_that_rounding_spoils_leaves_the_one_before(monkeypatch: pytest.MonkeyPatch) -> None:
    solutions = []

    def spoiled(*given_: Any) -> Solution:
        if len(solutions) == 2:
            raise SectionError("the linear system could not be solved to rounding")
        solutions.append(solve(*given_))
        return solutions[-1]

    monkeypatch.setattr("bridge2d.refinement.solve", spoiled)
    settled = settle(quadrants(100.0), 1e-4)
    assert settled.passes == tuple(solutions)
    assert not settled.complete


def test_a_hole_that_faces_nothing_is_adiabatic_and_named() -> None:
    hole = mm((40, 40), (60, 40), (60, 60), (40, 60))
    of = strip([[1.0]])
    of = replace(of, regions=(replace(of.regions[0], holes=(hole,)),))
    result = solve_section(of, 1e-3)
    assert result.l2d is not None
    assert result.l2d.upper < 1.0
    assert any("hole around" in warning for warning in result.warnings)


def test_timber_at_an_angle_lies_between_across_and_along() -> None:
    def at(direction: float) -> Bounded:
        plate = Region("timber", material(0.13, 0.23), mm((0, 0), (100, 0), (100, 50), (0, 50)), (), direction)
        return l2d(
            section(
                [plate], {"a": 0, "b": 1}, [surface("a", 0, (0, 0), (100, 0)), surface("b", 0, (0, 50), (100, 50))]
            ),
            1e-3,
        )

    assert at(0.0).value < at(30.0).value < at(60.0).value < at(90.0).value
    assert at(30.0).value == pytest.approx(at(-30.0).value, rel=1e-3)
    assert at(30.0).value == pytest.approx(at(210.0).value, rel=1e-6)  # rounding may choose other triangles


@pytest.mark.parametrize("angle", [0.0, 30.0, 45.0, 100.0])
def test_the_turned_inverse_of_an_oblique_grain(angle: float) -> None:
    """Exact: T λ⁻¹ Tᵀ with T a right angle, for wood whose grain runs at any angle."""
    turn = np.deg2rad(angle)
    grain = np.array([np.cos(turn), np.sin(turn)])
    tensor = 0.13 * np.eye(2) + (0.31 - 0.13) * np.outer(grain, grain)
    right = np.array([[0.0, -1.0], [1.0, 0.0]])
    assert turned_inverse(tensor[None])[0] == pytest.approx(right @ np.linalg.inv(tensor) @ right.T, rel=1e-12)
