"""Numbered circles in or beside the pieces of a section, and their short names where there is room."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

import numpy as np

from bridge2d.drawing.callouts import backing
from bridge2d.drawing.colours import INK
from bridge2d.drawing.frame import LABEL, Frame
from bridge2d.drawing.hatches import hatch_kind
from bridge2d.drawing.labels import air_mask
from bridge2d.drawing.lines import FloatArray
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
from bridge2d.drawing.sheet import CELL, BoolArray, Sheet, deepest
from bridge2d.materials import Material

Spot = tuple[float, float, float]
"""A point within a piece and how wide the piece is there [mm]."""
RADIUS = 2.1
"""Of the circle around a material's number [mm]."""


NUMBER = 6.6
SHORT = 12.0
"""Longest leader to a spot that is not the best one of its piece [mm]."""
NOTHING, LINES, ANYTHING = "nothing", "lines", "anything"
SEARCHES = (
    (False, NOTHING, 40),
    (False, NOTHING, 600),
    (True, NOTHING, 600),
    (False, LINES, 2000),
    (True, LINES, 6000),
    (True, ANYTHING, 40),
)
"""How a place for a circle is looked for, one way after the other: whether it may stand on edges of materials, what
its leader may cross (lines: also the circles of others, which lie over it), and how many places are tried."""


AT_ONCE = 60
"""So many places are tried in the first go, and four times as many in each one after it."""


def drawn_kind(piece: Piece) -> str:
    """The hatch that a piece is drawn with."""
    return hatch_kind(piece.material, piece.grain)


def material_marks(
    placed: Frame,
    sheet: Sheet,
    numbers: Mapping[Material, int],
    elsewhere: Collection[Material] = (),
    *,
    sparing: bool = False,
) -> list[Item]:
    """A numbered circle in or beside each piece, and its short name where there is room.

    Args:
        placed: the section on paper.
        sheet: the paper.
        numbers: of the materials.
        elsewhere: materials that have their numbers in another drawing.
        sparing: whether a piece goes without where a leader to it would cross something.
    """
    found: list[Item] = []
    x0, y0, x1, y1 = placed.window
    window = sheet.box(x0 + 0.6, y0 + 0.6, x1 - 0.6, y1 - 0.6)
    within = {}
    for number, piece in enumerate(placed.geometry.pieces):
        within[number] = sheet.within([placed.paper(ring) for ring in piece.rings]) & window
    depth = {number: deepest(mask & ~sheet.taken) or deepest(mask) for number, mask in within.items()}
    done: set[int] = set()
    outside: list[tuple[Piece, list[Spot]]] = []
    for number, piece in enumerate(placed.geometry.pieces):
        spot = depth[number]
        spots = [spot] if spot else _in_thin(piece, placed, sheet)
        if not spots:
            continue
        label = numbers[piece.material]
        if spots[0][2] >= 2 * RADIUS + 0.9:
            found += _named(sheet, piece, label, within[number], spots[0])
            done.add(label)
        else:
            outside += [] if piece.material in elsewhere else [(piece, spots)]
    grounds = (air_mask(placed, sheet), sheet.box(*placed.window))
    leaders: list[Item] = []  # under all circles: where one has to pass another's number, that stays legible
    for piece, spots in outside:
        if numbers[piece.material] not in done:
            leader, circle = _led(sheet, numbers[piece.material], grounds, spots, SEARCHES[:3] if sparing else SEARCHES)
            leaders += leader
            found += circle
            done.add(numbers[piece.material])
    return leaders + found


def _in_thin(piece: Piece, placed: Frame, sheet: Sheet) -> list[Spot]:
    """Points within a piece too thin for any cell: along its longest sides in the window, their middles first.

    Those at which a label or the airtight layer lies are left out where there are others.
    """
    x0, y0, x1, y1 = placed.window
    sides: list[tuple[float, FloatArray, FloatArray]] = []
    for ring in piece.rings:
        seen = np.clip(placed.paper(ring), (x0, y0), (x1, y1))
        way = np.roll(seen, -1, axis=0) - seen
        lengths = np.hypot(way[:, 0], way[:, 1]).tolist()
        sides += [(length, *ends) for length, *ends in zip(lengths, seen, way, strict=True) if length > 0.05]
    sides.sort(key=lambda side: -side[0])
    spots = []
    for share in (0.5, 0.3, 0.7, 0.15, 0.85):
        for length, start, way in sides:
            if length >= 0.5 * sides[0][0]:
                inward = np.array([-way[1], way[0]]) / length
                spots.append((start + share * way + 0.1 * inward).tolist())
    free = [(x, y) for x, y in spots if not sheet.taken[int(y / CELL), int(x / CELL)]]
    return [(x, y, 0.2) for x, y in free or spots]


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


def _led(
    sheet: Sheet,
    number: int,
    grounds: Sequence[BoolArray],
    spots: Sequence[Spot],
    searches: Sequence[tuple[bool, str, int]],
) -> tuple[list[Item], list[Item]]:
    """A leader to a dot in a thin piece, and its circle: in the air where that is near, else in a thick neighbour."""
    for over_edges, crossing, most in searches:
        # The first spot is the best; others help where no leader reaches it without crossing something, if theirs
        # are short.
        for number_of_spot, spot in enumerate(spots):
            chosen = _circle_place(sheet, grounds, spot, over_edges=over_edges, crossing=crossing, most=most)
            if chosen and (not number_of_spot or np.hypot(chosen[0] - spot[0], chosen[1] - spot[1]) <= SHORT):
                return _leader_and_circle(sheet, number, np.array(spot[:2]), chosen)
    return [], []


def _circle_place(
    sheet: Sheet, grounds: Sequence[BoolArray], spot: Spot, *, over_edges: bool, crossing: str, most: int
) -> tuple[float, float] | None:
    """Where a circle may stand that is led to a spot; None where there is no place."""
    start = np.array(spot[:2])
    side = 2 * RADIUS + 0.6
    found: list[tuple[float, float, float]] = []
    for penalty, ground in zip((1.0, 2.0), grounds, strict=True):
        places = sheet.places(side, side, ground, spot[:2], slant=1.5, most=most, reach=40.0, over_edges=over_edges)
        first, count = 0, AT_ONCE  # the first ones are the best, and mostly one of them is free
        while first < len(places):
            some = places[first : first + count]
            first, count = first + count, 4 * count
            way = some - start
            length = np.maximum(np.hypot(way[:, 0], way[:, 1]), 1e-9)
            clear = length > RADIUS + 1.0
            if crossing != ANYTHING:
                ends = some - way / length[:, None] * (RADIUS + 0.3)
                clear &= ~sheet.crossed(start, ends, texts_only=crossing == LINES)
            if clear.any():
                k = int(np.argmax(clear))
                found.append((float(length[k]) * penalty, *some[k].tolist()))
                break
    return min(found)[1:] if found else None


def _leader_and_circle(
    sheet: Sheet, number: int, start: FloatArray, chosen: tuple[float, float]
) -> tuple[list[Item], list[Item]]:
    way = np.array(chosen) - start
    leader = np.stack([start, np.array(chosen) - way / float(np.hypot(*way)) * RADIUS])
    sheet.take_lines(leader)
    drawn: list[Item] = [
        Path((leader,), stroke="#ffffff", width=0.5),
        Path((leader,), stroke=INK, width=0.14),
        Path((circle_ring(start, 0.42, 12),), closed=True, fill=INK),
    ]
    return drawn, numbered_circle(sheet, chosen, number)


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
