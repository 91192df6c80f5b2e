"""What a detail file or a call may say of an option that is compared: its name, length, cost, and how long it heats.

Part of reading a detail file; none of it enters the computation of the detail. The same declarations read the
`[comparison]` block and the words of the command line.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, PlainValidator, model_validator

from bridge2d import units
from bridge2d.errors import QuantityError
from bridge2d.junctions.quantities import Count, LengthInBuilding, LineOfText, Ratio

LONGEST_OPTION = 12
"""An option's name stands large on the paper; so many characters fit."""
LONGEST_CURRENCY = 8
POSITIVE = ("length", "number", "heating_degree_hours", "lifetime")


@dataclass(frozen=True, slots=True)
class ComparisonTerms:
    """What an option is compared by, beside its numbers; None or empty where nothing is said.

    Attributes:
        option: short name ("A").
        description: what the option is, in a line.
        length: of the junction in the building [m].
        number: of such windows or hatches; their sides' lengths are those of the detail.
        cost_per_metre: of the junction [currency/m].
        currency: of all costs.
        heating_degree_hours: over a year [kKh/a].
        heating_degree_hours_source: where these come from.
        lifetime: over which a cost is spread [a].
        dimensions: dimension system of the lengths.
    """

    option: str = ""
    description: str = ""
    length: float | None = None
    number: int | None = None
    cost_per_metre: float | None = None
    currency: str = ""
    heating_degree_hours: float | None = None
    lifetime: float | None = None
    dimensions: str = ""
    heating_degree_hours_source: str = ""


DEGREE_HOURS = {"kKh/a": 1.0, "kKh": 1.0, "k°Fh/a": 5 / 9, "k°Fh": 5 / 9}
"""Units of heating degree hours [kKh/a], without the signs between their letters."""
COSTS = {"/m": 1.0, "/ft": 1.0 / units.FOOT}
"""Units of a cost [1/m]."""
RIGHT_UNITS = {
    "length": '"12.2 m" or "40 ft"',
    "cost_per_metre": '"64/m" or "20/ft"',
    "heating_degree_hours": '"80 kKh/a" or "144 k°F·h/a"',
}
"""How a quantity is written with its unit."""


def _reader(key: str, known: Mapping[str, float]) -> Callable[[object], float]:
    """How a quantity is read that is a number in SI, or text with one of some units."""

    def read(typed: object) -> float:
        if not isinstance(typed, str):
            return units.read_ratio(typed)
        found = re.fullmatch(r"([0-9]+(?:[.,][0-9]+)?)(.+)", re.sub(r"[\s·]", "", typed[:40]))
        factor = known.get(found[2]) if found else None
        if found is None or factor is None:
            raise QuantityError(f"{typed[:40]!r} has no unit that is known here", f"write {RIGHT_UNITS[key]}")
        return units.read_ratio(float(found[1].replace(",", ".")) * factor)

    return read


Cost = Annotated[float, PlainValidator(_reader("cost_per_metre", COSTS))]
DegreeHours = Annotated[float, PlainValidator(_reader("heating_degree_hours", DEGREE_HOURS))]


class ComparisonBlock(BaseModel):
    """A [comparison]: what `bridge2d compare` needs beside the detail; nothing of it changes the detail's numbers."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    option: LineOfText = Field("", description='short name of the option, such as "A"')
    description: LineOfText = Field("", description="what the option is, in a line")
    length: LengthInBuilding | None = Field(None, description="length of the junction in the building [mm]")
    number: Count | None = Field(None, description="number of such windows, instead of a length")
    cost_per_metre: Cost | None = Field(None, description='cost of a metre, in the currency, or "20/ft"')
    currency: LineOfText = Field("", description="currency of the cost")
    heating_degree_hours: DegreeHours | None = Field(None, description='of a year [kKh/a], or "144 k°F·h/a"')
    heating_degree_hours_source: LineOfText = Field("", description="where the degree hours come from, in a line")
    lifetime: Ratio | None = Field(None, description="years over which the cost is spread [a]")
    dimensions: Literal["external", "internal", "overall_internal"] | None = Field(
        None, description="dimension system of the length"
    )

    @model_validator(mode="after")
    def _makes_sense(self) -> ComparisonBlock:
        """Short names, positive quantities, one of length and number."""
        for key, longest in (("option", LONGEST_OPTION), ("currency", LONGEST_CURRENCY)):
            if len(getattr(self, key)) > longest:
                raise QuantityError(f"has more than {longest} characters", "write a short one", (key,))
        for key in POSITIVE:
            value = getattr(self, key)
            if value is not None and value <= 0:
                raise QuantityError(f"{value:g} is not above 0", "give a number above 0", (key,))
        if self.cost_per_metre is not None and self.cost_per_metre < 0:
            raise QuantityError(f"{self.cost_per_metre:g} is below 0", "give 0 or more", ("cost_per_metre",))
        if self.length is not None and self.number is not None:
            raise QuantityError("both length and number are given", "give one of them", ("number",))
        return self

    def terms(self) -> ComparisonTerms:
        """The terms as a plain record."""
        return ComparisonTerms(
            self.option,
            self.description,
            self.length,
            self.number,
            self.cost_per_metre,
            self.currency,
            self.heating_degree_hours,
            self.lifetime,
            self.dimensions or "",
            self.heating_degree_hours_source,
        )
