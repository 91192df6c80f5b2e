"""The joist pocket: any parameters within their limits make three sound sections, or one clear refusal."""

from __future__ import annotations

from typing import Any

import pytest

from bridge2d.calculate import calculate, point_transmittance
from bridge2d.detail import Detail
from bridge2d.errors import InputError
from bridge2d.junctions.declaration import MaterialChoice, describe
from bridge2d.junctions.joist_pocket import JoistPocket, build
from bridge2d.section_results import solve_section
from tests.random_parameters import unit


def joist(**changes: Any) -> Detail:
    return build(JoistPocket(**changes))


def test_grain_runs_along_the_joist() -> None:
    detail = joist()
    plan, _, through = detail.sections
    assert next(r for r in plan.regions if r.name == "joist").grain_direction == 90.0
    assert next(r for r in through.regions if r.name == "joist").grain_direction == 0.0
    boards = next(r for r in through.regions if r.name == "subfloor")
    assert boards.grain_direction is None  # boards span from joist to joist, out of the drawing


def test_air_gaps_follow_iso_6946() -> None:
    # Remembered table values of ISO 6946 for 15 and 25 mm, horizontal: 0.17 and 0.18 m²·K/W; as a void of 20 × 100 mm
    # it radiates less, F = ½(1 + √(1 + 0.2²) − 0.2) = 0.91, so its resistance is somewhat higher.
    gap = next(r for r in joist().sections[0].regions if r.name == "gap at the end")
    assert 0.18 <= 0.020 / gap.material.conductivity <= 0.20
    assert "ISO 6946" in gap.material.source


def test_more_insulation_makes_the_end_colder() -> None:
    ends = []
    for thickness in (20, 60, 120):
        result = calculate(joist(insulation_thickness=thickness, bay_insulation_thickness=thickness))
        ends.append(min(w.temperature for s in result.sections for w in s.watched))
    assert ends[0] > ends[1] > ends[2]


@pytest.mark.parametrize(("width", "conductivity", "gap"), [(80, 0.04, 0), (80, 0.04, 20), (60, 0.5, 10)])
def test_a_joist_of_insulation_has_no_chi(width: int, conductivity: float, gap: int) -> None:
    # Exact: along y wall, fillings and joist conduct alike, so that the wall's temperatures depend on its depth alone
    # where the joist's root takes up as much as the wall's face beside it, h = 1/R_b. The joist in the room is a long
    # fin of λ and width b with two faces, which takes up √(2 λ h/b) at its root: the same where R_b = b/2λ. A fin
    # that is equally warm across conducts without limit there; 100 W/(m·K) is enough.
    same = unit(conductivity)
    detail = joist(
        masonry_material=same,
        parge_material=same,
        insulation_material=same,
        gap_filling=same,
        end_gap=gap,
        side_gap=gap / 2,
        joist_width=width,
        joist_material={"conductivity": [conductivity, 100.0], "basis": "test"},
        bay_resistance=width / 1000 / (2 * conductivity),
    )
    chi = point_transmittance(detail, (solve_section(detail.sections[0], 1e-5),))
    assert chi is not None
    assert abs(chi.value.lower) <= 1e-6
    assert abs(chi.value.upper) <= 1e-6


def test_a_joist_along_whose_grain_heat_flows_faster_leaks_more() -> None:
    plain = joist(joist_material={"conductivity": 0.13, "basis": "test"})
    grained = joist(joist_material={"conductivity": [0.23, 0.13], "basis": "test"})
    one, other = (calculate(d).chi for d in (plain, grained))
    assert one is not None
    assert other is not None
    assert other.value.lower > one.value.upper


@pytest.mark.parametrize(
    ("changes", "key"),
    [
        ({"bearing_length": 360}, "bearing_length"),
        ({"joist_spacing": 200, "joist_width": 190}, "joist_spacing"),
        ({"inside_temperature": -10}, "inside_temperature"),
    ],
)
def test_parameters_that_do_not_fit_together_are_named(changes: dict[str, Any], key: str) -> None:
    with pytest.raises(InputError) as caught:
        joist(**changes)
    assert caught.value.key == key
    assert caught.value.right


def test_basis_of_an_override_reaches_the_regions() -> None:
    detail = joist(insulation_material={"material": "mineral foam board", "conductivity": 0.042, "basis": "option A"})
    region = next(r for r in detail.sections[1].regions if r.name == "insulation")
    assert region.basis == "option A"
    assert region.material.conductivity == 0.042


def test_three_lengths_of_the_wall() -> None:
    upright = joist().sections[1]
    total = {d: sum(e.lengths[d] for e in upright.flanking) for d in ("external", "internal", "overall_internal")}
    assert total["external"] == pytest.approx(total["overall_internal"])
    assert total["external"] - total["internal"] == pytest.approx(0.024 + 0.22 + 0.025)


def test_material_choices_are_from_the_catalogue() -> None:
    for info in describe(JoistPocket):
        if isinstance(info.default, MaterialChoice):
            assert info.default.material.source


def test_every_part_keeps_its_own_basis() -> None:
    one = {"material": "softwood", "conductivity": 0.12, "basis": "measured"}
    other = {"material": "softwood", "conductivity": 0.14, "basis": "guessed"}
    through = joist(joist_material=one, subfloor_material=other).sections[2]
    bases = {region.name: region.basis for region in through.regions}
    assert bases["joist"] == "measured"
    assert bases["subfloor"] == "guessed"
    assert bases["masonry"] == ""


def test_overriding_a_timber_keeps_its_grain() -> None:
    # The catalogue's own value, given again, changes nothing.
    plain = calculate(joist()).chi
    same = calculate(joist(joist_material={"material": "softwood", "conductivity": 0.13, "basis": "as is"})).chi
    assert plain is not None
    assert same is not None
    assert same.value == plain.value


@pytest.mark.parametrize(
    ("changes", "key"),
    [
        ({"parge_thickness": 0}, "airtight_layer"),
        ({"parge_thickness": 0, "airtight_layer": "membrane", "bay_insulation_thickness": 0}, "parge_thickness"),
    ],
)
def test_bare_masonry_is_not_airtight(changes: dict[str, Any], key: str) -> None:
    with pytest.raises(InputError, match="parge_thickness is 0") as caught:
        joist(**changes)
    assert caught.value.key == key


def test_the_airtight_line_stops_at_the_joist() -> None:
    through = joist().sections[2]
    drawn = [piece for piece in through.airtight if not piece.through]
    for piece in drawn:
        for x, y in piece.line:
            assert not (x <= 0.395 and 0.0 < y < 0.22), piece  # the joist's own body at the parge coat
    assert [piece.name for piece in through.airtight].count("tape to the joist") == 2
    assert joist(airtight_layer="none").sections[0].airtight == ()


def test_every_cut_is_checked() -> None:
    result = calculate(joist(), tolerance=1e-2)
    names = [[check.name for check in section.checks] for section in result.sections]
    assert "cut-off plane of the joist in the room" in names[0]
    assert "cut-off plane of the floor in the room" in names[1]
    assert {"cut-off plane of the wall above", "cut-off plane of the wall below"} <= set(names[2])
    assert all(check.met for section in result.sections for check in section.checks)
