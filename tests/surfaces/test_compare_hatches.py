"""Hatches and other junctions side by side: the climate's limits, what costs rest on, what is not there, fine parts."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache
from pathlib import Path

import pymupdf
import pytest

from bridge2d import nomenclature as n
from bridge2d.calculate import calculate
from bridge2d.cli import main
from bridge2d.climate import Margin
from bridge2d.comparison import compared
from bridge2d.comparison.differing import NOT_THERE
from bridge2d.comparison.records import EXACT, Amount, ClimateRow, Comparison, Row, difference
from bridge2d.comparison.savings import saving_rows
from bridge2d.comparison.screen import as_text, climate_text, comparison_json
from bridge2d.comparison.summary import summary
from bridge2d.comparison.terms import gathered
from bridge2d.detail_file import load
from bridge2d.drawing.scene import all_texts
from bridge2d.months_words import CRITERIA
from bridge2d.nomenclature import Quantity
from bridge2d.report.comparison_pages import comparison_bytes
from bridge2d.report.comparison_parts import fine_parts
from bridge2d.report.comparison_pictures import shapes
from bridge2d.report.limits_kept import limits_kept
from bridge2d.shown_units import IN_INCH_POUND, IN_SI, DisplayUnits

DETAILS = Path(__file__).parents[2] / "details"


@cache
def side_by_side(*names: str, shown: DisplayUnits = IN_SI) -> Comparison:
    """The Tollhouse's details of these names, computed coarsely: for words, verdicts and pictures."""
    loaded = [load(DETAILS / f"tollhouse_{name}.toml", shown=shown.system) for name in names]
    results = [calculate(one.detail, 1e-2, input_hash=one.input_hash) for one in loaded]
    said = {"dimensions": ["internal"]} if "joist" in names else {}
    return compared(loaded, results, gathered(loaded, said), shown)


@pytest.fixture
def hatches() -> Comparison:
    return side_by_side("hatch_a", "hatch_b")


@cache
def sheet(*names: str, paper: str = "A4", shown: DisplayUnits = IN_SI) -> tuple[str, ...]:
    """The words of each page."""
    data = comparison_bytes(side_by_side(*names, shown=shown), paper=paper)
    with pymupdf.open(stream=data, filetype="pdf") as document:
        return tuple(flat(page.get_text()) for page in document)


def flat(text: str) -> str:
    return re.sub(r"\s+", " ", text.replace("\N{NO-BREAK SPACE}", " "))


# -- the climate's limits ------------------------------------------------------------------------------------------


def test_what_an_options_own_report_misses_the_comparison_names(hatches: Comparison):
    """The report's table of limits and the comparison say the same of each option."""
    for k, option in enumerate(hatches.options):
        table = limits_kept(option.result, 158.0)
        missed = sum("not met" in "".join(run.text for run in cells[0]) for cells in table.rows)
        verdicts = [row.results[k] for row in hatches.limits] + [row.margins[k] for row in hatches.climate]
        assert sum(not one.met and one.certain for one in verdicts if one is not None) == missed
        assert missed == (4, 0)[k]


def test_screen_json_sheet_and_box_have_the_climates_rows(hatches: Comparison):
    screen, (first, *others) = flat(as_text(hatches)), sheet("hatch_a", "hatch_b")
    document = comparison_json(hatches)["climate"]
    assert [row["criterion"] for row in document] == ["mould", "condensation"]
    for row, told in zip(hatches.climate, document, strict=True):
        a = row.margins[0]
        assert a is not None
        assert (told["options"][0]["met"], told["options"][1]["met"]) == (False, True)
        assert told["options"][0]["asked"] == a.asked
        asked = n.format_value(n.F_RSI, a.asked)
        for text in (screen, " ".join(others)):
            assert CRITERIA[row.criterion] in text
            assert asked in text
        assert f"“{CRITERIA[row.criterion]}” (climate)" in first
        assert f"{climate_text(row)} (ISO 13788 with the climate Lower Lock" in screen
    assert "B keeps every limit" in first


def test_climates_that_differ_are_told_with_each_option(hatches: Comparison):
    margin = Margin("mould", "inside", "", 0.75, 0.001, 0.70, 0, True, True)
    other = replace(margin, asked=0.80, month=11, met=False)
    row = ClimateRow("mould", ("North", "South", ""), (margin, other, None))
    assert row.shared is None
    assert climate_text(row) == CRITERIA["mould"]
    one = replace(hatches.options[1], result=replace(hatches.options[1].result, by_month=None))
    again = compared(
        [option.loaded for option in hatches.options],
        [hatches.options[0].result, one.result],
        [option.terms for option in hatches.options],
    )
    assert any("not held against one and the same climate (A: Lower Lock" in words for words in again.remarks)
    assert [row.margins[1] for row in again.climate] == [None, None]
    text = flat(as_text(replace(hatches, climate=(replace(row, climates=row.climates[:2], margins=row.margins[:2]),))))
    assert "A met, found 0.750, margin +0.050, January: fRsi ≥ 0.700 (ISO 13788 with the climate North)" in text
    assert "B NOT MET, found 0.750, margin −0.050, December: fRsi ≥ 0.800 (ISO 13788 with the climate South)" in text


# -- what is not there ---------------------------------------------------------------------------------------------


def test_a_part_that_an_option_lacks_is_not_listed_with_a_material(hatches: Comparison):
    told = {(row.symbol, row.label): row.values for row in hatches.inputs}
    for key in (("", "insulation inside"), ("", "thermal break"), ("", "skins of the sandwich")):
        assert told[key][0] == NOT_THERE
        assert told[key][1] != NOT_THERE
    assert told["t_s", "skins of the sandwich"] == (NOT_THERE, "3 mm")
    assert told["t_i", "insulation inside the upstand"] == ("0 mm", "40 mm")
    assert all(set(values) != {NOT_THERE} for values in told.values())
    assert "steel" in told["", "outer skin"][0]  # what is there is told as ever


# -- what costs rest on --------------------------------------------------------------------------------------------


def test_costs_and_loss_can_be_recomputed_from_the_sheet(hatches: Comparison):
    text = " ".join(sheet("hatch_a", "hatch_b"))
    assert "Length: 3.200 m, the edge of 1 clear opening of 700 × 900 mm." in text
    assert "H = U·A + Ψ·P with Ψ in internal dimensions, A = 0.630 m² and P = 3.200 m." in text
    assert "Heating degree hours: 78 kKh/a (invented for the Tollhouse)." in text
    assert "cost over 3.20 m" in text
    a = hatches.options[0].result.hatch
    assert a is not None
    assert a.u_lid.value * 0.7 * 0.9 + a.psi.value * 2 * (0.7 + 0.9) == pytest.approx(a.loss.value, rel=1e-12)
    assert comparison_json(hatches)["heating_degree_hours_source"] == "invented for the Tollhouse"
    assert all(flat(words) in flat(as_text(hatches)) for words in hatches.given)


def test_where_degree_hours_stand_is_said_where_nobody_names_their_source():
    loaded = [load(DETAILS / "tollhouse_party_wall.toml")] * 2
    a, b = gathered(loaded, {"heating_degree_hours": ["80"], "option": ["A", "B"]})
    assert (
        a.heating_degree_hours_source == b.heating_degree_hours_source == "as given in the call, which names no source"
    )
    said = {"heating_degree_hours": ["80"], "heating_degree_hours_source": ["national annex"]}
    assert gathered(loaded, said)[0].heating_degree_hours_source == "national annex"
    hatch = load(DETAILS / "tollhouse_hatch_a.toml")
    assert hatch.comparison is not None
    silent = replace(hatch, comparison=replace(hatch.comparison, heating_degree_hours_source=""))
    found = gathered([silent], {})[0].heating_degree_hours_source
    assert found == "as given in tollhouse_hatch_a.toml, which names no source"


def test_several_openings_are_told_with_the_length_of_one():
    both = side_by_side("hatch_a", "hatch_b")
    terms = [replace(option.terms, number=3) for option in both.options]
    again = compared([o.loaded for o in both.options], [o.result for o in both.options], terms)
    assert "Length: 9.600 m, the edges of 3 clear openings of 700 × 900 mm." in again.given
    assert any(words.startswith("H = 3 × (U·A + Ψ·P)") and "P = 3.200 m each" in words for words in again.given)


# -- differences as printed ----------------------------------------------------------------------------------------


def test_a_difference_of_exact_numbers_is_that_of_the_printed_ones():
    """95 and 142.5 a metre are 28.956 and 43.434 a foot, printed 28.96 and 43.43; exact."""
    both = side_by_side("hatch_a", "hatch_b")
    cost = next(row for row in saving_rows(both.options, both.basis) if row.key == "cost per metre")
    assert cost.difference_text(1, IN_INCH_POUND) == "+14.47 crowns/ft"
    assert cost.difference_text(1, IN_SI) == "+47.50 crowns/m"
    assert cost.difference_text(0, IN_SI) == ""
    assert "14.47 crowns/ft more" in " ".join(sheet("hatch_a", "hatch_b", paper="Letter", shown=IN_INCH_POUND))


@pytest.mark.parametrize("shown", [IN_SI, IN_INCH_POUND], ids=["SI", "inch-pound"])
@pytest.mark.parametrize("ends", [(0.1234, 0.5678), (0.5678, 0.1234), (0.3, 0.3)])
def test_who_subtracts_printed_exact_numbers_finds_the_printed_difference(ends, shown: DisplayUnits):
    first, second = (Amount(x, x, EXACT) for x in ends)
    quantity: Quantity = n.U_VALUE
    row = Row("u", quantity, "U", "U", "", (first, second), (None, difference(second, first, -1, quantity)), quantity)
    printed = [float(one.shown(quantity, shown).split()[0]) for one in (first, second)]
    found = float(row.difference_text(1, shown).split()[0].replace(n.MINUS, "-"))
    assert found == pytest.approx(printed[1] - printed[0], abs=1e-9)
    size = row.difference_text(1, shown, signed=False)
    assert float(size.split()[0]) == pytest.approx(abs(found), abs=1e-9)


def test_that_other_differences_are_taken_before_rounding_is_said(hatches: Comparison):
    assert "taken before rounding" in flat(as_text(hatches))
    assert "taken before rounding" in " ".join(sheet("hatch_a", "hatch_b"))


# -- different junctions -------------------------------------------------------------------------------------------


def test_nothing_says_which_of_two_different_junctions_is_better():
    both = side_by_side("hatch_a", "joist")
    verdicts = {one.verdict for row in both.rows for one in row.differences if one is not None}
    assert verdicts
    assert not [word for word in verdicts if "better" in word or "worse" in word]
    assert not [row for row in both.rows if row.key.startswith("cost per saved") or row.key == "piece"]
    document = comparison_json(both)
    assert document["same_junction"] is False
    assert document["remarks"][0].startswith("The options are different junctions (A hatch curb, B joist pocket).")
    assert "These are different junctions: A is a hatch curb, B is a joist pocket." in summary(both)[0]
    assert "The options are different junctions (A hatch curb, B joist pocket)" in as_text(both).split("What is")[0]
    assert not [words for words in summary(both) if "loses" in words or "warmer" in words]
    text = " ".join(sheet("hatch_a", "joist"))
    assert "different junctions" in text
    assert "better" not in text.replace("which is better", "")
    assert comparison_json(side_by_side("hatch_a", "hatch_b"))["same_junction"] is True


def test_a_limit_for_one_junction_says_nothing_of_another():
    both = side_by_side("hatch_a", "joist")
    by_name = {row.requirement.name: row.results for row in both.limits}
    a, b = by_name["roof hatches"]
    assert a is not None
    assert b is None
    assert by_name["floor edges"][0] is None
    assert all(one is not None for one in by_name["mould at the surface"])
    assert "does not apply" in as_text(both)


# -- pages ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("shown", [IN_SI, IN_INCH_POUND], ids=["SI", "inch-pound"])
def test_no_page_has_fine_print_alone(paper: str, shown: DisplayUnits):
    pages = sheet("hatch_a", "hatch_b", paper=paper, shown=shown)
    assert len(pages) == 3
    for words, page in zip(("Which one?", "Fine parts, enlarged", "What comes out"), pages, strict=True):
        assert words in page
    assert "What is different" in pages[1]
    assert "What this sheet does not say" in pages[2]


def test_two_pages_where_nothing_is_fine():
    assert len(sheet("hatch_a", "joist")) == 2
    assert "Fine parts" not in " ".join(sheet("hatch_a", "joist"))


@pytest.mark.parametrize("shown", [IN_SI, IN_INCH_POUND], ids=["SI", "inch-pound"])
def test_fine_parts_have_one_scale_and_name_the_airtight_layer(shown: DisplayUnits):
    both = side_by_side("hatch_a", "hatch_b", shown=shown)
    found = fine_parts(both, shapes(both), 182.0)
    assert found is not None
    assert found.drawn.one_scale
    page = sheet("hatch_a", "hatch_b", shown=shown)[1]
    for words in ("airtight layer", "gasket", "frame", "inner skin"):
        assert page.count(words) >= 2  # in both pictures, or below one
    for scene, unnamed in zip(found.drawn.scenes, found.drawn.unnamed, strict=True):
        drawn = " ".join("".join(run.text for run in text.runs) for text in all_texts(scene.items))
        for words in ("inner skin", "gasket", "frame", "inner face of the upstand"):
            assert (words in drawn) is not (words in unnamed)
    assert all(words in page for unnamed in found.drawn.unnamed for words in unnamed)
    assert len(set(re.findall(r"scale [^:]*1:\d+", page))) == 1


def test_the_command_takes_a_source_of_the_degree_hours(tmp_path: Path, capsys):
    files = []
    for name in "ab":
        files.append(tmp_path / f"{name}.toml")
        files[-1].write_text('junction = "wall_corner"\n', encoding="utf-8")
    call = ["compare", *map(str, files), "--tolerance", "0.01", "--heating-degree-hours", "70"]
    assert main([*call, "--heating-degree-hours-source", "weather station"]) == 0
    assert "Heating degree hours: 70 kKh/a (weather station)." in flat(capsys.readouterr().out)
