"""Junctions built with a few parameters changed, and their Ψ: what the tests of every junction begin with."""

from __future__ import annotations

from typing import Any

from bridge2d.calculate import calculate
from bridge2d.detail import Detail
from bridge2d.junctions.declaration import Junction
from bridge2d.results import Bounded, Psi


def built(junction: Junction, **changes: Any) -> Detail:
    """The junction with these parameters, the others at their defaults."""
    return junction.build(junction.parameters(**changes))


def psi(detail: Detail, tolerance: float = 1e-3) -> dict[str, Psi]:
    """Ψ by dimension system."""
    return {one.dimensions: one for one in calculate(detail, tolerance).psi}


def overlap(one: Bounded, other: Bounded) -> bool:
    """Whether both brackets may hold one number."""
    return one.lower <= other.upper and other.lower <= one.upper
