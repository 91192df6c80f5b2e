"""A round duct or pipe through a wall, insulated or not, in a core-drilled hole, about its axis.

One section of revolution: x is the radius, y runs from the wall's outer face into the building.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from bridge2d.detail import (
    CHI_HALF_WIDTH,
    AirtightPiece,
    Combination,
    CutOff,
    Detail,
    Dimension,
    FlankingElement,
    Region,
    Section,
    Surface,
)
from bridge2d.errors import InputError
from bridge2d.junctions import walls
from bridge2d.junctions.declaration import Junction, Length, MaterialChoice, Resistance, parameter
from bridge2d.junctions.revolved import cylinder_area, disc_area, ring
from bridge2d.junctions.walls import Wall
from bridge2d.standards import iso_10211

AXIS = "axis"
NOTES = (
    (
        "χ = L3D − U·A of the wall, A being the whole disc out to the cut-off plane, the hole included, − U·A of the "
        "duct in the room where it carries outside air. What the duct loses along its way through the rooms is "
        "counted with its length, not here."
    ),
    (
        "A duct filled with outside air stands for an intake, or for an exhaust after heat recovery, whose air is "
        "nearly as cold. The surface resistance of moving air in a duct is common practice without source."
    ),
    walls.AS_GIVEN,
)
COLD_DUCT = (
    "A cold duct in a room takes water out of the air wherever vapour reaches it: its insulation needs a vapour-tight "
    "skin without gaps, on the hanger and at the wall too."
)
FIRE = (
    "A duct that passes walls of fire compartments or escape routes needs the damper, collar or wrap that the local "
    "code and the fire authority ask for; foams are not fire stopping."
)


class _Shape(walls.WallLayers):
    """The wall and the duct through it."""

    duct_diameter: Length = parameter(
        0.16,
        symbol="a_1",
        label="duct, inside",
        group="duct",
        minimum=0.01,
        maximum=1.0,
        help="inner diameter of the duct or pipe",
    )
    duct_wall: Length = parameter(
        0.001, symbol="t_1", label="duct wall", group="duct", minimum=0.0003, maximum=0.05, help="thickness of its wall"
    )
    duct_material: MaterialChoice = parameter(
        "steel", symbol="", label="duct", group="duct", help="material of its wall"
    )
    filling: Literal["outside air"] | MaterialChoice = parameter(
        "outside air",
        symbol="",
        label="duct filled with",
        group="duct",
        help='"outside air" of an intake or an exhaust after heat recovery, or a material, such as that of a stopped '
        "hole",
    )
    duct_resistance: Resistance = parameter(
        0.05,
        symbol="R_s,d",
        label="surface resistance in the duct",
        group="duct",
        minimum=0.001,
        maximum=1.0,
        help="of the air that moves in the duct (common practice; 0.05 at about 3 m/s)",
    )
    duct_insulation_thickness: Length = parameter(
        0.03,
        symbol="t_2",
        label="insulation of the duct",
        group="duct",
        minimum=0.0,
        maximum=0.3,
        help="thickness of the insulation round the duct; 0 for none",
    )
    duct_insulation_material: MaterialChoice = parameter(
        "elastomeric foam", symbol="", label="duct insulation", group="duct", help="material of that insulation"
    )
    insulated_from: Literal["outer face", "masonry's inner face"] = parameter(
        "outer face",
        symbol="",
        label="duct insulated from",
        group="duct",
        help='where the duct\'s insulation begins: at the wall\'s "outer face", or at the "masonry\'s inner face"',
    )
    gap: Length = parameter(
        0.015,
        symbol="t_3",
        label="gap round the duct",
        group="hole",
        minimum=0.0,
        maximum=0.2,
        help="gap in the masonry round the duct or its insulation; 0 for none",
    )
    gap_material: MaterialChoice = parameter(
        "gun foam, one-component", symbol="", label="gap", group="hole", help="what fills the gap"
    )
    outside_length: Length = parameter(
        0.05,
        symbol="e_1",
        label="duct outside",
        group="duct",
        minimum=0.0,
        maximum=1.0,
        help="how far the bare duct stands out of the outer face; 0 for flush",
    )
    room_length: Length = parameter(
        1.0,
        symbol="e_2",
        label="duct in the room",
        group="duct",
        minimum=0.0,
        maximum=3.0,
        help="length of duct in the room up to where the section is cut, 1 m or more; 0 for a filled hole that ends "
        "flush",
    )


class Sleeve(walls.Conditions, _Shape):
    """Parameters of the sleeve; lengths in metres."""


@dataclass(frozen=True, slots=True)
class _Radii:
    """Radii of the pieces [m]; each is the outer one.

    Attributes:
        hollow: of the duct's inside.
        duct: of its wall.
        outside: of duct and insulation in masonry and parge coat.
        hole: of the hole in them.
        room: of duct and insulation in the wall's insulation, its finish, and the room.
        end: of the section.
    """

    hollow: float
    duct: float
    outside: float
    hole: float
    room: float
    end: float


def build(parameters: Sleeve) -> Detail:
    """The section through the duct's axis.

    Args:
        parameters: see `Sleeve`.

    Raises:
        InputError: parameters do not fit together.
    """
    return Detail(
        "",
        "sleeve",
        (_section(parameters),),
        Combination(chi_section=AXIS),
        notes=NOTES,
        cautions=(*((COLD_DUCT,) if _hollow(parameters) else ()), FIRE, walls.STEADY, walls.COLD_MASONRY),
    )


def _hollow(p: Sleeve) -> bool:
    return not isinstance(p.filling, MaterialChoice)


def _radii(p: Sleeve, wall: Wall) -> _Radii:
    duct = p.duct_diameter / 2 + p.duct_wall
    room = duct + p.duct_insulation_thickness
    outside = room if p.insulated_from == "outer face" else duct
    hole = outside + p.gap
    end = walls.cut_plane(max(hole, room), wall.thickness)
    return _Radii(p.duct_diameter / 2, duct, outside, hole, room, end)


def _regions(p: Sleeve, wall: Wall, r: _Radii, top: float) -> tuple[Region, ...]:
    bore, low = wall.parge_face, -p.outside_length
    insulated = 0.0 if p.insulated_from == "outer face" else bore
    filling = p.filling
    regions = [
        *walls.layers_in_plan((*wall.structure, wall.parge), 0.0, (r.hole, r.end)),
        *walls.layers_in_plan(wall.lining, bore, (r.room, r.end)),
        ring("gap", p.gap_material, (r.outside, r.hole), (0.0, bore)),
        ring("duct insulation", p.duct_insulation_material, (r.duct, r.room), (insulated, top)),
        ring("duct", p.duct_material, (r.hollow, r.duct), (low, top)),
    ]
    if isinstance(filling, MaterialChoice):
        regions.append(ring("filling", filling, (0.0, r.hollow), (low, top)))
    return walls.present(regions)


def _surfaces(p: Sleeve, wall: Wall, r: _Radii, top: float) -> tuple[Surface, ...]:
    d, low = wall.thickness, -p.outside_length
    inner = r.hollow if _hollow(p) else 0.0
    outer_face = walls.outside_surface(p, (r.end, 0.0), (r.duct, 0.0), (r.duct, low), (inner, low))
    room = [(r.end, d), (r.room, d)]
    if top > d + walls.LEAST:
        room.append((r.room, top))
    elif not _hollow(p):
        room.append((0.0, d))
    surfaces = [outer_face, *walls.inside_surface(p, *room)]
    if _hollow(p):
        hollow = walls.line((r.hollow, low), (r.hollow, top))
        surfaces.append(Surface(walls.OUTSIDE, hollow, p.duct_resistance, p.duct_resistance))
    return tuple(surfaces)


def _flanking(p: Sleeve, wall: Wall, r: _Radii, top: float) -> tuple[FlankingElement, ...]:
    d = wall.thickness
    elements = [FlankingElement("wall", ((r.end, 0.0), (r.end, d)), disc_area(r.end))]
    if _hollow(p) and top > d + walls.LEAST:
        area = cylinder_area(r.room, p.room_length)
        elements.append(FlankingElement("duct in the room, per outer area", ((r.hollow, top), (r.room, top)), area))
    return tuple(elements)


def _cut_offs(p: Sleeve, r: _Radii) -> tuple[CutOff, ...]:
    """The cut through a filled duct in the room; a hollow one is a flanking element."""
    if _hollow(p) or p.room_length < walls.LEAST:
        return ()
    return (CutOff("the filled duct in the room", p.room_length, 2 * r.room),)


def _airtight(p: Sleeve, wall: Wall, r: _Radii, top: float) -> tuple[AirtightPiece, ...]:
    """The wall's layer up to the hole, a collar to the duct, and the duct itself to its end in the section."""
    if wall.airtight == "none":
        return ()
    level = wall.airtight_level
    edge = r.hole if wall.airtight == "parge coat" else r.room
    pieces = [AirtightPiece(wall.airtight, ((r.end, level), (edge, level)))]
    if edge > r.duct + walls.LEAST:
        pieces.append(AirtightPiece("sealing collar", ((edge, level), (r.duct, level))))
    if _hollow(p):
        pieces.append(AirtightPiece("duct", ((r.duct, level), (r.duct, top))))
    else:
        pieces.append(AirtightPiece("filled duct", ((r.duct, level), (0.0, level)), through=True))
    return tuple(pieces)


def _dimensions(p: Sleeve, wall: Wall, r: _Radii, top: float) -> tuple[Dimension, ...]:
    d, low = wall.thickness, -p.outside_length
    return walls.drawn(
        (
            *walls.chain(wall.layers, "right", r.end),
            walls.span("a_1", "duct_diameter", "bottom", low, (-r.hollow, r.hollow), 1),
            walls.span("t_1", "duct_wall", "bottom", low, (r.hollow, r.duct)),
            walls.span("t_2", "duct_insulation_thickness", "top", top, (r.duct, r.room)),
            walls.span("t_3", "gap", "bottom", 0.0, (r.outside, r.hole)),
            walls.span("e_1", "outside_length", "left", -r.end, (low, 0.0)),
            walls.span("e_2", "room_length", "left", -r.end, (d, top)),
        )
    )


def _refuse_short(p: Sleeve) -> None:
    """A duct in the room has to run on undisturbed; a filled hole may end flush."""
    hollow, thickness = _hollow(p), p.duct_wall + p.duct_insulation_thickness
    if not hollow and p.room_length < walls.LEAST:
        return
    least = iso_10211.cut_off_distance(thickness if hollow else p.duct_diameter + 2 * thickness)
    if p.room_length < least - walls.LEAST:
        raise InputError(
            "the duct is cut in the room before it runs undisturbed",
            key="room_length",
            right=f"give at least {1000 * least:g} mm" + ("" if hollow else ", or 0 for a filled hole that ends flush"),
        )


def _section(p: Sleeve) -> Section:
    wall = walls.wall(p)
    _refuse_short(p)
    r, top = _radii(p, wall), wall.thickness + p.room_length
    return Section(
        AXIS,
        "Section through the duct's axis",
        _regions(p, wall, r, top),
        walls.environments(p),
        _surfaces(p, wall, r, top),
        _flanking(p, wall, r, top),
        airtight=_airtight(p, wall, r, top),
        dimensions=_dimensions(p, wall, r, top),
        psi_half_width=SLEEVE_HALF_WIDTH,
        cut_offs=_cut_offs(p, r),
        axes="x from the duct's axis, y from the outer face into the building",
        revolution=True,
        large=True,
    )


SLEEVE_HALF_WIDTH = 10 * CHI_HALF_WIDTH
"""Widest half of the bracket around L3D of a duct, whose χ is a hundred times a screw's [W/K]."""

JUNCTION = Junction(
    name="sleeve",
    title="Round duct or pipe through a masonry wall insulated inside",
    description=(
        "A ventilation duct that carries outside air, or a filled pipe, passes the wall in a core-drilled hole, with "
        "insulation round it and a gap that is foamed. A solid of revolution about the duct's axis, cut in the wall "
        "and on the duct at least 1 m and three thicknesses away. Its χ."
    ),
    parameters=Sleeve,
    build=build,
)
