"""ISO 10077-2:2012, annex D, frames D.4 (wood) and D.7 (PVC), with computed cavities.

Polygons and conductivities are published with the open-source library SPHinXsys (two-dimensional window-frame examples
D4 and D7) and in Ji, Wu, Zhang, Hu, arXiv 2501.08795. The table's values of L2D and U_f are remembered; the tight band
around them is ours (the standard accepts 3 % and 5 %).
"""

from __future__ import annotations

import pytest

from bridge2d.detail import Cavity, Point, Region, Section, Surface
from bridge2d.results import SectionResult
from bridge2d.section_results import solve_section
from tests.shapes import material, mm, rectangle, section, surface

EPDM, PANEL = 0.25, 0.035
CORNER = 0.20
"""Surface resistance where radiation is reduced [m²·K/W]."""


def polygon(conductivity: float, *points: Point) -> Region:
    return Region(f"{conductivity:g}", material(conductivity), mm(*points))


def hollow(*points: Point, slight: bool = False, computed: bool = False) -> Region:
    return Region("cavity", material(0.1), mm(*points), cavity=Cavity(slight, computed_temperatures=computed))


def box(x0: float, y0: float, x1: float, y1: float) -> tuple[Point, ...]:
    return (x0, y0), (x1, y0), (x1, y1), (x0, y1)


def inside(*runs: tuple[float, tuple[Point, ...]]) -> list[Surface]:
    return [surface("inside", resistance, *points) for resistance, points in runs]


def wood_frame(computed: bool = False) -> Section:
    outline = [(0, 5), (0, 71), (26, 71), (26, 88), (110, 88), (110, 51), (300, 51), (300, 23), (110, 23), (110, 5)]
    regions = [
        polygon(0.13, *outline),
        rectangle(EPDM, 26, 71, 42, 74),
        rectangle(EPDM, 48, 20, 63, 23),
        rectangle(EPDM, 95, 51, 110, 54),
        rectangle(EPDM, 95, 20, 110, 23),
        rectangle(PANEL, 95, 23, 300, 51),
        hollow(*box(42, 20, 48, 74), computed=computed),
        hollow(*box(90, 20, 95, 54), computed=computed),
        hollow(*box(63, 5, 68, 23), slight=True, computed=computed),
    ]
    surfaces = [
        *inside(
            (0.13, ((0, 71), (9, 71))),
            (CORNER, ((9, 71), (26, 71), (26, 88))),
            (0.13, ((26, 88), (110, 88))),
            (CORNER, ((110, 88), (110, 51), (140, 51))),
            (0.13, ((140, 51), (300, 51))),
        ),
        surface("outside", 0.04, (0, 5), (110, 5), (110, 23), (300, 23)),
    ]
    return section(regions, {"outside": 0, "inside": 20}, surfaces)


def pvc_frame(computed: bool = False) -> Section:
    outline = [
        (0, 5),
        (0, 104),
        (31, 104),
        (31, 92),
        (48, 92),
        (48, 64),
        (238, 64),
        (238, 40),
        (48, 40),
        (48, 34),
        (31, 5),
    ]
    bead = [(31, 67), (31, 73), (21, 73), (21, 79), (31, 79), (31, 92), (48, 92), (48, 67)]
    chambers = [
        [(3, 70), (3, 101), (28, 101), (28, 85), (15, 85), (15, 70)],
        [(18, 73), (18, 82), (28, 82), (28, 79), (21, 79), (21, 73)],
        [*box(33, 70, 45, 89)],
        [(3, 54), (3, 67), (28, 67), (28, 48), (21, 48), (21, 54)],
        [*box(31, 37, 36, 67)],
        [(3, 16), (3, 51), (18, 51), (18, 40), (9, 16)],
        [(9, 8), (9, 13), (12, 13), (21, 40), (21, 45), (28, 45), (28, 34), (45, 34), (28, 8)],
    ]
    regions = [
        polygon(0.17, *outline),
        polygon(EPDM, *bead),
        rectangle(EPDM, 36, 37, 48, 40),
        rectangle(EPDM, 36, 64, 48, 67),
        rectangle(PANEL, 36, 40, 238, 64),
        *[hollow(*chamber, computed=computed) for chamber in chambers],
        hollow(*box(3, 5, 6, 13), slight=True, computed=computed),
    ]
    surfaces = [
        *inside(
            (0.13, ((0, 104), (31, 104))),
            (CORNER, ((31, 104), (31, 92), (43, 92))),
            (0.13, ((43, 92), (48, 92))),
            (CORNER, ((48, 92), (48, 64), (76, 64))),
            (0.13, ((76, 64), (238, 64))),
        ),
        surface("outside", 0.04, (0, 5), (31, 5), (48, 34), (48, 40), (238, 40)),
    ]
    return section(regions, {"outside": 0, "inside": 20}, surfaces)


def u_frame(result: SectionResult, panel: float, width: float) -> float:
    """U_f = (L2D − U_panel · 0.190)/b [W/(m²·K)], ISO 10077-2:2012, annex C (remembered)."""
    assert result.l2d is not None
    return (result.l2d.value - 0.190 / (0.13 + 0.04 + panel / PANEL)) / width


def test_d4_wood() -> None:
    result = solve_section(wood_frame(), 1e-3)
    assert result.l2d is not None
    assert result.l2d.value == pytest.approx(0.346, abs=0.001)
    assert u_frame(result, 0.028, 0.110) == pytest.approx(1.36, abs=0.01)


def test_d7_pvc() -> None:
    result = solve_section(pvc_frame(), 1e-3)
    assert result.l2d is not None
    assert result.l2d.value == pytest.approx(0.285, abs=0.002)
    assert u_frame(result, 0.024, 0.048) == pytest.approx(1.31, abs=0.03)


def test_conductivities_of_the_chambers() -> None:
    # Remembered, in the order of the chambers above. The standard's rounded radiation constant makes 0.3 %, and for the
    # last one, of nine corners, the remembered value is 0.7 % off what area and box make; D.7 hangs on neither.
    expected = [0.1187, 0.0450, 0.0815, 0.0789, 0.1156, 0.1283, 0.1194]
    result = solve_section(pvc_frame(), 1e-2)
    found = [r.material.conductivity for r in result.section.regions if r.cavity is not None]
    assert found[:7] == pytest.approx(expected, rel=1.2e-2)
    assert any("frozen" in warning for warning in result.warnings)


@pytest.mark.parametrize("frame", [wood_frame, pvc_frame])
def test_computed_temperatures_stay_within_the_standards_acceptance(frame: object) -> None:
    # With the cavities' own temperatures instead of 10 °C and 10 K: within the 3 % that the standard accepts on L2D.
    assert callable(frame)
    plain, computed = (solve_section(frame(computed=c), 1e-3).l2d for c in (False, True))
    assert plain is not None
    assert computed is not None
    assert computed.value == pytest.approx(plain.value, rel=0.03)
    assert computed.value != plain.value
