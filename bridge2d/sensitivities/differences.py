"""An input's effects from differences of solutions, where neither its mesh nor those beside it can follow the change.

Both sides are solved to a narrow bracket; only sections that the change touches are solved again. The tolerance of a
difference is that of both ends over the step, and what the step may hide: half of what both sides differ by, or on one
side alone the effect's own share of the relative step.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from bridge2d.sensitivities.study import Outcome
from bridge2d.sensitivity_records import Effect

if TYPE_CHECKING:
    from bridge2d.results import DetailResult
    from bridge2d.sensitivities.beside import Solutions
    from bridge2d.sensitivities.study import Place
    from bridge2d.sensitivities.targets import Target
    from bridge2d.variations import Variation

NARROW = 1e-4
"""Relative bracket of the solutions."""


def difference(varied: Variation, target: Target, places: tuple[Place, ...], solutions: Solutions) -> Outcome | None:
    """Change of the result and of temperature factors per unit of a parameter; None where it cannot be had.

    Args:
        varied: the parameter.
        target: the result.
        places: of the factors.
        solutions: near the detail.

    Raises:
        Bridge2dError: a side cannot be computed.
    """
    low, high = varied.far
    if low is None and high is None:
        return None
    details = [low, varied.middle, high]
    results = [None if one is None else solutions.result(one, NARROW) for one in details]
    ends = [None if one is None else _end(target, one) for one in results]
    found = _difference(ends, varied)
    if found is None:
        return None
    factors = [[None if one is None else _factor(one, place) for one in results] for place in places]
    return Outcome(found, tuple(_difference(one, varied) for one in factors))


def _end(target: Target, result: DetailResult) -> Effect | None:
    found = target.of(result)
    return None if found is None else Effect(found.value, found.half_width)


def _factor(result: DetailResult, place: Place) -> Effect | None:
    found = next((one for one in result.f_rsi if (one.section, one.environment) == place), None)
    return None if found is None else Effect(found.value, found.tolerance)


def _difference(ends: list[Effect | None], varied: Variation) -> Effect | None:
    """Slope through a number below, at and above the value."""
    low, middle, high = ends
    step = varied.further
    if middle is None or (low is None and high is None):
        return None
    if low is None or high is None:
        other, sign = (high, 1.0) if high is not None else (low, -1.0)
        assert other is not None
        value = sign * (other.value - middle.value) / step
        hidden = abs(value * step / varied.value)
        return Effect(value, (other.tolerance + middle.tolerance) / step + hidden)
    value = 0.5 * (high.value - low.value) / step
    bent = 0.5 * abs(high.value + low.value - 2.0 * middle.value) / step
    return Effect(value, 0.5 * (high.tolerance + low.tolerance) / step + bent)
