"""What the junctions that are solids of revolution share: rings of a material, areas of discs and cylinders.

Part of the step parameters -> detail. x is the radius, y runs along the axis.
"""

from __future__ import annotations

import math

from bridge2d.detail import DIMENSION_SYSTEMS, Region
from bridge2d.junctions import walls
from bridge2d.junctions.declaration import MaterialChoice


def ring(name: str, choice: MaterialChoice, radii: tuple[float, float], ends: tuple[float, float]) -> Region | None:
    """A ring or a cylinder, or None where it has no volume.

    Args:
        name: what the drawing calls it.
        choice: its material.
        radii: inner and outer one; an inner one of 0 makes a cylinder [m].
        ends: along the axis [m].
    """
    return walls.rectangle(name, choice, (radii[0], ends[0]), (radii[1], ends[1]))


def disc_area(radius: float) -> dict[str, float]:
    """Area of a disc, the same in all dimension systems [m²].

    Args:
        radius: of the disc [m].
    """
    return dict.fromkeys(DIMENSION_SYSTEMS, math.pi * radius**2)


def cylinder_area(radius: float, length: float) -> dict[str, float]:
    """Area of a cylinder's mantle, the same in all dimension systems [m²].

    Args:
        radius: of the cylinder [m].
        length: along the axis [m].
    """
    return dict.fromkeys(DIMENSION_SYSTEMS, 2 * math.pi * radius * length)
