"""The window box's parameters: the wall, the box, the window, lintel and sills, both sides' conditions.

Part of the step parameters -> detail; `window_box` makes the detail of them.
"""

from __future__ import annotations

from bridge2d.junctions import walls
from bridge2d.junctions.declaration import (
    Conductivity,
    Length,
    MaterialChoice,
    Transmittance,
    parameter,
)
from bridge2d.junctions.frame_parameters import PolygonFrame
from bridge2d.junctions.frame_polygons import size

AIR = "air"


class _Window(walls.WallLayers):
    """The wall's layers, the box, the window and what stands round it."""

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
        help="U_f from a test or calculation; the frame is drawn as a block that has it; computed where "
        "[[parameters.frame]] gives the frame by polygons",
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
    glazing_setback: Length | None = parameter(
        None,
        symbol="a_g",
        label="distance of the glazing",
        group="window",
        minimum=0.0,
        maximum=0.3,
        help="from the frame's outer face to the glazing's; in the middle of the frame's depth where it is left out",
    )
    glazing_rebate: Length = parameter(
        0.0,
        symbol="c_g",
        label="glazing in the frame",
        group="window",
        minimum=0.0,
        maximum=0.1,
        help="how far the glazing reaches into a frame that is given by polygons",
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


class WindowBox(PolygonFrame, walls.Conditions, _Window):
    """Parameters of the window box; `frame` are the regions of a frame that is given by polygons."""

    def unused(self) -> frozenset[str]:
        """See `Parameters.unused`; where a lintel lies that is not there."""
        return super().unused() | ({"lintel_start", "lintel_depth"} if self.lintel_height == 0 else set())

    @property
    def frame_size(self) -> tuple[float, float]:
        """Visible width and depth of the frame [m]."""
        return size(self.frame) if self.frame else (self.frame_width, self.frame_depth)

    @property
    def frame_sizes(self) -> dict[str, float]:
        """Parameters that follow from the polygons, with what they make of them [m]."""
        return dict(zip(("frame_width", "frame_depth"), self.frame_size, strict=True))

    @property
    def pane(self) -> tuple[float, float]:
        """Distance of the glazing's outer and inner face from the frame's outer face [m], to the micrometre."""
        return self.pane_in(self.frame_size[1], self.glazing_setback, self.glazing_thickness)

    @property
    def rebate(self) -> float:
        """How far the glazing reaches into the frame [m]."""
        return self.glazing_rebate
