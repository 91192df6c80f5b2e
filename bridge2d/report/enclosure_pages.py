"""The report's page on what travels inside the PDF."""

from __future__ import annotations

from collections.abc import Sequence

from bridge2d.drawing.scene import runs
from bridge2d.report.enclosures import PAGES, Enclosure
from bridge2d.report.layout import Block, Heading, paragraph
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
    rows = [(one.name, f"{len(one.data)}", one.digest) for one in enclosed]
    columns = [("file", 46), ("bytes", 16, "end"), ("SHA-256", 106)]
    head = Heading(runs("Files within this PDF"), level=2)
    return [head, table(columns, rows), paragraph(words, size=8.0)]  # a heading keeps its table on its page
