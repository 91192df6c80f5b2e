"""The report's first page: the verdict, with the decisive section drawn small; and where the contents stand."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from bridge2d import nomenclature as n
from bridge2d.drawing.colours import ACCENT
from bridge2d.drawing.isotherms import IsothermPicture, isotherm_picture
from bridge2d.drawing.legend import materials_legend
from bridge2d.drawing.scene import Item, Placed, Run, Scene, runs
from bridge2d.drawing.section_drawing import BareSection, bare_section
from bridge2d.drawing.section_geometry import SectionGeometry, section_geometry
from bridge2d.materials import Material
from bridge2d.report.contents import Contents
from bridge2d.report.layout import A4, WIDTH, Block, Figure, NewPage, Paper, Paragraph, Space, paragraph
from bridge2d.report.opening import opening
from bridge2d.report.section_pictures import SECTIONS, Pictures
from bridge2d.report.words import estimate, firm, symbol
from bridge2d.results import DetailResult, SectionResult
from bridge2d.shown_units import IN_SI, DisplayUnits

GREATEST = 88.0
"""Height of the two pictures [mm]."""
SECTIONS_NEXT = ((True, True, 54.0), (False, True, 38.0), (True, False, 60.0), (False, False, 38.0))
"""Ways to lay out the page, the first one that fits counts: whether the materials are named, whether the contents stand
on it, least height of the pictures [mm]. Here the contents would take room from the drawings on the next page."""
OTHERS_NEXT = ((True, True, 70.0), (True, False, 64.0), (False, False, 42.0))
"""The same where another chapter comes first."""
BETWEEN = 6.0
"""Space between the two pictures [mm]."""
CAPTION = 14.0
"""Kept for the caption at first [mm]."""
ABOVE = 3.0
"""Space above the pictures and the contents [mm]."""
TO_LEGEND = 2.5
"""Space between pictures and legend [mm]."""
ROUNDS = 3
"""A picture may grow beyond the height asked for, to give its labels room; it is asked to be lower so many times."""


FIRST = "first page"
"""Tells its pictures from those of the sections."""


class FirstPage(NamedTuple):
    """What stands before the chapters.

    Attributes:
        blocks: in their order.
        taken: height that they take of the page on which the first chapter begins [mm].
    """

    blocks: tuple[Block, ...]
    taken: float


def first_page(
    result: DetailResult,
    numbers: Mapping[Material, int],
    titles: Sequence[str],
    shown: DisplayUnits = IN_SI,
    paper: Paper = A4,
    drawn: Pictures | None = None,
) -> FirstPage:
    """Title, results and verdicts, the pictures of the decisive section, and the contents where there is room.

    Args:
        result: all numbers of the detail.
        numbers: of the materials.
        titles: of the chapters.
        shown: units of everything that is written.
        paper: on which it has to fit.
        drawn: pictures that are there already, to which those are added that are not.
    """
    told = opening(result, shown)
    contents = Contents(tuple((str(k), title, "") for k, title in enumerate(titles, start=1)))
    room = paper.room - sum(block.height for block in told) - ABOVE
    pictures = _Pictures(result, numbers, shown, {} if drawn is None else drawn)
    both = room - contents.height - ABOVE
    drawn_next = titles[0] == SECTIONS
    for legend, on_first, least in SECTIONS_NEXT if drawn_next else OTHERS_NEXT:
        figure = pictures.within(both if on_first else room, least, legend=legend)
        if figure and on_first:
            return FirstPage((*told, Space(ABOVE), figure, Space(ABOVE), contents, NewPage()), 0.0)
        if figure:
            taken = contents.height + ABOVE
            return FirstPage((*told, Space(ABOVE), figure, NewPage(), contents, Space(ABOVE)), taken)
    figure = pictures.within(paper.room - contents.height - ABOVE, 0.0, legend=True)
    return FirstPage((*told, Space(ABOVE), *([figure] if figure else []), Space(ABOVE), contents, NewPage()), 0.0)


def decisive_section(result: DetailResult) -> SectionResult:
    """The section with the lowest temperature factor, else the one from which Ψ or χ starts, else the first."""
    alone = result.detail.alone
    real = [section for section in result.sections if section.section.name not in alone] or list(result.sections)
    factors = [factor for section in real for factor in section.f_rsi]
    if factors:
        coldest = min(factors, key=lambda one: one.value)
        return next(section for section in real if coldest in section.f_rsi)
    starts = [psi.l2d for psi in result.psi] + ([result.chi.l2d] if result.chi else [])
    return next((section for start in starts for section in real if section.l2d == start), real[0])


class _Pictures:
    """The drawing and the isotherms of the decisive section side by side, at the height that there is."""

    def __init__(
        self, result: DetailResult, numbers: Mapping[Material, int], shown: DisplayUnits, drawn: Pictures
    ) -> None:
        self._result, self._numbers, self._shown, self._drawn = result, numbers, shown, drawn
        self._section = decisive_section(result)
        self._geometry: SectionGeometry = section_geometry(self._section)
        self._legend = materials_legend([self._geometry], numbers, WIDTH, shown)

    def within(self, room: float, least: float, *, legend: bool) -> Block | None:
        """Pictures with legend and caption no higher than some room [mm]; None where they would be too low.

        Args:
            room: for all of it [mm].
            least: height of the pictures [mm].
            legend: whether the materials are named under them.
        """
        below = self._legend.height + TO_LEGEND if legend else 0.0
        height = min(GREATEST, room - below - CAPTION)
        for _ in range(ROUNDS):
            if height < least or height < 10.0:
                return None
            figure = self._figure(height, legend=legend)
            if figure.height <= room:
                return figure
            height -= figure.height - room
        return None

    def _figure(self, height: float, *, legend: bool) -> Block:
        key = FIRST, height, legend
        if key not in self._drawn:
            self._drawn[key] = [self._made(height, legend=legend)]
        return self._drawn[key][0]

    def _made(self, height: float, *, legend: bool) -> Figure:
        width = 0.5 * (WIDTH - BETWEEN)
        drawing, isotherms = self._at_one_scale(width, height)
        below = self._legend.height + TO_LEGEND if legend else 0.0
        tall = max(drawing.scene.height, isotherms.scene.height)
        items: list[Item] = [
            Placed(drawing.scene, 0.0, below + tall - drawing.scene.height),
            Placed(isotherms.scene, width + BETWEEN, below + tall - isotherms.scene.height),
        ]
        items += [Placed(self._legend, 0.0, 0.0)] if legend else []
        return Figure(Scene(WIDTH, below + tall, tuple(items)), self._caption(drawing, isotherms, legend=legend))

    def _at_one_scale(self, width: float, height: float) -> tuple[BareSection, IsothermPicture]:
        section, geometry, shown = self._section, self._geometry, self._shown
        limits = self._result.detail.requirements
        scale = 0.0
        for _ in range(ROUNDS):
            drawing = bare_section(section, width, height, self._numbers, geometry, (), scale, shown)
            scale = drawing.scale
            isotherms = isotherm_picture(section, width, height, limits, geometry, shown, at_least=scale, bare=True)
            if isotherms.scale == scale:
                break
            scale = isotherms.scale
        return drawing, isotherms

    def _caption(self, drawing: BareSection, isotherms: IsothermPicture, *, legend: bool) -> Paragraph:
        section = self._section.section
        words = [Run("Decisive section  ", "bold"), *runs(section.title or section.name)]
        if self._section.f_rsi:
            factor = min(self._section.f_rsi, key=lambda one: one.value)
            lowest = estimate(n.F_RSI, factor.value, factor.tolerance, self._shown)
            words += runs(": lowest ", symbol(n.F_RSI), " ", lowest, ", at ▼")
        step = firm(f"{isotherms.step:g} {self._shown.unit(n.TEMPERATURE_DIFFERENCE)}")
        words += runs(". Left: materials", "" if legend else ", numbered as in their table")
        words += runs("; dash-dotted line: ", Run("airtight layer", "bold", colour=ACCENT)) if section.airtight else ()
        for note in dict.fromkeys((*drawing.notes, *isotherms.notes)):
            words += runs("; ", note)
        words += runs(f". Right: isotherms every {step}")
        if isotherms.critical:
            words += runs(f"; heavy line: {firm(isotherms.critical.label)}, ", isotherms.critical.words)
        words += runs(f". Dimensions stand in the chapter “{SECTIONS}”.")
        return paragraph(tuple(words), size=7.5, width=WIDTH)
