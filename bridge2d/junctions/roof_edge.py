"""The edge of a flat roof over an inside-insulated masonry wall: parapet or eaves.

One upright section; the deck's underside is the level 0. Wall and roof are both flanking elements.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from bridge2d.detail import (
    AirtightPiece,
    Combination,
    Detail,
    Dimension,
    FlankingElement,
    Point,
    Region,
    Section,
    Surface,
)
from bridge2d.errors import InputError
from bridge2d.junctions import walls
from bridge2d.junctions.declaration import Junction, Length, MaterialChoice, Resistance, parameter
from bridge2d.junctions.walls import Layer, Wall

UPRIGHT = "upright"
NOTES = (
    (
        "The roof is a warm roof: its insulation lies on the deck, without ventilated layers. The deck bears in the "
        "masonry. At eaves insulation and covering run over the wall to its outer face; behind a parapet they stop at "
        "it."
    ),
    (
        "External lengths run to the wall's outer face and to the roof's upper face; internal and overall internal "
        "lengths to the inner faces, as nothing else divides the room."
    ),
    (
        "A deck of timber joists is taken as a solid: give it the conductivity of its boarding, or of joists and "
        "filling together. Coping sheets, gutters and fixings are not modelled."
    ),
    walls.AS_GIVEN,
)
CAUTIONS = (
    walls.STEADY,
    walls.COLD_MASONRY,
    (
        "Whether a roof of timber stays dry between vapour control layer and covering depends on its layers and on "
        "the rain of its building time; that needs an assessment of its own. Fall, drainage, wind suction and fire "
        "spread along parapets are for local codes and licensed practice."
    ),
)


class _Shape(walls.WallLayers):
    """The wall and what the roof adds to it."""

    kind: Literal["parapet", "eaves"] = parameter(
        "parapet",
        symbol="",
        label="kind of roof edge",
        group="roof",
        help='"parapet" where the masonry is carried up beside the roof, "eaves" where the roof runs over the wall',
    )
    deck_thickness: Length = parameter(
        0.18,
        symbol="h",
        label="deck",
        group="roof",
        minimum=0.02,
        maximum=0.6,
        help="thickness of the deck: top floor slab, or timber boarding or joists as a solid",
    )
    deck_material: MaterialChoice = parameter(
        "concrete 2200", symbol="", label="deck", group="roof", help="material of the deck"
    )
    bearing_length: Length = parameter(
        0.15,
        symbol="a",
        label="bearing length",
        group="roof",
        minimum=0.0,
        maximum=1.5,
        help="how far the deck reaches into the masonry; 0 where it hangs before it",
    )
    roof_insulation_thickness: Length = parameter(
        0.24,
        symbol="d_8",
        label="roof insulation",
        group="roof",
        minimum=0.0,
        maximum=0.6,
        help="thickness of the insulation on the deck",
    )
    roof_insulation_material: MaterialChoice = parameter(
        "expanded polystyrene 0.035",
        symbol="",
        label="roof insulation",
        group="roof",
        help="material of the roof insulation",
    )
    covering_thickness: Length = parameter(
        0.01,
        symbol="d_9",
        label="roof covering",
        group="roof",
        minimum=0.0,
        maximum=0.2,
        help="roof covering on the insulation; 0 for none",
    )
    covering_material: MaterialChoice = parameter(
        "bitumen felt", symbol="", label="roof covering", group="roof", help="material of the roof covering"
    )
    ceiling_thickness: Length = parameter(
        0.015,
        symbol="d_10",
        label="ceiling",
        group="roof",
        minimum=0.0,
        maximum=0.1,
        help="plaster or board below the deck; 0 for none",
    )
    ceiling_material: MaterialChoice = parameter(
        "lime plaster", symbol="", label="ceiling", group="roof", help="material of the ceiling"
    )
    parapet_height: Length = parameter(
        0.4,
        symbol="h_p",
        label="parapet height",
        group="parapet",
        minimum=0.0,
        maximum=2.0,
        help="height of the masonry above the roof covering; counts for a parapet only",
    )
    parapet_insulation_thickness: Length = parameter(
        0.08,
        symbol="t_p",
        label="insulation on the parapet's roof side",
        group="parapet",
        minimum=0.0,
        maximum=0.3,
        help="from the deck up to the masonry's top; 0 for none; counts for a parapet only",
    )
    coping_insulation_thickness: Length = parameter(
        0.05,
        symbol="t_c",
        label="insulation over the parapet's top",
        group="parapet",
        minimum=0.0,
        maximum=0.3,
        help="below the coping, over the parapet's whole width; 0 for none; counts for a parapet only",
    )
    parapet_insulation_material: MaterialChoice = parameter(
        "extruded polystyrene 0.035",
        symbol="",
        label="parapet insulation",
        group="parapet",
        help="material of the insulation on and over the parapet",
    )
    ceiling_resistance: Resistance = parameter(
        0.10,
        symbol="R_si,c",
        label="surface resistance at the ceiling",
        group="conditions",
        minimum=0.01,
        maximum=1.0,
        help="for the heat flow on the ceiling (ISO 6946: 0.10 for heat flow upward)",
    )


class RoofEdge(walls.Conditions, _Shape):
    """Parameters of the roof edge; lengths in metres."""

    def unused(self) -> frozenset[str]:
        """See `Parameters.unused`; the coping's insulation is of the parapet's material."""
        coping = self.coping_insulation_thickness > 0
        return super().unused() - ({"parapet_insulation_material"} if coping else set())


@dataclass(frozen=True, slots=True)
class _Roof:
    """The roof's measures [m].

    Attributes:
        wall: the wall.
        ceiling: thickness of the ceiling.
        layers: deck, insulation and covering, from below.
        parapet: height above the covering, insulation on its roof side and over its top; None for eaves.
        bearing: how far the deck reaches into the masonry.
    """

    wall: Wall
    ceiling: Layer
    layers: tuple[Layer, ...]
    parapet: tuple[float, float, float] | None
    bearing: float

    @property
    def deck(self) -> float:
        """Level of the deck's upper face."""
        return self.layers[0].thickness

    @property
    def top(self) -> float:
        """Level of the roof's upper face."""
        return walls.total(self.layers)

    @property
    def parapet_top(self) -> float:
        """Level of the parapet's masonry, or of the masonry below the eaves' insulation."""
        return self.top + self.parapet[0] if self.parapet else self.deck

    @property
    def edge(self) -> float:
        """Where insulation and covering of the roof end."""
        return self.wall.face + self.parapet[1] if self.parapet else 0.0

    @property
    def low(self) -> float:
        """Cut-off plane through the wall."""
        return -walls.cut_plane(self.ceiling.thickness, self.wall.thickness)

    @property
    def room(self) -> float:
        """Cut-off plane through the roof."""
        return walls.cut_plane(max(self.wall.thickness, self.edge), self.ceiling.thickness + self.top)


def build(parameters: RoofEdge) -> Detail:
    """The roof edge's upright section.

    Args:
        parameters: see `RoofEdge`.

    Raises:
        InputError: parameters do not fit together.
    """
    if parameters.bearing_length > parameters.masonry_thickness + walls.LEAST:
        raise InputError(
            f"the deck bears {1000 * parameters.bearing_length:g} mm in a thinner masonry",
            key="bearing_length",
            right=f"give at most masonry_thickness = {1000 * parameters.masonry_thickness:g} mm",
        )
    section = _upright(parameters, _roof(parameters))
    return Detail("", "roof_edge", (section,), Combination(psi_section=UPRIGHT), notes=NOTES, cautions=CAUTIONS)


def _roof(p: RoofEdge) -> _Roof:
    layers = (
        Layer("deck", p.deck_thickness, p.deck_material, "h", "deck_thickness"),
        Layer(
            "roof insulation",
            p.roof_insulation_thickness,
            p.roof_insulation_material,
            "d_8",
            "roof_insulation_thickness",
        ),
        Layer("roof covering", p.covering_thickness, p.covering_material, "d_9", "covering_thickness"),
    )
    parapet = (p.parapet_height, p.parapet_insulation_thickness, p.coping_insulation_thickness)
    return _Roof(
        walls.wall(p),
        Layer("ceiling", p.ceiling_thickness, p.ceiling_material, "d_10", "ceiling_thickness"),
        layers,
        parapet if p.kind == "parapet" else None,
        p.bearing_length,
    )


def _upright(p: RoofEdge, r: _Roof) -> Section:
    return Section(
        UPRIGHT,
        f"Upright section through the {p.kind}",
        _regions(p, r),
        walls.environments(p),
        _surfaces(p, r),
        _flanking(r),
        airtight=_airtight(r),
        dimensions=_dimensions(r),
        large=True,
        axes="x inward from the outside face, y upward from the deck's underside",
    )


def _regions(p: RoofEdge, r: _Roof) -> tuple[Region, ...]:
    wall, inner = r.wall, r.wall.thickness
    deck, *upper = r.layers
    found = walls.layers_upright(wall.structure, 0.0, (r.low, r.parapet_top))
    found += walls.layers_upright((wall.parge, *wall.lining), wall.face, (r.low, 0.0))
    bearing = (wall.face - r.bearing, 0.0), (r.room, r.deck)
    found.append(walls.rectangle(deck.name, deck.choice, *bearing))
    found.append(walls.rectangle(r.ceiling.name, r.ceiling.choice, (inner, -r.ceiling.thickness), (r.room, 0.0)))
    level = r.deck
    for layer in upper:
        found.append(walls.rectangle(layer.name, layer.choice, (r.edge, level), (r.room, level + layer.thickness)))
        level += layer.thickness
    if r.parapet:
        insulation, high = p.parapet_insulation_material, r.parapet_top
        found += [
            walls.rectangle("parapet insulation", insulation, (wall.face, r.deck), (r.edge, high)),
            walls.rectangle("parapet insulation", insulation, (0.0, high), (r.edge, high + r.parapet[2])),
        ]
    return walls.present(found)


def _surfaces(p: RoofEdge, r: _Roof) -> tuple[Surface, ...]:
    inner, ceiling = r.wall.thickness, -r.ceiling.thickness
    over: tuple[Point, ...] = ((0.0, r.top),)
    if r.parapet:
        high = r.parapet_top + r.parapet[2]
        over = ((0.0, high), (r.edge, high), (r.edge, r.top))
    return (
        walls.outside_surface(p, (0.0, r.low), *over, (r.room, r.top)),
        *walls.inside_surface(p, (inner, r.low), (inner, ceiling)),
        *walls.room_surface(p.ceiling_resistance, p.factor_resistance, (inner, ceiling), (r.room, ceiling)),
    )


def _flanking(r: _Roof) -> tuple[FlankingElement, ...]:
    inner, ceiling = r.wall.thickness, -r.ceiling.thickness
    up, along = ceiling - r.low, r.room - inner
    wall = {"external": r.top - r.low, "internal": up, "overall_internal": up}
    roof = {"external": r.room, "internal": along, "overall_internal": along}
    return (
        FlankingElement("wall", ((0.0, r.low), (inner, r.low)), wall),
        FlankingElement("roof", ((r.room, ceiling), (r.room, r.top)), roof),
    )


def _airtight(r: _Roof) -> tuple[AirtightPiece, ...]:
    if r.wall.airtight == "none":
        return ()
    level = r.wall.airtight_level
    return (
        AirtightPiece(r.wall.airtight, ((level, r.low), (level, 0.0))),
        AirtightPiece("deck", ((level, 0.0), (level, r.deck))),
        AirtightPiece("vapour control layer on the deck", ((level, r.deck), (r.room, r.deck))),
    )


def _dimensions(r: _Roof) -> tuple[Dimension, ...]:
    wall = r.wall
    found = [
        *walls.chain(wall.layers, "bottom", r.low),
        walls.span("d_10", "ceiling_thickness", "right", r.room, (-r.ceiling.thickness, 0.0)),
        *walls.chain(r.layers, "right", r.room),
        walls.span("a", "bearing_length", "top", r.top, (wall.face - r.bearing, wall.face)),
    ]
    if r.parapet:
        high = r.parapet_top
        found += [
            walls.span("h_p", "parapet_height", "left", 0.0, (r.top, high)),
            walls.span("t_c", "coping_insulation_thickness", "left", 0.0, (high, high + r.parapet[2])),
            walls.span("t_p", "parapet_insulation_thickness", "top", high, (wall.face, r.edge)),
        ]
    return walls.drawn(found)


JUNCTION = Junction(
    name="roof_edge",
    title="Flat roof's edge over a masonry wall insulated inside: parapet or eaves",
    description=(
        "The roof insulation on the deck and the wall's inside insulation do not meet: a parapet of masonry stands "
        "between them, or the roof runs over the wall to its outer face. Upright section, cut in wall and roof at "
        "least 1 m and three thicknesses away."
    ),
    parameters=RoofEdge,
    build=build,
)
