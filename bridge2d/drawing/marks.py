"""Marks on a section: the airtight layer with its label, and the coldest points of inside surfaces."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise

import numpy as np

from bridge2d.drawing.colours import ACCENT, INK
from bridge2d.drawing.frame import LABEL, Frame
from bridge2d.drawing.labels import air_mask, backing, place_block
from bridge2d.drawing.lines import FloatArray
from bridge2d.drawing.scene import (
    Clip,
    Item,
    Path,
    Run,
    rectangle_ring,
    runs,
    runs_width,
)
from bridge2d.drawing.section_geometry import both_halves
from bridge2d.drawing.sheet import CELL, BoolArray, Sheet
from bridge2d.nomenclature import TEMPERATURE, format_estimate
from bridge2d.results import SectionResult

AIRTIGHT_WIDTH = 0.85


AIRTIGHT_DASH = (3.4, 1.1, 0.7, 1.1)


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


def airtight_label(placed: Frame, sheet: Sheet) -> list[Item]:
    """The words “airtight layer” where it is free near the line, with a leader."""
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
    found: list[FloatArray] = []
    for start, end in pairwise(points):
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
        air, anywhere = masks[factor.environment], sheet.box(x0, y0, x1, y1)
        for ground, rotation in ((air, 0.0), (air, 90.0), (anywhere, 0.0), (anywhere, 90.0)):
            texts = place_block(sheet, ground, [words], centre, rotation)
            if texts:
                found += [*(backing(text) for text in texts), *texts]
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
