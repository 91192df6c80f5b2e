"""A wall that meets the insulated façade at a right angle, in plan: what party walls and partitions have in common.

One side of the cross wall is drawn to the right of its axis x = 0, façade, lining, returned insulation and plaster; the
other side is the same reflected, or drawn of another façade and reflected.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from bridge2d.detail import AirtightPiece, Dimension, Point, Region, Surface
from bridge2d.junctions import walls
from bridge2d.junctions.declaration import Length, MaterialChoice, Parameters, parameter
from bridge2d.junctions.walls import Conditions, Layer, Wall
from bridge2d.standards import iso_10211


class ReturnedInsulation(Parameters):
    """Insulation returned along both sides of a cross wall; lengths in metres."""

    return_length: Length = parameter(
        0.3,
        symbol="l_r",
        label="length of the returned insulation",
        group="returned insulation",
        minimum=0.0,
        maximum=3.0,
        help="how far insulation is returned along the wall that meets the façade, from the façade's finished face; "
        "0 for none",
    )
    return_thickness: Length = parameter(
        0.03,
        symbol="t_r",
        label="thickness of the returned insulation",
        group="returned insulation",
        minimum=0.0,
        maximum=0.3,
        help="thickness of the returned insulation without finish; 0 for none",
    )
    return_material: MaterialChoice = parameter(
        "mineral foam board",
        symbol="",
        label="returned insulation",
        group="returned insulation",
        help="material of the returned insulation",
    )

    def unused(self) -> frozenset[str]:
        """See `Parameters.unused`; what describes an insulation that is not returned."""
        return super().unused() | unused_return(self, "return")


def unused_return(p: Parameters, name: str) -> frozenset[str]:
    """What is without effect of an insulation that is not returned, as its length or its thickness is 0.

    Args:
        p: parameters.
        name: beginning of the names of length and thickness.
    """
    sizes = [f"{name}_length", f"{name}_thickness"]
    none = [size for size in sizes if getattr(p, size) == 0]
    return frozenset(size for size in sizes if none and size != none[0])


@dataclass(frozen=True, slots=True)
class Returned:
    """Insulation returned along the cross wall from the façade's inner face: length and thickness [m]; 0 for none."""

    length: float
    thickness: float
    choice: MaterialChoice


def returned(p: ReturnedInsulation) -> Returned:
    """The returned insulation that the parameters describe.

    Args:
        p: see `ReturnedInsulation`.
    """
    return Returned(p.return_length, p.return_thickness, p.return_material)


@dataclass(frozen=True, slots=True)
class CrossWall:
    """A wall across the façade's axis.

    Attributes:
        name: "party wall" or "partition".
        thickness: without plaster [m]; 0 leaves the plain façade, without plaster and returned insulation.
        choice: its material.
        plaster: on either side, from the lining or the returned insulation inward.
        start: where it begins, counted from the façade's outer face [m].
        separates: whether it parts two airtight rooms, so that the airtight layer turns and runs along it.
    """

    name: str
    thickness: float
    choice: MaterialChoice
    plaster: Layer
    start: float
    separates: bool

    @property
    def half(self) -> float:
        """Distance of its bare face from its axis [m]."""
        return 0.5 * self.thickness

    @property
    def there(self) -> bool:
        """Whether there is a cross wall at all."""
        return self.thickness >= walls.LEAST

    @property
    def finished(self) -> float:
        """Distance of its plastered face from its axis [m]."""
        return self.half + self.plaster.thickness if self.there else 0.0


@dataclass(frozen=True, slots=True)
class Side:
    """One side of the cross wall, at x ≥ 0.

    Attributes:
        wall: façade on this side.
        cross: the cross wall.
        returned: insulation along it.
        top: cut-off plane through the cross wall [m].
    """

    wall: Wall
    cross: CrossWall
    returned: Returned
    top: float = 0.0

    @property
    def has_return(self) -> bool:
        """Whether insulation is returned along the cross wall."""
        return self.cross.there and min(self.returned.length, self.returned.thickness) >= walls.LEAST

    @property
    def covered(self) -> Point:
        """Where lining and returned insulation end: distances from the axis and from the façade's outer face [m]."""
        if not self.has_return:
            return self.cross.finished, self.wall.thickness
        board = self.wall.board.thickness
        return (
            self.cross.half + self.returned.thickness + board,
            self.wall.thickness + self.returned.length + board,
        )

    @property
    def end(self) -> float:
        """Cut-off plane through the façade [m]."""
        return walls.cut_plane(max(self.covered[0], self.cross.finished), self.wall.thickness)


def with_top(*sides: Side) -> tuple[Side, ...]:
    """The sides with their common cut-off plane through the cross wall.

    Args:
        sides: one side, or both.
    """
    cross = sides[0].cross
    if not cross.there:
        return sides
    distance = iso_10211.cut_off_distance(round(2 * cross.finished, 6))
    top = walls.up(max(side.covered[1] for side in sides) + distance)
    return tuple(replace(side, top=top) for side in sides)


# -- one side --------------------------------------------------------------------------------------------------------


def regions(side: Side) -> tuple[Region, ...]:
    """Façade, lining, returned insulation and half the cross wall.

    Args:
        side: which.
    """
    wall, cross, back = side.wall, side.cross, side.returned
    found = walls.layers_in_plan(wall.layers, 0.0, (0.0, side.end))
    if not cross.there:
        return walls.present(found)
    x, y = side.covered
    if side.has_return:
        bare, board = cross.half + back.thickness, wall.board
        depth = wall.thickness + back.length
        found += [
            walls.rectangle("insulation", back.choice, (cross.half, wall.parge_face), (bare, depth)),
            walls.rectangle(board.name, board.choice, (bare, wall.thickness), (x, y)),
            walls.rectangle(board.name, board.choice, (cross.half, depth), (bare, y)),
        ]
    plaster = cross.plaster
    found += [
        walls.rectangle(plaster.name, plaster.choice, (cross.half, y), (cross.finished, side.top)),
        walls.rectangle(cross.name, cross.choice, (0.0, cross.start), (cross.half, side.top)),
    ]
    return walls.present(found)


def room_line(side: Side) -> tuple[Point, ...]:
    """The rooms' surface from the cut-off plane through the façade to that through the cross wall.

    Args:
        side: which.
    """
    inner = side.wall.thickness
    if not side.cross.there:
        return (side.end, inner), (0.0, inner)
    x, y = side.covered
    finished = side.cross.finished
    return (side.end, inner), (x, inner), (x, y), (finished, y), (finished, side.top)


def airtight(side: Side) -> tuple[AirtightPiece, ...]:
    """The airtight layer from the cut-off plane through the façade to that through the cross wall, or to the axis.

    Args:
        side: which.
    """
    wall, cross = side.wall, side.cross
    if wall.airtight == "none":
        return ()
    level, half = wall.airtight_level, cross.half
    behind = cross.start > level - walls.LEAST and not cross.separates
    if behind or not cross.there:
        return (AirtightPiece(wall.airtight, ((side.end, level), (0.0, level))),)
    if not cross.separates:
        return (
            AirtightPiece(wall.airtight, ((side.end, level), (half, level))),
            AirtightPiece(cross.name, ((half, level), (0.0, level))),
        )
    turned: tuple[Point, ...] = ((side.end, level), (half, level))
    if side.has_return and wall.airtight == "membrane":
        face, depth = half + side.returned.thickness, wall.thickness + side.returned.length
        turned = ((side.end, level), (face, level), (face, depth), (half, depth))
    name = f"plaster of the {cross.name}"
    return (
        AirtightPiece(wall.airtight, turned),
        AirtightPiece(name, ((half, turned[-1][1]), (half, side.top))),
    )


def dimensions(side: Side, name: str) -> tuple[Dimension, ...]:
    """The whole section's dimensions that belong to this side.

    Args:
        side: which.
        name: what the cross wall's parameters begin with.
    """
    cross, back, wall = side.cross, side.returned, side.wall
    found = [*walls.chain(wall.layers, "right", side.end)]
    if cross.there:
        found.append(walls.span("w", f"{name}_thickness", "top", side.top, (-cross.half, cross.half)))
        plaster = (-cross.finished, -cross.half)
        found.append(walls.span("d_8", cross.plaster.parameter, "top", side.top, plaster))
    if side.has_return:
        length = (wall.thickness, wall.thickness + back.length)
        found.append(walls.span("l_r", "return_length", "right", side.end, length, row=1))
        thickness = (cross.half, cross.half + back.thickness)
        found.append(walls.span("t_r", "return_thickness", "top", side.top, thickness))
    return walls.drawn(found)


# -- both sides ------------------------------------------------------------------------------------------------------


def surfaces(c: Conditions, *sides: Side) -> tuple[Surface, ...]:
    """Outside and rooms of one side, or of the right side and the reflected left one.

    Args:
        c: the conditions.
        sides: right, and left where it is drawn too.
    """
    right = sides[0]
    start = -sides[-1].end if len(sides) == 2 else 0.0
    outside = walls.outside_surface(c, (start, 0.0), (right.end, 0.0))
    if len(sides) == 2 and not right.cross.there:
        return (
            outside,
            *walls.inside_surface(c, *room_line(right)),
            *walls.inside_surface(c, (0.0, right.wall.thickness), (0.0, sides[1].wall.thickness)),
            *walls.inside_surface(c, *flipped(room_line(sides[1]))),
        )
    rooms = [room_line(right), *(flipped(room_line(side)) for side in sides[1:])]
    return (outside, *(surface for points in rooms for surface in walls.inside_surface(c, *points)))


def flipped(points: tuple[Point, ...]) -> tuple[Point, ...]:
    """Points reflected at the cross wall's axis.

    Args:
        points: at x ≥ 0 [m].
    """
    return tuple((-x if x else 0.0, y) for x, y in points)


def flipped_regions(found: tuple[Region, ...]) -> tuple[Region, ...]:
    """Regions reflected at the cross wall's axis.

    Args:
        found: at x ≥ 0, isotropic.
    """
    return tuple(replace(region, polygon=flipped(region.polygon)) for region in found)


def flipped_airtight(pieces: tuple[AirtightPiece, ...]) -> tuple[AirtightPiece, ...]:
    """The airtight layer reflected at the cross wall's axis.

    Args:
        pieces: at x ≥ 0.
    """
    return tuple(AirtightPiece(piece.name, flipped(piece.line)) for piece in pieces)


def lengths(side: Side, copies: float = 1.0) -> dict[str, float]:
    """Lengths of the façade from the cross wall's axis, or its plastered face, to the cut-off plane [m].

    Args:
        side: which.
        copies: 2 for both halves of a mirrored section, else 1.
    """
    whole = copies * side.end
    return {"external": whole, "internal": whole - copies * side.cross.finished, "overall_internal": whole}
