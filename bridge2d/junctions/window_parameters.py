"""The window box's parameters: the wall, the box, the window, lintel and sills, both sides' conditions.

Part of the step parameters -> detail; `window_box` makes the detail of them.
"""

from __future__ import annotations

from typing import Literal

from bridge2d.junctions.declaration import (
    Conductivity,
    Length,
    MaterialChoice,
    Parameters,
    Resistance,
    Temperature,
    Transmittance,
    parameter,
)

AIR = "air"


class WindowBox(Parameters):
    """Parameters of the window box."""

    render_thickness: Length = parameter(
        0.0,
        symbol="d_1",
        label="outside render",
        group="masonry",
        minimum=0.0,
        maximum=0.1,
        help="thickness of the render on the outside; 0 for fair-faced masonry",
    )
    render_material: MaterialChoice = parameter(
        "lime-cement plaster",
        symbol="",
        label="render",
        group="masonry",
        help="material of the outside render",
    )
    masonry_thickness: Length = parameter(
        0.38,
        symbol="d_2",
        label="masonry",
        group="masonry",
        minimum=0.1,
        maximum=1.5,
        help="thickness of the masonry without render and plaster",
    )
    masonry_material: MaterialChoice = parameter(
        "solid brick, old, 1600",
        symbol="",
        label="masonry",
        group="masonry",
        help="material of the masonry",
    )
    parge_thickness: Length = parameter(
        0.015,
        symbol="d_3",
        label="parge coat",
        group="masonry",
        minimum=0.0,
        maximum=0.05,
        help="levelling plaster on the inside of the masonry; 0 for none",
    )
    parge_material: MaterialChoice = parameter(
        "parge coat, lime-cement",
        symbol="",
        label="parge coat",
        group="masonry",
        help="material of the parge coat",
    )
    insulation_thickness: Length = parameter(
        0.1,
        symbol="d_4",
        label="inside insulation",
        group="insulation",
        minimum=0.0,
        maximum=0.5,
        help="thickness of the insulation on the wall, which runs up to the box; 0 for none",
    )
    insulation_material: MaterialChoice = parameter(
        "mineral foam board",
        symbol="",
        label="insulation",
        group="insulation",
        help="material of the insulation",
    )
    airtight_layer: Literal["membrane", "parge coat", "none"] = parameter(
        "parge coat",
        symbol="",
        label="airtight layer",
        group="insulation",
        help='which layer is airtight and taped to the box: "parge coat", a "membrane" on the room side of the '
        'insulation, or "none", as found',
    )
    cavity_thickness: Length = parameter(
        0.0,
        symbol="d_6",
        label="service cavity",
        group="lining",
        minimum=0.0,
        maximum=0.2,
        help="cavity for services between insulation and board; 0 for none",
    )
    cavity_filling: Literal["air"] | MaterialChoice = parameter(
        AIR,
        symbol="",
        label="service cavity filled with",
        group="lining",
        help='"air" for an unventilated air layer, or a material',
    )
    board_thickness: Length = parameter(
        0.015,
        symbol="d_7",
        label="board or plaster",
        group="lining",
        minimum=0.0,
        maximum=0.1,
        help="finish of the wall on the room side, which runs over the box's edge",
    )
    board_material: MaterialChoice = parameter(
        "lime plaster",
        symbol="",
        label="finish",
        group="lining",
        help="material of the finish",
    )
    foam_gap: Length = parameter(
        0.015,
        symbol="g",
        label="foam gap",
        group="box",
        minimum=0.0,
        maximum=0.1,
        help="foam between the masonry's reveal and the box",
    )
    foam_material: MaterialChoice = parameter(
        "gun foam, one-component",
        symbol="",
        label="foam",
        group="box",
        help="material of the foam",
    )
    box_thickness: Length = parameter(
        0.018,
        symbol="b",
        label="box",
        group="box",
        minimum=0.0,
        maximum=0.06,
        help="thickness of the box's boards",
    )
    box_material: MaterialChoice = parameter(
        "plywood",
        symbol="",
        label="box",
        group="box",
        help="material of the box",
    )
    reveal_overlap: Length = parameter(
        0.03,
        symbol="o",
        label="masonry before the frame",
        group="box",
        minimum=0.0,
        maximum=0.2,
        help="how far the masonry's outer nib covers the frame at jambs and head; 0 for a straight reveal "
        "without a nib",
    )
    lining_thickness: Length = parameter(
        0.0125,
        symbol="d_8",
        label="lining of the reveal",
        group="box",
        minimum=0.0,
        maximum=0.06,
        help="lining on the box inside, at jambs and head; 0 for none",
    )
    lining_material: MaterialChoice = parameter(
        "gypsum plasterboard",
        symbol="",
        label="lining",
        group="box",
        help="material of the lining",
    )
    frame_insulation_thickness: Length = parameter(
        0.04,
        symbol="e",
        label="insulation over the frame",
        group="box",
        minimum=0.0,
        maximum=0.5,
        help="insulation that laps over the frame's inner face: its thickness into the room; 0 for none",
    )
    frame_insulation_overlap: Length = parameter(
        0.03,
        symbol="u",
        label="overlap of that insulation",
        group="box",
        minimum=0.0,
        maximum=0.2,
        help="how far the insulation laps over the frame; at the sill it lies under the window board with this "
        "thickness",
    )
    frame_insulation_material: MaterialChoice = parameter(
        "wood-fibre board, rigid",
        symbol="",
        label="insulation over the frame",
        group="box",
        help="material of the insulation over the frame",
    )
    window_width: Length = parameter(
        1.1,
        symbol="w",
        label="width of the window",
        group="window",
        minimum=0.3,
        maximum=5.0,
        help="over the frame",
    )
    window_height: Length = parameter(
        1.7,
        symbol="h",
        label="height of the window",
        group="window",
        minimum=0.3,
        maximum=5.0,
        help="over the frame",
    )
    frame_position: Length = parameter(
        0.12,
        symbol="p",
        label="position of the frame",
        group="window",
        minimum=0.0,
        maximum=1.5,
        help="distance of the frame's outer face from the outside of the wall, render included",
    )
    frame_depth: Length = parameter(
        0.078,
        symbol="d_f",
        label="depth of the frame",
        group="window",
        minimum=0.03,
        maximum=0.3,
        help="in the direction of the heat flow",
    )
    frame_width: Length = parameter(
        0.11,
        symbol="b_f",
        label="visible width of the frame",
        group="window",
        minimum=0.04,
        maximum=0.3,
        help="from the box to the glazing, sash included",
    )
    frame_transmittance: Transmittance = parameter(
        1.1,
        symbol="U_f",
        label="U of the frame",
        group="window",
        minimum=0.3,
        maximum=5.0,
        help="U_f from a test or calculation; the frame is drawn as a block that has it",
    )
    glazing_thickness: Length = parameter(
        0.036,
        symbol="d_g",
        label="thickness of the glazing",
        group="window",
        minimum=0.004,
        maximum=0.3,
        help="of the whole unit; it stands in the middle of the frame's depth",
    )
    glazing_transmittance: Transmittance = parameter(
        0.7,
        symbol="U_g",
        label="U of the glazing",
        group="window",
        minimum=0.2,
        maximum=5.7,
        help="U_g at the middle of the pane; the glazing is drawn as a panel that has it",
    )
    edge_transmittance: Conductivity = parameter(
        0.035,
        symbol="Ψ_g",
        label="Ψ of the glazing's edge",
        group="window",
        minimum=0.001,
        maximum=0.5,
        help="linear thermal transmittance of the spacer; it counts in U_w and is no part of the installation",
    )
    lintel_height: Length = parameter(
        0.0,
        symbol="h_l",
        label="height of the lintel",
        group="lintel and sills",
        minimum=0.0,
        maximum=0.6,
        help="lintel of another material, from the opening's upper edge; a plate's thickness; 0 where the "
        "masonry itself spans",
    )
    lintel_material: MaterialChoice = parameter(
        "sandstone",
        symbol="",
        label="lintel",
        group="lintel and sills",
        help="stone, steel or concrete of the lintel",
    )
    lintel_start: Length = parameter(
        0.0,
        symbol="a_l",
        label="distance of the lintel",
        group="lintel and sills",
        minimum=0.0,
        maximum=1.5,
        help="from the masonry's outer face to the lintel's",
    )
    lintel_depth: Length = parameter(
        0.25,
        symbol="b_l",
        label="depth of the lintel",
        group="lintel and sills",
        minimum=0.01,
        maximum=1.5,
        help="how far the lintel reaches through the masonry",
    )
    sill_thickness: Length = parameter(
        0.08,
        symbol="h_s",
        label="outer sill",
        group="lintel and sills",
        minimum=0.0,
        maximum=0.3,
        help="stone or sheet under the frame's outer face, its top level with the frame's lower edge; 0 for none",
    )
    sill_material: MaterialChoice = parameter(
        "sandstone",
        symbol="",
        label="outer sill",
        group="lintel and sills",
        help="stone or metal of the outer sill",
    )
    sill_projection: Length = parameter(
        0.04,
        symbol="v_s",
        label="projection of the sill",
        group="lintel and sills",
        minimum=0.0,
        maximum=0.3,
        help="how far the sill stands out before the wall",
    )
    sill_bearing: Length = parameter(
        0.04,
        symbol="a_s",
        label="sill under the frame",
        group="lintel and sills",
        minimum=0.0,
        maximum=1.0,
        help="how far a stone sill reaches in under the foam beyond the frame's outer face; a sill thinner than "
        "foam and box stops at the frame",
    )
    sill_bed_material: MaterialChoice = parameter(
        "lime-cement mortar",
        symbol="",
        label="bed of the sill",
        group="lintel and sills",
        help="what fills the space between masonry and a sill thinner than foam and box",
    )
    window_board_thickness: Length = parameter(
        0.025,
        symbol="d_9",
        label="window board",
        group="lintel and sills",
        minimum=0.0,
        maximum=0.1,
        help="board on the box inside, at the sill; 0 for none",
    )
    window_board_material: MaterialChoice = parameter(
        "softwood",
        symbol="",
        label="window board",
        group="lintel and sills",
        help="material of the window board",
    )
    window_board_overhang: Length = parameter(
        0.02,
        symbol="v",
        label="overhang of the window board",
        group="lintel and sills",
        minimum=0.0,
        maximum=0.3,
        help="how far the window board stands out before the wall's finish",
    )
    inside_temperature: Temperature = parameter(
        20.0,
        symbol="θ_i",
        label="inside temperature",
        group="conditions",
        minimum=-50.0,
        maximum=60.0,
        help="temperature of the room",
    )
    outside_temperature: Temperature = parameter(
        -5.0,
        symbol="θ_e",
        label="outside temperature",
        group="conditions",
        minimum=-60.0,
        maximum=60.0,
        help="temperature outside",
    )
    inside_resistance: Resistance = parameter(
        0.13,
        symbol="R_si",
        label="surface resistance inside",
        group="conditions",
        minimum=0.01,
        maximum=1.0,
        help="for the heat flow on all surfaces of the room (ISO 6946: 0.13 for walls)",
    )
    outside_resistance: Resistance = parameter(
        0.04,
        symbol="R_se",
        label="surface resistance outside",
        group="conditions",
        minimum=0.01,
        maximum=1.0,
        help="on the outside (ISO 6946: 0.04)",
    )
    factor_resistance: Resistance = parameter(
        0.25,
        symbol="R_si,f",
        label="surface resistance for fRsi",
        group="conditions",
        minimum=0.01,
        maximum=2.0,
        help="inside on wall, lining and board, for the temperature factor (ISO 13788: 0.25 for opaque "
        "surfaces); frame and glazing take 0.13",
    )
