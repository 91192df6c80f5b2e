"""Isotherms and heat-flow lines of a section: filled bands, labelled lines, and the scale that goes with them."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from bridge2d.drawing.colours import GREY, HEAT_LINE, INK, ink_on, temperature_colour
from bridge2d.drawing.contour import LinearField, isolines, linear_field, rings_above
from bridge2d.drawing.fonts import MILLIMETRES_PER_POINT
from bridge2d.drawing.frame import (
    LABEL,
    Frame,
    break_lines,
    continuation_note,
    for_paper,
    frame,
    groups_for_paper,
    outlines,
    scale_bar,
)
from bridge2d.drawing.labels import air_mask, air_masks, backing, environment_labels, place_block
from bridge2d.drawing.lines import FloatArray
from bridge2d.drawing.marks import coldest_points
from bridge2d.drawing.scene import (
    Clip,
    Item,
    Path,
    Placed,
    Run,
    Scene,
    Text,
    circle_ring,
    rectangle_ring,
    runs,
    runs_width,
)
from bridge2d.drawing.section_geometry import SectionGeometry, section_geometry
from bridge2d.drawing.sheet import Sheet
from bridge2d.nomenclature import STREAM_FUNCTION, TEMPERATURE, format_estimate, format_value
from bridge2d.results import SectionResult
from bridge2d.standards import iso_13788

CRITICAL = round(iso_13788.lowest_surface_temperature(iso_13788.vapour_pressure(20.0, 0.5)), 1)
"""Lowest surface temperature without mould in a room of 20 °C and 50 % [°C], to one decimal (ISO 13788)."""
STEPS = ((10.0, 1.0), (30.0, 2.0), (math.inf, 5.0))
"""Greatest span of temperatures for each step between isotherms [K]."""
WANTED_HEAT_LINES = 16
FOOT = 6.0
LEGEND = 16.0
"""Width of the scale of temperatures beside the drawing [mm]."""
SCALE_BAR = 58.0
"""Width kept for the scale bar [mm]."""


class IsothermPicture(NamedTuple):
    """The picture and what its caption has to say.

    Attributes:
        scene: the picture with its scale of temperatures.
        step: between labelled isotherms [K].
        heat_step: heat between neighbouring heat-flow lines [W/m]; 0 where there are none.
        critical: the heavy isotherm [°C]; None where the section does not reach it.
    """

    scene: Scene
    step: float
    heat_step: float
    critical: float | None


def isotherm_picture(
    result: SectionResult,
    width: float = 168.0,
    height: float = 130.0,
    critical: float | None = CRITICAL,
    geometry: SectionGeometry | None = None,
) -> IsothermPicture:
    """Isotherms and heat-flow lines of a section.

    Args:
        result: the section's numbers.
        width: of the paper [mm].
        height: greatest height of the picture [mm].
        critical: temperature of the heavy line, with the surface resistances of the temperature factor [°C].
        geometry: the section's shapes, where they are known already.
    """
    geometry = geometry or section_geometry(result)
    placed = frame(geometry, width - LEGEND, height - FOOT - 2.0, with_dimensions=False)
    fields = result.fields
    temperature = linear_field(geometry.points, geometry.triangles, fields.temperature[geometry.nodes])
    low, high = float(fields.temperature.min()), float(fields.temperature.max())
    step = next(size for span, size in STEPS if high - low <= span)
    levels = _multiples(low, high, step)
    lines = [[placed.paper(points) for points, _ in found] for found in isolines(temperature, levels)]
    heat, heat_step = _heat_lines(result, placed)
    heavy = _critical_lines(result, placed, critical)
    sheet = Sheet(placed.width, placed.height)

    inside: list[Item] = _bands(placed, temperature, low, high, step)
    inside.append(Path(tuple(heat), stroke=HEAT_LINE, width=0.12))
    inside += _isotherms(lines, levels, low, high)
    inside.append(Path(for_paper(heavy), stroke="#111111", width=0.65))
    items: list[Item] = [Clip((placed.window_ring,), tuple(inside))]
    items += outlines(placed, colour="#2b3235", thin=0.1, heavy=0.3) + break_lines(placed)
    masks = air_masks(placed, sheet)
    items += coldest_points(result, placed, sheet, masks)
    items += environment_labels(placed, sheet, masks)[0]
    items += _probes(result, placed, sheet)
    if heavy and critical is not None:
        items += _line_labels(placed, sheet, [heavy], [critical], low, high, bold=True)
    items += _line_labels(placed, sheet, lines, levels, low, high)
    drawing = Scene(placed.width, placed.height, tuple(items))
    scene = _with_foot(drawing, placed, width, (low, high, step))
    return IsothermPicture(scene, step, heat_step, critical if heavy else None)


def _multiples(low: float, high: float, step: float) -> list[float]:
    return [k * step for k in range(math.ceil(low / step + 1e-6), math.floor(high / step - 1e-6) + 1)]


def _bands(placed: Frame, field: LinearField, low: float, high: float, step: float) -> list[Item]:
    """Bands from isotherm to isotherm, each painted over the colder ones; no seam can show."""
    levels = [-math.inf, *_multiples(low, high, step)]
    found: list[Item] = []
    above = [[placed.paper(ring) for ring in rings] for rings in rings_above(field, levels)]
    for level, shape in zip(levels, groups_for_paper(above, closed=True), strict=True):
        colour = _band_colour(level, low, high, step)
        if shape:
            found.append(Path(shape, closed=True, fill=colour, stroke=colour, width=0.06))
    return found


def _band_colour(level: float, low: float, high: float, step: float) -> str:
    """Colour of the band from a level to the next one."""
    whole = math.floor(max(level, low) / step + 1e-6)
    middle = 0.5 * (max(whole * step, low) + min((whole + 1) * step, high))
    return temperature_colour((middle - low) / max(high - low, 1e-9))


def _isotherms(lines: list[list[FloatArray]], levels: list[float], low: float, high: float) -> list[Item]:
    found: list[Item] = []
    for points, level in zip(groups_for_paper(lines), levels, strict=True):
        ground = temperature_colour((level - low) / (high - low))
        colour = "#f4f4ee" if ink_on(ground) == "#ffffff" else "#2b3235"
        found.append(Path(points, stroke=colour, width=0.2))
    return found


def _heat_lines(result: SectionResult, placed: Frame) -> tuple[list[FloatArray], float]:
    """Level lines of the stream function at equal steps, both halves of a mirrored section."""
    fields = result.fields
    stream = linear_field(fields.points, fields.triangles, fields.stream)
    x0, y0, x1, y1 = placed.geometry.window
    seen = stream.values[((stream.points >= (x0, y0)) & (stream.points <= (x1, y1))).all(axis=1)]
    low, high = float(seen.min()), float(seen.max())
    if high - low < 1e-9:
        return [], 0.0
    halves = 2 if result.section.mirrored else 1
    step = _round_step(halves * (high - low) / WANTED_HEAT_LINES)
    first = low
    if result.section.mirrored:  # the axis is a heat-flow line: begin there, so that both halves match
        axis = np.abs(fields.points[fields.triangles][..., 0]) < 1e-9
        on_axis = np.sort(fields.stream[axis])
        first = float(on_axis[len(on_axis) // 2]) if len(on_axis) else low
    count_low, count_high = math.ceil((low - first) / step - 0.5), math.floor((high - first) / step - 0.5)
    levels = [first + (k + 0.5) * step for k in range(count_low, count_high + 1)]
    lines = [points for found in isolines(stream, levels) for points, _ in found]
    if result.section.mirrored:
        lines += [points * (-1.0, 1.0) for points in lines]
    return list(for_paper([placed.paper(points) for points in lines])), step


def _round_step(wanted: float) -> float:
    """The step 1, 2 or 5 times a power of ten nearest above what is wanted."""
    power = 10.0 ** math.floor(math.log10(wanted))
    return next(m * power for m in (1.0, 2.0, 5.0, 10.0) if m * power >= wanted * (1 - 1e-9))


def _critical_lines(result: SectionResult, placed: Frame, critical: float | None) -> list[FloatArray]:
    if critical is None:
        return []
    geometry, fields = placed.geometry, result.fields
    field = linear_field(geometry.points, geometry.triangles, fields.temperature_f_rsi[geometry.nodes])
    return [placed.paper(points) for points, _ in isolines(field, [critical])[0]]


# -- labels --------------------------------------------------------------------------------------------------------


def _line_labels(
    placed: Frame,
    sheet: Sheet,
    lines: list[list[FloatArray]],
    levels: list[float],
    low: float,
    high: float,
    *,
    bold: bool = False,
) -> list[Item]:
    """The temperature on each isotherm, along its straightest free piece."""
    found: list[Item] = []
    for points, level in zip(lines, levels, strict=True):
        words = runs(Run(f"{level:g}".replace("-", "−") + (" °C" if bold else ""), "bold" if bold else "regular"))
        text = _along_line(placed, sheet, points, words)
        if text is None:
            continue
        ground = "#ffffff" if bold else temperature_colour((level - low) / (high - low))
        text = Text(text.x, text.y, words, LABEL, "middle", text.rotation, INK if bold else ink_on(ground))
        sheet.take_text(text, 0.8)
        found += [Clip((placed.window_ring,), (backing(text, ground),)), text]
    return found


def _along_line(placed: Frame, sheet: Sheet, lines: list[FloatArray], words: tuple[Run, ...]) -> Text | None:
    x0, y0, x1, y1 = placed.window
    width = runs_width(words, LABEL) + 1.2
    middle = np.array([0.5 * (x0 + x1), 0.5 * (y0 + y1)])
    spots = []
    for points in sorted(lines, key=len, reverse=True)[:3]:
        lengths = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
        if lengths[-1] < width:
            continue
        at = np.arange(0.5 * width, lengths[-1] - 0.5 * width + 1e-9, 2.5)
        ends = [np.stack([np.interp(at + s * width, lengths, points[:, k]) for k in (0, 1)], 1) for s in (-0.5, 0.5)]
        chord = ends[1] - ends[0]
        centre = np.stack([np.interp(at, lengths, points[:, k]) for k in (0, 1)], 1)
        bend = np.hypot(*(0.5 * (ends[0] + ends[1]) - centre).T)
        inside = (centre > (x0 + 0.6 * width, y0 + 2)).all(axis=1) & (centre < (x1 - 0.6 * width, y1 - 2)).all(axis=1)
        cost = 12.0 * bend + 0.25 * np.hypot(*(centre - middle).T)
        spots += [
            (c, *p, math.degrees(math.atan2(d[1], d[0])))
            for c, p, d in zip(cost[inside].tolist(), centre[inside].tolist(), chord[inside].tolist(), strict=True)
        ]
    for _, x, y, turn in sorted(spots)[:60]:
        upright = 90.0 - (90.0 - turn) % 180.0  # read from below or from the right
        rise = math.radians(upright)
        wide, high = 0.5 * width + 0.3, 0.5 * LABEL * MILLIMETRES_PER_POINT + 0.5
        half_x = wide * math.cos(rise) + high * abs(math.sin(rise))
        half_y = wide * abs(math.sin(rise)) + high * math.cos(rise)
        if sheet.is_free(x - half_x, y - half_y, x + half_x, y + half_y):
            return Text(x + 0.85 * math.sin(rise), y - 0.85 * math.cos(rise), words, LABEL, "middle", upright)
    return None


def _probes(result: SectionResult, placed: Frame, sheet: Sheet) -> list[Item]:
    """A ring at each probe, with its name and temperature."""
    found: list[Item] = []
    x0, y0, x1, y1 = placed.window
    near = sheet.box(x0 - 3, y0 - 3, x1 + 3, y1 + 3) | air_mask(placed, sheet)
    for probe in (*result.probes, *result.watched):
        at = placed.paper(np.array([probe.point]))[0]
        if not (x0 - 0.1 <= at[0] <= x1 + 0.1 and y0 - 0.1 <= at[1] <= y1 + 0.1):
            continue
        found.append(Path((circle_ring(at, 0.7, 20),), closed=True, fill="#ffffff", stroke=INK, width=0.25))
        sheet.take_box(at[0] - 0.9, at[1] - 0.9, at[0] + 0.9, at[1] + 0.9)
        value = format_estimate(TEMPERATURE, probe.temperature, 0.0).partition(" (")[0]
        texts = place_block(sheet, near, [runs(f"{probe.name} {value}")], at, size=6.2)
        found += [backing(text, pad=0.8) for text in texts] + list(texts)
    return found


def _with_foot(drawing: Scene, placed: Frame, width: float, span: tuple[float, float, float]) -> Scene:
    """Scale of lengths under the drawing, scale of temperatures to its right."""
    items: list[Item] = [Placed(drawing, 0.0, FOOT), *scale_bar(placed, 0.0, 1.2)]
    note = continuation_note(placed.geometry)
    if note:
        items.append(Text(SCALE_BAR, 0.6, runs(note), LABEL, colour=GREY))
    _, y0, _, y1 = placed.window
    length = min(max(y1 - y0, 34.0), 90.0)
    top = FOOT + max(y1, length + 2.0)
    items += _temperature_scale(drawing.width + 5.0, top - length, length, span)
    return Scene(width, max(FOOT + drawing.height, top + 5.0), tuple(items))


def _temperature_scale(x: float, base: float, length: float, span: tuple[float, float, float]) -> list[Item]:
    """An upright scale of temperatures; its lower end at a place [mm]."""
    low, high, step = span
    reach = max(high - low, 1e-9)
    found: list[Item] = []
    for a, b in pairwise([low, *_multiples(low, high, step), high]):
        colour = _band_colour(a, low, high, step)
        y0, y1 = (base + length * (v - low) / reach for v in (a, b))
        ring = rectangle_ring(x, y0, x + 3.2, y1)
        found.append(Path((ring,), closed=True, fill=colour, stroke=colour, width=0.05))
    frame_ring = rectangle_ring(x, base, x + 3.2, base + length)
    found.append(Path((frame_ring,), closed=True, stroke=INK, width=0.13))
    shown = _multiples(low, high, step)
    every = max(math.ceil(len(shown) * 3.4 / length), 1)
    for level in shown[::every]:
        y = base + length * (level - low) / reach
        found.append(Path((np.array([[x + 3.2, y], [x + 4.0, y]]),), stroke=INK, width=0.13))
        found.append(Text(x + 8.6, y - 0.8, runs(f"{level:g}".replace("-", "−")), 6.2, "end"))
    found.append(Text(x, base + length + 1.4, runs("°C"), 6.2))
    return found


def heat_step_text(picture: IsothermPicture) -> str:
    """Heat between neighbouring heat-flow lines as the caption says it."""
    return format_value(STREAM_FUNCTION, picture.heat_step)
