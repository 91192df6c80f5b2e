"""A hatch as a whole, and the U of a computed frame, in words for the screen and as JSON."""

from __future__ import annotations

from typing import Any

from bridge2d import nomenclature as n
from bridge2d.json_values import bracket, millimetres
from bridge2d.results import Bounded, DetailResult
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
        "u_lid": found.u_lid.value,
        "u_lid_bounds": bracket(found.u_lid) if found.u_lid.half_width else None,
        "psi": bracket(found.psi),
        "loss": bracket(found.loss),
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
        *frame_rows(result, shown),
        ("U of the lid", *_u_lid(found.u_lid, shown)),
        ("loss of the whole hatch", loss, f"bounded; {size}, {CORNERS}"),
    ]
    for factor in found.factors:
        value = shown.estimate(n.F_RSI, factor.value, factor.tolerance)
        resistance = shown.value(n.RESISTANCE, factor.surface_resistance)
        rows.append((f"{n.F_RSI.plain_symbol}, {factor.name}", value, f"estimated, with Rsi {resistance}"))
    return rows


def frame_rows(result: DetailResult, shown: DisplayUnits = IN_SI) -> list[tuple[str, str, str]]:
    """U of a frame that was computed from its polygons; nothing where it is given.

    Args:
        result: of the whole chain.
        shown: units of everything that is written.
    """
    found = result.u_frame
    return [] if found is None else [("U of the frame", shown.bounded(n.U_VALUE, found.lower, found.upper), "bounded")]


def _u_lid(u_lid: Bounded, shown: DisplayUnits) -> tuple[str, str]:
    """U of the lid, exact but where its frame's U_f was computed, and how sure it is."""
    if not u_lid.half_width:
        return shown.value(n.U_VALUE, u_lid.value), "exact"
    return shown.bounded(n.U_VALUE, u_lid.lower, u_lid.upper), "bounded"
