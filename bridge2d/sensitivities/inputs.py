"""Materials and surfaces of a detail's sections as inputs that can be varied."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from bridge2d.sensitivities.sections import Change, nothing

if TYPE_CHECKING:
    from bridge2d.detail import Region, Section, Surface
    from bridge2d.materials import Material
    from bridge2d.sensitivities.forms import FloatArray

FROZEN_SOURCE = "computed and frozen"
"""Ends the source of a cavity's conductivity."""


def is_cavity(region: Region) -> bool:
    """Whether a region's conductivity was computed and frozen."""
    return region.cavity is not None or region.material.source.endswith(FROZEN_SOURCE)


@dataclass(frozen=True)
class MaterialInput:
    """A conductivity of a material, in all regions of all sections that have it.

    Attributes:
        material: with that conductivity.
        frozen: whether it is a cavity's.
        axis: "" of an isotropic material, else "across" or "along" the grain.
    """

    material: Material
    frozen: bool
    axis: str

    kind = "material"
    measure = "conductivity"

    @property
    def name(self) -> str:
        """Of the material, with the axis."""
        return f"{self.material.name}, {self.axis} the grain" if self.axis else self.material.name

    @property
    def value(self) -> float:
        """The conductivity [W/(m·K)]."""
        along = self.material.conductivity_along
        return along if self.axis == "along" and along is not None else self.material.conductivity

    def _has(self, region: Region) -> bool:
        return _material_key(region) == _key(self.material, self.frozen)

    def change(self, section: Section) -> Change:
        """How a section changes per unit of the conductivity."""
        made = nothing(section)
        for number, region in enumerate(section.regions):
            if self._has(region):
                made.tensor[number] = self._direction(region)
        return made

    def _direction(self, region: Region) -> FloatArray:
        if region.material.conductivity_along is None or region.grain_direction is None:
            return np.zeros((2, 2)) if self.axis == "along" else np.eye(2)
        angle = np.deg2rad(region.grain_direction)
        grain = np.array([np.cos(angle), np.sin(angle)])
        along = np.outer(grain, grain)
        return along if self.axis == "along" else np.eye(2) - along

    def varied(self, section: Section, amount: float) -> Section:
        """The section with the conductivity changed by an amount [W/(m·K)]."""
        value = self.value + amount
        along = self.axis == "along"
        other = (
            replace(self.material, conductivity_along=value) if along else replace(self.material, conductivity=value)
        )
        regions = tuple(replace(r, material=other) if self._has(r) else r for r in section.regions)
        return replace(section, regions=regions)


@dataclass(frozen=True)
class SurfaceInput:
    """A surface resistance of the heat flow on all surfaces of an environment that have it.

    Attributes:
        name: of the environment.
        value: the resistance [m²·K/W].
    """

    name: str
    value: float

    kind = "surface"
    measure = "resistance"

    def change(self, section: Section) -> Change:
        """How a section changes per unit of the resistance."""
        made = nothing(section)
        made.resistance[[self._has(surface) for surface in section.surfaces], 0] = 1.0
        return made

    def _has(self, surface: Surface) -> bool:
        return (surface.environment, surface.resistance) == (self.name, self.value)

    def varied(self, section: Section, amount: float) -> Section:
        """The section with the resistance changed by an amount [m²·K/W]."""
        surfaces = tuple(
            replace(one, resistance=self.value + amount) if self._has(one) else one for one in section.surfaces
        )
        return replace(section, surfaces=surfaces)


Key = tuple[str, float, float | None, bool]


def _key(material: Material, frozen: bool) -> Key:
    return material.name, material.conductivity, material.conductivity_along, frozen


def _material_key(region: Region) -> Key:
    return _key(region.material, is_cavity(region))


def material_inputs(sections: Iterable[Section]) -> Iterator[MaterialInput]:
    """Every conductivity of some sections, in their order.

    Args:
        sections: those that count.
    """
    regions = [region for section in sections for region in section.regions]
    first = {_material_key(region): region for region in reversed(regions)}
    for key in dict.fromkeys(map(_material_key, regions)):
        grained = any(
            r.grain_direction is not None and r.material.conductivity_along is not None
            for r in regions
            if _material_key(r) == key
        )
        for axis in ("across", "along") if grained else ("",):
            yield MaterialInput(first[key].material, key[3], axis)


def surface_inputs(sections: Iterable[Section]) -> Iterator[SurfaceInput]:
    """Every surface resistance of some sections that is not 0, in their order.

    Args:
        sections: those that count.
    """
    pairs = dict.fromkeys((one.environment, one.resistance) for section in sections for one in section.surfaces)
    for environment, resistance in pairs:
        if resistance > 0:
            yield SurfaceInput(environment, resistance)
