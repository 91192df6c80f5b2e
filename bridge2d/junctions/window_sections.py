"""The window box's sections: jamb, head and sill with the wall, and the window alone in an adiabatic surround."""

from __future__ import annotations

from dataclasses import replace

from bridge2d.detail import AirtightPiece, Dimension, FlankingElement, Region, Section, Surface
from bridge2d.junctions.frame_polygons import panel
from bridge2d.junctions.window_measures import ALONE, HEAD, JAMB, LEAST, SILL, WITH_PANEL, Local, Measures, View
from bridge2d.standards import iso_10077_1, iso_10077_2

SHARE = 0.00025
"""What each of the two solutions may contribute to half the bracket of Ψ [W/(m·K)]."""
TAPE = 0.04
"""Length at which a tape is drawn [m]."""
TITLES = {
    JAMB: "Plan through the jamb",
    HEAD: "Upright section through the head",
    SILL: "Upright section through the sill",
    ALONE: "Window alone in an adiabatic surround",
    WITH_PANEL: "Frame with a panel in place of the glazing, for Uf",
}

_PLAN = "x from the masonry's edge into the opening, y inward from the outside face"
AXES = {
    JAMB: _PLAN,
    HEAD: "x inward from the outside face, y upward from the masonry's edge over the opening",
    SILL: "x inward from the outside face, y upward from the masonry's edge under the opening",
    ALONE: _PLAN,
    WITH_PANEL: _PLAN,
}
"""Where x and y begin and run."""

Regions = tuple[Region, ...]


def jamb(m: Measures) -> Section:
    """The plan through a jamb.

    Args:
        m: the window box's measures.
    """
    view = View(m, JAMB, m.wall_length(0.0))
    regions = (*_wall(view), *_nib(view), *_box(view), *_reveal(view), *_window(view))
    return _section(view, regions, _under_nib(view), _reveal_line(view))


def head(m: Measures) -> Section:
    """The upright section through the head, with the lintel.

    Args:
        m: the window box's measures.
    """
    view = View(m, HEAD, m.wall_length(m.lintel[0]))
    regions = (*_wall(view), *_nib(view), *_lintel(view), *_box(view), *_reveal(view), *_window(view))
    return _section(view, regions, _under_nib(view), _reveal_line(view))


def sill(m: Measures) -> Section:
    """The upright section through the sill, with outer sill and window board.

    Args:
        m: the window box's measures.
    """
    view = View(m, SILL, m.wall_length(max(0.0, -m.sill_low)))
    regions = (*_wall(view), *_outer_sill(view), *_box(view), *_window_board(view), *_window(view))
    outer: tuple[Local, ...] = ((0.0, 0.0), (0.0, m.position))
    if m.sill[0] > LEAST:
        front = -m.sill_projection
        outer = ((m.sill_low, 0.0), (m.sill_low, front), (m.seat, front), (m.seat, m.position))
    return _section(view, regions, outer, _board_line(view))


def alone(m: Measures) -> Section:
    """Frame and glazing alone; the frame's outer edge is adiabatic.

    Args:
        m: the window box's measures.
    """
    return _without_wall(m, ALONE)


def with_panel(m: Measures) -> Section:
    """The frame with an insulation panel in place of the glazing, in the conditions of ISO 10077-2.

    Args:
        m: the window box's measures.
    """
    warm, cold = iso_10077_2.TEMPERATURES
    standard = replace(
        m,
        glazing=(m.glazing[0], panel()),
        inside=(warm, iso_10077_1.R_SI, m.inside[2]),
        outside=(cold, iso_10077_1.R_SE),
    )
    return _without_wall(standard, WITH_PANEL)


def _without_wall(m: Measures, name: str) -> Section:
    view = View(m, ALONE, 0.0)
    window = m.window_inside
    surfaces = (*view.outside(*m.window_outside), *view.inside_with_window(window[:1], window[1:]))
    face = m.position + m.frame[0]
    dimensions = (
        *view.dimension("out", (m.seat, m.position), (m.visible, m.position), "b_f", "frame_width"),
        *view.dimension("opening", (m.end, m.position), (m.end, face), "d_f", "frame_depth"),
        *_rebate_dimensions(view),
        *view.dimension("opening", (m.end, m.pane[0]), (m.end, m.pane[1]), "d_g", "glazing_thickness", 1),
    )
    return Section(
        name,
        TITLES[name],
        _window(view, "panel" if name == WITH_PANEL else "glazing"),
        m.environments,
        surfaces,
        dimensions=dimensions,
        psi_half_width=SHARE,
        axes=AXES[name],
    )


def _rebate_dimensions(view: View) -> tuple[Dimension, ...]:
    """Where the glazing sits in a frame that is given by its polygons."""
    m = view.measures
    if m.shape is None:
        return ()
    return (
        *view.dimension("opening", (m.end, m.position), (m.end, m.pane[0]), "a_g", "glazing_setback", 1),
        *view.dimension("out", (m.visible - m.rebate, m.position), (m.visible, m.position), "c_g", "glazing_rebate", 1),
    )


def _section(view: View, regions: Regions, outer: tuple[Local, ...], inner: tuple[Local, ...]) -> Section:
    """A section from its regions, the outer reveal's line and the inner one's (from the finish to the frame)."""
    m, back = view.measures, -view.wall
    surfaces: tuple[Surface, ...] = (
        *view.outside((back, 0.0), *outer, *m.window_outside[1:]),
        *view.inside_with_window(((back, m.wall_face), *inner), m.window_inside[1:]),
    )
    wall = FlankingElement(
        "wall",
        (view.at(back, 0.0), view.at(back, m.wall_face)),
        dict.fromkeys(("external", "internal", "overall_internal"), view.wall),
    )
    return Section(
        view.name,
        TITLES[view.name],
        regions,
        m.environments,
        surfaces,
        (wall,),
        airtight=_airtight(view),
        dimensions=_dimensions(view),
        psi_half_width=SHARE,
        axes=AXES[view.name],
    )


# -- pieces of the profile -------------------------------------------------------------------------------------------


def _wall(view: View) -> Regions:
    """The wall's layers; insulation and cavity run up to the box."""
    m, back = view.measures, -view.wall
    regions: list[Region] = []
    at = 0.0
    for name, (thickness, choice), edge in (
        ("render", m.render, 0.0),
        ("masonry", m.masonry, 0.0),
        ("parge coat", m.parge, 0.0),
        ("insulation", m.insulation, m.foam[0]),
        ("service cavity", m.cavity, m.foam[0]),
    ):
        regions += view.piece(name, choice, (back, edge), (at, at + thickness))
        at += thickness
    edge = m.board_level if view.name == SILL else m.reveal[0]
    regions += view.piece("finish", m.board[1], (back, edge), (m.box_end, m.wall_face))
    return tuple(regions)


def _nib(view: View) -> Regions:
    """The masonry before the frame, rendered like the wall."""
    m = view.measures
    return (
        *view.piece("render", m.render[1], (0.0, m.nib_end), (0.0, m.render[0])),
        *view.piece("masonry", m.masonry[1], (0.0, m.nib_end), (m.render[0], m.position)),
    )


def _under_nib(view: View) -> tuple[Local, ...]:
    m = view.measures
    return (m.nib_end, 0.0), (m.nib_end, m.position)


def _lintel(view: View) -> Regions:
    """The lintel, whose underside follows the masonry's edge before and behind the frame's outer face."""
    m = view.measures
    height, choice = m.lintel
    if height < LEAST:
        return ()
    start = m.render[0] + m.lintel_start
    end, low = start + m.lintel_depth, m.nib_end
    return (
        *view.piece("lintel", choice, (low - height, low), (start, min(end, m.position))),
        *view.piece("lintel", choice, (-height, 0.0), (max(start, m.position), end)),
    )


def _outer_sill(view: View) -> Regions:
    m = view.measures
    thickness, choice = m.sill
    if thickness < LEAST:
        return ()
    low = m.sill_low
    return (
        *view.piece("bed of the sill", m.sill_bed, (0.0, low), (0.0, m.position)),
        *view.piece("outer sill", choice, (low, m.seat), (-m.sill_projection, m.position)),
        *view.piece("outer sill", choice, (low, 0.0), (m.position, m.position + m.sill_bearing)),
    )


def _box(view: View) -> Regions:
    m = view.measures
    return (
        *view.piece("foam", m.foam[1], (0.0, m.foam[0]), (m.position, m.levelled)),
        *view.piece("box", m.box[1], (m.foam[0], m.seat), (m.position, m.box_end)),
    )


def _reveal(view: View) -> Regions:
    """Lining and insulation over the frame, at jambs and head."""
    m = view.measures
    at_finish, at_frame, step = m.reveal
    lining = m.lining[1]
    if not m.insulated:
        return view.piece("lining", lining, (m.seat, at_finish), (m.inner, m.box_end))
    thickness, choice = m.over_frame
    return (
        *view.piece("lining", lining, (m.seat, at_frame), (m.inner, step)),
        *view.piece("lining", lining, (m.seat, at_finish), (step, m.box_end)),
        *view.piece(
            "insulation over the frame",
            choice,
            (m.seat, m.seat + m.overlap_inside),
            (m.inner, m.inner + thickness),
        ),
    )


def _reveal_line(view: View) -> tuple[Local, ...]:
    m = view.measures
    at_finish, at_frame, step = m.reveal
    return (at_finish, m.wall_face), (at_finish, step), (at_frame, step), (at_frame, m.inner)


def _window_board(view: View) -> Regions:
    """The window board, on insulation where some laps over the frame."""
    m = view.measures
    level = m.board_level
    return (
        *view.piece("insulation over the frame", m.over_frame[1], (m.seat, level), (m.inner, m.box_end)),
        *view.piece(
            "window board", m.window_board[1], (level, level + m.window_board[0]), (m.inner, m.wall_face + m.overhang)
        ),
    )


def _board_line(view: View) -> tuple[Local, ...]:
    m = view.measures
    level, top = m.board_level, m.board_level + m.window_board[0]
    if m.window_board[0] < LEAST:
        return (level, m.wall_face), (level, m.inner)
    edge = m.wall_face + m.overhang
    return (level, m.wall_face), (level, edge), (top, edge), (top, m.inner)


def _window(view: View, glazed: str = "glazing") -> Regions:
    m = view.measures
    glazing = view.piece(glazed, m.glazing[1], (m.visible - m.rebate, m.end), m.pane)
    if m.shape is not None:
        return (*view.polygons(), *glazing)
    return (*view.piece("frame", m.frame[1], (m.seat, m.visible), (m.position, m.inner)), *glazing)


# -- airtight layer and dimensions -----------------------------------------------------------------------------------


def _airtight(view: View) -> tuple[AirtightPiece, ...]:
    """From the wall's layer by tape to the box, along the box, by tape to the frame, and on through the window."""
    m = view.measures
    if m.airtight == "none":
        return ()
    layer, edge = (m.levelled, 0.0) if m.airtight == "parge coat" else (m.levelled + m.insulation[0], m.foam[0])
    along = min(TAPE, m.box_end - layer)
    # Where the layer ends level with the box, the tape goes over the box's edge.
    joined = (m.foam[0], layer + along) if along > LEAST else (m.seat, layer)
    taped = min(TAPE, 0.5 * m.free_faces[1])
    pieces = (
        AirtightPiece(m.airtight, view.line((-view.wall, layer), (edge, layer))),
        AirtightPiece("tape to the box", view.line((edge, layer), (m.foam[0], layer), joined)),
        AirtightPiece("box", view.line((m.foam[0], layer), (m.seat, layer), (m.seat, m.inner))),
        AirtightPiece("tape to the frame", view.line((m.seat, m.inner), (m.seat + taped, m.inner))),
        AirtightPiece("frame", view.line(*m.window_inside[:-1]), True),
        AirtightPiece("glazing", view.line((m.visible, m.pane[1]), (m.end, m.pane[1])), True),
    )
    return tuple(piece for piece in pieces if len(piece.line) > 1)


def _dimensions(view: View) -> tuple[Dimension, ...]:
    own = {JAMB: _jamb_dimensions, HEAD: _head_dimensions, SILL: _sill_dimensions}[view.name]
    return (*_wall_dimensions(view), *_window_dimensions(view), *own(view))


def _wall_dimensions(view: View) -> tuple[Dimension, ...]:
    m, back, at = view.measures, -view.wall, 0.0
    chain: list[Dimension] = []
    for thickness, symbol, parameter in (
        (m.render[0], "d_1", "render_thickness"),
        (m.masonry[0], "d_2", "masonry_thickness"),
        (m.parge[0], "d_3", "parge_thickness"),
        (m.insulation[0], "d_4", "insulation_thickness"),
        (m.cavity[0], "d_6", "cavity_thickness"),
        (m.board[0], "d_7", "board_thickness"),
    ):
        chain += view.dimension("wall", (back, at), (back, at + thickness), symbol, parameter)
        at += thickness
    return tuple(chain)


def _window_dimensions(view: View) -> tuple[Dimension, ...]:
    m = view.measures
    return (
        *view.dimension("out", (0.0, 0.0), (m.foam[0], 0.0), "g", "foam_gap"),
        *view.dimension("out", (m.foam[0], 0.0), (m.seat, 0.0), "b", "box_thickness"),
        *view.dimension("out", (m.seat, 0.0), (m.visible, 0.0), "b_f", "frame_width"),
        *view.dimension("opening", (m.end, 0.0), (m.end, m.position), "p", "frame_position"),
        *view.dimension("opening", (m.end, m.position), (m.end, m.position + m.frame[0]), "d_f", "frame_depth"),
    )


def _jamb_dimensions(view: View) -> tuple[Dimension, ...]:
    m = view.measures
    lining = m.lining[0] if m.depth > LEAST else 0.0
    lap = m.overlap_inside if m.insulated else 0.0
    reach = m.over_frame[0] if m.insulated else 0.0
    face, lined = m.wall_face, m.seat + lap
    return (
        *view.dimension("out", (m.seat, 0.0), (m.nib_end if m.nib > LEAST else m.seat, 0.0), "o", "reveal_overlap", 1),
        *view.dimension("in", (m.seat, face), (lined, face), "u", "frame_insulation_overlap"),
        *view.dimension("in", (lined, face), (lined + lining, face), "d_8", "lining_thickness"),
        *view.dimension("opening", (m.end, m.pane[0]), (m.end, m.pane[1]), "d_g", "glazing_thickness", 1),
        *view.dimension("opening", (m.end, m.inner), (m.end, m.inner + reach), "e", "frame_insulation_thickness", 1),
    )


def _head_dimensions(view: View) -> tuple[Dimension, ...]:
    m = view.measures
    if m.lintel[0] < LEAST:
        return ()
    start = m.render[0] + m.lintel_start
    end, low, back = start + m.lintel_depth, m.nib_end if start < m.position else 0.0, -view.wall
    return (
        *view.dimension("out", (low - m.lintel[0], 0.0), (low, 0.0), "h_l", "lintel_height", 1),
        *view.dimension("wall", (back, m.render[0]), (back, start), "a_l", "lintel_start", 1),
        *view.dimension("wall", (back, start), (back, end), "b_l", "lintel_depth", 1),
    )


def _sill_dimensions(view: View) -> tuple[Dimension, ...]:
    m, back = view.measures, -view.wall
    board = m.window_board[0]
    level, face = m.board_level, m.wall_face
    found = (
        *view.dimension("in", (level, face), (level + board, face), "d_9", "window_board_thickness"),
        *view.dimension("in", (m.seat, face), (level, face), "u", "frame_insulation_overlap"),
    )
    if board > LEAST:
        found += view.dimension("opening", (m.end, face), (m.end, face + m.overhang), "v", "window_board_overhang")
    if m.sill[0] > LEAST:
        found += view.dimension("out", (m.sill_low, 0.0), (m.seat, 0.0), "h_s", "sill_thickness", 1)
        found += view.dimension("wall", (back, -m.sill_projection), (back, 0.0), "v_s", "sill_projection", 1)
    if m.sill_low < -LEAST:
        under = m.position + m.sill_bearing
        found += view.dimension("wall", (back, m.position), (back, under), "a_s", "sill_bearing", 1)
    return found
