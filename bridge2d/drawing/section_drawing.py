"""The dimensioned section: hatches, dimension chains, numbered materials, surfaces, airtight layer, coldest points."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np

from bridge2d.detail import Dimension
from bridge2d.drawing.automatic_dimensions import drawn_dimensions
from bridge2d.drawing.callouts import Labelled, Words, backing, together
from bridge2d.drawing.colours import GREY
from bridge2d.drawing.dimensions import draw_chains
from bridge2d.drawing.fine_part import dimensions_within, only_within, pieces_within
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
from bridge2d.drawing.hatches import hatched
from bridge2d.drawing.labels import air_masks, environment_labels, keep_off_edges
from bridge2d.drawing.legend import LEGEND_COLUMN, hatch_spacings, key_picture, legend_of
from bridge2d.drawing.lines import FloatArray
from bridge2d.drawing.marks import airtight_labels, airtight_lines, coldest_points
from bridge2d.drawing.material_marks import drawn_kind, material_marks
from bridge2d.drawing.scene import (
    Clip,
    Item,
    Path,
    Placed,
    Scene,
    Text,
    all_texts,
    rectangle_ring,
    runs,
)
from bridge2d.drawing.section_geometry import Box, SectionGeometry, section_geometry
from bridge2d.drawing.sheet import Sheet
from bridge2d.materials import Material
from bridge2d.results import SectionResult
from bridge2d.shown_units import IN_SI, DisplayUnits

FOOT = 6.0
"""Height of the strip with the scale bar [mm]."""
BARE_SCALE_BAR = 14.0
"""Greatest length of the scale bar under a drawing that may be narrow [mm]."""
PART_DASH = (1.6, 1.0)
"""Of the frame around a part that is drawn enlarged [mm]."""
DIAGONAL = {"brick", "stone", "concrete", "metal", "as_metal", "as_masonry"}
"""Hatches that are turned where neighbours have the same one."""


def dimensioned_section(
    result: SectionResult,
    width: float = 168.0,
    height: float = 150.0,
    numbers: Mapping[Material, int] | None = None,
    geometry: SectionGeometry | None = None,
    shown: DisplayUnits = IN_SI,
    part: Box | None = None,
) -> Scene:
    """The section as it is drawn for building, with a legend of its materials.

    Args:
        result: the section's numbers.
        width: of the paper [mm].
        height: greatest height of drawing and legend together [mm].
        numbers: of the materials, as their table has them; None counts those of this section.
        geometry: the section's shapes, where they are known already.
        shown: units of everything that is written.
        part: what is drawn enlarged elsewhere, framed here [m].
    """
    geometry = geometry or section_geometry(result)
    known = dict(numbers or {})
    for piece in geometry.pieces:
        known.setdefault(piece.material, max(known.values(), default=0) + 1)
    dimensions = drawn_dimensions(geometry)
    columns = max(int(width // LEGEND_COLUMN), 1)
    legend_below = legend_of(geometry, known, columns, shown)
    beside = width - LEGEND_COLUMN - 4.0, height - FOOT
    below = width, height - FOOT - legend_below.height - 3.0
    scales = [frame(geometry, *size, dimensions, usual_scale=True, shown=shown).scale for size in (beside, below)]
    # a calm sheet rather than the largest drawing, unless small pieces stand close
    is_beside = scales[0] <= (1.0 if result.section.large else 2.0) * scales[1]
    placed, sheet, labels = _labelled(result, geometry, dimensions, beside if is_beside else below, shown)
    shown_there = only_within(geometry, part) if part else frozenset()
    drawing = _drawn(placed, sheet, known, labels, part, elsewhere=shown_there)
    legend = legend_of(geometry, known, 1, shown) if is_beside else legend_below
    key = key_picture(placed) if geometry.cropped and is_beside else None
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
    drawing = _drawn(placed, sheet, numbers, labels, sparing=True)
    scene = _sheet_of(drawing, foot, (), nothing, None, drawing.width, legend_beside=True)
    return BareSection(scene, placed.scale, labels.notes)


def enlarged_section(
    result: SectionResult,
    width: float,
    height: float,
    numbers: Mapping[Material, int],
    geometry: SectionGeometry,
    part: Box,
    shown: DisplayUnits = IN_SI,
) -> Scene:
    """A part of the section at a larger scale in a frame, with the dimensions within it where they cost no scale.

    Args:
        result: the section's numbers.
        width: of the paper [mm].
        height: greatest height of the drawing with its scale bar [mm].
        numbers: of the materials; all of the section's are among them.
        geometry: the section's shapes.
        part: what is drawn [m].
        shown: units of everything that is written.
    """
    cut_out = geometry._replace(window=part, box=part, pieces=pieces_within(geometry, part))
    room = width, height - FOOT
    inside = dimensions_within(drawn_dimensions(geometry), part)
    scales = [frame(cut_out, *room, chosen, usual_scale=True, shown=shown).scale for chosen in (inside, ())]
    placed, sheet, labels = _labelled(result, cut_out, inside if scales[0] <= scales[1] else (), room, shown, part=part)
    drawing = _drawn(placed, sheet, numbers, labels, part)
    foot: list[Item] = list(scale_bar(placed, 0.0, 1.0, BARE_SCALE_BAR))
    return _sheet_of(drawing, foot, (), Scene(0.0, 0.0, ()), None, width, legend_beside=True)


def _labelled(
    result: SectionResult,
    geometry: SectionGeometry,
    dimensions: Sequence[Dimension],
    size: tuple[float, float],
    shown: DisplayUnits = IN_SI,
    at_least: float | None = None,
    part: Box | None = None,
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
    attempts = 1 if part else ATTEMPTS  # what has no room beside a part stands in the drawing of the whole
    for attempt in range(attempts):
        final = attempt == attempts - 1
        sheet = Sheet(placed.width, placed.height)
        keep_off_edges(placed, sheet)
        if part:
            sheet.keep_texts_off(_part_ring(placed, part, closed=True))
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


def _drawn(
    placed: Frame,
    sheet: Sheet,
    numbers: Mapping[Material, int],
    labels: Labelled,
    part: Box | None = None,
    *,
    elsewhere: frozenset[Material] = frozenset(),
    sparing: bool = False,
) -> Scene:
    """Shapes, outlines, a part's frame, labels and the materials' numbers, one over the other."""
    items = _shapes(placed, numbers) + outlines(placed) + break_lines(placed)
    if part:
        items.append(Path((_part_ring(placed, part),), closed=True, stroke=GREY, width=0.25, dash=PART_DASH))
    items += [*labels.items, *material_marks(placed, sheet, numbers, elsewhere, sparing=sparing)]
    return Scene(placed.width, placed.height, tuple(items))


def _part_ring(placed: Frame, part: Box, *, closed: bool = False) -> FloatArray:
    """The frame around a part on paper [mm]."""
    low, high = placed.paper(np.reshape(part, (2, 2))).tolist()
    ring = rectangle_ring(*low, *high)
    return np.concatenate([ring, ring[:1]]) if closed else ring


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
    wide = hatch_spacings(numbers)
    x0, y0, x1, y1 = placed.window
    for piece in sorted(placed.geometry.pieces, key=lambda p: numbers[p.material]):
        rings = [placed.paper(ring) for ring in piece.rings]
        seen = [np.clip(ring, (x0, y0), (x1, y1)) for ring in rings]
        seen = [ring for ring in seen if np.ptp(ring[:, 0]) > 0.01 and np.ptp(ring[:, 1]) > 0.01]
        if seen:
            turned = order.get(piece.material, 0) % 2 == 1
            found += hatched(drawn_kind(piece), seen, piece.grain, turned=turned, spacing=wide[piece.material])
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
