"""Recheck of a comparison's PDF: an honest one agrees, and every way of altering one is found out or refused."""

from __future__ import annotations

import hashlib
import io
import json
import os
import re
from dataclasses import asdict
from pathlib import Path

import pikepdf
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge2d import units
from bridge2d.cli import main
from bridge2d.comparison import fingerprint
from bridge2d.comparison_block import ComparisonTerms
from bridge2d.report.comparison_enclosures import terms_read, terms_text
from tests.small_building import WALL
from tests.surfaces.test_recheck import altered, changed, enclosed, other_font, with_file
from tests.surfaces.test_recheck_volume import CORNER, outside, replaced

OPTIONS = {"thin": 60, "thick": 80, "thicker": 120}
LIMIT = '[[requirement]]\nquantity = "f_rsi"\nminimum = 0.7\nname = "mould"\nsource = "test"\n'


SHEETS = ("two", "three in inch-pound")
on_either = pytest.mark.parametrize("sheet", SHEETS, indirect=True)
"""What depends on the words of the sheet, or on how many options it has; all else is tried on both with SEARCH=1."""


@pytest.fixture(scope="module", params=SHEETS if os.environ.get("SEARCH") else SHEETS[:1])
def sheet(request, tmp_path_factory) -> bytes:
    """A comparison written by the command; the files it was made from are gone."""
    folder = tmp_path_factory.mktemp("comparison")
    for name, thickness in OPTIONS.items():
        text = CORNER.replace("insulation_thickness = 60", f"insulation_thickness = {thickness}") + LIMIT
        (folder / f"{name}.toml").write_text(text, encoding="utf-8")
    names = list(OPTIONS)[: 2 if request.param == "two" else 3]
    costs = [word for k in range(len(names)) for word in ("--cost-per-metre", f"{30 + 7.5 * k}/m")]
    words = ["--length", "120.4 m", "--heating-degree-hours", "80 kKh/a", "--lifetime", "30", "--currency", "EUR"]
    units = () if request.param == "two" else ("--units", "inch-pound", "--paper", "Letter")
    files = [str(folder / f"{name}.toml") for name in names]
    call = ["compare", *files, "-o", str(folder / "c.pdf"), "--dimensions", "internal", *words, *costs, *units]
    assert main(call) in (0, 1)
    data = (folder / "c.pdf").read_bytes()
    for file in folder.iterdir():
        file.unlink()
    return data


NOT_THOSE = "the enclosed files are not those whose SHA-256 stands on the pages; "


def changed_list(name: str) -> str:
    """What is said of an enclosed file that was changed."""
    return f"{NOT_THOSE}changed: {name}"


@on_either
def test_an_honest_comparison_agrees(check, sheet):
    status, found, _ = check(sheet)
    assert status == 0, (found["findings"], outside(found))
    names = {row["name"] for row in found["numbers"]}
    assert {"A: fRsi, lowest", "B − A: fRsi, lowest"} <= names or any(name.startswith("B − A: ") for name in names)
    assert {"1: Ψ, internal", "2: Ψ, internal"} <= names
    assert [title[:2] for title in found["reports"]] in (["A:", "B:"], ["A:", "B:", "C:"])
    files = {file["name"] for file in found["enclosed"]}
    assert {"0 comparison.toml", "0 results.json", "0 pages.json", "1 thin.toml", "2 thick.toml"} <= files


@on_either
def test_the_screen_tells_the_same(sheet, tmp_path, capsys):
    (tmp_path / "c.pdf").write_bytes(sheet)
    assert main(["recheck", str(tmp_path / "c.pdf")]) == 0
    out = capsys.readouterr().out
    assert "AGREES" in out
    assert "Comparison of A" in out


@pytest.mark.parametrize(
    ("name", "change"),
    [
        ("0 comparison.toml", replaced(b"cost_per_metre = 37.5", b"cost_per_metre = 37.6")),
        ("1 thin.toml", replaced(b"insulation_thickness = 60", b"insulation_thickness = 61")),
        ("2 thick.toml", replaced(b"minimum = 0.7", b"minimum = 0.6")),
    ],
)
def test_an_altered_input(check, sheet, name, change):
    status, found, _ = check(with_file(sheet, name, change))
    assert status == 1
    assert changed_list(name) in found["findings"]
    assert any("fingerprint differs" in words for words in found["findings"])


@on_either
def test_an_altered_number_of_a_detail_changes_its_differences(check, sheet):
    change = replaced(b"masonry_thickness = 300", b"masonry_thickness = 250")
    status, found, _ = check(with_file(sheet, "2 thick.toml", change))
    assert status == 1
    names = outside(found)
    assert any(name.startswith("B − A: ") for name in names)
    assert any(name.startswith("2: ") for name in names)
    assert not any(name.startswith(("1: ", "A: ")) for name in names)


@on_either
@pytest.mark.parametrize("part", ["values", "differences"])
def test_an_altered_number_of_the_comparison(check, sheet, part):
    def change(document: dict) -> None:
        row = next(row for row in document["rows"] if row["key"].startswith("psi") and row["differences"][1])
        for end in ("value", "lower", "upper"):
            row[part][1][end] += 0.02

    status, found, _ = check(with_file(sheet, "0 results.json", changed(change)))
    assert status == 1
    assert changed_list("0 results.json") in found["findings"]
    assert len(outside(found)) == 1


def turned(verdict: dict) -> None:
    verdict["met"] = not verdict["met"]


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda d: d["limits"][0].update(limit=0.1), "the limits of the enclosed comparison"),
        (lambda d: d["input"][0]["values"].reverse(), "the differences in the input of the enclosed comparison"),
        (lambda d: d["rows"].pop(), "the numbers of the enclosed comparison"),
        (lambda d: d["options"][1].update(description="the better one"), "the options of the enclosed comparison"),
        (lambda d: d.update(title="Another"), "no page has the title"),
        (lambda d: d["rows"][0]["values"][0].update(value=9.0), "does not lie in the middle"),
        (lambda d: turned(d["limits"][0]["options"][0]), "the limit 'mould'"),
    ],
)
def test_what_else_was_altered_in_the_comparison(check, sheet, change, said):
    status, found, _ = check(with_file(sheet, "0 results.json", changed(change)))
    assert status == 1
    assert any(said in words for words in found["findings"]), found["findings"]


CLIMATE = '[climate]\nname = "Lock"\nsource = "invented"\nfile = "climate.csv"\nhumidity_class = 3\n'


@pytest.fixture(scope="module")
def in_a_climate(tmp_path_factory) -> bytes:
    """Options with a climate, one of which lets mould grow by it."""
    folder = tmp_path_factory.mktemp("climate")
    months = (Path(__file__).parents[2] / "details" / "tollhouse_climate.csv").read_bytes()
    (folder / "climate.csv").write_bytes(months)
    for name, thickness in {"thin": 10, "thick": 80}.items():
        text = CORNER.replace("insulation_thickness = 60", f"insulation_thickness = {thickness}") + CLIMATE
        (folder / f"{name}.toml").write_text(text, encoding="utf-8")
    files = [str(folder / f"{name}.toml") for name in ("thin", "thick")]
    words = ["--length", "12 m", "--heating-degree-hours", "80", "--heating-degree-hours-source", "invented"]
    assert main(["compare", *files, "-o", str(folder / "c.pdf"), *words]) == 0
    return (folder / "c.pdf").read_bytes()


def test_an_honest_comparison_with_a_climate_agrees(check, in_a_climate):
    status, found, _ = check(in_a_climate)
    assert status == 0, (found["findings"], outside(found))
    names = {row["name"] for row in found["numbers"]}
    assert {f"{x}: mould, 80 % at the surface, {y}" for x in "AB" for y in ("temperature factor", "asked for")} <= names


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda d: turned(d["climate"][0]["options"][0]), "A: the limit 'mould, 80 % at the surface'"),
        (lambda d: d["climate"].pop(), "the climate's limits of the enclosed comparison"),
        (lambda d: d["climate"][0]["options"][1].update(month="May"), "the climate's limits of the enclosed"),
        (lambda d: d["climate"][0]["options"][1].update(value=0.987), "no page says mould, 80 % at the surface 0.987"),
        (lambda d: d.update(given=["Length: 11 m."]), "the lengths and degree hours of the enclosed comparison"),
        (lambda d: d.update(remarks=["B is better."]), "the remarks of the enclosed comparison"),
    ],
)
def test_what_was_altered_of_the_climate_and_what_is_given(check, in_a_climate, change, said):
    status, found, _ = check(with_file(in_a_climate, "0 results.json", changed(change)))
    assert status == 1
    assert any(said in words for words in found["findings"]), found["findings"]


def test_an_altered_number_that_the_climate_asks_for(check, in_a_climate):
    def change(document: dict) -> None:
        document["climate"][0]["options"][0]["asked"] += 0.01

    status, found, _ = check(with_file(in_a_climate, "0 results.json", changed(change)))
    assert status == 1
    assert outside(found) == ["A: mould, 80 % at the surface, asked for"]


def test_a_comparison_without_a_source_of_the_degree_hours_is_read():
    """As a sheet encloses it that was made before there was one."""
    (terms,) = terms_read("[[options]]\nheating_degree_hours = 80\n")
    assert (terms.heating_degree_hours, terms.heating_degree_hours_source) == (80.0, "")
    older = {key: value for key, value in asdict(terms).items() if key != "heating_degree_hours_source"}
    text = json.dumps([{"input": "x", **older}], sort_keys=True, separators=(",", ":"))
    assert fingerprint(["x"], [terms]) == hashlib.sha256(text.encode("ascii")).hexdigest()


@on_either
def test_an_altered_number_of_an_options_results(check, sheet):
    status, found, _ = check(with_file(sheet, "1 results.json", changed(lambda d: d["psi"][0].update(value=9.0))))
    assert status == 1
    assert changed_list("1 results.json") in found["findings"]
    assert [name[:5] for name in outside(found)] == ["1: Ψ,"]


@on_either
def test_one_altered_digit_of_a_page(check, sheet):
    def change(pdf: pikepdf.Pdf) -> None:
        drawn = pdf.pages[0].Contents.read_bytes()
        found = re.search(rb"\(([^()\\]{3,})\) Tj", drawn)
        assert found is not None
        old = found[1]
        pdf.pages[0].Contents.write(drawn.replace(b"(" + old + b") Tj", b"(" + old[::-1] + old[:1] + b") Tj", 1))

    status, found, _ = check(altered(sheet, change))
    assert status == 1
    assert any(words.startswith("page 1 reads") for words in found["findings"])


@pytest.mark.parametrize(
    "name", ["0 comparison.toml", "0 pages.json", "1 thin.toml", "2 results.json", "2 materials.csv"]
)
def test_a_missing_file_is_refused(check, sheet, name):
    status, _, err = check(altered(sheet, lambda pdf: pdf.attachments.__delitem__(name)))
    assert status == 2
    assert "checked.pdf" in err


@pytest.mark.parametrize(
    "text", [b"\xff", b"options = 3", b"[[options]]\nlength = -1", b"[[options]]\n", b"options = [[[[", b"x = 1"]
)
def test_malformed_terms_disagree(check, sheet, text):
    status, found, _ = check(with_file(sheet, "0 comparison.toml", lambda _: text))
    assert status == 1
    changed, said = found["findings"]
    assert changed == changed_list("0 comparison.toml")
    assert re.match(r"nothing was computed again: .*checked.pdf: the enclosed file comparison.toml is malformed", said)
    assert found["numbers"] == []
    assert found["title"].startswith("Comparison of A")


def test_malformed_numbers_disagree(check, sheet):
    status, found, _ = check(with_file(sheet, "0 results.json", lambda data: data[:99]))
    assert status == 1
    changed, said = found["findings"]
    assert changed == changed_list("0 results.json")
    assert "results.json is malformed" in said
    assert found["title"] == found["versions"]["report"] == ""


def test_a_changed_file_is_told_where_the_record_of_the_files_was_changed_too(check, sheet):
    """The list on the page cannot be changed with it, only the name is lost."""
    change = replaced(b"insulation_thickness = 60", b"insulation_thickness = 61")
    forged = with_file(sheet, "1 thin.toml", change)
    with pikepdf.open(io.BytesIO(forged)) as pdf:
        digest = hashlib.sha256(enclosed(pdf, "1 thin.toml")).hexdigest()
    forged = with_file(forged, "0 pages.json", changed(lambda d: d["files"].update({"1 thin.toml": digest})))
    status, found, _ = check(forged)
    assert status == 1
    assert f"{NOT_THOSE}one was changed" in found["findings"]


def test_a_page_whose_font_was_changed(check, sheet):
    status, found, _ = check(altered(sheet, other_font))
    assert status == 1
    assert any("page 1 has the words that were written, but" in words for words in found["findings"])


def test_a_building_may_have_the_name_of_the_terms(tmp_path, capsys):
    (tmp_path / "wall.toml").write_text(WALL.format(title="Wall", region="brick", internal=1990), encoding="utf-8")
    building = 'title = "House"\ndimensions = "internal"\n[[junction]]\nref = "W"\ndetail = "wall.toml"\nlength = 3\n'
    (tmp_path / "comparison.toml").write_text(building, encoding="utf-8")
    call = ["schedule", str(tmp_path / "comparison.toml"), "-o", str(tmp_path / "v.pdf"), "--jobs", "1", "--no-cache"]
    assert main(call) == 0
    assert main(["recheck", str(tmp_path / "v.pdf")]) == 0, capsys.readouterr().out


@given(
    st.lists(
        st.builds(
            ComparisonTerms,
            option=st.text(st.characters(exclude_categories=["Cs", "Cc", "Zl", "Zp"]), max_size=12).map(str.strip),
            description=st.text(st.characters(exclude_categories=["Cs", "Cc", "Zl", "Zp"]), max_size=50).map(str.strip),
            length=st.none() | st.floats(1e-3, 2e4).map(lambda x: units.read_length(f"{x} m")),
            cost_per_metre=st.none() | st.floats(0, 1e6),
            heating_degree_hours=st.none() | st.floats(1e-3, 1e3),
            heating_degree_hours_source=st.sampled_from(["", "invented", "“A”, 'b' \\ table 3"]),
            lifetime=st.none() | st.floats(1, 100),
            currency=st.sampled_from(["", "EUR", "£"]),
            dimensions=st.sampled_from(["", "external", "internal", "overall_internal"]),
        ),
        min_size=1,
        max_size=3,
    )
)
def test_terms_are_read_back_as_they_were(terms):
    assert terms_read(terms_text(terms)) == tuple(terms)


def test_changed_terms_that_do_not_go_together_are_told_with_their_file(check, sheet):
    def change(data: bytes) -> bytes:
        assert data.count(b"heating_degree_hours = 80") > 1
        return data.replace(b"heating_degree_hours = 80", b"heating_degree_hours = 81", 1)

    status, found, _ = check(with_file(sheet, "0 comparison.toml", change))
    assert status == 1
    listed, said = found["findings"]
    assert listed == changed_list("0 comparison.toml")
    assert "checked.pdf/0 comparison.toml, heating_degree_hours: option A has 81 kKh/a, option B 80 kKh/a" in said
