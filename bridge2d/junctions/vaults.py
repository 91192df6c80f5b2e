"""The curve of a vault that springs from a wall: part of a circle to the crown, level beyond it.

Part of the step parameters -> detail. x runs into the building, y upward from the springing.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from bridge2d.detail import Point

SAGITTA = 0.002
"""A chord leaves the curve by no more than this [m]."""


@dataclass(frozen=True, slots=True)
class Vault:
    """A vault's measures [m].

    Attributes:
        face: x of the masonry's inner face, where it springs.
        span: clear between its two supports.
        rise: of the underside at the crown above the springing, at most half the span.
        thickness: across the curve.
        cover: of the filling over the crown.
    """

    face: float
    span: float
    rise: float
    thickness: float
    cover: float

    @property
    def crown(self) -> float:
        """Where the crown stands, x [m]."""
        return self.face + 0.5 * self.span

    @property
    def radius(self) -> float:
        """Of the underside."""
        return (0.25 * self.span**2 + self.rise**2) / (2.0 * self.rise)

    @property
    def top(self) -> float:
        """Level of the filling's upper side."""
        return self.rise + self.thickness + self.cover

    def level(self, x: float, outward: float = 0.0) -> float:
        """Level of a curve parallel to the underside; that of the centre where the curve does not reach so far.

        Args:
            x: where [m]; from the crown on the curve is level.
            outward: distance from the underside, negative towards the room [m].
        """
        radius, off = self.radius + outward, min(x - self.crown, 0.0)
        # A tenth of a micrometre: at the springing of a semicircle the root keeps half the digits only.
        return round(self.rise - self.radius + math.sqrt(max(radius**2 - off**2, 0.0)), 7)

    def curve(self, start: float, end: float, outward: float = 0.0, at: Iterable[float] = ()) -> tuple[Point, ...]:
        """Points along a parallel curve, from left to right.

        Args:
            start: least x [m].
            end: greatest x [m].
            outward: see `level`.
            at: further x at which a point stands [m]; curves of one outline are asked for with the same.
        """
        radius = self.radius + outward
        # Equal angles from the crown to the springing, the same whatever part is asked for: parts share their points.
        widest = math.asin(min(0.5 * self.span / radius, 1.0))
        steps = math.ceil(widest / (2.0 * math.acos(1.0 - min(SAGITTA / radius, 1.0))))
        inner = {self.crown - radius * math.sin(widest * k / steps) for k in range(1, steps)} | {self.crown, *at}
        places = [start, *sorted(x for x in inner if start + 1e-4 < x < end - 1e-4), end]
        return tuple((x, self.level(x, outward)) for x in places)
