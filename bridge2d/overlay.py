"""The partition of a section whose edges run in any direction; the sibling of `partition.grid`.

All outlines are cut at their crossings in one step on the micrometre grid, the patches between them are given to the
last region that covers them, and lines between patches of the same region are dropped.
"""

from __future__ import annotations

from collections import defaultdict
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray

from bridge2d.detail import Section
from bridge2d.errors import SectionError
from bridge2d.partition import ADIABATIC, SNAP, VOID, Overlay, Whole, place, whole

Pair = tuple[int, int]
Corner = tuple[int, int]


def overlay(section: Section) -> Overlay:
    """The partition of any section, see `partition.partition`.

    Raises:
        SectionError: the regions do not form one piece, or a surface does not lie on the outline.
    """
    shapes = _shapes(section)
    noded = shapely.unary_union([s.boundary for s in shapes], grid_size=1.0)
    patches, owners = _owned(noded, shapes)
    kept = _lines_between_regions(patches, owners)
    faces, regions = _owned(shapely.MultiLineString(kept), shapes)
    filled = [k for k, owner in enumerate(regions) if owner != VOID]
    if not filled:
        raise SectionError("the section has no area; give at least one [[region]] with a polygon", ("section",))
    numbers: dict[Corner, int] = {}
    rings = [[_ring(r, numbers) for r in (faces[k].exterior, *faces[k].interiors)] for k in filled]
    owner = np.array([regions[k] for k in filled], dtype=np.int64)
    points = np.array(list(numbers), dtype=np.int64).reshape(-1, 2)
    _refuse_islands(rings, owner, points)
    ends = [whole(surface.edge) for surface in section.surfaces]
    points, rings = _with_ends(points, rings, ends)
    outline = np.array(_outline(rings), dtype=np.int64).reshape(-1, 2)
    _refuse_pinches(outline, points)
    surface = _surfaces(section, points, outline, ends)
    return Overlay(points, tuple(tuple(tuple(r) for r in face) for face in rings), owner, outline, surface)


def _shapes(section: Section) -> list[shapely.Polygon]:
    """Each region as a polygon in micrometres; corners that lie on another's edge become corners of that edge."""
    rings = [[whole(r) for r in (region.polygon, *region.holes)] for region in section.regions]
    corners = np.unique(np.concatenate([ring for region in rings for ring in region]), axis=0)
    corners = _merged(corners)
    shapes = []
    for number, region in enumerate(rings):
        fitted = [_fitted(ring, corners) for ring in region]
        shape = shapely.Polygon(fitted[0])
        for hole in fitted[1:]:
            shape = shapely.difference(shape, shapely.Polygon(hole), grid_size=1.0)
        if not shape.is_valid or shape.is_empty:
            raise SectionError(
                f"the outline is not a plain polygon: {shapely.is_valid_reason(shape)}", ("region", number)
            )
        shapes.append(shape)
    return shapes


def _merged(corners: Whole) -> Whole:
    """Corners without those that lie within SNAP of an earlier one."""
    kept: list[list[int]] = []
    seen: dict[Corner, list[list[int]]] = defaultdict(list)
    for x, y in corners.tolist():
        key = (x // SNAP, y // SNAP)
        near = [p for i in (-1, 0, 1) for j in (-1, 0, 1) for p in seen.get((key[0] + i, key[1] + j), ())]
        if not any((p[0] - x) ** 2 + (p[1] - y) ** 2 <= SNAP**2 for p in near):
            kept.append([x, y])
            seen[key].append([x, y])
    return np.array(kept, dtype=np.int64)


def _fitted(ring: Whole, corners: Whole) -> list[Corner]:
    """A ring with its corners moved to the merged ones, and with every merged corner that lies on its edges."""
    moved = [tuple(corners[np.argmin(np.sum((corners - p) ** 2, axis=1))].tolist()) for p in ring]
    result: list[Corner] = []
    for start, end in zip(moved, moved[1:] + moved[:1], strict=True):
        result.append(start)
        result.extend(_on_segment(np.array(start), np.array(end), corners))
    return result


def _on_segment(start: Whole, end: Whole, corners: Whole) -> list[Corner]:
    """Corners strictly inside the segment, within SNAP of it, in order from start to end."""
    along = (end - start).astype(np.float64)
    length = float(np.hypot(*along))
    if length == 0:
        return []
    relative = corners - start
    s = relative @ along / length
    off = np.abs(relative[:, 0] * along[1] - relative[:, 1] * along[0]) / length
    inside = np.flatnonzero((off <= SNAP) & (s > SNAP) & (s < length - SNAP))
    return [tuple(corners[k].tolist()) for k in inside[np.argsort(s[inside])]]


def _owned(lines: shapely.Geometry, shapes: list[shapely.Polygon]) -> tuple[list[shapely.Polygon], list[int]]:
    """The patches between the lines, each with the last region that covers it."""
    patches = list(shapely.get_parts(shapely.polygonize(shapely.get_parts(lines))))
    inner = shapely.point_on_surface(np.array(patches, dtype=object)) if patches else []
    owners = np.full(len(patches), VOID, dtype=np.int64)
    for number, shape in enumerate(shapes):
        owners[shapely.contains(shape, inner)] = number
    return patches, owners.tolist()


def _segments(patch: shapely.Polygon) -> list[tuple[Corner, Corner]]:
    pairs: list[tuple[Corner, Corner]] = []
    for ring in (patch.exterior, *patch.interiors):
        corners = [(round(x), round(y)) for x, y in ring.coords]
        pairs.extend((min(a, b), max(a, b)) for a, b in pairwise(corners))
    return pairs


def _lines_between_regions(patches: list[shapely.Polygon], owners: list[int]) -> list[tuple[Corner, Corner]]:
    sides: dict[tuple[Corner, Corner], list[int]] = defaultdict(list)
    for patch, owner in zip(patches, owners, strict=True):
        for segment in _segments(patch):
            sides[segment].append(owner)
    return [segment for segment, own in sides.items() if (own[0] != own[1] if len(own) == 2 else own[0] != VOID)]


def _ring(ring: shapely.LinearRing, numbers: dict[Corner, int]) -> list[int]:
    return [numbers.setdefault((round(x), round(y)), len(numbers)) for x, y in ring.coords[:-1]]


def _pairs(ring: list[int]) -> list[Pair]:
    return [(a, b) if a < b else (b, a) for a, b in zip(ring, ring[1:] + ring[:1], strict=True)]


def _outline(rings: list[list[list[int]]]) -> list[Pair]:
    """The segments that belong to one face alone."""
    count: dict[Pair, int] = defaultdict(int)
    for face in rings:
        for ring in face:
            for pair in _pairs(ring):
                count[pair] += 1
    return [pair for pair, n in count.items() if n == 1]


def _refuse_islands(rings: list[list[list[int]]], owner: Whole, points: Whole) -> None:
    at: dict[Pair, list[int]] = defaultdict(list)
    for number, face in enumerate(rings):
        for ring in face:
            for pair in _pairs(ring):
                at[pair].append(number)
    beside: dict[int, list[int]] = defaultdict(list)
    for own in at.values():
        if len(own) == 2:
            beside[own[0]].append(own[1])
            beside[own[1]].append(own[0])
    reached, front = {0}, [0]
    while front:
        front = [b for a in front for b in beside[a] if b not in reached]
        reached.update(front)
    apart = [k for k in range(len(rings)) if k not in reached]
    if apart:
        raise SectionError(
            f"stands apart from the rest of the section at {place(points[rings[apart[0]][0][0]])}; "
            "all regions must touch along edges, since heat cannot cross a gap that has no material",
            ("region", int(owner[apart[0]])),
        )


def _refuse_pinches(outline: Whole, points: Whole) -> None:
    number, count = np.unique(outline, return_counts=True)
    if (count > 2).any():
        raise SectionError(
            f"the section touches itself only in the point {place(points[number[count > 2][0]])}; "
            "let the regions share an edge there or leave a gap",
            ("section",),
        )


def _with_ends(points: Whole, rings: list[list[list[int]]], ends: list[Whole]) -> tuple[Whole, list[list[list[int]]]]:
    """Cut the outline where a surface starts, bends or ends."""
    wanted = np.unique(np.concatenate(ends), axis=0)
    outline = set(_outline(rings))
    new: dict[Corner, int] = {}
    cut: dict[Pair, list[int]] = {}
    for a, b in outline:
        inside = _on_segment(points[a], points[b], wanted)
        if inside:
            cut[(a, b)] = [new.setdefault(corner, len(points) + len(new)) for corner in inside]

    def divided(ring: list[int]) -> list[int]:
        result: list[int] = []
        for a, b in zip(ring, ring[1:] + ring[:1], strict=True):
            result.append(a)
            result.extend(cut.get((a, b), []) if a < b else cut.get((b, a), [])[::-1])
        return result

    added = np.array(list(new), dtype=np.int64).reshape(-1, 2)
    return np.concatenate([points, added]), [[divided(ring) for ring in face] for face in rings]


def _surfaces(section: Section, points: Whole, outline: Whole, ends: list[Whole]) -> Whole:
    labels = np.full(len(outline), ADIABATIC, dtype=np.int64)
    a, b = points[outline[:, 0]].astype(float), points[outline[:, 1]].astype(float)
    for number, line in enumerate(ends):
        name = section.surfaces[number].environment
        for start, end in pairwise(line):
            run = f"the edge of environment {name!r} between {place(start)} and {place(end)}"
            on, length = _along(a, b, start.astype(float), end.astype(float))
            if abs(float(np.hypot(*(b - a)[on].T).sum()) - length) > 4 * SNAP:
                raise SectionError(
                    f"{run} does not run along the outline of the section; "
                    "give points on its outer edge (or on the rim of a hole)",
                    ("surface", number),
                )
            if (labels[on] != ADIABATIC).any():
                other = section.surfaces[int(labels[on].max())].environment
                raise SectionError(
                    f"{run} is already taken by environment {other!r}; each piece of the outline faces one environment",
                    ("surface", number),
                )
            labels[on] = number
    return labels


def _along(
    a: NDArray[np.float64], b: NDArray[np.float64], start: NDArray[np.float64], end: NDArray[np.float64]
) -> tuple[NDArray[np.bool_], float]:
    """Which segments a–b lie on the leg from start to end, and the leg's length."""
    along = end - start
    length = float(np.hypot(*along))
    on = np.ones(len(a), dtype=bool)
    for p in (a, b):
        s = (p - start) @ along / length
        off = np.abs((p[:, 0] - start[0]) * along[1] - (p[:, 1] - start[1]) * along[0]) / length
        on &= (off <= 2 * SNAP) & (s >= -2 * SNAP) & (s <= length + 2 * SNAP)
    return on, length
