"""An input's effects from sections a little beside its value, where the mesh of the detail itself cannot follow.

Where a step or a gap opens at the value itself, it is open a little beside it, and grows there with the corners. The
derivatives there, of fresh solutions on either side, lead back to the value. Where both sides agree, their mean is
stated; where they do not, so that the result has a bend there, both are, each led back by what it becomes as far away
again, on the same mesh moved, so that what one mesh is off by does not count twice.

Often several parameters open the same step: a layer that becomes thicker, and the one beside it that becomes thinner.
A solution with the step open then says what each of them does there, on the side of its value that opens it.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from bridge2d.calculate import combined
from bridge2d.errors import Bridge2dError
from bridge2d.refinement import MOST_PASSES
from bridge2d.section_results import solve_on, solve_section
from bridge2d.sensitivities.factor import mesh_of
from bridge2d.sensitivities.inputs import is_cavity
from bridge2d.sensitivities.motion import NoMotionError, corners, counts
from bridge2d.sensitivities.sections import corner_count
from bridge2d.sensitivities.study import Outcome, Study
from bridge2d.sensitivities.targets import Combination
from bridge2d.sensitivity_records import Effect
from bridge2d.solving import TOLERANCE
from bridge2d.variations import BEYOND

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from bridge2d.detail import Detail, Section
    from bridge2d.materials import Material
    from bridge2d.mesh import SectionMesh
    from bridge2d.results import DetailResult, SectionResult
    from bridge2d.sensitivities.forms import FloatArray
    from bridge2d.variations import Variation

LOOSE = 0.05
"""Relative bracket of a first look at a section."""
PASSES = 2
"""Those are mostly enough; what is not as narrow as asked shows in the effects' tolerances."""
WIDE = 1.0
"""Half a bracket [W/(m·K)], so that the relative one counts."""
SIGNS = (1, -1)
"""Above a value and below it."""
ALIGNED = 1e-9
"""Corners that differ by no more stand on one line [m]."""
Order = tuple[object, ...]
"""What tells one cell of the parameters' values from another."""
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
        detail = self._held(detail)
        sections = detail.sections
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

    def moved(self, known: DetailResult, detail: Detail, displacements: Sequence[FloatArray | None]) -> DetailResult:
        """A detail's numbers on the moved meshes of another one.

        Args:
            known: of the other one.
            detail: the detail, of as many sections.
            displacements: of the corners of each section's mesh [m]; None where it is not looked at.

        Raises:
            Bridge2dError: a section cannot be computed.
        """
        detail = self._held(detail)
        found = []
        for old, new, displacement in zip(known.sections, detail.sections, displacements, strict=True):
            if displacement is None or _plain(new) == _plain(old.section):
                found.append(replace(old, section=new))
            else:
                found.append(solve_on(_plain(new), _displaced(mesh_of(old), displacement)))
        return combined(detail, tuple(found), 0.0, "")

    def _held(self, detail: Detail) -> Detail:
        """A detail without what is not looked at, with the cavities of the one that was solved."""
        frozen = {}
        for section in self._own:
            frozen[section.name] = [r.material for r in section.regions if is_cavity(r)]
        sections = tuple(_held(one, frozen.get(one.name, [])) for one in detail.sections)
        return replace(detail, climate=None, requirements=(), sections=sections)

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


def _displaced(mesh: SectionMesh, displacement: FloatArray) -> SectionMesh:
    return replace(mesh, mesh=replace(mesh.mesh, p=mesh.mesh.p + displacement.T))


def _plain(section: Section) -> Section:
    """A section without what is looked up in its fields and drawn, its cavities being frozen."""
    regions = tuple(replace(r, cavity=None) if is_cavity(r) else r for r in section.regions)
    return replace(section, regions=regions, dimensions=(), probes=(), watched=(), airtight=(), psi_half_width=WIDE)


class Beside:
    """Effects from both sides of a parameter's value.

    Where several parameters open the same step or gap, one solution beside serves all of them: sections whose corners
    stand in one order belong to one cell of the parameters' values, within which the result is smooth.
    """

    def __init__(self, study: Study, solutions: Solutions) -> None:
        """Look at what a study looks at.

        Args:
            study: of the detail itself.
            solutions: near it.
        """
        self.study, self.solutions = study, solutions
        self._places: list[_Place] = []

    def both(self, varied: Variation, here: list[Outcome | None]) -> list[Outcome | None]:
        """Effects above and below; None where they cannot be had.

        Args:
            varied: the parameter.
            here: what the detail's own mesh says of either side, or None.
        """
        orders = [None if own else order_beside(varied, sign) for own, sign in zip(here, SIGNS, strict=True)]
        # Sections that only say something of their own factor are looked at on one side.
        others_known = orders[1] is not None and any(one.others for one in self._places if one.order == orders[1])
        near = [
            None if own else self._at(varied, sign, order, others=sign > 0 and not others_known)
            for own, sign, order in zip(here, SIGNS, orders, strict=True)
        ]
        above, below = (own or (None if one is None else one.outcome) for own, one in zip(here, near, strict=True))
        if above is not None and below is not None and _alike(above, below):
            return [above, below]
        pairs = zip(here, near, strict=True)
        return [own or (None if one is None else self._led_back(one)) for own, one in pairs]

    def _at(self, varied: Variation, sign: int, order: Order | None, *, others: bool) -> _Near | None:
        """Effects beside a value, where corners stand in some order; None where they cannot be had."""
        for place in self._places:
            if order is not None and place.order == order and (place.others or not others):
                found = self._found(varied, sign, place)
                if found is not None:
                    return found
        solved = self._solved(varied, sign * BEYOND, order, others=others)
        if solved is None:
            return None
        self._places.append(solved)
        return self._found(varied, sign, solved)

    def _solved(self, varied: Variation, steps: float, order: Order | None, *, others: bool) -> _Place | None:
        """The detail solved beside a value; None where it cannot be."""
        try:
            centre = varied.beside(steps)
            if centre is None:
                return None
            result = self.solutions.result(centre.middle, counting=self.study.weighty, others=others)
            return _Place(varied, steps, order, others, self._study(result))
        except Bridge2dError:
            return None

    def _study(self, result: DetailResult) -> Study:
        return Study(result, Combination(self.study.combination.target, result), self.study.places)

    def _found(self, varied: Variation, sign: int, place: _Place) -> _Near | None:
        """Effects at a place; None where they cannot be had."""
        try:
            centre = varied.beside_along(place.varied, place.steps)
            side = None if centre is None else place.study.side(centre, sign)
            if centre is None or side is None:
                return None
            return _Near(varied, sign, place, place.study.outcome(side, centre.step))
        except (Bridge2dError, NoMotionError):
            return None

    def _led_back(self, one: _Near) -> Outcome | None:
        """Effects at the value from those at a value beside and further away."""
        for far in self._further(one.place):
            further = self._found(one.varied, one.sign, far)
            if further is not None:
                return _led_back(one.outcome, further.outcome)
        return None

    def _further(self, place: _Place) -> Iterator[_Place]:
        """The detail as far away again, on the meshes of a place moved, and where that does not help on fresh ones."""
        ways: tuple[Callable[[], _Place | None], ...] = (
            lambda: self._moved(place),
            lambda: self._solved(place.varied, 2 * place.steps, place.order, others=place.others),
        )
        for number, way in enumerate(ways):
            if len(place.further) <= number:
                place.further.append(way())
            far = place.further[number]
            if far is not None:
                yield far

    def _moved(self, place: _Place) -> _Place | None:
        """The detail as far away again, on the meshes of a place; None where these cannot follow."""
        varied, steps = place.varied, place.steps
        try:
            centre, further = varied.beside(steps), varied.beside(2 * steps)
            side = None if centre is None else place.study.side(centre, 1 if steps > 0 else -1)
            if further is None or side is None:
                return None
            displacements: list[FloatArray | None] = []
            for number, section in enumerate(side.sections):
                if number not in self.study.weighty and not place.others:
                    displacements.append(None)
                    continue
                form = place.study.form(number)
                velocity = form.mover.motion(section.moving) if section.moving else None
                still = np.zeros((corner_count(form.fields), 2))
                displacements.append(still if velocity is None else velocity * steps * varied.step)
            result = self.solutions.moved(place.study.result, further.middle, displacements)
            return _Place(varied, 2 * steps, place.order, place.others, self._study(result))
        except (Bridge2dError, NoMotionError):
            return None


@dataclass(frozen=True)
class _Place:
    """A detail solved beside the one that is looked at.

    Attributes:
        varied: the parameter that has another value there.
        steps: how far away that is.
        order: of its sections' corners; None where it says nothing.
        others: whether sections are looked at that only say something of their own factor.
        study: of it.
        further: the detail as far away again by each way that was tried; None where it cannot be had so.
    """

    varied: Variation
    steps: float
    order: Order | None
    others: bool
    study: Study
    further: list[_Place | None] = field(default_factory=list)


@dataclass(frozen=True)
class _Near:
    """What was found of a parameter at a place beside.

    Attributes:
        varied: the parameter.
        sign: 1 above its value, −1 below.
        place: where.
        outcome: of the detail there, on the side away from the value.
    """

    varied: Variation
    sign: int
    place: _Place
    outcome: Outcome


def order_beside(varied: Variation, sign: int) -> Order | None:
    """In which order the corners of a detail's sections stand beside a parameter's value.

    While it stays the same, corners may move, but no step opens or closes, nor does a piece come or go.

    Args:
        varied: the parameter.
        sign: 1 above, −1 below.

    Returns:
        None where edges run obliquely, so that it says nothing, or the detail cannot be built there.
    """
    detail = varied.at(sign * BEYOND)
    if detail is None:
        return None
    orders = [_order(section) for section in detail.sections]
    return None if any(one is None for one in orders) else tuple(orders)


def _order(section: Section) -> Order | None:
    edges = corners(section)
    if np.any(np.abs(edges.end - edges.start).min(axis=1) > ALIGNED):
        return None
    points = np.array([*edges.start, *(point for surface in section.surfaces for point in surface.edge)])
    ranks = []
    for along in points.T:
        order = np.argsort(along, kind="stable")
        steps = np.diff(along[order], prepend=along[order[0]]) > ALIGNED
        rank = np.empty(len(along), dtype=np.int64)
        rank[order] = np.cumsum(steps)
        ranks.append(rank.tobytes())
    return counts(section), *ranks


def _led_back(first: Outcome, second: Outcome) -> Outcome:
    """A side's effects at the value from those one and two distances away; half of the way back is doubted."""

    def led(one: Effect | None, other: Effect | None) -> Effect | None:
        if one is None or other is None:
            return None
        way = one.value - other.value
        return Effect(one.value + way, max(one.tolerance, other.tolerance) + 0.5 * abs(way))

    result = led(first.result, second.result)
    assert result is not None
    return Outcome(result, tuple(map(led, first.factors, second.factors)))


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
