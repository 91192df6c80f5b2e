"""The hatch curb's roof: its parameters and its layers, joists and fill as one equivalent layer.

Part of the step parameters -> detail; `hatch_parameters` adds the hatch. Joists and the fill between them run past the
section out of step with it, so that the combined method of ISO 6946 makes one layer of them.
"""

from __future__ import annotations

from typing import Literal

from bridge2d import units
from bridge2d.errors import InputError
from bridge2d.junctions import walls
from bridge2d.junctions.air_layers import air_layer
from bridge2d.junctions.declaration import Length, MaterialChoice, Parameters, parameter
from bridge2d.junctions.walls import Layer
from bridge2d.materials import Material
from bridge2d.standards import iso_6946

LEAST_BAY = 0.02
"""Least space between two joists [m]."""


class RoofLayers(Parameters):
    """The roof's layers from the weather to the room; lengths in metres."""

    covering_thickness: Length = parameter(
        0.01,
        symbol="d_1",
        label="roof covering",
        group="roof",
        minimum=0.0,
        maximum=0.2,
        help="roof covering; 0 for none",
    )
    covering_material: MaterialChoice = parameter(
        "bitumen felt", symbol="", label="roof covering", group="roof", help="material of the roof covering"
    )
    boards_thickness: Length = parameter(
        0.12,
        symbol="d_2",
        label="insulation above the deck",
        group="roof",
        minimum=0.0,
        maximum=0.5,
        help="boards of insulation between covering and deck; 0 for none",
    )
    boards_material: MaterialChoice = parameter(
        "wood-fibre board, rigid",
        symbol="",
        label="insulation above the deck",
        group="roof",
        help="material of the boards above the deck",
    )
    deck_thickness: Length = parameter(
        0.024,
        symbol="d_3",
        label="deck",
        group="roof",
        minimum=0.005,
        maximum=0.4,
        help="boarding or slab that carries the covering and on which the upstand stands",
    )
    deck_material: MaterialChoice = parameter(
        "softwood", symbol="", label="deck", group="roof", help="material of the deck"
    )
    joist_depth: Length = parameter(
        0.18,
        symbol="h_j",
        label="joist depth",
        group="joists",
        minimum=0.0,
        maximum=0.5,
        help="upright side of the joists or rafters below the deck; 0 where there are none",
    )
    joist_width: Length = parameter(
        0.08,
        symbol="b_j",
        label="joist width",
        group="joists",
        minimum=0.02,
        maximum=0.4,
        help="level side of the joist; with the spacing it gives the share of timber and is not seen in the section",
    )
    joist_spacing: Length = parameter(
        0.65,
        symbol="s",
        label="joist spacing",
        group="joists",
        minimum=0.1,
        maximum=3.0,
        help="distance between the axes of two joists; joists and fill become one equivalent layer (ISO 6946)",
    )
    joist_material: MaterialChoice = parameter(
        "softwood", symbol="", label="joist", group="joists", help="material of the joists"
    )
    joist_fill: Literal["air"] | MaterialChoice = parameter(
        "cellulose, blown",
        symbol="",
        label="fill between the joists",
        group="joists",
        help='insulation between the joists over their whole depth, or "air" for an unventilated air layer',
    )
    trimmer_width: Length = parameter(
        0.08,
        symbol="b_t",
        label="trimmer",
        group="joists",
        minimum=0.0,
        maximum=0.4,
        help="timber that frames the opening in the joists' depth; 0 for none",
    )
    trimmer_material: MaterialChoice = parameter(
        "softwood", symbol="", label="trimmer", group="joists", help="material of the trimmer"
    )
    airtight_layer: Literal["membrane", "none"] = parameter(
        "membrane",
        symbol="",
        label="airtight layer",
        group="lining",
        help='"membrane" below the joists, turned up and taped to the upstand, or "none", as found',
    )
    cavity_thickness: Length = parameter(
        0.0,
        symbol="d_4",
        label="service cavity",
        group="lining",
        minimum=0.0,
        maximum=0.2,
        help="between membrane and lining; 0 for none",
    )
    cavity_filling: Literal["air"] | MaterialChoice = parameter(
        "air",
        symbol="",
        label="service cavity filled with",
        group="lining",
        help='"air" for an unventilated air layer with heat flow upward, or a material',
    )
    lining_thickness: Length = parameter(
        0.0125,
        symbol="d_5",
        label="lining of the ceiling",
        group="lining",
        minimum=0.0,
        maximum=0.1,
        help="board or plaster on the room side; 0 for none",
    )
    lining_material: MaterialChoice = parameter(
        "gypsum plasterboard", symbol="", label="lining", group="lining", help="material of the ceiling's lining"
    )


def roof_layers(p: RoofLayers, resistances: tuple[float, float]) -> tuple[Layer, ...]:
    """Lining, service cavity, joists with fill, deck, boards and covering, from below.

    Args:
        p: see `RoofLayers`.
        resistances: of the ceiling and of the outside, for the heat flow [m²·K/W].

    Raises:
        InputError: joists and fill make no equivalent layer.
    """
    cavity = p.cavity_filling
    if not isinstance(cavity, MaterialChoice):
        cavity = MaterialChoice(air_layer(p.cavity_thickness, "up"))
    lining = Layer("lining", p.lining_thickness, p.lining_material, "d_5", "lining_thickness")
    service = Layer("service cavity", p.cavity_thickness, cavity, "d_4", "cavity_thickness")
    deck = Layer("deck", p.deck_thickness, p.deck_material, "d_3", "deck_thickness")
    boards = Layer("insulation above the deck", p.boards_thickness, p.boards_material, "d_2", "boards_thickness")
    covering = Layer("roof covering", p.covering_thickness, p.covering_material, "d_1", "covering_thickness")
    others = (lining, service, deck, boards, covering)
    joists = Layer("joists and fill", p.joist_depth, _equivalent(p, others, resistances), "h_j", "joist_depth")
    return lining, service, joists, deck, boards, covering


def _equivalent(p: RoofLayers, others: tuple[Layer, ...], resistances: tuple[float, float]) -> MaterialChoice:
    """The material that makes of joists and fill one layer with which the roof has its R of the combined method."""
    if p.joist_depth < walls.LEAST:
        return p.joist_material
    _refuse_no_bay(p)
    fill = p.joist_fill
    bay = p.joist_spacing - p.joist_width
    filling = fill.material if isinstance(fill, MaterialChoice) else air_layer(p.joist_depth, "up", bay)
    share = p.joist_width / p.joist_spacing
    plane = [(o.thickness / o.choice.material.conductivity,) * 2 for o in others if o.thickness >= walls.LEAST]
    areas = tuple(p.joist_depth / material.conductivity for material in (p.joist_material.material, filling))
    try:
        combined = iso_6946.combined_method((share, 1 - share), (*plane, areas), *resistances)
    except ValueError as error:
        raise InputError(
            f"joists and fill make no equivalent layer: {error}",
            key="joist_material",
            right="give joists and fill whose conductivities differ less; metal joists are beyond the combined method",
        ) from None
    rest = iso_6946.total_resistance([first for first, _ in plane], *resistances)
    conductivity = iso_6946.equivalent_conductivity(p.joist_depth, combined.total - rest)
    return MaterialChoice(
        Material(
            f"{p.joist_material.material.name} joists with {filling.name}",
            conductivity,
            group=filling.group,
            hatch=filling.hatch,
            source=(
                f"ISO 6946:2017, 6.7.2, combined method: joists {100 * share:.1f} % of the area at "
                f"{units.plain(p.joist_material.material.conductivity)}, fill at {units.plain(filling.conductivity)} "
                f"W/(m·K), of the roof R' = {combined.upper:.3f} and R'' = {combined.lower:.3f} m²·K/W; computed"
            ),
            read=False,
        )
    )


def _refuse_no_bay(p: RoofLayers) -> None:
    least = p.joist_width + LEAST_BAY
    if p.joist_spacing < least - walls.LEAST:
        raise InputError(
            f"joists {1000 * p.joist_width:g} mm wide at {1000 * p.joist_spacing:g} mm leave no space for a fill",
            key="joist_spacing",
            right=f"joist_spacing has to be at least joist_width + {1000 * LEAST_BAY:g} mm = {1000 * least:g} mm",
        )
    if not isinstance(p.joist_fill, MaterialChoice) and p.joist_depth > iso_6946.GREATEST_AIR_LAYER:
        limit = 1000 * iso_6946.GREATEST_AIR_LAYER
        raise InputError(
            f"an air layer of {1000 * p.joist_depth:g} mm between the joists is no air layer",
            key="joist_fill",
            right=f"give a material, or a joist_depth of at most {limit:g} mm (ISO 6946)",
        )
