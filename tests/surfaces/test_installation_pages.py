"""The report of an installed window: every side, the mean and both U of the window, and a trace that adds up."""

from __future__ import annotations

import io
import re
from pathlib import Path

import pypdf
import pytest

from bridge2d import nomenclature as n
from bridge2d.calculate import calculate
from bridge2d.detail_file import load
from bridge2d.report import report_bytes
from bridge2d.report.installation_pages import SUMMARY, with_installation
from bridge2d.results import DetailResult

TOLLHOUSE = Path(__file__).parents[2] / "details" / "tollhouse_window.toml"


@pytest.fixture(scope="module")
def result() -> DetailResult:
    return calculate(load(TOLLHOUSE).detail)


@pytest.fixture(scope="module")
def text(result: DetailResult) -> str:
    pages = pypdf.PdfReader(io.BytesIO(report_bytes(result, load(TOLLHOUSE)))).pages
    return "\n".join(page.extract_text() for page in pages).replace("\N{NO-BREAK SPACE}", " ")


def test_the_report_states_every_number_with_its_bracket(result: DetailResult, text: str) -> None:
    assert result.psi_installation is not None
    assert result.u_installed is not None
    for number in (*(side.psi for side in result.installations), result.psi_installation):
        assert n.format_bounded(n.PSI, number.lower, number.upper) in text
    assert n.format_bounded(n.U_VALUE, result.u_installed.lower, result.u_installed.upper) in text


def test_the_trace_can_be_followed_by_hand(text: str) -> None:
    for side in ("jamb", "head", "sill"):
        part = text[text.index(f"Ψ = L2D − U·l − L2D of the window alone, {side}") :]
        amounts = re.findall(r"(−?\d\.\d{6}) W/\(m·K\)", part)[:4]
        l2d, wall, alone, psi = (float(one.replace("−", "-")) for one in amounts)
        assert l2d + wall + alone == pytest.approx(psi, abs=2e-6)


def test_other_junctions_keep_their_chapters(result: DetailResult) -> None:
    joist = calculate(load(TOLLHOUSE.with_name("tollhouse_joist.toml")).detail)
    assert with_installation([("How Ψ comes about", [])], joist) == [("How Ψ comes about", [])]
    titles = [title for title, _ in with_installation([("How Ψ comes about", [])], result)]
    assert titles == [SUMMARY, "How Ψ comes about"]
