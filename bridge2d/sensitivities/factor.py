"""What changes of a section do to the temperature at one point of its surface, from one more solution.

The temperature at a point is a linear functional of the field. The field z that answers a unit source there says what
every change does to it: dθ = −(dK u − db)·z, with K and b of the heat balance. The coldest point of a surface is where
the temperature has no slope along it, or a corner that moves with its edges, so that its own way along the surface does
not count. Both fields are found on the section's last mesh and on the same mesh with each triangle cut into four; the
finer one is stated; twice their difference is its tolerance, and no less than a hundredth of the effect. On the last
mesh alone, which is enough for a factor that is not the lowest one, it is a twentieth. The coldest point lies between
nodes: what the effect differs by at the next ones of the surface counts too.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from bridge2d.heat_flow import conditions, with_answers
from bridge2d.mesh import labelled
from bridge2d.partition import ADIABATIC
from bridge2d.sensitivities.forms import FloatArray, Form, IntArray, Sides, Triangles, circumference, triangles
from bridge2d.sensitivities.sections import SIDE_NODES, Change, corner_count, with_middles
from bridge2d.sensitivity_records import Effect
from bridge2d.spaces import space

if TYPE_CHECKING:
    from bridge2d.mesh import SectionMesh
    from bridge2d.results import SectionResult, TemperatureFactor

QUARTERS = np.array([[0, 3, 5], [3, 1, 4], [5, 4, 2], [3, 4, 5]])
"""Corners of the four parts of a triangle, by its nodes."""

LEAST = 0.01
"""Two meshes tell an effect no better than to this share of it."""
ONE_MESH = 0.05
"""Nor does one mesh alone to this."""


class FactorForms:
    """A temperature factor's derivative, on one mesh or two."""

    def __init__(self, result: SectionResult, factor: TemperatureFactor, *, twice: bool) -> None:
        """Find both fields on the meshes.

        Args:
            result: of the section.
            factor: of one of its environments.
            twice: whether the finer mesh is taken too.
        """
        self.result = result
        given = [environment.temperature for environment in result.section.environments]
        warm = next(e.temperature for e in result.section.environments if e.name == factor.environment)
        self._span = warm - min(given)
        self._share = factor.tolerance / max(abs(1.0 - factor.value), 1e-9)
        self._levels = [
            _Level.of(result, mesh_of(result, parts), np.array(factor.point)) for parts in ((0, 1) if twice else (0,))
        ]

    def effect(self, change: Change) -> Effect:
        """Change of the factor per unit of an input.

        Args:
            change: of the section per unit of the input.
        """
        fields = self.result.solved or self.result.fields
        velocity = None if change.velocity is None else with_middles(fields, change.velocity)
        coarse, *finer = (level.changes(change, velocity) / self._span for level in self._levels)
        fine = finer[0] if finer else coarse
        value, beside = float(fine[0]), float(np.abs(fine - fine[0]).max())
        least = LEAST if finer else ONE_MESH
        settled = 2.0 * abs(value - float(coarse[0])) + max(self._share, least) * abs(value)
        return Effect(value, settled + beside)


def mesh_of(result: SectionResult, parts: int = 0) -> SectionMesh:
    """A section's last mesh.

    Args:
        result: of the section.
        parts: how often each triangle is cut into four, at most once.
    """
    fields = result.solved or result.fields
    assert fields.rim is not None
    triangle, side, surface = fields.rim.T
    ends = fields.triangles[triangle[:, None], SIDE_NODES[side]]
    if parts == 0:
        count = corner_count(fields)
        arrays = fields.points[:count], fields.triangles[:, :3], fields.region, ends[:, :2], surface
    else:
        inner = fields.triangles[:, QUARTERS].reshape(-1, 3)
        halves = np.concatenate([ends[:, [0, 2]], ends[:, [2, 1]]])
        arrays = fields.points, inner, np.repeat(fields.region, 4), halves, np.tile(surface, 2)
    order = None if fields.higher is None else np.repeat(fields.higher.order, 4**parts)
    return replace(labelled(*arrays, result.mesher), revolution=result.section.revolution, order=order)


@dataclass(frozen=True)
class _Level:
    """Temperatures and answers on one mesh.

    Attributes:
        points: places of the nodes; shape (N, 2) [m].
        regions: products of the gradients of temperature and answer by region, for the point and the next ones; shape
            (p, R, 2, 2).
        places: derivatives of their form by the place of every node; shape (p, N, 2).
        films: differences over the films, and the answer there, for the same points.
        surface: of each film's side; shape (k,).
        resistance: of each surface, for the temperature factor; shape (S,).
    """

    points: FloatArray
    regions: FloatArray
    places: FloatArray
    films: tuple[Sides, ...]
    surface: IntArray
    resistance: FloatArray

    @classmethod
    def of(cls, result: SectionResult, mesh: SectionMesh, point: FloatArray) -> _Level:
        section, tensor = result.section, result.fields.conductivity
        on = space(mesh)
        given = conditions(section, for_f_rsi=True)
        environments = np.array([environment.temperature for environment in section.environments])
        film = on.rim.surface != ADIABATIC
        film[film] = given.resistance[on.rim.surface[film]] > 0
        rim = on.rim.where(film)
        at = on.triangles[rim.triangle[:, None], rim.local]
        nodes = _with_next(at, int(np.argmin(((on.points - point) ** 2).sum(axis=1))))
        units, found = with_answers(on, tensor, given, nodes)
        warm = units @ environments
        higher = mesh.order is not None
        inside: Triangles = triangles(on.points, on.triangles, revolution=section.revolution, higher=higher)
        along, sense = on.along(rim), rim.sense
        off = warm[along] * sense
        off[:, :3] -= environments[given.environment[rim.surface]][:, None]
        slope, weight = inside.gradients(warm[on.functions]), circumference(inside)
        forms = [Form(inside, slope, inside.gradients(one[on.functions]), *weight) for one in found.T]
        regions = np.array([form.by_region(on.region, len(tensor)) for form in forms])
        places = np.array([form.by_point(tensor[on.region]) for form in forms])
        ends = at[:, 0], at[:, 1]
        films = tuple(Sides(*ends, off, one[along] * sense, on.points, section.revolution) for one in found.T)
        return cls(on.points, regions, places, films, rim.surface, given.resistance)

    def changes(self, change: Change, velocity: FloatArray | None) -> FloatArray:
        """Change of the temperature at the point and at the next ones per unit of an input; shape (p,) [K]."""
        total = (change.tensor * self.regions).sum(axis=(1, 2, 3))
        film = self.resistance[self.surface]
        if np.any(change.resistance[:, 1]):
            share = change.resistance[self.surface, 1] / film**2
            total -= [float((films.values() * share).sum()) for films in self.films]
        if velocity is not None:
            whole = np.zeros_like(self.points)
            count = min(len(velocity), len(whole))
            whole[:count] = velocity[:count]
            total += (self.places * whole).sum(axis=(1, 2))
            total += [float((films.values(whole) / film).sum()) for films in self.films]
        return np.asarray(-total)


def _with_next(sides: IntArray, node: int) -> IntArray:
    """A node of the outline and the ends of the sides with films that it lies on."""
    ends = sides[(sides == node).any(axis=1), :2].ravel()
    return np.array([node, *np.unique(ends[ends != node]).tolist()], dtype=np.int64)
