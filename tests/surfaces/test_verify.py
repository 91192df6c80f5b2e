"""The command `verify`: its table, its JSON, its exit status, its PDF, and the rows that reports quote."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pymupdf
import pytest

import bridge2d.verify.cases
from bridge2d import __version__
from bridge2d.cli import main
from bridge2d.errors import InputError
from bridge2d.report.verification_pages import verification_bytes
from bridge2d.verify import stored_rows
from bridge2d.verify.cases import published_cases
from bridge2d.verify.records import Case, Expected, Found, Row, Verified
from bridge2d.verify.running import verified, verified_cases
from bridge2d.verify.screen import as_text, row_words
from bridge2d.verify.stored import read_rows, rows_csv

ROOT = Path(__file__).parents[2]
QUICK = ("plane_wall", "corner", "iso_13788_room", "slab_two_outdoors", "pin_fin", "iso_10077_2_d4")


@pytest.fixture
def few(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The command with a handful of cases, in this process."""
    cases = tuple(case for case in published_cases() if case.name in QUICK)
    monkeypatch.setattr("bridge2d.verify.cases.published_cases", lambda: cases)
    monkeypatch.setattr("bridge2d.verify.running.verified_cases", lambda found: [verified(case) for case in found])
    return [case.name for case in cases]


def test_table_says_all_of_every_case(few: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["verify"]) == 0
    out = capsys.readouterr().out
    lines = out.splitlines()
    assert lines[-1] == f"{len(few)} cases, {len(few)} inside their band"
    for word in ("source:", "theirs", "ours", "bracket", "difference", "band", "exact", "memory", "inside"):
        assert word in out
    assert "OUTSIDE" not in out


def test_json_is_one_object(few: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["verify", "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["version"] == __version__
    assert [case["name"] for case in data["cases"]] == few
    corner = next(case for case in data["cases"] if case["name"] == "corner")
    (value,) = corner["values"]
    assert value["lower"] <= value["theirs"] <= value["upper"]


def test_a_case_outside_its_band_ends_with_1(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    case = next(case for case in published_cases() if case.name == "plane_wall")
    off = replace(case, expected=tuple(replace(one, theirs=one.theirs * 1.001) for one in case.expected))
    monkeypatch.setattr("bridge2d.verify.cases.published_cases", lambda: (off,))
    assert main(["verify"]) == 1
    out = capsys.readouterr().out
    assert "OUTSIDE" in out
    assert out.splitlines()[-1] == "1 cases, 0 inside their band"


def test_pdf_is_the_same_twice_and_shows_every_case(few: list[str], tmp_path: Path) -> None:
    cases = verified_cases([case for case in published_cases() if case.name in QUICK], jobs=1)
    one, other = verification_bytes(cases), verification_bytes(cases)
    assert one == other
    text = "\n".join(page.get_text() for page in pymupdf.open(stream=one))
    for name in few:
        title = next(case.title for case in published_cases() if case.name == name)
        assert title.split(",")[0] in text
    assert "Not guaranteed: temperatures" in text
    assert f"{len(few)} cases, {len(few)} inside their band" in text
    target = tmp_path / "proof.pdf"
    assert main(["verify", "-o", str(target)]) == 0
    assert target.read_bytes() == one


def test_no_number_is_broken_over_two_lines() -> None:
    names = ("hollow_sphere", "disc_on_ground", "joist_upright_bare", "iso_14683_corner_insulated_outside")
    cases = [verified(case) for case in published_cases() if case.name in names]
    pages = pymupdf.open(stream=verification_bytes(cases))
    words = {word[4] for page in pages for word in page.get_text("words")}
    for case in cases:
        for one in case.rows:
            _, _, theirs, ours, bracket, *_ = row_words(one)
            assert {theirs, ours, *bracket.split()} <= words


def test_the_band_of_an_exact_value_is_its_bracket() -> None:
    exact = row(Found(2.0, 1.9, 2.1))
    assert row_words(exact)[6] == "bracket"
    assert row_words(replace(exact, expected=replace(exact.expected, band=1e-3)))[6] == "bracket ± 0.001"
    assert row_words(row(Found(2.0, 1.9, 2.1), "published", 0.2))[6] == "± 0.2"


@pytest.mark.parametrize(
    ("words", "part"),
    [
        (["-o", "proof.txt"], "ends in .pdf"),
        (["--csv", "rows.pdf"], "ends in .csv"),
        (["-o", "missing/proof.pdf"], "make the folder first"),
    ],
)
def test_what_cannot_be_written_is_refused(words: list[str], part: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["verify", *words]) == 2
    assert part in capsys.readouterr().err


def test_cases_side_by_side_are_the_same_as_one_after_the_other() -> None:
    cases = [case for case in published_cases() if case.name in ("plane_wall", "corner", "iso_13788_vapour_excess")]
    together, alone = verified_cases(cases, jobs=2), verified_cases(cases, jobs=1)
    assert [one.rows for one in together] == [one.rows for one in alone]


def test_missing_cases_are_told_in_one_message(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(bridge2d.verify.cases, "TABLE", "none.toml")
    with pytest.raises(InputError, match="the published cases are missing"):
        published_cases()
    (tmp_path / "none.toml").write_text("case = 3", encoding="utf-8")
    with pytest.raises(InputError, match="cannot be read"):
        published_cases(tmp_path)


def test_rows_travel_through_a_file(few: list[str], tmp_path: Path) -> None:
    target = tmp_path / "rows.csv"
    assert main(["verify", "--csv", str(target)]) == 0
    text = target.read_text(encoding="utf-8")
    found = read_rows(text)
    assert found.version == __version__
    assert {row.name for row in found.rows} == set(few)
    assert all(row.inside and row.lower <= row.upper for row in found.rows)
    target.write_text(text.replace(found.date, "2001-02-03"), encoding="utf-8")
    assert main(["verify", "--csv", str(target)]) == 0
    assert read_rows(target.read_text(encoding="utf-8")).date == "2001-02-03"  # the day stays where nothing has changed
    assert read_rows("").rows == ()


def test_stored_rows_are_those_of_the_table() -> None:
    stored = stored_rows()
    assert stored.version == __version__, "run .ci/reports"
    assert len(stored.date) == 10
    expected = [(case.name, one.label, one.kind) for case in published_cases() for one in case.expected]
    assert [(row.name, row.number, row.kind) for row in stored.rows] == expected, "run .ci/reports"
    assert all(row.inside for row in stored.rows)
    for row, theirs in zip(
        stored.rows, (one.theirs for case in published_cases() for one in case.expected), strict=True
    ):
        assert row.theirs == pytest.approx(theirs, rel=1e-8)


def test_report_belongs_to_the_cases() -> None:
    text = "\n".join(page.get_text() for page in pymupdf.open(ROOT / "reports" / "validation.pdf"))
    assert f"{len(published_cases())} cases, {len(published_cases())} inside their band" in text, "run .ci/reports"
    for case in published_cases():
        assert case.title.split(",")[0].split(":")[0] in text.replace("\n", " "), "run .ci/reports"


# -- the verdict -------------------------------------------------------------------------------------------------------


def row(found: Found, kind: str = "exact", band: float = 0.0, theirs: float = 2.0, **more: object) -> Row:
    expected = Expected("l2d", "L2D", "W/(m·K)", theirs, band, kind, **more)  # type: ignore[arg-type]
    return Row(Case("a", "A", "G", "S", "", (), 1e-3, (expected,)), expected, found)


@pytest.mark.parametrize(
    ("one", "inside"),
    [
        (row(Found(2.0, 1.999, 2.001)), True),
        (row(Found(2.0015, 2.001, 2.002)), False),  # the bracket misses the exact value
        (row(Found(2.0015, 2.001, 2.002), band=1e-3), True),  # which is itself in doubt
        (row(Found(2.0, 1.9, 2.1)), False),  # a wide bracket proves nothing
        (row(Found(2.0, 1.999, 2.001), "published", 0.01), True),
        (row(Found(2.009, 2.007, 2.011), "published", 0.01), False),  # one end is beyond the band
        (row(Found(2.004, tolerance=0.01), "memory", 0.005), True),
        (row(Found(2.006, tolerance=0.01), "memory", 0.005), False),
        (row(Found(2.0, 1.95, 2.05), between=(1.9, 2.1)), True),
        (row(Found(2.0, 1.85, 2.05), between=(1.9, 2.1)), False),
    ],
)
def test_verdict(one: Row, inside: bool) -> None:
    assert one.inside is inside
    assert ("OUTSIDE" in row_words(one)) is not inside
    assert as_text([Verified(one.case, (one,), ())]).endswith(f"1 cases, {int(inside)} inside their band")


def test_difference_to_a_range_is_how_far_ours_lies_beyond_it() -> None:
    assert row(Found(2.0, 1.95, 2.05), between=(1.9, 2.1)).difference == 0
    assert row(Found(2.1, 2.0, 2.2), between=(1.9, 2.1)).difference == pytest.approx(0.1)
    assert row(Found(1.8, 1.7, 1.95), between=(1.9, 2.1)).difference == pytest.approx(-0.2)


def test_rows_as_csv_quote_what_needs_it() -> None:
    one = row(Found(2.0, 1.999, 2.001))
    text = rows_csv([Verified(replace(one.case, title='A, "B"'), (one,), ())], "9", "2001-02-03")
    assert '"A, ""B"""' in text
    assert read_rows(text.replace("\n", "\r\n")).version == "9"
