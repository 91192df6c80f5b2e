"""What a result depends on, as the tables of its page."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from bridge2d import nomenclature as n
from bridge2d.sensitivity_records import Effect, InputEffect, Sensitivities
from bridge2d.sensitivity_words import (
    FACTOR,
    METHOD,
    SHARE_BASIS,
    changed,
    factor_rows,
    label,
    named,
    notes,
    off_rows,
    off_words,
    plain_estimate,
    quantity_of,
    spread_words,
    value_words,
)
from bridge2d.shown_units import DisplayUnits


def as_tables(found: Sensitivities, shown: DisplayUnits) -> dict[str, Any]:
    """Rows of words, each with its head first; the result with its bracket and the lowest factor beside them.

    Args:
        found: the sensitivities.
        shown: units of everything that is written.
    """
    of = quantity_of(found)
    bracket = shown.bounded(replace(of, decimals=of.decimals - 1), found.lower, found.upper)
    factor = found.factor
    lowest = None
    if factor is not None:
        value = shown.estimate(n.F_RSI, factor.value, factor.tolerance)
        lowest = {"value": value, "where": f"{factor.environment}, section “{factor.section}”"}
    return {
        "result": named(found),
        "bracket": bracket,
        "lowest": lowest,
        "unit": shown.unit(of),
        "parts": _parts(found, shown),
        "changes": _changes(found, shown),
        "offs": _offs(found, shown),
        "sums": off_rows(found, shown),
        "factors": factor_rows(found, shown),
        "notes": [SHARE_BASIS.replace("∂Ψ", f"∂{of.plain_symbol}"), METHOD, *notes(found)],
        "left_out": [f"{name}: {reason}" for name, reason in found.left_out],
    }


def _parts(found: Sensitivities, shown: DisplayUnits) -> list[tuple[str, ...]]:
    of = quantity_of(found)
    shares = [(one, one.share) for one in found.of_kind("material", "surface") if one.share is not None]
    rows = [(label(one, shown), value_words(one, shown), *plain_estimate(of, share, shown)) for one, share in shares]
    whole = Effect(sum(share.value for _, share in shares), sum(share.tolerance for _, share in shares))
    return [*rows, ("sum", "", *plain_estimate(of, whole, shown))]


def _changes(found: Sensitivities, shown: DisplayUnits) -> list[tuple[str, ...]]:
    rows: list[tuple[str, ...]] = []
    for row in changed(found, shown):
        factor = ("–", "") if row.f_rsi is None else plain_estimate(FACTOR, row.f_rsi, shown)
        effect = plain_estimate(quantity_of(found), row.effect, shown)
        rows.append((row.name, value_words(row.one, shown), row.step, *effect, *factor))
    return rows


def _offs(found: Sensitivities, shown: DisplayUnits) -> list[tuple[str, ...]]:
    of = quantity_of(found)
    rows = sorted((one for one in found.inputs if one.spread), key=lambda one: -one.off.value)
    return [
        (
            label(one, shown),
            spread_words(one, shown),
            one.spread.basis if one.spread else "",
            off_words(of, one.off.value, shown),
            _of_factor(one, shown),
        )
        for one in rows
    ]


def _of_factor(one: InputEffect, shown: DisplayUnits) -> str:
    return "–" if one.off_f_rsi is None else off_words(FACTOR, one.off_f_rsi.value, shown)
