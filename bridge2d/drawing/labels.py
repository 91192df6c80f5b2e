"""Labels of a picture: where the air is, what environments are called, and blocks of text in free places."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from bridge2d.detail import Environment
from bridge2d.drawing.colours import ACCENT, INK
from bridge2d.drawing.fonts import MILLIMETRES_PER_POINT
from bridge2d.drawing.frame import LABEL, LINE_HEIGHT, Frame
from bridge2d.drawing.lines import FloatArray
from bridge2d.drawing.scene import Item, Path, Run, Text, runs, runs_width
from bridge2d.drawing.section_geometry import Face, distance_to
from bridge2d.drawing.sheet import CELL, BoolArray, Sheet
from bridge2d.nomenclature import EXTERNAL_SURFACE_RESISTANCE, EXTERNAL_TEMPERATURE, format_value


def air_masks(placed: Frame, sheet: Sheet) -> dict[str, BoolArray]:
    """For each environment the cells in its air: those to which one of its surfaces is the nearest."""
    air = air_mask(placed, sheet)
    rows, columns = np.nonzero(air)
    cells = np.stack([(columns + 0.5) * CELL, (rows + 0.5) * CELL], axis=1)
    nearest = np.full(len(cells), np.inf)
    owner = np.full(len(cells), -1)
    names = [environment.name for environment in placed.geometry.section.environments]
    for face in placed.geometry.faces:
        for points in face.lines:
            line = placed.paper(points)
            for start, end in pairwise(line):
                distance = distance_to(cells, start, end)
                closer = distance < nearest
                nearest[closer], owner[closer] = distance[closer], names.index(face.surface.environment)
    found = {}
    for number, name in enumerate(names):
        mask = np.zeros_like(air)
        mask[rows[owner == number], columns[owner == number]] = True
        found[name] = mask
    return found


def air_mask(placed: Frame, sheet: Sheet) -> BoolArray:
    """Cells in the air beside surfaces, between the section and the dimension chains."""
    x0, y0, x1, y1 = placed.window
    air = placed.air
    near = sheet.box(x0 - air["left"], y0 - air["bottom"], x1 + air["right"], y1 + air["top"])
    return near & ~sheet.within([placed.paper(ring) for ring in placed.geometry.outline])


def environment_words(placed: Frame, environment: Environment) -> list[tuple[Run, ...]]:
    """Name, temperature, and surface resistance of an environment, one line each."""
    coldest = min(e.temperature for e in placed.geometry.section.environments)
    index = "se" if environment.temperature == coldest else "si"
    values = sorted({f.surface.resistance for f in placed.geometry.faces if f.surface.environment == environment.name})
    shown = " / ".join(format_value(EXTERNAL_SURFACE_RESISTANCE, value, unit=False) for value in values)
    temperature = format_value(EXTERNAL_TEMPERATURE, environment.temperature)
    return [
        runs(Run(environment.name, "bold"), f"  {temperature}"),
        runs(Run("R", "italic"), Run(index, subscript=True), f" {shown} {EXTERNAL_SURFACE_RESISTANCE.unit}"),
    ]


def environment_labels(
    placed: Frame, sheet: Sheet, masks: dict[str, BoolArray]
) -> tuple[list[Item], list[tuple[Run, ...]]]:
    """Labels of the environments in the air, and those for which there is no room there."""
    found: list[Item] = []
    homeless: list[tuple[Run, ...]] = []
    for environment in placed.geometry.section.environments:
        faces = [f for f in placed.geometry.faces if f.surface.environment == environment.name]
        if not faces:
            continue
        words = environment_words(placed, environment)
        target = _outward_of_longest(placed, faces)
        one_line = [runs(words[0], "   ", words[1])]
        for block, rotation in ((words, 0.0), (one_line, 0.0), (one_line, 90.0), (words, 90.0)):
            texts = place_block(sheet, masks[environment.name], block, target, rotation, colour=ACCENT)
            if texts:
                found.extend(texts)
                break
        else:
            homeless.append(one_line[0])
    return found, homeless


def place_block(
    sheet: Sheet,
    allowed: BoolArray,
    block: Sequence[tuple[Run, ...]],
    target: Sequence[float] | FloatArray,
    rotation: float = 0.0,
    colour: str = INK,
    size: float = LABEL,
) -> list[Text]:
    """Some lines of text at the free place nearest to a target; empty where there is none."""
    width = max(runs_width(words, size) for words in block)
    height = LINE_HEIGHT * (len(block) - 1) + size * MILLIMETRES_PER_POINT
    box = (width, height) if rotation == 0.0 else (height, width)
    place = sheet.place(box[0] + 0.8, box[1] + 0.8, allowed, target)
    if place is None:
        return []
    texts = block_at(block, place, rotation, colour, size)
    for text in texts:
        sheet.take_text(text)
    return texts


def block_at(
    block: Sequence[tuple[Run, ...]], middle: tuple[float, float], rotation: float, colour: str, size: float = LABEL
) -> list[Text]:
    """Lines of text about their common middle [mm]."""
    turn = math.radians(rotation)
    height = LINE_HEIGHT * (len(block) - 1) + size * MILLIMETRES_PER_POINT
    found = []
    for number, words in enumerate(block):
        down = 0.5 * height - 0.76 * size * MILLIMETRES_PER_POINT - LINE_HEIGHT * number
        x, y = middle[0] - math.sin(turn) * down, middle[1] + math.cos(turn) * down
        found.append(Text(x, y, words, size, "middle", rotation, colour))
    return found


def _outward_of_longest(placed: Frame, faces: Sequence[Face]) -> FloatArray:
    """A point in the air before the middle of the longest straight piece of some surfaces [mm]."""
    x0, y0, x1, y1 = placed.window
    best, longest = np.array([0.5 * (x0 + x1), 0.5 * (y0 + y1)]), -1.0
    for face in faces:
        for points in face.lines:
            seen = np.clip(placed.paper(points), (x0, y0), (x1, y1))
            lengths = np.hypot(*np.diff(seen, axis=0).T)
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


def backing(text: Text, colour: str = "#ffffff", pad: float = 0.35) -> Path:
    """A patch under a text, so that what lies beneath does not disturb its reading."""
    corners = text.corners()
    middle = corners.mean(axis=0)
    grown = middle + (corners - middle) * (1.0 + pad / max(text.width, 1.0))
    return Path((grown,), closed=True, fill=colour)
