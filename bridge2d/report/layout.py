"""Paragraphs, tables and figures, and how they flow over pages.

Everything ends as a scene in paper millimetres, measured with the embedded fonts, so nothing can leave its box.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import NamedTuple, Protocol

from bridge2d.drawing.colours import ACCENT, INK, RULE
from bridge2d.drawing.fonts import ASCENT, MILLIMETRES_PER_POINT
from bridge2d.drawing.scene import Item, Placed, Run, Scene, Text, rectangle, runs
from bridge2d.report.text import Words, as_runs, wrapped

PAGE_WIDTH, PAGE_HEIGHT = 210.0, 297.0
LEFT, RIGHT, TOP, BOTTOM = 24.0, 18.0, 27.0, 21.0
WIDTH = PAGE_WIDTH - LEFT - RIGHT
"""Of everything on a page [mm]; the same on every paper."""


class Paper(NamedTuple):
    """A size of paper [mm]; the type area has one width on all of them, its height is what the paper leaves."""

    name: str
    width: float
    height: float

    @property
    def left(self) -> float:
        """Where the type area begins [mm]; what a wider paper has more is shared by both margins."""
        return LEFT + 0.5 * (self.width - PAGE_WIDTH)

    @property
    def right(self) -> float:
        """Where it ends [mm]."""
        return self.left + WIDTH

    @property
    def room(self) -> float:
        """Height of a page's blocks [mm]."""
        return self.height - TOP - BOTTOM


A4 = Paper("A4", PAGE_WIDTH, PAGE_HEIGHT)
"""ISO 216."""
LETTER = Paper("Letter", 215.9, 279.4)
"""8 1/2 × 11 in (ANSI/ASME Y14.1, size A)."""
PAPERS = {paper.name: paper for paper in (A4, LETTER)}
MEASURE = 138.0
"""Width of running text [mm]; a line stays short enough to be read."""
BODY = 9.0
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


class Whole:
    """A block that is never divided."""

    def split(self, room: float) -> tuple[Block, Block] | None:
        """See `Block`."""
        del room
        return None


class Blank(Whole):
    """A block on which nothing stands."""

    def items(self, left: float, top: float) -> list[Item]:
        """See `Block`."""
        del left, top
        return []


# -- text ----------------------------------------------------------------------------------------------------------


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
        """See `Block`; never one line alone on either page."""
        fitting = min(int(room / self.leading), len(self.lines) - 2)
        if fitting < 2:
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


@dataclass(frozen=True)
class Heading(Whole):
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


@dataclass(frozen=True)
class Space(Blank):
    """White space, dropped at the top of a page."""

    height: float


NOTHING_SAID = Paragraph((), after=0.0)


@dataclass(frozen=True)
class Figure(Whole):
    """A scene, with a caption under it where it has one."""

    scene: Scene
    caption: Paragraph = NOTHING_SAID

    @property
    def height(self) -> float:
        """See `Block`."""
        return self.scene.height + 2.5 + self.caption.height

    def items(self, left: float, top: float) -> list[Item]:
        """See `Block`."""
        below = top - self.scene.height
        return [Placed(self.scene, left, below), *self.caption.items(left, below - 2.5)]


class Beside(Whole):
    """Two blocks side by side, their upper ends level."""

    def __init__(self, blocks: tuple[Block, Block], second: float) -> None:
        """Keep both, and where the second one begins [mm]."""
        self.blocks, self.second = blocks, second

    @property
    def height(self) -> float:
        """See `Block`."""
        return max(block.height for block in self.blocks)

    def items(self, left: float, top: float) -> list[Item]:
        """See `Block`."""
        first, second = self.blocks
        return [*first.items(left, top), *second.items(left + self.second, top)]


@dataclass(frozen=True)
class Together:
    """Blocks that stay on one page; only the last one goes on over pages, where it can be divided and has to be."""

    blocks: tuple[Block, ...]

    @property
    def height(self) -> float:
        """See `Block`."""
        return sum(block.height for block in self.blocks)

    def items(self, left: float, top: float) -> list[Item]:
        """See `Block`."""
        found: list[Item] = []
        for block in self.blocks:
            found += block.items(left, top)
            top -= block.height
        return found

    def split(self, room: float) -> tuple[Block, Block] | None:
        """See `Block`."""
        *first, last = self.blocks
        parts = last.split(room - sum(block.height for block in first))
        return (Together((*first, parts[0])), parts[1]) if parts else None


@dataclass(frozen=True)
class NewPage(Blank):
    """What follows begins on a new page."""

    height: float = 0.0


@dataclass(frozen=True)
class Boxed:
    """Blocks in a frame with a heavy left edge.

    Attributes:
        blocks: one under the other.
        pad: space between them and the frame [mm].
        divisible: whether it goes on over pages where it is too high; else it stays whole.
    """

    blocks: tuple[Block, ...]
    pad: float = 4.0
    divisible: bool = False

    @property
    def height(self) -> float:
        """See `Block`."""
        return sum(block.height for block in self.blocks) + 2 * self.pad + 4.0

    def split(self, room: float) -> tuple[Block, Block] | None:
        """See `Block`; between its blocks, or within one."""
        left = room - 2 * self.pad - 4.0
        for k, block in enumerate(self.blocks if self.divisible else ()):
            if block.height <= left:
                left -= block.height
                continue
            parts = block.split(left)
            first, rest = self.blocks[:k], self.blocks[k:]
            if parts:
                first, rest = (*first, parts[0]), (parts[1], *rest[1:])
            return (replace(self, blocks=first), replace(self, blocks=rest)) if first else None
        return None

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
