"""Closes the flattened paths of a drawing to rings, layer by layer; second step from a drawing to regions.

Closed paths are rings of their own. Loose ones are joined at ends that lie within `CLOSED` of each other and must then
close; where they do not, the place is said. A hatch says itself which of its rings are holes.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np
import shapely

from bridge2d import units
from bridge2d.dxf.meeting import met
from bridge2d.dxf.reading import CHORD, CLOSED, FloatArray, Shape
from bridge2d.errors import InputError

SAME = 0.02
"""Two outlines that are nowhere farther apart than this are one drawn twice [mm]."""


class Ring(NamedTuple):
    """A closed outline with its holes [mm], on a layer of the drawing, at a place in the order of drawing."""

    layer: str
    order: int
    outline: shapely.Polygon
    from_hatch: bool = False


def place(point: Sequence[float] | FloatArray) -> str:
    """A point [mm] as a person reads it."""
    x, y = (units.plain(round(float(value), 3) + 0.0) for value in point)
    return f"({x}, {y}) mm"


def closed_rings(shapes: Sequence[Shape], file: str) -> tuple[Ring, ...]:
    """The rings that shapes close to, in the order of drawing.

    Args:
        shapes: flattened paths, see `reading.Shape`.
        file: name of the drawing, for messages.

    Raises:
        InputError: an outline is not closed or crosses itself; the message says where.
    """
    shapes = _with_shared_corners(shapes)
    rings = [Ring(s.layer, s.order, _polygon(s.points, file, s.layer)) for s in shapes if s.closed and not s.hatch]
    loose: dict[str, list[Shape]] = defaultdict(list)
    hatches: dict[int, list[Shape]] = defaultdict(list)
    for shape in shapes:
        if shape.hatch:
            hatches[shape.order].append(shape)
        elif not shape.closed:
            loose[shape.layer.casefold()].append(shape)
    for open_ones in loose.values():
        rings += _joined(open_ones, file)
    for bounds in hatches.values():
        rings += _hatched(bounds, file)
    rings = _without_repeats(sorted(rings, key=lambda ring: ring.order))
    outlines = met([ring.outline for ring in rings])
    return tuple(ring._replace(outline=outline) for ring, outline in zip(rings, outlines, strict=True))


def _polygon(points: FloatArray, file: str, layer: str) -> shapely.Polygon:
    """The polygon of a ring, refused where it crosses itself."""
    polygon = shapely.Polygon(points)
    if polygon.is_valid and polygon.area > 0:
        return polygon
    said = shapely.is_valid_reason(polygon)
    found = re.search(r"\[(\S+) (\S+)\]", said)
    where = place((float(found[1]), float(found[2]))) if found else place(points[0])
    right = "draw each region as one plain outline, a void inside it as an island of a hatch"
    raise InputError(f"an outline crosses or touches itself at {where}", file=file, key=f"layer {layer!r}", right=right)


# -- curves that two outlines share --------------------------------------------------------------------------------


def _with_shared_corners(shapes: Sequence[Shape]) -> list[Shape]:
    """Shapes of which the chords take in the corners of others that lie on the same curve.

    Two outlines along one curve are flattened each from its own ends. Without common corners slivers up to `CHORD`
    wide would lie between them, and no heat crosses a void.
    """
    if not any(shape.curved.any() for shape in shapes):
        return list(shapes)
    corners = np.unique(np.concatenate([shape.points for shape in shapes]), axis=0)
    tree = shapely.STRtree(shapely.points(corners))
    return [_refined(shape, corners, tree) if shape.curved.any() else shape for shape in shapes]


def _refined(shape: Shape, corners: FloatArray, tree: shapely.STRtree) -> Shape:
    ends = np.roll(shape.points, -1, axis=0)[: len(shape.curved)]
    starts = shape.points[: len(shape.curved)]
    chords = shapely.linestrings(np.stack([starts, ends], axis=1))
    number, corner = tree.query(chords[shape.curved], predicate="dwithin", distance=1.02 * CHORD)
    chosen = np.flatnonzero(shape.curved)[number]
    along = ends[chosen] - starts[chosen]
    length = np.hypot(*along.T)
    share = ((corners[corner] - starts[chosen]) * along).sum(axis=1) / length
    inside = (share > CLOSED) & (share < length - CLOSED)
    more: dict[int, list[tuple[float, int]]] = defaultdict(list)
    for chord, at, one in zip(chosen[inside].tolist(), share[inside].tolist(), corner[inside].tolist(), strict=True):
        more[chord].append((at, one))
    points: list[FloatArray] = []
    curved: list[bool] = []
    for k, point in enumerate(shape.points):
        points.append(point)
        new = [corners[one] for _, one in sorted(more.get(k, ()))]
        points += new
        if k < len(shape.curved):
            curved += [bool(shape.curved[k])] * (len(new) + 1)
    return shape._replace(points=np.array(points), curved=np.array(curved, dtype=bool))


# -- loose lines ---------------------------------------------------------------------------------------------------


def _joined(shapes: Sequence[Shape], file: str) -> list[Ring]:
    """The rings that the loose lines of one layer close to."""
    lines = _with_common_ends(shapes)
    unique = {min(tuple(map(tuple, a)), tuple(map(tuple, a[::-1]))): k for k, a in reversed(list(enumerate(lines)))}
    kept = sorted(unique.values())
    made = [shapely.LineString(lines[k]) for k in kept if len(lines[k]) > 1]
    polygons, bridges, dangles, invalid = shapely.polygonize_full(made)
    layer = shapes[0].layer
    if not shapely.is_empty(dangles) or not shapely.is_empty(bridges):
        _refuse_open(made, [*shapely.get_parts(dangles), *shapely.get_parts(bridges)], file, layer)
    for one in shapely.get_parts(invalid):
        _polygon(shapely.get_coordinates(one)[:-1], file, layer)
    orders = [shapes[k].order for k in kept if len(lines[k]) > 1]
    rings = []
    for polygon in shapely.get_parts(polygons):
        outline = shapely.Polygon(polygon.exterior)
        on_it = shapely.covers(outline.boundary, np.array(made, dtype=object))
        order = min((n for n, on in zip(orders, on_it.tolist(), strict=True) if on), default=shapes[0].order)
        rings.append(Ring(layer, order, outline))
    return rings


def _with_common_ends(shapes: Sequence[Shape]) -> list[FloatArray]:
    """The lines' corners, ends within `CLOSED` of each other put into one place, that of the first drawn."""
    ends = np.array([p for shape in shapes for p in (shape.points[0], shape.points[-1])])
    first = np.arange(len(ends))
    pairs = shapely.STRtree(shapely.points(ends)).query(shapely.points(ends), predicate="dwithin", distance=CLOSED)
    for a, b in sorted(zip(*(row.tolist() for row in pairs), strict=True)):
        if b > a:
            first[first == first[b]] = min(first[a], first[b])
            first[b] = first[a]
    moved = ends[first]
    return [
        np.concatenate([moved[2 * k : 2 * k + 1], shape.points[1:-1], moved[2 * k + 1 : 2 * k + 2]])
        for k, shape in enumerate(shapes)
    ]


def _refuse_open(lines: Sequence[shapely.LineString], bad: Sequence[shapely.LineString], file: str, layer: str) -> None:
    """Say where an outline is open: at an end that meets no other."""
    ends = [line.coords[k] for line in lines for k in (0, -1)]
    free = [end for end in ends if ends.count(end) == 1]
    key = f"layer {layer!r}"
    right = f"close it; ends up to {units.plain(CLOSED)} mm apart are joined"
    if not free:
        where = place(bad[0].interpolate(0.5, normalized=True).coords[0])
        raise InputError(f"the line at {where} bounds no region", file=file, key=key, right="take it off the layer")
    here = min(free)
    others = [end for end in free if end != here]
    rest = shapely.MultiLineString([line for line in lines if here not in (line.coords[0], line.coords[-1])])
    message = f"an outline is not closed at {place(here)}"
    if others:
        nearest = min(others, key=lambda end: np.hypot(end[0] - here[0], end[1] - here[1]))
        gap = float(np.hypot(nearest[0] - here[0], nearest[1] - here[1]))
        message += f"; the nearest open end is {units.plain(round(gap, 3))} mm away at {place(nearest)}"
    else:  # it hangs on an outline, which is among the rest
        message += f"; the nearest line is {units.plain(round(rest.distance(shapely.Point(here)), 3))} mm away"
    raise InputError(message, file=file, key=key, right=right)


# -- hatches -------------------------------------------------------------------------------------------------------


def _hatched(bounds: Sequence[Shape], file: str) -> list[Ring]:
    """The rings of one hatch: what its style says is filled, with its islands as holes."""
    first = bounds[0]
    shapes = sorted((_polygon(b.points, file, first.layer) for b in bounds), key=lambda p: -p.area)
    depth = [
        sum(other.contains_properly(shape) or other.covers(shape) for other in shapes[:k])
        for k, shape in enumerate(shapes)
    ]
    rings = []
    for k, shape in enumerate(shapes):
        if depth[k] % 2 or (first.hatch != "nested" and depth[k] > 0):
            continue
        inner = [
            s for s, d in zip(shapes[k + 1 :], depth[k + 1 :], strict=True) if d == depth[k] + 1 and shape.covers(s)
        ]
        holes = inner if first.hatch != "ignore" else []
        filled = shapely.Polygon(shape.exterior.coords, [hole.exterior.coords for hole in holes])
        if not filled.is_valid:  # an island on the rim, or on another island
            filled = shape.difference(shapely.unary_union(holes))
        parts = [part for part in shapely.get_parts(filled) if part.geom_type == "Polygon" and part.area > 0]
        rings += [Ring(first.layer, first.order, part, True) for part in parts]
    return rings


def _without_repeats(rings: Sequence[Ring]) -> list[Ring]:
    """Rings without those that only repeat another of their layer: the outline round a hatch, or round its island."""
    kept: list[Ring] = []
    hatched = [ring for ring in rings if ring.from_hatch]
    for ring in rings:
        same_layer = [h for h in hatched if h.layer.casefold() == ring.layer.casefold()]
        bounds = [bound for h in same_layer for bound in (h.outline.exterior, *h.outline.interiors)]
        if not ring.from_hatch and any(_same(ring.outline.exterior, bound) for bound in bounds):
            continue
        if any(k.layer.casefold() == ring.layer.casefold() and _same(k.outline, ring.outline) for k in kept):
            continue
        kept.append(ring)
    return kept


def _same(one: shapely.Geometry, other: shapely.Geometry) -> bool:
    boxes = zip(one.bounds, other.bounds, strict=True)
    return all(abs(a - b) <= SAME for a, b in boxes) and float(one.hausdorff_distance(other)) <= SAME


def corners(ring: shapely.LinearRing) -> list[tuple[float, float]]:
    """The corners of a ring [mm], without those that repeat a neighbour on the micrometre."""
    found = [(x, y) for x, y, *_ in ring.coords]
    return [
        a
        for a, b in pairwise(found)
        if round(a[0] * 1e3) != round(b[0] * 1e3) or round(a[1] * 1e3) != round(b[1] * 1e3)
    ]
