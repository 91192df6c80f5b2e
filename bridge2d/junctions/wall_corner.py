"""The corner of two equal masonry walls insulated inside, outer or inner.

One section in plan: the outer faces meet in the origin. Of an outer corner the walls run along +x and +y and the room
lies between them; of an inner corner they run along −x and −y and the room lies round them.
"""

from __future__ import annotations

from typing import Literal

from bridge2d.detail import AirtightPiece, Combination, Detail, FlankingElement, Point, Region, Section
from bridge2d.junctions import walls
from bridge2d.junctions.declaration import Junction, parameter
from bridge2d.junctions.walls import Layer, Wall

PLAN = "plan"
NOTES = (
    (
        "Both walls have the same layers, and every layer runs round the corner. External lengths are measured on the "
        "outer faces, internal lengths on the inner faces; nothing else divides the rooms, so that overall internal "
        "lengths are the internal ones."
    ),
    "Where floor or ceiling meets the corner it is colder than this section says; that corner is three-dimensional.",
    walls.AS_GIVEN,
)


class _Shape(walls.WallLayers):
    """The wall and what the corner adds to it."""

    kind: Literal["outer", "inner"] = parameter(
        "outer",
        symbol="",
        label="kind of corner",
        group="corner",
        help='"outer" where the outside lies round the corner, "inner" where the rooms do',
    )


class WallCorner(walls.Conditions, _Shape):
    """Parameters of the wall corner; lengths in metres."""


def build(parameters: WallCorner) -> Detail:
    """The corner's plan.

    Args:
        parameters: see `WallCorner`.

    Raises:
        InputError: parameters do not fit together.
    """
    section = _plan(parameters, walls.wall(parameters))
    return Detail(
        "",
        "wall_corner",
        (section,),
        Combination(psi_section=PLAN),
        notes=NOTES,
        cautions=(walls.STEADY, walls.COLD_MASONRY),
    )


def _plan(p: WallCorner, wall: Wall) -> Section:
    d = wall.thickness
    outer = p.kind == "outer"
    # The cut planes stand their distance beyond whichever face ends farther out along the wall.
    end = walls.cut_plane(d, d) if outer else -walls.cut_plane(0.0, d)
    length = abs(end)
    inner = length - d if outer else length + d
    lengths = {"external": length, "internal": inner, "overall_internal": inner}
    level = wall.airtight_level
    airtight = ((end, level), (level, level), (level, end))
    return Section(
        PLAN,
        f"Plan of the {p.kind} corner",
        tuple(_regions(wall, end)),
        walls.environments(p),
        (
            walls.outside_surface(p, (end, 0), (0, 0), (0, end)),
            *walls.inside_surface(p, (end, d), (d, d), (d, end)),
        ),
        (
            FlankingElement("wall along x", ((end, 0), (end, d)), dict(lengths)),
            FlankingElement("wall along y", ((0, end), (d, end)), dict(lengths)),
        ),
        airtight=() if wall.airtight == "none" else (AirtightPiece(wall.airtight, airtight),),
        dimensions=(*walls.chain(wall.layers, "right" if outer else "left", end),),
        axes="x and y along the outside faces from where they meet",
    )


def _regions(wall: Wall, end: float) -> list[Region]:
    """Every layer as an angle round the corner."""
    regions = []
    at = 0.0
    for layer in wall.layers:
        if layer.thickness >= walls.LEAST:
            regions.append(_angle(layer, at, at + layer.thickness, end))
        at += layer.thickness
    return regions


def _angle(layer: Layer, outer: float, inner: float, end: float) -> Region:
    corners: tuple[Point, ...] = (
        (end, outer),
        (outer, outer),
        (outer, end),
        (inner, end),
        (inner, inner),
        (end, inner),
    )
    return Region(layer.name, layer.choice.material, corners, basis=layer.choice.basis)


JUNCTION = Junction(
    name="wall_corner",
    title="Outer or inner corner of two masonry walls insulated inside",
    description=(
        "Two equal walls meet at a right angle and their insulation runs round the corner. Plan, cut in each wall at "
        "least 1 m and three wall thicknesses away from it."
    ),
    parameters=WallCorner,
    build=build,
)
