"""The loop that refines a section's mesh until its bracket is as narrow as asked.

Fifth step of the numerics. The local gap says where the bracket is lost; there the next mesh is finer, or its functions
of higher order, and both fields are solved again. No safety factor and no rule of thumb: the loop ends when the bounds
themselves agree. Temperatures have no bracket; once the one of L2D is narrow, `closer_look` refines the mesh at their
places.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from bridge2d.closer_look import AGREEMENT, MOST_UNKNOWNS, Looked, look_closer
from bridge2d.cuts import too_coarse_to_cut
from bridge2d.detail import Section
from bridge2d.errors import SectionError
from bridge2d.evaluation import Temperatures
from bridge2d.grading import begun
from bridge2d.heat_flow import conditions
from bridge2d.mesh import SectionMesh, mesh_section, refine
from bridge2d.next_mesh import Before, finer_mesh, next_mesh
from bridge2d.solution import Solution, narrow, solve, temperatures_of, tensors
from bridge2d.spaces import FloatArray, space
from bridge2d.standards import iso_10211

MOST_PASSES = 80
MOST_CUT_ROUNDS = 3
"""How often the rims of holes are divided so that the stream function can be cut there."""


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
        mesh, before = next_mesh(section, passes, tolerance, half_width)
        finer = _solved(section, mesh)
        if finer is None:
            return _unsettled(section, passes)
        passes.append(finer)


def once(section: Section, mesh: SectionMesh) -> Settled:
    """Both fields on a mesh that is there; nothing is settled.

    Args:
        section: the section.
        mesh: of it.

    Raises:
        SectionError: rounding spoils the solution.
    """
    return _unsettled(section, [solve(mesh, tensors(section), conditions(section))])


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
    stood = temperatures_of(section, last)
    changes = np.abs(stood.values - before.now.values)
    if not before.divided.all():
        apart = np.abs(stood.values - temperatures_of(section, passes[number]).values)
        changes = np.where(before.divided, changes, apart)
    if np.any(changes > AGREEMENT * stood.span):
        return None
    return Settled(tuple(passes), passes[number], temperatures_of(section, last), changes, complete=True)


def _looked_closer(section: Section, passes: list[Solution]) -> Looked:
    """The mesh refined at the places of interest, and doubled where no pass is half as fine or flows still change."""
    tensor, last, number = tensors(section), passes[-1], _half_as_fine(passes)
    now = temperatures_of(section, last)
    if number is None or not _doubling_kept(passes[number], last):
        worst = np.argsort(last.gap.triangle)[::-1].astype(np.int64)
        return look_closer(section, tensor, (last.mesh, last.on, now), None, worst)
    first = passes[number]
    elsewhere = len(now.values) > len(now.coldest)
    earlier = temperatures_of(section, first) if elsewhere else now
    return look_closer(section, tensor, (last.mesh, last.on, now), earlier, None)


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


def refine_once(section: Section, last: Solution, tolerance: float, half_width: float) -> Solution | None:
    """Both fields on the next mesh; None where it is too large, rounding spoils it, or no triangle can be divided.

    Args:
        section: the section.
        last: both fields on the mesh so far.
        tolerance: widest relative bracket [-].
        half_width: widest half of the bracket [W/(m·K)].
    """
    return _solved(section, finer_mesh(section, last, tolerance, half_width))


def _solved(section: Section, mesh: SectionMesh | None) -> Solution | None:
    if mesh is None or mesh.unknowns > MOST_UNKNOWNS:
        return None
    try:
        return solve(mesh, tensors(section), conditions(section))
    except SectionError:
        # Rounding has spoiled the finer solution; the one before holds.
        return None


def _half_as_fine(passes: list[Solution]) -> int | None:
    """Number of the finest pass with at most half as many unknowns as the last one."""
    most = passes[-1].mesh.unknowns / 2
    coarser = [k for k, p in enumerate(passes[:-1]) if p.mesh.unknowns <= most]
    return coarser[-1] if coarser else None
