"""The tables of a comparison on paper: what differs, what comes out, which limits are kept."""

from __future__ import annotations

from dataclasses import replace

from bridge2d import nomenclature as n
from bridge2d.climate import Margin
from bridge2d.comparison.records import (
    BETTER,
    BOUNDED,
    CERTAINLY,
    EXACT,
    WORSE,
    Amount,
    ClimateRow,
    Comparison,
    Difference,
    LimitRow,
    Row,
)
from bridge2d.comparison.screen import climate_source
from bridge2d.drawing.colours import GREY
from bridge2d.drawing.scene import Run, runs, symbol_runs
from bridge2d.hatches import DIMENSIONS
from bridge2d.module_words import LIMITED
from bridge2d.months import month_name
from bridge2d.months_words import CRITERIA, margin_of
from bridge2d.report.tables import Table, table
from bridge2d.report.text import Words
from bridge2d.report.words import firm, psi_symbol, symbol, typed, value, verdict, with_firm_units
from bridge2d.results import RequirementResult
from bridge2d.shown_units import DisplayUnits

SIZE = 7.0
"""Type size [pt]."""
NARROW_SIZE = 6.4
"""The same where columns are narrow [pt]."""
PADS = (1.05, 0.7, 0.4)
"""Space around the lines of a row [mm]; the closer ones where they save a page."""
TWO = 2
"""So many options have room for their difference in a column of its own."""
SYMBOL = 9.0
"""Width of the column of symbols [mm]."""
DEW = "Dew point of the room air"
VALUE = 36.0
"""Width of a column of numbers, where there are two options [mm]."""


def _made(columns: list[tuple[Words, float]], rows: list[tuple[Words, ...]], width: float) -> Table:
    return replace(table(columns, rows, width=width), size=SIZE, after=2.0, pad=PADS[0])


def input_table(comparison: Comparison, width: float) -> Table:
    """What is different in the input: only the parameters that differ.

    Args:
        comparison: the options.
        width: of the table [mm].
    """
    names = [option.name for option in comparison.options]
    first = 58.0
    each = (width - SYMBOL - first) / len(names)
    columns: list[tuple[Words, float]] = [("", SYMBOL), (_bold("What is different"), first)]
    columns += [(_bold(name), each) for name in names]
    rows: list[tuple[Words, ...]] = [
        (
            symbol_runs(row.symbol) if row.symbol else "",
            row.label,
            *(with_firm_units(typed(text)) for text in row.values),
        )
        for row in comparison.inputs
    ]
    return _made(columns, rows or [("", "nothing: the input is the same", *("" for _ in names))], width)


def _bold(words: str) -> tuple[Run, ...]:
    return runs(Run(words, "bold"))


def number_table(comparison: Comparison, width: float) -> Table:
    """What comes out: numbers with bracket or tolerance, differences and what may be said of them.

    Args:
        comparison: the options.
        width: of the table [mm].
    """
    names = [option.name for option in comparison.options]
    shown = comparison.shown
    rows = printed_rows(comparison)
    if len(names) == TWO:
        return _two(rows, names, width, shown)
    narrow = width - SYMBOL - len(names) * (VALUE + 2.6) < 50.0
    first = 38.0 if narrow else 56.0
    each = (width - SYMBOL - first) / len(names)
    columns: list[tuple[Words, float]] = [("", SYMBOL), (_bold("What comes out"), first)]
    columns += [(_bold(name), each) for name in names]
    cells: list[tuple[Words, ...]] = []
    for row in rows:
        cells.append((_symbol(row), row.plain or row.name, *(_value(amount, row, shown) for amount in row.values)))
        if any(one is not None and _is_telling(one) for one in row.differences):
            against = runs(Run(f"against {names[0]}", colour=GREY))
            cells.append(("", against, *(_between(row, k, shown) for k in range(len(names)))))
    made = _made(columns, cells, width)
    return replace(made, size=NARROW_SIZE) if narrow else made


def _two(rows: list[Row], names: list[str], width: float, shown: DisplayUnits) -> Table:
    """The table of two options, with a column for the difference and one for what may be said of it."""
    shares = (*(VALUE for _ in names), VALUE, 23.0)
    heads = (*names, f"{names[1]} − {names[0]}", f"{names[1]} is")
    columns: list[tuple[Words, float]] = [("", SYMBOL), (_bold("What comes out"), width - SYMBOL - sum(shares))]
    columns += [(_bold(head), share) for head, share in zip(heads, shares, strict=True)]
    cells: list[tuple[Words, ...]] = []
    for row in rows:
        between = row.differences[1]
        difference = _firm_numbers(row.difference_text(1, shown))
        word = runs(_verdict_run(between)) if between else ""
        values = (_value(one, row, shown) for one in row.values)
        cells.append((_symbol(row), row.plain or row.name, *values, difference, word))
    return _made(columns, cells, width)


def printed_rows(comparison: Comparison) -> list[Row]:
    """The rows that stand on paper: Ψ of the other dimension systems stands on the screen alone.

    That from which the loss of a hatch is made stands on paper too.

    Args:
        comparison: the options.
    """
    others = bool(comparison.basis.dimensions)
    needed = f"psi {DIMENSIONS}" if any(row.key == "hatch loss" for row in comparison.rows) else ""
    return [
        row
        for row in comparison.rows
        if row.important
        or row.key == needed
        or not (others and row.key.startswith("psi ") and "installation" not in row.key)
    ]


def _is_telling(one: Difference) -> bool:
    """Whether a difference says more than the two numbers above it."""
    return one.amount.kind != EXACT or one.verdict in (BETTER, WORSE)


def _symbol(row: Row) -> Words:
    return symbol_runs(row.symbol) if row.symbol.strip() else ""


def _value(amount: Amount | None, row: Row, shown: DisplayUnits) -> Words:
    if amount is None:
        return "–"
    text = _firm_numbers(amount.shown(row.quantity, shown))
    return runs(Run(text, "bold")) if row.important and amount.kind == BOUNDED else text


def _between(row: Row, number: int, shown: DisplayUnits) -> Words:
    """The difference of an option with its verdict in one cell."""
    one = row.differences[number]
    if one is None:
        return ""
    verdict_words = (" ", _verdict_run(one)) if one.verdict else ()
    return runs(Run(_firm_numbers(row.difference_text(number, shown)), colour=GREY), *verdict_words)


def _verdict_run(one: Difference) -> Run:
    """What may be said of a difference; bold where it is certain."""
    certain = one.verdict.startswith(CERTAINLY)
    return Run(firm(one.verdict) if certain else one.verdict, "bold" if certain else "regular")


def _firm_numbers(text: str) -> str:
    """A number with its unit that no line break divides; a tolerance may stand on the next line."""
    if " ± " in text and " Btu/" in text:  # longer than a column: the unit may stand on the next line
        number, unit = text.rsplit(" ", 1)
        return f"{firm(number)} {unit}"
    first, bracket, rest = text.partition(" (tolerance")
    return (
        firm(first) + (f" {firm((bracket + rest).strip())}" if rest else "") if first[:1] in "≈+−0123456789" else text
    )


def limit_table(comparison: Comparison, width: float) -> Table:
    """Every limit and how each option stands to it, the climate's too, then places and the dew point.

    Args:
        comparison: the options.
        width: of the table [mm].
    """
    names = [option.name for option in comparison.options]
    first = 70.0
    each = (width - first) / len(names)
    head = "Limits, and the dew point of the room air" if comparison.limits or comparison.climate else DEW
    columns: list[tuple[Words, float]] = [(_bold(head), first)]
    columns += [(_bold(name), each) for name in names]
    rows: list[tuple[Words, ...]] = [
        (
            runs(
                f"{row.requirement.name}: ",
                _asked(row, comparison.shown),
                Run(f" – {row.requirement.source}", colour=GREY),
            ),
            *(_stands(one, comparison.shown) for one in row.results),
        )
        for row in comparison.limits
    ]
    rows += [_climate_row(row) for row in comparison.climate]
    rows += [(word.name, *map(with_firm_units, word.values)) for word in comparison.words]
    return _made(columns, rows, width)


def _climate_row(row: ClimateRow) -> tuple[Words, ...]:
    """What the climate asks for by one criterion; where that is not the same for all, it stands with each option."""
    shared = row.shared
    words = with_firm_units(CRITERIA[row.criterion])
    if shared is None:
        cells = zip(row.margins, row.climates, strict=True)
        return (
            runs(words, Run(" – ISO 13788", colour=GREY)),
            *(runs(*_kept(one), ", ", *_asked_by(one), f", {name}") if one else "–" for one, name in cells),
        )
    asked, name = shared
    label = runs(f"{words}, ", *_asked_by(asked), Run(f" – {climate_source(name)}", colour=GREY))
    return (label, *(runs(*_kept(one)) if one else "–" for one in row.margins))


def _asked_by(one: Margin) -> tuple[Run, ...]:
    """What is asked for in the critical month."""
    return runs(f"{month_name(one.month)}: ", symbol(n.F_RSI), firm(" ≥ "), value(n.F_RSI, one.asked))


def _kept(one: Margin) -> tuple[Run, ...]:
    """How an option stands to the climate, with its temperature factor and margin."""
    sign, words = verdict(one)
    found = f" {value(n.F_RSI, one.value)} ({margin_of(one)})"
    return runs(Run(firm(f"{sign} {words}"), "bold"), found)


def _asked(row: LimitRow, shown: DisplayUnits) -> tuple[Run, ...]:
    asked = row.requirement
    quantity = LIMITED[asked.quantity]
    name = psi_symbol(asked.dimensions) if asked.dimensions else symbol(quantity)
    sense = "≤" if asked.sense == "maximum" else "≥"
    return runs(name, firm(f" {sense} "), value(quantity, asked.limit, shown))


def _stands(one: RequirementResult | None, shown: DisplayUnits) -> Words:
    if one is None:
        return "–"
    sign, words = verdict(one)
    quantity = LIMITED[one.requirement.quantity]
    return runs(Run(firm(f"{sign} {words}"), "bold"), f" {value(quantity, one.value, shown)}")
