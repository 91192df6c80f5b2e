"""Walls insulated inside: their parameters, their layers, and what every section with such a wall is drawn of.

Part of the step parameters -> detail. A junction takes `WallLayers` and `Conditions` into its own parameters, makes a
`Wall` of them, and draws it with the pieces below. In plan x runs along the wall and y into the building; in upright
sections x runs into the building and y upward. Distances across the wall count from its outer face.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from bridge2d.detail import Dimension, Environment, Point, Region, Surface
from bridge2d.errors import InputError
from bridge2d.junctions.air_layers import air_layer
from bridge2d.junctions.declaration import (
    Length,
    MaterialChoice,
    Parameters,
    Ratio,
    Resistance,
    Temperature,
    parameter,
)
from bridge2d.standards import iso_10211

OUTSIDE, INSIDE = "outside", "inside"
LEAST = 1e-6
"""What is thinner or shorter than this is not there [m]."""
COLD_MASONRY = (
    "Inside insulation makes the masonry behind it colder. Moisture and frost of the wall itself need an "
    "assessment of their own."
)
STEADY = (
    "Furniture and curtains in front of a surface make it colder than fRsi says. A steady heat calculation gives no "
    "verdict on mould in use, on fire or on structure."
)
AS_GIVEN = (
    "Battens, fixings and mortar joints are not modelled apart; the materials' conductivities cover them. A service "
    "cavity with air counts as an unventilated air layer of its thickness (ISO 6946, annex D)."
)


class Masonry(Parameters):
    """Layers of a masonry wall as found, outermost first; lengths in metres."""

    render_thickness: Length = parameter(
        0.0,
        symbol="d_1",
        label="outside render",
        group="masonry",
        minimum=0.0,
        maximum=0.1,
        help="thickness of the render on the outside; 0 for fair-faced masonry",
    )
    render_material: MaterialChoice = parameter(
        "lime-cement plaster", symbol="", label="render", group="masonry", help="material of the outside render"
    )
    masonry_thickness: Length = parameter(
        0.38,
        symbol="d_2",
        label="masonry",
        group="masonry",
        minimum=0.1,
        maximum=1.5,
        help="thickness of the masonry without render and plaster",
    )
    masonry_material: MaterialChoice = parameter(
        "solid brick, old, 1600", symbol="", label="masonry", group="masonry", help="material of the masonry"
    )
    parge_thickness: Length = parameter(
        0.015,
        symbol="d_3",
        label="parge coat",
        group="masonry",
        minimum=0.0,
        maximum=0.05,
        help="levelling plaster on the inside of the masonry; 0 for none",
    )
    parge_material: MaterialChoice = parameter(
        "parge coat, lime-cement", symbol="", label="parge coat", group="masonry", help="material of the parge coat"
    )


class WallLayers(Masonry):
    """Layers of a masonry wall insulated inside, outermost first; lengths in metres."""

    insulation_thickness: Length = parameter(
        0.1,
        symbol="d_4",
        label="inside insulation",
        group="insulation",
        minimum=0.0,
        maximum=0.5,
        help="thickness of the insulation on the wall; 0 for none",
    )
    insulation_material: MaterialChoice = parameter(
        "mineral foam board", symbol="", label="insulation", group="insulation", help="material of the insulation"
    )
    airtight_layer: Literal["membrane", "parge coat", "none"] = parameter(
        "parge coat",
        symbol="",
        label="airtight layer",
        group="insulation",
        help='which layer is airtight: "parge coat", a "membrane" on the room side of the insulation, or "none", '
        "as found",
    )
    cavity_thickness: Length = parameter(
        0.0,
        symbol="d_6",
        label="service cavity",
        group="lining",
        minimum=0.0,
        maximum=0.2,
        help="cavity for services between insulation and board; 0 for none",
    )
    cavity_filling: Literal["air"] | MaterialChoice = parameter(
        "air",
        symbol="",
        label="service cavity filled with",
        group="lining",
        help='"air" for an unventilated air layer, or a material',
    )
    board_thickness: Length = parameter(
        0.015,
        symbol="d_7",
        label="board or plaster",
        group="lining",
        minimum=0.0,
        maximum=0.1,
        help="finish on the room side",
    )
    board_material: MaterialChoice = parameter(
        "lime plaster", symbol="", label="finish", group="lining", help="material of the finish"
    )


class Conditions(Parameters):
    """Temperatures [°C] and surface resistances [m²·K/W] on both sides."""

    inside_temperature: Temperature = parameter(
        20.0,
        symbol="θ_i",
        label="inside temperature",
        group="conditions",
        minimum=-50.0,
        maximum=60.0,
        help="temperature of all rooms",
    )
    inside_humidity: Ratio = parameter(
        0.5,
        symbol="φ_i",
        label="relative humidity inside",
        group="conditions",
        minimum=0.05,
        maximum=0.95,
        help="of the room air, for the dew point that the airtight layer is compared with; 0.5 is 50 %",
    )
    outside_temperature: Temperature = parameter(
        -5.0,
        symbol="θ_e",
        label="outside temperature",
        group="conditions",
        minimum=-60.0,
        maximum=60.0,
        help="temperature outside",
    )
    inside_resistance: Resistance = parameter(
        0.13,
        symbol="R_si",
        label="surface resistance inside",
        group="conditions",
        minimum=0.01,
        maximum=1.0,
        help="for the heat flow on all surfaces of the room (ISO 6946: 0.13 for walls and where the direction varies)",
    )
    outside_resistance: Resistance = parameter(
        0.04,
        symbol="R_se",
        label="surface resistance outside",
        group="conditions",
        minimum=0.01,
        maximum=1.0,
        help="on the outside (ISO 6946: 0.04)",
    )
    factor_resistance: Resistance = parameter(
        0.25,
        symbol="R_si,f",
        label="surface resistance for fRsi",
        group="conditions",
        minimum=0.01,
        maximum=2.0,
        help="inside, for the temperature factor (ISO 13788: 0.25 for opaque surfaces)",
    )


# -- the wall --------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Layer:
    """One layer: its name, thickness [m], material, and the symbol and name of the parameter that it comes from."""

    name: str
    thickness: float
    choice: MaterialChoice
    symbol: str = ""
    parameter: str = ""


@dataclass(frozen=True, slots=True)
class Wall:
    """A wall's layers, outermost first; some may have no thickness.

    Attributes:
        structure: render and masonry.
        parge: parge coat on the masonry.
        insulation: inside insulation.
        finish: service cavity and board.
        airtight: "membrane", "parge coat" or "none".
    """

    structure: tuple[Layer, ...]
    parge: Layer
    insulation: Layer
    finish: tuple[Layer, ...]
    airtight: str

    @property
    def face(self) -> float:
        """Distance of the masonry's inner face from the outside [m]."""
        return total(self.structure)

    @property
    def parge_face(self) -> float:
        """Distance of the parge coat's inner face from the outside [m]."""
        return self.face + self.parge.thickness

    @property
    def insulation_face(self) -> float:
        """Distance of the insulation's inner face from the outside [m]."""
        return self.parge_face + self.insulation.thickness

    @property
    def thickness(self) -> float:
        """Thickness of the whole wall [m]."""
        return self.insulation_face + total(self.finish)

    @property
    def airtight_level(self) -> float:
        """Distance of the airtight layer from the outside [m]."""
        return self.insulation_face if self.airtight == "membrane" else self.parge_face

    @property
    def board(self) -> Layer:
        """The innermost layer."""
        return self.finish[-1]

    @property
    def lining(self) -> tuple[Layer, ...]:
        """What stands on the parge coat: insulation, service cavity, board."""
        return (self.insulation, *self.finish)

    @property
    def layers(self) -> tuple[Layer, ...]:
        """All layers."""
        return (*self.structure, self.parge, *self.lining)


def refuse_bare_masonry(p: WallLayers) -> None:
    """Bare masonry is not airtight: where the layer is a parge coat, there has to be one.

    Args:
        p: see `WallLayers`.

    Raises:
        InputError: there is none.
    """
    if p.airtight_layer == "parge coat" and p.parge_thickness == 0:
        raise InputError(
            "the airtight layer is a parge coat, and parge_thickness is 0",
            key="airtight_layer",
            right='give parge_thickness, or airtight_layer = "membrane" or "none"; bare masonry is not airtight',
        )


def wall(p: WallLayers) -> Wall:
    """The wall that the parameters describe.

    Args:
        p: see `WallLayers`.

    Raises:
        InputError: its airtight layer is a parge coat that it has not.
    """
    refuse_bare_masonry(p)
    filling = p.cavity_filling
    cavity = filling if isinstance(filling, MaterialChoice) else MaterialChoice(air_layer(p.cavity_thickness))
    return Wall(
        (
            Layer("render", p.render_thickness, p.render_material, "d_1", "render_thickness"),
            Layer("masonry", p.masonry_thickness, p.masonry_material, "d_2", "masonry_thickness"),
        ),
        Layer("parge coat", p.parge_thickness, p.parge_material, "d_3", "parge_thickness"),
        Layer("insulation", p.insulation_thickness, p.insulation_material, "d_4", "insulation_thickness"),
        (
            Layer("service cavity", p.cavity_thickness, cavity, "d_6", "cavity_thickness"),
            Layer("board", p.board_thickness, p.board_material, "d_7", "board_thickness"),
        ),
        p.airtight_layer,
    )


def total(layers: Iterable[Layer]) -> float:
    """Thickness of layers together [m].

    Args:
        layers: the layers.
    """
    return math.fsum(layer.thickness for layer in layers)


# -- regions, surfaces, dimensions -----------------------------------------------------------------------------------


def rectangle(name: str, choice: MaterialChoice, low: Point, high: Point) -> Region | None:
    """A rectangle of a material, or None where it has no area.

    Args:
        name: what the drawing calls it.
        choice: its material.
        low: lower left corner [m].
        high: upper right corner [m].
    """
    if high[0] - low[0] < LEAST or high[1] - low[1] < LEAST:
        return None
    corners = (low, (high[0], low[1]), high, (low[0], high[1]))
    return Region(name, choice.material, corners, basis=choice.basis)


def present(regions: Iterable[Region | None]) -> tuple[Region, ...]:
    """The regions that have an area.

    Args:
        regions: regions, None where one has none.
    """
    return tuple(region for region in regions if region is not None)


def layers_in_plan(layers: Sequence[Layer], at: float, ends: tuple[float, float]) -> list[Region | None]:
    """Layers one behind the other along y.

    Args:
        layers: outermost first.
        at: where the first begins [m].
        ends: least and greatest x [m].
    """
    regions = []
    for layer in layers:
        regions.append(rectangle(layer.name, layer.choice, (ends[0], at), (ends[1], at + layer.thickness)))
        at += layer.thickness
    return regions


def layers_upright(layers: Sequence[Layer], at: float, ends: tuple[float, float]) -> list[Region | None]:
    """Layers one behind the other along x.

    Args:
        layers: outermost first.
        at: where the first begins [m].
        ends: least and greatest y [m].
    """
    regions = []
    for layer in layers:
        regions.append(rectangle(layer.name, layer.choice, (at, ends[0]), (at + layer.thickness, ends[1])))
        at += layer.thickness
    return regions


def line(*points: Point) -> tuple[Point, ...]:
    """A line without legs of no length.

    Args:
        points: its points [m].
    """
    kept = [points[0]]
    for point in points[1:]:
        if abs(point[0] - kept[-1][0]) + abs(point[1] - kept[-1][1]) > LEAST:
            kept.append(point)
    return tuple(kept)


def room_surface(resistance: float, factor_resistance: float, *points: Point) -> tuple[Surface, ...]:
    """A surface of the rooms; none where the line has no length.

    Args:
        resistance: for the heat flow [m²·K/W].
        factor_resistance: for the temperature factor; the greater of both counts there [m²·K/W].
        points: along the outline [m].
    """
    edge = line(*points)
    return (Surface(INSIDE, edge, resistance, max(resistance, factor_resistance)),) if len(edge) > 1 else ()


def inside_surface(c: Conditions, *points: Point) -> tuple[Surface, ...]:
    """A surface of the rooms with the walls' surface resistance; none where the line has no length.

    Args:
        c: the conditions.
        points: along the outline [m].
    """
    return room_surface(c.inside_resistance, c.factor_resistance, *points)


def outside_surface(c: Conditions, *points: Point) -> Surface:
    """A surface to the outside.

    Args:
        c: the conditions.
        points: along the outline [m].
    """
    return Surface(OUTSIDE, line(*points), c.outside_resistance, c.outside_resistance)


def environments(c: Conditions) -> tuple[Environment, Environment]:
    """Outside and inside.

    Args:
        c: the conditions.

    Raises:
        InputError: inside is not warmer than outside.
    """
    if c.inside_temperature <= c.outside_temperature:
        raise InputError(
            "inside is not warmer than outside",
            key="inside_temperature",
            right="give an inside_temperature above outside_temperature; fRsi is judged in winter",
        )
    inside = Environment(INSIDE, c.inside_temperature, c.inside_humidity)
    return Environment(OUTSIDE, c.outside_temperature), inside


def up(value: float) -> float:
    """A length rounded up to a centimetre [m].

    Args:
        value: the length [m].
    """
    return math.ceil(round(value * 100, 6)) / 100


def cut_plane(end: float, thickness: float) -> float:
    """Where the cut-off plane of a plane element stands, on a whole centimetre [m].

    Args:
        end: where the element begins to run undisturbed [m].
        thickness: of the element [m].
    """
    return up(end + iso_10211.cut_off_distance(round(thickness, 6)))


def chain(
    layers: Iterable[Layer], side: Literal["top", "bottom", "left", "right"], place: float, at: float = 0.0
) -> tuple[Dimension, ...]:
    """A chain of dimensions across layers.

    Args:
        layers: in the order of x or y.
        side: side of the section that it stands on.
        place: coordinate along the layers at which it measures [m].
        at: where the first layer begins [m].
    """
    found = []
    for layer in layers:
        ends = (at, at + layer.thickness)
        if layer.thickness >= LEAST:
            found.append(span(layer.symbol, layer.parameter, side, place, ends))
        at += layer.thickness
    return tuple(found)


def span(
    symbol: str,
    name: str,
    side: Literal["top", "bottom", "left", "right"],
    place: float,
    ends: tuple[float, float],
    row: int = 0,
) -> Dimension:
    """One dimension.

    Args:
        symbol: of the parameter.
        name: of the parameter.
        side: side of the section that it stands on.
        place: coordinate along the side's normal at which it measures [m].
        ends: between which it measures [m].
        row: 0 for the chain next to the section.
    """
    start, end = ((e, place) if side in ("top", "bottom") else (place, e) for e in ends)
    return Dimension(start, end, symbol, side, row, name)


def drawn(dimensions: Iterable[Dimension]) -> tuple[Dimension, ...]:
    """The dimensions that measure something.

    Args:
        dimensions: all.
    """
    return tuple(d for d in dimensions if abs(d.start[0] - d.end[0]) + abs(d.start[1] - d.end[1]) >= LEAST)
