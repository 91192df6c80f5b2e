"""The fine parts of the options side by side: frame, gasket, thermal break, and where the airtight layer goes there.

Part of the comparison on paper; the pictures are those of the report's enlarged parts. All options show the same piece
of the section, so that they come out at one scale and lie at one level.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from bridge2d.comparison.alike import junctions_differ
from bridge2d.comparison.records import Comparison
from bridge2d.detail import AirtightPiece
from bridge2d.drawing.colours import ACCENT, GREY
from bridge2d.drawing.fine_part import LARGEST, fine_part
from bridge2d.drawing.scene import Item, Placed, Run, Scene, Text, all_texts, runs
from bridge2d.drawing.section_drawing import enlarged_section
from bridge2d.drawing.section_geometry import Box
from bridge2d.report.comparison_columns import GAP, column_width
from bridge2d.report.comparison_pictures import Shapes
from bridge2d.report.layout import Whole
from bridge2d.report.text import shortened

PER_ROW = 2
"""Pictures beside each other."""
HEIGHTS = (75.0, 60.0, 50.0, 42.0)
"""Greatest heights of a picture that are tried until all have one scale [mm]."""
LEAST_HIGH = 0.75
"""Least height of the part as a share of its width: what is flat shows too little of what it belongs to."""
TITLE, NAME = 5.4, 4.6
"""Height of the line above all pictures, and of an option's name above its own [mm]."""
SIZE = 7.4
"""Type size [pt]."""
BELOW = 2.5
"""[mm]."""
MORE = 3.2
"""Height of the line with the names that have no room in a picture [mm]."""
SAMPLES = 50
"""Points at which a side of the airtight layer is looked at."""


class Enlarged(NamedTuple):
    """The enlarged parts of all options.

    Attributes:
        scenes: the pictures.
        one_scale: whether they have one scale.
        unnamed: of each the pieces of the airtight layer whose names have no room in the picture.
    """

    scenes: tuple[Scene, ...]
    one_scale: bool
    unnamed: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class FineParts(Whole):
    """The enlarged parts beside each other, each under its option's name.

    Attributes:
        names: of the options.
        drawn: their pictures.
        width: of all [mm].
    """

    names: tuple[str, ...]
    drawn: Enlarged
    width: float

    @property
    def _row(self) -> float:
        return NAME + max(scene.height for scene in self.drawn.scenes) + self._more + BELOW

    @property
    def _more(self) -> float:
        return MORE if any(self.drawn.unnamed) else 0.0

    @property
    def height(self) -> float:
        """See `Block`."""
        return TITLE + self._row * -(-len(self.names) // PER_ROW)

    def items(self, left: float, top: float) -> list[Item]:
        """See `Block`."""
        scale = "at one scale" if self.drawn.one_scale else "each at the scale under it"
        words = (
            f"  {scale}; the pieces of the airtight layer (dash-dot) are named, numbers in circles are those of the "
            "materials"
        )
        found: list[Item] = [
            Text(left, top - 3.2, runs(Run("Fine parts, enlarged", "bold"), Run(words, colour=GREY)), SIZE)
        ]
        wide = column_width(PER_ROW, self.width)
        for k, (name, scene) in enumerate(zip(self.names, self.drawn.scenes, strict=True)):
            row, column = divmod(k, PER_ROW)
            x = left + column * (wide + GAP)
            above = top - TITLE - row * self._row
            foot = above - self._row + BELOW + self._more
            found.append(Text(x, above - 3.2, runs(Run(name, "bold")), SIZE))
            found.append(Placed(scene, x, foot))
            if self.drawn.unnamed[k]:
                also = shortened(f"airtight layer also: {', '.join(self.drawn.unnamed[k])}", "regular", 6.2, wide)
                found.append(Text(x, foot - 2.6, runs(also), 6.2, colour=ACCENT))
        return found


def fine_parts(comparison: Comparison, known: Shapes, width: float) -> FineParts | None:
    """The fine parts of all options enlarged; None where the pictures of the whole show all well.

    Options that are different junctions have no piece in common.

    Args:
        comparison: the options.
        known: their shapes.
        width: of all [mm].
    """
    room = column_width(PER_ROW, width)
    found = [part for geometry in known.geometries if (part := fine_part(geometry, room)) is not None]
    if not found or junctions_differ(comparison.options):
        return None
    part = _higher(_around(found), _around([geometry.window for geometry in known.geometries]))
    if any(_size(part) > LARGEST * _size(geometry.window) for geometry in known.geometries):
        return None
    return FineParts(tuple(option.name for option in comparison.options), _drawn(comparison, known, part, width), width)


def _around(parts: Sequence[Box]) -> Box:
    """The piece of the section that holds all parts [m]."""
    left, bottom, right, top = zip(*parts, strict=True)
    return float(min(left)), float(min(bottom)), float(max(right)), float(max(top))


def _higher(part: Box, window: Box) -> Box:
    """A flat part with more of what lies above and below it, within what the sections show [m]."""
    left, bottom, right, top = part
    more = max(LEAST_HIGH * (right - left) - (top - bottom), 0.0)
    lowest, highest = min(window[1], bottom), max(window[3], top)
    top = min(top + 0.5 * more, highest)
    bottom = max(min(bottom - 0.5 * more, top - LEAST_HIGH * (right - left)), lowest)
    return left, bottom, right, top


def _size(box: Box) -> float:
    """The longer side of a box [m]."""
    return float(max(box[2] - box[0], box[3] - box[1]))


def _drawn(comparison: Comparison, known: Shapes, part: Box, width: float) -> Enlarged:
    """All pictures, as large as lets them have one scale."""
    column = column_width(PER_ROW, width)
    tried: list[Enlarged] = []
    for height in HEIGHTS:
        tried.append(_at(height, comparison, known, part, column))
        if tried[-1].one_scale:
            return tried[-1]
    return tried[0]


def _at(height: float, comparison: Comparison, known: Shapes, part: Box, width: float) -> Enlarged:
    """All pictures no higher than that [mm]."""
    scenes = tuple(
        enlarged_section(section, width, height, known.numbers, geometry, part, comparison.shown)
        for section, geometry in zip(known.sections, known.geometries, strict=True)
    )
    pieces = [_pieces(geometry.section.airtight, part) for geometry in known.geometries]
    unnamed = tuple(
        tuple(name for name in names if not any(name in words for words in _words(scene)))
        for names, scene in zip(pieces, scenes, strict=True)
    )
    return Enlarged(scenes, len({_scale(scene) for scene in scenes}) == 1, unnamed)


def _pieces(airtight: Sequence[AirtightPiece], part: Box) -> list[str]:
    """Names of the pieces of the airtight layer that run through a part and are laid as one."""
    low, high = np.reshape(part, (2, 2))
    shares = np.linspace(0.0, 1.0, SAMPLES)[:, None]
    return [
        piece.name
        for piece in airtight
        if piece.name and not piece.through
        for points in [np.vstack([a + shares * np.subtract(b, a) for a, b in pairwise(piece.line)])]
        if bool(((points > low) & (points < high)).all(axis=1).any())
    ]


def _words(scene: Scene) -> list[str]:
    """Every text of a picture."""
    return ["".join(run.text for run in text.runs) for text in all_texts(scene.items)]


def _scale(scene: Scene) -> str:
    """The scale as it is written under a picture."""
    return next((text.partition("scale ")[2] for text in _words(scene) if "scale " in text), "")
