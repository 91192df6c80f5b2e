"""The airtight layer: unbroken from cut plane to cut plane or not, its changes of piece, its lowest temperature."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bridge2d.airtight_words import airtight_json, airtight_lines
from bridge2d.calculate import calculate
from bridge2d.detail import AirtightPiece, Environment, Section
from bridge2d.errors import SectionError
from bridge2d.junctions.joist_pocket import JoistPocket, build
from bridge2d.results import AirtightResult
from bridge2d.section_check import check_section
from bridge2d.section_results import solve_section
from bridge2d.standards.iso_13788 import dew_point
from tests.shapes import mm, slab


def layered(*pieces: tuple[str, tuple[tuple[float, float], ...]], humidity: float | None = 0.5) -> Section:
    """A plane wall 1 m wide; its sides x = 0 and x = 1000 are cut planes."""
    of = slab({"outside": 0})
    environments = (Environment("inside", 20, humidity), of.environments[1])
    return replace(
        of, environments=environments, airtight=tuple(AirtightPiece(name, mm(*line)) for name, line in pieces)
    )


def found(of: Section) -> AirtightResult:
    result = solve_section(of, 1e-3).airtight
    assert result is not None
    return result


def test_one_line_across_is_unbroken() -> None:
    result = found(layered(("parge coat", ((0, 200), (1000, 200)))))
    assert result.breaks == ()
    assert result.pieces == ("parge coat",)
    # Exact: between insulation and masonry of a plane wall, from the surface resistances of fRsi (0.13 here).
    total = 0.13 + 0.2 / 0.7 + 0.1 / 0.04 + 0.1 / 1.0 + 0.04
    assert result.temperature == pytest.approx(20 - 20 * (0.13 + 0.2 / 0.7) / total, abs=1e-6)
    assert result.dew_point == pytest.approx(dew_point(20, 0.5))


def test_pieces_in_order_with_their_changes() -> None:
    # Drawn out of order and against their sense.
    result = found(
        layered(
            ("board", ((1000, 300), (600, 300))),
            ("membrane", ((0, 200), (400, 200))),
            ("tape", ((400, 200), (600, 300))),
        )
    )
    assert result.breaks == ()
    assert result.pieces == ("board", "tape", "membrane")
    assert [(c.start, c.end) for c in result.changes] == [("board", "tape"), ("tape", "membrane")]
    assert result.changes[1].point == pytest.approx((0.4, 0.2))


def test_a_tape_that_is_drawn_joins_its_neighbours() -> None:
    lines = airtight_lines(
        found(
            layered(
                ("membrane", ((0, 200), (400, 200))),
                ("Tape to the plate", ((400, 200), (600, 200))),
                ("plate", ((600, 200), (700, 200))),
                ("board", ((700, 200), (1000, 200))),
            )
        )
    )
    assert lines[1:3] == [
        "Tape to the plate: joins membrane and plate, from (400, 200) mm to (600, 200) mm",
        "joint of plate and board at (700, 200) mm: tape, sealant or gasket",
    ]


def test_a_gap_is_found_with_its_place() -> None:
    result = found(layered(("membrane", ((0, 200), (400, 200))), ("parge coat", ((412, 200), (1000, 200)))))
    assert len(result.breaks) == 2
    assert result.breaks[0].point == pytest.approx((0.4, 0.2))
    assert "12.0 mm" in result.breaks[0].text
    assert "parge coat" in result.breaks[0].text
    assert any("broken" in line for line in airtight_lines(result))
    spoken = airtight_json(result)
    assert spoken is not None
    assert spoken["unbroken"] is False


def test_what_is_missing_to_the_cut_plane_is_told() -> None:
    """The far end meets the next piece already: that is not what this end misses."""
    plaster, tape = ("plaster", ((400, 200), (900, 200))), ("tape", ((400, 200), (400, 300)))
    result = found(layered(plaster, tape, ("board", ((400, 300), (0, 300)))))
    (one,) = result.breaks
    assert one.point == pytest.approx((0.9, 0.2))
    assert one.text == "100.0 mm are missing to the cut plane"


def test_a_stray_piece_is_named_and_has_no_say_in_the_temperature() -> None:
    line = ("parge coat", ((0, 200), (1000, 200)))
    result = found(layered(line, ("stray strip", ((500, 20), (500, 80)))))
    assert result.pieces == ("parge coat",)
    assert [(one.piece, one.text) for one in result.breaks] == [
        ("stray strip", "it is joined to no line from one cut plane to another")
    ]
    assert result.temperature == pytest.approx(found(layered(line)).temperature)
    # A second line from cut plane to cut plane is none, nor is a branch of the first.
    assert not found(layered(line, ("board", ((0, 300), (1000, 300))))).breaks
    assert not found(layered(line, ("branch", ((500, 200), (500, 300))))).breaks


def test_a_line_that_ends_within_the_section_is_broken() -> None:
    result = found(layered(("membrane", ((0, 200), (700, 200)))))
    assert [b.point for b in result.breaks] == [pytest.approx((0.7, 0.2))]


def test_a_line_that_starts_and_ends_on_one_cut_plane_leads_nowhere() -> None:
    result = found(layered(("membrane", ((0, 200), (500, 200), (500, 100), (0, 100)))))
    assert len(result.breaks) == 1
    assert "from one cut plane to another" in result.breaks[0].text


def test_without_humidity_there_is_no_dew_point() -> None:
    result = found(layered(("membrane", ((0, 200), (1000, 200))), humidity=None))
    assert result.dew_point is None
    assert not any("dew" in line for line in airtight_lines(result))


def test_air_beyond_the_formula_has_no_dew_point() -> None:
    of = layered(("membrane", ((0, 200), (1000, 200))))
    dry = replace(of, environments=(Environment("inside", -36, 0.05), Environment("outside", -40)))
    assert found(dry).dew_point is None


def test_cold_and_warm_layers_are_told_apart() -> None:
    cold = airtight_lines(found(layered(("parge coat", ((0, 100), (1000, 100))))))
    warm = airtight_lines(found(layered(("board", ((0, 400), (1000, 400))))))
    assert any("colder than the dew point" in line for line in cold)
    assert any("warmer than the dew point" in line for line in warm)


def test_a_line_along_a_body_thinner_than_the_slack_is_kept() -> None:
    of = layered(("foil", ((0, 400), (1000, 400))))
    check_section(of)
    thin = build(JoistPocket(parge_thickness=0.5)).sections[1]
    check_section(thin)


def test_a_line_outside_the_section_is_refused() -> None:
    with pytest.raises(SectionError, match="outside the section") as caught:
        check_section(layered(("membrane", ((0, 200), (1000, 450)))))
    assert caught.value.item == ("airtight", 0)


@pytest.mark.parametrize(("layer", "bay"), [("parge coat", 0), ("membrane", 0), ("membrane", 60)])
def test_every_joist_pocket_is_unbroken(layer: str, bay: float) -> None:
    detail = build(JoistPocket(airtight_layer=layer, bay_insulation_thickness=bay))
    sections = calculate(detail, tolerance=1e-2).sections
    for section in sections:
        assert section.airtight is not None
        assert section.airtight.breaks == (), section.section.name
    through = sections[2].airtight
    assert through is not None
    assert "joist" in through.pieces


def test_a_layer_in_a_section_without_cut_planes_leads_nowhere() -> None:
    of = layered(("membrane", ((200, 200), (800, 200))))
    low = min(y for region in of.regions for _, y in region.polygon)
    high = max(y for region in of.regions for _, y in region.polygon)
    sides = [mm(a, b) for a, b in (((0, 1000 * low), (0, 1000 * high)), ((1000, 1000 * low), (1000, 1000 * high)))]
    faces = tuple(replace(of.surfaces[0], edge=side) for side in sides)
    result = found(replace(of, surfaces=(*of.surfaces, *faces)))
    assert [one.text for one in result.breaks] == ["it reaches neither a cut plane nor another piece"] * 2
    assert {one.point for one in result.breaks} == {(0.2, 0.2), (0.8, 0.2)}
