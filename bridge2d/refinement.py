"""The loop that refines a section's mesh until its bracket is as narrow as asked.

Fifth step of the numerics. The local gap says where the bracket is lost; the triangles that carry most of it are
divided and both fields solved again. No safety factor and no rule of thumb: the loop ends when the bounds themselves
agree. Temperatures have no bracket; once the one of L2D is narrow, `closer_look` refines the mesh at their places.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from bridge2d.bounds import Gap, Stream, gap, stream_functions
from bridge2d.closer_look import (
    AGREEMENT,
    MOST_UNKNOWNS,
    Looked,
    close_to,
    coldest_places,
    divisible,
    look_closer,
)
from bridge2d.cuts import too_coarse_to_cut
from bridge2d.detail import Section
from bridge2d.errors import SectionError
from bridge2d.evaluation import Temperatures, interesting
from bridge2d.grading import begun, graded
from bridge2d.heat_flow import Conditions, Temperature, conditions, nodal_temperatures, temperatures
from bridge2d.mesh import SectionMesh, mesh_section, refine
from bridge2d.partition import Whole
from bridge2d.spaces import FloatArray, Space, space
from bridge2d.standards import iso_10211

MARKED_SHARE = 0.8
"""Share of the gap that the divided triangles carry, unless the gap is spread over many far better than the worst."""
LEAST_OF_WORST = 0.05
"""A triangle whose gap is smaller than this share of the worst one's is left as it is."""
TWICE = 200.0
"""A triangle whose gap is more than this many times its fair share of the bracket is divided twice at once."""
NEARLY, NEARLY_GRADED = 3.0, 50.0
"""A bracket at most this many times as wide as asked is expected to become narrow with the next pass, by halves or by
`grading`; the triangles at the coldest points are then divided too, and what they change by is known without a pass of
its own."""
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
        factor: temperatures with the resistances of the temperature factor, once they have been solved for; shape
            (size,) [°C].
    """

    mesh: SectionMesh
    on: Space
    warm: Temperature
    stream: Stream
    gap: Gap
    factor: list[FloatArray] = field(default_factory=list)


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
        earlier: the last pass with at most half as many unknowns as the result, for the doubling criterion.
        now: temperatures of interest of the result, see `evaluation.Temperatures`.
        changes: of each of `now.values` while the mesh became finer at its place; shape (k,) [K].
        complete: whether the bracket became as narrow, and the temperatures as settled, as asked.
    """

    passes: tuple[Solution, ...]
    earlier: Solution
    now: Temperatures
    changes: FloatArray
    complete: bool

    @property
    def doubt(self) -> float:
        """What the mesh elsewhere may still add to a temperature, as a share of the span: the relative bracket."""
        last = self.passes[-1]
        return 0.0 if last.warm.singular else float(np.max(np.diag(last.gap.matrix) / np.diag(last.warm.upper)))


def settle(section: Section, tolerance: float, mesher: str = "auto", most_passes: int = MOST_PASSES) -> Settled:
    """Refine a section until its bracket is narrow and its temperatures have settled.

    Args:
        section: the section.
        tolerance: widest relative bracket around each environment's total coupling [-].
        mesher: see `mesh.mesh_section`.
        most_passes: it ends after so many in any case; the bracket holds then too, only wider. After 1, a first look,
            nothing is settled.

    Raises:
        SectionError: the section cannot be meshed, or rounding spoils the solution.
        MissingLibraryError: gmsh is needed and cannot start.
    """
    passes = [start(section, mesher)]
    if passes[0].warm.singular:
        return _settle_prescribed(section, passes)
    if most_passes == 1:
        return _unsettled(section, passes)
    half_width = section.psi_half_width / (2.0 if section.mirrored else 1.0)
    before: Before | None = None
    while True:
        last = passes[-1]
        if narrow(last, tolerance, half_width):
            settled = None if before is None else _settled_already(section, passes, before)
            if settled is not None:
                return settled
            looked = _looked_closer(section, passes)
            passes.append(solve(looked.mesh, tensors(section), conditions(section)))
            earlier = _half_as_fine(passes) or 0
            kept = _doubling_kept(passes[earlier], passes[-1])
            if kept or not looked.complete or len(passes) >= most_passes:
                return _settled(section, passes, looked, complete=kept and looked.complete)
        if len(passes) >= most_passes:
            return _unsettled(section, passes)
        found = _next(section, passes, tolerance, half_width)
        if found is None:
            return _unsettled(section, passes)
        finer, before = found
        passes.append(finer)


@dataclass(frozen=True)
class Before:
    """Temperatures of interest before the mesh was divided at their places.

    Attributes:
        now: on the mesh before.
        divided: whether the mesh was divided at the place of each of `now.values`; shape (k,).
    """

    now: Temperatures
    divided: NDArray[np.bool_]


def _next(
    section: Section, passes: list[Solution], tolerance: float, half_width: float
) -> tuple[Solution, Before | None] | None:
    """Both fields on the next mesh, and temperatures before it was divided at their places if it was.

    None where it is too large, rounding spoils it, or no triangle can be divided.
    """
    last, before = passes[-1], None
    if last.on.weights is not None:
        also = None
        if narrow(last, NEARLY * tolerance, NEARLY * half_width):
            now = stood_in(section, last)
            before = Before(now, np.arange(len(now.values)) < len(now.coldest))
            also = Also(coldest_places(last.on, now), 2 * passes[0].mesh.unknowns)
        mesh = _halved(last, tolerance, half_width, also)
    elif narrow(last, NEARLY_GRADED * tolerance, NEARLY_GRADED * half_width):
        mesh = _graded(section, last, tolerance, half_width, 2 * _coarsest(passes).mesh.unknowns)
        if mesh is not None and mesh.unknowns <= MOST_UNKNOWNS:
            mesh, before = _divided_at_places(section, passes, mesh)
    else:
        mesh = _graded(section, last, tolerance, half_width)
    finer = _solved(section, mesh)
    return None if finer is None else (finer, before)


def _divided_at_places(section: Section, passes: list[Solution], mesh: SectionMesh) -> tuple[SectionMesh, Before]:
    """A mesh divided into sixteen at the coldest points, and where other temperatures have changed too much so far."""
    on = space(mesh)
    now = interesting(section, on, None, tensors(section))
    divided = np.arange(len(now.values)) < len(now.coldest)
    if not divided.all():
        coarser = [one for one in passes if one.mesh.unknowns <= mesh.unknowns / 2]
        earlier = stood_in(section, coarser[-1] if coarser else passes[0])
        divided |= np.abs(now.values - earlier.values) > AGREEMENT * now.span
    close = close_to(section, on, now, divided)
    return (refine(mesh, close, close) if close.size else mesh), Before(now, divided)


def _coarsest(passes: list[Solution]) -> Solution:
    """The coarsest pass whose flows the doubling criterion may be held against."""
    most = iso_10211.LARGEST_DOUBLING_DIFFERENCE
    return next((one for one in passes if narrow(one, most, np.inf)), passes[-1])


def _settled_already(section: Section, passes: list[Solution], before: Before) -> Settled | None:
    """The end of the loop if nothing is left to look at; None if there is.

    Args:
        section: the section.
        passes: all solutions.
        before: temperatures of interest before the last one's mesh was divided at their places.
    """
    number = _half_as_fine(passes)
    if number is None or not _doubling_kept(passes[number], passes[-1]):
        return None
    last = passes[-1]
    stood = stood_in(section, last)
    changes = np.abs(stood.values - before.now.values)
    if not before.divided.all():
        apart = np.abs(stood.values - stood_in(section, passes[number]).values)
        changes = np.where(before.divided, changes, apart)
    if np.any(changes > AGREEMENT * stood.span):
        return None
    return Settled(tuple(passes), passes[number], temperatures_of(section, last), changes, complete=True)


def _looked_closer(section: Section, passes: list[Solution]) -> Looked:
    """The mesh refined at the places of interest, and doubled where no pass is half as fine or flows still change."""
    tensor, last, number = tensors(section), passes[-1], _half_as_fine(passes)
    now = stood_in(section, last)
    if number is None or not _doubling_kept(passes[number], last):
        worst = np.argsort(last.gap.triangle)[::-1].astype(np.int64)
        return look_closer(section, tensor, (last.mesh, last.on, now), None, worst)
    first = passes[number]
    elsewhere = len(now.values) > len(now.coldest)
    earlier = stood_in(section, first) if elsewhere else now
    return look_closer(section, tensor, (last.mesh, last.on, now), earlier, None)


def temperatures_of(section: Section, one: Solution) -> Temperatures:
    """Temperatures of interest of a pass.

    Args:
        section: the section.
        one: its solution; it remembers what has been solved for them.
    """
    return interesting(section, one.on, one.warm, tensors(section), _factor_nodes(section, one))


def stood_in(section: Section, one: Solution) -> Temperatures:
    """The same, those with the resistances of the temperature factor standing in for both, see `interesting`.

    Args:
        section: the section.
        one: its solution.
    """
    return interesting(section, one.on, None, tensors(section), _factor_nodes(section, one))


def _factor_nodes(section: Section, one: Solution) -> FloatArray:
    """Temperatures of a pass with the resistances of the temperature factor, solved for once."""
    if not one.factor:
        factor = conditions(section, for_f_rsi=True)
        same = np.array_equal(conditions(section).resistance, factor.resistance)
        nodes = one.warm.nodes if same else nodal_temperatures(one.on, tensors(section), factor)
        one.factor.append(nodes @ np.array([environment.temperature for environment in section.environments]))
    return one.factor[0]


def _settled(section: Section, passes: list[Solution], looked: Looked, complete: bool) -> Settled:
    last = passes[-1]
    last.factor.append(looked.now.nodes_f_rsi)
    now = temperatures_of(section, last)
    return Settled(tuple(passes), passes[_half_as_fine(passes) or 0], now, looked.changes, complete)


def _unsettled(section: Section, passes: list[Solution]) -> Settled:
    """The end of a loop whose bracket cannot become as narrow as asked."""
    earlier = passes[_half_as_fine(passes) or 0]
    now, before = temperatures_of(section, passes[-1]), temperatures_of(section, earlier)
    return Settled(tuple(passes), earlier, now, np.abs(now.values - before.values), complete=False)


def _settle_prescribed(section: Section, passes: list[Solution]) -> Settled:
    """Refine everywhere until temperatures settle, where prescribed ones meet and flows have no value."""
    while True:
        finer = refine_once(section, passes[-1], 0.0, 0.0) if len(passes) < MOST_PASSES else None
        if finer is None:
            return _unsettled(section, passes)
        passes.append(finer)
        now = _unsettled(section, passes[-2:])
        if np.all(now.changes <= AGREEMENT * now.now.span):
            return replace(now, passes=tuple(passes), complete=True)


def _doubling_kept(earlier: Solution, last: Solution) -> bool:
    """Whether no environment's flow changes by more than ISO 10211 allows while the unknowns double at least."""
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
    return solve(mesh if section.revolution else begun(mesh), tensors(section), conditions(section))


@dataclass(frozen=True)
class Also:
    """What a pass divides beside the triangles that carry most of the gap.

    Attributes:
        close: triangles to be divided twice whatever their gap; shape (k,).
        least: unknowns that the finer mesh should have.
    """

    close: Whole
    least: int


def refine_once(section: Section, last: Solution, tolerance: float, half_width: float) -> Solution | None:
    """Both fields on the next mesh; None where it is too large, rounding spoils it, or no triangle can be divided.

    Args:
        section: the section.
        last: both fields on the mesh so far.
        tolerance: widest relative bracket [-].
        half_width: widest half of the bracket [W/(m·K)].
    """
    by_halves = last.warm.singular or last.on.weights is not None
    if by_halves:
        return _solved(section, _halved(last, tolerance, half_width))
    return _solved(section, _graded(section, last, tolerance, half_width))


def _solved(section: Section, mesh: SectionMesh | None) -> Solution | None:
    if mesh is None or mesh.unknowns > MOST_UNKNOWNS:
        return None
    try:
        return solve(mesh, tensors(section), conditions(section))
    except SectionError:
        # Rounding has spoiled the finer solution; the one before holds.
        return None


def _graded(
    section: Section, last: Solution, tolerance: float, half_width: float, least: int = 0
) -> SectionMesh | None:
    """The next mesh of a plane section, see `grading`; None where no triangle can be divided."""
    if len(divisible(last.on, np.arange(len(last.on.triangles)))) < len(last.on.triangles):
        return None
    total = float(last.gap.triangle.sum())
    allowed = min(_allowed(last, tolerance, half_width), 0.5 * total)
    return graded(last.mesh, tensors(section), last.gap.triangle, allowed, least)


def _halved(last: Solution, tolerance: float, half_width: float, also: Also | None = None) -> SectionMesh | None:
    """The next mesh with the marked triangles divided into four or sixteen; None where none can be divided."""
    if last.warm.singular:
        chosen, twice = divisible(last.on, np.arange(len(last.on.triangles))), None
    else:
        chosen = divisible(last.on, marked(last.gap))
        fair = _allowed(last, tolerance, half_width) / len(last.gap.triangle)
        twice = chosen[last.gap.triangle[chosen] > TWICE * fair]
    if not chosen.size:
        return None
    if also is not None and twice is not None:
        # Four triangles for one are six to eight unknowns more.
        count = max(len(chosen), -(-(also.least - last.mesh.unknowns - 24 * len(also.close)) // 6))
        worst = np.argsort(last.gap.triangle)[::-1][:count].astype(np.int64)
        chosen = np.union1d(np.union1d(chosen, divisible(last.on, worst)), also.close)
        twice = np.union1d(twice, also.close)
    return refine(last.mesh, chosen, twice)


def _allowed(solution: Solution, tolerance: float, half_width: float) -> float:
    """The gap, summed over environments, of a bracket that is as narrow as asked."""
    return float(np.minimum(tolerance * np.diag(solution.warm.upper), 2 * half_width).sum())


def _half_as_fine(passes: list[Solution]) -> int | None:
    """Number of the finest pass with at most half as many unknowns as the last one."""
    most = passes[-1].mesh.unknowns / 2
    coarser = [k for k, p in enumerate(passes[:-1]) if p.mesh.unknowns <= most]
    return coarser[-1] if coarser else None
