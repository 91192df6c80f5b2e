"""Parameters of a frame that may be given by its polygons, for every junction that has such a frame.

Part of the step parameters -> detail: the **[[parameters.frame]] blocks** with what follows from them, sizes and U_f.
"""

from __future__ import annotations

from abc import abstractmethod

from pydantic import Field, model_validator

from bridge2d.errors import QuantityError
from bridge2d.junctions.declaration import ParameterInfo, Parameters
from bridge2d.junctions.frame_polygons import MOST_BLOCKS, FrameShape, frame_shape
from bridge2d.junctions.free_section import RegionBlock
from bridge2d.units import SI, UnitSystem

U_FRAME = "frame_transmittance"
"""The parameter that says U_f where the frame is a block."""


class PolygonFrame(Parameters):
    """Beside a junction's parameters, among them `frame_transmittance`: the frame's regions and how the pane sits.

    `glazing_setback` and `glazing_rebate` are declared by the junction, where they have their symbols.
    """

    frame: tuple[RegionBlock, ...] = Field((), max_length=MOST_BLOCKS, description="regions of the frame by polygons")

    @property
    @abstractmethod
    def frame_sizes(self) -> dict[str, float]:
        """Parameters that follow from the polygons, with what they make of them [m]."""

    @property
    @abstractmethod
    def pane(self) -> tuple[float, float]:
        """Distance of the glazing's outer and inner face from the frame's outer face [m]."""

    @property
    @abstractmethod
    def rebate(self) -> float:
        """How far the glazing reaches into the frame [m]."""

    @model_validator(mode="after")
    def _frame_fits(self) -> PolygonFrame:
        """A frame by polygons has no U_f of its own, and its box has the width and depth that are given."""
        if not self.frame:
            if self.rebate > 0:
                right = "leave it out, or give the frame by [[parameters.frame]]"
                raise QuantityError("a frame that is a block has no rebate", right, ("glazing_rebate",))
            return self
        if U_FRAME in self.model_fields_set:
            right = "leave it out; U_f is computed from the polygons"
            raise QuantityError("U_f is given beside the frame's polygons", right, (U_FRAME,))
        for key, measured in self.frame_sizes.items():
            self._refuse_size(key, measured)
        self.shape()
        return self

    def _refuse_size(self, key: str, measured: float) -> None:
        """Refuse polygons beyond the limits of a frame, or of another size than the parameter that is given."""
        extra = type(self).model_fields[key].json_schema_extra
        low, high = (float(str(extra[end])) for end in ("minimum", "maximum")) if isinstance(extra, dict) else (0, 1)
        if not low - 1e-9 <= measured <= high + 1e-9:
            right = f"{key} may be {1000 * low:g} to {1000 * high:g} mm"
            raise QuantityError(f"the polygons make {key} = {1000 * measured:g} mm", right, ("frame", 0, "polygon"))
        if key in self.model_fields_set and abs(getattr(self, key) - measured) > 1e-6:
            right = f"the polygons make it {1000 * measured:g} mm; leave it out, or correct them"
            raise QuantityError(f"is {1000 * getattr(self, key):g} mm", right, (key,))

    def unused(self) -> frozenset[str]:
        """See `Parameters.unused`; a block has no rebate."""
        return super().unused() | (frozenset() if self.frame else {"glazing_rebate"})

    def shape(self) -> FrameShape | None:
        """The frame by its polygons; None where it is a block.

        Raises:
            QuantityError: the polygons make no frame.
        """
        return frame_shape(self.frame, self.pane, self.rebate) if self.frame else None

    def shown(self, info: ParameterInfo, system: UnitSystem = SI) -> str:
        """A parameter's value as the report's table shows it; what follows from polygons is said to.

        Args:
            info: the parameter.
            system: units in which it is shown.
        """
        if info.name == "glazing_setback" and getattr(self, info.name) is None:
            return "middle of the frame"
        if self.frame and info.name == U_FRAME:
            return "computed from the polygons"
        sizes = self.frame_sizes if self.frame else {}
        return info.show(sizes[info.name], system) if info.name in sizes else super().shown(info, system)

    def pane_in(self, depth: float, setback: float | None, thickness: float) -> tuple[float, float]:
        """Distance of the glazing's outer and inner face from the frame's outer face [m], to the micrometre.

        Args:
            depth: of the frame [m].
            setback: of the glazing's outer face; None for the middle of the frame [m].
            thickness: of the glazing [m].
        """
        outer = round((depth - thickness) / 2, 6) if setback is None else setback
        return outer, outer + thickness
