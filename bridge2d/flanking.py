"""Flanking elements: the layers that a cut plane crosses, their U-value, and how far they run undisturbed.

Layers are read from the regions themselves, so that the U·l that is taken off L2D belongs to the very geometry that was
solved. The undisturbed length is what ISO 10211 asks of a cut-off plane.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from bridge2d.detail import Point, Section
from bridge2d.errors import SectionError
from bridge2d.partition import MICROMETRES, SNAP, VOID, Whole, place, whole
from bridge2d.results import FlankingResult, Layer
from bridge2d.standards import iso_6946, iso_10211, iso_12241

FloatArray = NDArray[np.float64]
Line = tuple[Point, ...]
OFFSET = 3.0
"""How far beside a line the regions on its two sides are looked up [µm]."""
SQUARE = 1e-3
"""Largest cosine of the angle between a cut plane and a layer."""


@dataclass(frozen=True)
class _Edges:
    """All edges of a section's rings [µm], region by region, and each region's first one."""

    start: FloatArray
    end: FloatArray
    first: Whole


class _Outlines(NamedTuple):
    """The places of a section without its materials: rings of each region, line of each surface [m]."""

    rings: tuple[tuple[Line, ...], ...]
    lines: tuple[Line, ...]


def _outlines(section: Section) -> _Outlines:
    rings = tuple((region.polygon, *region.holes) for region in section.regions)
    return _Outlines(rings, tuple(surface.edge for surface in section.surfaces))


@lru_cache(maxsize=32)
def _edges(rings: tuple[tuple[Line, ...], ...]) -> _Edges:
    start = whole([point for of_region in rings for ring in of_region for point in ring]).astype(np.float64)
    last = np.cumsum([len(ring) for of_region in rings for ring in of_region]) - 1
    following = np.arange(1, len(start) + 1)
    following[last] = np.concatenate([[0], last[:-1] + 1])
    sizes = [sum(map(len, of_region)) for of_region in rings]
    return _Edges(start, start[following], np.cumsum([0, *sizes[:-1]]))


def regions_at(section: Section, points: FloatArray) -> Whole:
    """The region that owns each point, VOID outside the section.

    Args:
        section: the section.
        points: shape (k, 2) [µm].
    """
    outlines = _outlines(section)
    return _owners(_edges(outlines.rings), points)


def _owners(edges: _Edges, points: FloatArray) -> Whole:
    x, y = points[:, 0, None], points[:, 1, None]
    across = (edges.start[:, 1] > y) != (edges.end[:, 1] > y)
    rise = np.where(edges.end[:, 1] == edges.start[:, 1], 1.0, edges.end[:, 1] - edges.start[:, 1])
    crossing = edges.start[:, 0] + (y - edges.start[:, 1]) * (edges.end[:, 0] - edges.start[:, 0]) / rise
    inside = np.add.reduceat(across & (x < crossing), edges.first, axis=1, dtype=np.int64) % 2 == 1
    later = np.argmax(inside[:, ::-1], axis=1)
    return np.where(inside.any(axis=1), inside.shape[1] - 1 - later, VOID).astype(np.int64)


@dataclass(frozen=True)
class _Run:
    """What a straight line crosses: regions with the length in each [µm], and the surfaces at its ends."""

    regions: tuple[int, ...]
    thickness: tuple[float, ...]
    surfaces: tuple[int, int]

    def same(self, other: _Run) -> bool:
        """Whether another line crosses the same layers."""
        return (
            self.regions == other.regions
            and self.surfaces == other.surfaces
            and bool(np.allclose(self.thickness, other.thickness, atol=OFFSET))
        )


def flanking_result(section: Section, number: int, uniform: float | None = None) -> FlankingResult:
    """U-value of a flanking element, layer by layer, and its undisturbed length.

    Args:
        section: the section.
        number: index of the flanking element.
        uniform: undisturbed length [m], where it is known or does not count.

    Raises:
        SectionError: the cut plane does not run from one surface to another at right angles through plane layers.
    """
    element = section.flanking[number]
    outlines = _outlines(section)
    run = _run(outlines, element.cut, number)
    if uniform is None:
        uniform = _uniform_length(outlines, element.cut, run)
    start, end = whole(element.cut).astype(np.float64)
    normal = (end - start) / np.hypot(*(end - start))
    first, last = (section.surfaces[k] for k in run.surfaces)
    resistances = first.resistance, last.resistance
    if section.revolution and abs(normal[0]) > abs(normal[1]):
        layers, resistances = _round(section, run, (start, end), resistances)
    else:
        layers = _plane(section, run, normal)
    u_value = iso_6946.thermal_transmittance(
        iso_6946.total_resistance([layer.resistance for layer in layers], *resistances)
    )
    return FlankingResult(
        element.name,
        u_value,
        dict(element.lengths),
        tuple(layers),
        (first.environment, last.environment),
        resistances,
        uniform,
        iso_10211.cut_off_distance(sum(layer.thickness for layer in layers)),
        element.symmetric,
        element.within,
    )


def _plane(section: Section, run: _Run, normal: FloatArray) -> list[Layer]:
    """Plane layers, from the first surface to the second."""
    layers = []
    for region, thickness in zip(run.regions, run.thickness, strict=True):
        conductivity = _through(section, region, normal)
        metres = thickness / MICROMETRES
        layers.append(Layer(section.regions[region].name, metres, conductivity, metres / conductivity))
    return layers


def _round(
    section: Section, run: _Run, cut: tuple[FloatArray, FloatArray], surfaces: tuple[float, float]
) -> tuple[list[Layer], tuple[float, float]]:
    """Cylindrical layers about the axis and both surface resistances, per area of the outermost cylinder."""
    start, end = (float(point[0]) / MICROMETRES for point in cut)
    reference, sense = max(start, end), 1.0 if end > start else -1.0
    layers, at = [], start
    for region, thickness in zip(run.regions, run.thickness, strict=True):
        conductivity = _through(section, region, np.array([1.0, 0.0]))
        metres = thickness / MICROMETRES
        beyond = at + sense * metres
        inner, outer = min(at, beyond), max(at, beyond)
        resistance = iso_12241.cylindrical_resistance(inner, outer, conductivity, reference)
        layers.append(Layer(section.regions[region].name, metres, conductivity, resistance))
        at = beyond
    first, last = (
        iso_12241.cylindrical_surface_resistance(r, radius, reference)
        for r, radius in zip(surfaces, (start, end), strict=True)
    )
    return layers, (first, last)


def _through(section: Section, region: int, normal: FloatArray) -> float:
    """Conductivity at right angles to the layer."""
    item = section.regions[region]
    along = item.material.conductivity_along
    if along is None or item.grain_direction is None:
        return item.material.conductivity
    angle = np.deg2rad(item.grain_direction)
    share = float(normal @ np.array([np.cos(angle), np.sin(angle)])) ** 2
    return item.material.conductivity + (along - item.material.conductivity) * share


@lru_cache(maxsize=256)
def _run(outlines: _Outlines, cut: Line, number: int) -> _Run:
    """The layers of a cut plane on the outline or inside the section; the same for all materials of a shape.

    Raises:
        SectionError: as `flanking_result` does.
    """
    edges = _edges(outlines.rings)
    start, end = whole(cut).astype(np.float64)
    item = ("flanking", number)
    if np.hypot(*(end - start)) < SNAP:
        raise SectionError("the cut plane has no length; give its two ends on two surfaces", item)
    normal = (end - start) / np.hypot(*(end - start))
    side = np.array([-normal[1], normal[0]]) * OFFSET
    surfaces = (_surface_at(outlines, start, normal, item), _surface_at(outlines, end, normal, item))
    runs = [_crossed(edges, start + o, end + o) for o in (side, -side)]
    inside = [run for run in runs if any(region != VOID for region in run[0])]
    if not inside:
        raise SectionError("the cut plane does not run through the section", item)
    for regions, thickness in inside:
        if VOID in regions:
            at = start + normal * sum(thickness[: regions.index(VOID)])
            raise SectionError(f"the cut plane leaves the section at {place(at)}; it must run through its layers", item)
    if len(inside) == 2 and inside[0][0] != inside[1][0]:
        raise SectionError("the cut plane runs along the boundary of two regions; move it to one side", item)
    _refuse_oblique(edges, start + side, start - side, end, normal, item)
    return _Run(inside[0][0], inside[0][1], surfaces)


def _crossed(edges: _Edges, start: FloatArray, end: FloatArray) -> tuple[tuple[int, ...], tuple[float, ...]]:
    """Regions on the way from start to end, with the length in each."""
    along = end - start
    length = float(np.hypot(*along))
    stops = np.unique(np.concatenate([[0.0, 1.0], _crossings(edges, start, along)]))
    stops = stops[np.concatenate([[True], np.diff(stops) * length > 0.5])]
    stops[-1] = 1.0
    owner = _owners(edges, start + 0.5 * (stops[1:] + stops[:-1])[:, None] * along)
    steps = np.diff(stops) * length
    regions: list[int] = []
    thickness: list[float] = []
    for region, step in zip(owner.tolist(), steps.tolist(), strict=True):
        if regions and regions[-1] == region:
            thickness[-1] += step
        else:
            regions.append(region)
            thickness.append(step)
    # Beside an oblique cut plane the shifted line may miss the section by the shift at its ends.
    for last in (0, -1):
        if len(regions) > 1 and regions[last] == VOID and thickness[last] <= SNAP:
            del regions[last], thickness[last]
    return tuple(regions), tuple(np.rint(thickness).tolist())


def _crossings(edges: _Edges, start: FloatArray, along: FloatArray) -> FloatArray:
    """Where, in shares of the way, edges cross the line."""
    edge = edges.end - edges.start
    determinant = along[0] * edge[:, 1] - along[1] * edge[:, 0]
    open_ = determinant != 0
    relative = edges.start[open_] - start
    edge, determinant = edge[open_], determinant[open_]
    on_line = (relative[:, 0] * edge[:, 1] - relative[:, 1] * edge[:, 0]) / determinant
    on_edge = (relative[:, 0] * along[1] - relative[:, 1] * along[0]) / determinant
    met = (on_edge >= 0) & (on_edge <= 1) & (on_line > 0) & (on_line < 1)
    return np.asarray(on_line[met])


def _refuse_oblique(
    edges: _Edges, left: FloatArray, right: FloatArray, end: FloatArray, normal: FloatArray, item: tuple[str, int]
) -> None:
    """A cut plane must cross its layers at right angles."""
    middle = 0.5 * (left + right)
    along = end - middle
    edge = edges.end - edges.start
    length = np.hypot(edge[:, 0], edge[:, 1])
    relative = edges.start - middle
    determinant = along[0] * edge[:, 1] - along[1] * edge[:, 0]
    safe = np.where(determinant == 0, 1.0, determinant)
    on_edge = (relative[:, 0] * along[1] - relative[:, 1] * along[0]) / safe
    on_line = (relative[:, 0] * edge[:, 1] - relative[:, 1] * edge[:, 0]) / safe
    oblique = (determinant != 0) & (np.abs(edge @ normal) > SQUARE * length)
    crossed = (on_edge > 1e-9) & (on_edge < 1 - 1e-9) & (on_line > 1e-9) & (on_line < 1 - 1e-9)
    if (oblique & crossed).any():
        at = middle + on_line[oblique & crossed][0] * along
        raise SectionError(f"the cut plane does not cross the layer at {place(at)} at a right angle", item)


@lru_cache(maxsize=32)
def _sides(lines: tuple[Line, ...]) -> tuple[FloatArray, FloatArray, Whole]:
    """Start and end of every side of the surfaces' edges [µm], and the surface it belongs to."""
    points = whole([point for line in lines for point in line]).astype(np.float64)
    owner = np.repeat(np.arange(len(lines)), [len(line) for line in lines])
    side = (owner[1:] == owner[:-1]) & (points[1:] != points[:-1]).any(axis=1)
    return points[:-1][side], points[1:][side], owner[1:][side].astype(np.int64)


def _surface_at(outlines: _Outlines, point: FloatArray, normal: FloatArray, item: tuple[str, int]) -> int:
    """The surface on which a cut plane ends."""
    start, end, owner = _sides(outlines.lines)
    along, apart = end - start, point - start
    length = np.hypot(along[:, 0], along[:, 1])
    s = (apart * along).sum(axis=1) / length
    off = np.abs(along[:, 0] * apart[:, 1] - along[:, 1] * apart[:, 0]) / length
    here = np.flatnonzero((s >= -SNAP) & (s <= length + SNAP) & (off <= SNAP))
    if not here.size:
        raise SectionError(
            f"the cut plane's end {place(point)} does not lie on a surface; both must lie on an environment's edge",
            item,
        )
    return int(owner[here[np.argmin(np.abs(along[here] @ normal) / length[here])]])


@lru_cache(maxsize=256)
def _uniform_length(outlines: _Outlines, cut: Line, run: _Run) -> float:
    """How far the layers of a cut plane run undisturbed into the section [m]; the same for all materials of a shape."""
    edges = _edges(outlines.rings)
    start, end = whole(cut).astype(np.float64)
    normal = (end - start) / np.hypot(*(end - start))
    tangent = np.array([-normal[1], normal[0]])
    corners = np.concatenate([edges.start, *[whole(edge).astype(np.float64) for edge in outlines.lines]])
    ahead = (corners - start) @ tangent
    lengths = []
    for sense in (1.0, -1.0):
        stops = np.unique(np.rint(ahead * sense))
        stops = np.concatenate([[0.0], stops[stops > OFFSET]])
        middle = 0.5 * (stops[1:] + stops[:-1])
        reached = 0.0
        for stop, beside in zip(stops[1:].tolist(), middle.tolist(), strict=True):
            if not _same_layers(outlines, edges, start, end, tangent * sense * beside, run):
                break
            reached = stop
        if reached > 0:
            lengths.append(reached / 1e6)
    return min(lengths, default=0.0)


def _same_layers(
    outlines: _Outlines, edges: _Edges, start: FloatArray, end: FloatArray, shift: FloatArray, run: _Run
) -> bool:
    regions, thickness = _crossed(edges, start + shift, end + shift)
    if VOID in regions:
        return False
    normal = (end - start) / np.hypot(*(end - start))
    try:
        surfaces = tuple(_surface_at(outlines, p + shift, normal, ("flanking", 0)) for p in (start, end))
    except SectionError:
        return False
    return run.same(_Run(regions, thickness, (surfaces[0], surfaces[1])))
