"""Paragraphs, tables and figures, and how they flow over pages.

Everything ends as a scene in paper millimetres, measured with the embedded fonts, so nothing can leave its box.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import NamedTuple, Protocol

from bridge2d.drawing.colours import ACCENT, GREY, INK, RULE
from bridge2d.drawing.fonts import ASCENT, MILLIMETRES_PER_POINT, text_width
from bridge2d.drawing.scene import SUBSCRIPT_SIZE, Item, Placed, Run, Scene, Text, line, rectangle, runs, runs_width

Words = str | Run | Sequence[Run]
PAGE_WIDTH, PAGE_HEIGHT = 210.0, 297.0
LEFT, RIGHT, TOP, BOTTOM = 24.0, 18.0, 27.0, 21.0
WIDTH = PAGE_WIDTH - LEFT - RIGHT
MEASURE = 138.0
"""Width of running text [mm]; a line stays short enough to be read."""
BODY = 9.0
WHOLE = 90.0
"""A table lower than this is not divided [mm]."""
SMALL = 8.0


class Block(Protocol):
    """Something that takes a piece of the page's height."""

    @property
    def height(self) -> float:
        """How much it takes [mm]."""

    def items(self, left: float, top: float) -> list[Item]:
        """What it looks like with its upper left corner at a place [mm]."""

    def split(self, room: float) -> tuple[Block, Block] | None:
        """A part that fits into some room [mm] and the rest; None where it stays whole."""


# -- text ----------------------------------------------------------------------------------------------------------


def as_runs(words: Words) -> tuple[Run, ...]:
    """Plain text or runs as runs."""
    return runs(words)


@lru_cache(maxsize=4096)
def wrapped(words: tuple[Run, ...], size: float, width: float) -> tuple[tuple[Run, ...], ...]:
    """Lines of text no wider than a width; words that are wider are divided.

    Args:
        words: the text; a no-break space does not break.
        size: type size [pt].
        width: of the lines [mm].
    """
    lines: list[list[Run]] = [[]]
    filled = 0.0
    for word in _words(words):
        spaces = word[0].text == " " and len(word) == 1
        needed = runs_width(word, size)
        if filled + needed <= width + 1e-6:
            if not (spaces and not lines[-1]):
                lines[-1].extend(word)
                filled += needed
            continue
        if spaces:
            lines.append([])
            filled = 0.0
            continue
        if lines[-1]:
            lines.append([])
        filled = 0.0
        for run in word if needed <= width else _divided(word, size, width):
            part = text_width(run.text, run.style, size * (SUBSCRIPT_SIZE if run.subscript else 1.0))
            if filled + part > width + 1e-6 and lines[-1]:
                lines.append([])
                filled = 0.0
            lines[-1].append(run)
            filled += part
    return tuple(_joined(found) for found in lines if found) or ((),)


def _words(words: tuple[Run, ...]) -> Iterable[list[Run]]:
    """Pieces between which a line may break; a blank is a piece of its own."""
    open_word: list[Run] = []
    for run in words:
        for part in re.findall(r"[ \n\t]+|[^ \n\t]+", run.text):
            if part[0] in " \n\t":
                if open_word:
                    yield open_word
                    open_word = []
                yield [run._replace(text=" ")]
            else:
                open_word.append(run._replace(text=part))
    if open_word:
        yield open_word


def _divided(word: list[Run], size: float, width: float) -> list[Run]:
    """A word too long for a line, in pieces that fit."""
    found = []
    for run in word:
        scale = size * (SUBSCRIPT_SIZE if run.subscript else 1.0)
        piece = ""
        for sign in run.text:
            if piece and text_width(piece + sign, run.style, scale) > width:
                found.append(run._replace(text=piece))
                piece = ""
            piece += sign
        found.append(run._replace(text=piece))
    return found


def _joined(pieces: list[Run]) -> tuple[Run, ...]:
    """Neighbouring runs of one kind as one, without blanks at the line's end."""
    found: list[Run] = []
    for run in pieces:
        if found and found[-1][1:] == run[1:]:
            found[-1] = run._replace(text=found[-1].text + run.text)
        else:
            found.append(run)
    if found:
        found[-1] = found[-1]._replace(text=found[-1].text.rstrip(" "))
    return tuple(run for run in found if run.text)


def shortened(words: str, style: str, size: float, width: float) -> str:
    """A text cut to a width [mm], with an ellipsis where something is missing."""
    if text_width(words, style, size) <= width:
        return words
    while words and text_width(words + "…", style, size) > width:
        words = words[:-1]
    return words.rstrip() + "…"


class Paragraph(NamedTuple):
    """Lines of running text.

    Attributes:
        lines: each a line's runs.
        size: type size [pt].
        indent: of all lines [mm].
        mark: what stands before the first line.
        colour: of the text.
        after: space below [mm].
    """

    lines: tuple[tuple[Run, ...], ...]
    size: float = BODY
    indent: float = 0.0
    mark: str = ""
    colour: str = INK
    after: float = 2.2

    @property
    def leading(self) -> float:
        """Distance between lines [mm]."""
        return self.size * 1.42 * MILLIMETRES_PER_POINT

    @property
    def height(self) -> float:
        """See `Block`."""
        return self.leading * len(self.lines) + self.after

    def items(self, left: float, top: float) -> list[Item]:
        """See `Block`."""
        first = top - self.leading * 0.5 - self.size * 0.36 * MILLIMETRES_PER_POINT
        found: list[Item] = [
            Text(left + self.indent, first - k * self.leading, words, self.size, colour=self.colour)
            for k, words in enumerate(self.lines)
        ]
        if self.mark:
            found.append(Text(left, first, runs(self.mark), self.size, colour=ACCENT))
        return found

    def split(self, room: float) -> tuple[Block, Block] | None:
        """See `Block`; never one line alone."""
        fitting = int(room / self.leading)
        if fitting < 2 or len(self.lines) - fitting < 2:
            return None
        return self._replace(lines=self.lines[:fitting], after=0.0), self._replace(lines=self.lines[fitting:], mark="")


def paragraph(
    words: Words,
    *,
    size: float = BODY,
    width: float = MEASURE,
    mark: str = "",
    indent: float = 4.6,
    colour: str = INK,
    after: float = 2.2,
) -> Paragraph:
    """A paragraph wrapped to a width [mm]; with a mark it hangs behind it by an indent [mm]."""
    indent = indent if mark else 0.0
    return Paragraph(wrapped(as_runs(words), size, width - indent), size, indent, mark, colour, after)


class Heading(NamedTuple):
    """The title of a chapter (level 1, with its number) or of a part of one (level 2); stays with what follows."""

    words: tuple[Run, ...]
    number: str = ""
    level: int = 1

    @property
    def size(self) -> float:
        """Type size [pt]."""
        return 13.5 if self.level == 1 else 10.0

    @property
    def title(self) -> str:
        """The title as plain text."""
        return "".join(run.text for run in self.words)

    @property
    def lines(self) -> tuple[tuple[Run, ...], ...]:
        """The title wrapped."""
        words = self.words if self.level == 1 else tuple(r._replace(style="bold") for r in self.words)
        return wrapped(words, self.size, WIDTH - (9.0 if self.level == 1 else 0.0))

    @property
    def height(self) -> float:
        """See `Block`."""
        return (10.0 if self.level == 1 else 6.6) + (len(self.lines) - 1) * self.size * 0.46

    def items(self, left: float, top: float) -> list[Item]:
        """See `Block`."""
        size, colour = self.size, ACCENT if self.level == 1 else INK
        indent = 9.0 if self.level == 1 else 0.0
        base = top - size * ASCENT * MILLIMETRES_PER_POINT - (1.2 if self.level == 1 else 0.6)
        found: list[Item] = []
        if self.number:
            found.append(Text(left, base, runs(self.number), size, colour=ACCENT))
        for k, words in enumerate(self.lines):
            found.append(Text(left + indent, base - k * size * 0.46, words, size, colour=colour))
        return found

    def split(self, room: float) -> tuple[Block, Block] | None:
        """See `Block`."""
        del room


class Space(NamedTuple):
    """White space, dropped at the top of a page."""

    height: float

    def items(self, left: float, top: float) -> list[Item]:
        """See `Block`."""
        del left, top
        return []

    def split(self, room: float) -> tuple[Block, Block] | None:
        """See `Block`."""
        del room


class Figure(NamedTuple):
    """A scene with a caption under it."""

    scene: Scene
    caption: Paragraph

    @property
    def height(self) -> float:
        """See `Block`."""
        return self.scene.height + 2.5 + self.caption.height

    def items(self, left: float, top: float) -> list[Item]:
        """See `Block`."""
        below = top - self.scene.height
        return [Placed(self.scene, left, below), *self.caption.items(left, below - 2.5)]

    def split(self, room: float) -> tuple[Block, Block] | None:
        """See `Block`."""
        del room


# -- tables --------------------------------------------------------------------------------------------------------


class Column(NamedTuple):
    """A column of a table: heading, share of the width, "start", "middle" or "end"."""

    heading: tuple[Run, ...]
    share: float
    anchor: str = "start"


class Table(NamedTuple):
    """Rows under thin rules; the heading comes again on every page.

    Attributes:
        columns: from left to right.
        rows: cells of each row.
        heavy: numbers of the rows that are set bold, with a rule above.
        width: [mm].
        size: type size [pt].
        after: space below [mm].
    """

    columns: tuple[Column, ...]
    rows: tuple[tuple[tuple[Run, ...], ...], ...]
    heavy: frozenset[int] = frozenset()
    width: float = WIDTH
    size: float = SMALL
    after: float = 4.0

    @property
    def _leading(self) -> float:
        return self.size * 1.34 * MILLIMETRES_PER_POINT

    def _widths(self) -> list[float]:
        total = sum(column.share for column in self.columns)
        return [self.width * column.share / total for column in self.columns]

    def _cells(self, cells: Sequence[tuple[Run, ...]], style: str = "") -> list[tuple[tuple[Run, ...], ...]]:
        found = []
        for cell, width in zip(cells, self._widths(), strict=True):
            words = tuple(r._replace(style=style) if style and r.style == "regular" else r for r in cell)
            found.append(wrapped(words, self.size, width - 2.6))
        return found

    def _row_height(self, cells: Sequence[tuple[tuple[Run, ...], ...]]) -> float:
        return self._leading * max(len(lines) for lines in cells) + 1.7

    def _head(self) -> list[tuple[tuple[Run, ...], ...]]:
        return self._cells([column.heading for column in self.columns])

    def _heights(self) -> list[float]:
        return [
            self._row_height(self._cells(row, "bold" if k in self.heavy else "")) for k, row in enumerate(self.rows)
        ]

    @property
    def height(self) -> float:
        """See `Block`."""
        return self._row_height(self._head()) + sum(self._heights()) + self.after

    @property
    def least(self) -> float:
        """How much of it has to stand together [mm]."""
        heights = self._heights()
        whole = self._row_height(self._head()) + sum(heights)
        return whole if whole + self.after < WHOLE else self._row_height(self._head()) + sum(heights[:2])

    def items(self, left: float, top: float) -> list[Item]:
        """See `Block`."""
        found: list[Item] = []
        head = self._head()
        height = self._row_height(head)
        found += self._row_items(head, left, top, GREY)
        top -= height
        found.append(line((left, top), (left + self.width, top), width=0.3, stroke=ACCENT))
        for k, row in enumerate(self.rows):
            cells = self._cells(row, "bold" if k in self.heavy else "")
            if k in self.heavy and k:
                found.append(line((left, top), (left + self.width, top), width=0.22, stroke=INK))
            height = self._row_height(cells)
            found += self._row_items(cells, left, top, INK)
            top -= height
            found.append(line((left, top), (left + self.width, top), width=0.1, stroke=RULE))
        return found

    def _row_items(
        self, cells: Sequence[tuple[tuple[Run, ...], ...]], left: float, top: float, colour: str
    ) -> list[Item]:
        found: list[Item] = []
        for lines, width, column in zip(cells, self._widths(), self.columns, strict=True):
            x = left + {"start": 0.0, "middle": 0.5 * width, "end": width - 2.6}[column.anchor]
            base = top - 0.85 - 0.5 * self._leading - 0.34 * self.size * MILLIMETRES_PER_POINT
            found += [
                Text(x, base - k * self._leading, words, self.size, column.anchor, colour=colour)
                for k, words in enumerate(lines)
                if words
            ]
            left += width
        return found

    def split(self, room: float) -> tuple[Block, Block] | None:
        """See `Block`; between rows, never fewer than two on either side, and a short table never."""
        if self.height < WHOLE:
            return None
        used = self._row_height(self._head())
        fitting = 0
        for height in self._heights():
            if used + height > room:
                break
            used += height
            fitting += 1
        fitting = min(fitting, len(self.rows) - 2)
        if fitting < 2:
            return None
        first = self._replace(rows=self.rows[:fitting], heavy=frozenset(k for k in self.heavy if k < fitting), after=0)
        rest = frozenset(k - fitting for k in self.heavy if k >= fitting)
        return first, self._replace(rows=self.rows[fitting:], heavy=rest)


def table(
    columns: Sequence[tuple[Words, float] | tuple[Words, float, str]],
    rows: Iterable[Sequence[Words]],
    *,
    heavy: Iterable[int] = (),
    width: float = WIDTH,
) -> Table:
    """A table from headings with shares of the width, and cells."""
    head = tuple(Column(as_runs(c[0]), c[1], c[2] if len(c) > 2 else "start") for c in columns)
    return Table(head, tuple(tuple(as_runs(cell) for cell in row) for row in rows), frozenset(heavy), width)


class NewPage(NamedTuple):
    """What follows begins on a new page."""

    height: float = 0.0

    def items(self, left: float, top: float) -> list[Item]:
        """See `Block`."""
        del left, top
        return []

    def split(self, room: float) -> tuple[Block, Block] | None:
        """See `Block`."""
        del room


class Contents(NamedTuple):
    """Titles with the pages on which they stand.

    Attributes:
        entries: number, title and page of each chapter.
    """

    entries: tuple[tuple[str, str, str], ...]

    @property
    def height(self) -> float:
        """See `Block`."""
        return 5.4 * len(self.entries) + 2.0

    def items(self, left: float, top: float) -> list[Item]:
        """See `Block`."""
        found: list[Item] = []
        for k, (number, title, page) in enumerate(self.entries):
            base = top - 5.4 * k - 3.8
            found += [
                Text(left, base, runs(number), BODY, colour=ACCENT),
                Text(left + 9.0, base, runs(title), BODY),
                Text(left + 96.0, base, runs(page), BODY, "end", colour=GREY),
                line((left, base - 1.6), (left + 96.0, base - 1.6), width=0.1, stroke=RULE),
            ]
        return found

    def split(self, room: float) -> tuple[Block, Block] | None:
        """See `Block`."""
        del room


class Boxed(NamedTuple):
    """Blocks in a frame with a heavy left edge; stays whole."""

    blocks: tuple[Block, ...]
    pad: float = 4.0

    @property
    def height(self) -> float:
        """See `Block`."""
        return sum(block.height for block in self.blocks) + 2 * self.pad + 4.0

    def items(self, left: float, top: float) -> list[Item]:
        """See `Block`."""
        height = self.height - 4.0
        found: list[Item] = [
            rectangle(left, top - height, WIDTH, height, stroke=RULE),
            rectangle(left, top - height, 1.3, height, fill=ACCENT),
        ]
        top -= self.pad
        for block in self.blocks:
            found += block.items(left + 1.3 + self.pad, top)
            top -= block.height
        return found

    def split(self, room: float) -> tuple[Block, Block] | None:
        """See `Block`."""
        del room


# -- pages ---------------------------------------------------------------------------------------------------------


class Mark(NamedTuple):
    """A bookmark: title, level, page counted from 0, and the height at which it stands [mm]."""

    title: str
    level: int
    page: int
    top: float


class Pages(NamedTuple):
    """The pages' items and the bookmarks into them."""

    pages: tuple[tuple[Item, ...], ...]
    marks: tuple[Mark, ...]


def flowed(blocks: Sequence[Block]) -> Pages:
    """Let blocks flow over pages.

    Args:
        blocks: in their order; a heading never stands last on a page.
    """
    waiting = list(reversed(blocks))
    pages: list[list[Item]] = [[]]
    marks: list[Mark] = []
    full = PAGE_HEIGHT - TOP - BOTTOM
    room = full
    while waiting:
        block = waiting.pop()
        fresh = room == full
        if isinstance(block, NewPage):
            if not fresh:
                pages.append([])
                room = full
            continue
        if isinstance(block, Space) and (fresh or block.height > room):
            continue
        needed = block.height + (_first_part(waiting) if isinstance(block, Heading) else 0.0)
        if needed > room + 1e-6 and not fresh:
            parts = block.split(room)
            if parts:
                pages[-1] += parts[0].items(LEFT, BOTTOM + room)
                waiting.append(parts[1])
            else:
                waiting.append(block)
            pages.append([])
            room = full
            continue
        if block.height > full:
            parts = block.split(full)
            if parts:
                waiting.append(parts[1])
                block = parts[0]
        if isinstance(block, Heading):
            marks.append(Mark(block.title, block.level, len(pages) - 1, BOTTOM + room))
        pages[-1] += block.items(LEFT, BOTTOM + room)
        room -= block.height
    return Pages(tuple(tuple(page) for page in pages), tuple(marks))


def _first_part(waiting: Sequence[Block]) -> float:
    """How much of what follows a heading has to stand on its page [mm]."""
    total = 0.0
    for block in reversed(waiting):
        if isinstance(block, Heading):
            total += block.height
            continue
        if isinstance(block, Space):
            total += block.height
            continue
        if isinstance(block, Table):
            return total + block.least
        return total + (block.height if isinstance(block, Figure | Boxed) else min(block.height, 24.0))
    return total
