"""The heavy isotherm: the surface temperature below which mould may grow, or that a limit of f_Rsi means."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from bridge2d.detail import Environment, Requirement
from bridge2d.drawing.scene import Run, runs, symbol_runs
from bridge2d.drawing.section_geometry import NEAR, SectionGeometry, distance_to
from bridge2d.nomenclature import EXTERNAL_TEMPERATURE, F_RSI
from bridge2d.results import SectionResult
from bridge2d.shown_units import IN_SI, DisplayUnits
from bridge2d.standards import iso_13788

USUAL_HUMIDITY = 0.5
"""Relative humidity of a room where none is given [1] (DIN 4108-2, remembered)."""


class CriticalLine(NamedTuple):
    """The heavy isotherm: its temperature [°C], what it means in words, and the units in which it is written."""

    temperature: float
    words: tuple[Run, ...]
    shown: DisplayUnits = IN_SI

    @property
    def label(self) -> str:
        """The temperature as it is written on the line."""
        return self.shown.degrees(self.temperature)


def critical_line(
    environments: Sequence[Environment], requirements: Sequence[Requirement] = (), shown: DisplayUnits = IN_SI
) -> CriticalLine | None:
    """What the heavy isotherm is: a limit of f_Rsi where the detail has one, else the onset of mould.

    Args:
        environments: of the section; its room is the warmest one.
        requirements: the detail's limits; of several limits of f_Rsi the strictest counts.
        shown: units in which it is written.

    Returns:
        None where the room is too hot or too cold for the formulas of vapour pressure, or as cold as outside.
    """
    room = max(environments, key=lambda e: e.temperature)
    outside = min(environments, key=lambda e: e.temperature)
    limits = [one.limit for one in requirements if one.quantity == "f_rsi" and one.sense == "minimum"]
    if room.temperature <= outside.temperature:
        return None
    if limits:
        temperature = outside.temperature + max(limits) * (room.temperature - outside.temperature)
        between = f"{shown.value(EXTERNAL_TEMPERATURE, outside.temperature)} and {shown.degrees(room.temperature)}"
        limit = f" ≥ {shown.value(F_RSI, max(limits))} between {between}"
        return CriticalLine(temperature, runs("the limit ", symbol_runs(F_RSI.symbol), limit), shown)
    humidity = getattr(room, "humidity", None)
    humidity = USUAL_HUMIDITY if humidity is None else float(humidity)
    try:
        pressure = iso_13788.vapour_pressure(room.temperature, humidity)
        temperature = iso_13788.lowest_surface_temperature(pressure)
    except ValueError:
        return None
    words = (
        f"where it meets an inside surface, air of {shown.degrees(room.temperature)} and {100 * humidity:g} % relative "
        f"humidity reaches {100 * iso_13788.CRITICAL_HUMIDITY:g} % there (ISO 13788)"
    )
    return CriticalLine(temperature, runs(words), shown)


def is_among_surfaces(temperature: float, result: SectionResult, geometry: SectionGeometry) -> bool:
    """Whether a temperature lies between the coldest and the warmest surface drawn.

    Args:
        temperature: with the surface resistances of the temperature factor [°C].
        result: the section's numbers.
        geometry: says which part is drawn.
    """
    fields = result.fields
    x0, y0, x1, y1 = geometry.window
    drawn = ((geometry.points > (x0 - NEAR, y0 - NEAR)) & (geometry.points < (x1 + NEAR, y1 + NEAR))).all(axis=1)
    points, nodes = geometry.points[drawn], geometry.nodes[drawn]
    on_surface = np.zeros(len(points), dtype=bool)
    for face in geometry.faces:
        for line in face.lines:
            for start, end in pairwise(line):
                on_surface |= distance_to(points, start, end) < NEAR
    seen = fields.temperature_f_rsi[nodes[on_surface]]
    return bool(len(seen)) and float(seen.min()) < temperature < float(seen.max())
