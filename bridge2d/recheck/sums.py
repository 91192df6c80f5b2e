"""The enclosed sums of a bound volume: records, and the numbers of them that are compared.

Part of the second step of a recheck. New sums go through the same records, so that both sides are read alike.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated

from pydantic import Field, FiniteFloat

from bridge2d import nomenclature as n
from bridge2d.recheck.records import RequirementRecord
from bridge2d.recheck.stated import Bracket, Line, Number, Record, ShownRecord, about, bracket, exact

MOST = 20_000
"""Rows of a list: junctions, lines, elements."""
SHARE = n.Quantity("share", "share", "share of the losses", "%", 1)
"""Share of a junction as the chart prints it."""


class LossRecord(Bracket):
    """ΣΨ·l + Σχ·n, and the part of it that is given [W/K]."""

    given: FiniteFloat


class LineRecord(Record):
    """A product: Ψ or χ, with its bounds where it is computed, and Ψ·l or χ·n [W/K]."""

    part: Line
    quantity: Line
    value: FiniteFloat
    lower: FiniteFloat | None = None
    upper: FiniteFloat | None = None
    loss: Bracket


class EntryRecord(Record):
    """A junction of the building."""

    ref: Line
    name: Line
    given: bool
    loss: Bracket
    share: FiniteFloat | None
    lines: Annotated[list[LineRecord], Field(max_length=MOST)]
    requirements: Annotated[list[RequirementRecord], Field(max_length=MOST)]


class GroupRecord(Record):
    """Sums of a group ([W/K], [W/(m²·K)])."""

    name: Line
    loss: Bracket
    elements_loss: FiniteFloat | None
    increase: Bracket | None


class ElementRecord(Record):
    """A plane element and its loss [W/K]."""

    name: Line
    loss: FiniteFloat


class GainRecord(Record):
    """What a better junction would save [W/K]."""

    ref: Line
    part: Line
    quantity: Line
    reference: FiniteFloat
    excess: FiniteFloat
    saving: FiniteFloat


class DetailRecord(Record):
    """A detail that the building uses."""

    file: Line
    title: Line
    input_hash: Line


class Sums(ShownRecord):
    """What the `results.json` of a volume holds of numbers that are compared."""

    title: Line
    project: Line
    revision: Line
    version: Line
    dimensions: Line
    input_hash: Line
    loss: LossRecord
    elements_loss: FiniteFloat | None
    increase: Bracket | None
    total: Bracket | None
    junctions: Annotated[list[EntryRecord], Field(min_length=1, max_length=MOST)]
    groups: Annotated[list[GroupRecord], Field(max_length=MOST)]
    elements: Annotated[list[ElementRecord], Field(max_length=MOST)]
    would_help_most: Annotated[list[GainRecord], Field(max_length=MOST)]
    details: Annotated[list[DetailRecord], Field(max_length=MOST)]

    @property
    def limits(self) -> list[RequirementRecord]:
        """The limits of all junctions, with the junction's reference in their names."""
        return [
            one.model_copy(update={"name": f"{entry.ref}: {one.name}"})
            for entry in self.junctions
            for one in entry.requirements
        ]


def sum_numbers(found: Sums) -> Iterator[Number]:
    """Every number of the schedule's pages that is computed.

    Args:
        found: the sums.
    """
    yield bracket("ΣΨ·l + Σχ·n", n.TRANSMISSION, found.loss)
    if any(entry.given for entry in found.junctions):
        yield exact("part of it that is given", n.TRANSMISSION, found.loss.given)
    if found.increase:
        yield bracket("ΔU of thermal bridges", n.MEAN_INCREASE, found.increase)
    if found.elements_loss is not None:
        yield exact("ΣU·A", n.TRANSMISSION, found.elements_loss)
    if found.total:
        yield bracket("elements and thermal bridges", n.TRANSMISSION, found.total)
    most = [sum(max(getattr(entry.loss, end), 0.0) for entry in found.junctions) for end in ("lower", "upper")]
    for entry in found.junctions:
        yield from _of_entry(entry, most)
    if len(found.groups) > 1:
        for group in found.groups:
            yield from _of_group(group)
    for element in found.elements:
        yield exact(f"U·A of {element.name}", n.TRANSMISSION, element.loss)._replace(bare=True)


def _of_entry(entry: EntryRecord, most: list[float]) -> Iterator[Number]:
    """A junction's losses, its share and its products."""
    yield _stated(f"loss of {entry.ref}", n.TRANSMISSION, entry.loss, given=entry.given)
    if entry.share is not None:
        ends = [100.0 * loss / max(whole, 1e-12) for loss in (entry.loss.lower, entry.loss.upper) for whole in most]
        yield about(f"share of {entry.ref}", SHARE, 100.0 * entry.share, min(ends), max(ends))
    for line in entry.lines:
        name = f"{entry.ref}, {line.part}" if line.part else entry.ref
        quantity = n.PSI if line.quantity == "psi" else n.CHI
        given = line.lower is None or line.upper is None
        lower, upper = (line.value if one is None else one for one in (line.lower, line.upper))
        number = Bracket(value=line.value, lower=lower, upper=upper)
        yield _stated(f"{quantity.symbol} of {name}", quantity, number, given=given)
        yield _stated(f"product of {name}", n.TRANSMISSION, line.loss, given=given)._replace(bare=True)


def _stated(name: str, quantity: n.Quantity, number: Bracket, *, given: bool) -> Number:
    return exact(name, quantity, number.value) if given else bracket(name, quantity, number)


def _of_group(group: GroupRecord) -> Iterator[Number]:
    name = f"group {group.name}".strip()
    yield bracket(f"ΣΨ·l + Σχ·n of {name}", n.TRANSMISSION, group.loss)._replace(bare=True)
    if group.elements_loss is not None:
        yield exact(f"ΣU·A of {name}", n.TRANSMISSION, group.elements_loss)._replace(bare=True)
    if group.increase:
        yield bracket(f"ΔU of {name}", n.MEAN_INCREASE, group.increase)._replace(bare=True)


def gain_numbers(found: Sums) -> Iterator[Number]:
    """What better junctions would save; a gain whose reference is another is another number.

    Args:
        found: the sums.
    """
    lines = {(entry.ref, line.part, line.quantity): line for entry in found.junctions for line in entry.lines}
    for gain in found.would_help_most:
        line = lines.get((gain.ref, gain.part, gain.quantity))
        if line is None:
            continue
        quantity = n.PSI if gain.quantity == "psi" else n.CHI
        name = f"{quantity.symbol} of {gain.ref}, {gain.part} above {gain.reference:g}".replace(",  ", " ")
        half = 0.0 if line.lower is None or line.upper is None else 0.5 * (line.upper - line.lower)
        off = 0.5 * (line.loss.upper - line.loss.lower)
        excess, saving = gain.excess, gain.saving
        yield about(f"excess of {name}", quantity, excess, excess - half, excess + half)._replace(bare=True)
        yield about(f"saving by {name}", n.TRANSMISSION, saving, saving - off, saving + off)._replace(bare=True)
