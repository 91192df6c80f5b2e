"""Tables of the report: rows under thin rules that break over pages with their heading."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from typing import Any, NamedTuple

from bridge2d.drawing.colours import ACCENT, GREY, INK, RULE
from bridge2d.drawing.fonts import MILLIMETRES_PER_POINT
from bridge2d.drawing.scene import Item, Run, Text, line
from bridge2d.report.layout import SMALL, WIDTH, Block
from bridge2d.report.text import Words, as_runs, wrapped

WHOLE = 90.0
"""A table lower than this is not divided [mm]."""


Cells = tuple[tuple[tuple[Run, ...], ...], ...]
"""Lines of each cell of a row."""


@lru_cache(maxsize=2048)
def _lines(cells: tuple[tuple[Run, ...], ...], widths: tuple[float, ...], size: float, style: str) -> Cells:
    """Lines of a row's cells in columns of some widths [mm]; a style takes the place of the regular one."""
    found = []
    for cell, width in zip(cells, widths, strict=True):
        words = tuple(r._replace(style=style) if style and r.style == "regular" else r for r in cell)
        found.append(wrapped(words, size, width - 2.6))
    return tuple(found)


class Column(NamedTuple):
    """A column of a table: heading, share of the width, "start", "middle" or "end"."""

    heading: tuple[Run, ...]
    share: float
    anchor: str = "start"


@dataclass(frozen=True)
class Table:
    """Rows under thin rules; the heading comes again on every page.

    Attributes:
        columns: from left to right.
        rows: cells of each row.
        heavy: numbers of the rows that are set bold, with a rule above.
        width: [mm].
        size: type size [pt].
        after: space below [mm].
        pad: space around the lines of a row, above and below together [mm].
    """

    columns: tuple[Column, ...]
    rows: tuple[tuple[tuple[Run, ...], ...], ...]
    heavy: frozenset[int] = frozenset()
    width: float = WIDTH
    size: float = SMALL
    after: float = 4.0
    pad: float = 1.7

    @property
    def _leading(self) -> float:
        return self.size * 1.34 * MILLIMETRES_PER_POINT

    @cached_property
    def _widths(self) -> tuple[float, ...]:
        total = sum(column.share for column in self.columns)
        return tuple(self.width * column.share / total for column in self.columns)

    def _cells(self, cells: tuple[tuple[Run, ...], ...], style: str = "") -> Cells:
        return _lines(cells, self._widths, self.size, style)

    def _row_height(self, cells: Cells) -> float:
        return self._leading * max(len(lines) for lines in cells) + self.pad

    @cached_property
    def _head(self) -> Cells:
        return self._cells(tuple(column.heading for column in self.columns))

    @cached_property
    def _body(self) -> tuple[Cells, ...]:
        return tuple(self._cells(row, "bold" if k in self.heavy else "") for k, row in enumerate(self.rows))

    @cached_property
    def _heights(self) -> tuple[float, ...]:
        return tuple(map(self._row_height, self._body))

    @property
    def height(self) -> float:
        """See `Block`."""
        return self._row_height(self._head) + sum(self._heights) + self.after

    @property
    def least(self) -> float:
        """How much of it has to stand together [mm]."""
        heights = self._heights
        head = self._row_height(self._head)
        whole = head + sum(heights) + self.after
        return whole if whole < WHOLE or len(self.rows) < 2 else head + sum(heights[: self._apart])

    @property
    def _apart(self) -> int:
        """How many rows stand on either side at least where it is divided: one of few high ones, else two."""
        return 2 if len(self.rows) >= 4 else 1

    def items(self, left: float, top: float) -> list[Item]:
        """See `Block`."""
        found: list[Item] = []
        head = self._head
        height = self._row_height(head)
        found += self._row_items(head, left, top, GREY)
        top -= height
        found.append(line((left, top), (left + self.width, top), width=0.3, stroke=ACCENT))
        for k, cells in enumerate(self._body):
            if k in self.heavy and k:
                found.append(line((left, top), (left + self.width, top), width=0.22, stroke=INK))
            height = self._row_height(cells)
            found += self._row_items(cells, left, top, INK)
            top -= height
            found.append(line((left, top), (left + self.width, top), width=0.1, stroke=RULE))
        return found

    def _row_items(self, cells: Cells, left: float, top: float, colour: str) -> list[Item]:
        found: list[Item] = []
        for lines, width, column in zip(cells, self._widths, self.columns, strict=True):
            x = left + {"start": 0.0, "middle": 0.5 * width, "end": width - 2.6}[column.anchor]
            base = top - 0.5 * self.pad - 0.5 * self._leading - 0.34 * self.size * MILLIMETRES_PER_POINT
            found += [
                Text(x, base - k * self._leading, words, self.size, column.anchor, colour=colour)
                for k, words in enumerate(lines)
                if words
            ]
            left += width
        return found

    def split(self, room: float) -> tuple[Block, Block] | None:
        """See `Block`; between rows, and a low table never."""
        if self.height < WHOLE:
            return None
        used = self._row_height(self._head)
        fitting = 0
        for height in self._heights:
            if used + height > room:
                break
            used += height
            fitting += 1
        fitting = min(fitting, len(self.rows) - self._apart)
        if fitting < self._apart:
            return None
        first = replace(self, rows=self.rows[:fitting], heavy=frozenset(k for k in self.heavy if k < fitting), after=0)
        rest = frozenset(k - fitting for k in self.heavy if k >= fitting)
        return first, replace(self, rows=self.rows[fitting:], heavy=rest)


def table(
    columns: Sequence[Sequence[Any]],
    rows: Iterable[Sequence[Words]],
    *,
    heavy: Iterable[int] = (),
    width: float = WIDTH,
) -> Table:
    """A table from headings with shares of the width, and cells."""
    head = tuple(Column(as_runs(c[0]), c[1], c[2] if len(c) > 2 else "start") for c in columns)
    return Table(head, tuple(tuple(as_runs(cell) for cell in row) for row in rows), frozenset(heavy), width)
