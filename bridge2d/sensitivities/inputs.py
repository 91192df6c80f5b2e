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
DERIVED = "computed from it"
"""In the source of a block that stands for a given U; that U may be off, and stands among the parameters."""
COMPUTED_SOURCE = "; computed"
"""Ends the source of a conductivity that a junction computed of others."""


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

    @property
    def name(self) -> str:
        """Of the material, with the axis."""
        return f"{self.material.name}, {self.axis} the grain" if self.axis else self.material.name

    @property
    def value(self) -> float:
        """The conductivity [W/(m·K)]."""
        along = self.material.conductivity_along
        return along if self.axis == "along" and along is not None else self.material.conductivity

    @property
    def computed(self) -> bool:
        """Whether it follows from other inputs: an air layer, a block for a given U, or one layer for several."""
        material = self.material
        derived = DERIVED in material.source or material.source.endswith(COMPUTED_SOURCE)
        return not self.frozen and (material.group == "air" or derived)

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
    """A surface resistance on some surfaces.

    Attributes:
        name: where they are.
        value: the resistance [m²·K/W].
        on: section's name and number of each surface.
        flow, factor: whether it counts for the heat flow, and for the temperature factor.
    """

    name: str
    value: float
    on: frozenset[tuple[str, int]]
    flow: bool = True
    factor: bool = False

    def change(self, section: Section) -> Change:
        """How a section changes per unit of the resistance."""
        made = nothing(section)
        made.resistance[self._numbers(section)] = [float(self.flow), float(self.factor)]
        return made

    def _numbers(self, section: Section) -> list[int]:
        return [k for k in range(len(section.surfaces)) if (section.name, k) in self.on]

    def varied(self, section: Section, amount: float) -> Section:
        """The section with the resistance changed by an amount [m²·K/W]."""
        surfaces = list(section.surfaces)
        for k in self._numbers(section):
            one = surfaces[k]
            surfaces[k] = replace(
                one,
                resistance=one.resistance + amount * self.flow,
                f_rsi_resistance=one.f_rsi_resistance + amount * self.factor,
            )
        return replace(section, surfaces=tuple(surfaces))


Key = tuple[str, float, float | None, bool]


def _key(material: Material, frozen: bool) -> Key:
    return material.name, material.conductivity, material.conductivity_along, frozen


def _material_key(region: Region) -> Key:
    return _key(region.material, is_cavity(region))


def material_inputs(sections: Iterable[Section], also: Iterable[Material] = ()) -> Iterator[MaterialInput]:
    """Every conductivity of some sections, in their order, then of other materials.

    Args:
        sections: those that count.
        also: materials that are chosen; those that no region has come last, across the grain.
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
    for material in also:
        if _key(material, frozen=False) not in first:
            yield MaterialInput(material, frozen=False, axis="")


def surface_inputs(sections: Iterable[Section], but: frozenset[tuple[str, int]] = frozenset()) -> list[SurfaceInput]:
    """Every surface resistance of some sections that is not 0, in their order; each surface of a lone section is one.

    Args:
        sections: those that count.
        but: section's name and number of surfaces that are known already.
    """
    sections = tuple(sections)
    groups: dict[tuple[object, ...], list[tuple[Section, int]]] = {}
    for section in sections:
        for number, one in enumerate(section.surfaces):
            alone = number if len(sections) == 1 else -1
            if (section.name, number) not in but and one.resistance > 0:
                key = one.environment, one.resistance, one.f_rsi_resistance, alone
                groups.setdefault(key, []).append((section, number))
    names = [next(iter(group))[0].surfaces[group[0][1]].environment for group in groups.values()]
    found = []
    for name, group in zip(names, groups.values(), strict=True):
        section, number = group[0]
        surface = section.surfaces[number]
        place = _from_to(surface) if len(sections) == 1 else f"{section.name} {_from_to(surface)}"
        where = name if names.count(name) == 1 else f"{name}, {place}"
        on = frozenset((one.name, k) for one, k in group)
        same = surface.f_rsi_resistance == surface.resistance
        found.append(SurfaceInput(where, surface.resistance, on, factor=same))
        if not same:
            found.append(SurfaceInput(f"{where}, for fRsi", surface.f_rsi_resistance, on, flow=False, factor=True))
    return found


def _from_to(surface: Surface) -> str:
    """Where a surface begins and ends, in millimetres."""
    ends = (surface.edge[0], surface.edge[-1])
    first, last = (f"({1000 * x + 0.0:.5g}, {1000 * y + 0.0:.5g}) mm" for x, y in ends)
    return f"from {first} to {last}"
