"""ISO 10077-1: thermal transmittance of a window from frame, glazing and the glazing's edge.

Used on both sides of the numerics: blocks that stand for frame and glazing before, U_w behind. Clause numbers are
remembered, of the edition of 2017.
"""

import math

from bridge2d.standards._limits import require_not_negative, require_positive
from bridge2d.standards.iso_6946 import EXTERNAL_SURFACE_RESISTANCE, INTERNAL_SURFACE_RESISTANCE

R_SI = INTERNAL_SURFACE_RESISTANCE["horizontal"]
"""Internal surface resistance that U_f and U_g are stated with [m²·K/W]."""
R_SE = EXTERNAL_SURFACE_RESISTANCE
"""External surface resistance that U_f and U_g are stated with [m²·K/W]."""
GLAZING_LENGTH = 0.19
"""Least visible length of the panel in place of the glazing beside a frame [m] (ISO 10077-2:2017, 6.3, remembered)."""


def block_conductivity(u_value: float, depth: float) -> float:
    """Conductivity of a block of that depth which has the U of a frame or glazing, d/(1/U − R_si − R_se) [W/(m·K)].

    ISO 10077-1:2017, 6.4.3, 1/U = R_si + d/λ + R_se solved for λ, with R_si 0.13 and R_se 0.04

    Args:
        u_value: U_f or U_g [W/(m²·K)].
        depth: d, of the block in the direction of the heat flow [m].

    Raises:
        ValueError: a value is not above zero, or the surface resistances alone exceed 1/U.
    """
    require_positive("the thermal transmittance", u_value, "W/(m²·K)")
    require_positive("the depth of the block", depth, "m")
    resistance = 1.0 / u_value - R_SI - R_SE
    if resistance <= 0.0:
        raise ValueError(f"U is {u_value} W/(m²·K); it has to be below {1.0 / (R_SI + R_SE):.2f} W/(m²·K)")
    return depth / resistance


def window_transmittance(
    u_glazing: float, glazing_area: float, u_frame: float, frame_area: float, psi_edge: float, edge_length: float
) -> float:
    """Thermal transmittance of a window, U_w = (A_g·U_g + A_f·U_f + l_g·Ψ_g)/(A_g + A_f) [W/(m²·K)].

    ISO 10077-1:2017, 6.4.2, equation (1)

    Args:
        u_glazing: U_g [W/(m²·K)].
        glazing_area: A_g, visible area of the glazing [m²].
        u_frame: U_f [W/(m²·K)].
        frame_area: A_f, projected area of the frame [m²].
        psi_edge: Ψ_g of the edge between glazing, spacer and frame [W/(m·K)].
        edge_length: l_g, visible perimeter of the glazing [m].

    Raises:
        ValueError: the glazing's area is not above zero, or the frame's area or the edge's length is negative.
    """
    require_positive("the glazing's area", glazing_area, "m²")
    require_not_negative("the frame's area", frame_area, "m²")
    require_not_negative("the length of the glazing's edge", edge_length, "m")
    flow = math.fsum((glazing_area * u_glazing, frame_area * u_frame, edge_length * psi_edge))
    return flow / (glazing_area + frame_area)
