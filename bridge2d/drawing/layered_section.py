"""A section in layers that can be shown or left out, for the local page, where parts of it answer to the pointer.

Everything stands on one frame: materials or bands of temperature, isotherms, heat-flow lines, dimension chains, the
airtight layer, the coldest points. Each chain's pieces carry the name of the parameter that they measure.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from typing import NamedTuple

from bridge2d.detail import Detail, Dimension
from bridge2d.drawing.automatic_dimensions import drawn_dimensions
from bridge2d.drawing.callouts import Labelled, together
from bridge2d.drawing.colours import ACCENT, GREY, HEAT_LINE
from bridge2d.drawing.contour import isolines, linear_field
from bridge2d.drawing.dimensions import Chains, Segment
from bridge2d.drawing.frame import (
    ATTEMPTS,
    LABEL,
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
from bridge2d.drawing.isotherms import _bands, _critical, _heat_lines, _isotherms, common_span
from bridge2d.drawing.labels import air_masks, environment_labels
from bridge2d.drawing.lines import FloatArray
from bridge2d.drawing.marks import airtight_labels, airtight_lines, coldest_points, probe_marks
from bridge2d.drawing.material_marks import material_marks
from bridge2d.drawing.scene import Clip, Item, Path, Placed, Run, Scene, Text, line, runs
from bridge2d.drawing.section_drawing import _chains, _shapes
from bridge2d.drawing.section_geometry import SectionGeometry, section_geometry
from bridge2d.drawing.sheet import Sheet
from bridge2d.drawing.shown_materials import material_numbers
from bridge2d.drawing.svg import Layer, layers_svg
from bridge2d.materials import Material
from bridge2d.nomenclature import TEMPERATURE
from bridge2d.results import SectionResult
from bridge2d.shown_units import IN_SI, DisplayUnits

LAYERS = ("materials", "isotherms", "heat", "dimensions", "airtight", "coldest")
"""What can be shown or left out."""
FOOT = 6.0
SCALE = 18.0
"""Width of the scale of temperatures beside the drawing [mm]."""


class LayeredSection(NamedTuple):
    """A drawn section.

    Attributes:
        svg: the picture.
        numbers: of the materials in it, as the picture has them.
        marked: names of the parameters that a piece of a chain measures.
        width: of the paper [mm].
        scale: 1 to this.
    """

    svg: str
    numbers: Mapping[Material, int]
    marked: tuple[str, ...]
    width: float
    scale: float


class Common(NamedTuple):
    """What the pictures of several options share.

    Attributes:
        numbers: of the materials; all of the section's are among them.
        dimensions: of this section that are drawn.
        span: range of temperatures that the colours stand for.
        at_least: the scale is 1 to this or smaller.
    """

    numbers: Mapping[Material, int]
    dimensions: tuple[Dimension, ...]
    span: Span
    at_least: float


def layered_section(
    result: SectionResult,
    detail: Detail,
    layers: Collection[str] = LAYERS,
    size: tuple[float, float] = (176.0, 150.0),
    shown: DisplayUnits = IN_SI,
    common: Common | None = None,
) -> LayeredSection:
    """A section with the layers that are wanted.

    Args:
        result: the section's numbers.
        detail: whose section it is.
        layers: some of `LAYERS`.
        size: greatest width and height of the picture [mm].
        shown: units of everything that is written.
        common: what it shares with other pictures; None where it stands alone.
    """
    geometry = section_geometry(result)
    common = common or _alone(result, detail, geometry, shown)
    numbers, span = common.numbers, common.span
    dimensions = common.dimensions if "dimensions" in layers else ()
    banded = "isotherms" in layers and "materials" not in layers
    room = size[0] - (SCALE if banded else 0.0), size[1] - FOOT
    placed, sheet, labels, under = _labelled(
        result, frame(geometry, *room, dimensions, at_least=common.at_least, shown=shown), layers, dimensions
    )
    found = [Layer(tuple(_ground(result, placed, numbers, span, layers)), _named("ground"))]
    over = _fields(result, detail, placed, sheet, span, layers)
    found += over.lines
    found.append(Layer((*outlines(placed), *break_lines(placed)), _named("outlines")))
    found += under
    found.append(Layer((*over.labels, *labels.items), _named("labels")))
    if "materials" in layers:
        found.append(Layer(tuple(material_marks(placed, sheet, numbers)), _named("numbers")))
    marks = _dimension_marks(placed, dimensions)
    found += marks
    return _on_paper(result, detail, placed, found, labels, numbers, span if banded else None)


def _alone(result: SectionResult, detail: Detail, geometry: SectionGeometry, shown: DisplayUnits) -> Common:
    """What a picture has that shares nothing with others."""
    numbers = dict(material_numbers(detail.sections))
    for piece in geometry.pieces:
        numbers.setdefault(piece.material, max(numbers.values(), default=0) + 1)
    return Common(numbers, drawn_dimensions(geometry), common_span([result], shown), 0.0)


def _named(name: str) -> dict[str, str]:
    return {"class": "layer", "data-layer": name}


def _labelled(
    result: SectionResult, placed: Frame, layers: Collection[str], dimensions: Sequence[Dimension]
) -> tuple[Frame, Sheet, Labelled, list[Layer]]:
    """The section on paper with its labels, the paper around it widened until all have room."""
    width = placed.width + 40.0
    for attempt in range(ATTEMPTS):
        final = attempt == ATTEMPTS - 1
        sheet = Sheet(placed.width, placed.height)
        under = []
        if "dimensions" in layers:
            under.append(Layer(tuple(_chains(placed, sheet)), _named("dimensions")))
        if "airtight" in layers:
            under.append(Layer(tuple(airtight_lines(placed, sheet)), _named("airtight")))
        masks = air_masks(placed, sheet)
        parts = [environment_labels(placed, sheet, masks, final=final, short=True)]
        if "coldest" in layers:
            parts.insert(0, coldest_points(result, placed, sheet, masks, final=final))
        if "airtight" in layers:
            parts.append(airtight_labels(placed, sheet, masks))
        if "isotherms" in layers:
            parts.append(probe_marks(result, placed, sheet, final=final))
        labels = together(parts)
        if not labels.crowded:
            break
        placed = widened(placed, labels.crowded, width, dimensions)
    return placed, sheet, labels, under


def _ground(
    result: SectionResult, placed: Frame, numbers: Mapping[Material, int], span: Span, layers: Collection[str]
) -> list[Item]:
    """Hatches, bands of temperature, or a pale tint where neither is wanted."""
    if "materials" in layers:
        return _shapes(placed, numbers)
    if "isotherms" in layers:
        fields, geometry = result.fields, placed.geometry
        factor, zero = placed.shown.scale(TEMPERATURE)
        field = linear_field(geometry.points, geometry.triangles, factor * fields.temperature[geometry.nodes] + zero)
        return [Clip((placed.window_ring,), tuple(_bands(placed, field, span)))]
    rings = tuple(placed.paper(ring) for ring in placed.geometry.outline)
    return [Clip((placed.window_ring,), (Path(rings, closed=True, fill="#f1f2ee"),))]


class _Over(NamedTuple):
    """Lines of the fields, and the texts on them."""

    lines: list[Layer]
    labels: list[Item]


def _fields(
    result: SectionResult, detail: Detail, placed: Frame, sheet: Sheet, span: Span, layers: Collection[str]
) -> _Over:
    """Isotherms and heat-flow lines."""
    found: list[Layer] = []
    labels: list[Item] = []
    if "heat" in layers:
        heat, _ = _heat_lines(result, placed)
        if heat:
            lines = Clip((placed.window_ring,), (Path(tuple(heat), stroke=HEAT_LINE, width=0.14),))
            found.append(Layer((lines,), _named("heat")))
    if "isotherms" in layers:
        lines_of, items = _isotherm_lines(result, placed, span, banded="materials" not in layers)
        critical, heavy = _critical(result, placed, detail.requirements)
        if critical and heavy:
            items.append(Path(for_paper(heavy), stroke="#111111", width=0.65))
            labels += one_label(placed, sheet, heavy, runs(Run(critical.label, "bold")))
        labels += line_labels(placed, sheet, lines_of, span.levels, span)
        found.append(Layer((Clip((placed.window_ring,), tuple(items)),), _named("isotherms")))
    return _Over(found, labels)


def _isotherm_lines(
    result: SectionResult, placed: Frame, span: Span, *, banded: bool
) -> tuple[list[list[FloatArray]], list[Item]]:
    geometry = placed.geometry
    factor, zero = placed.shown.scale(TEMPERATURE)
    degrees = factor * result.fields.temperature[geometry.nodes] + zero
    field = linear_field(geometry.points, geometry.triangles, degrees)
    lines = [[placed.paper(points) for points, _ in found] for found in isolines(field, span.levels)]
    if banded:
        return lines, _isotherms(lines, span)
    groups = groups_for_paper(lines)
    drawn = [Path(group, stroke=ACCENT, width=0.3) for group in groups if group]
    return lines, [Path(tuple(one for group in groups for one in group), stroke="#ffffff", width=0.7), *drawn]


# -- dimensions that answer --------------------------------------------------------------------------------------------


def _dimension_marks(placed: Frame, dimensions: Sequence[Dimension]) -> list[Layer]:
    """Over each piece of a chain that measures a parameter, a line that the page shows where it is pointed at."""
    found = []
    for side, chains in placed.chains.items():
        axis = 0 if side in ("top", "bottom") else 1
        to_paper: Callable[[float], float] = placed.x if axis == 0 else placed.y
        here = [one for one in dimensions if one.side == side and one.parameter]
        for segment, ends in _segments(placed, chains):
            parameter = next((one.parameter for one in here if _is_of(segment, one, axis, to_paper, placed)), "")
            if parameter:
                marks = {"class": "dimension", "data-parameter": parameter}
                found.append(Layer((line(*ends, width=1.1, stroke=ACCENT),), marks))
    return found


def _is_of(segment: Segment, one: Dimension, axis: int, to_paper: Callable[[float], float], placed: Frame) -> bool:
    low, high = sorted((to_paper(one.start[axis]), to_paper(one.end[axis])))
    first, last = placed.window[axis], placed.window[axis + 2]
    return abs(max(low, first) - segment.low) < 0.02 and abs(min(high, last) - segment.high) < 0.02


def _segments(placed: Frame, chains: Chains) -> list[tuple[Segment, tuple[tuple[float, float], tuple[float, float]]]]:
    """Every piece of a side's chains with both its ends on paper [mm], where `draw_chains` puts them."""
    outward = 1.0 if chains.side in ("top", "right") else -1.0
    texts_outward, upright = chains.side in ("top", "left"), chains.side in ("left", "right")
    base = placed.window[{"left": 0, "bottom": 1, "right": 2, "top": 3}[chains.side]]
    edge = base + outward * (placed.air[chains.side] + 1.0)
    found = []
    for row in chains.rows:
        place = edge + outward * (1.0 if texts_outward else 0.8 + row.depth - 1.6)
        for segment in row.segments:
            ends = ((segment.low, place), (segment.high, place))
            found.append((segment, ((ends[0][1], ends[0][0]), (ends[1][1], ends[1][0])) if upright else ends))
        edge += outward * row.depth
    return found


# -- paper -------------------------------------------------------------------------------------------------------------


def _on_paper(
    result: SectionResult,
    detail: Detail,
    placed: Frame,
    layers: list[Layer],
    labels: Labelled,
    numbers: Mapping[Material, int],
    span: Span | None,
) -> LayeredSection:
    """The layers above a foot with the scale bar, the scale of temperatures beside them."""
    beyond = continuation_note(placed.geometry, placed.shown)
    notes = [*labels.notes, *([runs(beyond)] if beyond else [])]
    foot = FOOT + NOTE * len(notes)
    height = foot + placed.height
    width = placed.width + (SCALE if span else 0.0)
    raised = [
        layer._replace(items=(Placed(Scene(placed.width, placed.height, layer.items), 0.0, foot),)) for layer in layers
    ]
    below: list[Item] = list(scale_bar(placed, 0.0, foot - FOOT + 1.2, figures=False))
    below += [Text(0.0, foot - FOOT - 2.2 - NOTE * k, words, LABEL, colour=GREY) for k, words in enumerate(notes)]
    if span:
        _, y0, _, y1 = placed.window
        length = min(max(y1 - y0, 34.0), 90.0)
        top = foot + max(y1, length + 2.0)
        below += temperature_scale(placed.width + 4.0, top - length, length, span)
        height = max(height, top + 5.0)
    raised.append(Layer(tuple(below), _named("foot")))
    where = {
        # paper [mm] to section [m]: (paper - origin) · metres
        "data-left": f"{placed.x(0.0):.6f}",
        "data-top": f"{height - foot - placed.y(0.0):.6f}",
        "data-metres": f"{placed.scale / 1000.0:.9f}",
    }
    title = f"{result.section.title}: {detail.title}"
    svg = layers_svg((width, height), raised, title, detail.project, where)
    marked = tuple(dict.fromkeys(layer.marks["data-parameter"] for layer in layers if "data-parameter" in layer.marks))
    return LayeredSection(svg, numbers, marked, width, placed.scale)
