"""The insulated façade meets a party wall that interrupts the inside insulation.

One section in plan, x along the façade from the party wall's axis. Where the neighbour's façade is insulated too, the
axis is a plane of symmetry and half the section is solved; else both flats are modelled.
"""

from __future__ import annotations

from typing import Literal

from bridge2d.detail import AirtightPiece, Combination, Detail, FlankingElement, Section
from bridge2d.junctions import cross_walls, walls
from bridge2d.junctions.cross_walls import CrossWall, Returned, Side
from bridge2d.junctions.declaration import Junction, Length, MaterialChoice, parameter
from bridge2d.junctions.walls import Layer, Wall

PLAN = "plan"
NOTES = (
    (
        "The masonry of the façade runs past the party wall, which bonds to its inner face and interrupts parge coat, "
        "insulation and finish. Both flats have the inside temperature; no heat passes the party wall's far end."
    ),
    (
        "Ψ is that of the whole junction, both flats together. External and overall internal lengths run to the party "
        "wall's axis, internal lengths to its plastered faces."
    ),
    (
        "The party wall's plaster is taken off behind lining and returned insulation. A returned insulation carries "
        "the wall's finish on its face and its end; its length is measured from the façade's finished inner face."
    ),
    walls.AS_GIVEN,
)
CAUTIONS = (
    walls.STEADY,
    walls.COLD_MASONRY,
    (
        "A party wall is a fire wall and a sound barrier in most places: what may be fixed to it, and whether a "
        "combustible insulation may be returned along it, is for local codes and licensed practice."
    ),
)


class _Shape(walls.WallLayers):
    """The façade and what the party wall adds to it."""

    party_thickness: Length = parameter(
        0.25,
        symbol="w",
        label="party wall",
        group="party wall",
        minimum=0.0,
        maximum=1.0,
        help="thickness of the party wall without plaster; 0 leaves the plain façade",
    )
    party_material: MaterialChoice = parameter(
        "solid brick, old, 1600", symbol="", label="party wall", group="party wall", help="material of the party wall"
    )
    party_plaster_thickness: Length = parameter(
        0.015,
        symbol="d_8",
        label="plaster of the party wall",
        group="party wall",
        minimum=0.0,
        maximum=0.1,
        help="plaster on either side of the party wall; 0 for none",
    )
    party_plaster_material: MaterialChoice = parameter(
        "lime plaster",
        symbol="",
        label="plaster of the party wall",
        group="party wall",
        help="material of that plaster",
    )
    neighbour: Literal["insulated too", "not insulated"] = parameter(
        "insulated too",
        symbol="",
        label="neighbour's façade",
        group="neighbour",
        help='"insulated too" where that side is built the same, "not insulated" where it is left as it was',
    )
    neighbour_plaster_thickness: Length = parameter(
        0.015,
        symbol="d_9",
        label="neighbour's plaster",
        group="neighbour",
        minimum=0.0,
        maximum=0.1,
        help="inside plaster on the neighbour's façade where it is not insulated; 0 for none",
    )
    neighbour_plaster_material: MaterialChoice = parameter(
        "lime plaster", symbol="", label="neighbour's plaster", group="neighbour", help="material of that plaster"
    )


class PartyWall(walls.Conditions, cross_walls.ReturnedInsulation, _Shape):
    """Parameters of the party wall; lengths in metres."""

    def unused(self) -> frozenset[str]:
        """See `Parameters.unused`; the neighbour's plaster where the façade is insulated there too."""
        plaster = {"neighbour_plaster_thickness", "neighbour_plaster_material"}
        return super().unused() | (plaster if self.neighbour == "insulated too" else set())


def build(parameters: PartyWall) -> Detail:
    """The party wall's plan.

    Args:
        parameters: see `PartyWall`.

    Raises:
        InputError: parameters do not fit together.
    """
    section = _insulated_too(parameters) if parameters.neighbour == "insulated too" else _not_insulated(parameters)
    return Detail("", "party_wall", (section,), Combination(psi_section=PLAN), notes=NOTES, cautions=CAUTIONS)


def _cross(p: PartyWall, wall: Wall) -> CrossWall:
    plaster = Layer("plaster", p.party_plaster_thickness, p.party_plaster_material, "d_8", "party_plaster_thickness")
    return CrossWall("party wall", p.party_thickness, p.party_material, plaster, wall.face, separates=True)


def _own_side(p: PartyWall) -> Side:
    wall = walls.wall(p)
    return Side(wall, _cross(p, wall), cross_walls.returned(p))


def _neighbours_side(p: PartyWall) -> Side:
    """The neighbour's side as it was: render, masonry, plaster."""
    own = walls.wall(p)
    none = Layer("none", 0.0, p.insulation_material)
    thickness, material = p.neighbour_plaster_thickness, p.neighbour_plaster_material
    plaster = Layer("neighbour's plaster", thickness, material, "d_9", "neighbour_plaster_thickness")
    wall = Wall(own.structure, none, none, (plaster,), "neighbour's plaster")
    return Side(wall, _cross(p, wall), Returned(0.0, 0.0, p.return_material))


def _insulated_too(p: PartyWall) -> Section:
    (side,) = cross_walls.with_top(_own_side(p))
    cut = ((side.end, 0.0), (side.end, side.wall.thickness))
    return Section(
        PLAN,
        "Plan of the party wall, both flats insulated",
        cross_walls.regions(side),
        walls.environments(p),
        cross_walls.surfaces(p, side),
        (FlankingElement("façade", cut, cross_walls.lengths(side, copies=2)),),
        airtight=cross_walls.airtight(side),
        dimensions=cross_walls.dimensions(side, "party"),
        mirrored=True,
        axes="x along the façade from the party wall's axis, y inward from the outside face",
    )


def _not_insulated(p: PartyWall) -> Section:
    own, other = cross_walls.with_top(_own_side(p), _neighbours_side(p))
    flank = [
        FlankingElement(name, ((x, 0.0), (x, side.wall.thickness)), cross_walls.lengths(side))
        for name, side, x in (("façade", own, own.end), ("neighbour's façade", other, -other.end))
    ]
    return Section(
        PLAN,
        "Plan of the party wall, the neighbour not insulated",
        (*cross_walls.flipped_regions(cross_walls.regions(other)), *cross_walls.regions(own)),
        walls.environments(p),
        cross_walls.surfaces(p, own, other),
        tuple(flank),
        airtight=_airtight(own, other),
        dimensions=(
            *cross_walls.dimensions(own, "party"),
            *walls.chain(other.wall.finish, "left", -other.end, other.wall.face),
        ),
        axes="x along the façade from the party wall's axis, y inward from the outside face",
    )


def _airtight(own: Side, other: Side) -> tuple[AirtightPiece, ...]:
    """The airtight layers of both façades; without a party wall the own one is turned at the axis to meet the other."""
    mine, others = cross_walls.airtight(own), cross_walls.flipped_airtight(cross_walls.airtight(other))
    if own.cross.there:
        return (*mine, *others)
    if not mine:
        return ()
    start = mine[0].line[0]
    level, meeting = own.wall.airtight_level, other.wall.airtight_level
    turned = walls.line(start, (0.0, level), (0.0, meeting))
    return (AirtightPiece(mine[0].name, turned), *others)


JUNCTION = Junction(
    name="party_wall",
    title="Party wall that interrupts the inside insulation of a façade",
    description=(
        "The façade's inside insulation stops at a party wall between two heated flats, with or without insulation "
        "returned along it; the neighbour's façade is insulated too or left as it was. Plan, cut in the façade and in "
        "the party wall at least 1 m and three thicknesses away."
    ),
    parameters=PartyWall,
    build=build,
)
