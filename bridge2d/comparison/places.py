"""What is said of places: where the coldest point is, and whether the room air's dew point is reached."""

from __future__ import annotations

import re
from collections.abc import Sequence

from bridge2d import nomenclature as n
from bridge2d.comparison.numbers import coldest
from bridge2d.comparison.records import Option, WordRow
from bridge2d.detail import Point
from bridge2d.results import AirtightResult
from bridge2d.shown_units import DisplayUnits

NO_HUMIDITY = "humidity of the room air not given"


def place_row(options: Sequence[Option], shown: DisplayUnits) -> WordRow | None:
    """Where the coldest inside surface of each option is; None where no option has one."""
    found = [coldest(option.result) for option in options]
    if not any(found):
        return None
    words: list[str] = []
    data: list[dict[str, object] | None] = []
    for option, factor in zip(options, found, strict=True):
        if factor is None:
            words.append("none")
            data.append(None)
            continue
        many = len(option.result.sections) > 1
        where = f"x, y = {_place(factor.point, shown)}"
        words.append(f"{factor.section}, {where}" if many else where)
        point = [round(1000.0 * x, 6) for x in factor.point]
        data.append({"section": factor.section, "environment": factor.environment, "point": point})
    return WordRow("coldest place", "where the coldest inside surface is", tuple(words), tuple(data))


def _place(point: Point, shown: DisplayUnits) -> str:
    return re.sub("[()]", "", shown.place(point)).replace("-", n.MINUS)


def dew_rows(options: Sequence[Option], shown: DisplayUnits) -> tuple[WordRow | None, ...]:
    """Whether the dew point is reached on the coldest surface, and along the airtight layer."""
    on_surface = [_on_surface(option, shown) for option in options]
    along = [_along(option, shown) for option in options]
    return (
        _row("dew point on the surface", "is the dew point reached on the inside surface?", on_surface),
        _row("dew point along the airtight layer", "is the dew point reached along the airtight layer?", along),
    )


Found = tuple[str, dict[str, object] | None]


def _row(key: str, name: str, found: Sequence[Found]) -> WordRow | None:
    if all(data is None for _, data in found):
        return None
    return WordRow(key, name, tuple(words for words, _ in found), tuple(data for _, data in found))


def _on_surface(option: Option, shown: DisplayUnits) -> Found:
    """The coldest surface against the dew point of its own room."""
    worst: Found = (NO_HUMIDITY, None)
    least = float("inf")
    for factor in option.result.f_rsi:
        dew = option.result.environment_of(factor).dew_point
        if dew is not None and factor.temperature - dew < least:
            least = factor.temperature - dew
            worst = _against(dew, factor.temperature, option.result.kelvin(factor), shown)
    return worst


def _along(option: Option, shown: DisplayUnits) -> Found:
    """The coldest place along the airtight layers against the dew point; a broken layer is said so."""
    layers = [section.airtight for section in option.result.sections if section.airtight is not None]
    if not layers:
        return "no airtight layer drawn", None
    broken = any(layer.breaks for layer in layers)
    known = [layer for layer in layers if layer.dew_point is not None]
    if not known:
        return NO_HUMIDITY, None
    worst: AirtightResult = min(known, key=lambda layer: layer.temperature - (layer.dew_point or 0.0))
    words, data = _against(worst.dew_point or 0.0, worst.temperature, worst.tolerance, shown)
    assert data is not None
    return (f"{words}; layer BROKEN" if broken else words), {**data, "unbroken": not broken}


def _against(dew: float, temperature: float, tolerance: float, shown: DisplayUnits) -> Found:
    """Whether a temperature reaches the dew point, with the margin."""
    margin = temperature - dew
    reached = None if abs(margin) <= tolerance else margin < 0
    by = shown.estimate(n.TEMPERATURE_DIFFERENCE, abs(margin), tolerance)
    side = "below" if margin < 0 else "above"
    word = {True: "yes", False: "no", None: "cannot be told"}[reached]
    data: dict[str, object] = {
        "dew_point": dew,
        "temperature": temperature,
        "tolerance": tolerance,
        "reached": reached,
    }
    return f"{word}: {by} {side} {shown.value(n.DEW_POINT, dew)}", data
