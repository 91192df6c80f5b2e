"""What is different in the input: parameters of one junction by symbol and unit, parts of a free section by name."""

from __future__ import annotations

from collections.abc import Sequence

from bridge2d import units
from bridge2d.comparison.records import InputRow, Option
from bridge2d.detail import Point, Region, Section, Surface
from bridge2d.materials import Material
from bridge2d.nomenclature import MINUS
from bridge2d.shown_units import IN_SI, DisplayUnits

FEW_CORNERS = 6
"""An outline of so many corners is written out; of a longer one the corners that differ."""
MOST_TOLD = 4
NOT_THERE = "– (not there)"
"""Said of a parameter without effect in an option, because the piece is not there or another choice was made."""
Key = tuple[str, str]
"""Symbol and label."""


def differing_input(options: Sequence[Option], shown: DisplayUnits = IN_SI) -> tuple[InputRow, ...]:
    """What is not the same in all options; empty where they have one and the same input.

    Where junctions differ, that comes first, and of their parameters only those that both have are compared.

    Args:
        options: the options.
        shown: units of what is told of free sections; parameters have those in which their files were read.
    """
    kinds = [option.result.detail.junction.replace("_", " ") for option in options]
    rows = [InputRow("", "junction", tuple(kinds))] if len(set(kinds)) > 1 else []
    told = [_told(option, shown) for option in options]
    keys = dict.fromkeys(key for one in told for key in one)
    for key in keys:
        values = [one.get(key, "") for one in told]
        shared = sum(key in one for one in told)
        if len(set(values)) > 1 and (shared > 1 or len(set(kinds)) == 1):
            rows.append(InputRow(key[0], key[1], tuple(_typed(value) or "–" for value in values)))
    rows += _outlines(options, shown)
    return tuple(rows)


def _typed(text: str) -> str:
    """A value with a proper minus."""
    return MINUS + text[1:] if text[:1] == "-" and text[1:2].isdigit() else text


def _told(option: Option, shown: DisplayUnits) -> dict[Key, str]:
    """Everything that is given of an option, by symbol and label; outlines apart, see `_outlines`."""
    detail = option.result.detail
    if detail.parameters:
        return {row[:2]: NOT_THERE if row[:2] in detail.unused else row[2] for row in detail.parameters}
    found: dict[Key, str] = {}
    for section in detail.sections:
        found |= _section_told(section, shown)
    return found


def _section_told(section: Section, shown: DisplayUnits) -> dict[Key, str]:
    found: dict[Key, str] = {}
    for name, region in _by_name(section.regions).items():
        found["λ", f"{name}: material"] = _material(region, shown)
        if region.grain_direction is not None:
            found["α", f"{name}: direction of the grain"] = f"{units.plain(region.grain_direction)} deg"
    for environment in section.environments:
        found["θ", f"{environment.name}: temperature"] = shown.sentence(f"{units.plain(environment.temperature)} °C")
        if environment.humidity is not None:
            found["φ", f"{environment.name}: relative humidity"] = units.plain(environment.humidity)
    for name, surface in _surfaces(section).items():
        found["R_s", f"{name}: surface resistance"] = shown.sentence(f"{units.plain(surface.resistance)} m²·K/W")
        found["R_s,f", f"{name}: surface resistance for the temperature factor"] = shown.sentence(
            f"{units.plain(surface.f_rsi_resistance)} m²·K/W"
        )
    for element in section.flanking:
        for system, length in element.lengths.items():
            found["l", f"{element.name}: {system.replace('_', ' ')} length"] = shown.length(length)
        found["", f"{element.name}: cut plane"] = _points(element.cut, shown)
    return found


def _material(region: Region, shown: DisplayUnits) -> str:
    material: Material = region.material
    if region.cavity is not None:
        kind = "slightly ventilated" if region.cavity.slightly_ventilated else "unventilated"
        return f"cavity, {kind}, emissivity {units.plain(region.cavity.emissivity)}"
    text = f"{units.plain(material.conductivity)} W/(m·K)"
    if material.conductivity_along is not None:
        text += f" across and {units.plain(material.conductivity_along)} W/(m·K) along the grain"
    return f"{shown.made_name(material.name)}, {shown.sentence(text)}"


def _by_name(regions: Sequence[Region]) -> dict[str, Region]:
    """Regions by name; further ones of a name are counted."""
    found: dict[str, Region] = {}
    for region in regions:
        number, name = 2, region.name
        while name in found:
            name, number = f"{region.name} ({number})", number + 1
        found[name] = region
    return found


def _surfaces(section: Section) -> dict[str, Surface]:
    """Surfaces by the name of their environment; further ones are counted."""
    found: dict[str, Surface] = {}
    for surface in section.surfaces:
        number, name = 2, surface.environment
        while name in found:
            name, number = f"{surface.environment}, piece {number}", number + 1
        found[name] = surface
    return found


# -- shapes --------------------------------------------------------------------------------------------------------


def _outlines(options: Sequence[Option], shown: DisplayUnits) -> list[InputRow]:
    """Regions, surfaces and airtight pieces of free sections whose lines differ, or that an option lacks."""
    if any(option.result.detail.parameters for option in options):
        return []
    told = [_lines(option) for option in options]
    rows = []
    for label in dict.fromkeys(label for one in told for label in one):
        lines = [one.get(label) for one in told]
        if any(line != lines[0] for line in lines[1:]):
            rows.append(InputRow("", label, tuple(_line_words(lines, shown))))
    return rows


def _lines(option: Option) -> dict[str, tuple[Point, ...]]:
    found: dict[str, tuple[Point, ...]] = {}
    for section in option.result.detail.sections:
        for name, region in _by_name(section.regions).items():
            found[f"{name}: outline"] = region.polygon
            for number, hole in enumerate(region.holes, start=1):
                found[f"{name}: hole {number}"] = hole
        for name, surface in _surfaces(section).items():
            found[f"{name}: edge"] = surface.edge
        for number, piece in enumerate(section.airtight, start=1):
            found[f"airtight layer, {piece.name or f'piece {number}'}"] = piece.line
    return found


def _line_words(lines: Sequence[tuple[Point, ...] | None], shown: DisplayUnits) -> list[str]:
    """Each line's corners; of long ones how many there are, and those that not all lines have."""
    common = set.intersection(*(set(line) for line in lines if line is not None))
    words = []
    for line in lines:
        if line is None:
            words.append("–")
        elif len(line) <= FEW_CORNERS:
            words.append(_points(line, shown))
        else:
            own = [point for point in line if point not in common]
            more = " …" if len(own) > MOST_TOLD else ""
            differing = f", of these {_points(own[:MOST_TOLD], shown)}{more}" if own else ""
            words.append(f"{len(line)} corners{differing}")
    return words


def _points(points: Sequence[Point], shown: DisplayUnits) -> str:
    if shown.is_si:
        pairs = [", ".join(units.plain(round(1000.0 * c, 3) + 0.0) for c in point) for point in points]
    else:
        pairs = [", ".join(units.plain(round(c / units.INCH, 4) + 0.0) for c in point) for point in points]
    return " ".join(f"({pair})" for pair in pairs).replace("-", MINUS) + f" {shown.length_unit}"
