"""Opens a drawing, resolves its blocks and flattens its entities; first step from a drawing to regions.

A DXF file is read by ezdxf, which also mends small faults of structure; curves become polygons whose chords lie no
farther than `CHORD` from them.
"""

from __future__ import annotations

import copy
import logging
import math
import struct
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from io import BytesIO
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from bridge2d.dxf.blocks import refuse_too_many
from bridge2d.errors import InputError

if TYPE_CHECKING:
    from ezdxf.document import Drawing
    from ezdxf.entities.dxfentity import DXFEntity
    from ezdxf.entities.dxfgfx import DXFGraphic
    from ezdxf.entities.insert import Insert
    from ezdxf.path import Path

CHORD = 0.05
"""Greatest distance of a curve from the chords that stand for it [mm]."""
MOST_TOLD = 3
"""So many faults are told, the rest counted."""
LAYER_CODE = 8
"""Group code of a layer's name in a DXF file."""
CLOSED = 0.01
"""Ends nearer than this are joined [mm]."""
FARTHEST = 1e9
"""No coordinate of a drawing is beyond this [mm]; grids of national surveys lie within."""
MOST_POINTS = 200_000
"""Most corners of a drawing's flattened entities."""
ARC_PIECES = 16
"""Least number of cubic curves for an arc; a sixteenth of a circle then is exact to 7e-8 of its radius."""

FloatArray = NDArray[np.float64]
READABLE = "save the drawing as DXF in text form (ASCII), release 2000 or later"
_FAULTS = (ValueError, LookupError, AttributeError, TypeError, ArithmeticError, RecursionError, AssertionError)


class Shape(NamedTuple):
    """One flattened path of a drawing.

    Attributes:
        layer: its layer, as the drawing writes it.
        order: number of its entity in the order of drawing.
        points: its corners, the first not repeated where it is closed; shape (n, 2) [mm].
        curved: for each piece from a point to the next one, whether it stands for a curve; shape (n,) where closed,
            else (n − 1,).
        closed: whether it is a ring.
        hatch: style of the hatch that it bounds ("nested", "outer", "ignore"); empty where it bounds none.
    """

    layer: str
    order: int
    points: FloatArray
    curved: NDArray[np.bool_]
    closed: bool
    hatch: str = ""


class Contents(NamedTuple):
    """What a drawing holds on the layers that were asked for.

    Attributes:
        shapes: its flattened paths, in the order of drawing.
        layers: every layer on which something is drawn, as the drawing writes them.
        notes: sentences on how it was read.
    """

    shapes: tuple[Shape, ...]
    layers: tuple[str, ...]
    notes: tuple[str, ...]


def read_shapes(data: bytes, file: str, layers: Sequence[str]) -> Contents:
    """The shapes on some layers of a drawing.

    Args:
        data: the bytes of the DXF file.
        file: its name, for messages.
        layers: names of layers, upper or lower case.

    Raises:
        InputError: it is no DXF in text form, is damaged or too large, or a coordinate is out of reach.
    """
    document, notes = _opened(data, file)
    scale, unit_notes = _millimetres(document)
    wanted = {name.casefold() for name in layers}
    found: list[Shape] = []
    corners = 0
    seen: dict[str, None] = {}
    left: Counter[tuple[str, str]] = Counter()
    for order, entity in enumerate(_resolved(document.modelspace(), "", left)):
        layer = _layer(entity)
        seen[layer] = None
        if layer.casefold() not in wanted:
            continue
        try:
            shapes = _shapes(entity, order, scale)
        except _FAULTS as error:
            message = f"the {entity.dxftype()} cannot be read: {str(error)[:90] or type(error).__name__}"
            raise InputError(message, file=file, key=f"layer {layer!r}", right="draw it anew") from None
        if shapes is None:
            left[layer, entity.dxftype()] += 1
            continue
        found += shapes
        corners += sum(len(shape.points) for shape in shapes)
        if corners > MOST_POINTS:
            right = f"keep only what is to be computed; at most {MOST_POINTS} are read"
            raise InputError("the drawing's outlines have too many corners", file=file, right=right)
    return Contents(tuple(found), tuple(seen), (*unit_notes, *notes, *_left_out(left, wanted)))


# -- the file ------------------------------------------------------------------------------------------------------


def _opened(data: bytes, file: str) -> tuple[Drawing, list[str]]:
    """The drawing, and what had to be mended in its structure."""
    _refuse_other_kinds(data, file)
    refuse_too_many(data, file)
    from ezdxf import recover
    from ezdxf.lldxf.const import DXFError

    logger = logging.getLogger("ezdxf")
    if not any(isinstance(one, logging.NullHandler) for one in logger.handlers):
        logger.addHandler(logging.NullHandler())  # its remarks on the file are not for the screen
    try:
        document, auditor = recover.read(BytesIO(data))
    except (DXFError, struct.error, *_FAULTS, OSError) as error:
        message = f"this is no DXF that can be read: {str(error)[:100] or type(error).__name__}"
        raise InputError(message, file=file, right=READABLE) from None
    if auditor.has_errors:
        raise InputError(f"the drawing is damaged: {auditor.errors[0].message[:100]}", file=file, right=READABLE)
    return document, _mended([fix.message for fix in auditor.fixes])


def _mended(messages: Sequence[str]) -> list[str]:
    """What was wrong with the drawing's structure and was mended, or left out, as it was read."""
    if not messages:
        return []
    told = "; ".join(message.strip().rstrip(".")[:120] for message in messages[:MOST_TOLD])
    more = f"; and {len(messages) - MOST_TOLD} more" if len(messages) > MOST_TOLD else ""
    was = "1 fault in the drawing's structure was" if len(messages) == 1 else f"{len(messages)} faults in it were"
    return [f"{was} mended, or what has it left out, while reading it: {told}{more}"]


def _refuse_other_kinds(data: bytes, file: str) -> None:
    head = data[:2000].lstrip(b"\xef\xbb\xbf \t\r\n")
    kind = next((name for start, name in _KINDS if head.startswith(start)), "")
    lines = head.splitlines()
    if not kind and (len(lines) < 2 or lines[0].strip() not in (b"0", b"999")):
        kind = "an empty file" if not head else "some other kind of file"
    if kind:
        raise InputError(f"this is {kind}, not a DXF in text form", file=file, right=READABLE)
    if data.rstrip().splitlines()[-1].strip() != b"EOF":
        raise InputError("the drawing ends in the middle; the closing EOF is missing", file=file, right=READABLE)


_KINDS = (
    (b"AutoCAD Binary DXF", "a DXF in binary form"),
    (b"AC10", "a DWG file"),
    (b"<", "an XML file"),
    (b"%PDF", "a PDF"),
    (b"PK", "a packed file"),
    (b"{", "a JSON file"),
)
"""How other kinds of file begin, with their names."""


def _millimetres(document: Drawing) -> tuple[float, list[str]]:
    """Millimetres of a unit of the drawing, and what to say where its header names none."""
    from ezdxf import units
    from ezdxf.enums import InsertUnits

    number = document.header.get("$INSUNITS", 0)
    if number == 0:
        return 1.0, ["the drawing's header names no unit ($INSUNITS); its lengths were taken as millimetres"]
    try:
        return float(units.conversion_factor(InsertUnits(number), InsertUnits.Millimeters)), []
    except _FAULTS:
        return 1.0, [f"the drawing's unit {number!r} is not known; its lengths were taken as millimetres"]


def _layer(entity: DXFEntity) -> str:
    """The layer of an entity; of one of a kind that nobody knows, as its tags have it."""
    if entity.dxf.is_supported("layer"):
        return str(entity.dxf.layer)
    kept = getattr(entity, "xtags", None)
    subclasses = kept.subclasses if kept else []
    return next((str(tag.value) for tags in subclasses for tag in tags if tag.code == LAYER_CODE), "0")


def _resolved(entities: Iterable[DXFEntity], outer: str, left: Counter[tuple[str, str]]) -> Iterator[DXFGraphic]:
    """Entities in the order of drawing with blocks resolved; a block's layer 0 is that of its insert."""
    for entity in entities:
        if outer and entity.dxf.is_supported("layer") and entity.dxf.layer == "0":
            entity.dxf.layer = outer
        if entity.dxftype() != "INSERT":
            yield entity  # type: ignore[misc]
            continue
        insert: Insert = entity  # type: ignore[assignment]
        layer = insert.dxf.layer

        def skipped(one: DXFGraphic, _reason: str, layer: str = layer) -> None:
            own = _layer(one)
            left[own if own != "0" else layer, one.dxftype()] += 1

        for single in insert.multi_insert() if insert.mcount > 1 else (insert,):
            yield from _resolved(single.virtual_entities(skipped_entity_callback=skipped), layer, left)


def _left_out(left: Counter[tuple[str, str]], wanted: set[str]) -> list[str]:
    """What on the layers asked for makes no outline."""
    kinds = {pair: count for pair, count in left.items() if pair[0].casefold() in wanted}
    return [
        f"on layer {layer!r} of the drawing {count} {kind} {'was' if count == 1 else 'were'} left out"
        for (layer, kind), count in kinds.items()
    ]


# -- entities ------------------------------------------------------------------------------------------------------


def _shapes(entity: DXFGraphic, order: int, scale: float) -> list[Shape] | None:
    """The flattened paths of an entity; None where it is of a kind that bounds nothing."""
    from ezdxf import path

    kind = entity.dxftype()
    if kind in ("HATCH", "MPOLYGON"):
        style = {0: "nested", 1: "outer"}.get(int(entity.dxf.get("hatch_style", 0)), "ignore")
        found = [_flattened(one, entity.dxf.layer, order, scale) for one in _hatch_paths(entity)]
        return [_ring(shape)._replace(hatch=style) for shape in found if len(shape.points) > 2]
    if kind not in ("LINE", "ARC", "CIRCLE", "ELLIPSE", "SPLINE", "LWPOLYLINE", "POLYLINE", "SOLID", "TRACE"):
        return None
    if kind == "POLYLINE" and (entity.is_poly_face_mesh or entity.is_polygon_mesh):  # type: ignore[attr-defined]
        return None
    made = path.make_path(entity, segments=3 * ARC_PIECES, level=6)
    return [
        _flattened(one, entity.dxf.layer, order, scale)
        for one in (made.sub_paths() if made.has_sub_paths else (made,))
        if len(one)
    ]


def _flattened(path: Path, layer: str, order: int, scale: float) -> Shape:
    """A path as corners in millimetres; a ring where it ends where it began."""
    from ezdxf.math import Bezier3P, Bezier4P
    from ezdxf.path.commands import Curve3To, Curve4To

    for one in path.control_vertices():  # a curve without a finite end would be divided for ever
        if not (abs(one.x) * scale <= FARTHEST and abs(one.y) * scale <= FARTHEST):
            raise ValueError("a coordinate is out of reach; check the drawing's unit and its blocks' scales")
    at = path.start
    points = [(at.x, at.y)]
    curved: list[bool] = []
    for command in path.commands():
        curve: Any = None
        if isinstance(command, Curve4To):
            curve = Bezier4P([at, command.ctrl1, command.ctrl2, command.end])
        elif isinstance(command, Curve3To):
            curve = Bezier3P([at, command.ctrl, command.end])
        new = [command.end] if curve is None else list(curve.flattening(CHORD / scale, segments=2))[1:]
        points += [(one.x, one.y) for one in new]
        curved += [curve is not None] * len(new)
        at = command.end
    corners = np.array(points, dtype=np.float64) * scale
    flags = np.array(curved, dtype=bool)
    moved = np.concatenate([[True], np.hypot(*np.diff(corners, axis=0).T) > 1e-6])
    shape = Shape(layer, order, corners[moved], flags[moved[1:]], False)
    nearly = len(shape.points) > 3 and math.dist(shape.points[0], shape.points[-1]) <= CLOSED
    return _ring(shape) if nearly else shape


def _ring(shape: Shape) -> Shape:
    """The shape as a ring, its last point, which lies on its first, left out."""
    return shape if shape.closed else shape._replace(points=shape.points[:-1], closed=True)


def _hatch_paths(hatch: Any) -> Iterator[Path]:
    """The boundary paths of a hatch, arcs finely divided, since each becomes one cubic curve per piece."""
    from ezdxf.entities.boundary_paths import EdgePath
    from ezdxf.entities.lwpolyline import LWPolyline
    from ezdxf.path import converter, make_path

    ocs = hatch.ocs()
    elevation = hatch.dxf.elevation.z
    for boundary in hatch.paths:
        if isinstance(boundary, EdgePath):
            fine = copy.copy(boundary)
            fine.edges = [piece for edge in boundary.edges for piece in _divided(edge)]
            made = converter.from_hatch_edge_path(fine, ocs, elevation)
            yield from made.sub_paths() if made.has_sub_paths else (made,)
            continue
        outline = LWPolyline.new(dxfattribs={"elevation": elevation, "extrusion": hatch.dxf.extrusion})
        outline.set_points([tuple(v) for v in boundary.vertices], format="xyb")
        outline.closed = True
        yield make_path(outline, segments=3 * ARC_PIECES)


def _divided(edge: Any) -> list[Any]:
    """An arc as a few shorter ones, in the sense in which the boundary runs; any other edge as it is."""
    from ezdxf.entities.boundary_paths import ArcEdge

    if not isinstance(edge, ArcEdge):
        return [edge]
    span = (edge.end_angle - edge.start_angle) % 360.0 or 360.0
    pieces = []
    for k in range(ARC_PIECES):
        piece = copy.copy(edge)
        piece.start_angle = edge.start_angle + span * k / ARC_PIECES
        piece.end_angle = edge.start_angle + span * (k + 1) / ARC_PIECES
        pieces.append(piece)
    return pieces if edge.ccw else pieces[::-1]
