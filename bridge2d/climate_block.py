"""The [climate] of a detail file: which keys it may have and how their values are read.

Part of reading a detail file; `climate_file` makes the climate of it.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, PlainValidator, WithJsonSchema, model_validator

from bridge2d import units
from bridge2d.errors import QuantityError
from bridge2d.junctions.declaration import LineOfText

MONTHLY = (
    "outside_temperature",
    "outside_humidity",
    "outside_vapour_pressure",
    "inside_temperature",
    "inside_humidity",
)
"""Keys that hold twelve values, and columns that a table may have beside `month`."""
COLDEST, WARMEST = -50.0, 50.0
"""Temperatures outside beyond these are a slip of the pen [°C]."""
COLDEST_ROOM = -10.0
"""So are rooms that are colder [°C]."""
DRIEST, DAMPEST = 0.05, 1.0
"""Relative humidities beyond these are a slip of the pen [1]."""
GREATEST_PRESSURE = 10_000.0
"""A vapour pressure above this is a slip of the pen [Pa]."""
TWELVE = "give twelve values, January to December"


def read_temperature(typed: object, coldest: float = COLDEST) -> float:
    """A monthly mean temperature [°C].

    Args:
        typed: number or text from the file.
        coldest: what it may not fall below [°C].

    Raises:
        QuantityError: it cannot be read or is beyond what a month can have.
    """
    value = units.read_temperature(typed)
    if not coldest <= value <= WARMEST:
        raise QuantityError(f"{value:g} °C is beyond what is allowed", f"give {coldest:g} to {WARMEST:g} °C")
    return value


def read_humidity(typed: object) -> float:
    """A relative humidity: 0.85, or "85 %" [1].

    Args:
        typed: number or text from the file.

    Raises:
        QuantityError: it cannot be read or is no relative humidity.
    """
    right = 'write a number from 0.05 to 1 or text such as "85 %"'
    if isinstance(typed, str):
        number, percent, rest = typed.partition("%")
        if not percent or rest.strip():
            raise QuantityError(f"{typed[:40]!r} is no relative humidity", right)
        value = _number(number, right) / 100.0
    else:
        value = units.read_ratio(typed)
    if 1.0 < value <= 100.0 and not isinstance(typed, str):
        raise QuantityError(f"{value:g} is no relative humidity", f'write {value / 100:g} or "{value:g} %"')
    if not DRIEST <= value <= DAMPEST:
        raise QuantityError(f"{typed!r:.40} is no relative humidity", right)
    return value


def read_pressure(typed: object) -> float:
    """A vapour pressure: 850, or "850 Pa" [Pa].

    Args:
        typed: number or text from the file.

    Raises:
        QuantityError: it cannot be read or is beyond what air can have.
    """
    right = f"write the pressure in pascals, from 1 to {GREATEST_PRESSURE:g}"
    value = _number(typed.removesuffix("Pa"), right) if isinstance(typed, str) else units.read_ratio(typed)
    if not 1.0 <= value <= GREATEST_PRESSURE:
        raise QuantityError(f"{typed!r:.40} is no vapour pressure of air", right)
    return value


def _number(text: str, right: str) -> float:
    try:
        value = float(text.strip())
    except ValueError:
        raise QuantityError(f"{text.strip()[:40]!r} is not a number", right) from None
    if not math.isfinite(value):
        raise QuantityError(f"{text.strip()[:40]!r} is not a number", right)
    return value


READ: dict[str, Callable[[object], float]] = {
    "outside_temperature": read_temperature,
    "outside_humidity": read_humidity,
    "outside_vapour_pressure": read_pressure,
    "inside_temperature": partial(read_temperature, coldest=COLDEST_ROOM),
    "inside_humidity": read_humidity,
}
"""How a value of each monthly key is read."""


def _read_twelve(key: str, typed: object) -> tuple[float, ...]:
    if not isinstance(typed, list):
        raise QuantityError("is not a list", f"{TWELVE}, in square brackets")
    if len(typed) != 12:
        raise QuantityError(f"has {len(typed)} values", TWELVE)
    values = []
    for number, one in enumerate(typed):
        try:
            values.append(READ[key](one))
        except QuantityError as error:
            raise QuantityError(error.message, error.right, (number,)) from None
    return tuple(values)


def _read_one_or_twelve(key: str, typed: object) -> tuple[float, ...]:
    return _read_twelve(key, typed) if isinstance(typed, list) else (READ[key](typed),) * 12


def _twelve(key: str) -> PlainValidator:
    return PlainValidator(partial(_read_twelve, key))


def _one_or_twelve(key: str) -> PlainValidator:
    return PlainValidator(partial(_read_one_or_twelve, key))


LIST = WithJsonSchema({"type": "array", "items": {"type": ["number", "string"]}, "minItems": 12, "maxItems": 12})
EITHER = WithJsonSchema({"type": ["number", "string", "array"]})
NUMBER = WithJsonSchema({"type": "number"})
TYPED = WithJsonSchema({"type": ["number", "string"]})


def _between(low: float, high: float, what: str) -> PlainValidator:
    def read(typed: object) -> float:
        value = units.read_ratio(typed)
        if not low <= value <= high:
            raise QuantityError(f"{value:g} is no {what}", f"give {low:g} to {high:g}")
        return value

    return PlainValidator(read)


def _read_class(typed: object) -> int:
    value = int(units.read_count(typed))
    if not 1 <= value <= 5:
        raise QuantityError(f"there is no humidity class {value}", "give 1, 2, 3, 4 or 5")
    return value


class ClimateBlock(BaseModel):
    """The [climate]: twelve months outside, from lists or from a table beside the file, and the room's air."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    name: LineOfText = Field(description='write name = "the place or data set"')
    source: LineOfText = Field(description='write source = "where the values come from"')
    file: LineOfText | None = Field(None, description="a table beside the detail file with a column month")
    outside_temperature: Annotated[tuple[float, ...] | None, _twelve("outside_temperature"), LIST] = Field(
        None, description="monthly means outside [°C]"
    )
    outside_humidity: Annotated[tuple[float, ...] | None, _twelve("outside_humidity"), LIST] = Field(
        None, description='relative humidity outside by month, 0.85 or "85 %"'
    )
    outside_vapour_pressure: Annotated[tuple[float, ...] | None, _twelve("outside_vapour_pressure"), LIST] = Field(
        None, description="vapour pressure outside by month [Pa], instead of the humidity"
    )
    inside_temperature: Annotated[tuple[float, ...] | None, _one_or_twelve("inside_temperature"), EITHER] = Field(
        None, description="of the room [°C], one value or twelve; 20 unless given"
    )
    inside_humidity: Annotated[tuple[float, ...] | None, _one_or_twelve("inside_humidity"), EITHER] = Field(
        None, description="relative humidity of the room, one value or twelve"
    )
    humidity_class: Annotated[int | None, PlainValidator(_read_class), WithJsonSchema({"type": "integer"})] = Field(
        None, description="1 to 5 (ISO 13788, annex A.2), instead of the humidity of the room"
    )
    vapour_excess: Annotated[float | None, _between(50.0, 5000.0, "vapour pressure excess [Pa]"), NUMBER] = Field(
        None, description="over the air outside at 0 °C and below [Pa], for class 5 or instead of a class"
    )
    safety_factor: Annotated[float | None, _between(1.0, 2.0, "factor on the vapour excess"), NUMBER] = Field(
        None, description="on the vapour excess; 1.10 unless given"
    )
    humidity_margin: Annotated[float | None, _between(0.0, 0.2, "margin of the relative humidity"), NUMBER] = Field(
        None, description="added to the relative humidity of the room; none unless given"
    )
    occupancy: Literal["normal", "high"] | None = Field(
        None,
        description="of rooms in a continental climate (ISO 13788, annex A.1), instead of the humidity of the room",
    )
    coldest_day: Annotated[float | None, PlainValidator(read_temperature), TYPED] = Field(
        None, description="mean annual minimum of the daily temperature [°C], for glazing and frames"
    )
    heated_below: Annotated[float | None, PlainValidator(read_temperature), TYPED] = Field(
        None, description="months warmer than this outside ask for nothing [°C]"
    )

    @model_validator(mode="after")
    def _fits_together(self) -> ClimateBlock:
        """Class 5 with its excess, and no factor or margin that nothing is multiplied by or added to."""
        if self.humidity_class == 5 and self.vapour_excess is None:
            right = "add vapour_excess = 1400, the excess in pascals at 0 °C outside, or give inside_humidity instead"
            raise QuantityError("class 5 has no upper limit", right, ("humidity_class",))
        if self.humidity_class not in (None, 5) and self.vapour_excess is not None:
            raise QuantityError("the humidity class has its own excess", "give one of both", ("vapour_excess",))
        by_excess = self.humidity_class is not None or self.vapour_excess is not None
        if self.safety_factor is not None and not by_excess:
            right = "leave it out, or give a humidity_class"
            raise QuantityError("there is no vapour excess to be multiplied", right, ("safety_factor",))
        if self.humidity_margin is not None and by_excess:
            right = "leave it out; safety_factor stands on the vapour excess"
            raise QuantityError("there is no relative humidity to be added to", right, ("humidity_margin",))
        return self
