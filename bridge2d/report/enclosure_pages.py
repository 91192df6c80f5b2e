"""What the pages say of the files that travel inside the PDF."""

from __future__ import annotations

from collections.abc import Sequence

from bridge2d.drawing.scene import runs
from bridge2d.report.enclosures import PAGES, Enclosure
from bridge2d.report.layout import Block, Heading, Space, paragraph
from bridge2d.report.tables import table


def enclosed_files(enclosed: Sequence[Enclosure]) -> list[Block]:
    """Which files are attached, how large they are, and their fingerprints.

    Args:
        enclosed: the files.
    """
    named = [f"{one.name} ({one.what})" for one in enclosed]
    words = (
        f"This PDF carries what it was made from. Attached to it are {', '.join(named[:-1])} and {named[-1]}; a PDF "
        "viewer lists and saves them. “bridge2d recheck FILE.pdf” takes them out, computes everything again on other "
        f"meshes, and compares every number and every page. A further file, {PAGES}, repeats the words of the pages, "
        "so that an altered page is found."
    )
    return [*_listed(enclosed), paragraph(words, size=8.0)]


def building_files(enclosed: Sequence[Enclosure], fingerprint: str) -> list[Block]:
    """Which files of the building are attached to its volume, and how those of the reports are told from them.

    Args:
        enclosed: the files of the building.
        fingerprint: SHA-256 of the building file and of the input of every detail.
    """
    words = (
        "This PDF carries what it was made from. The number before a name tells the part: 0 is the building, and the "
        "files of the reports have their numbers, in the order in which the reports are bound. Their sizes and SHA-256 "
        "stand at the end of each report, without that number. “bridge2d recheck FILE.pdf” takes all of them out, "
        "computes every detail again on other meshes, sums up anew, and compares every number and every page. The "
        f"fingerprint of the building file and of all inputs together is {fingerprint}."
    )
    return [Space(6.0), *_listed(enclosed), paragraph(words, size=8.0)]


def _listed(enclosed: Sequence[Enclosure]) -> list[Block]:
    """Files with sizes and fingerprints."""
    rows = [(one.name, f"{len(one.data)}", one.digest) for one in enclosed]
    columns = [("file", 46), ("bytes", 16, "end"), ("SHA-256", 106)]
    return [Heading(runs("Files within this PDF"), level=2), table(columns, rows)]  # a heading keeps its table
