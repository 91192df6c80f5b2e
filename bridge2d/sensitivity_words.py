"""What the screen, the report and the page say of sensitivities; all of them are estimates."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import NamedTuple

from bridge2d import nomenclature as n
from bridge2d import units
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
    "is their difference and the local gap. U·l, and conductivities that are computed of other inputs, follow closed "
    "formulas. fRsi by one more solution on two meshes. Where a step or a gap opens at the value itself, sections a "
    "little beside it are solved, or two solutions make a difference; both are said. An input has two rows where it "
    "does not do the opposite downward. Effects are to first order: a change many times as large does not have so many "
    "times the effect."
)
COMPUTED = (
    "Conductivities marked as computed follow from other inputs, whose rows have in them what they do through these; "
    "by themselves they count as right unless [tolerances] names them."
)
FROZEN = "Conductivities of cavities are held as they were frozen; what an input does to them is left out."
BESIDE = (
    "To first order, and beside the bracket, which says how well the section was computed and nothing of its inputs. "
    "Root sum square takes the inputs' errors for independent, the worst case adds all of them; but a timber has one "
    "density, and its conductivities along and across the grain go up and down together in both. Inputs that are not "
    "listed, each with less than a thousandth of the worst case, count too. A given U, Ψ or surface resistance counts "
    "as right unless [tolerances] names it."
)
LISTED = 1e-3
"""Inputs with less than this share of the worst case are not listed with what they are off."""
MOST_DECIMALS = 2
"""So many more than usual for small effects."""


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


def step_words(one: InputEffect, shown: DisplayUnits = IN_SI, *, down: bool = False) -> str:
    """The change that an effect belongs to: "+ 10 %", "− 1 mm".

    Args:
        one: the input.
        shown: units of everything that is written.
        down: whether the input becomes smaller.
    """
    sign = n.MINUS if down else "+"
    if one.relative:
        return f"{sign} 10 %"
    return f"{sign} 1 mm" if shown.is_si else f"{sign} 0.039 in"


class Changed(NamedTuple):
    """What a step of an input does.

    Attributes:
        one: the input.
        name: as it is written.
        step: the change.
        effect: on the result.
        f_rsi: on the lowest temperature factor; None where there is none.
    """

    one: InputEffect
    name: str
    step: str
    effect: Effect
    f_rsi: Effect | None


def changed(found: Sensitivities, shown: DisplayUnits = IN_SI) -> list[Changed]:
    """What a step of every input does; two rows where a step down does not do the opposite.

    Args:
        found: the sensitivities.
        shown: units of everything that is written.
    """
    rows = []
    for one in found.inputs:
        name = label(one, shown) + BY.get(one.by, "")
        rows.append(Changed(one, name, step_words(one, shown), one.effect, one.f_rsi))
        if one.smaller is not None or one.smaller_f_rsi is not None:
            effect = one.smaller or _turned(one.effect)
            factor = one.smaller_f_rsi or (None if one.f_rsi is None else _turned(one.f_rsi))
            rows.append(Changed(one, name, step_words(one, shown, down=True), effect, factor))
    return rows


def _turned(effect: Effect) -> Effect:
    return Effect(-effect.value, effect.tolerance)


BY = {"difference": ", by difference", "beside": ", from beside"}
"""What follows an input's name where its own mesh did not move."""


def label(one: InputEffect, shown: DisplayUnits = IN_SI) -> str:
    """An input's name as it is written.

    Args:
        one: the input.
        shown: units of everything that is written.
    """
    if one.kind == "surface":
        return f"surface, {shown.sentence(one.name)}"
    mark = " (held)" if one.frozen else " (computed)" if one.computed else ""
    return shown.made_name(one.name) + mark


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

    A small effect has more decimals: two digits that count, as far as the tolerance lets them.

    Args:
        quantity: what it is of.
        effect: the effect; one that rounds to nothing even then is "0".
        shown: units of everything that is written.
    """
    if is_nothing(quantity, effect):
        return "0", "0"
    exact = counting(quantity, effect)
    value, _, rest = shown.estimate(exact, effect.value, effect.tolerance, unit=False).partition(" (tolerance ")
    return value, rest.rstrip(")")


def is_nothing(quantity: n.Quantity, effect: Effect) -> bool:
    """Whether an effect and its tolerance round to nothing, however many decimals are shown.

    Args:
        quantity: what it is of.
        effect: the effect.
    """
    return max(abs(effect.value), effect.tolerance) < 0.5 * 10.0 ** -(quantity.decimals + MOST_DECIMALS)


def counting(quantity: n.Quantity, effect: Effect) -> n.Quantity:
    """A quantity with the decimals that an effect is shown with.

    Args:
        quantity: what it is of.
        effect: the effect.
    """
    decimals = _decimals(effect.value, 2)
    return _with(quantity, min(decimals, _decimals(effect.tolerance, 1)) if effect.tolerance else decimals)


def _decimals(value: float, digits: int) -> int:
    """How many decimals show so many digits that count; 0 of nothing."""
    return digits - 1 - math.floor(math.log10(abs(value))) if value else 0


def _with(quantity: n.Quantity, decimals: int) -> n.Quantity:
    """A quantity with more decimals."""
    most = quantity.decimals + MOST_DECIMALS
    return replace(quantity, decimals=min(max(quantity.decimals, decimals), most))


def by_effect(found: Sensitivities) -> list[InputEffect]:
    """Inputs that count in how far the result or the factor is off, those that count most first.

    Args:
        found: the sensitivities.
    """
    worst = found.worst_case

    def share(one: InputEffect) -> float:
        factor = one.off_f_rsi.value if one.off_f_rsi else 0.0
        return max(one.off.value / (worst[0] or 1.0), factor / (worst[1] or 1.0))

    return sorted((one for one in found.inputs if share(one) >= LISTED), key=lambda one: -one.off.value)


# -- how far it is off ------------------------------------------------------------------------------------------------


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


def off_counting(of: n.Quantity, amount: float) -> n.Quantity:
    """A quantity with the decimals that such an amount is shown with.

    Args:
        of: what it is of.
        amount: how far it is off [SI].
    """
    return _with(off_quantity(of), _decimals(amount, 2))


def off_words(of: n.Quantity, amount: float, shown: DisplayUnits = IN_SI, *, unit: bool = True) -> str:
    """How far a result may be off, without the ± of a bracket.

    Args:
        of: what it is of.
        amount: [SI].
        shown: units of everything that is written.
        unit: whether the unit follows.
    """
    places = off_counting(of, amount)
    return n.format_value(shown.quantity(places), shown.difference(places, amount), unit=unit)


def factor_rows(found: Sensitivities, shown: DisplayUnits = IN_SI) -> list[tuple[str, str, str, str]]:
    """Every temperature factor but the lowest: where it is, its value, root sum square and worst case.

    Args:
        found: the sensitivities.
        shown: units of everything that is written.
    """
    rows = []
    for number, one in enumerate(found.factors):
        if found.factor is None or (one.section, one.environment) == (found.factor.section, found.factor.environment):
            continue
        off = found.off_of(number)
        words = ("–", "–") if off is None else tuple(off_words(FACTOR, amount, shown) for amount in off)
        value = shown.estimate(n.F_RSI, one.value, one.tolerance)
        rows.append((f"{one.environment}, section “{one.section}”", value, words[0], words[1]))
    return rows


NOT_HAD = "–: an input's effect there could not be had, since its mesh cannot follow."


def notes(found: Sensitivities) -> list[str]:
    """Sentences below how far the result is off.

    Args:
        found: the sensitivities.
    """
    said = [BESIDE]
    said += [COMPUTED] if any(one.computed for one in found.inputs) else []
    said += [FROZEN] if any(one.frozen for one in found.inputs) else []
    said += [NOT_HAD] if any(found.off_of(number) is None for number in range(len(found.factors))) else []
    return said
