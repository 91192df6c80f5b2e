"""A value that is tried in a search: how it stands to the limits, and by how much it keeps or misses them.

variants computed → **trials** → search.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from bridge2d.errors import InputError
from bridge2d.solving import TOLERANCE
from bridge2d.variants.varied import (
    MET,
    REFUSED,
    UNDECIDED,
    Changes,
    computed,
    numbers,
    refused,
    standing,
)

if TYPE_CHECKING:
    from bridge2d.detail_file import LoadedDetail
    from bridge2d.results import DetailResult
    from bridge2d.variants.varied import Row

NARROWER, NARROWEST = 0.1, 1e-6
"""Where a limit lies within a bracket, the bracket is made so much narrower, but not below this."""
NO_GAIN = 0.7
"""A tolerance of fRsi that stays above so much of what it was gains nothing from a narrower bracket."""


@dataclass(frozen=True)
class Trial:
    """A value that was tried.

    Attributes:
        value: of the parameter, in its unit.
        standing: "met", "not met", "undecided" (the limit lies in the narrowest bracket) or "refused".
        row: its numbers, or why it was refused.
        tolerance: relative width of the bracket that was asked for in the end [-].
        margins: by how much each limit is kept, below 0 where it is missed, in the limit's unit; empty where refused.
        certain: whether numbers with guaranteed bounds decide; fRsi has a tolerance and none.
    """

    value: float
    standing: str
    row: Row = field(repr=False)
    tolerance: float = TOLERANCE
    margins: tuple[float, ...] = ()
    certain: bool = False

    def margin(self, scales: tuple[float, ...]) -> float:
        """The least margin, each in parts of its scale; nan where the value was refused.

        Args:
            scales: of each limit, in its unit.
        """
        if not self.margins:
            return math.nan
        return min(one / scale for one, scale in zip(self.margins, scales, strict=True))


def tried(loaded: LoadedDetail, changes: Changes, value: float, tolerance: float) -> Trial:
    """A value with its numbers; the bracket is narrowed until the answer is decided, as far as that goes.

    Args:
        loaded: the detail file, with the limits.
        changes: what the variant changes.
        value: of the parameter that is searched.
        tolerance: widest relative bracket around L2D to begin with [-].
    """
    before = math.inf
    while True:
        try:
            result = computed(loaded, changes, tolerance)
        except InputError as error:
            return Trial(value, REFUSED, refused(error), tolerance)
        found = standing(result)
        estimated = _estimated_only(result)
        if found != UNDECIDED or tolerance <= NARROWEST or estimated > NO_GAIN * before:
            return Trial(value, found, numbers(result), tolerance, _margins(result), _certain(result, found))
        before = estimated or math.inf
        tolerance = max(NARROWER * tolerance, NARROWEST)


def _estimated_only(result: DetailResult) -> float:
    """The widest tolerance of fRsi where nothing but limits of fRsi is undecided; else 0."""
    if any(not one.certain and one.requirement.quantity != "f_rsi" for one in result.requirements):
        return 0.0
    return max((one.tolerance for one in result.f_rsi), default=0.0)


def _margins(result: DetailResult) -> tuple[float, ...]:
    return tuple(
        one.requirement.limit - one.value if one.requirement.sense == "maximum" else one.value - one.requirement.limit
        for one in result.requirements
    )


def _certain(result: DetailResult, found: str) -> bool:
    bounded = [one for one in result.requirements if one.requirement.quantity != "f_rsi"]
    if found == MET:
        return len(bounded) == len(result.requirements)
    return any(one.certain and not one.met for one in bounded)
