"""The dimensioned section: hatches, dimension chains, numbered materials, surfaces, airtight layer, coldest points."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np

from bridge2d.detail import Dimension
from bridge2d.drawing.automatic_dimensions import drawn_dimensions
from bridge2d.drawing.callouts import Labelled, Words, backing, together
from bridge2d.drawing.colours import ACCENT, GREY, INK, RULE
from bridge2d.drawing.dimensions import draw_chains
from bridge2d.drawing.frame import (
    AIR,
    ATTEMPTS,
    LABEL,
    LITTLE_AIR,
    NOTE,
    Frame,
    break_lines,
    continuation_note,
    frame,
    outlines,
    scale_bar,
    widened,
)
from bridge2d.drawing.hatches import hatched, is_by_conductivity, spacings
from bridge2d.drawing.labels import air_masks, environment_labels, keep_off_edges
from bridge2d.drawing.lines import FloatArray
from bridge2d.drawing.marks import airtight_labels, airtight_lines, coldest_points
from bridge2d.drawing.material_marks import NUMBER, RADIUS, drawn_kind, material_marks
from bridge2d.drawing.scene import (
    Clip,
    Item,
    Path,
    Placed,
    Run,
    Scene,
    Text,
    all_texts,
    circle_ring,
    rectangle_ring,
    runs,
    runs_width,
)
from bridge2d.drawing.section_geometry import SectionGeometry, section_geometry
from bridge2d.drawing.sheet import Sheet
from bridge2d.materials import Material
from bridge2d.nomenclature import CONDUCTIVITY
from bridge2d.results import SectionResult
from bridge2d.shown_units import IN_SI, DisplayUnits

FOOT = 6.0
"""Height of the strip with the scale bar [mm]."""
BARE_SCALE_BAR = 14.0
"""Greatest length of the scale bar under a drawing that may be narrow [mm]."""
LEGEND_ROW = 6.3
LEGEND_COLUMN = 56.0
LEGEND_NOTE = 4.0
LEAST_LABEL = 4.8
"""A long name is set smaller, but no smaller than this [pt]; what is longer still is cut."""
DIAGONAL = {"brick", "stone", "concrete", "metal", "as_metal", "as_masonry"}
"""Hatches that are turned where neighbours have the same one."""
KEY_SIZE = (34.0, 26.0)


def dimensioned_section(
    result: SectionResult,
    width: float = 168.0,
    height: float = 150.0,
    numbers: Mapping[Material, int] | None = None,
    geometry: SectionGeometry | None = None,
    shown: DisplayUnits = IN_SI,
) -> Scene:
    """The section as it is drawn for building, with a legend of its materials.

    Args:
        result: the section's numbers.
        width: of the paper [mm].
        height: greatest height of drawing and legend together [mm].
        numbers: of the materials, as their table has them; None counts those of this section.
        geometry: the section's shapes, where they are known already.
        shown: units of everything that is written.
    """
    geometry = geometry or section_geometry(result)
    known = dict(numbers or {})
    for piece in geometry.pieces:
        known.setdefault(piece.material, max(known.values(), default=0) + 1)
    dimensions = drawn_dimensions(geometry)
    columns = max(int(width // LEGEND_COLUMN), 1)
    legend_below = _legend(geometry, known, columns, shown)
    beside = width - LEGEND_COLUMN - 4.0, height - FOOT
    below = width, height - FOOT - legend_below.height - 3.0
    scales = [frame(geometry, *size, dimensions, usual_scale=True, shown=shown).scale for size in (beside, below)]
    # a calm sheet rather than the largest drawing, unless small pieces stand close
    is_beside = scales[0] <= (1.0 if result.section.large else 2.0) * scales[1]
    placed, sheet, labels = _labelled(result, geometry, dimensions, beside if is_beside else below, shown)
    drawing = _drawn(placed, sheet, known, labels)
    legend = _legend(geometry, known, 1, shown) if is_beside else legend_below
    key = _key_picture(placed) if geometry.cropped and is_beside else None
    foot: list[Item] = list(scale_bar(placed, 0.0, 1.0))
    if dimensions:
        beyond = max(text.x + text.width for text in all_texts(foot)) + 5.0
        foot.append(Text(max(66.0, beyond), 0.4, runs(f"dimensions in {shown.length_unit}"), LABEL))
    return _sheet_of(drawing, foot, labels.notes, legend, key, width, legend_beside=is_beside)


class BareSection(NamedTuple):
    """The drawing of a section without a legend, what has to be said under it, and the scale, 1 to this."""

    scene: Scene
    scale: float
    notes: tuple[Words, ...]


def bare_section(
    result: SectionResult,
    width: float,
    height: float,
    numbers: Mapping[Material, int],
    geometry: SectionGeometry,
    dimensions: Sequence[Dimension],
    at_least: float = 0.0,
    shown: DisplayUnits = IN_SI,
) -> BareSection:
    """The section without a legend and with few labels, so that several stand beside each other.

    Args:
        result: the section's numbers.
        width: of the paper [mm].
        height: greatest height of the drawing with its scale bar [mm].
        numbers: of the materials; all of the section's are among them.
        geometry: the section's shapes.
        dimensions: those that are drawn.
        at_least: the scale is 1 to this or smaller, for drawings that share one.
        shown: units of everything that is written.
    """
    placed, sheet, labels = _labelled(result, geometry, dimensions, (width, height - FOOT), shown, at_least)
    foot: list[Item] = list(scale_bar(placed, 0.0, 1.0, BARE_SCALE_BAR))
    nothing = Scene(0.0, 0.0, ())
    drawing = _drawn(placed, sheet, numbers, labels)
    scene = _sheet_of(drawing, foot, (), nothing, None, drawing.width, legend_beside=True)
    return BareSection(scene, placed.scale, labels.notes)


def materials_legend(
    geometries: Sequence[SectionGeometry],
    numbers: Mapping[Material, int],
    width: float,
    shown: DisplayUnits = IN_SI,
) -> Scene:
    """Number, hatch, name and conductivity of each material of some sections.

    Args:
        geometries: the sections' shapes.
        numbers: of the materials.
        width: of the paper [mm].
        shown: units of everything that is written.
    """
    everything = geometries[0]._replace(pieces=tuple(piece for one in geometries for piece in one.pieces))
    return _legend(everything, numbers, max(int(width // LEGEND_COLUMN), 1), shown)


def _labelled(
    result: SectionResult,
    geometry: SectionGeometry,
    dimensions: Sequence[Dimension],
    size: tuple[float, float],
    shown: DisplayUnits = IN_SI,
    at_least: float | None = None,
) -> tuple[Frame, Sheet, Labelled]:
    """The section on paper with its labels, the paper around it widened until all have room.

    Shapes, outlines and chains lie under the labels and are drawn first; only their cells count here.
    """
    beyond = continuation_note(geometry, shown)
    notes: tuple[Words, ...] = (runs(beyond),) if beyond else ()
    height = size[1] - NOTE * len(notes)
    usual = at_least is None  # drawings that share a scale are small: fewer labels, and any scale
    placed = frame(
        geometry,
        size[0],
        height,
        dimensions,
        usual_scale=usual,
        at_least=at_least or 0.0,
        beside=AIR if usual else LITTLE_AIR,
        shown=shown,
    )
    for attempt in range(ATTEMPTS):
        final = attempt == ATTEMPTS - 1
        sheet = Sheet(placed.width, placed.height)
        keep_off_edges(placed, sheet)
        under = _chains(placed, sheet) + airtight_lines(placed, sheet)
        masks = air_masks(placed, sheet)
        full = [
            Labelled(tuple(under), notes),
            *([coldest_points(result, placed, sheet, masks, final=final)] if usual else []),
            environment_labels(placed, sheet, masks, final=final, short=not usual),
            *([airtight_labels(placed, sheet, masks)] if usual else []),
        ]
        labels = together(full)
        if not labels.crowded:
            break
        placed = widened(placed, labels.crowded, size[0], dimensions)
    return placed, sheet, labels


def _drawn(placed: Frame, sheet: Sheet, numbers: Mapping[Material, int], labels: Labelled) -> Scene:
    """Shapes, outlines, labels and the materials' numbers, one over the other."""
    items = _shapes(placed, numbers) + outlines(placed) + break_lines(placed)
    items += [*labels.items, *material_marks(placed, sheet, numbers)]
    return Scene(placed.width, placed.height, tuple(items))


def _sheet_of(
    drawing: Scene,
    foot: list[Item],
    notes: Sequence[Words],
    legend: Scene,
    key: Scene | None,
    width: float,
    *,
    legend_beside: bool,
) -> Scene:
    """Drawing, foot and legend on one piece of paper."""
    low = 0.0 if legend_beside else legend.height + 3.0
    foot_height = FOOT + NOTE * len(notes)
    items: list[Item] = [Placed(drawing, 0.0, low + foot_height)]
    items.append(Placed(Scene(width, FOOT, tuple(foot)), 0.0, low + foot_height - FOOT))
    for number, words in enumerate(notes):
        items.append(Text(0.0, low + foot_height - FOOT - 2.6 - NOTE * number, words, LABEL, colour=GREY))
    total = low + foot_height + drawing.height
    if not legend_beside:
        items.append(Placed(legend, 0.0, 0.0))
    else:
        need = legend.height + (key.height + 6.0 if key else 0.0)
        total = max(total, need)
        items.append(Placed(legend, width - LEGEND_COLUMN, total - legend.height))
        if key:
            items.append(Placed(key, width - LEGEND_COLUMN, total - need))
    return Scene(width, total, tuple(items))


def _shapes(placed: Frame, numbers: Mapping[Material, int]) -> list[Item]:
    """Tints and hatches within the window."""
    found: list[Item] = []
    diagonals = [p.material for p in placed.geometry.pieces if drawn_kind(p) in DIAGONAL]
    order = {material: number for number, material in enumerate(dict.fromkeys(diagonals))}
    wide = _spacings(numbers)
    x0, y0, x1, y1 = placed.window
    for piece in sorted(placed.geometry.pieces, key=lambda p: numbers[p.material]):
        rings = [placed.paper(ring) for ring in piece.rings]
        seen = [np.clip(ring, (x0, y0), (x1, y1)) for ring in rings]
        seen = [ring for ring in seen if np.ptp(ring[:, 0]) > 0.01 and np.ptp(ring[:, 1]) > 0.01]
        if seen:
            turned = order.get(piece.material, 0) % 2 == 1
            found += hatched(drawn_kind(piece), seen, piece.grain, turned=turned, spacing=wide[piece.material])
    return [Clip((placed.window_ring,), tuple(found))]


def _spacings(numbers: Mapping[Material, int]) -> dict[Material, float]:
    return spacings(sorted(numbers, key=numbers.__getitem__))


def _chains(placed: Frame, sheet: Sheet) -> list[Item]:
    x0, y0, x1, y1 = placed.window
    bases = {"left": x0, "bottom": y0, "right": x1, "top": y1}
    lines: list[Item] = []
    texts: list[Text] = []
    for side, chains in placed.chains.items():
        outward = 1.0 if side in ("right", "top") else -1.0
        base = bases[side]
        side_lines, words = draw_chains(chains, base, base + outward * placed.air[side])
        lines += side_lines
        texts += words
    for text in texts:
        sheet.take_text(text)
    drawn = [points for item in lines if isinstance(item, Path) for points in item.lines]
    if drawn:
        sheet.keep_texts_off(*drawn)
    return [*lines, *(backing(text) for text in texts), *texts]


# -- materials -----------------------------------------------------------------------------------------------------


def _legend(geometry: SectionGeometry, numbers: Mapping[Material, int], columns: int, shown: DisplayUnits) -> Scene:
    """Number, hatch, name and conductivity of each material."""
    pieces = {numbers[piece.material]: piece for piece in reversed(geometry.pieces)}
    rows = -(-len(pieces) // columns)
    by_conductivity = any(is_by_conductivity(drawn_kind(piece)) for piece in pieces.values())
    below = LEGEND_NOTE if by_conductivity else 0.0
    height = LEGEND_ROW * rows + below
    wide = _spacings(numbers)
    items: list[Item] = []
    if by_conductivity:
        items.append(Text(0.0, 1.0, runs("hatch by conductivity where no material is named"), 5.8, colour=GREY))
    for place, number in enumerate(sorted(pieces)):
        piece = pieces[number]
        x = (place // rows) * LEGEND_COLUMN
        y = height - LEGEND_ROW * (place % rows + 1)
        swatch = rectangle_ring(x + 6.0, y + 0.7, x + 14.0, y + 4.7)
        items += hatched(drawn_kind(piece), [swatch], piece.grain, spacing=wide[piece.material])
        items.append(Path((swatch,), closed=True, stroke=INK, width=0.13))
        items += [
            Path((circle_ring((x + RADIUS + 0.2, y + 2.7), RADIUS),), closed=True, stroke=INK, width=0.18),
            Text(x + RADIUS + 0.2, y + 1.85, runs(Run(str(number), "bold")), NUMBER, "middle"),
        ]
        items += _legend_words(piece.material, x + 15.6, y, LEGEND_COLUMN - 16.6, shown)
    return Scene(LEGEND_COLUMN * columns, height, tuple(items))


def _legend_words(material: Material, x: float, y: float, width: float, shown: DisplayUnits) -> list[Item]:
    name = shown.made_name(material.name)
    size = min(LABEL, max(LEAST_LABEL, LABEL * width / max(runs_width(runs(name), LABEL), 1e-9)))
    while runs_width(runs(name), size) > width and len(name) > 4:
        name = name[:-2].rstrip() + "…"
    value = shown.value(CONDUCTIVITY, material.conductivity)
    words = runs(Run("λ", "italic", colour=GREY), Run(f" {value}", colour=GREY))
    return [Text(x, y + 3.0, runs(name), size), Text(x, y + 0.35, words, 5.8)]


def _key_picture(placed: Frame) -> Scene:
    """The whole section small, with the window that is shown."""
    geometry = placed.geometry
    x0, y0, x1, y1 = geometry.box
    paper = min(KEY_SIZE[0] / (x1 - x0), KEY_SIZE[1] / (y1 - y0))

    def small(points: FloatArray) -> FloatArray:
        moved: FloatArray = (points - (x0, y0)) * paper
        return moved

    shapes = tuple(small(ring) for piece in geometry.pieces for ring in piece.rings)
    window = geometry.window
    frame_ring = small(rectangle_ring(*window))
    height = (y1 - y0) * paper + 4.5
    return Scene(
        (x1 - x0) * paper,
        height,
        (
            Path(shapes, closed=True, stroke=RULE, width=0.1),
            Path(tuple(small(r) for r in geometry.outline), closed=True, stroke=GREY, width=0.18),
            Path((frame_ring,), closed=True, stroke=ACCENT, width=0.4),
            Text(0.0, height - 2.6, runs("whole section, part drawn framed"), 5.8, colour=GREY),
        ),
    )
