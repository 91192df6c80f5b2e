"""Sensitivities as plain records: what a change of an input does to a result, and what tolerances of inputs make of it.

Part of the results. Every derivative is an estimate with a tolerance; none of it enters a bracket.
"""

from __future__ import annotations

from dataclasses import dataclass


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
        name: of the material, the surface or the parameter.
        symbol: of a parameter; empty where it has none.
        measure: kind of its quantity ("conductivity", "resistance", "length", …).
        value: of the input [SI].
        step: change of the input that the effects belong to [SI].
        relative: whether the step is a tenth of the value; else it is a millimetre.
        effect: on the result.
        f_rsi: on the lowest temperature factor; None where there is none.
        share: what part of the result the material or surface carries [the result's unit]; None for parameters.
        by: "solution" where the derivative comes from the solution itself, "moved mesh", or "difference" of two.
        frozen: whether it is the conductivity of a cavity, which was computed and held.
        spread: by how much the input may be off; None where nothing is said.
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

    def off(self, effect: Effect | None) -> float:
        """How far a result is off where the input is off by its spread, to first order.

        Args:
            effect: of the step on that result.
        """
        if self.spread is None or effect is None or self.step == 0.0:
            return 0.0
        return abs(effect.value) * self.spread.amount / abs(self.step)


@dataclass(frozen=True, slots=True)
class Factor:
    """The temperature factor that is looked at: the lowest one of the detail.

    Attributes:
        environment, section: where.
        value: of the factor [1].
        tolerance: of it [1].
    """

    environment: str
    section: str
    value: float
    tolerance: float


@dataclass(frozen=True, slots=True)
class Sensitivities:
    """What every input does to one result and to the lowest temperature factor.

    Attributes:
        quantity: "psi", "chi", "u_value" or "l2d".
        dimensions: dimension system of a Ψ; else empty.
        of_revolution: whether χ or L3D of a solid of revolution.
        lower, upper: bracket of the result.
        factor: the lowest temperature factor; None where there is none.
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

    def of_kind(self, *kinds: str) -> tuple[InputEffect, ...]:
        """Inputs of some kinds.

        Args:
            kinds: "material", "surface", "parameter".
        """
        return tuple(one for one in self.inputs if one.kind in kinds)

    @property
    def root_sum_square(self) -> tuple[float, float]:
        """Of the result and of the factor, where the inputs' errors have nothing to do with each other."""
        pairs = [(one.off(one.effect), one.off(one.f_rsi)) for one in self.inputs]
        return sum(a * a for a, _ in pairs) ** 0.5, sum(b * b for _, b in pairs) ** 0.5

    @property
    def worst_case(self) -> tuple[float, float]:
        """Of the result and of the factor, where all inputs are off in the worst direction at once."""
        pairs = [(one.off(one.effect), one.off(one.f_rsi)) for one in self.inputs]
        return sum(a for a, _ in pairs), sum(b for _, b in pairs)
