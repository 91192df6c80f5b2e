"""Every input of a detail with what it does to the result and to the temperature factors."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import ExitStack, closing
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, TypeVar

import numpy as np

from bridge2d.beside import Ahead, Tasks
from bridge2d.errors import Bridge2dError
from bridge2d.materials import catalogue
from bridge2d.processes import processors
from bridge2d.sensitivities.beside import SIGNS, Beside, Solutions, alike, as_one, order_beside
from bridge2d.sensitivities.differences import difference
from bridge2d.sensitivities.inputs import MaterialInput, SurfaceInput, material_inputs, surface_inputs
from bridge2d.sensitivities.spreads import of_material, of_parameter, of_surface
from bridge2d.sensitivities.study import Outcome, Side, Study
from bridge2d.sensitivities.targets import Combination, target_of
from bridge2d.sensitivity_records import Effect, Factor, InputEffect, Sensitivities
from bridge2d.sparse import keeping
from bridge2d.tolerances_block import Tolerances
from bridge2d.variations import Inputs, Variation, chosen_materials, material_variation, variations

if TYPE_CHECKING:
    from bridge2d.materials import Material
    from bridge2d.results import DetailResult, TemperatureFactor
    from bridge2d.sensitivities.sections import Change
    from bridge2d.sensitivities.study import Place

MILLIMETRE, TENTH = 1e-3, 0.1
SHORT = 0.01
"""A length below this is changed by a tenth instead of a millimetre [m]."""
NEAR = 1e-4
"""How far a conductivity or resistance is varied in the closed formulas, as a share of it."""
NO_EFFECT = 1e-9
"""An effect below this share of what is looked at is none."""
NOTHING = "changes neither the result nor the temperature factors"
NOT_COMPARED = "the sections on both sides of its value cannot be compared"
MOST_COPIES = 3
"""Parameters are looked at in this process and up to so many copies of it; each takes memory of its own."""
UNKNOWNS = 15_000
"""Of the matrices whose analyses are kept meanwhile: those of sections beside come back once, moved."""
FILM = "surface resistance "
"""Begins the label of a film's parameter; what follows says where it is."""


T = TypeVar("T")
Row = InputEffect | tuple[str, str]
"""An input's effects, or its name and why it is left out."""
Sides = list[Outcome | None]
"""Effects above and below a parameter's value; None where they are not known."""


def with_sensitivities(result: DetailResult, loaded: Inputs, looked_at: tuple[str, str] | None = None) -> DetailResult:
    """The same result with what every input does to it.

    Args:
        result: all numbers of the detail.
        loaded: the detail file that they come from.
        looked_at: section and environment of the temperature factor; the lowest one's unless given.
    """
    return replace(result, sensitivities=sensitivities(result, loaded, looked_at))


def sensitivities(
    result: DetailResult, loaded: Inputs, looked_at: tuple[str, str] | None = None
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
    rows = _Rows(result, loaded, Combination(target, result), looked_at)
    rows.prepare()
    found: list[Row] = []
    with keeping(UNKNOWNS):
        made = _side_by_side(rows.count, rows.parameters, lambda: found.extend([*rows.materials(), *rows.surfaces()]))
        left = {number: one for number, one in made.items() if isinstance(one, list)}
        groups = rows.groups(left)
        for several in _side_by_side(len(groups), lambda numbers: rows.beside(numbers, groups, left)).values():
            made.update(several)
    found += [one for _, one in sorted(made.items()) if not isinstance(one, list)]
    bracket = target.of(result)
    assert bracket is not None
    return Sensitivities(
        target.quantity,
        target.dimensions,
        any(one.section.revolution for one in result.sections),
        bracket.lower,
        bracket.upper,
        None if rows.lowest is None else _record(rows.lowest),
        tuple(one for one in found if isinstance(one, InputEffect)),
        tuple(one for one in found if not isinstance(one, InputEffect)),
        tuple(map(_record, rows.factors)),
    )


def _side_by_side(
    count: int, work: Callable[[Iterable[int]], dict[int, T]], meanwhile: Callable[[], None] = lambda: None
) -> dict[int, T]:
    """What some tasks give, taken up one by one by this process and copies of it.

    Args:
        count: how many tasks there are.
        work: does those with certain numbers; none says anything to another one, so that the order does not count.
        meanwhile: what this process does first.
    """
    copies = max(0, min(MOST_COPIES, processors() - 1, count - 1))
    with ExitStack() as kept:
        tasks = kept.enter_context(closing(Tasks(count)))
        ahead = [kept.enter_context(closing(Ahead(lambda: work(tasks)))) for _ in range(copies)]
        meanwhile()
        made = work(tasks)
        for one in ahead:
            made.update(one.value())
    made.update(work(number for number in range(count) if number not in made))  # a copy was lost
    return made


def _record(factor: TemperatureFactor) -> Factor:
    return Factor(factor.environment, factor.section, factor.value, factor.tolerance)


@dataclass(frozen=True)
class _Rows:
    """The rows of one detail that was solved."""

    result: DetailResult
    loaded: Inputs
    combination: Combination
    wanted: Place | None

    @property
    def tolerances(self) -> Tolerances:
        """By how much inputs may be off."""
        return self.loaded.tolerances or Tolerances()

    @cached_property
    def factors(self) -> tuple[TemperatureFactor, ...]:
        """Every temperature factor, the lowest one first."""
        every = sorted(self.result.f_rsi, key=lambda one: one.value)
        first = [one for one in every if (one.section, one.environment) == self.wanted]
        return (*first, *(one for one in every if one not in first))

    @property
    def lowest(self) -> TemperatureFactor | None:
        """The temperature factor that is looked at."""
        return self.factors[0] if self.factors else None

    @cached_property
    def study(self) -> Study:
        """Forms of the detail."""
        places = [(one.section, one.environment) for one in self.factors]
        return Study(self.result, self.combination, places, twice=True)

    def prepare(self) -> None:
        """Find what every process needs."""
        self.study.prepare()
        _ = self._others

    # -- materials -----------------------------------------------------------------------------------------------------

    def materials(self) -> Iterator[Row]:
        """Every conductivity of the sections that count, and of what is computed of others."""
        chosen = chosen_materials(self.loaded)
        counting = [self.study.sections[k] for k in sorted(self.study.counting)]
        also = [one for one in sorted(chosen, key=lambda one: one.name) if self._is_part_of_another(one)]
        for one in material_inputs(counting, also):
            yield self._material(one, one.material in chosen)

    @cached_property
    def _computed(self) -> str:
        """Names of the materials that are computed of others."""
        regions = (region for section in self.study.sections for region in section.regions)
        return "\n".join({r.material.name for r in regions if r.material.source.endswith("; computed")})

    def _is_part_of_another(self, material: Material) -> bool:
        return material.name in self._computed

    def _material(self, one: MaterialInput, chosen: bool) -> Row:
        """A conductivity; its share of the result is that of the regions that have it."""
        followed = chosen or catalogue().get(one.material.name) == one.material
        varied = material_variation(self.loaded, one.material, along=one.axis == "along") if followed else None
        sides = None if varied is None else self.study.sides(varied)
        both = None if varied is None or sides is None else _had(self.study.both(varied, sides))
        carried = both[0] if both is not None and self._is_only_there(one, sides) else self._in_place(one)
        both = both or (carried, carried)
        part = _times(carried.result, one.value)
        share = part if abs(part.value) > self._least else None
        if share is None and self._is_nothing(both, TENTH * one.value):
            return one.name, NOTHING
        return self._row(
            InputEffect(
                "material",
                one.name,
                "",
                "conductivity",
                one.value,
                TENTH * one.value,
                True,
                Effect(0.0, 0.0),
                None,
                share,
                "solution",
                one.frozen,
                of_material(one, self.tolerances),
                computed=one.computed,
                together=one.material.name if one.axis else "",
            ),
            *both,
        )

    def _is_only_there(self, one: MaterialInput, sides: list[Side | None] | None) -> bool:
        """Whether a conductivity changes nothing but the regions that have it."""
        above = None if sides is None else sides[0]
        if above is None:
            return False
        pairs = zip(above.sections, self.study.sections, strict=True)
        return all(np.allclose(rates.tensor, one.change(section).tensor, atol=1e-6) for rates, section in pairs)

    def _in_place(self, one: MaterialInput | SurfaceInput) -> Outcome:
        """Effects of an input on the regions or surfaces that have it, all else being held."""
        step = NEAR * one.value
        sections = self.study.sections
        near, further = (
            replace(self.combination.detail, sections=tuple(one.varied(section, k * step) for section in sections))
            for k in (1, 2)
        )
        changes: list[Change] = [one.change(section) for section in sections]
        held = self.combination.slope((self.combination.detail, near, further), step)
        return self.study.effects(changes, Effect(held.value, held.tolerance + self.study.rounding(step)))

    # -- surfaces ------------------------------------------------------------------------------------------------------

    def surfaces(self) -> Iterator[Row]:
        """Every surface resistance: those that are parameters, then those that a section brings along."""
        known: set[tuple[str, int]] = set()
        for varied, sides in self._films:
            assert sides[0] is not None
            on = _surfaces_of(sides[0], [one.name for one in self.study.sections])
            known |= on
            yield self._film(varied, sides, on)
        counting = [self.study.sections[k] for k in sorted(self.study.counting)]
        for one in surface_inputs(counting, frozenset(known)):
            yield self._surface(one)

    @cached_property
    def _varied(self) -> list[Variation | tuple[str, str]]:
        return list(variations(self.loaded))

    @cached_property
    def _films(self) -> list[tuple[Variation, list[Side | None]]]:
        """Parameters that are the resistance of a film for the heat flow, with the detail's changes on both sides."""
        found = []
        for one in self._varied:
            if isinstance(one, Variation) and one.measure == "resistance":
                sides = self.study.sides(one)
                if sides[0] is not None and any(rates.resistance[:, 0].any() for rates in sides[0].sections):
                    found.append((one, sides))
        return found

    @cached_property
    def _others(self) -> list[Variation | tuple[str, str]]:
        """Parameters that are no film's."""
        films = {varied.name for varied, _ in self._films}
        return [one for one in self._varied if isinstance(one, tuple) or one.name not in films]

    def _film(self, varied: Variation, sides: list[Side | None], on: frozenset[tuple[str, int]]) -> Row:
        where = varied.label.removeprefix(FILM)
        above, below = self.study.both(varied, sides)
        if above is None or below is None:
            return where, NOT_COMPARED
        if self._is_nothing((above, below), TENTH * varied.value):
            return where, NOTHING
        carried = self._in_place(SurfaceInput(where, varied.value, on))
        given = of_parameter(varied, self.tolerances) or of_surface(varied.value, self.tolerances)
        made = self._surface_row(where, varied.value, _times(carried.result, -varied.value))
        return self._row(replace(made, spread=given, parameter=varied.name, symbol=varied.symbol), above, below)

    def _surface(self, one: SurfaceInput) -> Row:
        found = self._in_place(one)
        if self._is_nothing((found, found), TENTH * one.value):
            return f"surface, {one.name}", NOTHING
        share = _times(found.result, -one.value) if one.flow else None
        spread = of_surface(one.value, self.tolerances)
        return self._row(replace(self._surface_row(one.name, one.value, share), spread=spread), found, found)

    @staticmethod
    def _surface_row(name: str, value: float, share: Effect | None) -> InputEffect:
        none, step = Effect(0.0, 0.0), TENTH * value
        return InputEffect("surface", name, "", "resistance", value, step, True, none, None, share, "solution")

    # -- parameters ----------------------------------------------------------------------------------------------------

    @property
    def count(self) -> int:
        """How many other parameters there are."""
        return len(self._others)

    def parameters(self, numbers: Iterable[int]) -> dict[int, Row | Sides]:
        """The other parameters of some numbers, by the detail's own mesh.

        Args:
            numbers: of them.

        Returns:
            effects above and below of those that it cannot follow on one side at least.
        """
        others = self._others
        return {k: one if isinstance(one := others[k], tuple) else self._parameter(one) for k in numbers}

    def _parameter(self, varied: Variation) -> Row | Sides:
        here = self.study.both(varied)
        return here if any(_missing(varied, here)) else self._parameter_row(varied, here, "moved mesh")

    def groups(self, left: Mapping[int, Sides]) -> list[list[int]]:
        """Numbers of parameters that the detail's own mesh cannot follow; those that share solutions stand together.

        Args:
            left: what it says of either side.
        """
        groups: list[tuple[list[int], set[object]]] = []
        for number, here in left.items():
            varied = self._others[number]
            assert isinstance(varied, Variation)
            missing = zip(SIGNS, _missing(varied, here), strict=True)
            orders = [order_beside(varied, sign) for sign, it_is in missing if it_is]
            own: tuple[list[int], set[object]] = ([number], {one for one in orders if one is not None})
            apart = [one for one in groups if not one[1] & own[1]]
            for one in groups:
                if one not in apart:
                    own = (one[0] + own[0], one[1] | own[1])
            groups = [*apart, own]
        return [sorted(numbers) for numbers, _ in sorted(groups, key=lambda one: -len(one[1]))]

    def beside(
        self, numbers: Iterable[int], groups: Sequence[list[int]], left: Mapping[int, Sides]
    ) -> dict[int, dict[int, Row]]:
        """The parameters of some groups, from solutions near the detail.

        Args:
            numbers: of the groups.
            groups: see `groups`.
            left: what the detail's own mesh says of either side.
        """
        found: dict[int, dict[int, Row]] = {}
        for number in numbers:
            near = Beside(self.study, Solutions(self.result))
            found[number] = {k: self._parameter_beside(self._others[k], left[k], near) for k in groups[number]}
        return found

    def _parameter_beside(self, varied: Variation | tuple[str, str], here: Sides, near: Beside) -> Row:
        assert isinstance(varied, Variation)
        found = near.both(varied, here)
        if not any(_missing(varied, found)):
            return self._parameter_row(varied, found, "beside")
        try:
            whole = difference(varied, self.combination.target, self.study.places, near.solutions)
        except Bridge2dError:
            whole = None
        return self._parameter_row(varied, [whole, whole], "difference")

    def _parameter_row(self, varied: Variation, both: Sides, by: str) -> Row:
        short = varied.measure != "length" or abs(varied.value) < SHORT
        step = TENTH * abs(varied.value) if short else MILLIMETRE
        above, below = both
        if above is None and below is None:
            return varied.label, NOT_COMPARED
        first, second = above or below, below or above
        assert first is not None
        assert second is not None
        if self._is_nothing((first, second), step):
            return varied.label, NOTHING
        spread = of_parameter(varied, self.tolerances)
        if spread is None and varied.measure == "resistance":
            spread = of_surface(varied.value, self.tolerances)
        made = InputEffect(
            "parameter",
            varied.label,
            varied.symbol,
            varied.measure,
            varied.value,
            step,
            short,
            Effect(0.0, 0.0),
            None,
            None,
            by,
            spread=spread,
            parameter=varied.name,
        )
        return self._row(made, first, second)

    # -- all -----------------------------------------------------------------------------------------------------------

    def _row(self, made: InputEffect, above: Outcome, below: Outcome) -> InputEffect:
        """A row with its effects from both sides of its value."""
        step = made.step
        effect, smaller = _stated(above.result, below.result, step)
        pairs = [_stated_of(*pair, step) for pair in zip(above.factors, below.factors, strict=True)]
        greater = tuple(_greater(*pair) for pair in pairs)
        f_rsi, smaller_f_rsi = pairs[0] if pairs else (None, None)
        return replace(made, effect=effect, smaller=smaller, f_rsi=f_rsi, smaller_f_rsi=smaller_f_rsi, factors=greater)

    @property
    def _least(self) -> float:
        """A result smaller than this is none."""
        return max(abs(self.combination.value), *(abs(w) for w in self.combination.weights)) * NO_EFFECT

    def _is_nothing(self, both: tuple[Outcome, Outcome], step: float) -> bool:
        for one in both:
            if abs(one.result.value) * abs(step) > self._least:
                return False
            if any(factor is not None and abs(factor.value) * abs(step) > NO_EFFECT for factor in one.factors):
                return False
        return True


def _missing(varied: Variation, both: Sides) -> list[bool]:
    """Whether the effect above a parameter's value, and that below it, is there to be had but is not known."""
    return [one is None and varied.at(sign) is not None for one, sign in zip(both, SIGNS, strict=True)]


def _had(both: Sides) -> tuple[Outcome, Outcome] | None:
    """Effects above and below, where both could be had."""
    above, below = both
    return None if above is None or below is None else (above, below)


def _surfaces_of(side: Side, names: list[str]) -> frozenset[tuple[str, int]]:
    """Section's name and number of the surfaces whose resistance for the heat flow a change changes."""
    found = ((name, np.flatnonzero(one.resistance[:, 0])) for name, one in zip(names, side.sections, strict=True))
    return frozenset((name, k) for name, numbers in found for k in numbers.tolist())


def _stated(above: Effect, below: Effect, step: float) -> tuple[Effect, Effect | None]:
    """Effect of a step up, and of a step down where it is another."""
    if alike(above, below):
        return _times(as_one(above, below), step), None
    return _times(above, step), _times(below, -step)


def _stated_of(above: Effect | None, below: Effect | None, step: float) -> tuple[Effect | None, Effect | None]:
    """The same of a factor; where one side alone was looked at, it stands for both."""
    first, second = above or below, below or above
    return (None, None) if first is None or second is None else _stated(first, second, step)


def _greater(one: Effect | None, other: Effect | None) -> Effect | None:
    return other if one is not None and other is not None and abs(other.value) > abs(one.value) else one


def _times(effect: Effect, factor: float) -> Effect:
    return Effect(effect.value * factor, effect.tolerance * abs(factor))
