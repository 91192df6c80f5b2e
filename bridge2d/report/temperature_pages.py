"""The report's chapter on the temperatures of surfaces and timber."""

from __future__ import annotations

from bridge2d import nomenclature as n
from bridge2d.detail import Point
from bridge2d.drawing.scene import runs
from bridge2d.report.layout import (
    Block,
    Heading,
    paragraph,
)
from bridge2d.report.opening import dew_words
from bridge2d.report.tables import table
from bridge2d.report.text import Words
from bridge2d.report.words import FIRM, estimate, symbol, value
from bridge2d.results import DetailResult, ProbeResult
from bridge2d.shown_units import IN_SI, DisplayUnits

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
