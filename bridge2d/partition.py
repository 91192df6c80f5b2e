"""The partition of a section: which region owns which patch, and which piece of the outline faces what.

First step of the numerics: detail -> **partition** -> mesh -> fields. Everything here counts in whole micrometres, so
that a point is either the same as another or not, and no triangle without height can arise from rounding. Sections
whose edges all run parallel to the axes are laid on a grid of their own coordinates with numpy alone; all others are
overlaid with shapely on the same micrometre grid (`overlay`).
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bridge2d.detail import Point, Section
from bridge2d.errors import SectionError

MICROMETRES = 1e6
"""Whole units per metre."""
SNAP = 10
"""How far a point may lie off the outline and still be taken to lie on it [µm]."""
GRID_CELLS = 40_000
"""A grid of more cells than this is wasteful; the section is then overlaid instead."""
VOID = -1
ADIABATIC = -1

Whole = NDArray[np.int64]


def whole(points: Sequence[Point]) -> Whole:
    """Points [m] in whole micrometres, shape (n, 2)."""
    return np.rint(np.asarray(points, dtype=np.float64).reshape(-1, 2) * MICROMETRES).astype(np.int64)


def place(point: Whole | NDArray[np.float64]) -> str:
    """A point [µm] as a person reads it: "(12.5, 300) mm"."""
    return f"({point[0] / 1000:g}, {point[1] / 1000:g}) mm"


@dataclass(frozen=True)
class Grid:
    """A section with axis-parallel edges on the grid of its own coordinates.

    Attributes:
        x, y: grid lines [µm], shapes (nx + 1,) and (ny + 1,).
        region: index of the region that owns each cell, VOID where none does; shape (nx, ny).
        upright: surface index of the edge along x[i] between y[j] and y[j + 1], ADIABATIC elsewhere; (nx + 1, ny).
        level: surface index of the edge along y[j] between x[i] and x[i + 1], ADIABATIC elsewhere; (nx, ny + 1).
    """

    x: Whole
    y: Whole
    region: Whole
    upright: Whole
    level: Whole


@dataclass(frozen=True)
class Overlay:
    """A section with edges in any direction: faces that share their points.

    Attributes:
        points: shape (n, 2) [µm].
        faces: per face its rings of point numbers, the outer ring first.
        region: index of the region that owns each face; shape (f,).
        outline: point numbers of each piece of the outline; shape (m, 2).
        surface: surface index of each piece of the outline, ADIABATIC elsewhere; shape (m,).
    """

    points: Whole
    faces: tuple[tuple[tuple[int, ...], ...], ...]
    region: Whole
    outline: Whole
    surface: Whole


def axis_parallel(section: Section) -> bool:
    """Whether every edge of every region and surface runs parallel to an axis, on a grid of a sensible size."""
    rings = [ring for region in section.regions for ring in (region.polygon, *region.holes)]
    coordinates: list[Whole] = []
    for ring in rings:
        p = whole(ring)
        if np.any(np.all(np.roll(p, -1, axis=0) != p, axis=1)):
            return False
        coordinates.append(p)
    for surface in section.surfaces:
        p = whole(surface.edge)
        if np.any(np.all(p[1:] != p[:-1], axis=1)):
            return False
        coordinates.append(p)
    everything = np.concatenate(coordinates)
    return (np.unique(everything[:, 0]).size - 1) * (np.unique(everything[:, 1]).size - 1) <= GRID_CELLS


def partition(section: Section) -> Grid | Overlay:
    """The section's partition, on the grid where its edges allow.

    Args:
        section: the section to be divided.

    Returns:
        A `Grid` for axis-parallel sections, else an `Overlay`.

    Raises:
        SectionError: the regions do not form one piece, or a surface does not lie on the outline.
    """
    if axis_parallel(section):
        return grid(section)
    from bridge2d.overlay import overlay  # shapely is not needed, and not imported, for axis-parallel sections

    return overlay(section)


# -- sections on a grid ------------------------------------------------------------------------------------------


def grid(section: Section) -> Grid:
    """The partition of an axis-parallel section, see `partition`."""
    corners = np.concatenate(
        [whole(ring) for region in section.regions for ring in (region.polygon, *region.holes)]
        + [whole(surface.edge) for surface in section.surfaces]
    )
    x, y = np.unique(corners[:, 0]), np.unique(corners[:, 1])
    owner = np.full((x.size - 1, y.size - 1), VOID, dtype=np.int64)
    for number, region in enumerate(section.regions):
        inside = np.zeros(owner.shape, dtype=bool)
        for ring in (region.polygon, *region.holes):
            _flip_inside(inside, whole(ring), x, y)
        owner[inside] = number
    _refuse_islands(owner, x, y)
    _refuse_pinches(owner, x, y)
    upright, level = _grid_surfaces(section, owner, x, y)
    return Grid(x, y, owner, upright, level)


def _flip_inside(inside: NDArray[np.bool_], ring: Whole, x: Whole, y: Whole) -> None:
    """Turn over all cells to the right of every upright edge of the ring: the even-odd rule on a grid."""
    following = np.roll(ring, -1, axis=0)
    for (x0, y0), (x1, y1) in zip(ring.tolist(), following.tolist(), strict=True):
        if x0 == x1 and y0 != y1:
            low, high = np.searchsorted(y, sorted((y0, y1)))
            inside[int(np.searchsorted(x, x0)) :, low:high] ^= True


def _refuse_islands(owner: Whole, x: Whole, y: Whole) -> None:
    filled = owner != VOID
    if not filled.any():
        raise SectionError("the section has no area; give at least one [[region]] with a polygon", ("section",))
    reached = np.zeros_like(filled)
    reached[tuple(np.argwhere(filled)[0])] = True
    while True:
        grown = reached.copy()
        grown[1:] |= reached[:-1]
        grown[:-1] |= reached[1:]
        grown[:, 1:] |= reached[:, :-1]
        grown[:, :-1] |= reached[:, 1:]
        grown &= filled
        if (grown == reached).all():
            break
        reached = grown
    apart = np.argwhere(filled & ~reached)
    if apart.size:
        i, j = apart[0]
        raise SectionError(
            f"stands apart from the rest of the section at {place(np.array([x[i], y[j]]))}; "
            "all regions must touch along edges, since heat cannot cross a gap that has no material",
            ("region", int(owner[i, j])),
        )


def _refuse_pinches(owner: Whole, x: Whole, y: Whole) -> None:
    f = owner != VOID
    a, b, c, d = f[:-1, :-1], f[1:, :-1], f[:-1, 1:], f[1:, 1:]
    pinched = np.argwhere((a & d & ~b & ~c) | (~a & ~d & b & c))
    if pinched.size:
        i, j = pinched[0] + 1
        k = int(max(owner[i, j], owner[i - 1, j]))
        raise SectionError(
            f"touches the rest of the section only in the point {place(np.array([x[i], y[j]]))}; "
            "let the regions share an edge there or leave a gap",
            ("region", k),
        )


def _grid_surfaces(section: Section, owner: Whole, x: Whole, y: Whole) -> tuple[Whole, Whole]:
    """Surface indices of the grid's upright and level edges."""
    filled = np.pad(owner != VOID, 1)
    outline_upright = filled[1:, 1:-1] != filled[:-1, 1:-1]
    outline_level = filled[1:-1, 1:] != filled[1:-1, :-1]
    upright = np.full(outline_upright.shape, ADIABATIC, dtype=np.int64)
    level = np.full(outline_level.shape, ADIABATIC, dtype=np.int64)
    for number, surface in enumerate(section.surfaces):
        line = whole(surface.edge)
        for start, end in itertools.pairwise(line):
            along = 0 if start[1] == end[1] else 1
            lines, across = (x, y) if along == 0 else (y, x)
            low, high = np.searchsorted(lines, sorted((start[along], end[along])))
            at = int(np.searchsorted(across, start[1 - along]))
            where = (slice(low, high), at) if along == 0 else (at, slice(low, high))
            labels, outline = (level, outline_level) if along == 0 else (upright, outline_upright)
            _label(labels, outline, where, number, section, np.array([start, end]))
    return upright, level


def _label(
    labels: Whole,
    outline: NDArray[np.bool_],
    where: tuple[slice | int, int | slice],
    number: int,
    section: Section,
    leg: Whole,
) -> None:
    name = section.surfaces[number].environment
    if not outline[where].all():
        raise SectionError(
            f"the edge of environment {name!r} between {place(leg[0])} and {place(leg[1])} does not run along the "
            "outline of the section; give points on its outer edge (or on the rim of a hole)",
            ("surface", number),
        )
    taken = labels[where]
    if (taken != ADIABATIC).any():
        other = section.surfaces[int(taken.max())].environment
        raise SectionError(
            f"the edge of environment {name!r} between {place(leg[0])} and {place(leg[1])} is already taken by "
            f"environment {other!r}; each piece of the outline faces one environment",
            ("surface", number),
        )
    labels[where] = number
