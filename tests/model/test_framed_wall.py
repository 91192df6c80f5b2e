"""The framed wall: U from its section within the limits of ISO 6946, and the wall of layers where studs vanish."""

from __future__ import annotations

import json
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from bridge2d.calculate import calculate
from bridge2d.detail_file import load
from bridge2d.errors import InputError, SectionError
from bridge2d.junctions.framed_wall import JUNCTION
from bridge2d.module_transmittance import combined
from bridge2d.module_words import combined_words
from bridge2d.results import DetailResult, ModuleTransmittance
from bridge2d.tables import as_json, as_text
from tests import built_junctions
from tests.random_parameters import assert_airtight_line_is_unbroken, assert_declared_well, unit

TOLLHOUSE = Path(__file__).parents[2] / "details" / "tollhouse_framed_wall.toml"


built = partial(built_junctions.built, JUNCTION)


def solved(tolerance: float = 1e-3, **changes: Any) -> ModuleTransmittance:
    found = calculate(built(**changes), tolerance).u_section
    assert found is not None
    return found


# -- reductions ------------------------------------------------------------------------------------------------------

FILLED: dict[str, Any] = {
    "stud_material": unit(0.04),
    "insulation_material": unit(0.04),
    "batten_material": unit(0.036),
    "cavity_filling": unit(0.036),
}


@pytest.mark.parametrize("position", ["between studs", "in line"])
def test_studs_of_insulation_and_battens_of_filling_give_the_wall_of_layers(position: str) -> None:
    found = solved(batten_position=position, **FILLED)
    # Exact: 380 mm brick 0.68, 15 mm parge 1.0, 30 mm cellulose 0.04, 100 mm 0.04, 40 mm 0.036, 12.5 mm board 0.25
    layers = 0.38 / 0.68 + 0.015 / 1.0 + 0.03 / 0.04 + 0.1 / 0.04 + 0.04 / 0.036 + 0.0125 / 0.25
    exact = 1.0 / (0.04 + layers + 0.13)
    for number in (found.u_value.lower, found.u_value.upper, found.combined.u_value, found.without.u_value):
        assert number == pytest.approx(exact, abs=1e-6)
    assert abs(found.increase.lower) <= 1e-6
    assert abs(found.increase.upper) <= 1e-6
    assert found.combined.error == pytest.approx(0.0, abs=1e-12)


def test_neither_studs_nor_battens_give_the_wall_of_layers() -> None:
    found = solved(stud_width=0, batten_width=0, cavity_filling="air")
    assert found.u_value.value == pytest.approx(found.without.u_value, abs=1e-6)
    assert [area.name for area in found.combined.areas] == ["everywhere"]


@pytest.mark.parametrize("position", ["between studs", "in line"])
@pytest.mark.parametrize("changes", [{}, {"gap_thickness": 0, "cavity_filling": "air"}, {"stud_material": "oak"}])
def test_u_of_the_section_lies_between_the_limits_of_iso_6946(position: str, changes: dict[str, Any]) -> None:
    # Exact: adiabatic planes between areas lower the flow, isothermal planes between layers raise it.
    found = solved(1e-4, batten_position=position, **changes)
    assert 1 / found.combined.upper < found.u_value.lower
    assert found.u_value.upper < 1 / found.combined.lower
    assert found.increase.lower > 0


def test_bracket_of_u_is_at_most_half_a_thousandth_wide_on_either_side() -> None:
    assert solved(tolerance=0.05).u_value.half_width <= 0.0005


# -- the combined method -------------------------------------------------------------------------------------------


def test_areas_and_layers_are_those_of_the_section() -> None:
    found = combined(built(gap_thickness=0, sheathing_thickness=15, render_thickness=20).sections[0])
    assert [area.name for area in found.areas] == [
        "stud, service cavity",
        "insulation, service cavity",
        "insulation, batten",
    ]
    # Exact: 60 and 50 of 625 mm
    assert [area.fraction for area in found.areas] == pytest.approx([60 / 625, 515 / 625, 50 / 625])
    assert [round(1000 * thickness, 6) for _, thickness, _ in found.layers] == [20, 380, 15, 100, 15, 40, 12.5]
    assert found.layers[3][0] == "stud / insulation"
    assert found.layers[3][2] == pytest.approx(1 / (60 / 625 / (0.1 / 0.13) + 565 / 625 / (0.1 / 0.04)))


def test_studs_that_lead_heat_too_well_leave_no_combined_method() -> None:
    """Steel through the insulation: R' is more than one and a half times R'' (ISO 6946:2017, 6.7.2.1)."""
    found = combined(built(stud_material="steel", stud_width=2).sections[0])
    assert found.lower * 1.5 < found.upper or found.upper * 1.5 < found.lower
    assert "; not to be used: " in combined_words(found)
    assert "not to be used" not in combined_words(combined(built().sections[0]))


def test_a_wall_that_is_drawn_askew_has_no_combined_method() -> None:
    section = built().sections[0]
    first, *others = section.regions
    (x, y), *rest = first.polygon
    askew = replace(section, regions=(replace(first, polygon=((x + 0.001, y), *rest)), *others))
    with pytest.raises(SectionError, match="is no rectangle along the axes") as caught:
        combined(askew)
    assert caught.value.item == ("region", 0)
    with pytest.raises(SectionError, match="leaves a gap between planes of symmetry"):
        combined(replace(section, regions=tuple(one for one in section.regions if one.name != "gap")))


def test_battens_in_line_wider_than_the_studs_make_an_area_of_their_own() -> None:
    areas = combined(built(batten_position="in line", batten_width=80).sections[0]).areas
    assert [area.name for area in areas] == ["stud, batten", "insulation, batten", "insulation, service cavity"]
    assert [area.fraction for area in areas] == pytest.approx([60 / 625, 20 / 625, 545 / 625])


def test_battens_between_the_studs_may_overlap_them() -> None:
    found = solved(1e-4, stud_width=120, stud_spacing=200, batten_width=120)
    assert [area.name for area in found.combined.areas] == [
        "stud, service cavity",
        "stud, batten",
        "insulation, batten",
    ]
    assert 1 / found.combined.upper < found.u_value.lower
    assert found.u_value.upper < 1 / found.combined.lower


def test_combined_method_by_hand() -> None:
    # Exact: studs of 60 mm at 600 mm (share 0.1), one layer of 100 mm beside the masonry, no battens.
    found = solved(
        stud_spacing=600,
        stud_material=unit(0.13),
        insulation_material=unit(0.04),
        masonry_thickness=400,
        masonry_material=unit(0.8),
        parge_thickness=0,
        gap_thickness=0,
        cavity_thickness=0,
        board_thickness=0,
    ).combined
    rest = 0.13 + 0.5 + 0.04
    assert found.upper == pytest.approx(1 / (0.1 / (rest + 0.1 / 0.13) + 0.9 / (rest + 2.5)))
    assert found.lower == pytest.approx(rest + 1 / (0.1 * 1.3 + 0.9 * 0.4))
    assert found.u_value == pytest.approx(2 / (found.upper + found.lower))
    assert found.error == pytest.approx((found.upper - found.lower) / (found.upper + found.lower))


def test_metal_studs_are_refused_by_the_combined_method_alone() -> None:
    found = solved(stud_material="steel", stud_width=2)
    assert "metal" in found.combined.objection
    assert 1 / found.combined.upper < found.u_value.value < 1 / found.combined.lower


def test_limits_too_far_apart_are_an_objection() -> None:
    assert solved().combined.objection == ""
    found = combined(built(stud_material=unit(20), stud_width=20).sections[0])
    assert found.ratio > 1.5
    assert "1.5" in found.objection


# -- geometry --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("position", ["between studs", "in line"])
def test_declarations_and_airtight_layer(position: str) -> None:
    assert_declared_well(JUNCTION, built(batten_position=position))
    for layer in ("membrane", "sheathing", "parge coat"):
        detail = built(batten_position=position, airtight_layer=layer, sheathing_thickness=15)
        assert_airtight_line_is_unbroken(detail)
        assert [piece.name for piece in detail.sections[0].airtight] == [layer]


def test_every_length_is_shown_where_all_pieces_are_there() -> None:
    shown = {d.parameter for d in built(render_thickness=20, sheathing_thickness=15).sections[0].dimensions}
    lengths = {name for name in JUNCTION.parameters.model_fields if name.endswith(("_thickness", "_width", "_spacing"))}
    assert shown == lengths


def test_timber_conducts_across_its_grain() -> None:
    assert all(region.grain_direction is None for region in built().sections[0].regions)


def test_free_studs_are_warmer_and_leak_less() -> None:
    # The same insulation, once in front of the studs' outer face and once wholly between them.
    against = calculate(built(gap_thickness=0, insulation_thickness=130))
    free = calculate(built(gap_thickness=30, insulation_thickness=100))
    assert against.u_section is not None
    assert free.u_section is not None
    assert free.u_section.u_value.upper < against.u_section.u_value.lower
    assert free.sections[0].watched[0].temperature > against.sections[0].watched[0].temperature


def test_factor_over_the_stud_is_that_of_the_coldest_point_where_battens_stand_in_line() -> None:
    result = calculate(built(batten_position="in line"))
    assert result.u_section is not None
    over, coldest = result.u_section.f_rsi, result.f_rsi[0]
    assert over.point == (0.0, pytest.approx(0.5775))
    assert over.value == pytest.approx(coldest.value, abs=over.tolerance + coldest.tolerance)


def test_air_between_battens_is_a_void_of_their_distance() -> None:
    changes = {"cavity_filling": "air", "cavity_thickness": 100}
    wide = next(r for r in built(batten_width=0, **changes).sections[0].regions if r.name == "service cavity")
    narrow = next(r for r in built(**changes).sections[0].regions if r.name == "service cavity")
    assert narrow.material.conductivity < wide.material.conductivity
    assert "575 mm wide" in narrow.material.source


@pytest.mark.parametrize(
    ("changes", "key"),
    [
        ({"stud_width": 190, "stud_spacing": 200}, "stud_width"),
        ({"batten_width": 190, "stud_spacing": 200}, "batten_width"),
        ({"airtight_layer": "sheathing"}, "airtight_layer"),
        ({"airtight_layer": "parge coat", "parge_thickness": 0}, "airtight_layer"),
        ({"inside_temperature": -10}, "inside_temperature"),
    ],
)
def test_parameters_that_do_not_fit_together_are_named(changes: dict[str, Any], key: str) -> None:
    with pytest.raises(InputError) as caught:
        built(**changes)
    assert caught.value.key == key
    assert caught.value.right


# -- what leaves -----------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def tollhouse() -> DetailResult:
    return calculate(load(TOLLHOUSE).detail)


def test_json_has_u_beside_the_combined_method(tollhouse: DetailResult) -> None:
    document = json.loads(json.dumps(as_json(tollhouse)))
    found = document["u_section"]
    assert found["lower"] <= found["value"] <= found["upper"]
    assert found["value"] == pytest.approx(document["l2d"]["value"] / (found["width"] / 1000), rel=1e-12)
    assert found["increase"]["value"] == pytest.approx(found["value"] - found["without"]["u_value"], abs=1e-12)
    method = found["combined_method"]
    assert method["u_value"] == pytest.approx(2 / (method["upper_limit"] + method["lower_limit"]), rel=1e-12)
    assert sum(area["fraction"] for area in method["areas"]) == pytest.approx(1.0)
    assert len(method["layers"]) == len(method["areas"][0]["resistances"])
    assert document["psi"] == []
    assert document["units"]["u_section"] == "W/(m²·K)"


def test_other_junctions_have_the_key_without_a_value() -> None:
    from bridge2d.junctions.wall_corner import JUNCTION as CORNER

    assert as_json(calculate(CORNER.build(CORNER.parameters()), 0.05))["u_section"] is None


def test_screen_prints_both(tollhouse: DetailResult) -> None:
    text = as_text(tollhouse)
    for words in ("U of the wall, from its section", "U by the combined method", "error up to", "1/R''"):
        assert text.count(words) == 1


def test_a_limit_on_u_is_kept_with_the_whole_bracket(tollhouse: DetailResult) -> None:
    limit = next(one for one in tollhouse.requirements if one.requirement.quantity == "u_value")
    assert tollhouse.u_section is not None
    assert limit.value == tollhouse.u_section.u_value.value
    assert limit.met


@pytest.mark.parametrize(
    ("junction", "quantity", "right"),
    [("framed_wall", "psi", "u_value"), ("wall_corner", "u_value", "psi or f_rsi")],
)
def test_limits_on_what_is_not_there_are_refused(tmp_path: Path, junction: str, quantity: str, right: str) -> None:
    path = tmp_path / "detail.toml"
    dimensions = 'dimensions = "external"\n' if quantity == "psi" else ""
    path.write_text(
        f'junction = "{junction}"\n[[requirement]]\nquantity = "{quantity}"\n{dimensions}maximum = 0.3\nsource = "s"\n',
        encoding="utf-8",
    )
    with pytest.raises(InputError) as caught:
        load(path)
    assert right in caught.value.right
