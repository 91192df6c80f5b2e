"""The loop that refines a section's mesh until its bracket is as narrow as asked.

Fifth step of the numerics. The local gap says where the bracket is lost; the triangles that carry most of it are
divided and both fields solved again. No safety factor and no rule of thumb: the loop ends when the bounds themselves
agree. Surface temperatures have no bracket; they are taken as settled when two passes agree.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bridge2d.bounds import Gap, Stream, gap, stream_functions
from bridge2d.cuts import too_coarse_to_cut
from bridge2d.detail import Section
from bridge2d.errors import SectionError
from bridge2d.evaluation import Temperatures, interesting
from bridge2d.heat_flow import Conditions, FloatArray, Space, Temperature, conditions, space, temperatures
from bridge2d.mesh import SectionMesh, mesh_section, refine
from bridge2d.partition import Whole
from bridge2d.standards import iso_10211

MARKED_SHARE = 0.8
"""Share of the gap that the divided triangles carry, unless the gap is spread over many far better than the worst."""
LEAST_OF_WORST = 0.05
"""A triangle whose gap is smaller than this share of the worst one's is left as it is."""
AGREEMENT = 1e-3
"""Temperatures are settled when they change by less than this share of the span of temperatures while the number of
triangles doubles at least."""
SECOND_SHARE = 0.4
"""Share of the triangles that are divided for a second opinion."""
TWICE = 200.0
"""A triangle whose gap is more than this many times its fair share of the bracket is divided twice at once."""
SMALLEST_SIDE = 1e-12
"""Triangles smaller than this share of the section are divided no further: coordinates have no digits left."""
MOST_UNKNOWNS = 120_000
MOST_PASSES = 80
MOST_CUT_ROUNDS = 3
"""How often the rims of holes are divided so that the stream function can be cut there."""
CONSISTENCY = 1e-6
"""Largest relative difference between the energy and the heat flow of one solution; the bracket is widened by it."""


@dataclass(frozen=True)
class Solution:
    """Both fields on one mesh.

    Attributes:
        mesh, on: the mesh and its space.
        warm: temperatures for unit environments.
        stream: stream functions for unit environments.
        gap: difference of the bounds.
    """

    mesh: SectionMesh
    on: Space
    warm: Temperature
    stream: Stream
    gap: Gap


def tensors(section: Section) -> FloatArray:
    """Conductivity of each region as a matrix; shape (R, 2, 2) [W/(m·K)]."""
    result = np.empty((len(section.regions), 2, 2))
    for k, region in enumerate(section.regions):
        across = region.material.conductivity
        along = region.material.conductivity_along
        if along is None or region.grain_direction is None:
            result[k] = across * np.eye(2)
        else:
            angle = np.deg2rad(region.grain_direction)
            grain = np.array([np.cos(angle), np.sin(angle)])
            result[k] = across * np.eye(2) + (along - across) * np.outer(grain, grain)
    return result


def solve(mesh: SectionMesh, tensor: FloatArray, given: Conditions) -> Solution:
    """Both fields on a mesh.

    Args:
        mesh: the section's mesh.
        tensor: conductivity of each region; shape (R, 2, 2) [W/(m·K)].
        given: what the surfaces impose.

    Raises:
        SectionError: rounding has spoiled the solution.
    """
    on = space(mesh)
    warm = temperatures(on, tensor, given)
    stream = stream_functions(on, tensor, given)
    between = gap(on, tensor, given, warm, stream)
    if not warm.singular:
        _consistent(warm)
    return Solution(mesh, on, warm, stream, between)


def _consistent(warm: Temperature) -> None:
    """Refuse a solution whose energy and heat flow differ: both are one number, computed in two ways."""
    energy, flow = np.diag(warm.upper), np.diag(warm.flows)
    if not np.all(np.abs(energy - flow) <= CONSISTENCY * energy):
        raise SectionError(
            "the linear system could not be solved to rounding (heat flow and energy differ); conductivities, "
            "resistances or lengths lie too far apart",
            ("section",),
        )


def marked(between: Gap) -> Whole:
    """The triangles that carry MARKED_SHARE of the gap, the worst first, see also LEAST_OF_WORST.

    Args:
        between: the gap of every triangle.

    Returns:
        numbers of triangles; shape (k,).
    """
    order = np.argsort(between.triangle)[::-1]
    share = between.triangle[order]
    enough = int(np.searchsorted(np.cumsum(share), MARKED_SHARE * share.sum())) + 1
    chosen: Whole = order[:enough][share[:enough] >= LEAST_OF_WORST * share[0]].astype(np.int64)
    return chosen


def narrow(solution: Solution, tolerance: float, half_width: float) -> bool:
    """Whether the bracket of every environment's coupling is as narrow as asked.

    Args:
        solution: both fields.
        tolerance: widest relative bracket.
        half_width: widest half of the bracket [W/(m·K)].
    """
    width = np.diag(solution.gap.matrix)
    value = np.diag(solution.warm.upper)
    return bool(np.all(width <= np.minimum(tolerance * value, 2 * half_width)))


@dataclass(frozen=True)
class Settled:
    """The end of the loop.

    Attributes:
        passes: all solutions, the coarsest first; the last one is the result.
        earlier: the last pass with at most half as many triangles as the result, for the doubling criterion.
        now, before: temperatures of interest of the result and of `earlier`, see `evaluation.Temperatures`.
        complete: whether the bracket became as narrow, and the temperatures as settled, as asked.
    """

    passes: tuple[Solution, ...]
    earlier: Solution
    now: Temperatures
    before: Temperatures
    complete: bool


def settle(section: Section, tolerance: float, mesher: str = "auto", most_passes: int = MOST_PASSES) -> Settled:
    """Refine a section until its bracket is narrow and its temperatures have settled.

    Args:
        section: the section.
        tolerance: widest relative bracket around each environment's total coupling [-].
        mesher: see `mesh.mesh_section`.
        most_passes: it ends after so many in any case; the bracket holds then too, only wider.

    Raises:
        SectionError: the section cannot be meshed, or rounding spoils the solution.
        MissingLibraryError: gmsh is needed and cannot start.
    """
    tensor = tensors(section)
    half_width = section.psi_half_width / (2.0 if section.mirrored else 1.0)
    passes = [start(section, mesher)]
    known: dict[tuple[int, bool], Temperatures] = {}

    def seen(number: int, both: bool) -> Temperatures:
        if (number, both) not in known:
            one = passes[number]
            known[number, both] = interesting(section, one.on, one.warm, tensor, both)
        return known[number, both]

    def settled(number: int, earlier: int) -> bool:
        doubled = _doubling_kept(passes[earlier], passes[number])
        return doubled and all(seen(number, both).agrees(seen(earlier, both), AGREEMENT) for both in (False, True))

    while True:
        last, newest = passes[-1], len(passes) - 1
        enough = last.warm.singular or narrow(last, tolerance, half_width)
        earlier = _half_as_fine(passes)
        if enough and earlier is not None and settled(newest, earlier):
            return Settled(tuple(passes), passes[earlier], seen(newest, True), seen(earlier, True), complete=True)
        spent = len(passes) >= most_passes
        finer = None if spent else refine_once(section, last, tolerance, half_width, enough and earlier is None)
        if finer is None:
            earlier = earlier or 0
            return Settled(tuple(passes), passes[earlier], seen(newest, True), seen(earlier, True), complete=False)
        passes.append(finer)


def _doubling_kept(earlier: Solution, last: Solution) -> bool:
    """Whether no environment's flow changes by more than ISO 10211 allows while the triangles double at least."""
    if last.warm.singular:
        return True
    coarse, fine = np.diag(earlier.warm.flows), np.diag(last.warm.flows)
    return bool(np.all(np.abs(coarse - fine) <= 0.5 * iso_10211.LARGEST_DOUBLING_DIFFERENCE * fine))


def start(section: Section, mesher: str = "auto") -> Solution:
    """Both fields on a section's first, coarse mesh.

    Args:
        section: the section.
        mesher: see `mesh.mesh_section`.
    """
    mesh = mesh_section(section, mesher)
    for _ in range(MOST_CUT_ROUNDS):
        coarse = too_coarse_to_cut(space(mesh))
        if not coarse.size:
            break
        mesh = refine(mesh, coarse)
    return solve(mesh, tensors(section), conditions(section))


def refine_once(
    section: Section, last: Solution, tolerance: float, half_width: float, second: bool = False
) -> Solution | None:
    """Both fields on the next mesh; None where it would be too large or no triangle can be divided any more.

    Args:
        section: the section.
        last: both fields on the mesh so far.
        tolerance: widest relative bracket [-].
        half_width: widest half of the bracket [W/(m·K)].
        second: double the triangles, for a second opinion where the first mesh was already good enough.
    """
    if last.warm.singular:
        chosen, twice = _divisible(last.on, np.arange(len(last.on.triangles))), None
    elif second:
        # Each divided triangle becomes four: two in five are enough to double them all.
        worst = np.argsort(last.gap.triangle)[::-1][: int(np.ceil(SECOND_SHARE * len(last.on.triangles)))]
        chosen, twice = _divisible(last.on, worst.astype(np.int64)), None
    else:
        chosen = _divisible(last.on, marked(last.gap))
        twice = chosen[last.gap.triangle[chosen] > TWICE * _fair(last, tolerance, half_width)]
    if not chosen.size:
        return None
    finer = refine(last.mesh, chosen, twice)
    if finer.mesh.p.shape[1] + finer.mesh.facets.shape[1] > MOST_UNKNOWNS:
        return None
    return solve(finer, tensors(section), conditions(section))


def _fair(solution: Solution, tolerance: float, half_width: float) -> float:
    """The gap that each triangle might have if the bracket were as narrow as asked."""
    allowed = np.minimum(tolerance * np.diag(solution.warm.upper), 2 * half_width).sum()
    return float(allowed) / len(solution.gap.triangle)


def _divisible(on: Space, triangles: Whole) -> Whole:
    """Those of the triangles that are large enough to be divided."""
    smallest = (SMALLEST_SIDE * float(np.ptp(on.points, axis=0).max())) ** 2
    return triangles[on.scale[triangles] > smallest]


def _half_as_fine(passes: list[Solution]) -> int | None:
    """Number of the finest pass with at most half as many triangles as the last one."""
    most = len(passes[-1].on.triangles) / 2
    coarser = [k for k, p in enumerate(passes[:-1]) if len(p.on.triangles) <= most]
    return coarser[-1] if coarser else None
