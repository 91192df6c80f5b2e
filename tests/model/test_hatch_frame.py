"""A glazed lid whose frame is given by polygons: U_f with its trace, the same loss as its block, and refusals."""

from __future__ import annotations

from functools import cache
from typing import Any

import pytest
from pydantic import ValidationError

from bridge2d.calculate import calculate
from bridge2d.errors import InputError, QuantityError
from bridge2d.junctions.hatch_curb import JUNCTION
from bridge2d.results import DetailResult
from bridge2d.standards import iso_10077_1
from bridge2d.tables import as_json, as_text
from tests.random_parameters import unit

SEAT = 40 + 12.5 + 80 + 20
"""Width of the upstand below: timber, insulation outside and inside, and the reveal's lining [mm]."""
HATCH = {
    "lid_kind": "glazed",
    "upstand_thickness": 40,
    "outside_insulation_thickness": 80,
    "inside_insulation_thickness": 20,
    "reveal_thickness": 12.5,
}


SUNK: dict[str, Any] = {"joist_depth": 0, "lining_thickness": 0, "frame_height": 0, "upstand_height": -130}
"""A roof of 130 mm without ceiling, the lid sunk by as much, lying on nothing."""


def rectangle(x0: float, y0: float, x1: float, y1: float) -> list[list[float]]:
    return [[x0, y0], [x1, y0], [x1, y1], [x0, y1]]


def whole_frame(conductivity: float = 0.15, width: float = SEAT + 30, depth: float = 90) -> list[dict[str, Any]]:
    """A block as one polygon, as wide as the seat and 30 mm more."""
    return [{"name": "lid frame", "conductivity": conductivity, "polygon": rectangle(0, 0, width, depth)}]


def profiled() -> list[dict[str, Any]]:
    """A fixed frame and a sash with a groove between them; the sash reaches 15 mm down into the opening."""
    fixed = [[0, 0], [110, 0], [110, 20], [115, 20], [115, 60], [SEAT, 60], [SEAT, 75], [SEAT + 40, 75], [SEAT + 40, 0]]
    outline = [[0, 0], [0, 60], *fixed[5:]]
    return [
        {"name": "frame and sash", "material": "softwood", "polygon": outline},
        {"name": "gasket", "material": "epdm", "polygon": rectangle(100, 0, 110, 8)},
        {"name": "groove", "cavity": "unventilated", "polygon": rectangle(100, 8, 110, 50)},
    ]


def parameters(**changes: Any) -> Any:
    return JUNCTION.parameters(**{**HATCH, **changes})


@cache
def solved() -> DetailResult:
    return calculate(JUNCTION.build(parameters(frame=profiled(), glazing_rebate=12, glazing_setback=10)))


def test_a_frame_of_one_polygon_is_its_block() -> None:
    # The block's conductivity as a polygon of the same size: the same section, and U_f decides how its loss is divided.
    u_frame = 1.5
    conductivity = iso_10077_1.block_conductivity(u_frame, 0.09)
    block = calculate(JUNCTION.build(parameters(frame_transmittance=u_frame)), 1e-5)
    drawn = calculate(JUNCTION.build(parameters(frame=whole_frame(conductivity))), 1e-5)
    one, other = block.sections[0].l2d, drawn.sections[0].l2d
    assert one is not None
    assert other is not None
    assert other.value == pytest.approx(one.value, rel=2e-5)
    assert block.hatch is not None
    assert drawn.hatch is not None
    # Σ U·A + Ψ·P counts the frame's U_f·A_f beside −U_f·v·P: A_f is P·v but for the four corners, 4 v².
    assert drawn.u_frame is not None
    layers = next(u_value for name, u_value, _ in block.hatch.parts if name == "lid frame")
    corners = 4 * 0.03**2 * (drawn.u_frame.value - layers)
    assert drawn.hatch.loss.value == pytest.approx(block.hatch.loss.value - corners, rel=2e-5)
    assert [(f.name, round(f.value, 3)) for f in drawn.hatch.factors] == [
        (f.name, pytest.approx(f.value, abs=0.002)) for f in block.hatch.factors
    ]


def test_u_f_is_that_of_its_layers_where_frame_and_panel_are_alike() -> None:
    # Panel and frame flush and alike: U_f is that of the panel's own layers, exact
    result = calculate(JUNCTION.build(parameters(frame=whole_frame(0.035, depth=30), glazing_thickness=30)))
    assert result.u_frame is not None
    assert result.u_frame.value == pytest.approx(1 / (0.10 + 0.030 / 0.035 + 0.04), abs=1e-6)


def test_a_lid_of_roof_by_polygons_has_no_psi() -> None:
    # Roof, panel, frame and glazing of 130 mm with 0.035; U_g from that, for Rsi 0.13 and Rse 0.04
    chosen = {
        **SUNK,
        **HATCH,
        "covering_thickness": 0,
        "boards_thickness": 0,
        "deck_thickness": 130,
        "deck_material": unit(0.035),
        "glazing_thickness": 130,
        "glazing_transmittance": 1 / (0.13 + 0.13 / 0.035 + 0.04),
        "frame": whole_frame(0.035, depth=130),
    }
    result = calculate(JUNCTION.build(JUNCTION.parameters(**chosen)))
    assert [one.dimensions for one in result.psi] == ["external", "internal", "overall_internal"]
    for one in result.psi:
        assert one.value.value == pytest.approx(0, abs=1e-6)
        assert one.value.half_width < 1e-6


def test_bracket_of_u_f_widens_psi_and_the_lid() -> None:
    result = solved()
    assert result.u_frame is not None
    assert result.hatch is not None
    psi = next(one for one in result.psi if one.dimensions == "internal")
    assert [term.name for term in psi.terms] == ["roof", "lid", "lid frame"]
    l2d = result.sections[0].l2d
    assert l2d is not None
    assert psi.value.half_width == pytest.approx(l2d.half_width + 0.04 * result.u_frame.half_width, rel=1e-9)
    by_hand = l2d.value - sum(term.u_value * term.length for term in psi.terms)
    assert psi.value.value == pytest.approx(by_hand, rel=1e-9)
    frame_area = next(area for name, _, area in result.hatch.parts if name == "lid frame")
    assert result.hatch.u_lid.half_width == pytest.approx(
        result.u_frame.half_width * frame_area / result.detail.hatch.area,
        rel=1e-9,  # type: ignore[union-attr]
    )
    found = as_json(result)["hatch"]
    assert found["u_lid_bounds"]["lower"] <= found["u_lid"] <= found["u_lid_bounds"]["upper"]
    assert "U of the frame" in as_text(result)


def test_a_frame_alone_is_not_judged() -> None:
    result = solved()
    assert {factor.section for factor in result.f_rsi} == {"half section"}
    assert result.detail.alone == {"frame with panel"}


def test_the_groove_has_one_conductivity_in_both_sections() -> None:
    half, panel = solved().detail.sections
    assert panel.name == "frame with panel"
    found = [[r.material.conductivity for r in one.regions if "cavity" in r.material.name] for one in (half, panel)]
    assert len(found[0]) == 1
    assert found[0] == found[1]


def test_the_room_s_surface_follows_the_sash() -> None:
    half = JUNCTION.build(parameters(frame=profiled(), glazing_rebate=12, glazing_setback=10)).sections[0]
    reveal = [line for line in half.watched if line.name == "reveal"]
    frame = [line for line in half.watched if line.name == "frame"]
    clear = 0.35
    upstand = next(region for region in half.regions if region.name == "upstand")
    top = max(y for _, y in upstand.polygon)
    assert max(y for line in reveal for _, y in line.line) == pytest.approx(top - 0.015)
    assert min(y for line in frame for _, y in line.line) == pytest.approx(top - 0.015)
    assert frame[0].line[0][0] == pytest.approx(clear)
    assert min(x for line in frame for x, _ in line.line) == pytest.approx(clear - 0.04)
    # The airtight layer runs through the frame on the same line.
    piece = next(one for one in half.airtight if one.name == "lid's frame with its gaskets")
    assert piece.line[-1] == frame[-1].line[-1]


@pytest.mark.parametrize(
    ("changes", "key", "words"),
    [
        ({"frame": whole_frame(width=SEAT - 10)}, "frame", "lid_frame_projection"),
        ({"frame": whole_frame(), "lid_frame_depth": 80}, "lid_frame_depth", "the polygons make it 90 mm"),
        ({"frame": whole_frame(), "frame_transmittance": 1.1}, "frame_transmittance", "leave it out"),
        ({"frame": whole_frame(), "lid_kind": "opaque"}, "lid_kind", '"glazed"'),
        ({"glazing_rebate": 10}, "glazing_rebate", "[[parameters.frame]]"),
    ],
)
def test_what_does_not_fit_is_refused_by_name(changes: dict[str, Any], key: str, words: str) -> None:
    with pytest.raises(ValidationError) as caught:
        parameters(**changes)
    error = caught.value.errors()[0]["ctx"]["error"]
    assert isinstance(error, QuantityError)
    assert error.path[0] == key
    assert words in str(error)


@pytest.mark.parametrize(
    ("outline", "words"),
    [
        ([[0, 0], [0, 90], [60, 90], [60, 80], [SEAT + 30, 80], [SEAT + 30, 0]], "does not lie flat"),
        ([[0, 0], [0, 40], [SEAT, 40], [SEAT, 300], [SEAT + 30, 300], [SEAT + 30, 0]], "down into the opening"),
        (
            [[0, 0], [0, 40], [SEAT, 40], [SEAT - 60, 80], [SEAT + 30, 80], [SEAT + 30, 0]],
            "inner face turns back over the upstand",
        ),
    ],
)
def test_a_frame_that_does_not_sit_on_the_upstand_is_refused(outline: list[list[float]], words: str) -> None:
    frame = [{"name": "frame", "material": "softwood", "polygon": outline}]
    with pytest.raises(ValidationError, match=words):
        parameters(frame=frame, glazing_setback=2, upstand_height=150)


def test_a_pane_beyond_the_frame_is_refused() -> None:
    with pytest.raises(InputError, match="stands out of the frame"):
        JUNCTION.build(parameters(glazing_setback=80))
