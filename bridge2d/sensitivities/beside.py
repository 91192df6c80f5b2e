"""An input's effects from sections a little beside its value, where the mesh of the detail itself cannot follow.

Where a step or a gap opens at the value itself, it is open a little beside it, and grows there with the corners. The
derivatives there, of fresh solutions on either side, lead back to the value. Where both sides agree, their mean is
stated; where they do not, so that the result has a bend there, both are.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from bridge2d.calculate import combined
from bridge2d.errors import Bridge2dError
from bridge2d.refinement import MOST_PASSES
from bridge2d.section_results import solve_section
from bridge2d.sensitivities.inputs import is_cavity
from bridge2d.sensitivities.motion import NoMotionError
from bridge2d.sensitivities.study import Outcome, Study
from bridge2d.sensitivities.targets import Combination
from bridge2d.sensitivity_records import Effect
from bridge2d.solving import TOLERANCE
from bridge2d.variations import BEYOND

if TYPE_CHECKING:
    from bridge2d.detail import Detail, Section
    from bridge2d.materials import Material
    from bridge2d.results import DetailResult, SectionResult
    from bridge2d.variations import Variation

LOOSE = 0.05
"""Relative bracket of a first look at a section."""
PASSES = 2
"""Those are mostly enough; what is not as narrow as asked shows in the effects' tolerances."""
WIDE = 1.0
"""Half a bracket [W/(m·K)], so that the relative one counts."""
ALIKE = 0.02
"""Sides whose effects differ by less than this share of their mean, to either side of it, are stated as one."""


class Solutions:
    """Solutions of details near one that was solved; sections that were solved are kept, cavities stay frozen."""

    def __init__(self, result: DetailResult) -> None:
        """Begin with a detail's own sections.

        Args:
            result: all numbers of the detail.
        """
        self._results = result.sections
        self._own = tuple(one.section for one in result.sections)
        self._solved: list[tuple[float, Section, SectionResult]] = []
        for one in result.sections:
            self._solved.append((TOLERANCE, _plain(one.section), one))

    def result(
        self,
        detail: Detail,
        tolerance: float = TOLERANCE,
        counting: frozenset[int] | None = None,
        *,
        others: bool = True,
    ) -> DetailResult:
        """A detail's numbers.

        Args:
            detail: the detail.
            tolerance: relative bracket of its sections.
            counting: numbers of the sections that have to be that narrow, the others only say something of their own
                factor, which a first look is enough for; None for all.
            others: whether those others are looked at.

        Raises:
            Bridge2dError: a section cannot be computed.
        """
        detail = replace(detail, climate=None, requirements=())
        frozen = {}
        for section in self._own:
            frozen[section.name] = [r.material for r in section.regions if is_cavity(r)]
        sections = tuple(_held(one, frozen.get(one.name, [])) for one in detail.sections)
        detail = replace(detail, sections=sections)
        if len(sections) != len(self._own):
            counting = None
        close = [counting is None or number in counting for number in range(len(sections))]
        found = [
            self._section(one, tolerance if near else LOOSE)
            if near or others
            else replace(self._results[number], section=one, f_rsi=())
            for number, (one, near) in enumerate(zip(sections, close, strict=True))
        ]
        return combined(detail, tuple(found), 0.0, "")

    def _section(self, section: Section, tolerance: float) -> SectionResult:
        plain = _plain(section)
        for known, other, result in self._solved:
            if known <= tolerance and other == plain:
                return result
        result = solve_section(plain, tolerance, most_passes=PASSES if tolerance >= TOLERANCE else MOST_PASSES)
        self._solved.append((tolerance, plain, result))
        return result


def _held(section: Section, materials: list[Material]) -> Section:
    """A section with the conductivities that the cavities of another one were frozen at."""
    if sum(r.cavity is not None for r in section.regions) != len(materials):
        return section
    following = iter(materials)
    regions = (r if r.cavity is None else replace(r, material=next(following)) for r in section.regions)
    return replace(section, regions=tuple(replace(r, cavity=None) for r in regions))


def _plain(section: Section) -> Section:
    """A section without what is looked up in its fields and drawn, its cavities being frozen."""
    regions = tuple(replace(r, cavity=None) if is_cavity(r) else r for r in section.regions)
    return replace(section, regions=regions, dimensions=(), probes=(), watched=(), airtight=(), psi_half_width=WIDE)


class Beside:
    """Effects from both sides of a parameter's value."""

    def __init__(self, study: Study, solutions: Solutions) -> None:
        """Look at what a study looks at.

        Args:
            study: of the detail itself.
            solutions: near it.
        """
        self.study, self.solutions = study, solutions

    def both(self, varied: Variation, here: list[Outcome | None]) -> list[Outcome | None]:
        """Effects above and below; None where they cannot be had.

        Args:
            varied: the parameter.
            here: what the detail's own mesh says of either side, or None.
        """
        near = [own or self._at(varied, sign * BEYOND) for own, sign in zip(here, (1, -1), strict=True)]
        above, below = near
        if above is not None and below is not None and _alike(above, below):
            return near
        found = []
        for own, first, sign in zip(here, near, (1, -1), strict=True):
            second = None if own or first is None else self._at(varied, 2 * sign * BEYOND)
            found.append(own or (None if first is None or second is None else _led_back(first, second)))
        return found

    def _at(self, varied: Variation, steps: float) -> Outcome | None:
        """Effects at a value beside; None where they cannot be had."""
        try:
            centre = varied.beside(steps)
            if centre is None:
                return None
            result = self.solutions.result(centre.middle, counting=self.study.weighty, others=steps > 0)
            study = Study(result, Combination(self.study.combination.target, result), self.study.places)
            side = study.side(centre, 1 if steps > 0 else -1)
            return None if side is None else study.outcome(side, centre.step)
        except (Bridge2dError, NoMotionError):
            return None


def _led_back(first: Outcome, second: Outcome) -> Outcome:
    """A side's effects at the value from those one and two distances away; half of the way back is doubted."""
    way = first.plus(second, -1.0)
    found = first.plus(way)

    def doubted(one: Effect | None, step: Effect | None) -> Effect | None:
        return None if one is None or step is None else Effect(one.value, one.tolerance + 0.5 * abs(step.value))

    result = doubted(found.result, way.result)
    assert result is not None
    return Outcome(result, tuple(map(doubted, found.factors, way.factors)))


def _alike(above: Outcome, below: Outcome) -> bool:
    """Whether both sides' effects on the result and on the first factor can be stated as one."""
    pairs = [(above.result, below.result), *zip(above.factors[:1], below.factors[:1], strict=True)]
    return all(a is None or b is None or alike(a, b) for a, b in pairs)


def alike(above: Effect, below: Effect) -> bool:
    """Whether one number can be stated for both sides.

    Args:
        above: effect above the value.
        below: effect below it.
    """
    half = 0.5 * abs(above.value - below.value)
    return half <= max(above.tolerance, below.tolerance, 0.5 * ALIKE * abs(above.value + below.value))


def as_one(above: Effect, below: Effect) -> Effect:
    """The mean of both sides, what they differ by in its tolerance.

    Args:
        above: effect above the value.
        below: effect below it.
    """
    half = 0.5 * abs(above.value - below.value)
    return Effect(0.5 * (above.value + below.value), max(above.tolerance, below.tolerance) + half)
