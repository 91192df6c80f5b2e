"""How numbers, limits and verdicts are worded in the report; decimals and units come from the nomenclature."""

from __future__ import annotations

import re
from dataclasses import replace

from bridge2d import nomenclature as n
from bridge2d.climate import Margin
from bridge2d.detail import Detail
from bridge2d.drawing.scene import Run, runs, symbol_runs
from bridge2d.module_words import LIMITED
from bridge2d.results import Bounded, RequirementResult
from bridge2d.shown_units import IN_SI, DisplayUnits

FIRM = "\N{NO-BREAK SPACE}"
SYSTEMS = {"external": "external", "internal": "internal", "overall_internal": "overall internal"}
"""The dimension systems in words (ISO 13789)."""
INDEX = {"external": "e", "internal": "i", "overall_internal": "oi"}
"""Subscripts of Ψ by dimension system (ISO 14683)."""
EXACT = {"decimals": 6}
"""Decimals in a calculation that is to be followed by hand; more than are meant."""


def firm(text: str) -> str:
    """The text with blanks at which no line breaks."""
    return text.replace(" ", FIRM)


def with_firm_units(text: str) -> str:
    """A sentence in which no line breaks within a point's coordinates or between a number and its unit."""
    points = re.sub(r"(\([-−\d.]+,) ([-−\d.]+\))", rf"\1{FIRM}\2", text)
    return re.sub(r"(?<=[\d)]) (?=(?:%|mm|m|K|°C|W|Pa|J|kg|m²|in|ft|ft²|°F|Btu|h·ft|lb|inHg)(?![a-z]))", FIRM, points)


def said(text: str, shown: DisplayUnits) -> str:
    """A sentence of the program, its SI numbers in the units shown, and no line breaking before a unit."""
    return with_firm_units(shown.sentence(text))


def value(quantity: n.Quantity, number: float, shown: DisplayUnits = IN_SI, *, unit: bool = True) -> str:
    """A plain value [SI] that no line break divides."""
    return firm(shown.value(quantity, number, unit=unit))


def exact(
    quantity: n.Quantity, number: float, shown: DisplayUnits = IN_SI, *, unit: bool = True, factor: bool = False
) -> str:
    """A value [SI] with the decimals of a calculation by hand; two more where it is multiplied by a large number."""
    decimals = EXACT["decimals"] + (2 if factor else 0)
    return firm(shown.value(replace(quantity, decimals=decimals), number, unit=unit))


def exact_ends(quantity: n.Quantity, lower: float, upper: float, shown: DisplayUnits = IN_SI) -> tuple[str, str]:
    """Both bounds [SI] with those decimals, rounded outward."""
    precise = shown.quantity(replace(quantity, decimals=EXACT["decimals"]))
    ends = n.format_ends(precise, shown.number(quantity, lower), shown.number(quantity, upper))
    return firm(ends[0]), firm(ends[1])


def bounded(quantity: n.Quantity, number: Bounded, shown: DisplayUnits = IN_SI, *, unit: bool = True) -> str:
    """A bracket [SI] as middle and half width."""
    return firm(shown.bounded(quantity, number.lower, number.upper, unit=unit))


def estimate(quantity: n.Quantity, number: float, tolerance: float, shown: DisplayUnits = IN_SI) -> tuple[Run, ...]:
    """An estimate [SI] with its tolerance; a line may break between the two."""
    first, bracket, rest = shown.estimate(quantity, number, tolerance).partition(" (")
    return runs(firm(first), " " + firm((bracket + rest).strip()) if rest else "")


def length(metres: float, shown: DisplayUnits = IN_SI) -> str:
    """A length [m] as drawings write it, with its unit: "330 mm", "222.25 mm", "8 3/4 in"."""
    return firm(shown.length(metres))


def metres(length: float, shown: DisplayUnits = IN_SI) -> str:
    """A length [m] in a product, losing nothing above a micrometre, with three decimals at least: "1.79125 m"."""
    return firm(shown.long_length(length))


def scientific(text: str) -> str:
    """A text in which "1.2e-13" reads "1.2 × 10⁻¹³"."""

    def raised(found: re.Match[str]) -> str:
        power = str(int(found[2])).translate(str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹"))
        return f"{found[1]}{FIRM}×{FIRM}10{power}"

    return re.sub(r"(\d)e([+-]?\d+)", raised, text)


def symbol(quantity: n.Quantity, index: str = "") -> tuple[Run, ...]:
    """A quantity's symbol, with a subscript of its own or another one."""
    return symbol_runs(f"{quantity.symbol.partition('_')[0]}_{index}" if index else quantity.symbol)


def psi_symbol(system: str) -> tuple[Run, ...]:
    """Ψ of a dimension system."""
    return symbol(n.PSI, INDEX[system])


def quantity_of(one: RequirementResult) -> n.Quantity:
    """What a requirement limits."""
    return LIMITED[one.requirement.quantity]


def verdict(one: RequirementResult | Margin) -> tuple[str, str]:
    """Sign and words of a verdict; the sign's shape says it without colour."""
    if not one.certain:
        return "○", "undecided"
    return ("✓", "met") if one.met else ("✗", "not met")


def has_timber(detail: Detail) -> bool:
    """Whether a detail has timber, or lines that are watched as timber is."""
    return any(s.watched or any(r.material.group == "timber" for r in s.regions) for s in detail.sections)


def checked(met: bool | None) -> str:
    """Sign and words of a rule that was checked."""
    if met is None:
        return f"○{FIRM}cannot{FIRM}say"
    return f"✓{FIRM}kept" if met else f"✗{FIRM}not{FIRM}kept"


def typed(text: str) -> str:
    """A value as a person reads it: a proper minus, and no break before the unit."""
    if text[:1] == "-" and text[1:2].isdigit():
        text = n.MINUS + text[1:]
    return firm(text) if len(text) <= 22 else text
