"""The options beside each other on paper: name and description, drawing and isotherms, and what all of them share.

Drawing and isotherms of an option stand one over the other or side by side, the options in one row or two, whichever
makes the pictures larger.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from bridge2d.comparison.records import Comparison
from bridge2d.drawing.colours import ACCENT, GREY, PAPER, RULE
from bridge2d.drawing.fonts import MILLIMETRES_PER_POINT
from bridge2d.drawing.frame import LITTLE_AIR, frame
from bridge2d.drawing.isotherm_labels import level_scale
from bridge2d.drawing.legend import materials_legend
from bridge2d.drawing.scene import Item, Placed, Run, Text, line, rectangle, runs, runs_width
from bridge2d.report.comparison_pictures import Pictures, Shapes, pictures
from bridge2d.report.comparison_sheet import Paper
from bridge2d.report.layout import Whole
from bridge2d.report.text import wrapped
from bridge2d.shown_units import IN_SI, DisplayUnits

GAP = 6.0
"""Between the options' columns, and between rows of options [mm]."""
HEAD_SIZE = 9.0
BADGE = 8.0
"""Side of the box with an option's name [mm]."""
BETWEEN = 2.0
"""Between the two pictures of an option [mm]."""
NOTE_SIZE = 5.8
NOTE_LEADING = 2.7
SCALE_LENGTH = 58.0
"""Length of the scale of temperatures, and width of what is said below it [mm]."""
ASIDE = 10.0
"""Between the scale of temperatures and the materials [mm]."""
LEAST = {True: 38.0, False: 46.0}
"""Pictures lower than this, stacked or side by side, get a page of their own [mm]."""
DRAWING_SHARE = 0.52
"""Share of the drawing in a column where both pictures stand side by side: dimensions need room."""
NOTES = 4.0
"""Kept for the notes under an option's pictures [mm]."""
ROUNDS = 4
SLACK = 6.0
"""So much may be left below the pictures [mm]; with more they are tried larger."""

Heads = tuple[tuple[str, str], ...]
Size = tuple[float, float]


class Arrangement(NamedTuple):
    """How the options stand on paper.

    Attributes:
        per_row: so many beside each other.
        stacked: whether the isotherms stand below the drawing, else to its right.
        drawing, isotherms: greatest width and height of each picture [mm].
        scale: the scales, 1 to this, that both would come out at without labels, multiplied.
    """

    per_row: int
    stacked: bool
    drawing: Size
    isotherms: Size
    scale: float


@dataclass(frozen=True)
class Columns(Whole):
    """The options beside each other.

    Attributes:
        heads: name and description of each.
        drawn: their pictures.
        width: of all [mm].
        per_row: so many options beside each other.
        stacked: whether the isotherms stand below the drawing, else to its right.
        shown: units of everything that is written.
    """

    heads: Heads
    drawn: Pictures
    width: float
    per_row: int
    stacked: bool
    shown: DisplayUnits = IN_SI

    @property
    def _column(self) -> float:
        return column_width(self.per_row, self.width)

    @property
    def _head(self) -> float:
        return head_height(self.heads, self._column)

    def _notes(self, k: int) -> list[tuple[Run, ...]]:
        """Notes under an option's pictures, each once, wrapped to the column."""
        both = dict.fromkeys((*self.drawn.drawings[k].notes, *self.drawn.isotherms[k].notes))
        return [row for words in both for row in wrapped(words, NOTE_SIZE, self._column - 1.0)]

    @property
    def _note_height(self) -> float:
        return NOTE_LEADING * max(len(self._notes(k)) for k in range(len(self.heads))) + 1.0

    @property
    def _pictures(self) -> tuple[float, float]:
        """Heights of the drawings, and of the isotherms below them; none below where they stand beside."""
        drawings = max(one.scene.height for one in self.drawn.drawings)
        isotherms = max(one.scene.height for one in self.drawn.isotherms)
        return (drawings + BETWEEN, isotherms) if self.stacked else (max(drawings, isotherms), 0.0)

    @property
    def _row(self) -> float:
        return self._head + sum(self._pictures) + self._note_height

    @property
    def height(self) -> float:
        """See `Block`."""
        rows = -(-len(self.heads) // self.per_row)
        return rows * self._row + (rows - 1) * GAP + shared_height(self.drawn, self.shown) + 2.5

    def items(self, left: float, top: float) -> list[Item]:
        """See `Block`."""
        found: list[Item] = []
        for k in range(len(self.heads)):
            row, column = divmod(k, self.per_row)
            x, y = left + column * (self._column + GAP), top - row * (self._row + GAP)
            found += self._option_items(k, x, y)
            if column:
                at = x - 0.5 * GAP
                found.append(line((at, y), (at, y - self._row), width=0.12, stroke=RULE))
        rows = -(-len(self.heads) // self.per_row)
        return [*found, *_shared_items(self.drawn, self.shown, left, top - rows * self._row - (rows - 1) * GAP)]

    def _feet(self, drawing: float, picture: float) -> Size:
        """How far the feet of an option's pictures lie below their upper ends, from their own heights [mm].

        Over each other they stand at one level with those of the other options, since sections of one junction begin
        at one level; side by side their upper ends are level.
        """
        if not self.stacked:
            return drawing, picture
        heights = [[one.scene.height for one in every] for every in (self.drawn.drawings, self.drawn.isotherms)]
        return max(heights[0]), max(heights[1])

    def _option_items(self, k: int, x: float, top: float) -> list[Item]:
        """One option: its head, both pictures, and the notes below them."""
        drawings, isotherms = self._pictures
        drawing, picture = self.drawn.drawings[k].scene, self.drawn.isotherms[k].scene
        under = top - self._head
        aside = x if self.stacked else x + self._column - picture.width
        second = under - drawings if self.stacked else under
        found = _head_items(self.heads[k], x, top, self._column)
        lowest = self._feet(drawing.height, picture.height)
        found += [Placed(drawing, x, under - lowest[0]), Placed(picture, aside, second - lowest[1])]
        foot = under - drawings - isotherms - 2.4
        notes = enumerate(self._notes(k))
        return found + [Text(x, foot - NOTE_LEADING * n, row, NOTE_SIZE, colour=GREY) for n, row in notes]


# -- names and descriptions ----------------------------------------------------------------------------------------


def column_width(count: int, width: float) -> float:
    """Width of each of some columns [mm].

    Args:
        count: of the columns.
        width: of all together [mm].
    """
    return (width - GAP * (count - 1)) / count


def _badge(name: str) -> float:
    """Width of the box with an option's name [mm]."""
    return max(BADGE, runs_width(runs(Run(name, "bold")), 15.0) + 3.2)


def _head_lines(head: tuple[str, str], column: float) -> tuple[tuple[Run, ...], ...]:
    name, words = head
    return wrapped(runs(Run(words, "bold")), HEAD_SIZE, column - _badge(name) - 2.5)


def head_height(heads: Heads, column: float) -> float:
    """Height of the options' names and descriptions [mm].

    Args:
        heads: name and description of each.
        column: width of each [mm].
    """
    leading = HEAD_SIZE * 1.3 * MILLIMETRES_PER_POINT
    return max(BADGE, *(leading * len(_head_lines(head, column)) for head in heads)) + 2.0


def _head_items(head: tuple[str, str], x: float, top: float, column: float) -> list[Item]:
    name, leading = head[0], HEAD_SIZE * 1.3 * MILLIMETRES_PER_POINT
    badge = _badge(name)
    found: list[Item] = [
        rectangle(x, top - BADGE, badge, BADGE, fill=ACCENT),
        Text(x + 0.5 * badge, top - 0.5 * BADGE - 1.95, runs(Run(name, "bold")), 15.0, "middle", colour=PAPER),
    ]
    lines = _head_lines(head, column)
    return found + [Text(x + badge + 2.5, top - 3.1 - k * leading, row, HEAD_SIZE) for k, row in enumerate(lines)]


# -- what the pictures share ---------------------------------------------------------------------------------------


def shared_height(drawn: Pictures, shown: DisplayUnits = IN_SI) -> float:
    """Height of the scale of temperatures with its words, and of the materials beside it [mm]."""
    return max(9.2 + NOTE_LEADING * len(_how_to_read(drawn, shown)), drawn.legend.height)


def _shared_items(drawn: Pictures, shown: DisplayUnits, left: float, top: float) -> list[Item]:
    """The scale of temperatures, how the pictures are to be read, and the materials beside both."""
    found = level_scale(left, top - 4.0, SCALE_LENGTH, drawn.span)
    words = enumerate(_how_to_read(drawn, shown))
    found += [Text(left, top - 10.6 - NOTE_LEADING * k, row, NOTE_SIZE, colour=GREY) for k, row in words]
    return [*found, Placed(drawn.legend, left + SCALE_LENGTH + ASIDE, top - 0.6 - drawn.legend.height)]


def _how_to_read(drawn: Pictures, shown: DisplayUnits) -> tuple[tuple[Run, ...], ...]:
    """Lines that fit under the scale of temperatures."""
    titles = list(dict.fromkeys(s.section.title or s.section.name for s in drawn.sections))
    words = f"{titles[0][:80]}. " if len(titles) == 1 else ""
    words += "All drawings have one scale, so have the coloured pictures; a colour is the same temperature in all. "
    words += "▼ coldest spot inside."
    if drawn.has_dimensions:
        words += f" Only dimensions that differ are drawn, in {shown.length_units}."
    if any(section.section.airtight for section in drawn.sections):
        words += " Dash-dot: airtight layer."
    heavy = next((picture.critical.label for picture in drawn.isotherms if picture.critical), "")
    if heavy:
        words += f" Heavy line: {heavy}, below which the inside surface is too cold."
    return wrapped(runs(words), NOTE_SIZE, SCALE_LENGTH + ASIDE - 4.0)


# -- how they are arranged -----------------------------------------------------------------------------------------


def side_by_side(
    comparison: Comparison, known: Shapes, sheet: Paper, room: float, *, must: bool = False
) -> Columns | None:
    """The options beside each other as large as some room allows.

    Args:
        comparison: the options.
        known: their shapes.
        sheet: the paper.
        room: height for all of it [mm].
        must: whether there is an answer however small the pictures are; else None where they are too small.
    """
    heads = _heads(comparison)
    tried: list[tuple[Columns, Arrangement]] = []
    left = room
    for _ in range(ROUNDS):
        arranged = arrangement(heads, known, sheet, left)
        if not must and arranged.drawing[1] < LEAST[arranged.stacked]:
            break
        tried.append((_columns(comparison, known, sheet, arranged), arranged))
        free = room - tried[-1][0].height
        if 0.0 <= free < SLACK:
            break
        left += free if free > 0.0 else free - 0.5
    fitting = [one for one in tried if one[0].height <= room]
    if not fitting:
        return tried[-1][0] if must else None
    found, arranged = max(fitting, key=lambda one: one[0].height)
    if room - found.height < SLACK:
        return found
    width, height = arranged.drawing
    larger = _columns(comparison, known, sheet, arranged._replace(drawing=(width, height + room - found.height)))
    return larger if found.height < larger.height <= room else found


def _columns(comparison: Comparison, known: Shapes, sheet: Paper, arranged: Arrangement) -> Columns:
    """The options with their pictures as an arrangement allows."""
    drawn = pictures(comparison, known, arranged.drawing, arranged.isotherms, sheet.width - SCALE_LENGTH - ASIDE)
    return Columns(_heads(comparison), drawn, sheet.width, arranged.per_row, arranged.stacked, comparison.shown)


def _heads(comparison: Comparison) -> Heads:
    return tuple((option.name, option.description) for option in comparison.options)


def better_paper(comparison: Comparison, known: Shapes, papers: Sequence[tuple[Paper, float]]) -> Paper:
    """The paper on which the pictures come out larger, where they have a page of their own.

    Args:
        comparison: the options.
        known: their shapes.
        papers: to choose from, each with the height that is left for the pictures [mm].
    """
    heads = _heads(comparison)
    return min(papers, key=lambda one: arrangement(heads, known, *one).scale)[0]


def arrangement(heads: Heads, known: Shapes, sheet: Paper, room: float) -> Arrangement:
    """The arrangement that draws the sections largest.

    Args:
        heads: name and description of each option.
        known: their shapes.
        sheet: the paper.
        room: height for all of it [mm].
    """
    aside = sheet.width - SCALE_LENGTH - ASIDE
    shared = max(materials_legend(known.geometries, known.numbers, aside).height, 9.2 + 6 * NOTE_LEADING)
    found = []
    count = len(heads)
    for per_row in {count, -(-count // 2)} if count > 2 else {count}:
        rows = -(-count // per_row)
        column = column_width(per_row, sheet.width)
        above = head_height(heads, column) + NOTES
        height = max((room - shared - 2.5 - GAP * (rows - 1)) / rows - above, 20.0)
        half, share = 0.5 * (height - BETWEEN), DRAWING_SHARE * (column - BETWEEN)
        for stacked, drawing, isotherms in (
            (True, (column, half), (column, half)),
            (False, (share, height), (column - BETWEEN - share, height)),
        ):
            found.append(Arrangement(per_row, stacked, drawing, isotherms, _scale(known, drawing, isotherms)))
    return min(found, key=lambda one: (one.scale, not one.stacked, one.per_row))


def _scale(known: Shapes, drawing: Size, isotherms: Size) -> float:
    """The scales of drawings and isotherms multiplied; labels apart."""
    drawn = zip(known.geometries, known.dimensions, strict=True)
    lines = max(frame(g, drawing[0], drawing[1] - 6.0, dimensions, beside=LITTLE_AIR).scale for g, dimensions in drawn)
    colours = max(frame(g, isotherms[0], isotherms[1] - 8.0, beside=LITTLE_AIR).scale for g in known.geometries)
    return lines * colours
