"""Beside a section: the legend of its materials, and the small picture that shows where a part of it lies."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from bridge2d.drawing.colours import ACCENT, GREY, INK, RULE
from bridge2d.drawing.frame import LABEL, Frame
from bridge2d.drawing.hatches import hatched, is_by_conductivity, spacings
from bridge2d.drawing.lines import FloatArray
from bridge2d.drawing.material_marks import NUMBER, RADIUS, drawn_kind
from bridge2d.drawing.scene import Item, Path, Run, Scene, Text, circle_ring, rectangle_ring, runs, runs_width
from bridge2d.drawing.section_geometry import SectionGeometry
from bridge2d.materials import Material
from bridge2d.nomenclature import CONDUCTIVITY
from bridge2d.shown_units import IN_SI, DisplayUnits

LEGEND_ROW = 6.3
LEGEND_COLUMN = 56.0
LEGEND_NOTE = 4.0
LEAST_LABEL = 4.8
"""A long name is set smaller, but no smaller than this [pt]; what is longer still is cut."""
KEY_SIZE = (34.0, 26.0)


def materials_legend(
    geometries: Sequence[SectionGeometry],
    numbers: Mapping[Material, int],
    width: float,
    shown: DisplayUnits = IN_SI,
) -> Scene:
    """Number, hatch, name and conductivity of each material of some sections.

    Args:
        geometries: the sections' shapes.
        numbers: of the materials.
        width: of the paper [mm].
        shown: units of everything that is written.
    """
    everything = geometries[0]._replace(pieces=tuple(piece for one in geometries for piece in one.pieces))
    return legend_of(everything, numbers, max(int(width // LEGEND_COLUMN), 1), shown)


def legend_of(geometry: SectionGeometry, numbers: Mapping[Material, int], columns: int, shown: DisplayUnits) -> Scene:
    """Number, hatch, name and conductivity of each material."""
    pieces = {numbers[piece.material]: piece for piece in reversed(geometry.pieces)}
    rows = -(-len(pieces) // columns)
    by_conductivity = any(is_by_conductivity(drawn_kind(piece)) for piece in pieces.values())
    below = LEGEND_NOTE if by_conductivity else 0.0
    height = LEGEND_ROW * rows + below
    wide = hatch_spacings(numbers)
    items: list[Item] = []
    if by_conductivity:
        items.append(Text(0.0, 1.0, runs("hatch by conductivity where no material is named"), 5.8, colour=GREY))
    for place, number in enumerate(sorted(pieces)):
        piece = pieces[number]
        x = (place // rows) * LEGEND_COLUMN
        y = height - LEGEND_ROW * (place % rows + 1)
        swatch = rectangle_ring(x + 6.0, y + 0.7, x + 14.0, y + 4.7)
        items += hatched(drawn_kind(piece), [swatch], piece.grain, spacing=wide[piece.material])
        items.append(Path((swatch,), closed=True, stroke=INK, width=0.13))
        items += [
            Path((circle_ring((x + RADIUS + 0.2, y + 2.7), RADIUS),), closed=True, stroke=INK, width=0.18),
            Text(x + RADIUS + 0.2, y + 1.85, runs(Run(str(number), "bold")), NUMBER, "middle"),
        ]
        items += _legend_words(piece.material, x + 15.6, y, LEGEND_COLUMN - 16.6, shown)
    return Scene(LEGEND_COLUMN * columns, height, tuple(items))


def _legend_words(material: Material, x: float, y: float, width: float, shown: DisplayUnits) -> list[Item]:
    name = shown.made_name(material.name)
    size = min(LABEL, max(LEAST_LABEL, LABEL * width / max(runs_width(runs(name), LABEL), 1e-9)))
    while runs_width(runs(name), size) > width and len(name) > 4:
        name = name[:-2].rstrip() + "…"
    value = shown.value(CONDUCTIVITY, material.conductivity)
    words = runs(Run("λ", "italic", colour=GREY), Run(f" {value}", colour=GREY))
    return [Text(x, y + 3.0, runs(name), size), Text(x, y + 0.35, words, 5.8)]


def key_picture(placed: Frame) -> Scene:
    """The whole section small, with the window that is shown."""
    geometry = placed.geometry
    x0, y0, x1, y1 = geometry.box
    paper = min(KEY_SIZE[0] / (x1 - x0), KEY_SIZE[1] / (y1 - y0))

    def small(points: FloatArray) -> FloatArray:
        moved: FloatArray = (points - (x0, y0)) * paper
        return moved

    shapes = tuple(small(ring) for piece in geometry.pieces for ring in piece.rings)
    window = geometry.window
    frame_ring = small(rectangle_ring(*window))
    height = (y1 - y0) * paper + 4.5
    return Scene(
        (x1 - x0) * paper,
        height,
        (
            Path(shapes, closed=True, stroke=RULE, width=0.1),
            Path(tuple(small(r) for r in geometry.outline), closed=True, stroke=GREY, width=0.18),
            Path((frame_ring,), closed=True, stroke=ACCENT, width=0.4),
            Text(0.0, height - 2.6, runs("whole section, part drawn framed"), 5.8, colour=GREY),
        ),
    )


def hatch_spacings(numbers: Mapping[Material, int]) -> dict[Material, float]:
    """Distance between the lines of each material's hatch, so that materials that share one are told apart [mm]."""
    return spacings(sorted(numbers, key=numbers.__getitem__))
