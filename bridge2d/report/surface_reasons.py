"""The report's table of surface resistances: each that was used, for what, on which side, and where it comes from."""

from __future__ import annotations

from bridge2d import nomenclature as n
from bridge2d.detail import Detail
from bridge2d.drawing.scene import Run, runs
from bridge2d.report.layout import Block
from bridge2d.report.tables import table
from bridge2d.report.text import Words
from bridge2d.report.words import said, symbol, value
from bridge2d.shown_units import IN_SI, DisplayUnits
from bridge2d.standards import iso_6946, iso_10077_2, iso_13788

SAME = 1e-9
"""Resistances that differ by less are one [m²·K/W]."""
PRESCRIBED = "none: the surface is held at the temperature itself"
GIVEN = "given in the detail file; none of the standards' values"
CORNER = "in corners of window frames, up to 30 mm from them (ISO 10077-2:2012, annex B, remembered)"
OF_HEAT_FLOW = (
    (iso_6946.EXTERNAL_SURFACE_RESISTANCE, "outside (ISO 6946:2017, table 7)"),
    (iso_6946.INTERNAL_SURFACE_RESISTANCE["horizontal"], "inside, heat flow horizontal (ISO 6946:2017, table 7)"),
    (iso_6946.INTERNAL_SURFACE_RESISTANCE["up"], "inside, heat flow upward (ISO 6946:2017, table 7)"),
    (iso_6946.INTERNAL_SURFACE_RESISTANCE["down"], "inside, heat flow downward (ISO 6946:2017, table 7)"),
    (iso_10077_2.CORNER_RESISTANCE, CORNER),
)
"""What each value of the standard stands for."""
OF_FACTOR = (
    (
        iso_13788.OPAQUE_SURFACE_RESISTANCE,
        "inside, opaque: air moves less in corners and behind furniture (ISO 13788, remembered)",
    ),
    (iso_13788.GLAZING_SURFACE_RESISTANCE, "inside, glazing and frames (ISO 13788, remembered)"),
    (iso_13788.EXTERNAL_SURFACE_RESISTANCE, "outside, as for the heat flow (ISO 13788, remembered)"),
    (iso_10077_2.CORNER_RESISTANCE, CORNER),
)
"""The same for the temperature factor."""


def surface_reasons(detail: Detail, shown: DisplayUnits = IN_SI) -> Block:
    """A row for every surface resistance that was used.

    Args:
        detail: whose surfaces they are.
        shown: units of everything that is written.
    """
    surfaces = [surface for section in detail.sections for surface in section.surfaces]
    rows: list[tuple[Words, ...]] = []
    for what, numbers, known in (
        (runs("heat flow, ", Run("U", "italic")), [s.resistance for s in surfaces], OF_HEAT_FLOW),
        (symbol(n.F_RSI), [s.f_rsi_resistance for s in surfaces], OF_FACTOR),
    ):
        for number in sorted(set(numbers)):
            sides = [s.environment for s, one in zip(surfaces, numbers, strict=True) if one == number]
            where = ", ".join(dict.fromkeys(sides))
            rows.append((value(n.RESISTANCE, number, shown), what, where, said(reason(number, known), shown)))
    columns: list[tuple[Words, float]] = [
        (runs(Run("R", "italic"), Run("s", subscript=True)), 30),
        ("for", 26),
        ("environment", 30),
        ("why", 82),
    ]
    return table(columns, rows)


def reason(resistance: float, known: tuple[tuple[float, str], ...]) -> str:
    """What a surface resistance stands for.

    Args:
        resistance: [m²·K/W].
        known: the values of a standard with their meanings.
    """
    if resistance <= 0.0:
        return PRESCRIBED
    return next((words for number, words in known if abs(number - resistance) < SAME), GIVEN)
