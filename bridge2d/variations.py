"""A detail with one of its numbers a little smaller and a little larger.

detail file -> parameters -> **details on both sides of a value** -> sensitivities. Whatever a junction makes of a
number, lengths and air layers and blocks that stand in for glazing, is in these details.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from bridge2d import units
from bridge2d.errors import Bridge2dError
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
        near: the details close by, and by how much the parameter differs between them.
        far: the same further apart.
        even: whether both of `near` lie equally far from the value; else one of them is the detail itself.
        middle: the detail itself, without title and limits.
    """

    name: str
    symbol: str
    label: str
    measure: str
    value: float
    near: tuple[Detail, Detail, float]
    far: tuple[Detail, Detail, float]
    even: bool
    middle: Detail


def variations(loaded: LoadedDetail) -> Iterator[Variation | tuple[str, str]]:
    """Every number of a detail's parameters varied; of one that cannot be, its label and the reason.

    Args:
        loaded: the detail file.
    """
    parameters = loaded.parameters
    junction = junctions()[loaded.detail.junction]
    if parameters is None or junction.blocks:
        return
    for info in describe(type(parameters)):
        value = getattr(parameters, info.name)
        if info.kind is None or info.kind in UNVARIED or isinstance(value, bool) or not isinstance(value, float | int):
            continue
        if value == 0:
            continue  # what is not there has no size to be off by
        found = _varied(junction, parameters, info, float(value))
        yield found or (info.label, "the detail cannot be drawn with it a little smaller or larger")


def _varied(junction: Junction, parameters: Parameters, info: ParameterInfo, value: float) -> Variation | None:
    length = info.kind is units.LENGTH
    near = min(NEAR_LENGTH, 0.05 * abs(value)) if length else NEAR_SHARE * abs(value)
    far = min(FAR_LENGTH, 0.1 * abs(value)) if length else FAR_SHARE * abs(value)
    middle = _built(junction, parameters, info.name, value)
    if middle is None or info.kind is None:
        return None
    pairs = []
    for step in (near, far):
        low, high = (_built(junction, parameters, info.name, value + k * step) for k in (-1, 1))
        if low is None and high is None:
            return None
        pairs.append((low or middle, high or middle, step * ((low is not None) + (high is not None))))
    even = pairs[0][2] > 1.5 * near
    return Variation(info.name, info.symbol, info.label, info.kind.name, value, pairs[0], pairs[1], even, middle)


def _built(junction: Junction, parameters: Parameters, name: str, value: float) -> Detail | None:
    try:
        return junction.build(parameters.model_copy(update={name: value}))
    except (Bridge2dError, ValueError):
        return None
