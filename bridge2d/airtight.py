"""The airtight layer: whether its line runs unbroken from cut plane to cut plane, and how cold it gets.

The line is drawn as named pieces. Pieces that meet belong together; where two of different names follow each other a
tape or sealant is needed. A line that does not reach from one cut plane to another is a finding with its place.
"""

from __future__ import annotations

from collections import deque
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from bridge2d.detail import AirtightPiece, Section
from bridge2d.evaluation import at_points
from bridge2d.flanking import OFFSET, regions_at
from bridge2d.partition import ADIABATIC, MICROMETRES, VOID
from bridge2d.results import AirtightChange, AirtightResult, Break
from bridge2d.spaces import Space
from bridge2d.sparse import connected

FloatArray = NDArray[np.float64]
JOINT = 1e-3
"""How far apart two pieces may end and still meet [m]."""
STEP = 5e-3
"""Distance of the points at which the temperature along the line is looked up [m]."""


class _End(NamedTuple):
    """An end of a piece on the outline: the piece's number, the cut plane's, and the place [m]."""

    piece: int
    plane: int
    point: FloatArray


def airtight_result(
    section: Section, on: Space, nodes: FloatArray, earlier: Space, earlier_nodes: FloatArray, least: float
) -> AirtightResult | None:
    """The airtight layer of a section; None where none is drawn.

    Args:
        section: the section.
        on: the space of the result.
        nodes: temperatures on it, with the surface resistances of the temperature factor; shape (N,) [°C].
        earlier: the space of an earlier pass.
        earlier_nodes: temperatures on that one.
        least: least tolerance of a temperature [K].
    """
    if not section.airtight:
        return None
    pieces = [np.array(piece.line) for piece in section.airtight]
    sides, planes = _cut_planes(on)
    ends = _ends_on_cut_planes(sides, planes, pieces)
    meets = _meetings(pieces)
    path = _path(ends, meets)
    drawn = section.airtight
    stray = _stray(len(pieces), ends, meets) if path else []
    breaks = _no_lines(drawn, pieces, stray) if path else _breaks(drawn, pieces, ends, meets, sides)
    points = _along(section, [piece for k, piece in enumerate(pieces) if k not in stray])
    temperatures = at_points(on, nodes[:, None], points)[:, 0]
    before = at_points(earlier, earlier_nodes[:, None], points)[:, 0]
    coldest = int(np.argmin(temperatures))
    x, y = points[coldest].tolist()
    order = path or list(range(len(pieces)))
    return AirtightResult(
        pieces=_course([drawn[k].name for k in order]),
        changes=_changes(drawn, order, meets) if path else (),
        breaks=breaks,
        temperature=float(temperatures[coldest]),
        point=(x, y),
        tolerance=max(2.0 * abs(float(temperatures[coldest] - before.min())), least),
        dew_point=_dew_point(section),
    )


def _course(names: list[str]) -> tuple[str, ...]:
    """Names in order, each once where several pieces of one name follow each other."""
    return tuple(name for k, name in enumerate(names) if k == 0 or names[k - 1] != name)


def _dew_point(section: Section) -> float | None:
    """The highest dew point of the environments whose humidity is known; None where one lies beyond the formula."""
    found = [e.dew_point for e in section.environments if e.humidity is not None]
    known = [one for one in found if one is not None]
    return max(known, default=None) if len(known) == len(found) else None


def _to_segment(points: FloatArray, start: FloatArray, end: FloatArray) -> FloatArray:
    """Distance of points from a straight line between two points; shape (k,)."""
    along = end - start
    length = float(along @ along)
    share = np.clip((points - start) @ along / length, 0.0, 1.0) if length else np.zeros(len(points))
    return np.asarray(np.hypot(*(points - start - share[:, None] * along).T))


def _to_sides(point: FloatArray, sides: FloatArray) -> FloatArray:
    """Distance of one point from each of many straight lines, none without length; sides of shape (k, 2, 2)."""
    along, off = sides[:, 1] - sides[:, 0], point - sides[:, 0]
    share = np.clip((off * along).sum(axis=1) / (along * along).sum(axis=1), 0.0, 1.0)
    return np.asarray(np.hypot(*(off - share[:, None] * along).T))


def _to_line(points: FloatArray, line: FloatArray) -> FloatArray:
    """Distance of points from a line of several legs; shape (k,)."""
    return np.asarray(np.min([_to_segment(points, a, b) for a, b in pairwise(line)], axis=0))


def _cut_planes(on: Space) -> tuple[FloatArray, NDArray[np.int64]]:
    """The adiabatic sides of the outline, shape (k, 2, 2) [m], and the connected piece of it that has each; (k,)."""
    rim = on.rim
    adiabatic = rim.surface == ADIABATIC
    corners = on.triangles[rim.triangle[adiabatic, None], rim.local[adiabatic, :2]]
    if not len(corners):
        return np.empty((0, 2, 2)), np.empty(0, dtype=np.int64)
    plane = connected(len(on.points), corners[:, 0], corners[:, 1])
    return on.points[corners], np.asarray(plane[corners[:, 0]], dtype=np.int64)


def _ends_on_cut_planes(sides: FloatArray, planes: NDArray[np.int64], pieces: list[FloatArray]) -> list[_End]:
    """Ends of pieces that lie on an adiabatic piece of the outline."""
    found = []
    for number, piece in enumerate(pieces) if len(sides) else ():
        for end in (piece[0], piece[-1]):
            distance = _to_sides(end, sides)
            nearest = int(np.argmin(distance))
            if distance[nearest] <= JOINT:
                found.append(_End(number, int(planes[nearest]), end))
    return found


def _meetings(pieces: list[FloatArray]) -> dict[tuple[int, int], FloatArray]:
    """Where two pieces meet: an end of one on the other."""
    meets: dict[tuple[int, int], FloatArray] = {}
    for i, one in enumerate(pieces):
        for j, other in enumerate(pieces):
            if i != j and (i, j) not in meets:
                ends = one[[0, -1]]
                distance = _to_line(ends, other)
                if distance.min() <= JOINT:
                    meets[i, j] = meets[j, i] = ends[int(np.argmin(distance))]
    return meets


def _path(ends: list[_End], meets: dict[tuple[int, int], FloatArray]) -> list[int] | None:
    """Pieces on the shortest way from one cut plane to another."""
    for start in ends:
        before = {start.piece: -1}
        front = deque([start.piece])
        while front:
            piece = front.popleft()
            for end in ends:
                if end.piece == piece and end.plane != start.plane:
                    way = [piece]
                    while before[way[-1]] >= 0:
                        way.append(before[way[-1]])
                    return way[::-1]
            following = [other for one, other in sorted(meets) if one == piece and other not in before]
            before.update(dict.fromkeys(following, piece))
            front.extend(following)
    return None


def _changes(
    drawn: tuple[AirtightPiece, ...], order: list[int], meets: dict[tuple[int, int], FloatArray]
) -> tuple[AirtightChange, ...]:
    changes = []
    for one, other in pairwise(order):
        if drawn[one].name != drawn[other].name:
            x, y = meets[one, other].tolist()
            changes.append(AirtightChange(drawn[one].name, drawn[other].name, (x, y)))
    return tuple(changes)


def _stray(count: int, ends: list[_End], meets: dict[tuple[int, int], FloatArray]) -> list[int]:
    """Pieces that are joined to no line from one cut plane to another."""
    found, left = [], set(range(count))
    while left:
        group, front = set(), [min(left)]
        while front:
            piece = front.pop()
            group.add(piece)
            front += [other for one, other in meets if one == piece and other not in group]
        left -= group
        if _path([end for end in ends if end.piece in group], meets) is None:
            found += sorted(group)
    return found


def _no_lines(drawn: tuple[AirtightPiece, ...], pieces: list[FloatArray], stray: list[int]) -> tuple[Break, ...]:
    """Pieces beside an unbroken line that lead nowhere."""
    text = "it is joined to no line from one cut plane to another"
    return tuple(Break(drawn[k].name, text, tuple(pieces[k][0].tolist())) for k in stray)


def _breaks(
    drawn: tuple[AirtightPiece, ...],
    pieces: list[FloatArray],
    ends: list[_End],
    meets: dict[tuple[int, int], FloatArray],
    sides: FloatArray,
) -> tuple[Break, ...]:
    """Ends that lead nowhere: neither to a cut plane nor to another piece, with what is nearest of what they miss."""
    joined = [tuple(point.tolist()) for point in meets.values()]
    on_plane = {(end.piece, tuple(end.point.tolist())) for end in ends}
    breaks = []
    for number, piece in enumerate(pieces):
        for end in (piece[0], piece[-1]):
            place = tuple(end.tolist())
            touched = any(np.hypot(place[0] - p[0], place[1] - p[1]) <= 2 * JOINT for p in joined)
            if (number, place) in on_plane or touched:
                continue
            missed = [
                (float(_to_line(end[None], other)[0]), f"the {drawn[k].name}")
                for k, other in enumerate(pieces)
                if k != number and (number, k) not in meets
            ]
            missed += [(float(_to_sides(end, sides).min()), "the cut plane")] if len(sides) else []
            text = "it reaches neither a cut plane nor another piece"
            if missed:
                distance, what = min(missed)
                text = f"{1000 * distance:.1f} mm are missing to {what}"
            breaks.append(Break(drawn[number].name, text, (place[0], place[1])))
    return tuple(breaks) or (
        Break(drawn[0].name, "the line does not lead from one cut plane to another", _start(pieces)),
    )


def _start(pieces: list[FloatArray]) -> tuple[float, float]:
    x, y = pieces[0][0].tolist()
    return x, y


def _along(section: Section, pieces: list[FloatArray]) -> FloatArray:
    """Points along the line that lie in the section; shape (k, 2) [m]."""
    points = []
    for piece in pieces:
        for a, b in pairwise(piece):
            count = max(2, int(np.hypot(*(b - a)) / STEP) + 1)
            points.append(a + np.linspace(0.0, 1.0, count)[:, None] * (b - a))
    every = np.concatenate(points)
    around = np.array([[1.0, 1.0], [1.0, -1.0], [-1.0, 1.0], [-1.0, -1.0]]) * OFFSET
    inside = np.any([regions_at(section, every * MICROMETRES + o) != VOID for o in around], axis=0)
    return every[inside] if inside.any() else every[:0]
