"""A solid floor slab that bears in an inside-insulated masonry wall, or runs through it to a balcony.

One upright section; the slab's underside is the level 0. From it comes Ψ of the floor's edge.
"""

from __future__ import annotations

from dataclasses import dataclass

from bridge2d.detail import (
    AirtightPiece,
    Combination,
    Detail,
    Dimension,
    FlankingElement,
    Region,
    Section,
    Surface,
)
from bridge2d.errors import InputError
from bridge2d.junctions import walls
from bridge2d.junctions.declaration import Junction, Length, MaterialChoice, parameter
from bridge2d.junctions.walls import Layer, Wall

UPRIGHT = "upright"
NOTES = (
    (
        "The rooms above and below have the inside temperature; no heat passes the slab's far end. The lining stands "
        "on the slab and reaches up to the slab above; screed and ceiling plaster begin at its finished face."
    ),
    (
        "A vaulted floor is taken as a solid of equal thickness: give the slab the thickness in the middle of the bay "
        "and the conductivity of its bricks and filling together. Beams of steel or concrete within it are not "
        "modelled."
    ),
    "External and overall internal lengths count the floor with the wall below, internal lengths leave it out.",
    walls.AS_GIVEN,
)
CAUTIONS = (
    walls.STEADY,
    walls.COLD_MASONRY,
    (
        "Steel beams that bear in the wall behind a new insulation become colder and may rust; let somebody licensed "
        "look at bearings and balconies before they are closed in."
    ),
)


class _Shape(walls.WallLayers):
    """The wall and what the floor adds to it."""

    slab_thickness: Length = parameter(
        0.2,
        symbol="h",
        label="slab",
        group="floor",
        minimum=0.0,
        maximum=0.8,
        help="thickness of the slab; 0 leaves the plain wall, without floor and ceiling",
    )
    slab_material: MaterialChoice = parameter(
        "concrete 2200", symbol="", label="slab", group="floor", help="material of the slab"
    )
    bearing_length: Length = parameter(
        0.15,
        symbol="a",
        label="bearing length",
        group="floor",
        minimum=0.02,
        maximum=1.5,
        help="how far the slab reaches into the masonry; the masonry's thickness for one that runs through",
    )
    balcony_projection: Length = parameter(
        0.0,
        symbol="p",
        label="balcony",
        group="floor",
        minimum=0.0,
        maximum=3.0,
        help="how far the slab projects from the outer face as a balcony; 0 for none",
    )
    screed_thickness: Length = parameter(
        0.05,
        symbol="d_8",
        label="screed",
        group="floor",
        minimum=0.0,
        maximum=0.3,
        help="screed or fill on the slab; 0 for none",
    )
    screed_material: MaterialChoice = parameter(
        "cement screed", symbol="", label="screed", group="floor", help="material of the screed"
    )
    flooring_thickness: Length = parameter(
        0.02,
        symbol="d_9",
        label="flooring",
        group="floor",
        minimum=0.0,
        maximum=0.1,
        help="floor finish on the screed; 0 for none",
    )
    flooring_material: MaterialChoice = parameter(
        "oak", symbol="", label="flooring", group="floor", help="material of the floor finish"
    )
    ceiling_thickness: Length = parameter(
        0.015,
        symbol="d_10",
        label="ceiling plaster",
        group="floor",
        minimum=0.0,
        maximum=0.1,
        help="plaster below the slab; 0 for none",
    )
    ceiling_material: MaterialChoice = parameter(
        "lime plaster", symbol="", label="ceiling plaster", group="floor", help="material of the ceiling plaster"
    )
    ceiling_return_length: Length = parameter(
        0.0,
        symbol="l_c",
        label="insulation returned on the ceiling, length",
        group="returned insulation",
        minimum=0.0,
        maximum=3.0,
        help="how far insulation is returned below the slab, from the wall's finished face; 0 for none",
    )
    ceiling_return_thickness: Length = parameter(
        0.04,
        symbol="t_c",
        label="insulation returned on the ceiling, thickness",
        group="returned insulation",
        minimum=0.0,
        maximum=0.3,
        help="its thickness without plaster; 0 for none",
    )
    floor_return_length: Length = parameter(
        0.0,
        symbol="l_f",
        label="insulation returned on the slab, length",
        group="returned insulation",
        minimum=0.0,
        maximum=3.0,
        help="how far insulation lies on the slab within the screed, from the wall's finished face; 0 for none",
    )
    floor_return_thickness: Length = parameter(
        0.03,
        symbol="t_f",
        label="insulation returned on the slab, thickness",
        group="returned insulation",
        minimum=0.0,
        maximum=0.3,
        help="its thickness, at most the screed's; 0 for none",
    )
    return_material: MaterialChoice = parameter(
        "mineral foam board",
        symbol="",
        label="returned insulation",
        group="returned insulation",
        help="material of the returned insulation",
    )


class FloorSlab(walls.Conditions, _Shape):
    """Parameters of the floor slab; lengths in metres."""


@dataclass(frozen=True, slots=True)
class _Floor:
    """The floor's measures [m]; a length of 0 where a piece is not there.

    Attributes:
        wall: the wall.
        slab, ceiling: thicknesses.
        toppings: screed and flooring, from below.
        below, above: length and thickness of the insulation returned below and on the slab.
        outer: where the slab ends outside.
    """

    wall: Wall
    slab: float
    ceiling: float
    toppings: tuple[Layer, ...]
    below: tuple[float, float]
    above: tuple[float, float]
    outer: float

    @property
    def zone(self) -> tuple[float, float]:
        """Levels of the ceiling's underside and the flooring's top."""
        return -self.ceiling, self.slab + walls.total(self.toppings)

    @property
    def end_below(self) -> float:
        """Where the returned insulation below the slab ends with its plaster."""
        return self.wall.thickness + (self.below[0] + self.ceiling if self.below[0] else 0.0)

    @property
    def low_below(self) -> float:
        """Level of the underside of the returned insulation below the slab with its plaster."""
        return -self.below[1] - self.ceiling

    @property
    def low(self) -> float:
        """Cut-off plane through the wall below."""
        return -walls.cut_plane(-self.low_below, self.wall.thickness)

    @property
    def high(self) -> float:
        """Cut-off plane through the wall above."""
        return walls.cut_plane(self.zone[1], self.wall.thickness)

    @property
    def room(self) -> float:
        """Cut-off plane through the floor; the wall's face where there is no floor."""
        low, high = self.zone
        if self.slab < walls.LEAST:
            return self.wall.thickness
        return walls.cut_plane(max(self.end_below, self.wall.thickness + self.above[0]), high - low)


def build(parameters: FloorSlab) -> Detail:
    """The floor slab's upright section.

    Args:
        parameters: see `FloorSlab`.

    Raises:
        InputError: parameters do not fit together.
    """
    _refuse_misfits(parameters)
    section = _upright(parameters, _floor(parameters))
    return Detail("", "floor_slab", (section,), Combination(psi_section=UPRIGHT), notes=NOTES, cautions=CAUTIONS)


def _refuse_misfits(p: FloorSlab) -> None:
    if p.slab_thickness < walls.LEAST:
        return
    masonry = f"masonry_thickness = {1000 * p.masonry_thickness:g} mm"
    if p.bearing_length > p.masonry_thickness + walls.LEAST:
        raise InputError(
            f"the slab bears {1000 * p.bearing_length:g} mm in a thinner masonry",
            key="bearing_length",
            right=f"give at most {masonry}, with which the slab runs through",
        )
    if p.balcony_projection >= walls.LEAST and p.bearing_length < p.masonry_thickness - walls.LEAST:
        raise InputError(
            "the slab does not run through the masonry to the balcony",
            key="balcony_projection",
            right=f"give balcony_projection = 0, or bearing_length = {masonry}",
        )
    if min(p.floor_return_length, p.floor_return_thickness) < walls.LEAST:
        return
    if p.floor_return_thickness > p.screed_thickness + walls.LEAST:
        raise InputError(
            f"the insulation on the slab is {1000 * p.floor_return_thickness:g} mm thick and rises out of the screed",
            key="floor_return_thickness",
            right=f"give at most screed_thickness = {1000 * p.screed_thickness:g} mm",
        )


def _floor(p: FloorSlab) -> _Floor:
    wall = walls.wall(p)
    if p.slab_thickness < walls.LEAST:
        return _Floor(wall, 0.0, 0.0, (), (0.0, 0.0), (0.0, 0.0), 0.0)

    def returned(length: float, thickness: float) -> tuple[float, float]:
        return (length, thickness) if min(length, thickness) >= walls.LEAST else (0.0, 0.0)

    toppings = (
        Layer("screed", p.screed_thickness, p.screed_material, "d_8", "screed_thickness"),
        Layer("flooring", p.flooring_thickness, p.flooring_material, "d_9", "flooring_thickness"),
    )
    projection = p.balcony_projection
    return _Floor(
        wall,
        p.slab_thickness,
        p.ceiling_thickness,
        toppings,
        returned(p.ceiling_return_length, p.ceiling_return_thickness),
        returned(p.floor_return_length, p.floor_return_thickness),
        -projection if projection >= walls.LEAST else max(wall.face - p.bearing_length, wall.structure[0].thickness),
    )


def _upright(p: FloorSlab, f: _Floor) -> Section:
    return Section(
        UPRIGHT,
        "Upright section through the floor's edge",
        _regions(p, f),
        walls.environments(p),
        _surfaces(p, f),
        _flanking(f),
        airtight=_airtight(f),
        dimensions=_dimensions(f),
        axes="x inward from the outside face, y upward from the slab's underside",
    )


def _regions(p: FloorSlab, f: _Floor) -> tuple[Region, ...]:
    wall, inner = f.wall, f.wall.thickness
    found = walls.layers_upright((*wall.structure, wall.parge), 0.0, (f.low, f.high))
    for ends in ((f.low, 0.0), (f.slab, f.high)):
        found += walls.layers_upright(wall.lining, wall.parge_face, ends)
    if f.slab < walls.LEAST:
        return walls.present(found)
    found.append(walls.rectangle("slab", p.slab_material, (f.outer, 0.0), (f.room, f.slab)))
    level = f.slab
    for layer in f.toppings:
        top = level + layer.thickness
        found.append(walls.rectangle(layer.name, layer.choice, (inner, level), (f.room, top)))
        level = top
    length, thickness = f.above
    # Insulation meets insulation: what is returned begins at the wall's insulation, behind cavity and board.
    start = wall.insulation_face
    strip = (start, f.slab), (inner + length, f.slab + thickness)
    found.append(walls.rectangle("returned insulation", p.return_material, *strip))
    length, thickness = f.below
    plaster, end = p.ceiling_material, inner + length
    found += [
        walls.rectangle("ceiling plaster", plaster, (inner, f.low_below), (f.end_below, 0.0)),
        walls.rectangle("returned insulation", p.return_material, (start, -thickness), (end, 0.0)),
        walls.rectangle("ceiling plaster", plaster, (f.end_below, -f.ceiling), (f.room, 0.0)),
    ]
    return walls.present(found)


def _surfaces(p: FloorSlab, f: _Floor) -> tuple[Surface, ...]:
    inner, (bottom, top) = f.wall.thickness, f.zone
    balcony = ((f.outer, 0.0), (f.outer, f.slab), (0.0, f.slab)) if f.outer < 0 else ()
    outside = walls.outside_surface(p, (0.0, f.low), (0.0, 0.0), *balcony, (0.0, f.high))
    if f.slab < walls.LEAST:
        return (outside, *walls.inside_surface(p, (inner, f.low), (inner, f.high)))
    below = [(inner, f.low), (inner, f.low_below), (f.end_below, f.low_below), (f.end_below, bottom), (f.room, bottom)]
    above = [(inner, f.high), (inner, top), (f.room, top)]
    return (outside, *walls.inside_surface(p, *above), *walls.inside_surface(p, *below))


def _flanking(f: _Floor) -> tuple[FlankingElement, ...]:
    bottom, top = f.zone
    above, below, zone, inner = f.high - top, bottom - f.low, top - bottom, f.wall.thickness
    upper = {"external": above, "internal": above, "overall_internal": above}
    lower = {"external": below + zone, "internal": below, "overall_internal": below + zone}
    return (
        FlankingElement("wall above", ((0.0, f.high), (inner, f.high)), upper),
        FlankingElement("wall below", ((0.0, f.low), (inner, f.low)), lower),
    )


def _airtight(f: _Floor) -> tuple[AirtightPiece, ...]:
    level, name = f.wall.airtight_level, f.wall.airtight
    if name == "none":
        return ()
    if f.slab < walls.LEAST:
        return (AirtightPiece(name, ((level, f.low), (level, f.high))),)
    return (
        AirtightPiece(name, ((level, f.low), (level, 0.0))),
        AirtightPiece("slab", ((level, 0.0), (level, f.slab))),
        AirtightPiece(name, ((level, f.slab), (level, f.high))),
    )


def _dimensions(f: _Floor) -> tuple[Dimension, ...]:
    wall, inner = f.wall, f.wall.thickness
    found = [*walls.chain(wall.layers, "top", f.high)]
    if f.slab < walls.LEAST:
        return tuple(found)
    bearing = max(f.outer, wall.structure[0].thickness)
    found += [
        walls.span("d_10", "ceiling_thickness", "right", f.room, (-f.ceiling, 0.0)),
        walls.span("h", "slab_thickness", "right", f.room, (0.0, f.slab)),
        *walls.chain(f.toppings, "right", f.room, f.slab),
        walls.span("a", "bearing_length", "bottom", f.low, (bearing, wall.face)),
        walls.span("p", "balcony_projection", "bottom", f.low, (min(f.outer, 0.0), 0.0)),
        walls.span("l_c", "ceiling_return_length", "bottom", f.low, (inner, inner + f.below[0])),
        walls.span("t_c", "ceiling_return_thickness", "left", 0.0, (-f.below[1], 0.0)),
        walls.span("l_f", "floor_return_length", "top", f.high, (inner, inner + f.above[0])),
        walls.span("t_f", "floor_return_thickness", "left", 0.0, (f.slab, f.slab + f.above[1])),
    ]
    return walls.drawn(found)


JUNCTION = Junction(
    name="floor_slab",
    title="Solid floor slab in or through a masonry wall insulated inside",
    description=(
        "A concrete or vaulted floor bears in the masonry or runs through it, to a balcony where there is one, and "
        "interrupts the inside insulation, with or without insulation returned on ceiling and slab. Upright section, "
        "cut in walls and floor at least 1 m and three thicknesses away."
    ),
    parameters=FloorSlab,
    build=build,
)
