"""What changes of a section do to the temperature at one point of its surface, from one more solution.

The temperature at a point is a linear functional of the field. The field z that answers a unit source there says what
every change does to it: dθ = −(dK u − db)·z, with K and b of the heat balance. The coldest point of a surface is where
the temperature has no slope along it, or a corner that moves with its edges, so that its own way along the surface does
not count. Both fields are found on the section's last mesh and on the same mesh with each triangle cut into four; the
finer one is stated, and twice their difference is its tolerance.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from bridge2d.heat_flow import (
    ELIMINATED,
    Space,
    add_on_rim,
    assemble,
    conditions,
    nodal_temperatures,
    side_integrals,
    space,
    stiffness,
)
from bridge2d.mesh import labelled
from bridge2d.partition import ADIABATIC
from bridge2d.sensitivities.forms import FloatArray, Form, IntArray, Sides, Triangles, circumference, triangles
from bridge2d.sensitivities.sections import SIDE_NODES, Change, corner_count, with_middles
from bridge2d.sensitivity_records import Effect
from bridge2d.sparse import solved

if TYPE_CHECKING:
    from bridge2d.mesh import SectionMesh
    from bridge2d.results import SectionResult, TemperatureFactor

QUARTERS = np.array([[0, 3, 5], [3, 1, 4], [5, 4, 2], [3, 4, 5]])
"""Corners of the four parts of a triangle, by its nodes."""


class FactorForms:
    """A temperature factor's derivative, on two meshes."""

    def __init__(self, result: SectionResult, factor: TemperatureFactor) -> None:
        """Find both fields on both meshes.

        Args:
            result: of the section.
            factor: of one of its environments.
        """
        self.result = result
        given = [environment.temperature for environment in result.section.environments]
        warm = next(e.temperature for e in result.section.environments if e.name == factor.environment)
        self._span = warm - min(given)
        self._share = factor.tolerance / max(abs(1.0 - factor.value), 1e-9)
        self._levels = [
            _Level.of(result, mesh, np.array(factor.point)) for mesh in (_mesh(result, 0), _mesh(result, 1))
        ]

    @property
    def value(self) -> float:
        """Temperature at the point on the finer mesh [°C]."""
        level = self._levels[1]
        return float(level.warm[level.node])

    def effect(self, change: Change) -> Effect:
        """Change of the factor per unit of an input.

        Args:
            change: of the section per unit of the input.
        """
        fields = self.result.fields
        velocity = None if change.motion is None else with_middles(fields, change.motion.velocity)
        coarse, fine = (level.change(change, velocity) / self._span for level in self._levels)
        doubt = 0.0
        if change.motion is not None and change.motion.doubt is not None:
            only = replace(change, tensor=0.0 * change.tensor, resistance=0.0 * change.resistance)
            doubt = abs(self._levels[1].change(only, with_middles(fields, change.motion.doubt))) / self._span
        return Effect(fine, 2.0 * abs(fine - coarse) + self._share * abs(fine) + doubt)


def _mesh(result: SectionResult, parts: int) -> SectionMesh:
    """The section's last mesh, or with each triangle cut into four."""
    fields = result.fields
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
    return replace(labelled(*arrays, result.mesher), revolution=result.section.revolution)


@dataclass(frozen=True)
class _Level:
    """Both fields on one mesh.

    Attributes:
        form: of the gradients of temperature and answer.
        region: of each triangle; shape (M,).
        tensor: of each region; shape (R, 2, 2).
        films: differences over the films, and the answer there.
        surface: of each film's side; shape (k,).
        resistance: of each surface, for the temperature factor; shape (S,).
        warm: temperatures; shape (N,) [°C].
        node: the point.
    """

    form: Form
    region: IntArray
    tensor: FloatArray
    films: Sides
    surface: IntArray
    resistance: FloatArray
    warm: FloatArray
    node: int

    @classmethod
    def of(cls, result: SectionResult, mesh: SectionMesh, point: FloatArray) -> _Level:
        section, tensor = result.section, result.fields.conductivity
        on = space(mesh)
        given = conditions(section, for_f_rsi=True)
        environments = np.array([environment.temperature for environment in section.environments])
        warm = nodal_temperatures(on, tensor, given) @ environments
        node = int(np.argmin(((on.points - point) ** 2).sum(axis=1)))
        answer = _answer(on, tensor, given.resistance, node)
        inside: Triangles = triangles(on.points, on.triangles, section.revolution)
        slopes = [inside.gradients(values[on.triangles]) for values in (warm, answer)]
        film = on.rim.surface != ADIABATIC
        film[film] = given.resistance[on.rim.surface[film]] > 0
        rim = on.rim.where(film)
        at = on.triangles[rim.triangle[:, None], rim.local]
        outside = environments[given.environment[rim.surface]][:, None]
        films = Sides(at[:, 0], at[:, 1], warm[at] - outside, answer[at], on.points, section.revolution)
        form = Form(inside, slopes[0], slopes[1], *circumference(inside))
        return cls(form, on.region, tensor, films, rim.surface, given.resistance, warm, node)

    def change(self, change: Change, velocity: FloatArray | None) -> float:
        """Change of the temperature at the point per unit of an input [K]."""
        total = float((change.tensor[self.region] * self.form.products()).sum())
        film = self.resistance[self.surface]
        if np.any(change.resistance[:, 1]):
            total -= float((self.films.values() * change.resistance[self.surface, 1] / film**2).sum())
        if velocity is not None:
            whole = np.zeros_like(self.form.on.points)
            count = min(len(velocity), len(whole))
            whole[:count] = velocity[:count]
            total += float(self.form.moved(self.tensor[self.region], whole).sum())
            total += float((self.films.values(whole) / film).sum())
        return -total


def _answer(on: Space, tensor: FloatArray, resistance: FloatArray, node: int) -> FloatArray:
    """The field that answers a unit source at a node; nothing where the temperature is prescribed; shape (N,)."""
    rim = on.rim
    facing = rim.surface != ADIABATIC
    films = rim.where(facing)
    films = films.where(resistance[films.surface] > 0)
    prescribed = rim.where(facing)
    prescribed = prescribed.where(resistance[prescribed.surface] == 0)
    matrices = stiffness(on, tensor)
    add_on_rim(matrices, films, side_integrals(on, films, 1.0 / resistance[films.surface])[0])
    free = np.ones(len(on.points), dtype=bool)
    free[on.triangles[prescribed.triangle[:, None], prescribed.local]] = False
    number = np.where(free, np.cumsum(free) - 1, ELIMINATED)
    right = np.zeros((int(free.sum()), 1))
    right[number[node], 0] = 1.0
    answer = np.zeros(len(on.points))
    answer[free] = solved(assemble(matrices, number[on.triangles], len(right)), right)[:, 0]
    return answer
