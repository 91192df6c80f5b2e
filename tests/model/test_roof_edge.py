"""The roof edge: sound or refused, equal to a corner of plain wall, parapet and eaves the same where they should be."""

from __future__ import annotations

from functools import partial
from typing import Any

import pytest

from bridge2d.calculate import calculate
from bridge2d.errors import InputError
from bridge2d.junctions import wall_corner
from bridge2d.junctions.roof_edge import JUNCTION
from tests import built_junctions
from tests.built_junctions import overlap, psi
from tests.random_parameters import (
    assert_airtight_line_is_unbroken,
    assert_declared_well,
    unit,
)

built = partial(built_junctions.built, JUNCTION)


PLAIN: dict[str, Any] = {
    "parge_thickness": 0,
    "airtight_layer": "none",
    "board_thickness": 0,
    "ceiling_thickness": 0,
    "covering_thickness": 0,
    "parapet_insulation_thickness": 0,
    "coping_insulation_thickness": 0,
}


@pytest.mark.parametrize("kind", ["parapet", "eaves"])
def test_declarations_and_airtight_layer(kind: str) -> None:
    assert_declared_well(JUNCTION, built(kind=kind))
    for layer in ("membrane", "parge coat"):
        assert_airtight_line_is_unbroken(built(kind=kind, airtight_layer=layer))


def test_every_length_is_shown_where_all_pieces_are_there() -> None:
    shown = {d.parameter for d in built(render_thickness=20, cavity_thickness=40).sections[0].dimensions}
    lengths = {name for name in JUNCTION.parameters.model_fields if name.endswith(("_thickness", "_length", "_height"))}
    assert shown == lengths


def test_eaves_of_one_material_are_a_corner_of_plain_wall() -> None:
    # Exact: roof and wall of one material and thickness are the outer corner of two equal walls.
    same = unit(0.5)
    roof = built(
        kind="eaves",
        masonry_material=same,
        deck_material=same,
        roof_insulation_material=same,
        deck_thickness=180,
        roof_insulation_thickness=200,
        insulation_thickness=0,
        ceiling_resistance=0.13,
        **PLAIN,
    )
    wall = wall_corner.JUNCTION
    corner = wall.build(
        wall.parameters(
            masonry_material=same, insulation_thickness=0, parge_thickness=0, airtight_layer="none", board_thickness=0
        )
    )
    found, expected = psi(roof, 1e-5), psi(corner, 1e-5)
    for dimensions, one in found.items():
        assert overlap(one.value, expected[dimensions].value)
        assert one.value.value == pytest.approx(expected[dimensions].value.value, abs=2e-5)


def test_a_parapet_of_no_height_made_of_roof_is_an_eaves() -> None:
    # Exact: the layer that the masonry interrupts goes on unchanged.
    same = {"masonry_material": unit(0.04), "roof_insulation_material": unit(0.04), "parapet_height": 0, **PLAIN}
    parapet, eaves = (psi(built(kind=kind, **same)) for kind in ("parapet", "eaves"))
    for dimensions, one in parapet.items():
        assert one.value.value == pytest.approx(eaves[dimensions].value.value, abs=1e-6)


def test_external_and_internal_psi_differ_by_what_lies_between() -> None:
    # Exact: wall longer by the roof's thickness, roof longer by the wall's.
    found = psi(built())
    wall, roof = found["external"].terms
    difference = wall.u_value * (0.015 + 0.18 + 0.24 + 0.01) + roof.u_value * (0.38 + 0.015 + 0.1 + 0.015)
    assert found["internal"].value.value - found["external"].value.value == pytest.approx(difference, abs=1e-9)
    assert found["overall_internal"].value == found["internal"].value


def test_the_ceiling_has_a_surface_resistance_of_its_own() -> None:
    # Exact: U of the roof from its layers and 0.10 inside (ISO 6946, heat flow upward).
    _, roof = psi(built())["external"].terms
    # 180 mm concrete 1.65, 240 mm insulation 0.035, 10 mm felt 0.23, 15 mm plaster 0.80
    resistance = 0.10 + 0.015 / 0.80 + 0.18 / 1.65 + 0.24 / 0.035 + 0.01 / 0.23 + 0.04
    assert roof.u_value == pytest.approx(1 / resistance, rel=1e-12)


def test_insulating_the_parapet_warms_the_edge() -> None:
    bare = {"parapet_insulation_thickness": 0, "coping_insulation_thickness": 0}
    plain, insulated = (calculate(built(**changes)) for changes in (bare, {}))
    assert insulated.psi[0].value.upper < plain.psi[0].value.lower
    assert insulated.f_rsi[0].value > plain.f_rsi[0].value


@pytest.mark.parametrize(
    ("changes", "key"),
    [({"bearing_length": 400}, "bearing_length"), ({"inside_temperature": -10}, "inside_temperature")],
)
def test_parameters_that_do_not_fit_together_are_named(changes: dict[str, Any], key: str) -> None:
    with pytest.raises(InputError) as caught:
        built(**changes)
    assert caught.value.key == key
    assert caught.value.right
