"""What changes of one section do to its L2D, by both bounds of one solution.

The derivative of the upper bound comes from the temperatures, that of the lower bound from the stream function. Their
middle is stated; its tolerance is their difference and the share of the local gap that the change acts on, for surface
resistances the relative bracket of L2D.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from bridge2d.bounds import turned_inverse
from bridge2d.sensitivities.forms import (
    FloatArray,
    Form,
    IntArray,
    Sides,
    Triangles,
    circumference,
    triangles,
)
from bridge2d.sensitivities.motion import Mover, Speeds, speeds
from bridge2d.sensitivity_records import Effect
from bridge2d.solution import tensors

if TYPE_CHECKING:
    from bridge2d.detail import Section
    from bridge2d.results import Fields, SectionResult

SIDE_NODES = np.array([[0, 1, 3], [1, 2, 4], [2, 0, 5]])
"""Start, end and middle of each side of a triangle."""
HIGHER_OF_SIDE = np.array([[0, 3], [1, 4], [2, 5]])
"""Its functions of third and fourth order, among the higher ones; the odd one runs against the last side."""


@dataclass(frozen=True)
class Change:
    """A change of a section per unit of an input.

    Attributes:
        tensor: of each region's conductivity; shape (R, 2, 2).
        resistance: of each surface, for the heat flow and for the temperature factor; shape (S, 2).
        velocity: of the corners of the mesh; None where nothing moves; shape (n, 2).
    """

    tensor: FloatArray
    resistance: FloatArray
    velocity: FloatArray | None = None

    @property
    def is_nothing(self) -> bool:
        """Whether it is no change at all."""
        return self.velocity is None and not self.tensor.any() and not self.resistance.any()


@dataclass(frozen=True)
class Rates:
    """How a section changes per unit of an input on one side of its value, its mesh left aside.

    Attributes:
        tensor, resistance: see `Change`.
        moving: of its corners; None where nothing of it changes.
    """

    tensor: FloatArray
    resistance: FloatArray
    moving: Speeds | None

    def change(self, mover: Mover | None) -> Change:
        """The same with the mesh.

        Args:
            mover: of the section's mesh; None leaves it where it is.

        Raises:
            NoMotionError: its mesh cannot follow.
        """
        return Change(self.tensor, self.resistance, mover.motion(self.moving) if mover and self.moving else None)


def nothing(section: Section) -> Change:
    """No change at all of a section."""
    return Change(np.zeros((len(section.regions), 2, 2)), np.zeros((len(section.surfaces), 2)))


def rates(here: Section, near: Section, further: Section, step: float) -> Rates:
    """How a section changes on one side of a parameter's value, to second order of the step.

    Args:
        here: the section.
        near: one step away.
        further: two steps away.
        step: by how much the parameter differs, below 0 on the lower side.

    Raises:
        NoMotionError: its mesh cannot follow.
    """
    if here.regions == near.regions == further.regions and here.surfaces == near.surfaces == further.surfaces:
        still = nothing(here)
        return Rates(still.tensor, still.resistance, None)
    moving = speeds(here, near, further, step)
    tensor = _slope([tensors(one) for one in (here, near, further)], step)
    cavities = [any(r.cavity for r in same) for same in zip(here.regions, near.regions, strict=True)]
    tensor[cavities] = 0.0
    resistance = _slope([_resistances(one) for one in (here, near, further)], step)
    return Rates(tensor, resistance, moving)


def _resistances(section: Section) -> FloatArray:
    found = [(surface.resistance, surface.f_rsi_resistance) for surface in section.surfaces]
    return np.array(found).reshape(-1, 2)


def _slope(values: list[FloatArray], step: float) -> FloatArray:
    """Slope at the first of three values at equal steps."""
    return np.asarray((4.0 * values[1] - values[2] - 3.0 * values[0]) / (2.0 * step))


def with_middles(fields: Fields, velocity: FloatArray) -> FloatArray:
    """A velocity of the corners at all nodes of the fields; shape (N, 2)."""
    whole = np.zeros((len(fields.points), 2))
    whole[: len(velocity)] = velocity
    for start, end, middle in SIDE_NODES:
        ends = fields.triangles[:, start], fields.triangles[:, end]
        whole[fields.triangles[:, middle]] = 0.5 * (velocity[ends[0]] + velocity[ends[1]])
    return whole


def corner_count(fields: Fields) -> int:
    """How many nodes of the fields are corners of triangles; they come first."""
    return int(fields.triangles[:, :3].max()) + 1


class SectionForms:
    """Both bounds of a section with two environments as forms of its fields."""

    def __init__(self, result: SectionResult) -> None:
        """Take the fields of a solution.

        Args:
            result: of a section that has an L2D or L3D.
        """
        section, fields = result.section, result.solved or result.fields
        self.section, self.fields = section, fields
        self.copies = 2.0 if section.mirrored else 1.0
        given = np.array([environment.temperature for environment in section.environments])
        self._low, self._span = float(given.min()), float(np.ptp(given))
        self._warm = given > given.min()
        l2d = result.l2d
        # Both bounds may agree on a film by chance, but its effect is known no better than L2D.
        self._bracket = 0.0 if l2d is None else (l2d.upper - l2d.lower) / l2d.value

    @cached_property
    def _on(self) -> Triangles:
        higher = self.fields.higher is not None
        return triangles(self.fields.points, self.fields.triangles, revolution=self.section.revolution, higher=higher)

    @cached_property
    def _tensor(self) -> FloatArray:
        return self.fields.conductivity[self.fields.region]

    @cached_property
    def _unit(self) -> FloatArray:
        """Temperatures from 0 to 1; shape (N,)."""
        return np.asarray((self.fields.temperature - self._low) / self._span)

    @cached_property
    def _local(self) -> tuple[FloatArray, FloatArray]:
        """Coefficients of temperatures from 0 to 1 and of their stream function; shape (M, 6) or (M, 15) each."""
        at_nodes, higher = self._unit[self.fields.triangles], self.fields.higher
        if higher is None:
            return at_nodes, self.fields.stream / self._span
        stream = np.concatenate([self.fields.stream, higher.stream], axis=1)
        return np.concatenate([at_nodes, higher.temperature / self._span], axis=1), stream / self._span

    @cached_property
    def _upper(self) -> Form:
        slope = self._on.gradients(self._local[0])
        return Form(self._on, slope, slope, *circumference(self._on))

    @cached_property
    def _lower(self) -> Form:
        slope = self._on.gradients(self._local[1])
        weight, growing = circumference(self._on)
        return Form(self._on, slope, slope, 1.0 / weight, -growing / weight**2)

    @cached_property
    def _flux_gradient(self) -> FloatArray:
        """λ⁻¹ times the flux of the stream function, with the sign of the temperature's gradient; shape (M, q, 2)."""
        slope = self._lower.first
        flux = np.stack([slope[..., 1], -slope[..., 0]], axis=-1) * self._lower.weight[..., None]
        found = np.einsum("mab,mqb->mqa", np.linalg.inv(self._tensor), flux)
        alike = (self._on.area[..., None] * found * self._upper.first).sum()
        return np.asarray(found if alike >= 0 else -found)

    @cached_property
    def _other(self) -> Form:
        """The form whose products are those of the flux's own gradient."""
        return Form(self._on, self._flux_gradient, self._flux_gradient, self._upper.weight, self._upper.slope)

    @cached_property
    def gap(self) -> FloatArray:
        """Difference of the bounds within each triangle, for unit temperatures; shape (M,)."""
        off = self._upper.first - self._flux_gradient
        density = np.einsum("mqa,mab,mqb->mq", off, self._tensor, off)
        return np.asarray((self._on.area * self._upper.weight * density).sum(axis=1))

    # -- sides ---------------------------------------------------------------------------------------------------------

    @cached_property
    def _rim(self) -> tuple[IntArray, IntArray, IntArray]:
        """Local functions of the facing sides, their nodes, their surface; shapes (k, 3) or (k, 5), (k, 3), (k,)."""
        assert self.fields.rim is not None
        triangle, side, surface = self.fields.rim.T
        local = SIDE_NODES[side]
        nodes = self.fields.triangles[triangle[:, None], local]
        if self.fields.higher is not None:
            local = np.concatenate([local, 6 + HIGHER_OF_SIDE[side]], axis=1)
        return local, nodes, surface

    @cached_property
    def resistance(self) -> FloatArray:
        """Of each surface [m²·K/W]; shape (S,)."""
        return np.array([surface.resistance for surface in self.section.surfaces])

    @cached_property
    def _films(self) -> tuple[Sides, Sides]:
        """Differences of temperature over the films, and the stream function along them."""
        assert self.fields.rim is not None
        local, nodes, surface = self._rim
        names = [environment.name for environment in self.section.environments]
        owner = np.array([names.index(s.environment) for s in self.section.surfaces])
        triangle, side, _ = self.fields.rim.T
        off, stream = (field[triangle[:, None], local] for field in self._local)
        off[:, :3] -= np.where(self._warm[owner[surface]], 1.0, 0.0)[:, None]
        for field in (off, stream):
            field[side == 2, 3:4] *= -1.0
        ends = nodes[:, 0], nodes[:, 1]
        places = self.fields.points, self.section.revolution
        return Sides(*ends, off, off, *places), Sides(*ends, stream, stream, *places)

    def _by_surface(self, values: FloatArray) -> FloatArray:
        return np.bincount(self._rim[2], values, minlength=len(self.section.surfaces)).astype(np.float64)

    # -- derivatives ---------------------------------------------------------------------------------------------------

    @cached_property
    def _regions(self) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Products of gradients by region from either bound, shape (R, 2, 2), and the gap's, shape (R,)."""
        count = len(self.section.regions)
        upper, lower = (form.by_region(self.fields.region, count) for form in (self._upper, self._other))
        gap = np.bincount(self.fields.region, self.gap, minlength=count).astype(np.float64)
        return upper, lower, gap

    @cached_property
    def _points(self) -> tuple[FloatArray, FloatArray]:
        """Derivatives of either bound's form by the place of every point; shape (N, 2)."""
        return self._upper.by_point(self._tensor), self._lower.by_point(turned_inverse(self._tensor))

    @cached_property
    def _surfaces(self) -> tuple[FloatArray, FloatArray]:
        """∂L2D/∂R of each surface from either bound, for half of a mirrored section; shape (S,)."""
        off, stream = self._films
        lower = -self._by_surface(stream.slopes())
        with np.errstate(divide="ignore", invalid="ignore"):
            upper = -self._by_surface(off.values()) / self.resistance**2
        return np.where(self.resistance > 0, upper, lower), lower

    def effect(self, change: Change) -> Effect:
        """Change of L2D per unit of an input, of the whole section [W/(m·K)], of the whole solid [W/K].

        Args:
            change: of the section per unit of the input.
        """
        first, second, gap = self._regions
        upper = float((change.tensor * first).sum())
        lower = float((change.tensor * second).sum())
        share = np.abs(np.linalg.eigvalsh(change.tensor)).max(axis=1)
        doubt = float((gap * share / np.linalg.eigvalsh(self.fields.conductivity).min(axis=1)).sum())
        of_upper, of_lower = self._surfaces
        upper += float(of_upper @ change.resistance[:, 0])
        lower += float(of_lower @ change.resistance[:, 0])
        doubt += self._bracket * float(np.abs(of_lower * change.resistance[:, 0]).sum())
        if change.velocity is not None:
            high, low, local = self._moved(change.velocity)
            upper, lower, doubt = upper + high, lower + low, doubt + local
        value, tolerance = 0.5 * (upper + lower), abs(upper - lower) + doubt
        return Effect(self.copies * value, self.copies * tolerance)

    def _moved(self, velocity: FloatArray) -> tuple[float, float, float]:
        """Change of the upper and the lower bound while the mesh moves, and of the local gap."""
        whole = with_middles(self.fields, velocity)
        off, stream = self._films
        first, second = self._points
        upper, lower = float((first * whole).sum()), -float((second * whole).sum())
        surface = self._rim[2]
        film = self.resistance[surface]
        held = film > 0
        upper += float((off.values(whole)[held] / film[held]).sum())
        lower -= float((stream.slopes(whole) * film).sum())
        stretch = np.abs(self._on.slopes(whole)).max(axis=(1, 2))
        return upper, lower, float((self.gap * stretch).sum())

    @cached_property
    def mover(self) -> Mover:
        """Moves the mesh of the fields.

        Raises:
            NoMotionError: a border lies on no edge of its region.
        """
        count = corner_count(self.fields)
        corners = self.fields.triangles[:, :3]
        return Mover(self.section, self.fields.points[:count], corners, self.fields.region, _meeting(self.fields))


def _meeting(fields: Fields) -> dict[int, set[int]]:
    """Points of the outline at which a surface begins or ends, with the surfaces that have a side there."""
    assert fields.rim is not None
    triangle, side, surface = fields.rim.T
    seen: dict[int, list[int]] = {}
    for end in (0, 1):
        nodes = fields.triangles[triangle, SIDE_NODES[side, end]]
        for node, number in zip(nodes.tolist(), surface.tolist(), strict=True):
            seen.setdefault(node, []).append(number)
    return {node: set(found) for node, found in seen.items() if len(found) != 2 or len(set(found)) > 1}
