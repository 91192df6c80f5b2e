"""How closely a detail is solved and who makes its mesh: what a call, the page and the numerics agree on."""

from __future__ import annotations

import math
from typing import NamedTuple

from bridge2d.errors import InputError

TOLERANCE = 1e-3
"""Relative width of the bracket around L2D at which refinement stops, unless told otherwise."""
FINEST, WIDEST = 1e-9, 1.0
"""A tolerance may be no less and no more."""
MESHERS = ("auto", "grid", "gmsh")
"""Who makes the mesh; "auto" is the grid where all edges are parallel to the axes, else gmsh."""


class Solving(NamedTuple):
    """What was asked for.

    Attributes:
        tolerance: relative width of the bracket around L2D at which refinement stops [-].
        mesher: one of `MESHERS`.
    """

    tolerance: float = TOLERANCE
    mesher: str = "auto"


def read_tolerance(text: str, least: float = FINEST) -> float:
    """A tolerance as it was typed [-].

    Args:
        text: a number.
        least: that is taken [-].

    Raises:
        InputError: it is no number, or no tolerance.
    """
    right = f"write a number from {plain(least)} to {plain(WIDEST)}, such as {plain(TOLERANCE)}"
    try:
        value = float(text)
    except ValueError:
        raise InputError(f"{text[:40]!r} is not a number", key="tolerance", right=right) from None
    if not (math.isfinite(value) and least <= value <= WIDEST):
        raise InputError(f"{text[:40]!r} is no tolerance", key="tolerance", right=right)
    return value


def plain(value: float) -> str:
    """A tolerance as a person writes it: "0.00001".

    Args:
        value: the tolerance [-].
    """
    return f"{value:.10f}".rstrip("0").rstrip(".")


def read_mesher(text: str) -> str:
    """A mesher as it was chosen.

    Args:
        text: its name.

    Raises:
        InputError: there is none of that name.
    """
    if text not in MESHERS:
        right = f"choose {', '.join(MESHERS[:-1])} or {MESHERS[-1]}"
        raise InputError(f"there is no mesher {text[:40]!r}", key="mesher", right=right)
    return text
