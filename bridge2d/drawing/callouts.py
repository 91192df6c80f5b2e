"""Texts with a leader to the point that they speak of; what found no place, and on which side room is wanted."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import NamedTuple

import numpy as np

from bridge2d.drawing.colours import INK
from bridge2d.drawing.fonts import MILLIMETRES_PER_POINT
from bridge2d.drawing.frame import LABEL, LINE_HEIGHT
from bridge2d.drawing.lines import FloatArray
from bridge2d.drawing.scene import Item, Path, Run, Text, runs_width
from bridge2d.drawing.sheet import BoolArray, Sheet

Words = tuple[Run, ...]
STANDS_OFF = 1.0
"""A text farther than this from the edge of its mark has a leader [mm]."""
PLACES = 60
"""So many places are looked at for each way to set a text."""
TURNED, NEXT_BLOCK = 3.0, 4.0
"""How much worse a turned text is, and the next way to break its lines [mm of leader]."""


class Labelled(NamedTuple):
    """Labels of a picture.

    Attributes:
        items: texts, leaders and marks.
        notes: what has to be said under the picture.
        crowded: sides on which a label found no room.
    """

    items: tuple[Item, ...] = ()
    notes: tuple[Words, ...] = ()
    crowded: frozenset[str] = frozenset()


def together(parts: Iterable[Labelled]) -> Labelled:
    """All labels of some parts, in their order."""
    found = list(parts)
    return Labelled(
        tuple(item for part in found for item in part.items),
        tuple(note for part in found for note in part.notes),
        frozenset(side for part in found for side in part.crowded),
    )


class Setting(NamedTuple):
    """One way to set a text.

    Attributes:
        block: its lines.
        rotation: of the text [deg].
        penalty: factor on the length of its leader.
        handicap: what is added to that [mm].
        ground: where it may stand.
    """

    block: tuple[Words, ...]
    rotation: float
    penalty: float
    handicap: float
    ground: BoolArray


class Way(NamedTuple):
    """A text at a place: its cost, rotation [deg], middle and the tip of its leader [mm], and its lines."""

    cost: float
    rotation: float
    x: float
    y: float
    tip: tuple[float, float]
    block: tuple[Words, ...]


def callout(
    sheet: Sheet,
    grounds: Sequence[tuple[float, BoolArray]],
    blocks: Sequence[Sequence[Words]],
    tips: FloatArray,
    *,
    mark: float = 0.0,
    colour: str = INK,
    size: float = LABEL,
    over_edges: bool = False,
) -> list[Item]:
    """A text at the best free place, with a leader where it stands off its point; empty where there is none.

    Args:
        sheet: the paper.
        grounds: where it may stand, each with a factor on the distance.
        blocks: the same words in lines broken this way or that, the best first.
        tips: points of which the nearest is meant; shape (n, 2) [mm].
        mark: radius of the mark around the point, which the leader keeps off [mm].
        colour: of text and leader.
        size: type size [pt].
        over_edges: whether the text may stand on edges of materials where there is no better place.
    """
    settings = [
        Setting(tuple(block), rotation, penalty, rank * NEXT_BLOCK + (TURNED if rotation else 0.0), ground)
        for penalty, ground in grounds
        for rank, block in enumerate(blocks)
        for rotation in (0.0, 90.0)
    ]
    settings.sort(key=lambda setting: (setting.handicap, setting.penalty))
    for on_edges, crossing in ((False, False), (over_edges, False), (over_edges, True)):
        best: Way | None = None
        for setting in settings:
            if best and best.cost <= setting.handicap:
                break
            way = _way(sheet, setting, tips, mark, size, over_edges=on_edges, crossing=crossing)
            best = way if way and (best is None or way.cost < best.cost) else best
        if best:
            return _drawn(sheet, best, mark, colour, size)
    return []


def block_size(block: Sequence[Words], size: float, rotation: float) -> tuple[float, float]:
    """Width and height of some lines of text on paper [mm]."""
    width = max(runs_width(words, size) for words in block)
    height = LINE_HEIGHT * (len(block) - 1) + size * MILLIMETRES_PER_POINT
    return (height, width) if rotation else (width, height)


def _way(
    sheet: Sheet,
    setting: Setting,
    tips: FloatArray,
    mark: float,
    size: float,
    *,
    over_edges: bool,
    crossing: bool,
) -> Way | None:
    """The best place for a text set in one way; None where there is none."""
    box = np.array(block_size(setting.block, size, setting.rotation)) + 0.8
    aim = tips[int(np.argmin(((tips - tips.mean(axis=0)) ** 2).sum(axis=1)))]
    places = sheet.places(box[0], box[1], setting.ground, aim, most=PLACES, reach=90.0, over_edges=over_edges)
    if not len(places):
        return None
    nearest = np.clip(tips[None, :, :], (places - 0.5 * box)[:, None, :], (places + 0.5 * box)[:, None, :])
    way = nearest - tips[None, :, :]
    length = np.hypot(way[..., 0], way[..., 1])
    which = np.argmin(length, axis=1)
    rows = np.arange(len(places))
    end, way, length = nearest[rows, which], way[rows, which], length[rows, which]
    clear = length > 0.5 * mark
    if not crossing:
        unit = way / np.maximum(length, 1e-9)[:, None]
        clear &= ~sheet.crossed(tips[which] + np.minimum(length, mark + 0.9)[:, None] * unit, end)
    if not clear.any():
        return None
    k = int(np.argmin(np.where(clear, length, math.inf)))
    x, y = places[k].tolist()
    tip_x, tip_y = tips[which[k]].tolist()
    cost = float(length[k]) * setting.penalty + setting.handicap
    return Way(cost, setting.rotation, x, y, (tip_x, tip_y), setting.block)


def _drawn(sheet: Sheet, way: Way, mark: float, colour: str, size: float) -> list[Item]:
    """Text and leader, and their cells taken."""
    texts = block_at(way.block, (way.x, way.y), way.rotation, colour, size)
    for text in texts:
        sheet.take_text(text)
    found: list[Item] = []
    corners = np.concatenate([text.corners() for text in texts])
    tip = np.array(way.tip)
    end = np.clip(tip, corners.min(axis=0) - 0.2, corners.max(axis=0) + 0.2)
    length = float(np.hypot(*(end - tip)))
    if length > mark + STANDS_OFF:
        leader = np.stack([end, tip + (end - tip) / length * mark])
        sheet.take_lines(leader)
        found += [Path((leader,), stroke="#ffffff", width=0.5), Path((leader,), stroke=colour, width=0.16)]
    return [*found, *(backing(text) for text in texts), *texts]


def place_block(
    sheet: Sheet,
    allowed: BoolArray,
    settings: Sequence[tuple[Sequence[Words], float]],
    target: Sequence[float] | FloatArray,
    colour: str = INK,
    size: float = LABEL,
) -> list[Item]:
    """Some lines of text at the free place nearest to a target; empty where there is none.

    Args:
        sheet: the paper.
        allowed: where they may stand; where nothing else is free they interrupt thin lines there.
        settings: lines and rotation [deg], the best way first.
        target: where they would best stand [mm].
        colour: of the text.
        size: type size [pt].
    """
    for over_edges in (False, True):
        for block, rotation in settings:
            box = block_size(block, size, rotation)
            found = sheet.places(box[0] + 0.8, box[1] + 0.8, allowed, target, most=1, over_edges=over_edges)
            if not len(found):
                continue
            texts = block_at(block, (float(found[0, 0]), float(found[0, 1])), rotation, colour, size)
            for text in texts:
                sheet.take_text(text)
            return [*(backing(text) for text in texts if over_edges), *texts]
    return []


def block_at(
    block: Sequence[Words], middle: tuple[float, float], rotation: float, colour: str, size: float = LABEL
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


def backing(text: Text, colour: str = "#ffffff", pad: float = 0.35) -> Path:
    """A patch under a text, so that what lies beneath does not disturb its reading."""
    corners = text.corners()
    middle = corners.mean(axis=0)
    grown = middle + (corners - middle) * (1.0 + pad / max(text.width, 1.0))
    return Path((grown,), closed=True, fill=colour)
