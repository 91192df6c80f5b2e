"""What a building file may hold: its head, [[junction]], [[element]] and [[requirement]] blocks."""

from __future__ import annotations

import math
import re
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, PlainValidator, model_validator

from bridge2d import units
from bridge2d.detail_blocks import RequirementBlock
from bridge2d.errors import QuantityError
from bridge2d.junctions.declaration import LineOfText
from bridge2d.junctions.quantities import LONGEST

LARGEST = 1_000_000.0
"""An element of more square metres than this is a slip of the pen [m²]."""
AREAS = {"m2": 1.0, "ft2": units.FOOT**2, "sqft": units.FOOT**2}

System = Literal["external", "internal", "overall_internal"]


def read_metres(typed: object) -> float:
    """The length of a junction in the building [m].

    Args:
        typed: a number [m] or text with a unit.

    Raises:
        QuantityError: it is no length above zero.
    """
    right = 'write metres as a number such as 42.6, or a text such as "42.6 m" or "140 ft"'
    try:
        metres = units.read_length(typed) if isinstance(typed, str) else units.read_length(typed) * 1000.0
    except QuantityError as error:
        raise QuantityError(error.message, right) from None
    if not 0 < metres <= LONGEST:
        raise QuantityError(f"{units.plain(metres)} m is beyond what is allowed", f"give 0 to {LONGEST:g} m; {right}")
    return metres


def read_area(typed: object) -> float:
    """An area [m²].

    Args:
        typed: a number [m²] or text with a unit.

    Raises:
        QuantityError: it is no area above zero.
    """
    right = 'write square metres as a number such as 86.5, or a text such as "86.5 m²" or "930 ft²"'
    if isinstance(typed, str):
        found = re.fullmatch(r"\s*([0-9]+(?:[.,][0-9]+)?)\s*(.+?)\s*", typed[:60])
        factor = AREAS.get(re.sub(r"[\s^]", "", found[2]).replace("²", "2")) if found else None
        if found is None or factor is None:
            raise QuantityError(f"{typed[:60]!r} is no area", right)
        area = float(found[1].replace(",", ".")) * factor
    else:
        try:
            area = units.read_ratio(typed)
        except QuantityError as error:
            raise QuantityError(error.message, right) from None
    if not 0 < area <= LARGEST:
        raise QuantityError(f"{units.plain(area)} m² is beyond what is allowed", f"give 0 to {LARGEST:g} m²")
    return area


def read_pieces(typed: object) -> int:
    """How many pieces [1].

    Args:
        typed: a whole number above zero.

    Raises:
        QuantityError: it is none.
    """
    count = units.read_count(typed)
    if not 1 <= count <= 1e6:
        raise QuantityError(f"{count:g} pieces are beyond what is allowed", "give a whole number from 1")
    return int(count)


def _read_factor(typed: object) -> float:
    factor = units.read_ratio(typed)
    if not 0 <= factor <= 1:
        raise QuantityError(f"{factor:g} is no temperature factor", "give a number from 0 to 1")
    return factor


def _read_psi(typed: object) -> float:
    return _limited(units.read_conductivity(typed), 100.0, "W/(m·K)")


def _read_chi(typed: object) -> float:
    return _limited(units.read_point_transmittance(typed), 1000.0, "W/K")


def _read_u_value(typed: object) -> float:
    value = units.read_transmittance(typed)
    if not 0 < value <= 100:
        raise QuantityError(f"{units.plain(value)} W/(m²·K) is beyond what is allowed", "give above 0 to 100 W/(m²·K)")
    return value


def _limited(value: float, most: float, unit: str) -> float:
    if not math.fabs(value) <= most:
        raise QuantityError(f"{units.plain(value)} {unit} is beyond what is allowed", f"give −{most:g} to {most:g}")
    return value


Metres = Annotated[float, PlainValidator(read_metres)]


class JunctionBlock(BaseModel):
    """A [[junction]]: a detail or a plain value, and how much of it the building has."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    ref: LineOfText = Field("", description="a short reference, each once")
    name: LineOfText = Field("", description="what the tables call it")
    group: LineOfText = Field("", description="orientation or part of the building")
    detail: LineOfText = Field("", description='write detail = "a detail file"')
    parameters: dict[str, Any] = Field(default_factory=dict, description="write parameters = { … }")
    psi: Annotated[float, PlainValidator(_read_psi)] | None = None
    chi: Annotated[float, PlainValidator(_read_chi)] | None = None
    f_rsi: Annotated[float, PlainValidator(_read_factor)] | None = None
    dimensions: System | None = Field(None, description="dimension system of the Ψ")
    source: LineOfText = Field("", description='write source = "where the value comes from"')
    length: Metres | None = None
    lengths: dict[str, Metres] = Field(default_factory=dict, description="write lengths = { jamb = 12.4, … }")
    number: Annotated[int, PlainValidator(read_pieces)] | None = None

    @model_validator(mode="after")
    def _fits_together(self) -> JunctionBlock:
        """One origin of the value, and an amount that belongs to it."""
        given = [key for key in ("detail", "psi", "chi") if getattr(self, key) not in (None, "")]
        if len(given) != 1:
            found = " and ".join(given) if given else "no value"
            right = 'write detail = "a file", or a plain psi or chi with its source'
            raise QuantityError(f"{found} where exactly one of detail, psi and chi belongs", right, tuple(given[1:2]))
        kind = given[0]
        for key in _UNFIT[kind]:
            if getattr(self, key) not in (None, "", {}):
                raise QuantityError(f"the key does not belong to a junction with {kind}", _UNFIT[kind][key], (key,))
        for key, right in _NEEDED[kind].items():
            if getattr(self, key) in (None, ""):
                raise QuantityError(f"the key {key} is missing", right)
        if kind == "detail":
            self._check_amount()
        return self

    def _check_amount(self) -> None:
        if self.length is None and self.number is None and not self.lengths:
            raise QuantityError("the amount is missing", "write length = 12.5 (metres) or number = 8")
        if self.lengths and (self.length is not None or self.number is not None):
            raise QuantityError("lengths of the sides leave no other amount", "leave length and number out")


_PLAIN = {
    "parameters": "only a detail has parameters; leave it out",
    "lengths": "only the sides of an installed window have lengths; write length or number",
}
_UNFIT: dict[str, dict[str, str]] = {
    "detail": {
        "source": "a detail's numbers come from its file; leave it out",
        "f_rsi": "the temperature factor is computed; leave it out",
    },
    "psi": {**_PLAIN, "number": "a Ψ counts by length; write length = … (metres)"},
    "chi": {
        **_PLAIN,
        "length": "a χ counts by pieces; write number = …",
        "dimensions": "a χ has no dimension system; leave it out",
    },
}
"""What does not belong to a junction with a detail, a plain Ψ or a plain χ, and what would be right."""
_NEEDED: dict[str, dict[str, str]] = {
    "detail": {},
    "psi": {
        "name": 'write name = "what the tables call it"',
        "source": 'write source = "where the value comes from"',
        "dimensions": 'a plain Ψ needs its own, such as dimensions = "external", as its source states it',
        "length": "write length = 12.5 (metres)",
    },
    "chi": {
        "name": 'write name = "what the tables call it"',
        "source": 'write source = "where the value comes from"',
        "number": "write number = 8",
    },
}


class ElementBlock(BaseModel):
    """An [[element]]: a plane part of the envelope with its area and U."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    name: LineOfText = Field(description='write name = "street wall"')
    group: LineOfText = Field("", description="orientation or part of the building")
    area: Annotated[float, PlainValidator(read_area)] = Field(description="write area = 86.5 (square metres)")
    u_value: Annotated[float, PlainValidator(_read_u_value)] = Field(description="write u_value = 0.31 (W/(m²·K))")
    dimensions: System | None = Field(None, description="dimension system of the area")
    source: LineOfText = ""


class BuildingBlock(BaseModel):
    """All of a building file."""

    model_config = ConfigDict(frozen=True, extra="ignore")

    title: LineOfText = ""
    project: LineOfText = ""
    revision: LineOfText = ""
    author: LineOfText = ""
    date: LineOfText = ""
    dimensions: System = Field(description='write dimensions = "external" (or internal, overall_internal) at the top')
    requirements: LineOfText = Field("", description="name of a set of requirements")
    requirement_sets: LineOfText = Field("", description="name of a file with own sets of requirements")
    requirement: tuple[RequirementBlock, ...] = ()
    junction: tuple[JunctionBlock, ...] = ()
    element: tuple[ElementBlock, ...] = ()
