"""The dimensioned section: hatches, dimension chains, numbered materials, surfaces, airtight layer, coldest points."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from bridge2d.detail import Detail
from bridge2d.drawing.colours import ACCENT, GREY, INK, RULE
from bridge2d.drawing.dimensions import draw_chains
from bridge2d.drawing.frame import LABEL, Frame, break_lines, continuation_note, frame, outlines, scale_bar
from bridge2d.drawing.hatches import hatched
from bridge2d.drawing.labels import air_masks, backing, environment_labels, keep_off_edges
from bridge2d.drawing.lines import FloatArray
from bridge2d.drawing.marks import airtight_label, airtight_lines, coldest_points
from bridge2d.drawing.material_marks import NUMBER, RADIUS, drawn_kind, material_marks
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
from bridge2d.materials import Material
from bridge2d.nomenclature import CONDUCTIVITY, format_value
from bridge2d.results import SectionResult

FOOT = 6.0
"""Height of the strip with the scale bar [mm]."""
LEGEND_ROW = 6.3
LEGEND_COLUMN = 56.0
KEY_SIZE = (34.0, 26.0)


def material_numbers(detail: Detail) -> dict[Material, int]:
    """Numbers of a detail's materials, in the order in which sections name them."""
    materials = (region.material for section in detail.sections for region in section.regions)
    return {material: number for number, material in enumerate(dict.fromkeys(materials), start=1)}


def dimensioned_section(
    result: SectionResult,
    width: float = 168.0,
    height: float = 150.0,
    numbers: Mapping[Material, int] | None = None,
    geometry: SectionGeometry | None = None,
) -> Scene:
    """The section as it is drawn for building, with a legend of its materials.

    Args:
        result: the section's numbers.
        width: of the paper [mm].
        height: greatest height of drawing and legend together [mm].
        numbers: of the materials, as their table has them; None counts those of this section.
        geometry: the section's shapes, where they are known already.
    """
    geometry = geometry or section_geometry(result)
    known = dict(numbers or {})
    for piece in geometry.pieces:
        known.setdefault(piece.material, max(known.values(), default=0) + 1)
    rows = len({piece.material for piece in geometry.pieces})
    beside = frame(geometry, width - LEGEND_COLUMN - 4.0, height - FOOT, with_dimensions=True)
    columns = max(int(width // LEGEND_COLUMN), 1)
    below_height = LEGEND_ROW * -(-rows // columns) + 3.0
    below = frame(geometry, width, height - FOOT - below_height, with_dimensions=True)
    if beside.scale <= 2.0 * below.scale:  # a calm sheet rather than the largest drawing
        return _composed(result, beside, known, width, legend_beside=True)
    return _composed(result, below, known, width, legend_beside=False)


def _composed(
    result: SectionResult, placed: Frame, numbers: Mapping[Material, int], width: float, *, legend_beside: bool
) -> Scene:
    geometry = placed.geometry
    sheet = Sheet(placed.width, placed.height)
    keep_off_edges(placed, sheet)
    items = _shapes(placed, numbers)
    items += outlines(placed) + break_lines(placed)
    items += _chains(placed, sheet)
    items += airtight_lines(placed, sheet)
    masks = air_masks(placed, sheet)
    items += coldest_points(result, placed, sheet, masks)
    labels, homeless = environment_labels(placed, sheet, masks)
    items += labels
    items += material_marks(placed, sheet, numbers)
    items += airtight_label(placed, sheet)
    drawing = Scene(placed.width, placed.height, tuple(items))
    foot: list[Item] = list(scale_bar(placed, 0.0, 1.0))
    if geometry.section.dimensions:
        foot.append(Text(66.0, 0.4, runs("dimensions in mm"), LABEL))
    notes = [note for note in (continuation_note(geometry),) if note]
    legend = _legend(geometry, numbers, 1 if legend_beside else max(int(width // LEGEND_COLUMN), 1))
    key = _key_picture(placed) if geometry.cropped and legend_beside else None
    note_lines: list[tuple[Run, ...]] = [runs(note) for note in notes] + homeless
    return _sheet_of(drawing, foot, note_lines, legend, key, width, legend_beside=legend_beside)


def _sheet_of(
    drawing: Scene,
    foot: list[Item],
    notes: Sequence[tuple[Run, ...]],
    legend: Scene,
    key: Scene | None,
    width: float,
    *,
    legend_beside: bool,
) -> Scene:
    """Drawing, foot and legend on one piece of paper."""
    low = 0.0 if legend_beside else legend.height + 3.0
    foot_height = FOOT + 3.4 * len(notes)
    items: list[Item] = [Placed(drawing, 0.0, low + foot_height)]
    items.append(Placed(Scene(width, FOOT, tuple(foot)), 0.0, low + foot_height - FOOT))
    for number, words in enumerate(notes):
        items.append(Text(0.0, low + foot_height - FOOT - 3.0 - 3.4 * number, words, LABEL, colour=GREY))
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
    diagonals = [p.material for p in placed.geometry.pieces if drawn_kind(p) in {"brick", "stone", "concrete", "metal"}]
    order = {material: number for number, material in enumerate(dict.fromkeys(diagonals))}
    x0, y0, x1, y1 = placed.window
    for piece in sorted(placed.geometry.pieces, key=lambda p: numbers[p.material]):
        rings = [placed.paper(ring) for ring in piece.rings]
        seen = [np.clip(ring, (x0, y0), (x1, y1)) for ring in rings]
        seen = [ring for ring in seen if np.ptp(ring[:, 0]) > 0.01 and np.ptp(ring[:, 1]) > 0.01]
        if seen:
            found.extend(hatched(drawn_kind(piece), seen, piece.grain, turned=order.get(piece.material, 0) % 2 == 1))
    return [Clip((placed.window_ring,), tuple(found))]


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


# -- airtight layer and coldest points -----------------------------------------------------------------------------


# -- materials -----------------------------------------------------------------------------------------------------


def _legend(geometry: SectionGeometry, numbers: Mapping[Material, int], columns: int) -> Scene:
    """Number, hatch, name and conductivity of each material."""
    pieces = {numbers[piece.material]: piece for piece in reversed(geometry.pieces)}
    rows = -(-len(pieces) // columns)
    height = LEGEND_ROW * rows
    items: list[Item] = []
    for place, number in enumerate(sorted(pieces)):
        piece = pieces[number]
        x = (place // rows) * LEGEND_COLUMN
        y = height - LEGEND_ROW * (place % rows + 1)
        swatch = rectangle_ring(x + 6.0, y + 0.7, x + 14.0, y + 4.7)
        items += hatched(drawn_kind(piece), [swatch], piece.grain)
        items.append(Path((swatch,), closed=True, stroke=INK, width=0.13))
        items += [
            Path((circle_ring((x + RADIUS + 0.2, y + 2.7), RADIUS),), closed=True, stroke=INK, width=0.18),
            Text(x + RADIUS + 0.2, y + 1.85, runs(Run(str(number), "bold")), NUMBER, "middle"),
        ]
        items += _legend_words(piece.material, x + 15.6, y, LEGEND_COLUMN - 17.6)
    return Scene(LEGEND_COLUMN * columns, height, tuple(items))


def _legend_words(material: Material, x: float, y: float, width: float) -> list[Item]:
    name = material.name
    while runs_width(runs(name), LABEL) > width and len(name) > 4:
        name = name[:-2].rstrip() + "…"
    value = format_value(CONDUCTIVITY, material.conductivity)
    words = runs(Run("λ", "italic", colour=GREY), Run(f" {value}", colour=GREY))
    return [Text(x, y + 3.0, runs(name), LABEL), Text(x, y + 0.35, words, 5.8)]


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
