"""Every page of real reports: the verdict first, numbers as in the results, no text out of its box or over another."""

from __future__ import annotations

import io
import json
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pymupdf
import pytest
from pypdf import PdfReader

from bridge2d.calculate import calculate
from bridge2d.detail import Requirement
from bridge2d.detail_file import LoadedDetail, load, read
from bridge2d.drawing.scene import Item, Placed, Scene, Text, all_texts, runs
from bridge2d.report import _blocks, report_bytes
from bridge2d.report.contents import Contents
from bridge2d.report.enclosures import RESULTS, enclosures
from bridge2d.report.first_page import decisive_section
from bridge2d.report.flow import Pages, flowed, flowed_without_remnant
from bridge2d.report.layout import (
    A4,
    BOTTOM,
    LETTER,
    PAPERS,
    TOP,
    Boxed,
    Figure,
    Heading,
    NewPage,
    Paper,
    Paragraph,
    Space,
    Together,
    paragraph,
)
from bridge2d.report.limits_kept import margin
from bridge2d.report.published_cases import PublishedCase, published_cases
from bridge2d.report.refinement_chart import refinement_chart
from bridge2d.report.surface_reasons import GIVEN, OF_FACTOR, OF_HEAT_FLOW, PRESCRIBED, reason
from bridge2d.report.tables import table
from bridge2d.results import DetailResult, Pass, RequirementResult
from bridge2d.shown_units import IN_INCH_POUND, IN_SI, DisplayUnits

DETAILS = Path(__file__).parents[2] / "details"
LONG = (
    "Außenwandecke mit Innendämmung – Ściana zewnętrzna, zażółć gęślą jaźń – Γωνία εξωτερικού τοίχου, "
    "and on and on it goes, as a title does that somebody has pasted from a tender with all of its clauses in it, uncut"
)
NAMES = (
    "Wärmedämmputz mit mineralischen Leichtzuschlägen nach Angabe",
    "wełna mineralna twarda, płyty elewacyjne żółte",
    "παλαιά συμπαγής οπτοπλινθοδομή με ασβεστοκονίαμα",
)
TOUCH = 0.35
"""Boxes of texts hold room above small letters and below: so much of them may meet [mm]."""


def solved(name: str) -> tuple[DetailResult, LoadedDetail]:
    loaded = load(DETAILS / f"tollhouse_{name}.toml")
    return calculate(loaded.detail), loaded


@pytest.fixture(scope="module")
def joist() -> tuple[DetailResult, LoadedDetail]:
    return solved("joist")


@pytest.fixture(scope="module")
def duct() -> tuple[DetailResult, LoadedDetail]:
    return solved("duct")


@pytest.fixture(scope="module")
def joist_pdf(joist) -> bytes:
    return report_bytes(*joist)


def long_winded(result: DetailResult) -> DetailResult:
    """The detail with 200 signs wherever somebody may write, names of materials in three scripts, and many limits."""
    assert len(LONG) >= 200
    known = dict.fromkeys(region.material for section in result.sections for region in section.section.regions)
    new = {one: replace(one, name=f"{NAMES[k % 3]} {k}", source=LONG) for k, one in enumerate(known)}
    sections = []
    for one in result.sections:
        regions = tuple(replace(region, material=new[region.material]) for region in one.section.regions)
        sections.append(replace(one, section=replace(one.section, title=LONG, regions=regions)))
    limits = tuple(
        replace(one, requirement=replace(one.requirement, name=LONG[:90], source=LONG)) for one in result.requirements
    )
    detail = replace(
        result.detail,
        title=LONG,
        project=LONG,
        revision="R" * 60,
        author=LONG[:80],
        sections=tuple(one.section for one in sections),
    )
    return replace(result, detail=detail, sections=tuple(sections), requirements=5 * limits)


def pages_of(result: DetailResult, loaded: LoadedDetail, shown: DisplayUnits, paper: Paper) -> Pages:
    return flowed_without_remnant(_blocks(result, loaded, enclosures(result, loaded), shown, paper), paper)


def said(text: Text) -> str:
    return "".join(run.text for run in text.runs)


def boxes(items: tuple[Item, ...]) -> tuple[list[Text], np.ndarray]:
    """The texts of a page, and left, lower, right and upper end of each; shape (n, 4) [mm]."""
    texts = [text for text in all_texts(items) if said(text).strip()]
    corners = np.array([text.corners() for text in texts])
    return texts, np.concatenate([corners.min(axis=1), corners.max(axis=1)], axis=1)


def out_of_the_type_area(pages: Pages, paper: Paper) -> list[str]:
    found = []
    area = np.array([paper.left, BOTTOM, paper.right, paper.height - TOP])
    for items in pages.pages:
        texts, box = boxes(items)
        outside = (box[:, :2] < area[:2] - TOUCH).any(axis=1) | (box[:, 2:] > area[2:] + TOUCH).any(axis=1)
        found += [said(texts[k]) for k in np.flatnonzero(outside)]
    return found


def over_each_other(pages: Pages) -> list[tuple[str, str]]:
    found = []
    for items in pages.pages:
        texts, box = boxes(items)
        low, high = box[:, :2] + TOUCH, box[:, 2:] - TOUCH
        meet = (low[:, None] < high[None]).all(axis=-1) & (low[None] < high[:, None]).all(axis=-1)
        found += [(said(texts[i]), said(texts[j])) for i, j in zip(*np.nonzero(np.triu(meet, 1)), strict=True)]
    return found


def lonely_headings(pages: Pages) -> list[str]:
    """Headings under which nothing stands on their page."""
    found = []
    for mark in pages.marks:
        texts = all_texts(pages.pages[mark.page])
        if not any(text.y < mark.top - 8.0 for text in texts):
            found.append(mark.title)
    return found


SETTINGS = [(paper, shown) for paper in PAPERS.values() for shown in (IN_SI, IN_INCH_POUND)]


@pytest.mark.parametrize(("paper", "shown"), SETTINGS, ids=lambda one: getattr(one, "name", None) or one.system)
@pytest.mark.parametrize("winded", [False, True], ids=["as it is", "long"])
def test_no_text_runs_out_of_its_box(joist, paper, shown, winded):
    result, loaded = joist
    pages = pages_of(long_winded(result) if winded else result, loaded, shown, paper)
    assert out_of_the_type_area(pages, paper) == []
    assert over_each_other(pages) == []
    assert lonely_headings(pages) == []
    text = " ".join(said(one) for items in pages.pages for one in all_texts(items))
    if winded:
        assert all(word in text for word in ("Wärmedämmputz", "żółte", "οπτοπλινθοδομή", "zażółć", "εξωτερικού"))
    else:
        assert "Decisive section" in " ".join(said(one) for one in all_texts(pages.pages[0]))


@pytest.mark.parametrize("paper", [A4, LETTER], ids=["A4", "Letter"])
def test_a_solid_of_revolution_fits_too(duct, paper):
    result, loaded = duct
    for one in (result, long_winded(result)):
        pages = pages_of(one, loaded, IN_INCH_POUND, paper)
        assert out_of_the_type_area(pages, paper) == []
        assert over_each_other(pages) == []
        assert lonely_headings(pages) == []


def test_the_search_finds_what_is_planted(joist):
    result, loaded = joist
    pages = pages_of(result, loaded, IN_SI, A4)
    victim = next(text for text in all_texts(pages.pages[1]) if said(text).startswith("Figure 1"))
    scene = Scene(1.0, 1.0, (Text(4.0, 0.5, runs("planted"), 7.0),))
    planted = (*pages.pages[1], Placed(scene, victim.x, victim.y), Text(A4.right - 3.0, 100.0, runs("outside"), 9.0))
    bad = pages._replace(pages=(pages.pages[0], planted, *pages.pages[2:]))
    assert [pair[1] for pair in over_each_other(bad)] == ["planted"]
    assert out_of_the_type_area(bad, A4) == ["outside"]


# -- the first page ------------------------------------------------------------------------------------------------


def page_texts(data: bytes) -> list[str]:
    with pymupdf.open(stream=data, filetype="pdf") as document:
        return [re.sub(r"\s+", " ", page.get_text().replace("\N{NO-BREAK SPACE}", " ")) for page in document]


def test_the_first_page_is_the_verdict(joist, joist_pdf):
    result, _ = joist
    first = page_texts(joist_pdf)[0]
    detail = result.detail
    for words in (
        detail.title,
        "joist pocket",
        detail.project,
        *(s.title for s in detail.sections),
        "Decisive section",
    ):
        assert words in first
    assert "isotherms every 2 K" in first
    assert "airtight layer" in first
    for one in result.requirements:
        assert one.requirement.source in first
        assert margin(one).replace("\N{NO-BREAK SPACE}", " ") in first
    with pymupdf.open(stream=joist_pdf, filetype="pdf") as document:
        assert len(document[0].get_drawings()) > 100  # both pictures are there


def test_numbers_on_the_first_page_agree_with_the_enclosed_results(joist_pdf):
    found = json.loads(PdfReader(io.BytesIO(joist_pdf)).attachments[RESULTS][0])
    first = page_texts(joist_pdf)[0]
    index = {"external": "Ψe", "internal": "Ψi", "overall_internal": "Ψoi"}
    assert len(found["psi"]) == 3
    for one in [*found["psi"], found["chi"]]:
        symbol, unit = (index[one["dimensions"]], r"W/\(m·K\)") if "dimensions" in one else ("χ", "W/K")
        shown = re.search(rf"{symbol} (?:linear|point)[^≈±]*? (−?[\d.]+) ± ([\d.]+) {unit} bracket", first)
        assert shown, symbol
        middle, half = float(shown[1].replace("−", "-")), float(shown[2])
        assert middle - half <= one["lower"] <= one["value"] <= one["upper"] <= middle + half
    coldest = min((factor for section in found["sections"] for factor in section["f_rsi"]), key=lambda f: f["value"])
    assert re.search(rf"≈ {coldest['value']:.3f} \(tolerance [\d.]+\) estimate", first)


def test_every_page_names_project_detail_revision_and_input(joist, joist_pdf):
    result, loaded = joist
    pages = page_texts(joist_pdf)
    for number, page in enumerate(pages, start=1):
        assert page.startswith(f"{result.detail.project} · {result.detail.title} {result.detail.revision}")
        assert loaded.input_hash[:10] in page
        assert f"page {number} of {len(pages)}" in page


def test_chapters_come_in_the_order_in_which_they_are_needed(joist_pdf):
    with pymupdf.open(stream=joist_pdf, filetype="pdf") as document:
        titles = [title for level, title, _ in document.get_toc() if level == 1]
    assert titles == [
        "Sections",
        "Parameters",
        "Materials",
        "Conditions",
        "Flanking elements",
        "How Ψ comes about",
        "Surface and timber temperatures",
        "Climate by month",
        "How sure the numbers are",
        "Checks after ISO 10211",
        "From three dimensions to two",
        "Airtight layer",
        "What this sheet does not say",
        "How it was computed",
        "Published cases",
    ]


def test_formulas_have_their_clauses(joist_pdf, duct):
    text = " ".join(page_texts(joist_pdf))
    assert "Ψ = L2D − ΣU·l (10.2, equation 18)" in text
    text = " ".join(page_texts(report_bytes(*duct)))
    assert "χ = L3D − ΣU·A (10.3, equation 20)" in text
    assert "10.2" not in text


def test_the_decisive_section_has_the_lowest_factor(joist):
    result, _ = joist
    lowest = min(result.f_rsi, key=lambda one: one.value)
    assert decisive_section(result).section.name == lowest.section
    # without temperature factors it is the one that Ψ starts from
    bare = replace(result, sections=tuple(replace(one, f_rsi=()) for one in result.sections))
    assert decisive_section(bare).l2d == result.psi[0].l2d
    assert decisive_section(replace(bare, psi=(), chi=None)) == bare.sections[0]


# Exact: the difference of the printed numbers.
@pytest.mark.parametrize(
    ("quantity", "sense", "limit", "value", "shown"),
    [
        ("f_rsi", "minimum", 0.7, 0.8374, "+0.137"),
        ("f_rsi", "minimum", 0.7, 0.5629, "−0.137"),
        ("psi", "maximum", 0.05, 0.01454, "+0.0355 W/(m·K)"),
        ("psi", "maximum", 0.05, 0.06, "−0.0100 W/(m·K)"),
        ("psi", "maximum", 0.0, -0.1344, "+0.1344 W/(m·K)"),
        ("f_rsi", "minimum", 0.7, 0.7, "+0.000"),
    ],
)
def test_margins(quantity, sense, limit, value, shown):
    asked = Requirement(quantity, limit, sense, "x", "y", "external" if quantity == "psi" else "")
    one = RequirementResult(asked, value, met=True, certain=True)
    assert margin(one).replace("\N{NO-BREAK SPACE}", " ") == shown


# -- chapters --------------------------------------------------------------------------------------------------------


def test_the_chart_shows_the_bracket_closing(joist):
    section = joist[0].sections[0]
    scene = refinement_chart(section)
    assert scene is not None
    words = [said(text) for text in all_texts(scene.items)]
    assert str(section.passes[-1].unknowns) in words
    last = section.passes[-1]
    shown = [float(re.sub(r"[^\d.−]", "", one.split()[1])) for one in words if one.startswith(("upper", "lower"))]
    assert min(shown) <= last.lower <= last.upper <= max(shown)
    assert any(item.dash for item in scene.items if hasattr(item, "dash"))
    for text in all_texts(scene.items):
        assert text.corners().min() >= -0.5
        assert text.corners()[:, 0].max() <= scene.width


def test_no_chart_without_bounds_or_history(joist):
    section = joist[0].sections[0]
    assert refinement_chart(replace(section, passes=section.passes[:1])) is None
    assert refinement_chart(replace(section, passes=(Pass(1, 2, None, None), Pass(3, 4, None, None)))) is None


def test_a_chart_of_bounds_that_agree_to_the_last_digit(joist):
    section = replace(joist[0].sections[0], passes=(Pass(10, 20, 1.0, 1.0), Pass(30, 40, 1.0, 1.0)))
    assert refinement_chart(section) is not None


def test_why_a_surface_resistance():
    assert "horizontal" in reason(0.13, OF_HEAT_FLOW)
    assert "upward" in reason(0.10, OF_HEAT_FLOW)
    assert "downward" in reason(0.17, OF_HEAT_FLOW)
    assert "outside" in reason(0.04, OF_HEAT_FLOW)
    assert "opaque" in reason(0.25, OF_FACTOR)
    assert reason(0.08, OF_HEAT_FLOW) == GIVEN
    assert reason(0.0, OF_FACTOR) == PRESCRIBED


def test_published_cases():
    assert published_cases((), "0.1.0", "") == []
    case = PublishedCase(
        "case 2", "ISO 10211, annex C", "published", "9.5 W/m", "9.4930 W/m", "9.4931 W/m", "0.005", "agrees"
    )
    pages = flowed([*published_cases([case], "0.1.0", "Of all 3 cases 3 are inside.")])
    text = " ".join(said(one) for one in all_texts(pages.pages[0])).replace("\N{NO-BREAK SPACE}", " ")
    for words in (
        "bridge2d 0.1.0",
        "case 2",
        "published",
        "Of all 3 cases",
        "Sources of the answers",
        "ISO 10211, annex C 1",
        "9.5 W/m",
        "9.4930 W/m",
        "9.4931 W/m",
        "0.005",
        "agrees",
    ):
        assert words in text


# -- flow --------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("missing", [1, 2, 3])
def test_a_paragraph_a_few_lines_too_long_is_divided(missing):
    whole = paragraph("word " * 300, after=0.0)
    parts = whole.split(whole.height - missing * whole.leading + 0.01)
    assert parts is not None
    first, rest = parts
    assert isinstance(first, Paragraph)
    assert isinstance(rest, Paragraph)
    assert len(rest.lines) == max(missing, 2)
    assert first.lines + rest.lines == whole.lines


def test_three_lines_stay_together():
    assert Paragraph(3 * (runs("word"),)).split(9.0) is None


def test_a_box_goes_on_over_pages_only_where_it_may():
    rows = table([("a", 1)], [(str(k),) for k in range(80)])
    for blocks in ((rows,), (paragraph("one"), rows)):
        assert Boxed(blocks).split(150.0) is None
        parts = Boxed(blocks, divisible=True).split(150.0)
        assert parts is not None
        assert parts[0].height <= 150.0 + 1e-9
        assert "79" in [said(text) for text in all_texts(parts[1].items(0.0, 0.0))]


@pytest.mark.parametrize("count", [2, 3, 4, 9])
def test_a_heading_never_stands_alone_over_high_rows(count):
    """A table of few high rows counts as divisible only where it can be divided."""
    rows = table([("a", 1)], [(f"row {k} " + "word " * 300,) for k in range(count)])
    for before in np.arange(0.0, 240.0, 12.0):
        pages = flowed([Paragraph((runs("x"),), after=float(before)), Heading(runs("head")), rows])
        assert lonely_headings(pages) == []
        text = " ".join(said(one) for items in pages.pages for one in all_texts(items))
        assert all(f"row {k} " in text for k in range(count))


def test_what_belongs_together_stays_on_a_page():
    chart = Figure(Scene(10.0, 40.0, ()), Paragraph((), after=0.0))
    rows = table([("a", 1)], [(str(k),) for k in range(4)])
    assert Together((chart, rows)).split(50.0) is None
    pages = flowed([Space(1.0), *(paragraph("x", after=200.0),), Heading(runs("head")), Together((chart, rows))])
    assert [mark.page for mark in pages.marks] == [1]


def test_a_last_page_of_a_few_lines_is_avoided():
    rows = table([("a", 1)], [(str(k),) for k in range(40)])
    blocks = [rows, Space(6.0), paragraph("word " * 60)]
    assert len(flowed(blocks).pages) == 2
    assert len(flowed_without_remnant(blocks).pages) == 1
    alone = flowed_without_remnant(blocks[:1]).pages[0]
    assert [text.y for text in all_texts(alone)] == [text.y for text in all_texts(flowed(blocks[:1]).pages[0])]


def test_a_few_lines_before_a_new_page_are_avoided():
    rows = table([("a", 1)], [(str(k),) for k in range(40)])
    first = [rows, Space(6.0), paragraph("word " * 60)]
    blocks = [*first, NewPage(), Heading(runs("next")), paragraph("more")]
    assert len(flowed(blocks).pages) == 3
    pages = flowed_without_remnant(blocks)
    assert len(pages.pages) == 2
    assert [(mark.title, mark.page) for mark in pages.marks] == [("next", 1)]
    after = [text.y for text in all_texts(pages.pages[1])]
    assert after == [text.y for text in all_texts(flowed(blocks).pages[2])]  # what follows stands as it would


def test_contents_stand_where_their_page_numbers_go():
    contents = Contents(tuple((str(k), f"title {k}", str(100 + k)) for k in range(7)))
    numbers = {said(text): (text.x, text.y) for text in all_texts(contents.items(20.0, 200.0))}
    for k, (title, x, y) in enumerate(contents.page_places(20.0, 200.0)):
        assert title == f"title {k}"
        assert numbers[str(100 + k)] == (x, y)


DRY = """\
junction = "free_section"
title = "Cold dry room"
[[region]]
name = "brick"
conductivity = 0.8
polygon = [[0, 0], [300, 0], [300, 400], [0, 400]]
[[environment]]
name = "outside"
temperature = -30
surface_resistance = 0.04
edge = [[0, 400], [0, 0]]
[[environment]]
name = "inside"
temperature = -10
humidity = {humidity}
surface_resistance = 0.13
edge = [[300, 0], [300, 400]]
"""


@pytest.mark.parametrize(("humidity", "told"), [(0.001, False), (0.2, False), (0.9, True)])
def test_condensation_is_told_where_the_dew_point_is_known_and_reached(humidity, told, tmp_path):
    # Air of −10 °C and 0.1 % has a vapour pressure below those that the standard's formula covers.
    loaded = read(DRY.format(humidity=humidity), tmp_path / "dry.toml")
    result = calculate(loaded.detail)
    assert (result.environment_of(result.f_rsi[0]).dew_point is None) == (humidity == 0.001)
    with pymupdf.open(stream=report_bytes(result, loaded)) as pages:
        assert ("Condensation: the coldest surface" in " ".join(pages[0].get_text().split())) == told
