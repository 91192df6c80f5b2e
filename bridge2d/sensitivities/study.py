"""One detail that was solved: what a change of its sections does to the result and to its temperature factors."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from bridge2d.errors import SectionError
from bridge2d.sensitivities.factor import FactorForms
from bridge2d.sensitivities.motion import NoMotionError
from bridge2d.sensitivities.sections import Change, Rates, SectionForms, rates
from bridge2d.sensitivity_records import Effect

if TYPE_CHECKING:
    from bridge2d.detail import Section
    from bridge2d.results import DetailResult, TemperatureFactor
    from bridge2d.sensitivities.targets import Combination
    from bridge2d.variations import Variation

ROUNDING = 1e-13
"""Of sums of U·l, as a share of what is added."""
SAME = 1e-9
"""Movements on both sides that differ by less than this share of the greatest are one."""
BENT = 1e-3
"""Nor do conductivities that change alike but for this share of the greatest change."""
Place = tuple[str, str]
"""Section and environment of a temperature factor."""


@dataclass(frozen=True)
class Outcome:
    """Changes per unit of an input.

    Attributes:
        result: of the result.
        factors: of every temperature factor that is looked at; None where it could not be had.
    """

    result: Effect
    factors: tuple[Effect | None, ...]

    def plus(self, other: Outcome, times: float = 1.0) -> Outcome:
        """The sum with another one times a number; tolerances add."""
        pairs = zip(self.factors, other.factors, strict=True)
        return Outcome(
            added(self.result, other.result, times),
            tuple(None if a is None or b is None else added(a, b, times) for a, b in pairs),
        )


def added(one: Effect, other: Effect, times: float = 1.0) -> Effect:
    """One effect and another one times a number; tolerances add."""
    return Effect(one.value + times * other.value, one.tolerance + abs(times) * other.tolerance)


@dataclass(frozen=True)
class Side:
    """How a detail changes per unit of a parameter on one side of its value.

    Attributes:
        sections: every section.
        held: change of the result with every L2D held.
        jumped: whether an end of what is drawn jumps, so that `held` has that jump in it.
    """

    sections: tuple[Rates, ...]
    held: Effect
    jumped: bool = False


class Study:
    """A detail's forms and what follows from them."""

    def __init__(
        self, result: DetailResult, combination: Combination, places: Sequence[Place], *, twice: bool = False
    ) -> None:
        """Look at a result and some temperature factors.

        Args:
            result: all numbers of the detail.
            combination: how the sections make the result that is looked at.
            places: of the factors.
            twice: whether the first factor is looked at on two meshes.
        """
        self.result, self.combination, self.places, self._twice = result, combination, tuple(places), twice

    @cached_property
    def sections(self) -> tuple[Section, ...]:
        """The sections as they were solved, cavities frozen."""
        return tuple(one.section for one in self.result.sections)

    @cached_property
    def _factors(self) -> tuple[tuple[int, TemperatureFactor] | None, ...]:
        names = [one.name for one in self.sections]
        found = {(one.section, one.environment): one for one in self.result.f_rsi}
        return tuple((names.index(p[0]), found[p]) if p in found else None for p in self.places)

    @cached_property
    def _forms(self) -> dict[int, SectionForms]:
        return {}

    @cached_property
    def _factor_forms(self) -> dict[int, FactorForms]:
        return {}

    def form(self, number: int) -> SectionForms:
        """Forms of a section.

        Args:
            number: of the section.
        """
        if number not in self._forms:
            self._forms[number] = SectionForms(self.result.sections[number])
        return self._forms[number]

    def _factor_form(self, number: int) -> FactorForms | None:
        place = self._factors[number]
        if place is None:
            return None
        if number not in self._factor_forms:
            self._factor_forms[number] = FactorForms(
                self.result.sections[place[0]], place[1], twice=self._twice and number == 0
            )
        return self._factor_forms[number]

    def prepare(self) -> None:
        """Make the forms of every section that counts, so that a copy of this process has them too."""
        for number in self.counting:
            self.form(number)
        for number in range(len(self._factors)):
            self._factor_form(number)

    @cached_property
    def counting(self) -> frozenset[int]:
        """Numbers of the sections that the result or a factor depends on."""
        return self.weighty | {one[0] for one in self._factors if one is not None}

    @cached_property
    def weighty(self) -> frozenset[int]:
        """Numbers of the sections that the result or the first factor depends on."""
        weighty = {k for k, weight in enumerate(self.combination.weights) if weight}
        return frozenset(weighty | {one[0] for one in self._factors[:1] if one is not None})

    # -- changes -------------------------------------------------------------------------------------------------------

    def side(self, varied: Variation, sign: int) -> Side | None:
        """How the detail changes on one side of a parameter's value; None where it cannot be built there.

        Args:
            varied: the parameter.
            sign: 1 above, −1 below.

        Raises:
            NoMotionError: sections, corners or surfaces come or go, or jump twice.
            SectionError: a flanking element cannot be read.
        """
        near, further = varied.at(sign), varied.at(2 * sign)
        if near is None or further is None:
            return None
        if not len(near.sections) == len(further.sections) == len(self.sections):
            raise NoMotionError
        step = sign * varied.step
        trios = zip(varied.middle.sections, near.sections, further.sections, strict=True)
        found = tuple(rates(*trio, step) for trio in trios)
        jumped = any(one.moving and one.moving.jumped for one in found)
        return Side(found, self.combination.slope((varied.middle, near, further), step), jumped)

    def outcome(self, side: Side, step: float, *, moved: bool = True) -> Outcome:
        """Effects of a change.

        Args:
            side: the change.
            step: of the parameter that it was found with.
            moved: whether corners move too.

        Raises:
            NoMotionError: a mesh cannot follow.
        """
        changes = [
            one.change(self.form(k).mover if moved and one.moving and k in self.counting else None)
            for k, one in enumerate(side.sections)
        ]
        return self.effects(changes, Effect(side.held.value, side.held.tolerance + self.rounding(step)))

    def effects(self, changes: Sequence[Change], held: Effect) -> Outcome:
        """Effects of changes of all sections.

        Args:
            changes: per unit of an input.
            held: change of the result with every L2D held.
        """
        total = held
        for number, (weight, change) in enumerate(zip(self.combination.weights, changes, strict=True)):
            if weight and not change.is_nothing:
                total = added(total, self.form(number).effect(change), weight)
        return Outcome(total, tuple(self._of_factor(k, changes) for k in range(len(self.places))))

    def _of_factor(self, number: int, changes: Sequence[Change]) -> Effect | None:
        place = self._factors[number]
        if place is None:
            return None
        change = changes[place[0]]
        if change.is_nothing:
            return Effect(0.0, 0.0)
        form = self._factor_form(number)
        return None if form is None else form.effect(change)

    def rounding(self, step: float) -> float:
        """What rounding may do to a difference of closed formulas over a step."""
        pairs = zip(self.combination.weights, self.result.sections, strict=True)
        size = sum(abs(w * one.l2d.value) for w, one in pairs if one.l2d)
        return 4.0 * ROUNDING * size / abs(step)

    # -- both sides ----------------------------------------------------------------------------------------------------

    def sides(self, varied: Variation) -> list[Side | None]:
        """How the detail changes above and below a parameter's value; None where that cannot be had.

        Args:
            varied: the parameter.
        """
        return [self._side_or_none(varied, sign) for sign in (1, -1)]

    def both(self, varied: Variation, sides: list[Side | None] | None = None) -> list[Outcome | None]:
        """Effects above and below a parameter's value, per unit; None where a mesh cannot follow.

        Args:
            varied: the parameter.
            sides: of it, where they are known.
        """
        above, below = sides = _without_jumps(sides or self.sides(varied))
        if above is not None and below is not None and _one_movement(above, below):
            try:
                middle = self.outcome(_mean(above, below), varied.step)
                bend = self.outcome(_half_apart(above, below), varied.step, moved=False)
            except NoMotionError:
                return [None, None]
            return [middle.plus(bend), middle.plus(bend, -1.0)]
        return [self._one(side, varied) for side in sides]

    def _side_or_none(self, varied: Variation, sign: int) -> Side | None:
        try:
            return self.side(varied, sign)
        except (NoMotionError, SectionError):
            return None

    def _one(self, side: Side | None, varied: Variation) -> Outcome | None:
        try:
            return None if side is None else self.outcome(side, varied.step)
        except NoMotionError:
            return None


def _without_jumps(sides: list[Side | None]) -> list[Side | None]:
    """Both sides; where the ends of what is drawn jump on one that is like the other, the other one stands for it."""
    above, below = sides
    if above is not None and below is not None and above.jumped != below.jumped:
        steady = below if above.jumped else above
        if _one_movement(above, below) and _one_material(above, below):
            return [steady, steady]
    return [None if one is None or one.jumped else one for one in sides]


def _one_material(above: Side, below: Side) -> bool:
    for a, b in zip(above.sections, below.sections, strict=True):
        for one, other in ((a.tensor, b.tensor), (a.resistance, b.resistance)):
            if np.abs(one - other).max(initial=0.0) > BENT * np.abs(one).max(initial=0.0):
                return False
    return True


def _one_movement(above: Side, below: Side) -> bool:
    pairs = [(a.moving, b.moving) for a, b in zip(above.sections, below.sections, strict=True)]
    if any((a is None) != (b is None) for a, b in pairs):
        return False
    return all(a is None or b is None or a.apart(b) <= SAME * a.greatest for a, b in pairs)


def _mean(above: Side, below: Side) -> Side:
    pairs = zip(above.sections, below.sections, strict=True)
    held = 0.5 * (above.held.value + below.held.value), 0.5 * (above.held.tolerance + below.held.tolerance)
    return Side(
        tuple(Rates(0.5 * (a.tensor + b.tensor), 0.5 * (a.resistance + b.resistance), a.moving) for a, b in pairs),
        Effect(*held),
    )


def _half_apart(above: Side, below: Side) -> Side:
    pairs = zip(above.sections, below.sections, strict=True)
    held = 0.5 * (above.held.value - below.held.value)
    return Side(
        tuple(Rates(0.5 * (a.tensor - b.tensor), 0.5 * (a.resistance - b.resistance), a.moving) for a, b in pairs),
        Effect(held, 0.0),
    )
