"""Limits that a call or the page may ask for, by their names; light, since every call declares them."""

from __future__ import annotations

import math

from bridge2d import units
from bridge2d.errors import InputError, QuantityError
from bridge2d.units import UnitSystem

LIMITS = {
    "psi_max": ("psi", "maximum", "Ψ may be at most so much"),
    "chi_max": ("chi", "maximum", "χ may be at most so much"),
    "u_max": ("u_value", "maximum", "U of the section may be at most so much"),
    "f_rsi_min": ("f_rsi", "minimum", "fRsi has to be at least so much"),
}
"""By its name the quantity of a limit, its sense, and what it says."""
READ = {
    "psi": (units.read_linear_transmittance, "0.02", "W/(m·K)", "Btu/(h·ft·°F)"),
    "chi": (units.read_point_transmittance, "0.01", "W/K", "Btu/(h·°F)"),
    "u_value": (units.read_transmittance, "0.2", "W/(m²·K)", "Btu/(h·ft²·°F)"),
}
"""How a limit with a unit is read: who does it, and an example with its unit in SI and in inch-pound units."""


def read_limit(text: str) -> float:
    """A limit that is a bare number.

    Args:
        text: a number.

    Raises:
        InputError: it is none.
    """
    value = _bare(text)
    if not math.isfinite(value):
        raise InputError(f"{text[:40]!r} is no limit", right="write a number such as 0.02")
    return value


def limit_si(name: str, text: str, system: UnitSystem) -> float:
    """A limit as it was typed [SI].

    Args:
        name: of the limit, one of `LIMITS`.
        text: a number, or one with a unit.
        system: units of a bare number.

    Raises:
        InputError: it is none; its key is the limit's name.
    """
    of, value = LIMITS[name][0], _bare(text)
    if of == "f_rsi":
        if not 0.0 <= value <= 1.0:
            right = "write a number from 0 to 1, such as 0.7"
            raise InputError(f"{text[:40]!r} is no limit of a temperature factor", key=name, right=right)
        return value
    read, example, si, inch_pound = READ[of]
    bare = inch_pound if system == units.INCH_POUND else si
    try:
        found = read(value if math.isfinite(value) else text, system)
    except QuantityError:
        right = f"write a number such as {example}, in {bare}, or with its unit such as {example} {si}"
        raise InputError(f"{text[:40]!r} is no limit", key=name, right=right) from None
    return found


def _bare(text: str) -> float:
    """A bare number; nan where the text is none."""
    try:
        return float(text)
    except ValueError:
        return math.nan
