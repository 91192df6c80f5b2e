"""What the page says of a detail at one look, and what is wrong with it: once, in words that fit a form."""

from __future__ import annotations

import re
from dataclasses import replace
from html import unescape
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from bridge2d.errors import InputError
from bridge2d.units import INCH_POUND
from bridge2d.web import work
from bridge2d.web.edits import document
from bridge2d.web.fields import plain_number
from bridge2d.web.states import State
from bridge2d.web.told import IN_A_FORM, told

DETAILS = Path(__file__).parents[2] / "details"
JOIST = "/detail/tollhouse_joist.toml"


def state(typed: dict[str, str]) -> State:
    path = DETAILS / "tollhouse_joist.toml"
    return State(path.name, document(path.read_text(encoding="utf-8")), typed=typed)


WRONG = [
    (
        {"p.bearing_length": "abc"},
        "p.bearing_length",
        "or with a unit, such as 240 mm, 0.24 m or 9 1/2 in",
    ),
    ({"p.bearing_length": "1,200"}, "p.bearing_length", "may mark decimals or thousands; write 1200 or 1.200"),
    (
        {"p.insulation_material": "x"},
        "p.insulation_material",
        "has no material 'x'; choose one of the list",
    ),
    (
        {"p.insulation_material.conductivity": "0.04"},
        "p.insulation_material",
        "say beside it where the value comes from",
    ),
    (
        {"p.parge_material.basis": "data sheet"},
        "p.parge_material",
        "no conductivity that it is for; write the conductivity beside it, or take the reason out",
    ),
    ({"p.outside_temperature": "cold"}, "p.outside_temperature", "plain number"),
    ({"c.outside_temperature": "cold"}, "c.outside_temperature", "December, with spaces between them"),
    ({"s.0": "unknown"}, "s.0", "no requirement set 'unknown'; choose one of the list"),
    ({"r.1.dimensions": "none"}, "r.1.dimensions", "choose external, internal or overall internal"),
    ({"r.1.quantity": "U"}, "r.1.quantity", "limit Ψ or fRsi instead"),
    ({"p.bearing_length": "379"}, "p.bearing_length", "gap at the joist's end may be at most masonry − 30 mm"),
    ({"r.0.limit": "high"}, "r.0.limit", "is no number; write one such as 0.7"),
]


@pytest.mark.parametrize(("typed", "field", "words"), WRONG)
def test_a_message_stands_at_its_field_in_words_that_fit_a_form(typed: dict[str, str], field: str, words: str) -> None:
    with pytest.raises(InputError) as caught:
        work.computed(state(typed).text, DETAILS / "tollhouse_joist.toml", None, 1)
    found, line = told(caught.value, state(typed))
    assert list(found) == [field]
    assert words in found[field]
    assert not re.search(r'[`"_]|quotes|line [0-9]', found[field])
    assert line is not None
    assert told(caught.value, state(typed), as_text=True)[0] == {}


@pytest.mark.parametrize(
    ("field", "name", "content", "words"),
    [
        ("h.requirement_sets", "ours.toml", "[house]\ntitle = 3\n", "ours.toml, line 2, house.title: "),
        ("c.file", "months.csv", "month,outside temperature\nJanuary,cold\n", "months.csv, line "),
    ],
)
def test_what_is_wrong_in_a_file_that_a_field_names_stands_at_that_field(
    field: str, name: str, content: str, words: str, tmp_path: Path
) -> None:
    path = tmp_path / "tollhouse_joist.toml"
    path.write_bytes((DETAILS / path.name).read_bytes())
    (tmp_path / name).write_text(content, encoding="utf-8")
    base = document(path.read_text(encoding="utf-8"))
    one = State(path.name, base, typed={field: name, **({"c.outside_temperature": ""} if field == "c.file" else {})})
    with pytest.raises(InputError) as caught:
        work.computed(one.text, path, None, 1)
    found, line = told(caught.value, one)
    assert list(found) == [field]
    assert found[field].startswith(words)
    assert line is None  # it is none of the detail's text
    assert told(caught.value, one, as_text=True) == ({}, None)


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("p.bearing_length", "400", "400 in is outside the limits; give 0.7875 to 39.37 in"),
        ("p.bearing_length", "-3 1/2 in", "-3 1/2 in is outside the limits; give 0.7875 to 39.37 in"),
        ("p.outside_temperature", "900", "900 °F is beyond what is allowed; give -76 to 140 °F"),
    ],
)
def test_a_limit_is_told_in_the_units_that_are_shown(field: str, typed: str, words: str) -> None:
    one = replace(state({field: typed}), units=INCH_POUND)
    with pytest.raises(InputError) as caught:
        work.computed(one.text, DETAILS / "tollhouse_joist.toml", None, 1)
    assert told(caught.value, one)[0] == {field: words}


def test_every_word_that_is_replaced_is_one_that_is_said() -> None:
    said = []
    for typed, _, _ in WRONG:
        with pytest.raises(InputError) as caught:
            work.computed(state(typed).text, DETAILS / "tollhouse_joist.toml", None, 1)
        said.append(f"{caught.value.message}; {caught.value.right}")
    for pattern, _ in IN_A_FORM:
        assert any(re.search(pattern, one) for one in said), pattern


@pytest.mark.parametrize(
    ("words", "number"),
    [
        ("60,5", "60.5"),
        ("−0,5", "-0.5"),
        ("0,125", "0.125"),
        ("1,200", "1,200"),
        ("9 1/2 in", "9 1/2 in"),
        ("a,b", "a,b"),
    ],
)
def test_decimals_may_have_a_comma_where_it_parts_no_thousands(words: str, number: str) -> None:
    assert plain_number(words) == number


def test_a_decimal_comma_is_read_in_every_kind_of_field() -> None:
    typed = {
        "p.bearing_length": "160,5",
        "p.insulation_material.conductivity": "0,04",
        "p.insulation_material.basis": "declared",
        "r.0.limit": "0,71",
        "c.inside_temperature": "20,5",
    }
    written = document(state(typed).text).data
    assert written["parameters"]["bearing_length"] == 160.5
    assert written["parameters"]["insulation_material"]["conductivity"] == 0.04
    assert written["requirement"][0]["minimum"] == 0.71
    assert written["climate"]["inside_temperature"] == 20.5
    assert State("x.toml", document(""), how={"tolerance": "0,01"}).solving.tolerance == 0.01


def test_what_is_wrong_is_told_once_with_the_way_to_its_field(visitor: TestClient) -> None:
    page = unescape(visitor.get(f"{JOIST}?p.insulation_material=unknown").text)
    assert page.count("has no material") == 1
    assert "parameters.insulation_material" not in page
    assert re.search(r'role="alert">Not computed: see <a href="#p-insulation_material">', page)
    at_field = re.search(
        r'id="m-p-insulation_material">.*?formaction="([^"]*/catalogue)" name="(\w+)" value="(\w+)"', page
    )
    assert at_field
    query = {"p.insulation_material": "unknown", at_field[2]: at_field[3]}
    chosen = visitor.get(at_field[1], params=query).text
    back = re.search(r'<a href="([^"]*)">mineral foam board</a>', chosen)
    assert back
    assert visitor.get(unescape(back[1])).status_code == 200
    assert 'href="/limits">All sets' in visitor.get(f"{JOIST}?s.0=unknown").text
    of_how = visitor.get("/detail/two_layers.toml?tolerance=9").text
    assert of_how.count("write a number from") == 1
    assert visitor.get(f"{JOIST}?as=text&p.bearing_length=9000").text.count("outside the limits") == 1


@pytest.mark.parametrize("name", ["tollhouse_joist", "tollhouse_window"])
def test_a_field_tells_which_other_sections_have_its_dimension(name: str) -> None:
    path = DETAILS / f"{name}.toml"
    text = path.read_text(encoding="utf-8")
    first = work.answer(text, str(path), None, "", ("dimensions",), True)
    assert first["elsewhere"]
    for parameter, sections in first["elsewhere"].items():
        assert parameter not in first["marked"]
        for section, title in sections:
            there = work.answer(text, str(path), None, section, ("dimensions",), True)
            assert parameter in there["marked"]
            assert (there["section"], title) in there["sections"]
            assert parameter not in there["elsewhere"]


@pytest.mark.parametrize(
    ("name", "first"),
    [("tollhouse_window", "(sill)"), ("tollhouse_hatch_a", "frame"), ("tollhouse_framed_wall", "inside")],
)
def test_the_lowest_temperature_factor_comes_first(name: str, first: str) -> None:
    path = DETAILS / f"{name}.toml"
    found = work.answer(path.read_text(encoding="utf-8"), str(path), None, "", (), True)
    factors = [value.partition(" (")[0] for row, value, _ in found["rows"] if row.startswith("fRsi")]
    assert len(factors) > 1
    assert found["short"][0][1].partition(" (")[0] == min(factors)
    assert first in found["short"][0][0]
    assert found["short"][1][0][:1] in "ΨU"


def test_each_verdict_says_of_what(visitor: TestClient) -> None:
    page = unescape(visitor.get(JOIST).text)
    short = page[page.index('<p class="short">') : page.index('id="drawing"')]
    for limit in ("fRsi at least 0.700, mould at the surface", "Ψ at most 0.0500 W/(m·K), floor edges"):
        assert limit in short
