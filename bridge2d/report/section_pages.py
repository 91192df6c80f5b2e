"""The report's chapters on the sections: drawings, and the temperatures of surfaces and timber."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from bridge2d import nomenclature as n
from bridge2d.detail import Point, Requirement
from bridge2d.drawing.isotherms import IsothermPicture, heat_step_text, isotherm_picture
from bridge2d.drawing.scene import Run, runs
from bridge2d.drawing.section_drawing import dimensioned_section
from bridge2d.drawing.section_geometry import section_geometry
from bridge2d.materials import Material
from bridge2d.report.input_pages import with_firm_units_of
from bridge2d.report.layout import (
    A4,
    WIDTH,
    Block,
    Figure,
    Heading,
    NewPage,
    Paper,
    Paragraph,
    Space,
    paragraph,
)
from bridge2d.report.opening import dew_words
from bridge2d.report.tables import table
from bridge2d.report.text import Words
from bridge2d.report.words import FIRM, estimate, firm, symbol, value
from bridge2d.results import DetailResult, ProbeResult, SectionResult
from bridge2d.shown_units import IN_SI, DisplayUnits

SECTIONS = "Sections"
"""Title of the chapter with the pictures."""
DRAWING_HEIGHTS = (118.0, 100.0, 84.0, 70.0)
"""Greatest heights of the dimensioned section, the next one where both pictures do not fit on one page [mm]."""
LEAST_ISOTHERMS, GREATEST_ISOTHERMS = 70.0, 112.0
"""Height of the other picture [mm]."""
SMALL_ISOTHERMS = 50.0
"""Its least height where the first one is as low as it gets [mm]."""
LARGE_CAPTION, GREATEST_LARGE = 12.0, 190.0
"""Kept for the caption of a section that has a page of its own, and the greatest height of its isotherms [mm]."""
CAPTION = 22.0
"""Kept for the caption of the isotherms and for their scale, which may stand out above the picture [mm]."""
BETWEEN = 3.0
"""Space between both pictures [mm]."""
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
) -> list[Block]:
    """The two pictures of every section, each section on a page of its own.

    Args:
        sections: the sections' numbers.
        numbers: of the materials.
        requirements: the detail's limits, one of which may be drawn as an isotherm.
        shown: units of everything that is written.
        paper: on which the pictures have to fit.
        above: what stands over the chapter on its first page [mm].
    """
    found: list[Block] = [paragraph(HOW_TO_READ, size=8.0, width=WIDTH - 12.0)]
    taken = above + Heading(runs(SECTIONS), "1").height + found[0].height
    for k, section in enumerate(sections):
        found += [NewPage()] if k else []
        found += _two_pictures(section, numbers, requirements, 2 * k + 1, paper.room - taken, shown)
        taken = 0.0
    return found


def _two_pictures(
    result: SectionResult,
    numbers: Mapping[Material, int],
    requirements: Sequence[Requirement],
    figure: int,
    room: float,
    shown: DisplayUnits,
) -> list[Block]:
    """Both pictures with their heading, as high as fits on one page together."""
    title = result.section.title or result.section.name
    geometry = section_geometry(result)
    whole = ", drawn whole; only the half at x ≥ 0 was computed" if result.section.mirrored else ""
    if result.section.revolution:
        whole = ", a cut through the axis of a solid of revolution; x is the radius"
    head = Heading(runs(title), level=2)
    blocks: list[Block] = []
    if result.section.large:
        scene = dimensioned_section(result, WIDTH, room - head.height - LARGE_CAPTION, numbers, geometry, shown)
        picture = isotherm_picture(result, WIDTH, GREATEST_LARGE, requirements, geometry, shown)
        first = Figure(scene, _caption(figure, runs(f"{title}, dimensions and materials{whole}.")))
        return [head, first, NewPage(), Figure(picture.scene, _caption(figure + 1, _isotherm_words(title, picture)))]
    for height in DRAWING_HEIGHTS:
        scene = dimensioned_section(result, WIDTH, height, numbers, geometry, shown)
        first = Figure(scene, _caption(figure, runs(f"{title}, dimensions and materials{whole}.")))
        blocks = [head, Space(1.5), first, Space(BETWEEN)]
        left = room - sum(block.height for block in blocks) - CAPTION
        if left < LEAST_ISOTHERMS and height > DRAWING_HEIGHTS[-1]:
            continue
        least = LEAST_ISOTHERMS if height > DRAWING_HEIGHTS[-1] else SMALL_ISOTHERMS
        tall = min(max(left, least), GREATEST_ISOTHERMS)
        picture = isotherm_picture(result, WIDTH, tall, requirements, geometry, shown)
        second = Figure(picture.scene, _caption(figure + 1, _isotherm_words(title, picture)))
        blocks.append(second)
        if sum(block.height for block in blocks) <= room:
            break
    return blocks


def _caption(number: int, words: tuple[Run, ...]) -> Paragraph:
    return paragraph(runs(Run(f"Figure {number}{FIRM}{FIRM}", "bold"), words), size=8.0, width=WIDTH - 12.0)


def _isotherm_words(title: str, picture: IsothermPicture) -> tuple[Run, ...]:
    words = runs(f"{title}, isotherms every {firm(f'{picture.step:g} {picture.shown.unit(n.TEMPERATURE_DIFFERENCE)}')}")
    if picture.heat_step:
        words = runs(words, f"; thin heat-flow lines, between neighbours {firm(heat_step_text(picture))} flow")
    if picture.critical:
        heavy = f"; heavy line: {firm(picture.critical.label)} with the surface resistances of the temperature factor, "
        words = runs(words, heavy, with_firm_units_of(picture.critical.words))
    return runs(words, ".")


# -- temperatures --------------------------------------------------------------------------------------------------


def temperatures(result: DetailResult, shown: DisplayUnits = IN_SI) -> list[Block]:
    """Temperature factors, coldest points, probes and watched lines."""
    found: list[Block] = [
        paragraph(
            "These are estimates: two refinements of the mesh agree within the tolerance. They have no bracket. The "
            "coldest points hold for the surface resistances of the temperature factor, which is "
            "fRsi = (θsi − θe)/(θi − θe), θe being the coldest environment (ISO 10211; ISO 13788)."
        )
    ]
    axes = [(s.section.title or s.section.name, s.section.axes) for s in result.sections if s.section.axes]
    found += [paragraph(f"Places in {title}: {words}, in {shown.length_units}.") for title, words in axes]
    if result.f_rsi:
        found.append(_factors(result, shown))
        found += [paragraph(shown.sentence(words)) for words in dew_words(result, shown)]
    watched = [probe for section in result.sections for probe in section.watched]
    probes = [probe for section in result.sections for probe in section.probes]
    if watched:
        surfaces = result.hatch is not None
        words = "frame, reveal and lid" if surfaces else "watched lines, such as timber ends"
        found += [Heading(runs(f"Lowest temperatures along {words}"), level=2), _points(watched, shown)]
        found += [] if surfaces else [paragraph(OF_TIMBER)]
    if probes:
        found += [Heading(runs("Temperatures at probes"), level=2), _points(probes, shown)]
    return found


OF_TIMBER = (
    "A temperature alone says nothing about decay: that depends on moisture, air leakage and time. Where two sections "
    "give a temperature of the same timber, the lower one is the one to use."
)


def _factors(result: DetailResult, shown: DisplayUnits) -> Block:
    rows: list[tuple[Words, ...]] = [
        (
            factor.section,
            factor.environment,
            estimate(n.F_RSI, factor.value, factor.tolerance, shown),
            estimate(n.SURFACE_TEMPERATURE, factor.temperature, result.kelvin(factor), shown),
            place(factor.point, shown),
            value(n.RESISTANCE, factor.surface_resistance, shown),
        )
        for factor in result.f_rsi
    ]
    columns: list[tuple[Words, float]] = [
        ("section", 24),
        ("environment", 20),
        (symbol(n.F_RSI), 28),
        (runs("coldest point ", symbol(n.SURFACE_TEMPERATURE)), 32),
        ("at x, y", 26),
        (symbol(n.INTERNAL_SURFACE_RESISTANCE), 26),
    ]
    return table(columns, rows)


def _points(probes: list[ProbeResult], shown: DisplayUnits) -> Block:
    rows: list[tuple[Words, ...]] = [
        (
            probe.section,
            probe.name,
            estimate(n.TEMPERATURE, probe.temperature, probe.tolerance, shown),
            estimate(n.TEMPERATURE, probe.temperature_f_rsi, probe.tolerance, shown),
            place(probe.point, shown),
        )
        for probe in probes
    ]
    columns = [
        ("section", 24),
        ("what", 34),
        ("with the surface resistances of the heat flow", 36),
        ("with those of the temperature factor", 36),
        ("at x, y", 28),
    ]
    return table(columns, rows)


def place(point: Point, shown: DisplayUnits = IN_SI) -> str:
    """A point of a section to a tenth of a millimetre: meshes and estimates are no finer."""
    numbers, unit = shown.place(point).rsplit(" ", 1)
    return ", ".join(f"{number.replace('-', n.MINUS)}{FIRM}{unit}" for number in numbers.strip("()").split(", "))
