"""How the sections' numbers make the result that is looked at.

Ψ, χ and U are linear in every section's L2D. The factors are read off `combined` itself, which makes the detail's
numbers in any case, so that whatever it adds or takes off is followed. What an input does to U·l, to lengths and to
spacings comes from the same function with L2D held, by the closed formulas of the standards on both sides of the value.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from bridge2d.calculate import combined
from bridge2d.errors import SectionError
from bridge2d.flanking import flanking_result
from bridge2d.results import Bounded
from bridge2d.sensitivity_records import Effect

if TYPE_CHECKING:
    from bridge2d.detail import Detail, Section
    from bridge2d.results import DetailResult, FlankingResult, SectionResult


@dataclass(frozen=True)
class Target:
    """A result that is looked at.

    Attributes:
        quantity: "psi", "chi", "u_value" or "l2d".
        dimensions: dimension system of a Ψ; else empty.
        section: of an L2D; else empty.
    """

    quantity: str
    dimensions: str = ""
    section: str = ""

    def of(self, result: DetailResult) -> Bounded | None:
        """The result with its bracket; None where the detail has none.

        Args:
            result: all numbers of the detail.
        """
        if self.quantity == "psi":
            return next((one.value for one in result.psi if one.dimensions == self.dimensions), None)
        if self.quantity == "chi":
            return result.chi.value if result.chi else None
        if self.quantity == "u_value":
            return result.u_section.u_value if result.u_section else None
        return next((one.l2d for one in result.sections if one.section.name == self.section), None)


def target_of(result: DetailResult) -> Target | None:
    """What is looked at: the Ψ of the first limit on one, else the first Ψ, χ, U, or the first L2D; None without any.

    Args:
        result: all numbers of the detail.
    """
    limited = [one.dimensions for one in result.detail.requirements if one.quantity == "psi"]
    systems = [psi.dimensions for psi in result.psi]
    if systems:
        return Target("psi", next((one for one in limited if one in systems), systems[0]))
    if result.chi is not None:
        return Target("chi")
    if result.u_section is not None:
        return Target("u_value")
    names = [one.section.name for one in result.sections if one.l2d is not None]
    return Target("l2d", section=names[0]) if names else None


class Combination:
    """The target as a function of the sections' numbers."""

    def __init__(self, target: Target, result: DetailResult) -> None:
        """Find how much of every section's L2D is in it.

        Args:
            target: what is looked at.
            result: all numbers of the detail.
        """
        self.target, self.sections = target, result.sections
        self.detail = replace(result.detail, climate=None, requirements=())
        self._known: dict[int, tuple[Detail, tuple[float, ...]]] = {}
        self.value = self._value(self.detail, self.sections)
        self.weights = tuple(self._weight(k) for k in range(len(self.sections)))

    def _value(self, detail: Detail, sections: tuple[SectionResult, ...]) -> float:
        found = self.target.of(combined(detail, sections, 0.0, ""))
        assert found is not None
        return found.value

    def _weight(self, number: int) -> float:
        one = self.sections[number]
        if one.l2d is None:
            return 0.0
        size = max(abs(one.l2d.value), 1e-6)  # the target is linear in it, so that the step's size does not count
        others = list(self.sections)
        others[number] = replace(one, l2d=one.l2d.plus(size))
        weight = (self._value(self.detail, tuple(others)) - self.value) / size
        return 0.0 if abs(weight) < 1e-9 else weight

    def slope(self, details: Sequence[Detail], step: float) -> Effect:
        """How the target changes per unit of a parameter, every section's L2D being held within its bracket.

        Args:
            details: three at equal steps of the parameter; the slope is that at the first.
            step: by how much it differs, below 0 on the lower side.

        Raises:
            SectionError: a flanking element cannot be read, or sections come or go.
        """
        columns = zip(*(self._values(one) for one in details), strict=True)
        slopes = [(2.0 * b - 1.5 * a - 0.5 * c) / step for a, b, c in columns]
        return Effect(slopes[0], sum(abs(one - slopes[0]) for one in slopes[1:]))

    def _values(self, detail: Detail) -> tuple[float, ...]:
        """The target with the L2D of the solution, then with that of each section at the end of its bracket."""
        known = self._known.get(id(detail))
        if known is not None:
            return known[1]
        held = self._held(detail)
        detail_held = replace(detail, climate=None, requirements=(), sections=tuple(one.section for one in held))
        values = [self._value(detail_held, held)]
        for number, one in enumerate(held):
            if one.l2d is not None and self.weights[number]:
                other = replace(one, l2d=one.l2d.plus(one.l2d.half_width))
                values.append(self._value(detail_held, (*held[:number], other, *held[number + 1 :])))
        self._known[id(detail)] = detail, tuple(values)
        return tuple(values)

    def _held(self, detail: Detail) -> tuple[SectionResult, ...]:
        """Flanking elements, lengths and spacings of a detail, with the L2D of the solution."""
        if len(detail.sections) != len(self.sections):
            raise SectionError("comes or goes")
        return tuple(
            replace(old, section=new, flanking=_flanking(old, new))
            for old, new in zip(self.sections, detail.sections, strict=True)
        )


def _flanking(old: SectionResult, new: Section) -> tuple[FlankingResult, ...]:
    """Flanking elements of a section, which are those of another one unless what they are read from differs."""
    known = old.section
    if (known.regions, known.surfaces, known.flanking) == (new.regions, new.surfaces, new.flanking):
        return old.flanking
    return tuple(flanking_result(new, k, uniform=0.0) for k in range(len(new.flanking)))  # only U counts here
