"""Drafting hatches: what a material looks like when it is cut.

Common practice after ISO 128-3: masonry diagonal, concrete diagonal with aggregate, timber across or along its grain,
soft insulation in loops, rigid insulation crossed, metal dense or solid. A pale tint lies under each; the hatch alone
tells the materials apart in black and white, materials of one kind by the spacing of its lines.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from bridge2d.drawing.scene import Clip, Item, Path
from bridge2d.materials import Material

FloatArray = NDArray[np.float64]
LINE = 0.11
"""Width of hatch lines [mm]."""
THIN = 1.1
"""A layer thinner than this on paper [mm] is tinted only, or solid."""

TINTS = {
    "brick": "#f0dfd3",
    "stone": "#e9e6de",
    "concrete": "#e4e6e5",
    "timber_end": "#f1e3c2",
    "timber_along": "#f4ead1",
    "board": "#efe6cf",
    "soft": "#f8f3dc",
    "rigid": "#e8eff0",
    "metal": "#c9d0d3",
    "plaster": "#f3f1ec",
    "membrane": "#59666b",
    "earth": "#e6ddcf",
    "glass": "#e3f0f1",
    "air": "#ffffff",
    "plain": "#f1f2f2",
    "concrete_light": "#eceeed",
    "gypsum_board": "#f4f4f2",
    "plastic": "#dfe3e6",
    "gravel": "#ece7de",
    "water": "#e4eef3",
    "as_metal": "#d5dadc",
    "as_masonry": "#efe3db",
    "as_timber": "#f3ead4",
    "as_insulation": "#edf3f3",
}
"""Ground of each hatch."""

SPACINGS = (1.0, 0.6, 1.5, 0.8)
"""Spacing of the hatch of the first, second, … material of one kind in a drawing, as a multiple of the usual one."""

CONDUCTIVITY_CLASSES = ((10.0, "as_metal"), (0.3, "as_masonry"), (0.1, "as_timber"), (0.0, "as_insulation"))
"""Light hatches of materials of which nothing but the conductivity is known, and the least of each [W/(m·K)]."""

DRAWN = {
    "brick": "brick",
    "stone": "stone",
    "concrete": "concrete",
    "concrete_light": "concrete_light",
    "mortar": "plaster",
    "plaster": "plaster",
    "timber": "timber",
    "board": "board",
    "gypsum_board": "gypsum_board",
    "insulation_soft": "soft",
    "insulation_rigid": "rigid",
    "metal": "metal",
    "plastic": "plastic",
    "seal": "membrane",
    "glass": "glass",
    "membrane": "membrane",
    "earth": "earth",
    "gravel": "gravel",
    "water": "water",
    "air": "air",
}
"""What is drawn for the catalogue's hatches (`materials.HATCHES`); all else goes by its conductivity."""


def hatch_kind(material: Material, grain: float | None) -> str:
    """The drawn hatch of a material.

    Args:
        material: says its hatch.
        grain: direction of the grain in the picture [deg]; None where timber is cut across it.

    Returns:
        A key of `TINTS`.
    """
    kind = DRAWN.get(material.hatch, "plain")
    if kind == "plain":
        return next(name for least, name in CONDUCTIVITY_CLASSES if material.conductivity >= least)
    if kind == "timber":
        return "timber_end" if grain is None else "timber_along"
    return kind


def spacings(materials: Iterable[Material]) -> dict[Material, float]:
    """How wide the hatch of each material is drawn, so that materials with one hatch can be told apart.

    Args:
        materials: of a drawing, in the order of their numbers.

    Returns:
        Multiples of the usual spacing.
    """
    known: dict[str, int] = {}
    found: dict[Material, float] = {}
    for material in dict.fromkeys(materials):
        kind = hatch_kind(material, None)
        found[material] = SPACINGS[known.get(kind, 0) % len(SPACINGS)]
        known[kind] = known.get(kind, 0) + 1
    return found


def is_by_conductivity(kind: str) -> bool:
    """Whether a drawn hatch says nothing but the class of conductivity."""
    return any(kind == name for _, name in CONDUCTIVITY_CLASSES)


def hatched(
    kind: str,
    rings: Sequence[FloatArray],
    grain: float | None = None,
    *,
    turned: bool = False,
    spacing: float = 1.0,
) -> list[Item]:
    """Tint and hatch of a shape.

    Args:
        kind: a key of `TINTS`.
        rings: around the shape, on paper [mm]; holes run clockwise.
        grain: direction of the grain [deg].
        turned: whether diagonals fall to the right instead of to the left, to tell neighbours apart.
        spacing: multiple of the usual distance between the lines, see `spacings`.
    """
    shape = tuple(rings)
    solid = kind == "membrane" or (kind == "metal" and _thickness(rings[0]) < THIN)
    tint = Path(shape, closed=True, fill="#2f393d" if solid else TINTS[kind])
    if solid:
        return [tint]
    lines: list[FloatArray] = []
    for ring in rings:
        if _signed_area(ring) > 0 and _thickness(ring) >= THIN:
            lines.extend(_pattern(kind, ring, grain, 135.0 if turned else 45.0, spacing))
    width = {"plaster": 0.26, "concrete": 0.13}.get(kind, LINE)
    return [tint, Clip(shape, (Path(tuple(lines), stroke="#4a5357", width=width),))] if lines else [tint]


def _pattern(kind: str, ring: FloatArray, grain: float | None, angle: float, by: float) -> list[FloatArray]:
    box = (*ring.min(axis=0).tolist(), *ring.max(axis=0).tolist())
    long = 0.0 if box[2] - box[0] >= box[3] - box[1] else 90.0
    patterns: dict[str, Callable[[], list[FloatArray]]] = {
        "brick": lambda: _parallels(box, angle, 2.3 * by),
        "stone": lambda: _broken(_parallels(box, angle, 2.6 * by), 5.0, 1.6),
        "concrete": lambda: [*_broken(_parallels(box, angle, 4.6 * by), 9.0, 2.4), *_pebbles(box, 4.2 * by)],
        "concrete_light": lambda: [*_parallels(box, angle, 5.2 * by), *_rounds(box, 3.0 * by)],
        "timber_end": lambda: _year_rings(box, 1.25 * by),
        "timber_along": lambda: _fibres(box, grain or 0.0, 1.5 * by),
        "board": lambda: _broken(_parallels(box, long, 0.9 * by), 7.0, 1.2),
        "gypsum_board": lambda: _parallels(box, 180.0 - angle, 1.6 * by),
        "plastic": lambda: _parallels(box, 180.0 - angle, 0.9 * by),
        "soft": lambda: _loops(box, by),
        "rigid": lambda: [*_parallels(box, 45.0, 3.0 * by), *_parallels(box, 135.0, 3.0 * by)],
        "metal": lambda: _parallels(box, angle, 0.75 * by),
        "plaster": lambda: _dots(box, 1.15 * by),
        "gravel": lambda: _rounds(box, 2.2 * by),
        "earth": lambda: _tufts(box, 5.0 * by),
        "glass": lambda: _broken(_parallels(box, 60.0, 2.2 * by), 2.5, 6.0),
        "water": lambda: _broken(_parallels(box, 0.0, 1.6 * by), 3.0, 2.0),
        "as_metal": lambda: _parallels(box, angle, 1.2 * by),
        "as_masonry": lambda: _parallels(box, angle, 3.8 * by),
        "as_timber": lambda: _broken(_parallels(box, long, 2.2 * by), 6.0, 2.0),
        "as_insulation": lambda: [*_parallels(box, 45.0, 4.6 * by), *_parallels(box, 135.0, 4.6 * by)],
    }
    return patterns[kind]() if kind in patterns else []


def _parallels(box: Sequence[float], angle: float, spacing: float) -> list[FloatArray]:
    """Lines across a box; measured from the paper's origin, so that neighbouring shapes match."""
    turn = math.radians(angle)
    along, across = np.array([math.cos(turn), math.sin(turn)]), np.array([-math.sin(turn), math.cos(turn)])
    corners = np.array([[box[0], box[1]], [box[2], box[1]], [box[2], box[3]], [box[0], box[3]]])
    offsets, reach = corners @ across, corners @ along
    steps = np.arange(math.ceil(offsets.min() / spacing), math.floor(offsets.max() / spacing) + 1)
    ends = np.array([reach.min(), reach.max()])
    return list(steps[:, None, None] * spacing * across + ends[None, :, None] * along)


def _broken(lines: Sequence[FloatArray], dash: float, gap: float) -> list[FloatArray]:
    """Each line in dashes, shifted from line to line."""
    if not lines:
        return []
    start, end = np.stack(lines).transpose(1, 0, 2)
    length = np.hypot(*(end - start).T)
    period = dash + gap
    shift = (np.arange(len(lines)) * 0.618 * period) % period
    count = np.ceil((length + shift) / period).astype(np.int64)
    number = np.repeat(np.arange(len(lines)), count)
    begin = (np.arange(len(number)) - np.repeat(np.cumsum(count) - count, count)) * period - shift[number]
    ends = np.clip(np.stack([begin, begin + dash], axis=1), 0.0, length[number][:, None])
    kept = ends[:, 1] > ends[:, 0]
    along = ((end - start) / np.maximum(length, 1e-9)[:, None])[number[kept]]
    return list(start[number[kept]][:, None, :] + ends[kept][:, :, None] * along[:, None, :])


def _scattered(box: Sequence[float], spacing: float) -> FloatArray:
    """Points spread evenly but in no rows (the additive recurrence of the plastic number)."""
    width, height = box[2] - box[0], box[3] - box[1]
    count = int(min(max(width * height / spacing**2, 1), 6000))
    k = np.arange(1, count + 1)[:, None]
    spread: FloatArray = (k * np.array([0.7548776662, 0.5698402910]) + 0.5) % 1.0
    moved: FloatArray = spread * np.array([width, height]) + np.array([box[0], box[1]])
    return moved


def _dots(box: Sequence[float], spacing: float) -> list[FloatArray]:
    points = _scattered(box, spacing)
    return list(np.stack([points, points + np.array([0.02, 0.0])], axis=1))


def _pebbles(box: Sequence[float], spacing: float) -> list[FloatArray]:
    corner = np.array([[0.0, 0.55], [-0.5, -0.35], [0.5, -0.35], [0.0, 0.55]])
    found = []
    for number, point in enumerate(_scattered(box, spacing)):
        turn = 2.4 * number
        c, s = math.cos(turn), math.sin(turn)
        size = 0.9 if number % 3 else 0.55
        found.append(point + size * corner @ np.array([[c, s], [-s, c]]))
    return found


def _rounds(box: Sequence[float], spacing: float) -> list[FloatArray]:
    turn = np.linspace(0.0, 2.0 * math.pi, 11)
    circle = np.stack([np.cos(turn), np.sin(turn)], axis=1)
    sizes = (0.6, 0.42, 0.75)
    return [p + sizes[k % 3] * circle for k, p in enumerate(_scattered(box, spacing))]


def _year_rings(box: Sequence[float], spacing: float) -> list[FloatArray]:
    """Arcs about a pith below one corner, and the diagonal of the trade's end-grain cross left out."""
    centre = np.array([box[0] + 0.35 * (box[2] - box[0]), box[1] - 0.25 * (box[3] - box[1]) - 1.0])
    reach = max(math.hypot(x - centre[0], y - centre[1]) for x in (box[0], box[2]) for y in (box[1], box[3]))
    turn = np.linspace(0.0, math.pi, 49)
    circle = np.stack([np.cos(turn), np.sin(turn)], axis=1)
    return [centre + radius * circle for radius in np.arange(1.1, reach, spacing)]


def _fibres(box: Sequence[float], grain: float, spacing: float) -> list[FloatArray]:
    """Long, slightly wandering lines."""
    found = []
    turn = math.radians(grain)
    across = np.array([-math.sin(turn), math.cos(turn)])
    for number, (start, end) in enumerate(_parallels(box, grain, spacing)):
        length = float(np.hypot(*(end - start)))
        if length < 0.5:
            continue
        share = np.linspace(0.0, 1.0, max(int(length / 3.0), 2) + 1)[:, None]
        sway = 0.22 * np.sin(share * length / 9.0 + 2.4 * number) + 0.1 * np.sin(share * length / 3.7 + number)
        found.append(start + share * (end - start) + sway * across)
    return found


def _loops(box: Sequence[float], by: float) -> list[FloatArray]:
    """The loops of soft insulation, from face to face of the layer; `by` widens their usual pitch."""
    width, height = box[2] - box[0], box[3] - box[1]
    upright = height > width
    length, thickness = (height, width) if upright else (width, height)
    rows = max(1, round(thickness / 9.0))
    found = []
    for row in range(rows):
        band = thickness / rows
        pitch = by * min(max(0.55 * band, 1.6), 4.5)
        turns = max(int(length / pitch), 1)
        phase = np.linspace(0.0, turns * 2.0 * math.pi, turns * 16 + 1)
        u = phase / (2.0 * math.pi) * length / turns + 0.32 * pitch * np.sin(2.0 * phase)
        v = (row + 0.5) * band + 0.46 * band * np.cos(phase)
        x, y = (v, u) if upright else (u, v)
        found.append(np.stack([x + box[0], y + box[1]], axis=1))
    return found


def _tufts(box: Sequence[float], spacing: float) -> list[FloatArray]:
    """Groups of three strokes, turned alternately."""
    found: list[FloatArray] = []
    for number, point in enumerate(_scattered(box, spacing)):
        turn = math.radians(45.0 if number % 2 else 135.0)
        along = np.array([math.cos(turn), math.sin(turn)])
        across = np.array([-along[1], along[0]])
        found.extend(np.stack([point + k * across - along, point + k * across + along]) for k in (-0.7, 0.0, 0.7))
    return found


def _thickness(ring: FloatArray) -> float:
    """Mean thickness: twice the area over half the girth; exact for long strips."""
    girth = float(np.hypot(*(np.roll(ring, -1, axis=0) - ring).T).sum())
    return 2.0 * abs(_signed_area(ring)) / max(girth, 1e-9)


def _signed_area(ring: FloatArray) -> float:
    after = np.roll(ring, -1, axis=0)
    return 0.5 * float(np.sum(ring[:, 0] * after[:, 1] - ring[:, 1] * after[:, 0]))
