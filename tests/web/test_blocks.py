"""Limits and climate on the page: what is typed stands in the file, and what is wrong is told at its field."""

from __future__ import annotations

from pathlib import Path

import pytest

from bridge2d.detail import Detail
from bridge2d.detail_file import read
from bridge2d.errors import InputError
from bridge2d.units import INCH_POUND, SI, UnitSystem
from bridge2d.web.blocks import field_at_fault
from bridge2d.web.edits import document, edited, groups
from bridge2d.web.fields import Field

DETAILS = Path(__file__).parents[2] / "details"
HATCH = (DETAILS / "tollhouse_hatch_b.toml").read_text(encoding="utf-8").partition("[climate]")[0]
"""With two limits of its own, and no climate."""
JOIST = (DETAILS / "tollhouse_joist.toml").read_text(encoding="utf-8")
YEAR = {
    "c.name": "a made-up town",
    "c.source": "invented",
    "c.outside_temperature": "−2 −1 3 8 13 16 18 17 14 9 4 0",
    "c.outside_humidity": "0.85 " * 12,
    "c.humidity_class": "3",
}


def after(text: str, **typed: str) -> str:
    return edited(document(text), {key.replace("__", "."): words for key, words in typed.items()}, "SI")


def detail(text: str) -> Detail:
    return read(text, DETAILS / "changed.toml").detail


def test_the_form_says_what_the_file_says() -> None:
    shown = {one.key: one.value for group in groups(document(HATCH), "SI") for one in group.fields}
    assert shown["r.0.quantity"] == "f_Rsi"
    assert shown["r.1.quantity"] == "Ψ"
    assert shown["r.1.dimensions"] == "internal"
    assert shown["r.1.limit"] == "0.25"
    assert shown["r.2.quantity"] == "none"
    joist = {one.key: one.value for group in groups(document(JOIST), "SI") for one in group.fields}
    assert joist["c.file"] == "tollhouse_climate.csv"
    assert joist["c.humidity_class"] == "3"


def test_a_limit_is_changed_added_and_taken_away_and_the_rest_stays() -> None:
    changed = after(HATCH, r__1__limit="0.3")
    assert [one.limit for one in detail(changed).requirements] == [0.7, 0.3]
    assert len([a for a, b in zip(HATCH.splitlines(), changed.splitlines(), strict=True) if a != b]) == 1
    added = after(HATCH, r__2__quantity="Ψ", r__2__dimensions="external", r__2__limit="0.1", r__2__source="invented")
    assert [(one.quantity, one.limit) for one in detail(added).requirements][2:] == [("psi", 0.1)]
    assert added.startswith(HATCH.rstrip())
    fewer = after(HATCH, r__0__quantity="none")
    assert [one.quantity for one in detail(fewer).requirements] == ["psi"]
    assert "requirement" not in after(fewer, r__0__quantity="none")


def test_a_limit_of_another_kind_has_its_own_sense() -> None:
    factor = after(HATCH, r__1__quantity="f_Rsi", r__1__limit="0.65")
    found = detail(factor).requirements[1]
    assert (found.quantity, found.sense, found.limit, found.dimensions) == ("f_rsi", "minimum", 0.65, "")


def test_a_bare_limit_has_the_units_that_are_shown() -> None:
    text = edited(document(HATCH), {"r.1.limit": "0.1"}, "inch-pound")
    assert detail(text).requirements[1].limit == pytest.approx(0.1 * 1.730735, rel=1e-5)  # Btu/(h·ft·°F), exact to 7


def test_a_set_is_named_before_all_tables() -> None:
    text = after(HATCH, s__0="din-4108-2")
    assert text.index("requirements =") < text.index("[parameters]")
    assert len(detail(text).requirements) > len(detail(HATCH).requirements)
    two = after(text, s__1="psi-e-0.01") if "psi-e-0.01" in text else text
    assert "requirements" not in after(two, s__0="none", s__1="none").replace("[[requirement]]", "")


def test_a_climate_is_typed_and_taken_away() -> None:
    text = edited(document(HATCH), YEAR, "SI")
    climate = detail(text).climate
    assert climate is not None
    assert [month.external for month in climate.months][:3] == [-2, -1, 3]
    gone = edited(document(text), dict.fromkeys(YEAR, ""), "SI")
    assert gone.rstrip() == HATCH.rstrip()


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"r.1.limit": "much"}, "r.1.limit"),
        ({"r.2.quantity": "Ψ"}, "r.2.source"),
        ({"r.2.quantity": "Ψ", "r.2.limit": "0.1", "r.2.source": "x"}, "r.2.dimensions"),
        ({"s.0": "no such set"}, "s.0"),
        ({"c.name": "x"}, "c.source"),
        ({**YEAR, "c.humidity_class": "9"}, "c.humidity_class"),
        ({**YEAR, "c.outside_temperature": "1 2 3"}, "c.outside_temperature"),
    ],
)
def test_what_is_wrong_is_told_at_its_field(typed: dict[str, str], field: str) -> None:
    with pytest.raises(InputError) as caught:
        detail(edited(document(HATCH), typed, "SI"))
    assert field_at_fault(caught.value.key, caught.value.message) == field


@pytest.mark.parametrize("key", ["r.99.limit", "r.x.limit", "s.77", "r.-1.limit"])
def test_there_is_no_field_of_so_many_blocks(key: str) -> None:
    with pytest.raises(InputError, match="no field"):
        edited(document(HATCH), {key: "1"}, "SI")


# -- parameters in other units -----------------------------------------------------------------------------------------

CORNER = """\
junction = "wall_corner"
title = "Corner"

[parameters]
masonry_thickness = 240
masonry_material = { conductivity = 0.5, basis = "measured" }
insulation_material = "mineral wool 0.035"
"""


def fields(text: str, shown: UnitSystem) -> dict[str, Field]:
    return {one.key: one for group in groups(document(text), shown) for one in group.fields}


def test_fields_show_what_was_typed_in_the_units_that_are_shown() -> None:
    si, feet = fields(CORNER, SI), fields(CORNER, INCH_POUND)
    assert si["p.masonry_thickness"].value == "240"
    assert feet["p.masonry_thickness"].value.startswith("9.44")
    assert feet["p.masonry_thickness"].unit == "in"
    assert si["p.masonry_material"].own == ("0.5", "measured")
    assert feet["p.masonry_material"].own == ("0.5 W/(m·K)", "measured")
    assert "Btu" in feet["p.insulation_material"].source
    # A file in inches shows millimetres, and what cannot be read stands as it was typed.
    inches = CORNER.replace("title", 'units = "inch-pound"\ntitle').replace("240", "10").replace("0.5", "0.3")
    assert fields(inches, SI)["p.masonry_thickness"].value == "254"
    assert fields(CORNER.replace("240", '"wide"'), INCH_POUND)["p.masonry_thickness"].value == "wide"
    assert fields(CORNER.replace("240", "true"), SI)["p.masonry_thickness"].value == "True"


def test_a_bare_number_has_the_units_that_were_shown() -> None:
    def thickness(words: str, shown: UnitSystem) -> float:
        changed = edited(document(CORNER), {"p.masonry_thickness": words}, shown)
        [dimension] = [d for d in detail(changed).sections[0].dimensions if d.parameter == "masonry_thickness"][:1]
        return abs(dimension.end[0] - dimension.start[0]) + abs(dimension.end[1] - dimension.start[1])

    assert thickness("300", SI) == pytest.approx(0.3)
    assert thickness("12", INCH_POUND) == pytest.approx(0.3048)
    assert thickness("12 1/2", INCH_POUND) == pytest.approx(0.3175)
    assert thickness("300 mm", INCH_POUND) == pytest.approx(0.3)
    assert "\nmasonry_thickness = 380\n" in edited(document(CORNER), {"p.masonry_thickness": ""}, SI)  # the default


def test_a_material_takes_its_own_value_or_leaves_it() -> None:
    text = edited(document(CORNER), {"p.insulation_material.conductivity": "0.03"}, SI)
    with pytest.raises(InputError, match="basis"):
        detail(text)
    text = edited(document(text), {"p.insulation_material.basis": "declared"}, SI)
    found = [region.material for region in detail(text).sections[0].regions if region.basis == "declared"]
    assert {one.conductivity for one in found} == {0.03}
    other = edited(document(text), {"p.insulation_material": "hemp fibre"}, SI)
    assert 'insulation_material = "hemp fibre"' in other
    btu = edited(document(CORNER), {"p.masonry_material.conductivity": "0.3"}, INCH_POUND)
    assert '"0.3 Btu/(h·ft·°F)"' in btu
    grained = edited(document(CORNER), {"p.masonry_material.conductivity": "[0.3, 0.13]"}, SI)
    assert "[0.3, 0.13]" in grained
    assert 'conductivity = "[0.3"' in edited(document(CORNER), {"p.masonry_material.conductivity": "[0.3"}, SI)


def test_what_the_file_leaves_out_begins_with_the_default() -> None:
    bare = 'junction = "wall_corner"\ntitle = "Corner"\n'
    thicker = edited(document(bare), {"p.masonry_thickness": "380"}, SI)
    assert thicker == f"{bare}\n[parameters]\nmasonry_thickness = 380\n"
    own = {"p.masonry_material.conductivity": "0.7", "p.masonry_material.basis": "measured"}
    masonry = fields(bare, SI)["p.masonry_material"].value
    text = edited(document(bare), own, SI)
    assert f'masonry_material = {{material = "{masonry}", conductivity = 0.7, basis = "measured"}}' in text
    text = edited(document(bare), {"p.cavity_filling.conductivity": "0.2 W/(m·K)"}, SI)
    assert 'cavity_filling = {material = "air", conductivity = "0.2 W/(m·K)"}' in text
    text = edited(document(bare), {"p.insulation_material.basis": "declared"}, SI)
    assert 'basis = "declared"}' in text
    assert "conductivity" not in text
    with pytest.raises(InputError, match="no conductivity that it is for"):
        detail(text)


def test_words_are_written_as_they_are() -> None:
    text = edited(document(CORNER), {"p.airtight_layer": "membrane"}, SI)
    assert detail(text).parameters != detail(CORNER).parameters
    assert 'airtight_layer = "membrane"' in text


def test_two_conductivities_are_shown_as_they_were_typed() -> None:
    text = CORNER.replace("conductivity = 0.5", "conductivity = [0.3, 0.13]")
    for shown in (SI, INCH_POUND):
        assert fields(text, shown)["p.masonry_material"].own == ("[0.3, 0.13]", "measured")


def test_a_first_limit_begins_a_list_and_an_unfinished_one_begins_none() -> None:
    typed = {"r.0.quantity": "f_Rsi", "r.0.limit": "0.7", "r.0.source": "invented"}
    text = edited(document(CORNER), typed, SI)
    assert text.startswith(CORNER)
    assert [(one.quantity, one.limit) for one in detail(text).requirements] == [("f_rsi", 0.7)]
    for nothing in ({"r.0.name": ""}, {"r.0.quantity": "none"}, {"s.0": "none"}):
        assert edited(document(CORNER), nothing, SI) == CORNER


@pytest.mark.parametrize("typed", [{"r.0.name": "roof"}, {"r.0.limit": "0.02", "r.0.source": "me"}])
def test_a_limit_of_nothing_is_told_at_its_field(typed: dict[str, str]) -> None:
    for quantity in ({}, {"r.0.quantity": "none"}):
        with pytest.raises(InputError, match="it is not said what is limited") as caught:
            edited(document(CORNER), {**typed, **quantity}, SI)
        assert field_at_fault(caught.value.key, caught.value.message) == "r.0.quantity"


def test_a_temperature_of_the_climate_may_have_its_unit() -> None:
    text = edited(document(HATCH), {**YEAR, "c.inside_temperature": "68 °F"}, SI)
    climate = detail(text).climate
    assert climate is not None
    assert [month.internal for month in climate.months] == pytest.approx([20.0] * 12)  # (68 − 32)/1.8 exactly


def test_what_is_no_toml_has_no_fields_and_cannot_be_edited() -> None:
    broken = document("junction = ")
    assert broken.blocks
    assert edited(broken, {}, SI) == "junction = "
    with pytest.raises(InputError, match="not TOML"):
        edited(broken, {"h.title": "x"}, SI)
    with pytest.raises(InputError, match="no field"):
        edited(document(CORNER), {"p.nothing": "1"}, SI)
    with pytest.raises(InputError, match="no field"):
        edited(document(CORNER), {"x.title": "1"}, SI)
