"""The comparison in a few sentences for who builds: who loses less heat, who is warmer, who keeps the limits."""

from __future__ import annotations

from bridge2d.climate import Margin
from bridge2d.comparison.alike import junctions_differ, kind_of
from bridge2d.comparison.numbers import U_SECTION
from bridge2d.comparison.records import (
    BETTER,
    CERTAINLY,
    SAME,
    UNDECIDED,
    WORSE,
    Comparison,
    Option,
    Row,
    told,
)
from bridge2d.months_words import CRITERIA
from bridge2d.results import RequirementResult

PER_LENGTH = " per metre"

HEAT_ROWS = ("hatch annual", "hatch loss", "piece", "annual", "loss", U_SECTION, "psi")
"""Rows that say who loses less heat, the most telling first; of Ψ the one that leads its table."""
WHOLE = ("hatch annual", "hatch loss", U_SECTION)
"""Rows of these whose plain words say what they are of."""


def summary(comparison: Comparison) -> tuple[str, ...]:
    """A sentence or two for each option but the first, and one on the limits.

    Of different junctions it says that they are, and nothing of which is better.

    Args:
        comparison: the options.
    """
    if junctions_differ(comparison.options):
        return _not_alike(comparison), _limits(comparison)
    found = [
        " ".join(part for part in parts if part)
        for number, option in enumerate(comparison.options)
        if number
        for parts in [_about(comparison, number, option)]
    ]
    return tuple(words for words in (*found, _limits(comparison)) if words)


def _about(comparison: Comparison, number: int, option: Option) -> list[str]:
    first = comparison.options[0]
    return [
        _heat(comparison, number, option.name, first.name),
        _warmth(comparison, number),
        _price(comparison, number),
    ]


def _not_alike(comparison: Comparison) -> str:
    kinds = ", ".join(f"{option.name} is a {kind_of(option)}" for option in comparison.options)
    return f"These are different junctions: {kinds}. Nothing here says which is better."


def heat_row(comparison: Comparison) -> Row | None:
    """The row that says who loses less heat; None where no option has such a number."""
    for key in HEAT_ROWS:
        for row in comparison.rows:
            leads = row.key == key or (key == "psi" and row.key.startswith("psi") and row.important)
            if leads and any(row.differences):
                return row
    return None


def _heat(comparison: Comparison, number: int, name: str, first: str) -> str:
    row, shown = heat_row(comparison), comparison.shown
    between = row.differences[number] if row else None
    if row is None or between is None:
        return f"Nothing says whether {name} loses less heat than {first}."
    where = f", taken {row.plain}" if row.key == "piece" else ""
    if between.verdict == UNDECIDED:
        return f"Heat: {name} and {first} cannot be told apart{where}."
    word = {BETTER: "less", WORSE: "more"}.get(between.verdict.removeprefix(CERTAINLY))
    if word is None:
        return f"Heat: see the table; {name} and {first} have different plane parts."
    size = row.difference_text(number, shown, signed=False)
    sure = " certainly" if between.verdict.startswith(CERTAINLY) else ""
    if row.key in WHOLE:
        return f"{name}{sure} loses {word} heat than {first}: {size} {word}, {row.plain}."
    over = {"annual": row.plain.partition(",")[2], "loss": row.plain.partition(",")[2]}.get(row.key, PER_LENGTH)
    return f"{name}{sure} loses {word} heat than {first}: {size} {word}{where or told(_over(over), shown)}."


def _over(words: str) -> str:
    """The length with its preposition; what is no length stays as it is."""
    return words if words == PER_LENGTH else f" over{words}"


def _warmth(comparison: Comparison, number: int) -> str:
    row = next((row for row in comparison.rows if row.key.startswith("coldest point")), None)
    between = row.differences[number] if row else None
    if row is None or between is None:
        return ""
    if between.verdict in (UNDECIDED, SAME):
        return "The coldest spots of both are as warm, as far as can be told."
    word = "warmer" if between.verdict == BETTER else "colder"
    return f"Its coldest spot inside is {row.difference_text(number, comparison.shown, signed=False)} {word}."


def _price(comparison: Comparison, number: int) -> str:
    cost = next((row for row in comparison.rows if row.key == "cost per metre"), None)
    between = cost.differences[number] if cost else None
    if cost is None or between is None:
        return ""
    if between.verdict == SAME:
        return "It costs the same."
    word = "more" if between.amount.value > 0 else "less"
    words = f"It costs {cost.difference_text(number, comparison.shown, signed=False)} {word}"
    price = next((row for row in comparison.rows if row.key == "cost per saved kWh"), None)
    amount = price.values[number] if price else None
    if price is not None and amount is not None:
        words += f"; a saved kWh costs {amount.shown(price.quantity, comparison.shown)}"
    return f"{words}."


def _limits(comparison: Comparison) -> str:
    if not comparison.limits and not comparison.climate:
        return "No limit is given, so there is no verdict."
    found = []
    for number, option in enumerate(comparison.options):
        results: list[tuple[str, RequirementResult | Margin | None]] = [
            *((f"“{row.requirement.name}”", row.results[number]) for row in comparison.limits),
            *((f"“{CRITERIA[row.criterion]}” (climate)", row.margins[number]) for row in comparison.climate),
        ]
        missed = [name for name, one in results if one and not one.met and one.certain]
        open_ones = [name for name, one in results if one and not one.met and not one.certain]
        parts = [f"misses {', '.join(missed)}"] if missed else []
        parts += [f"leaves {', '.join(open_ones)} undecided"] if open_ones else []
        lacking = any(one is None for _, one in results)
        kept = "keeps the limits that apply to it" if lacking else "keeps every limit"
        found.append(f"{option.name} {' and '.join(parts) if parts else kept}")
    return "; ".join(found) + "."
