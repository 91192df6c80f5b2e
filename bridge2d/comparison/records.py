"""The comparison's records: frozen, plain numbers and words; screen, JSON and paper see nothing else."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from bridge2d import nomenclature as n
from bridge2d.nomenclature import Quantity
from bridge2d.results import Bounded, RequirementResult
from bridge2d.shown_units import FOOT, IN_INCH_POUND, IN_SI, DisplayUnits

if TYPE_CHECKING:
    from bridge2d.climate import Margin
    from bridge2d.comparison_block import ComparisonTerms
    from bridge2d.detail import Requirement
    from bridge2d.detail_file import LoadedDetail
    from bridge2d.results import DetailResult

BOUNDED, ESTIMATED, EXACT = "bounded", "estimated", "exact"
"""How sure a number is: a bracket that holds, a tolerance from two refinements, or given."""
BETTER, WORSE = "better", "worse"
HIGHER, LOWER = "higher", "lower"
CERTAINLY = "certainly "
"""Stands before a verdict that rests on brackets alone."""
UNDECIDED = "cannot be told apart"
SAME = "the same"
NOISE = 1e-12
"""Exact numbers that differ by less than this are the same; they are sums in another order."""
COST_PER_METRE = "cost_per_metre"
MONEY = frozenset({COST_PER_METRE, "cost", "price_of_saving", "price_of_saved_heat"})
"""Keys of quantities in a currency, whose units no table has; a cost of a metre is shown as one of a foot."""


IN_FEET = (("per metre", "per foot"), ("of a metre", "of a foot"), ("per kelvin", "per degree"))
"""Words of a comparison that name a unit, and what they are where SI is not shown."""


def told(words: str, shown: DisplayUnits) -> str:
    """A name or sentence of a comparison in the units that are shown.

    Args:
        words: with numbers in SI.
        shown: the units.
    """
    if shown.is_si:
        return words
    for metric, other in IN_FEET:
        words = words.replace(metric, other)
    return shown.sentence(words)


@dataclass(frozen=True, slots=True)
class Amount:
    """A number with the range in which it lies, and how sure that range is (`BOUNDED`, `ESTIMATED`, `EXACT`)."""

    lower: float
    upper: float
    kind: str = EXACT

    @property
    def value(self) -> float:
        """Middle of the range."""
        return 0.5 * (self.lower + self.upper)

    def minus(self, other: Amount) -> Amount:
        """Difference to another number; the ranges add, and the less sure kind counts."""
        kind = next((k for k in (ESTIMATED, BOUNDED) if k in (self.kind, other.kind)), EXACT)
        return Amount(self.lower - other.upper, self.upper - other.lower, kind)

    def times(self, factor: float) -> Amount:
        """Product with an exact number, which may be negative."""
        ends = self.lower * factor, self.upper * factor
        return Amount(min(ends), max(ends), self.kind)

    def shown(self, quantity: Quantity, units: DisplayUnits = IN_SI, *, signed: bool = False) -> str:
        """The number with its bracket or tolerance and its unit, as everywhere in this project.

        Args:
            quantity: what it is of.
            units: in which it is shown.
            signed: whether a plus stands before what is above zero, as before a difference.
        """
        if quantity.key in MONEY and not units.is_si:
            amount = self.times(float(FOOT)) if quantity.key == COST_PER_METRE else self
            return amount.shown(_written(quantity, units), signed=signed)
        if self.kind == ESTIMATED:
            text = units.estimate(quantity, self.value, 0.5 * (self.upper - self.lower))
        elif self.kind == BOUNDED:
            text = units.bounded(quantity, self.lower, self.upper)
        else:
            text = units.value(quantity, self.value)
        if signed and self.value > 0:
            return f"≈ +{text.removeprefix('≈ ')}" if self.kind == ESTIMATED else f"+{text}"
        return text

    def printed(self, quantity: Quantity, units: DisplayUnits = IN_SI) -> float:
        """Its middle as it is printed of an exact number, in the unit that is shown.

        Args:
            quantity: what it is of.
            units: in which it is shown.
        """
        if quantity.key in MONEY:
            by_foot = quantity.key == COST_PER_METRE and not units.is_si
            number: n.Number = self.value * float(FOOT) if by_foot else self.value
        else:
            number = units.number(quantity, self.value)
        return round(float(number), _written(quantity, units).decimals)


def bracket(number: Bounded) -> Amount:
    """A guaranteed bracket as an amount."""
    return Amount(number.lower, number.upper, BOUNDED)


def estimate(value: float, tolerance: float) -> Amount:
    """An estimate with its tolerance as an amount."""
    return Amount(value - tolerance, value + tolerance, ESTIMATED)


@dataclass(frozen=True, slots=True)
class Difference:
    """How an option differs from the first one, and what may be said of that for certain; no verdict where empty."""

    amount: Amount
    verdict: str


@dataclass(frozen=True, slots=True)
class Row:
    """One number of every option.

    Attributes:
        key: name in the JSON.
        quantity: what it is, with unit and decimals.
        symbol: the trade's letter with the subscript of this row; empty where there is none.
        name: in the words of the trade.
        plain: the same, short, for who builds; may be empty.
        values: of each option; None where it has none.
        differences: of each option to the first one; None for the first one and where one of both is missing.
        important: whether it leads the table on paper.
    """

    key: str
    quantity: Quantity
    symbol: str
    name: str
    plain: str
    values: tuple[Amount | None, ...]
    differences: tuple[Difference | None, ...]
    difference_quantity: Quantity
    important: bool = False

    def difference_text(self, number: int, units: DisplayUnits = IN_SI, *, signed: bool = True) -> str:
        """How an option differs from the first one, as it is written; empty where there is no difference.

        Of two exact numbers it is the difference of what is printed of them, so that who subtracts finds the same.

        Args:
            number: of the option.
            units: in which it is shown.
            signed: whether its sign stands before it; else it is only how much.
        """
        between, value, first = self.differences[number], self.values[number], self.values[0]
        if between is None or value is None or first is None:
            return ""
        if between.amount.kind == EXACT:
            found = round(value.printed(self.quantity, units) - first.printed(self.quantity, units), 9)
            amount, quantity, shown = Amount(found, found), _written(self.difference_quantity, units), IN_SI
        else:
            amount, quantity, shown = between.amount, self.difference_quantity, units
        if not signed and amount.value < 0:
            amount = amount.times(-1.0)
        return amount.shown(quantity, shown, signed=signed)


def _written(quantity: Quantity, units: DisplayUnits) -> Quantity:
    """A quantity with the unit and the decimals that are printed of it, also where it is in a currency."""
    if quantity.key not in MONEY:
        return units.quantity(quantity)
    by_foot = quantity.key == COST_PER_METRE and not units.is_si
    # another key, since the number is one by the foot already
    return replace(quantity, key="as printed", unit=f"{quantity.unit.removesuffix('/m')}/ft") if by_foot else quantity


@dataclass(frozen=True, slots=True)
class WordRow:
    """Something of every option that is said in words, with the same as plain values for the JSON."""

    key: str
    name: str
    values: tuple[str, ...]
    data: tuple[dict[str, object] | None, ...]


@dataclass(frozen=True, slots=True)
class InputRow:
    """A parameter, or a part of a section, that is not the same in all options; empty where an option lacks it."""

    symbol: str
    label: str
    values: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LimitRow:
    """A limit, and how each option stands to it; None where it does not apply, as there is no such number."""

    requirement: Requirement
    results: tuple[RequirementResult | None, ...]


@dataclass(frozen=True, slots=True)
class ClimateRow:
    """What the options' climates ask for by one criterion, and the temperature factor that keeps it least.

    Attributes:
        criterion: "mould", "condensation" or "glazing", see `climate.Margin`.
        climates: name of each option's climate; empty where it has none.
        margins: of each option; None where it has none.
    """

    criterion: str
    climates: tuple[str, ...]
    margins: tuple[Margin | None, ...]

    @property
    def shared(self) -> tuple[Margin, str] | None:
        """A margin that tells what all that have one are asked for, and their climate; None where it differs."""
        known = [(one, name) for one, name in zip(self.margins, self.climates, strict=True) if one is not None]
        asked = {(one.asked, one.month, name) for one, name in known}
        return known[0] if len(asked) == 1 else None


@dataclass(frozen=True, slots=True)
class Option:
    """One option: its name, what is said of it, its detail file, and all its numbers."""

    name: str
    description: str
    file: str
    input_hash: str
    terms: ComparisonTerms
    loaded: LoadedDetail
    result: DetailResult

    @property
    def length(self) -> float | None:
        """Length of the junction in the building [m]: as given, or of that many openings; None where nothing is."""
        if self.terms.length is not None or self.terms.number is None:
            return self.terms.length
        sides = sum(side.length for side in self.result.installations)
        if self.result.detail.hatch is not None:
            sides = self.result.detail.hatch.perimeter
        return self.terms.number * sides if sides else None


@dataclass(frozen=True, slots=True)
class Basis:
    """What all options share.

    Attributes:
        dimensions: dimension system of Ψ and of the lengths; empty where no option has a Ψ, or none is needed.
        heating_degree_hours: of a year [kKh/a]; None where they are not given.
        lifetime: years over which costs are spread [a]; None where it is not given.
        currency: of all costs.
        heating_degree_hours_source: where these come from; empty where nobody says.
    """

    dimensions: str
    heating_degree_hours: float | None
    lifetime: float | None
    currency: str
    heating_degree_hours_source: str = ""


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two or more options side by side.

    Attributes:
        options: the first one is what the others are held against.
        basis: what they share.
        rows, words: the numbers, and what is said in words.
        inputs: what differs in the input.
        limits: verdicts on the limits of the files.
        climate: verdicts on what the climates ask for.
        given: what heat in a year and costs rest on, in a sentence each.
        remarks: what has to be kept in mind when reading the differences.
        fingerprint: SHA-256 of the options' inputs and of what is said of them.
        shown: units of all words in it, and of screen and paper; its numbers are SI.
    """

    options: tuple[Option, ...]
    basis: Basis
    rows: tuple[Row, ...]
    words: tuple[WordRow, ...]
    inputs: tuple[InputRow, ...]
    limits: tuple[LimitRow, ...]
    remarks: tuple[str, ...]
    fingerprint: str
    shown: DisplayUnits = IN_SI
    climate: tuple[ClimateRow, ...] = ()
    given: tuple[str, ...] = ()


def difference(amount: Amount | None, first: Amount | None, sense: int, quantity: Quantity) -> Difference | None:
    """How a number differs from the first option's.

    Args:
        amount: the option's.
        first: the first option's.
        sense: 1 where more is better, −1 where less is, 0 where neither is said.
        quantity: of the difference; what is printed of it has to bear the verdict out.
    """
    if amount is None or first is None:
        return None
    found = amount.minus(first)
    return Difference(found, _verdict(found, sense, quantity))


def _verdict(found: Amount, sense: int, quantity: Quantity) -> str:
    if found.kind == EXACT and abs(found.value) < NOISE:
        return SAME
    if found.kind != EXACT and _contains_zero_as_printed(found, quantity):
        return UNDECIDED
    more = found.value > 0
    words = (BETTER, WORSE) if sense else (HIGHER, LOWER)
    word = words[more != (sense >= 0)]
    return CERTAINLY + word if found.kind == BOUNDED else word


def _contains_zero_as_printed(found: Amount, quantity: Quantity) -> bool:
    """Whether the range holds zero with its ends rounded outward to the decimals that are printed, in either system."""
    systems = (IN_SI,) if quantity.key in MONEY else (IN_SI, IN_INCH_POUND)
    for units in systems:
        scale = 10.0 ** units.quantity(quantity).decimals
        lower, value, upper = (
            scale * float(units.difference(quantity, one)) for one in (found.lower, found.value, found.upper)
        )
        middle = round(value)
        if math.ceil(max(middle - lower, upper - middle)) >= abs(middle):
            return True
    return False
