"""What the screen, the report and the JSON say of the airtight layer."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from bridge2d import nomenclature as n
from bridge2d.detail import Point, Section
from bridge2d.results import AirtightChange, AirtightResult, DetailResult
from bridge2d.shown_units import IN_SI, DisplayUnits

NONE_DRAWN = (
    "no airtight layer: none was chosen, so nothing keeps room air from cold layers behind the lining, where it can "
    "condense; choose one, or show where it lies"
)
"""What is said of a junction without one."""
JOINING = {"tape", "tapes", "sealant", "gasket", "seal"}
"""Words in the name of a piece that is itself there to join two others."""


def airtight_json(found: AirtightResult | None) -> dict[str, Any] | None:
    """The airtight layer for JSON, lengths in millimetres; None where none is drawn.

    Args:
        found: the airtight layer of a section.
    """
    if found is None:
        return None
    return {
        "pieces": list(found.pieces),
        "unbroken": not found.breaks,
        "changes": [{"from": c.start, "to": c.end, "point": _millimetres(c.point)} for c in found.changes],
        "breaks": [{"piece": b.piece, "text": b.text, "point": _millimetres(b.point)} for b in found.breaks],
        "temperature": found.temperature,
        "tolerance": found.tolerance,
        "point": _millimetres(found.point),
        "dew_point": found.dew_point,
    }


def lacks_airtight_layer(result: DetailResult) -> bool:
    """Whether none of the building's sections has one; in a section that was drawn freely it is for who drew it.

    Args:
        result: all numbers of the detail.
    """
    detail = result.detail
    real = [one for one in result.sections if one.section.name not in detail.alone]
    return detail.junction != "free_section" and not any(one.section.airtight for one in real)


def bodies_of(section: Section) -> list[str]:
    """The bodies that carry the airtight layer on, such as a joist or a window's frame, each once.

    Args:
        section: with its airtight layer.
    """
    return list(dict.fromkeys(piece.name for piece in section.airtight if piece.through and piece.name))


def airtight_lines(found: AirtightResult, shown: DisplayUnits = IN_SI, bodies: Sequence[str] = ()) -> list[str]:
    """The airtight layer in sentences: course, changes of piece, breaks, bodies that carry it on, temperature.

    Args:
        found: the airtight layer of a section.
        shown: units of everything that is written.
        bodies: see `bodies_of`.
    """
    lines = [f"broken: {b.piece} at {place(b.point, shown)}: {shown.sentence(b.text)}" for b in found.breaks]
    if not found.breaks:
        course = ", ".join(found.pieces)
        lines.append(f"unbroken from cut plane to cut plane: {course}")
    lines.extend(_joints(found.changes, shown))
    if bodies:
        named, carries = ", ".join(bodies), "carry" if len(bodies) > 1 else "carries"
        lines.append(f"{named} {carries} the layer on as a body: cracks, joints, gaskets within are not followed here")
    coldest = shown.estimate(n.TEMPERATURE, found.temperature, found.tolerance)
    lines.append(f"lowest temperature along it {coldest} at {place(found.point, shown)}")
    if found.dew_point is not None:
        dew = shown.value(n.TEMPERATURE, found.dew_point)
        if found.temperature - found.tolerance > found.dew_point:
            lines.append(f"warmer than the dew point of the room air, {dew}")
        else:
            lines.append(
                f"colder than the dew point of the room air, {dew}: room air that reaches it, through a leak or a "
                "vapour-open layer, can condense there; moisture needs an assessment of its own"
            )
    return lines


def place(point: Point, shown: DisplayUnits = IN_SI) -> str:
    """A point as a person reads it.

    Args:
        point: coordinates [m].
        shown: units in which it is written.
    """
    return shown.place(point)


def _millimetres(point: Point) -> list[float]:
    return [round(1000 * coordinate, 1) for coordinate in point]


def _joints(changes: Sequence[AirtightChange], shown: DisplayUnits) -> Iterator[str]:
    """How each piece is joined to the next: by a tape, sealant or gasket that is drawn, or by one that is asked for."""
    left = list(changes)
    while left:
        one = left.pop(0)
        if left and left[0].start == one.end and JOINING.intersection(one.end.lower().split()):
            other = left.pop(0)
            ends = f"from {place(one.point, shown)} to {place(other.point, shown)}"
            yield f"{one.end}: joins {one.start} and {other.end}, {ends}"
        else:
            yield f"joint of {one.start} and {one.end} at {place(one.point, shown)}: tape, sealant or gasket"
