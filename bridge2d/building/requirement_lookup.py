"""The one place where a building's named set of requirements is looked up; part of reading a building file."""

from __future__ import annotations

from importlib import import_module
from importlib.util import find_spec

from bridge2d.detail import Requirement
from bridge2d.errors import QuantityError

SETS = "bridge2d.requirement_sets"
"""The module that knows sets by name: `requirement_set(name) -> tuple[Requirement, …]`, a QuantityError otherwise."""


def named_requirements(name: str) -> tuple[Requirement, ...]:
    """The limits of a named set.

    Args:
        name: as the building file writes it.

    Raises:
        QuantityError: there is no such set.
    """
    if find_spec(SETS) is None:
        right = "write the limits as [[requirement]] blocks"
        raise QuantityError(f"there is no set of requirements {name[:60]!r}", right)
    found: tuple[Requirement, ...] = tuple(import_module(SETS).requirement_set(name))
    return found
