"""What every detail file may hold beside its junction's own parameters: title, project, revision, limits, climate."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import (
    BaseModel,
    ConfigDict,
    Field,
    PlainValidator,
    ValidationInfo,
    WithJsonSchema,
    field_validator,
    model_validator,
)

from bridge2d import units
from bridge2d.comparison_block import ComparisonBlock
from bridge2d.detail import Requirement
from bridge2d.errors import QuantityError
from bridge2d.junctions.declaration import LineOfText
from bridge2d.junctions.quantities import read_line_of_text, system_of
from bridge2d.tolerances_block import TolerancesBlock
from bridge2d.units import INCH_POUND, SI, UnitSystem

QUANTITIES = {
    "psi": units.read_linear_transmittance,
    "chi": units.read_point_transmittance,
    "f_rsi": units.read_ratio,
    "u_value": units.TRANSMITTANCE.read,
}
"""How the limit of each quantity is read."""
SPOKEN = {"psi": "Ψ", "chi": "χ", "f_rsi": "f_Rsi", "u_value": "U"}
"""What a limit is of, in its letters."""
INCH_POUND_LIMITS = {
    "psi": "Btu/(h·ft·°F)",
    "chi": "Btu/(h·°F)",
    "u_value": units.TRANSMITTANCE.unit_in(INCH_POUND),
}
"""Unit of a bare limit in a file in inch-pound units."""


class RequirementBlock(BaseModel):
    """A [[requirement]]: a limit that a result has to keep."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    quantity: Literal["psi", "chi", "f_rsi", "u_value"] = Field(
        description='write quantity = "psi", "chi", "f_rsi" or "u_value"'
    )
    dimensions: Literal["external", "internal", "overall_internal"] | None = Field(
        None, description="dimension system of a Ψ"
    )
    maximum: Annotated[Any, Field(json_schema_extra={"type": ["number", "string"]})] = None
    minimum: Annotated[Any, Field(json_schema_extra={"type": ["number", "string"]})] = None
    name: LineOfText = Field("", description="what the table calls it")
    source: LineOfText = Field(description='write source = "where the limit comes from"')

    @field_validator("maximum", "minimum", mode="before")
    @classmethod
    def _with_unit(cls, typed: Any, info: ValidationInfo) -> Any:
        """A bare limit of a file in inch-pound units, as text that says its unit."""
        unit = INCH_POUND_LIMITS.get(str(info.data.get("quantity")))
        is_bare = isinstance(typed, int | float) and not isinstance(typed, bool)
        return f"{typed} {unit}" if unit and is_bare and system_of(info) == INCH_POUND else typed

    @model_validator(mode="after")
    def _fits_together(self) -> RequirementBlock:
        """One limit, and dimensions where the quantity is a Ψ."""
        self.requirement()
        return self

    def requirement(self) -> Requirement:
        """The requirement of the detail."""
        given = [sense for sense in ("maximum", "minimum") if getattr(self, sense) is not None]
        if len(given) != 1:
            found = "neither maximum nor minimum" if not given else "both maximum and minimum"
            raise QuantityError(f"{found} is given", "give exactly one, such as maximum = 0.05")
        sense = "minimum" if self.quantity == "f_rsi" else "maximum"
        if given[0] != sense:
            raise QuantityError(f"{self.quantity} has no {given[0]}", f"write {sense} instead", (given[0],))
        if self.quantity == "psi" and self.dimensions is None:
            raise QuantityError(
                "a Ψ needs its dimensions", 'add dimensions = "external" (or internal, overall_internal)'
            )
        if self.quantity != "psi" and self.dimensions is not None:
            raise QuantityError(f"{self.quantity} has no dimensions", "leave the key out", ("dimensions",))
        try:
            limit = QUANTITIES[self.quantity](getattr(self, given[0]))
        except QuantityError as error:
            raise QuantityError(error.message, error.right, (given[0],)) from None
        if self.quantity == "f_rsi" and not 0 <= limit <= 1:
            raise QuantityError(f"{limit:g} is no temperature factor", "give a number from 0 to 1", (given[0],))
        name = self.name or _default_name(self.quantity, given[0], self.dimensions)
        return Requirement(self.quantity, limit, given[0], name, self.source, self.dimensions or "")


def _default_name(quantity: str, sense: str, dimensions: str | None) -> str:
    return f"{sense} {SPOKEN[quantity]}" + (f", {dimensions.replace('_', ' ')} dimensions" if dimensions else "")


def _read_names(typed: object) -> tuple[str, ...]:
    """Names of requirement sets: one, or a list."""
    right = 'write requirements = ["din-4108-2"]; `bridge2d requirements` lists the sets'
    names = [typed] if isinstance(typed, str) else typed
    if not isinstance(names, list):
        raise QuantityError("is no list of names", right)
    found: list[str] = []
    for number, name in enumerate(names):
        if isinstance(name, dict):
            right = "a limit of its own stands under [[requirement]]; requirements names sets"
            raise QuantityError("stands where names of sets are expected", right, (number,))
        try:
            found.append(read_line_of_text(name))
        except QuantityError as error:
            raise QuantityError(error.message, right, (number,)) from None
        if found.count(found[-1]) > 1:
            raise QuantityError(f"names {found[-1]!r:.60} twice", "name each set once", (number,))
    return tuple(found)


Names = Annotated[
    tuple[str, ...],
    PlainValidator(_read_names),
    WithJsonSchema({"anyOf": [{"type": "string"}, {"type": "array", "items": {"type": "string"}}]}),
]


class Head(BaseModel):
    """What every detail file may hold beside its junction's own parameters."""

    model_config = ConfigDict(frozen=True, extra="ignore")

    junction: LineOfText = Field(description='write junction = "free_section"')
    title: LineOfText = ""
    project: LineOfText = ""
    revision: LineOfText = ""
    author: LineOfText = ""
    date: LineOfText = ""
    units: UnitSystem = Field(SI, description='write units = "SI" or units = "inch-pound"')
    parameters: dict[str, Any] = Field(default_factory=dict)
    requirement: tuple[RequirementBlock, ...] = ()
    requirements: Names = Field((), description="names of requirement sets")
    requirement_sets: LineOfText | None = Field(None, description="a file of own sets beside the detail file")
    climate: dict[str, Any] | None = None
    comparison: ComparisonBlock | None = None
    tolerances: TolerancesBlock | None = None


HEAD = tuple(Head.model_fields)
"""The keys of every detail file."""
