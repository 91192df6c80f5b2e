"""The paper of a comparison: its margins, the box that says it in short, and the pages as a PDF."""

from __future__ import annotations

from collections.abc import Sequence, Set
from dataclasses import dataclass
from io import BytesIO
from typing import NamedTuple

from bridge2d.drawing.colours import ACCENT, ACCENT_PALE, GREY
from bridge2d.drawing.fonts import MILLIMETRES_PER_POINT
from bridge2d.drawing.scene import Item, Run, Scene, Text, rectangle, runs
from bridge2d.errors import InputError
from bridge2d.report.layout import Block, Space, Whole
from bridge2d.report.sheets import Running, _describe, words_of
from bridge2d.report.text import shortened, wrapped

SIZES = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
"""Width and height of each paper, upright [mm]."""
SIDE, TOP, BOTTOM = 14.0, 11.0, 13.0
"""Margins [mm]."""


class Paper(NamedTuple):
    """A page: whole width and height [mm], and whether it stands upright."""

    full_width: float
    full_height: float
    upright: bool

    @property
    def width(self) -> float:
        """Between the margins [mm]."""
        return self.full_width - 2 * SIDE

    @property
    def room(self) -> float:
        """Height between the margins [mm]."""
        return self.full_height - TOP - BOTTOM


def paper_of(name: str, *, upright: bool) -> Paper:
    """A paper by its name, upright or on its side.

    Raises:
        InputError: there is no such paper.
    """
    size = SIZES.get(name.lower())
    if size is None:
        raise InputError(f"there is no paper {name[:20]!r}", key="--paper", right="write A4 or Letter")
    return Paper(*(size if upright else size[::-1]), upright)


# -- blocks --------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class InShort(Whole):
    """The comparison in a few sentences, in a tinted box.

    Attributes:
        sentences: each on lines of its own.
        width: of the box [mm].
    """

    sentences: tuple[str, ...]
    width: float
    size: float = 9.2

    @property
    def _lines(self) -> list[tuple[Run, ...]]:
        return [row for words in self.sentences for row in wrapped(runs(words), self.size, self.width - 9.0)]

    @property
    def _leading(self) -> float:
        return self.size * 1.36 * MILLIMETRES_PER_POINT

    @property
    def height(self) -> float:
        """See `Block`."""
        return self._leading * len(self._lines) + 3.4 + 3.0

    def items(self, left: float, top: float) -> list[Item]:
        """See `Block`."""
        box = self._leading * len(self._lines) + 3.4
        found: list[Item] = [
            rectangle(left, top - box, self.width, box, fill=ACCENT_PALE),
            rectangle(left, top - box, 1.3, box, fill=ACCENT),
        ]
        base = top - 1.7 - 0.74 * self._leading
        return found + [Text(left + 4.5, base - k * self._leading, row, self.size) for k, row in enumerate(self._lines)]


# -- pages ---------------------------------------------------------------------------------------------------------


def flowed(blocks: Sequence[Block], paper: Paper, breaks: Set[int] = frozenset()) -> list[list[Item]]:
    """Blocks one below the other over pages.

    Args:
        blocks: in their order.
        paper: the page.
        breaks: after so many blocks each a new page begins.
    """
    pages: list[list[Item]] = [[]]
    room = paper.room
    waiting = list(reversed(blocks))
    count = len(blocks)
    while waiting:
        block = waiting.pop()
        fresh = room == paper.room
        if fresh and isinstance(block, Space):
            continue
        wants_new = count - len(waiting) - 1 in breaks and not fresh
        parts = None if wants_new or block.height <= room + 1e-6 else block.split(room)
        if wants_new or (parts is None and block.height > room + 1e-6 and not fresh):
            waiting.append(block)
            pages.append([])
            room = paper.room
            continue
        shown, rest = parts or (block, None)
        pages[-1] += shown.items(SIDE, BOTTOM + room)
        room -= shown.height
        if rest is not None:
            waiting.append(rest)
            pages.append([])
            room = paper.room
    return pages


def pdf_bytes(pages: Sequence[Sequence[Item]], running: Running, paper: Paper) -> bytes:
    """The PDF's bytes; the same for the same pages.

    Args:
        pages: what stands on them.
        running: footer and metadata.
        paper: of all pages.
    """
    from reportlab import rl_config
    from reportlab.pdfgen.canvas import Canvas

    from bridge2d.drawing.fonts import FILES
    from bridge2d.drawing.pdf import POINTS, draw_scene, register_fonts

    register_fonts()
    buffer = BytesIO()
    size = (paper.full_width * POINTS, paper.full_height * POINTS)
    canvas = Canvas(buffer, pagesize=size, invariant=1, pageCompression=1, initialFontName=FILES["regular"], lang="en")
    _describe(canvas, running)
    for number, items in enumerate(pages, start=1):
        foot = _footer(running, number, len(pages), paper)
        draw_scene(canvas, Scene(paper.full_width, paper.full_height, (*foot, *items)))
        canvas.showPage()
    plain, rl_config.useA85 = rl_config.useA85, 0  # compressed streams as they are: smaller and much quicker
    try:
        canvas.save()
    finally:
        rl_config.useA85 = plain
    return buffer.getvalue()


def sheet_words(pages: Sequence[Sequence[Item]], running: Running, paper: Paper) -> tuple[str, ...]:
    """All words of each page in the order in which they are drawn, with the signs that are printed.

    Args:
        pages: what stands on them.
        running: footer.
        paper: of all pages.
    """
    count = len(pages)
    return tuple(words_of((*_footer(running, k, count, paper), *items)) for k, items in enumerate(pages, start=1))


def _footer(running: Running, page: int, count: int, paper: Paper) -> list[Item]:
    right = f"page {page} of {count}"
    left = " · ".join(part for part in (running.title, running.project) if part)
    room = paper.width - 30.0
    return [
        Text(SIDE, 6.5, runs(shortened(left, "regular", 6.6, room)), 6.6, colour=GREY),
        Text(paper.full_width - SIDE, 6.5, runs(right), 6.6, "end", colour=GREY),
    ]
