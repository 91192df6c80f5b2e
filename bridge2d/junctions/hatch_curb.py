"""A roof hatch on its upstand in an insulated flat or low roof.

Parameters -> detail: half a section from the lid's middle into the undisturbed roof. `hatch_roof` and
`hatch_parameters` declare, `hatch_measures` and `hatch_section` draw; here stand what does not fit together and what
the model leaves out.
"""

from __future__ import annotations

from bridge2d.detail import Combination, Detail, Hatch
from bridge2d.errors import InputError
from bridge2d.junctions.declaration import Junction
from bridge2d.junctions.hatch_frame import computed_frame, visible, with_panel
from bridge2d.junctions.hatch_measures import Measures, measures
from bridge2d.junctions.hatch_parameters import HatchCurb
from bridge2d.junctions.hatch_section import (
    FRAME,
    LID,
    LID_FRAME,
    NAME,
    PARTS_OF_GLASS,
    REVEAL,
    UNDERSIDE,
    half_section,
)
from bridge2d.junctions.material_choice import MaterialChoice
from bridge2d.junctions.walls import LEAST

METAL = 10.0
"""A material that conducts better than this is a metal [W/(m·K)]."""
GREATEST_SHEET, GREATEST_SHELL = 0.01, 0.03
"""Greatest thickness of a sheet of metal and of a shell of GRP [m]: neither is a solid block."""
GREATEST_BLOCK = 1.0
"""Greatest conductivity of a block that stands for frame or glazing [W/(m·K)]: that of glass (ISO 10077-2)."""
LEAST_PANE = 0.05
"""Least half width of the glazing [m]."""
LEAST_LID = 0.001
"""Least thickness of a lid [m]."""
LEAST_CORE = 0.005
"""Least thickness of a sandwich's core [m]."""

NOTES = (
    (
        "Ψ = L2D − U·l of the roof − U·l of the lid. Internal and overall internal lengths meet at the clear opening's "
        "edge, the finished face of the reveal; external ones at the outer face of the upstand with its insulation, up "
        "to which the lid counts with the U of its middle. The loss of the whole hatch takes the internal Ψ, the clear "
        "size and its perimeter; the roof's area is then that without the clear opening."
    ),
    (
        "All four sides count with the Ψ of this section, whose lid is cut across the clear width. The four corners "
        "are three-dimensional and are not included, nor are hinges, locks, openers, fixings and dome shapes."
    ),
    (
        "Joists and the fill between them are one equivalent layer (ISO 6946, combined method), which conducts "
        "alike in every direction; the joist that may run beside the trimmer is not drawn."
    ),
    (
        "The lid reaches to the outer face of the upstand's outside insulation. Flashings, the covering turned up on "
        "the upstand and drips have no thickness."
    ),
    (
        "Heat flows upward: the level faces of ceiling and lid have Rsi 0.10, upright ones 0.13 m²·K/W, unless other "
        "values are given. For the temperature factor frame and glazing have 0.13 (ISO 13788), ceiling, reveal and an "
        "opaque lid the value given for opaque surfaces."
    ),
)
OPAQUE = (
    "U of the lid is that of its middle by its layers. Its edge profile, frame and gaskets are in Ψ; the joint between "
    "the gaskets is an air cavity of ISO 10077-2, slightly ventilated where there is one gasket only."
)
GLAZED = (
    "The glazing is a panel of its thickness with Ug for Rsi 0.13 and Rse 0.04 m²·K/W (ISO 10077-1); with the Rsi of "
    "this section it loses a little more. U of the lid adds glazing, visible frame and Ψg of the edge over the clear "
    "size. The spacer is not in the temperatures on frame and glazing. In the corners between reveal, frame and "
    "glazing Rsi is 0.20 m²·K/W over the depth of the protrusion, at most 30 mm (ISO 10077-2, annex B, remembered)."
)
OF_BLOCK = (
    "The lid's frame is a block of its depth over the upstand's whole width with Uf, for Rsi 0.13 and Rse 0.04 m²·K/W "
    "(ISO 10077-1). Gaskets and thermal break are within Uf."
)
OF_POLYGONS = (
    "The lid's frame is drawn by its polygons. The conductivities of its cavities are computed in the frame with a "
    "panel in place of the glazing, 20 °C inside and 0 °C outside, its outer edge adiabatic, which also makes Uf over "
    "the frame's whole width (ISO 10077-2:2012, for heat flow through an upright frame; here with the surface "
    "resistances of this hatch), and are the same in the half section; all brackets are those for these frozen "
    "conductivities. Uf counts for what of the frame lies in the clear opening; the rest is in Ψ."
)
CAUTIONS = (
    (
        "Hatches, foams and plastics in the roof's opening touch compartments, the spread of fire over the roof, smoke "
        "outlets and escape routes. What may be used there, and which hatch must open for smoke or escape, is for the "
        "local code and licensed practice to say."
    ),
    (
        "Warm moist air rises to the hatch, and mould and condensation begin there. Metal skins, sheets and profiles "
        "that reach from inside to outside are the coldest places; water drips from them before mould grows, and a "
        "leaking gasket makes it worse than any number here."
    ),
    (
        "Whether timber of the roof stays dry between membrane and covering depends on its layers, on the airtight "
        "layer and on the rain of its building time; that needs an assessment of its own."
    ),
    "Loads on trimmers, lid and upstand, such as snow and wind, are for somebody licensed to judge.",
)


def build(parameters: HatchCurb) -> Detail:
    """The hatch curb's half section.

    Args:
        parameters: see `HatchCurb`.

    Raises:
        InputError: parameters do not fit together.
    """
    m = measures(parameters)
    _refuse_misfits(parameters, m)
    of_lid = (OPAQUE,) if m.pane is None else (GLAZED, OF_POLYGONS if m.shape else OF_BLOCK)
    sections = (half_section(m), with_panel(m)) if m.shape else (half_section(m),)
    return Detail(
        "",
        "hatch_curb",
        sections,
        Combination(psi_section=NAME),
        notes=(*NOTES, *of_lid),
        cautions=CAUTIONS,
        hatch=_hatch(m),
        frame=computed_frame(m),
    )


def _hatch(m: Measures) -> Hatch:
    """What the whole hatch is made of, within its clear size."""
    p = m.p
    frame = visible(m)
    width, length = p.clear_width - 2 * frame, p.clear_length - 2 * frame
    areas = [(LID, width * length)]
    if frame:
        areas.append((LID_FRAME, p.clear_width * p.clear_length - width * length))
    opaque = max(p.factor_resistance, p.inside_resistance)
    glazed = m.pane is not None
    surfaces = (
        (FRAME, max(PARTS_OF_GLASS, p.inside_resistance)),
        (REVEAL, opaque),
        (UNDERSIDE, max(PARTS_OF_GLASS if glazed else p.factor_resistance, p.ceiling_resistance)),
    )
    edge = (p.edge_transmittance, 2 * (width + length)) if glazed else None
    computed = (LID_FRAME, frame) if m.shape and frame else None
    return Hatch(p.clear_width, p.clear_length, tuple(areas), edge, surfaces, computed)


# -- what does not fit together --------------------------------------------------------------------------------------


def _refuse_misfits(p: HatchCurb, m: Measures) -> None:
    _refuse_upstand(p, m)
    if m.pane is None:
        _refuse_frame(p, m)
        _refuse_opaque_lid(p)
    else:
        _refuse_glazed_lid(p, m)


def _mm(metres: float) -> str:
    return f"{round(1000 * metres, 3):g} mm"


def _refuse_upstand(p: HatchCurb, m: Measures) -> None:
    """Sheets and shells are thin, a sandwich has a core, and the lid lies above the ceiling."""
    greatest = {"steel": GREATEST_SHEET, "aluminium": GREATEST_SHEET, "grp": GREATEST_SHELL}.get(p.upstand_kind)
    if greatest is None and m.upstand.material.conductivity > METAL:
        greatest = GREATEST_SHEET
    if greatest is not None and p.upstand_thickness > greatest + LEAST:
        raise InputError(
            f"an upstand of {_mm(p.upstand_thickness)} would be a solid block of {m.upstand.material.name}",
            key="upstand_thickness",
            right=f"give at most {_mm(greatest)} for that kind, and insulation on either side by its own parameters",
        )
    least = 2 * p.upstand_skin_thickness + LEAST_CORE
    if p.upstand_kind == "sandwich" and p.upstand_thickness < least - LEAST:
        raise InputError(
            f"a sandwich of {_mm(p.upstand_thickness)} has no core between skins of {_mm(p.upstand_skin_thickness)}",
            key="upstand_thickness",
            right=f"upstand_thickness has to be at least 2 upstand_skin_thickness + {_mm(LEAST_CORE)} = {_mm(least)}",
        )
    if m.curb < m.low - LEAST:
        raise InputError(
            f"the lid would hang {_mm(m.low - m.curb)} below the ceiling",
            key="upstand_height",
            right=f"upstand_height may be as low as {_mm(m.low - m.top)}, where the upstand's top lies at the ceiling",
        )


def _refuse_frame(p: HatchCurb, m: Measures) -> None:
    """Frame, break and gaskets fit on the upstand."""
    _refuse_block("frame_height", p.frame_height, p.frame_material)
    if p.frame_height >= LEAST and p.frame_break_width > m.width - LEAST:
        raise InputError(
            f"the thermal break is {_mm(p.frame_break_width)} wide in a frame of {_mm(m.width)}",
            key="frame_break_width",
            right=f"give less than {_mm(m.width)}, the width of upstand, insulation and lining together",
        )
    if p.gasket_height >= LEAST and p.gaskets * p.gasket_width > m.width + LEAST:
        raise InputError(
            f"gaskets of {_mm(p.gasket_width)} do not fit on an upstand of {_mm(m.width)}",
            key="gasket_width",
            right=f"gaskets × gasket_width may be at most {_mm(m.width)}, upstand, insulation and lining together",
        )


def _refuse_block(key: str, thickness: float, choice: MaterialChoice) -> None:
    """Metal frames, skins and profiles are sheets."""
    if thickness > GREATEST_SHEET + LEAST and choice.material.conductivity > METAL:
        raise InputError(
            f"{_mm(thickness)} of {choice.material.name} would be a solid block of metal",
            key=key,
            right=f"metal may be {_mm(GREATEST_SHEET)} thick there, as a sheet; a hollow profile is a free_section",
        )


def _refuse_opaque_lid(p: HatchCurb) -> None:
    _refuse_block("outer_skin_thickness", p.outer_skin_thickness, p.outer_skin_material)
    _refuse_block("inner_skin_thickness", p.inner_skin_thickness, p.inner_skin_material)
    _refuse_block("core_thickness", p.core_thickness, p.core_material)
    if p.outer_skin_thickness + p.core_thickness + p.inner_skin_thickness < LEAST_LID - LEAST:
        raise InputError(
            "the lid has no thickness",
            key="core_thickness",
            right=f"outer_skin_thickness + core_thickness + inner_skin_thickness is at least {_mm(LEAST_LID)}",
        )
    if p.edge_profile == "none" or p.core_thickness < LEAST:
        return
    _refuse_block("edge_thickness", p.edge_thickness, p.edge_material)
    if p.edge_profile == "broken" and p.edge_break_height > p.core_thickness + LEAST:
        raise InputError(
            f"the break in the edge profile is {_mm(p.edge_break_height)} high in a core of {_mm(p.core_thickness)}",
            key="edge_break_height",
            right=f"edge_break_height may be at most core_thickness = {_mm(p.core_thickness)}",
        )


def _refuse_glazed_lid(p: HatchCurb, m: Measures) -> None:
    """The glazing lies within the frame, something of it is seen, and no block conducts better than glass."""
    depth = m.shape.depth if m.shape else p.lid_frame_depth
    if p.glazing_thickness > depth + LEAST:
        raise InputError(
            f"a glazing of {_mm(p.glazing_thickness)} in a frame of {_mm(depth)}",
            key="glazing_thickness",
            right=f"glazing_thickness may be at most lid_frame_depth = {_mm(depth)}",
        )
    if p.pane[1] > depth + LEAST:
        raise InputError(
            f"the glazing stands out of the frame by {_mm(p.pane[1] - depth)}",
            key="glazing_setback",
            right=f"glazing_setback may be at most {_mm(depth - p.glazing_thickness)}, or left out",
        )
    projection = m.clear - m.seen
    least = 2 * (projection + LEAST_PANE)
    for key, size in (("clear_width", p.clear_width), ("clear_length", p.clear_length)):
        if size < least - LEAST:
            raise InputError(
                f"{_mm(size)} leave no glazing between two sides of the frame",
                key=key,
                right=f"{key} has to be at least 2 lid_frame_projection + {_mm(2 * LEAST_PANE)} = {_mm(least)}",
            )
    blocks = [] if m.shape else [("frame_transmittance", m.lid[0].choice, p.frame_transmittance)]
    if m.pane is not None:
        blocks.append(("glazing_transmittance", m.pane.choice, p.glazing_transmittance))
    for key, choice, value in blocks:
        if choice.material.conductivity > GREATEST_BLOCK:
            raise InputError(
                f"a block with U = {value:g} W/(m²·K) would conduct better than glass all through",
                key=key,
                right="give a lower U, or the true depth; a frame of metal without a thermal break is no block",
            )


FRAME_EXAMPLE = """
# -- frame of a glazed lid by polygons --

# Instead of lid_frame_projection, lid_frame_depth and frame_transmittance: the frame's regions, with the keys of a free
# section's. Corners are in the frame's own coordinates, in millimetres: x from the outer edge of the frame toward the
# glazing, y from the upper face downward; (0, 0) is the outer edge's upper corner. The lower face lies level on the
# upstand with its insulation and lining; beyond it the frame stands into the clear opening, and may reach down there.
# Polygons touch, or lie wholly within earlier ones. The glazing lies over them, glazing_rebate deep. These blocks stand
# behind all parameters, with lid_kind = "glazed".
# [[parameters.frame]]
# name = "fixed frame and sash"
# material = "softwood"
# polygon = [[0, 0], [190, 0], [190, 90], [0, 90]]

# [[parameters.frame]]
# name = "groove between them"
# cavity = "unventilated"  # or "slightly ventilated"; with emissivity and cavity_temperatures as in a free section
# polygon = [[100, 20], [106, 20], [106, 80], [100, 80]]
"""

JUNCTION = Junction(
    name="hatch_curb",
    title="Roof hatch on its upstand in an insulated flat or low roof",
    description=(
        "A hatch with an opaque lid of layers or a glazed one lies on an upstand of timber, sheet, GRP or sandwich. "
        "Half a section from the lid's middle into the roof, cut at least 1 m and three thicknesses away: Ψ of the "
        "junction, U of the lid, the whole hatch's loss from its clear size, and fRsi on frame, reveal and lid. A "
        "glazed lid's frame is a block with U_f, or given by polygons in [[parameters.frame]] blocks, from which U_f "
        "is computed."
    ),
    parameters=HatchCurb,
    build=build,
    example=FRAME_EXAMPLE,
)
