"""Rows of sensitivities against differences of tightly bracketed solutions, on both sides of each value.

Everything but the rows themselves comes from the detail built and solved anew with the input at another value; only the
conductivities of cavities stay as the rows hold them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from pydantic import BaseModel

from bridge2d.calculate import combined
from bridge2d.detail import Detail, Section
from bridge2d.detail_file import LoadedDetail
from bridge2d.errors import Bridge2dError
from bridge2d.junctions import junctions
from bridge2d.junctions.declaration import MaterialChoice
from bridge2d.materials import Material, catalogue, with_rows
from bridge2d.results import DetailResult, SectionResult
from bridge2d.section_results import solve_section
from bridge2d.sensitivities.inputs import is_cavity
from bridge2d.sensitivities.targets import Combination, target_of
from bridge2d.sensitivity_records import Effect, InputEffect

MIDDLE = 0.05
"""The middle of a bracket is nearer the truth than this share of its half, by all that is known of it."""
Side = tuple[Effect, tuple[float, float]]
"""What a row states of a side per step of it, and the difference with its doubt."""


class Held:
    """A detail whose rows are held against differences."""

    def __init__(self, loaded: LoadedDetail, result: DetailResult, tight: float = 1e-6) -> None:
        self.loaded, self.result, self.tight = loaded, result, tight
        target = target_of(result)
        assert target is not None
        self.target, self.weights = target, Combination(target, result).weights
        self._solved: list[tuple[Section, SectionResult]] = []

    def middle(self, row: InputEffect, step: float) -> tuple[float, float]:
        """Difference of one value below and one above, per step of the row, and its doubt."""
        detail = self._detail(row)
        low, high = (self._value(detail(row.value + k * step)) for k in (-1, 1))
        assert low is not None
        assert high is not None
        share = 0.5 * row.step / step
        return share * (high[0] - low[0]), share * MIDDLE * (high[1] + low[1])

    def sides(self, row: InputEffect, step: float) -> Iterator[Side]:
        """Above and below, where the detail can be built."""
        for sign, stated in ((1, row.effect), (-1, row.smaller)):
            detail = self._detail(row)
            near, further = (self._value(detail(row.value + sign * k * step)) for k in (1, 2))
            middle = self._value(detail(row.value))
            if near is None or further is None or middle is None:
                continue
            first, second = (near[0] - middle[0]) / step, (further[0] - middle[0]) / (2 * step)
            noise = MIDDLE * (2 * (near[1] + middle[1]) + (further[1] + middle[1]) / 2) / step
            true = sign * (2 * first - second), noise + 0.25 * abs(first - second)
            effect = row.effect if stated is None else Effect(sign * stated.value, stated.tolerance)
            yield effect, (true[0] * row.step, true[1] * row.step)

    def _detail(self, row: InputEffect) -> Callable[[float], Detail | None]:
        parameters = self.loaded.parameters
        assert parameters is not None
        build = junctions()[self.loaded.detail.junction].build

        def built(value: float) -> Detail | None:
            try:
                if row.parameter:
                    return build(parameters.model_copy(update={row.parameter: value}))
                name = row.name.removesuffix(", along the grain").removesuffix(", across the grain")
                key = "conductivity_along" if row.name.endswith("along the grain") else "conductivity"
                old = _chosen(parameters, name)
                new = replace(old, **{key: value})
                with with_rows([new] if catalogue().get(name) == old else []):
                    return build(_swapped(parameters, old, new))
            except Bridge2dError:
                return None

        return built

    def _value(self, detail: Detail | None) -> tuple[float, float] | None:
        if detail is None:
            return None
        pairs = zip(detail.sections, self.result.sections, strict=True)
        sections = tuple(_as_frozen(new, old.section) for new, old in pairs)
        bare = replace(detail, climate=None, requirements=(), sections=sections)
        results = (
            self._section(one) if weight else replace(old, section=one)
            for one, weight, old in zip(sections, self.weights, self.result.sections, strict=True)
        )
        value = self.target.of(combined(bare, tuple(results), 0.0, ""))
        assert value is not None
        return value.value, value.half_width

    def _section(self, section: Section) -> SectionResult:
        probes = section.probes if self.result.u_section else ()  # a module's factor is read at one
        plain = replace(section, psi_half_width=10.0, probes=probes, watched=(), airtight=())
        for known, result in self._solved:
            if known == plain:
                return result
        self._solved.append((plain, solve_section(plain, self.tight)))
        return self._solved[-1][1]


def _as_frozen(new: Section, old: Section) -> Section:
    """A section with the conductivities that the cavities of another one, in the same order, were frozen at."""
    following = iter([region.material for region in old.regions if is_cavity(region)])
    regions = tuple(replace(r, material=next(following), cavity=None) if r.cavity else r for r in new.regions)
    assert next(following, None) is None
    return replace(new, regions=regions)


def _chosen(model: BaseModel, name: str) -> Material:
    for field in type(model).model_fields:
        value = getattr(model, field)
        if isinstance(value, MaterialChoice) and value.material.name == name:
            return value.material
    return catalogue()[name]


def _swapped(model: BaseModel, old: Material, new: Material) -> BaseModel:
    found = {field: getattr(model, field) for field in type(model).model_fields}
    choices = {k: v for k, v in found.items() if isinstance(v, MaterialChoice) and v.material == old}
    return model.model_copy(update={k: replace(v, material=new) for k, v in choices.items()})
