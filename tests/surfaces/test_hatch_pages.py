"""The report of a hatch: its loss can be followed by hand, and every number is stated as the screen has it."""

from __future__ import annotations

import io
import re
from pathlib import Path

import pypdf
import pytest

from bridge2d import nomenclature as n
from bridge2d.calculate import calculate
from bridge2d.detail_file import load
from bridge2d.junctions.hatch_curb import JUNCTION
from bridge2d.report import report_bytes
from bridge2d.report.hatch_pages import TITLE, hatch
from bridge2d.results import DetailResult

TOLLHOUSE = Path(__file__).parents[2] / "details" / "tollhouse_hatch_b.toml"


@pytest.fixture(scope="module")
def result() -> DetailResult:
    return calculate(load(TOLLHOUSE).detail)


@pytest.fixture(scope="module")
def text(result: DetailResult) -> str:
    pages = pypdf.PdfReader(io.BytesIO(report_bytes(result, load(TOLLHOUSE)))).pages
    return "\n".join(page.extract_text() for page in pages).replace("\N{NO-BREAK SPACE}", " ")


def test_the_report_states_every_number(result: DetailResult, text: str) -> None:
    assert result.hatch is not None
    assert text.count(TITLE) >= 2  # contents and chapter
    assert n.format_bounded(n.COUPLING_3D, result.hatch.loss.lower, result.hatch.loss.upper) in text
    assert n.format_value(n.U_VALUE, result.hatch.u_lid.value) in text
    for factor in result.hatch.factors:
        assert n.format_estimate(n.F_RSI, factor.value, factor.tolerance) in text
    assert "not included" in text


def test_the_loss_can_be_followed_by_hand(text: str) -> None:
    part = text[text.rindex(TITLE) :]
    part = part[: part.index("Temperature factors on its surfaces")]
    lid, sides, loss = (float(one) for one in re.findall(r"(\d\.\d{6}) W/K", part))
    assert lid + sides == pytest.approx(loss, abs=2e-6)


def test_a_glazed_lid_has_its_frame_and_edge_in_the_sum() -> None:
    glazed = calculate(JUNCTION.build(JUNCTION.parameters(lid_kind="glazed")))
    assert glazed.hatch is not None
    assert [name for name, _, _ in glazed.hatch.parts] == ["lid", "lid frame"]
    words = repr(hatch(glazed))
    assert "lid frame" in words
    assert "glazing's edge" in words


def test_other_junctions_have_no_such_chapter() -> None:
    assert hatch(calculate(load(TOLLHOUSE.with_name("tollhouse_roof_edge.toml")).detail)) == []
