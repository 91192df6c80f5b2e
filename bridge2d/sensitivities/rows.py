"""Every input of a detail with what it does to the result and to the lowest temperature factor."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

from bridge2d.errors import Bridge2dError, SectionError
from bridge2d.sensitivities.differences import Differences
from bridge2d.sensitivities.factor import FactorForms
from bridge2d.sensitivities.inputs import MaterialInput, SurfaceInput, material_inputs, surface_inputs
from bridge2d.sensitivities.motion import NoMotionError
from bridge2d.sensitivities.sections import Change, SectionForms, between, nothing
from bridge2d.sensitivities.spreads import of_material, of_parameter, of_surface
from bridge2d.sensitivities.targets import Combination, target_of
from bridge2d.sensitivity_records import Effect, Factor, InputEffect, Sensitivities, Spread
from bridge2d.tolerances_block import Tolerances
from bridge2d.variations import Variation, variations

if TYPE_CHECKING:
    from bridge2d.detail import Detail, Section
    from bridge2d.detail_file import LoadedDetail
    from bridge2d.results import DetailResult, TemperatureFactor

MILLIMETRE, TENTH = 1e-3, 0.1
SHORT = 0.01
"""A length below this is changed by a tenth instead of a millimetre [m]."""
NEAR = 1e-4
"""How far a conductivity or resistance is varied in the closed formulas, as a share of it."""
NO_EFFECT = 1e-9
"""An effect below this share of what is looked at is none."""
BENT = 0.1
"""Two steps of a closed formula that differ by more than this share of their sum are not those of a smooth one."""
ROUNDING = 1e-13
"""Of sums of U·l, as a share of what is added."""
Sections = tuple["Section", ...]
Pair = tuple["Detail | None", "Detail | None"]


def with_sensitivities(
    result: DetailResult, loaded: LoadedDetail, looked_at: tuple[str, str] | None = None
) -> DetailResult:
    """The same result with what every input does to it.

    Args:
        result: all numbers of the detail.
        loaded: the detail file that they come from.
        looked_at: section and environment of the temperature factor; the lowest one's unless given.
    """
    return replace(result, sensitivities=sensitivities(result, loaded, looked_at))


def sensitivities(
    result: DetailResult, loaded: LoadedDetail, looked_at: tuple[str, str] | None = None
) -> Sensitivities | None:
    """What every input does; None where the detail has no number with a bracket.

    Args:
        result: all numbers of the detail.
        loaded: the detail file that they come from.
        looked_at: section and environment of the temperature factor; the lowest one's unless given.
    """
    target = target_of(result)
    if target is None:
        return None
    study = _Study(result, Combination(target, result), loaded.tolerances or Tolerances(), looked_at)
    inputs = [*study.materials_and_surfaces()]
    left_out = []
    for found in variations(loaded):
        made = (found[0], found[1]) if isinstance(found, tuple) else study.parameter(found)
        if isinstance(made, tuple):
            left_out.append(made)
        elif made is not None:
            inputs.append(made)
    bracket = target.of(result)
    assert bracket is not None
    revolution = any(one.section.revolution for one in result.sections)
    return Sensitivities(
        target.quantity,
        target.dimensions,
        revolution,
        bracket.lower,
        bracket.upper,
        study.looked_at,
        tuple(inputs),
        tuple(left_out),
    )


@dataclass(frozen=True)
class _Study:
    """One detail that was solved, with what is looked at."""

    result: DetailResult
    combination: Combination
    tolerances: Tolerances
    wanted: tuple[str, str] | None

    # -- what is at hand -----------------------------------------------------------------------------------------------

    @cached_property
    def forms(self) -> tuple[SectionForms | None, ...]:
        """Of every section that is part of the target."""
        weights = self.combination.weights
        return tuple(
            SectionForms(one) if weight else None for one, weight in zip(self.result.sections, weights, strict=True)
        )

    @cached_property
    def lowest(self) -> TemperatureFactor | None:
        """The lowest temperature factor of the detail."""
        every = self.result.f_rsi
        found = [factor for factor in every if (factor.section, factor.environment) == self.wanted] or every
        return min(found, key=lambda factor: factor.value, default=None)

    @property
    def looked_at(self) -> Factor | None:
        """The same for the record."""
        one = self.lowest
        return None if one is None else Factor(one.environment, one.section, one.value, one.tolerance)

    @cached_property
    def _factor(self) -> tuple[int, FactorForms, SectionForms] | None:
        """Number of the factor's section, its forms, and the forms that move its mesh."""
        if self.lowest is None:
            return None
        names = [one.section.name for one in self.result.sections]
        number = names.index(self.lowest.section)
        one = self.result.sections[number]
        return number, FactorForms(one, self.lowest), self.forms[number] or SectionForms(one)

    @cached_property
    def sections(self) -> Sections:
        """The sections as they were solved, cavities frozen."""
        return tuple(one.section for one in self.result.sections)

    # -- materials and surfaces ----------------------------------------------------------------------------------------

    def materials_and_surfaces(self) -> Iterator[InputEffect]:
        """Every conductivity and surface resistance of the sections that count."""
        counting = [one for one, forms in zip(self.sections, self.forms, strict=True) if forms is not None]
        for material in material_inputs(counting):
            yield self._row(material, of_material(material, self.tolerances))
        for surface in surface_inputs(counting):
            yield self._row(surface, of_surface(surface.value, self.tolerances))

    def _row(self, one: MaterialInput | SurfaceInput, spread: Spread | None) -> InputEffect:
        """A material or surface, whose share of the result is value times derivative, less of a resistance."""
        step = NEAR * one.value
        low, high = (tuple(one.varied(section, k * step) for section in self.sections) for k in (-1, 1))
        changes = [one.change(section) for section in self.sections]
        detail = self.combination.detail
        held = self.combination.between((detail, low), (detail, high))
        effect = self._total(changes, held, 2 * step)
        factor = self._of_factor(changes) if one.kind == "material" else None
        tenth = TENTH * one.value
        return InputEffect(
            one.kind,
            one.name,
            "",
            one.measure,
            one.value,
            tenth,
            True,
            _times(effect, tenth),
            None if factor is None else _times(factor, tenth),
            _times(effect, one.value if one.kind == "material" else -one.value),
            "solution",
            isinstance(one, MaterialInput) and one.frozen,
            spread,
        )

    def _total(self, changes: list[Change], held: Effect, step: float) -> Effect:
        """Change of the target per unit of an input, from the sections' changes and what changes with L2D held."""
        value, tolerance = held.value / step, held.tolerance / step + self._rounding(step)
        for forms, weight, change in zip(self.forms, self.combination.weights, changes, strict=True):
            if forms is not None:
                one = forms.effect(change)
                value, tolerance = value + weight * one.value, tolerance + abs(weight) * one.tolerance
        return Effect(value, tolerance)

    def _rounding(self, step: float) -> float:
        """What rounding may do to a difference of closed formulas over a step."""
        size = sum(
            abs(w * one.l2d.value)
            for w, one in zip(self.combination.weights, self.result.sections, strict=True)
            if one.l2d
        )
        return ROUNDING * size / abs(step)

    def _of_factor(self, changes: list[Change]) -> Effect | None:
        if self._factor is None:
            return None
        number, forms, _ = self._factor
        return forms.effect(changes[number])

    # -- parameters ----------------------------------------------------------------------------------------------------

    def parameter(self, varied: Variation) -> InputEffect | tuple[str, str] | None:
        """A parameter's effects; None where it has none, its label and the reason where they cannot be had.

        Args:
            varied: the detail on both sides of the parameter's value.
        """
        short = varied.measure != "length" or abs(varied.value) < SHORT
        step = TENTH * abs(varied.value) if short else MILLIMETRE
        try:
            effect, factor = self._by_moving(varied)
            by = "moved mesh"
        except (NoMotionError, SectionError):
            try:
                effect, factor = self._differences.effects(varied)
                by = "difference"
            except Bridge2dError:
                return varied.label, "the sections on both sides of its value cannot be compared"
        if self._is_nothing(effect, factor, step):
            return None
        if varied.measure == "resistance" and abs(effect.value) * step > NO_EFFECT:
            return None  # it stands among the surfaces
        return InputEffect(
            "parameter",
            varied.label,
            varied.symbol,
            varied.measure,
            varied.value,
            step,
            short,
            _times(effect, step),
            None if factor is None else _times(factor, step),
            None,
            by,
            spread=of_parameter(varied, self.tolerances),
        )

    def _is_nothing(self, effect: Effect, factor: Effect | None, step: float) -> bool:
        size = max(abs(self.combination.value), *(abs(w) for w in self.combination.weights)) * NO_EFFECT
        return abs(effect.value) * step <= size and (factor is None or abs(factor.value) * step <= NO_EFFECT)

    def _by_moving(self, varied: Variation) -> tuple[Effect, Effect | None]:
        """Both effects by moving the mesh: evenly through the value, else on one side of it."""
        middle, step = varied.middle, varied.step
        ways: list[tuple[Callable[[], Pair], float, Callable[[], Pair] | None]] = [
            (lambda: (varied.low, varied.high), 2 * step, None),
            (lambda: (varied.low, middle), step, lambda: (varied.lower, varied.low)),
            (lambda: (middle, varied.high), step, lambda: (varied.high, varied.higher)),
        ]
        for sides, apart, beyond in ways:
            before, after = sides()
            if before is None or after is None:
                continue
            try:
                return self._moved(before, after, apart, beyond)
            except NoMotionError:
                continue
        raise NoMotionError

    def _moved(
        self, before: Detail, after: Detail, step: float, beyond: Callable[[], Pair] | None
    ) -> tuple[Effect, Effect | None]:
        """Both effects by one movement; on one side of the value with the step beyond it, for the closed formulas."""
        if not len(before.sections) == len(after.sections) == len(self.sections):
            raise NoMotionError
        changes = []
        for number, forms in enumerate(self.forms):
            moved = self._factor[2] if forms is None and self._factor and self._factor[0] == number else forms
            pair = before.sections[number], after.sections[number]
            changes.append(
                nothing(self.sections[number])
                if moved is None
                else between(*pair, step, moved.mover, even=beyond is None)
            )
        held = self.combination.between((before, before.sections), (after, after.sections))
        if beyond is not None:
            held = self._straightened(held, beyond())
        return self._total(changes, held, step), self._of_factor(changes)

    def _straightened(self, held: Effect, beyond: Pair) -> Effect:
        """A difference on one side of the value without what its step hides to first order, by the step beyond it."""
        first, second = beyond
        if first is None or second is None:
            raise NoMotionError
        other = self.combination.between((first, first.sections), (second, second.sections))
        bent = held.value - other.value
        if abs(bent) > BENT * (abs(held.value) + abs(other.value)) + self._rounding(1.0):
            raise NoMotionError  # a length jumps between both steps
        return Effect(held.value + 0.5 * bent, held.tolerance + 0.5 * other.tolerance)

    @cached_property
    def _differences(self) -> Differences:
        return Differences(self.combination.target, self.lowest)


def _times(effect: Effect, factor: float) -> Effect:
    return Effect(effect.value * factor, effect.tolerance * abs(factor))
