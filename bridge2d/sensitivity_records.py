"""Sensitivities as plain records: what a change of an input does to a result, and what tolerances of inputs make of it.

Part of the results. Every derivative is an estimate with a tolerance; none of it enters a bracket.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cached_property


@dataclass(frozen=True, slots=True)
class Effect:
    """A change of a result, with the tolerance of that number itself; both in the result's unit."""

    value: float
    tolerance: float


@dataclass(frozen=True, slots=True)
class Spread:
    """By how much an input may be off.

    Attributes:
        amount: ± of the input [its unit].
        basis: where the amount comes from.
    """

    amount: float
    basis: str


@dataclass(frozen=True, slots=True)
class InputEffect:
    """An input and what it does.

    Attributes:
        kind: "material", "surface" or "parameter".
        name: of the material, of the parameter, or where the surface is.
        symbol: of a parameter; empty where it has none.
        measure: kind of its quantity ("conductivity", "resistance", "length", …).
        value: of the input [SI].
        step: change of the input that the effects belong to [SI].
        relative: whether the step is a tenth of the value; else it is a millimetre.
        effect: on the result.
        f_rsi: on the lowest temperature factor; None where there is none.
        share: what part of the result the material or surface carries [the result's unit]; None for parameters.
        by: "solution" where the derivative comes from the solution itself, "moved mesh", "beside" where from solutions
            a little beside the value, or "difference" of two.
        frozen: whether it is the conductivity of a cavity, which was computed and held.
        spread: by how much the input may be off; None where nothing is said.
        parameter: key of the parameter in a detail file; empty where it is none.
        computed: whether it is a conductivity that follows from other inputs, which have rows of their own.
        together: name of the material whose conductivities along and across the grain are off together; else empty.
        smaller: change of the result where the input becomes smaller by the step, and the result has a bend at its
            value; None where that is the effect with the other sign.
        smaller_f_rsi: the same of the lowest temperature factor.
        factors: effect on every temperature factor of `Sensitivities.factors`, of the side that does more; None where
            it could not be had.
    """

    kind: str
    name: str
    symbol: str
    measure: str
    value: float
    step: float
    relative: bool
    effect: Effect
    f_rsi: Effect | None
    share: Effect | None
    by: str
    frozen: bool = False
    spread: Spread | None = None
    parameter: str = ""
    computed: bool = False
    together: str = ""
    smaller: Effect | None = None
    smaller_f_rsi: Effect | None = None
    factors: tuple[Effect | None, ...] = ()

    @property
    def steps(self) -> float:
        """How many steps its spread is; 0 where it has none."""
        return 0.0 if self.spread is None or self.step == 0.0 else self.spread.amount / abs(self.step)

    @property
    def off(self) -> Effect:
        """How far the result is off where the input is off by its spread, to first order, with a tolerance."""
        return self._off(_greater(self.effect, self.smaller))

    @property
    def off_f_rsi(self) -> Effect | None:
        """The same of the lowest temperature factor; None where there is none."""
        return None if self.f_rsi is None else self._off(_greater(self.f_rsi, self.smaller_f_rsi))

    def _off(self, effect: Effect) -> Effect:
        return Effect(abs(effect.value) * self.steps, effect.tolerance * self.steps)


def _greater(one: Effect, other: Effect | None) -> Effect:
    return one if other is None or abs(one.value) >= abs(other.value) else other


Off = tuple[float, float]
"""How far a number is off: root sum square, and worst case."""


def off_together(inputs: Iterable[InputEffect], effect: Callable[[InputEffect], Effect | None]) -> Off:
    """How far a number is off where all inputs are off by their spreads, to first order.

    Conductivities of one material along and across the grain go up and down together, as its density does; their
    effects are added with their signs before anything else.

    Args:
        inputs: all of them.
        effect: of an input's step on the number; None for none.
    """
    sizes: dict[str | int, float] = {}
    for number, one in enumerate(inputs):
        found = effect(one)
        if found is not None and one.steps:
            key = one.together or number
            sizes[key] = sizes.get(key, 0.0) + found.value * one.steps
    return sum(size * size for size in sizes.values()) ** 0.5, sum(map(abs, sizes.values()))


@dataclass(frozen=True, slots=True)
class Factor:
    """A temperature factor that is looked at.

    Attributes:
        environment, section: where.
        value: of the factor [1].
        tolerance: of it [1].
    """

    environment: str
    section: str
    value: float
    tolerance: float


@dataclass(frozen=True)
class Sensitivities:
    """What every input does to one result and to the lowest temperature factor.

    Attributes:
        quantity: "psi", "chi", "u_value" or "l2d".
        dimensions: dimension system of a Ψ; else empty.
        of_revolution: whether χ or L3D of a solid of revolution.
        lower, upper: bracket of the result.
        factor: the lowest temperature factor; None where there is none.
        factors: every temperature factor of the detail, that one too.
        inputs: materials first, then surfaces, then parameters.
        left_out: inputs without a derivative, with the reason.
    """

    quantity: str
    dimensions: str
    of_revolution: bool
    lower: float
    upper: float
    factor: Factor | None
    inputs: tuple[InputEffect, ...]
    left_out: tuple[tuple[str, str], ...] = ()
    factors: tuple[Factor, ...] = ()

    def of_kind(self, *kinds: str) -> tuple[InputEffect, ...]:
        """Inputs of some kinds.

        Args:
            kinds: "material", "surface", "parameter".
        """
        return tuple(one for one in self.inputs if one.kind in kinds)

    @cached_property
    def _offs(self) -> tuple[Off, Off]:
        result = off_together(self.inputs, lambda one: _greater(one.effect, one.smaller))
        factor = off_together(self.inputs, lambda one: one.f_rsi and _greater(one.f_rsi, one.smaller_f_rsi))
        return result, factor

    @property
    def root_sum_square(self) -> tuple[float, float]:
        """Of the result and of the factor, where the inputs' errors have nothing to do with each other."""
        return self._offs[0][0], self._offs[1][0]

    @property
    def worst_case(self) -> tuple[float, float]:
        """Of the result and of the factor, where all inputs are off in the worst direction at once."""
        return self._offs[0][1], self._offs[1][1]

    def off_of(self, number: int) -> Off | None:
        """How far one of all temperature factors is off; None where an input's effect on it could not be had.

        Args:
            number: in `factors`.
        """
        effects = [one.factors[number] if number < len(one.factors) else None for one in self.inputs]
        if any(effect is None and one.spread for effect, one in zip(effects, self.inputs, strict=True)):
            return None
        known = {id(one): effect for one, effect in zip(self.inputs, effects, strict=True)}
        return off_together(self.inputs, lambda one: known[id(one)])
