"""What can be refused of a section before anything is solved; the reader of detail files calls it."""

from __future__ import annotations

import itertools

import numpy as np
from numpy.typing import NDArray

from bridge2d.detail import Section
from bridge2d.errors import SectionError
from bridge2d.flanking import OFFSET, flanking_result, regions_at
from bridge2d.partition import VOID, Whole, partition, place, whole

OUTSIDE = 1000.0
"""How far outside the section the airtight layer may be drawn [µm]."""


def check_section(section: Section) -> None:
    """Refuse a section that cannot be computed.

    Args:
        section: the section.

    Raises:
        SectionError: the regions do not form one piece, a surface does not lie on the outline, a flanking element's
            cut plane does not cross plane layers, or a probe lies outside.
    """
    check_revolution(section)
    partition(section)
    for number in range(len(section.flanking)):
        flanking_result(section, number)
    check_probes(section)
    check_airtight(section)


def check_revolution(section: Section) -> None:
    """Refuse what a solid of revolution cannot have.

    Args:
        section: the section.

    Raises:
        SectionError: a region or surface lies beyond the axis, a surface lies on it, or a region is a frame's cavity.
    """
    if not section.revolution:
        return
    for number, region in enumerate(section.regions):
        if any(x < 0 for ring in (region.polygon, *region.holes) for x, _ in ring):
            raise SectionError(
                f"{region.name!r} reaches beyond the axis of revolution; x is the radius, give x ≥ 0",
                ("region", number),
            )
        if region.cavity is not None:
            raise SectionError(
                f"{region.name!r} is a cavity of a frame, whose rule is for long straight ones; in a solid of "
                "revolution give it a material or a conductivity",
                ("region", number),
            )
    for number, surface in enumerate(section.surfaces):
        on_axis = [x <= 0 for x, _ in surface.edge]
        if any(a and b for a, b in itertools.pairwise(on_axis)) or any(x < 0 for x, _ in surface.edge):
            raise SectionError(
                f"an edge of {surface.environment!r} lies on or beyond the axis of revolution, x = 0, where there is "
                "no surface; give x > 0",
                ("surface", number),
            )


def check_probes(section: Section) -> None:
    """Refuse a probe outside the section.

    Args:
        section: the section.

    Raises:
        SectionError: a probe lies outside.
    """
    around = np.array([[1.0, 1.0], [1.0, -1.0], [-1.0, 1.0], [-1.0, -1.0]]) * OFFSET
    points = whole(tuple(probe.point for probe in section.probes))
    for number in np.flatnonzero(_outside(section, points, around)).tolist():
        raise SectionError(
            f"the probe {section.probes[number].name!r} at {place(points[number])} lies outside the section; give a "
            "point in or on it",
            ("probe", number),
        )


def _outside(section: Section, points: Whole, around: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Which of some points lie outside the section with all that is around them.

    Args:
        section: the section.
        points: shape (k, 2) [µm].
        around: steps from a point, shape (m, 2) [µm].

    Returns:
        shape (k,).
    """
    if not len(points):
        return np.zeros(0, dtype=bool)
    places = (points[:, None] + around).reshape(-1, 2)
    return np.asarray((regions_at(section, places) == VOID).reshape(len(points), -1).all(axis=1))


def check_airtight(section: Section) -> None:
    """Refuse an airtight layer that lies outside the section.

    Args:
        section: the section.

    Raises:
        SectionError: an end or corner of a piece lies more than a millimetre outside.
    """
    corners = np.array([[1.0, 1.0], [1.0, -1.0], [-1.0, 1.0], [-1.0, -1.0]])
    # Bodies thinner than the slack are found by the nearer points.
    around = np.concatenate([corners * OFFSET, corners * OUTSIDE])
    for number, piece in enumerate(section.airtight):
        points = whole(piece.line)
        for point in points[_outside(section, points, around)]:
            raise SectionError(
                f"the piece {piece.name!r} of the airtight layer lies outside the section at {place(point)}; "
                "give its line in or on the section",
                ("airtight", number),
            )
