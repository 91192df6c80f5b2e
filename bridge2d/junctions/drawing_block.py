"""The [drawing] of a free section: a DXF file, and which of its layers is of which material."""

from __future__ import annotations

import math
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, PlainValidator, ValidationInfo, WithJsonSchema

from bridge2d import units
from bridge2d.detail import Point
from bridge2d.errors import QuantityError
from bridge2d.junctions.declaration import LineOfText
from bridge2d.junctions.quantities import system_of

MOST_LAYERS = 200
"""Most layers that a detail may name."""
LAYERS_RIGHT = (
    'write [drawing.layers] with lines such as BRICK = "solid brick, old, 1600" or INSUL = { conductivity = 0.04 }'
)


def _read_origin(typed: object, info: ValidationInfo) -> Point:
    """A point of the drawing [mm]; unlike a section's own, it may lie at any distance."""
    right = "write origin = [x, y], the point of the drawing at which the section's coordinates begin"
    if not isinstance(typed, list) or len(typed) != 2:
        raise QuantityError("is not a point", right)
    x, y = (1000.0 * units.read_length(one, system_of(info)) for one in typed)
    if not (math.isfinite(x) and math.isfinite(y)):
        raise QuantityError("is not finite", right)
    return x, y


def _read_layers(typed: object) -> dict[str, dict[str, Any]]:
    """The table of layers, each with the keys that a [[region]] of it would have."""
    if not isinstance(typed, dict):
        raise QuantityError("is not a table", LAYERS_RIGHT)
    if not typed:
        raise QuantityError("names no layer", LAYERS_RIGHT)
    if len(typed) > MOST_LAYERS:
        raise QuantityError(f"names {len(typed)} layers", f"name at most {MOST_LAYERS}")
    found: dict[str, dict[str, Any]] = {}
    for name, value in typed.items():
        if name.casefold() in (known.casefold() for known in found):
            raise QuantityError("is named twice", "a drawing's layers do not tell upper from lower case", (name,))
        found[name] = _keys(name, value)
    return found


def _keys(name: str, value: object) -> dict[str, Any]:
    if isinstance(value, str):
        return {"material": value}
    if isinstance(value, int | float | list) and not isinstance(value, bool):
        return {"conductivity": value}
    if not isinstance(value, dict):
        raise QuantityError("is neither a material, a conductivity nor a table", LAYERS_RIGHT, (name,))
    for key in ("polygon", "holes"):
        if key in value:
            raise QuantityError("does not belong here", "outlines come from the drawing", (name, key))
    return value


Origin = Annotated[
    Point,
    PlainValidator(_read_origin),
    WithJsonSchema({"type": "array", "items": {"type": ["number", "string"]}, "minItems": 2, "maxItems": 2}),
]
Layers = Annotated[
    dict[str, dict[str, Any]],
    PlainValidator(_read_layers),
    WithJsonSchema({"type": "object", "additionalProperties": {"type": ["string", "number", "array", "object"]}}),
]


class DrawingBlock(BaseModel):
    """The [drawing]: its closed outlines become regions, and [[region]] blocks lie over them.

    Attributes:
        file: the DXF file, in the folder of the detail file or below it.
        origin: the point of the drawing at which the section's coordinates begin [mm].
        layers: by name of a layer, the keys of a [[region]] without its polygon.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    file: LineOfText = Field(description='write file = "nib.dxf", a drawing beside the detail file')
    origin: Origin = Field((0.0, 0.0), description="point of the drawing at which the section's coordinates begin")
    layers: Layers = Field(description=LAYERS_RIGHT)
