"""Labels of a picture: where the air is, and what the environments in it are called."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise

import numpy as np

from bridge2d.detail import Environment
from bridge2d.drawing.callouts import Labelled, Words, callout, place_block, together
from bridge2d.drawing.colours import ACCENT
from bridge2d.drawing.dimensions import SIDES
from bridge2d.drawing.frame import Frame
from bridge2d.drawing.lines import FloatArray
from bridge2d.drawing.scene import Run, runs
from bridge2d.drawing.section_geometry import Face, distance_to
from bridge2d.drawing.sheet import CELL, BoolArray, Sheet
from bridge2d.nomenclature import EXTERNAL_SURFACE_RESISTANCE, EXTERNAL_TEMPERATURE

MARGIN_PENALTY = 3.0
"""How much rather a text stands in the air of its own environment than elsewhere on the paper."""


def air_masks(placed: Frame, sheet: Sheet) -> dict[str, BoolArray]:
    """For each environment the cells in its air: those to which one of its surfaces is the nearest."""
    air = air_mask(placed, sheet)
    nearest = {e.name: np.full(air.shape, np.inf) for e in placed.geometry.section.environments}
    for face in placed.geometry.faces:
        known = nearest[face.surface.environment]
        for points in face.lines:
            for start, end in pairwise(placed.paper(points)):
                np.minimum(known, _away(air.shape, start, end), out=known)
    least = np.argmin(list(nearest.values()), axis=0)
    return {name: air & (least == number) for number, name in enumerate(nearest)}


def _away(shape: tuple[int, ...], start: FloatArray, end: FloatArray) -> FloatArray:
    """How far the middle of each cell is from a straight piece, squared [mm²]; on a grid of rows and columns."""
    y, x = ((np.arange(count) + 0.5) * CELL for count in shape)
    if (start == end).any():  # along a row or a column, as most are
        low, high = np.minimum(start, end), np.maximum(start, end)
        across = np.maximum(np.maximum(low[0] - x, x - high[0]), 0.0)
        up = np.maximum(np.maximum(low[1] - y, y - high[1]), 0.0)
        squared: FloatArray = across[None, :] ** 2 + up[:, None] ** 2
        return squared
    cells = np.stack(np.broadcast_arrays(x[None, :], y[:, None]), axis=2).reshape(-1, 2)
    return distance_to(cells, start, end).reshape(shape) ** 2


def outside_mask(placed: Frame, sheet: Sheet) -> BoolArray:
    """Cells in no region, wherever they are on the paper."""
    return ~sheet.within([placed.paper(ring) for ring in placed.geometry.outline])


def air_mask(placed: Frame, sheet: Sheet) -> BoolArray:
    """Cells in the air beside surfaces, between the section and the dimension chains."""
    x0, y0, x1, y1 = placed.window
    air = placed.air
    near = sheet.box(x0 - air["left"], y0 - air["bottom"], x1 + air["right"], y1 + air["top"])
    return near & outside_mask(placed, sheet)


def air_grounds(
    placed: Frame, sheet: Sheet, masks: Mapping[str, BoolArray], environment: str
) -> list[tuple[float, BoolArray]]:
    """Where a text about an environment may stand: its own air, then the margin that is nobody else's air."""
    margin = outside_mask(placed, sheet)
    for name, mask in masks.items():
        if name != environment:
            margin &= ~mask
    return [(1.0, masks[environment]), (MARGIN_PENALTY, margin)]


def widest_side(placed: Frame, sheet: Sheet, mask: BoolArray) -> frozenset[str]:
    """The side of the window where most of an environment's air lies, as a set; empty for the air of a hole."""
    x0, y0, x1, y1 = placed.window
    strips = {
        "left": sheet.box(0.0, y0, x0, y1),
        "right": sheet.box(x1, y0, placed.width, y1),
        "bottom": sheet.box(x0, 0.0, x1, y0),
        "top": sheet.box(x0, y1, x1, placed.height),
    }
    counts = {side: int((strips[side] & mask).sum()) for side in SIDES}
    side = max(SIDES, key=lambda one: counts[one])
    return frozenset({side}) if counts[side] else frozenset()


def nearest_side(placed: Frame, point: FloatArray) -> frozenset[str]:
    """The side of the window that is nearest to a point [mm], as a set."""
    x0, y0, x1, y1 = placed.window
    away = {"left": point[0] - x0, "right": x1 - point[0], "bottom": point[1] - y0, "top": y1 - point[1]}
    return frozenset({min(SIDES, key=lambda side: float(away[side]))})


def environment_words(placed: Frame, environment: Environment) -> list[Words]:
    """Name, temperature, and surface resistance of an environment, one line each."""
    coldest = min(e.temperature for e in placed.geometry.section.environments)
    index = "se" if environment.temperature == coldest else "si"
    values = sorted({f.surface.resistance for f in placed.geometry.faces if f.surface.environment == environment.name})
    display = placed.shown
    shown = " / ".join(display.value(EXTERNAL_SURFACE_RESISTANCE, value, unit=False) for value in values)
    temperature = display.value(EXTERNAL_TEMPERATURE, environment.temperature)
    return [
        runs(Run(environment.name, "bold"), f"  {temperature}"),
        runs(Run("R", "italic"), Run(index, subscript=True), f" {shown} {display.unit(EXTERNAL_SURFACE_RESISTANCE)}"),
    ]


def environment_labels(
    placed: Frame, sheet: Sheet, masks: Mapping[str, BoolArray], *, final: bool, short: bool = False
) -> Labelled:
    """Labels of the environments in their air.

    Args:
        placed: the section on paper.
        sheet: the paper.
        masks: the environments' air, see `air_masks`.
        final: whether a label that has no room there may stand elsewhere with a leader, or under the picture.
        short: whether the surface resistance is left out.
    """
    return together(
        _environment_label(placed, sheet, masks, environment, final=final, short=short)
        for environment in placed.geometry.section.environments
    )


def _environment_label(
    placed: Frame,
    sheet: Sheet,
    masks: Mapping[str, BoolArray],
    environment: Environment,
    *,
    final: bool,
    short: bool,
) -> Labelled:
    faces = [f for f in placed.geometry.faces if f.surface.environment == environment.name]
    if not faces:
        return Labelled()
    words = environment_words(placed, environment)[: 1 if short else 2]
    target = longest_face_middle(placed, faces)
    one_line = words if short else [runs(words[0], "   ", words[1])]
    mask = masks[environment.name]
    settings = ((words, 0.0), (one_line, 0.0), (one_line, 90.0), (words, 90.0))
    texts = place_block(sheet, mask, settings, target, ACCENT)
    if texts:
        return Labelled(tuple(texts))
    side = widest_side(placed, sheet, mask)
    if side and not final:
        return Labelled(crowded=side)
    grounds = air_grounds(placed, sheet, masks, environment.name)
    led = callout(sheet, grounds, [words, one_line], target[None, :], colour=ACCENT)
    return Labelled(tuple(led)) if led else Labelled(notes=(one_line[0],))


def longest_face_middle(placed: Frame, faces: Sequence[Face]) -> FloatArray:
    """The middle of the longest straight piece of some surfaces within the window [mm]."""
    x0, y0, x1, y1 = placed.window
    best, longest = np.array([0.5 * (x0 + x1), 0.5 * (y0 + y1)]), -1.0
    for face in faces:
        for points in face.lines:
            drawn = placed.paper(points)
            seen = np.clip(drawn, (x0, y0), (x1, y1))
            lengths = np.hypot(*np.diff(seen, axis=0).T)
            # a piece beyond the window would be clipped to a line along its edge
            high, low = np.maximum(drawn[:-1], drawn[1:]), np.minimum(drawn[:-1], drawn[1:])
            lengths[((high < (x0, y0)) | (low > (x1, y1))).any(axis=1)] = -1.0
            k = int(np.argmax(lengths))
            if lengths[k] > longest:
                longest, best = float(lengths[k]), 0.5 * (seen[k] + seen[k + 1])
    return best


def keep_off_edges(placed: Frame, sheet: Sheet) -> None:
    """Let no text run over the edge of a material or over the window's own edge."""
    x0, y0, x1, y1 = placed.window
    rings = [ring for piece in placed.geometry.pieces for ring in piece.rings]
    closed = [placed.paper(np.concatenate([ring, ring[:1]])) for ring in rings]
    sheet.keep_texts_off(*(np.clip(ring, (x0, y0), (x1, y1)) for ring in closed))
