"""The enclosed results, pages and materials as records; whatever does not fit is refused.

Second step of a recheck: enclosed files -> **records**. New results go through the same records, so that both sides
are read alike.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Annotated, TypeVar

from pydantic import Field, FiniteFloat, ValidationError

from bridge2d.errors import InputError
from bridge2d.materials import Material, read_rows
from bridge2d.recheck.by_month import ClimateRecord, MarginRecord
from bridge2d.recheck.sensitivity import SensitivitiesRecord
from bridge2d.recheck.stated import MANY, Bracket, Line, Record, ShownRecord
from bridge2d.report.enclosures import MATERIALS, RESULTS

if TYPE_CHECKING:
    from bridge2d.recheck.opened import Opened


class PsiRecord(Bracket):
    """Ψ in a dimension system [W/(m·K)]."""

    dimensions: Line


class CouplingRecord(Bracket):
    """A coupling coefficient [W/(m·K)]."""

    start: Line = Field(alias="from")
    end: Line = Field(alias="to")


class FlowRecord(Record):
    """A heat flow [W/m]."""

    environment: Line
    flow: FiniteFloat
    lower: FiniteFloat
    upper: FiniteFloat


class FlankingRecord(Record):
    """U of a flanking element [W/(m²·K)]."""

    name: Line
    u_value: FiniteFloat


class FactorRecord(Record):
    """A temperature factor."""

    environment: Line
    value: FiniteFloat
    tolerance: Annotated[FiniteFloat, Field(ge=0.0)]


class ProbeRecord(Record):
    """A temperature at a place [°C]."""

    name: Line
    temperature: FiniteFloat
    temperature_f_rsi: FiniteFloat
    tolerance: Annotated[FiniteFloat, Field(ge=0.0)]


class ChiRecord(Bracket):
    """χ of one piece [W/K], of a solid of revolution where it has L3D, and what so many add to U [W/(m²·K)]."""

    l3d: Bracket | None = None
    added_transmittance: Bracket | None = None


class SurfaceRecord(Record):
    """The temperature factor of a hatch's surface."""

    name: Line
    value: FiniteFloat
    tolerance: Annotated[FiniteFloat, Field(ge=0.0)]


class PartRecord(Record):
    """A plane of a hatch's lid: U [W/(m²·K)] and area [m²]."""

    name: Line
    u_value: FiniteFloat
    area: FiniteFloat


class HatchRecord(Record):
    """A hatch as a whole: the planes and U of its lid [W/(m²·K)], and its loss [W/K]."""

    parts: Annotated[list[PartRecord], Field(max_length=MANY)] = Field(default_factory=list)
    u_lid: FiniteFloat
    u_lid_bounds: Bracket | None = None
    loss: Bracket
    f_rsi: Annotated[list[SurfaceRecord], Field(max_length=MANY)]


class CombinedRecord(Record):
    """U by the combined method of ISO 6946 [W/(m²·K)]."""

    u_value: FiniteFloat


class ModuleRecord(Bracket):
    """U of an element with repeated pieces from its section, by hand, and what the pieces add [W/(m²·K)]."""

    combined_method: CombinedRecord
    increase: Bracket


class SectionRecord(Record):
    """A section's numbers; coupling and heat flows of a solid of revolution are those of the whole solid."""

    name: Line
    mesher: Line
    revolution: bool = False
    l2d: Bracket | None
    l3d: Bracket | None = None
    coupling: Annotated[list[CouplingRecord], Field(max_length=MANY)]
    heat_flows: Annotated[list[FlowRecord], Field(max_length=MANY)]
    flanking: Annotated[list[FlankingRecord], Field(max_length=MANY)]
    f_rsi: Annotated[list[FactorRecord], Field(max_length=MANY)]
    probes: Annotated[list[ProbeRecord], Field(max_length=MANY)]
    watched: Annotated[list[ProbeRecord], Field(max_length=MANY)]

    @property
    def whole(self) -> Bracket | None:
        """Its L2D or L3D."""
        return self.l3d if self.revolution else self.l2d


class SideRecord(Record):
    """Ψ of one side of an installed element, and L2D of the element alone that is taken off [W/(m·K)]."""

    name: Line
    psi: Bracket
    reference_l2d: Bracket | None = None


class WindowRecord(Record):
    """U of the window alone [W/(m²·K)]."""

    u_value: FiniteFloat


class RequirementRecord(Record):
    """A limit and its verdict."""

    name: Line
    quantity: Line
    dimensions: Line | None
    sense: Line
    limit: FiniteFloat
    met: bool
    certain: bool
    source: Line


class Results(ShownRecord):
    """What `results.json` holds of numbers that are compared."""

    title: Line
    junction: Line
    version: Line
    project: Line
    revision: Line
    input_hash: Line
    psi: Annotated[list[PsiRecord], Field(max_length=MANY)]
    chi: ChiRecord | None
    installations: Annotated[list[SideRecord], Field(max_length=MANY)]
    psi_installation: Bracket | None
    u_installed: Bracket | None
    window: WindowRecord | None = None
    u_frame: Bracket | None = None
    u_section: ModuleRecord | None = None
    hatch: HatchRecord | None = None
    climate: ClimateRecord | None = None
    sensitivities: SensitivitiesRecord | None = None
    requirements: Annotated[list[RequirementRecord], Field(max_length=MANY)]
    sections: Annotated[list[SectionRecord], Field(min_length=1, max_length=MANY)]

    @property
    def critical(self) -> tuple[int | None, int | None] | None:
        """The months that ask for most, for mould and for condensation, counted from 0."""
        return self.climate.critical_month.both if self.climate else None

    @property
    def margins(self) -> list[tuple[str, MarginRecord]]:
        """The margins to what the climate asks for, by name."""
        return [(one.name, one) for one in self.climate.told_margins] if self.climate else []


R = TypeVar("R", bound=Record)


def results(opened: Opened) -> Results:
    """The enclosed results.

    Args:
        opened: the report.

    Raises:
        InputError: they are malformed.
    """
    return record(Results, RESULTS, opened)


def materials(opened: Opened) -> tuple[Material, ...]:
    """The enclosed rows of the catalogue.

    Args:
        opened: the report.

    Raises:
        InputError: they are malformed.
    """
    try:
        return read_rows(opened.files[MATERIALS].decode("utf-8"))
    except ValueError as error:
        said = "it is no UTF-8 text" if isinstance(error, UnicodeDecodeError) else str(error)
        raise malformed(MATERIALS, said, opened) from None


def record(kind: type[R], name: str, opened: Opened) -> R:
    """An enclosed JSON file as a record.

    Args:
        kind: of record.
        name: of the file.
        opened: the report.

    Raises:
        InputError: it is malformed.
    """
    try:
        return kind.model_validate(json.loads(opened.files[name].decode("utf-8")))
    except ValidationError as error:
        raise unfit(name, error, opened) from None
    except UnicodeDecodeError:
        raise malformed(name, "it is no UTF-8 text", opened) from None
    except (ValueError, RecursionError) as error:
        raise malformed(name, f"it is no JSON ({str(error)[:80]})", opened) from None


def unfit(name: str, error: ValidationError, opened: Opened) -> InputError:
    """The message that an enclosed file is malformed where a record refuses it.

    Args:
        name: of the file.
        error: of the record.
        opened: the report.
    """
    first = error.errors(include_url=False, include_input=False, include_context=False)[0]
    where = ".".join(str(part)[:40] for part in first["loc"])
    return malformed(name, f"{where}: {first['msg']}", opened)


def malformed(name: str, said: str, opened: Opened) -> InputError:
    """The message that an enclosed file is malformed.

    Args:
        name: of the file.
        said: why.
        opened: the report.
    """
    said = "".join(sign if sign.isprintable() else "\N{REPLACEMENT CHARACTER}" for sign in said)
    right = "ask for the file as it was written"
    return InputError(f"the enclosed file {name} is malformed: {said}", file=str(opened.path), right=right)
