"""Limits that a call or the page may ask for, by their names; light, since every call declares them."""

from __future__ import annotations

import math

from bridge2d.errors import InputError

LIMITS = {
    "psi_max": ("psi", "maximum", "Ψ may be at most so much"),
    "chi_max": ("chi", "maximum", "χ may be at most so much"),
    "u_max": ("u_value", "maximum", "U of the section may be at most so much"),
    "f_rsi_min": ("f_rsi", "minimum", "fRsi has to be at least so much"),
}
"""By its name the quantity of a limit, its sense, and what it says."""


def read_limit(text: str) -> float:
    """A limit as it was typed.

    Args:
        text: a number.

    Raises:
        InputError: it is none.
    """
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise InputError(f"{text[:40]!r} is no limit", right="write a number such as 0.02")
    return value
