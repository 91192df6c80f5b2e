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
from bridge2d.sensitivity_records import Effect, InputEffect, Sensitivities
from bridge2d.sensitivity_words import (
    BESIDE,
    FACTOR,
    FROZEN,
    METHOD,
    SHARE_BASIS,
    by_effect,
    off_rows,
    off_words,
    plain_estimate,
    quantity_of,
    spread_words,
    step_words,
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
    frozen = [paragraph(FROZEN, size=8.0)] if any(one.frozen for one in found.inputs) else []
    left = [paragraph(said(f"Left out: {name}: {why}.", shown), size=8.0) for name, why in found.left_out]
    return [
        paragraph(runs("This chapter looks at ", *_looked_at(found, shown), ". ", ESTIMATED)),
        *_parts(found, first, shown),
        *_changes(found, shown),
        *_off(found, shown),
        paragraph(said(METHOD, shown), size=8.0),
        *frozen,
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
        rows.append((_name(one, shown), firm(value_words(one, shown)), value, tolerance))
        bars.append(Bar(_name(one, shown), one.share.value, value))
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


def _name(one: InputEffect, shown: DisplayUnits) -> str:
    if one.kind == "surface":
        return f"surface, {one.name}"
    return shown.made_name(one.name) + (" (held)" if one.frozen else "")


def _changes(found: Sensitivities, shown: DisplayUnits) -> list[Block]:
    """What ten per cent or a millimetre does."""
    of = quantity_of(found)
    rows: list[Row] = []
    for one in found.inputs:
        touched = one.f_rsi is not None and (one.f_rsi.value or one.f_rsi.tolerance)
        factor = plain_estimate(FACTOR, one.f_rsi, shown) if one.f_rsi and touched else ("–", "")
        name = _name(one, shown) + (", by difference" if one.by == "difference" else "")
        value = firm(value_words(one, shown))
        rows.append((name, value, firm(step_words(one, shown)), *plain_estimate(of, one.effect, shown), *factor))
    columns = [
        ("input", 42),
        ("value", 36, "end"),
        ("change", 18, "end"),
        (runs("change of ", *_result_symbol(found), f", {shown.unit(of)}"), 25, "end"),
        ("tolerance", 18, "end"),
        (runs("change of ", *symbol(n.F_RSI)), 19, "end"),
        ("tolerance", 18, "end"),
    ]
    return [_heading("What a change does"), table(columns, rows)]


def _off(found: Sensitivities, shown: DisplayUnits) -> list[Block]:
    """How far the result is off where the inputs are."""
    of = quantity_of(found)
    counting = by_effect(found.inputs, of)
    if not counting:
        return []
    rows: list[Row] = [
        (
            _name(one, shown),
            firm(spread_words(one, shown)),
            one.spread.basis if one.spread else "",
            firm(off_words(of, one.off(one.effect), shown, unit=False)),
            firm(off_words(FACTOR, one.off(one.f_rsi), shown)) if one.f_rsi else "–",
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
        paragraph(said(BESIDE, shown), size=8.0),
    ]
