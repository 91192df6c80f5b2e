"""A sweep over a grid as a table to look values up in: how wide its brackets are, how far off a value between rows is.

rows, and those between them → **number over a grid**.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from bridge2d.shown_units import IN_SI, DisplayUnits
from bridge2d.variants.rows import number_of, numbers_of, quantity, title

if TYPE_CHECKING:
    from bridge2d.variants.axes import Axis
    from bridge2d.variants.varied import Changes, Row


@dataclass(frozen=True)
class Gridded:
    """A number over the grid of all values, in the units that are shown.

    Attributes:
        name: of the number.
        values: shape (n₁, n₂, …), nan where a variant was refused.
        lower, upper: its bounds, or where its tolerance ends; same shape.
        half: greatest half of a bracket or a tolerance.
        interpolation: greatest error of a linear interpolation, estimated, see `between`; None where nothing was
            computed between the rows.
        between: how many values between the rows it is estimated from.
        bounded: whether the number has guaranteed bounds; else a tolerance.
    """

    name: str
    values: NDArray[np.float64]
    lower: NDArray[np.float64]
    upper: NDArray[np.float64]
    half: float
    interpolation: float | None
    between: int = 0
    bounded: bool = True


def grids(
    axes: Sequence[Axis],
    swept: Sequence[tuple[Changes, Row]],
    shown: DisplayUnits = IN_SI,
    off: Mapping[str, float] | None = None,
    between: int = 0,
) -> list[Gridded]:
    """Every number of a sweep over its grid.

    Args:
        axes: what is varied, all values of each.
        swept: changes and row of every variant, in the order of the grid.
        shown: units of the numbers.
        off: errors of a linear interpolation by the numbers' names [SI], see `between.errors`.
        between: how many values they are estimated from.
    """
    return [gridded(name, axes, swept, shown, off, between) for name in numbers_of(swept)]


def gridded(
    name: str,
    axes: Sequence[Axis],
    swept: Sequence[tuple[Changes, Row]],
    shown: DisplayUnits = IN_SI,
    off: Mapping[str, float] | None = None,
    between: int = 0,
) -> Gridded:
    """A number of a sweep over its grid.

    Args:
        name: of the number, such as "psi_external".
        axes: what is varied, all values of each.
        swept: changes and row of every variant, in the order of the grid.
        shown: units of the number.
        off: errors of a linear interpolation by the numbers' names [SI].
        between: how many values they are estimated from.
    """
    shape = tuple(len(axis.values) for axis in axes)
    factor, _ = shown.scale(quantity(name))
    ends = factor * np.array([_number_with_ends(row, name) for _, row in swept])
    values, lower, upper = ends.T.reshape(3, *shape)
    half = float(np.nanmax(0.5 * (upper - lower), initial=0.0))
    bounded = any(f"{name}_lower" in row for _, row in swept)
    error = (off or {}).get(name)
    return Gridded(name, values, lower, upper, half, None if error is None else factor * error, between, bounded)


def in_words(found: Gridded, shown: DisplayUnits = IN_SI) -> str:
    """How far off a number of the table is, and how far off a value between its rows may be.

    Args:
        found: the number over its grid.
        shown: its units.
    """
    of = title(found.name, shown)
    return f"{of}: {_width(found)}; off by linear interpolation between values: {_off(found)}"


def _width(found: Gridded) -> str:
    """The widest bracket, or the widest tolerance of an estimate."""
    half = rounded_up(found.half)
    return f"within ± {half}" if found.bounded else f"with a tolerance of {half}"


def _off(found: Gridded) -> str:
    if found.interpolation is None:
        return "not known, nothing was computed between them"
    return (
        f"up to about {rounded_up(found.interpolation)} (4/3 of the most found at {found.between} values between them)"
    )


def rounded_up(value: float) -> str:
    """An error or half a bracket to two digits, never less than it is.

    Args:
        value: 0 or above.
    """
    if value <= 0.0:
        return "0"
    unit = 10.0 ** (math.floor(math.log10(value)) - 1)
    return f"{math.ceil(value / unit - 1e-9) * unit:.2g}"


def _number_with_ends(row: Row, name: str) -> tuple[float, float, float]:
    """A number of a row, and its bounds, or where its tolerance ends."""
    value = number_of(row, name)
    if f"{name}_lower" in row:
        return value, number_of(row, f"{name}_lower"), number_of(row, f"{name}_upper")
    off = number_of(row, f"{name}_tolerance")
    return value, value - off, value + off
