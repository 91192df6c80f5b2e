"""What was typed keeps its value while the units that are shown change."""

from __future__ import annotations

import re
from html import unescape
from urllib.parse import parse_qsl

import pytest
from starlette.testclient import TestClient

from bridge2d.web.states import State, Texts, state_of
from tests.web.conftest import DETAILS
from tests.web.test_pages import JOIST, _fields

TEXT = (DETAILS / "tollhouse_joist.toml").read_text(encoding="utf-8")


def changed(state: State, units: str, text: str = TEXT) -> State:
    """The state behind the link to other units."""
    pairs = [*state.pairs(), ("units", units), ("typed_in", state.shown)]
    return state_of("a.toml", text, pairs, Texts())


def display(state: State, key: str) -> str:
    return next(one.value for group in state.form for one in group.fields if one.key == key)


@pytest.mark.parametrize(
    ("key", "typed", "there"),
    [
        ("p.insulation_thickness", "120", "4.724"),
        ("p.insulation_thickness", "120.05", "4.726"),
        ("p.outside_temperature", "-7", "19.4"),
        ("p.outside_temperature", "−7.1", "19.22"),
        ("p.factor_resistance", "0.2", "1.1357"),
        ("p.inside_humidity", "0.55", "0.55"),
        ("p.insulation_thickness", "9 in", "9"),
    ],
)
def test_units_there_and_back_leave_what_was_typed(key: str, typed: str, there: str) -> None:
    first = state_of("a.toml", TEXT, [(key, typed)], Texts())
    other = changed(first, "inch-pound")
    assert display(other, key) == there
    assert other.text == first.text
    back = changed(other, "SI")
    assert back.typed == {key: typed}
    assert back.text == first.text


@pytest.mark.parametrize("key", ["p.insulation_thickness", "o.length", "l.length"])
def test_a_decimal_comma_keeps_its_unit_too(key: str) -> None:
    first = state_of("a.toml", TEXT, [(key, "12,5")], Texts())
    assert changed(first, "inch-pound").text == first.text


def test_a_tolerance_of_dimensions_is_typed_in_the_units_that_are_shown() -> None:
    from bridge2d.detail_file import read

    path = DETAILS / "tollhouse_joist.toml"
    pairs = [("units", "inch-pound"), ("l.length", "0.25")]
    state = state_of("a.toml", TEXT, pairs, Texts())
    field = next(one for group in state.form for one in group.fields if one.key == "l.length")
    assert field.unit == "in"
    assert "(0.2 in)" in field.help
    assert read(state.text, path, geometry=False).tolerances.length == pytest.approx(0.25 * 0.0254)
    assert display(state_of("a.toml", TEXT, pairs[:1], Texts()), "l.length") == "5 mm"
    assert display(state_of("a.toml", TEXT, [], Texts()), "l.length") == "5"


def test_inches_with_a_fraction_come_back_too() -> None:
    first = state_of("a.toml", TEXT, [("units", "inch-pound"), ("p.insulation_thickness", "4 3/4")], Texts())
    other = changed(first, "SI")
    assert display(other, "p.insulation_thickness") == "120.65"
    assert changed(other, "inch-pound").typed == {"p.insulation_thickness": "4 3/4"}
    assert first.text == other.text


@pytest.mark.parametrize("key", ["r.1.limit", "p.insulation_material.conductivity"])
def test_a_limit_and_a_conductivity_keep_their_value(key: str) -> None:
    from bridge2d.detail_file import read

    more = [("p.insulation_material.basis", "invented")] if "material" in key else []
    first = state_of("a.toml", TEXT, [(key, "0.04"), *more], Texts())
    other = changed(first, "inch-pound")
    assert other.typed[key] == "0.04 W/(m·K)"
    path = DETAILS / "tollhouse_joist.toml"
    one, two = (read(state.text, path, geometry=False) for state in (first, other))
    assert one.input_hash == two.input_hash
    limits = [[limit.limit for limit in loaded.detail.requirements] for loaded in (one, two)]
    assert limits[0] == limits[1]
    assert changed(other, "SI").typed[key] == "0.04"


def test_a_limit_typed_in_watts_for_a_file_in_inches_says_its_unit() -> None:
    text = 'junction = "wall_corner"\nunits = "inch-pound"\n'
    pairs = [("units", "SI"), ("r.0.quantity", "Ψ"), ("r.0.dimensions", "external"), ("r.0.limit", "0.1")]
    assert 'maximum = "0.1 W/(m·K)"' in state_of("a.toml", text, pairs, Texts()).text


def test_a_limit_of_the_file_says_its_unit_where_others_are_shown() -> None:
    first = state_of("a.toml", TEXT, [], Texts())
    assert display(first, "r.1.limit") == "0.05"
    other = changed(first, "inch-pound")
    assert display(other, "r.1.limit") == "0.05 W/(m·K)"
    assert display(other, "r.0.limit") == "0.7"  # a pure number
    again = state_of("a.toml", TEXT, [("units", "inch-pound"), ("r.1.limit", "0.05 W/(m·K)")], Texts())
    assert again.typed == {}


def test_the_form_sends_what_was_typed_and_not_what_is_shown(visitor: TestClient) -> None:
    """120 mm, then inches, then another field is changed there: the file gets 120, not 4.724 in."""
    page = visitor.get(f"{JOIST}?p.insulation_thickness=120").text
    link = unescape(re.search(r'<a href="([^"]*typed_in=SI)"', page)[1])
    page = visitor.get(link).text
    assert re.search(r'name="p.insulation_thickness" value="4.724"', page)
    fields = _fields(page)
    answer = visitor.get(JOIST, params={**fields, "h.revision": "C"})
    typed = dict(parse_qsl(answer.url.query.decode()))
    assert typed["p.insulation_thickness"] == "120 mm"
    text = visitor.get(f"{JOIST}/detail.toml?{answer.url.query.decode()}").text
    assert "insulation_thickness = 120\n" in text
    assert 'revision = "C"' in text
    answer = visitor.get(JOIST, params={**fields, "p.insulation_thickness": "5"})
    assert dict(parse_qsl(answer.url.query.decode()))["p.insulation_thickness"] == "5"
