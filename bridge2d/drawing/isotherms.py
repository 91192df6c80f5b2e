"""Isotherms and heat-flow lines of a section: filled bands, labelled lines, and the scale that goes with them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from bridge2d.detail import Requirement
from bridge2d.drawing.callouts import Labelled, Words, together
from bridge2d.drawing.colours import GREY, HEAT_LINE, ink_on, temperature_colour
from bridge2d.drawing.contour import LinearField, isolines, linear_field, rings_above
from bridge2d.drawing.critical import CriticalLine, critical_line, is_among_surfaces
from bridge2d.drawing.frame import (
    AIR,
    ATTEMPTS,
    LABEL,
    LITTLE_AIR,
    NOTE,
    Frame,
    break_lines,
    continuation_note,
    for_paper,
    frame,
    groups_for_paper,
    outlines,
    scale_bar,
    widened,
)
from bridge2d.drawing.isotherm_labels import Span, line_labels, one_label, temperature_scale
from bridge2d.drawing.labels import air_masks, environment_labels
from bridge2d.drawing.lines import FloatArray
from bridge2d.drawing.marks import coldest_points, probe_marks
from bridge2d.drawing.scene import Clip, Item, Path, Placed, Run, Scene, Text, all_texts, runs, runs_width
from bridge2d.drawing.section_geometry import Box, SectionGeometry, section_geometry
from bridge2d.drawing.sheet import Sheet
from bridge2d.nomenclature import HEAT_FLOW, STREAM_FUNCTION, TEMPERATURE, Quantity, format_value
from bridge2d.results import SectionResult
from bridge2d.shown_units import IN_SI, DisplayUnits

STEPS = ((10.0, 1.0), (30.0, 2.0), (math.inf, 5.0))
"""Greatest span of temperatures for each step between isotherms [K]."""
FAHRENHEIT_STEPS = ((9.0, 1.0), (20.0, 2.0), (70.0, 5.0), (math.inf, 10.0))
"""The same in degrees Fahrenheit, whose isotherms stand at round numbers of their own."""
WANTED_HEAT_LINES = 16
FOOT = 6.0
LEGEND = 16.0
"""Width of the scale of temperatures beside the drawing [mm]."""
SCALE_BAR = 58.0
"""Width kept for the scale bar [mm]."""
BARE_WIDTH = 36.0
"""Least width of a bare picture, which its scale bar with its words needs [mm]."""
BARE_SCALE_BAR = 14.0
"""Greatest length of the scale bar under a bare picture, which may be narrow [mm]."""


class IsothermPicture(NamedTuple):
    """The picture and what its caption has to say.

    Attributes:
        scene: the picture with its scale of temperatures.
        step: between labelled isotherms, in degrees of the picture's units.
        heat_step: heat between neighbouring heat-flow lines, in their unit [W/m or Btu/(h·ft)], in a solid of
            revolution within the ring that they make [W or Btu/h]; 0 where there are none.
        critical: the heavy isotherm; None where none is drawn.
        of_revolution: whether the section is that of a solid of revolution.
        scale: 1 to this.
        notes: what has to be said under a bare picture; the others say it themselves.
        shown: the units of the picture.
    """

    scene: Scene
    step: float
    heat_step: float
    critical: CriticalLine | None
    of_revolution: bool = False
    scale: float = 0.0
    notes: tuple[Words, ...] = ()
    shown: DisplayUnits = IN_SI


def temperature_span(low: float, high: float, shown: DisplayUnits = IN_SI) -> Span:
    """The isotherms between two temperatures, at round numbers of the unit in which they are shown.

    Args:
        low: coldest temperature [°C].
        high: warmest temperature [°C].
        shown: units of the picture.
    """
    factor, zero = shown.scale(TEMPERATURE)
    low, high = factor * low + zero, factor * high + zero
    steps = STEPS if shown.is_si else FAHRENHEIT_STEPS
    return Span(low, high, next(size for reach, size in steps if high - low <= reach), shown.unit(TEMPERATURE))


def isotherm_picture(
    result: SectionResult,
    width: float = 168.0,
    height: float = 130.0,
    requirements: Sequence[Requirement] = (),
    geometry: SectionGeometry | None = None,
    shown: DisplayUnits = IN_SI,
    *,
    at_least: float = 0.0,
    span: Span | None = None,
    bare: bool = False,
    figures: bool = True,
) -> IsothermPicture:
    """Isotherms and heat-flow lines of a section.

    Args:
        result: the section's numbers.
        width: of the paper [mm].
        height: greatest height of the picture [mm].
        requirements: the detail's limits; one of f_Rsi says which isotherm is drawn heavy, see `critical_line`.
        geometry: the section's shapes, where they are known already.
        shown: units of the picture.
        at_least: the scale is 1 to this or smaller, for pictures that share one.
        span: range of temperatures that the colours stand for, in the picture's units; this section's own unless given.
        bare: whether scale of temperatures, notes, probes and environments are left out, because several pictures
            stand beside each other.
        figures: whether a bare picture says its scale in figures.
    """
    geometry = geometry or section_geometry(result)
    room = width if bare else width - LEGEND
    placed, sheet, labels = _labelled(result, geometry, room, height - FOOT - 2.0, shown, at_least, bare)
    fields = result.fields
    factor, zero = shown.scale(TEMPERATURE)
    degrees = factor * fields.temperature[geometry.nodes] + zero
    temperature = linear_field(geometry.points, geometry.triangles, degrees)
    span = span or common_span([result], shown)
    lines = [[placed.paper(points) for points, _ in found] for found in isolines(temperature, span.levels)]
    heat, heat_step = _heat_lines(result, placed)
    critical, heavy = _critical(result, placed, requirements)

    inside: list[Item] = _bands(placed, temperature, span)
    inside.append(Path(tuple(heat), stroke=HEAT_LINE, width=0.12))
    inside += _isotherms(lines, span)
    inside += [Path(for_paper(heavy), stroke="#111111", width=0.65)] if heavy else []
    items: list[Item] = [Clip((placed.window_ring,), tuple(inside))]
    items += outlines(placed, colour="#2b3235", thin=0.1, heavy=0.3) + break_lines(placed)
    along: list[Item] = []
    if critical:
        along += one_label(placed, sheet, heavy, runs(Run(critical.label, "bold")))
    along += line_labels(placed, sheet, lines, span.levels, span)
    drawing = Scene(placed.width, placed.height, (*items, *along, *labels.items))
    revolution, scale = result.section.revolution, placed.scale
    if bare:
        foot = scale_bar(placed, 0.0, 1.2, BARE_SCALE_BAR, figures=figures)
        wide = max(drawing.width, BARE_WIDTH)
        scene = Scene(wide, FOOT + drawing.height, (Placed(drawing, 0.0, FOOT), *foot))
        beyond = continuation_note(geometry, shown)
        notes = (*((runs(beyond),) if beyond else ()), *labels.notes)
        return IsothermPicture(scene, span.step, heat_step, critical, revolution, scale, notes, shown)
    scene = _with_foot(drawing, placed, width, span, labels.notes)
    return IsothermPicture(scene, span.step, heat_step, critical, revolution, scale, (), shown)


def common_span(results: Sequence[SectionResult], shown: DisplayUnits = IN_SI) -> Span:
    """The range of temperatures of some sections together, with the step between isotherms that suits it.

    Args:
        results: the sections' numbers.
        shown: units of the picture.
    """
    low = min(float(one.fields.temperature.min()) for one in results)
    high = max(float(one.fields.temperature.max()) for one in results)
    return temperature_span(low, high, shown)


def _labelled(
    result: SectionResult,
    geometry: SectionGeometry,
    width: float,
    height: float,
    shown: DisplayUnits,
    at_least: float,
    bare: bool,
) -> tuple[Frame, Sheet, Labelled]:
    """The section on paper with its labels, the paper around it widened until all have room."""
    placed = frame(geometry, width, height, at_least=at_least, beside=LITTLE_AIR if bare else AIR, shown=shown)
    for attempt in range(ATTEMPTS):
        final = attempt == ATTEMPTS - 1
        sheet = Sheet(placed.width, placed.height)
        masks = air_masks(placed, sheet)
        labels = together(
            [
                coldest_points(result, placed, sheet, masks, final=final),
                *([] if bare else [environment_labels(placed, sheet, masks, final=final)]),
                *([] if bare else [probe_marks(result, placed, sheet, final=final)]),
            ]
        )
        if not labels.crowded:
            break
        placed = widened(placed, labels.crowded, width)
    return placed, sheet, labels


def _bands(placed: Frame, field: LinearField, span: Span) -> list[Item]:
    """Bands from isotherm to isotherm, each painted over the colder ones; no seam can show."""
    levels = [-math.inf, *span.levels]
    found: list[Item] = []
    above = [[placed.paper(ring) for ring in rings] for rings in rings_above(field, levels)]
    for level, shape in zip(levels, groups_for_paper(above, closed=True), strict=True):
        colour = span.band_colour(level)
        if shape:
            found.append(Path(shape, closed=True, fill=colour, stroke=colour, width=0.06))
    return found


def _isotherms(lines: list[list[FloatArray]], span: Span) -> list[Item]:
    found: list[Item] = []
    for points, level in zip(groups_for_paper(lines), span.levels, strict=True):
        ground = temperature_colour(span.share(level))
        colour = "#f4f4ee" if ink_on(ground) == "#ffffff" else "#2b3235"
        found.append(Path(points, stroke=colour, width=0.2))
    return found


def _heat_lines(result: SectionResult, placed: Frame) -> tuple[list[FloatArray], float]:
    """Level lines of the stream function at equal steps, both halves of a mirrored section."""
    fields = result.fields
    values = placed.shown.scale(_heat_quantity(result.section.revolution))[0] * fields.stream
    stream = linear_field(fields.points, fields.triangles, values)
    low, high = seen_range(stream, placed.geometry.window)
    if high - low < 1e-9:
        return [], 0.0
    halves = 2 if result.section.mirrored else 1
    step = _round_step(halves * (high - low) / WANTED_HEAT_LINES)
    first = low
    if result.section.half:  # the axis is a heat-flow line: begin there, so that both halves match
        axis = np.abs(fields.points[fields.triangles][..., 0]) < 1e-9
        on_axis = np.sort(values[axis])
        first = float(on_axis[len(on_axis) // 2]) if len(on_axis) else low
    count_low, count_high = math.ceil((low - first) / step - 0.5), math.floor((high - first) / step - 0.5)
    levels = [first + (k + 0.5) * step for k in range(count_low, count_high + 1)]
    lines = [points for found in isolines(stream, levels) for points, _ in found]
    if result.section.half:
        lines += [points * (-1.0, 1.0) for points in lines]
    return list(for_paper([placed.paper(points) for points in lines])), step


def seen_range(field: LinearField, window: Box) -> tuple[float, float]:
    """Least and greatest value of a field within a window, its edges included.

    Args:
        field: the field.
        window: left, bottom, right and top [m].
    """
    x0, y0, x1, y1 = window
    inside = ((field.points >= (x0, y0)) & (field.points <= (x1, y1))).all(axis=1)
    values = [field.values[inside]]
    for axis in (0, 1):
        ends = window[1 - axis], window[3 - axis]
        values += [_along_edge(field, axis, place, ends) for place in (window[axis], window[axis + 2])]
    seen = np.concatenate(values)
    return (float(seen.min()), float(seen.max())) if len(seen) else (0.0, 0.0)


def _along_edge(field: LinearField, axis: int, place: float, ends: tuple[float, float]) -> FloatArray:
    """Values where triangles enter and leave a piece of a straight line: coordinate `axis` is `place`."""
    corner, value = field.points[field.triangles], field.values[field.triangles]
    beyond = corner[..., axis] >= place
    cut = beyond.any(axis=1) & ~beyond.all(axis=1)
    corner, value, beyond = corner[cut], value[cut], beyond[cut]
    single = beyond.sum(axis=1) == 1
    odd = np.where(single, np.argmax(beyond, axis=1), np.argmin(beyond, axis=1))
    rows = np.arange(len(odd))
    spots = []
    for step in (1, 2):  # two sides leave the corner that lies alone on its side of the line
        other = (odd + step) % 3
        a, b = corner[rows, odd], corner[rows, other]
        share = (place - a[:, axis]) / (b[:, axis] - a[:, axis])
        along = a[:, 1 - axis] + share * (b[:, 1 - axis] - a[:, 1 - axis])
        spots.append((along, value[rows, odd] + share * (value[rows, other] - value[rows, odd])))
    (start, from_value), (end, to_value) = spots
    met = (np.maximum(start, end) >= ends[0]) & (np.minimum(start, end) <= ends[1])
    start, end, from_value, to_value = start[met], end[met], from_value[met], to_value[met]
    length = np.where(np.abs(end - start) < 1e-15, 1.0, end - start)
    shares = [(np.clip(place_along, *ends) - start) / length for place_along in (start, end)]
    return np.concatenate([from_value + share * (to_value - from_value) for share in shares])


def _round_step(wanted: float) -> float:
    """The step 1, 2 or 5 times a power of ten nearest above what is wanted."""
    power = 10.0 ** math.floor(math.log10(wanted))
    return next(m * power for m in (1.0, 2.0, 5.0, 10.0) if m * power >= wanted * (1 - 1e-9))


def _critical(
    result: SectionResult, placed: Frame, requirements: Sequence[Requirement]
) -> tuple[CriticalLine | None, list[FloatArray]]:
    """The heavy isotherm and its lines [mm]; none where it meets no surface in the window."""
    geometry, fields = placed.geometry, result.fields
    critical = critical_line(result.section.environments, requirements, placed.shown)
    if critical is None or not is_among_surfaces(critical.temperature, result, geometry):
        return None, []
    field = linear_field(geometry.points, geometry.triangles, fields.temperature_f_rsi[geometry.nodes])
    return critical, [placed.paper(points) for points, _ in isolines(field, [critical.temperature])[0]]


def _with_foot(drawing: Scene, placed: Frame, width: float, span: Span, notes: Sequence[Words]) -> Scene:
    """Scale of lengths and notes under the drawing, scale of temperatures to its right."""
    bar = scale_bar(placed, 0.0, 1.2)
    beyond = runs(continuation_note(placed.geometry, placed.shown))
    after = max(SCALE_BAR, max(text.x + text.width for text in all_texts(bar)) + 4.0)
    beside = after + runs_width(beyond, LABEL) <= width
    notes = notes if beside or not beyond else (beyond, *notes)
    foot = FOOT + NOTE * len(notes)
    items: list[Item] = [Placed(drawing, 0.0, foot), Placed(Scene(width, FOOT, tuple(bar)), 0.0, foot - FOOT)]
    items += [Text(0.0, foot - FOOT - 2.2 - NOTE * k, words, LABEL, colour=GREY) for k, words in enumerate(notes)]
    if beside and beyond:
        items.append(Text(after, foot - FOOT + 0.6, beyond, LABEL, colour=GREY))
    _, y0, _, y1 = placed.window
    length = min(max(y1 - y0, 34.0), 90.0)
    top = foot + max(y1, length + 2.0)
    items += temperature_scale(drawing.width + 5.0, top - length, length, span)
    return Scene(width, max(foot + drawing.height, top + 5.0), tuple(items))


def heat_step_text(picture: IsothermPicture) -> str:
    """Heat between neighbouring heat-flow lines as the caption says it."""
    return format_value(picture.shown.quantity(_heat_quantity(picture.of_revolution)), picture.heat_step)


def _heat_quantity(of_revolution: bool) -> Quantity:
    """What passes between heat-flow lines."""
    return HEAT_FLOW if of_revolution else STREAM_FUNCTION
