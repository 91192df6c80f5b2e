"""Both fields on one mesh, with the bounds that they give: what a pass of the loop computes.

Beside the temperatures of interest on it, which are solved for once, when they are first asked for.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from bridge2d.bounds import Gap, Stream, gap, stream_functions
from bridge2d.detail import Section
from bridge2d.errors import SectionError
from bridge2d.evaluation import Temperatures, interesting
from bridge2d.heat_flow import Conditions, Temperature, temperatures
from bridge2d.mesh import SectionMesh
from bridge2d.spaces import FloatArray, Space, space

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
        factor: temperatures with the resistances of the temperature factor where they are known; shape (size,) [°C].
        found: temperatures of interest, once they have been asked for.
    """

    mesh: SectionMesh
    on: Space
    warm: Temperature
    stream: Stream
    gap: Gap
    factor: list[FloatArray] = field(default_factory=list)
    found: list[Temperatures] = field(default_factory=list)


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


def temperatures_of(section: Section, one: Solution) -> Temperatures:
    """Temperatures of interest of a pass.

    Args:
        section: the section.
        one: its solution, which remembers them.
    """
    if not one.found:
        nodes = one.factor[0] if one.factor else None
        one.found.append(interesting(section, one.on, one.warm, tensors(section), nodes))
    return one.found[0]
