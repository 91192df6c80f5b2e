"""What can be refused of a section before anything is solved; the reader of detail files calls it."""

from __future__ import annotations

import numpy as np

from bridge2d.detail import Section
from bridge2d.errors import SectionError
from bridge2d.flanking import OFFSET, flanking_result, regions_at
from bridge2d.partition import VOID, partition, place, whole


def check_section(section: Section) -> None:
    """Refuse a section that cannot be computed.

    Args:
        section: the section.

    Raises:
        SectionError: the regions do not form one piece, a surface does not lie on the outline, a flanking element's
            cut plane does not cross plane layers, or a probe lies outside.
    """
    partition(section)
    for number in range(len(section.flanking)):
        flanking_result(section, number)
    check_probes(section)


def check_probes(section: Section) -> None:
    """Refuse a probe outside the section.

    Args:
        section: the section.

    Raises:
        SectionError: a probe lies outside.
    """
    around = np.array([[1.0, 1.0], [1.0, -1.0], [-1.0, 1.0], [-1.0, -1.0]]) * OFFSET
    for number, probe in enumerate(section.probes):
        point = whole((probe.point,))[0]
        if (regions_at(section, point + around) == VOID).all():
            raise SectionError(
                f"the probe {probe.name!r} at {place(point)} lies outside the section; give a point in or on it",
                ("probe", number),
            )
