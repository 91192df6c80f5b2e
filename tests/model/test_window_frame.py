"""A window box's frame by polygons: U_f with its trace, the same cavities in all sections, and refusals by line."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from bridge2d.calculate import calculate
from bridge2d.cavities import frozen
from bridge2d.detail import Section
from bridge2d.detail_file import load
from bridge2d.errors import InputError
from bridge2d.junctions import window_corners
from bridge2d.junctions.window_box import build
from bridge2d.junctions.window_parameters import WindowBox
from bridge2d.results import DetailResult
from bridge2d.tables import as_json, as_text

TOLLHOUSE = Path(__file__).parents[2] / "details" / "tollhouse_window_frame.toml"
WOOD = {"name": "wood", "conductivity": 0.13}


def rectangle(x0: float, y0: float, x1: float, y1: float) -> list[list[float]]:
    return [[x0, y0], [x1, y0], [x1, y1], [x0, y1]]


def hollow(kind: str, *corners: float) -> dict[str, Any]:
    return {
        "name": f"{corners}",
        "cavity": kind,
        "cavity_temperatures": "standard",
        "polygon": rectangle(*corners),  # type: ignore[arg-type]
    }


def d4() -> list[dict[str, Any]]:
    """Frame D.4 of ISO 10077-2:2012 in its own coordinates; source: see tests/validation/test_iso_10077_2.py."""
    gaskets = [(26, 66, 42, 69), (48, 15, 63, 18), (95, 46, 110, 49), (95, 15, 110, 18)]
    return [
        {**WOOD, "polygon": [[0, 0], [0, 66], [26, 66], [26, 83], [110, 83], [110, 0]]},
        *({"name": "EPDM", "conductivity": 0.25, "polygon": rectangle(*corners)} for corners in gaskets),
        hollow("unventilated", 42, 15, 48, 69),
        hollow("unventilated", 90, 15, 95, 49),
        hollow("slightly ventilated", 63, 0, 68, 18),
    ]


def box(frame: list[dict[str, Any]], **changes: Any) -> WindowBox:
    chosen = {"glazing_thickness": 28, "glazing_setback": 18, "glazing_rebate": 15, "frame_insulation_thickness": 0}
    return WindowBox(frame=frame, **{**chosen, "lining_thickness": 12, "window_board_thickness": 18, **changes})


@pytest.fixture(scope="module")
def published() -> DetailResult:
    return calculate(build(box(d4())))


@pytest.fixture(scope="module")
def tollhouse() -> DetailResult:
    return calculate(load(TOLLHOUSE).detail)


def test_d4_as_a_window_box_has_the_published_l2d_and_u_f(published: DetailResult) -> None:
    # L2D 0.346 ± 0.001 and U_f 1.36 ± 0.01: the standard's table, remembered; the bands are ours
    panel = published.sections[-1]
    assert panel.section.name == "frame with panel"
    assert panel.l2d is not None
    assert panel.l2d.value == pytest.approx(0.346, abs=0.001)
    assert published.u_frame is not None
    assert published.u_frame.value == pytest.approx(1.36, abs=0.01)
    assert published.u_frame.lower <= published.u_frame.value <= published.u_frame.upper


def test_d4_has_reduced_radiation_where_the_standard_draws_it() -> None:
    # Corners of annex D.4, remembered: 17 mm on both faces of the sash, 30 mm at the glazing.
    detail = build(box(d4()))
    reduced = [s.edge for s in detail.sections[-1].surfaces if s.resistance == 0.20]
    own = [[(round(1000 * (x - 0.033), 3), round(1000 * (y - 0.12), 3)) for x, y in edge] for edge in reduced]
    assert own == [[(9, 66), (26, 66), (26, 83)], [(110, 76), (110, 46), (140, 46)]]
    assert all(s.f_rsi_resistance == 0.20 for s in detail.sections[-1].surfaces if s.resistance == 0.20)


def test_all_sections_hold_the_same_cavities(published: DetailResult) -> None:
    # The standard's conductivities with 10 °C and 10 K, remembered
    for section in published.detail.sections:
        found = [r.material.conductivity for r in section.regions if "cavity" in r.material.name]
        assert found == pytest.approx([0.2050, 0.1304, 0.1428], rel=2e-3)
        assert all(region.cavity is None for region in section.regions)


def test_cavities_computed_in_each_section_would_differ_little() -> None:
    detail = load(TOLLHOUSE).detail
    by_section = [[c.conductivity for c in frozen(s)[1]] for s in detail.sections]
    for conductivities in by_section:
        assert conductivities == pytest.approx(by_section[-1], rel=0.15)


def test_a_solid_frame_of_one_material_reduces_to_its_layers() -> None:
    # Panel and frame flush and alike: U_f is that of the panel's own layers, exact
    frame = [{"name": "plain", "conductivity": 0.035, "polygon": rectangle(0, 0, 100, 30)}]
    result = calculate(build(box(frame, glazing_thickness=30, glazing_setback=0, glazing_rebate=0)))
    assert result.u_frame is not None
    assert result.u_frame.value == pytest.approx(1 / (0.13 + 0.030 / 0.035 + 0.04), abs=1e-6)


def test_u_w_follows_from_u_f(tollhouse: DetailResult) -> None:
    window, u_frame = tollhouse.detail.window, tollhouse.u_frame
    assert window is not None
    assert u_frame is not None
    assert window.u_frame == pytest.approx(u_frame.value, rel=1e-12)
    by_hand = window.u_frame * window.frame_area + window.u_glazing * window.glazing_area
    by_hand += window.psi_edge * window.edge_length
    assert window.u_window == pytest.approx(by_hand / window.area, rel=1e-12)
    installed = tollhouse.u_installed
    assert installed is not None
    least = window.frame_area / window.area * u_frame.half_width
    assert installed.half_width > least  # the bracket of U_f counts too
    assert as_json(tollhouse)["u_frame"]["value"] == u_frame.value
    assert as_text(tollhouse).count("U of the frame") == 1


def test_frame_is_placed_in_every_section(tollhouse: DetailResult) -> None:
    for section in tollhouse.detail.sections:
        assert _area(section, "sash") == pytest.approx(_area(tollhouse.detail.sections[-1], "sash"), rel=1e-9)
        assert [r.name for r in section.regions if r.name == "groove"] == ["groove"]


def _area(section: Section, name: str) -> float:
    ring = next(region.polygon for region in section.regions if region.name == name)
    pairs = zip(ring, (*ring[1:], ring[0]), strict=True)
    return abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in pairs)) / 2


BROKEN = [
    ('name = "sash"', "[[76, 24], [138, 24]", "[[70, 24], [138, 24]", "overlaps"),
    ('name = "fixed frame"', "[[0, 0], [90, 0]", "[[-5, 0], [90, 0]", "outside the frame's box"),
    ('name = "rebate"', "[138, 24], [138, 84]", "[138, 24], [138, 70], [130, 70], [130, 84]", "gap"),
    ('name = "rebate"', "[76, 70], [64, 70], [64, 66], [72, 66]]", "[76, 60], [72, 60]]", "void"),
]


@pytest.mark.parametrize(("at", "old", "new", "words"), BROKEN)
def test_a_broken_frame_is_refused_with_its_line(tmp_path: Path, at: str, old: str, new: str, words: str) -> None:
    text = TOLLHOUSE.read_text(encoding="utf-8").replace(old, new)
    path = tmp_path / "broken.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        load(path)
    lines = text.splitlines()
    name = next(k for k, line in enumerate(lines, 1) if line == at)
    polygon = next(k for k, line in enumerate(lines[name:], name + 1) if line.startswith("polygon"))
    assert caught.value.line == polygon
    assert words in caught.value.message
    assert caught.value.right
    assert "[[parameters.frame]]" in caught.value.key


@pytest.mark.parametrize(
    ("line", "key"),
    [("frame_transmittance = 1.1", "frame_transmittance"), ("frame_width = 120", "frame_width")],
)
def test_what_follows_from_the_polygons_is_checked(tmp_path: Path, line: str, key: str) -> None:
    text = TOLLHOUSE.read_text(encoding="utf-8").replace("[parameters]", f"[parameters]\n{line}", 1)
    path = tmp_path / "twice.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        load(path)
    assert key in caught.value.key
    assert caught.value.line == text.splitlines().index(line) + 1


# -- corners ---------------------------------------------------------------------------------------------------------


def test_reveal_and_frame_and_glazing_meet_in_reduced_corners() -> None:
    # Reveal 100 mm deep, frame 80 mm wide and 20 mm before the glazing: 30 mm at the reveal, 20 mm at the glazing.
    reveal, window = ((-0.5, 0.2), (0.0, 0.2), (0.0, 0.1)), ((0.08, 0.1), (0.08, 0.08), (0.27, 0.08))
    found = [run for run in window_corners.runs(reveal, window) if run.reduced]
    assert [(run.line, run.window) for run in found] == [
        (((0.0, 0.13), (0.0, 0.1)), False),
        (((0.0, 0.1), (0.03, 0.1)), True),
        (((0.08, 0.1), (0.08, 0.08), (0.1, 0.08)), True),
    ]


def test_a_flush_window_has_no_corner() -> None:
    runs = window_corners.runs(((-0.5, 0.1), (0.0, 0.1)), ((0.08, 0.1), (0.27, 0.1)))
    assert not any(run.reduced for run in runs)


def test_conditions_say_where_the_resistance_changes() -> None:
    for section in build(WindowBox()).sections:
        pairs = {(s.resistance, s.f_rsi_resistance) for s in section.surfaces if s.environment == "inside"}
        assert {(0.13, 0.13), (0.20, 0.20)} <= pairs
        assert ((0.20, 0.25) in pairs) == (section.name != "window alone")


def test_a_new_file_explains_the_polygons() -> None:
    from bridge2d.junctions import junctions
    from bridge2d.listings import new_file

    text = new_file(junctions()["window_box"])
    assert "# [[parameters.frame]]" in text
    assert "x from the outer edge" in text
