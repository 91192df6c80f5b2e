"""A glazed lid's frame with a panel in place of the glazing: the section that makes U_f.

Part of the step parameters -> detail. `hatch_section` draws the frame on its upstand; here it stands alone.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

from bridge2d.detail import ComputedFrame, Environment, Section, Surface
from bridge2d.junctions import walls, window_corners
from bridge2d.junctions.frame_polygons import panel
from bridge2d.junctions.hatch_measures import Measures
from bridge2d.junctions.hatch_section import frame_low, glazing
from bridge2d.junctions.walls import LEAST
from bridge2d.standards import iso_10077_1, iso_10077_2

WITH_PANEL = "frame with panel"
HALF_WIDTH = 0.00025
"""What this section may contribute to half the bracket of Ψ [W/(m·K)]."""


def with_panel(m: Measures) -> Section:
    """The frame with an insulation panel in place of the glazing, in the conditions of ISO 10077-2.

    Outer edge and seat, where the frame meets covering and upstand, are adiabatic.

    Args:
        m: measures of a hatch whose glazed lid has a frame by polygons.
    """
    end = round(m.seen - iso_10077_1.GLAZING_LENGTH, 6)
    low, high = m.pane_levels
    warm, cold = iso_10077_2.TEMPERATURES
    pane = replace(m.pane, name="panel", choice=panel()) if m.pane else None
    return Section(
        WITH_PANEL,
        "Lid's frame with a panel in place of the glazing, for Uf",
        walls.present((*m.polygons(), glazing(replace(m, pane=pane), end))),
        (Environment(walls.OUTSIDE, cold), Environment(walls.INSIDE, warm)),
        (
            Surface(walls.OUTSIDE, walls.line(*m.frame_outside, (end, high)), iso_10077_1.R_SE, iso_10077_1.R_SE),
            *_inside(m.frame_inside, (end, low)),
        ),
        dimensions=walls.drawn(
            (
                walls.span("v", "lid_frame_projection", "bottom", frame_low(m), (m.seen, m.clear)),
                walls.span("d_f", "lid_frame_depth", "left", end, (frame_low(m), m.lid_top), 1),
                walls.span("d_g", "glazing_thickness", "left", end, (low, high)),
            )
        ),
        psi_half_width=HALF_WIDTH,
        axes="as in the half section",
    )


def _inside(frame: tuple[tuple[float, float], ...], end: tuple[float, float]) -> tuple[Surface, ...]:
    """The room's surface, with less radiation in the corners."""
    found: list[Surface] = []
    for run in window_corners.runs(frame[:1], (*frame[1:], end)):
        resistance = iso_10077_2.CORNER_RESISTANCE if run.reduced else iso_10077_1.R_SI
        found += [s for leg in pairwise(run.line) for s in walls.room_surface(resistance, resistance, *leg)]
    return tuple(found)


def computed_frame(m: Measures) -> ComputedFrame | None:
    """What makes U_f of that section; None where U_f is given.

    Args:
        m: the hatch's measures.
    """
    if m.shape is None:
        return None
    u_panel = iso_10077_2.panel_transmittance(m.p.glazing_thickness, iso_10077_1.R_SI, iso_10077_1.R_SE)
    return ComputedFrame(WITH_PANEL, u_panel, iso_10077_1.GLAZING_LENGTH, visible(m))


def visible(m: Measures) -> float:
    """Width of the frame within the clear opening [m], 0 where nothing of it is seen.

    Args:
        m: the hatch's measures.
    """
    width = m.clear - m.seen
    return width if width >= LEAST else 0.0
