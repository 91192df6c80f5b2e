"""Cavities of frames: conductivities that depend on the heat flow are iterated, then frozen.

Before the bracket is made: a coarse solution tells for each cavity in which direction the heat flows and how warm its
faces are; ISO 10077-2 makes a conductivity of that, and so on until nothing changes. The bracket then holds for the
frozen conductivities, which the results carry like any other material's.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from bridge2d.detail import Cavity, Region, Section
from bridge2d.elements import rule
from bridge2d.errors import SectionError
from bridge2d.heat_flow import conditions, nodal_temperatures
from bridge2d.materials import Material
from bridge2d.mesh import SectionMesh, mesh_section, refine
from bridge2d.solution import tensors
from bridge2d.spaces import FloatArray, Space, gradients, space
from bridge2d.standards import iso_10077_2 as iso

SETTLED = 1e-4
"""Cavities are settled when no conductivity changes by more than this share."""
MOST_ROUNDS = 40
FINER = 1
"""How often the first mesh is divided before cavities are iterated on it."""


@dataclass(frozen=True)
class FrozenCavity:
    """How a cavity's conductivity came about.

    Attributes:
        region: index of its region.
        depth, width: of the equivalent rectangle, along and across the heat flow [m].
        mean_temperature: of the faces that the heat flows through [°C].
        difference: between them [K].
        conductivity: λ_eq [W/(m·K)].
    """

    region: int
    depth: float
    width: float
    mean_temperature: float
    difference: float
    conductivity: float


def frozen(section: Section, mesher: str = "auto") -> tuple[Section, tuple[FrozenCavity, ...]]:
    """The section with every cavity's conductivity settled.

    Args:
        section: may have regions that are cavities.
        mesher: see `mesh.mesh_section`.

    Returns:
        The section with plain conductivities, and how each of them came about.

    Raises:
        SectionError: the conductivities do not settle.
    """
    numbers = [k for k, region in enumerate(section.regions) if region.cavity is not None]
    if not numbers:
        return section, ()
    mesh = _fine_enough(section, mesher)
    on = space(mesh)
    current, states = section, tuple(_first(section, on, k) for k in numbers if np.any(on.region == k))
    for _ in range(MOST_ROUNDS):
        current = _with(section, states)
        following = _looked_at(current, on, states)
        change = max(abs(a.conductivity / b.conductivity - 1.0) for a, b in zip(following, states, strict=True))
        states = following
        if change <= SETTLED:
            return _with(section, states), states
    raise SectionError("the conductivities of its cavities do not settle", ("region", states[0].region))


def _fine_enough(section: Section, mesher: str) -> SectionMesh:
    mesh = mesh_section(section, mesher)
    for _ in range(FINER):
        mesh = refine(mesh, np.arange(mesh.mesh.t.shape[1]))
    return mesh


def _cavity(region: Region) -> Cavity:
    assert region.cavity is not None
    return region.cavity


def _first(section: Section, on: Space, number: int) -> FrozenCavity:
    """A cavity before anything is known of its heat flow: along its longer side, temperatures of the standard."""
    wide, high = _box(on, number)
    depth, width = iso.equivalent_rectangle(_area(on, number), max(wide, high), min(wide, high))
    return _made(
        _cavity(section.regions[number]), number, (depth, width), iso.MEAN_TEMPERATURE, iso.TEMPERATURE_DIFFERENCE
    )


def _area(on: Space, number: int) -> float:
    return float(0.5 * on.scale[on.region == number].sum())


def _box(on: Space, number: int) -> tuple[float, float]:
    """Width and height of the rectangle round a cavity [m]."""
    corners = on.points[on.triangles[on.region == number, :3]].reshape(-1, 2)
    wide, high = np.ptp(corners, axis=0).tolist()
    return wide, high


def _made(cavity: Cavity, number: int, rectangle: tuple[float, float], mean: float, difference: float) -> FrozenCavity:
    conductivity = iso.equivalent_conductivity(
        *rectangle,
        slightly_ventilated=cavity.slightly_ventilated,
        emissivities=(cavity.emissivity, cavity.emissivity),
        mean_temperature=mean,
        difference=difference,
    )
    return FrozenCavity(number, *rectangle, mean, difference, conductivity)


def _looked_at(current: Section, on: Space, states: tuple[FrozenCavity, ...]) -> tuple[FrozenCavity, ...]:
    """The cavities after one more look at the temperatures."""
    tensor = tensors(current)
    given = np.array([environment.temperature for environment in current.environments])
    nodes = nodal_temperatures(on, tensor, conditions(current)) @ given
    (block,) = on.blocks
    slope = gradients(on, block, nodes[on.triangles][:, :, None])[..., 0]
    weights = rule(block.order)[1][None, :] * on.scale[:, None]
    return tuple(_next(current, on, state, nodes, slope, weights) for state in states)


def _next(
    current: Section, on: Space, state: FrozenCavity, nodes: FloatArray, slope: FloatArray, weights: FloatArray
) -> FrozenCavity:
    own = on.region == state.region
    mean_slope = np.einsum("mqa,mq->a", slope[own], weights[own]) / weights[own].sum()
    wide, high = _box(on, state.region)
    level = abs(mean_slope[0]) >= abs(mean_slope[1])
    depth, width = (wide, high) if level else (high, wide)
    rectangle = iso.equivalent_rectangle(_area(on, state.region), depth, width)
    cavity = _cavity(current.regions[state.region])
    if not cavity.computed_temperatures:
        return _made(cavity, state.region, rectangle, iso.MEAN_TEMPERATURE, iso.TEMPERATURE_DIFFERENCE)
    mean = float(np.average(nodes[on.triangles[own]].mean(axis=1), weights=on.scale[own]))
    difference = float(abs(mean_slope[0] if level else mean_slope[1])) * depth
    return _made(cavity, state.region, rectangle, mean, difference)


def _with(section: Section, states: tuple[FrozenCavity, ...]) -> Section:
    """The section with the cavities' conductivities in their regions."""
    regions = list(section.regions)
    for state in states:
        region = regions[state.region]
        kind = "slightly ventilated" if _cavity(region).slightly_ventilated else "unventilated"
        material = Material(
            f"{kind} cavity, {1000 * state.depth:.1f} × {1000 * state.width:.1f} mm",
            state.conductivity,
            group="air",
            hatch="air",
            density=1.23,
            vapour_factor=1.0,
            source=(
                f"ISO 10077-2:2012, 6.3: rectangle {1000 * state.depth:.1f} mm along and {1000 * state.width:.1f} mm "
                f"across the heat flow, mean {state.mean_temperature:.1f} °C, difference {state.difference:.1f} K, "
                f"emissivities {_cavity(region).emissivity:g}; computed and frozen"
            ),
        )
        regions[state.region] = replace(region, material=material)
    return replace(section, regions=tuple(regions))
