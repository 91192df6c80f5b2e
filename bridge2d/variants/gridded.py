"""A sweep over a grid as a table to look values up in: how far off a value between two rows may be.

rows -> **error of interpolation**. Estimated from second differences: a linear interpolation between neighbours is off
by about an eighth of them, along each axis, and the sides add up.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from bridge2d.shown_units import IN_SI, DisplayUnits
from bridge2d.variants.rows import numbers_of, quantity, title

if TYPE_CHECKING:
    from bridge2d.variants.axes import Axis
    from bridge2d.variants.varied import Changes, Row

EIGHTH = 0.125
LEAST = 3
"""Values along an axis without which it has no second difference."""


@dataclass(frozen=True)
class Gridded:
    """A number over the grid of all values, in the units that are shown.

    Attributes:
        name: of the number.
        values: shape (n₁, n₂, …), nan where a variant was refused.
        lower, upper: its bounds, or where its tolerance ends; same shape.
        half: greatest half of a bracket or a tolerance.
        interpolation: greatest estimated error of a linear interpolation; None where an axis is too short or made of
            words.
    """

    name: str
    values: NDArray[np.float64]
    lower: NDArray[np.float64]
    upper: NDArray[np.float64]
    half: float
    interpolation: float | None


def grids(axes: Sequence[Axis], swept: Sequence[tuple[Changes, Row]], shown: DisplayUnits = IN_SI) -> list[Gridded]:
    """Every number of a sweep over its grid.

    Args:
        axes: what is varied, all values of each.
        swept: changes and row of every variant, in the order of the grid.
        shown: units of the numbers.
    """
    return [gridded(name, axes, swept, shown) for name in numbers_of(swept)]


def gridded(
    name: str, axes: Sequence[Axis], swept: Sequence[tuple[Changes, Row]], shown: DisplayUnits = IN_SI
) -> Gridded:
    """A number of a sweep over its grid.

    Args:
        name: of the number, such as "psi_external".
        axes: what is varied, all values of each.
        swept: changes and row of every variant, in the order of the grid.
        shown: units of the number.
    """
    shape = tuple(len(axis.values) for axis in axes)
    factor, _ = shown.scale(quantity(name))
    ends = factor * np.array([_number_with_ends(row, name) for _, row in swept])
    values, lower, upper = ends.T.reshape(3, *shape)
    half = float(np.nanmax(0.5 * (upper - lower), initial=0.0))
    return Gridded(name, values, lower, upper, half, _error(values, axes))


def in_words(found: Gridded, shown: DisplayUnits = IN_SI) -> str:
    """How far off a number of the table is, and how far off a value between its rows may be.

    Args:
        found: the number over its grid.
        shown: its units.
    """
    between = (
        "not known: an axis has fewer than three computed values, or is made of words"
        if found.interpolation is None
        else f"about {found.interpolation:.2g} (from second differences)"
    )
    of = title(found.name, shown)
    return f"{of}: within ± {found.half:.2g}; off by linear interpolation between values: {between}"


def _number_with_ends(row: Row, name: str) -> tuple[float, float, float]:
    """A number of a row, and its bounds, or where its tolerance ends."""
    value = _number(row, name)
    if f"{name}_lower" in row:
        return value, _number(row, f"{name}_lower"), _number(row, f"{name}_upper")
    off = _number(row, f"{name}_tolerance")
    return value, value - off, value + off


def _number(row: Row, name: str) -> float:
    value = row.get(name)
    return float(value) if isinstance(value, float | int) else np.nan


def _error(values: NDArray[np.float64], axes: Sequence[Axis]) -> float | None:
    total = 0.0
    for k, axis in enumerate(axes):
        if len(axis.values) == 1:
            continue
        if len(axis.values) < LEAST or axis.info.kind is None:
            return None
        places = np.array(axis.values, dtype=float)
        steps, sides = np.diff(places), [-1 if j == k else 1 for j in range(values.ndim)]
        slopes = np.diff(values, axis=k) / steps.reshape(sides)
        width = np.maximum(steps[1:], steps[:-1])
        middle = 0.5 * (places[2:] - places[:-2])
        second = np.abs(np.diff(slopes, axis=k)) / middle.reshape(sides) * width.reshape(sides) ** 2
        if np.all(np.isnan(second)):
            return None
        total += EIGHTH * float(np.nanmax(second))
    return total
