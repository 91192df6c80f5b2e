"""The reference triangle and the reference side: quadratic functions, and those of third and fourth order beside them.

The first six functions are the quadratic ones of three corners and three middles of sides. All others vanish at these
six nodes, so that the first six coefficients of any function are its values there. Two more per side are of third and
of fourth order, odd and even about the side's middle; three more, the inner ones, vanish on all sides. A triangle of
order p has all polynomials of that order (B. Szabó and I. Babuška 1991, Finite Element Analysis, hierarchic spaces).
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
SIDES = ((0, 1), (1, 2), (0, 2))
"""Corners of each side of a triangle."""
QUADRATIC, HIGHEST = 2, 4
"""Lowest and highest order."""
COUNT = 15
"""Functions of a triangle of the highest order."""
OUTER = {2: 6, 3: 9, 4: 12}
"""Functions of a triangle of each order that do not vanish on all its sides; they come first."""
SLOTS = {2: list(range(6)), 3: [*range(9), 12], 4: list(range(COUNT))}
"""Which of the functions a triangle of each order has."""
_CORNER_SLOPES = np.array([[-1.0, -1.0], [1.0, 0.0], [0.0, 1.0]])


def shape_values(points: FloatArray) -> FloatArray:
    """Values of the functions of the highest order.

    Args:
        points: of the reference triangle; shape (2, q).

    Returns:
        shape (15, q).
    """
    x, y = points
    corner = (1.0 - x - y, x, y)
    product = [corner[a] * corner[b] for a, b in SIDES]
    across = [corner[b] - corner[a] for a, b in SIDES]
    inner = corner[0] * x * y
    return np.stack(
        [
            *(c * (2 * c - 1) for c in corner),
            *(4 * p for p in product),
            *(p * d for p, d in zip(product, across, strict=True)),
            *(p * d**2 for p, d in zip(product, across, strict=True)),
            inner,
            inner * x,
            inner * y,
        ]
    )


def shape_gradients(points: FloatArray) -> FloatArray:
    """Gradients of the functions of the highest order.

    Args:
        points: of the reference triangle; shape (2, q).

    Returns:
        shape (15, q, 2).
    """
    x, y = points
    corner, slope = (1.0 - x - y, x, y), _CORNER_SLOPES
    found = [np.outer(4 * c - 1, g) for c, g in zip(corner, slope, strict=True)]
    product = [corner[a] * corner[b] for a, b in SIDES]
    rising = [np.outer(corner[a], slope[b]) + np.outer(corner[b], slope[a]) for a, b in SIDES]
    across = [corner[b] - corner[a] for a, b in SIDES]
    along = [slope[b] - slope[a] for a, b in SIDES]
    sides = list(zip(product, rising, across, along, strict=True))
    found += [4 * r for r in rising]
    found += [r * d[:, None] + np.outer(p, g) for p, r, d, g in sides]
    found += [r * d[:, None] ** 2 + np.outer(2 * p * d, g) for p, r, d, g in sides]
    inner = corner[0] * x * y
    steep = rising[0] * y[:, None] + np.outer(product[0], slope[2])
    found += [steep, steep * x[:, None] + np.outer(inner, slope[1]), steep * y[:, None] + np.outer(inner, slope[2])]
    return np.stack(found)


@cache
def rule(order: int) -> tuple[FloatArray, FloatArray]:
    """Points (2, q) and weights (q,) that integrate products of two gradients of functions of an order exactly."""
    if order == QUADRATIC:
        return np.array([[0.5, 0.5, 0.0], [0.0, 0.5, 0.5]]), np.full(3, 1.0 / 6.0)
    points, gauss = np.polynomial.legendre.leggauss(order)
    s, gauss = 0.5 * (points + 1.0), 0.5 * gauss
    x, y = (grid.ravel() for grid in np.meshgrid(s, s, indexing="ij"))
    return np.stack([x, y * (1 - x)]), np.outer(gauss, gauss).ravel() * (1 - x)


@cache
def reference(order: int = QUADRATIC) -> tuple[FloatArray, FloatArray, FloatArray]:
    """The reference triangle of an order, with k functions and q points of a rule.

    Args:
        order: 2 to 4.

    Returns:
        stiffness for the three entries of a symmetric tensor, shape (3, k²); gradients of the functions at the points,
        shape (k, q, 2); the points' weights, shape (q,).
    """
    points, weights = rule(order)
    gradients = shape_gradients(points)[SLOTS[order]]
    products = np.einsum("iqa,jqb,q->abij", gradients, gradients, weights)
    stiffness = np.stack([products[0, 0], products[0, 1] + products[1, 0], products[1, 1]])
    return stiffness.reshape(3, -1), gradients, weights


def side_shapes(s: FloatArray) -> tuple[FloatArray, FloatArray]:
    """The functions of start, end and middle of a side of length 1, those of third and fourth order, and their slopes.

    Args:
        s: places on the side from 0 to 1; shape (q,).

    Returns:
        shape (5, q) each.
    """
    product, across = s * (1 - s), 2 * s - 1
    values = [(1 - s) * (1 - 2 * s), s * across, 4 * product, product * across, product * across**2]
    slopes = [4 * s - 3, 4 * s - 1, 4 - 8 * s, 2 * product - across**2, 4 * product * across - across**3]
    return np.stack(values), np.stack(slopes)


@cache
def side_matrices() -> tuple[FloatArray, FloatArray, FloatArray]:
    """∫ φi φj, ∫ φi and ∫ φi' φj' along a side of length 1; shapes (5, 5), (5,) and (5, 5)."""
    points, gauss = np.polynomial.legendre.leggauss(HIGHEST + 1)
    s, gauss = 0.5 * (points + 1.0), 0.5 * gauss
    values, slopes = side_shapes(s)
    return (values * gauss) @ values.T, values @ gauss, (slopes * gauss) @ slopes.T
