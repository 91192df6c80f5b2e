"""The types that a parameter's field may have: quantities and lines of text, read through the units."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import GetCoreSchemaHandler, PlainValidator, ValidationInfo, WithJsonSchema
from pydantic_core import core_schema

from bridge2d import units
from bridge2d.errors import QuantityError
from bridge2d.units import INCH_POUND, SI, Kind, UnitSystem

LIMITS = {
    "length": (-100.0, 100.0),
    "conductivity": (1e-4, 1e4),
    "transmittance": (1e-4, 1e3),
    "temperature": (-100.0, 200.0),
    "angle": (-360.0, 360.0),
    "count": (0.0, 1e6),
    "ratio": (-1e6, 1e6),
}
"""Beyond these a quantity is a slip of the pen [SI]."""
RESISTANCES = (1e-4, 10.0)
"""Least and greatest surface resistance that is not 0 [m²·K/W]."""
LONGEST_LINE = 300
"""A title or name of more characters than this is refused."""


def units_context(system: UnitSystem) -> dict[str, UnitSystem]:
    """What validation has to be told of a file: the system of units of its bare numbers."""
    return {"units": system}


def system_of(info: ValidationInfo | core_schema.ValidationInfo) -> UnitSystem:
    """The system of units of the bare numbers that are being validated; SI where nobody said."""
    context = info.context
    return INCH_POUND if isinstance(context, dict) and context.get("units") == INCH_POUND else SI


def read_within(kind: Kind, typed: object, system: UnitSystem = SI, most: float | None = None) -> float:
    """A quantity within what is sensible at all [SI].

    Args:
        kind: what is read.
        typed: number or text from the file.
        system: of a bare number.
        most: greatest value of a kind's special use [SI], whose least is 0.

    Raises:
        QuantityError: it cannot be read, or is beyond `LIMITS`.
    """
    value = kind.read(typed, system)
    if kind.name == "resistance":
        low, high = RESISTANCES
        if value != 0 and not low <= value <= high:
            raise QuantityError(
                f"{kind.show(value, system)} is beyond what a surface resistance can be",
                f"give 0 (the temperature is prescribed) or {span(kind, low, high, system)}",
            )
        return value
    low, high = LIMITS[kind.name] if most is None else (0.0, most)
    if not low <= value <= high:
        right = f"give {span(kind, low, high, system)}"
        raise QuantityError(f"{kind.show(value, system)} is beyond what is allowed", right)
    return value


def span(kind: Kind, low: float | None, high: float | None, system: UnitSystem = SI) -> str:
    """The allowed range as a person reads it; both ends are allowed as they are printed."""
    unit = kind.unit_in(system)
    if low is None:
        return f"at most {_end(kind, high or 0.0, system, math.floor)} {unit}".rstrip()
    if high is None:
        return f"at least {_end(kind, low, system, math.ceil)} {unit}".rstrip()
    return f"{_end(kind, low, system, math.ceil)} to {_end(kind, high, system, math.floor)} {unit}".rstrip()


def _end(kind: Kind, limit: float, system: UnitSystem, inward: Callable[[float], int]) -> str:
    """A limit as a number, converted ones rounded inward."""
    text = kind.number(limit, system)
    if system == SI or not kind.inch_pound_unit or "/" in text:
        return text
    scale = 10.0 ** len(text.partition(".")[2])
    exact = kind.bare(limit, system) * scale
    # a millionth of the last digit is no difference: the limit was exact in that unit
    count = round(exact) if abs(exact - round(exact)) < 1e-6 else inward(exact)
    return units.plain(count / scale)


def read_line_of_text(typed: object) -> str:
    """One line of text: a title, a name, a source.

    Args:
        typed: value from the file.

    Raises:
        QuantityError: it is no text, is empty, too long, or holds control characters.
    """
    if not isinstance(typed, str):
        raise QuantityError("is not text", "write it between double quotes")
    if not typed.strip():
        raise QuantityError("is empty", "write a few words")
    if len(typed) > LONGEST_LINE:
        raise QuantityError(f"has {len(typed)} characters", f"write at most {LONGEST_LINE}")
    if any(ord(c) < 32 or 127 <= ord(c) < 160 or c in "\u2028\u2029" for c in typed):
        raise QuantityError("holds a line break or another control character", "write it on one line")
    return typed


@dataclass(frozen=True, slots=True)
class Quantity:
    """Mark of a field that holds a quantity: how it is read, and what its schema says.

    Attributes:
        kind: the kind of quantity.
        whole: whether the value is a whole number.
        most: greatest value [SI]; None for that of the kind.
    """

    kind: Kind
    whole: bool = False
    most: float | None = None

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> core_schema.CoreSchema:
        """How the validation of a detail file reads it."""

        def read(typed: object, info: core_schema.ValidationInfo) -> float:
            value = read_within(self.kind, typed, system_of(info), self.most)
            return int(value) if self.whole else value

        return core_schema.with_info_plain_validator_function(read)

    def __get_pydantic_json_schema__(self, schema: Any, handler: Any) -> dict[str, Any]:
        """What an editor may offer: a number, or text where the quantity has a unit."""
        if self.kind.unit:
            return {"type": ["number", "string"], "unit": self.kind.unit}
        return {"type": "integer" if self.whole else "number"}


Length = Annotated[float, Quantity(units.LENGTH)]
"""A length [m]."""
LONGEST = 20_000.0
"""A junction of more metres in a building than this is a slip of the pen [m]."""
LengthInBuilding = Annotated[float, Quantity(units.LENGTH, most=LONGEST)]
"""The length of a junction in a building [m]."""
Conductivity = Annotated[float, Quantity(units.CONDUCTIVITY)]
"""A thermal conductivity [W/(m·K)]."""
Resistance = Annotated[float, Quantity(units.RESISTANCE)]
"""A surface resistance [m²·K/W]."""
Transmittance = Annotated[float, Quantity(units.TRANSMITTANCE)]
"""A thermal transmittance U [W/(m²·K)]."""
Temperature = Annotated[float, Quantity(units.TEMPERATURE)]
"""A temperature [°C]."""
Angle = Annotated[float, Quantity(units.ANGLE)]
"""An angle [deg]."""
Ratio = Annotated[float, Quantity(units.RATIO)]
"""A number without a unit [1]."""
Count = Annotated[int, Quantity(units.COUNT, whole=True)]
"""A whole number [1]."""
LineOfText = Annotated[str, PlainValidator(read_line_of_text), WithJsonSchema({"type": "string", "maxLength": 300})]
"""A title, a name, a source."""
