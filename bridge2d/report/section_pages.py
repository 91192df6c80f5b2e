"""The report's chapters on the sections: drawings, and the temperatures of surfaces and timber."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from bridge2d import nomenclature as n
from bridge2d.detail import Point
from bridge2d.drawing.isotherms import CRITICAL, IsothermPicture, heat_step_text, isotherm_picture
from bridge2d.drawing.scene import Run, runs
from bridge2d.drawing.section_drawing import dimensioned_section
from bridge2d.drawing.section_geometry import section_geometry
from bridge2d.materials import Material
from bridge2d.report.layout import (
    BOTTOM,
    PAGE_HEIGHT,
    TOP,
    WIDTH,
    Block,
    Figure,
    Heading,
    NewPage,
    Paragraph,
    Space,
    paragraph,
)
from bridge2d.report.tables import table
from bridge2d.report.text import Words
from bridge2d.report.words import FIRM, estimate, firm, length, symbol, value
from bridge2d.results import DetailResult, ProbeResult, SectionResult, TemperatureFactor

DRAWING_HEIGHT = 118.0
LEAST_ISOTHERMS, GREATEST_ISOTHERMS = 70.0, 112.0
"""Height of the pictures [mm]."""


def drawings(sections: Sequence[SectionResult], numbers: Mapping[Material, int]) -> list[Block]:
    """The two pictures of every section, each section on a page of its own.

    Args:
        sections: the sections' numbers.
        numbers: of the materials.
    """
    found: list[Block] = [paragraph(HOW_TO_READ, size=8.0, width=WIDTH - 12.0)]
    taken = Heading(runs("Sections"), "1").height + found[0].height
    for k, section in enumerate(sections):
        found += [NewPage()] if k else []
        found += _two_pictures(section, numbers, 2 * k + 1, PAGE_HEIGHT - TOP - BOTTOM - taken)
        taken = 0.0
    return found


HOW_TO_READ = (
    "Numbers in circles are those of the table of materials. ▼ marks the coldest point of an inside surface, "
    "computed with the surface resistances of the temperature factor; isotherms and heat-flow lines belong to those "
    f"of the heat flow. The heavy line is the isotherm of {firm(f'{CRITICAL:g} °C')} with the surface resistances of "
    f"the temperature factor: where it meets an inside surface, air of 20 °C and 50 % relative humidity reaches 80 % "
    f"there (ISO 13788)."
)


def _two_pictures(result: SectionResult, numbers: Mapping[Material, int], figure: int, room: float) -> list[Block]:
    title = result.section.title or result.section.name
    geometry = section_geometry(result)
    scene = dimensioned_section(result, WIDTH, DRAWING_HEIGHT, numbers, geometry)
    whole = ", drawn whole; only the half at x ≥ 0 was computed" if result.section.mirrored else ""
    first = Figure(scene, _caption(figure, f"{title}, dimensions and materials{whole}."))
    head = Heading(runs(title), level=2)
    left = room - head.height - first.height - 20.0
    height = min(max(left, LEAST_ISOTHERMS), GREATEST_ISOTHERMS)
    picture = isotherm_picture(result, WIDTH, height, CRITICAL, geometry)
    second = Figure(picture.scene, _caption(figure + 1, _isotherm_words(title, picture)))
    return [head, Space(1.5), first, Space(3.0), second]


def _caption(number: int, words: str) -> Paragraph:
    return paragraph(runs(Run(f"Figure {number}{FIRM}{FIRM}", "bold"), words), size=8.0, width=WIDTH - 12.0)


def _isotherm_words(title: str, picture: IsothermPicture) -> str:
    words = f"{title}, isotherms every {firm(f'{picture.step:g} K')}"
    if picture.heat_step:
        words += f"; thin heat-flow lines, between neighbours {firm(f'q = {heat_step_text(picture)}')}"
    return f"{words}."


# -- temperatures --------------------------------------------------------------------------------------------------


def temperatures(result: DetailResult) -> list[Block]:
    """Temperature factors, coldest points, probes and watched lines."""
    found: list[Block] = [
        paragraph(
            "These are estimates: two refinements of the mesh agree within the tolerance. They have no bracket. The "
            "coldest points hold for the surface resistances of the temperature factor."
        )
    ]
    if result.f_rsi:
        found.append(_factors(result))
    watched = [probe for section in result.sections for probe in section.watched]
    probes = [probe for section in result.sections for probe in section.probes]
    if watched:
        found.append(Heading(runs("Lowest temperatures along watched lines, such as timber ends"), level=2))
        found.append(_points(watched))
        found.append(
            paragraph(
                "A temperature alone says nothing about decay: that depends on moisture, air leakage and time. Where "
                "two sections give a temperature of the same timber, the lower one is the one to use."
            )
        )
    if probes:
        found.append(Heading(runs("Temperatures at probes"), level=2))
        found.append(_points(probes))
    return found


def _factors(result: DetailResult) -> Block:
    rows: list[tuple[Words, ...]] = [
        (
            factor.section,
            factor.environment,
            estimate(n.F_RSI, factor.value, factor.tolerance),
            estimate(n.SURFACE_TEMPERATURE, factor.temperature, _kelvin(result, factor)),
            place(factor.point),
            value(n.RESISTANCE, factor.surface_resistance),
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


def _kelvin(result: DetailResult, factor: TemperatureFactor) -> float:
    """The factor's tolerance as one of the temperature [K]: times the span from the coldest environment."""
    section = next(s.section for s in result.sections if s.section.name == factor.section)
    given = {e.name: e.temperature for e in section.environments}
    return factor.tolerance * abs(given[factor.environment] - min(given.values()))


def _points(probes: list[ProbeResult]) -> Block:
    rows: list[tuple[Words, ...]] = [
        (
            probe.section,
            probe.name,
            estimate(n.TEMPERATURE, probe.temperature, probe.tolerance),
            estimate(n.TEMPERATURE, probe.temperature_f_rsi, probe.tolerance),
            place(probe.point),
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


def place(point: Point) -> str:
    """A point of a section in millimetres."""
    return f"{length(point[0])}, {length(point[1])}"
