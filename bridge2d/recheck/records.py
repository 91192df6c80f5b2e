"""The enclosed results, pages and materials as records; whatever does not fit is refused.

Second step of a recheck: enclosed files -> **records**. New results go through the same records, so that both sides
are read alike.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated, NamedTuple, TypeVar

from pydantic import BaseModel, ConfigDict, Field, FiniteFloat, ValidationError

from bridge2d import nomenclature as n
from bridge2d.errors import InputError
from bridge2d.materials import Material, read_rows
from bridge2d.report.enclosures import MATERIALS, PAGES, RESULTS

if TYPE_CHECKING:
    from bridge2d.recheck.opened import Opened

Line = Annotated[str, Field(max_length=2000)]
MANY = 1000


class Record(BaseModel):
    """A part of the enclosed JSON; keys that nobody compares are passed over."""

    model_config = ConfigDict(frozen=True, extra="ignore", strict=True)


class Bracket(Record):
    """A number with its bounds."""

    value: FiniteFloat
    lower: FiniteFloat
    upper: FiniteFloat


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


class SectionRecord(Record):
    """A section's numbers."""

    name: Line
    mesher: Line
    l2d: Bracket | None
    coupling: Annotated[list[CouplingRecord], Field(max_length=MANY)]
    heat_flows: Annotated[list[FlowRecord], Field(max_length=MANY)]
    flanking: Annotated[list[FlankingRecord], Field(max_length=MANY)]
    f_rsi: Annotated[list[FactorRecord], Field(max_length=MANY)]
    probes: Annotated[list[ProbeRecord], Field(max_length=MANY)]
    watched: Annotated[list[ProbeRecord], Field(max_length=MANY)]


class SideRecord(Record):
    """Ψ of one side of an installed element."""

    name: Line
    psi: Bracket


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


class Results(Record):
    """What `results.json` holds of numbers that are compared."""

    title: Line
    junction: Line
    version: Line
    project: Line
    revision: Line
    input_hash: Line
    psi: Annotated[list[PsiRecord], Field(max_length=MANY)]
    chi: Bracket | None
    installations: Annotated[list[SideRecord], Field(max_length=MANY)]
    psi_installation: Bracket | None
    u_installed: Bracket | None
    requirements: Annotated[list[RequirementRecord], Field(max_length=MANY)]
    sections: Annotated[list[SectionRecord], Field(min_length=1, max_length=MANY)]


class PageRecord(Record):
    """A page as it was written."""

    words: Annotated[str, Field(max_length=1_000_000)]
    sha256: Line


class Pages(Record):
    """What `pages.json` holds."""

    pages: Annotated[list[PageRecord], Field(max_length=MANY)]


R = TypeVar("R", bound=Record)


def results(opened: Opened) -> Results:
    """The enclosed results.

    Args:
        opened: the report.

    Raises:
        InputError: they are malformed.
    """
    return _record(Results, RESULTS, opened)


def pages(opened: Opened) -> tuple[PageRecord, ...]:
    """The pages as they were written.

    Args:
        opened: the report.

    Raises:
        InputError: their record is malformed.
    """
    return tuple(_record(Pages, PAGES, opened).pages)


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
        raise _malformed(MATERIALS, said, opened) from None


def _record(kind: type[R], name: str, opened: Opened) -> R:
    try:
        return kind.model_validate(json.loads(opened.files[name].decode("utf-8")))
    except ValidationError as error:
        first = error.errors(include_url=False, include_input=False, include_context=False)[0]
        where = ".".join(str(part)[:40] for part in first["loc"])
        raise _malformed(name, f"{where}: {first['msg']}", opened) from None
    except UnicodeDecodeError:
        raise _malformed(name, "it is no UTF-8 text", opened) from None
    except (ValueError, RecursionError) as error:
        raise _malformed(name, f"it is no JSON ({str(error)[:80]})", opened) from None


def _malformed(name: str, said: str, opened: Opened) -> InputError:
    said = "".join(sign if sign.isprintable() else "\N{REPLACEMENT CHARACTER}" for sign in said)
    right = "ask for the file as `bridge2d report` has written it"
    return InputError(f"the enclosed file {name} is malformed: {said}", file=str(opened.path), right=right)


# -- numbers -----------------------------------------------------------------------------------------------------------


class Number(NamedTuple):
    """A number of a report.

    Attributes:
        name: what it is.
        kind: "bracket", "estimate" or "exact".
        quantity: what it is of.
        value: as it is stated.
        lower, upper: its bounds, or value and tolerance of an estimate.
    """

    name: str
    kind: str
    quantity: n.Quantity
    value: float
    lower: float
    upper: float

    @property
    def half(self) -> float:
        """Half of its bracket, or its tolerance."""
        return 0.5 * (self.upper - self.lower)

    @property
    def printed(self) -> str:
        """As the report prints it."""
        if self.kind == "bracket":
            return n.format_bounded(self.quantity, self.lower, self.upper)
        if self.kind == "estimate":
            return n.format_estimate(self.quantity, self.value, self.half)
        return n.format_value(self.quantity, self.value)


def numbers(found: Results) -> Iterator[Number]:
    """Every number of a report that is printed and can be compared.

    Args:
        found: the results.
    """
    for psi in found.psi if not found.installations else ():
        yield _bracket(f"Ψ, {psi.dimensions.replace('_', ' ')}", n.PSI, psi)
    for side in found.installations:
        yield _bracket(f"Ψ of installation, {side.name}", n.PSI, side.psi)
    if found.psi_installation:
        yield _bracket("Ψ of installation, mean", n.PSI, found.psi_installation)
    if found.u_installed:
        yield _bracket("U of the installed window", n.U_VALUE, found.u_installed)
    if found.chi:
        yield _bracket("χ of one piece", n.CHI, found.chi)
    for section in found.sections:
        yield from _of_section(section)


def _of_section(section: SectionRecord) -> Iterator[Number]:
    where = section.name
    for coupling in section.coupling:
        name = "L2D" if section.l2d else f"coupling {coupling.start} – {coupling.end}"
        yield _bracket(f"{name}, {where}", n.L2D, coupling)
    for flow in section.heat_flows:
        name = f"heat flow from {flow.environment}, {where}"
        yield Number(name, "bracket", n.LINEAR_HEAT_FLOW, flow.flow, flow.lower, flow.upper)
    for element in section.flanking:
        yield Number(f"U of {element.name}, {where}", "exact", n.U_VALUE, *(3 * [element.u_value]))
    for factor in section.f_rsi:
        yield _estimate(f"fRsi of {factor.environment}, {where}", n.F_RSI, factor.value, factor.tolerance)
    for kind, probes in (("at", section.probes), ("lowest along", section.watched)):
        for probe in probes:
            name = f"θ {kind} {probe.name}, {where}"
            yield _estimate(name, n.TEMPERATURE, probe.temperature, probe.tolerance)
            yield _estimate(f"{name}, for fRsi", n.TEMPERATURE, probe.temperature_f_rsi, probe.tolerance)


def _bracket(name: str, quantity: n.Quantity, number: Bracket) -> Number:
    return Number(name, "bracket", quantity, number.value, number.lower, number.upper)


def _estimate(name: str, quantity: n.Quantity, value: float, tolerance: float) -> Number:
    return Number(name, "estimate", quantity, value, value - tolerance, value + tolerance)
