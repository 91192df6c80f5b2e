"""Sensitivities as JSON; all of them are estimates."""

from __future__ import annotations

from typing import Any

from bridge2d.json_values import millimetres
from bridge2d.sensitivity_records import Effect, InputEffect, Sensitivities
from bridge2d.sensitivity_words import KINDS


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
        "factors": [_factor_json(found, number) for number in range(len(found.factors))],
    }


def _factor_json(found: Sensitivities, number: int) -> dict[str, Any]:
    one, off = found.factors[number], found.off_of(number)
    return {
        "environment": one.environment,
        "section": one.section,
        "value": one.value,
        "tolerance": one.tolerance,
        "off": None if off is None else {"root_sum_square": off[0], "worst_case": off[1]},
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
        "off": _off_json(one) if spread else None,
        "parameter": one.parameter or None,
        "computed": one.computed,
        "together": one.together or None,
        "smaller": _effect_json(one.smaller),
        "smaller_f_rsi": _effect_json(one.smaller_f_rsi),
        "factors": [_effect_json(effect) for effect in one.factors],
    }


def _off_json(one: InputEffect) -> dict[str, float]:
    factor = one.off_f_rsi or Effect(0.0, 0.0)
    return {
        "value": one.off.value,
        "f_rsi": factor.value,
        "tolerance": one.off.tolerance,
        "f_rsi_tolerance": factor.tolerance,
    }


def _bare(one: InputEffect, value: float) -> float:
    return millimetres(value) if one.measure == "length" else value


def _effect_json(effect: Effect | None) -> dict[str, float] | None:
    return None if effect is None else {"value": effect.value, "tolerance": effect.tolerance}
