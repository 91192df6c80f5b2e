"""Temperatures at the places that matter: coldest points of surfaces, probes, the lowest along a watched line."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NoReturn

import numpy as np

from bridge2d.detail import Section
from bridge2d.elements import shape_values
from bridge2d.errors import SectionError
from bridge2d.heat_flow import Conditions, Temperature, conditions, nodal_temperatures
from bridge2d.partition import ADIABATIC, Whole
from bridge2d.spaces import FloatArray, Space

SAMPLES = 33
"""Points on a watched line at which the temperature is looked up."""
RUN = 33
"""Points that are looked up together."""
NEAR = 1e-6
"""Slack of a triangle's box [m]."""
AT_NODE = 1e-3
"""How near a node a point lies on it, as a share of the triangle's size."""
OUTSIDE = 1e-6
"""How far outside its triangle, in shares of it, a point may lie for rounding."""
ROUNDED = 1e-6
"""How far outside it may lie besides [m]: corners on oblique edges stand on whole micrometres."""


@dataclass(frozen=True)
class Coldest:
    """The coldest point of an environment's surfaces.

    Attributes:
        environment: index of the environment.
        temperature: [°C].
        point: [m].
        surface: index of the surface on which it lies.
    """

    environment: int
    temperature: float
    point: tuple[float, float]
    surface: int


@dataclass(frozen=True)
class Temperatures:
    """What one mesh says of the temperatures that are printed.

    Attributes:
        nodes: coefficients, first the temperatures at the nodes, with the surface resistances of the heat flow; shape
            (size,) [°C].
        nodes_f_rsi: the same with those of the temperature factor; shape (size,) [°C].
        coldest: per environment warmer than the coldest.
        probes: at the probes, both solutions; shape (P, 2) [°C].
        watched: lowest along each watched line, both solutions; shape (W, 2) [°C].
        watched_points: where it is lowest in either solution; shape (W, 2, 2) [m].
        span: difference between the warmest and the coldest environment [K].
    """

    nodes: FloatArray
    nodes_f_rsi: FloatArray
    coldest: tuple[Coldest, ...]
    probes: FloatArray
    watched: FloatArray
    watched_points: FloatArray
    span: float

    @property
    def values(self) -> FloatArray:
        """All that is printed: coldest points, then probes and watched lines, both solutions; shape (k,) [°C]."""
        return np.concatenate([[c.temperature for c in self.coldest], self.probes.ravel(), self.watched.ravel()])

    def places(self, probes: FloatArray) -> FloatArray:
        """Where `values` are.

        Args:
            probes: points of the probes; shape (P, 2) [m].

        Returns:
            shape (k, 2) [m].
        """
        coldest = np.array([c.point for c in self.coldest]).reshape(-1, 2)
        return np.concatenate([coldest, np.repeat(probes, 2, axis=0), self.watched_points.reshape(-1, 2)])


def interesting(
    section: Section, on: Space, warm: Temperature | None, tensor: FloatArray, nodes_f_rsi: FloatArray | None = None
) -> Temperatures:
    """Temperatures that are printed, from one mesh.

    Args:
        section: the section.
        on: the space.
        warm: temperatures for unit environments on it; None where they are not known. They are computed then if a
            probe or a watched line needs them, else those of the temperature factor stand in for them.
        tensor: conductivity of each region; shape (R, 2, 2) [W/(m·K)].
        nodes_f_rsi: temperatures with the surface resistances of the temperature factor, where they are known;
            shape (size,) [°C].
    """
    given = np.array([environment.temperature for environment in section.environments])
    flow, factor = conditions(section), conditions(section, for_f_rsi=True)
    if nodes_f_rsi is None and warm is not None and np.array_equal(flow.resistance, factor.resistance):
        nodes_f_rsi = warm.nodes @ given
    if nodes_f_rsi is None:
        nodes_f_rsi = nodal_temperatures(on, tensor, factor) @ given
    nodes = nodes_f_rsi if warm is None else warm.nodes @ given
    if warm is None and (section.probes or section.watched) and not np.array_equal(flow.resistance, factor.resistance):
        nodes = nodal_temperatures(on, tensor, flow) @ given
    columns = np.stack([nodes, nodes_f_rsi], axis=1)
    points = np.array([probe.point for probe in section.probes]).reshape(-1, 2)
    probes = at_points(on, columns, points)
    lowest, where = _watched(section, on, columns)
    coldest = _coldest(on, factor, nodes_f_rsi, given)
    return Temperatures(nodes, nodes_f_rsi, coldest, probes, lowest, where, float(np.ptp(given)))


def _coldest(on: Space, factor: Conditions, nodes: FloatArray, given: FloatArray) -> tuple[Coldest, ...]:
    rim = on.rim
    result = []
    for environment in range(factor.count):
        if given[environment] <= given.min():
            continue
        side = rim.surface != ADIABATIC
        side[side] = (factor.environment[rim.surface[side]] == environment) & (factor.resistance[rim.surface[side]] > 0)
        if not side.any():
            continue
        at = on.triangles[rim.triangle[side, None], rim.local[side]]
        row, column = np.unravel_index(int(np.argmin(nodes[at])), at.shape)
        node = at[row, column]
        x, y = on.points[node].tolist()
        result.append(Coldest(environment, float(nodes[node]), (x, y), int(rim.surface[side][row])))
    return tuple(result)


def _watched(section: Section, on: Space, values: FloatArray) -> tuple[FloatArray, FloatArray]:
    share = np.linspace(0.0, 1.0, SAMPLES)[:, None]
    lowest, where = np.empty((len(section.watched), 2)), np.empty((len(section.watched), 2, 2))
    for k, watched in enumerate(section.watched):
        start, end = np.array(watched.line)
        points = start + share * (end - start)
        found = at_points(on, values, points)
        lowest[k] = found.min(axis=0)
        where[k] = points[np.argmin(found, axis=0)]
    return lowest, where


def at_points(on: Space, values: FloatArray, points: FloatArray) -> FloatArray:
    """Values of functions at points of the section.

    Args:
        on: the space.
        values: coefficients; shape (size, E).
        points: shape (k, 2) [m].

    Returns:
        shape (k, E).

    Raises:
        SectionError: a point lies outside the section.
    """
    if not len(points):
        return np.empty((0, values.shape[1]))
    triangle, local = _located(on, points)
    functions = on.functions[triangle]
    shape = shape_values(local.T)[: functions.shape[1]].T
    return np.asarray((shape[:, None, :] @ values[functions])[:, 0])


def touching(on: Space, points: FloatArray) -> Whole:
    """The triangles that hold points, or have a node there.

    Args:
        on: the space.
        points: shape (k, 2) [m].

    Returns:
        their numbers; shape (m,).
    """
    if not len(points):
        return np.empty(0, dtype=np.int64)
    near = np.zeros(len(on.triangles), dtype=bool)
    near[_located(on, points)[0]] = True
    for point in points:
        distance = ((on.points - point) ** 2).sum(axis=1)[on.triangles].min(axis=1)
        near |= distance <= AT_NODE**2 * on.scale
    return np.flatnonzero(near).astype(np.int64)


def _located(on: Space, points: FloatArray) -> tuple[Whole, FloatArray]:
    """The triangle that holds each point, and the point's coordinates in the reference triangle."""
    low, high = on.boxes
    found = []
    # Points that follow each other lie near each other: few triangles' boxes meet that of a run.
    for k in range(0, len(points), RUN):
        run = points[k : k + RUN]
        meets = (high >= run.min(axis=0) - NEAR) & (low <= run.max(axis=0) + NEAR)
        found.append(_located_among(on, np.flatnonzero(meets[:, 0] & meets[:, 1]), run))
    triangles, local = (np.concatenate(parts) for parts in zip(*found, strict=True))
    return triangles, local


def _located_among(on: Space, candidates: Whole, points: FloatArray) -> tuple[Whole, FloatArray]:
    """The triangle among these that holds each point, and the point's coordinates in the reference triangle."""
    if not candidates.size:
        _refuse_outside(points[0])
    corner, inverse = on.points[on.triangles[candidates, 0]], on.inverse[candidates]
    x, y = (points[:, k, None] - corner[:, k] for k in (0, 1))
    u, v = (inverse[:, k, 0] * x + inverse[:, k, 1] * y for k in (0, 1))
    inside = np.minimum(np.minimum(u, v), 1.0 - u - v)
    best = np.argmax(inside, axis=1)
    rows = np.arange(len(points))
    slope = on.inverse[candidates[best]]
    steepest = np.sqrt(np.maximum((slope**2).sum(axis=2).max(axis=1), (slope.sum(axis=1) ** 2).sum(axis=1)))
    outside = np.flatnonzero(inside[rows, best] < -(OUTSIDE + ROUNDED * steepest))
    if outside.size:
        _refuse_outside(points[outside[0]])
    return candidates[best], np.stack([u[rows, best], v[rows, best]], axis=1)


def _refuse_outside(point: FloatArray) -> NoReturn:
    raise SectionError(f"({point[0] * 1000:g}, {point[1] * 1000:g}) mm lies outside the section", ("section",))
