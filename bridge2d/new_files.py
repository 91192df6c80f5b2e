"""Numbers of a detail file to begin with, as somebody would write them in either system of units.

Beside the flow: `listings` writes the file. Defaults are declared in SI; in inches they become what a rule shows.
"""

from __future__ import annotations

import json
import re

from bridge2d import units
from bridge2d.units import INCH_POUND, SI, Kind, UnitSystem

NEAR = 0.01
"""A default may change by this share when it is rounded to 1/16 in."""
EIGHTH = 8
"""Coordinates of the example are rounded to 1/8 in, so that edges that meet still do."""
_NUMBER = r"(?<![\w.\"-])-?[0-9]+(?:\.[0-9]+)?"


def toml_number(
    kind: Kind, value: float, system: UnitSystem = SI, low: float | None = None, high: float | None = None
) -> str:
    """A default as TOML: a bare number of the system, or a text such as "14 15/16 in".

    Args:
        kind: of the quantity.
        value: the default [SI].
        system: of the file's bare numbers.
        low: least value allowed [SI]; None where there is none.
        high: greatest value allowed [SI]; None where there is none.
    """
    if system == SI or not kind.inch_pound_unit:
        return units.plain(value / kind.factor)
    exact = kind.bare(value, system)
    for number, text in _rounded(kind, exact):
        read = kind.read(number, INCH_POUND)
        if (low is None or read >= low) and (high is None or read <= high):
            return text
    return units.plain(round(exact, 9))


def _rounded(kind: Kind, exact: float) -> list[tuple[float, str]]:
    """Ways to round a number, the plainest first, each as a number and as TOML."""
    found = []
    sixteenths = round(16.0 * exact)
    if kind.name == "length" and abs(sixteenths / 16.0 - exact) <= NEAR * abs(exact):
        number = sixteenths / 16.0
        text = f"{number:g}" if number.is_integer() else json.dumps(units.format_length_inches(number * units.INCH))
        found.append((number, text))
    digits = 4 if kind.name == "length" else 5
    number = round(exact, 6) if kind.name == "temperature" else float(f"{exact:.{digits}g}")
    return [*found, (number, units.plain(number))]


def example_in_inches(example: str) -> str:
    """The text of an example with blocks in inch-pound units, coordinates to 1/8 in.

    Args:
        example: TOML in SI, one key a line.
    """
    lines = []
    for line in example.splitlines():
        key = re.match(r"[# ]*(\w+) = ", line)
        lines.append(_converted(key[1], line) if key else line)
        if key and key[1] == "junction":
            lines.append(f"units = {json.dumps(INCH_POUND)}")
    text = "\n".join(lines) + "\n"
    text = text.replace(
        'in millimetres or text with a unit ("240 mm", "9 1/2 in")',
        'in inches or text with a unit ("9 1/2 in", "240 mm")',
    )
    text = text.replace("millimetres", "inches")
    return text.replace(units.CONDUCTIVITY.unit, units.CONDUCTIVITY.unit_in(INCH_POUND))


def _converted(key: str, line: str) -> str:
    """A line with its numbers in inch-pound units."""
    if key in ("polygon", "edge", "cut", "point", "lengths", "line", "holes"):
        return re.sub(_NUMBER, lambda found: _eighths(float(found[0])), line)
    kinds = {"temperature": units.TEMPERATURE, "surface_resistance": units.RESISTANCE}
    if "conductivity" in line:
        kinds[key] = units.CONDUCTIVITY
    kind = kinds.get(key)
    if kind is None:
        return line
    return re.sub(_NUMBER, lambda found: toml_number(kind, float(found[0]), INCH_POUND), line)


def _eighths(millimetres: float) -> str:
    return units.plain(round(EIGHTH * millimetres / 1000.0 / units.INCH) / EIGHTH)
