"""What the page's processes compute, called here directly: the same numbers as the command line's, in either units."""

from __future__ import annotations

import json
import re
from itertools import combinations
from pathlib import Path

import ezdxf
import pymupdf
import pytest

from bridge2d.calculate import calculate
from bridge2d.detail_file import load
from bridge2d.errors import InputError
from bridge2d.report.verification_pages import verification_bytes
from bridge2d.results import DetailResult
from bridge2d.shown_units import DisplayUnits
from bridge2d.solved_sections import SolvedSections
from bridge2d.solving import Solving
from bridge2d.tables import detail_rows
from bridge2d.units import INCH_POUND, SI
from bridge2d.verify.cases import published_cases
from bridge2d.verify.running import verified
from bridge2d.web import work
from bridge2d.web.curves import chart
from bridge2d.web.pointed import value_at
from bridge2d.web.states import LAYERS
from bridge2d.web.working import Workshop
from tests.small_building import building
from tests.web.conftest import DETAILS, FREE_SECTION

JOIST = DETAILS / "tollhouse_joist.toml"
WALL = str(DETAILS / "wall.toml")
NAMES = ("joist", "party_wall", "hatch_b", "window_frame", "fixing")


def detail(name: str) -> tuple[str, str]:
    path = DETAILS / f"tollhouse_{name}.toml"
    return path.read_text(encoding="utf-8"), str(path)


def solved(text: str) -> DetailResult:
    return work.computed(text, Path(WALL), None)[1]


@pytest.mark.parametrize("name", NAMES)
def test_numbers_are_those_of_the_command_line(name: str) -> None:
    text, file = detail(name)
    found = work.answer(text, file, None, "", LAYERS, False)
    loaded = load(file)
    assert found["rows"] == detail_rows(calculate(loaded.detail), loaded.units)
    assert not found["coarse"]
    assert found["hash"] == loaded.input_hash
    assert found["svg"].count("<svg") == 1
    assert [name for name, _ in found["sections"]] == [one.name for one in loaded.detail.sections]


def test_layers_stand_in_the_picture_when_they_are_asked_for() -> None:
    text, file = detail("party_wall")
    for count in (0, 1, 2, 6):
        for layers in list(combinations(LAYERS, count))[:6]:
            svg = work.answer(text, file, None, "", layers, False)["svg"]
            for layer, mark in (("heat", "heat"), ("isotherms", "isotherms"), ("materials", "numbers")):
                assert (f'data-layer="{mark}"' in svg) == (layer in layers), (layer, layers)
            assert ('data-parameter="' in svg) == ("dimensions" in layers)


def test_a_section_is_chosen_by_its_name_and_else_the_first_is_drawn() -> None:
    text, file = detail("joist")
    first, second, *_ = (name for name, _ in work.answer(text, file, None, "", LAYERS, False)["sections"])
    assert work.answer(text, file, None, second, LAYERS, False)["section"] == second
    assert work.answer(text, file, None, "none of that name", LAYERS, False)["section"] == first


def test_a_first_look_has_wider_brackets_and_says_so() -> None:
    text, file = detail("window_frame")
    text = text.replace("outside_temperature = -5", "outside_temperature = -6")  # nobody has computed it before
    rough = work.answer(text, file, None, "", LAYERS, True)
    assert rough["coarse"]
    fine = work.answer(text, file, None, "", LAYERS, False)
    assert not fine["coarse"]
    again = work.answer(text, file, None, "", LAYERS, True)
    assert not again["coarse"]


def test_inch_pound_shows_no_si() -> None:
    text, file = detail("hatch_b")
    found = work.answer(text, file, INCH_POUND, "", LAYERS, False)
    shown = " ".join(str(row) for row in (*found["rows"], *(one["found"] for one in found["verdicts"])))
    assert "Btu" in shown
    assert not re.search(r"W/\(m|m²·K| mm\b", shown)
    assert found["box"]["unit"] == "in"


def test_a_place_has_the_temperature_of_its_layer() -> None:
    # A plane wall: the temperature falls by the share of resistance passed, exact
    text = FREE_SECTION
    result = solved(text)
    section = result.sections[0]
    r_all = 0.04 + 0.3 / 0.77 + 0.1 / 0.04 + 0.13
    found = value_at(section, (0.3, 0.2))
    assert found is not None
    assert found[0] == pytest.approx(20 * (0.04 + 0.3 / 0.77) / r_all, abs=1e-6)
    assert value_at(section, (0.15, 0.2))[1].name == "brick"  # type: ignore[index]
    assert value_at(section, (0.35, 0.2))[1].name == "board"  # type: ignore[index]
    assert value_at(section, (0.5, 0.2)) is None
    said = work.pointed(text, WALL, None, "", (0.35, 0.1))
    assert said["region"] == "board"
    assert not said["outside"]
    assert work.pointed(text, WALL, None, "", (9.0, 9.0))["outside"]


def test_the_air_beside_an_oblique_face_is_outside_the_section() -> None:
    text = FREE_SECTION.partition('[[region]]\nname = "board"')[0].replace("[300, 400], [0, 400]]", "[0, 400]]", 1)
    text += FREE_SECTION[FREE_SECTION.index("[[environment]]") :].replace("[400, 0], [400, 400]", "[300, 0], [0, 400]")
    section = solved(text).sections[0]
    assert value_at(section, (0.149, 0.199)) is not None
    assert value_at(section, (0.151, 0.201)) is None  # 1.4 mm off the middle of the face, near its triangles


def test_the_oldest_of_too_many_results_is_computed_again(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(work, "KEPT", 1)
    monkeypatch.setattr(work, "_sections", SolvedSections(1))
    text, other = FREE_SECTION, FREE_SECTION.replace("0.77", "0.78")
    first = solved(text).sections[0].fields
    assert solved(text).sections[0].fields is first
    solved(other)
    assert solved(text).sections[0].fields is not first


def test_a_half_section_is_pointed_at_on_both_sides() -> None:
    section = next(one for one in calculate(load(JOIST).detail, 1e-2).sections if one.section.half)
    one, other = value_at(section, (0.02, 0.3)), value_at(section, (-0.02, 0.3))
    assert one is not None
    assert other is not None
    assert one[0] == other[0]


def test_the_list_s_card() -> None:
    text, file = detail("joist")
    card = work.small(text, file)
    assert card["svg"].startswith("<svg")
    assert len(card["few"]) == 3
    assert card["hash"] == work.input_hash(text, file)


def test_files_are_those_of_the_command_line(tmp_path: Path) -> None:
    text, file = detail("fixing")
    with pymupdf.open(stream=work.report(text, file, INCH_POUND, "Letter")) as pages:
        assert tuple(round(x) for x in pages[0].rect)[2:] == (612, 792)
    target = tmp_path / "section.dxf"
    target.write_bytes(work.drawing(text, file, None, "", "dxf"))
    assert len(ezdxf.readfile(target).modelspace()) > 10
    assert work.drawing(text, file, None, "", "svg").decode().startswith("<svg")
    assert b"UnstructuredGrid" in work.drawing(text, file, None, "", "vtu")
    numbers = json.loads(work.drawing(text, file, None, "", "json"))
    assert numbers["chi"]["value"] == calculate(load(file).detail).chi.value.value  # type: ignore[union-attr]
    assert work.drawing_layers(target.read_bytes(), "section.dxf")


def test_a_report_is_rechecked(tmp_path: Path) -> None:
    text, file = detail("fixing")
    target = tmp_path / "report.pdf"
    target.write_bytes(work.report(text, file, None, "A4"))
    done = work.rechecked(str(target))
    assert "AGREES" in done["text"]
    with pytest.raises(InputError):
        work.rechecked(file)


def test_a_point_of_a_curve() -> None:
    text, file = detail("party_wall")
    found = work.curve_point(text, file)
    assert found["psi"][0] <= found["psi"][1]
    assert 0 < found["f_rsi"][0] < 1
    assert {quantity for quantity, _, _ in found["limits"]} <= {"psi", "f_rsi"}
    gap = {"refused": "no such section"}
    drawn = chart([(0.1, found), (0.2, None), (0.3, gap)], (0.1, 0.3), 0.2, "psi", "length [mm]", DisplayUnits(SI))
    assert "polyline" in drawn or "path" in drawn
    assert work.curve_point(*detail("framed_wall"))["u_value"][0] > 0
    assert work.curve_point(*detail("fixing"))["chi"][0] > 0


def test_a_curve_has_what_the_climate_asks_for_beside_the_limits() -> None:
    text, file = detail("hatch_a")
    found = work.curve_point(text, file)
    asked = work.answer(text, file, None, "", (), False)["climate"]["least"][0]["asked"]
    by_climate = [(limit, name) for kind, limit, name in found["limits"] if kind == "f_rsi" and "climate" in name]
    assert [f"fRsi ≥ {limit:.3f}" for limit, _ in by_climate] == [asked]
    drawn = chart([(0.1, found)], (0.1, 0.3), 0.2, "f_rsi", "length [mm]", DisplayUnits(SI))
    assert re.search(r">limit: climate, \w+: mould, 80 % at the surface<", drawn)
    alone = {**found, "limits": [("f_rsi", limit, name) for limit, name in by_climate]}
    close = {**found, "limits": [*alone["limits"], ("f_rsi", by_climate[0][0] + 1e-4, "other")]}
    one, two = (chart([(0.1, it)], (0.1, 0.3), 0.2, "f_rsi", "", DisplayUnits(SI)) for it in (alone, close))
    assert one.count('class="limit"') == 1
    first, second = (float(y) for y in re.findall(r'class="limit-name" x="[\d.]+" y="([\d.]+)"', two))
    assert abs(first - second) > 10  # two names, one legible beside the other


def test_a_curve_of_psi_has_the_dimensions_of_its_limit() -> None:
    text, file = detail("hatch_a")  # its limit is of internal dimensions
    found = work.curve_point(text, file)
    of = {one.dimensions: one.value for one in calculate(load(file).detail).psi}
    assert found["psi"][0] <= of["internal"].upper
    assert found["psi"][1] >= of["internal"].lower
    assert found["psi"][0] > of["external"].upper
    drawn = chart([(0.1, found)], (0.1, 0.3), 0.2, "psi", "length [mm]", DisplayUnits(SI))
    assert "Ψ, internal dimensions [W/(m·K)]" in drawn
    assert drawn.count(">limit: ") == 1
    more = text.replace('dimensions = "internal"\nmaximum = 0.25', 'dimensions = "external"\nmaximum = 0.25')
    assert more != text
    assert work.curve_point(more, file)["dimensions"] == "external"


def test_options_side_by_side_in_either_units() -> None:
    options = [(*detail("hatch_a"), Solving()), (*detail("hatch_b"), Solving())]
    page = work.comparison(options, None, "page", {})
    assert len(page["options"]) == len(page["pictures"]) == 2
    assert page["pictures"][0]["scale"] == page["pictures"][1]["scale"]
    other = work.comparison(options, INCH_POUND, "page", {})
    assert [row["symbol"] for row in other["rows"]] == [row["symbol"] for row in page["rows"]]
    words = " ".join(str(row["values"]) for row in other["rows"])
    assert "Btu" in words
    assert "W/" not in words
    assert work.comparison(options, None, "A4", {}).startswith(b"%PDF")
    climate = [row for row in page["limits"] if row["name"].startswith("ISO 13788 with the climate Lower Lock")]
    assert [row["limit"].split(",")[0] for row in climate] == ["mould", "condensation"]
    assert [[one["word"] for one in row["verdicts"]] for row in climate] == [["not met", "met"]] * 2
    assert any("78 kKh/a" in words for words in page["given"])
    assert page["junctions"] == ""
    different = work.comparison([options[0], (*detail("roof_edge"), Solving())], None, "page", {})
    assert "nothing here says which is better" in different["junctions"]


def test_a_building_in_either_units(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    file = str(building(tmp_path, 2))
    page = work.scheduled(file, "page")
    assert [entry["ref"] for entry in page["entries"]] == ["J0", "J1"]
    assert page["entries"][1]["lines"][0]["amount"] == "4.000 m"
    other = work.scheduled(file, "page", INCH_POUND)
    assert other["entries"][1]["lines"][0]["amount"].endswith("ft")
    assert "Btu" in str(other["totals"])
    assert page["totals"][1:] == []  # nothing is given, and no element has an area
    given = '[[junction]]\nname = "Iron"\nchi = 0.02\nnumber = 3\nsource = "invented"\n'
    given += '[[element]]\nname = "wall"\narea = 50\nu_value = 0.4\n'
    totals = dict(work.scheduled(str(building(tmp_path, 1, given=given)), "page")["totals"])
    assert list(totals)[1:] == ["of it given, without a bracket", "ΔUtb over 50.000 m²", "with the elements"]
    assert totals["of it given, without a bracket"] == "0.060 W/K"  # 3 · 0.02
    walls = 3 * 0.01 / (0.04 + 0.32 / 0.8 + 0.16)  # exact: the external length is 10 mm longer than the internal
    assert totals["with the elements"].startswith(f"{walls + 0.06 + 50 * 0.4:.4f}"[:6])
    file = str(building(tmp_path, 2))
    assert work.scheduled(file, "csv")
    assert work.scheduled(file, "xlsx").startswith(b"PK")
    assert work.scheduled(file, "pdf", INCH_POUND, "Letter").startswith(b"%PDF")


def test_what_was_computed_is_shown_under_the_head_that_was_typed() -> None:
    text, file = detail("window_frame")
    one, before, _ = work.computed(text, Path(file), None)
    two, after, _ = work.computed(text.replace("title = ", 'author = "somebody"\ntitle = ', 1), Path(file), INCH_POUND)
    assert one.input_hash == two.input_hash
    assert (before.detail.author, after.detail.author) == ("", "somebody")
    assert "in" in str(after.detail.parameters)
    # U of the frame is computed from its polygons, and U of the window from it.
    assert after.detail.window is not None
    assert after.u_frame is not None
    assert after.detail.window.u_frame == after.u_frame.value


def test_a_validation_is_rechecked_in_a_process_of_the_page(workshop: Workshop, tmp_path: Path) -> None:
    """Which may have no processes of its own."""
    few = [verified(case) for case in published_cases() if case.name in ("plane_wall", "iso_13788_vapour_excess")]
    assert len(few) == 2
    target = tmp_path / "validation.pdf"
    target.write_bytes(verification_bytes(few))
    done = workshop.do("rechecked", str(target), seconds=300.0)
    assert done["agrees"] is True


def test_sections_that_a_change_does_not_reach_keep_their_numbers() -> None:
    text = JOIST.read_text(encoding="utf-8")
    assert "bearing_length = 150" in text
    before, after = (
        work.computed(one, JOIST, None, work.FIRST_LOOK)[1]
        for one in (text.replace("bearing_length = 150", f"bearing_length = {length}") for length in (133, 134))
    )
    kept = {a.section.name for a, b in zip(before.sections, after.sections, strict=True) if a.fields is b.fields}
    assert kept == {"between joists"}
