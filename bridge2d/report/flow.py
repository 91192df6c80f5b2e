"""Blocks one after the other over pages; the last step before they are put on paper."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

from bridge2d.drawing.scene import Item
from bridge2d.report.contents import Contents
from bridge2d.report.layout import (
    A4,
    BOTTOM,
    Block,
    Boxed,
    Figure,
    Heading,
    NewPage,
    Paper,
    Paragraph,
    Space,
    Together,
)
from bridge2d.report.schedule_chart import Bars
from bridge2d.report.tables import Table
from bridge2d.report.verification_blocks import BesidePicture
from bridge2d.report.volume import VolumeContents

REMNANT = 75.0
"""A last page with less on it is avoided where that is possible [mm]."""
ENOUGH = 24.0
"""So much text under a heading is enough on its page [mm]."""
CLOSER = 0.6
"""Share of the space around text that is kept where all stands closer."""
CLOSER_PAD, CLOSER_AFTER = 1.2, 2.8
"""Space within and below the rows of a table that stands closer [mm]."""


class Mark(NamedTuple):
    """A bookmark: title, level, page counted from 0, and the height at which it stands [mm]."""

    title: str
    level: int
    page: int
    top: float


class PageReference(NamedTuple):
    """A place that tells a page number: the page on which it stands, its right end [mm], the page it tells, from 0."""

    page: int
    x: float
    y: float
    target: int


class Pages(NamedTuple):
    """The pages' items, the bookmarks into them, and page numbers that were left out or lead elsewhere in a volume."""

    pages: tuple[tuple[Item, ...], ...]
    marks: tuple[Mark, ...]
    references: tuple[PageReference, ...] = ()


def flowed(blocks: Sequence[Block], paper: Paper = A4, numbered: bool = True) -> Pages:
    """Let blocks flow over pages.

    Args:
        blocks: in their order; a heading never stands last on a page.
        paper: on which they stand.
        numbered: whether contents tell their pages; else the places where they would are handed on, see `Pages`.
    """
    return _finished(_placed(blocks, paper), paper, numbered)


def flowed_without_remnant(blocks: Sequence[Block], paper: Paper = A4, numbered: bool = True) -> Pages:
    """The same; a page with a few lines alone before a new page, or at the end, is saved by all standing closer.

    Args:
        blocks: in their order.
        paper: on which they stand.
        numbered: see `flowed`.
    """
    return _finished([page for part in _parts(blocks) for page in _saved(part, paper)], paper, numbered)


def _parts(blocks: Sequence[Block]) -> list[list[Block]]:
    """The blocks between new pages; each part begins on a page of its own."""
    parts: list[list[Block]] = [[]]
    for block in blocks:
        if isinstance(block, NewPage):
            parts.append([])
        else:
            parts[-1].append(block)
    return [part for part in parts if any(not isinstance(block, Space) for block in part)]


def _saved(blocks: Sequence[Block], paper: Paper) -> list[list[tuple[Block, float]]]:
    """The blocks on their pages, a little closer where that saves a last page with little on it."""
    placed = _placed(blocks, paper)
    if len(placed) > 1 and sum(block.height for block, _ in placed[-1]) < REMNANT:
        closer = _placed([_closer(block) for block in blocks], paper)
        placed = closer if len(closer) < len(placed) else placed
    return placed


def _closer(block: Block) -> Block:
    """A block with less white around it."""
    if isinstance(block, Space):
        return Space(CLOSER * block.height)
    if isinstance(block, Paragraph):
        return block._replace(after=CLOSER * block.after)
    if isinstance(block, Table):
        return replace(block, pad=CLOSER_PAD, after=min(block.after, CLOSER_AFTER))
    return block


def _placed(blocks: Sequence[Block], paper: Paper) -> list[list[tuple[Block, float]]]:
    """The blocks of each page with the heights of their upper ends [mm]."""
    waiting = list(reversed(blocks))
    placed: list[list[tuple[Block, float]]] = [[]]
    full = room = paper.room
    while waiting:
        block = waiting.pop()
        fresh = room == full
        if isinstance(block, Space) and (fresh or block.height > room):
            continue
        fitting, rest = (None, None) if isinstance(block, NewPage) else _fitted(block, waiting, room, fresh)
        if fitting is not None:
            placed[-1].append((fitting, BOTTOM + room))
            room -= fitting.height
        if rest is not None:
            waiting.append(rest)
        if (fitting is None or rest is not None) and not fresh:
            placed.append([])
            room = full
    return placed if placed[-1] or len(placed) == 1 else placed[:-1]


def _fitted(block: Block, waiting: Sequence[Block], room: float, fresh: bool) -> tuple[Block | None, Block | None]:
    """What of a block stands in the room that is left, and what has to wait for the next page."""
    needed = block.height + (_first_part(waiting) if isinstance(block, Heading) else 0.0)
    if needed <= room + 1e-6 or (fresh and block.height <= room):
        return block, None
    parts = block.split(room)
    if parts:
        return parts
    return (block, None) if fresh else (None, block)


def _finished(placed: Sequence[Sequence[tuple[Block, float]]], paper: Paper, numbered: bool) -> Pages:
    """Items and bookmarks of the pages, now that every chapter's page is known."""
    marks = [
        Mark(block.title, block.level, number, top)
        for number, page in enumerate(placed)
        for block, top in page
        if isinstance(block, Heading)
    ]
    on_page = {mark.title: mark.page for mark in marks if mark.level == 1}
    told = {title: str(number + 1) for title, number in on_page.items()} if numbered else {}
    pages, references = [], []
    for number, page in enumerate(placed):
        items: list[Item] = []
        for block, top in page:
            known = block.with_pages(told) if isinstance(block, Contents) else block
            items += known.items(paper.left, top)
            if isinstance(block, Contents) and not numbered:
                places = [place for place in block.page_places(paper.left, top) if place[0] in on_page]
                references += [PageReference(number, x, y, on_page[title]) for title, x, y in places]
            if isinstance(block, VolumeContents):
                references += [PageReference(number, *place) for place in block.places(paper.left, top)]
        pages.append(tuple(items))
    return Pages(tuple(pages), tuple(marks), tuple(references))


def _first_part(waiting: Sequence[Block]) -> float:
    """How much of what follows a heading has to stand on its page; short paragraphs do not count as enough [mm]."""
    total = written = 0.0
    for block in reversed(waiting):
        if isinstance(block, NewPage):
            return total
        if isinstance(block, Table | Bars):
            return total + block.least
        if isinstance(block, Figure | Boxed | Together | BesidePicture):
            return total + block.height
        if isinstance(block, Paragraph):
            part = min(block.height, ENOUGH - written)
            total, written = total + part, written + part
            if written >= ENOUGH - 1e-6:
                return total
            continue
        total += block.height
        if not isinstance(block, Heading | Space):
            return total
    return total
