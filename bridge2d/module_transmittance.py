"""U of a plane element with repeated pieces: its section's L2D over the module's width, beside the combined method.

Part of the step results of sections -> results of the detail; `calculate` calls it. Areas and layers of the combined
method are read from the regions that were solved, so that both numbers belong to one geometry.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bridge2d.detail import RepeatedModule, Section
from bridge2d.errors import SectionError
from bridge2d.flanking import FloatArray, flanking_result, regions_at
from bridge2d.partition import VOID, Whole, whole
from bridge2d.results import (
    Area,
    CombinedMethod,
    ModuleTransmittance,
    SectionResult,
    TemperatureFactor,
)
from bridge2d.standards import iso_6946, iso_10211

METAL = "metal"
"""Group of the materials with which the standard does not let insulation be bridged."""
BRIDGED = "metal bridges the insulation, for which ISO 6946 (6.7.2.1, remembered) excludes the method"
TOO_FAR_APART = "R'/R'' is {:.2f}; ISO 6946 (6.7.2.2, remembered) lets the method be used up to {:g}"


def module_transmittance(module: RepeatedModule, sections: tuple[SectionResult, ...]) -> ModuleTransmittance | None:
    """U = L2D/width of a module, the combined method beside it, and the increase over the element without the pieces.

    Args:
        module: which section, and the element without the repeated pieces.
        sections: all sections' numbers.

    Returns:
        None where the section's L2D has no value.

    Raises:
        SectionError: the section's regions are not rectangles along its axes.
    """
    section = next(one for one in sections if one.section.name == module.section)
    if section.l2d is None:
        return None
    width = _width(section.section)
    u_value = section.l2d.times(1.0 / width)
    without = flanking_result(module.without, 0)
    return ModuleTransmittance(
        u_value,
        module.section,
        section.l2d,
        width,
        combined(section.section),
        without,
        u_value.minus(without.u_value),
        _factor_at(section, module.probe),
    )


def _width(section: Section) -> float:
    """Width of the module as it was solved, on whole micrometres, both halves of it [m]."""
    x = np.concatenate([whole(region.polygon)[:, 0] for region in section.regions])
    return float(np.ptp(x)) / 1e6 * (2.0 if section.mirrored else 1.0)


def _factor_at(section: SectionResult, name: str) -> TemperatureFactor:
    """The temperature factor at a probe on the inside surface."""
    probe = next(one for one in section.probes if one.name == name)
    coldest = section.f_rsi[0]
    temperatures = [environment.temperature for environment in section.section.environments]
    cold, warm = min(temperatures), max(temperatures)
    return TemperatureFactor(
        coldest.environment,
        iso_10211.temperature_factor(probe.temperature_f_rsi, warm, cold),
        probe.temperature_f_rsi,
        probe.point,
        coldest.surface_resistance,
        probe.tolerance / (warm - cold),
        section.section.name,
    )


# -- the combined method ---------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Cells:
    """A section divided by all its regions' edges into areas along x and layers along y.

    Attributes:
        widths: of the areas [m]; shape (A,).
        thicknesses: of the layers [m]; shape (L,).
        owner: region in each cell; shape (L, A).
    """

    widths: FloatArray
    thicknesses: FloatArray
    owner: Whole


def combined(section: Section) -> CombinedMethod:
    """The combined method of ISO 6946, from the regions of a section.

    Args:
        section: x along the element and y through it, from outside inward; one surface on either side.

    Raises:
        SectionError: the regions are not rectangles along the axes, or leave a gap.
    """
    cells = _merged(_cells(section))
    conductivity = np.array([region.material.conductivity for region in section.regions])
    resistance = cells.thicknesses[:, None] / conductivity[cells.owner]
    fractions = (cells.widths / cells.widths.sum()).tolist()
    rows: list[list[float]] = resistance.tolist()
    outside, inside = (_surface_resistance(section, k) for k in (0, 1))
    limits = iso_6946.resistance_limits(fractions, rows, inside, outside)
    names = [[section.regions[k].name for k in column] for column in cells.owner.T.tolist()]
    areas = tuple(
        Area(
            _own_name(names, k),
            fraction,
            tuple(row[k] for row in rows),
            iso_6946.total_resistance([row[k] for row in rows], inside, outside),
        )
        for k, fraction in enumerate(fractions)
    )
    layers = tuple(
        (_layer_name([column[k] for column in names]), thickness, iso_6946.parallel_resistance(fractions, rows[k]))
        for k, thickness in enumerate(cells.thicknesses.tolist())
    )
    return CombinedMethod(
        areas,
        layers,
        (outside, inside),
        limits.upper,
        limits.lower,
        iso_6946.thermal_transmittance(limits.total),
        limits.largest_relative_error,
        limits.ratio,
        _objection(section, cells, limits),
    )


def _cells(section: Section) -> _Cells:
    corners = [whole(region.polygon) for region in section.regions]
    for number, polygon in enumerate(corners):
        if not np.all(np.any(np.roll(polygon, -1, axis=0) == polygon, axis=1)):
            raise SectionError("is no rectangle along the axes, which the combined method needs", ("region", number))
    x, y = (np.unique(np.concatenate([polygon[:, axis] for polygon in corners])) for axis in (0, 1))
    middles = np.meshgrid(0.5 * (x[1:] + x[:-1]), 0.5 * (y[1:] + y[:-1]))
    owner = regions_at(section, np.stack([one.ravel() for one in middles], axis=1))
    if np.any(owner == VOID):
        raise SectionError("leaves a gap between planes of symmetry, which the combined method does not know")
    return _Cells(np.diff(x) / 1e6, np.diff(y) / 1e6, owner.reshape(len(y) - 1, len(x) - 1))


def _merged(cells: _Cells) -> _Cells:
    """The cells with neighbouring areas, and neighbouring layers, that have the same regions taken together."""
    new_area = np.concatenate([[True], np.any(cells.owner[:, 1:] != cells.owner[:, :-1], axis=0)])
    new_layer = np.concatenate([[True], np.any(cells.owner[1:] != cells.owner[:-1], axis=1)])
    areas, layers = np.flatnonzero(new_area), np.flatnonzero(new_layer)
    return _Cells(
        np.add.reduceat(cells.widths, areas),
        np.add.reduceat(cells.thicknesses, layers),
        cells.owner[np.ix_(layers, areas)],
    )


def _surface_resistance(section: Section, environment: int) -> float:
    """Surface resistance of the section's first or second environment [m²·K/W]."""
    name = section.environments[environment].name
    return next(surface.resistance for surface in section.surfaces if surface.environment == name)


def _own_name(names: list[list[str]], area: int) -> str:
    """What stands in an area's layers that are not alike in all areas."""
    layers = zip(*names, strict=True)
    own = [layer[area] for layer in layers if len(set(layer)) > 1]
    return ", ".join(dict.fromkeys(own)) or "everywhere"


def _layer_name(names: list[str]) -> str:
    return " / ".join(dict.fromkeys(names))


def _objection(section: Section, cells: _Cells, limits: iso_6946.CombinedResistance) -> str:
    """Why the standard does not let the method be used; empty where it does."""
    mixed = [row for row in cells.owner.tolist() if len(set(row)) > 1]
    if any(section.regions[k].material.group == METAL for row in mixed for k in row):
        return BRIDGED
    if limits.ratio > iso_6946.GREATEST_RATIO_OF_LIMITS:
        return TOO_FAR_APART.format(limits.ratio, iso_6946.GREATEST_RATIO_OF_LIMITS)
    return ""
