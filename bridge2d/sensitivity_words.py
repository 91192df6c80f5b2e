"""What the screen, the report, the page and the JSON say of sensitivities; all of them are estimates."""

from __future__ import annotations

import textwrap
from dataclasses import replace
from typing import Any

from bridge2d import nomenclature as n
from bridge2d import units
from bridge2d.json_values import millimetres
from bridge2d.sensitivity_records import Effect, InputEffect, Sensitivities
from bridge2d.shown_units import IN_SI, DisplayUnits

KINDS = {
    kind.name: kind
    for kind in (
        units.LENGTH,
        units.CONDUCTIVITY,
        units.RESISTANCE,
        units.TRANSMITTANCE,
        units.ANGLE,
        units.RATIO,
    )
}
"""Kinds of the inputs' quantities by their names."""
WRAPPED = 110
"""Signs of a line on the screen."""
FACTOR = replace(n.F_RSI, key="f_rsi_change", decimals=4)
"""A change of f_Rsi."""
SHARE_BASIS = (
    "Each material's part is its conductivity times ∂Ψ/∂λ, each surface's its resistance times −∂Ψ/∂R; together they "
    "make the whole, because all flows grow in proportion when every λ and 1/R does. A part below 0 means that the "
    "material takes more off in the flanking elements than it carries in the junction."
)
METHOD = (
    "Derivatives of L2D by λ and R are ∫|∇θ|² and −∫q² of the solution, by lengths those of its energy while the mesh "
    "moves with the corners, from the temperature and from the stream function; their middle is stated, the tolerance "
    "is their difference and the local gap. U·l follows the closed formulas. fRsi by one more solution on two meshes. "
    "Where a mesh cannot follow, two solutions make a difference, which is said. Effects are to first order: a change "
    "many times as large does not have so many times the effect."
)
FROZEN = "Conductivities of cavities are held as they were frozen; what an input does to them is left out."
BESIDE = (
    "To first order, and beside the bracket, which says how well the section was computed and nothing of its inputs. "
    "Root sum square takes the inputs' errors for independent, the worst case adds all of them; both count inputs too "
    "whose own effect rounds to nothing. A given U, Ψ or surface resistance counts as right unless [tolerances] names "
    "it."
)


def quantity_of(found: Sensitivities) -> n.Quantity:
    """What the effects are of, with decimals for changes.

    Args:
        found: the sensitivities.
    """
    if found.quantity == "psi":
        return replace(n.PSI, decimals=5)
    if found.quantity == "chi":
        return replace(n.point_transmittance(found.of_revolution), decimals=6)
    if found.quantity == "u_value":
        return replace(n.U_VALUE, decimals=5)
    return replace(n.coupling(found.of_revolution), decimals=5)


def named(found: Sensitivities) -> str:
    """The result in words: "Ψ, external dimensions".

    Args:
        found: the sensitivities.
    """
    symbol = quantity_of(found).plain_symbol
    return f"{symbol}, {found.dimensions.replace('_', ' ')} dimensions" if found.dimensions else symbol


def step_words(one: InputEffect, shown: DisplayUnits = IN_SI) -> str:
    """The change that an effect belongs to: "+ 10 %", "+ 1 mm".

    Args:
        one: the input.
        shown: units of everything that is written.
    """
    if one.relative:
        return "+ 10 %"
    return "+ 1 mm" if shown.is_si else "+ 0.039 in"


def value_words(one: InputEffect, shown: DisplayUnits = IN_SI) -> str:
    """An input's value as a person reads it.

    Args:
        one: the input.
        shown: units of everything that is written.
    """
    if one.measure == "conductivity":
        return shown.value(n.CONDUCTIVITY, one.value)
    return KINDS[one.measure].show(one.value, shown.system)


def spread_words(one: InputEffect, shown: DisplayUnits = IN_SI) -> str:
    """± of an input as a person reads it.

    Args:
        one: the input; it has a spread.
        shown: units of everything that is written.
    """
    assert one.spread is not None
    kind, amount = KINDS[one.measure], one.spread.amount
    number = kind.bare(amount, shown.system) - (kind.bare(0.0, shown.system))
    return f"± {float(f'{number:.2g}'):g} {kind.unit_in(shown.system)}".rstrip()


def plain_estimate(quantity: n.Quantity, effect: Effect, shown: DisplayUnits = IN_SI) -> tuple[str, str]:
    """An effect and its tolerance as two numbers without units, as tables have them.

    Args:
        quantity: what it is of.
        effect: the effect.
        shown: units of everything that is written.
    """
    value, _, rest = shown.estimate(quantity, effect.value, effect.tolerance, unit=False).partition(" (tolerance ")
    return value, rest.rstrip(")")


def by_effect(inputs: tuple[InputEffect, ...], of: n.Quantity) -> list[InputEffect]:
    """Inputs whose being off is seen in the decimals of the result or the factor, those that count most first.

    Args:
        inputs: all of them.
        of: the result.
    """
    least = [0.5 * 10.0 ** -off_quantity(quantity).decimals for quantity in (of, FACTOR)]
    off = [one for one in inputs if one.off(one.effect) >= least[0] or one.off(one.f_rsi) >= least[1]]
    return sorted(off, key=lambda one: -one.off(one.effect))


# -- JSON --------------------------------------------------------------------------------------------------------------


def sensitivities_json(found: Sensitivities) -> dict[str, Any]:
    """Sensitivities for JSON, lengths in millimetres, all else in SI.

    Args:
        found: the sensitivities.
    """
    factor = found.factor
    squares, worst = found.root_sum_square, found.worst_case
    return {
        "quantity": found.quantity,
        "dimensions": found.dimensions or None,
        "of_revolution": found.of_revolution,
        "value": 0.5 * (found.lower + found.upper),
        "lower": found.lower,
        "upper": found.upper,
        "f_rsi": None
        if factor is None
        else {
            "environment": factor.environment,
            "section": factor.section,
            "value": factor.value,
            "tolerance": factor.tolerance,
        },
        "inputs": [_input_json(one) for one in found.inputs],
        "off": {
            "root_sum_square": {"value": squares[0], "f_rsi": squares[1]},
            "worst_case": {"value": worst[0], "f_rsi": worst[1]},
        },
        "left_out": [{"name": name, "reason": reason} for name, reason in found.left_out],
    }


def _input_json(one: InputEffect) -> dict[str, Any]:
    kind = KINDS[one.measure]
    spread = one.spread
    return {
        "kind": one.kind,
        "name": one.name,
        "symbol": one.symbol or None,
        "measure": one.measure,
        "unit": kind.unit,
        "value": _bare(one, one.value),
        "step": _bare(one, one.step),
        "effect": _effect_json(one.effect),
        "f_rsi": _effect_json(one.f_rsi),
        "share": _effect_json(one.share),
        "by": one.by,
        "frozen": one.frozen,
        "spread": {"amount": _bare(one, spread.amount), "basis": spread.basis} if spread else None,
        "off": {"value": one.off(one.effect), "f_rsi": one.off(one.f_rsi)} if spread else None,
    }


def _bare(one: InputEffect, value: float) -> float:
    return millimetres(value) if one.measure == "length" else value


def _effect_json(effect: Effect | None) -> dict[str, float] | None:
    return None if effect is None else {"value": effect.value, "tolerance": effect.tolerance}


# -- the screen --------------------------------------------------------------------------------------------------------


def sensitivity_lines(found: Sensitivities, shown: DisplayUnits = IN_SI) -> list[str]:
    """Sensitivities as lines of the screen.

    Args:
        found: the sensitivities.
        shown: units of everything that is written.
    """
    of = quantity_of(found)
    unit = shown.unit(of)
    parts = [
        (_label(one), value_words(one, shown), plain_estimate(of, one.share, shown))
        for one in found.of_kind("material", "surface")
        if one.share is not None
    ]
    changes = [
        (
            f"{_label(one)}{', difference' if one.by == 'difference' else ''}",
            step_words(one, shown),
            plain_estimate(of, one.effect, shown),
            plain_estimate(FACTOR, one.f_rsi, shown) if one.f_rsi else ("", ""),
        )
        for one in found.inputs
    ]
    width = max((len(row[0]) for row in [*parts, *changes]), default=0)
    lines = [f"What carries {named(found)} [{unit}], estimated with tolerance"]
    lines += [f"  {name:<{width}}  {value:>16}  {a:>11} ({b})" for name, value, (a, b) in parts]
    lines.append(f"What a change does to {named(found)} [{unit}] and to the lowest fRsi, estimated with tolerance")
    for name, step, (a, b), (c, d) in changes:
        lines.append(f"  {name:<{width}}  {step:>16}  {a:>11} ({b})" + (f"  {c:>9} ({d})" if c else ""))
    return [*lines, *_off_lines(found, shown)]


def _label(one: InputEffect) -> str:
    if one.kind == "surface":
        return f"surface, {one.name}"
    return f"{one.name} (held)" if one.frozen else one.name


def off_rows(found: Sensitivities, shown: DisplayUnits = IN_SI) -> list[tuple[str, str, str]]:
    """Root sum square and worst case: name, of the result, of the factor.

    Args:
        found: the sensitivities.
        shown: units of everything that is written.
    """
    of = quantity_of(found)
    return [
        (
            name,
            off_words(of, pair[0], shown),
            off_words(FACTOR, pair[1], shown) if found.factor is not None else "",
        )
        for name, pair in (("root sum square", found.root_sum_square), ("worst case", found.worst_case))
    ]


def off_quantity(of: n.Quantity) -> n.Quantity:
    """A quantity with the decimals of how far it is off, which is less sure than an effect.

    Args:
        of: the result.
    """
    return replace(of, decimals=max(of.decimals - 1, 1))


def off_words(of: n.Quantity, amount: float, shown: DisplayUnits = IN_SI, *, unit: bool = True) -> str:
    """How far a result may be off, without the ± of a bracket.

    Args:
        of: what it is of.
        amount: [SI].
        shown: units of everything that is written.
        unit: whether the unit follows.
    """
    places = off_quantity(of)
    return n.format_value(shown.quantity(places), shown.difference(places, amount), unit=unit)


def _off_lines(found: Sensitivities, shown: DisplayUnits) -> list[str]:
    of = quantity_of(found)
    lines = [f"How far {named(found)} and fRsi are off where the inputs are"]
    counting = by_effect(found.inputs, of)
    width = max((len(_label(one)) for one in counting), default=0)
    for one in counting:
        off = off_words(of, one.off(one.effect), shown)
        factor = f"; fRsi by up to {off_words(FACTOR, one.off(one.f_rsi), shown)}" if one.f_rsi else ""
        because = one.spread.basis if one.spread else ""
        lines.append(f"  {_label(one):<{width}}  {spread_words(one, shown):>16}  by up to {off}{factor}  ({because})")
    for name, value, factor in off_rows(found, shown):
        lines.append(f"  {name}: by up to {value}" + (f"; fRsi by up to {factor}" if factor else ""))
    lines += textwrap.wrap(BESIDE, WRAPPED, initial_indent="  ", subsequent_indent="  ")
    return lines + [f"  left out: {name}: {reason}" for name, reason in found.left_out]
