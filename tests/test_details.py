"""Every file in details/ is read and computed, and its report in reports/ belongs to it; so do those of a building."""

from __future__ import annotations

from pathlib import Path

import pymupdf
import pytest

from bridge2d.building.reading import load as load_building
from bridge2d.building.variants import loaded_variant
from bridge2d.calculate import calculate
from bridge2d.comparison import fingerprint
from bridge2d.comparison.terms import gathered
from bridge2d.detail_file import load

ROOT = Path(__file__).parent.parent
FILES = sorted((ROOT / "details").glob("*.toml"))  # those of details/validation are computed by tests/validation
BUILDINGS = [path for path in FILES if "[[junction]]" in path.read_text(encoding="utf-8")]
DETAILS = [path for path in FILES if path not in BUILDINGS]


def words(report: Path) -> str:
    """All that a report says, without line ends; pymupdf reads it in a moment."""
    with pymupdf.open(report) as pages:
        return "".join(page.get_text() for page in pages).replace("\n", "")


@pytest.mark.parametrize("path", DETAILS, ids=lambda path: path.stem)
def test_detail_is_computed_and_kept_within_its_brackets(path: Path) -> None:
    loaded = load(path)
    result = calculate(loaded.detail)
    for section in result.sections:
        assert section.l2d is not None
        assert 0 <= section.l2d.upper - section.l2d.lower <= 1e-3 * section.l2d.value
        assert section.passes[-1].unknowns <= 10_000
        assert section.balance <= 1e-9
        assert all(check.met for check in section.checks), section.checks
    for psi in result.psi:
        assert psi.value.half_width <= 0.0005
    assert "invented" in loaded.text


@pytest.mark.parametrize("path", DETAILS, ids=lambda path: path.stem)
def test_report_belongs_to_the_detail(path: Path) -> None:
    report = ROOT / "reports" / f"{path.stem}.pdf"
    text = words(report)
    assert load(path).input_hash in text, "run .ci/reports"


def test_comparison_belongs_to_its_details() -> None:
    """The fingerprint needs no computation: the details' inputs, and what their [comparison] blocks say."""
    hatches = [ROOT / "details" / f"tollhouse_hatch_{option}.toml" for option in "ab"]
    report = ROOT / "reports" / "tollhouse_hatches.pdf"
    loaded = [load(path) for path in hatches]
    expected = fingerprint([one.input_hash for one in loaded], gathered(loaded, {}))
    text = words(report)
    assert expected in text, "run .ci/reports"


@pytest.mark.parametrize("path", BUILDINGS, ids=lambda path: path.stem)
def test_volume_belongs_to_the_building(path: Path) -> None:
    building, source = load_building(path)
    assert "invented" in building.text
    text = words(ROOT / "reports" / f"{path.stem}.pdf")
    for variant in building.variants:
        assert loaded_variant(variant, source).input_hash in text, "run .ci/reports"
    table = (ROOT / "reports" / f"{path.stem}.csv").read_text(encoding="utf-8-sig")
    for junction in building.junctions:
        assert f"{junction.ref}," in table
    assert (ROOT / "reports" / f"{path.stem}.xlsx").read_bytes().startswith(b"PK")
