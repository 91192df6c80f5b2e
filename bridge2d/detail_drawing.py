"""Regions of a free section that come from its drawing; part of reading a detail file.

detail file with [drawing] -> shapes by layer -> rings -> **regions before those of the file**.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from bridge2d.detail import Detail, Point
from bridge2d.detail_findings import explained, findings
from bridge2d.detail_text import Source
from bridge2d.dxf.rings import Ring, closed_rings, corners, place
from bridge2d.errors import InputError, SectionError
from bridge2d.files_beside import Kind, bytes_beside
from bridge2d.junctions.drawing_block import DrawingBlock
from bridge2d.junctions.free_section import MOST_REGIONS, FreeSection, RegionBlock
from bridge2d.junctions.quantities import units_context
from bridge2d.outlines import FARTHEST, MOST_POINTS
from bridge2d.units import SI

LARGEST_DRAWING = 20_000_000
"""A drawing of more bytes is refused."""
DRAWING = Kind("drawing", "nib.dxf", LARGEST_DRAWING)
"""What a drawing is, as a file beside the detail file."""
SQUARE = [[0, 0], [100, 0], [100, 100], [0, 100]]
"""Stands in for the outline while a layer's keys are checked before the drawing is opened."""


@dataclass(frozen=True)
class Drawn:
    """What a detail took from a drawing.

    Attributes:
        name: the drawing as the detail file names it.
        file: its path, for messages.
        data: its bytes.
        rings: outlines of the first regions of the section, one each [mm of the drawing].
        origin: the point of the drawing at which the section's coordinates begin [mm].
        notes: how the drawing was read: units, layers left out, overlaps.
    """

    name: str
    file: str
    data: bytes
    rings: tuple[Ring, ...]
    origin: Point
    notes: tuple[str, ...]

    def extent(self) -> str:
        """How large its outlines are, in a sentence: a wrong unit shows there."""
        boxes = [ring.outline.bounds for ring in self.rings]
        width = max(box[2] for box in boxes) - min(box[0] for box in boxes)
        height = max(box[3] for box in boxes) - min(box[1] for box in boxes)
        unit = next((note for note in self.notes if "unit" in note), "check its unit where that is not so")
        return f"the drawing's outlines span {width:.6g} mm by {height:.6g} mm; {unit}"

    def located(self, error: SectionError) -> InputError | None:
        """The message for a region that came from the drawing; None where another part is at fault."""
        number = error.item[1] if len(error.item) == 2 else len(self.rings)
        if error.item[0] != "region" or number >= len(self.rings):
            return None
        ring = self.rings[number]
        message, _, right = error.message.partition("; ")
        where = f"the outline round {place(ring.outline.point_on_surface().coords[0])} of the drawing"
        return InputError(f"{where} {message}", file=self.file, key=f"layer {ring.layer!r}", right=right)


def with_drawing(
    parameters: FreeSection, block: DrawingBlock, source: Source, attached: Mapping[str, bytes] | None = None
) -> tuple[FreeSection, Drawn]:
    """The blocks of a free section with the regions that its drawing brings, and what was taken from it.

    Args:
        parameters: the blocks of the file.
        block: its [drawing].
        source: the file.
        attached: drawings at hand by the name that the file gives them; None reads from the file's folder.

    Raises:
        InputError: a layer's keys are wrong, or the drawing is missing, unreadable or not closed.
    """
    for layer in block.layers:
        _region(block, layer, SQUARE, [], source)
    file, data = bytes_beside(block.file, DRAWING, ("drawing", "file"), source, attached)
    from bridge2d.dxf.findings import overlaps
    from bridge2d.dxf.reading import read_shapes

    contents = read_shapes(data, file, tuple(block.layers))
    _refuse_missing(block, contents.layers, source, file)
    rings = closed_rings(contents.shapes, file)
    named = {name.casefold(): name for name in block.layers}
    _refuse_missing(block, tuple(ring.layer for ring in rings), source, file, "a closed outline on the layer")
    _refuse_too_many(rings, parameters, file)
    regions = tuple(_drawn_region(block, named[ring.layer.casefold()], ring, source, file) for ring in rings)
    unnamed = [layer for layer in contents.layers if layer.casefold() not in named]
    ignored = (f"layers of the drawing that were left out: {', '.join(map(repr, unnamed))}",) if unnamed else ()
    notes = (*contents.notes, *ignored, *overlaps(rings))
    drawn = Drawn(block.file, file, data, rings, block.origin, notes)
    return parameters.model_copy(update={"drawing": None, "region": (*regions, *parameters.region)}), drawn


def drawing_notes(detail: Detail, drawn: Drawn) -> tuple[str, ...]:
    """What is to be said of the drawing, gaps between all regions included.

    Args:
        detail: the free section with the drawing's regions.
        drawn: what was taken from it.
    """
    from bridge2d.dxf.findings import gaps

    return (*drawn.notes, *gaps(detail.sections[0], drawn.origin))


# -- regions -------------------------------------------------------------------------------------------------------


def _region(block: DrawingBlock, layer: str, polygon: Any, holes: Any, source: Source) -> RegionBlock:
    """The block that a ring of a layer would be in the file."""
    system = source.units.system
    if system != SI:  # the drawing's millimetres are no bare numbers of such a file
        polygon, holes = _in_millimetres(polygon), [_in_millimetres(hole) for hole in holes]
    keys = {"name": layer, **block.layers[layer], "polygon": polygon, "holes": holes}
    try:
        return RegionBlock.model_validate(keys, context=units_context(system))
    except ValidationError as error:
        raise explained(findings(error)[0], RegionBlock, ("drawing", "layers", layer), source) from None


def _in_millimetres(points: Any) -> list[list[str]]:
    """Points with their unit."""
    return [[f"{float(x)!r} mm", f"{float(y)!r} mm"] for x, y in points]


def _drawn_region(block: DrawingBlock, layer: str, ring: Ring, source: Source, file: str) -> RegionBlock:
    x, y = block.origin
    rings = [corners(one) for one in (ring.outline.exterior, *ring.outline.interiors)]
    for corner in (point for one in rings for point in one):
        if abs(corner[0] - x) > 1000.0 * FARTHEST or abs(corner[1] - y) > 1000.0 * FARTHEST:
            message = f"the corner {place(corner)} lies more than {FARTHEST:g} m from the section's origin"
            right = f"add origin = [{corner[0]:.0f}, {corner[1]:.0f}] to [drawing], or check the drawing's unit"
            raise InputError(message, file=file, key=f"layer {ring.layer!r}", right=right)
    polygon, *holes = [[[px - x, py - y] for px, py in one] for one in rings]
    try:
        return _region(block, layer, polygon, holes, source)
    except InputError as error:
        where = f"the outline round {place(ring.outline.point_on_surface().coords[0])} of the drawing"
        raise InputError(
            f"{where}: {error.message}", file=file, key=f"layer {ring.layer!r}", right=error.right
        ) from None


def _refuse_missing(
    block: DrawingBlock, there: tuple[str, ...], source: Source, file: str, what: str = "the layer"
) -> None:
    known = {layer.casefold() for layer in there}
    for layer in block.layers:
        if layer.casefold() not in known:
            listed = ", ".join(repr(name) for name in dict.fromkeys(there)) or "nothing"
            path = ("drawing", "layers", layer)
            raise source.error(path, f"{Path(file).name} does not hold {what} {layer!r}", f"it holds {listed[:300]}")


def _refuse_too_many(rings: tuple[Ring, ...], parameters: FreeSection, file: str) -> None:
    regions = len(rings) + len(parameters.region)
    if regions > MOST_REGIONS:
        right = f"a detail may have at most {MOST_REGIONS}"
        raise InputError(f"the drawing brings the detail to {regions} regions", file=file, right=right)
    points = sum(len(one.coords) for ring in rings for one in (ring.outline.exterior, *ring.outline.interiors))
    if points > MOST_POINTS:
        right = f"a detail may have at most {MOST_POINTS}; keep only the section that is to be computed"
        raise InputError(f"the drawing's outlines have {points} corners, curves divided", file=file, right=right)
