"""Options side by side: brackets add, verdicts are borne out by them, terms agree, and a sheet holds all."""

from __future__ import annotations

import io
import json
import os
import re
from dataclasses import replace
from functools import cache
from pathlib import Path
from types import SimpleNamespace

import pymupdf
import pytest
from pypdf import PdfReader

from bridge2d import nomenclature as n
from bridge2d.calculate import calculate
from bridge2d.cli import main
from bridge2d.comparison import compared
from bridge2d.comparison.differing import NOT_THERE, differing_input
from bridge2d.comparison.numbers import _with_plane_parts
from bridge2d.comparison.records import (
    BOUNDED,
    ESTIMATED,
    EXACT,
    SAME,
    UNDECIDED,
    Amount,
    Basis,
    Comparison,
    Option,
    difference,
)
from bridge2d.comparison.screen import as_text, comparison_json
from bridge2d.comparison.summary import summary
from bridge2d.comparison.terms import gathered
from bridge2d.comparison_block import ComparisonTerms
from bridge2d.detail_file import load, read
from bridge2d.errors import InputError
from bridge2d.report.comparison_pages import comparison_bytes
from bridge2d.report.comparison_pictures import alike_words, differing_sections, pictures, shapes
from bridge2d.shown_units import IN_INCH_POUND, IN_SI, DisplayUnits

PARTY = """junction = "party_wall"
title = "Party wall (invented)"
project = "The Tollhouse (invented)"
[parameters]
masonry_thickness = 380
return_length = {length}
return_thickness = {thickness}
{more}
[[requirement]]
quantity = "f_rsi"
minimum = 0.70
name = "mould"
source = "brief, invented"
[[requirement]]
quantity = "psi"
dimensions = "external"
maximum = 0.2
name = "party walls"
source = "brief, invented"
{terms}
"""
TERMS = """[comparison]
option = "{option}"
description = "{description}"
length = "10 m"
cost_per_metre = {cost}
currency = "EUR"
heating_degree_hours = 80
lifetime = 40
"""
FREE = """junction = "free_section"
title = "Nib (invented)"
[[region]]
name = "brick"
conductivity = 0.77
polygon = [[0, 0], [330, 0], [330, 1000], [0, 1000]]
[[region]]
name = "board"
conductivity = {board}
polygon = [[330, 0], [410, 0], [410, {high}], [330, {high}]]
[[environment]]
name = "outside"
temperature = -5
surface_resistance = 0.04
edge = [[0, 0], [0, 1000]]
[[environment]]
name = "room"
temperature = 20
surface_resistance = {resistance}
edge = [[410, 0], [410, {high}]{rest}]
[[flanking]]
name = "wall"
cut = [[0, 0], [410, 0]]
lengths = {{ {system} = 1000 }}
"""


def party(option: str = "", length: int = 0, cost: float = 0, more: str = "", description: str = "an option") -> str:
    terms = TERMS.format(option=option, description=description, cost=cost) if option else ""
    return PARTY.format(length=length, thickness=40 if length else 0, more=more, terms=terms)


def free(board: float = 0.04, high: int = 1000, system: str = "external", resistance: float = 0.13) -> str:
    rest = ", [330, 600], [330, 1000]" if high < 1000 else ""
    return FREE.format(board=board, high=high, system=system, resistance=resistance, rest=rest)


@cache
def options(*texts: str, shown: DisplayUnits = IN_SI) -> Comparison:
    """A comparison of detail files, computed coarsely: for words and pictures."""
    system = shown.system
    loaded = [read(text, Path(f"option_{k}.toml"), geometry=False, shown=system) for k, text in enumerate(texts)]
    results = [calculate(one.detail, 1e-2, input_hash=one.input_hash) for one in loaded]
    return compared(loaded, results, gathered(loaded, {}), shown)


@pytest.fixture
def two() -> Comparison:
    return options(party("A"), party("B", length=500, cost=64))


def row(comparison: Comparison, key: str):
    (found,) = [one for one in comparison.rows if one.key == key]
    return found


# -- numbers and verdicts ------------------------------------------------------------------------------------------


def test_brackets_add_in_a_difference():
    # exact interval arithmetic
    found = Amount(0.30, 0.34, BOUNDED).minus(Amount(0.10, 0.11, BOUNDED))
    assert (found.lower, found.upper) == (pytest.approx(0.19), pytest.approx(0.24))
    assert Amount(1, 2, BOUNDED).minus(Amount(0, 1, ESTIMATED)).kind == ESTIMATED
    assert Amount(1, 1).minus(Amount(0, 1, BOUNDED)).kind == BOUNDED


@pytest.mark.parametrize(
    ("amount", "first", "sense", "says"),
    [
        (Amount(0.10, 0.11, BOUNDED), Amount(0.20, 0.21, BOUNDED), -1, "certainly better"),
        (Amount(0.30, 0.31, BOUNDED), Amount(0.20, 0.21, BOUNDED), -1, "certainly worse"),
        (Amount(0.30, 0.31, BOUNDED), Amount(0.20, 0.21, BOUNDED), 1, "certainly better"),
        (Amount(0.30, 0.31, BOUNDED), Amount(0.20, 0.21, BOUNDED), 0, "certainly higher"),
        (Amount(0.205, 0.215, BOUNDED), Amount(0.20, 0.21, BOUNDED), -1, UNDECIDED),
        (Amount(0.20, 0.20, BOUNDED), Amount(0.20, 0.20, BOUNDED), -1, UNDECIDED),
        (Amount(0.30, 0.31, ESTIMATED), Amount(0.20, 0.21, BOUNDED), 1, "better"),
        (Amount(0.2, 0.2), Amount(0.2, 0.2), -1, SAME),
        (Amount(0.3, 0.3), Amount(0.2, 0.2), -1, "worse"),
        (Amount(0.1, 0.1), Amount(0.2, 0.2), 0, "lower"),
    ],
)
def test_a_verdict_follows_from_both_brackets(amount: Amount, first: Amount, sense: int, says: str):
    found = difference(amount, first, sense, n.PSI)
    assert found is not None
    assert found.verdict == says


def test_what_is_printed_bears_the_verdict_out():
    """0.00009 to 0.00011 above: printed 0.0001 ± 0.0001, in which zero lies."""
    found = difference(Amount(0.10009, 0.10011, BOUNDED), Amount(0.1, 0.1, BOUNDED), -1, n.PSI)
    assert found is not None
    assert found.amount.shown(n.PSI, signed=True) == "+0.0001 ± 0.0001 W/(m·K)"
    assert found.verdict == UNDECIDED


def test_a_difference_is_that_of_the_options(two: Comparison):
    found = row(two, "psi external")
    a, b = (option.result.psi[0].value for option in two.options)
    amount = found.differences[1].amount
    assert amount.lower == pytest.approx(b.lower - a.upper)
    assert amount.upper == pytest.approx(b.upper - a.lower)
    assert found.differences[1].verdict == "certainly better"
    assert found.differences[0] is None
    assert row(two, "f_rsi").differences[1].verdict == "better"


def test_heat_in_a_year_and_its_price(two: Comparison):
    """H = Ψ·l, Q = H times degree hours, price = extra cost per metre over heat saved per metre: exact."""
    a, b = (option.result.psi[0].value for option in two.options)
    loss, heat = row(two, "loss").values[1], row(two, "annual").values[1]
    assert (loss.lower, loss.upper) == (pytest.approx(10 * b.lower), pytest.approx(10 * b.upper))
    assert (heat.lower, heat.upper) == (pytest.approx(800 * b.lower), pytest.approx(800 * b.upper))
    price = row(two, "cost per saved kWh a year").values[1]
    assert price.lower == pytest.approx(64 / (80 * (a.upper - b.lower)))
    assert price.upper == pytest.approx(64 / (80 * (a.lower - b.upper)))
    assert row(two, "cost per saved kWh").values[1].upper == pytest.approx(price.upper / 40)


def test_no_price_where_nothing_is_saved():
    worse = options(party("A", length=500, cost=64), party("B"))
    assert not [one for one in worse.rows if one.key.startswith("cost per saved")]
    assert "B loses more heat than A, but it is cheaper; a saved kWh has no price." in worse.remarks


def test_other_plane_parts_take_the_verdict_off_psi():
    """Ψ says too little where U differs: the row with the plane parts decides, and no kWh has a price."""
    both = options(party("A"), party("B", cost=9, more="insulation_thickness = 160"))
    assert row(both, "psi external").differences[1].verdict in ("certainly higher", "certainly lower", UNDECIDED)
    piece = row(both, "piece")
    a, b = (option.result for option in both.options)
    lengths = {term.name: term.length for term in a.psi[0].terms}
    taken = sum(term.u_value * lengths[term.name] for term in b.psi[0].terms)
    assert piece.values[1].value == pytest.approx(b.psi[0].value.value + taken)
    assert piece.differences[1].verdict == "certainly better"
    assert not [one for one in both.rows if one.key.startswith("cost per saved")]
    assert any("different U-values" in words for words in both.remarks)


def hatches(**terms):
    """The two hatches of the Tollhouse, their lids of one clear size."""
    loaded = [load(Path(__file__).parents[2] / "details" / f"tollhouse_hatch_{x}.toml") for x in "ab"]
    results = [calculate(one.detail) for one in loaded]
    return loaded, results, [ComparisonTerms(option=name, **terms) for name in "AB"]


def test_hatches_are_compared_as_a_whole():
    loaded, results, terms = hatches(number=3, heating_degree_hours=80.0, dimensions="internal", currency="crowns")
    terms = [replace(one, cost_per_metre=cost) for one, cost in zip(terms, (90.0, 130.0), strict=True)]
    both = compared(loaded, results, terms)
    a, b = (3 * result.hatch.loss.value for result in results)
    assert [one.value for one in row(both, "hatch loss").values] == pytest.approx([a, b])
    assert row(both, "hatch loss").differences[1].verdict == "certainly better"
    assert row(both, "hatch annual").values[0].value == pytest.approx(80 * a)
    extra = 3 * 3.2 * (130 - 90)  # crowns, along the clear openings
    price = row(both, "cost per saved kWh a year").values[1]
    assert price.value == pytest.approx(extra / (80 * (a - b)), rel=1e-3)
    keys = {one.key for one in both.rows}
    assert not keys & {"piece", "loss", "annual", "annual per metre"}
    assert any("judge by the heat loss of the hatch" in words for words in both.remarks)
    assert "the 3 hatches" in summary(both)[0] or "3 hatches" in summary(both)[0]


@pytest.mark.parametrize("dimensions", ["external", "internal", "overall_internal"])
def test_the_same_piece_of_building_is_taken_whatever_the_lengths_are_measured_by(dimensions):
    """Exact: from the lid's middle to the first option's cut plane, L2D less U·l of what lies beyond it."""
    loaded, results, terms = hatches(dimensions=dimensions)
    options = compared(loaded, results, terms).options
    a, b = (_with_plane_parts(option, options[0], Basis(dimensions, None, None, "")) for option in options)
    (first,), (second,) = (result.sections for result in results)
    assert a.value == pytest.approx(first.l2d.value, abs=1e-9)
    cuts = [next(e for e in one.section.flanking if e.name == "roof").cut[0][0] for one in (first, second)]
    roof = next(e.u_value for e in second.flanking if e.name == "roof")
    assert cuts[1] > cuts[0]
    assert b.value == pytest.approx(second.l2d.value - roof * (cuts[1] - cuts[0]), abs=1e-9)
    assert b.upper - b.lower == pytest.approx(second.l2d.upper - second.l2d.lower)


# -- what differs in the input -------------------------------------------------------------------------------------


def test_only_parameters_that_differ_are_listed(two: Comparison):
    assert [(one.symbol, one.values) for one in two.inputs] == [
        ("l_r", ("0 mm", "500 mm")),
        ("t_r", (NOT_THERE, "40 mm")),
        ("", (NOT_THERE, "mineral foam board, 0.045 W/(m·K)")),
    ]


def test_the_same_input_is_said_so():
    twins = options(party("A"), party("B"))
    assert twins.inputs == ()
    assert "A and B have the very same input." in twins.remarks
    assert row(twins, "psi external").differences[1].verdict == UNDECIDED
    assert "What is different in the input: nothing" in as_text(twins)


def test_parts_of_free_sections_that_differ():
    both = options(free(), free(board=0.03, high=600, resistance=0.2))
    told = {one.label: one.values for one in both.inputs}
    assert told["board: material"] == ("board, 0.04 W/(m·K)", "board, 0.03 W/(m·K)")
    assert "(410, 600)" in told["board: outline"][1]
    assert told["room: surface resistance"] == ("0.13 m²·K/W", "0.2 m²·K/W")
    assert "brick: material" not in told
    assert any("different surface resistances" in words for words in both.remarks)


def test_a_different_junction_is_said_so():
    both = options(party("A"), free())
    assert both.inputs[0].values == ("party wall", "free section")
    assert any("different junctions" in words for words in both.remarks)
    assert [option.name for option in both.options] == ["A", "B"]


# -- options of other kinds -----------------------------------------------------------------------------------------

DETAILS = Path(__file__).parents[2] / "details"


def tollhouse(name: str, option: str, *changes: tuple[str, str], terms: str = "") -> str:
    """A detail of the Tollhouse as an option."""
    text = (DETAILS / f"tollhouse_{name}.toml").read_text(encoding="utf-8").partition("[climate]")[0]
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    return f'{text}\n[comparison]\noption = "{option}"\n{terms}'


def test_windows_are_compared_by_the_joint_round_them():
    """Ψ of installation times the joints of all windows: exact, of the sides' brackets."""
    terms = "number = {}\nheating_degree_hours = 80\ncost_per_metre = {}\n"
    one = tollhouse("window", "A", terms=terms.format(3, 20))
    two = tollhouse("window", "B", ("transmittance = 0.6 ", "transmittance = 0.7 "), terms=terms.format(4, 24))
    both = options(one, two)
    assert both.basis.dimensions == ""  # no outer or inner length is part of it
    assert both.rows[0].key == "psi of installation"
    assert {"psi of installation jamb", "psi of installation head", "psi of installation sill"} <= {
        one.key for one in both.rows
    }
    joint = 2 * (1.1 + 1.7)
    for number, count in enumerate((3, 4)):
        result = both.options[number].result
        assert result.psi_installation is not None
        assert both.options[number].length == pytest.approx(count * joint)
        assert row(both, "loss").values[number].lower == pytest.approx(count * joint * result.psi_installation.lower)
    assert row(both, "cost").values[1].value == pytest.approx(4 * joint * 24)
    assert row(both, "u alone").differences[1].verdict == "worse"
    assert any("windows themselves have different U-values" in words for words in both.remarks)
    assert any("The lengths differ" in words for words in both.remarks)


def test_pieces_are_compared_by_their_number():
    """χ times the number of pieces: exact."""
    texts = [
        tollhouse("fixing", name, ('shank_material = "stainless steel"', f'shank_material = "{material}"'), terms=terms)
        for name, material, terms in (("A", "stainless steel", "number = 12\n"), ("B", "steel", "number = 12\n"))
    ]
    both = options(*texts)
    for option, amount in zip(both.options, row(both, "loss").values, strict=True):
        assert option.result.chi is not None
        assert amount.upper == pytest.approx(12 * option.result.chi.value.upper)
        assert option.length is None
    assert row(both, "chi").differences[1].verdict == "certainly worse"


def test_a_limit_on_u_and_an_option_that_has_none():
    both = options(tollhouse("framed_wall", "A"), party("B"))
    text = as_text(both)
    limit = next(one for one in both.limits if one.requirement.quantity == "u_value")
    assert limit.results[0] is not None
    assert limit.results[1] is None
    assert f"U ≤ {limit.requirement.limit:.4f} W/(m²·K)" in text
    assert re.search(r"\n    B  does not apply\n", text)
    assert row(both, "u section").values[1] is None
    assert f"{limit.requirement.limit:.4f}" in words_of(comparison_bytes(both))


def test_walls_with_repeated_pieces_are_compared_by_their_u():
    thicker = ("insulation_thickness = 100", "insulation_thickness = 140")
    both = options(tollhouse("framed_wall", "A"), tollhouse("framed_wall", "B", thicker))
    found = row(both, "u section")
    for option, amount in zip(both.options, found.values, strict=True):
        assert option.result.u_section is not None
        assert (amount.lower, amount.upper) == (
            option.result.u_section.u_value.lower,
            option.result.u_section.u_value.upper,
        )
    assert found.differences[1].verdict == "certainly better"
    assert re.match(
        r"B certainly loses less heat than A: 0\.0\d+ ± 0\.0\d+ W/\(m²·K\) less, U of the wall\.", summary(both)[0]
    )


def test_without_plane_parts_the_coupling_is_compared():
    """Exact, plane walls: 1 m of 330 mm brick and 80 mm board between 0.04 and 0.13 m²·K/W."""
    texts = [free(board=board).partition("[[flanking]]")[0] for board in (0.04, 0.03)]
    both = options(*texts)
    found = row(both, f"coupling {both.options[0].result.sections[0].section.name} outside room")
    for amount, board in zip(found.values, (0.04, 0.03), strict=True):
        assert amount.lower <= 1 / (0.04 + 0.33 / 0.77 + 0.08 / board + 0.13) <= amount.upper
    assert found.differences[1].verdict == "certainly better"
    assert summary(both)[0].startswith("Nothing says whether B loses less heat than A.")


def test_other_plane_parts_beside_a_free_section_leave_no_verdict_on_heat():
    more = '[[flanking]]\nname = "wall again"\ncut = [[410, 1000], [0, 1000]]\nlengths = { external = 1 }\n'
    both = options(free(), free(board=0.03) + more)
    assert row(both, "psi external").differences[1].verdict in ("certainly higher", "certainly lower")
    assert row(both, "piece").values[1] is None
    assert summary(both)[0].startswith("Heat: see the table; B and A have different plane parts.")


def test_a_cost_without_a_length_and_the_same_cost():
    texts = [
        party(name, length=length, cost=64).replace('length = "10 m"\n', "") for name, length in (("A", 0), ("B", 500))
    ]
    both = options(*texts)
    assert not [one for one in both.rows if one.key in ("cost", "loss", "annual")]
    assert row(both, "cost per metre").differences[1].verdict == SAME
    assert "It costs the same." in summary(both)[0]


def test_other_lengths_are_priced_in_all():
    """Exact: what all of it costs more over what all of it saves in a year."""
    both = options(party("A", length=0, cost=1), party("B", length=500, cost=64).replace('"10 m"', '"9 m"'))
    a, b = (option.result.psi[0].value for option in both.options)
    price = row(both, "cost per saved kWh a year").values[1]
    assert price.upper == pytest.approx((9 * 64 - 10) / (80 * (10 * a.lower - 9 * b.upper)))
    assert price.lower == pytest.approx((9 * 64 - 10) / (80 * (10 * a.upper - 9 * b.lower)))


def test_the_dew_point_is_asked_of_options_that_tell_their_humidity():
    layer = '[[airtight]]\nname = "plaster"\nline = [[330, 0], [330, 1000]]\n'
    damp = free().replace("temperature = 20", "temperature = 20\nhumidity = 0.5") + layer
    both = options(free(board=0.03) + layer, damp)
    (along,) = [one for one in both.words if one.key == "dew point along the airtight layer"]
    assert along.values[0] == "humidity of the room air not given"
    assert along.data[0] is None
    assert along.values[1].startswith("yes: ≈ ")  # behind 80 mm of board the brick is colder than 9.3 °C


def test_parts_of_one_name_and_long_outlines_are_told_apart():
    star = "[[0, 0], [10, 5], [20, 0], [15, 10], [20, 20], [10, 15], [{x}, 20]]"
    void = "\nholes = [[[100, 100], [200, 100], [200, 200]]]"
    ring = "polygon = [[0, 0], [330, 0], [330, 1000], [0, 1000]]"
    hollow = '[[region]]\nname = "hollow"\ncavity = "{kind}"\npolygon = [[5, 5], [9, 5], [9, 9]]\n'
    again = '[[region]]\nname = "brick"\nconductivity = 0.5\npolygon = {star}\n'
    piece = '[[environment]]\nname = "room"\nsurface_resistance = {r}\nedge = [[410, 1000], [330, 1000]]\n'
    told = []
    for k, kind in enumerate(("unventilated", "slightly ventilated")):
        text = free().replace(ring, ring + void) if k == 0 else free()
        text += hollow.format(kind=kind) + again.format(star=star.format(x=k)) + piece.format(r=0.2 + 0.1 * k)
        one = read(text, Path(f"{k}.toml"), geometry=False)
        result = SimpleNamespace(detail=one.detail)
        told.append(Option("AB"[k], "", "", one.input_hash, ComparisonTerms(), one, result))  # type: ignore[arg-type]
    found = {one.label: one.values for one in differing_input(told)}
    assert found["hollow: material"] == (
        "cavity, unventilated, emissivity 0.9",
        "cavity, slightly ventilated, emissivity 0.9",
    )
    assert found["brick: hole 1"] == ("(100, 100) (200, 100) (200, 200) mm", "–")
    assert found["brick (2): outline"] == ("7 corners, of these (0, 20) mm", "7 corners, of these (1, 20) mm")
    assert found["room, piece 2: surface resistance"] == ("0.2 m²·K/W", "0.3 m²·K/W")
    assert not {"brick: material", "brick (2): material", "brick: outline", "room: surface resistance"} & set(found)


# -- terms ---------------------------------------------------------------------------------------------------------


def test_dimension_systems_are_not_mixed():
    with pytest.raises(InputError, match=r"no dimension system \(A: external; B: internal\)"):
        options(free(), free(system="internal"))


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("heating_degree_hours = 80", "heating_degree_hours = 70", "A has 80 kKh/a, option B 70 kKh/a"),
        ('currency = "EUR"', 'currency = "GBP"', "A has EUR, option B GBP"),
        ("lifetime = 40", "lifetime = 30", "A has 40 years, option B 30 years"),
        ('option = "B"', 'option = "A"', "is called 'A'"),
    ],
)
def test_terms_have_to_agree(old: str, new: str, says: str):
    with pytest.raises(InputError, match=says):
        options(party("A"), party("B", length=500).replace(old, new))


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('length = "10 m"', "length = -3", "length: -3|-0.003 is not above 0"),
        ("lifetime = 40", "lifetime = 0", "lifetime: 0 is not above 0"),
        ('length = "10 m"', 'length = "10 m"\nnumber = 4', "both length and number"),
        ("cost_per_metre = 0", "cost_per_metre = -3", "cost_per_metre: -3 is below 0; give 0 or more"),
        ('option = "A"', 'option = "a very long name"', "more than 12 characters"),
        ("lifetime = 40", "life_time = 40", "did you mean 'lifetime'"),
    ],
)
def test_a_wrong_term_is_told_with_its_line(old: str, new: str, says: str):
    with pytest.raises(InputError, match=says) as caught:
        read(party("A").replace(old, new), Path("a.toml"))
    assert caught.value.line


def test_words_of_the_call_are_read_as_those_of_the_file():
    loaded = [read(party(), Path(f"{k}.toml"), geometry=False) for k in "ab"]
    said = {"length": ["12400"], "cost_per_metre": ["0", "64"], "option": ["x", "y"], "heating_degree_hours": ["80"]}
    x, y = gathered(loaded, said)
    assert (x.length, y.length, x.cost_per_metre, y.cost_per_metre) == (12.4, 12.4, 0.0, 64.0)
    assert (x.option, y.option, x.heating_degree_hours) == ("x", "y", 80.0)
    assert gathered(loaded, {"length": ["12.4 m"]})[0].length == 12.4


@pytest.mark.parametrize(
    ("said", "says"),
    [
        ({"length": ["5 m"]}, r"the call says length 5.0, the file says 10.0"),
        ({"number": ["5"]}, r"A.toml: both length and number are given; give one of them"),
        ({"length": ["1", "2", "3"]}, r"--length: is given 3 times for 2 files"),
        ({"lifetime": ["long"]}, r"--lifetime"),
        ({"length": ["5 lightyears"]}, r"--length"),
        ({"dimensions": ["outer"]}, r"--dimensions"),
    ],
)
def test_a_wrong_word_of_the_call(said: dict[str, list[str]], says: str):
    loaded = [read(party(name), Path(f"{name}.toml"), geometry=False) for name in "AB"]
    with pytest.raises(InputError, match=says):
        gathered(loaded, said)


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ({"length": ["40 ft"]}, {"length": 12.192}),
        ({"heating_degree_hours": ["144 k°F·h/a"]}, {"heating_degree_hours": 80.0}),
        ({"heating_degree_hours": ["80 kKh/a"]}, {"heating_degree_hours": 80.0}),
        ({"cost_per_metre": ["19.5072/ft"]}, {"cost_per_metre": 64.0}),
        ({"cost_per_metre": ["64 / m"]}, {"cost_per_metre": 64.0}),
        ({"cost_per_metre": ["0"], "lifetime": ["40"], "number": ["6"]}, {"cost_per_metre": 0.0, "lifetime": 40.0}),
    ],
)
@pytest.mark.parametrize("system", ["SI", "inch-pound"])
def test_words_of_the_call_with_units(said: dict[str, list[str]], expected: dict[str, float], system: str):
    # exact: 40 · 0.3048; 144 · 5/9; 19.5072 / 0.3048
    (found,) = gathered([read(free(), Path("a.toml"), geometry=False)], said, system)
    for key, value in expected.items():
        assert getattr(found, key) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize("key", ["length", "heating_degree_hours", "cost_per_metre"])
def test_a_bare_number_of_a_call_in_inch_pound_units_is_refused(files, capsys, key: str):
    """It could be meant in either system; the file's own bare numbers are what they are in the file."""
    flag = "--" + key.replace("_", "-")
    call = ["compare", *map(str, files), "--units", "inch-pound", "--tolerance", "0.01"]
    assert main([*call, flag, "40"]) == 2
    error = capsys.readouterr().err
    assert f"{flag}: 40 has no unit" in error
    assert "write " in error
    for file in files:
        file.write_text('junction = "wall_corner"\nunits = "inch-pound"\n', encoding="utf-8")
    for more in ([], ["--json"]):  # the first file's own system, unless --units says another
        assert main(["compare", *map(str, files), *more, "--tolerance", "0.01", flag, "40"]) == 2
        assert "has no unit" in capsys.readouterr().err


@pytest.mark.parametrize("word", ["80 kWh", "1/2/ft", "-3/ft", "80 kKh/d", "inf/m"])
def test_an_unknown_unit_of_the_call_is_told(word: str):
    key = "cost_per_metre" if "/ft" in word or "/m" in word else "heating_degree_hours"
    with pytest.raises(InputError, match="no unit that is known here"):
        gathered([read(free(), Path("a.toml"), geometry=False)], {key: [word]})


def test_terms_do_not_change_the_input_hash():
    assert read(party("A"), Path("a.toml"), False).input_hash == read(party(), Path("a.toml"), False).input_hash


# -- screen, JSON, command -----------------------------------------------------------------------------------------


def test_screen_has_every_number_with_its_bracket(two: Comparison):
    text = re.sub(r"\s+", " ", as_text(two))
    for one in two.rows:
        for amount in one.values:
            if amount is not None:
                assert amount.shown(one.quantity) in text
        for between in one.differences:
            if between is not None:
                assert between.amount.shown(one.difference_quantity, signed=True) in text
                assert between.verdict in text
    assert "A NOT MET, found" in text
    assert "is the dew point reached on the inside surface? A no: ≈" in text


def test_limits_of_all_are_held_against_all():
    both = options(party("A"), party("B", length=500).replace("maximum = 0.2", "maximum = 0.1"))
    assert [one.requirement.limit for one in both.limits if one.requirement.quantity == "psi"] == [0.2, 0.1]
    assert all(len(one.results) == 2 for one in both.limits)


def test_in_short(two: Comparison):
    words = " ".join(summary(two))
    assert "B certainly loses less heat than A:" in words
    assert "A misses “party walls”; B keeps every limit." in words


def test_json_is_plain_and_complete(two: Comparison):
    document = comparison_json(two)
    json.dumps(document, allow_nan=False)
    assert [one["option"] for one in document["options"]] == ["A", "B"]
    assert document["options"][1]["results"]["psi"][0]["dimensions"] == "external"
    heat = next(one for one in document["rows"] if one["key"] == "annual")
    assert heat["unit"] == "kWh/a"
    assert heat["differences"][1]["verdict"] == "certainly better"
    assert document["limits"][1]["options"][0]["met"] is False


@pytest.fixture
def files(tmp_path: Path) -> tuple[Path, Path]:
    a, b = tmp_path / "a.toml", tmp_path / "b.toml"
    a.write_text(party("A"), encoding="utf-8")
    b.write_text(party("B", length=500, cost=64), encoding="utf-8")
    return a, b


def test_the_command_writes_a_pdf_and_says_that_a_limit_is_missed(files: tuple[Path, Path], capsys):
    target = files[0].parent / "both.pdf"
    assert main(["compare", *map(str, files), "-o", str(target), "--tolerance", "0.01"]) == 1
    out = capsys.readouterr().out
    assert f"{target}: written" in out
    assert target.read_bytes().startswith(b"%PDF")


def test_the_command_writes_nothing_unless_it_is_told_where(files: tuple[Path, Path], capsys):
    assert main(["compare", *map(str, files), "--tolerance", "0.01"]) == 1
    out = capsys.readouterr().out
    assert "What comes out" in out
    assert "written" not in out
    assert sorted(files[0].parent.iterdir()) == sorted(files)


def test_the_command_prints_one_json_object(files: tuple[Path, Path], capsys):
    assert main(["compare", *map(str, files), "--json", "--tolerance", "0.01"]) == 1
    assert len(json.loads(capsys.readouterr().out)["options"]) == 2


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["{a}"], "needs two details or more"),
        (["{a}", "{b}", "-o", "x.txt"], "ends in .pdf"),
        (["{a}", "{b}", "-o", "nowhere/x.pdf"], "folder does not exist"),
        (["{a}", "nothing.toml"], "there is no such file"),
        (["{a}", "{b}", "--heating-degree-hours", "70"], "the call says heating_degree_hours 70.0"),
        (["{a}", "{b}", "-o", "{folder}/x.pdf", "--section", "attic"], "no option has a section 'attic'"),
    ],
)
def test_a_wrong_call_is_told_in_one_message(files: tuple[Path, Path], capsys, words: list[str], says: str):
    filled = [word.format(a=files[0], b=files[1], folder=files[0].parent) for word in words]
    assert main(["compare", *filled, "--tolerance", "0.01"]) == 2
    error = capsys.readouterr().err
    assert says in error
    assert len(error.splitlines()) == 1


# -- paper ---------------------------------------------------------------------------------------------------------

LONG = (
    "Außenwandecke mit Innendämmung – Ściana zewnętrzna, zażółć gęślą jaźń – Γωνία εξωτερικού τοίχου, "
    "and on and on it goes, as a title does that somebody has pasted from a tender with all of its clauses in it"
)
MATERIAL = (
    'insulation_material = {{ conductivity = 0.0{number}, basis = "Holzfaserdämmplatte ściana z cegły μόνωση '
    'τοίχου deklarowana {number}" }}'
)


def words_of(data: bytes) -> str:
    with pymupdf.open(stream=data, filetype="pdf") as document:
        text = "\n".join(page.get_text() for page in document)
    return re.sub(r"\s+", " ", text.replace("\N{NO-BREAK SPACE}", " "))


def texts_off_their_place(data: bytes, pages: int | None = None) -> list[str]:
    """Texts outside the margins, and texts that run over another, on the first pages or all of them."""
    found = []
    with pymupdf.open(stream=data, filetype="pdf") as document:
        for page in list(document)[:pages]:
            inner = pymupdf.Rect(36, 20, page.rect.width - 36, page.rect.height - 12)
            lines = [line for block in page.get_text("dict")["blocks"] for line in block.get("lines", [])]
            level = [line for line in lines if line["dir"] == (1.0, 0.0)]
            spans = [(s["text"], pymupdf.Rect(s["bbox"])) for line in lines for s in line["spans"] if s["text"].strip()]
            found += [text for text, box in spans if box not in inner]
            flat = [(s["text"], pymupdf.Rect(s["bbox"]), s["size"]) for line in level for s in line["spans"]]
            flat = [(text, _core(box, size)) for text, box, size in flat if text.strip()]
            for k, (text, box) in enumerate(flat):
                found += [f"{text} over {other}" for other, there in flat[k + 1 :] if box.intersects(there)]
    return found


def _core(box: pymupdf.Rect, size: float) -> pymupdf.Rect:
    """The middle of a text's box: accents and descenders of two lines may touch."""
    middle = 0.5 * (box.y0 + box.y1)
    return pymupdf.Rect(box.x0 + 0.6, middle - 0.2 * size, box.x1 - 0.6, middle + 0.2 * size)


@cache
def sheet(count: int, paper: str, long: bool, shown: DisplayUnits = IN_SI) -> bytes:
    texts = []
    for k, name in enumerate("ABCD"[:count]):
        description = LONG if long else f"returned {250 * k} mm"
        more = MATERIAL.format(number=40 + k) if long else ""
        text = party(name, length=250 * k, cost=20 * k, more=more, description=description)
        texts.append(text.replace("Party wall (invented)", LONG) if long else text)
    return comparison_bytes(options(*texts, shown=shown), paper=paper)


@pytest.mark.parametrize(
    ("count", "long", "paper", "shown"),
    [
        (2, False, "A4", IN_SI),
        (2, True, "A4", IN_INCH_POUND),
        (3, False, "A4", IN_INCH_POUND),
        (4, True, "Letter", IN_INCH_POUND),
        *([(2, True, "Letter", IN_SI), (4, True, "A4", IN_SI)] if os.environ.get("SEARCH") else []),
    ],
    ids=str,
)
def test_no_text_leaves_its_place(count: int, long: bool, paper: str, shown: DisplayUnits):
    assert len(LONG) >= 200
    data = sheet(count, paper, long, shown)
    assert texts_off_their_place(data) == []
    if long:
        text = words_of(data)
        for words in ("Außenwandecke", "zażółć", "εξωτερικού", "Holzfaserdämmplatte", "μόνωση"):
            assert words in text


def test_two_options_fit_one_page():
    with pymupdf.open(stream=sheet(2, "A4", False), filetype="pdf") as document:
        assert len(document) == 1
        assert not any(page.get_images() for page in document)  # vectors alone


def test_two_runs_give_the_same_bytes(two: Comparison):
    data = comparison_bytes(two)
    assert comparison_bytes(two) == data
    information = PdfReader(io.BytesIO(data)).metadata
    assert information is not None
    assert "/CreationDate" not in information
    assert information.title == "Comparison of A and B"


def test_the_sheet_has_numbers_verdicts_cautions_and_fingerprints(two: Comparison):
    text = words_of(comparison_bytes(two))
    for one in two.rows:
        if one.important:
            for amount in one.values:
                assert amount is None or amount.shown(one.quantity) in text
    for words in ("certainly better", "✗ not met", "✓ met", "What this sheet does not say", "Fire:", "500 mm"):
        assert words in text
    assert two.fingerprint in text
    assert all(option.input_hash[:16] in text for option in two.options)


def test_one_scale_and_one_range_of_temperatures():
    both = options(party("A"), party("B", length=500, cost=64))
    drawn = pictures(both, shapes(both), (60.0, 60.0), (60.0, 60.0), 120.0)
    assert len({one.scale for one in drawn.drawings}) == 1
    assert len({one.scale for one in drawn.isotherms}) == 1
    temperatures = [section.fields.temperature for section in drawn.sections]
    assert drawn.span.low == min(one.min() for one in temperatures)
    assert drawn.span.high == max(one.max() for one in temperatures)


def test_options_that_no_drawing_tells_apart_are_told():
    alike = options(party("A"), party("B", cost=64))
    assert differing_sections(alike) == ()
    words = alike_words(alike, shapes(alike).sections)
    assert words.startswith("The drawings are the same in all options")
    assert words in words_of(comparison_bytes(alike))
    both = options(party("A"), party("B", length=500, cost=64))
    assert shapes(both).sections[0].section.name in differing_sections(both)
    assert alike_words(both, shapes(both).sections) == ""
    warmer = options(free(), free(resistance=0.25))  # its isotherms are others
    assert differing_sections(warmer) == tuple(one.section.name for one in warmer.options[0].result.sections)


def test_a_paper_that_is_not_known(two: Comparison):
    with pytest.raises(InputError, match="there is no paper 'A3'; write A4 or Letter"):
        comparison_bytes(two, paper="A3")


def test_too_many_options_for_one_sheet():
    twins = options(*(party() for _ in range(7)))
    with pytest.raises(InputError, match="room for 6 options"):
        comparison_bytes(twins)


def test_exact_numbers_have_no_bracket():
    assert Amount(0.84, 0.84, EXACT).shown(n.U_VALUE) == "0.840 W/(m²·K)"
    assert Amount(0.25, 0.75, ESTIMATED).shown(n.F_RSI, signed=True) == "≈ +0.500 (tolerance 0.250)"
