"""A section as a DXF drawing: regions by material, isotherms, dimensions, airtight layer, surfaces, each on its layer.

results -> **drawing**. The regions are written as the section has them, in their order, so that the drawing, read as a
free section's, gives the same section. Of a mirrored section that is the half at x ≥ 0; the other half is an outline.
"""

from __future__ import annotations

import io
import math
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace
from typing import TYPE_CHECKING

from bridge2d.detail import Dimension, Point, Region, Section
from bridge2d.drawing.contour import isolines, linear_field
from bridge2d.drawing.isotherms import temperature_span
from bridge2d.materials import Material
from bridge2d.nomenclature import TEMPERATURE
from bridge2d.shown_units import IN_SI, DisplayUnits
from bridge2d.units import INCH

if TYPE_CHECKING:
    from ezdxf.document import Drawing
    from ezdxf.layouts.layout import Modelspace

    from bridge2d.results import SectionResult

ISOTHERMS, DIMENSIONS, AIRTIGHT, SURFACES = "isotherms", "dimensions", "airtight layer", "surfaces"
OTHER_HALF, SYMMETRY = "mirrored half", "plane of symmetry"
COLOURS = {ISOTHERMS: 1, DIMENSIONS: 8, AIRTIGHT: 6, SURFACES: 5, OTHER_HALF: 9, SYMMETRY: 9}
"""Colour numbers of the layers; regions take those from `FIRST_COLOUR` on."""
FIRST_COLOUR = 30
INCHES, MILLIMETRES = 1, 4
"""Of $INSUNITS."""
TEXTS_PER_SECTION = 120.0
"""Height of a text as a share of the section's longer side."""

Pair = tuple[float, float]


def region_layers(section: Section) -> Mapping[tuple[Material, float | None], str]:
    """The layer of each material, and of each direction of its grain [deg], in the order of the regions.

    Args:
        section: the section.
    """
    names: dict[tuple[Material, float | None], str] = {}
    for region in section.regions:
        key = (region.material, region.grain_direction)
        if key in names:
            continue
        plain = " ".join(re.sub(r"[^\w.()+-]+", " ", region.material.name).split())[:80] or "unnamed"
        name = f"material {plain}" + ("" if key[1] is None else f" grain {key[1]:g}")
        taken = {known.casefold() for known in names.values()}
        number = next(k for k in range(1, len(names) + 2) if _numbered(name, k).casefold() not in taken)
        names[key] = _numbered(name, number)
    return names


def _numbered(name: str, number: int) -> str:
    return name if number == 1 else f"{name} ({number})"


def section_dxf(result: SectionResult, shown: DisplayUnits = IN_SI) -> bytes:
    """The drawing of a section in millimetres or inches, the same bytes for the same results.

    Args:
        result: the section's numbers.
        shown: whether it is drawn in millimetres with isotherms in °C, or in inches with isotherms in °F.
    """
    import ezdxf

    unit = MILLIMETRES if shown.is_si else INCHES
    with _undated():
        document = ezdxf.new("R2010", units=unit)  # type: ignore[attr-defined]
        document.header["$INSUNITS"] = unit
        document.header["$MEASUREMENT"] = int(shown.is_si)
        _draw(document, result, shown)
        stream = io.StringIO()
        document.classes.add_required_classes(document.dxfversion)
        classes = document.classes.classes
        ordered = sorted(classes.items())  # they come from a set, whose order differs from run to run
        classes.clear()
        classes.update(ordered)
        document.write(stream)
        return document.encode(stream.getvalue())


@contextmanager
def _undated() -> Iterator[None]:
    """Let ezdxf write neither a date nor a random mark."""
    from ezdxf._options import options

    plain, options.write_fixed_meta_data_for_testing = options.write_fixed_meta_data_for_testing, True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = plain


def _draw(document: Drawing, result: SectionResult, shown: DisplayUnits) -> None:
    result = result if shown.is_si else _in_inches(result)
    section = result.section
    space = document.modelspace()
    layers = region_layers(section)
    for number, layer in enumerate(layers.values()):
        document.layers.add(layer, color=FIRST_COLOUR + (number * 40) % 210)
    for layer, colour in COLOURS.items():
        document.layers.add(layer, color=colour)
    height = _size(section) / TEXTS_PER_SECTION
    for region in section.regions:
        _draw_region(space, region, layers[region.material, region.grain_direction])
    _draw_isotherms(space, result, height, shown)
    _draw_lines(space, AIRTIGHT, ((piece.name, piece.line) for piece in section.airtight), height)
    _draw_lines(space, SURFACES, ((surface.environment, surface.edge) for surface in section.surfaces), height)
    _draw_dimensions(document, space, section, height, 1 if shown.is_si else 3)
    if section.half:
        _draw_other_half(space, section)


def _in_inches(result: SectionResult) -> SectionResult:
    """The same with a thousand inches for every metre, so that what is drawn in thousandths is drawn in inches."""
    thousand = 1000.0 * INCH
    section = result.section

    def line(points: Iterable[Point]) -> tuple[Point, ...]:
        return tuple((x / thousand, y / thousand) for x, y in points)

    regions = (replace(r, polygon=line(r.polygon), holes=tuple(map(line, r.holes))) for r in section.regions)
    dimensions = (replace(d, start=line([d.start])[0], end=line([d.end])[0]) for d in section.dimensions)
    scaled = replace(
        section,
        regions=tuple(regions),
        surfaces=tuple(replace(surface, edge=line(surface.edge)) for surface in section.surfaces),
        airtight=tuple(replace(piece, line=line(piece.line)) for piece in section.airtight),
        dimensions=tuple(dimensions),
    )
    return replace(result, section=scaled, fields=replace(result.fields, points=result.fields.points / thousand))


def _mm(points: Iterable[Sequence[float]]) -> list[Pair]:
    return [(round(1000.0 * float(x), 6), round(1000.0 * float(y), 6)) for x, y in points]


def _box(section: Section) -> tuple[Pair, Pair]:
    """Lower left and upper right corner of all regions, both halves of a mirrored section [mm]."""
    corners = _mm(point for region in section.regions for point in region.polygon)
    low, high = (tuple(f(p[k] for p in corners) for k in (0, 1)) for f in (min, max))
    left = min(low[0], -high[0]) if section.half else low[0]
    return (left, low[1]), (high[0], high[1])


def _size(section: Section) -> float:
    (x0, y0), (x1, y1) = _box(section)
    return max(x1 - x0, y1 - y0)


def _draw_region(space: Modelspace, region: Region, layer: str) -> None:
    """The region's outline; where it has holes, a hatch with islands too, which is what says that they are holes."""
    attributes = {"layer": layer}
    if region.holes:
        hatch = space.add_hatch(dxfattribs={**attributes, "hatch_style": 0})
        hatch.set_pattern_fill("ANSI31", scale=4.0)
        hatch.paths.add_polyline_path(_mm(region.polygon), is_closed=True, flags=1)
        for hole in region.holes:
            hatch.paths.add_polyline_path(_mm(hole), is_closed=True, flags=16)
    for ring in (region.polygon, *region.holes):
        space.add_lwpolyline(_mm(ring), close=True, dxfattribs=attributes)


def _draw_isotherms(space: Modelspace, result: SectionResult, height: float, shown: DisplayUnits) -> None:
    """Lines of equal temperature, which is their elevation and stands beside them."""
    fields = result.fields
    low, high, step, _ = temperature_span(float(fields.temperature.min()), float(fields.temperature.max()), shown)
    factor, zero = shown.scale(TEMPERATURE)
    margin = 1e-3 * (high - low)  # at an end of the span a level would only trace rounding
    levels = [k * step for k in range(math.ceil((low + margin) / step), math.floor((high - margin) / step) + 1)]
    found = isolines(linear_field(fields.points, fields.triangles, factor * fields.temperature + zero), levels)
    for number, (level, lines) in enumerate(zip(levels, found, strict=True)):
        share = (1 + number % 5) / 6  # neighbours' texts stand side by side
        for line, closed in lines:
            points = _mm(line.tolist())
            space.add_lwpolyline(points, close=closed, dxfattribs={"layer": ISOTHERMS, "elevation": level})
            _text(space, ISOTHERMS, f"{level:g}".replace("-", "−"), points[int(share * len(points))], height)


def _text(space: Modelspace, layer: str, words: str, at: Pair, height: float) -> None:
    text = space.add_text(words, height=round(height, 3), dxfattribs={"layer": layer})
    text.set_placement((at[0] + 0.3 * height, at[1] + 0.3 * height))


def _draw_lines(space: Modelspace, layer: str, named: Iterable[tuple[str, Sequence[Point]]], height: float) -> None:
    for name, line in named:
        points = _mm(line)
        space.add_lwpolyline(points, dxfattribs={"layer": layer})
        (x0, y0), (x1, y1) = points[0], points[1]
        _text(space, layer, name, (0.5 * (x0 + x1), 0.5 * (y0 + y1)), height)


def _draw_dimensions(document: Drawing, space: Modelspace, section: Section, height: float, decimals: int) -> None:
    """Dimension entities in chains outside the section, as its own drawing has them."""
    style = document.dimstyles.new("chains")
    style.dxf.dimtxt = round(height, 3)
    style.dxf.dimtsz = round(0.5 * height, 3)  # ticks instead of arrows
    style.dxf.dimexo = style.dxf.dimexe = style.dxf.dimgap = round(0.5 * height, 3)
    style.dxf.dimtad, style.dxf.dimdec, style.dxf.dimzin, style.dxf.dimdsep = 1, decimals, 8, ord(".")
    for dimension, row in _rows(section.dimensions, height):
        base, angle = _chain(dimension, _box(section), 3.0 * height * (row + 1))
        (start, end) = _mm((dimension.start, dimension.end))
        words = _words(dimension, "<>")
        entity = space.add_linear_dim(
            base, start, end, angle=angle, text=words, dimstyle="chains", dxfattribs={"layer": DIMENSIONS}
        )
        entity.render()


def _words(dimension: Dimension, length: str) -> str:
    return f"{dimension.symbol.replace('_', '')} = {length}" if dimension.symbol else length


def _rows(dimensions: Sequence[Dimension], height: float) -> Iterator[tuple[Dimension, int]]:
    """Each dimension with the chain in which it stands, farther out where its text would meet another's."""
    taken: dict[tuple[str, int], list[Pair]] = {}
    for dimension in sorted(dimensions, key=lambda one: one.row):
        axis = 1 if dimension.side in ("left", "right") else 0
        low, high = sorted((1000.0 * dimension.start[axis], 1000.0 * dimension.end[axis]))
        half = max(0.5 * (high - low), 0.45 * height * len(_words(dimension, "1234")))
        left, right = 0.5 * (low + high) - half, 0.5 * (low + high) + half
        row = dimension.row
        while any(left < b - 1e-6 and a < right - 1e-6 for a, b in taken.get((dimension.side, row), ())):
            row += 1
        taken.setdefault((dimension.side, row), []).append((left, right))
        yield dimension, row


def _chain(dimension: Dimension, box: tuple[Pair, Pair], away: float) -> tuple[Pair, float]:
    """A point of the dimension line [mm], and its direction [deg]."""
    (x0, y0), (x1, y1) = box
    places = {"left": (x0 - away, y0), "right": (x1 + away, y0), "bottom": (x0, y0 - away), "top": (x0, y1 + away)}
    return places[dimension.side], 90.0 if dimension.side in ("left", "right") else 0.0


def _draw_other_half(space: Modelspace, section: Section) -> None:
    for region in section.regions:
        for ring in (region.polygon, *region.holes):
            mirrored = _mm((-x, y) for x, y in ring)
            space.add_lwpolyline(mirrored, close=True, dxfattribs={"layer": OTHER_HALF})
    (_, y0), (_, y1) = _box(section)
    space.add_line((0.0, y0), (0.0, y1), dxfattribs={"layer": SYMMETRY})
