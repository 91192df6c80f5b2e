"""ΣΨ·l + Σχ·n of a building with its bracket, by junction and by group, and what would help most.

Step details computed -> **sums** -> documents. Brackets add: the sum of lower bounds is a lower bound of the sum. Plain
values have no bracket; they enter as they are given.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from bridge2d import __version__
from bridge2d.building.records import (
    Building,
    DetailNumbers,
    Entry,
    Gain,
    Group,
    Junction,
    Line,
    ScheduleResult,
    Verdict,
)
from bridge2d.detail import Requirement
from bridge2d.requirements import judge
from bridge2d.results import Bounded, TemperatureFactor
from bridge2d.standards import din_4108_beiblatt_2, iso_13789


def summed(building: Building, details: Sequence[DetailNumbers]) -> ScheduleResult:
    """All sums of a building.

    Args:
        building: its junctions and elements.
        details: the numbers of its details, in the order of `building.variants`.
    """
    lines = tuple(
        line
        for number, junction in enumerate(building.junctions)
        for line in _lines(number, junction, building, details)
    )
    loss = transmission(lines)
    area = sum(element.area for element in building.elements)
    elements = _elements(building, None) if building.elements else None
    entries = tuple(_entries(building, details, lines))
    return ScheduleResult(
        building=building,
        details=tuple(details),
        lines=lines,
        entries=entries,
        groups=tuple(_groups(building, lines)),
        loss=loss,
        given=transmission(line for line in lines if line.given).value,
        elements=elements,
        area=area,
        increase=_increase(loss, area),
        total=loss.plus(elements) if elements is not None else None,
        gains=_gains(lines, entries, building.dimensions),
        version=__version__,
    )


def transmission(lines: Iterable[Line]) -> Bounded:
    """ΣΨ·l + Σχ·n with its bracket [W/K].

    Args:
        lines: the products.
    """
    found = list(lines)
    ends = []
    for end in ("lower", "upper"):
        edges = [(getattr(line.value, end), line.amount) for line in found if line.quantity == "psi"]
        points = [(getattr(line.value, end), line.amount) for line in found if line.quantity == "chi"]
        ends.append(iso_13789.direct_transmission((), edges, points))
    return Bounded(*ends)


def _increase(loss: Bounded, area: float) -> Bounded | None:
    if area <= 0:
        return None
    return Bounded(*(din_4108_beiblatt_2.mean_increase(end, area) for end in (loss.lower, loss.upper)))


def _elements(building: Building, group: str | None) -> float:
    """ΣU·A of a group, or of all [W/K]."""
    chosen = [(e.u_value, e.area) for e in building.elements if group is None or e.group == group]
    return iso_13789.direct_transmission(chosen, (), ())


# -- products ----------------------------------------------------------------------------------------------------------


def _lines(number: int, junction: Junction, building: Building, details: Sequence[DetailNumbers]) -> tuple[Line, ...]:
    """The products of one entry: one, or one per side of a window, or Ψ of the edge and χ of the pieces."""

    def line(part: str, quantity: str, value: Bounded, amount: float, source: str = "") -> Line:
        given = junction.variant is None
        return Line(number, junction.ref, name, junction.group, part, quantity, value, given, amount, source)

    name = named(junction, details)
    if junction.psi is not None:
        return (line("", "psi", _plain(junction.psi), junction.length or 0.0, junction.source),)
    if junction.chi is not None:
        return (line("", "chi", _plain(junction.chi), junction.number or 0, junction.source),)
    detail, file = details[junction.variant or 0], building.variants[junction.variant or 0].path.name
    if junction.lengths:
        psi = {side.name: side.psi for side in detail.sides}
        return tuple(line(side, "psi", psi[side], length, file) for side, length in junction.lengths.items())
    if junction.number is not None and detail.sides:
        return tuple(line(s.name, "psi", s.psi, round(s.length * junction.number, 9), file) for s in detail.sides)
    found = []
    if junction.length is not None:
        psi_value, part = detail.psi[building.dimensions], "mean of the sides" if detail.sides else ""
        repeated = detail.repeated.get(building.dimensions)
        if junction.number is not None and repeated is not None:
            # the pieces are counted one by one; the very χ/s that was added is taken off again
            psi_value = Bounded(psi_value.lower - repeated.lower, psi_value.upper - repeated.upper)
            part = "edge without the pieces"
        elif repeated is not None:
            part = "with χ/s"
        found.append(line(part, "psi", psi_value, junction.length, file))
    if junction.number is not None and detail.chi is not None:
        found.append(line("pieces", "chi", detail.chi, junction.number, file))
    return tuple(found)


def named(junction: Junction, details: Sequence[DetailNumbers]) -> str:
    """What a junction is called: its own name, or its detail's title.

    Args:
        junction: the entry.
        details: the numbers of the building's details.
    """
    return junction.name or (details[junction.variant].title if junction.variant is not None else junction.ref)


def _plain(value: float) -> Bounded:
    return Bounded(value, value)


# -- junctions ---------------------------------------------------------------------------------------------------------


def _entries(building: Building, details: Sequence[DetailNumbers], lines: Sequence[Line]) -> Iterable[Entry]:
    losses = [transmission(one for one in lines if one.entry == k) for k in range(len(building.junctions))]
    positive = sum(loss.value for loss in losses if loss.value > 0)
    for junction, loss in zip(building.junctions, losses, strict=True):
        detail = details[junction.variant] if junction.variant is not None else None
        factor = (junction.f_rsi, 0.0) if junction.f_rsi is not None else None
        yield Entry(
            replace(junction, name=named(junction, details)),
            loss,
            loss.value / positive if positive > 0 else None,
            detail is None,
            detail.verdicts if detail else plain_verdicts(junction, building.requirements),
            detail.f_rsi if detail else factor,
            detail.climate if detail else (),
        )


def plain_verdicts(junction: Junction, requirements: Sequence[Requirement]) -> tuple[Verdict, ...]:
    """Whether a plain value keeps the building's limits; what its source does not tell stays open.

    Args:
        junction: with a plain Ψ or χ, and perhaps a temperature factor.
        requirements: of the building.
    """
    found = []
    for one in requirements:
        if one.quantity == "f_rsi":
            if junction.f_rsi is None:
                found.append(Verdict(one, None, met=False, certain=False))
                continue
            number: Bounded | TemperatureFactor = _plain(junction.f_rsi)
        else:
            value = junction.psi if one.quantity == "psi" else junction.chi
            if value is None:
                continue  # a Ψ has no χ to be limited
            number = _plain(value)
        judged = judge(one, number)
        found.append(Verdict(one, judged.value, judged.met, judged.certain))
    return tuple(found)


# -- groups ------------------------------------------------------------------------------------------------------------


def _groups(building: Building, lines: Sequence[Line]) -> Iterable[Group]:
    names = dict.fromkeys([*(j.group for j in building.junctions), *(e.group for e in building.elements)])
    for name in names:
        loss = transmission(line for line in lines if line.group == name)
        area = sum(element.area for element in building.elements if element.group == name)
        yield Group(name, loss, _elements(building, name), area, _increase(loss, area))


# -- what would help ---------------------------------------------------------------------------------------------------


def _gains(lines: Sequence[Line], entries: Sequence[Entry], dimensions: str) -> tuple[Gain, ...]:
    """What would help: by length, then by piece; above a limit first; the most per metre or piece first."""
    found = []
    for line in lines:
        limit = strictest(entries[line.entry].verdicts, line.quantity, dimensions)
        above = limit is not None and line.value.value > limit
        reference = limit if above and limit is not None else 0.0
        excess = line.value.value - reference
        if excess > 0:
            found.append(Gain(line.entry, line, reference, above, excess, excess * line.amount))
    found.sort(key=lambda gain: (gain.line.quantity != "psi", not gain.limited, -gain.excess, -gain.saving, gain.entry))
    return tuple(found)


def strictest(verdicts: Iterable[Verdict], quantity: str, dimensions: str) -> float | None:
    """The lowest limit of a quantity [W/(m·K) or W/K]; None where it has none.

    Args:
        verdicts: of a junction.
        quantity: "psi" or "chi".
        dimensions: of the building; a limit of another system says nothing here.
    """
    asked = [verdict.requirement for verdict in verdicts if verdict.requirement.quantity == quantity]
    return min((one.limit for one in asked if one.dimensions in ("", dimensions)), default=None)
