"""The hatch curb's half section: regions, surfaces, flanking elements, airtight layer and dimensions.

Part of the step parameters -> detail. `hatch_measures` says where everything lies.
"""

from __future__ import annotations

from itertools import pairwise

from bridge2d.detail import (
    AirtightPiece,
    Dimension,
    FlankingElement,
    Point,
    Region,
    Section,
    Surface,
    WatchedLine,
)
from bridge2d.junctions import walls, window_corners
from bridge2d.junctions.hatch_measures import Measures, slit
from bridge2d.junctions.walls import LEAST, line, rectangle
from bridge2d.standards import iso_10077_2, iso_13788

NAME = "half section"
LID, LID_FRAME, ROOF = "lid", "lid frame", "roof"
"""Names of the flanking elements."""
FRAME, REVEAL, UNDERSIDE = "frame", "reveal", "lid's underside"
"""Names of the surfaces whose lowest temperature is looked up."""
TAPE = 0.04
"""Length at which a tape is drawn [m]."""
PARTS_OF_GLASS = iso_13788.factor_surface_resistance(glazing=True)

NEAR_FRAME = 0.06
"""So much of the reveal below its top is looked at more closely, as it is coldest there [m]."""

Found = list[Region | None]


def half_section(m: Measures) -> Section:
    """The half section from the lid's middle to the undisturbed roof.

    Args:
        m: the hatch's measures.

    Raises:
        InputError: inside is not warmer than outside.
    """
    return Section(
        NAME,
        "Half section from the lid's middle into the roof",
        walls.present((*_roof(m), *_upstand(m), *_frame(m), *_lid(m))),
        walls.environments(m.p),
        _surfaces(m),
        _flanking(m),
        watched=_watched(m),
        airtight=_airtight(m),
        dimensions=_dimensions(m),
        large=True,
        axes="x from the lid's middle into the roof, y upward from the deck's underside",
    )


# -- regions ---------------------------------------------------------------------------------------------------------


def _roof(m: Measures) -> Found:
    """The roof's layers up to the opening, and the trimmer."""
    starts = (m.lined, m.rough, m.trimmed, m.rough, m.outer, m.outer)
    found: Found = []
    at = m.low
    for layer, start in zip(m.layers, starts, strict=True):
        found.append(m.beside(layer.name, layer.choice, (start, m.cut), (at, at + layer.thickness)))
        at += layer.thickness
    found.append(m.beside("trimmer", m.p.trimmer_material, (m.rough, m.trimmed), (m.membrane, 0.0)))
    return found


def _upstand(m: Measures) -> Found:
    """The upstand on the deck with insulation on either side, and the reveal's lining."""
    p = m.p
    foot, ends = m.deck, (m.rough, m.standing)
    found = [rectangle("upstand", m.upstand, (ends[0], foot), (ends[1], m.curb))]
    if p.upstand_kind == "sandwich":
        skin, thickness = p.upstand_skin_material, p.upstand_skin_thickness
        found += [
            rectangle("skin of the upstand", skin, (start, foot), (start + thickness, m.curb))
            for start in (ends[0], ends[1] - thickness)
        ]
    outside, inside = p.outside_insulation_material, p.inside_insulation_material
    lining_top = m.low + m.layers[0].thickness
    return [
        *found,
        rectangle("insulation outside the upstand", outside, (m.standing, foot), (m.outer, m.curb)),
        rectangle("insulation inside the upstand", inside, (m.lined, lining_top), (m.rough, m.curb)),
        rectangle("reveal lining", p.reveal_material, (m.clear, m.low), (m.lined, m.curb)),
    ]


def _frame(m: Measures) -> Found:
    """The fixed frame with its break, and the joint with its gaskets; nothing where the lid's own frame stands."""
    if m.pane is not None:
        return []
    p, levels, joint = m.p, (m.curb, m.framed), (m.framed, m.lid_low)
    found = [rectangle("frame", p.frame_material, (m.clear, levels[0]), (m.outer, levels[1]))]
    start, end = _break(m)
    found.append(rectangle("thermal break", p.frame_break_material, (start, levels[0]), (end, levels[1])))
    first = m.clear + p.gasket_width
    last = m.outer - p.gasket_width if p.gaskets > 1 else m.outer
    air = slit(p.gasket_height, last - first, ventilated=p.gaskets == 1)
    return [
        *found,
        rectangle("gasket", p.gasket_material, (m.clear, joint[0]), (first, joint[1])),
        rectangle("air in the joint", air, (first, joint[0]), (last, joint[1])),
        rectangle("gasket", p.gasket_material, (last, joint[0]), (m.outer, joint[1])),
    ]


def _break(m: Measures) -> tuple[float, float]:
    """Where the frame's thermal break begins and ends."""
    start = m.clear + round(0.5 * (m.width - m.p.frame_break_width), 6)
    return start, start + m.p.frame_break_width


def _lid(m: Measures) -> Found:
    """The opaque lid's layers with their edge profile, or the frame's block and the glazing's panel."""
    if m.pane is not None:
        frame = m.lid[0]
        block = rectangle(frame.name, frame.choice, (m.seen, m.lid_low), (m.outer, m.lid_top))
        return [*(m.polygons() or [block]), glazing(m, 0.0)]
    found: Found = []
    at = m.lid_low
    for layer in m.lid:
        found.append(rectangle(layer.name, layer.choice, (0.0, at), (m.outer, at + layer.thickness)))
        at += layer.thickness
    # The outer skin first: numbers stand at the first piece of a material, and the air above the lid is free.
    return found[::-1] + _edge(m)


def glazing(m: Measures, end: float) -> Region | None:
    """The glazing's panel, which reaches into a frame that is given by its polygons.

    Args:
        m: the hatch's measures.
        end: where it is cut, the lid's middle or nearer [m].
    """
    if m.pane is None:
        return None
    low, high = m.pane_levels
    return rectangle(m.pane.name, m.pane.choice, (end, low), (m.seen + m.p.rebate, high))


def _edge(m: Measures) -> Found:
    """The profile at the core's edge, whole or with a break above the inner skin."""
    p = m.p
    if p.edge_profile == "none" or p.core_thickness < LEAST:
        return []
    ends, core = (m.outer - p.edge_thickness, m.outer), _core(m)
    found = [rectangle("edge profile", p.edge_material, (ends[0], core[0]), (ends[1], core[1]))]
    if p.edge_profile == "broken":
        start, end = _edge_break(m)
        found.append(rectangle("break in the edge", p.edge_break_material, (ends[0], start), (ends[1], end)))
    return found


def _core(m: Measures) -> tuple[float, float]:
    low = m.lid_low + m.p.inner_skin_thickness
    return low, low + m.p.core_thickness


def _edge_break(m: Measures) -> tuple[float, float]:
    """The break lies on the inner skin, so that the skin does not reach the cold part of the profile."""
    start = _core(m)[0]
    return start, start + m.p.edge_break_height


# -- surfaces --------------------------------------------------------------------------------------------------------


def _surfaces(m: Measures) -> tuple[Surface, ...]:
    p = m.p
    level, upright, opaque = p.ceiling_resistance, p.inside_resistance, p.factor_resistance
    low, high = m.pane_levels
    over: tuple[Point, ...] = ((m.outer, m.top), (m.outer, m.lid_top))
    if m.pane is not None:
        over = ((m.outer, m.top), *m.frame_outside)
    found = (
        walls.outside_surface(p, (m.cut, m.top), *over, (0.0, high)),
        *walls.room_surface(level, opaque, (m.cut, m.low), (m.clear, m.low)),
    )
    frame = _frame_line(m)
    if m.pane is not None:
        return (*found, *glazed_surfaces(m, ((m.clear, m.low), frame[0]), (*frame[1:], (0.0, low))))
    return (
        *found,
        *walls.room_surface(upright, opaque, (m.clear, m.low), (m.clear, m.curb)),
        *walls.room_surface(upright, PARTS_OF_GLASS, (m.clear, m.curb), (m.clear, m.lid_low)),
        *walls.room_surface(level, opaque, (m.clear, m.lid_low), (0.0, m.lid_low)),
    )


def _frame_line(m: Measures) -> tuple[Point, ...]:
    """The room's side of frame and joint from the reveal's top to lid or glazing; a frame may reach down the reveal."""
    if m.pane is None:
        return (m.clear, m.curb), (m.clear, m.lid_low)
    down = m.frame_inside[1][0] >= m.clear - LEAST and m.frame_inside[1][1] < m.curb
    return m.frame_inside[1:] if down else m.frame_inside


def glazed_surfaces(m: Measures, reveal: tuple[Point, ...], window: tuple[Point, ...]) -> tuple[Surface, ...]:
    """The room's surface along reveal, frame and glazing, with less radiation in the frame's corners.

    Args:
        m: the hatch's measures.
        reveal: from the ceiling to the frame; one point where there is no reveal [m].
        window: on from its last point [m].
    """
    found: list[Surface] = []
    for run in window_corners.runs(reveal, window):
        least = iso_10077_2.CORNER_RESISTANCE if run.reduced else 0.0
        factor = PARTS_OF_GLASS if run.window else m.p.factor_resistance
        for start, end in pairwise(run.line):
            upright = abs(end[1] - start[1]) > abs(end[0] - start[0])
            resistance = m.p.inside_resistance if upright else m.p.ceiling_resistance
            found += walls.room_surface(max(resistance, least), max(factor, least), start, end)
    return tuple(found)


def _watched(m: Measures) -> tuple[WatchedLine, ...]:
    """Reveal, frame and lid; where there is no frame, the lid's edge is part of its underside."""
    low, frame = m.pane_levels[0], _frame_line(m)
    near = max(frame[0][1] - NEAR_FRAME, m.low)
    lines = (
        (REVEAL, (m.clear, m.low), (m.clear, near)),
        (REVEAL, (m.clear, near), frame[0]),
        *((FRAME, *leg) for leg in pairwise(frame)),
        (UNDERSIDE, frame[-1], (0.0, low)),
    )
    return tuple(
        WatchedLine(name, (start, end), marked=False) for name, start, end in lines if len(line(start, end)) > 1
    )


def _flanking(m: Measures) -> tuple[FlankingElement, ...]:
    """Roof and lid; of a glazed lid what is seen of its frame counts for itself, by polygons with the computed U_f."""
    low, high = m.pane_levels
    frame = m.clear - m.seen
    roof = {"external": m.cut - m.outer, "internal": m.cut - m.clear, "overall_internal": m.cut - m.clear}
    lid = {"external": m.outer - frame, "internal": m.seen, "overall_internal": m.seen}
    found = [
        FlankingElement(ROOF, ((m.cut, m.low), (m.cut, m.top)), roof),
        FlankingElement(LID, ((0.0, low), (0.0, high)), lid, symmetric=True),
    ]
    if frame >= LEAST and m.shape is None:
        x = m.clear - round(0.5 * frame, 6)
        lengths = dict.fromkeys(("external", "internal", "overall_internal"), frame)
        found.append(FlankingElement(LID_FRAME, ((x, m.lid_low), (x, m.lid_top)), lengths, within=True))
    return tuple(found)


# -- airtight layer --------------------------------------------------------------------------------------------------


def _airtight(m: Measures) -> tuple[AirtightPiece, ...]:
    """From the roof's membrane by tape up the upstand's inner face, by frame and gasket to the lid's inner skin."""
    if m.p.airtight_layer == "none":
        return ()
    if m.curb < m.membrane + LEAST and m.pane is not None:
        low, pane = m.lid_low, m.pane_levels[0]
        return _pieces(
            ("membrane", ((m.cut, m.membrane), (m.outer, m.membrane))),
            ("tape to the lid", ((m.outer, m.membrane), (m.outer, low))),
            ("lid's frame with its gaskets", ((m.outer, low), *m.frame_inside)),
            ("glazing", ((m.seen, pane), (0.0, pane))),
        )
    if m.curb < m.membrane + LEAST:
        return _pieces(
            ("membrane", ((m.cut, m.membrane), (m.outer, m.membrane))),
            ("tape to the lid", ((m.outer, m.membrane), (m.outer, m.lid_low))),
            ("inner skin", ((m.outer, m.lid_low), (0.0, m.lid_low))),
        )
    foot = min(m.deck, m.curb)
    taped = min(foot + TAPE, m.curb)
    x = m.rough
    way = (
        ("membrane turned up", ((m.cut, m.membrane), (x, m.membrane), (x, foot))),
        ("tape to the upstand", ((x, foot), (x, taped))),
        ("inner face of the upstand", ((x, taped), (x, m.curb))),
    )
    if m.pane is not None:
        return _pieces(
            *way,
            ("seal under the lid's frame", ((x, m.curb), (m.clear, m.curb))),
            ("lid's frame with its gaskets", m.frame_inside),
            ("glazing", ((m.seen, m.pane_levels[0]), (0.0, m.pane_levels[0]))),
        )
    seal = m.clear + round(0.5 * m.p.gasket_width, 6)
    head = "frame" if m.framed - m.curb >= LEAST else "head of the upstand"
    return _pieces(
        *way,
        (head, ((x, m.curb), (x, m.framed), (seal, m.framed))),
        ("gasket", ((seal, m.framed), (seal, m.lid_low))),
        ("inner skin", ((seal, m.lid_low), (0.0, m.lid_low))),
    )


def _pieces(*pieces: tuple[str, tuple[Point, ...]]) -> tuple[AirtightPiece, ...]:
    """The pieces that have a length."""
    lines = ((name, line(*points)) for name, points in pieces)
    return tuple(AirtightPiece(name, points) for name, points in lines if len(points) > 1)


# -- dimensions ------------------------------------------------------------------------------------------------------


def _dimensions(m: Measures) -> tuple[Dimension, ...]:
    return walls.drawn((*_across(m), *_up(m), *_small(m)))


def frame_low(m: Measures) -> float:
    """The lowest point of the glazed lid's frame.

    Args:
        m: the hatch's measures.
    """
    return m.lid_top - m.shape.depth if m.shape else m.lid_low


def _across(m: Measures) -> list[Dimension]:
    """Clear width and trimmer below, the upstand's layers above."""
    high = m.lid_top
    found = [
        walls.span("w/2", "clear_width", "bottom", m.low, (0.0, m.clear)),
        walls.span("b_t", "trimmer_width", "bottom", m.low, (m.rough, m.trimmed)),
        walls.span("t_r", "reveal_thickness", "top", high, (m.clear, m.lined)),
        walls.span("t_i", "inside_insulation_thickness", "top", high, (m.lined, m.rough)),
    ]
    if m.curb > m.deck + LEAST:
        found.append(walls.span("t_u", "upstand_thickness", "top", high, (m.rough, m.standing)))
        found.append(walls.span("t_o", "outside_insulation_thickness", "top", high, (m.standing, m.outer)))
        if m.p.upstand_kind == "sandwich":
            skin = (m.rough, m.rough + m.p.upstand_skin_thickness)
            found.append(walls.span("t_s", "upstand_skin_thickness", "top", high, skin, 1))
    return found


def _up(m: Measures) -> list[Dimension]:
    """The roof's layers at its cut-off plane; the lid's, the joint's and the upstand's height at the lid's middle."""
    found = [
        *walls.chain(m.layers, "right", m.cut, m.low),
        walls.span("h", "upstand_height", "left", 0.0, (m.top, m.curb), 1),
    ]
    if m.pane is not None:
        found.append(walls.span("d_g", "glazing_thickness", "left", 0.0, m.pane_levels))
        found.append(walls.span("d_f", "lid_frame_depth", "left", 0.0, (frame_low(m), m.lid_top), 1))
        if m.p.glazing_setback is not None:
            found.append(walls.span("a_g", "glazing_setback", "left", 0.0, (m.pane_levels[1], m.lid_top)))
        return found
    return [
        *found,
        *walls.chain(m.lid, "left", 0.0, m.lid_low),
        walls.span("h_f", "frame_height", "left", 0.0, (m.curb, m.framed), 1),
        walls.span("g", "gasket_height", "left", 0.0, (m.framed, m.lid_low), 1),
    ]


def _small(m: Measures) -> list[Dimension]:
    """Pieces of frame and lid."""
    p, high = m.p, m.lid_top
    if m.pane is not None:
        found = [walls.span("v", "lid_frame_projection", "top", high, (m.seen, m.clear))]
        if m.p.rebate > LEAST:
            found.append(walls.span("c_g", "glazing_rebate", "top", high, (m.seen, m.seen + m.p.rebate), 1))
        return found
    found = []
    if p.gasket_height >= LEAST:
        found.append(walls.span("b_g", "gasket_width", "top", high, (m.clear, m.clear + p.gasket_width), 2))
    if p.frame_height >= LEAST:
        found.append(walls.span("b_k", "frame_break_width", "top", high, _break(m), 2))
    if p.edge_profile != "none" and p.core_thickness >= LEAST:
        found.append(walls.span("e_p", "edge_thickness", "top", high, (m.outer - p.edge_thickness, m.outer), 1))
        if p.edge_profile == "broken":
            found.append(walls.span("e_b", "edge_break_height", "left", 0.0, _edge_break(m), 1))
    return found
