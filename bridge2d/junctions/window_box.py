"""A window in a plywood box that is fixed to old masonry insulated inside.

Parameters -> detail: three sections with the wall (jamb in plan, head and sill upright) and the window alone in an
adiabatic surround, whose L2D is taken off each of them. `window_measures` and `window_sections` draw them.
"""

from __future__ import annotations

from typing import Literal

from bridge2d.detail import Combination, ComputedFrame, Detail, Installation, InstalledWindow
from bridge2d.errors import InputError
from bridge2d.junctions import window_sections
from bridge2d.junctions.air_layers import air_layer
from bridge2d.junctions.declaration import Junction, MaterialChoice
from bridge2d.junctions.window_measures import ALONE, HEAD, JAMB, LEAST, SILL, WITH_PANEL, Measures
from bridge2d.junctions.window_parameters import WindowBox
from bridge2d.materials import Material
from bridge2d.standards import iso_10077_1, iso_10077_2

LEAST_BEHIND = 0.03
"""Least masonry that has to stand beside the box [m]."""
LEAST_NIB = 0.05
"""Least thickness of the masonry before the frame [m]."""
LEAST_VISIBLE = 0.005
"""Least width of the frame that stays visible [m]."""
LEAST_PANE = 0.05
"""Least width and height of the glazing [m]."""
METAL = 10.0
"""A material that conducts better than this is a metal [W/(m·K)]."""
GREATEST_SHEET, GREATEST_PLATE = 0.01, 0.06
"""Greatest thickness of a metal sill and of a metal lintel [m]: a folded sheet, a plate; neither is a solid block."""
GREATEST_BLOCK = 1.0
"""Greatest conductivity of a block that stands for frame or glazing [W/(m·K)]: that of glass (ISO 10077-2)."""

NOTES = (
    (
        "Ψ of installation = L2D − U·l of the wall − L2D of the window alone in an adiabatic surround, for each side; "
        "the mean weighs head, sill and two jambs by their lengths over the frame, and U of the installed window is "
        "(Uw·Aw + ΣΨ·l)/Aw."
    ),
    (
        "The wall's length is measured to the rough opening, the masonry's edge beside the foam, in every dimension "
        "system: external, internal and overall internal Ψ are one number. The window's area is that over its frame. "
        "Foam and box between them belong to neither; what they lose is in Ψ."
    ),
    (
        "The glazing is a panel of its thickness with Ug for Rsi 0.13 and Rse 0.04 m²·K/W (ISO 10077-1), cut 190 mm "
        "from the frame (ISO 10077-2, remembered). The spacer at the glazing's edge, Ψg, is not in the temperatures; "
        "it counts in Uw and is no part of the installation."
    ),
    (
        "In the corners where the reveal meets the frame and the frame the glazing, radiation and convection are less: "
        "Rsi 0.20 m²·K/W on both faces over the depth of the protrusion, at most 30 mm (ISO 10077-2, annex B, "
        "remembered), in the sections with the wall and in the window alone."
    ),
    (
        "Uw is that of one pane in a frame of one width all round. Corners of the opening, fixings, brackets and the "
        "slope of the sill are not modelled; where the fixings are metal, add their χ."
    ),
)
OF_BLOCK = (
    "The frame is a block of its depth and width with Uf, for Rsi 0.13 and Rse 0.04 m²·K/W (ISO 10077-1); temperatures "
    "on it are those of the block."
)
OF_POLYGONS = (
    "The frame is drawn by its polygons. The conductivities of its cavities are computed in the frame with a panel in "
    "place of the glazing, 20 °C inside and 0 °C outside, which also makes Uf (ISO 10077-2:2012), and are the same in "
    "all other sections, so that Ψ of installation holds no difference of cavities; all brackets are those for these "
    "frozen conductivities."
)
CAUTIONS = (
    (
        "The masonry round the box is colder than before. Moisture and frost of the wall, driving rain at the joint "
        "between nib and frame, and the drainage of the sill need an assessment of their own."
    ),
    (
        "The box carries the window. Its fixing to old masonry, and whatever is changed at a lintel, is for somebody "
        "licensed to judge."
    ),
    "Foam and boards at openings may touch fire compartments and escape routes; local codes decide what may be used.",
)


def build(parameters: WindowBox) -> Detail:
    """The window box's three sections and the window alone.

    Args:
        parameters: see `WindowBox`.

    Raises:
        InputError: parameters do not fit together.
    """
    measures = _measures(parameters)
    _refuse_misfits(parameters, measures)
    drawn = [window_sections.jamb, window_sections.head, window_sections.sill, window_sections.alone]
    drawn += [window_sections.with_panel] if measures.shape else []
    sections = tuple(draw(measures) for draw in drawn)
    width, height = parameters.window_width, parameters.window_height
    sides = tuple(
        Installation(name, name, ALONE, length) for name, length in ((JAMB, 2 * height), (HEAD, width), (SILL, width))
    )
    return Detail(
        "",
        "window_box",
        sections,
        Combination(),
        notes=(*NOTES[:2], OF_POLYGONS if measures.shape else OF_BLOCK, *NOTES[2:]),
        cautions=CAUTIONS,
        installations=sides,
        window=_window(parameters),
        frame=_computed_frame(measures) if measures.shape else None,
    )


def _computed_frame(m: Measures) -> ComputedFrame:
    """What makes U_f of the section with the panel."""
    u_panel = iso_10077_2.panel_transmittance(m.glazing[0], iso_10077_1.R_SI, iso_10077_1.R_SE)
    return ComputedFrame(WITH_PANEL, u_panel, m.end - m.visible, m.frame_width)


def _window(p: WindowBox) -> InstalledWindow:
    """U_w of one pane in a frame of one width all round."""
    frame_width = p.frame_size[0]
    width, height = p.window_width - 2 * frame_width, p.window_height - 2 * frame_width
    glazing, edge = width * height, 2 * (width + height)
    frame = p.window_width * p.window_height - glazing
    u_window = iso_10077_1.window_transmittance(
        p.glazing_transmittance, glazing, p.frame_transmittance, frame, p.edge_transmittance, edge
    )
    return InstalledWindow(
        u_window, frame, glazing, edge, p.frame_transmittance, p.glazing_transmittance, p.edge_transmittance
    )


def _measures(p: WindowBox) -> Measures:
    """The parameters with blocks for frame and glazing, and air layers turned into materials."""
    return Measures(
        render=(p.render_thickness, p.render_material),
        masonry=(p.masonry_thickness, p.masonry_material),
        parge=(p.parge_thickness, p.parge_material),
        insulation=(p.insulation_thickness, p.insulation_material),
        cavity=(p.cavity_thickness, _filling(p.cavity_filling, p.cavity_thickness)),
        board=(p.board_thickness, p.board_material),
        foam=(p.foam_gap, p.foam_material),
        box=(p.box_thickness, p.box_material),
        lining=(p.lining_thickness, p.lining_material),
        over_frame=(p.frame_insulation_thickness, p.frame_insulation_material),
        overlap_inside=p.frame_insulation_overlap,
        nib=p.reveal_overlap,
        position=p.frame_position,
        frame=(p.frame_size[1], _frame_block(p)),
        frame_width=p.frame_size[0],
        glazing=(p.glazing_thickness, _block("glazing", "glass", "Ug", p.glazing_transmittance, p.glazing_thickness)),
        setback=p.pane[0],
        rebate=p.glazing_rebate,
        shape=p.shape(),
        lintel=(p.lintel_height, p.lintel_material),
        lintel_start=p.lintel_start,
        lintel_depth=p.lintel_depth,
        sill=(p.sill_thickness, p.sill_material),
        sill_projection=p.sill_projection,
        sill_bearing=p.sill_bearing,
        sill_bed=p.sill_bed_material,
        window_board=(p.window_board_thickness, p.window_board_material),
        overhang=p.window_board_overhang,
        airtight=p.airtight_layer,
        inside=(p.inside_temperature, p.inside_resistance, p.factor_resistance),
        humidity=p.inside_humidity,
        outside=(p.outside_temperature, p.outside_resistance),
    )


def _frame_block(p: WindowBox) -> MaterialChoice:
    """The frame's material where it is a block; polygons have their own."""
    if p.frame:
        return MaterialChoice(Material("frame", 1.0, hatch="plain"))
    return _block("frame", "plain", "Uf", p.frame_transmittance, p.frame_depth)


def _block(what: str, hatch: str, symbol: str, u_value: float, depth: float) -> MaterialChoice:
    """The material of the block that stands for frame or glazing."""
    material = Material(
        f"{what}, block with its {symbol}",
        iso_10077_1.block_conductivity(u_value, depth),
        hatch=hatch,
        source=f"given in the detail file: {symbol} = {u_value:g} W/(m²·K); conductivity computed from it over "
        f"{1000 * depth:g} mm with Rsi {iso_10077_1.R_SI:g} and Rse {iso_10077_1.R_SE:g} m²·K/W (ISO 10077-1)",
    )
    return MaterialChoice(material)


def _filling(choice: Literal["air"] | MaterialChoice, thickness: float) -> MaterialChoice:
    """The material of a gap; air as a solid that resists like an air layer of that thickness."""
    return choice if isinstance(choice, MaterialChoice) else MaterialChoice(air_layer(thickness))


# -- what does not fit together --------------------------------------------------------------------------------------


def _refuse_misfits(p: WindowBox, m: Measures) -> None:
    _refuse_frame_in_wall(p, m)
    _refuse_covered_frame(p, m)
    _refuse_conducting_blocks(p, m)
    _refuse_solid_metal(p)
    _refuse_lintel_and_sill(p, m)
    _refuse_window_size(p)
    _refuse_no_airtight_layer(p)
    if p.inside_temperature <= p.outside_temperature:
        raise InputError(
            "inside is not warmer than outside",
            key="inside_temperature",
            right="give an inside_temperature above outside_temperature; fRsi is judged in winter",
        )


def _mm(metres: float) -> str:
    return f"{round(1000 * metres, 3):g} mm"


def _refuse_frame_in_wall(p: WindowBox, m: Measures) -> None:
    """The frame stands in the masonry's reveal and not before the wall's inner face."""
    if p.frame_position > m.face - LEAST_BEHIND + LEAST:
        raise InputError(
            f"the frame's outer face stands {_mm(m.face - p.frame_position)} before the masonry's inner face",
            key="frame_position",
            right=f"frame_position may be at most render_thickness + masonry_thickness − {_mm(LEAST_BEHIND)} "
            f"= {_mm(m.face - LEAST_BEHIND)}",
        )
    if m.depth < -LEAST:
        raise InputError(
            f"the frame stands out of the box by {_mm(-m.depth)}",
            key="frame_position",
            right=f"frame_position + frame_depth may be at most the wall without its finish = {_mm(m.box_end)}",
        )
    depth = p.frame_size[1]
    if p.glazing_thickness > depth + LEAST:
        raise InputError(
            f"the glazing is thicker than the frame's depth of {_mm(depth)}",
            key="glazing_thickness",
            right="glazing_thickness may be at most frame_depth",
        )
    if p.pane[1] > depth + LEAST:
        raise InputError(
            f"the glazing stands out of the frame by {_mm(p.pane[1] - depth)}",
            key="glazing_setback",
            right=f"glazing_setback may be at most {_mm(depth - p.glazing_thickness)}, or left out",
        )
    nib = p.frame_position - p.render_thickness
    if p.reveal_overlap > LEAST and nib < LEAST_NIB - LEAST:
        raise InputError(
            f"the masonry before the frame would be {_mm(nib)} thick",
            key="reveal_overlap",
            right=f"give 0, or a frame_position of at least render_thickness + {_mm(LEAST_NIB)} "
            f"= {_mm(p.render_thickness + LEAST_NIB)}",
        )


def _refuse_covered_frame(p: WindowBox, m: Measures) -> None:
    """Some of the frame stays visible outside and inside."""
    outer, free = (face - LEAST_VISIBLE for face in m.free_faces)
    if p.reveal_overlap > outer + LEAST:
        raise InputError(
            f"the masonry covers {_mm(p.reveal_overlap)} of a frame of {_mm(m.free_faces[0])}",
            key="reveal_overlap",
            right=f"reveal_overlap may be at most frame_width − {_mm(LEAST_VISIBLE)} = {_mm(outer)}",
        )
    laps = p.frame_insulation_thickness > LEAST and p.frame_insulation_overlap > LEAST
    if laps and p.frame_insulation_thickness > m.depth + LEAST:
        raise InputError(
            f"the insulation over the frame is thicker than the inside reveal is deep, {_mm(m.depth)}",
            key="frame_insulation_thickness",
            right=f"frame_insulation_thickness may be at most {_mm(m.depth)}, from the frame to the box's edge",
        )
    inside = m.reveal[1] - m.seat
    if inside > free + LEAST:
        raise InputError(
            f"insulation and lining cover {_mm(inside)} of a frame of {_mm(m.free_faces[1])}",
            key="frame_insulation_overlap" if m.insulated else "lining_thickness",
            right="frame_insulation_overlap + lining_thickness may be at most "
            f"frame_width − {_mm(LEAST_VISIBLE)} = {_mm(free)}",
        )
    board = m.board_level + p.window_board_thickness - m.seat
    if board > free + LEAST:
        raise InputError(
            f"the window board reaches {_mm(board)} up a frame of {_mm(m.free_faces[1])}",
            key="window_board_thickness",
            right="window_board_thickness + frame_insulation_overlap may be at most "
            f"frame_width − {_mm(LEAST_VISIBLE)} = {_mm(free)}",
        )


def _refuse_conducting_blocks(p: WindowBox, m: Measures) -> None:
    """No uniform block stands for a metal frame without a thermal break, or for panes of less than glass."""
    for key, u_value, (depth, choice), what in (
        ("frame_transmittance", p.frame_transmittance, m.frame, "a frame"),
        ("glazing_transmittance", p.glazing_transmittance, m.glazing, "a glazing"),
    ):
        if choice.material.conductivity > GREATEST_BLOCK:
            greatest = 1.0 / (depth / GREATEST_BLOCK + iso_10077_1.R_SI + iso_10077_1.R_SE)
            raise InputError(
                f"{what} of {_mm(depth)} with U = {u_value:g} W/(m²·K) would conduct better than glass all through",
                key=key,
                right=f"give at most {int(100 * greatest) / 100:g} W/(m²·K) for that depth, or the true depth; a frame "
                "of metal without a thermal break is no block",
            )


def _refuse_solid_metal(p: WindowBox) -> None:
    """Metal sills are sheets and metal lintels plates; a hollow or I-shaped one is no solid block."""
    for key, thickness, choice, greatest, what in (
        ("sill_thickness", p.sill_thickness, p.sill_material, GREATEST_SHEET, "a sheet"),
        ("lintel_height", p.lintel_height, p.lintel_material, GREATEST_PLATE, "a plate"),
    ):
        if thickness > greatest + LEAST and choice.material.conductivity > METAL:
            raise InputError(
                f"{_mm(thickness)} of {choice.material.name} would be a solid block of metal",
                key=key,
                right=f"metal may be {_mm(greatest)} thick there, as {what}; draw a beam as a free_section",
            )


def _refuse_lintel_and_sill(p: WindowBox, m: Measures) -> None:
    if p.lintel_height > LEAST and p.lintel_start + p.lintel_depth > p.masonry_thickness + LEAST:
        raise InputError(
            f"the lintel reaches {_mm(p.lintel_start + p.lintel_depth - p.masonry_thickness)} beyond the masonry",
            key="lintel_depth",
            right=f"lintel_start + lintel_depth may be at most masonry_thickness = {_mm(p.masonry_thickness)}",
        )
    start, before = m.render[0] + p.lintel_start, m.position - m.render[0]
    steps = abs(m.nib_end) > LEAST and start < m.position - LEAST and start + p.lintel_depth > m.position + LEAST
    if p.lintel_height > LEAST and steps and p.lintel_material.material.conductivity > METAL:
        raise InputError(
            f"the masonry's underside steps at the frame, {_mm(before)} from its outer face; a lintel of metal would "
            "be two plates there that do not touch",
            key="lintel_depth",
            right=f"give lintel_start + lintel_depth of at most {_mm(before)}, lintel_start of at least that, or "
            "reveal_overlap = 0; draw any other as a free_section",
        )
    bears = p.sill_thickness > LEAST and m.sill_low < -LEAST
    if bears and p.frame_position + p.sill_bearing > m.face + LEAST:
        raise InputError(
            "the sill reaches through the masonry",
            key="sill_bearing",
            right=f"sill_bearing may be at most {_mm(m.face - p.frame_position)}, up to the masonry's inner face",
        )


def _refuse_window_size(p: WindowBox) -> None:
    least = 2 * p.frame_size[0] + LEAST_PANE
    for key, size in (("window_width", p.window_width), ("window_height", p.window_height)):
        if size < least - LEAST:
            raise InputError(
                f"{_mm(size)} leave no glazing between two sides of the frame",
                key=key,
                right=f"{key} has to be at least 2 frame_width + {_mm(LEAST_PANE)} = {_mm(least)}",
            )


def _refuse_no_airtight_layer(p: WindowBox) -> None:
    """Bare masonry is not airtight, and a membrane lies on insulation."""
    if p.airtight_layer == "parge coat" and p.parge_thickness < LEAST:
        raise InputError(
            "the airtight layer is a parge coat, and parge_thickness is 0",
            key="airtight_layer",
            right='give parge_thickness, or airtight_layer = "membrane"; bare masonry is not airtight',
        )
    if p.airtight_layer == "membrane" and p.insulation_thickness < LEAST:
        raise InputError(
            "the airtight layer is a membrane on the insulation, and insulation_thickness is 0",
            key="airtight_layer",
            right='give insulation_thickness, or airtight_layer = "parge coat"',
        )


FRAME_EXAMPLE = """
# -- frame by polygons --

# Instead of frame_width, frame_depth and frame_transmittance: the frame's regions, with the keys of a free section's.
# Corners are in the frame's own coordinates, in millimetres: x from the outer edge of the frame toward the glazing, y
# from the outside face to the inside face; (0, 0) is the outer edge's corner outside. Polygons touch, or lie wholly
# within earlier ones. The glazing lies over them, glazing_rebate deep. These blocks stand behind all parameters.
# [[parameters.frame]]
# name = "fixed frame and sash"
# material = "softwood"
# polygon = [[0, 0], [110, 0], [110, 78], [0, 78]]

# [[parameters.frame]]
# name = "groove between them"
# cavity = "unventilated"  # or "slightly ventilated"; with emissivity and cavity_temperatures as in a free section
# polygon = [[50, 20], [56, 20], [56, 70], [50, 70]]
"""

JUNCTION = Junction(
    name="window_box",
    title="Window in a box in an inside-insulated masonry wall",
    description=(
        "A box of boards is fixed to the masonry's reveal with foam behind it; the window stands in it. Plan through "
        "the jamb, upright sections through head and sill, and the window alone: Ψ of installation for each side, "
        "their length-weighted mean, and U of the installed window. The frame is a block with U_f, or given by "
        "polygons in [[parameters.frame]] blocks, from which U_f is computed."
    ),
    parameters=WindowBox,
    build=build,
    example=FRAME_EXAMPLE,
)
