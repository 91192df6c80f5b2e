"""The choice of a material: a name of the catalogue, a bare conductivity, or a name with a conductivity of its own."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Any, TypeVar

from pydantic import BaseModel, GetCoreSchemaHandler
from pydantic_core import core_schema

from bridge2d import units
from bridge2d.errors import QuantityError, nearest
from bridge2d.junctions.quantities import read_line_of_text, read_within, system_of
from bridge2d.materials import Material, UnknownMaterialError, catalogue, get
from bridge2d.units import SI, UnitSystem


def read_conductivities(typed: object, system: UnitSystem = SI) -> tuple[float, float | None]:
    """Conductivity across and along the grain [W/(m·K)]; the second is None where there is no grain.

    Args:
        typed: a number, text with a unit, or a list [along, across] of two of them.
        system: of bare numbers.

    Raises:
        QuantityError: it is none of these.
    """
    if not isinstance(typed, list):
        return read_within(units.CONDUCTIVITY, typed, system), None
    if len(typed) != 2:
        raise QuantityError(f"is a list of {len(typed)}", "give one conductivity, or [along, across] the grain")
    values = []
    for number, one in enumerate(typed):
        try:
            values.append(read_within(units.CONDUCTIVITY, one, system))
        except QuantityError as error:
            raise QuantityError(error.message, error.right, (number,)) from None
    return values[1], values[0]


def from_catalogue(name: object) -> Material:
    """The catalogue's material of this name.

    Raises:
        QuantityError: there is none; the message names the one most like it.
    """
    if not isinstance(name, str):
        raise QuantityError("is not text", 'write a name of the catalogue, such as "softwood"')
    try:
        return get(name)
    except UnknownMaterialError as error:
        like = " or ".join(repr(known) for known in error.nearest)
        right = f"did you mean {like}?" if like else "`bridge2d materials` lists all"
        raise QuantityError(f"the catalogue has no material {name[:60]!r}", right) from None


def choose_material(
    own_name: str, name: object, conductivity: tuple[float, float | None] | None, basis: str
) -> Material:
    """The material that a name, a bare conductivity or both make.

    Args:
        own_name: name of a material that the catalogue has not.
        name: name in the catalogue, or None.
        conductivity: across and along the grain [W/(m·K)], or None for the catalogue's.
        basis: why the conductivity differs from the catalogue's; needed where it does, and only there.

    Raises:
        QuantityError: neither is given, the name is unknown, or the basis is missing or for nothing; its path names
            the key.
    """
    if name is None and conductivity is None:
        raise QuantityError(
            "neither material nor conductivity is given",
            'write material = "a name from the catalogue" or conductivity = 0.8',
        )
    if name is None:
        assert conductivity is not None
        return Material(own_name, conductivity[0], conductivity[1], source=_given(basis))
    try:
        found = from_catalogue(name)
    except QuantityError as error:
        raise QuantityError(error.message, error.right, ("material",)) from None
    if conductivity is None:
        if basis:
            right = "add conductivity = 0.14, or leave basis out"
            raise QuantityError("a reason is given, but no conductivity that it is for", right, ("basis",))
        return found
    if not basis:
        raise QuantityError(
            f"the conductivity replaces that of {found.name!r} without a reason",
            'add basis = "where the value comes from"',
            ("conductivity",),
        )
    across, along = conductivity
    note = ""
    if along is None and found.conductivity_along is not None:
        # One value for a timber is the one across the grain; what it conducts along the grain goes with it.
        along = across * found.conductivity_along / found.conductivity
        note = f"; along the grain {found.conductivity_along / found.conductivity:.2f} times that, as in the catalogue"
    source = _given(basis) + f"{note} (catalogue: {units.CONDUCTIVITY.show(found.conductivity)}, {found.source})"
    return replace(found, conductivity=across, conductivity_along=along, source=source, read=False)


def _given(basis: str) -> str:
    return f"given in the detail file: {basis}" if basis else "given in the detail file"


@dataclass(frozen=True, slots=True)
class MaterialChoice:
    """A parameter that chooses a material.

    In a detail file: a name from the catalogue, or a table {material = "softwood", conductivity = 0.14, basis = "why"}
    or {conductivity = 0.14, basis = "why"}; the conductivity may be a list [along, across] the grain.

    Attributes:
        material: the material, with the conductivity that counts.
        basis: why its conductivity differs from the catalogue's; empty where it does not.
    """

    material: Material
    basis: str = ""

    @classmethod
    def read(cls, typed: object, own_name: str = "material", system: UnitSystem = SI) -> MaterialChoice:
        """The choice that a detail file's value makes.

        Args:
            typed: value from the file.
            own_name: name of a material that the catalogue has not.
            system: of bare numbers.

        Raises:
            QuantityError: the value makes no choice.
        """
        if isinstance(typed, MaterialChoice):
            return typed
        if isinstance(typed, str):
            return cls(from_catalogue(typed))
        right = 'write a name of the catalogue or {material = "softwood", conductivity = 0.14, basis = "why"}'
        if not isinstance(typed, dict):
            raise QuantityError("is neither a name nor a table", right)
        for key in typed:
            if key not in ("material", "conductivity", "basis"):
                like = nearest(str(key), ("material", "conductivity", "basis"))
                raise QuantityError(
                    f"unknown key {str(key)[:60]!r}", f"did you mean {like!r}?" if like else right, (key,)
                )
        basis = ""
        if "basis" in typed:
            basis = _at("basis", lambda: read_line_of_text(typed["basis"]))
        values = None
        if "conductivity" in typed:
            values = _at("conductivity", lambda: read_conductivities(typed["conductivity"], system))
            if not basis:
                right = 'add basis = "where the value comes from"'
                raise QuantityError("a conductivity of its own needs a reason", right, ("conductivity",))
        return cls(choose_material(own_name, typed.get("material"), values, basis), basis)

    @classmethod
    def __get_pydantic_core_schema__(cls, source: Any, handler: GetCoreSchemaHandler) -> core_schema.CoreSchema:
        """How the validation of a detail file reads it."""

        def read(typed: object, info: core_schema.ValidationInfo) -> MaterialChoice:
            return cls.read(typed, (info.field_name or "material").replace("_", " "), system_of(info))

        return core_schema.with_info_plain_validator_function(read)

    @classmethod
    def __get_pydantic_json_schema__(cls, schema: Any, handler: Any) -> dict[str, Any]:
        """What an editor may offer."""
        table = {"type": "object", "properties": {"material": {"type": "string"}, "basis": {"type": "string"}}}
        return {"anyOf": [{"type": "string", "enum": list(catalogue())}, table]}


MaterialName = MaterialChoice
"""Type of a parameter that names a material; its value is a `MaterialChoice`."""


def chosen(parameters: BaseModel) -> Iterator[Material]:
    """The materials that parameters choose.

    Args:
        parameters: of a junction.
    """
    for name in type(parameters).model_fields:
        value = getattr(parameters, name)
        if isinstance(value, MaterialChoice):
            yield value.material
        elif isinstance(value, BaseModel):
            yield from chosen(value)


_T = TypeVar("_T")


def _at(key: str, read: Callable[[], _T]) -> _T:
    """The value read, or the error with its key."""
    try:
        return read()
    except QuantityError as error:
        raise QuantityError(error.message, error.right, (key, *error.path)) from None


def show_material(choice: MaterialChoice, system: UnitSystem = SI) -> str:
    """A chosen material with its conductivity, and the reason where it is not the catalogue's."""
    material = choice.material
    along = material.conductivity_along
    text = f"{material.name}, {units.CONDUCTIVITY.show(material.conductivity, system)}"
    if along is not None:
        text += f" across and {units.CONDUCTIVITY.show(along, system)} along the grain"
    return f"{text} ({choice.basis})" if choice.basis else text
