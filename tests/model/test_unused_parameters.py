"""Parameters that are said to have no effect have none, and those that have none are said to."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, seed, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from bridge2d.detail import Detail
from bridge2d.detail_file import load
from bridge2d.errors import InputError
from bridge2d.junctions import NAMES, junctions
from bridge2d.junctions.declaration import ParameterInfo, describe
from bridge2d.materials import catalogue, with_rows
from bridge2d.report.input_pages import parameters
from bridge2d.report.layout import Paragraph
from bridge2d.report.tables import Table
from tests.random_parameters import values as any_value
from tests.test_details import ROOT

PARAMETRIC = [name for name in NAMES if name != "free_section"]
SETS = 25
CHOICES: dict[str, list[dict[str, Any]]] = {
    "floor_slab": [{"floor_form": "vault"}, {"slab_thickness": 0}, {"floor_return_length": 300}],
    "hatch_curb": [{"lid_kind": "glazed"}, {"upstand_kind": "sandwich"}, {"edge_profile": "none"}],
    "party_wall": [{"neighbour": "not insulated"}, {"return_length": 0}, {"return_thickness": 0}],
    "window_box": [{"lintel_height": 0}],
    "fixing": [{"head_diameter": 0}, {"head_thickness": 0}],
}
"""Beside the defaults: every choice that leaves something out."""
LESS_SAID = {("window_box", "sill_bed_material"), ("fixing", "cap_material")}
"""Whether the piece is there follows from several measures; its parameter stands in the table in any case."""


def test_a_declared_default_follows_a_row_that_stands_in_the_catalogue_s_stead() -> None:
    """What is remembered of the declarations does not outlive another catalogue, nor is it taken from one."""

    def default() -> float:
        infos = {info.name: info for info in describe(junctions()["joist_pocket"].parameters)}
        return float(infos["joist_material"].default.material.conductivity)

    own = default()
    with with_rows([replace(catalogue()["softwood"], conductivity=0.5)]):
        assert default() == 0.5
    assert default() == own != 0.5


def built(name: str, values: dict[str, Any]) -> Detail | None:
    """The detail, or None where the values are refused."""
    junction = junctions()[name]
    try:
        detail: Detail = junction.build(junction.parameters(**values))
    except (InputError, ValidationError):
        return None
    return detail


@pytest.mark.parametrize("name", PARAMETRIC)
def test_what_is_said_to_have_no_effect_has_none(name: str) -> None:
    junction = junctions()[name]
    fields = {info.name: any_value(info) for info in describe(junction.parameters)}

    @seed(1)
    @settings(max_examples=SETS)
    @given(st.sampled_from([{}, *CHOICES.get(name, [])]), st.fixed_dictionaries({}, optional=fields), st.data())
    def any_set(choice: dict[str, Any], others: dict[str, Any], data: st.DataObject) -> None:
        given_values = {**others, **choice}
        detail = built(name, given_values)
        if detail is None:
            return
        for unused in sorted(junction.parameters(**given_values).unused() & set(fields)):
            changed = built(name, {**given_values, unused: data.draw(fields[unused])})
            assert changed in (None, detail), unused

    any_set()


def alternatives(info: ParameterInfo) -> list[Any]:
    """Values over the whole range of a parameter."""
    found: list[Any] = [*info.words, *(["granite", "softwood"] if info.material else [])]
    if info.kind is not None and info.minimum is not None and info.maximum is not None:
        low, high = info.minimum / info.kind.factor, info.maximum / info.kind.factor
        found += [low, high, *(low + share * (high - low) for share in (0.02, 0.1, 0.3, 0.6))]
    return found


@pytest.mark.parametrize(
    ("name", "values"), [(name, values) for name in PARAMETRIC for values in [{}, *CHOICES.get(name, [])]]
)
def test_what_has_no_effect_is_said_to_have_none(name: str, values: dict[str, Any]) -> None:
    junction = junctions()[name]
    detail = built(name, values)
    assert detail is not None
    said = junction.parameters(**values).unused()
    for info in describe(junction.parameters):
        if info.name in said or (name, info.name) in LESS_SAID or info.name in values:
            continue
        others = [built(name, {**values, info.name: value}) for value in alternatives(info)]
        computed = [other for other in others if other is not None]
        assert len(computed) < 2 or any(other != detail for other in computed), info.name


@pytest.mark.parametrize(
    ("file", "symbols"),
    [
        ("tollhouse_joist.toml", set()),
        ("tollhouse_hatch_a.toml", {"b_j", "s", "l"}),
        ("tollhouse_window.toml", {"U_f", "U_g", "Ψ_g", "a_g", "w", "h"}),
    ],
)
def test_what_no_dimension_shows_is_named_beside_the_drawings(file: str, symbols: set[str]) -> None:
    detail = load(ROOT / "details" / file).detail
    assert {symbol for symbol, _, _ in detail.undrawn} == symbols
    assert set(detail.undrawn) <= set(detail.parameters)


@pytest.mark.parametrize(
    ("name", "values"), [(name, values) for name in PARAMETRIC for values in [{}, *CHOICES.get(name, [])]]
)
def test_every_length_that_counts_is_drawn(name: str, values: dict[str, Any]) -> None:
    detail = built(name, values)
    assert detail is not None
    chosen = junctions()[name].parameters(**values)
    shown = {dimension.parameter for section in detail.sections for dimension in section.dimensions}
    across = {"window_width", "window_height", "clear_length", "joist_width", "joist_spacing"}
    lengths = {info.name for info in describe(type(chosen)) if info.unit == "mm" and getattr(chosen, info.name)}
    assert lengths - chosen.unused() - shown <= (across if name in ("window_box", "hatch_curb") else set())


def _text(words: Paragraph) -> str:
    return " ".join("".join(run.text for run in line).strip() for line in words.lines)


def test_the_table_leaves_out_what_has_no_effect() -> None:
    detail = load(ROOT / "details" / "tollhouse_hatch_a.toml").detail
    assert ("U_f", "U of the lid's frame") in detail.unused
    table, undrawn, note = parameters(detail)
    assert isinstance(table, Table)
    assert isinstance(undrawn, Paragraph)
    assert isinstance(note, Paragraph)
    assert len(table.rows) == len(detail.parameters) - len(detail.unused)
    assert "U of the lid's frame" in _text(note)
    assert "joist width" in _text(undrawn)
    labels = ["".join(run.text for run in label) for _, label, _ in table.rows]
    assert "kind of lid" in labels
    assert "U of the lid's frame" not in labels
