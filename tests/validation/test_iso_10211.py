"""ISO 10211:2017, annex C, reference case 2: both meshers against each other; else it is a published case."""

from __future__ import annotations

import pytest

from bridge2d.section_results import solve_section
from tests.shapes import iso_10211_case_2


def test_two_meshers_agree_on_the_temperatures_of_case_2_within_0_02_k() -> None:
    grid, gmsh = (solve_section(iso_10211_case_2(), 1e-4, mesher) for mesher in ("grid", "gmsh"))
    for one, other in zip(grid.probes, gmsh.probes, strict=True):
        assert abs(one.temperature - other.temperature) <= 0.02, one.name


@pytest.mark.parametrize("mesher", ["grid", "gmsh"])
def test_case_2_balances(mesher: str) -> None:
    flows = {f.environment: f.flow for f in solve_section(iso_10211_case_2(), 1e-4, mesher).heat_flows}
    assert flows["outside"].value == pytest.approx(-flows["inside"].value, rel=1e-9)
