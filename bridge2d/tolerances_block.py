"""By how much the inputs of a detail may be off, as its file says: the [tolerances] block.

Part of reading a detail file; nothing of it changes the detail's own numbers. What is left out takes a default of this
program, which is said to be one wherever it counts.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from pydantic import BaseModel, ConfigDict, Field, field_validator

from bridge2d import units
from bridge2d.errors import QuantityError, nearest
from bridge2d.junctions.declaration import ParameterInfo, describe, is_varied
from bridge2d.junctions.material_choice import chosen
from bridge2d.junctions.quantities import Length, Ratio, read_within

if TYPE_CHECKING:
    from bridge2d.detail import Detail
    from bridge2d.junctions.declaration import Parameters
    from bridge2d.units import UnitSystem

LENGTH = 0.005
"""± of a dimension measured on the site unless the file says otherwise [m]; an assumption of this program."""
LENGTH_SHARE = 0.1
"""No dimension is taken to be off by more than this share of itself, unless the file names it."""
CONDUCTIVITY_SHARE = 0.1
"""± of a conductivity whose range the catalogue has not, as a share of it; an assumption of this program."""


class TolerancesBlock(BaseModel):
    """A [tolerances]: ± of inputs; single ones by name."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    length: Length = Field(LENGTH, description="± of every dimension [mm]")
    conductivity: Ratio = Field(CONDUCTIVITY_SHARE, description="± of a conductivity without a range, 0.1 is 10 %")
    surface_resistance: Ratio = Field(0.0, description="± of surface resistances, 0.1 is 10 %")
    parameters: dict[str, Any] = Field(default_factory=dict, description="± of single parameters, in their own unit")
    materials: dict[str, Any] = Field(default_factory=dict, description="± of single conductivities [W/(m·K)]")

    @field_validator("length", "conductivity", "surface_resistance")
    @classmethod
    def _not_negative(cls, value: float) -> float:
        """A ± has no sign, and a share is below 1."""
        if not 0.0 <= value < 1.0:
            raise QuantityError(f"{value:g} is no such ±", "give 0 or more; a share below 1, such as 0.1 for 10 %")
        return value


@dataclass(frozen=True)
class Tolerances:
    """By how much inputs may be off; the defaults are assumptions of this program.

    Attributes:
        length: of every dimension [m].
        conductivity: of a conductivity without a range, as a share.
        surface_resistance: of every surface resistance, as a share.
        parameters: of single parameters [SI].
        materials: of single conductivities [W/(m·K)].
        given: keys that the file gives.
    """

    length: float = LENGTH
    conductivity: float = CONDUCTIVITY_SHARE
    surface_resistance: float = 0.0
    parameters: Mapping[str, float] = field(default_factory=dict)
    materials: Mapping[str, float] = field(default_factory=dict)
    given: frozenset[str] = frozenset()


def chosen_tolerances(block: TolerancesBlock, parameters: Parameters, detail: Detail, system: UnitSystem) -> Tolerances:
    """The tolerances of a block, its single names checked.

    Args:
        block: as the file has it.
        parameters: of the junction.
        detail: whose materials may be named.
        system: of bare numbers.

    Raises:
        QuantityError: a name is unknown or an amount is none; its path leads to the key.
    """
    declared = {info.name: info for info in describe(type(parameters)) if info.kind is not None}
    of_parameters = {}
    for name, typed in block.parameters.items():
        if name not in declared:
            right = _like(name, declared) or "name a parameter that is a number"
            raise QuantityError(f"there is no such parameter {name!r:.60}", right, ("parameters", name))
        kind = declared[name].kind
        assert kind is not None
        of_parameters[name] = _amount(kind, typed, system, ("parameters", name))
        _refuse_idle(declared[name], parameters)
    known = {region.material.name for section in detail.sections for region in section.regions}
    known |= {material.name for material in chosen(parameters)}
    of_materials = {}
    for name, typed in block.materials.items():
        if name not in known:
            right = _like(name, known) or "name a material of the detail"
            raise QuantityError(f"the detail has no material {name!r:.60}", right, ("materials", name))
        of_materials[name] = _amount(units.CONDUCTIVITY, typed, system, ("materials", name))
    return Tolerances(
        block.length,
        block.conductivity,
        block.surface_resistance,
        of_parameters,
        of_materials,
        frozenset(block.model_fields_set),
    )


def _refuse_idle(info: ParameterInfo, parameters: Parameters) -> None:
    """Refuse a ± that would count for nothing, since nothing that is looked at depends on its parameter.

    Raises:
        QuantityError: it would.
    """
    value = getattr(parameters, info.name)
    if info.name in parameters.unused() or value in (None, 0):
        raise QuantityError(
            "nothing depends on this parameter as the others stand", "leave it out", ("parameters", info.name)
        )
    if not is_varied(info, value):
        raise QuantityError(
            "neither Ψ nor fRsi changes with this parameter",
            "name a length, a resistance or another number of the construction",
            ("parameters", info.name),
        )


def _amount(kind: units.Kind, typed: object, system: UnitSystem, path: tuple[str, str]) -> float:
    try:
        value = 0.0 if typed == 0 and not isinstance(typed, bool) else read_within(kind, typed, system)
    except QuantityError as error:
        raise QuantityError(error.message, error.right, path) from None
    if value < 0:
        raise QuantityError("is negative", "a ± has no sign", path)
    return value


def _like(name: str, known: Any) -> str:
    like = nearest(name, known)
    return f"did you mean {like!r}?" if like else ""
