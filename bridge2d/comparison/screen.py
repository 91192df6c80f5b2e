"""The comparison as text for the screen and as JSON for other programs."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from bridge2d import __version__
from bridge2d import nomenclature as n
from bridge2d.climate import MONTHS, Margin
from bridge2d.comparison.alike import junction_words, junctions_differ
from bridge2d.comparison.records import Amount, ClimateRow, Comparison, Difference, LimitRow, Row
from bridge2d.module_words import LIMITED
from bridge2d.months import month_name
from bridge2d.months_words import CRITERIA, margin_of
from bridge2d.results import RequirementResult
from bridge2d.shown_units import IN_SI, DisplayUnits
from bridge2d.tables import Json, as_json

WIDTH = 110


def verdict_word(one: RequirementResult | Margin | None) -> str:
    """How an option stands to a limit, in words."""
    if one is None:
        return "does not apply"
    if one.met:
        return "met"
    return "not met" if one.certain else "undecided"


def as_text(comparison: Comparison) -> str:
    """The comparison as aligned text in its units; every number with its bracket or tolerance.

    Args:
        comparison: the options.
    """
    options = comparison.options
    names = [option.name for option in options]
    wide = max(len(name) for name in names)
    head = [f"Comparison of {', '.join(names[:-1])} and {names[-1]}"]
    head += [f"  {o.name:<{wide}}  {o.description} ({o.file})" for o in options]
    blocks = [head, _wrapped(junction_words(options)), _input_lines(comparison, wide), _number_lines(comparison, wide)]
    blocks.append([line for row in comparison.words for line in _said(row.name, names, row.values, wide)])
    limits = [line for row in comparison.limits for line in _limit_lines(row, names, wide, comparison.shown)]
    limits += [line for row in comparison.climate for line in _climate_lines(row, names, wide)]
    blocks.append(["Limits", *limits] if limits else [])
    blocks.append([line for words in comparison.given for line in _wrapped(f"Given: {words}")])
    remarks = [words for words in comparison.remarks if words != junction_words(options)]  # that stands above
    blocks.append([line for words in remarks for line in _wrapped(f"Note: {words}")])
    cautions = dict.fromkeys(words for option in options for words in option.result.detail.cautions)
    blocks.append([line for words in cautions for line in _wrapped(f"Caution: {comparison.shown.sentence(words)}")])
    blocks.append([*_wrapped(HOW_SURE.format(first=names[0])), f"bridge2d {__version__}"])
    return "\n\n".join("\n".join(block) for block in blocks if block)


BEFORE_ROUNDING = (
    "A difference with ± or ≈ is taken before rounding: its last digit may not be that of the numbers as printed."
)
HOW_SURE = (
    "Differences are to option {first}. ±: the true value of the section lies within it, for certain; brackets add in "
    "a difference. ≈: estimated, with a tolerance. “Cannot be told apart”: the brackets or tolerances overlap. "
    f"{BEFORE_ROUNDING}"
)


def _wrapped(words: str) -> list[str]:
    return textwrap.wrap(words, WIDTH, subsequent_indent="  ")


def _input_lines(comparison: Comparison, wide: int) -> list[str]:
    names = [option.name for option in comparison.options]
    if not comparison.inputs:
        return ["What is different in the input: nothing"]
    lines = ["What is different in the input"]
    for row in comparison.inputs:
        label = f"{row.symbol.replace('_', '')}, {row.label}" if row.symbol else row.label
        lines += _said(label, names, row.values, wide)
    return lines


def _said(label: str, names: Sequence[str], values: Sequence[str], wide: int) -> list[str]:
    return [f"  {label}", *(f"    {name:<{wide}}  {text}" for name, text in zip(names, values, strict=True))]


def _number_lines(comparison: Comparison, wide: int) -> list[str]:
    names = [option.name for option in comparison.options]
    lines = ["What comes out"]
    for row in comparison.rows:
        symbol = row.symbol.strip().replace("_", "")
        lines.append(f"  {symbol + ', ' if symbol else ''}{row.name}")
        for number, (name, amount, between) in enumerate(zip(names, row.values, row.differences, strict=True)):
            value = amount.shown(row.quantity, comparison.shown) if amount else "–"
            shown = row.difference_text(number, comparison.shown)
            found, verdict = (f"{name} − {names[0]}: {shown}", between.verdict) if between else ("", "")
            lines.append(f"    {name:<{wide}}  {value:<32}  {found:<42}  {verdict}".rstrip())
    return lines


def limit_text(row: LimitRow, shown: DisplayUnits = IN_SI) -> str:
    """A limit with its sign and unit: "f_Rsi ≥ 0.700"."""
    asked = row.requirement
    quantity = LIMITED[asked.quantity]
    sense = "≤" if asked.sense == "maximum" else "≥"
    where = f", {asked.dimensions.replace('_', ' ')} dimensions" if asked.dimensions else ""
    return f"{quantity.plain_symbol}{where} {sense} {shown.value(quantity, asked.limit)}"


def _limit_lines(row: LimitRow, names: Sequence[str], wide: int, shown: DisplayUnits) -> list[str]:
    quantity = LIMITED[row.requirement.quantity]
    lines = [f"  {row.requirement.name}: {limit_text(row, shown)} ({row.requirement.source})"]
    for name, one in zip(names, row.results, strict=True):
        found = f", found {shown.value(quantity, one.value)}" if one else ""
        word = verdict_word(one)
        lines.append(f"    {name:<{wide}}  {word.upper() if one and not one.met else word}{found}")
    return lines


def climate_text(row: ClimateRow) -> str:
    """A criterion of the climate with what it asks for: "mould, 80 % at the surface, January: f_Rsi ≥ 0.786".

    Where the options are asked for different things, it is the criterion alone.

    Args:
        row: the criterion.
    """
    shared = row.shared
    return f"{CRITERIA[row.criterion]}, {asked_text(shared[0])}" if shared else CRITERIA[row.criterion]


def asked_text(one: Margin) -> str:
    """What a climate asks for in its critical month: "January: f_Rsi ≥ 0.786".

    Args:
        one: a margin.
    """
    return f"{month_name(one.month)}: {n.F_RSI.plain_symbol} ≥ {n.format_value(n.F_RSI, one.asked)}"


def climate_source(name: str) -> str:
    """Where a limit of the climate comes from.

    Args:
        name: of the climate.
    """
    return f"ISO 13788 with the climate {name}"


def _climate_lines(row: ClimateRow, names: Sequence[str], wide: int) -> list[str]:
    shared = row.shared
    lines = [f"  {climate_text(row)}" + (f" ({climate_source(shared[1])})" if shared else "")]
    for name, one, climate in zip(names, row.margins, row.climates, strict=True):
        found = f", found {n.format_value(n.F_RSI, one.value)}, margin {margin_of(one)}" if one else ""
        asked = f", {asked_text(one)} ({climate_source(climate)})" if one and not shared else ""
        word = verdict_word(one)
        lines.append(f"    {name:<{wide}}  {word.upper() if one and not one.met else word}{found}{asked}")
    return lines


# -- JSON ----------------------------------------------------------------------------------------------------------


def comparison_json(comparison: Comparison) -> Json:
    """The comparison as plain JSON values; `results` of each option is what `solve --json` prints.

    Numbers are SI; so is what is said in words where the comparison is shown in SI.

    Args:
        comparison: the options.
    """
    basis = comparison.basis
    return {
        "version": __version__,
        "fingerprint": comparison.fingerprint,
        "dimensions": basis.dimensions or None,
        "heating_degree_hours": basis.heating_degree_hours,
        "heating_degree_hours_source": basis.heating_degree_hours_source or None,
        "lifetime": basis.lifetime,
        "currency": basis.currency or None,
        "options": [
            {
                "option": option.name,
                "description": option.description,
                "file": option.file,
                "input_hash": option.input_hash,
                "length": round(1000.0 * option.length, 6) if option.length is not None else None,
                "number": option.terms.number,
                "cost_per_metre": option.terms.cost_per_metre,
                "results": as_json(option.result),
            }
            for option in comparison.options
        ],
        "input": [{"symbol": r.symbol or None, "label": r.label, "values": list(r.values)} for r in comparison.inputs],
        "rows": [_row_json(row) for row in comparison.rows],
        "words": [
            {"key": row.key, "name": row.name, "values": list(row.values), "data": list(row.data)}
            for row in comparison.words
        ],
        "limits": [_limit_json(row) for row in comparison.limits],
        "climate": [_climate_json(row) for row in comparison.climate],
        "same_junction": not junctions_differ(comparison.options),
        "given": list(comparison.given),
        "remarks": list(comparison.remarks),
    }


def _row_json(row: Row) -> Json:
    return {
        "key": row.key,
        "name": row.name,
        "symbol": row.symbol.strip() or None,
        "unit": row.quantity.unit,
        "values": [_amount_json(amount) for amount in row.values],
        "differences": [_difference_json(one) for one in row.differences],
    }


def _amount_json(amount: Amount | None) -> Json | None:
    if amount is None:
        return None
    return {"value": amount.value, "lower": amount.lower, "upper": amount.upper, "kind": amount.kind}


def _difference_json(one: Difference | None) -> Json | None:
    return {**(_amount_json(one.amount) or {}), "verdict": one.verdict or None} if one else None


def _limit_json(row: LimitRow) -> Json:
    asked = row.requirement
    return {
        "name": asked.name,
        "quantity": asked.quantity,
        "dimensions": asked.dimensions or None,
        "sense": asked.sense,
        "limit": asked.limit,
        "source": asked.source,
        "options": [
            {"value": one.value, "met": one.met, "certain": one.certain} if one else None for one in row.results
        ],
    }


def _climate_json(row: ClimateRow) -> Json:
    return {
        "criterion": row.criterion,
        "name": CRITERIA[row.criterion],
        "options": [
            {
                "climate": climate,
                "month": None if one.month is None else MONTHS[one.month],
                "environment": one.environment,
                "section": one.section,
                "asked": one.asked,
                "value": one.value,
                "tolerance": one.tolerance,
                "margin": one.margin,
                "met": one.met,
                "certain": one.certain,
            }
            if one
            else None
            for one, climate in zip(row.margins, row.climates, strict=True)
        ],
    }
