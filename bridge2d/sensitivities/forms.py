"""Integrals of products of gradients over triangles and sides, and how they change when the points move.

L2D is the least energy J(v) of all temperatures and the greatest 2ℓ(ψ) − E(ψ) of all stream functions. At an extremum
the fields' own change does not count: the derivative of either bound is that of its form with the nodal values held.
With the points moving by V, a gradient g changes by −DVᵀg and an area by div V (shape derivative in its volume form).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, cached_property

import numpy as np
from numpy.typing import NDArray

from bridge2d.elements import shape_gradients, side_shapes

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
PLANE, HIGHER, ROUND = 2, 3, 6
"""Points of the rule in either direction, less one: exact for products of gradients of quadratic functions and of those
of higher order; the weights of solids of revolution are no polynomials."""
SIDE_POINTS = 5


@cache
def _gauss(count: int) -> tuple[FloatArray, FloatArray]:
    """Places on a line of length 1 and their weights; shape (count,) each."""
    places, weights = np.polynomial.legendre.leggauss(count)
    return np.asarray(0.5 * (places + 1.0)), np.asarray(0.5 * weights)


@cache
def _rule(count: int) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Shares of the corners (q, 3) and weights (q,) of the points, and gradients of the functions (q, 15, 2)."""
    s, gauss = _gauss(count + 1)
    a, b = (grid.ravel() for grid in np.meshgrid(s, s, indexing="ij"))
    x, y, weight = a, b * (1 - a), np.outer(gauss, gauss).ravel() * (1 - a)
    gradients = shape_gradients(np.stack([x, y])).transpose(1, 0, 2)
    return np.stack([1 - x - y, x, y], axis=1), weight, gradients


@dataclass(frozen=True)
class Triangles:
    """Triangles with a rule of integration on each.

    Attributes:
        points: corners first; shape (N, 2) [m].
        nodes: node numbers, three corners, then the middles of 0–1, 1–2, 2–0; shape (M, 6).
        inverse: inverse of each map from the reference triangle; shape (M, 2, 2) [1/m].
        area: of each point's weight; shape (M, q) [m²].
        radius: x at the points of the rule, of a solid of revolution; None in a plane section; shape (M, q) [m].
        count: points of the rule in one direction, less one.
    """

    points: FloatArray
    nodes: IntArray
    inverse: FloatArray
    area: FloatArray
    radius: FloatArray | None
    count: int

    def gradients(self, values: FloatArray) -> FloatArray:
        """Gradients at the points of the rule; shape (M, q, 2).

        Args:
            values: coefficients of each triangle's functions, the values at its nodes first; shape (M, 6) or (M, 15).
        """
        functions = _rule(self.count)[2][:, : values.shape[1]].transpose(1, 0, 2)
        local = values @ functions.reshape(values.shape[1], -1)
        return np.asarray(local.reshape(len(values), -1, 2) @ self.inverse)

    def slopes(self, velocity: FloatArray) -> FloatArray:
        """DV of a velocity that is linear on each triangle, DV[a, b] = ∂V_a/∂x_b; shape (M, 2, 2) [1].

        Args:
            velocity: of the points, at least the corners; shape (N, 2).
        """
        v = velocity[self.nodes[:, :3]]
        edges = np.stack([v[:, 1] - v[:, 0], v[:, 2] - v[:, 0]], axis=2)
        return np.asarray(edges @ self.inverse)


def triangles(points: FloatArray, nodes: IntArray, *, revolution: bool, higher: bool) -> Triangles:
    """Triangles with their rule.

    Args:
        points: shape (N, 2) [m].
        nodes: shape (M, 6).
        revolution: whether x is the radius of a solid of revolution.
        higher: whether there are functions of higher order than quadratic ones.
    """
    count = ROUND if revolution else HIGHER if higher else PLANE
    p = points[nodes[:, :3]]
    jacobian = np.stack([p[:, 1] - p[:, 0], p[:, 2] - p[:, 0]], axis=2)
    shares, weight, _ = _rule(count)
    area = np.abs(np.linalg.det(jacobian))[:, None] * weight
    radius = p[:, :, 0] @ shares.T if revolution else None
    inverse = np.asarray(np.linalg.inv(jacobian), dtype=np.float64)
    return Triangles(points, nodes, inverse, area, radius, count)


@dataclass(frozen=True)
class Form:
    """∫ w gᵀ A h over triangles, g and h gradients of two functions whose nodal values are held.

    Attributes:
        on: the triangles.
        first, second: gradients at the points of the rule; shape (M, q, 2).
        weight: w; shape (M, q).
        slope: ∂w/∂x; shape (M, q).
    """

    on: Triangles
    first: FloatArray
    second: FloatArray
    weight: FloatArray
    slope: FloatArray

    @cached_property
    def products(self) -> FloatArray:
        """∫ w g_a h_b, symmetric; shape (M, 2, 2)."""
        weighted = (self.on.area * self.weight)[..., None] * self.first
        found = weighted.transpose(0, 2, 1) @ self.second
        return np.asarray(0.5 * (found + found.transpose(0, 2, 1)))

    def by_region(self, region: IntArray, count: int) -> FloatArray:
        """The same products in each region; shape (count, 2, 2).

        Args:
            region: of each triangle; shape (M,).
            count: how many regions there are.
        """
        total = np.zeros((count, 2, 2))
        np.add.at(total, region, self.products)
        return total

    def by_point(self, tensor: FloatArray) -> FloatArray:
        """Derivative of the form by the place of every point, of corners alone other than zero; shape (N, 2).

        Points that move by V change the form by Σ V · derivative.

        Args:
            tensor: A of each triangle, symmetric; shape (M, 2, 2).
        """
        p = self.products
        by_slopes = (tensor * p).sum(axis=(1, 2))[:, None, None] * np.eye(2) - 2.0 * p @ tensor
        by_edges = by_slopes @ self.on.inverse.transpose(0, 2, 1)  # second and third corner, from the first
        at = np.stack([-by_edges.sum(axis=2), by_edges[:, :, 0], by_edges[:, :, 1]], axis=1)
        if self.on.radius is not None:
            density = ((self.first @ tensor) * self.second).sum(axis=2)
            at[:, :, 0] += (self.on.area * self.slope * density) @ _rule(self.on.count)[0]
        corners, count = self.on.nodes[:, :3].ravel(), len(self.on.points)
        return np.stack([np.bincount(corners, at[:, :, k].ravel(), minlength=count) for k in (0, 1)], axis=1)


def circumference(on: Triangles) -> tuple[FloatArray, FloatArray]:
    """2πr and its slope at the points of the rule; 1 and 0 in a plane section; shape (M, q) each."""
    if on.radius is None:
        return np.ones_like(on.area), np.zeros_like(on.area)
    return 2 * np.pi * on.radius, np.full_like(on.radius, 2 * np.pi)


# -- sides -------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Sides:
    """Sides of the outline, each with two functions: values at start, end and middle, then what higher ones add.

    Attributes:
        start, end: point numbers; shape (k,).
        first, second: coefficients of the functions of `elements.side_shapes`; shape (k, 3) or (k, 5).
        points: shape (N, 2) [m].
        revolution: whether the integrals carry 2πr.
    """

    start: IntArray
    end: IntArray
    first: FloatArray
    second: FloatArray
    points: FloatArray
    revolution: bool

    def _at(self) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
        """Places on a side of length 1, their weights, and values and slopes of the functions there."""
        s, gauss = _gauss(SIDE_POINTS if not self.revolution else ROUND)
        values, slopes = side_shapes(s)
        count = self.first.shape[1]
        return s, gauss, values[:count], slopes[:count]

    def _lengths(self, velocity: FloatArray | None = None) -> FloatArray:
        """Length of each side, or the rate at which it grows; shape (k,)."""
        along = self.points[self.end] - self.points[self.start]
        length = np.hypot(along[:, 0], along[:, 1])
        if velocity is None:
            return np.asarray(length)
        return np.asarray((along * (velocity[self.end] - velocity[self.start])).sum(axis=1) / length)

    def _radius(self, x: FloatArray, s: FloatArray) -> FloatArray:
        return np.asarray(np.outer(x[self.start], 1 - s) + np.outer(x[self.end], s))

    def values(self, velocity: FloatArray | None = None) -> FloatArray:
        """∫ f g ds per side, 2πr in it where there is an axis, or its rate of change; shape (k,)."""
        s, gauss, shape, _ = self._at()
        product = (self.first @ shape) * (self.second @ shape) * gauss
        weight = 2 * np.pi * self._radius(self.points[:, 0], s) if self.revolution else np.ones_like(product)
        if velocity is None:
            return np.asarray(self._lengths() * (product * weight).sum(axis=1))
        change = self._lengths(velocity) * (product * weight).sum(axis=1)
        if self.revolution:
            faster = 2 * np.pi * self._radius(velocity[:, 0], s)
            change = change + self._lengths() * (product * faster).sum(axis=1)
        return np.asarray(change)

    def slopes(self, velocity: FloatArray | None = None) -> FloatArray:
        """∫ f' g' ds per side, over 2πr where there is an axis, or its rate of change; shape (k,)."""
        s, gauss, _, slope = self._at()
        product = (self.first @ slope) * (self.second @ slope) * gauss
        length = self._lengths()
        if not self.revolution:
            whole = product.sum(axis=1)
            return np.asarray(whole / length if velocity is None else -whole * self._lengths(velocity) / length**2)
        radius = np.maximum(self._radius(self.points[:, 0], s), 1e-12)
        weight = 1.0 / (2 * np.pi * radius)
        if velocity is None:
            return np.asarray((product * weight).sum(axis=1) / length)
        slower = -weight * self._radius(velocity[:, 0], s) / radius
        grown = -self._lengths(velocity) / length
        return np.asarray((product * (weight * grown[:, None] + slower)).sum(axis=1) / length)
