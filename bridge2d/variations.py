"""A detail with one of its numbers a little smaller and a little larger.

detail file -> parameters -> **details on both sides of a value** -> sensitivities. Whatever a junction makes of a
number, lengths and air layers and blocks that stand in for glazing, is in these details.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from bridge2d import units
from bridge2d.errors import Bridge2dError, SectionError
from bridge2d.junctions import junctions
from bridge2d.junctions.declaration import describe

if TYPE_CHECKING:
    from bridge2d.detail import Detail
    from bridge2d.detail_file import LoadedDetail
    from bridge2d.junctions.declaration import Junction, ParameterInfo, Parameters

NEAR_LENGTH, NEAR_SHARE = 1e-4, 1e-3
"""How far beside its value a length [m] or another number [its share] is varied for a derivative."""
FAR_LENGTH, FAR_SHARE = 2e-3, 0.02
"""The same for a difference of two solutions."""
UNVARIED = (units.TEMPERATURE, units.COUNT)
"""Kinds that change no coupling, or not by a little."""


@dataclass(frozen=True)
class Variation:
    """A number of a detail and the details on both sides of it.

    Attributes:
        name, symbol, label: of the parameter.
        measure: kind of its quantity ("length", "transmittance", …).
        value: of the parameter [SI].
        step: between the details close by [SI].
        further: between the value and the details further apart [SI].
        middle: the detail itself, without title and limits.
        built: the detail with the parameter at another value; None where that cannot be built.
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

    @cached_property
    def low(self) -> Detail | None:
        """The detail with the parameter one step smaller; None where that cannot be built."""
        return self.built(self.value - self.step)

    @cached_property
    def high(self) -> Detail | None:
        """The same with the parameter one step larger."""
        return self.built(self.value + self.step)

    @cached_property
    def lower(self) -> Detail | None:
        """The same two steps smaller."""
        return self.built(self.value - 2 * self.step)

    @cached_property
    def higher(self) -> Detail | None:
        """The same two steps larger."""
        return self.built(self.value + 2 * self.step)

    @cached_property
    def _ends(self) -> tuple[Detail | None, Detail | None]:
        return self.built(self.value - self.further), self.built(self.value + self.further)

    @property
    def even(self) -> bool:
        """Whether both of `far` lie equally far from the value; else one of them is the detail itself."""
        return None not in self._ends

    @property
    def far(self) -> tuple[Detail, Detail, float]:
        """Two details further apart, and by how much the parameter differs between them.

        Raises:
            SectionError: it can be built on neither side.
        """
        low, high = self._ends
        if low is None and high is None:
            raise SectionError("cannot be drawn on either side of it")
        return low or self.middle, high or self.middle, self.further * (2 if self.even else 1)


def variations(loaded: LoadedDetail) -> Iterator[Variation | tuple[str, str]]:
    """Every number of a detail's parameters varied; of one that cannot be, its label and the reason.

    Args:
        loaded: the detail file.
    """
    parameters = loaded.parameters
    junction = junctions()[loaded.detail.junction]
    if parameters is None or junction.blocks:
        return
    middle = _built(junction, parameters, {})
    for info in describe(type(parameters)):
        value = getattr(parameters, info.name)
        if info.kind is None or info.kind in UNVARIED or isinstance(value, bool) or not isinstance(value, float | int):
            continue
        if value == 0:
            continue  # what is not there has no size to be off by
        found = None if middle is None else _varied(junction, parameters, info, float(value), middle)
        yield found or (info.label, "the detail cannot be drawn with it a little smaller or larger")


def _varied(
    junction: Junction, parameters: Parameters, info: ParameterInfo, value: float, middle: Detail
) -> Variation | None:
    length = info.kind is units.LENGTH
    near = min(NEAR_LENGTH, 0.05 * abs(value)) if length else NEAR_SHARE * abs(value)
    far = min(FAR_LENGTH, 0.1 * abs(value)) if length else FAR_SHARE * abs(value)
    if info.kind is None:
        return None
    found = Variation(
        info.name,
        info.symbol,
        info.label,
        info.kind.name,
        value,
        near,
        far,
        middle,
        lambda other: _built(junction, parameters, {info.name: other}),
    )
    drawn = found.low is not None or found.high is not None or any(found._ends)
    return found if drawn else None


def _built(junction: Junction, parameters: Parameters, changed: dict[str, float]) -> Detail | None:
    try:
        return junction.build(parameters.model_copy(update=changed))
    except (Bridge2dError, ValueError):
        return None
