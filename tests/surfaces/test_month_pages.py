"""The report's chapter on the climate by month: what stands there, within its box, and only with a climate."""

from __future__ import annotations

import io
import math
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pypdf
import pytest

from bridge2d import nomenclature as n
from bridge2d.calculate import calculate
from bridge2d.climate import MONTHS, ByMonth
from bridge2d.detail_file import load
from bridge2d.drawing.scene import all_texts, runs
from bridge2d.months import ON_FRAMES, by_month
from bridge2d.months_words import CRITERIA, margin_line, margin_of
from bridge2d.report import report_bytes
from bridge2d.report.layout import PAGE_HEIGHT, PAGE_WIDTH, WIDTH, Figure
from bridge2d.report.limits_kept import has_limits, limits_kept
from bridge2d.report.month_chart import Line, Range, month_chart, round_range
from bridge2d.report.month_pages import NO_GLAZING, PRESSURES_IN_INCHES, months
from bridge2d.report.tables import Table
from bridge2d.report.words import FIRM
from bridge2d.results import DetailResult
from bridge2d.standards.iso_13788 import saturation_pressure

DETAILS = Path(__file__).parents[2] / "details"
JOIST = DETAILS / "tollhouse_joist.toml"


@pytest.fixture(scope="module")
def result() -> DetailResult:
    return calculate(load(JOIST).detail)


@pytest.fixture(scope="module")
def text(result: DetailResult) -> str:
    pages = pypdf.PdfReader(io.BytesIO(report_bytes(result, load(JOIST)))).pages
    return "\n".join(page.extract_text() for page in pages).replace("\N{NO-BREAK SPACE}", " ")


def told(result: DetailResult) -> ByMonth:
    assert result.by_month is not None
    return result.by_month


def test_the_chapter_states_the_critical_month_and_every_margin(result: DetailResult, text: str):
    found = told(result)
    assert found.critical_mould is not None
    asked = found.needs[found.critical_mould].mould
    assert asked is not None
    critical = (
        f"Critical month for mould: {MONTHS[found.critical_mould]}, asks for fRsi ≥ {n.format_value(n.F_RSI, asked)}"
    )
    assert critical in text
    assert found.margins
    for one in found.told_margins:
        assert margin_of(one) in text
    assert found.climate.name in text
    assert "invented" in found.climate.source


def test_the_first_page_says_what_is_least_kept_of_the_climate(result: DetailResult):
    # no limit of the file: the climate alone makes a verdict
    table = limits_kept(replace(result, requirements=()), 158.0)
    rows = [["".join(run.text for run in cell) for cell in row] for row in table.rows]
    by_criterion = {one.criterion: one for one in sorted(told(result).told_margins, key=lambda it: -it.margin)}
    assert len(rows) == len(by_criterion)
    for row, one in zip(rows, by_criterion.values(), strict=True):
        assert row[1].startswith(CRITERIA[one.criterion].replace(" %", f"{FIRM}%"))
        assert row[2].endswith(f"{one.asked:.3f}")
        assert row[3] == f"{one.value:.3f}"
        expected = round(one.value, 3) - round(one.asked, 3)
        assert float(row[4].replace("\N{MINUS SIGN}", "-")) == pytest.approx(expected, abs=1e-9)
    assert has_limits(replace(result, requirements=()))
    assert not has_limits(replace(result, requirements=(), by_month=None))


def test_a_margin_within_its_tolerance_is_undecided(result: DetailResult):
    one = told(result).told_margins[0]
    line = margin_line(replace(one, certain=False))
    assert line.startswith(f"UNDECIDED (the limit lies within the tolerance): {CRITERIA[one.criterion]}")
    assert margin_line(replace(one, certain=True, met=False)).startswith("NOT KEPT: ")


def test_every_month_stands_in_both_tables(result: DetailResult):
    chapter = months(result)
    tables = [block for block in chapter if isinstance(block, Table) and len(block.rows) == 12]
    assert len(tables) == 2
    found = told(result)
    for k, (need, end) in enumerate(zip(found.needs, found.timber[0].months, strict=True)):
        first, second = (
            ["".join(run.text for run in cell).replace("\u00a0", " ") for cell in t.rows[k]] for t in tables
        )
        assert first[0] == second[0] == MONTHS[k]
        # what the page's formula gives by hand from the printed pressure: 0.8 of saturation at the printed temperature
        theta, pressure = float(first[6].split()[0]), float(first[5].split()[0])
        assert pressure == pytest.approx(0.8 * 610.5 * math.exp(17.269 * theta / (237.3 + theta)), abs=1.0)
        assert first[7] == ("none" if need.mould is None else n.format_value(n.F_RSI, need.mould))
        assert second[3] == n.format_value(n.VAPOUR_PRESSURE, end.saturation_pressure)
        assert second[5] == ("over 100 %" if end.room_air > 1 else f"{100 * end.room_air:.0f} %")


def test_timber_comes_with_its_caution(text: str):
    plain = " ".join(text.split())
    assert "Joist's end face through the year" in plain
    assert "a steady heat calculation gives no verdict on decay" in plain
    assert "EN 15026" in plain


def test_figures_go_on_from_those_of_the_sections(result: DetailResult, text: str):
    first = 2 * len(result.sections) + 1
    assert f"Figure {first}  Lowest admissible temperature factor by month" in text
    assert f"Figure {first + 1}  Joist's end face" in text


def test_the_same_bytes_every_time(result: DetailResult):
    assert report_bytes(result, load(JOIST)) == report_bytes(result, load(JOIST))


def test_no_chapter_without_a_climate(result: DetailResult):
    assert months(replace(result, by_month=None)) == []


def test_frames_are_mentioned_where_there_are_any(result: DetailResult):
    def words(one: DetailResult) -> str:
        found = (line for block in months(one) for line in getattr(block, "lines", ()))
        return " ".join("".join(run.text for run in line) for line in found).replace("\u00a0", " ")

    assert NO_GLAZING[:60] not in words(result)
    frame = replace(result, f_rsi=(replace(result.f_rsi[0], surface_resistance=0.13),))
    assert NO_GLAZING[:60] in words(frame)
    window = replace(result, by_month=by_month(told(result).climate, result.sections, glazed=True))
    assert ON_FRAMES[:60] in words(window)


def test_nothing_leaves_its_box_with_long_names(result: DetailResult):
    found = told(result)
    climate = replace(
        found.climate, name="Łódź, Ωmega, Straße " * 15, source="źródło " * 40, indoors="wilgotność " * 25
    )
    end = replace(found.timber[0], name="joist's end face " * 12, section="upright section " * 8)
    margin = replace(found.margins[0], environment="Wohnküche " * 20, section="Deckenauflager " * 15)
    long = replace(found, climate=climate, timber=(end,), margins=(margin,))
    for block in months(replace(result, by_month=long)):
        for one in all_texts(block.items(0.0, PAGE_HEIGHT)):
            box = one.corners()
            assert box[:, 0].min() >= -0.01
            assert box[:, 0].max() <= WIDTH + 0.01, "".join(run.text for run in one.runs)
    assert WIDTH < PAGE_WIDTH


# -- the chart -------------------------------------------------------------------------------------------------------


def test_names_of_lines_that_end_together_stand_apart():
    lines = [Line(runs(name), (0.5,) * 12, "dot") for name in ("one", "two", "three")]
    chart = month_chart(lines, Range(0.0, 1.0, 0.2), 60.0, (1,))
    heights = sorted(t.y for t in all_texts(chart.items) if t.runs[0].text in ("one", "two", "three"))
    assert len(heights) == 3
    assert min(b - a for a, b in pairwise(heights)) >= 3.0
    [february] = [t for t in all_texts(chart.items) if t.runs[0].text == "Feb"]
    assert february.runs[0].style == "bold"


def test_a_chart_holds_what_is_beyond_its_axis():
    values = (None, -3.0, *(5.0,) * 10)
    chart = month_chart([Line(runs("x"), values, "square", dashed=True)], Range(0.0, 1.0, 0.2), 60.0)
    heights = [y for item in chart.items for ring in getattr(item, "lines", ()) for y in ring[:, 1]]
    assert min(heights) >= 0.0
    assert max(heights) <= chart.height


def test_an_axis_begins_and_ends_at_whole_steps():
    assert round_range((-1.2, 20.0), 5.0, "{:.0f}")[:3] == (-5.0, 20.0, 5.0)
    assert round_range((20.0, 20.0), 5.0, "{:.0f}")[:2] == (20.0, 25.0)


def test_figures_are_as_wide_as_the_page(result: DetailResult):
    figures = [block for block in months(result) if isinstance(block, Figure)]
    assert len(figures) == 2
    assert all(figure.scene.width == WIDTH for figure in figures)


def test_the_formula_for_saturation_is_one_in_both_systems():
    """What the page prints for inches of mercury and degrees Fahrenheit gives the same pressure as ISO 13788's."""
    for celsius in (-12.0, -1.0, 3.0, 15.0):
        fahrenheit = 32.0 + 1.8 * celsius
        a, b = (17.269, 395.14) if celsius >= 0 else (21.875, 445.9)
        inches = 0.18028 * math.exp(a * (fahrenheit - 32.0) / (b + fahrenheit))
        assert f"exp({a} (θ − 32)/({b} + θ))" in PRESSURES_IN_INCHES
        pascals_per_inch = 3386.389  # inch of mercury at 0 °C, NIST SP 811, appendix B (remembered)
        assert inches * pascals_per_inch == pytest.approx(saturation_pressure(celsius), rel=2e-5)
