"""ISO 12241: thermal insulation of pipes and ducts, here what a round duct loses per area of its outer surface.

Used behind the numerics. Clause numbers are remembered, of the edition of 2008.
"""

import math

from bridge2d.standards._limits import require_positive


def cylindrical_resistance(inner: float, outer: float, conductivity: float, reference: float) -> float:
    """Thermal resistance of a cylindrical layer, per area of a reference cylinder [m²·K/W].

    ISO 12241:2008, 4.1.1, R' = ln(D_e/D_i)/(2πλ) per length, here times the reference cylinder's circumference

    Args:
        inner: inner radius [m].
        outer: outer radius [m].
        conductivity: λ [W/(m·K)].
        reference: radius of the cylinder whose area counts [m].

    Raises:
        ValueError: a value is not above zero, or the outer radius is less than the inner one.
    """
    for what, value in (("the inner radius", inner), ("the outer radius", outer), ("the reference radius", reference)):
        require_positive(what, value, "m")
    require_positive("the conductivity", conductivity, "W/(m·K)")
    if outer < inner:
        raise ValueError(f"the outer radius {outer:g} m is less than the inner one, {inner:g} m")
    return reference * math.log(outer / inner) / conductivity


def cylindrical_surface_resistance(resistance: float, radius: float, reference: float) -> float:
    """Surface resistance of a cylinder, per area of a reference cylinder [m²·K/W].

    ISO 12241:2008, 4.1.2, 1/(h·π·D) per length, here times the reference cylinder's circumference

    Args:
        resistance: surface resistance of the cylinder's own area, 1/h [m²·K/W].
        radius: of the cylinder [m].
        reference: radius of the cylinder whose area counts [m].

    Raises:
        ValueError: a radius is not above zero.
    """
    require_positive("the radius", radius, "m")
    require_positive("the reference radius", reference, "m")
    return resistance * reference / radius
