"""The one place where a building's named set of requirements is looked up; part of reading a building file."""

from __future__ import annotations

from bridge2d.detail import Requirement
from bridge2d.requirement_sets import requirement_set


def named_requirements(name: str) -> tuple[Requirement, ...]:
    """The limits of a named set.

    Args:
        name: as the building file writes it.

    Raises:
        QuantityError: there is no such set.
    """
    return requirement_set(name)
