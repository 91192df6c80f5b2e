"""A window's frame given by its polygons: checked as a whole, and its outline between the surround and the glazing.

Part of reading the parameters of a window box: **[[parameters.frame]] blocks** -> outline of the frame. Its own
coordinates: x runs from the outer edge of the frame toward the glazing, y from the outside face to the inside face.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from bridge2d.detail import Point
from bridge2d.errors import QuantityError
from bridge2d.junctions.free_section import RegionBlock
from bridge2d.junctions.material_choice import MaterialChoice
from bridge2d.materials import Material
from bridge2d.standards import iso_10077_2

if TYPE_CHECKING:
    import shapely

MOST_BLOCKS = 200
"""Most regions of one frame."""
BEYOND = 0.01
"""Length of glazing with which the outline is looked for [m]."""
SLACK = 2e-12
"""Areas smaller than this are none [m²]."""
MICROMETRES = 1e6


@dataclass(frozen=True)
class FrameShape:
    """A frame that is given by its polygons, in its own coordinates.

    Attributes:
        blocks: its regions; a later one lies within earlier ones or beside them.
        width: visible width, up to the glazing [m].
        depth: from the outermost to the innermost face [m].
        edge: depth of the outer edge, which the surround meets [m].
        outside: from the outer edge's corner at (0, 0) to the glazing's outer face [m].
        inside: from the outer edge's corner at (0, edge) to the glazing's inner face [m].
    """

    blocks: tuple[RegionBlock, ...]
    width: float
    depth: float
    edge: float
    outside: tuple[Point, ...]
    inside: tuple[Point, ...]


def panel() -> MaterialChoice:
    """The insulation panel that stands in place of the glazing where U_f is computed."""
    material = Material(
        "panel in place of the glazing",
        iso_10077_2.PANEL_CONDUCTIVITY,
        hatch="insulation",
        source="ISO 10077-2:2012, annex C (remembered)",
    )
    return MaterialChoice(material)


def size(blocks: tuple[RegionBlock, ...]) -> tuple[float, float]:
    """Visible width and depth of the box round the polygons [m].

    Args:
        blocks: the frame's regions, at least one.
    """
    corners = [point for block in blocks for point in block.polygon]
    return max(x for x, _ in corners), max(y for _, y in corners)


def frame_shape(blocks: tuple[RegionBlock, ...], pane: tuple[float, float], rebate: float) -> FrameShape:
    """The frame's outline, or what is wrong with its polygons.

    Args:
        blocks: the frame's regions, at least one.
        pane: y of the glazing's outer and inner face [m].
        rebate: how far the glazing reaches into the frame [m].

    Raises:
        QuantityError: they overlap, leave their box, a void or a gap to the glazing; its path names the block.
    """
    import shapely

    width, depth = size(blocks)
    _refuse_stray_blocks(blocks)
    filled = _joined(blocks)
    last = ("frame", len(blocks) - 1, "polygon")
    glazing = shapely.box(*(round(MICROMETRES * v) for v in (width - rebate, pane[0], width + BEYOND, pane[1])))
    whole = shapely.union(filled, glazing, grid_size=1.0)
    if whole.geom_type != "Polygon":
        part = min(shapely.get_parts(whole), key=lambda one: one.area)
        message = f"leaves a gap: the part round {_place(part)} touches neither the rest of the frame nor the glazing"
        right = "let the polygons touch along edges; the glazing begins glazing_rebate before the frame's end"
        raise QuantityError(message, right, _block_at(blocks, part) or last)
    if whole.interiors:
        hole = shapely.Polygon(whole.interiors[0])
        right = 'draw it as a region of its own, such as cavity = "unventilated"'
        raise QuantityError(f"leaves a void round {_place(hole)}", right, last)
    ring = [(round(x), round(y)) for x, y in whole.exterior.normalize().coords[:-1]]
    if whole.exterior.normalize().is_ccw:
        ring.reverse()
    corners = [(0, 0), *((round(MICROMETRES * width), round(MICROMETRES * y)) for y in pane)]
    names = ("the outer edge's corner (0, 0)", "the glazing's outer face", "the glazing's inner face")
    for corner, name in zip(corners, names, strict=True):
        if corner not in ring:
            x, y = (f"{v / 1000:g}" for v in corner)
            message = f"leaves a gap: the frame has no corner at ({x}, {y}) mm, {name}"
            right = "let it reach the glazing on both faces, and begin at (0, 0)"
            raise QuantityError(message, right, last)
    outside, inside = _faces(ring, corners)
    if inside[0][0] != 0 or inside[0][1] <= 0:
        right = "give it a straight outer edge at x = 0, from (0, 0) up to its inner face"
        raise QuantityError("has no outer edge that the surround could meet", right, ("frame", 0, "polygon"))
    edge = inside[0][1] / MICROMETRES
    return FrameShape(blocks, width, depth, edge, _metres(outside), _metres(inside))


def _metres(points: list[tuple[int, int]]) -> tuple[Point, ...]:
    """A face in metres, without points at which it does not turn."""
    kept = points[:1]
    for point, (x, y) in pairwise(points[1:]):
        (a, b), (c, d) = kept[-1], point
        if (c - a) * (y - d) != (d - b) * (x - c):
            kept.append(point)
    return tuple((x / MICROMETRES, y / MICROMETRES) for x, y in [*kept, points[-1]])


def _faces(
    ring: list[tuple[int, int]], corners: list[tuple[int, int]]
) -> tuple[list[tuple[int, int]], list[tuple[int, int]]]:
    """The outer and the inner face, both from the outer edge to the glazing; the ring runs clockwise (y upward)."""
    start, outer, inner = (ring.index(corner) for corner in corners)
    turned = ring[start:] + ring[:start]
    to_inner, to_outer = (inner - start) % len(ring), (outer - start) % len(ring)
    up = turned[: to_inner + 1]
    # Up the straight outer edge to its last corner at x = 0.
    first = 0
    while first + 1 < len(up) and up[first + 1][0] == 0 and up[first + 1][1] > up[first][1]:
        first += 1
    return [turned[0], *turned[: to_outer - 1 : -1]], up[first:]


def _refuse_stray_blocks(blocks: tuple[RegionBlock, ...]) -> None:
    for number, block in enumerate(blocks):
        path = ("frame", number, "polygon")
        low = min(min(x, y) for x, y in block.polygon)
        if low < 0:
            right = "x runs from the frame's outer edge toward the glazing, y from its outside to its inside face"
            raise QuantityError("reaches outside the frame's box: a coordinate is negative", right, path)
        if block.grain_direction is not None:
            right = "give one conductivity; a frame's timber runs across the section"
            raise QuantityError("a frame has no grain_direction", right, ("frame", number, "grain_direction"))
        if block.cavity == "air layer":
            right = 'write cavity = "unventilated" or "slightly ventilated"'
            raise QuantityError("a frame has no air layers of walls", right, ("frame", number, "cavity"))
        if block.cavity is None and block.name in [b.name for b in blocks[:number] if b.cavity is not None]:
            right = "give the cavity another name"
            raise QuantityError(f"{block.name!r} is a cavity's name too", right, ("frame", number, "name"))
    for axis, name in ((0, "x"), (1, "y")):
        if min(point[axis] for block in blocks for point in block.polygon) > 0:
            right = "its corner at (0, 0) is the outer edge's at the outside face"
            raise QuantityError(f"the frame does not begin at {name} = 0", right, ("frame", 0, "polygon"))


def _joined(blocks: tuple[RegionBlock, ...]) -> shapely.Geometry:
    """All blocks together [µm]; a block that lies across the edge of earlier ones is refused."""
    import shapely

    filled: shapely.Geometry = shapely.Polygon()
    for number, block in enumerate(blocks):
        rings = [
            [(round(MICROMETRES * x), round(MICROMETRES * y)) for x, y in r] for r in (block.polygon, *block.holes)
        ]
        shape = shapely.Polygon(rings[0], rings[1:])
        shared = shapely.intersection(shape, filled, grid_size=1.0).area / MICROMETRES**2
        if SLACK < shared < shape.area / MICROMETRES**2 - SLACK:
            place = _place(shapely.intersection(shape, filled, grid_size=1.0))
            right = "let it lie wholly within earlier polygons, which it then replaces there, or beside them"
            raise QuantityError(f"overlaps an earlier polygon at {place}", right, ("frame", number, "polygon"))
        filled = shapely.union(filled, shape, grid_size=1.0)
    return filled


def _place(shape: shapely.Geometry) -> str:
    point = shape.point_on_surface()
    return f"({point.x / 1000:.1f}, {point.y / 1000:.1f}) mm"


def _block_at(blocks: tuple[RegionBlock, ...], part: shapely.Geometry) -> tuple[str | int, ...] | None:
    """The way to the first block that lies in a part; None where the part is the glazing."""
    import shapely

    for number, block in enumerate(blocks):
        if shapely.Polygon([(MICROMETRES * x, MICROMETRES * y) for x, y in block.polygon]).intersects(part):
            return "frame", number, "polygon"
    return None
