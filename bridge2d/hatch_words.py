"""A hatch as a whole in words for the screen and as JSON."""

from __future__ import annotations

from typing import Any

from bridge2d import nomenclature as n
from bridge2d.json_values import millimetres
from bridge2d.results import DetailResult
from bridge2d.shown_units import IN_SI, DisplayUnits

CORNERS = "four sides, corners not included"


def hatch_json(result: DetailResult) -> dict[str, Any] | None:
    """The hatch as plain JSON values, lengths in millimetres; None where there is none.

    Args:
        result: of the whole chain.
    """
    hatch, found = result.detail.hatch, result.hatch
    if hatch is None or found is None:
        return None
    return {
        "clear_width": millimetres(hatch.width),
        "clear_length": millimetres(hatch.length),
        "area": hatch.area,
        "perimeter": millimetres(hatch.perimeter),
        "parts": [{"name": name, "u_value": u_value, "area": area} for name, u_value, area in found.parts],
        "edge": {"psi": hatch.edge[0], "length": millimetres(hatch.edge[1])} if hatch.edge else None,
        "u_lid": found.u_lid,
        "psi": {"value": found.psi.value, "lower": found.psi.lower, "upper": found.psi.upper},
        "loss": {"value": found.loss.value, "lower": found.loss.lower, "upper": found.loss.upper},
        "corners_included": False,
        "f_rsi": [
            {
                "name": factor.name,
                "value": factor.value,
                "temperature": factor.temperature,
                "point": [millimetres(x) for x in factor.point],
                "surface_resistance": factor.surface_resistance,
                "tolerance": factor.tolerance,
            }
            for factor in found.factors
        ],
    }


def hatch_rows(result: DetailResult, shown: DisplayUnits = IN_SI) -> list[tuple[str, str, str]]:
    """Name, value with unit, and how sure it is; nothing where there is no hatch.

    Args:
        result: of the whole chain.
        shown: units of everything that is written.
    """
    hatch, found = result.detail.hatch, result.hatch
    if hatch is None or found is None:
        return []
    size = f"{shown.length_number(hatch.width)} × {shown.length(hatch.length)} clear"
    loss = shown.bounded(n.COUPLING_3D, found.loss.lower, found.loss.upper)
    rows = [
        ("U of the lid", shown.value(n.U_VALUE, found.u_lid), "exact"),
        ("loss of the whole hatch", loss, f"bounded; {size}, {CORNERS}"),
    ]
    for factor in found.factors:
        value = shown.estimate(n.F_RSI, factor.value, factor.tolerance)
        resistance = shown.value(n.RESISTANCE, factor.surface_resistance)
        rows.append((f"{n.F_RSI.plain_symbol}, {factor.name}", value, f"estimated, with Rsi {resistance}"))
    return rows
