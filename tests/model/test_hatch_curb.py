"""The hatch curb: sound or refused, nothing where hatch and roof are one, and what leaves of the whole hatch."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from bridge2d.calculate import calculate
from bridge2d.detail import Detail, Hatch
from bridge2d.detail_file import load
from bridge2d.errors import InputError
from bridge2d.hatches import hatch_result
from bridge2d.junctions.declaration import describe
from bridge2d.junctions.hatch_curb import JUNCTION
from bridge2d.listings import new_file
from bridge2d.results import Bounded, DetailResult, Psi
from bridge2d.standards import iso_10077_2
from bridge2d.tables import as_json, as_text
from tests.model.test_hatch_frame import whole_frame
from tests.random_parameters import (
    assert_airtight_line_is_unbroken,
    unit,
)

DETAILS = Path(__file__).parents[2] / "details"
DEFAULTS = {info.name: 1000 * (info.default or 0.0) for info in describe(JUNCTION.parameters) if info.unit == "mm"}
SHEETS = ("outer_skin", "inner_skin", "edge")


def built(**changes: Any) -> Detail:
    return JUNCTION.build(JUNCTION.parameters(**changes))


def solved(**changes: Any) -> DetailResult:
    return calculate(built(**changes)) if changes else default()


@cache
def default() -> DetailResult:
    return calculate(built())


# -- reductions, all exact -------------------------------------------------------------------------------------------

SUNK: dict[str, Any] = {
    "joist_depth": 0,
    "lining_thickness": 0,
    "frame_height": 0,
    "gasket_height": 0,
    "upstand_height": -130,
}
"""A roof of 130 mm without ceiling, the lid sunk by as much, lying on nothing."""


def assert_nothing(psi: tuple[Psi, ...]) -> None:
    assert [one.dimensions for one in psi] == ["external", "internal", "overall_internal"]
    for one in psi:
        assert one.value.value == pytest.approx(0.0, abs=1e-6)
        assert one.value.half_width < 1e-6


def test_a_hatch_made_of_roof_has_no_psi() -> None:
    # Three layers of roof, and a lid of the same three at the same level.
    kinds = (("covering", "outer_skin", 10, 0.23), ("boards", "core", 100, 0.04), ("deck", "inner_skin", 20, 0.13))
    layers: dict[str, Any] = {}
    for roof, lid, thickness, conductivity in kinds:
        for name in (roof, lid):
            layers |= {f"{name}_thickness": thickness, f"{name}_material": unit(conductivity)}
    result = solved(**SUNK, **layers, edge_profile="none")
    assert_nothing(result.psi)
    u_roof = 1 / (0.10 + 0.02 / 0.13 + 0.1 / 0.04 + 0.01 / 0.23 + 0.04)
    assert result.hatch is not None
    assert result.hatch.u_lid.value == pytest.approx(u_roof, rel=1e-12)
    assert result.hatch.loss.value == pytest.approx(u_roof * 0.7 * 0.9, abs=5e-6)
    # The test can fail: a bridging edge is a thermal bridge in it.
    bridged = solved(**SUNK, **layers, edge_profile="bridging")
    assert bridged.psi[0].value.lower > 0.05


def test_a_glazed_lid_made_of_roof_has_no_psi() -> None:
    # U_f and U_g are stated for 0.13 and 0.04, so that both blocks have the roof's conductivity.
    u_value = 1 / (0.13 + 0.13 / 0.2 + 0.04)
    result = solved(
        **SUNK,
        covering_thickness=0,
        boards_thickness=0,
        deck_thickness=130,
        deck_material=unit(0.2),
        lid_kind="glazed",
        lid_frame_depth=130,
        glazing_thickness=130,
        frame_transmittance=u_value,
        glazing_transmittance=u_value,
        lid_frame_projection=40,
        edge_transmittance=0.05,
    )
    assert_nothing(result.psi)
    u_roof = 1 / (0.10 + 0.13 / 0.2 + 0.04)
    edge = 0.05 * 2 * (0.62 + 0.82)
    assert result.hatch is not None
    assert result.hatch.u_lid.value == pytest.approx(u_roof + edge / 0.63, rel=1e-12)


def plain(**changes: Any) -> dict[str, Psi]:
    """An upstand of 132.5 mm, joists, lid and all else of one material."""
    materials = {name: unit(0.5) for name in JUNCTION.parameters.model_fields if name.endswith("_material")}
    filled = {"joist_fill": unit(0.5), "edge_profile": "none", "gasket_height": 0}
    result = solved(**{**materials, **filled, **changes})
    return {one.dimensions: one for one in result.psi}


def test_of_one_material_it_does_not_matter_where_pieces_end() -> None:
    kinds = (
        plain(),
        plain(upstand_kind="sandwich"),
        plain(trimmer_width=0, frame_height=0, upstand_height=230),
        plain(upstand_thickness=80, outside_insulation_thickness=30, inside_insulation_thickness=10),
    )
    for other in kinds[1:]:
        for dimensions, one in kinds[0].items():
            found = other[dimensions].value
            assert found.value == pytest.approx(one.value.value, abs=found.half_width + one.value.half_width + 1e-9)


def test_external_and_internal_psi_differ_by_what_lies_over_the_upstand() -> None:
    # Exact: over the upstand's width the lid counts externally and the roof internally.
    found = {one.dimensions: one for one in solved().psi}
    roof, lid = found["external"].terms
    width = 0.0125 + 0.06 + 0.06
    difference = (lid.u_value - roof.u_value) * width
    assert found["internal"].value.value - found["external"].value.value == pytest.approx(difference, abs=1e-9)
    assert found["overall_internal"].value == found["internal"].value


# -- layers ----------------------------------------------------------------------------------------------------------


def test_the_roof_has_the_u_of_the_combined_method() -> None:
    # Exact, ISO 6946, 6.7.2, by hand: 80 mm of softwood 0.13 every 650 mm in cellulose 0.04, heat flow upward
    plane = 0.10 + 0.0125 / 0.25 + 0.024 / 0.13 + 0.12 / 0.05 + 0.01 / 0.23 + 0.04
    share = 80 / 650
    joist, fill = 0.18 / 0.13, 0.18 / 0.04
    upper = 1 / (share / (plane + joist) + (1 - share) / (plane + fill))
    lower = plane + 1 / (share / joist + (1 - share) / fill)
    roof = solved().sections[0].flanking[0]
    assert roof.name == "roof"
    assert roof.u_value == pytest.approx(2 / (upper + lower), rel=1e-12)


def test_air_layers_take_the_heat_flow_upward() -> None:
    # ISO 6946, table 8, remembered: 0.16 m²·K/W for 25 mm and more with heat flow upward, 0.18 level
    section = built(cavity_thickness=40, joist_fill="air").sections[0]
    cavity = next(region for region in section.regions if region.name == "service cavity")
    assert 0.04 / cavity.material.conductivity == pytest.approx(0.16, abs=0.005)


def test_the_joint_is_ventilated_where_there_is_one_gasket() -> None:
    # ISO 10077-2:2012, 6.4.2: twice the conductivity; the joint is as wide as the upstand without its gaskets
    for gaskets, factor, width in ((1, 2.0, 0.1325 - 0.012), (2, 1.0, 0.1325 - 0.024)):
        regions = built(gaskets=gaskets).sections[0].regions
        joint = next(region for region in regions if region.name == "air in the joint")
        expected = factor * iso_10077_2.equivalent_conductivity(0.008, width)
        assert joint.material.conductivity == pytest.approx(expected, rel=1e-12)
        assert len([region for region in regions if region.name == "gasket"]) == gaskets


def test_frame_reveal_and_ceiling_have_their_resistances() -> None:
    # ISO 6946: 0.10 upward, 0.13 level; ISO 13788: 0.25 for opaque surfaces, 0.13 for frames and glazing (remembered)
    def pairs(**changes: Any) -> list[tuple[float, float]]:
        faces = built(**changes).sections[0].surfaces
        return [(f.resistance, f.f_rsi_resistance) for f in faces if f.environment == "inside"]

    assert pairs() == [(0.10, 0.25), (0.13, 0.25), (0.13, 0.13), (0.10, 0.25)]
    glazed = [(0.10, 0.25), (0.13, 0.25), (0.20, 0.25), (0.20, 0.20), (0.20, 0.20), (0.20, 0.20), (0.10, 0.13)]
    assert pairs(lid_kind="glazed") == glazed  # 0.20 in the corners of frames (ISO 10077-2, annex B, remembered)
    # A frame that stands out further has its own 0.10 beyond 30 mm from the corner.
    assert (0.10, 0.13) in pairs(lid_kind="glazed", lid_frame_projection=80)[3:-2]


# -- sense -----------------------------------------------------------------------------------------------------------


def factors(result: DetailResult) -> dict[str, float]:
    assert result.hatch is not None
    return {factor.name: factor.value for factor in result.hatch.factors}


@pytest.mark.parametrize("side", ["outside", "inside"])
def test_insulating_the_upstand_lowers_psi(side: str) -> None:
    steel = {"upstand_kind": "steel", "upstand_thickness": 3, "outside_insulation_thickness": 0}
    bare, insulated = (solved(**{**steel, f"{side}_insulation_thickness": t}) for t in (20, 100))
    assert insulated.psi[1].value.upper < bare.psi[1].value.lower
    assert factors(insulated)["reveal"] > factors(bare)["reveal"]


def test_breaks_warm_frame_and_lid() -> None:
    plate = {"frame_height": 5, "frame_material": "aluminium alloy"}
    whole, parted = (solved(**plate, frame_break_width=w) for w in (0, 30))
    assert parted.psi[1].value.upper < whole.psi[1].value.lower
    assert factors(parted)["frame"] > factors(whole)["frame"] + 0.02
    bridging, broken = solved(edge_profile="bridging"), solved()
    assert broken.psi[1].value.upper < bridging.psi[1].value.lower
    assert factors(broken)["frame"] > factors(bridging)["frame"] + 0.02


# -- the whole hatch -------------------------------------------------------------------------------------------------


def test_loss_by_hand() -> None:
    # (0.8·0.5 + 1.5·0.1 + 0.05·3)/0.6 = 1.1667 and 0.7 + 3.2·(0.10 to 0.12) = 1.02 to 1.084: exact
    result = solved(lid_kind="glazed")
    section = result.sections[0]
    known = {"lid": 0.8, "lid frame": 1.5}
    flanking = tuple(replace(e, u_value=known.get(e.name, e.u_value)) for e in section.flanking)
    hatch = Hatch(0.6, 1.0, (("lid", 0.5), ("lid frame", 0.1)), (0.05, 3.0), ())
    psi = tuple(replace(one, value=Bounded(0.10, 0.12)) for one in result.psi)
    found = hatch_result(replace(result.detail, hatch=hatch), (replace(section, flanking=flanking),), psi)
    assert found is not None
    assert found.u_lid.value == pytest.approx(0.7 / 0.6, rel=1e-12)
    assert found.loss.lower == pytest.approx(1.02, rel=1e-12)
    assert found.loss.upper == pytest.approx(1.084, rel=1e-12)
    assert hatch_result(replace(result.detail, hatch=None), result.sections, psi) is None


@pytest.fixture(scope="module", params=["a", "b"])
def tollhouse(request: pytest.FixtureRequest) -> DetailResult:
    return option(request.param)


@cache
def option(name: str) -> DetailResult:
    return calculate(load(DETAILS / f"tollhouse_hatch_{name}.toml").detail)


def test_json_has_the_hatch(tollhouse: DetailResult) -> None:
    document = as_json(tollhouse)
    hatch = document["hatch"]
    psi = next(one for one in document["psi"] if one["dimensions"] == "internal")
    assert hatch["psi"] == {key: psi[key] for key in ("value", "lower", "upper")}
    assert (hatch["clear_width"], hatch["clear_length"], hatch["perimeter"]) == (700, 900, 3200)
    assert hatch["area"] == pytest.approx(0.63)
    lid = next(one for one in document["flanking"] if one["name"] == "lid")
    assert hatch["u_lid"] == pytest.approx(lid["u_value"], rel=1e-12)
    for bound in ("lower", "value", "upper"):
        assert hatch["loss"][bound] == pytest.approx(0.63 * hatch["u_lid"] + 3.2 * psi[bound], rel=1e-9)
    assert hatch["corners_included"] is False
    assert [(one["name"], one["surface_resistance"]) for one in hatch["f_rsi"]] == [
        ("frame", 0.13),
        ("reveal", 0.25),
        ("lid's underside", 0.25),
    ]
    coldest = document["f_rsi"][0]
    lowest = min(one["value"] for one in hatch["f_rsi"])
    assert lowest == pytest.approx(coldest["value"], abs=2e-3)


def test_other_junctions_have_the_key_without_a_value() -> None:
    assert as_json(calculate(load(DETAILS / "tollhouse_roof_edge.toml").detail))["hatch"] is None


def test_the_screen_names_the_loss_and_what_it_leaves_out(tollhouse: DetailResult) -> None:
    text = as_text(tollhouse)
    for words in ("U of the lid", "loss of the whole hatch", "corners not included", "fRsi, frame", "fRsi, reveal"):
        assert text.count(words) == 1


def test_option_b_is_the_better_hatch() -> None:
    a, b = (option(name) for name in ("a", "b"))
    assert a.hatch is not None
    assert b.hatch is not None
    assert b.hatch.loss.upper < 0.5 * a.hatch.loss.lower
    assert factors(b)["frame"] > 0.7 > factors(a)["frame"]


def test_cautions_speak_of_fire_mould_and_condensation() -> None:
    cautions = " ".join(built().cautions).lower()
    for word in ("fire", "smoke", "escape", "mould", "condensation", "licensed"):
        assert word in cautions


# -- the drawing's words ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize("changes", [{}, {"upstand_kind": "sandwich", "cavity_thickness": 40}, {"lid_kind": "glazed"}])
def test_dimensions_carry_declared_symbols_and_their_values(changes: dict[str, Any]) -> None:
    declared = {info.name: info for info in describe(JUNCTION.parameters)}
    chosen = JUNCTION.parameters(**changes)
    dimensions = JUNCTION.build(chosen).sections[0].dimensions
    for one in dimensions:
        along = 0 if one.side in ("top", "bottom") else 1
        half = 0.5 if one.parameter == "clear_width" else 1.0
        expected = half * getattr(chosen, one.parameter)
        assert abs(one.end[along] - one.start[along]) == pytest.approx(expected, abs=1e-9), one
        assert one.symbol == declared[one.parameter].symbol + ("/2" if half < 1 else "")


def test_every_length_in_the_section_is_shown_somewhere() -> None:
    everything = {"cavity_thickness": 40, "inside_insulation_thickness": 30, "frame_break_width": 30}
    polygons = {"lid_kind": "glazed", "frame": whole_frame(), "glazing_rebate": 10, "glazing_setback": 20}
    variants = ({"upstand_kind": "sandwich", **everything}, {"lid_kind": "glazed"}, polygons)
    shown = {one.parameter for changes in variants for one in built(**changes).sections[0].dimensions}
    lengths = {info.name for info in describe(JUNCTION.parameters) if info.unit == "mm"}
    # These lie at right angles to the section.
    assert shown == lengths - {"joist_width", "joist_spacing", "clear_length"}


def test_symbols_are_used_once_and_every_length_has_one() -> None:
    declared = describe(JUNCTION.parameters)
    symbols = [info.symbol for info in declared if info.symbol]
    assert len(symbols) == len(set(symbols))
    assert all(info.symbol for info in declared if info.unit == "mm")


def test_airtight_pieces_in_order() -> None:
    way = ["membrane turned up", "tape to the upstand", "inner face of the upstand"]
    opaque = [piece.name for piece in built().sections[0].airtight]
    assert opaque == [*way, "frame", "gasket", "inner skin"]
    glazed = [piece.name for piece in built(lid_kind="glazed").sections[0].airtight]
    assert glazed == [*way, "seal under the lid's frame", "lid's frame with its gaskets", "glazing"]
    assert built(airtight_layer="none").sections[0].airtight == ()
    for changes in ({}, {"lid_kind": "glazed"}, {"upstand_height": -120}, SUNK):
        assert_airtight_line_is_unbroken(built(**changes))
    assert not solved(upstand_height=-100).sections[0].airtight.breaks  # type: ignore[union-attr]


def test_a_new_file_is_read_and_explains_every_parameter(tmp_path: Path) -> None:
    path = tmp_path / "new.toml"
    path.write_text(new_file(JUNCTION), encoding="utf-8")
    assert load(path).detail.junction == "hatch_curb"
    text = path.read_text(encoding="utf-8")
    assert all(f"{info.name} =" in text for info in describe(JUNCTION.parameters))


@pytest.mark.parametrize(
    ("changes", "key"),
    [
        ({"upstand_kind": "steel"}, "upstand_thickness"),
        ({"upstand_kind": "grp"}, "upstand_thickness"),
        ({"upstand_material": "aluminium alloy"}, "upstand_thickness"),
        ({"upstand_kind": "sandwich", "upstand_thickness": 6}, "upstand_thickness"),
        ({"upstand_height": -400}, "upstand_height"),
        ({"joist_width": 400, "joist_spacing": 400}, "joist_spacing"),
        ({"joist_depth": 320, "joist_fill": "air"}, "joist_fill"),
        ({"joist_material": "steel"}, "joist_material"),
        ({"frame_material": "steel"}, "frame_height"),
        ({"frame_break_width": 140}, "frame_break_width"),
        ({"gasket_width": 70}, "gasket_width"),
        ({"outer_skin_thickness": 12}, "outer_skin_thickness"),
        ({"inner_skin_thickness": 12}, "inner_skin_thickness"),
        ({"core_material": "steel"}, "core_thickness"),
        ({"edge_thickness": 12}, "edge_thickness"),
        ({"core_thickness": 30}, "edge_break_height"),
        ({"core_thickness": 0, "outer_skin_thickness": 0.5, "inner_skin_thickness": 0}, "core_thickness"),
        ({"lid_kind": "glazed", "glazing_thickness": 100}, "glazing_thickness"),
        ({"lid_kind": "glazed", "lid_frame_projection": 200, "clear_width": 450}, "clear_width"),
        ({"lid_kind": "glazed", "lid_frame_projection": 200, "clear_length": 450}, "clear_length"),
        ({"lid_kind": "glazed", "frame_transmittance": 5.0}, "frame_transmittance"),
        ({"lid_kind": "glazed", "glazing_transmittance": 5.7}, "glazing_transmittance"),
        ({"inside_temperature": -10}, "inside_temperature"),
    ],
)
def test_parameters_that_do_not_fit_together_are_named(changes: dict[str, Any], key: str) -> None:
    with pytest.raises(InputError) as caught:
        built(**changes)
    assert caught.value.key == key
    assert caught.value.right
