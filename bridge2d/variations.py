"""A detail with one of its numbers a little smaller and a little larger.

detail file -> parameters -> **details on both sides of a value** -> sensitivities. Whatever a junction makes of a
number, lengths and air layers and blocks that stand in for glazing, is in these details. A conductivity is varied
wherever the detail's materials are chosen, so that what is computed of it follows.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import cache
from typing import TYPE_CHECKING, NamedTuple, Protocol, TypeVar

from pydantic import BaseModel

from bridge2d import units
from bridge2d.errors import Bridge2dError
from bridge2d.junctions import junctions
from bridge2d.junctions.declaration import MaterialChoice, describe, is_varied
from bridge2d.junctions.material_choice import chosen
from bridge2d.materials import catalogue, with_rows

if TYPE_CHECKING:
    from bridge2d.detail import Detail
    from bridge2d.junctions.declaration import Junction, ParameterInfo, Parameters
    from bridge2d.materials import Material
    from bridge2d.tolerances_block import Tolerances

NEAR_LENGTH, NEAR_SHARE, NEAR_ANGLE = 1e-4, 1e-4, 1e-3
"""How far beside its value a length [m], another number or an angle [their share] is varied for a derivative."""
FAR_LENGTH, FAR_SHARE = 2e-3, 0.02
"""The same for a difference of two solutions."""
BEYOND = 2.5
"""Sections beside a value lie so many steps beside it: a derivative there takes two to either side."""


class Inputs(Protocol):
    """What of a detail file says how its inputs vary."""

    @property
    def detail(self) -> Detail:
        """What is computed."""

    @property
    def parameters(self) -> Parameters | None:
        """Of the junction, as validated."""

    @property
    def tolerances(self) -> Tolerances | None:
        """By how much inputs may be off; None where the file has no such block."""


class GivenInputs(NamedTuple):
    """The same alone, as another process is told; see `Inputs`."""

    detail: Detail
    parameters: Parameters | None
    tolerances: Tolerances | None


def _nowhere(_name: str, _value: float) -> None:
    """Of what is no parameter of a junction."""


@dataclass(frozen=True)
class Variation:
    """A number of a detail and the details on both sides of it.

    Attributes:
        name, symbol, label: of the parameter; of a material its name alone.
        measure: kind of its quantity ("length", "transmittance", …).
        value: of the parameter [SI].
        step: from detail to detail close by [SI].
        further: between the value and the details further apart [SI].
        middle: the detail itself, without title and limits.
        built: the detail with the parameter at another value; None where that cannot be built.
        elsewhere: the same with another parameter, by its name, at another value; None where that cannot be built.
    """

    name: str
    symbol: str
    label: str
    measure: str
    value: float
    step: float
    further: float
    middle: Detail
    built: Callable[[float], Detail | None]
    elsewhere: Callable[[str, float], Variation | None] = _nowhere

    def at(self, steps: float) -> Detail | None:
        """The detail with the parameter so many steps larger, smaller below 0; None where it cannot be built."""
        return self.middle if steps == 0 else self.built(self.value + steps * self.step)

    def beside(self, steps: float) -> Variation | None:
        """The same about another value; None where that cannot be built.

        Args:
            steps: how far away it is.
        """
        middle = self.at(steps)
        return None if middle is None else replace(self, value=self.value + steps * self.step, middle=middle)

    def beside_along(self, other: Variation, steps: float) -> Variation | None:
        """The same where a parameter has another value; None where that cannot be built.

        Args:
            other: the parameter, this one itself or another one.
            steps: how far away its value is, in its own steps.
        """
        if other.name == self.name:
            return self.beside(steps)
        return self.elsewhere(other.name, other.value + steps * other.step)

    @property
    def far(self) -> tuple[Detail | None, Detail | None]:
        """The details further apart on both sides; None where one cannot be built."""
        return self.built(self.value - self.further), self.built(self.value + self.further)


def variations(loaded: Inputs) -> Iterator[Variation | tuple[str, str]]:
    """Every number of a detail's parameters varied; of one that cannot be, its label and the reason.

    Args:
        loaded: the detail file.
    """
    parameters = loaded.parameters
    junction = junctions()[loaded.detail.junction]
    if parameters is None or junction.blocks:
        return
    middle = _built(junction, parameters)
    unused = parameters.unused()
    for info in describe(type(parameters)):
        value = getattr(parameters, info.name)
        if is_varied(info, value) and info.name not in unused:
            found = None if middle is None else _varied(junction, parameters, info, float(value), middle)
            yield found or (info.label, "the detail cannot be drawn with it a little smaller or larger")


def chosen_materials(loaded: Inputs) -> frozenset[Material]:
    """The materials that a detail's parameters choose; none of a free section, whose regions name their own.

    Args:
        loaded: the detail file.
    """
    parameters = loaded.parameters
    if parameters is None or junctions()[loaded.detail.junction].blocks:
        return frozenset()
    return frozenset(chosen(parameters))


def material_variation(loaded: Inputs, material: Material, *, along: bool) -> Variation | None:
    """A conductivity varied wherever the detail has its material; None where the detail cannot be built.

    Args:
        loaded: the detail file.
        material: one that its parameters choose, or that its junction takes from the catalogue.
        along: whether it is the conductivity along the grain.
    """
    parameters, junction = loaded.parameters, junctions()[loaded.detail.junction]
    if parameters is None:
        return None
    middle = _built(junction, parameters)
    value = material.conductivity_along if along else material.conductivity

    @cache
    def built(other: float) -> Detail | None:
        changed = replace(material, conductivity_along=other) if along else replace(material, conductivity=other)
        known = catalogue().get(material.name) == material
        with with_rows([*catalogue().values(), changed] if known else catalogue().values()):
            return _built(junction, _swapped(parameters, material, changed))

    if middle is None or value is None:
        return None
    near, far = NEAR_SHARE * value, FAR_SHARE * value
    return Variation(material.name, "", material.name, "conductivity", value, near, far, middle, built)


M = TypeVar("M", bound=BaseModel)


def _swapped(model: M, old: Material, new: Material) -> M:
    """Parameters with another material wherever they choose a certain one."""
    changed: dict[str, object] = {}
    for name in type(model).model_fields:
        value = getattr(model, name)
        if isinstance(value, MaterialChoice) and value.material == old:
            changed[name] = replace(value, material=new)
        elif isinstance(value, BaseModel):
            changed[name] = _swapped(value, old, new)
    return model.model_copy(update=changed)


def _varied(
    junction: Junction, parameters: Parameters, info: ParameterInfo, value: float, middle: Detail
) -> Variation | None:
    length = info.kind is units.LENGTH
    near = (
        min(NEAR_LENGTH, 0.02 * abs(value))
        if length
        else (NEAR_ANGLE if info.kind is units.ANGLE else NEAR_SHARE) * abs(value)
    )
    far = min(FAR_LENGTH, 0.1 * abs(value)) if length else FAR_SHARE * abs(value)
    if info.kind is None:
        return None

    @cache
    def built(other: float) -> Detail | None:
        return _built(junction, parameters.model_copy(update={info.name: other}))

    def elsewhere(other: str, at: float) -> Variation | None:
        changed = parameters.model_copy(update={other: at})
        there = _built(junction, changed)
        return None if there is None else _varied(junction, changed, info, value, there)

    found = Variation(info.name, info.symbol, info.label, info.kind.name, value, near, far, middle, built, elsewhere)
    drawn = any(found.at(k) is not None for k in (-1, 1)) or any(one is not None for one in found.far)
    return found if drawn else None


def _built(junction: Junction, parameters: Parameters) -> Detail | None:
    try:
        return junction.build(parameters)
    except (Bridge2dError, ValueError):
        return None
