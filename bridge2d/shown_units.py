"""How a quantity is shown in either system of units; everything inside stays SI.

The last step of the flow hands one `DisplayUnits` down to whatever is looked at: screen, drawing, page. It turns a
value [SI] into text with its unit, a bracket outward, so that what is printed contains both bounds in either system.
Conversions are exact fractions (NIST SP 811, appendix B.8; British thermal unit of the International Table).

A quantity needs nothing to be shown in inch-pound units but that its SI unit stands in `INCH_POUND_UNITS`.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import NamedTuple

from bridge2d import nomenclature as n
from bridge2d import units
from bridge2d.units import INCH_POUND, SI, UnitSystem

INCH, FOOT = Fraction("0.0254"), Fraction("0.3048")
"""[m], exact."""
BTU = Fraction("1055.05585262")
"""British thermal unit, International Table [J], exact (NIST SP 811, appendix B.8)."""
HOUR = Fraction(3600)
DEGREE = Fraction(5, 9)
"""Difference of one degree Fahrenheit [K], exact."""
POUND = Fraction("0.45359237")
"""Avoirdupois pound [kg], exact (NIST SP 811, appendix B.8)."""
INCH_OF_MERCURY = Fraction("3386.389")
"""Conventional inch of mercury [Pa] (NIST SP 811, appendix B.8)."""


class Counterpart(NamedTuple):
    """An inch-pound unit: how it is written, how large it is in SI, and what is added (temperatures)."""

    unit: str
    size: Fraction
    zero: int = 0


INCH_POUND_UNITS = {
    "m": Counterpart("ft", FOOT),
    "mm": Counterpart("in", 1000 * INCH),
    "m²": Counterpart("ft²", FOOT**2),
    "1/m²": Counterpart("1/ft²", 1 / FOOT**2),
    "mm²": Counterpart("in²", (1000 * INCH) ** 2),
    "W/(m·K)": Counterpart("Btu/(h·ft·°F)", BTU / (HOUR * FOOT * DEGREE)),
    "W/(m²·K)": Counterpart("Btu/(h·ft²·°F)", BTU / (HOUR * FOOT**2 * DEGREE)),
    "m²·K/W": Counterpart("h·ft²·°F/Btu", HOUR * FOOT**2 * DEGREE / BTU),
    "W/K": Counterpart("Btu/(h·°F)", BTU / (HOUR * DEGREE)),
    "W/m": Counterpart("Btu/(h·ft)", BTU / (HOUR * FOOT)),
    "W/m²": Counterpart("Btu/(h·ft²)", BTU / (HOUR * FOOT**2)),
    "W": Counterpart("Btu/h", BTU / HOUR),
    "°C": Counterpart("°F", DEGREE, 32),
    "K": Counterpart("°F", DEGREE),
    "kg/m³": Counterpart("lb/ft³", POUND / FOOT**3),
    "Pa": Counterpart("inHg", INCH_OF_MERCURY),
    "m/s": Counterpart("ft/s", FOOT),
    "kWh/(m·a)": Counterpart("kWh/(ft·a)", 1 / FOOT),
    "kKh/a": Counterpart("k°F·h/a", DEGREE),
}
"""The inch-pound unit of every SI unit that is shown."""
SAME_UNITS = frozenset({"1", "deg", "%", "s", "kWh", "kWh/a"})
"""Units that both systems share."""


@dataclass(frozen=True, slots=True)
class DisplayUnits:
    """The system of units in which everything is shown; handed down, SI where nobody asks for another.

    Attributes:
        system: "SI" or "inch-pound".
    """

    system: UnitSystem = SI

    @property
    def is_si(self) -> bool:
        """Whether values are shown as they are."""
        return self.system == SI

    # -- quantities of the nomenclature ----------------------------------------------------------------------------

    def quantity(self, quantity: n.Quantity) -> n.Quantity:
        """A quantity with the unit and the decimals in which it is shown, none of its digits being lost.

        Args:
            quantity: of the nomenclature.

        Raises:
            ValueError: its unit has no counterpart in `INCH_POUND_UNITS`.
        """
        if self.is_si or quantity.unit in SAME_UNITS:
            return quantity
        found = _counterpart(quantity)
        more = max(0, math.ceil(math.log10(found.size)))
        difference = INCH_POUND_UNITS[quantity.difference_unit].unit if quantity.difference_unit else ""
        return replace(quantity, unit=found.unit, decimals=quantity.decimals + more, difference_unit=difference)

    def number(self, quantity: n.Quantity, value: float) -> n.Number:
        """A value [SI] as a number of the unit in which the quantity is shown, exact."""
        if self.is_si or quantity.unit in SAME_UNITS or not math.isfinite(value):
            return value
        found = _counterpart(quantity)
        return Fraction(value) / found.size + found.zero

    def difference(self, quantity: n.Quantity, value: float) -> n.Number:
        """A difference of two values [SI], or a tolerance, as a number; no zero point is added."""
        if self.is_si or quantity.unit in SAME_UNITS or not math.isfinite(value):
            return value
        return Fraction(value) / _counterpart(quantity).size

    def scale(self, quantity: n.Quantity) -> tuple[float, float]:
        """Factor and zero point that make numbers of values [SI]: number = factor · value + zero; for whole fields."""
        if self.is_si or quantity.unit in SAME_UNITS:
            return 1.0, 0.0
        found = _counterpart(quantity)
        return float(1 / found.size), float(found.zero)

    def si(self, quantity: n.Quantity, number: float) -> float:
        """The value [SI] of a number in the unit in which the quantity is shown."""
        if self.is_si or quantity.unit in SAME_UNITS:
            return number
        found = _counterpart(quantity)
        return float((Fraction(number) - found.zero) * found.size)

    def unit(self, quantity: n.Quantity) -> str:
        """The unit in which a quantity is shown; "1" for a pure number."""
        return self.quantity(quantity).unit

    def value(self, quantity: n.Quantity, value: float, *, unit: bool = True) -> str:
        """A plain value [SI] as text, see `nomenclature.format_value`."""
        return n.format_value(self.quantity(quantity), self.number(quantity, value), unit=unit)

    def bounded(self, quantity: n.Quantity, lower: float, upper: float, *, unit: bool = True) -> str:
        """A bracket [SI] as text that contains both bounds, see `nomenclature.format_bounded`."""
        ends = self.number(quantity, lower), self.number(quantity, upper)
        return n.format_bounded(self.quantity(quantity), *ends, unit=unit)

    def estimate(self, quantity: n.Quantity, value: float, tolerance: float, *, unit: bool = True) -> str:
        """An estimate [SI] with its tolerance, see `nomenclature.format_estimate`."""
        ends = self.number(quantity, value), self.difference(quantity, tolerance)
        return n.format_estimate(self.quantity(quantity), *ends, unit=unit)

    # -- lengths, temperatures -------------------------------------------------------------------------------------

    @property
    def length_unit(self) -> str:
        """Unit of drawings and places."""
        return "mm" if self.is_si else "in"

    @property
    def length_units(self) -> str:
        """That unit in words."""
        return "millimetres" if self.is_si else "inches"

    def length_number(self, metres: float) -> str:
        """A length [m] without its unit, to the micrometre, or as inches: "222.25", "8 3/4"."""
        if self.is_si:
            return units.plain(round(metres * 1000.0, 3)).replace("-", n.MINUS)
        return units.inches(metres)

    def length(self, metres: float) -> str:
        """A length [m] as drawings write it, with its unit: "222.25 mm", "8 3/4 in"."""
        return f"{self.length_number(metres)} {self.length_unit}"

    def long_length(self, metres: float) -> str:
        """A length [m] that a U or Ψ is multiplied with, to a micrometre: "1.79125 m", "5.876804 ft"."""
        digits = f"{float(self.number(n.LENGTH, round(metres, 6) + 0.0)):.6f}"
        kept = digits[:-3] + digits[-3:].rstrip("0")
        return f"{kept.replace('-', n.MINUS)} {self.unit(n.LENGTH)}"

    def place(self, point: Sequence[float]) -> str:
        """A point of a section [m] to a tenth of a millimetre: "(200, 12.5) mm", "(7.874, 0.492) in"."""
        if self.is_si:
            numbers = [units.plain(round(1000 * float(c), 1) + 0.0) for c in point]
        else:
            numbers = [units.plain(round(float(Fraction(c) / INCH), 3) + 0.0) for c in point]
        return f"({', '.join(numbers)}) {self.length_unit}"

    def degrees(self, temperature: float) -> str:
        """A temperature [°C] to one decimal, without it where it is whole: "12.6 °C", "68 °F"."""
        number = round(float(self.number(n.TEMPERATURE, temperature)), 1) + 0.0
        return f"{number:g} {self.unit(n.TEMPERATURE)}".replace("-", n.MINUS)

    # -- sentences -------------------------------------------------------------------------------------------------

    def sentence(self, text: str, *, both: bool = False) -> str:
        """A sentence of the program in which every number with an SI unit is shown in these units.

        What stands between quotation marks was typed, or is to be, and stays.

        Args:
            text: a note, caution, rule or message.
            both: whether the SI number stays behind it in square brackets, as in a quoted source.
        """
        if self.is_si:
            return text
        parts = _QUOTED.split(text)
        return "".join(part if k % 2 else _converted(part, both=both) for k, part in enumerate(parts))

    def made_name(self, name: str) -> str:
        """A name with a size in it that the program made, of an air layer or cavity; every other one as it is."""
        return self.sentence(name) if _MADE_NAME.match(name) else name


IN_SI, IN_INCH_POUND = DisplayUnits(SI), DisplayUnits(INCH_POUND)


def _counterpart(quantity: n.Quantity) -> Counterpart:
    if quantity.key == n.THICKNESS.key:
        return Counterpart("in", INCH)
    found = INCH_POUND_UNITS.get(quantity.unit)
    if found is None:
        raise ValueError(
            f"the unit {quantity.unit} of the {quantity.spoken} has no inch-pound unit in INCH_POUND_UNITS"
        )
    return found


# -- sentences -----------------------------------------------------------------------------------------------------

_DIGITS = r"[-−]?[0-9]+(?:\.[0-9]+)?"
_BETWEEN = r"(?: × | to | or | / |–| and R\w+ )"
"""What stands between numbers that share a unit."""
_SPELLED = {**{unit: unit for unit in INCH_POUND_UNITS}, "kg/m3": "kg/m³"}
_UNITS = "|".join(re.escape(unit) for unit in sorted(_SPELLED, key=len, reverse=True))
_MEASURES = re.compile(rf"(?<![\w.,/])({_DIGITS}(?:{_BETWEEN}{_DIGITS})*)[ \u00a0]({_UNITS})(?![\w²³·/])")
_PLACE = re.compile(rf"\(({_DIGITS}), ({_DIGITS})\)[ \u00a0]mm\b")


_QUOTED = re.compile(r"""((?<!\w)'[^']*'(?!\w)|"[^"]*")""")
_MADE_NAME = re.compile(r"air layer, [0-9]|[a-z ]*cavity, [0-9]")


def _converted(text: str, *, both: bool) -> str:
    text = _MEASURES.sub(lambda found: _measure(found, both=both), text)
    return _PLACE.sub(lambda found: _place(found, both=both), text).replace(" in millimetres", " in inches")


def _measure(found: re.Match[str], *, both: bool) -> str:
    """One or more numbers that share a unit."""
    counterpart = INCH_POUND_UNITS[_SPELLED[found[2]]]
    numbers = re.sub(rf"(?<![\w.]){_DIGITS}", lambda one: _shown(one[0], found[2], counterpart), found[1])
    return f"{numbers} {counterpart.unit}" + (f" [{found[0]}]" if both else "")


def _shown(digits: str, unit: str, counterpart: Counterpart) -> str:
    """One number of a sentence, to four digits; a temperature to one decimal or as many as it had."""
    exact = Fraction(digits.replace("−", "-"))
    if unit == "mm":
        return units.inches(float(exact / 1000)) if exact else "0"
    number = float(exact / counterpart.size) + counterpart.zero
    if counterpart.zero:
        text = units.plain(round(number, max(len(digits.partition(".")[2]), 1)) + 0.0)
    else:
        text = units.plain(float(f"{number:.4g}"))
    return text.replace("-", n.MINUS)


def _place(found: re.Match[str], *, both: bool) -> str:
    point = [float(found[k].replace("−", "-")) / 1000.0 for k in (1, 2)]
    return IN_INCH_POUND.place(point) + (f" [{found[0]}]" if both else "")
