"""What the screen, the report and the JSON say of the airtight layer."""

from __future__ import annotations

from typing import Any

from bridge2d import nomenclature as n
from bridge2d.detail import Point
from bridge2d.results import AirtightResult


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


def airtight_lines(found: AirtightResult) -> list[str]:
    """The airtight layer in sentences: course, changes of piece, breaks, temperature.

    Args:
        found: the airtight layer of a section.
    """
    lines = [f"broken: {b.piece} at {place(b.point)}: {b.text}" for b in found.breaks]
    if not found.breaks:
        course = ", ".join(found.pieces)
        lines.append(f"unbroken from cut plane to cut plane: {course}")
    lines.extend(f"tape or sealant from {c.start} to {c.end} at {place(c.point)}" for c in found.changes)
    coldest = n.format_estimate(n.TEMPERATURE, found.temperature, found.tolerance)
    lines.append(f"lowest temperature along it {coldest} at {place(found.point)}")
    if found.dew_point is not None:
        dew = n.format_value(n.TEMPERATURE, found.dew_point)
        if found.temperature - found.tolerance > found.dew_point:
            lines.append(f"warmer than the dew point of the room air, {dew}")
        else:
            lines.append(
                f"colder than the dew point of the room air, {dew}: room air that reaches it, through a leak or a "
                "vapour-open layer, can condense there; moisture needs an assessment of its own"
            )
    return lines


def place(point: Point) -> str:
    """A point as a person reads it [mm].

    Args:
        point: coordinates [m].
    """
    x, y = _millimetres(point)
    return f"({x:g}, {y:g}) mm"


def _millimetres(point: Point) -> list[float]:
    return [round(1000 * coordinate, 1) for coordinate in point]
