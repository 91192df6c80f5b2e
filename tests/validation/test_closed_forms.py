"""Closed forms that are no published case: exact to rounding, or by symmetry. All are evaluated here."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bridge2d.detail import FlankingElement, Region, Section
from bridge2d.results import Bounded
from bridge2d.section_results import solve_section
from tests.shapes import material, mm, section, slab, strip, surface


def l2d(of: Section, tolerance: float = 1e-3, mesher: str = "auto") -> Bounded:
    result = solve_section(of, tolerance, mesher).l2d
    assert result is not None
    assert result.lower <= result.upper
    return result


def inside(bracket: Bounded, exact: float) -> bool:
    return bracket.lower <= exact <= bracket.upper


@pytest.mark.parametrize("mesher", ["grid", "gmsh"])
def test_plane_wall_to_1e_12(mesher: str) -> None:
    exact = 1 / (0.13 + 0.1 / 1.0 + 0.1 / 0.04 + 0.2 / 0.7 + 0.04)  # layers in series
    bracket = l2d(slab({"outside": 0}), mesher=mesher)
    assert bracket.value == pytest.approx(exact, rel=1e-12)
    assert inside(bracket, exact)
    assert bracket.half_width < 1e-10


@pytest.mark.parametrize(("direction", "conductivity"), [(0.0, 0.13), (90.0, 0.23), (180.0, 0.13), (270.0, 0.23)])
def test_plane_wall_of_anisotropic_timber_at_any_quarter_turn(direction: float, conductivity: float) -> None:
    # Adiabatic sides would bend the flow at an angle; across and along the grain the plate is plane exactly: λ/d.
    plate = Region("timber", material(0.13, 0.23), mm((0, 0), (1000, 0), (1000, 50), (0, 50)), (), direction)
    of = section([plate], {"a": 0, "b": 1}, [surface("a", 0, (0, 0), (1000, 0)), surface("b", 0, (0, 50), (1000, 50))])
    bracket = l2d(of)
    assert inside(bracket, conductivity / 0.05)
    assert bracket.value == pytest.approx(conductivity / 0.05, rel=1e-12)


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
