"""The value of a parameter at which the limits are just met, on certified numbers.

variants computed -> **found**. A limit is met where the whole bracket keeps it, and missed where the whole bracket
misses it; so is the answer. Tried are evenly spaced values first, then halves of every step across which the answer
changes, on a grid of buildable steps. Between two values that were tried nothing is claimed.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from bridge2d.errors import InputError
from bridge2d.solving import TOLERANCE
from bridge2d.variants.varied import MET, MISSED, REFUSED, UNDECIDED, Changes, computed, numbers, refused, standing

if TYPE_CHECKING:
    from bridge2d.detail import Requirement
    from bridge2d.detail_file import LoadedDetail
    from bridge2d.variants.axes import Span
    from bridge2d.variants.varied import Row

TRIED = 9
"""Values over the whole range that are tried before any step is halved."""
NARROWER, NARROWEST = 0.1, 1e-5
"""Where a limit lies within a bracket, the bracket is made so much narrower, but not below this."""
PARTS = 200
"""A step is at least the range by this, as a round number."""
Told = Callable[[float, str], None]
"""Told of every value that was tried, and how it stands."""


@dataclass(frozen=True)
class Trial:
    """A value that was tried.

    Attributes:
        value: of the parameter, in its unit.
        standing: "met", "not met", "undecided" (the limit lies in the narrowest bracket) or "refused".
        row: its numbers, or why it was refused.
        tolerance: relative width of the bracket that was asked for in the end [-].
    """

    value: float
    standing: str
    row: Row = field(repr=False)
    tolerance: float = TOLERANCE


@dataclass(frozen=True)
class Crossing:
    """Two neighbouring values of the grid between which the answer changes; what lies between was not tried.

    Attributes:
        met: the one that meets all limits for certain.
        other: the one that does not, for certain or as far as can be told.
    """

    met: Trial
    other: Trial


@dataclass(frozen=True)
class Found:
    """What came of a search.

    Attributes:
        span: the parameter and its range.
        step: grid of the values that were tried.
        fixed: other parameters that were set, with their values.
        trials: all values that were tried, in their order.
        crossings: where the answer changes, in the order of the values.
    """

    span: Span
    step: float
    fixed: Changes
    trials: tuple[Trial, ...]
    crossings: tuple[Crossing, ...]

    @property
    def any_met(self) -> bool:
        """Whether some value meets all limits for certain."""
        return any(trial.standing == MET for trial in self.trials)


def find(
    loaded: LoadedDetail,
    span: Span,
    requirements: tuple[Requirement, ...],
    fixed: Changes | None = None,
    step: float = 0.0,
    tolerance: float = TOLERANCE,
    told: Told | None = None,
) -> Found:
    """Look for the values at which the limits are just met.

    Args:
        loaded: the detail file.
        span: what is varied.
        requirements: the limits; at least one.
        fixed: other parameters that are set.
        step: grid of the values, in the unit of the range; a round one unless given.
        tolerance: widest relative bracket around L2D to begin with [-].
        told: of every value that was tried.

    Raises:
        InputError: there is no limit, or the step does not fit the range.
    """
    if not requirements:
        right = "give the detail a [[requirement]], or the call --psi-max, --chi-max, --u-max or --f-rsi-min"
        raise InputError("there is no limit that could be met", file=str(loaded.path), right=right)
    fixed = dict(fixed or {})
    step, last = grid(span, step)
    limited = replace(loaded, detail=replace(loaded.detail, requirements=requirements))
    known: dict[int, Trial] = {}

    def tried(place: int) -> Trial:
        if place not in known:
            value = float(f"{span.first + step * place:.12g}")
            known[place] = _trial(limited, {**fixed, span.info.name: value}, value, tolerance)
            if told:
                told(value, known[place].standing)
        return known[place]

    count = min(TRIED, last + 1)
    places = sorted({round(last * k / (count - 1)) for k in range(count)})
    for place in places:
        tried(place)
    crossings = []
    for low, high in pairwise(places):
        if (tried(low).standing == MET) == (tried(high).standing == MET):
            continue
        a, b = low, high
        while b - a > 1:
            middle = (a + b) // 2
            a, b = (middle, b) if (tried(middle).standing == MET) == (tried(a).standing == MET) else (a, middle)
        met, other = (tried(a), tried(b)) if tried(a).standing == MET else (tried(b), tried(a))
        crossings.append(Crossing(met, other))
    trials = tuple(known[place] for place in sorted(known))
    return Found(span, step, fixed, trials, tuple(crossings))


def grid(span: Span, step: float = 0.0) -> tuple[float, int]:
    """The step of the values that may be tried, and how many steps there are.

    Args:
        span: what is varied.
        step: that is wanted, in the unit of the range; a round one unless given.

    Raises:
        InputError: it does not fit the range.
    """
    step = step or round_step(span.last - span.first)
    last = math.floor((span.last - span.first) / step + 1e-9)
    if last < 1:
        raise InputError(f"a step of {step:g} does not fit the range", key="--step", right="give a smaller one")
    return step, last


def _trial(loaded: LoadedDetail, changes: Changes, value: float, tolerance: float) -> Trial:
    """A value with its numbers; the bracket is narrowed until the answer is certain, as far as that goes."""
    while True:
        try:
            result = computed(loaded, changes, tolerance)
        except InputError as error:
            return Trial(value, REFUSED, refused(error), tolerance)
        found = standing(result)
        if found != UNDECIDED or tolerance <= NARROWEST:
            return Trial(value, found, numbers(result), tolerance)
        tolerance = max(NARROWER * tolerance, NARROWEST)


def round_step(width: float) -> float:
    """A step of 1, 2 or 5 times a power of ten that divides a range into no more than 200 parts.

    Args:
        width: of the range.
    """
    least = width / PARTS
    power = 10.0 ** math.floor(math.log10(least))
    return float(f"{next(power * k for k in (1.0, 2.0, 5.0, 10.0) if power * k >= least * (1 - 1e-9)):.12g}")


def fixed_in_words(found: Found) -> str:
    """Other parameters that were set: "masonry_thickness = 240".

    Args:
        found: what came of the search.
    """
    said = {key: value if isinstance(value, str) else f"{value:g}" for key, value in found.fixed.items()}
    return ", ".join(f"{key} = {value}" for key, value in said.items())


def in_words(found: Found) -> list[str]:
    """What was found, in a sentence each.

    Args:
        found: what came of the search.
    """
    name, unit = found.span.info.name, found.span.unit
    of = f" {unit}" if unit else ""
    beside = f", with {fixed_in_words(found)}" if found.fixed else ""
    ends = f"{found.span.first:g} to {found.span.last:g}{of}"
    said = []
    for one in found.crossings:
        other = {MISSED: "not met, for certain", UNDECIDED: "undecided at the narrowest bracket"}
        words = other.get(one.other.standing, f"refused ({one.other.row['reason']})")
        said.append(
            f"{name} = {one.met.value:g}{of}: all limits met, for certain; at {one.other.value:g}{of}: {words}{beside}"
        )
    if said:
        return said
    tried = f"{len(found.trials)} values of {name} from {ends}{beside}"
    standings = {trial.standing for trial in found.trials}
    if standings == {MET}:
        return [f"all limits are met, for certain, at each of {tried}; between them nothing was tried"]
    if standings <= {MISSED}:
        return [f"no limit-keeping value: certainly missed at each of {tried}; between them nothing was tried"]
    counts = ", ".join(f"{sum(t.standing == s for t in found.trials)} {s}" for s in sorted(standings))
    return [f"no limit-keeping value among {tried}: {counts}"]


def as_json(found: Found) -> dict[str, Any]:
    """What was found, for JSON.

    Args:
        found: what came of the search.
    """
    return {
        "parameter": found.span.info.name,
        "unit": found.span.unit or None,
        "first": found.span.first,
        "last": found.span.last,
        "step": found.step,
        "fixed": dict(found.fixed),
        "crossings": [
            {"met": one.met.value, "other": one.other.value, "standing": one.other.standing} for one in found.crossings
        ],
        "trials": [{"value": one.value, "standing": one.standing, **one.row} for one in found.trials],
    }
