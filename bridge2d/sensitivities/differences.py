"""An input's effects from two solutions, where the mesh cannot follow the change.

Both sides are solved to a narrow bracket; only sections that the change touches are solved again. The tolerance of a
difference is that of both sides over the step, and what the step itself may hide: the effect's own share of a relative
step on one side, its square where the value lies in the middle.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from bridge2d.calculate import combined
from bridge2d.errors import SectionError
from bridge2d.section_results import solve_section, with_cavities_of
from bridge2d.sensitivity_records import Effect

if TYPE_CHECKING:
    from bridge2d.detail import Detail, Section
    from bridge2d.results import DetailResult, SectionResult, TemperatureFactor
    from bridge2d.sensitivities.targets import Target
    from bridge2d.variations import Variation

TOLERANCE = 1e-4
"""Relative bracket of both solutions."""


class Differences:
    """Differences of a detail's numbers; sections that were solved are kept."""

    def __init__(self, target: Target, lowest: TemperatureFactor | None) -> None:
        """Look at a result and a temperature factor.

        Args:
            target: the result.
            lowest: the factor; None where there is none.
        """
        self.target, self.lowest = target, lowest
        self._solved: list[tuple[Section, SectionResult]] = []

    def effects(self, varied: Variation) -> tuple[Effect, Effect | None]:
        """Change of the result and of the factor per unit of a parameter.

        Args:
            varied: the parameter.

        Raises:
            Bridge2dError: a side cannot be computed or has no such number.
        """
        before, after, step = varied.far
        low, high = self._result(before), self._result(after)
        ends = self.target.of(low), self.target.of(high)
        if ends[0] is None or ends[1] is None:
            raise SectionError("has no such number")
        hidden = abs(step / varied.value)
        hidden = hidden**2 if varied.even else hidden
        effect = _difference((ends[0].value, ends[1].value), ends[0].half_width + ends[1].half_width, step, hidden)
        factors = self._factor(low), self._factor(high)
        if factors[0] is None or factors[1] is None:
            return effect, None
        both = factors[0].tolerance + factors[1].tolerance
        return effect, _difference((factors[0].value, factors[1].value), both, step, hidden)

    def _factor(self, result: DetailResult) -> TemperatureFactor | None:
        if self.lowest is None:
            return None
        own = self.lowest.section, self.lowest.environment
        return next((one for one in result.f_rsi if (one.section, one.environment) == own), None)

    def _result(self, detail: Detail) -> DetailResult:
        detail = replace(detail, climate=None, requirements=())
        if detail.frame is not None:
            detail = replace(detail, sections=with_cavities_of(detail.sections, detail.frame.section))
        return combined(detail, tuple(self._section(one) for one in detail.sections), 0.0, "")

    def _section(self, section: Section) -> SectionResult:
        for known, result in self._solved:
            if known == section:
                return result
        result = solve_section(section, TOLERANCE)
        self._solved.append((section, result))
        return result


def _difference(ends: tuple[float, float], both: float, step: float, hidden: float) -> Effect:
    value = (ends[1] - ends[0]) / step
    return Effect(value, both / abs(step) + abs(value) * hidden)
