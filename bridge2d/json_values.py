"""Brackets and lengths as JSON has them; beside the tables, which all modules that write JSON share."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bridge2d.results import Bounded


def bracket(number: Bounded) -> dict[str, float]:
    """A number with its bounds.

    Args:
        number: the bracket.
    """
    return {"value": number.value, "lower": number.lower, "upper": number.upper}


def millimetres(metres: float) -> float:
    """A length in the unit of a detail file [mm].

    Args:
        metres: the length [m].
    """
    return round(metres * 1000.0, 6)
