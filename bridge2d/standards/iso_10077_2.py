"""ISO 10077-2: unventilated and slightly ventilated cavities of frames, the single equivalent conductivity of 2012.

Used for cavities of windows and other building products; air layers in building elements follow ISO 6946. Clause
numbers are remembered, of the edition of 2012.
"""

import math

from bridge2d.standards._limits import require_between, require_positive
from bridge2d.standards.iso_6946 import ABSOLUTE_ZERO, EMISSIVITY, STEFAN_BOLTZMANN, intersurface_emittance

STILL_AIR = 0.025
"""Conductivity of still air [W/(m·K)]."""
NARROW = 0.005
"""A cavity narrower than this across the heat flow has no convection [m]."""
CONVECTION = 0.73
"""Coefficient of the convection, h_a = 0.73 ΔT^(1/3) [W/(m²·K^(4/3))]."""
TEMPERATURE_DIFFERENCE = 10.0
"""Difference of temperature across a cavity where none is known [K]."""
MEAN_TEMPERATURE = 10.0
"""Mean temperature of a cavity where none is known [°C] (283 K)."""


def convective_coefficient(depth: float, width: float, difference: float = TEMPERATURE_DIFFERENCE) -> float:
    """Conduction and convection coefficient h_a of a rectangular cavity [W/(m²·K)].

    ISO 10077-2:2012, 6.3.1, equations (5) and (6)

    Args:
        depth: d, along the heat flow [m].
        width: b, across it [m].
        difference: ΔT, between the faces that the heat flows through [K].

    Raises:
        ValueError: a length is not above zero, or the difference is negative.
    """
    require_positive("the depth of the cavity", depth, "m")
    require_positive("the width of the cavity", width, "m")
    require_between("the temperature difference", difference, 0.0, 1000.0, "K")
    still = STILL_AIR / depth
    # 5 mm is not narrow, and stays so when it comes out of a square root.
    return still if width < NARROW * (1.0 - 1e-9) else max(still, CONVECTION * difference ** (1.0 / 3.0))


def radiative_coefficient(
    depth: float,
    width: float,
    emissivities: tuple[float, float] = (EMISSIVITY, EMISSIVITY),
    mean_temperature: float = MEAN_TEMPERATURE,
) -> float:
    """Radiation coefficient of a rectangular cavity, h_r = 4 σ T_m³ E F, F = ½(1 + √(1 + (d/b)²) − d/b) [W/(m²·K)].

    ISO 10077-2:2012, 6.3.1, equation (7)

    Args:
        depth: d, along the heat flow [m].
        width: b, across it [m].
        emissivities: of the two faces that the heat flows through [1].
        mean_temperature: of these faces [°C].

    Raises:
        ValueError: a value is out of its range.
    """
    require_positive("the depth of the cavity", depth, "m")
    require_positive("the width of the cavity", width, "m")
    require_between("the mean temperature of the cavity", mean_temperature, -100.0, 200.0, "°C")
    ratio = depth / width
    # √(1 + r²) − r, written so that nothing cancels in a deep, narrow cavity
    shape = 0.5 * (1.0 + 1.0 / (math.hypot(1.0, ratio) + ratio))
    kelvin = mean_temperature - ABSOLUTE_ZERO
    return 4.0 * STEFAN_BOLTZMANN * kelvin**3 * intersurface_emittance(*emissivities) * shape


def equivalent_rectangle(area: float, depth: float, width: float) -> tuple[float, float]:
    """Depth and width of the rectangle that stands for a cavity of any shape, d' = √(A d/b) and b' = √(A b/d) [m].

    ISO 10077-2:2012, 6.3.2

    Args:
        area: A, of the cavity [m²].
        depth: d, of the smallest rectangle round it, along the heat flow [m].
        width: b, of that rectangle, across the heat flow [m].

    Raises:
        ValueError: a value is not above zero, or the area is larger than the rectangle.
    """
    require_positive("the area of the cavity", area, "m²")
    require_positive("the depth of the cavity", depth, "m")
    require_positive("the width of the cavity", width, "m")
    require_between("the area of the cavity", area, 0.0, depth * width * (1.0 + 1e-9), "m²")
    return math.sqrt(area * depth / width), math.sqrt(area * width / depth)


def equivalent_conductivity(
    depth: float,
    width: float,
    *,
    slightly_ventilated: bool = False,
    emissivities: tuple[float, float] = (EMISSIVITY, EMISSIVITY),
    mean_temperature: float = MEAN_TEMPERATURE,
    difference: float = TEMPERATURE_DIFFERENCE,
) -> float:
    """Equivalent conductivity of a rectangular cavity, λ_eq = d (h_a + h_r), twice that if ventilated [W/(m·K)].

    ISO 10077-2:2012, 6.3.1, equations (3) and (4), and 6.4.2

    Args:
        depth: d, along the heat flow [m].
        width: b, across it [m].
        slightly_ventilated: whether a slit of 2 to 10 mm joins it to the outside.
        emissivities: of the two faces that the heat flows through [1].
        mean_temperature: of these faces [°C].
        difference: between these faces [K].

    Raises:
        ValueError: a value is out of its range.
    """
    convection = convective_coefficient(depth, width, difference)
    radiation = radiative_coefficient(depth, width, emissivities, mean_temperature)
    return (2.0 if slightly_ventilated else 1.0) * depth * (convection + radiation)


# -- reduced radiation and convection in corners, and U_f ------------------------------------------------------------

CORNER_RESISTANCE = 0.20
"""Internal surface resistance in edges and corners of frames, where radiation and convection are less [m²·K/W]
(annex B, table B.1, remembered)."""
CORNER_LENGTH = 0.030
"""Greatest length from a corner for which that holds, on both faces [m] (annex B, figure B.1, remembered)."""
PANEL_CONDUCTIVITY = 0.035
"""Conductivity of the panel that stands in for the glazing [W/(m·K)] (annex C, remembered)."""
TEMPERATURES = (20.0, 0.0)
"""Inside and outside [°C] (annex B, remembered)."""


def corner_length(one: float, other: float) -> float:
    """Length with reduced radiation on each face of a corner: the depth of the protrusion, at most 30 mm [m].

    ISO 10077-2:2012, annex B

    Args:
        one: length of one face from the corner to its end [m].
        other: length of the other face [m].

    Raises:
        ValueError: a length is not above zero.
    """
    require_positive("the length of a face", one, "m")
    require_positive("the length of a face", other, "m")
    return min(one, other, CORNER_LENGTH)


def panel_transmittance(thickness: float, resistance_inside: float, resistance_outside: float) -> float:
    """U_p = 1/(R_si + d/λ + R_se) of the panel in place of the glazing [W/(m²·K)].

    ISO 10077-2:2012, annex C

    Args:
        thickness: d, that of the glazing [m].
        resistance_inside: R_si [m²·K/W].
        resistance_outside: R_se [m²·K/W].

    Raises:
        ValueError: a value is not above zero.
    """
    require_positive("the thickness of the panel", thickness, "m")
    require_positive("R_si", resistance_inside, "m²·K/W")
    require_positive("R_se", resistance_outside, "m²·K/W")
    return 1.0 / (resistance_inside + thickness / PANEL_CONDUCTIVITY + resistance_outside)


def frame_transmittance(l2d: float, u_panel: float, panel_length: float, width: float) -> float:
    """U_f = (L2D − U_p·b_p)/b_f [W/(m²·K)].

    ISO 10077-2:2012, annex C, equation (C.1)

    Args:
        l2d: of the frame with the panel [W/(m·K)].
        u_panel: U_p [W/(m²·K)].
        panel_length: b_p, visible length of the panel [m].
        width: b_f, projected width of the frame [m].

    Raises:
        ValueError: a length is not above zero.
    """
    require_positive("the visible length of the panel", panel_length, "m")
    require_positive("the width of the frame", width, "m")
    return (l2d - u_panel * panel_length) / width
