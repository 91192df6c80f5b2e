"""What the enclosed results say of sensitivities: records, and the numbers of it that are compared.

Part of the second step of a recheck. The effects come from another mesh, so that each is inside where both tolerances
reach; how far the result is off where the inputs are follows from them and from the detail file.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Literal

from pydantic import Field, FiniteFloat

from bridge2d import nomenclature as n
from bridge2d.recheck.stated import MANY, Line, Number, Record, about
from bridge2d.sensitivity_records import Effect, Sensitivities
from bridge2d.sensitivity_words import FACTOR, counting, is_nothing, off_counting, quantity_of

INPUT = n.Quantity("input", "", "value of an input", "1", 6)
"""Whatever an input is measured in."""
Tolerance = Annotated[FiniteFloat, Field(ge=0.0)]


class EffectRecord(Record):
    """A change of a result with its tolerance."""

    value: FiniteFloat
    tolerance: Tolerance


class SpreadRecord(Record):
    """± of an input, in the unit of its step, and what that rests on."""

    amount: Tolerance
    basis: Line = ""


class InputRecord(Record):
    """An input and what it does."""

    kind: Line
    name: Line
    step: FiniteFloat
    effect: EffectRecord
    f_rsi: EffectRecord | None
    share: EffectRecord | None
    spread: SpreadRecord | None
    value: FiniteFloat | None = None
    smaller: EffectRecord | None = None
    smaller_f_rsi: EffectRecord | None = None
    factors: list[EffectRecord | None] = Field(default_factory=list, max_length=MANY)

    def doubt(self, effect: EffectRecord | None) -> float:
        """Tolerance of how far a result is off where the input is off by its spread."""
        if self.spread is None or effect is None or self.step == 0:
            return 0.0
        return effect.tolerance * self.spread.amount / abs(self.step)


class OffRecord(Record):
    """How far the result and the factor are off."""

    value: Tolerance
    f_rsi: Tolerance


class OffsRecord(Record):
    """The same with the inputs' errors independent, and all in the worst direction."""

    root_sum_square: OffRecord
    worst_case: OffRecord


class FactorPlaceRecord(Record):
    """The temperature factor that is looked at."""

    environment: Line
    section: Line


class FactorOffRecord(Record):
    """How far a temperature factor is off."""

    root_sum_square: Tolerance
    worst_case: Tolerance


class FactorRecord(FactorPlaceRecord):
    """Any temperature factor, and how far it is off; None where that could not be had."""

    off: FactorOffRecord | None


class SensitivitiesRecord(Record):
    """What the enclosed results hold of sensitivities."""

    quantity: Literal["psi", "chi", "u_value", "l2d"]
    of_revolution: bool
    f_rsi: FactorPlaceRecord | None
    inputs: Annotated[list[InputRecord], Field(max_length=MANY)]
    off: OffsRecord
    factors: list[FactorRecord] = Field(default_factory=list, max_length=MANY)

    @property
    def place(self) -> tuple[str, str] | None:
        """Section and environment of the factor."""
        return (self.f_rsi.section, self.f_rsi.environment) if self.f_rsi else None


def sensitivity_numbers(found: SensitivitiesRecord) -> Iterator[Number]:
    """Every effect and share.

    Args:
        found: the sensitivities.
    """
    of = quantity_of(Sensitivities(found.quantity, "", found.of_revolution, 0.0, 0.0, None, ()))
    for one in found.inputs:
        where = f"{one.kind} {one.name}"
        if one.value is not None:
            yield Number(f"value of {where}", "implied", INPUT, one.value, one.value, one.value)
        if one.spread is not None:
            basis = f"± of {where}, {one.spread.basis or 'given'}"
            yield Number(basis, "implied", INPUT, one.spread.amount, one.spread.amount, one.spread.amount)
        if one.share is not None:
            yield from _cell(f"part of {where}", of, one.share)
        yield from _cell(f"effect of {where}", of, one.effect)
        yield from _cell(f"effect of a smaller {where}", of, one.smaller, one.effect)
        if one.f_rsi is not None:
            yield from _cell(f"effect on fRsi of {where}", FACTOR, one.f_rsi)
            yield from _cell(f"effect on fRsi of a smaller {where}", FACTOR, one.smaller_f_rsi, one.f_rsi)
    doubts = (
        sum(one.doubt(one.effect) for one in found.inputs),
        sum(one.doubt(one.f_rsi) for one in found.inputs),
    )
    for name, off in (("root sum square", found.off.root_sum_square), ("worst case", found.off.worst_case)):
        ends = off.value - doubts[0], off.value + doubts[0]
        yield about(f"{name} of the inputs", off_counting(of, off.value), off.value, *ends)
        if found.f_rsi is not None:
            ends = off.f_rsi - doubts[1], off.f_rsi + doubts[1]
            yield about(f"{name} of the inputs, fRsi", off_counting(FACTOR, off.f_rsi), off.f_rsi, *ends)

    yield from _factor_numbers(found)


def _factor_numbers(found: SensitivitiesRecord) -> Iterator[Number]:
    """How far every other factor is off."""
    for number, factor in enumerate(found.factors):
        if factor.off is None or (factor.section, factor.environment) == found.place:
            continue
        doubt = sum(one.doubt(one.factors[number] if number < len(one.factors) else None) for one in found.inputs)
        where = f"fRsi {factor.environment}, section {factor.section}"
        for name, off in (("root sum square", factor.off.root_sum_square), ("worst case", factor.off.worst_case)):
            yield about(f"{name} of the inputs, {where}", off_counting(FACTOR, off), off, off - doubt, off + doubt)


def _cell(
    name: str, quantity: n.Quantity, effect: EffectRecord | None, upward: EffectRecord | None = None
) -> Iterator[Number]:
    """A number of a table, a bare 0 where it rounds to nothing.

    Args:
        name: what it is.
        quantity: what it is of.
        effect: the effect; None where it is the opposite of another one, which is not printed again.
        upward: that other one.
    """
    if effect is None:
        if upward is not None:
            value, off = -upward.value, upward.tolerance
            yield Number(name, "implied", quantity, value, value - off, value + off)
        return
    value, off = effect.value, effect.tolerance
    known = Effect(value, off)
    kind = "nothing" if is_nothing(quantity, known) else "cell"
    yield Number(name, kind, counting(quantity, known), value, value - off, value + off)
