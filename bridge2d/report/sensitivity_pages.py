"""The report's chapter on sensitivities: what carries the result, what changes do, and how far it is off."""

from __future__ import annotations

from dataclasses import replace

from bridge2d import nomenclature as n
from bridge2d.drawing.scene import Run, runs
from bridge2d.report.layout import Block, Figure, Heading, Together, paragraph
from bridge2d.report.sensitivity_chart import Bar, bar_chart
from bridge2d.report.tables import table
from bridge2d.report.text import Words
from bridge2d.report.words import bounded, estimate, firm, psi_symbol, said, symbol
from bridge2d.results import Bounded, DetailResult
from bridge2d.sensitivity_records import Effect, Sensitivities
from bridge2d.sensitivity_words import (
    FACTOR,
    METHOD,
    SHARE_BASIS,
    by_effect,
    changed,
    factor_rows,
    label,
    notes,
    off_rows,
    off_words,
    plain_estimate,
    quantity_of,
    spread_words,
    value_words,
)
from bridge2d.shown_units import IN_SI, DisplayUnits

TITLE = "What the result depends on"
ESTIMATED = (
    "All numbers of this chapter are estimates (≈), each with its tolerance beside it; the recheck computes them "
    "again. They explain the result and say nothing of the bracket."
)
MOST_BARS = 12
Row = tuple[Words, ...]


def sensitivities(result: DetailResult, shown: DisplayUnits = IN_SI) -> list[Block]:
    """The chapter; nothing where nobody asked.

    Args:
        result: all numbers of the detail.
        shown: units of everything that is written.
    """
    found = result.sensitivities
    if found is None:
        return []
    first = 2 * len(result.sections) + 1 + (0 if result.by_month is None else 1 + len(result.by_month.timber))
    left = [paragraph(said(f"Left out: {name}: {why}.", shown), size=8.0) for name, why in found.left_out]
    return [
        paragraph(runs("This chapter looks at ", *_looked_at(found, shown), ". ", ESTIMATED)),
        *_parts(found, first, shown),
        *_changes(found, shown),
        *_off(found, shown),
        paragraph(said(METHOD, shown), size=8.0),
        *left,
    ]


def _result_symbol(found: Sensitivities) -> tuple[Run, ...]:
    return psi_symbol(found.dimensions) if found.dimensions else symbol(quantity_of(found))


def _looked_at(found: Sensitivities, shown: DisplayUnits) -> tuple[Run | str, ...]:
    """The result with its bracket, and the factor with its tolerance."""
    of = replace(quantity_of(found), decimals=quantity_of(found).decimals - 1)
    words: list[Run | str] = [*_result_symbol(found), " = ", bounded(of, Bounded(found.lower, found.upper), shown)]
    if found.factor is not None:
        one = found.factor
        where = firm(f"({one.environment}, section “{one.section}”)")
        words += [" and at the lowest ", *symbol(n.F_RSI), " "]
        words += [*estimate(n.F_RSI, one.value, one.tolerance, shown), f" {where}"]
    return tuple(words)


def _heading(*words: Run | str) -> Heading:
    return Heading(runs(*words), level=2)


def _parts(found: Sensitivities, figure: int, shown: DisplayUnits) -> list[Block]:
    """What part of the result each material and surface carries."""
    of = quantity_of(found)
    rows: list[Row] = []
    bars = []
    for one in found.of_kind("material", "surface"):
        if one.share is None:
            continue
        value, tolerance = plain_estimate(of, one.share, shown)
        rows.append((label(one, shown), firm(value_words(one, shown)), value, tolerance))
        bars.append(Bar(label(one, shown), one.share.value, value))
    tolerance_sum = sum(one.share.tolerance for one in found.inputs if one.share)
    total = Effect(sum(one.share.value for one in found.inputs if one.share), tolerance_sum)
    value, tolerance = plain_estimate(of, total, shown)
    rows.append(("sum", "", value, tolerance))
    bars = sorted(bars, key=lambda bar: -abs(bar.size))[:MOST_BARS]
    unit = shown.unit(of)
    columns = [
        ("material or surface", 74),
        (runs(*symbol(n.CONDUCTIVITY), " or ", Run("R", "italic")), 34, "end"),
        (runs("part of ", *_result_symbol(found), f", {unit}"), 34, "end"),
        ("tolerance", 26, "end"),
    ]
    caption = runs(
        Run(f"Figure {figure}  ", "bold"),
        "What carries ",
        *_result_symbol(found),
        f" [{unit}], the largest parts first.",
    )
    chart = Figure(bar_chart(bars), paragraph(caption, size=8.0))
    heading = _heading("Which material carries how much")
    return [Together((heading, chart)), table(columns, rows, heavy=(len(rows) - 1,)), _basis(found)]


def _basis(found: Sensitivities) -> Block:
    words = SHARE_BASIS.replace("∂Ψ", f"∂{quantity_of(found).plain_symbol}")
    return paragraph(words, size=8.0)


def _changes(found: Sensitivities, shown: DisplayUnits) -> list[Block]:
    """What ten per cent or a millimetre does."""
    of = quantity_of(found)
    rows: list[Row] = []
    for row in changed(found, shown):
        touched = row.f_rsi is not None and (row.f_rsi.value or row.f_rsi.tolerance)
        factor = plain_estimate(FACTOR, row.f_rsi, shown) if row.f_rsi and touched else ("–", "")
        numbers = (value_words(row.one, shown), row.step, *plain_estimate(of, row.effect, shown), *factor)
        rows.append((row.name, *map(firm, numbers)))
    columns = [
        ("input", 42),
        ("value", 32, "end"),
        ("change", 17, "end"),
        (runs("change of ", *_result_symbol(found), f", {shown.unit(of)}"), 24, "end"),
        ("tolerance", 19, "end"),
        (runs("change of ", *symbol(n.F_RSI)), 23, "end"),
        ("tolerance", 19, "end"),
    ]
    return [_heading("What a change does"), table(columns, rows)]


def _off(found: Sensitivities, shown: DisplayUnits) -> list[Block]:
    """How far the result is off where the inputs are."""
    of = quantity_of(found)
    counting = by_effect(found)
    if not counting:
        return []
    rows: list[Row] = [
        (
            label(one, shown),
            firm(spread_words(one, shown)),
            one.spread.basis if one.spread else "",
            firm(off_words(of, one.off.value, shown, unit=False)),
            firm(off_words(FACTOR, one.off_f_rsi.value, shown)) if one.off_f_rsi else "–",
        )
        for one in counting
    ]
    rows += [(name, "", "", firm(value), firm(factor)) for name, value, factor in off_rows(found, shown)]
    columns = [
        ("input", 44),
        ("may be off", 38, "end"),
        ("because", 40),
        (runs(*_result_symbol(found), f" off by up to, {shown.unit(of)}"), 36, "end"),
        (runs(*symbol(n.F_RSI), " off by up to"), 26, "end"),
    ]
    heading = _heading("How far the result is off where the inputs are")
    return [
        heading,
        table(columns, rows, heavy=(len(rows) - 2, len(rows) - 1)),
        *_factors(found, shown),
        *(paragraph(said(note, shown), size=8.0) for note in notes(found)),
    ]


def _factors(found: Sensitivities, shown: DisplayUnits) -> list[Block]:
    """How far the other temperature factors are off; nothing where there are none."""
    rows: list[Row] = [tuple(map(firm, row)) for row in factor_rows(found, shown)]
    if not rows:
        return []
    columns = [
        (runs("other ", *symbol(n.F_RSI)), 66),
        ("value", 54, "end"),
        ("root sum square", 32, "end"),
        ("worst case", 32, "end"),
    ]
    return [table(columns, rows)]
