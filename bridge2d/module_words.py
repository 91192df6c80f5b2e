"""What the screen, the report and the JSON say of a wall with repeated pieces: U from its section and by ISO 6946."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from bridge2d import nomenclature as n
from bridge2d.json_values import bracket, millimetres
from bridge2d.results import CombinedMethod, ModuleTransmittance
from bridge2d.shown_units import IN_SI, DisplayUnits

U = replace(n.U_VALUE, decimals=4)
"""U with one decimal more than elsewhere: two methods are compared whose difference may be in the third."""
LIMITED = {"psi": n.PSI, "chi": n.CHI_OF_REVOLUTION, "f_rsi": n.F_RSI, "u_value": U}
"""What each kind of limit is of."""


def module_json(found: ModuleTransmittance | None) -> dict[str, Any] | None:
    """U from the section beside the combined method for JSON, lengths in millimetres; None where there is none.

    Args:
        found: U of a plane element with repeated pieces.
    """
    if found is None:
        return None
    return {
        **bracket(found.u_value),
        "section": found.section,
        "l2d": bracket(found.l2d),
        "width": millimetres(found.width),
        "combined_method": _combined_json(found.combined),
        "without": {"name": found.without.name, "u_value": found.without.u_value},
        "increase": bracket(found.increase),
        "f_rsi": {
            "value": found.f_rsi.value,
            "temperature": found.f_rsi.temperature,
            "tolerance": found.f_rsi.tolerance,
            "point": [millimetres(x) for x in found.f_rsi.point],
        },
    }


def _combined_json(found: CombinedMethod) -> dict[str, Any]:
    return {
        "u_value": found.u_value,
        "upper_limit": found.upper,
        "lower_limit": found.lower,
        "largest_relative_error": found.error,
        "ratio": found.ratio,
        "objection": found.objection or None,
        "areas": [
            {"name": area.name, "fraction": area.fraction, "resistances": list(area.resistances), "total": area.total}
            for area in found.areas
        ],
        "layers": [
            {"name": name, "thickness": millimetres(thickness), "resistance": resistance}
            for name, thickness, resistance in found.layers
        ],
    }


def module_rows(found: ModuleTransmittance | None, shown: DisplayUnits = IN_SI) -> list[tuple[str, str, str]]:
    """Name, value and kind of U from the section, by the combined method, and without studs; empty where none is.

    Args:
        found: U of a plane element with repeated pieces.
        shown: units of everything that is written.
    """
    if found is None:
        return []
    return [
        ("U of the wall, from its section", shown.bounded(U, found.u_value.lower, found.u_value.upper), "bounded"),
        ("U by the combined method", shown.value(U, found.combined.u_value), combined_words(found.combined, shown)),
        ("U without studs and battens", shown.value(U, found.without.u_value), "exact"),
        (
            "  increase by studs and battens",
            shown.bounded(U, found.increase.lower, found.increase.upper),
            f"bounded; {percent(found.increase.value / found.without.u_value)} of U without them",
        ),
        (
            f"{n.F_RSI.plain_symbol}, lining over the stud",
            shown.estimate(n.F_RSI, found.f_rsi.value, found.f_rsi.tolerance),
            "estimated",
        ),
    ]


def combined_words(found: CombinedMethod, shown: DisplayUnits = IN_SI) -> str:
    """Limits and error of the combined method, or why it does not hold.

    Args:
        found: the combined method.
        shown: units of everything that is written.
    """
    low, high = (shown.value(U, 1.0 / limit, unit=False) for limit in (found.upper, found.lower))
    limits = f"ISO 6946; limits 1/R' = {low} and 1/R'' = {high}"
    if found.objection:
        return f"{limits}; not to be used: {found.objection}"
    return f"{limits}, error up to {percent(found.error)}"


def percent(share: float) -> str:
    """A share in percent with one decimal.

    Args:
        share: the share [1].
    """
    return f"{100.0 * share:.1f} %".replace("-", n.MINUS)
