"""ISO 13789: transmission heat transfer coefficient, of an envelope and of a window with the edges of its installation.

Used behind the numerics. Clause numbers are remembered, of the edition of 2017.
"""

import math
from collections.abc import Iterable

from bridge2d.standards._limits import require_finite, require_positive


def installed_transmittance(u_window: float, area: float, edges: Iterable[tuple[float, float]]) -> float:
    """Thermal transmittance of an installed window, (U_w·A_w + ΣΨ·l)/A_w [W/(m²·K)].

    ISO 13789:2017, 7.2, H_D = ΣA·U + Σl·Ψ, of the window and its edges, over the window's area

    Args:
        u_window: U_w, of the window alone [W/(m²·K)].
        area: A_w, of the window over its frame [m²].
        edges: Ψ of installation [W/(m·K)] and length [m] of every side.

    Raises:
        ValueError: the area is not above zero, or U_w is not finite.
    """
    require_positive("the window's area", area, "m²")
    require_finite("the window's U", u_window, "W/(m²·K)")
    return math.fsum((u_window * area, *(psi * length for psi, length in edges))) / area


def direct_transmission(
    elements: Iterable[tuple[float, float]],
    edges: Iterable[tuple[float, float]],
    points: Iterable[tuple[float, float]],
) -> float:
    """Direct transmission heat transfer coefficient H_D = ΣA·U + Σl·Ψ + Σχ [W/K].

    ISO 13789:2017, 7.2, equation of H_D

    Args:
        elements: U [W/(m²·K)] and area [m²] of every plane element.
        edges: Ψ [W/(m·K)] and length [m] of every linear thermal bridge, for the dimensions of the areas.
        points: χ [W/K] and number [1] of every kind of point thermal bridge.

    Raises:
        ValueError: a value is not finite.
    """
    products = [first * second for pairs in (elements, edges, points) for first, second in pairs]
    for product in products:
        require_finite("a product of the sum", product, "W/K")
    return math.fsum(products)
