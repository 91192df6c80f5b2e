"""Range checks of the standards' arguments; each message carries the value."""

import math


def require_positive(name: str, value: float, unit: str) -> None:
    """Refuses what is not a finite number above zero."""
    if not (value > 0.0 and math.isfinite(value)):
        raise ValueError(f"{name} is {_with_unit(value, unit)}; it has to be above {_with_unit(0, unit)}")


def require_not_negative(name: str, value: float, unit: str) -> None:
    """Refuses what is not a finite number from zero up."""
    if not (value >= 0.0 and math.isfinite(value)):
        raise ValueError(f"{name} is {_with_unit(value, unit)}; it has to be {_with_unit(0, unit)} or above")


def require_between(name: str, value: float, low: float, high: float, unit: str) -> None:
    """Refuses what is not a number from `low` to `high`, both included."""
    if not low <= value <= high:
        raise ValueError(f"{name} is {_with_unit(value, unit)}; it has to be from {low} to {_with_unit(high, unit)}")


def require_finite(name: str, value: float, unit: str) -> None:
    """Refuses infinity and what is not a number."""
    if not math.isfinite(value):
        raise ValueError(f"{name} is {_with_unit(value, unit)}; it has to be a finite number")


def _with_unit(value: float, unit: str) -> str:
    return f"{value} {unit}" if unit else f"{value}"
