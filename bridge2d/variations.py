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
        step: between the details close by [SI].
        middle: the detail itself, without title and limits.
        below: with the parameter one and two steps smaller; None where that cannot be built.
        above: with it one and two steps larger.
        far: two details further apart, and by how much the parameter differs between them.
        even: whether both of `far` lie equally far from the value; else one of them is the detail itself.
    """

    name: str
    symbol: str
    label: str
    measure: str
    value: float
    step: float
    middle: Detail
    below: tuple[Detail | None, Detail | None]
    above: tuple[Detail | None, Detail | None]
    far: tuple[Detail, Detail, float]
    even: bool


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
    built = {
        amount: _built(junction, parameters, {info.name: value + amount})
        for amount in (-near, -2 * near, near, 2 * near, -far, far)
    }
    if info.kind is None or (built[-far] is None and built[far] is None):
        return None
    apart = far * ((built[-far] is not None) + (built[far] is not None))
    return Variation(
        info.name,
        info.symbol,
        info.label,
        info.kind.name,
        value,
        near,
        middle,
        (built[-near], built[-2 * near]),
        (built[near], built[2 * near]),
        (built[-far] or middle, built[far] or middle, apart),
        apart > 1.5 * far,
    )


def _built(junction: Junction, parameters: Parameters, changed: dict[str, float]) -> Detail | None:
    try:
        return junction.build(parameters.model_copy(update=changed))
    except (Bridge2dError, ValueError):
        return None
