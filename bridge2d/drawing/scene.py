"""What a drawing or a page consists of: paths, texts and clipped groups on paper, in millimetres, y upward.

Between the layout and the two backends (PDF, SVG). A scene knows nothing of sections or results.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from bridge2d.drawing.fonts import ASCENT, DESCENT, MILLIMETRES_PER_POINT, text_width

FloatArray = NDArray[np.float64]
SUBSCRIPT_SIZE = 0.72
SUBSCRIPT_DROP = 0.2
INK = "#1d2326"


class Path(NamedTuple):
    """Lines or rings drawn together; rings are filled by the even-odd rule.

    Attributes:
        lines: points of each; shape (n, 2) [mm].
        closed: whether each last point is joined to its first.
        fill, stroke: colours "#rrggbb", or None.
        width: of the stroke [mm].
        dash: lengths of dashes and gaps [mm]; empty for a full line.
    """

    lines: tuple[FloatArray, ...]
    closed: bool = False
    fill: str | None = None
    stroke: str | None = None
    width: float = 0.18
    dash: tuple[float, ...] = ()


class Run(NamedTuple):
    """A piece of text of one style ("regular", "bold", "italic"), perhaps a subscript, perhaps of its own colour."""

    text: str
    style: str = "regular"
    subscript: bool = False
    colour: str | None = None


class Text(NamedTuple):
    """A line of text.

    Attributes:
        x, y: where its baseline is anchored [mm].
        runs: its pieces.
        size: type size [pt].
        anchor: "start", "middle" or "end".
        rotation: counter-clockwise [deg].
        colour: "#rrggbb".
    """

    x: float
    y: float
    runs: tuple[Run, ...]
    size: float = 7.0
    anchor: str = "start"
    rotation: float = 0.0
    colour: str = INK

    @property
    def width(self) -> float:
        """Width [mm]."""
        return runs_width(self.runs, self.size)

    def corners(self) -> FloatArray:
        """The four corners of its box, counter-clockwise; shape (4, 2) [mm]."""
        left = {"start": 0.0, "middle": -0.5, "end": -1.0}[self.anchor] * self.width
        high, low = (k * self.size * MILLIMETRES_PER_POINT for k in (ASCENT, -DESCENT))
        box = np.array([[left, low], [left + self.width, low], [left + self.width, high], [left, high]])
        turn = math.radians(self.rotation)
        c, s = math.cos(turn), math.sin(turn)
        turned: FloatArray = box @ np.array([[c, s], [-s, c]]) + np.array([self.x, self.y])
        return turned


class Clip(NamedTuple):
    """Items of which only what lies within some rings is seen (even-odd rule)."""

    rings: tuple[FloatArray, ...]
    items: tuple[Item, ...]


class Placed(NamedTuple):
    """A scene with its lower left corner at a point of another [mm]."""

    scene: Scene
    x: float
    y: float


Item = Path | Text | Clip | Placed


class Scene(NamedTuple):
    """Items on a sheet of some width and height [mm], the origin at its lower left corner."""

    width: float
    height: float
    items: tuple[Item, ...]


def runs(*parts: str | Run | Sequence[Run]) -> tuple[Run, ...]:
    """Text from plain strings and runs, in their order."""
    found: list[Run] = []
    for part in parts:
        if isinstance(part, str):
            found.append(Run(part))
        elif isinstance(part, Run):
            found.append(part)
        else:
            found.extend(part)
    return tuple(found)


def symbol_runs(symbol: str, style: str = "italic") -> tuple[Run, ...]:
    """A symbol such as "d_1", with what follows the underscore as its subscript."""
    letter, _, index = symbol.partition("_")
    return (Run(letter, style), Run(index, "regular", subscript=True)) if index else (Run(letter, style),)


def runs_width(pieces: Sequence[Run], size: float) -> float:
    """Width of text at a type size [pt], in millimetres."""
    return sum(text_width(r.text, r.style, size * (SUBSCRIPT_SIZE if r.subscript else 1.0)) for r in pieces)


def line(*points: tuple[float, float], width: float = 0.18, stroke: str = INK, dash: tuple[float, ...] = ()) -> Path:
    """A line through points [mm]."""
    return Path((np.array(points, dtype=float),), stroke=stroke, width=width, dash=dash)


def rectangle(
    x: float, y: float, width: float, height: float, *, fill: str | None = None, stroke: str | None = None
) -> Path:
    """A rectangle from its lower left corner [mm]."""
    return Path((rectangle_ring(x, y, x + width, y + height),), closed=True, fill=fill, stroke=stroke)


def rectangle_ring(x0: float, y0: float, x1: float, y1: float) -> FloatArray:
    """The ring of a rectangle, counter-clockwise; shape (4, 2)."""
    return np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]])


def circle_ring(centre: ArrayLike, radius: float, sides: int = 32) -> FloatArray:
    """A regular polygon that passes for a circle; shape (sides, 2)."""
    turn = np.linspace(0.0, 2.0 * math.pi, sides, endpoint=False)
    ring: FloatArray = np.asarray(centre) + radius * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    return ring


def all_texts(items: Sequence[Item], shift: tuple[float, float] = (0.0, 0.0)) -> Iterator[Text]:
    """Every text of some items, moved to where it stands on the outermost sheet."""
    for item in items:
        if isinstance(item, Text):
            yield Text(
                item.x + shift[0], item.y + shift[1], item.runs, item.size, item.anchor, item.rotation, item.colour
            )
        elif isinstance(item, Clip):
            yield from all_texts(item.items, shift)
        elif isinstance(item, Placed):
            yield from all_texts(item.scene.items, (shift[0] + item.x, shift[1] + item.y))
