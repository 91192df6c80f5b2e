"""Which mesh follows on a solution, and what of its temperatures is known beforehand.

Part of the loop that refines a mesh. Plane sections are graded towards corners and orders rise elsewhere, see
`grading`; solids of revolution, and flows without a value, go by halves. When the next bracket will probably be narrow,
the triangles at the coldest points are divided too.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bridge2d.bounds import Gap
from bridge2d.closer_look import AGREEMENT, MOST_UNKNOWNS, close_to, coldest_places, divisible
from bridge2d.detail import Section
from bridge2d.evaluation import Temperatures, interesting
from bridge2d.grading import graded
from bridge2d.mesh import SectionMesh, refine
from bridge2d.partition import Whole
from bridge2d.solution import Solution, narrow, temperatures_of, tensors
from bridge2d.spaces import space
from bridge2d.standards import iso_10211

MARKED_SHARE = 0.8
"""Share of the gap that the divided triangles carry, unless the gap is spread over many far better than the worst."""
LEAST_OF_WORST = 0.05
"""A triangle whose gap is smaller than this share of the worst one's is left as it is."""
STUCK = 0.5
"""The loop ends when triangles that are too small to be divided hold this share of a gap that is wider than asked, as
at a corner where materials of very different conductivity meet crosswise: the others could give no more than the
rest."""
TWICE = 200.0
"""A triangle whose gap is more than this many times its fair share of the bracket is divided twice at once."""
NEARLY, NEARLY_GRADED = 3.0, 50.0
"""A bracket at most this many times as wide as asked is expected to become narrow with the next pass, by halves or by
`grading`; the triangles at the coldest points are then divided too, and what they change by is known without a pass of
its own."""


@dataclass(frozen=True)
class Before:
    """Temperatures of interest before the mesh was divided at their places.

    Attributes:
        now: on the mesh before.
        divided: whether the mesh was divided at the place of each of `now.values`; shape (k,).
    """

    now: Temperatures
    divided: NDArray[np.bool_]


def next_mesh(
    section: Section, passes: list[Solution], tolerance: float, half_width: float
) -> tuple[SectionMesh | None, Before | None]:
    """The next mesh, and temperatures before it was divided at their places if it was.

    Args:
        section: the section.
        passes: all solutions so far.
        tolerance: widest relative bracket [-].
        half_width: widest half of the bracket [W/(m·K)].

    Returns:
        no mesh where no triangle can be divided.
    """
    last, before = passes[-1], None
    if last.on.weights is not None:
        also = None
        if narrow(last, NEARLY * tolerance, NEARLY * half_width):
            now = temperatures_of(section, last)
            before = Before(now, np.arange(len(now.values)) < len(now.coldest))
            also = Also(coldest_places(last.on, now), 2 * passes[0].mesh.unknowns)
        return _halved(last, tolerance, half_width, also), before
    if not narrow(last, NEARLY_GRADED * tolerance, NEARLY_GRADED * half_width):
        return _graded(section, last, tolerance, half_width), None
    mesh = _graded(section, last, tolerance, half_width, 2 * _coarsest(passes).mesh.unknowns)
    if mesh is None or mesh.unknowns > MOST_UNKNOWNS:
        return mesh, None
    return _divided_at_places(section, passes, mesh)


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


@dataclass(frozen=True)
class Also:
    """What a pass divides beside the triangles that carry most of the gap.

    Attributes:
        close: triangles to be divided twice whatever their gap; shape (k,).
        least: unknowns that the finer mesh should have.
    """

    close: Whole
    least: int


def finer_mesh(section: Section, last: Solution, tolerance: float, half_width: float) -> SectionMesh | None:
    """The next mesh by the gap of the bounds alone; None where no triangle can be divided.

    Args:
        section: the section.
        last: both fields on the mesh so far.
        tolerance: widest relative bracket [-].
        half_width: widest half of the bracket [W/(m·K)].
    """
    if last.warm.singular or last.on.weights is not None:
        return _halved(last, tolerance, half_width)
    return _graded(section, last, tolerance, half_width)


def _graded(
    section: Section, last: Solution, tolerance: float, half_width: float, least: int = 0
) -> SectionMesh | None:
    """The next mesh of a plane section, see `grading`; None where no triangle can be divided, or none that counts."""
    small = np.ones(len(last.on.triangles), dtype=bool)
    small[divisible(last.on, np.arange(len(small)))] = False
    gap, asked = last.gap.triangle, _allowed(last, tolerance, half_width)
    if gap[small].sum() > max(asked, STUCK * gap.sum()):
        return None
    return graded(last.mesh, tensors(section), gap, min(asked, 0.5 * float(gap.sum())), least=least, small=small)


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


def _coarsest(passes: list[Solution]) -> Solution:
    """The coarsest pass that the doubling criterion may be held against: no finer one's flows can differ by more."""
    lower = np.diag(passes[-1].stream.lower)
    most = (1.0 + 0.5 * iso_10211.LARGEST_DOUBLING_DIFFERENCE) * lower
    return next((one for one in passes if np.all(np.diag(one.warm.upper) <= most)), passes[-1])


def _divided_at_places(section: Section, passes: list[Solution], mesh: SectionMesh) -> tuple[SectionMesh, Before]:
    """A mesh divided into sixteen at the coldest points, and where other temperatures have changed too much so far."""
    on = space(mesh)
    now = interesting(section, on, None, tensors(section))
    divided = np.arange(len(now.values)) < len(now.coldest)
    if not divided.all():
        coarser = [one for one in passes if one.mesh.unknowns <= mesh.unknowns / 2]
        earlier = temperatures_of(section, coarser[-1] if coarser else passes[0])
        divided |= np.abs(now.values - earlier.values) > AGREEMENT * now.span
    close = close_to(section, on, now, divided)
    return (refine(mesh, close, close) if close.size else mesh), Before(now, divided)
