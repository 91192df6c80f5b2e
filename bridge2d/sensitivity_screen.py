"""Sensitivities as lines of the screen; all of them are estimates."""

from __future__ import annotations

import textwrap

from bridge2d.sensitivity_records import Sensitivities
from bridge2d.sensitivity_words import (
    FACTOR,
    by_effect,
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
from bridge2d.shown_units import IN_SI, DisplayUnits

WRAPPED = 110
"""Signs of a line on the screen."""


def sensitivity_lines(found: Sensitivities, shown: DisplayUnits = IN_SI) -> list[str]:
    """Sensitivities as lines of the screen.

    Args:
        found: the sensitivities.
        shown: units of everything that is written.
    """
    of = quantity_of(found)
    unit = shown.unit(of)
    parts = [
        (label(one, shown), value_words(one, shown), plain_estimate(of, one.share, shown))
        for one in found.of_kind("material", "surface")
        if one.share is not None
    ]
    changes = [
        (
            row.name,
            row.step,
            plain_estimate(of, row.effect, shown),
            plain_estimate(FACTOR, row.f_rsi, shown) if row.f_rsi else ("", ""),
        )
        for row in changed(found, shown)
    ]
    width = max((len(row[0]) for row in [*parts, *changes]), default=0)
    lines = [f"What carries {named(found)} [{unit}], estimated with tolerance"]
    lines += [f"  {name:<{width}}  {value:>16}  {a:>11} ({b})" for name, value, (a, b) in parts]
    lines.append(f"What a change does to {named(found)} [{unit}] and to the lowest fRsi, estimated with tolerance")
    for name, step, (a, b), (c, d) in changes:
        lines.append(f"  {name:<{width}}  {step:>16}  {a:>11} ({b})" + (f"  {c:>9} ({d})" if c else ""))
    return [*lines, *_off_lines(found, shown)]


def _off_lines(found: Sensitivities, shown: DisplayUnits) -> list[str]:
    of = quantity_of(found)
    lines = [f"How far {named(found)} and fRsi are off where the inputs are"]
    counting = by_effect(found)
    width = max((len(label(one, shown)) for one in counting), default=0)
    for one in counting:
        off = off_words(of, one.off.value, shown)
        factor = f"; fRsi by up to {off_words(FACTOR, one.off_f_rsi.value, shown)}" if one.off_f_rsi else ""
        because = one.spread.basis if one.spread else ""
        name = f"{label(one, shown):<{width}}"
        lines.append(f"  {name}  {spread_words(one, shown):>16}  by up to {off}{factor}  ({because})")
    for name, value, factor in off_rows(found, shown):
        lines.append(f"  {name}: by up to {value}" + (f"; fRsi by up to {factor}" if factor else ""))
    for name, value, squares, worst in factor_rows(found, shown):
        lines.append(f"  fRsi {value}, {name}: root sum square {squares}, worst case {worst}")
    for note in notes(found):
        lines += textwrap.wrap(note, WRAPPED, initial_indent="  ", subsequent_indent="  ")
    return lines + [f"  left out: {name}: {reason}" for name, reason in found.left_out]
