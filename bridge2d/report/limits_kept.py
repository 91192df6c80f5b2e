"""The report's table of limits: verdict, limit with its source, value, margin."""

from __future__ import annotations

from dataclasses import replace

from bridge2d import nomenclature as n
from bridge2d.climate import Margin
from bridge2d.detail import Requirement
from bridge2d.drawing.colours import GREY
from bridge2d.drawing.scene import Run, runs
from bridge2d.months import month_name
from bridge2d.months_words import CRITERIA, least_kept, margin_of, verdict_of
from bridge2d.report.tables import Table, table
from bridge2d.report.text import Words
from bridge2d.report.words import firm, psi_symbol, quantity_of, symbol, value, verdict, with_firm_units
from bridge2d.results import DetailResult, RequirementResult
from bridge2d.shown_units import IN_SI, DisplayUnits

OF_VERDICTS = (
    "“Met” and “not met” hold for every value within the bracket or the tolerance. “Undecided” says that the limit "
    "itself lies within it: compute to a smaller tolerance. The margin is the distance of the value to the limit, "
    "negative where the limit is missed."
)

SIGNS = {"met": "✓", "not met": "✗", "undecided": "○"}
"""Signs of verdicts; the shape says it without colour."""

Columns = list[tuple[Words, float] | tuple[Words, float, str]]
IN_SI_UNITS: Columns = [
    ("verdict", 20.0),
    ("requirement, source of the limit", 54.0),
    ("limit", 32.0),
    ("value", 26.0, "end"),
    ("margin", 26.0, "end"),
]
"""Columns with their widths [mm]."""
IN_INCH_POUND_UNITS: Columns = [
    ("verdict", 20.0),
    ("requirement, source of the limit", 60.0),
    ("limit", 41.0),
    ("value; margin", 37.0, "end"),
]
"""The same where units are long: value and margin stand over each other."""


def limits_kept(result: DetailResult, width: float, shown: DisplayUnits = IN_SI) -> Table:
    """A row for every limit, then one for what is least kept of each criterion of the climate.

    Args:
        result: all numbers of the detail.
        width: of the table [mm].
        shown: units of everything that is written.
    """
    columns = IN_SI_UNITS if shown.is_si else IN_INCH_POUND_UNITS
    rows = [_row(one, shown) for one in result.requirements]
    if result.by_month:
        climate = result.by_month.climate.name
        rows += [_climate_row(one, climate, shown) for one in least_kept(result.by_month.told_margins).values()]
    return replace(table(columns, rows, width=width), after=0.0)


def has_limits(result: DetailResult) -> bool:
    """Whether there is anything to be kept.

    Args:
        result: all numbers of the detail.
    """
    return bool(result.requirements or (result.by_month and result.by_month.told_margins))


def _climate_row(one: Margin, climate: str, shown: DisplayUnits) -> tuple[Words, ...]:
    word = verdict_of(one)
    found, kept = value(n.F_RSI, one.value), margin_of(one)
    return (
        runs(Run(f"{SIGNS[word]} {word}", "bold")),
        runs(
            f"{with_firm_units(CRITERIA[one.criterion])}, {month_name(one.month)}",
            Run(f"; ISO 13788 with the climate {climate}", colour=GREY),
        ),
        runs(symbol(n.F_RSI), firm(" ≥ "), value(n.F_RSI, one.asked)),
        *((found, kept) if shown.is_si else (f"{found}; {kept}",)),
    )


def _row(one: RequirementResult, shown: DisplayUnits) -> tuple[Words, ...]:
    sign, words = verdict(one)
    asked, quantity = one.requirement, quantity_of(one)
    name = psi_symbol(asked.dimensions) if asked.dimensions else symbol(quantity)
    sense = "≤" if asked.sense == "maximum" else "≥"
    source = [Run(f"; {asked.source}", colour=GREY)] if asked.source else []
    found, kept = value(quantity, one.value, shown), margin(one, shown)
    return (
        runs(Run(f"{sign} {words}", "bold")),
        runs(asked.name or quantity.spoken, source),
        runs(name, firm(f" {sense} "), value(quantity, asked.limit, shown)),
        *((found, kept) if shown.is_si else (f"{found}; {kept}",)),
    )


def margin(one: RequirementResult, shown: DisplayUnits = IN_SI) -> str:
    """Distance from the value to the limit as both are printed: "+0.137", "−0.0005 W/(m·K)".

    Args:
        one: a limit and the value that it is held against.
        shown: units in which they are printed.
    """
    quantity = shown.quantity(quantity_of(one))
    words = n.format_value(quantity, margin_printed(one.requirement, quantity_of(one), one.value, shown))
    return firm(n.signed(words))


def margin_printed(asked: Requirement, quantity: n.Quantity, value: float, shown: DisplayUnits = IN_SI) -> float:
    """Distance from a value to its limit, from both as they are printed and in their unit; negative where it is missed.

    Args:
        asked: the limit.
        quantity: of both.
        value: what is held against it [SI].
        shown: units in which they are printed.
    """
    decimals = shown.quantity(quantity).decimals
    found, limit = (round(float(shown.number(quantity, number)), decimals) for number in (value, asked.limit))
    kept = limit - found if asked.sense == "maximum" else found - limit
    return round(kept, decimals) + 0.0
