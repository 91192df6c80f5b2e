"""A hatch as a whole: U of its lid, its loss from its clear size, and fRsi of its surfaces.

Part of the step results of sections -> results of the detail; `calculate` calls it. U of layers and areas are exact, so
that the brackets of Ψ and of a computed U_f alone make that of the loss.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from bridge2d.results import Bounded, HatchResult, Psi, SectionResult, SurfaceFactor, TraceTerm
from bridge2d.standards import iso_10211, iso_13789

if TYPE_CHECKING:
    from bridge2d.detail import Detail

DIMENSIONS = "internal"
"""Dimension system whose lengths meet at the clear opening's edge, so that its Ψ belongs to the clear size."""


def frame_term(detail: Detail, u_frame: Bounded | None) -> tuple[TraceTerm, Bounded] | None:
    """U_f·l of a lid's frame whose U_f is computed, as the trace shows it and with its bracket, or None.

    Args:
        detail: says how much of the frame lies within the clear opening.
        u_frame: computed U_f [W/(m²·K)].
    """
    if detail.hatch is None or detail.hatch.frame is None or u_frame is None:
        return None
    name, length = detail.hatch.frame
    return TraceTerm(name, u_frame.value, length), u_frame.times(length)


def hatch_result(
    detail: Detail, sections: tuple[SectionResult, ...], psi: tuple[Psi, ...], u_frame: Bounded | None = None
) -> HatchResult | None:
    """U of the lid, loss of the hatch and fRsi of its surfaces; None where there is no hatch or it has no Ψ.

    Args:
        detail: says how large the hatch is and of what its lid is made.
        sections: all sections' numbers.
        psi: of the junction between hatch and roof.
        u_frame: U_f computed from the polygons of a glazed lid's frame; None where it is given.
    """
    hatch = detail.hatch
    own = next((one for one in psi if one.dimensions == DIMENSIONS), None)
    if hatch is None or own is None:
        return None
    u_values = {e.name: Bounded(e.u_value, e.u_value) for section in sections for e in section.flanking}
    if hatch.frame is not None and u_frame is not None:
        u_values[hatch.frame[0]] = u_frame
    edges = [hatch.edge] if hatch.edge else []
    planes = [[(getattr(u_values[name], end), area) for name, area in hatch.areas] for end in ("lower", "upper")]
    lid = [iso_13789.direct_transmission(plane, edges, []) for plane in planes]
    lower, upper = (
        iso_13789.direct_transmission(plane, [*edges, (bound, hatch.perimeter)], [])
        for plane, bound in zip(planes, (own.value.lower, own.value.upper), strict=True)
    )
    return HatchResult(
        tuple((name, u_values[name].value, area) for name, area in hatch.areas),
        Bounded(lid[0], lid[1]).times(1 / hatch.area),
        own.value,
        Bounded(lower, upper),
        tuple(factor for name, resistance in hatch.surfaces for factor in _factor(name, resistance, sections)),
    )


def _factor(name: str, resistance: float, sections: tuple[SectionResult, ...]) -> tuple[SurfaceFactor, ...]:
    """The factor of the coldest of the watched lines of that name; nothing where there is none."""
    found = [(line, section) for section in sections for line in section.watched if line.name == name]
    if not found:
        return ()
    line, section = min(found, key=lambda one: one[0].temperature_f_rsi)
    given = [environment.temperature for environment in section.section.environments]
    span = max(given) - min(given)
    value = iso_10211.temperature_factor(line.temperature_f_rsi, max(given), min(given))
    temperature, tolerance = line.temperature_f_rsi, line.tolerance / span
    return (SurfaceFactor(name, value, temperature, line.point, resistance, tolerance),)
