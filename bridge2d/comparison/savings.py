"""What an option costs more than the first one, what heat it saves for that, and what a saved kilowatt hour costs.

Simple: extra cost per metre over heat saved per metre and year, and that over the lifetime; nothing is discounted, no
price of energy rises, nothing is maintained.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from bridge2d.comparison.alike import junctions_differ
from bridge2d.comparison.numbers import (
    NEITHER,
    annual,
    are_hatches,
    hatch_annual,
    length_words,
    per_metre,
    plane_parts_differ,
    row,
)
from bridge2d.comparison.records import COST_PER_METRE, EXACT, Amount, Basis, Option, Row
from bridge2d.nomenclature import Quantity


def saving_rows(options: Sequence[Option], basis: Basis) -> tuple[Row, ...]:
    """Rows of cost, where at least two options have one.

    Args:
        options: the options.
        basis: what they share.
    """
    if sum(option.terms.cost_per_metre is not None for option in options) < 2:
        return ()
    money = basis.currency or "currency"
    per_length = Quantity(COST_PER_METRE, " ", "cost of a metre", f"{money}/m", 2)
    rows = [row(options, "cost per metre", per_length, "cost of a metre of the junction", NEITHER, _cost)]
    total = Quantity("cost", " ", "cost", money, 0)
    if any(option.length is not None for option in options):
        rows.append(row(options, "cost", total, f"cost over {length_words(options)}", NEITHER, _total_cost))
    if junctions_differ(options):
        return tuple(rows)
    found = tuple(_price(option, options[0], basis) for option in options)
    if any(found) and (are_hatches(options) or not plane_parts_differ(options)):
        yearly = Quantity("price_of_saving", " ", "extra cost of a saved kilowatt hour a year", f"{money}/(kWh/a)", 2)
        name = f"extra cost over {options[0].name} for each kWh a year that is saved"
        rows.append(_priced(options, yearly, "cost per saved kWh a year", name, found, "cost of saving 1 kWh a year"))
        if basis.lifetime:
            spread = tuple(price.times(1.0 / basis.lifetime) if price else None for price in found)
            each = Quantity("price_of_saved_heat", " ", "extra cost of a saved kilowatt hour", f"{money}/kWh", 3)
            name = f"the same spread over {basis.lifetime:g} years: what a saved kWh costs"
            plain = f"cost of a saved kWh, {basis.lifetime:g} years"
            rows.append(_priced(options, each, "cost per saved kWh", name, spread, plain))
    return tuple(rows)


def _priced(
    options: Sequence[Option], quantity: Quantity, key: str, name: str, values: tuple[Amount | None, ...], plain: str
) -> Row:
    """A row whose numbers are differences to the first option already."""
    empty = row(options, key, quantity, name, NEITHER, lambda _: None, plain=plain)
    return replace(empty, values=values, important=True)


def _cost(option: Option) -> Amount | None:
    cost = option.terms.cost_per_metre
    return Amount(cost, cost, EXACT) if cost is not None else None


def _total_cost(option: Option) -> Amount | None:
    cost = _cost(option)
    return cost.times(option.length) if cost is not None and option.length is not None else None


def _price(option: Option, first: Option, basis: Basis) -> Amount | None:
    """Extra cost for each kilowatt hour a year; None where the option is no dearer, or saves nothing for certain."""
    found = extra_and_saved(option, first, basis)
    if option is first or found is None:
        return None
    extra, saved = found
    if extra.value <= 0 or saved.lower <= 0:
        return None
    return Amount(extra.value / saved.upper, extra.value / saved.lower, saved.kind)


def extra_and_saved(option: Option, first: Option, basis: Basis) -> tuple[Amount, Amount] | None:
    """What an option costs more and what it saves in a year; by the metre, for hatches and other lengths in all.

    Args:
        option: the option.
        first: what it is held against.
        basis: what they share.

    Returns:
        Extra cost [currency/m or currency] and saved heat [kWh/(m·a) or kWh/a]; None where one is not known.
    """
    if are_hatches((option, first)):
        cost, heat = _total_cost, hatch_annual
    elif option.length == first.length or None in (option.length, first.length):
        cost, heat = _cost, per_metre
    else:
        cost, heat = _total_cost, annual
    extra, spent = cost(option), cost(first)
    after, before = heat(option, basis), heat(first, basis)
    if extra is None or spent is None or after is None or before is None:
        return None
    return extra.minus(spent), before.minus(after)


def saving_words(option: Option, first: Option, basis: Basis) -> str:
    """Why there is no price of a saved kilowatt hour, in a sentence; empty where there is one or nothing is known."""
    found = extra_and_saved(option, first, basis)
    if found is None:
        return ""
    extra, saved = found
    if extra.value > 0 and saved.lower > 0:
        return ""
    if saved.lower > 0:
        return f"{option.name} saves heat and costs no more than {first.name}."
    if saved.upper >= 0:
        return f"Whether {option.name} saves heat against {first.name} cannot be told, so a saved kWh has no price."
    cheaper = "but it is cheaper" if extra.value < 0 else "and it is no cheaper"
    return f"{option.name} loses more heat than {first.name}, {cheaper}; a saved kWh has no price."
