"""A glazed lid's frame with a panel in place of the glazing: the section that makes U_f.

Part of the step parameters -> detail. `hatch_section` draws the frame on its upstand; here it stands alone.
"""

from __future__ import annotations

from dataclasses import replace

from bridge2d.detail import ComputedFrame, Environment, Section, Surface
from bridge2d.junctions import walls
from bridge2d.junctions.frame_polygons import panel
from bridge2d.junctions.hatch_measures import Measures
from bridge2d.junctions.hatch_section import frame_low, glazed_surfaces, glazing
from bridge2d.junctions.walls import LEAST
from bridge2d.standards import iso_10077_1, iso_10077_2

WITH_PANEL = "frame with panel"
HALF_WIDTH = 0.00025
"""What this section may contribute to half the bracket of Ψ [W/(m·K)]."""


def with_panel(m: Measures) -> Section:
    """The frame with an insulation panel in place of the glazing, 20 °C inside and 0 °C outside, after ISO 10077-2.

    Only its outer edge is adiabatic; the surface resistances are the hatch's own, so that a frame which is like the
    roof has the roof's U.

    Args:
        m: measures of a hatch whose glazed lid has a frame by polygons.
    """
    end = round(m.seen - iso_10077_1.GLAZING_LENGTH, 6)
    low, high = m.pane_levels
    warm, cold = iso_10077_2.TEMPERATURES
    pane = replace(m.pane, name="panel", choice=panel()) if m.pane else None
    outside = walls.line(*m.frame_outside, (end, high))
    return Section(
        WITH_PANEL,
        "Lid's frame with a panel in place of the glazing, for Uf",
        walls.present((*m.polygons(), glazing(replace(m, pane=pane), end))),
        (Environment(walls.OUTSIDE, cold), Environment(walls.INSIDE, warm)),
        (
            Surface(walls.OUTSIDE, outside, m.p.outside_resistance, m.p.outside_resistance),
            *glazed_surfaces(m, ((m.outer, m.lid_low),), (*m.frame_inside, (end, low))),
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


def computed_frame(m: Measures) -> ComputedFrame | None:
    """What makes U_f of that section; None where U_f is given.

    Args:
        m: the hatch's measures.
    """
    if m.shape is None:
        return None
    u_panel = iso_10077_2.panel_transmittance(m.p.glazing_thickness, m.p.ceiling_resistance, m.p.outside_resistance)
    return ComputedFrame(WITH_PANEL, u_panel, iso_10077_1.GLAZING_LENGTH, m.shape.width)


def visible(m: Measures) -> float:
    """Width of the frame within the clear opening [m], 0 where nothing of it is seen.

    Args:
        m: the hatch's measures.
    """
    width = m.clear - m.seen
    return width if width >= LEAST else 0.0
