"""A section's shapes as they are drawn: the whole of a mirrored one, outlines per material, and the window shown.

All lengths are still those of the section, in metres.
"""

from __future__ import annotations

from itertools import pairwise
from typing import NamedTuple

import numpy as np

from bridge2d.detail import Point, Section, Surface
from bridge2d.drawing.lines import FloatArray, IntArray, Line, chain_sides, directed_border, thinned
from bridge2d.drawing.shown_materials import shown_material
from bridge2d.materials import Material
from bridge2d.results import Fields, SectionResult

NEAR = 1e-6
"""Points nearer than this are the same [m]; meshes are snapped to it."""
LEAST_MARGIN, GREATEST_MARGIN = 0.10, 0.30
"""What is shown of uniform flanking parts beyond the junction itself [m]."""
WORTH_CUTTING = 0.2
"""A part is left out only where it is more than this share of the section."""

Box = tuple[float, float, float, float]
"""Left, bottom, right and top."""


class Piece(NamedTuple):
    """All of one shown material, with its grain in one direction [deg]; rings around it to the left [m]."""

    material: Material
    grain: float | None
    names: tuple[str, ...]
    rings: tuple[Line, ...]


class Face(NamedTuple):
    """A surface with its lines, both halves of a mirrored section [m]."""

    surface: Surface
    lines: tuple[FloatArray, ...]


class SectionGeometry(NamedTuple):
    """What the drawings show of a section.

    Attributes:
        section: the section.
        points, triangles, nodes: the whole mesh (quadratic triangles) and, for each of its nodes, the number of the
            node of the results that it takes its values from.
        pieces: its materials.
        outline: rings around the section.
        cut_off: adiabatic sides of the outline, shape (n, 2, 2).
        faces: its surfaces.
        box: around the whole section.
        window: the part that is worth drawing.
    """

    section: Section
    points: FloatArray
    triangles: IntArray
    nodes: IntArray
    pieces: tuple[Piece, ...]
    outline: tuple[Line, ...]
    cut_off: FloatArray
    faces: tuple[Face, ...]
    box: Box
    window: Box

    @property
    def cropped(self) -> bool:
        """Whether the window leaves something out."""
        return any(abs(a - b) > NEAR for a, b in zip(self.box, self.window, strict=True))


def section_geometry(result: SectionResult) -> SectionGeometry:
    """The shapes of a section.

    Args:
        result: the section with its last mesh.
    """
    section, fields = result.section, result.fields
    points, triangles, region, nodes, reflected = _whole(fields, section.half)
    faces = tuple(Face(s, _both(np.array(s.edge, dtype=float), section.half)) for s in section.surfaces)
    keys: dict[tuple[Material, float | None], list[str]] = {}
    group_of = np.zeros((2, len(section.regions)), dtype=np.int64)
    for number, item in enumerate(section.regions):
        material = shown_material(item)
        for side in (0, 1):
            grain = item.grain_direction
            if grain is not None:
                grain = round((180.0 - grain if side else grain) % 180.0, 3)
            names = keys.setdefault((material, grain), [])
            group_of[side, number] = list(keys).index((material, grain))
            if item.name not in names:
                names.append(item.name)
    rings, group = _rings(triangles, group_of[reflected, region], points)
    pieces = tuple(
        Piece(material, grain, tuple(names), tuple(r for r, g in zip(rings, group, strict=True) if g == number))
        for number, ((material, grain), names) in enumerate(keys.items())
    )
    pieces = tuple(piece for piece in pieces if piece.rings)
    sides, _ = directed_border(triangles[:, :3], np.zeros(len(triangles), dtype=np.int64), len(points))
    outline, _ = _rings(triangles, np.zeros(len(triangles), dtype=np.int64), points)
    cut_off = _cut_off(points[sides], faces)
    low, high = points.min(axis=0).tolist(), points.max(axis=0).tolist()
    box: Box = (low[0], low[1], high[0], high[1])
    window = _window(np.concatenate(rings), cut_off, box)
    return SectionGeometry(section, points, triangles, nodes, pieces, tuple(outline), cut_off, faces, box, window)


def both_halves(points: tuple[Point, ...], mirrored: bool) -> tuple[FloatArray, ...]:
    """A line [m], and its reflection where the section is mirrored; one line where both join on the axis."""
    return _both(np.array(points, dtype=float).reshape(-1, 2), mirrored)


def _both(line: FloatArray, mirrored: bool) -> tuple[FloatArray, ...]:
    if not mirrored or bool(np.all(np.abs(line[:, 0]) < NEAR)):
        return (line,)
    reflected = line * (-1.0, 1.0)
    if abs(line[-1, 0]) < NEAR:
        return (np.concatenate([line, reflected[-2::-1]]),)
    if abs(line[0, 0]) < NEAR:
        return (np.concatenate([reflected[:0:-1], line]),)
    return (line, reflected)


def _whole(fields: Fields, mirrored: bool) -> tuple[FloatArray, IntArray, IntArray, IntArray, IntArray]:
    """Points, triangles, regions, source nodes, and whether each triangle is a reflected one."""
    points, triangles = fields.points, fields.triangles
    same = np.arange(len(points))
    if not mirrored:
        return points, triangles, fields.region, same, np.zeros(len(triangles), dtype=np.int64)
    off_axis = np.abs(points[:, 0]) > NEAR
    twin = np.where(off_axis, len(points) + np.cumsum(off_axis) - 1, same)
    reflected = twin[triangles][:, [0, 2, 1, 5, 4, 3]]
    return (
        np.concatenate([points, points[off_axis] * (-1.0, 1.0)]),
        np.concatenate([triangles, reflected]),
        np.tile(fields.region, 2),
        np.concatenate([same, same[off_axis]]),
        np.repeat([0, 1], len(triangles)),
    )


def _rings(triangles: IntArray, group: IntArray, points: FloatArray) -> tuple[list[Line], list[int]]:
    sides, owner = directed_border(triangles[:, :3], group, len(points))
    chains = chain_sides(sides, owner)
    return thinned([points[nodes] for nodes, _ in chains], closed=True), [number for _, number in chains]


def _cut_off(sides: FloatArray, faces: tuple[Face, ...]) -> FloatArray:
    """The sides of the outline of which the middle lies on no surface."""
    middle = sides.mean(axis=1)
    free = np.ones(len(sides), dtype=bool)
    for face in faces:
        for line in face.lines:
            for start, end in pairwise(line):
                free &= distance_to(middle, start, end) > NEAR
    return sides[free]


def distance_to(points: FloatArray, start: FloatArray, end: FloatArray) -> FloatArray:
    """Distances of points, shape (n, 2), from a straight piece between two points; shape (n,)."""
    dx, dy = points[:, 0] - start[0], points[:, 1] - start[1]
    along_x, along_y = (end - start).tolist()
    share = np.clip((along_x * dx + along_y * dy) / max(along_x**2 + along_y**2, 1e-30), 0.0, 1.0)
    dx -= along_x * share
    dy -= along_y * share
    distance: FloatArray = np.sqrt(dx * dx + dy * dy)
    return distance


def _window(corners: FloatArray, cut_off: FloatArray, box: Box) -> Box:
    """Around all corners of materials, but for where layers merely run into a cut-off plane."""
    counts = np.ones((len(corners), 2), dtype=bool)
    lowest, highest = cut_off.min(axis=1), cut_off.max(axis=1)
    for axis in (0, 1):
        across = highest[:, axis] - lowest[:, axis] < NEAR
        for low, high in zip(lowest[across], highest[across], strict=True):
            counts[:, axis] &= ~np.all((corners > low - NEAR) & (corners < high + NEAR), axis=1)
    limits = []
    for axis in (0, 1):
        kept = corners[counts[:, axis], axis]
        limits.append((kept.min(), kept.max()) if len(kept) else None)
    sizes = [limit[1] - limit[0] for limit in limits if limit is not None]
    margin = min(max(0.35 * max(sizes, default=0.0), LEAST_MARGIN), GREATEST_MARGIN)
    shown = []
    for axis, limit in enumerate(limits):
        low, high = box[axis], box[axis + 2]
        if limit is None:  # nothing but uniform layers in this direction: a piece as long as they are thick
            half = max([0.5 * size for size in sizes] + [2 * LEAST_MARGIN])
            shown.append(_cut(low, high, 0.5 * (low + high) - half, 0.5 * (low + high) + half))
        else:
            shown.append(_cut(low, high, float(limit[0]) - margin, float(limit[1]) + margin))
    return shown[0][0], shown[1][0], shown[0][1], shown[1][1]


def _cut(low: float, high: float, wanted_low: float, wanted_high: float) -> tuple[float, float]:
    worth = WORTH_CUTTING * (high - low)
    return (
        wanted_low if wanted_low - low > worth else low,
        wanted_high if high - wanted_high > worth else high,
    )
