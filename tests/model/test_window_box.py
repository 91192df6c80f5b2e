"""The window box: any parameters make sound sections or one refusal; Ψ of installation vanishes where it should."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge2d.calculate import calculate
from bridge2d.detail import Detail, FlankingElement, InstalledWindow
from bridge2d.detail_file import load
from bridge2d.errors import InputError
from bridge2d.flanking import flanking_result
from bridge2d.installations import installed_transmittance, mean_psi
from bridge2d.junctions.declaration import describe
from bridge2d.junctions.window_box import build
from bridge2d.junctions.window_parameters import WindowBox
from bridge2d.results import Bounded, DetailResult, InstallationResult
from bridge2d.tables import as_json, as_text

TOLLHOUSE = Path(__file__).parents[2] / "details" / "tollhouse_window.toml"
SECTIONS = ["jamb", "head", "sill", "window alone"]


def box(**changes: Any) -> Detail:
    return build(WindowBox(**changes))


# -- reductions, all exact -------------------------------------------------------------------------------------------

WALL = {"conductivity": 0.5, "basis": "one material everywhere"}
U_PLANE = 1.0 / (0.13 + 0.2 / 0.5 + 0.04)
"""U of 200 mm of it."""


def plane(gap: float, board: float) -> DetailResult:
    """A window box of the wall's own material with the window as thick as the wall and of its U."""
    materials = {name: WALL for name in WindowBox.model_fields if name.endswith("_material")}
    return calculate(
        box(
            **materials,
            render_thickness=10,
            masonry_thickness=140,
            parge_thickness=10,
            insulation_thickness=30,
            cavity_thickness=10,
            cavity_filling=WALL,
            board_thickness=0,
            foam_gap=gap,
            box_thickness=board,
            reveal_overlap=0,
            frame_position=0,
            frame_depth=200,
            glazing_thickness=200,
            frame_transmittance=U_PLANE,
            glazing_transmittance=U_PLANE,
            frame_insulation_thickness=0,
            lintel_height=100,
            lintel_depth=100,
            sill_projection=0,
            sill_bearing=20,
            window_board_thickness=0,
        )
    )


def test_a_window_box_without_a_window_gives_the_wall() -> None:
    result = plane(0, 0)
    for side in result.installations:
        assert abs(side.psi.lower) <= 1e-6
        assert abs(side.psi.upper) <= 1e-6
    assert result.u_installed is not None
    assert result.detail.window is not None
    assert result.u_installed.value == pytest.approx(result.detail.window.u_window, abs=1e-6)


def test_the_strip_between_rough_opening_and_frame_counts_in_psi() -> None:
    for side in plane(15, 18).installations:
        assert abs(side.psi.lower - 0.033 * U_PLANE) <= 1e-6
        assert abs(side.psi.upper - 0.033 * U_PLANE) <= 1e-6


def test_the_blocks_have_u_of_frame_and_glazing_as_plane_elements() -> None:
    detail = box(frame_transmittance=1.3, glazing_transmittance=0.55)
    alone = detail.sections[-1]
    frame, glazing = (region.polygon for region in alone.regions)
    left, right = min(x for x, _ in frame), max(x for x, _ in glazing)
    elements = tuple(
        FlankingElement(name, ((x, min(y for _, y in corners)), (x, max(y for _, y in corners))))
        for name, x, corners in (("frame", left, frame), ("glazing", right, glazing))
    )
    section = replace(alone, flanking=elements)
    assert flanking_result(section, 0).u_value == pytest.approx(1.3, rel=1e-12)
    assert flanking_result(section, 1).u_value == pytest.approx(0.55, rel=1e-12)


def test_the_length_of_glazing_does_not_matter(monkeypatch: pytest.MonkeyPatch) -> None:
    near = calculate(box()).installations
    monkeypatch.setattr("bridge2d.standards.iso_10077_1.GLAZING_LENGTH", 0.38)
    far = calculate(box()).installations
    for one, other in zip(near, far, strict=True):
        assert one.l2d.value < other.l2d.value - 0.1
        assert one.psi.value == pytest.approx(other.psi.value, abs=one.psi.half_width + other.psi.half_width + 1e-6)


def test_insulation_over_the_frame_lowers_psi() -> None:
    bare, lapped = (calculate(box(frame_insulation_thickness=e)) for e in (0, 200))
    for one, other in zip(bare.installations, lapped.installations, strict=True):
        assert other.psi.upper < one.psi.lower


def test_a_steel_lintel_leaks_more_than_brick() -> None:
    brick = calculate(box()).installations[1]
    steel = calculate(box(lintel_material="steel", lintel_height=12, lintel_start=130, lintel_depth=250)).installations[
        1
    ]
    assert steel.psi.lower > brick.psi.upper


# -- sums by hand ----------------------------------------------------------------------------------------------------


def sides() -> tuple[InstallationResult, ...]:
    """Three sides with round numbers."""
    none = Bounded(0.0, 0.0)
    return tuple(
        InstallationResult(name, Bounded(low, high), none, none, (), length, name, "alone")
        for name, low, high, length in (("jamb", 0.04, 0.06, 3.0), ("head", 0.10, 0.10, 1.0), ("sill", -0.02, 0.0, 1.0))
    )


def test_mean_weighs_by_length() -> None:
    # (3·0.04 + 0.10 − 0.02)/5 = 0.04 and (3·0.06 + 0.10 + 0)/5 = 0.056: exact
    mean = mean_psi(sides())
    assert [psi.dimensions for psi in mean] == ["external", "internal", "overall_internal"]
    for psi in mean:
        assert psi.value.lower == pytest.approx(0.04, abs=1e-15)
        assert psi.value.upper == pytest.approx(0.056, abs=1e-15)
    assert mean_psi(()) == ()


def test_u_of_the_installed_window() -> None:
    # (0.8·2 + 0.20)/2 = 0.9 and (0.8·2 + 0.28)/2 = 0.94: exact
    window = InstalledWindow(0.8, 0.5, 1.5, 4.0, 1.0, 0.6, 0.05)
    found = installed_transmittance(window, window, sides())
    assert found is not None
    assert (found.lower, found.upper) == (pytest.approx(0.9, abs=1e-14), pytest.approx(0.94, abs=1e-14))
    assert installed_transmittance(None, None, sides()) is None
    # U_w of 0.7 and 0.9 at the ends of a computed U_f's bracket: (0.7·2 + 0.20)/2 and (0.9·2 + 0.28)/2, exact
    low, high = replace(window, u_window=0.7), replace(window, u_window=0.9)
    wide = installed_transmittance(low, high, sides())
    assert wide is not None
    assert (wide.lower, wide.upper) == (pytest.approx(0.8, abs=1e-14), pytest.approx(1.04, abs=1e-14))


def test_u_of_the_window_alone() -> None:
    # 1.2 × 1.6 m over a frame of 100 mm: A_g = 1.0·1.4, A_f = 0.52, l_g = 4.8: exact
    detail = box(
        window_width=1200,
        window_height=1600,
        frame_width=100,
        frame_transmittance=1.0,
        glazing_transmittance=0.5,
        edge_transmittance=0.04,
    )
    assert detail.window is not None
    assert detail.window.area == pytest.approx(1.92)
    assert detail.window.u_window == pytest.approx((1.4 * 0.5 + 0.52 * 1.0 + 4.8 * 0.04) / 1.92, rel=1e-12)
    assert [side.length for side in detail.installations] == [3.2, 1.2, 1.2]


NUMBER = st.floats(-10, 10)
BRACKET = st.tuples(NUMBER, NUMBER).map(lambda ends: Bounded(min(ends), max(ends)))


@given(BRACKET, BRACKET, st.floats(0, 1), st.floats(0, 1), NUMBER)
def test_brackets_hold_whatever_lies_in_them(one: Bounded, other: Bounded, s: float, t: float, factor: float) -> None:
    x = one.lower + s * (one.upper - one.lower)
    y = other.lower + t * (other.upper - other.lower)
    for bracket, number in (
        (one.plus(other), x + y),
        (one.minus(other), x - y),
        (one.times(factor), x * factor),
        (one.plus(factor), x + factor),
        (one.minus(factor), x - factor),
    ):
        assert bracket.lower - 1e-12 <= number <= bracket.upper + 1e-12
    assert one.minus(other).half_width == pytest.approx(one.half_width + other.half_width, abs=1e-12)


# -- what leaves -----------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def tollhouse() -> DetailResult:
    return calculate(load(TOLLHOUSE).detail)


def test_json_has_every_side_the_mean_and_the_window(tollhouse: DetailResult) -> None:
    document = as_json(tollhouse)
    assert [side["name"] for side in document["installations"]] == ["jamb", "head", "sill"]
    for side in document["installations"]:
        wall = sum(term["u_value"] * term["length"] / 1000 for term in side["terms"])
        by_hand = side["l2d"]["value"] - wall - side["reference_l2d"]["value"]
        assert side["psi"]["value"] == pytest.approx(by_hand, abs=1e-9)
        assert side["psi"]["lower"] <= side["psi"]["value"] <= side["psi"]["upper"]
    mean = document["psi_installation"]
    weighted = sum(side["psi"]["value"] * side["length"] for side in document["installations"])
    assert mean["value"] == pytest.approx(weighted / 5600, abs=1e-12)
    assert document["psi"] == [
        {"dimensions": system, **mean} for system in ("external", "internal", "overall_internal")
    ]
    window = document["window"]
    installed = window["u_value"] + weighted / 1000 / window["area"]
    assert document["u_installed"]["value"] == pytest.approx(installed, rel=1e-12)
    trace = document["psi_trace"][0]
    wall = sum(term["u_value"] * term["length"] / 1000 for term in trace["terms"])
    assert trace["l2d"]["value"] - wall - trace["reference_l2d"]["value"] == pytest.approx(mean["value"], abs=1e-8)


def test_other_junctions_have_the_keys_without_values() -> None:
    from bridge2d.junctions.joist_pocket import JoistPocket
    from bridge2d.junctions.joist_pocket import build as build_joist

    document = as_json(calculate(build_joist(JoistPocket())))
    assert document["installations"] == []
    assert document["psi_installation"] is document["u_installed"] is document["window"] is None


def test_limits_on_psi_are_those_of_the_mean(tollhouse: DetailResult) -> None:
    limit = next(one for one in tollhouse.requirements if one.requirement.quantity == "psi")
    assert tollhouse.psi_installation is not None
    assert limit.value == tollhouse.psi_installation.value
    assert limit.met


def test_the_screen_names_each_side_once(tollhouse: DetailResult) -> None:
    text = as_text(tollhouse)
    for words in ("Ψ of installation, jamb", "Ψ of installation, mean", "U of the installed window"):
        assert text.count(words) == 1
    assert "external dimensions" not in text


def test_half_brackets_of_both_solutions_together(tollhouse: DetailResult) -> None:
    for side in tollhouse.installations:
        assert side.psi.half_width == pytest.approx(side.l2d.half_width + side.reference_l2d.half_width, rel=1e-9)
        assert side.psi.half_width <= 0.0005


def test_notes_say_how_the_wall_is_measured_and_what_is_left_out() -> None:
    notes = " ".join(box().notes)
    assert "rough opening" in notes
    assert "Rsi 0.20" in notes


# -- the drawing's words ---------------------------------------------------------------------------------------------


def test_dimensions_carry_declared_symbols_and_their_values() -> None:
    declared = {info.name: info for info in describe(WindowBox)}
    parameters_ = WindowBox(lintel_height=150)
    shown = set()
    for section in build(parameters_).sections:
        for dimension in section.dimensions:
            assert declared[dimension.parameter].symbol == dimension.symbol
            (ax, ay), (bx, by) = dimension.start, dimension.end
            assert abs(ax - bx) + abs(ay - by) == pytest.approx(getattr(parameters_, dimension.parameter), abs=1e-9)
            shown.add(dimension.parameter)
    assert {"foam_gap", "box_thickness", "frame_position", "frame_depth", "sill_bearing", "lintel_depth"} <= shown


def test_symbols_are_used_once() -> None:
    symbols = [info.symbol for info in describe(WindowBox) if info.symbol]
    assert len(symbols) == len(set(symbols))


def test_airtight_pieces_in_order() -> None:
    names = [piece.name for piece in box().sections[0].airtight]
    assert names == ["parge coat", "tape to the box", "box", "tape to the frame", "frame", "glazing"]
    membrane = [piece.name for piece in box(airtight_layer="membrane").sections[1].airtight]
    assert membrane[0] == "membrane"
    assert box(airtight_layer="none").sections[2].airtight == ()


def test_frame_and_glazing_take_the_smaller_resistance_for_the_temperature_factor() -> None:
    # ISO 13788, table 2: 0.13 for glazing and frames, 0.25 for opaque surfaces; ISO 10077-2: 0.20 in corners (both
    # remembered)
    along = [s.f_rsi_resistance for s in box().sections[0].surfaces if s.environment == "inside"]
    assert along == [0.25, 0.25, 0.20, 0.13, 0.20, 0.13]  # wall, corner of the reveal, frame, corner, glazing


@pytest.mark.parametrize(
    ("changes", "key"),
    [
        ({"frame_position": 370}, "frame_position"),
        ({"frame_depth": 300, "insulation_thickness": 0, "frame_position": 150}, "frame_position"),
        ({"glazing_thickness": 90}, "glazing_thickness"),
        ({"glazing_setback": 60}, "glazing_setback"),
        ({"frame_position": 40}, "reveal_overlap"),
        ({"reveal_overlap": 110}, "reveal_overlap"),
        ({"frame_insulation_thickness": 320}, "frame_insulation_thickness"),
        ({"frame_insulation_overlap": 100}, "frame_insulation_overlap"),
        ({"window_board_thickness": 80}, "window_board_thickness"),
        ({"lintel_height": 100, "lintel_depth": 400}, "lintel_depth"),
        ({"lintel_height": 12, "lintel_depth": 250, "lintel_material": "steel"}, "lintel_depth"),
        ({"sill_bearing": 300}, "sill_bearing"),
        ({"frame_transmittance": 5.0}, "frame_transmittance"),
        ({"glazing_transmittance": 5.7}, "glazing_transmittance"),
        ({"sill_material": "zinc"}, "sill_thickness"),
        ({"lintel_material": "steel", "lintel_height": 80}, "lintel_height"),
        ({"window_width": 300, "frame_width": 140}, "window_width"),
        ({"parge_thickness": 0}, "airtight_layer"),
        ({"airtight_layer": "membrane", "insulation_thickness": 0}, "airtight_layer"),
        ({"inside_temperature": -10}, "inside_temperature"),
    ],
)
def test_parameters_that_do_not_fit_together_are_named(changes: dict[str, Any], key: str) -> None:
    with pytest.raises(InputError) as caught:
        box(**changes)
    assert caught.value.key == key
    assert caught.value.right
