"""The report as a file: the same bytes twice, all fonts in it, every number with its unit, nothing off the page."""

from __future__ import annotations

import io
import math
import re
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path
from types import SimpleNamespace

import pymupdf
import pytest
from pypdf import PdfReader

from bridge2d import nomenclature as n
from bridge2d.drawing.scene import Run, runs, runs_width
from bridge2d.drawing.shown_materials import material_numbers
from bridge2d.materials import catalogue
from bridge2d.report import report_bytes, write_report
from bridge2d.report.layout import paragraph
from bridge2d.report.tables import Table, table
from bridge2d.report.text import shortened, wrapped
from bridge2d.report.words import checked, length, metres, scientific, typed, verdict, with_firm_units
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
    assert f"{term.u_value:.6f} W/(m²·K) × {term.length:.3f} m" in text
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
    ("metres", "shown"),
    [
        (0.33, "330 mm"),
        (0.0125, "12.5 mm"),
        (-0.025, "−25 mm"),
        (0.22225, "222.25 mm"),
        (0.0, "0 mm"),
        (1e-7, "0 mm"),
    ],
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


# -- what is said, and said once -----------------------------------------------------------------------------------


@pytest.fixture(scope="session")
def real_report(real) -> Callable[[str], bytes]:
    """The report of a real detail, written once."""

    @cache
    def written(name: str) -> bytes:
        result = real(name)
        loaded = SimpleNamespace(
            detail=result.detail,
            text="",
            path=Path(f"{name}.toml"),
            input_hash="ab12" * 16,
            drawn=None,
            materials=(),
            data={},
            files={},
        )
        return report_bytes(result, loaded)

    return written


@pytest.fixture
def report_text(real_report) -> Callable[[str], str]:
    return lambda name: words_of(real_report(name))


def test_more_than_two_environments_are_told_why_there_is_no_psi(report_text):
    text = report_text("with_hole")
    assert "Ψ needs exactly two environments; this section has 3. Rooms of one temperature can share one name." in text
    assert "names no flanking elements" not in text
    assert "coupling coefficient between outside and shaft" in text
    assert "L2D between" not in text
    assert "lower bound of" not in text


def test_two_environments_without_flanking_elements(report_text):
    text = report_text("oblique")
    assert "The detail names no flanking elements with lengths, so there is no Ψ." in text
    assert "Ψ needs exactly" not in text
    assert "lower bound of" in text


def test_captions_say_what_is_drawn(report_text):
    text = report_text("thick_wall")
    assert "q =" not in text
    assert re.search(r"between neighbours [\d.]+ W/m flow", text)
    assert "12.5 °C with the surface resistances of the temperature factor, the limit fRsi ≥ 0.700" in text
    assert "50 % relative humidity reaches" not in text
    text = report_text("plane_wall")
    assert "air of 20 °C and 50 % relative humidity reaches 80 % there" in text


def test_timber_is_spoken_of_only_where_there_is_timber(report_text):
    text = report_text("corner")
    assert "timber" not in text.lower()
    assert "along the grain" not in text
    assert "Surface and timber temperatures" in report_text("thick_wall")


def test_general_cautions_do_not_repeat_the_details(report_text):
    text = report_text("thick_wall")
    chapter = text[text.rindex("What this sheet does not say") :]
    for words in ("Have timber in masonry looked at", "Nothing here says whether a part carries its load"):
        assert words not in chapter
    for words in ("Have the timber looked at", "Fire", "Practice", "Mould"):
        assert chapter.count(words) == 1
    text = report_text("corner")
    assert "Nothing here says whether a part carries its load" in text


def test_lengths_are_printed_in_one_form(real, report_text):
    text = report_text("wide")
    assert "0.22225 m of height or depth" in text
    elements = [element for section in real("wide").sections for element in section.flanking]
    for number in {round(number, 6) for element in elements for number in element.lengths.values()}:
        digits = f"{number:g}"
        shown = digits if len(digits.partition(".")[2]) > 3 else f"{number:.3f}"
        assert f"{shown} m" in text, shown


def test_one_style_of_powers_of_ten(report_text):
    text = report_text("thick_wall")
    assert not re.search(r"\d[eE][-−]\d", text)
    assert "× 10⁻" in text


def changed(result: DetailResult, bases: tuple[str, str]) -> DetailResult:
    """The detail with two regions of one catalogue name, each with a basis or as the catalogue has it."""
    known = catalogue()["mineral foam board"]
    wall, *others = result.sections
    regions = [
        replace(region, material=replace(known, conductivity=0.042, source=basis) if basis else known, basis=basis)
        for region, basis in zip(wall.section.regions[:2], bases, strict=True)
    ]
    section = replace(wall.section, regions=(*regions, *wall.section.regions[2:]))
    detail = replace(result.detail, sections=(section, *(s.section for s in others)))
    return replace(result, detail=detail, sections=(replace(wall, section=section), *others))


def test_a_changed_material_is_given_and_its_basis_printed_once(result: DetailResult, loaded: SimpleNamespace):
    text = words_of(report_bytes(changed(result, ("offer A", "")), loaded))
    assert text.count("offer A") == 1
    assert "changed from the catalogue: offer A." in text
    row = re.search(r"1 mineral foam board 0\.042 W/\(m·K\) .{0,40}?(given|read|remembered)", text)
    assert row
    assert row[1] == "given"
    row = re.search(r"2 mineral foam board 0\.0\d+ W/\(m·K\) .{0,40}?(given|read|remembered)", text)
    assert row
    assert row[1] != "given"


def test_two_bases_are_two_rows(result: DetailResult):
    numbers = material_numbers(changed(result, ("offer A", "offer B")).detail.sections)
    assert sorted(m.source for m in numbers if m.name == "mineral foam board") == [
        "changed from the catalogue: offer A",
        "changed from the catalogue: offer B",
    ]


def test_signs_that_were_not_printed_are_listed_on_the_last_page(result: DetailResult, loaded: SimpleNamespace):
    detail = replace(result.detail, title="Haus \N{CJK UNIFIED IDEOGRAPH-4E2D}", notes=("zero \N{ROCKET} one",))
    data = report_bytes(replace(result, detail=detail), loaded)
    with pymupdf.open(stream=data, filetype="pdf") as document:
        last = re.sub(r"\s+", " ", document[-1].get_text())
    assert "U+4E2D" in last
    assert "U+1F680 rocket" in last
    assert "U+" not in words_of(report_bytes(result, loaded))


@pytest.mark.parametrize("name", ["membrane", "thick_wall", "corner", "oblique"])
def test_both_pictures_of_a_section_share_a_page(real, real_report, name: str):
    with pymupdf.open(stream=real_report(name), filetype="pdf") as document:
        texts = [re.sub(r"\s+", " ", page.get_text()) for page in document]
    for k in range(len(real(name).sections)):
        (page,) = [text for text in texts if f"Figure {2 * k + 1} " in text]
        assert f"Figure {2 * k + 2} " in page


@pytest.mark.parametrize(
    ("written", "read"), [("1.2e-13", "1.2 × 10⁻¹³"), ("6e+02 W", "6 × 10² W"), ("one", "one"), ("3 edges", "3 edges")]
)
def test_powers_of_ten(written: str, read: str):
    assert scientific(written).replace("\N{NO-BREAK SPACE}", " ") == read


@pytest.mark.parametrize(("length_", "shown"), [(1.79125, "1.79125 m"), (0.65, "0.650 m"), (-0.5, "−0.500 m")])
def test_metres(length_: float, shown: str):
    assert metres(length_).replace("\N{NO-BREAK SPACE}", " ") == shown


def test_no_line_breaks_within_a_point_or_before_a_unit():
    text = "joins A and B, from (362.5, −24) mm to (3, 4) mm, 5 mm on (see a, b) metre"
    blank = "\N{NO-BREAK SPACE}"
    assert with_firm_units(text) == (
        f"joins A and B, from (362.5,{blank}−24){blank}mm to (3,{blank}4){blank}mm, 5{blank}mm on (see a, b) metre"
    )
