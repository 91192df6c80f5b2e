"""Every limit that any option's file states, and how each option stands to it."""

from __future__ import annotations

from collections.abc import Sequence

from bridge2d.comparison.records import LimitRow, Option
from bridge2d.detail import Requirement
from bridge2d.errors import InputError
from bridge2d.requirements import assess
from bridge2d.results import RequirementResult


def limit_rows(options: Sequence[Option]) -> tuple[LimitRow, ...]:
    """The limits of all options, each held against every option, so that none is measured more mildly.

    Args:
        options: the options.
    """
    limits = dict.fromkeys(limit for option in options for limit in option.result.detail.requirements)
    return tuple(LimitRow(limit, tuple(_assessed(limit, option) for option in options)) for limit in limits)


def _assessed(limit: Requirement, option: Option) -> RequirementResult | None:
    result = option.result
    try:
        u_value = result.u_section.u_value if result.u_section else None
        return assess(limit, result.psi, result.chi, result.f_rsi, u_value)
    except InputError:  # this option has no number of that kind
        return None
