"""A number as a report states it, and the record of a bracket; beside the steps of a recheck, which share them."""

from __future__ import annotations

from typing import Annotated, NamedTuple

from pydantic import BaseModel, ConfigDict, Field, FiniteFloat

from bridge2d import nomenclature as n
from bridge2d.shown_units import IN_SI, DisplayUnits
from bridge2d.units import SI, UnitSystem

Line = Annotated[str, Field(max_length=2000)]
MANY = 1000


class Record(BaseModel):
    """A part of the enclosed JSON; keys that nobody compares are passed over."""

    model_config = ConfigDict(frozen=True, extra="ignore", strict=True)


class ShownRecord(Record):
    """All that is enclosed of a document, with the units of its pages; SI where it does not say."""

    shown_units: UnitSystem = SI

    @property
    def shown(self) -> DisplayUnits:
        """Units of the pages."""
        return DisplayUnits(self.shown_units)


class Bracket(Record):
    """A number with its bounds."""

    value: FiniteFloat
    lower: FiniteFloat
    upper: FiniteFloat


class Number(NamedTuple):
    """A number of a report.

    Attributes:
        name: what it is.
        kind: "bracket", "estimate", "exact", "about": an estimate that is printed without its tolerance, "cell": one
            of a table, printed without its unit, "nothing": one of a table that rounds to 0, or "implied": compared and
            not looked for on the pages.
        quantity: what it is of.
        value: as it is stated.
        lower, upper: its bounds, or value and tolerance of an estimate.
        bare: whether it is printed without its unit, which stands above its column.
    """

    name: str
    kind: str
    quantity: n.Quantity
    value: float
    lower: float
    upper: float
    bare: bool = False

    @property
    def half(self) -> float:
        """Half of its bracket, or its tolerance."""
        return 0.5 * (self.upper - self.lower)

    def printed(self, shown: DisplayUnits = IN_SI) -> str:
        """As the report prints it.

        Args:
            shown: units of the report.

        Raises:
            ValueError: it is no number that could be printed.
        """
        if self.kind == "bracket":
            return shown.bounded(self.quantity, self.lower, self.upper, unit=not self.bare)
        if self.kind == "nothing":
            return "0"
        if self.kind == "cell":
            return shown.estimate(self.quantity, self.value, self.half, unit=False).partition(" (")[0]
        if self.kind == "estimate":
            return shown.estimate(self.quantity, self.value, self.half)
        return shown.value(self.quantity, self.value, unit=not self.bare)


def bracket(name: str, quantity: n.Quantity, number: Bracket) -> Number:
    """A number with its bracket.

    Args:
        name: what it is.
        quantity: what it is of.
        number: value and bounds [SI].
    """
    return Number(name, "bracket", quantity, number.value, number.lower, number.upper)


def estimate(name: str, quantity: n.Quantity, value: float, tolerance: float) -> Number:
    """An estimate with its tolerance.

    Args:
        name: what it is.
        quantity: what it is of.
        value: [SI].
        tolerance: of it [SI].
    """
    return Number(name, "estimate", quantity, value, value - tolerance, value + tolerance)


def exact(name: str, quantity: n.Quantity, value: float) -> Number:
    """A number that follows from the input by a formula.

    Args:
        name: what it is.
        quantity: what it is of.
        value: [SI].
    """
    return Number(name, "exact", quantity, value, value, value)


def about(name: str, quantity: n.Quantity, value: float, first: float, second: float) -> Number:
    """An estimate that is printed without its tolerance.

    Args:
        name: what it is.
        quantity: what it is of.
        value: [SI].
        first: one end of its tolerance [SI].
        second: the other one [SI].
    """
    return Number(name, "about", quantity, value, min(first, second), max(first, second))
