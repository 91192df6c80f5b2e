"""ISO 10211:2017, annex C (2007: annex A), reference cases 1 and 2.

Case 1 is exact (a Fourier series). Geometry and temperatures of case 2 are published in the validation folder of the
finite-element library Feel++ (toolboxes/heat/cases/Building/ThermalBridgesENISO10211); the standard's own text was not
read.
"""

from __future__ import annotations

import math

import pytest

from bridge2d.section_results import solve_section
from tests.shapes import iso_10211_case_1, iso_10211_case_2

CASE_2 = {"A": 7.1, "B": 0.8, "C": 7.9, "D": 6.3, "E": 0.8, "F": 16.4, "G": 16.3, "H": 16.8, "I": 18.3}  # published


def series(x: float, y: float) -> float:
    """Exact temperature of case 1 in a square of side 1, y from the cold bottom."""
    return (
        80
        / math.pi
        * sum(
            math.sin(n * math.pi * x) * math.sinh(n * math.pi * y) / math.sinh(n * math.pi) / n
            for n in range(1, 201, 2)
        )
    )


@pytest.mark.parametrize("mesher", ["grid", "gmsh"])
def test_case_1_is_within_0_005_k_of_the_series(mesher: str) -> None:
    result = solve_section(iso_10211_case_1(), 1e-3, mesher)
    assert len(result.probes) == 28
    for probe in result.probes:
        exact = series(probe.point[0] / 0.8, probe.point[1] / 0.8)
        assert probe.temperature == pytest.approx(exact, abs=0.005), probe.name


def test_case_1_has_no_finite_flow_and_says_so() -> None:
    result = solve_section(iso_10211_case_1(), 1e-3)
    assert result.l2d is None
    assert result.heat_flows == ()
    assert result.coupling == ()
    assert any("touch in a point" in warning for warning in result.warnings)


@pytest.mark.parametrize("mesher", ["grid", "gmsh"])
def test_case_2_temperatures(mesher: str) -> None:
    # The standard prints one decimal: half a unit of it, and the 0.02 K asked of us.
    result = solve_section(iso_10211_case_2(), 1e-3, mesher)
    assert {p.name for p in result.probes} == set(CASE_2)
    for probe in result.probes:
        assert abs(probe.temperature - CASE_2[probe.name]) <= 0.05 + 0.02, probe.name


@pytest.mark.parametrize("mesher", ["grid", "gmsh"])
def test_case_2_flow_has_a_bracket_inside_9_490_to_9_493(mesher: str) -> None:
    # 9.5 W/m is published; the narrower band is a recomputation by finite volumes, noted in the check values.
    result = solve_section(iso_10211_case_2(), 1e-4, mesher)
    assert result.l2d is not None
    lower, upper = 20 * result.l2d.lower, 20 * result.l2d.upper
    assert 9.490 <= lower <= upper <= 9.493
    flows = {flow.environment: flow.flow for flow in result.heat_flows}
    assert flows["inside"].value == pytest.approx(9.5, abs=0.05)
    assert flows["outside"].value == pytest.approx(-flows["inside"].value, rel=1e-9)


def test_two_meshers_agree_on_the_temperatures_of_case_2_within_0_02_k() -> None:
    grid, gmsh = (solve_section(iso_10211_case_2(), 1e-4, mesher) for mesher in ("grid", "gmsh"))
    for one, other in zip(grid.probes, gmsh.probes, strict=True):
        assert abs(one.temperature - other.temperature) <= 0.02, one.name
