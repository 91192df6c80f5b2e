"""The report as a file: the same bytes twice, all fonts in it, every number with its unit, nothing off the page."""

from __future__ import annotations

import io
import math
import re
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pymupdf
import pytest
from pypdf import PdfReader

from bridge2d import nomenclature as n
from bridge2d.drawing.scene import Run, runs, runs_width
from bridge2d.report import report_bytes, write_report
from bridge2d.report.layout import paragraph
from bridge2d.report.tables import Table, table
from bridge2d.report.text import shortened, wrapped
from bridge2d.report.words import checked, length, typed, verdict
from bridge2d.results import DetailResult, RequirementResult


def words_of(data: bytes) -> str:
    with pymupdf.open(stream=data, filetype="pdf") as document:
        text = "\n".join(page.get_text() for page in document)
    return re.sub(r"\s+", " ", text.replace("\N{NO-BREAK SPACE}", " "))


@pytest.fixture
def data(result: DetailResult, loaded: SimpleNamespace) -> bytes:
    return report_bytes(result, loaded)


def test_two_runs_give_the_same_bytes(result: DetailResult, loaded: SimpleNamespace, data: bytes):
    assert report_bytes(result, loaded) == data
    assert report_bytes(replace(result, seconds=99.0), loaded) == data


def test_it_tells_no_date(data: bytes):
    information = PdfReader(io.BytesIO(data)).metadata
    assert information is not None
    assert "/CreationDate" not in information
    assert "/ModDate" not in information
    assert information.title == "Joist end in the toll-keeper's room, invented"


def test_all_fonts_are_embedded(data: bytes):
    with pymupdf.open(stream=data, filetype="pdf") as document:
        fonts = {font[:5] for page in document for font in page.get_fonts()}
    assert fonts
    for _, extension, kind, name, _ in fonts:
        assert extension == "ttf", name
        assert kind == "TrueType"
        assert "NotoSans" in name


def test_every_number_comes_with_its_unit(result: DetailResult, data: bytes):
    text = words_of(data)
    for psi in result.psi:
        assert n.format_bounded(n.PSI, psi.value.lower, psi.value.upper) in text
    assert result.chi is not None
    assert n.format_bounded(n.CHI, result.chi.value.lower, result.chi.value.upper) in text
    for factor in result.f_rsi:
        assert n.format_estimate(n.F_RSI, factor.value, factor.tolerance) in text
        assert n.format_estimate(n.TEMPERATURE, factor.temperature, factor.tolerance * 25.0) in text
    for section in result.sections:
        for probe in (*section.probes, *section.watched):
            assert n.format_estimate(n.TEMPERATURE, probe.temperature, probe.tolerance) in text
            assert n.format_estimate(n.TEMPERATURE, probe.temperature_f_rsi, probe.tolerance) in text
        for flow in section.heat_flows:
            assert n.format_bounded(n.LINEAR_HEAT_FLOW, flow.flow.lower, flow.flow.upper) in text
        for element in section.flanking:
            assert n.format_value(n.U_VALUE, element.u_value) in text
        for region in section.section.regions:
            assert n.format_value(n.CONDUCTIVITY, region.material.conductivity) in text
        for one in section.passes:
            assert str(one.triangles) in text
            assert str(one.unknowns) in text
    for words in ("330 mm", "−5 °C", "0.220 W/(m·K)", "0.040 m²·K/W", "0.250 m²·K/W", "−5.0 °C", "20.0 °C"):
        assert words in text


def test_the_trace_can_be_followed_by_hand(result: DetailResult, data: bytes):
    text = words_of(data)
    psi = result.psi[0]
    (term,) = psi.terms
    found = re.search(r"sum (−?[\d.]+) W/\(m·K\) Ψ", text)
    l2d = round(psi.l2d.value, 6)
    product = round(term.u_value, 6) * term.length
    assert f"{term.u_value:.6f} W/(m²·K) × {term.length:.4f} m" in text
    assert f"{l2d:.6f} W/(m·K)" in text
    assert f"−{product:.6f} W/(m·K)" in text
    assert psi.chi_over_spacing is not None
    assert found is not None
    assert float(found[1]) == pytest.approx(l2d - product + psi.chi_over_spacing.value, abs=2e-6)  # exact


def test_verdicts_are_words_and_signs(data: bytes):
    text = words_of(data)
    for words in (
        "○ undecided",
        "✗ not met",
        "✓ met",
        "brief, invented",
        "Ψe ≤ 0.0554 W/(m·K)",
        "Ψe ≤ 0.0600 W/(m·K)",
        "fRsi ≥ 0.900",
    ):
        assert words in text


def test_running_lines(result: DetailResult, data: bytes):
    with pymupdf.open(stream=data, filetype="pdf") as document:
        for number, page in enumerate(document, start=1):
            text = page.get_text()
            assert f"page {number} of {len(document)}" in text
            assert result.input_hash[:10] in text
        assert result.detail.title in document[1].get_text()
    assert result.input_hash in words_of(data)


def test_chapters_are_bookmarked_and_listed(data: bytes):
    with pymupdf.open(stream=data, filetype="pdf") as document:
        marks = [(title, page) for level, title, page in document.get_toc() if level == 1]
        contents = re.sub(r"\s+", " ", document[0].get_text())
        for title, page in marks:
            assert title in document[page - 1].get_text()
            assert re.search(rf"{re.escape(title)} {page}\b", contents)
    assert len(marks) >= 11


def off_the_page(data: bytes) -> list[str]:
    found = []
    with pymupdf.open(stream=data, filetype="pdf") as document:
        for page in document:
            inner = pymupdf.Rect(40, 20, page.rect.width - 40, page.rect.height - 20)
            lines = [line for block in page.get_text("dict")["blocks"] for line in block.get("lines", [])]
            spans = [span for line in lines for span in line["spans"] if span["text"].strip()]
            found += [span["text"] for span in spans if pymupdf.Rect(span["bbox"]) not in inner]
            found += [str(d["rect"]) for d in page.get_drawings() if d["type"] != "clip" and wide(d["rect"], page.rect)]
    return found


def wide(box: pymupdf.Rect, page: pymupdf.Rect) -> bool:
    return not box.is_empty and (box.width > page.width or box.height > page.height)


def test_nothing_is_off_the_page(data: bytes):
    assert off_the_page(data) == []


LONG = (
    "Außenwandecke mit Innendämmung – Ściana zewnętrzna, zażółć gęślą jaźń – Γωνία εξωτερικού τοίχου, "
    "and on and on it goes, as a title does that somebody has pasted from a tender with all of its clauses in it"
)


def test_long_titles_in_any_script_wrap(result: DetailResult, loaded: SimpleNamespace):
    assert len(LONG) >= 200
    sections = tuple(replace(s, section=replace(s.section, title=LONG)) for s in result.sections)
    detail = replace(result.detail, title=LONG, project="W" * 150, revision="R" * 30)
    data = report_bytes(replace(result, detail=detail, sections=sections), loaded)
    text = words_of(data)
    assert off_the_page(data) == []
    for words in ("Außenwandecke", "Ściana", "zażółć", "εξωτερικού"):
        assert words in text


def test_signs_that_no_font_has_do_no_harm(result: DetailResult, loaded: SimpleNamespace):
    detail = replace(result.detail, title="Haus \N{CJK UNIFIED IDEOGRAPH-4E2D} (1893) \\ end", project="a)b(c")
    text = words_of(report_bytes(replace(result, detail=detail), loaded))
    assert "Haus □ (1893) \\ end" in text
    assert "a)b(c" in text


def test_long_tables_break_over_pages(result: DetailResult, loaded: SimpleNamespace):
    rows = tuple((f"p_{k}", f"parameter number {k}", f"{k} mm") for k in range(120))
    text = words_of(report_bytes(replace(result, detail=replace(result.detail, parameters=rows)), loaded))
    assert all(f"parameter number {k} {k} mm" in text for k in range(120))


def test_no_limit_no_verdict(result: DetailResult, loaded: SimpleNamespace):
    bare = replace(result, requirements=())
    assert "there is no verdict" in words_of(report_bytes(bare, loaded))


def test_a_detail_without_psi_shows_coupling_coefficients(result: DetailResult, loaded: SimpleNamespace):
    bare = replace(result, psi=(), chi=None, requirements=())
    text = words_of(report_bytes(bare, loaded))
    assert "0.2597 ± 0.0001 W/(m·K)" in text
    assert "Coupling coefficients" in text


def test_the_file_is_whole_or_not_there(result: DetailResult, loaded: SimpleNamespace, tmp_path: Path):
    target = tmp_path / "report.pdf"
    write_report(result, loaded, target)
    assert target.read_bytes().startswith(b"%PDF")
    assert [path.name for path in tmp_path.iterdir()] == ["report.pdf"]
    with pytest.raises(OSError, match="missing"):
        write_report(result, loaded, tmp_path / "missing" / "report.pdf")


def test_a_failing_write_leaves_the_old_file(
    result: DetailResult, loaded: SimpleNamespace, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    target = tmp_path / "report.pdf"
    target.write_bytes(b"old")

    def refuse(self: Path, target: Path) -> Path:
        raise PermissionError(f"{self} to {target}")

    monkeypatch.setattr(Path, "replace", refuse)
    with pytest.raises(PermissionError):
        write_report(result, loaded, target)
    assert target.read_bytes() == b"old"
    assert [path.name for path in tmp_path.iterdir()] == ["report.pdf"]


# -- layout and words ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "words", ["short", "a few words that need more than one line", "x" * 300, "λ" * 40 + " " + LONG]
)
def test_wrapped_lines_fit_and_lose_nothing(words: str):
    lines = wrapped(runs(words), 9.0, 40.0)
    assert all(runs_width(line, 9.0) <= 40.0 + 1e-6 for line in lines)
    assert "".join(r.text for line in lines for r in line).replace(" ", "") == words.replace(" ", "")


def test_a_subscript_stays_with_its_symbol():
    lines = wrapped(runs("one two three ", Run("f", "italic"), Run("Rsi", subscript=True), " four"), 9.0, 24.0)
    (line,) = [line for line in lines if any(r.subscript for r in line)]
    texts = [r.text for r in line]
    assert texts[texts.index("f") + 1] == "Rsi"


def test_a_shortened_text_says_so():
    assert shortened("short", "regular", 8.0, 100.0) == "short"
    assert shortened("much too long for this", "regular", 8.0, 15.0).endswith("…")


def test_a_split_table_keeps_its_rows():
    whole = table([("a", 1), ("b", 1)], [(str(k), "x") for k in range(60)], heavy=(59,))
    parts = whole.split(100.0)
    assert parts is not None
    first, rest = parts
    assert isinstance(first, Table)
    assert isinstance(rest, Table)
    assert first.rows + rest.rows == whole.rows
    assert first.height <= 100.0
    assert rest.heavy == {59 - len(first.rows)}


def test_a_split_paragraph_keeps_its_lines():
    whole = paragraph("word " * 300)
    parts = whole.split(40.0)
    assert parts is not None
    assert parts[0].height <= 40.0
    assert parts[0].height + parts[1].height == pytest.approx(whole.height)


@pytest.mark.parametrize(
    ("metres", "shown"), [(0.33, "330 mm"), (0.0125, "12.5 mm"), (-0.025, "−25 mm"), (0.0, "0 mm"), (1e-7, "0 mm")]
)
def test_lengths(metres: float, shown: str):
    assert length(metres).replace("\N{NO-BREAK SPACE}", " ") == shown


def test_typed_values_have_a_proper_minus():
    assert typed("-5 °C") == "−5\N{NO-BREAK SPACE}°C"
    assert typed("pre-war") == "pre-war"


def test_verdict_words(result: DetailResult):
    asked = result.requirements[0].requirement
    assert verdict(RequirementResult(asked, 0.0, met=True, certain=True)) == ("✓", "met")
    assert verdict(RequirementResult(asked, 0.0, met=False, certain=True)) == ("✗", "not met")
    assert verdict(RequirementResult(asked, 0.0, met=False, certain=False)) == ("○", "undecided")
    assert "kept" in checked(True)
    assert "not" in checked(False)
    assert "cannot" in checked(None)
    assert math.isfinite(result.requirements[0].value)
