"""Air layers as materials: a solid that resists as the layer does."""

from __future__ import annotations

from bridge2d.errors import QuantityError
from bridge2d.materials import Material
from bridge2d.standards import iso_6946
from bridge2d.standards.iso_6946 import HeatFlowDirection


def air_layer(thickness: float, direction: HeatFlowDirection = "horizontal", width: float | None = None) -> Material:
    """The material of an unventilated air layer.

    Args:
        thickness: along the heat flow [m]; 0 where there is none.
        direction: of the heat flow.
        width: across it [m]; None for a layer without end.

    Raises:
        QuantityError: the layer is thicker than ISO 6946 allows.
    """
    if thickness == 0:
        return Material("air layer", 0.025, group="air", hatch="air")
    if thickness > iso_6946.GREATEST_AIR_LAYER:
        limit = 1000 * iso_6946.GREATEST_AIR_LAYER
        raise QuantityError(
            f"an air layer of {1000 * thickness:g} mm is no air layer",
            f"up to {limit:g} mm; give its faces an environment",
        )
    resistance = iso_6946.air_layer_resistance(thickness, direction, width=width)
    across = (
        "" if width is None or width >= iso_6946.NARROW_VOID_RATIO * thickness else f" and {1000 * width:g} mm wide"
    )
    return Material(
        f"air layer, {1000 * thickness:g} mm" + (f", heat flow {direction}" if direction != "horizontal" else ""),
        iso_6946.equivalent_conductivity(thickness, resistance),
        group="air",
        hatch="air",
        density=1.23,
        vapour_factor=1.0,
        source=(
            f"ISO 6946:2017, annex D: unventilated{across}, heat flow {direction}, "
            f"R = {resistance:.3f} m²·K/W; computed"
        ),
        read=False,
    )
