"""Every limit that any option's file states or its climate asks for, and how each option stands to it."""

from __future__ import annotations

from collections.abc import Sequence

from bridge2d.comparison.alike import junctions_differ
from bridge2d.comparison.records import ClimateRow, LimitRow, Option
from bridge2d.detail import Requirement
from bridge2d.errors import InputError
from bridge2d.months_words import CRITERIA, least_kept
from bridge2d.requirements import assess
from bridge2d.results import RequirementResult


def limit_rows(options: Sequence[Option]) -> tuple[LimitRow, ...]:
    """The limits of all options, each held against every option, so that none is measured more mildly.

    A limit for another junction says nothing of an option: of different junctions each one is held against its own.

    Args:
        options: the options.
    """
    limits = dict.fromkeys(limit for option in options for limit in option.result.detail.requirements)
    apart = junctions_differ(options)
    return tuple(
        LimitRow(
            limit,
            tuple(
                _assessed(limit, option) if not apart or limit in option.result.detail.requirements else None
                for option in options
            ),
        )
        for limit in limits
    )


def _assessed(limit: Requirement, option: Option) -> RequirementResult | None:
    result = option.result
    try:
        u_value = result.u_section.u_value if result.u_section else None
        return assess(limit, result.psi, result.chi, result.f_rsi, u_value)
    except InputError:  # this option has no number of that kind
        return None


def climate_rows(options: Sequence[Option]) -> tuple[ClimateRow, ...]:
    """What the options' climates ask for, by criterion, and the factor of each option that keeps it least.

    A criterion that any option's report tells is told of all; condensation is told where mould is not kept.

    Args:
        options: the options.
    """
    months = [option.result.by_month for option in options]
    told = [least_kept(one.told_margins) if one else {} for one in months]
    known = [least_kept(one.margins) if one else {} for one in months]
    names = tuple(one.climate.name if one else "" for one in months)
    return tuple(
        ClimateRow(
            criterion, names, tuple(a.get(criterion, b.get(criterion)) for a, b in zip(told, known, strict=True))
        )
        for criterion in CRITERIA
        if any(criterion in one for one in told)
    )
