"""The report's table of contents, in columns, so that it has room at the foot of the first page."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from bridge2d.drawing.colours import ACCENT, GREY, RULE
from bridge2d.drawing.scene import Item, Text, line, runs
from bridge2d.report.layout import WIDTH, Whole
from bridge2d.report.text import shortened


@dataclass(frozen=True)
class Contents(Whole):
    """Titles with the pages on which they stand, in columns.

    Attributes:
        entries: number, title and page of each chapter; the pages are filled in when all blocks have flowed.
    """

    entries: tuple[tuple[str, str, str], ...]
    columns: ClassVar[int] = 3
    column: ClassVar[float] = 52.0
    """Width of a column [mm]."""
    pitch: ClassVar[float] = 4.3
    """Distance of the lines [mm]."""
    size: ClassVar[float] = 7.5
    """Type size [pt]."""
    indent: ClassVar[float] = 5.5
    """From the number to the title [mm]."""

    def with_pages(self, pages: Mapping[str, str]) -> Contents:
        """The same with the pages by title."""
        return Contents(tuple((number, title, pages.get(title, "")) for number, title, _ in self.entries))

    @property
    def _rows(self) -> int:
        return -(-len(self.entries) // self.columns)

    def _places(self, left: float, top: float) -> list[tuple[float, float]]:
        """Left end of each entry's line [mm]."""
        step = (WIDTH - self.column) / (self.columns - 1)
        places = (divmod(k, self._rows) for k in range(len(self.entries)))
        return [(left + step * column, top - self.pitch * row - 3.2) for column, row in places]

    def page_places(self, left: float, top: float) -> list[tuple[str, float, float]]:
        """Title of each entry, and where the end of its page number stands [mm]."""
        places = zip(self.entries, self._places(left, top), strict=True)
        return [(title, x + self.column, y) for (_, title, _), (x, y) in places]

    @property
    def height(self) -> float:
        """See `Block`."""
        return self.pitch * self._rows + 1.0

    def items(self, left: float, top: float) -> list[Item]:
        """See `Block`."""
        found: list[Item] = []
        for (number, title, page), (x, base) in zip(self.entries, self._places(left, top), strict=True):
            words = shortened(title, "regular", self.size, self.column - self.indent - 4.5)
            found += [
                Text(x, base, runs(number), self.size, colour=ACCENT),
                Text(x + self.indent, base, runs(words), self.size),
                Text(x + self.column, base, runs(page), self.size, "end", colour=GREY),
                line((x, base - 1.2), (x + self.column, base - 1.2), width=0.1, stroke=RULE),
            ]
        return found
