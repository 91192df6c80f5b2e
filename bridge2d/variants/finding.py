"""The values of a parameter between which the limits come to be met, on certified numbers.

variants computed -> **found**. A limit is met where the whole bracket keeps it, and missed where the whole bracket
misses it; so is the answer for every value that is computed. Which values are computed: evenly spaced ones and both
ends of the range first; halves of every interval across which the answer changes, down to the step; and, of all other
intervals, those within which it could change if numbers changed twice as steeply as they do there and beside it
(Sergeyev (1995), Mathematics of Computation 64, 1421, local tuning of a Lipschitz constant; remembered). Round the best
value that misses, and the worst that meets, this goes on below the step. What holds between two values is not proven;
with `every` at least each step is computed.
"""

from __future__ import annotations

import math
from bisect import insort
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING

from bridge2d.errors import InputError
from bridge2d.solving import TOLERANCE
from bridge2d.variants.trials import Trial, tried
from bridge2d.variants.varied import MET, REFUSED, Changes

if TYPE_CHECKING:
    from bridge2d.detail import Requirement
    from bridge2d.detail_file import LoadedDetail
    from bridge2d.variants.axes import Span

TRIED = 9
"""Values over the whole range that are tried before any interval is divided."""
PARTS = 200
"""A step is at least the range by this, as a round number."""
FINE = 0.01
"""Below the step values are tried as close as so much of it."""
STEEPER = 2.0
"""Numbers are taken to change so much more steeply than between the values that are known."""
INWARD = 0.2
"""A new value keeps so much of an interval away from its ends."""
MOST_TRIED = 400
"""Values beyond those of the grid after which a search ends in any case."""
MOST_STEPS = 2000
"""Steps that are all computed where every one is asked for."""
Told = Callable[[float, str], None]
"""Told of every value that was tried, and how it stands."""


@dataclass(frozen=True)
class Crossing:
    """Two neighbouring values between which the answer changes; what lies between was not tried.

    Attributes:
        met: the one that meets all limits.
        other: the one that does not, or of which it cannot be told.
    """

    met: Trial
    other: Trial


@dataclass(frozen=True)
class Found:
    """What came of a search.

    Attributes:
        span: the parameter and the range that was asked for.
        searched: its part within the limits of the parameter.
        step: grid of the values that were tried.
        fixed: other parameters that were set, with their values.
        limits: that were asked for.
        trials: all values that were tried, in their order.
        crossings: where the answer changes, in the order of the values.
        closest: the value that misses by the least, or where all meet, keeps by the least; None where all are refused.
        decisive: number of the limit that this is told of.
        every: whether each step of the grid was tried.
    """

    span: Span
    searched: Span
    step: float
    fixed: Changes
    limits: tuple[Requirement, ...]
    trials: tuple[Trial, ...]
    crossings: tuple[Crossing, ...]
    closest: Trial | None = None
    decisive: int = 0
    every: bool = False

    @property
    def any_met(self) -> bool:
        """Whether some value meets all limits."""
        return any(trial.standing == MET for trial in self.trials)


@dataclass(frozen=True)
class Grid:
    """Values from the first one on, a step apart; the last one is the end of the range, wherever it lies.

    Attributes:
        first, last: ends of the range.
        step: between two values.
    """

    first: float
    last: float
    step: float

    @property
    def count(self) -> int:
        """How many steps there are, the last one of which may be shorter."""
        return math.ceil((self.last - self.first) / self.step - 1e-9)

    def value(self, place: int) -> float:
        """The value of a place, counted from 0."""
        return self.last if place >= self.count else short(self.first + self.step * place)

    def between(self, low: float, high: float) -> range:
        """Places of the values strictly between two others."""
        least = math.floor((low - self.first) / self.step + 1e-6) + 1
        return range(least, min(math.ceil((high - self.first) / self.step - 1e-6), self.count))


def short(value: float) -> float:
    """A number without the last digits that a sum leaves.

    Args:
        value: the number.
    """
    return float(f"{value:.12g}") + 0.0


def grid(span: Span, step: float = 0.0, *, every: bool = False) -> Grid:
    """The values that may be tried.

    Args:
        span: what is varied.
        step: that is wanted, in the unit of the range; a round one unless given.
        every: whether each of them will be.

    Raises:
        InputError: the step does not fit the range, or makes too many values to try each.
    """
    width = span.last - span.first
    step = step or round_step(width)
    if step > width * (1 + 1e-9):
        raise InputError(f"a step of {step:g} does not fit the range", key="--step", right="give a smaller one")
    if every and width / step > MOST_STEPS:
        right = f"give a step of at least {round_step(width, MOST_STEPS):g}"
        raise InputError(f"these are {width / step:.0f} steps to be computed", key="--step", right=right)
    return Grid(span.first, span.last, step)


def round_step(width: float, parts: int = PARTS) -> float:
    """A step of 1, 2 or 5 times a power of ten that divides a range into no more than so many parts.

    Args:
        width: of the range.
        parts: 200 unless given.
    """
    least = width / parts
    power = 10.0 ** math.floor(math.log10(least))
    return short(next(power * k for k in (1.0, 2.0, 5.0, 10.0) if power * k >= least * (1 - 1e-9)))


def find(
    loaded: LoadedDetail,
    span: Span,
    requirements: tuple[Requirement, ...],
    fixed: Changes | None = None,
    step: float = 0.0,
    tolerance: float = TOLERANCE,
    told: Told | None = None,
    *,
    every: bool = False,
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
        every: whether each step of the grid is computed.

    Raises:
        InputError: there is no limit, the range lies beyond the parameter's, or the step does not fit it.
    """
    from bridge2d.variants.axes import within

    if not requirements:
        right = "give the detail a [[requirement]], or the call --psi-max, --chi-max, --u-max or --f-rsi-min"
        raise InputError("there is no limit that could be met", file=str(loaded.path), right=right)
    fixed = dict(fixed or {})
    searched = within(span, loaded)
    places = grid(searched, step, every=every)
    limited = replace(loaded, detail=replace(loaded.detail, requirements=requirements))

    def at(value: float) -> Trial:
        found = tried(limited, {**fixed, span.info.name: value}, value, tolerance)
        if told:
            told(value, found.standing)
        return found

    search = _Search(places, at)
    search.run(every=every)
    closest, decisive = search.closest()
    trials, crossings = tuple(search.ordered), tuple(search.crossings())
    return Found(span, searched, places.step, fixed, requirements, trials, crossings, closest, decisive, every)


class _Search:
    """The values that are known so far, and which one comes next."""

    def __init__(self, places: Grid, at: Callable[[float], Trial]) -> None:
        self.grid, self.at = places, at
        self.ordered: list[Trial] = []
        self.scales: tuple[float, ...] = ()

    def run(self, *, every: bool) -> None:
        """Try values until no interval asks for another one."""
        count = self.grid.count
        begun = range(count + 1) if every else {round(count * k / (TRIED - 1)) for k in range(TRIED)}
        for place in sorted(begun):
            self._try(self.grid.value(place))
        most = len(self.ordered) + MOST_TRIED
        while len(self.ordered) < most and (value := self._next()) is not None:
            self._try(value)

    def _try(self, value: float) -> None:
        insort(self.ordered, self.at(value), key=_value)

    def _scales(self) -> tuple[float, ...]:
        """How much each limit's number changes over the range."""
        rows = [trial.margins for trial in self.ordered if trial.margins]
        return tuple(max(column) - min(column) or 1.0 for column in zip(*rows, strict=True))

    def _margin(self, number: int) -> float:
        return self.ordered[number].margin(self.scales)

    def _next(self) -> float | None:
        """The next value to be tried: where the answer changes first, then where it could."""
        for low, high in pairwise(self.ordered):
            if _side(low) != _side(high) and (between := self.grid.between(low.value, high.value)):
                return self.grid.value(between[len(between) // 2])
        found = max(self._possible(), default=None)
        return found[1] if found else None

    def _possible(self) -> Iterator[tuple[float, float]]:
        """Intervals within which the answer could change: by how much it would, and the value to be tried there."""
        self.scales = self.scales or self._scales()
        values = [trial.value for trial in self.ordered]
        margins = [self._margin(k) for k in range(len(values))]
        slopes = [abs(b - a) / (y - x) for (a, b), (x, y) in zip(pairwise(margins), pairwise(values), strict=True)]
        known = [one for one in slopes if math.isfinite(one)]
        widest = max((y - x for x, y in pairwise(values)), default=1.0)
        for k, slope in enumerate(slopes):
            side = _side(self.ordered[k])
            if not math.isfinite(slope) or side != _side(self.ordered[k + 1]):
                continue
            beside = [one for one in slopes[max(k - 1, 0) : k + 2] if math.isfinite(one)]
            width = values[k + 1] - values[k]
            steep = STEEPER * max(*beside, max(known) * width / widest, 1e-12)
            sign = -1.0 if side == MET else 1.0
            reach = sign * 0.5 * (margins[k] + margins[k + 1]) + 0.5 * steep * width
            place = 0.5 * (values[k] + values[k + 1]) + sign * (margins[k + 1] - margins[k]) / (2 * steep)
            value = self._free(k, place, sign, margins) if reach >= 0.0 else None
            if value is not None:
                yield reach, value

    def _free(self, k: int, place: float, sign: float, margins: list[float]) -> float | None:
        """A value that may be tried within an interval near a place; None where it is narrow enough."""
        low, high = self.ordered[k].value, self.ordered[k + 1].value
        inward = INWARD * (high - low)
        place = min(max(place, low + inward), high - inward)
        between = self.grid.between(low, high)
        if between:
            near = round((place - self.grid.first) / self.grid.step)
            return self.grid.value(min(max(near, between[0]), between[-1]))
        fine = FINE * self.grid.step
        peak = any(
            not any(sign * margins[end] < sign * margins[j] for j in (end - 1, end + 1) if 0 <= j < len(margins))
            for end in (k, k + 1)
        )
        if not peak or high - low < 2 * fine * (1 - 1e-6):
            return None
        value = short(self.grid.first + fine * round((place - self.grid.first) / fine))
        return value if low < value < high else None

    def crossings(self) -> Iterator[Crossing]:
        """Neighbours of which one meets the limits."""
        for low, high in pairwise(self.ordered):
            if (low.standing == MET) != (high.standing == MET):
                yield Crossing(low, high) if low.standing == MET else Crossing(high, low)

    def closest(self) -> tuple[Trial | None, int]:
        """The value that comes closest to meeting the limits, or to missing them, and the limit that decides."""
        self.scales = self.scales or self._scales()
        missing = [k for k, trial in enumerate(self.ordered) if trial.margins and trial.standing != MET]
        met = [k for k, trial in enumerate(self.ordered) if trial.standing == MET]
        if not missing and not met:
            return None, 0
        one = self.ordered[max(missing, key=self._margin) if missing else min(met, key=self._margin)]
        parts = [margin / scale for margin, scale in zip(one.margins, self.scales, strict=True)]
        return one, parts.index(min(parts))


def _value(trial: Trial) -> float:
    return trial.value


def _side(trial: Trial) -> str:
    """What of a value's standing makes a change of the answer."""
    return trial.standing if trial.standing in (MET, REFUSED) else "other"
