"""What the page tells beyond a detail's own numbers: what `solve` prints of climate, sections and computation."""

from __future__ import annotations

import re
from html import unescape
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from bridge2d.calculate import calculate
from bridge2d.detail_file import read
from bridge2d.tables import as_text
from bridge2d.units import INCH_POUND
from bridge2d.web import work
from bridge2d.web.states import LAYERS
from tests.web.conftest import DETAILS

JOIST = "/detail/tollhouse_joist.toml"
DAMP = "c.humidity_class=4&p.insulation_thickness=0"


def words_of(page: str) -> str:
    """The page's text with single blanks."""
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", page)))


def damp_text(folder: Path) -> str:
    text = (folder / "tollhouse_joist.toml").read_text(encoding="utf-8")
    text = re.sub(r"humidity_class = \d", "humidity_class = 4", text)
    return re.sub(r"^insulation_thickness = \d+", "insulation_thickness = 0", text, flags=re.MULTILINE)


def not_kept(folder: Path) -> list[str]:
    """What `solve` says of them."""
    path = folder / "tollhouse_joist.toml"
    loaded = read(damp_text(folder), path)
    return [line for line in as_text(calculate(loaded.detail)).splitlines() if line.startswith("  NOT KEPT")]


def test_the_climate_answers_on_the_page(visitor: TestClient, folder: Path) -> None:
    """Humidity class 4 without insulation: where `solve` says NOT KEPT, so does the page, with the same margins."""
    lines = not_kept(folder)
    assert len(lines) >= 4
    page = visitor.get(f"{JOIST}?{DAMP}").text
    table = re.search(r'<table class="verdicts climate">.*?</table>', page, re.DOTALL)
    assert table
    assert table[0].count('class="verdict missed"') == len(lines)
    said = words_of(table[0])
    assert "mould, 80 % at the surface, December: fRsi ≥ 0.932 inside (between joists)" in said
    for line in lines:
        assert line.rpartition("margin ")[2] in said
    assert "critical month for condensation: December, asks for fRsi ≥ 0.753" in words_of(page)
    assert "Screening only: a steady heat calculation gives no verdict on decay" in page
    short = re.search(r'<p class="short">.*?</p>', page, re.DOTALL)[0]
    by_climate = re.findall(r'missed</span>\s*<span class="quiet">fRsi ≥ [\d.]+, climate: ([^<]*)<', short)
    assert len(by_climate) == 2  # mould and condensation, least kept
    assert [one.partition(",")[0] for one in by_climate] == ["mould", "condensation"]


def test_card_and_what_if_tell_what_the_climate_asks(visitor: TestClient, folder: Path) -> None:
    text = damp_text(folder)
    limits = text[text.index("[[requirement]]") : text.index("[climate]")]
    (folder / "damp.toml").write_text(text.replace(limits, ""), encoding="utf-8")
    card = visitor.get("/card/damp.toml").text
    assert card.count('class="verdict missed"') == 2
    assert "no limits given" not in card
    page = visitor.get(f"{JOIST}/what-if?{DAMP}").text
    assert page[page.index("Climate by month") :].count('class="verdict missed"') == len(not_kept(folder))
    assert "All numbers of each section" in page


def test_a_first_look_waits_with_the_climate_s_verdicts(folder: Path) -> None:
    text = damp_text(folder).replace("joist_width = 80", "joist_width = 81")
    found = work.answer(text, str(folder / "tollhouse_joist.toml"), None, "", LAYERS, True)
    assert found["coarse"]
    assert {one["state"] for one in found["climate"]["margins"]} == {"follows"}
    assert "tolerance 0" not in str(found["each_section"])
    fine = work.answer(text, str(folder / "tollhouse_joist.toml"), None, "", LAYERS, False)
    assert {one["state"] for one in fine["climate"]["margins"]} == {"kept", "missed"}


@pytest.mark.parametrize("name", ["tollhouse_joist", "tollhouse_party_wall"])
@pytest.mark.parametrize("system", [None, INCH_POUND])
def test_every_line_that_solve_prints_stands_on_the_page(
    visitor: TestClient, folder: Path, name: str, system: str | None
) -> None:
    path = folder / f"{name}.toml"
    loaded = read(path.read_text(encoding="utf-8"), path, shown=system)
    page = words_of(visitor.get(f"/detail/{name}.toml{f'?units={system}' if system else ''}").text)
    lines = as_text(calculate(loaded.detail), loaded.units).splitlines()
    rows = [line for line in lines if line.startswith("  ") and "triangles" not in line and "places:" not in line]
    assert len(rows) >= 20
    for line in rows:
        if line.lstrip().startswith(("met:", "kept:", "room:", "Lower Lock")):
            continue  # in tables of their own
        for part in re.split(r" {2,}", line.strip()):
            assert part in page, part
    for section in calculate(loaded.detail).sections:
        for element in section.flanking:
            wanted = [f"{loaded.units.length(layer.thickness)} " for layer in element.layers]
            assert wanted
            layers = page[page.index(f"U of {element.name}: its layers Layer Thickness λ") :]
            assert all(words in layers for words in wanted)
    assert re.search(r"Pass Triangles Unknowns Bracket 1 \d+ \d+ [−\d]", page)


def test_a_junction_without_an_airtight_layer_is_told() -> None:
    path = DETAILS / "tollhouse_joist.toml"
    text = path.read_text(encoding="utf-8")
    assert work.answer(text, str(path), None, "", LAYERS, False)["no_airtight"] == ""
    text = text.replace('airtight_layer = "parge coat"', 'airtight_layer = "none"')
    assert "no airtight layer" in work.answer(text, str(path), None, "", LAYERS, False)["no_airtight"]
