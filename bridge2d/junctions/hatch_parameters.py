"""The hatch curb's parameters: opening, upstand, frame and gaskets, lid, both sides' conditions.

Part of the step parameters -> detail; `hatch_roof` declares the roof, `hatch_curb` makes the detail.
"""

from __future__ import annotations

from typing import Literal

from bridge2d.errors import QuantityError
from bridge2d.junctions import walls
from bridge2d.junctions.declaration import (
    Conductivity,
    Count,
    Length,
    MaterialChoice,
    Resistance,
    Transmittance,
    parameter,
)
from bridge2d.junctions.frame_parameters import PolygonFrame
from bridge2d.junctions.frame_polygons import FrameShape, size
from bridge2d.junctions.hatch_roof import RoofLayers

LEAST_VISIBLE = 0.005
"""Least width of a frame by polygons within the clear opening [m]."""


class _Upstand(RoofLayers):
    """The opening and the upstand round it."""

    clear_width: Length = parameter(
        0.7,
        symbol="w",
        label="clear width",
        group="opening",
        minimum=0.3,
        maximum=5.0,
        help="of the opening between the finished reveals, in the section; half of it is drawn",
    )
    clear_length: Length = parameter(
        0.9,
        symbol="l",
        label="clear length",
        group="opening",
        minimum=0.3,
        maximum=10.0,
        help="of the opening at right angles to the section; it counts in the loss of the whole hatch",
    )
    upstand_kind: Literal["timber", "steel", "aluminium", "grp", "sandwich"] = parameter(
        "timber",
        symbol="",
        label="kind of upstand",
        group="upstand",
        help='solid "timber", sheet of "steel" or "aluminium", a shell of glass-fibre reinforced polyester ("grp"), '
        'or an insulated "sandwich" with two skins',
    )
    upstand_material: Literal["by kind"] | MaterialChoice = parameter(
        "by kind",
        symbol="",
        label="material of the upstand",
        group="upstand",
        help='"by kind": softwood, steel, aluminium alloy, glass-fibre reinforced polyester, or polyurethane as the '
        "sandwich's core; else a material",
    )
    upstand_height: Length = parameter(
        0.2,
        symbol="h",
        label="height of the upstand",
        group="upstand",
        minimum=-1.5,
        maximum=1.5,
        help="of its top above the roof covering; less than 0 sinks the lid into the roof, as a trap door lies",
    )
    upstand_thickness: Length = parameter(
        0.06,
        symbol="t_u",
        label="thickness of the upstand",
        group="upstand",
        minimum=0.001,
        maximum=0.3,
        help="of timber, sheet or shell, or of the whole sandwich, without the insulation on either side",
    )
    upstand_skin_thickness: Length = parameter(
        0.001,
        symbol="t_s",
        label="skins of the sandwich",
        group="upstand",
        minimum=0.0003,
        maximum=0.01,
        help="thickness of each skin; counts for a sandwich only",
    )
    upstand_skin_material: MaterialChoice = parameter(
        "steel", symbol="", label="skins of the sandwich", group="upstand", help="material of the sandwich's skins"
    )
    outside_insulation_thickness: Length = parameter(
        0.06,
        symbol="t_o",
        label="insulation outside the upstand",
        group="upstand",
        minimum=0.0,
        maximum=0.4,
        help="from the deck up to the upstand's top, under the lid's edge; 0 for none",
    )
    outside_insulation_material: MaterialChoice = parameter(
        "extruded polystyrene 0.035",
        symbol="",
        label="insulation outside",
        group="upstand",
        help="material of the insulation outside the upstand",
    )
    inside_insulation_thickness: Length = parameter(
        0.0,
        symbol="t_i",
        label="insulation inside the upstand",
        group="upstand",
        minimum=0.0,
        maximum=0.3,
        help="behind the reveal's lining, from the ceiling's lining to the upstand's top; 0 for none",
    )
    inside_insulation_material: MaterialChoice = parameter(
        "wood-fibre board, rigid",
        symbol="",
        label="insulation inside",
        group="upstand",
        help="material of the insulation inside the upstand",
    )
    reveal_thickness: Length = parameter(
        0.0125,
        symbol="t_r",
        label="lining of the reveal",
        group="upstand",
        minimum=0.0,
        maximum=0.06,
        help="board on the inside of upstand and roof opening; 0 for none",
    )
    reveal_material: MaterialChoice = parameter(
        "gypsum plasterboard", symbol="", label="lining of the reveal", group="upstand", help="material of that lining"
    )


class _Frame(_Upstand):
    """What lies between upstand and lid; a glazed lid has its own in U_f."""

    frame_height: Length = parameter(
        0.03,
        symbol="h_f",
        label="frame on the upstand",
        group="frame",
        minimum=0.0,
        maximum=0.2,
        help="fixed frame over the upstand's whole width; 0 for none; counts for an opaque lid only",
    )
    frame_material: MaterialChoice = parameter(
        "softwood", symbol="", label="frame", group="frame", help="material of the fixed frame; metal as a sheet only"
    )
    frame_break_width: Length = parameter(
        0.0,
        symbol="b_k",
        label="thermal break in the frame",
        group="frame",
        minimum=0.0,
        maximum=0.2,
        help="width of the piece in the middle of the frame that parts its outer from its inner half; 0 for none",
    )
    frame_break_material: MaterialChoice = parameter(
        "polyamide, 25 % glass fibre",
        symbol="",
        label="thermal break",
        group="frame",
        help="material of the thermal break in the frame",
    )
    gaskets: Count = parameter(
        2,
        symbol="",
        label="gaskets",
        group="frame",
        minimum=1,
        maximum=2,
        help="1: one at the room side, the slit beyond it is slightly ventilated; 2: a second one at the outside",
    )
    gasket_height: Length = parameter(
        0.008,
        symbol="g",
        label="height of the gaskets",
        group="frame",
        minimum=0.0,
        maximum=0.01,
        help="of the joint between frame and lid, closed; 0 where the lid lies on the frame; opaque lid only",
    )
    gasket_width: Length = parameter(
        0.012,
        symbol="b_g",
        label="width of a gasket",
        group="frame",
        minimum=0.001,
        maximum=0.1,
        help="of each gasket, closed",
    )
    gasket_material: MaterialChoice = parameter(
        "epdm", symbol="", label="gasket", group="frame", help="material of the gaskets"
    )


class _OpaqueLid(_Frame):
    """The opaque lid by its layers."""

    lid_kind: Literal["opaque", "glazed"] = parameter(
        "opaque",
        symbol="",
        label="kind of lid",
        group="lid",
        help='"opaque" by its layers, or "glazed" by U_g, Ψ_g and U_f or the frame\'s polygons',
    )
    outer_skin_thickness: Length = parameter(
        0.001,
        symbol="e_o",
        label="outer skin of the lid",
        group="opaque lid",
        minimum=0.0,
        maximum=0.05,
        help="0 for none; metal as a sheet only",
    )
    outer_skin_material: MaterialChoice = parameter(
        "steel", symbol="", label="outer skin", group="opaque lid", help="metal, GRP or board"
    )
    core_thickness: Length = parameter(
        0.08,
        symbol="e_c",
        label="core of the lid",
        group="opaque lid",
        minimum=0.0,
        maximum=0.5,
        help="insulation between the skins; 0 for none",
    )
    core_material: MaterialChoice = parameter(
        "polyurethane board, open-faced", symbol="", label="core", group="opaque lid", help="material of the core"
    )
    inner_skin_thickness: Length = parameter(
        0.001,
        symbol="e_i",
        label="inner skin of the lid",
        group="opaque lid",
        minimum=0.0,
        maximum=0.05,
        help="0 for none; metal as a sheet only",
    )
    inner_skin_material: MaterialChoice = parameter(
        "steel", symbol="", label="inner skin", group="opaque lid", help="metal, GRP or board"
    )
    edge_profile: Literal["bridging", "broken", "none"] = parameter(
        "broken",
        symbol="",
        label="edge profile of the lid",
        group="opaque lid",
        help='"bridging" runs from skin to skin, "broken" has a piece of another material in it, "none" leaves the '
        "core's edge bare",
    )
    edge_thickness: Length = parameter(
        0.001,
        symbol="e_p",
        label="thickness of the edge profile",
        group="opaque lid",
        minimum=0.0003,
        maximum=0.1,
        help="of the profile that closes the core's edge; metal as a sheet only",
    )
    edge_material: MaterialChoice = parameter(
        "steel", symbol="", label="edge profile", group="opaque lid", help="material of the edge profile"
    )
    edge_break_height: Length = parameter(
        0.04,
        symbol="e_b",
        label="break in the edge profile",
        group="opaque lid",
        minimum=0.001,
        maximum=0.5,
        help='height of the piece above the inner skin that parts it from the rest of a "broken" edge profile',
    )
    edge_break_material: MaterialChoice = parameter(
        "pvc, rigid", symbol="", label="break in the edge", group="opaque lid", help="material of that piece"
    )


class _GlazedLid(_OpaqueLid):
    """The glazed lid by U of its glazing and frame."""

    glazing_thickness: Length = parameter(
        0.036,
        symbol="d_g",
        label="thickness of the glazing",
        group="glazed lid",
        minimum=0.004,
        maximum=0.3,
        help="of the whole unit",
    )
    glazing_setback: Length | None = parameter(
        None,
        symbol="a_g",
        label="distance of the glazing",
        group="glazed lid",
        minimum=0.0,
        maximum=0.3,
        help="from the frame's upper face down to the glazing's; in the middle of the frame's depth where it is left "
        "out",
    )
    glazing_rebate: Length = parameter(
        0.0,
        symbol="c_g",
        label="glazing in the frame",
        group="glazed lid",
        minimum=0.0,
        maximum=0.1,
        help="how far the glazing reaches into a frame that is given by polygons",
    )
    glazing_transmittance: Transmittance = parameter(
        1.0,
        symbol="U_g",
        label="U of the glazing",
        group="glazed lid",
        minimum=0.2,
        maximum=5.7,
        help="U_g of the pane as it lies, level, where it loses more than upright; drawn as a panel that has it",
    )
    edge_transmittance: Conductivity = parameter(
        0.05,
        symbol="Ψ_g",
        label="Ψ of the glazing's edge",
        group="glazed lid",
        minimum=0.001,
        maximum=0.5,
        help="linear thermal transmittance of the spacer; it counts in U of the lid",
    )
    lid_frame_depth: Length = parameter(
        0.09,
        symbol="d_f",
        label="depth of the lid's frame",
        group="glazed lid",
        minimum=0.03,
        maximum=0.3,
        help="upright, in the direction of the heat flow; the frame lies on the upstand over its whole width",
    )
    lid_frame_projection: Length = parameter(
        0.03,
        symbol="v",
        label="visible width of the lid's frame",
        group="glazed lid",
        minimum=0.0,
        maximum=0.3,
        help="how far the frame stands into the clear opening, beyond the reveal",
    )
    frame_transmittance: Transmittance = parameter(
        1.5,
        symbol="U_f",
        label="U of the lid's frame",
        group="glazed lid",
        minimum=0.3,
        maximum=5.0,
        help="U_f from a test or calculation, gaskets and thermal break included; drawn as a block that has it; "
        "computed where [[parameters.frame]] gives the frame by polygons",
    )


class HatchCurb(PolygonFrame, walls.Conditions, _GlazedLid):
    """Parameters of the hatch curb, lengths in metres; `frame` are the regions of a glazed lid's frame by polygons."""

    inside_resistance: Resistance = parameter(
        0.13,
        symbol="R_si",
        label="surface resistance on upright faces inside",
        group="conditions",
        minimum=0.01,
        maximum=1.0,
        help="for the heat flow on the reveal and the upright faces of frames (ISO 6946: 0.13)",
    )
    ceiling_resistance: Resistance = parameter(
        0.10,
        symbol="R_si,c",
        label="surface resistance at ceiling and lid",
        group="conditions",
        minimum=0.01,
        maximum=1.0,
        help="for the heat flow on the level faces of ceiling, frame and lid (ISO 6946: 0.10 for heat flow upward)",
    )

    @property
    def seat_width(self) -> float:
        """Width of the upstand with insulation and lining, on which frame and lid lie [m]."""
        reveal = self.reveal_thickness + self.inside_insulation_thickness
        return reveal + self.upstand_thickness + self.outside_insulation_thickness

    @property
    def frame_sizes(self) -> dict[str, float]:
        """Parameters that follow from the polygons, with what they make of them [m]."""
        width, depth = size(self.frame)
        return {"lid_frame_depth": depth, "lid_frame_projection": width - self.seat_width}

    @property
    def pane(self) -> tuple[float, float]:
        """Distance of the glazing's upper and lower face from the frame's upper face [m], to the micrometre."""
        depth = size(self.frame)[1] if self.frame else self.lid_frame_depth
        return self.pane_in(depth, self.glazing_setback, self.glazing_thickness)

    @property
    def rebate(self) -> float:
        """How far the glazing reaches into the lid's frame [m]."""
        return self.glazing_rebate

    def unused(self) -> frozenset[str]:
        """See `Parameters.unused`; lids of the other kind, and skins and breaks of other upstands and edges."""
        found = set(super().unused())
        opaque, glazed = tuple(_OpaqueLid.__annotations__), tuple(_GlazedLid.__annotations__)
        found.update(glazed if self.lid_kind == "opaque" else (*_Frame.__annotations__, *opaque))
        found.discard("lid_kind")
        if self.upstand_kind != "sandwich":
            found |= {"upstand_skin_thickness", "upstand_skin_material"}
        if self.edge_profile != "broken":
            found |= {"edge_break_height", "edge_break_material"}
        if self.edge_profile == "none":
            found |= {"edge_thickness", "edge_material"}
        return frozenset(found)

    def shape(self) -> FrameShape | None:
        """The frame by its polygons, lying on the upstand; None where it is a block.

        Raises:
            QuantityError: the polygons make no frame of a glazed lid, or none that lies on the upstand.
        """
        found = super().shape()
        if found is None:
            return None
        if self.lid_kind != "glazed":
            raise QuantityError("is an opaque lid with a frame by polygons", 'write lid_kind = "glazed"', ("lid_kind",))
        seat, below = found.inside[1], max(y for _, y in found.inside) - found.edge
        wide = f"{1000 * self.seat_width:g} mm"
        if found.width < self.seat_width + LEAST_VISIBLE - walls.LEAST:
            right = f"let it reach at least {1000 * LEAST_VISIBLE:g} mm beyond the upstand's {wide}"
            raise QuantityError("nothing of the frame is seen in the clear opening", right, ("frame", 0, "polygon"))
        if abs(seat[1] - found.edge) > walls.LEAST or seat[0] < self.seat_width - walls.LEAST:
            right = f"its lower face has to run level from the outer edge over the upstand's whole width, {wide}"
            raise QuantityError("the frame does not lie flat on the upstand", right, ("frame", 0, "polygon"))
        if any(x < self.seat_width - walls.LEAST for x, _ in found.inside[1:]):
            right = f"beyond its seat of {wide} no corner may lie over the upstand again"
            raise QuantityError("the frame's inner face turns back over the upstand", right, ("frame", 0, "polygon"))
        if below > walls.LEAST and below > self.upstand_height + walls.LEAST:
            right = f"it may reach {1000 * max(self.upstand_height, 0.0):g} mm below its seat, upstand_height"
            message = f"the frame reaches {1000 * below:g} mm down into the opening"
            raise QuantityError(message, right, ("frame", 0, "polygon"))
        return found
