"""The report of a framed wall: U from the section beside the combined method, and traces that add up."""

from __future__ import annotations

import io
import re
from pathlib import Path

import pypdf
import pytest

from bridge2d import nomenclature as n
from bridge2d.calculate import calculate
from bridge2d.detail_file import load
from bridge2d.module_words import U
from bridge2d.report import report_bytes
from bridge2d.report.module_pages import REPLACED, TITLE, with_module
from bridge2d.results import DetailResult, ModuleTransmittance

TOLLHOUSE = Path(__file__).parents[2] / "details" / "tollhouse_framed_wall.toml"


@pytest.fixture(scope="module")
def result() -> DetailResult:
    return calculate(load(TOLLHOUSE).detail)


@pytest.fixture(scope="module")
def found(result: DetailResult) -> ModuleTransmittance:
    assert result.u_section is not None
    return result.u_section


@pytest.fixture(scope="module")
def text(result: DetailResult) -> str:
    pages = pypdf.PdfReader(io.BytesIO(report_bytes(result, load(TOLLHOUSE)))).pages
    return "\n".join(page.extract_text() for page in pages).replace("\N{NO-BREAK SPACE}", " ")


def test_the_first_page_states_both(result: DetailResult, found: ModuleTransmittance) -> None:
    first = pypdf.PdfReader(io.BytesIO(report_bytes(result, load(TOLLHOUSE)))).pages[0].extract_text()
    first = first.replace("\N{NO-BREAK SPACE}", " ")
    assert n.format_bounded(U, found.u_value.lower, found.u_value.upper) in first
    assert n.format_value(U, found.combined.u_value) in first
    assert n.format_bounded(U, found.increase.lower, found.increase.upper) in first


def test_the_combined_method_can_be_followed_by_hand(text: str, found: ModuleTransmittance) -> None:
    part = text[text.index("share of the area") : text.index("U without studs and battens", text.index("share of"))]
    digits = r"(\d+\.\d{6})"
    shares = [float(x) for x in re.search(rf"share of the area\s+{digits}\s+{digits}\s+{digits}", part).groups()]
    *totals, lower = (float(x) for x in re.search(rf"sum\s+{digits}\s+{digits}\s+{digits}\s+{digits}", part).groups())
    upper = 1 / sum(share / total for share, total in zip(shares, totals, strict=True))
    assert upper == pytest.approx(found.combined.upper, abs=2e-5)
    assert f"{found.combined.upper:.6f}" in part
    assert f"{lower:.6f}" in part
    columns = [sum(values) for values in zip(*_resistances(part), strict=True)]
    assert columns == pytest.approx([*totals, lower], abs=1e-5)


def _resistances(part: str) -> list[list[float]]:
    """The four resistances of each layer and surface, in the order of the table."""
    body = part[part.index("surface outside") : part.index("sum")]
    numbers = [float(x) for x in re.findall(r"\d\.\d{6}", body)]
    return [numbers[k : k + 4] for k in range(0, len(numbers), 4)]


def test_only_this_chapter_is_replaced(result: DetailResult) -> None:
    chapters = [("Sections", []), (REPLACED, [])]
    assert [title for title, _ in with_module(chapters, result)] == ["Sections", TITLE]
    corner = calculate(load(TOLLHOUSE.with_name("tollhouse_party_wall.toml")).detail, 0.05)
    assert with_module(chapters, corner) == chapters
