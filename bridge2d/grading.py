"""The next mesh in one large step: layers of triangles towards corners, and functions of higher order elsewhere.

Part of the loop that refines a mesh. At a corner of a region the flux grows without limit, like a power of the
distance. All triangles round it are cut across at a fixed share of their sides, again and again, so that their size
falls in a geometric row towards it, and the functions on the layers are of higher order: then the error falls
exponentially with the number of unknowns (I. Babuška and B. Q. Guo 1986, The h-p version of the finite element
method). How many layers and which order is read off the gap of the bounds; what is read wrong, the next pass puts
right.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from bridge2d.elements import HIGHEST, QUADRATIC
from bridge2d.mesh import SectionMesh, inherited, refine
from bridge2d.partition import ADIABATIC, Whole
from bridge2d.triangles import Triangles, triangles

FloatArray = NDArray[np.float64]
Flags = NDArray[np.bool_]
CUT = 0.15
"""Where the sides at a corner are cut, as a share of their length (W. Gui and I. Babuška 1986 find 0.17 best in one
dimension, remembered); from 0.1 to 0.25 the time to 0.01 % hardly differs."""
PER_LAYER = CUT**1.33
"""What a layer leaves of a corner's gap, with the exponent 2/3 of a right angle that juts in: the gap is a square."""
MOST_LAYERS = 4
LAYER_ORDER, OF_LAYERS = 3, 0.017
"""Least order of the functions on layers, and what they leave of a corner's gap then; measured on the joist in a wall.
Where that is too much, the order is the highest."""
PER_ORDER = 10.0
"""By how much the gap of a triangle falls with each order, as far as is known beforehand."""
PER_DIVISION = 100.0
"""The same with the division into four of a triangle that has the highest order."""
AIM = 0.5
"""Share of the gap allowed that the next mesh is made for: another one would cost more than this one's surplus."""
HALVINGS = 20
"""Of the range in which the limit of gaps is sought."""
CHEAP = 500
"""Unknowns of a first mesh that cost next to nothing."""
BENT = np.sin(np.deg2rad(15.0))
"""A line between regions that bends less at a point makes no corner there, as the chords of an arc do not."""


@dataclass(frozen=True)
class _Cutting:
    """A mesh on the way to the next one.

    Attributes:
        mesh: with an order for every triangle.
        gap: of the triangles that have not been cut, 0 for others; shape (m,).
        divided: triangles to be divided; shape (m,).
    """

    mesh: SectionMesh
    gap: FloatArray
    divided: Flags


def corners(section_mesh: SectionMesh, tensor: FloatArray) -> Whole:
    """Points of a mesh near which the flux may grow without limit.

    They are those where a line between conductivities or the outline bends, where three such lines meet, and where one
    surface ends on the outline.

    Args:
        section_mesh: the mesh.
        tensor: conductivity of each region; shape (R, 2, 2).

    Returns:
        their numbers; shape (k,).
    """
    mesh, count = section_mesh.mesh, section_mesh.mesh.p.shape[1]
    kind = np.unique(tensor.reshape(-1, 4), axis=0, return_inverse=True)[1].ravel()[section_mesh.region]
    owner = np.empty(mesh.facets.shape[1], dtype=np.int64)
    owner[mesh.t2f] = kind
    line = np.zeros(len(owner), dtype=bool)
    line[mesh.t2f[owner[mesh.t2f] != kind]] = True
    on_rim = mesh.boundary_facets()
    line[on_rim] = True
    a, b = mesh.facets[:, line]
    along = mesh.p[:, b] - mesh.p[:, a]
    along = along / np.hypot(along[0], along[1])
    ends = np.concatenate([a, b])
    lines = np.bincount(ends, minlength=count)
    sums = [np.bincount(ends, np.concatenate([one, -one]), count) for one in along]
    surface = section_mesh.surface[on_rim]
    rim_ends = mesh.facets[:, on_rim]
    lowest, highest = np.full(count, np.iinfo(np.int64).max), np.full(count, ADIABATIC)
    for points in rim_ends:
        np.minimum.at(lowest, points, surface)
        np.maximum.at(highest, points, surface)
    bent = np.hypot(*sums) > BENT
    return np.flatnonzero((lines > 0) & ((lines != 2) | bent | (highest > lowest))).astype(np.int64)


def begun(section_mesh: SectionMesh) -> SectionMesh:
    """A first mesh with functions of the highest order that leaves it cheap.

    Args:
        section_mesh: the mesh, of a plane section.
    """
    for order in range(HIGHEST, QUADRATIC, -1):
        higher = replace(section_mesh, order=np.full(section_mesh.mesh.t.shape[1], order))
        if higher.unknowns <= CHEAP:
            return higher
    return section_mesh


def graded(
    section_mesh: SectionMesh,
    tensor: FloatArray,
    gap: FloatArray,
    allowed: float,
    *,
    least: int = 0,
    small: Flags | None = None,
) -> SectionMesh | None:
    """The next mesh, by the gap of the bounds on this one.

    Args:
        section_mesh: the mesh, of a plane section.
        tensor: conductivity of each region; shape (R, 2, 2).
        gap: of each triangle; shape (m,).
        allowed: the gap that the next mesh should have, less than this one's.
        least: unknowns that the next mesh should have.
        small: triangles that may not be cut; None where all may; shape (m,).

    Returns:
        None where nothing is left to be cut or raised.
    """
    mesh = section_mesh.mesh
    small = np.zeros(len(gap), dtype=bool) if small is None else small
    order: Whole = (
        np.full(mesh.t.shape[1], QUADRATIC, dtype=np.int64) if section_mesh.order is None else section_mesh.order
    )
    points = corners(section_mesh, tensor)
    at_corner = np.isin(mesh.t, points)
    outside = np.where(at_corner.any(axis=0) | (small & (order == HIGHEST)), 0.0, gap)
    share = np.where(at_corner, gap / np.maximum(at_corner.sum(axis=0), 1), 0.0)
    of_point = np.bincount(mesh.t.ravel(), share.ravel(), mesh.p.shape[1])[points].astype(np.float64)
    of_point[np.isin(points, mesh.t[:, small])] = 0.0
    layer_order = LAYER_ORDER if OF_LAYERS * of_point.sum() <= 0.5 * allowed else HIGHEST
    number, higher = _steps(of_point, outside, np.where(order == HIGHEST, PER_DIVISION, PER_ORDER), AIM * allowed)
    if not number.any() and not higher.any():
        return None
    layers = np.zeros(mesh.p.shape[1], dtype=np.int64)
    layers[points] = number
    divided = (order == HIGHEST) & (higher > 0)
    state = _Cutting(replace(section_mesh, order=np.minimum(order + higher, HIGHEST)), outside, divided)
    while layers.any():
        chosen = _apart(state.mesh, np.flatnonzero(layers))
        state = _cut(state, chosen, layers, layer_order)
        layers[chosen] = 0
        layers = np.concatenate([layers, np.zeros(state.mesh.mesh.p.shape[1] - len(layers), dtype=np.int64)])
    finer = _divided(state)
    return finer if finer.unknowns >= least else _divided(_enriched(state, least - finer.unknowns))


def _steps(of_point: FloatArray, outside: FloatArray, fall: FloatArray, allowed: float) -> tuple[Whole, Whole]:
    """How many layers each corner gets, and how many orders more each triangle, by one limit for all gaps.

    The limit is the highest one that is expected to make the sum of all gaps small enough.

    Args:
        of_point: gap at each corner; shape (k,).
        outside: gap of each triangle that touches none; shape (m,).
        fall: what a step makes of it, as a divisor; shape (m,).
        allowed: sum of gaps to be reached.

    Returns:
        shapes (k,) and (m,).
    """
    number, higher = np.zeros(len(of_point)), np.zeros(len(outside))
    largest = max(of_point.max(initial=0.0), outside.max())
    if largest <= 0.0:
        return number.astype(np.int64), higher.astype(np.int64)
    low, high = np.log(allowed / (len(of_point) + len(outside))), np.log(largest)
    with np.errstate(divide="ignore"):
        at_points, elsewhere = np.log(of_point), np.log(outside)
    for _ in range(HALVINGS):
        limit = 0.5 * (low + high)
        number = np.minimum(np.ceil(np.maximum(at_points - limit, 0.0) / -np.log(PER_LAYER)), MOST_LAYERS)
        higher = np.ceil(np.maximum(elsewhere - limit, 0.0) / np.log(fall))
        left = of_point @ PER_LAYER**number + outside @ fall**-higher
        low, high = (limit, high) if left <= allowed else (low, limit)
    return number.astype(np.int64), higher.astype(np.int64)


def _apart(section_mesh: SectionMesh, points: Whole) -> Whole:
    """Some of the points, no two of them on one side of the mesh; the first one is among them."""
    among = np.zeros(section_mesh.mesh.p.shape[1], dtype=bool)
    among[points] = True
    a, b = section_mesh.mesh.facets
    both = among[a] & among[b]
    beside: dict[int, list[int]] = {}
    for one, other in zip(a[both].tolist(), b[both].tolist(), strict=True):
        beside.setdefault(one, []).append(other)
        beside.setdefault(other, []).append(one)
    taken: list[int] = []
    refused: set[int] = set()
    for point in points.tolist():
        if point not in refused:
            taken.append(point)
            refused.update(beside.get(point, ()))
    return np.array(taken, dtype=np.int64)


def _cut(state: _Cutting, points: Whole, layers: Whole, layer_order: int) -> _Cutting:
    """All triangles round points cut into layers.

    Args:
        state: the mesh on its way.
        points: no two on one side; shape (k,).
        layers: how many each point of the mesh gets; shape (n,).
        layer_order: least order of the functions on them, but for the innermost triangles, where no order helps.
    """
    mesh = state.mesh.mesh
    count = mesh.p.shape[1]
    chosen = np.zeros(count, dtype=bool)
    chosen[points] = True
    at = chosen[mesh.t]
    cut, rest = np.flatnonzero(at.any(axis=0)), np.flatnonzero(~at.any(axis=0))
    fan = _fan(mesh, cut, at[:, cut].argmax(axis=0), layers)
    parent = np.concatenate([rest, cut, cut[fan.ring]])
    corner = np.concatenate([mesh.t[:, rest], fan.innermost, fan.rings], axis=1)
    new = triangles(np.concatenate([mesh.p, fan.points], axis=1), corner)
    sides = new.facets[:, new.boundary_facets()].T.copy()
    fresh = sides[:, 1] >= count
    sides[fresh] = fan.origin[sides[fresh, 1] - count]
    finer = inherited(state.mesh, new, parent, sides)
    assert finer.order is not None
    order, first = finer.order.copy(), len(rest) + len(cut)
    order[len(rest) : first] = QUADRATIC
    order[first:] = np.maximum(order[first:], layer_order)
    whole = np.arange(len(parent)) < len(rest)
    gap = np.where(whole, state.gap[parent], 0.0)
    return _Cutting(replace(finer, order=order), gap, state.divided[parent] & whole)


@dataclass(frozen=True)
class _Fan:
    """Triangles round points, cut into layers.

    Attributes:
        points: new ones; shape (2, p) [m].
        origin: the old side that each lies on, as a pair of points; shape (p, 2).
        innermost: corners of what is left of each triangle; shape (3, k).
        rings: corners of the triangles on layers; shape (3, r).
        ring: which of the k triangles each of them was cut from; shape (r,).
    """

    points: FloatArray
    origin: Whole
    innermost: Whole
    rings: Whole
    ring: Whole


def _fan(mesh: Triangles, cut: Whole, which: Whole, layers: Whole) -> _Fan:
    """Layers of triangles, each of them at one of its corners.

    Args:
        mesh: the triangles.
        cut: which of them are cut; shape (k,).
        which: number of the corner at which each of these is cut; shape (k,).
        layers: how many each point of the mesh gets; shape (n,).
    """
    count = mesh.p.shape[1]
    centre, one, other = (mesh.t[(which + k) % 3, cut] for k in range(3))
    # The diagonal of a piece of a layer that ends on the shorter side is the shorter one.
    longer = _length(mesh.p, centre, other) > _length(mesh.p, centre, one)
    one, other = np.where(longer, other, one), np.where(longer, one, other)
    spokes, number = np.unique(np.concatenate([centre * count + one, centre * count + other]), return_inverse=True)
    start, end = np.divmod(spokes, count)
    number, outer = number.reshape(2, -1), np.stack([one, other])
    points: list[FloatArray] = []
    origin: list[Whole] = []
    rings: list[Whole] = []
    ring: list[Whole] = []
    for layer in range(1, int(layers[centre].max()) + 1):
        here, deep = np.flatnonzero(layers[centre] >= layer), np.flatnonzero(layers[start] >= layer)
        place = np.full(len(spokes), -1)
        place[deep] = count + sum(map(len, origin)) + np.arange(len(deep))
        points.append(mesh.p[:, start[deep]] + CUT**layer * (mesh.p[:, end[deep]] - mesh.p[:, start[deep]]))
        origin.append(np.stack([start[deep], end[deep]], axis=1))
        (a, b), (c, d) = place[number][:, here], outer[:, here]
        rings += [np.stack([a, c, d]), np.stack([a, b, d])]
        ring += [here, here]
        outer[:, here] = np.stack([a, b])
    innermost = np.concatenate([centre[None], outer])
    return _Fan(
        np.concatenate(points, axis=1),
        np.concatenate(origin),
        innermost,
        np.concatenate(rings, axis=1),
        np.concatenate(ring),
    )


def _length(points: FloatArray, start: Whole, end: Whole) -> FloatArray:
    return np.asarray(np.hypot(*(points[:, end] - points[:, start])))


def _enriched(state: _Cutting, missing: int) -> _Cutting:
    """The same with higher orders in the triangles of the largest gaps, until about so many unknowns are added."""
    worst = np.argsort(state.gap, kind="stable")[::-1]
    for highest in range(QUADRATIC + 1, HIGHEST + 1):
        if missing <= 0:
            break
        order = state.mesh.order
        assert order is not None
        lower = worst[order[worst] < highest]
        # A triangle has half of the functions on its three sides.
        chosen = lower[: -(-2 * missing // 3)]
        raised = order.copy()
        raised[chosen] += 1
        before = state.mesh.unknowns
        state = replace(state, mesh=replace(state.mesh, order=raised))
        missing -= state.mesh.unknowns - before
    return state


def _divided(state: _Cutting) -> SectionMesh:
    return refine(state.mesh, np.flatnonzero(state.divided)) if state.divided.any() else state.mesh
