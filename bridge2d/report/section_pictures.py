"""The report's chapter on the sections: of each a drawing with dimensions, its isotherms, and fine parts enlarged."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import ExitStack, closing
from dataclasses import dataclass

from bridge2d import nomenclature as n
from bridge2d.beside import Ahead
from bridge2d.detail import Requirement
from bridge2d.drawing.fine_part import fine_part
from bridge2d.drawing.isotherms import IsothermPicture, heat_step_text, isotherm_picture
from bridge2d.drawing.scene import Run, runs
from bridge2d.drawing.section_drawing import dimensioned_section, enlarged_section
from bridge2d.drawing.section_geometry import Box, SectionGeometry, section_geometry
from bridge2d.materials import Material
from bridge2d.report.input_pages import with_firm_units_of
from bridge2d.report.layout import (
    A4,
    WIDTH,
    Beside,
    Block,
    Figure,
    Heading,
    NewPage,
    Paper,
    Paragraph,
    Space,
    Together,
    paragraph,
)
from bridge2d.report.words import FIRM, firm
from bridge2d.results import SectionResult
from bridge2d.shown_units import IN_SI, DisplayUnits

Pictures = dict[tuple[object, ...], list[Block]]
"""Pictures by what they show and the room that there is for them."""
SECTIONS = "Sections"
"""Title of the chapter with the pictures."""
DRAWING_HEIGHTS = (118.0, 100.0, 84.0)
"""Greatest heights of the dimensioned section, the next one where both pictures do not fit on one page [mm]."""
GREATEST_DRAWING = 150.0
"""Its greatest height where it has a page of its own [mm]."""
LEAST_ISOTHERMS, GREATEST_ISOTHERMS = 70.0, 112.0
"""Height of the other picture [mm]."""
LARGE_CAPTION, GREATEST_LARGE = 12.0, 190.0
"""Kept for the caption of a section that has a page of its own, and the greatest height of its isotherms [mm]."""
CAPTION = 22.0
"""Kept for the caption of the isotherms and for their scale, which may stand out above the picture [mm]."""
BETWEEN = 3.0
"""Space between both pictures [mm]."""
ENLARGED, GUTTER = 78.0, 6.0
"""Width of an enlarged part, and what separates it from the isotherms on its left [mm]."""
ITS_CAPTION = 9.0
"""Kept for the caption of an enlarged part beside the isotherms [mm]."""
GREATEST_ENLARGED = 100.0
"""Greatest height of an enlarged part under a section that has a page of its own [mm]."""
ROOM_OF_PART, ROOM_OF_LARGE = 55.0, 140.0
"""Paper for the longer side of an enlarged part, beside the isotherms and on a page of its own [mm]."""
LOWER = 4.0
"""By so much at least, because scales come in steps [mm]."""
LEAST_LOWERED = 45.0
"""No lower than this [mm]."""
TRIES = 6
"""So often the enlarged part is made lower where it and its labels do not fit under the drawing."""
HOW_TO_READ = (
    "Numbers in circles are those of the table of materials. ▼ marks the coldest point of an inside surface, "
    "computed with the surface resistances of the temperature factor; isotherms and heat-flow lines belong to those "
    "of the heat flow, and so do the temperatures at rings."
)


def drawings(
    sections: Sequence[SectionResult],
    numbers: Mapping[Material, int],
    requirements: Sequence[Requirement] = (),
    shown: DisplayUnits = IN_SI,
    paper: Paper = A4,
    above: float = 0.0,
    drawn: Pictures | None = None,
    *,
    shared: bool = False,
) -> list[Block]:
    """The two pictures of every section, each section on a page of its own.

    Args:
        sections: the sections' numbers.
        numbers: of the materials.
        requirements: the detail's limits, one of which may be drawn as an isotherm.
        shown: units of everything that is written.
        paper: on which the pictures have to fit.
        above: what stands over the chapter on its first page [mm].
        drawn: pictures that are there already, to which those are added that are not.
        shared: whether a copy of this process draws the later half of them.
    """
    found: list[Block] = [paragraph(HOW_TO_READ, size=8.0, width=WIDTH - 12.0)]
    taken = above + Heading(runs(SECTIONS), "1").height + found[0].height
    first, whole = (paper.room - taken, paper.room), (paper.room, paper.room)
    keys = [(k, whole if k else first) for k in range(len(sections))]
    drawn = {} if drawn is None else drawn

    def of(keys: Sequence[tuple[int, tuple[float, float]]]) -> Pictures:
        return {key: _of_one(sections[key[0]], numbers, requirements, 2 * key[0] + 1, shown, key[1]) for key in keys}

    missing = [key for key in keys if key not in drawn]
    here = max(1, len(missing) // 2) if shared else len(missing)
    with ExitStack() as kept:
        ahead = kept.enter_context(closing(Ahead(lambda: of(missing[here:])))) if missing[here:] else None
        drawn.update(of(missing[:here]))
        drawn.update(ahead.value() if ahead else {})
    for key in keys:
        found += [*([NewPage()] if key[0] else []), *drawn[key]]
    return found


def _of_one(
    section: SectionResult,
    numbers: Mapping[Material, int],
    requirements: Sequence[Requirement],
    figure: int,
    shown: DisplayUnits,
    rooms: tuple[float, float],
) -> list[Block]:
    """The pictures of one section in the room of its first page and of a whole one [mm]."""
    geometry = section_geometry(section)
    part = fine_part(geometry, ROOM_OF_LARGE if section.section.large else ROOM_OF_PART)
    pictures = _Pictures(section, numbers, requirements, figure, shown, geometry, part)
    if section.section.large:
        return pictures.on_two_pages(*rooms)
    return pictures.on_one_page(rooms[0]) or pictures.one_after_the_other(*rooms)


@dataclass(frozen=True)
class _Pictures:
    """The pictures of a section under their heading, and what they are made from.

    Attributes:
        result: the section's numbers.
        numbers: of the materials.
        requirements: the detail's limits.
        figure: number of the first picture.
        shown: units of everything that is written.
        geometry: the section's shapes.
        part: what is drawn enlarged [m]; None where the whole shows all well.
    """

    result: SectionResult
    numbers: Mapping[Material, int]
    requirements: Sequence[Requirement]
    figure: int
    shown: DisplayUnits
    geometry: SectionGeometry
    part: Box | None

    def on_one_page(self, room: float) -> list[Block] | None:
        """All pictures, as high as fits into the room of one page [mm] together; None where they would be too small."""
        for height in DRAWING_HEIGHTS:
            blocks: list[Block] = [self._heading, Space(1.5), self._drawing(height), Space(BETWEEN)]
            left = room - sum(block.height for block in blocks)
            if left - CAPTION < LEAST_ISOTHERMS:
                continue
            pictures = self._lower(min(left - CAPTION, GREATEST_ISOTHERMS), left)
            if pictures.height <= left:
                return [*blocks, pictures]
        return None

    def one_after_the_other(self, room: float, full: float) -> list[Block]:
        """The drawing on a page of its own, whose room is given [mm], the others on a whole one."""
        height = min(room - self._heading.height - LARGE_CAPTION, GREATEST_DRAWING)
        return [self._heading, self._drawing(height), NewPage(), self._lower(GREATEST_ISOTHERMS, full)]

    def on_two_pages(self, room: float, full: float) -> list[Block]:
        """The drawing as high as the room of its page [mm], the isotherms on the next one, an enlarged part on either.

        The full room is that of a whole page [mm].
        """
        drawn = self._drawing(room - self._heading.height - LARGE_CAPTION)
        if self.part is None:
            return [self._heading, drawn, NewPage(), self._isotherms(GREATEST_LARGE)]
        below = self._enlarged(self.part, GREATEST_ENLARGED, WIDTH)
        if sum(block.height for block in (self._heading, drawn, below)) <= room:
            return [self._heading, drawn, below, NewPage(), self._isotherms(GREATEST_LARGE)]
        height = min(GREATEST_LARGE, full - below.height - CAPTION)
        return [self._heading, drawn, NewPage(), self._isotherms(height), below]

    @property
    def _title(self) -> str:
        return self.result.section.title or self.result.section.name

    @property
    def _heading(self) -> Heading:
        return Heading(runs(self._title), level=2)

    def _drawing(self, height: float) -> Figure:
        """The section with its dimensions."""
        whole = ", drawn whole; only the half at x ≥ 0 was computed" if self.result.section.mirrored else ""
        if self.result.section.revolution:
            whole = ", a cut through the axis of a solid of revolution; x is the radius"
        framed = f"; dashed frame: figure {self.figure}a" if self.part else ""
        scene = dimensioned_section(self.result, WIDTH, height, self.numbers, self.geometry, self.shown, self.part)
        return Figure(scene, _caption(self.figure, runs(f"{self._title}, dimensions and materials{whole}{framed}.")))

    def _enlarged(self, part: Box, height: float, width: float) -> Figure:
        scene = enlarged_section(self.result, width, height, self.numbers, self.geometry, part, self.shown)
        return Figure(
            scene, _caption(f"{self.figure}a", runs(f"The part framed in figure {self.figure}, enlarged."), width)
        )

    def _isotherms(self, height: float) -> Figure:
        """The isotherms over the whole width."""
        picture = self._isotherm_picture(height, WIDTH)
        return Figure(picture.scene, self._isotherm_caption(picture))

    def _lower(self, height: float, left: float) -> Block:
        """The isotherms, and on their right an enlarged part, lower than wanted where less is left for both [mm]."""
        if self.part is None:
            return self._isotherms(height)
        for _ in range(TRIES):
            picture = self._isotherm_picture(height, WIDTH - ENLARGED - GUTTER)
            enlarged = self._enlarged(self.part, height - ITS_CAPTION, ENLARGED)
            pair = Beside((Figure(picture.scene), enlarged), WIDTH - ENLARGED)
            both = Together((pair, self._isotherm_caption(picture)))
            lower = height - max(both.height - left, LOWER)
            if both.height <= left or lower < LEAST_LOWERED:
                break
            height = lower
        return both

    def _isotherm_picture(self, height: float, width: float) -> IsothermPicture:
        return isotherm_picture(self.result, width, height, self.requirements, self.geometry, self.shown)

    def _isotherm_caption(self, picture: IsothermPicture) -> Paragraph:
        return _caption(self.figure + 1, _isotherm_words(self._title, picture))


def _caption(number: int | str, words: tuple[Run, ...], width: float = WIDTH - 12.0) -> Paragraph:
    return paragraph(runs(Run(f"Figure {number}{FIRM}{FIRM}", "bold"), words), size=8.0, width=width)


def _isotherm_words(title: str, picture: IsothermPicture) -> tuple[Run, ...]:
    words = runs(f"{title}, isotherms every {firm(f'{picture.step:g} {picture.shown.unit(n.TEMPERATURE_DIFFERENCE)}')}")
    if picture.heat_step:
        words = runs(words, f"; thin heat-flow lines, between neighbours {firm(heat_step_text(picture))} flow")
    if picture.critical:
        heavy = f"; heavy line: {firm(picture.critical.label)} with the surface resistances of the temperature factor, "
        words = runs(words, heavy, with_firm_units_of(picture.critical.words))
    return runs(words, ".")
