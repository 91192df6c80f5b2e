"""A masonry wall lined inside with upright studs, insulation between them, and service battens.

One section in plan, a module of the repeating wall: from a stud's axis to the middle between two studs, both of them
planes of symmetry. x runs along the wall, y into the building. Its L2D over the module's width is the wall's U.
"""

from __future__ import annotations

from typing import Literal

from bridge2d.detail import (
    AirtightPiece,
    Combination,
    Detail,
    Dimension,
    FlankingElement,
    Probe,
    Region,
    RepeatedModule,
    Section,
    WatchedLine,
)
from bridge2d.errors import InputError
from bridge2d.junctions import walls
from bridge2d.junctions.air_layers import air_layer
from bridge2d.junctions.declaration import Junction, Length, MaterialChoice, parameter
from bridge2d.junctions.walls import Layer

PLAN = "plan"
AT_STUD = "over the stud"
LEAST_BETWEEN = 0.02
"""Least clear width between two studs or two battens [m]."""
U_SHARE = 0.0005
"""Half the bracket that is allowed of U [W/(m²·K)]."""
NOTES = (
    (
        "The wall is taken to go on without end: U is L2D of one module over its width. Plates, noggings, double studs "
        "at openings, wall corners and floors are not part of it; each of them adds its own Ψ or share of timber."
    ),
    (
        "The combined method stands beside it with the areas and layers of the very same section. Its limits enclose "
        "the section's U: 1/R' lets no heat cross between the areas, 1/R'' makes every layer's faces equally warm."
    ),
    (
        "Studs and service battens are upright and have one spacing, so that one plan shows both; timber conducts here "
        "across its grain. Battens across the studs make a wall of three dimensions, which no plan shows."
    ),
    (
        "Fixings of studs and battens to the masonry, membranes and mortar joints are not modelled apart. Air counts "
        "as an unventilated layer (ISO 6946, annex D), between battens as a void of their depth and distance."
    ),
)
CAUTIONS = (
    walls.STEADY,
    walls.COLD_MASONRY,
    (
        "Studs near cold masonry can stay wet where driving rain, missing capillary contact or leaking room air bring "
        "water; a steady heat calculation gives no verdict on decay of timber."
    ),
)


class _Framing(walls.Masonry):
    """The masonry and what stands before it."""

    gap_thickness: Length = parameter(
        0.03,
        symbol="g",
        label="gap behind the studs",
        group="framing",
        minimum=0.0,
        maximum=0.3,
        help="between parge coat and studs, so that these stand free; 0 where they stand against the wall",
    )
    gap_filling: Literal["air"] | MaterialChoice = parameter(
        "cellulose, blown",
        symbol="",
        label="gap filled with",
        group="framing",
        help='the insulation that runs on behind the studs, or "air" for an unventilated air layer',
    )
    insulation_thickness: Length = parameter(
        0.1,
        symbol="d_4",
        label="depth of the studs",
        group="framing",
        minimum=0.02,
        maximum=0.4,
        help="of studs and of the insulation between them",
    )
    insulation_material: MaterialChoice = parameter(
        "cellulose, blown",
        symbol="",
        label="insulation",
        group="framing",
        help="material of the insulation between the studs",
    )
    stud_width: Length = parameter(
        0.06,
        symbol="b",
        label="stud width",
        group="framing",
        minimum=0.0,
        maximum=0.3,
        help="of a stud, along the wall; 0 for none",
    )
    stud_spacing: Length = parameter(
        0.625,
        symbol="s",
        label="stud spacing",
        group="framing",
        minimum=0.2,
        maximum=1.5,
        help="distance between the axes of two studs, and of two service battens",
    )
    stud_material: MaterialChoice = parameter(
        "softwood", symbol="", label="studs", group="framing", help="material of the studs"
    )
    airtight_layer: Literal["membrane", "sheathing", "parge coat", "none"] = parameter(
        "membrane",
        symbol="",
        label="airtight layer",
        group="airtight layer",
        help='which layer is airtight: a "membrane" on the studs, the "sheathing" with its joints taped, the '
        '"parge coat" on the masonry, or "none", as found',
    )
    sheathing_thickness: Length = parameter(
        0.0,
        symbol="d_5",
        label="sheathing",
        group="airtight layer",
        minimum=0.0,
        maximum=0.1,
        help="board on the studs' room side; 0 for none",
    )
    sheathing_material: MaterialChoice = parameter(
        "osb", symbol="", label="sheathing", group="airtight layer", help="material of the sheathing"
    )
    cavity_thickness: Length = parameter(
        0.04,
        symbol="d_6",
        label="service cavity",
        group="lining",
        minimum=0.0,
        maximum=0.2,
        help="depth of the service battens; 0 for none",
    )
    cavity_filling: Literal["air"] | MaterialChoice = parameter(
        "wood fibre, flexible",
        symbol="",
        label="service cavity filled with",
        group="lining",
        help='insulation between the service battens, or "air" for an unventilated air layer',
    )
    batten_width: Length = parameter(
        0.05,
        symbol="b_b",
        label="batten width",
        group="lining",
        minimum=0.0,
        maximum=0.3,
        help="of a service batten, along the wall; 0 for none",
    )
    batten_position: Literal["between studs", "in line"] = parameter(
        "between studs",
        symbol="",
        label="position of the battens",
        group="lining",
        help='"between studs", offset by half their spacing, or "in line" with them',
    )
    batten_material: MaterialChoice = parameter(
        "softwood", symbol="", label="service battens", group="lining", help="material of the service battens"
    )
    board_thickness: Length = parameter(
        0.0125,
        symbol="d_7",
        label="lining",
        group="lining",
        minimum=0.0,
        maximum=0.1,
        help="board or plaster on the room side",
    )
    board_material: MaterialChoice = parameter(
        "gypsum plasterboard", symbol="", label="lining", group="lining", help="material of the lining"
    )


class FramedWall(walls.Conditions, _Framing):
    """Parameters of the framed wall; lengths in metres."""


def build(parameters: FramedWall) -> Detail:
    """The plan of one module.

    Args:
        parameters: see `FramedWall`.

    Raises:
        InputError: parameters do not fit together.
    """
    _refuse_misfits(parameters)
    section = _plan(parameters)
    return Detail(
        "",
        "framed_wall",
        (section,),
        Combination(),
        notes=NOTES,
        cautions=CAUTIONS,
        module=RepeatedModule(PLAN, _without(parameters), AT_STUD),
    )


def _refuse_misfits(p: FramedWall) -> None:
    for key, width in (("stud_width", p.stud_width), ("batten_width", _batten_width(p))):
        clear = p.stud_spacing - width
        if clear < LEAST_BETWEEN - 1e-9:
            raise InputError(
                f"{1000 * clear:g} mm stay clear between two of them",
                key=key,
                right=f"{key} may be at most stud_spacing − {1000 * LEAST_BETWEEN:g} mm "
                f"= {1000 * (p.stud_spacing - LEAST_BETWEEN):g} mm",
            )
    needed = {"sheathing": "sheathing_thickness", "parge coat": "parge_thickness"}.get(p.airtight_layer, "")
    if needed and getattr(p, needed) == 0:
        raise InputError(
            f"the airtight layer is the {p.airtight_layer}, and {needed} is 0",
            key="airtight_layer",
            right=f'give {needed}, or airtight_layer = "membrane" or "none"',
        )


def _batten_width(p: FramedWall) -> float:
    """Width of the battens; none without a cavity [m]."""
    return p.batten_width if p.cavity_thickness > 0 else 0.0


def _filling(choice: Literal["air"] | MaterialChoice, thickness: float, width: float | None) -> MaterialChoice:
    return choice if isinstance(choice, MaterialChoice) else MaterialChoice(air_layer(thickness, width=width))


def _layers(p: FramedWall, battens: bool) -> tuple[Layer, ...]:
    """The layers between studs and battens, outermost first; some may have no thickness."""
    batten = _batten_width(p) if battens else 0.0
    cavity = _filling(p.cavity_filling, p.cavity_thickness, p.stud_spacing - batten if batten > 0 else None)
    gap = _filling(p.gap_filling, p.gap_thickness, None)
    return (
        Layer("render", p.render_thickness, p.render_material, "d_1", "render_thickness"),
        Layer("masonry", p.masonry_thickness, p.masonry_material, "d_2", "masonry_thickness"),
        Layer("parge coat", p.parge_thickness, p.parge_material, "d_3", "parge_thickness"),
        Layer("gap", p.gap_thickness, gap, "g", "gap_thickness"),
        Layer("insulation", p.insulation_thickness, p.insulation_material, "d_4", "insulation_thickness"),
        Layer("sheathing", p.sheathing_thickness, p.sheathing_material, "d_5", "sheathing_thickness"),
        Layer("service cavity", p.cavity_thickness, cavity, "d_6", "cavity_thickness"),
        Layer("lining", p.board_thickness, p.board_material, "d_7", "board_thickness"),
    )


def _span(layers: tuple[Layer, ...], name: str) -> tuple[float, float]:
    """Where a layer begins and ends, counted from the outside [m]."""
    before = next(k for k, layer in enumerate(layers) if layer.name == name)
    start = walls.total(layers[:before])
    return start, start + layers[before].thickness


def _plan(p: FramedWall) -> Section:
    layers, middle = _layers(p, battens=True), 0.5 * p.stud_spacing
    thickness = walls.total(layers)
    stud, cavity = _span(layers, "insulation"), _span(layers, "service cavity")
    half, low, high = 0.5 * p.stud_width, *_batten_span(p)
    pieces = [
        walls.rectangle("stud", p.stud_material, (0.0, stud[0]), (half, stud[1])),
        walls.rectangle("batten", p.batten_material, (low, cavity[0]), (high, cavity[1])),
    ]
    return Section(
        PLAN,
        "Plan of one module",
        walls.present([*walls.layers_in_plan(layers, 0.0, (0.0, middle)), *pieces]),
        walls.environments(p),
        (
            walls.outside_surface(p, (0.0, 0.0), (middle, 0.0)),
            *walls.inside_surface(p, (0.0, thickness), (middle, thickness)),
        ),
        probes=(Probe(AT_STUD, (0.0, thickness)),),
        watched=_watched(half, stud[0]),
        airtight=_airtight(p, layers, middle),
        dimensions=_dimensions(p, layers, (low, high)),
        mirrored=True,
        psi_half_width=U_SHARE * p.stud_spacing,
        axes="x along the wall from a stud's axis, y inward from the outside face",
    )


def _batten_span(p: FramedWall) -> tuple[float, float]:
    """Where a batten begins and ends in the half module [m]."""
    half, middle = 0.5 * _batten_width(p), 0.5 * p.stud_spacing
    return (0.0, half) if p.batten_position == "in line" else (middle - half, middle)


def _watched(half: float, level: float) -> tuple[WatchedLine, ...]:
    if half < walls.LEAST:
        return ()
    return (WatchedLine("stud's outer face", ((0.0, level), (half, level))),)


def _airtight(p: FramedWall, layers: tuple[Layer, ...], middle: float) -> tuple[AirtightPiece, ...]:
    if p.airtight_layer == "none":
        return ()
    within = {"membrane": "insulation", "sheathing": "sheathing", "parge coat": "parge coat"}[p.airtight_layer]
    level = _span(layers, within)[1]
    return (AirtightPiece(p.airtight_layer, ((0.0, level), (middle, level))),)


def _dimensions(p: FramedWall, layers: tuple[Layer, ...], batten: tuple[float, float]) -> tuple[Dimension, ...]:
    half, middle, top = 0.5 * p.stud_width, 0.5 * p.stud_spacing, walls.total(layers)
    # The whole batten, though only half of it stands within the module.
    width = (-batten[1], batten[1]) if p.batten_position == "in line" else (batten[0], 2 * middle - batten[0])
    found = [
        *walls.chain(layers, "right", middle),
        walls.span("b", "stud_width", "bottom", 0.0, (-half, half)),
        walls.span("s", "stud_spacing", "bottom", 0.0, (-middle, middle), row=1),
        walls.span("b_b", "batten_width", "top", top, width),
    ]
    return walls.drawn(found)


def _without(p: FramedWall) -> Section:
    """The wall without studs and battens, for its U."""
    layers, middle = _layers(p, battens=False), 0.5 * p.stud_spacing
    thickness = walls.total(layers)
    regions: tuple[Region, ...] = walls.present(walls.layers_in_plan(layers, 0.0, (0.0, middle)))
    cut = ((middle, 0.0), (middle, thickness))
    return Section(
        "without studs",
        "Plan without studs and battens",
        regions,
        walls.environments(p),
        (
            walls.outside_surface(p, (0.0, 0.0), (middle, 0.0)),
            *walls.inside_surface(p, (0.0, thickness), (middle, thickness)),
        ),
        (FlankingElement("wall without studs and battens", cut, symmetric=True),),
    )


JUNCTION = Junction(
    name="framed_wall",
    title="Masonry wall lined inside with insulated studs",
    description=(
        "Repeating upright studs before the masonry, against it or standing free, insulation between them, airtight "
        "layer, service battens in line with the studs or between them, lining. Plan of one module between planes of "
        "symmetry: U of the wall from its section with a bracket, beside the combined method of ISO 6946."
    ),
    parameters=FramedWall,
    build=build,
)
