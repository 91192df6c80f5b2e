"""The contents of a volume that binds several reports; long ones go on over pages."""

from __future__ import annotations

from typing import NamedTuple

from bridge2d.drawing.colours import ACCENT, GREY, RULE
from bridge2d.drawing.scene import Item, Text, line, runs
from bridge2d.report.layout import BODY, WIDTH, Block
from bridge2d.report.text import shortened

STEP = 5.4
"""Height of a line [mm]."""
INDENT = 13.0


class VolumeEntry(NamedTuple):
    """A chapter or report: its number, title, and page in the volume, counted from 0."""

    number: str
    title: str
    page: int


class VolumeContents(NamedTuple):
    """Titles with the pages on which they stand in the volume."""

    entries: tuple[VolumeEntry, ...]
    after: float = 2.0

    @property
    def height(self) -> float:
        """See `Block`."""
        return STEP * len(self.entries) + self.after

    def items(self, left: float, top: float) -> list[Item]:
        """See `Block`."""
        found: list[Item] = []
        for k, (number, title, page) in enumerate(self.entries):
            base = top - STEP * k - 3.8
            found += [
                Text(left, base, runs(number), BODY, colour=ACCENT),
                Text(left + INDENT, base, runs(shortened(title, "regular", BODY, WIDTH - INDENT - 14.0)), BODY),
                Text(left + WIDTH, base, runs(str(page + 1)), BODY, "end", colour=GREY),
                line((left, base - 1.6), (left + WIDTH, base - 1.6), width=0.1, stroke=RULE),
            ]
        return found

    def places(self, left: float, top: float) -> list[tuple[float, float, int]]:
        """Right end of each line [mm], and the page that it tells."""
        return [(left + WIDTH, top - STEP * k - 3.8, entry.page) for k, entry in enumerate(self.entries)]

    def split(self, room: float) -> tuple[Block, Block] | None:
        """See `Block`; never a line alone."""
        fitting = min(int(room / STEP), len(self.entries) - 2)
        if fitting < 2:
            return None
        return VolumeContents(self.entries[:fitting], 0.0), self._replace(entries=self.entries[fitting:])
