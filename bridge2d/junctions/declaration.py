"""A junction's parameters, declared once: name, symbol, label, unit, limits, default and what they measure.

Second step of the flow: detail file -> **parameters** -> detail. Command-line help, the table in the report, the JSON
schema and a new detail file all come from these declarations. The types of the fields stand here too.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from types import UnionType
from typing import Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel, ConfigDict, Field, ValidationInfo, field_validator, model_validator

from bridge2d import units
from bridge2d.detail import Detail
from bridge2d.errors import QuantityError
from bridge2d.junctions.material_choice import MaterialChoice, MaterialName, show_material
from bridge2d.junctions.quantities import (
    Angle,
    Conductivity,
    Count,
    Length,
    LineOfText,
    Quantity,
    Ratio,
    Resistance,
    Temperature,
    Transmittance,
    span,
    system_of,
)
from bridge2d.materials import replaced
from bridge2d.units import SI, Kind, UnitSystem

__all__ = [
    "Angle",
    "Conductivity",
    "Count",
    "Junction",
    "Length",
    "LineOfText",
    "MaterialChoice",
    "MaterialName",
    "ParameterInfo",
    "Parameters",
    "Ratio",
    "Resistance",
    "Temperature",
    "Transmittance",
    "describe",
    "is_varied",
    "parameter",
]


SIZES = ("thickness", "height", "width", "length", "diameter")
"""Ends of the names of sizes without which a piece is not there; of its material's name the beginning is the same."""


def parameter(
    default: Any,
    *,
    symbol: str,
    label: str,
    group: str,
    help: str,  # noqa: A002 - the word that the command line uses too
    minimum: float | None = None,
    maximum: float | None = None,
) -> Any:
    """Declare a parameter; the type of the field says what kind of quantity it is.

    Args:
        default: in SI (metres), or text as in a detail file; `...` where there is none.
        symbol: symbol in the drawing ("d_1").
        label: what it is called.
        group: heading under which it is listed.
        help: what it measures, in a sentence.
        minimum: least value in SI, itself allowed; None where there is none.
        maximum: greatest value in SI, itself allowed; None where there is none.
    """
    extra: dict[str, Any] = {"symbol": symbol, "group": group, "minimum": minimum, "maximum": maximum}
    typed = isinstance(default, str | dict)
    return Field(default, title=label, description=help, validate_default=typed, json_schema_extra=extra)


class Parameters(BaseModel):
    """Base of every junction's parameters: frozen, and no key but the declared ones."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    @model_validator(mode="before")
    @classmethod
    def _r_values(cls, data: Any, info: ValidationInfo) -> Any:
        """A material whose conductivity is a bare R-value takes it as that of its layer's own thickness."""
        if not isinstance(data, dict):
            return data
        found = {
            key: {**value, "conductivity": f"{value['conductivity']} at {cls._typed_thickness(data, key, info)}"}
            for key, value in data.items()
            if isinstance(value, dict)
            and units.is_r_value(value.get("conductivity"))
            and cls._typed_thickness(data, key, info)
        }
        return {**data, **found}

    @classmethod
    def _typed_thickness(cls, data: dict[str, Any], key: str, info: ValidationInfo) -> str:
        """The thickness that belongs to a material's key, as text with its unit; empty where there is none."""
        name = f"{key.removesuffix('_material')}_thickness"
        declared = cls.model_fields.get(name)
        if declared is None or not key.endswith("_material"):
            return ""
        typed = data.get(name)
        if typed is None and isinstance(declared.default, int | float):
            return f"{1000.0 * declared.default:.9g} mm"
        if isinstance(typed, int | float) and not isinstance(typed, bool):
            return f"{typed} {units.LENGTH.unit_in(system_of(info))}"
        return typed if isinstance(typed, str) else ""

    def shown(self, info: ParameterInfo, system: UnitSystem = SI) -> str:
        """A parameter's value as the report's table shows it.

        Args:
            info: the parameter.
            system: units in which it is shown.
        """
        return info.show(getattr(self, info.name), system)

    def unused(self) -> frozenset[str]:
        """Names of parameters on which the detail does not depend at these values.

        Here: what a piece without a size is made of. A junction adds what its own choices leave out.
        """
        fields = type(self).model_fields
        return frozenset(
            name
            for name in fields
            if (piece := _of_a_material(name))
            for size in SIZES
            if f"{piece}_{size}" in fields and getattr(self, f"{piece}_{size}") == 0
        )

    @field_validator("*", mode="after")
    @classmethod
    def _within_limits(cls, value: Any, info: ValidationInfo) -> Any:
        """The declared limits of the field."""
        declared = cls.model_fields[info.field_name or ""]
        extra = declared.json_schema_extra
        if not isinstance(extra, dict) or isinstance(value, bool) or not isinstance(value, int | float):
            return value
        low, high = _number_or_none(extra.get("minimum")), _number_or_none(extra.get("maximum"))
        # A picometre of slack: a limit typed in another unit is still kept.
        if (low is not None and value < low - 1e-12) or (high is not None and value > high + 1e-12):
            kind = _kind(declared.metadata, declared.annotation) or units.RATIO
            system = system_of(info)
            right = f"give {span(kind, low, high, system)}"
            raise QuantityError(f"{kind.show(value, system)} is outside the limits", right)
        return value


def _of_a_material(name: str) -> str:
    """The piece whose material a parameter chooses; empty where it chooses none."""
    return next((name.removesuffix(end) for end in ("_material", "_filling") if name.endswith(end)), "")


def _number_or_none(value: object) -> float | None:
    return float(value) if isinstance(value, int | float) else None


def _kind(metadata: list[Any], annotation: Any) -> Kind | None:
    """The kind of quantity that a field's type carries."""
    for piece in metadata:
        if isinstance(piece, Quantity):
            return piece.kind
    for inner in get_args(annotation):
        found = inner.kind if isinstance(inner, Quantity) else _kind([], inner)
        if found:
            return found
    return None


@dataclass(frozen=True, slots=True)
class ParameterInfo:
    """Everything that is declared of a parameter.

    Attributes:
        name, symbol, label, group, help: see `parameter`.
        unit: unit of a bare number in a detail file in SI; empty where it has none.
        minimum, maximum: limits [SI]; None where there is none.
        default: default [SI, or a `MaterialChoice`]; None where there is none.
        kind: kind of quantity; None for materials, words and yes/no.
        words: the words that the parameter may be, where it chooses between words.
        material: whether it chooses a material.
    """

    name: str
    symbol: str
    label: str
    group: str
    unit: str
    minimum: float | None
    maximum: float | None
    default: Any
    help: str
    kind: Kind | None
    words: tuple[str, ...] = ()
    material: bool = False

    def show(self, value: Any, system: UnitSystem = SI) -> str:
        """A value of the parameter as a person reads it, with its unit."""
        if isinstance(value, MaterialChoice):
            return show_material(value, system)
        if self.kind is not None and isinstance(value, int | float):
            return self.kind.show(value, system)
        return "none" if value is None else str(value)

    @property
    def limits(self) -> str:
        """What is allowed, as a person reads it; empty where anything is."""
        return self.limits_in(SI)

    def limits_in(self, system: UnitSystem) -> str:
        """The same in a system of units."""
        choices = [f'"{word}"' for word in self.words] + (["a material"] if self.material else [])
        if choices:
            return " or ".join(choices)
        if self.minimum is None and self.maximum is None:
            return ""
        return span(self.kind or units.RATIO, self.minimum, self.maximum, system)


UNVARIED = (units.TEMPERATURE, units.COUNT)
"""Kinds that change no coupling, or not by a little."""


def is_varied(info: ParameterInfo, value: object) -> bool:
    """Whether a parameter is a number that Ψ or f_Rsi may depend on; what is not there has no size to be off by.

    Args:
        info: the parameter.
        value: of it.
    """
    if info.kind is None or info.kind in UNVARIED or info.name.endswith("humidity"):
        return False
    return isinstance(value, float | int) and not isinstance(value, bool) and value != 0


def _parts(annotation: Any) -> list[Any]:
    """The alternatives of a field's type, or the type itself."""
    inner = get_args(annotation)
    return list(inner) if isinstance(annotation, UnionType) or get_origin(annotation) is Union else [annotation]


def describe(parameters_class: type[Parameters]) -> tuple[ParameterInfo, ...]:
    """Every declared parameter, in the order of declaration.

    Args:
        parameters_class: a junction's parameters.
    """
    # A default may choose a material, which the catalogue of the moment describes.
    return _declared(parameters_class) if replaced() else _remembered(parameters_class)


def _declared(parameters_class: type[Parameters]) -> tuple[ParameterInfo, ...]:
    rows = []
    for name, declared in parameters_class.model_fields.items():
        if not declared.json_schema_extra:  # a list of blocks, which has declarations of its own
            continue
        extra: Mapping[str, Any] = declared.json_schema_extra if isinstance(declared.json_schema_extra, dict) else {}
        kind = _kind(declared.metadata, declared.annotation)
        default = None if declared.is_required() else declared.get_default(call_default_factory=False)
        parts = _parts(declared.annotation)
        if declared.annotation is MaterialChoice and default is not None:
            default = MaterialChoice.read(default, name.replace("_", " "))
        elif kind is not None and isinstance(default, str):
            default = kind.read(default)
        rows.append(
            ParameterInfo(
                name=name,
                symbol=str(extra.get("symbol") or ""),
                label=declared.title or name.replace("_", " "),
                group=str(extra.get("group") or ""),
                unit=kind.unit if kind else "",
                minimum=_number_or_none(extra.get("minimum")),
                maximum=_number_or_none(extra.get("maximum")),
                default=default,
                help=declared.description or "",
                kind=kind,
                words=tuple(str(w) for part in parts if get_origin(part) is Literal for w in get_args(part)),
                material=MaterialChoice in parts,
            )
        )
    return tuple(rows)


_remembered = cache(_declared)


@dataclass(frozen=True, slots=True)
class Junction:
    """A junction: its parameters and the pure function that makes a detail of them.

    Attributes:
        name: as a detail file writes it ("joist_pocket").
        title: as the trade says it.
        description: a few sentences: what is modelled, and where the cut lies.
        parameters: class of its parameters.
        build: parameters -> detail; the detail file adds title, project, revision, requirements and parameter rows.
            It may raise InputError(message, key="a parameter", right="…") where parameters do not fit together.
        blocks: whether the parameters stand at the top level of the file as [[blocks]], as those of a free section do.
        example: text of a detail file to begin with, for a junction with blocks; of another one, what follows its
            parameters there.
    """

    name: str
    title: str
    description: str
    parameters: type[Parameters]
    build: Callable[[Any], Detail]
    blocks: bool = False
    example: str = ""
