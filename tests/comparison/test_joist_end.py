"""Comparison, not validation: a joist end by an independent finite-volume calculation (check values, section 7).

The values are our own reference, not a published source: the test shows agreement of two methods, no more. They are
printed with two significant digits in χ, so half a unit of the last digit is added to the 1 % asked for. Temperatures
are compared to END, 0.3 % of the 20 K: the finite volumes give the middle of the cell next to the face, not the face.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from bridge2d.calculate import calculate, point_transmittance
from bridge2d.detail import Detail
from bridge2d.junctions.joist_pocket import JoistPocket, build
from bridge2d.section_results import solve_section
from tests.shapes import rectangle, section, surface

END = 0.06
"""Tolerance of the end face's temperature [K]."""
BARE = {"render_thickness": 0, "parge_thickness": 0, "cavity_thickness": 0, "board_thickness": 0,
        "subfloor_thickness": 0, "ceiling_thickness": 0, "end_gap": 0, "side_gap": 0}  # fmt: skip


def joist(insulation: float) -> Detail:
    return build(
        JoistPocket(
            **BARE,
            airtight_layer="none",
            masonry_thickness=330,
            masonry_material={"conductivity": 0.77, "basis": "check value"},
            insulation_thickness=insulation,
            bay_insulation_thickness=insulation,
            insulation_material={"conductivity": 0.040, "basis": "check value"},
            joist_material={"conductivity": 0.13, "basis": "check value"},
            joist_width=50,
            joist_depth=200,
            joist_spacing=400,
            bearing_length=100,
            inside_temperature=20,
            outside_temperature=0,
        )
    )


@pytest.mark.parametrize(("insulation", "chi", "end"), [(0, -0.0054, 10.07), (60, 0.0041, 3.36)])
def test_plan_through_the_joist(insulation: float, chi: float, end: float) -> None:
    result = calculate(joist(insulation), 1e-4)
    assert result.chi is not None
    assert result.chi.value.value == pytest.approx(chi, abs=0.00005 + 0.01 * abs(chi))
    plan = result.sections[0]
    assert plan.probes[0].temperature == pytest.approx(end, abs=max(END, 0.01 * end))


@pytest.mark.parametrize(("insulation", "chi", "end"), [(0, -0.0078, 7.77), (60, 0.0010, 3.08)])
def test_upright_section_with_the_joist_as_an_endless_slab(insulation: float, chi: float, end: float) -> None:
    detail = joist(insulation)
    upright = solve_section(
        replace(detail.sections[2], psi_half_width=2e-4, flanking=detail.sections[1].flanking), 1e-4
    )
    assert upright.l2d is not None
    extra = upright.l2d.value - sum(e.u_value * e.lengths["external"] for e in upright.flanking)
    assert extra * 0.05 == pytest.approx(chi, abs=0.00005 + 0.01 * abs(chi))
    assert upright.probes[0].temperature == pytest.approx(end, abs=max(END, 0.01 * end))


@pytest.mark.parametrize(("insulation", "chi", "end"), [(0, -0.0032, 11.18), (60, 0.0070, 3.44)])
def test_upright_section_with_conductivities_weighted_by_area(insulation: float, chi: float, end: float) -> None:
    share = 50 / 400
    face = 330 + insulation
    smeared_brick = share * 0.13 + (1 - share) * 0.77
    regions = [rectangle(0.77, 0, -1500, 330, 1700), rectangle(smeared_brick, 230, 0, 330, 200)]
    if insulation:
        smeared = share * 0.13 + (1 - share) * 0.040
        regions += [rectangle(0.040, 330, -1500, face, 1700), rectangle(smeared, 330, 0, face, 200)]
    # The joist is cut off at the wall's inner face: this is what reproduces the reference's model.
    of = section(
        regions,
        {"outside": 0, "inside": 20},
        [
            surface("outside", 0.04, (0, -1500), (0, 1700)),
            surface("inside", 0.13, (face, 1700), (face, -1500)),
        ],
        probes={"end": (230, 100)},
    )
    result = solve_section(replace(of, psi_half_width=2e-4), 1e-4)
    assert result.l2d is not None
    u = 1 / (0.04 + 0.33 / 0.77 + insulation / 1000 / 0.040 + 0.13)
    assert (result.l2d.value - u * 3.2) * 0.4 == pytest.approx(chi, abs=0.00005 + 0.01 * abs(chi))
    assert result.probes[0].temperature == pytest.approx(end, abs=max(END, 0.01 * end))


def test_a_joist_of_wall_has_no_chi() -> None:
    # Exact: where the joist is masonry within the wall and nothing in the room, χ = 0.
    detail = joist(60)
    plan = detail.sections[0]
    kept = tuple(r for r in plan.regions if r.name != "joist")
    inside = plan.surfaces[1]
    level = inside.edge[0][1]
    plain = replace(plan, regions=kept, surfaces=(plan.surfaces[0], replace(inside, edge=((0.2, level), (0.0, level)))),
                    watched=(), probes=())  # fmt: skip
    chi = point_transmittance(detail, (solve_section(plain, 1e-3),))
    assert chi is not None
    assert abs(chi.value.value) < 1e-12
