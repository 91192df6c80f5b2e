"""A timber joist whose end sits in a pocket of an inside-insulated masonry wall.

Three sections: the plan through the joist, from which χ of one joist comes; the upright section between two joists,
from which Ψ of the floor's edge comes; and the upright section through the joist, for the picture and the timber's end.
In plan x runs along the wall and y into the building; in the upright sections x runs inward and y upward.
"""

from __future__ import annotations

from typing import Literal

from bridge2d.detail import Combination, Detail
from bridge2d.errors import InputError
from bridge2d.junctions import joist_sections, walls
from bridge2d.junctions.air_layers import air_layer
from bridge2d.junctions.declaration import (
    Junction,
    Length,
    MaterialChoice,
    Resistance,
    parameter,
)
from bridge2d.junctions.joist_sections import Geometry

AIR = "air"
LEAST_MASONRY = 0.03
"""Least masonry that has to stay behind the pocket [m]."""
LEAST_BETWEEN = 0.02
"""Least masonry that has to stay between two pockets [m]."""

NOTES = (
    (
        "A joist is a three-dimensional junction. It is reduced to two sections: the plan through the joist gives "
        "χ = (L2D − U·s)·h of one joist, as if joist and wall went on unchanged above and below; the upright section "
        "between the joists gives Ψ of the floor's edge, to which χ/s is added."
    ),
    (
        "What the reduction to two dimensions is worth is not bounded: the ± of χ and Ψ is that of the sections alone. "
        "Where χ/s decides whether a limit is kept, a three-dimensional calculation is called for. The lower of both "
        "sections' end temperatures is the one to use."
    ),
    (
        "The air between subfloor and ceiling is taken to be as warm as the room. Where both are tight it is colder "
        "near the wall, and so are the surfaces in it; a higher surface resistance of the bay allows for that where "
        "it is given. The temperature factor of the plan is that of a surface in the bay."
    ),
    (
        "Air gaps round the joist and the service cavity count as unventilated air layers of their own thickness "
        "(ISO 6946, annex D, the gap at the end as a narrow void; emissivities 0.9, mean temperature 10 °C). Battens, "
        "fixings and mortar joints are not modelled apart; the materials' conductivities cover them."
    ),
)
CAUTIONS = (
    (
        "A steady heat calculation says how cold the joist's end is, not how wet. Whether timber in a pocket stays "
        "sound depends on driving rain, masonry, air leakage and time; it gives no verdict on decay. Have the timber "
        "looked at and its moisture measured, and let somebody licensed judge load-bearing parts before they are "
        "closed in."
    ),
    (
        "Inside insulation makes the masonry behind it colder. Moisture and frost of the wall itself need an "
        "assessment of their own."
    ),
    (
        "Foams and membranes in floor zones touch fire compartments and escape routes; local codes decide what may be "
        "used."
    ),
)


class _Joist(walls.WallLayers):
    """The wall's layers, the joist in its pocket and the floor."""

    bay_insulation_thickness: Length = parameter(
        0.1,
        symbol="d_5",
        label="insulation in the floor zone",
        group="floor",
        minimum=0.0,
        maximum=0.5,
        help="insulation on the wall between the joists, from the ceiling's underside to the subfloor's top; 0 where "
        "it stops at the floor, so that subfloor and ceiling run to the parge coat",
    )
    joist_depth: Length = parameter(
        0.22,
        symbol="h",
        label="joist depth",
        group="timber",
        minimum=0.06,
        maximum=0.6,
        help="upright side of the joist's section",
    )
    joist_width: Length = parameter(
        0.08,
        symbol="b",
        label="joist width",
        group="timber",
        minimum=0.02,
        maximum=0.4,
        help="level side of the joist's section",
    )
    joist_spacing: Length = parameter(
        0.65,
        symbol="s",
        label="joist spacing",
        group="timber",
        minimum=0.2,
        maximum=3.0,
        help="distance between the axes of two joists",
    )
    joist_material: MaterialChoice = parameter(
        "softwood",
        symbol="",
        label="joist",
        group="timber",
        help="timber of the joist, solid or laminated; its grain runs along the joist",
    )
    bearing_length: Length = parameter(
        0.15,
        symbol="a",
        label="bearing length",
        group="timber",
        minimum=0.02,
        maximum=1.0,
        help="how far the joist reaches into the masonry",
    )
    pad_thickness: Length = parameter(
        0.0,
        symbol="p",
        label="bearing pad",
        group="timber",
        minimum=0.0,
        maximum=0.1,
        help="pad under the joist's bearing; 0 for none",
    )
    pad_material: MaterialChoice = parameter(
        "hardwood", symbol="", label="bearing pad", group="timber", help="material of the bearing pad"
    )
    end_gap: Length = parameter(
        0.02,
        symbol="e",
        label="gap at the joist's end",
        group="timber",
        minimum=0.0,
        maximum=0.3,
        help="space between the end face and the masonry behind it",
    )
    side_gap: Length = parameter(
        0.01,
        symbol="g",
        label="gap at the joist's sides and top",
        group="timber",
        minimum=0.0,
        maximum=0.1,
        help="space between joist and masonry at either side and above, in the pocket",
    )
    gap_filling: Literal["air"] | MaterialChoice = parameter(
        AIR,
        symbol="",
        label="gaps filled with",
        group="timber",
        help='"air" for unventilated air, or a material such as an insulating mortar',
    )
    subfloor_thickness: Length = parameter(
        0.024,
        symbol="d_8",
        label="subfloor",
        group="floor",
        minimum=0.0,
        maximum=0.3,
        help="boards on the joists; 0 for none",
    )
    subfloor_material: MaterialChoice = parameter(
        "softwood", symbol="", label="subfloor", group="floor", help="material of the subfloor"
    )
    ceiling_thickness: Length = parameter(
        0.025,
        symbol="d_9",
        label="ceiling",
        group="floor",
        minimum=0.0,
        maximum=0.3,
        help="ceiling under the joists; 0 for none",
    )
    ceiling_material: MaterialChoice = parameter(
        "gypsum plaster", symbol="", label="ceiling", group="floor", help="material of the ceiling"
    )
    bay_resistance: Resistance = parameter(
        0.13,
        symbol="R_b",
        label="surface resistance in the bay",
        group="conditions",
        minimum=0.01,
        maximum=2.0,
        help="for the heat flow on the surfaces between subfloor and ceiling; larger where their air stands still",
    )


class JoistPocket(walls.Conditions, _Joist):
    """Parameters of the joist pocket."""


def build(parameters: JoistPocket) -> Detail:
    """The joist pocket's three sections.

    Args:
        parameters: see `JoistPocket`.

    Raises:
        InputError: parameters do not fit together.
    """
    _refuse_misfits(parameters)
    geometry = _geometry(parameters)
    sections = (
        joist_sections.plan(geometry),
        joist_sections.upright_between(geometry),
        joist_sections.upright_through(geometry),
    )
    combination = Combination(
        psi_section=joist_sections.BETWEEN,
        chi_section=joist_sections.PLAN,
        chi_depth=parameters.joist_depth,
        spacing=parameters.joist_spacing,
    )
    return Detail("", "joist_pocket", sections, combination, notes=NOTES, cautions=CAUTIONS)


def _refuse_misfits(p: JoistPocket) -> None:
    behind = p.masonry_thickness - p.bearing_length - p.end_gap
    if behind < LEAST_MASONRY:
        raise InputError(
            f"the pocket leaves {1000 * behind:g} mm of masonry behind it",
            key="bearing_length",
            right=f"bearing_length + end_gap may be at most masonry_thickness − {1000 * LEAST_MASONRY:g} mm "
            f"= {1000 * (p.masonry_thickness - LEAST_MASONRY):g} mm",
        )
    between = p.joist_spacing - p.joist_width - 2 * p.side_gap
    if between < LEAST_BETWEEN:
        raise InputError(
            f"the pockets leave {1000 * between:g} mm of masonry between them",
            key="joist_spacing",
            right=f"joist_spacing has to be at least joist_width + 2 side_gap + {1000 * LEAST_BETWEEN:g} mm "
            f"= {1000 * (p.joist_width + 2 * p.side_gap + LEAST_BETWEEN):g} mm",
        )
    _refuse_no_airtight_layer(p)
    if p.inside_temperature <= p.outside_temperature:
        raise InputError(
            "inside is not warmer than outside",
            key="inside_temperature",
            right="give an inside_temperature above outside_temperature; fRsi and the joist's end are judged in winter",
        )


def _refuse_no_airtight_layer(p: JoistPocket) -> None:
    """Bare masonry is not airtight, neither beside the floor nor in its zone, where a membrane may stop."""
    walls.refuse_bare_masonry(p)
    if p.airtight_layer == "membrane" and p.parge_thickness == 0 and p.bay_insulation_thickness == 0:
        raise InputError(
            "without insulation in the floor zone the membrane stops there, and parge_thickness is 0",
            key="parge_thickness",
            right="give parge_thickness or bay_insulation_thickness; bare masonry is not airtight",
        )


def _geometry(p: JoistPocket) -> Geometry:
    """The parameters with air layers turned into materials."""
    return Geometry(
        render=(p.render_thickness, p.render_material),
        masonry=(p.masonry_thickness, p.masonry_material),
        parge=(p.parge_thickness, p.parge_material),
        insulation=(p.insulation_thickness, p.insulation_material),
        bay_insulation=(p.bay_insulation_thickness, p.insulation_material),
        cavity=(p.cavity_thickness, _filling(p.cavity_filling, p.cavity_thickness)),
        board=(p.board_thickness, p.board_material),
        joist=(p.joist_depth, p.joist_material),
        joist_width=p.joist_width,
        spacing=p.joist_spacing,
        bearing=p.bearing_length,
        pad=(p.pad_thickness, p.pad_material),
        end_gap=(p.end_gap, _filling(p.gap_filling, p.end_gap, p.joist_width + 2 * p.side_gap)),
        side_gap=(p.side_gap, _filling(p.gap_filling, p.side_gap)),
        subfloor=(p.subfloor_thickness, p.subfloor_material),
        ceiling=(p.ceiling_thickness, p.ceiling_material),
        airtight=p.airtight_layer,
        inside=(p.inside_temperature, p.inside_resistance, p.bay_resistance, p.factor_resistance),
        humidity=p.inside_humidity,
        outside=(p.outside_temperature, p.outside_resistance),
    )


def _filling(choice: Literal["air"] | MaterialChoice, thickness: float, width: float | None = None) -> MaterialChoice:
    """The material of a gap; air as a solid that resists like an air layer of that thickness and width [m]."""
    if isinstance(choice, MaterialChoice):
        return choice
    return MaterialChoice(air_layer(thickness, width=width))


JUNCTION = Junction(
    name="joist_pocket",
    title="Joist end in a pocket of an inside-insulated masonry wall",
    description=(
        "A timber joist bears in a pocket of the masonry; the insulation goes inside. Plan through the joist for χ, "
        "upright section between the joists for Ψ of the floor's edge, upright section through the joist for its end."
    ),
    parameters=JoistPocket,
    build=build,
)
