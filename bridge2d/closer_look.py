"""Temperatures of interest, looked at closely: only the triangles that touch their places are divided.

Part of the loop that refines a mesh, once the bracket is narrow. The gap of the bounds does not see what a temperature
still lacks there: a jump of the surface resistance of the temperature factor, or a corner in a poor conductor. A mesh
that is made here has no bracket yet; the loop makes one for the last of them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bridge2d.detail import Section
from bridge2d.evaluation import Temperatures, interesting, touching
from bridge2d.mesh import SectionMesh, refine
from bridge2d.partition import Whole
from bridge2d.spaces import FloatArray, Space, space

AGREEMENT = 1e-3
"""Temperatures are settled when they change by less than this share of the span of temperatures while the triangles
that touch their place are divided into sixteen, or the number of unknowns doubles at least."""
SMALLEST_SIDE = 1e-12
"""Triangles smaller than this share of the section are divided no further: coordinates have no digits left."""
MOST_UNKNOWNS = 120_000
MOST_LOOKS = 20


@dataclass(frozen=True)
class Looked:
    """The end of the closer look.

    Attributes:
        mesh: the last mesh.
        now: temperatures of interest on it.
        changes: of each of `now.values` while the mesh became finer at its place; shape (k,) [K].
        complete: whether all of them have settled.
    """

    mesh: SectionMesh
    now: Temperatures
    changes: FloatArray
    complete: bool


def look_closer(
    section: Section,
    tensor: FloatArray,
    start: tuple[SectionMesh, Space, Temperatures],
    earlier: Temperatures | None,
    worst: Whole | None,
) -> Looked:
    """Divide the triangles at places of temperatures that have not settled, until all have.

    Coldest points are looked at closely once at least.

    Args:
        section: the section.
        tensor: conductivity of each region; shape (R, 2, 2) [W/(m·K)].
        start: a mesh with its space and the temperatures of interest on it.
        earlier: those on a mesh of at most half as many unknowns; None where `worst` is given.
        worst: triangles in the order of their gap, of which as many are divided too as double the mesh; shape (M,).
    """
    mesh, on, now = start
    coldest = np.arange(len(now.values)) < len(now.coldest)
    changes = np.where(coldest, np.nan, 0.0 if earlier is None else np.abs(now.values - earlier.values))
    pending = np.isnan(changes) | (changes > AGREEMENT * now.span)
    for _ in range(MOST_LOOKS):
        if not pending.any() and worst is None:
            return Looked(mesh, now, changes, complete=True)
        close = close_to(section, on, now, pending)
        finer = _divided(mesh, on, close, worst)
        if finer is None:
            break
        mesh, on, before = finer, space(finer), now
        now = interesting(section, on, None, tensor)
        changes = np.where(pending | (worst is not None), np.abs(now.values - before.values), changes)
        pending, worst = changes > AGREEMENT * now.span, None
    return Looked(mesh, now, np.nan_to_num(changes), complete=False)


def close_to(section: Section, on: Space, now: Temperatures, chosen: NDArray[np.bool_]) -> Whole:
    """The triangles at the places of some temperatures that are large enough to be divided.

    Args:
        section: the section.
        on: the space.
        now: temperatures of interest on it.
        chosen: which of `now.values`; shape (k,).

    Returns:
        their numbers; shape (m,).
    """
    probes = np.array([probe.point for probe in section.probes]).reshape(-1, 2)
    return divisible(on, touching(on, np.unique(now.places(probes)[chosen], axis=0)))


def coldest_places(on: Space, now: Temperatures) -> Whole:
    """The triangles at the coldest points that are large enough to be divided.

    Args:
        on: the space.
        now: temperatures of interest on it.

    Returns:
        their numbers; shape (k,).
    """
    points = np.array([c.point for c in now.coldest]).reshape(-1, 2)
    return divisible(on, touching(on, np.unique(points, axis=0)))


def _divided(mesh: SectionMesh, on: Space, close: Whole, worst: Whole | None) -> SectionMesh | None:
    """The mesh with close triangles divided twice, and doubled if asked; None where it cannot be made."""
    chosen = close
    if worst is not None:
        # Each divided triangle becomes four, one that is divided twice sixteen.
        count = max(0, -(-(len(on.triangles) - 15 * len(close)) // 3))
        chosen = np.union1d(close, divisible(on, worst[: count + len(close)]))
    if not chosen.size:
        return None
    finer = refine(mesh, chosen, close)
    return finer if finer.unknowns <= MOST_UNKNOWNS else None


def divisible(on: Space, triangles: Whole) -> Whole:
    """Those of the triangles that are large enough to be divided.

    Args:
        on: the space.
        triangles: their numbers; shape (k,).
    """
    smallest = (SMALLEST_SIDE * float(np.ptp(on.points, axis=0).max())) ** 2
    return triangles[on.scale[triangles] > smallest]
