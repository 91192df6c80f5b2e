"""The dimensioned section: hatches, dimension chains, numbered materials, surfaces, airtight layer, coldest points."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from bridge2d.detail import Detail
from bridge2d.drawing.colours import ACCENT, GREY, INK, RULE
from bridge2d.drawing.contour import FloatArray
from bridge2d.drawing.dimensions import draw_chains
from bridge2d.drawing.frame import (
    LABEL,
    Frame,
    air_mask,
    air_masks,
    backing,
    break_lines,
    continuation_note,
    environment_labels,
    frame,
    keep_off_edges,
    outlines,
    place_block,
    scale_bar,
)
from bridge2d.drawing.hatches import hatch_kind, hatched
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
from bridge2d.drawing.section_geometry import Piece, SectionGeometry, both_halves, section_geometry
from bridge2d.drawing.sheet import CELL, BoolArray, Sheet, deepest
from bridge2d.materials import Material
from bridge2d.nomenclature import CONDUCTIVITY, TEMPERATURE, format_estimate, format_value
from bridge2d.results import SectionResult

RADIUS = 2.1
"""Of the circle around a material's number [mm]."""
NUMBER = 6.6
FOOT = 6.0
"""Height of the strip with the scale bar [mm]."""
LEGEND_ROW = 6.3
LEGEND_COLUMN = 56.0
AIRTIGHT_WIDTH = 0.85
AIRTIGHT_DASH = (3.4, 1.1, 0.7, 1.1)
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
    items += _material_marks(placed, sheet, numbers)
    items += _airtight_label(placed, sheet)
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
    diagonals = [p.material for p in placed.geometry.pieces if _kind(p) in {"brick", "stone", "concrete", "metal"}]
    order = {material: number for number, material in enumerate(dict.fromkeys(diagonals))}
    x0, y0, x1, y1 = placed.window
    for piece in sorted(placed.geometry.pieces, key=lambda p: numbers[p.material]):
        rings = [placed.paper(ring) for ring in piece.rings]
        seen = [np.clip(ring, (x0, y0), (x1, y1)) for ring in rings]
        seen = [ring for ring in seen if np.ptp(ring[:, 0]) > 0.01 and np.ptp(ring[:, 1]) > 0.01]
        if seen:
            found.extend(hatched(_kind(piece), seen, piece.grain, turned=order.get(piece.material, 0) % 2 == 1))
    return [Clip((placed.window_ring,), tuple(found))]


def _kind(piece: Piece) -> str:
    return hatch_kind(piece.material, piece.grain)


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


def _airtight_on_paper(placed: Frame) -> list[FloatArray]:
    section = placed.geometry.section
    return [placed.paper(half) for piece in section.airtight for half in both_halves(piece.line, section.mirrored)]


def airtight_lines(placed: Frame, sheet: Sheet) -> list[Item]:
    """The airtight layer as a heavy dash-dot line, and the cells along it taken."""
    lines = _airtight_on_paper(placed)
    if not lines:
        return []
    x0, y0, x1, y1 = placed.window
    sheet.take_lines(*(np.clip(points, (x0, y0), (x1, y1)) for points in lines))
    under = Path(tuple(lines), stroke="#ffffff", width=AIRTIGHT_WIDTH + 0.5)
    return [
        Clip(
            (rectangle_ring(x0 - 1.0, y0 - 1.0, x1 + 1.0, y1 + 1.0),),
            (under, Path(tuple(lines), stroke=ACCENT, width=AIRTIGHT_WIDTH, dash=AIRTIGHT_DASH)),
        )
    ]


def _airtight_label(placed: Frame, sheet: Sheet) -> list[Item]:
    """ "airtight layer" where it is free near the line, with a leader."""
    lines = _airtight_on_paper(placed)
    x0, y0, x1, y1 = placed.window
    seen = [p for points in lines for p in _sampled(points) if x0 < p[0] < x1 and y0 < p[1] < y1]
    if not seen:
        return []
    names = ", ".join(dict.fromkeys(p.name for p in placed.geometry.section.airtight if p.name))
    title, kinds = Run("airtight layer", "bold"), runs(names)
    blocks = [[runs(title, f": {names}" if names else "")], *([[runs(title), kinds]] if names else []), [runs(title)]]
    middle = np.mean(seen, axis=0)
    wanted = min(seen, key=lambda p: float(np.hypot(*(p - middle))))
    grounds = (air_mask(placed, sheet), sheet.box(*placed.window))
    for block in blocks:
        options = [
            (float(np.hypot(*(place - wanted))) * penalty, turn, rotation, ground)
            for penalty, ground in zip((1.0, 1.6), grounds, strict=True)
            for turn, rotation in enumerate((0.0, 90.0))
            if (place := _block_place(sheet, ground, block, wanted, rotation)) is not None
        ]
        for _, _, rotation, ground in sorted(options, key=lambda option: option[:2])[:1]:
            texts = place_block(sheet, ground, block, wanted, rotation, colour=ACCENT)
            corners = np.concatenate([text.corners() for text in texts])
            low, high = corners.min(axis=0) - 0.4, corners.max(axis=0) + 0.4
            near = min(seen, key=lambda p: float(np.hypot(*(np.clip(p, low, high) - p))))
            leader = np.stack([np.clip(near, low, high), near])
            return [Path((leader,), stroke=ACCENT, width=0.16), *(backing(text) for text in texts), *texts]
    return []


def _block_place(
    sheet: Sheet, ground: BoolArray, block: Sequence[tuple[Run, ...]], wanted: FloatArray, rotation: float
) -> FloatArray | None:
    width, height = max(runs_width(words, LABEL) for words in block) + 0.8, 3.1 * len(block) + 0.4
    place = sheet.place(*((width, height) if rotation == 0.0 else (height, width)), ground, wanted.tolist())
    return None if place is None else np.array(place)


def _sampled(points: FloatArray) -> list[FloatArray]:
    found = []
    for start, end in zip(points[:-1], points[1:], strict=True):
        count = max(int(np.hypot(*(end - start)) / 4.0), 1)
        found.extend(start + share * (end - start) for share in (np.arange(count) + 0.5) / count)
    return found


def coldest_points(result: SectionResult, placed: Frame, sheet: Sheet, masks: Mapping[str, BoolArray]) -> list[Item]:
    """▼ at the coldest point of each inside surface, with its temperature."""
    found: list[Item] = []
    x0, y0, x1, y1 = placed.window
    for factor in result.f_rsi:
        at = placed.paper(np.array([factor.point]))[0]
        if not (x0 - 0.1 <= at[0] <= x1 + 0.1 and y0 - 0.1 <= at[1] <= y1 + 0.1):
            continue
        mark = _mark_direction(placed, sheet, at)
        found.append(Path((mark,), closed=True, fill=INK, stroke="#ffffff", width=0.25))
        centre = mark.mean(axis=0)
        sheet.take_box(*(mark.min(axis=0) - 0.2).tolist(), *(mark.max(axis=0) + 0.2).tolist())
        words = runs("▼ ", Run("θ", "italic"), Run("si,min", subscript=True), f" {estimate_text(factor)}")
        for rotation in (0.0, 90.0):
            texts = place_block(sheet, masks[factor.environment], [words], centre, rotation)
            if texts:
                found.extend(texts)
                break
    return found


def estimate_text(factor: object) -> str:
    """The coldest point's temperature as an estimate, without its tolerance, which stands in the table."""
    value = getattr(factor, "temperature")  # noqa: B009
    return format_estimate(TEMPERATURE, float(value), 0.0).partition(" (")[0]


def _mark_direction(placed: Frame, sheet: Sheet, at: FloatArray) -> FloatArray:
    """A small triangle in the air, its tip on the point."""
    outside = ~sheet.within([placed.paper(ring) for ring in placed.geometry.outline])
    best = (0.0, 1.0)
    for way in ((0.0, 1.0), (0.0, -1.0), (1.0, 0.0), (-1.0, 0.0), (0.7, 0.7), (-0.7, 0.7), (0.7, -0.7), (-0.7, -0.7)):
        row, column = int((at[1] + 2.0 * way[1]) / CELL), int((at[0] + 2.0 * way[0]) / CELL)
        if 0 <= row < outside.shape[0] and 0 <= column < outside.shape[1] and outside[row, column]:
            best = way
            break
    along = np.array(best)
    across = np.array([-along[1], along[0]])
    return np.stack([at, at + 2.4 * along + 1.1 * across, at + 2.4 * along - 1.1 * across])


# -- materials -----------------------------------------------------------------------------------------------------


def _material_marks(placed: Frame, sheet: Sheet, numbers: Mapping[Material, int]) -> list[Item]:
    """A numbered circle in or beside each piece, and its short name where there is room."""
    found: list[Item] = []
    x0, y0, x1, y1 = placed.window
    window = sheet.box(x0 + 0.6, y0 + 0.6, x1 - 0.6, y1 - 0.6)
    within = {}
    for number, piece in enumerate(placed.geometry.pieces):
        within[number] = sheet.within([placed.paper(ring) for ring in piece.rings]) & window
    depth = {number: deepest(mask & ~sheet.taken) or deepest(mask) for number, mask in within.items()}
    done: set[int] = set()
    outside: list[tuple[Piece, tuple[float, float, float]]] = []
    for number, piece in enumerate(placed.geometry.pieces):
        spot = depth[number]
        if spot is None:
            continue
        label = numbers[piece.material]
        if spot[2] >= 2 * RADIUS + 0.9:
            found += _named(sheet, piece, label, within[number], spot)
            done.add(label)
        else:
            outside.append((piece, spot))
    grounds = (air_mask(placed, sheet), sheet.box(*placed.window))
    for piece, spot in outside:
        if numbers[piece.material] not in done:
            found += _led(sheet, numbers[piece.material], grounds, spot)
            done.add(numbers[piece.material])
    return found


def _named(sheet: Sheet, piece: Piece, number: int, mask: BoolArray, spot: tuple[float, float, float]) -> list[Item]:
    """Circle, and beside it the name where both fit."""
    words = runs(short_name(piece))
    width, side = runs_width(words, LABEL), 2 * RADIUS
    for rotation in (0.0, 90.0):
        length = side + 1.2 + width
        box = (length + 1.2, side + 0.8) if rotation == 0.0 else (side + 0.8, length + 1.2)
        place = sheet.place(*box, mask, spot)
        if place is None:
            continue
        x, y = place
        back = 0.5 * length - RADIUS
        centre = (x - back, y) if rotation == 0.0 else (x, y - back)
        start = back - RADIUS - 1.2
        text = (
            Text(x - start, y - 0.85, words, LABEL)
            if rotation == 0.0
            else Text(x + 0.85, y - start, words, LABEL, rotation=90.0)
        )
        sheet.take_text(text)
        return [backing(text, pad=1.0), text, *_circle(sheet, centre, number)]
    place = sheet.place(side + 0.4, side + 0.4, mask, spot)
    return _circle(sheet, place or (spot[0], spot[1]), number)


def _led(sheet: Sheet, number: int, grounds: Sequence[BoolArray], spot: tuple[float, float, float]) -> list[Item]:
    """A circle with a leader to a dot in a thin piece: in the air where that is near, else in a thick neighbour."""
    start = np.array(spot[:2])
    side = 2 * RADIUS + 0.6
    found: list[tuple[float, float, float]] = []
    for penalty, ground in zip((1.0, 2.0), grounds, strict=True):
        places = sheet.places(side, side, ground, spot[:2], slant=1.5)
        way = places - start
        length = np.maximum(np.hypot(way[:, 0], way[:, 1]), 1e-9)
        clear = (length > RADIUS + 1.0) & ~sheet.crossed(start, places - way / length[:, None] * (RADIUS + 0.3))
        if clear.any():
            k = int(np.argmax(clear))
            found.append((float(length[k]) * penalty, *places[k].tolist()))
    if not found:
        return []
    _, x, y = min(found)
    chosen = (x, y)
    way = np.array(chosen) - start
    leader = np.stack([start, np.array(chosen) - way / float(np.hypot(*way)) * RADIUS])
    sheet.take_lines(leader)
    return [
        Path((leader,), stroke="#ffffff", width=0.5),
        Path((leader,), stroke=INK, width=0.14),
        Path((circle_ring(start, 0.42, 12),), closed=True, fill=INK),
        *_circle(sheet, chosen, number),
    ]


def _circle(sheet: Sheet, centre: tuple[float, float], number: int) -> list[Item]:
    x, y = centre
    sheet.take_box(x - RADIUS - 0.2, y - RADIUS - 0.2, x + RADIUS + 0.2, y + RADIUS + 0.2)
    return [
        Path((circle_ring(centre, RADIUS),), closed=True, fill="#ffffff", stroke=INK, width=0.18),
        Text(x, y - 0.85, runs(Run(str(number), "bold")), NUMBER, "middle"),
    ]


def short_name(piece: Piece) -> str:
    """What a piece is called where room is scarce."""
    name = piece.names[0] if len(piece.names) == 1 else piece.material.name
    name = name.partition(",")[0].partition("(")[0].strip()
    return name if len(name) <= 28 else f"{name[:27].rstrip()}…"


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
        items += hatched(_kind(piece), [swatch], piece.grain)
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
