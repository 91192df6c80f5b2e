"""A partition that meets the insulated façade, through the insulation to the masonry or only up to it.

One section in plan, x along the façade from the partition's axis, which is a plane of symmetry; half of it is solved.
"""

from __future__ import annotations

from typing import Literal

from bridge2d.detail import Combination, Detail, FlankingElement, Section
from bridge2d.junctions import cross_walls, walls
from bridge2d.junctions.cross_walls import CrossWall, Side
from bridge2d.junctions.declaration import Junction, Length, MaterialChoice, parameter
from bridge2d.junctions.walls import Layer

PLAN = "plan"
NOTES = (
    (
        'A partition that runs to the "masonry" bonds to its inner face and interrupts parge coat, insulation and '
        'finish; one that runs to the "insulation" stands against it and interrupts only service cavity and finish.'
    ),
    (
        "The rooms on both sides have the inside temperature; no heat passes the partition's far end. A light "
        "partition of studs and boards is one equal solid: give it the conductivity of its filling, or of what "
        "conducts along it."
    ),
    "External and overall internal lengths run to the partition's axis, internal lengths to its plastered faces.",
    (
        "The partition's plaster is taken off behind lining and returned insulation. A returned insulation carries the "
        "wall's finish on its face and its end; its length is measured from the façade's finished inner face."
    ),
    walls.AS_GIVEN,
)


class _Shape(walls.WallLayers):
    """The façade and what the partition adds to it."""

    partition_thickness: Length = parameter(
        0.115,
        symbol="w",
        label="partition",
        group="partition",
        minimum=0.0,
        maximum=0.6,
        help="thickness of the partition without plaster; 0 leaves the plain façade",
    )
    partition_material: MaterialChoice = parameter(
        "solid brick, old, 1600", symbol="", label="partition", group="partition", help="material of the partition"
    )
    partition_plaster_thickness: Length = parameter(
        0.015,
        symbol="d_8",
        label="plaster of the partition",
        group="partition",
        minimum=0.0,
        maximum=0.1,
        help="plaster or board on either side of the partition; 0 for none",
    )
    partition_plaster_material: MaterialChoice = parameter(
        "lime plaster", symbol="", label="plaster of the partition", group="partition", help="material of that plaster"
    )
    runs_to: Literal["masonry", "insulation"] = parameter(
        "masonry",
        symbol="",
        label="partition runs to",
        group="partition",
        help='"masonry" where it interrupts the insulation, "insulation" where the insulation runs on behind it',
    )


class PartitionEnd(walls.Conditions, cross_walls.ReturnedInsulation, _Shape):
    """Parameters of the partition's end; lengths in metres."""


def build(parameters: PartitionEnd) -> Detail:
    """The plan of the partition's end.

    Args:
        parameters: see `PartitionEnd`.

    Raises:
        InputError: parameters do not fit together.
    """
    return Detail(
        "",
        "partition_end",
        (_plan(parameters),),
        Combination(psi_section=PLAN),
        notes=NOTES,
        cautions=(walls.STEADY, walls.COLD_MASONRY),
    )


def _plan(p: PartitionEnd) -> Section:
    wall = walls.wall(p)
    thickness, material = p.partition_plaster_thickness, p.partition_plaster_material
    plaster = Layer("plaster", thickness, material, "d_8", "partition_plaster_thickness")
    start = wall.face if p.runs_to == "masonry" else wall.insulation_face
    cross = CrossWall("partition", p.partition_thickness, p.partition_material, plaster, start, separates=False)
    (side,) = cross_walls.with_top(Side(wall, cross, cross_walls.returned(p)))
    cut = ((side.end, 0.0), (side.end, wall.thickness))
    return Section(
        PLAN,
        f"Plan of the partition's end, to the {p.runs_to}",
        cross_walls.regions(side),
        walls.environments(p),
        cross_walls.surfaces(p, side),
        (FlankingElement("façade", cut, cross_walls.lengths(side, copies=2)),),
        airtight=cross_walls.airtight(side),
        dimensions=cross_walls.dimensions(side, "partition"),
        mirrored=True,
        axes="x along the façade from the partition's axis, y inward from the outside face",
    )


JUNCTION = Junction(
    name="partition_end",
    title="Partition that meets a façade insulated inside",
    description=(
        "A light or solid partition within one flat runs through the inside insulation to the masonry, or stands "
        "against the insulation; with or without insulation returned along both its sides. Plan, half of it, cut in "
        "façade and partition at least 1 m and three thicknesses away."
    ),
    parameters=PartitionEnd,
    build=build,
)
