"""Limits of a call or of the page, which stand for those of the detail file.

words → **limits** → variants judged by them.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from bridge2d.detail import DIMENSION_SYSTEMS, Requirement
from bridge2d.errors import InputError
from bridge2d.listings import limit_text
from bridge2d.shown_units import IN_SI, DisplayUnits
from bridge2d.variants.asked import LIMITS, limit_si

if TYPE_CHECKING:
    from bridge2d.detail_file import LoadedDetail

USUAL_DIMENSIONS = "external"
"""Of a limit of Ψ unless told otherwise."""


def limits(given: Mapping[str, str], dimensions: str, loaded: LoadedDetail) -> tuple[Requirement, ...]:
    """The limits that are given; those of the file where there are none.

    Args:
        given: what was typed by the names of `LIMITS`; bare numbers in the units that the detail is shown in.
        dimensions: dimension system of Ψ; external where it is empty.
        loaded: the detail file.

    Raises:
        InputError: the detail has no such number, a limit cannot be read, or the dimension system is not known; its
            key is the limit's name.
    """
    if dimensions and dimensions not in DIMENSION_SYSTEMS:
        right = f"choose {', '.join(DIMENSION_SYSTEMS)}"
        raise InputError(f"there are no dimensions {dimensions[:40]!r}", key="dimensions", right=right)
    found = []
    for name, typed in given.items():
        of, sense, _ = LIMITS[name]
        if not _has(loaded)[of]:
            raise InputError(f"the detail has no {of}", key=name, right="leave this limit out")
        system = (dimensions or USUAL_DIMENSIONS) if of == "psi" else ""
        value = limit_si(name, typed, loaded.units.system)
        found.append(Requirement(of, value, sense, "", "as asked", system))
    return tuple(found) or loaded.detail.requirements


def _has(loaded: LoadedDetail) -> dict[str, Any]:
    """Which quantities a detail has."""
    detail = loaded.detail
    return {
        "psi": detail.combination.psi_section or detail.installations or any(s.flanking for s in detail.sections),
        "chi": detail.combination.chi_section,
        "u_value": detail.module,
        "f_rsi": True,
    }


def limit_words(limit: Requirement, shown: DisplayUnits = IN_SI) -> str:
    """A limit in a few words, with its own name before it where it has one.

    Args:
        limit: the limit.
        shown: units of the number.
    """
    words = limit_text(limit, shown)
    return f"{limit.name}: {words}" if limit.name else words
