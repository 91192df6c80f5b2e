"""Numbered circles in or beside the pieces of a section, and their short names where there is room."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from bridge2d.drawing.callouts import backing
from bridge2d.drawing.colours import INK
from bridge2d.drawing.frame import LABEL, Frame
from bridge2d.drawing.hatches import hatch_kind
from bridge2d.drawing.labels import air_mask
from bridge2d.drawing.scene import (
    Item,
    Path,
    Run,
    Text,
    circle_ring,
    runs,
    runs_width,
)
from bridge2d.drawing.section_geometry import Piece
from bridge2d.drawing.sheet import BoolArray, Sheet, deepest
from bridge2d.materials import Material

RADIUS = 2.1
"""Of the circle around a material's number [mm]."""


NUMBER = 6.6
SEARCHES = ((False, False, 40), (False, False, 600), (True, False, 600), (True, True, 40))
"""How a place for a circle is looked for, one way after the other: whether it may stand on edges of materials, whether
its leader may cross something, and how many places are tried."""


def drawn_kind(piece: Piece) -> str:
    """The hatch that a piece is drawn with."""
    return hatch_kind(piece.material, piece.grain)


def material_marks(placed: Frame, sheet: Sheet, numbers: Mapping[Material, int]) -> list[Item]:
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
        spot = depth[number] or _in_thin(piece, placed)
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


def _in_thin(piece: Piece, placed: Frame) -> tuple[float, float, float] | None:
    """A point within a piece too thin for any cell: beside the middle of its longest side in the window."""
    x0, y0, x1, y1 = placed.window
    best, spot = 0.05, None
    for ring in piece.rings:
        seen = np.clip(placed.paper(ring), (x0, y0), (x1, y1))
        way = np.roll(seen, -1, axis=0) - seen
        lengths = np.hypot(way[:, 0], way[:, 1])
        k = int(np.argmax(lengths))
        if lengths[k] > best:
            best = float(lengths[k])
            inward = np.array([-way[k, 1], way[k, 0]]) / best
            x, y = (seen[k] + 0.5 * way[k] + 0.1 * inward).tolist()
            spot = (x, y, 0.2)
    return spot


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
        return [backing(text, pad=1.0), text, *numbered_circle(sheet, centre, number)]
    place = sheet.place(side + 0.4, side + 0.4, mask, spot)
    return numbered_circle(sheet, place or (spot[0], spot[1]), number)


def _led(sheet: Sheet, number: int, grounds: Sequence[BoolArray], spot: tuple[float, float, float]) -> list[Item]:
    """A circle with a leader to a dot in a thin piece: in the air where that is near, else in a thick neighbour."""
    start = np.array(spot[:2])
    side = 2 * RADIUS + 0.6
    found: list[tuple[float, float, float]] = []
    for over_edges, crossing, most in SEARCHES:
        for penalty, ground in zip((1.0, 2.0), grounds, strict=True):
            places = sheet.places(side, side, ground, spot[:2], slant=1.5, most=most, reach=40.0, over_edges=over_edges)
            way = places - start
            length = np.maximum(np.hypot(way[:, 0], way[:, 1]), 1e-9)
            clear = length > RADIUS + 1.0
            if not crossing:
                clear &= ~sheet.crossed(start, places - way / length[:, None] * (RADIUS + 0.3))
            if clear.any():
                k = int(np.argmax(clear))
                found.append((float(length[k]) * penalty, *places[k].tolist()))
        if found:
            break
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
        *numbered_circle(sheet, chosen, number),
    ]


def numbered_circle(sheet: Sheet, centre: tuple[float, float], number: int) -> list[Item]:
    """A number in a circle, and its cells taken."""
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
