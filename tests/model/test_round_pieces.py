"""Fixing and sleeve: sound or refused, nothing where they are made of the wall, χ that moves the right way."""

from __future__ import annotations

import math
from typing import Any

import pytest

from bridge2d.calculate import calculate
from bridge2d.detail import Detail
from bridge2d.errors import InputError
from bridge2d.junctions import fixing, sleeve
from bridge2d.junctions.declaration import Junction
from bridge2d.results import Chi
from bridge2d.tables import as_json, as_text
from tests.random_parameters import (
    assert_airtight_line_is_unbroken,
    assert_declared_well,
    unit,
)

JUNCTIONS = (fixing.JUNCTION, sleeve.JUNCTION)
BARE: dict[str, Any] = {
    "render_thickness": 0,
    "parge_thickness": 0,
    "airtight_layer": "none",
    "cavity_thickness": 0,
    "board_thickness": 0,
}


def built(junction: Junction, **changes: Any) -> Detail:
    detail: Detail = junction.build(junction.parameters(**changes))
    return detail


def chi(junction: Junction, tolerance: float = 1e-3, **changes: Any) -> Chi:
    found = calculate(built(junction, **changes), tolerance).chi
    assert found is not None
    return found


@pytest.mark.parametrize("junction", JUNCTIONS, ids=lambda j: j.name)
@pytest.mark.parametrize("layer", ["membrane", "parge coat"])
def test_declarations_and_airtight_layer(junction: Junction, layer: str) -> None:
    assert_declared_well(junction, built(junction))
    assert_airtight_line_is_unbroken(built(junction, airtight_layer=layer))
    result = calculate(built(junction, airtight_layer=layer), 0.05)
    assert result.sections[0].airtight is not None
    assert not result.sections[0].airtight.breaks


def test_a_fixing_of_the_wall_s_own_layers_is_nothing() -> None:
    # Exact: χ = 0. Masonry and insulation are one material here, and so are shank, head and cap.
    same = unit(0.05)
    names = ("masonry_material", "insulation_material", "shank_material", "head_material", "cap_material")
    found = chi(fixing.JUNCTION, **dict.fromkeys(names, same), **BARE, recess=20, plug_diameter=0)
    assert abs(found.value.lower) <= 1e-6
    assert abs(found.value.upper) <= 1e-6


def test_a_hole_filled_with_the_wall_is_nothing() -> None:
    # Exact: χ = 0.
    same = unit(0.05)
    names = ("masonry_material", "insulation_material", "duct_material", "filling", "gap_material")
    changes = {"duct_insulation_thickness": 0, "room_length": 0, "outside_length": 0}
    found = chi(sleeve.JUNCTION, **dict.fromkeys(names, same), **BARE, **changes)
    assert abs(found.value.lower) <= 1e-6
    assert abs(found.value.upper) <= 1e-6


def test_a_sunk_head_under_a_cap_loses_less() -> None:
    flush, sunk = (chi(fixing.JUNCTION, recess=recess).value for recess in (0, 30))
    assert sunk.upper < flush.lower


def test_stainless_steel_loses_less_than_steel() -> None:
    steel, stainless = (chi(fixing.JUNCTION, shank_material=name).value for name in ("steel", "stainless steel"))
    assert 0 < stainless.upper < steel.lower


def test_more_insulation_round_the_duct_loses_less() -> None:
    bare, wrapped = (
        chi(sleeve.JUNCTION, duct_insulation_thickness=t, insulated_from="outer face").value for t in (10, 60)
    )
    assert wrapped.upper < bare.lower


def test_the_duct_s_own_loss_is_taken_off() -> None:
    # Exact: beyond 1 m the duct runs undisturbed, so that χ does not depend on how much of it is drawn.
    one, two = (chi(sleeve.JUNCTION, 1e-5, room_length=length).value for length in (1000, 2000))
    assert one.value == pytest.approx(two.value, abs=2e-5)


def test_number_of_fixings_adds_to_u() -> None:
    found = chi(fixing.JUNCTION, number_per_area=6)
    assert found.added_transmittance is not None
    assert found.added_transmittance.value == pytest.approx(6 * found.value.value)
    assert chi(fixing.JUNCTION, number_per_area=0).added_transmittance is None


def test_screen_and_json_name_areas_and_watts() -> None:
    result = calculate(built(sleeve.JUNCTION), 1e-2)
    text, values = as_text(result), as_json(result)
    assert "L3D" in text
    assert "W/K" in text
    assert "L2D" not in text
    assert " W/m " not in text
    assert values["l2d"] is None
    assert values["l3d"]["lower"] <= values["l3d"]["upper"]
    radius = max(x for x, _ in result.sections[0].section.flanking[0].cut)
    assert values["flanking"][0]["areas"]["external"] == pytest.approx(math.pi * radius**2)
    assert values["chi"]["terms"][0]["area"] == pytest.approx(math.pi * radius**2)
    assert values["sections"][0]["units"]["heat_flows"] == "W"


@pytest.mark.parametrize(
    ("junction", "changes", "key"),
    [
        (fixing.JUNCTION, {"embedment": 500}, "embedment"),
        (fixing.JUNCTION, {"recess": 120}, "recess"),
        (fixing.JUNCTION, {"plug_diameter": 5}, "plug_diameter"),
        (fixing.JUNCTION, {"head_diameter": 4}, "head_diameter"),
        (sleeve.JUNCTION, {"room_length": 500}, "room_length"),
    ],
)
def test_what_does_not_fit_is_refused_by_name(junction: Junction, changes: dict[str, Any], key: str) -> None:
    with pytest.raises(InputError) as caught:
        built(junction, **changes)
    assert caught.value.key == key
