"""The room's surface of a window in its reveal, divided where radiation and convection are less.

Part of the step parameters -> detail; `window_measures` makes surfaces of it. In the corners where reveal and frame, or
frame and glazing, meet, both faces take a higher surface resistance over the depth of the protrusion (ISO 10077-2).
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from bridge2d.standards import iso_10077_2

Local = tuple[float, float]
LEAST = 1e-6
"""What is shorter than this is not there [m]."""
LEAST_TURN = 0.1
"""Sine of the least angle by which a line turns in a corner."""


@dataclass(frozen=True)
class Run:
    """A piece of the surface: its line [m], whether it is frame or glazing, and whether radiation is reduced."""

    line: tuple[Local, ...]
    window: bool
    reduced: bool


def runs(reveal: tuple[Local, ...], window: tuple[Local, ...]) -> tuple[Run, ...]:
    """The surface along a reveal and the window in it, the room on the line's left.

    Args:
        reveal: from the finish to the frame; one point where there is no reveal [m].
        window: on from its last point [m].
    """
    line = [reveal[0]]
    for point in (*reveal[1:], *window):
        line += [point] if _distance(point, line[-1]) > LEAST else []
    first = min(range(len(line)), key=lambda k: _distance(line[k], reveal[-1]))
    lengths = [_distance(a, b) for a, b in pairwise(line)]
    reach = [0.0] * len(line)
    for k in range(max(first, 1), len(line) - 1):
        if _is_corner(*line[k - 1 : k + 2]):
            reach[k] = iso_10077_2.corner_length(lengths[k - 1], lengths[k])
    found: list[Run] = []
    for k, (a, b) in enumerate(pairwise(line)):
        near, far = reach[k], max(reach[k], lengths[k] - reach[k + 1])
        for reduced, start, end in ((True, 0.0, near), (False, near, far), (True, far, lengths[k])):
            if end - start > LEAST:
                _add(found, Run((_between(a, b, start), _between(a, b, end)), k >= first, reduced))
    return tuple(found)


def _add(found: list[Run], run: Run) -> None:
    """Add a run, or lengthen the one before where it is of the same kind."""
    if found and (found[-1].window, found[-1].reduced) == (run.window, run.reduced):
        found[-1] = Run((*found[-1].line, run.line[-1]), run.window, run.reduced)
    else:
        found.append(run)


def _distance(a: Local, b: Local) -> float:
    return float(((a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2) ** 0.5)


def _between(a: Local, b: Local, along: float) -> Local:
    """The point at a distance from a toward b, to the micrometre; the ends as they are."""
    length = _distance(a, b)
    if along <= 0.0 or along >= length:
        return a if along <= 0.0 else b
    x, y = (round(p + along / length * (q - p), 6) for p, q in zip(a, b, strict=True))
    return x, y


def _is_corner(before: Local, at: Local, after: Local) -> bool:
    """Whether the room's air lies in a corner there: the line turns to the left."""
    turn = (at[0] - before[0]) * (after[1] - at[1]) - (at[1] - before[1]) * (after[0] - at[0])
    return turn > LEAST_TURN * _distance(before, at) * _distance(at, after)
