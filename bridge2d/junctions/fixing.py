"""A round fixing through the insulation of a wall: screw, anchor or tie, with head, plug and cap, about its axis.

One section of revolution: x is the radius, y runs from the outer face into the building.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from bridge2d.detail import (
    CHI_HALF_WIDTH,
    AirtightPiece,
    Combination,
    Detail,
    Dimension,
    FlankingElement,
    Probe,
    Region,
    Section,
)
from bridge2d.errors import InputError
from bridge2d.junctions import walls
from bridge2d.junctions.declaration import Junction, Length, MaterialChoice, Ratio, parameter
from bridge2d.junctions.revolved import disc_area, ring
from bridge2d.junctions.walls import Wall

AXIS = "axis"
NOTES = (
    (
        "The fixing is a solid of revolution; a square plate counts by the disc of its area, a threaded shank by the "
        "mean of its core and its thread (common practice). χ = L3D − U·A holds for one fixing alone in the wall; "
        "fixings stand far enough apart for it where their distance exceeds about three times the insulation's "
        "thickness (common practice)."
    ),
    "Joints and a hole around the fixing that is not filled are not modelled.",
    (
        "Battens and mortar joints are not modelled apart; the materials' conductivities cover them. A service cavity "
        "with air counts as an unventilated air layer of its thickness (ISO 6946, annex D)."
    ),
)
STRUCTURE = (
    "Whether the fixing holds is for a licensed engineer and the fixing's approval to say; old masonry needs pull-out "
    "tests. Spacing, edge distance and embedment here serve the heat calculation alone."
)


class _Shape(walls.WallLayers):
    """The wall and the fixing through it."""

    shank_diameter: Length = parameter(
        0.008,
        symbol="a_1",
        label="shank",
        group="fixing",
        minimum=0.001,
        maximum=0.1,
        help="diameter of screw, rod or anchor",
    )
    shank_material: MaterialChoice = parameter(
        "steel", symbol="", label="shank", group="fixing", help="material of the shank"
    )
    embedment: Length = parameter(
        0.07,
        symbol="e_1",
        label="embedment",
        group="fixing",
        minimum=0.0,
        maximum=1.6,
        help="how deep the shank stands in the masonry, from its inner face; the whole thickness for a through bolt",
    )
    head_on: Literal["insulation", "board"] = parameter(
        "insulation",
        symbol="",
        label="head bears on",
        group="fixing",
        help='the layer that the fixing holds: the "insulation" or the "board"; the head ends flush with its face',
    )
    head_diameter: Length = parameter(
        0.06,
        symbol="a_2",
        label="head or plate",
        group="fixing",
        minimum=0.0,
        maximum=0.3,
        help="diameter of head, washer or plate; 0 for none",
    )
    head_thickness: Length = parameter(
        0.003,
        symbol="t_1",
        label="head or plate",
        group="fixing",
        minimum=0.0,
        maximum=0.05,
        help="thickness of head, washer or plate; 0 for none",
    )
    head_material: MaterialChoice = parameter(
        "polyamide", symbol="", label="head", group="fixing", help="material of head, washer or plate"
    )
    plug_diameter: Length = parameter(
        0.0,
        symbol="a_3",
        label="plug",
        group="fixing",
        minimum=0.0,
        maximum=0.15,
        help="outer diameter of a plastic sleeve round the whole shank; 0 for none",
    )
    plug_material: MaterialChoice = parameter(
        "polyamide", symbol="", label="plug", group="fixing", help="material of the sleeve"
    )
    recess: Length = parameter(
        0.0,
        symbol="e_2",
        label="recess",
        group="fixing",
        minimum=0.0,
        maximum=0.3,
        help="how deep the head is sunk below the face that it bears on, under a cap; 0 for flush",
    )
    cap_material: MaterialChoice = parameter(
        "mineral foam board", symbol="", label="cap", group="fixing", help="material that fills the recess"
    )
    number_per_area: Ratio = parameter(
        4.0,
        symbol="n_f",
        label="fixings per square metre",
        group="fixing",
        minimum=0.0,
        maximum=100.0,
        help="for what the fixings add to U of the wall, ΔU = n_f·χ",
    )


class Fixing(walls.Conditions, _Shape):
    """Parameters of the fixing; lengths in metres."""

    def unused(self) -> frozenset[str]:
        """See `Parameters.unused`; what describes a head that is not there."""
        if self.head_diameter == 0:
            return super().unused() | {"head_thickness"}
        return super().unused() | ({"head_diameter"} if self.head_thickness == 0 else set())


@dataclass(frozen=True, slots=True)
class _Levels:
    """Where the fixing's pieces end, from the outer face [m].

    Attributes:
        tip: of the shank, in the masonry.
        under, over: of the head, towards the masonry and towards the room.
        face: of the layer that the head bears on.
    """

    tip: float
    under: float
    over: float
    face: float


def build(parameters: Fixing) -> Detail:
    """The section through the fixing's axis.

    Args:
        parameters: see `Fixing`.

    Raises:
        InputError: parameters do not fit together.
    """
    return Detail(
        "",
        "fixing",
        (_section(parameters),),
        Combination(chi_section=AXIS, per_area=parameters.number_per_area or None),
        notes=NOTES,
        cautions=(STRUCTURE, walls.STEADY, walls.COLD_MASONRY),
    )


def _levels(p: Fixing, wall: Wall) -> _Levels:
    face = wall.thickness if p.head_on == "board" else wall.insulation_face
    head = p.head_thickness if _has_head(p) else 0.0
    over = face - p.recess
    if p.embedment > wall.face + walls.LEAST:
        raise InputError(
            f"the embedment is more than render and masonry together, {1000 * wall.face:g} mm",
            key="embedment",
            right=f"give at most {1000 * wall.face:g} mm",
        )
    if over - head < wall.parge_face - walls.LEAST:
        raise InputError(
            "recess and head_thickness together reach deeper than to the parge coat's face, "
            f"{1000 * (face - wall.parge_face):g} mm below the face that the head bears on",
            key="recess",
            right="give a smaller recess or a thinner head",
        )
    if p.plug_diameter and p.plug_diameter < p.shank_diameter:
        raise InputError(
            f"the plug is narrower than the shank, {1000 * p.shank_diameter:g} mm",
            key="plug_diameter",
            right="give 0 for none, or at least the shank's diameter",
        )
    if _has_head(p) and p.head_diameter < max(p.shank_diameter, p.plug_diameter):
        raise InputError(
            "the head is narrower than shank or plug",
            key="head_diameter",
            right=f"give 0 for none, or at least {1000 * max(p.shank_diameter, p.plug_diameter):g} mm",
        )
    return _Levels(wall.face - p.embedment, over - head, over, face)


def _has_head(p: Fixing) -> bool:
    return p.head_diameter >= walls.LEAST and p.head_thickness >= walls.LEAST


def _regions(p: Fixing, wall: Wall, levels: _Levels, end: float) -> tuple[Region, ...]:
    shank, plug = 0.5 * p.shank_diameter, 0.5 * max(p.shank_diameter, p.plug_diameter)
    head = 0.5 * p.head_diameter if _has_head(p) else plug
    return walls.present(
        (
            *walls.layers_in_plan(wall.layers, 0.0, (0.0, end)),
            ring("cap", p.cap_material, (0.0, head), (levels.over, levels.face)),
            ring("head", p.head_material, (0.0, head), (levels.under, levels.over)),
            ring("plug", p.plug_material, (shank, plug), (levels.tip, levels.under)),
            ring("shank", p.shank_material, (0.0, shank), (levels.tip, levels.under)),
        )
    )


def _airtight(p: Fixing, wall: Wall, levels: _Levels, end: float) -> tuple[AirtightPiece, ...]:
    """The wall's airtight layer, and the fixing that pierces it, from the cut-off plane to the axis."""
    if wall.airtight == "none":
        return ()
    level = wall.airtight_level
    pierced = max(p.shank_diameter, p.plug_diameter) / 2
    if _has_head(p) and level > levels.under - walls.LEAST:
        pierced = p.head_diameter / 2
    if level < levels.tip - walls.LEAST or level > levels.face + walls.LEAST:
        return (AirtightPiece(wall.airtight, ((end, level), (0.0, level))),)
    return (
        AirtightPiece(wall.airtight, ((end, level), (pierced, level))),
        AirtightPiece("fixing", ((pierced, level), (0.0, level)), through=True),
    )


def _dimensions(p: Fixing, wall: Wall, levels: _Levels, end: float) -> tuple[Dimension, ...]:
    across = [
        walls.span("a_1", "shank_diameter", "bottom", levels.tip, (-p.shank_diameter / 2, p.shank_diameter / 2)),
        walls.span("a_3", "plug_diameter", "bottom", levels.tip, (-p.plug_diameter / 2, p.plug_diameter / 2), 1),
    ]
    along = [
        walls.span("e_1", "embedment", "left", 0.0, (levels.tip, wall.face)),
        walls.span("e_2", "recess", "left", 0.0, (levels.over, levels.face)),
    ]
    if _has_head(p):
        half = p.head_diameter / 2
        across.append(walls.span("a_2", "head_diameter", "top", levels.over, (-half, half)))
        along.append(walls.span("t_1", "head_thickness", "left", 0.0, (levels.under, levels.over), 1))
    return walls.drawn((*walls.chain(wall.layers, "right", end), *across, *along))


def _section(p: Fixing) -> Section:
    wall = walls.wall(p)
    levels = _levels(p, wall)
    widest = max(p.shank_diameter, p.plug_diameter, p.head_diameter if _has_head(p) else 0.0) / 2
    end = walls.cut_plane(widest, wall.thickness)
    return Section(
        AXIS,
        "Section through the fixing's axis",
        _regions(p, wall, levels, end),
        walls.environments(p),
        (
            walls.outside_surface(p, (0.0, 0.0), (end, 0.0)),
            *walls.inside_surface(p, (end, wall.thickness), (0.0, wall.thickness)),
        ),
        (FlankingElement("wall", ((end, 0.0), (end, wall.thickness)), disc_area(end)),),
        probes=(Probe("the fixing's room end", (0.0, levels.over)),),
        airtight=_airtight(p, wall, levels, end),
        dimensions=_dimensions(p, wall, levels, end),
        psi_half_width=CHI_HALF_WIDTH,
        axes="x from the fixing's axis, y from the outer face into the building",
        revolution=True,
    )


JUNCTION = Junction(
    name="fixing",
    title="Fixing through the insulation of a masonry wall",
    description=(
        "A screw, anchor or tie holds insulation or board to the masonry; with plate, plastic sleeve, and a cap over a "
        "sunk head. A solid of revolution about the fixing's axis, cut in the wall at least 1 m and three thicknesses "
        "away. Its χ, and what a number of them per square metre adds to U."
    ),
    parameters=Fixing,
    build=build,
)
