"""A hatch as a whole: U of its lid, its loss from its clear size, and fRsi of its surfaces.

Part of the step results of sections -> results of the detail; `calculate` calls it. U and areas are exact, so that the
bracket of Ψ alone makes that of the loss.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from bridge2d.results import Bounded, HatchResult, Psi, SectionResult, SurfaceFactor
from bridge2d.standards import iso_10211, iso_13789

if TYPE_CHECKING:
    from bridge2d.detail import Detail

DIMENSIONS = "internal"
"""Dimension system whose lengths meet at the clear opening's edge, so that its Ψ belongs to the clear size."""


def hatch_result(detail: Detail, sections: tuple[SectionResult, ...], psi: tuple[Psi, ...]) -> HatchResult | None:
    """U of the lid, loss of the hatch and fRsi of its surfaces; None where there is no hatch or it has no Ψ.

    Args:
        detail: says how large the hatch is and of what its lid is made.
        sections: all sections' numbers.
        psi: of the junction between hatch and roof.
    """
    hatch = detail.hatch
    own = next((one for one in psi if one.dimensions == DIMENSIONS), None)
    if hatch is None or own is None:
        return None
    u_values = {element.name: element.u_value for section in sections for element in section.flanking}
    parts = tuple((name, u_values[name], area) for name, area in hatch.areas)
    planes = [(u_value, area) for _, u_value, area in parts]
    edges = [hatch.edge] if hatch.edge else []
    lower, upper = (
        iso_13789.direct_transmission(planes, [*edges, (bound, hatch.perimeter)], [])
        for bound in (own.value.lower, own.value.upper)
    )
    return HatchResult(
        parts,
        iso_13789.direct_transmission(planes, edges, []) / hatch.area,
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
