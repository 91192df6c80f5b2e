"""Outlines typed by a person, checked exactly on whole micrometres before anything is built on them.

Part of reading a detail file: a polygon has an area and does not cross itself, a hole lies within its polygon. The
products of whole micrometres stay below 2⁶³, since no coordinate is beyond 100 m.
"""

from __future__ import annotations

from bridge2d import units
from bridge2d.detail import Point
from bridge2d.errors import QuantityError
from bridge2d.units import SI, UnitSystem

MOST_POINTS = 5000
"""Most points in one detail file."""
FARTHEST = 100.0
"""A coordinate is at most this far from the origin [m]."""

_Whole = tuple[int, int]
POINT_RIGHT = "write a point as [x, y] in {}, such as [0, 41.5]"
WORDS = {"mm": "millimetres", "in": "inches"}
"""Unit of bare coordinates in words."""


def read_point(typed: object, system: UnitSystem = SI) -> Point:
    """A point, snapped to whole micrometres [m].

    Args:
        typed: [x, y], each a number [mm or in] or text with a unit.
        system: of bare numbers.

    Raises:
        QuantityError: it is none; its path leads to the coordinate at fault.
    """
    if not isinstance(typed, list):
        raise QuantityError("is not a point", POINT_RIGHT.format(_bare(system)))
    if len(typed) != 2:
        plural = "s" if len(typed) != 1 else ""
        raise QuantityError(f"has {len(typed)} number{plural} where a point has two", POINT_RIGHT.format(_bare(system)))
    return _coordinate(typed[0], 0, system), _coordinate(typed[1], 1, system)


def _bare(system: UnitSystem) -> str:
    """Unit of bare coordinates in words."""
    return WORDS[units.LENGTH.unit_in(system)]


def _coordinate(typed: object, position: int, system: UnitSystem) -> float:
    try:
        value = units.read_length(typed, system)
    except QuantityError as error:
        raise QuantityError(error.message, error.right, (position,)) from None
    if abs(value) > FARTHEST:
        right = f"keep the section within ±{FARTHEST:g} m of the origin (numbers are {_bare(system)})"
        message = f"the coordinate {units.LENGTH.show(value, system)} is too far away"
        raise QuantityError(message, right, (position,))
    return round(value * 1e6) / 1e6


def read_line(typed: object, fewest: int = 2, system: UnitSystem = SI) -> tuple[Point, ...]:
    """A line of points [m], snapped, without repeated neighbours.

    Args:
        typed: list of points.
        fewest: least number of distinct points.
        system: of bare numbers.

    Raises:
        QuantityError: it is none; its path leads to the point at fault.
    """
    if not isinstance(typed, list):
        raise QuantityError("is not a list of points", f"write [[0, 0], [100, 0], …] in {_bare(system)}")
    if len(typed) > MOST_POINTS:
        raise QuantityError(f"has {len(typed)} points", f"a detail may have at most {MOST_POINTS}")
    points: list[Point] = []
    for number, one in enumerate(typed):
        try:
            point = read_point(one, system)
        except QuantityError as error:
            raise QuantityError(error.message, error.right, (number, *error.path)) from None
        if not points or point != points[-1]:
            points.append(point)
    if len(set(points)) < fewest:
        count = len(set(points))
        raise QuantityError(f"has {count} distinct point{'s' if count != 1 else ''}", f"give at least {fewest}")
    return tuple(points)


def read_polygon(typed: object, system: UnitSystem = SI) -> tuple[Point, ...]:
    """A polygon [m] that has an area and neither crosses nor touches itself.

    Args:
        typed: list of points; repeating the first at the end is allowed.
        system: of bare numbers.

    Raises:
        QuantityError: it is none; the message says where it crosses itself.
    """
    points = read_line(typed, fewest=3, system=system)
    if points[0] == points[-1]:
        points = points[:-1]
    _refuse_crossing([_whole(p) for p in points])  # at least three corners that meet nowhere else enclose an area
    return points


def read_holes(typed: object, system: UnitSystem = SI) -> tuple[tuple[Point, ...], ...]:
    """The holes of a polygon [m], each a polygon of its own.

    Raises:
        QuantityError: one is no polygon.
    """
    if not isinstance(typed, list):
        raise QuantityError("is not a list of polygons", "write [[[10, 10], [20, 10], [20, 20]]]")
    holes = []
    for number, one in enumerate(typed):
        try:
            holes.append(read_polygon(one, system))
        except QuantityError as error:
            raise QuantityError(error.message, error.right, (number, *error.path)) from None
    return tuple(holes)


def refuse_stray_holes(polygon: tuple[Point, ...], holes: tuple[tuple[Point, ...], ...]) -> None:
    """Refuse holes that leave their polygon or overlap each other.

    Args:
        polygon: outline [m], checked by `read_polygon`.
        holes: outlines [m], likewise.

    Raises:
        QuantityError: a hole strays; its path is ("holes", number).
    """
    # Half micrometres, so that the middle of an edge is a whole number too.
    outer = [_half(p) for p in polygon]
    rings = [[_half(p) for p in hole] for hole in holes]
    for number, ring in enumerate(rings):
        path = ("holes", number)
        if _cross(ring, outer) or any(_side(p, outer) < 0 for p in _samples(ring)):
            raise QuantityError("does not lie within the polygon", "keep every hole inside its region", path)
        for other in rings[:number]:
            overlap = _cross(ring, other) or any(_side(p, other) > 0 for p in _samples(ring))
            if overlap or any(_side(p, ring) > 0 for p in _samples(other)) or _corners(ring) == _corners(other):
                raise QuantityError("overlaps another hole", "make one hole of the two", path)


def _corners(ring: list[_Whole]) -> set[_Whole]:
    """The points of a ring at which it turns."""
    return {b for a, b, c in zip(ring[-1:] + ring[:-1], ring, ring[1:] + ring[:1], strict=True) if _turn(a, b, c) != 0}


def _whole(point: Point) -> _Whole:
    return round(point[0] * 1e6), round(point[1] * 1e6)


def _half(point: Point) -> _Whole:
    x, y = _whole(point)
    return 2 * x, 2 * y


def _place(point: tuple[float, float]) -> str:
    """A point [µm] as a person reads it."""
    return f"({units.plain(round(point[0] / 1000, 3))}, {units.plain(round(point[1] / 1000, 3))}) mm"


def _turn(a: _Whole, b: _Whole, c: _Whole) -> int:
    """Twice the area of the triangle a b c, positive where it turns to the left."""
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _is_rectangle(ring: list[_Whole]) -> bool:
    """Whether the ring is an upright rectangle, the shape of most regions, which needs no search for crossings."""
    if len(ring) != 4:
        return False
    (ax, ay), (bx, by), (cx, cy), (dx, dy) = ring
    upright = ax == bx and by == cy and cx == dx and dy == ay
    level = ay == by and bx == cx and cy == dy and dx == ax
    return (upright or level) and ax != cx and ay != cy


def _refuse_crossing(ring: list[_Whole]) -> None:
    """Refuse a ring whose edges cross, touch or run back over each other."""
    if _is_rectangle(ring):
        return
    count = len(ring)
    for i in range(count):
        a, b, c = ring[i - 1], ring[i], ring[(i + 1) % count]
        if _turn(a, b, c) == 0 and (a[0] - b[0]) * (c[0] - b[0]) + (a[1] - b[1]) * (c[1] - b[1]) > 0:
            raise QuantityError(f"runs back over itself at {_place(b)}", "leave that corner out")
    met = _first_meeting(ring)
    if met is not None:
        i, j = met
        a, b, c, d = ring[i], ring[(i + 1) % count], ring[j], ring[(j + 1) % count]
        raise QuantityError(
            f"crosses or touches itself at {_place(_meeting_point(a, b, c, d))}, between corners {i + 1} and {j + 1}",
            "give the corners in order round the outline; a void inside is written as holes",
        )


def _first_meeting(ring: list[_Whole]) -> tuple[int, int] | None:
    """The first two edges, not neighbours, that have a point in common."""
    import numpy as np

    start = np.array(ring, dtype=np.int64)
    end = np.roll(start, -1, axis=0)
    low, high = np.minimum(start, end), np.maximum(start, end)
    count = len(ring)
    for i in range(count - 2):
        last = count - 1 if i == 0 else count
        c, d = start[i + 2 : last], end[i + 2 : last]
        near = np.all((low[i + 2 : last] <= high[i]) & (high[i + 2 : last] >= low[i]), axis=1)
        if not near.any():
            continue
        a, b = start[i], end[i]
        ab, cd = b - a, d - c
        # Signs only: one product stays below 8e16, their difference below 2e17.
        c_side = np.sign(ab[0] * (c[:, 1] - a[1]) - ab[1] * (c[:, 0] - a[0]))
        d_side = np.sign(ab[0] * (d[:, 1] - a[1]) - ab[1] * (d[:, 0] - a[0]))
        a_side = np.sign(cd[:, 0] * (a[1] - c[:, 1]) - cd[:, 1] * (a[0] - c[:, 0]))
        b_side = np.sign(cd[:, 0] * (b[1] - c[:, 1]) - cd[:, 1] * (b[0] - c[:, 0]))
        meets = near & (c_side * d_side <= 0) & (a_side * b_side <= 0)
        if meets.any():
            return i, i + 2 + int(np.argmax(meets))
    return None


def _meeting_point(a: _Whole, b: _Whole, c: _Whole, d: _Whole) -> tuple[float, float]:
    """Where two edges that meet do so [µm]."""
    across = (b[0] - a[0]) * (d[1] - c[1]) - (b[1] - a[1]) * (d[0] - c[0])
    if across == 0:
        return max(min(a, b), min(c, d))
    t = ((c[0] - a[0]) * (d[1] - c[1]) - (c[1] - a[1]) * (d[0] - c[0])) / across
    return a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])


def _cross(one: list[_Whole], other: list[_Whole]) -> bool:
    """Whether an edge of one ring passes through the inside of an edge of the other."""
    for a, b in zip(one, one[1:] + one[:1], strict=True):
        for c, d in zip(other, other[1:] + other[:1], strict=True):
            first, second = _turn(a, b, c), _turn(a, b, d)
            if (first < 0 < second or second < 0 < first) and (
                _turn(c, d, a) < 0 < _turn(c, d, b) or _turn(c, d, b) < 0 < _turn(c, d, a)
            ):
                return True
    return False


def _samples(ring: list[_Whole]) -> list[_Whole]:
    """Corners, which are even, and middles of the edges; between them they show an edge on the wrong side."""
    return ring + [((a[0] + b[0]) // 2, (a[1] + b[1]) // 2) for a, b in zip(ring, ring[1:] + ring[:1], strict=True)]


def _side(point: _Whole, ring: list[_Whole]) -> int:
    """1 where the point is inside the ring, 0 on it, -1 outside."""
    inside = False
    for a, b in zip(ring, ring[1:] + ring[:1], strict=True):
        turn = _turn(a, b, point)
        within = min(a[0], b[0]) <= point[0] <= max(a[0], b[0]) and min(a[1], b[1]) <= point[1] <= max(a[1], b[1])
        if turn == 0 and within:
            return 0
        if (a[1] > point[1]) != (b[1] > point[1]) and (turn > 0) == (b[1] > a[1]):
            inside = not inside
    return 1 if inside else -1
