"""Cuts that make the stream function single-valued on a section with holes.

Round a hole that exchanges heat, ψ grows by the heat that the hole gives off. Along a line of sides from the hole to
the outer outline ψ is let jump by that unknown heat: the nodes on the line carry it in the triangles on the left.
"""

from __future__ import annotations

import itertools
from collections import defaultdict, deque
from dataclasses import dataclass

import numpy as np

from bridge2d.errors import SectionError
from bridge2d.partition import ADIABATIC, Whole
from bridge2d.spaces import SIDE_CORNERS, FloatArray, Space
from bridge2d.sparse import connected


@dataclass(frozen=True)
class Cut:
    """One cut.

    Attributes:
        triangle: triangles in which ψ carries the jump; shape (k,).
        weight: share of the jump at each of their nodes, 0 or 1; shape (k, 6).
    """

    triangle: Whole
    weight: FloatArray


def has_holes(on: Space) -> bool:
    """Whether the section has a hole: corners − sides + triangles is 1 where it has none (Euler)."""
    triangles = len(on.triangles)
    corners = int(on.triangles[:, :3].max()) + 1
    return corners - (len(on.points) - corners) + triangles != 1


def rim_loops(on: Space) -> tuple[Whole, int]:
    """The closed loop that each rim side belongs to, shape (k,), and the number of the outer one."""
    rim = on.rim
    start = on.triangles[rim.triangle, rim.local[:, 0]]
    end = on.triangles[rim.triangle, rim.local[:, 1]]
    piece = connected(len(on.points), start, end)
    _, loop = np.unique(piece[start], return_inverse=True)
    leftmost = int(np.argmin(on.points[start, 0]))
    return loop.astype(np.int64), int(loop[leftmost])


def closed_holes(on: Space) -> list[tuple[float, float]]:
    """A point on the rim of every hole that faces no environment [m]."""
    if not has_holes(on):
        return []
    loop, outer = rim_loops(on)
    open_loops = set(loop[on.rim.surface != ADIABATIC].tolist()) | {outer}
    places = []
    for hole in sorted(set(loop.tolist()) - open_loops):
        first = int(np.flatnonzero(loop == hole)[0])
        x, y = on.points[on.triangles[on.rim.triangle[first], on.rim.local[first, 0]]].tolist()
        places.append((x, y))
    return places


def find_cuts(on: Space) -> tuple[Cut, ...]:
    """One cut from every hole that faces an environment.

    Raises:
        SectionError: a hole's surfaces are all so short that no cut can start between two of their sides.
    """
    if not has_holes(on):
        return ()
    loop, outer = rim_loops(on)
    open_loops = [k for k in np.unique(loop[on.rim.surface != ADIABATIC]).tolist() if k != outer]
    if not open_loops:
        return ()
    ends, on_rim = _possible_ends(on, loop)
    beside = _neighbours(on)
    joined = set(ends[outer])
    cuts = []
    for hole in open_loops:
        path = _shortest(set(ends[hole]), joined, on_rim, beside)
        if path is None:
            first = int(np.flatnonzero(loop == hole)[0])
            at = on.points[on.triangles[on.rim.triangle[first], on.rim.local[first, 0]]] * 1000
            raise SectionError(
                f"the hole near ({at[0]:g}, {at[1]:g}) mm cannot be joined to the outline, because an environment on "
                "one of them is too short; give it at least two millimetres",
                ("section",),
            )
        cuts.append(_left_of(on, path))
        joined |= set(ends[hole])
    return tuple(cuts)


def too_coarse_to_cut(on: Space) -> Whole:
    """Triangles to be divided before every hole can be cut: on rims where no cut can end, else all of them.

    Args:
        on: the space.

    Returns:
        numbers of triangles; shape (k,), empty where every cut can be made.
    """
    try:
        find_cuts(on)
    except SectionError:
        loop, outer = rim_loops(on)
        facing = on.rim.surface != ADIABATIC
        ends, _ = _possible_ends(on, loop)
        blocked = [number for number in set(loop[facing].tolist()) | {outer} if not ends.get(number)]
        return np.unique(on.rim.triangle[facing & np.isin(loop, blocked)]) if blocked else np.arange(len(on.triangles))
    return np.zeros(0, dtype=np.int64)


def _possible_ends(on: Space, loop: Whole) -> tuple[dict[int, list[int]], set[int]]:
    """Corners per loop between two sides that both face an environment, and all corners of the rim."""
    rim = on.rim
    touching: dict[int, list[bool]] = defaultdict(list)
    belongs: dict[int, int] = {}
    for k in range(len(loop)):
        for c in on.triangles[rim.triangle[k], rim.local[k, :2]].tolist():
            touching[c].append(bool(rim.surface[k] != ADIABATIC))
            belongs[c] = int(loop[k])
    ends: dict[int, list[int]] = defaultdict(list)
    for corner, faces in touching.items():
        if all(faces):
            ends[belongs[corner]].append(corner)
    return ends, set(touching)


def _neighbours(on: Space) -> dict[int, set[int]]:
    """Corners joined by a side of the mesh."""
    beside: dict[int, set[int]] = defaultdict(set)
    for a, b, c in on.triangles[:, :3].tolist():
        beside[a] |= {b, c}
        beside[b] |= {a, c}
        beside[c] |= {a, b}
    rim_pairs = on.triangles[on.rim.triangle[:, None], on.rim.local[:, :2]].tolist()
    for a, b in rim_pairs:
        beside[a].discard(b)
        beside[b].discard(a)
    return beside


def _shortest(start: set[int], goal: set[int], rim: set[int], beside: dict[int, set[int]]) -> list[int] | None:
    """The shortest line of sides from one set of corners to the other through the inside."""
    before: dict[int, int] = dict.fromkeys(start, -1)
    front = deque(sorted(start))
    while front:
        corner = front.popleft()
        for following in sorted(beside[corner]):
            if following in before or (following in rim and following not in goal):
                continue
            before[following] = corner
            if following in goal:
                path = [following]
                while before[path[-1]] >= 0:
                    path.append(before[path[-1]])
                return path[::-1]
            front.append(following)
    return None


def _left_of(on: Space, path: list[int]) -> Cut:
    """The triangles on the left of a line of sides that touch its corners, and which of their nodes lie on it."""
    corners = on.triangles[:, :3]
    touching = np.flatnonzero(np.isin(corners, path).any(axis=1))
    steps = set(itertools.pairwise(path))
    cut_sides = {frozenset(step) for step in steps}
    sharing: dict[frozenset[int], list[int]] = defaultdict(list)
    weight: dict[int, FloatArray] = defaultdict(lambda: np.zeros(6))
    fan: deque[tuple[int, int]] = deque()
    for t in touching.tolist():
        own = corners[t]
        turned = own[::-1] if _clockwise(on, t) else own
        for a, b in zip(turned.tolist(), np.roll(turned, -1).tolist(), strict=True):
            sharing[frozenset((a, b))].append(t)
            if (a, b) in steps:
                side = next(s for s, (i, j, _) in enumerate(SIDE_CORNERS) if {int(own[i]), int(own[j])} == {a, b})
                weight[t][3 + side] = 1.0
                fan.extend([(t, a), (t, b)])
    seen: set[tuple[int, int]] = set()
    while fan:
        t, corner = fan.popleft()
        if (t, corner) in seen:
            continue
        seen.add((t, corner))
        weight[t][:3][corners[t] == corner] = 1.0
        for other in corners[t].tolist():
            shared = frozenset((corner, other))
            if other != corner and shared not in cut_sides:
                fan.extend((k, corner) for k in sharing[shared] if k != t)
    numbers = sorted(weight)
    return Cut(np.array(numbers, dtype=np.int64), np.stack([weight[t] for t in numbers]))


def _clockwise(on: Space, triangle: int) -> bool:
    a, b, c = on.points[on.triangles[triangle, :3]]
    return bool((b[0] - a[0]) * (c[1] - a[1]) < (b[1] - a[1]) * (c[0] - a[0]))
