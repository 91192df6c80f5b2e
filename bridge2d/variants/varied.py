"""One variant: the detail file's parameters with some of them replaced, computed; or why it cannot be.

The file is read once; a variant goes through the same declarations and the same junction as the file itself.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pydantic import ValidationError

from bridge2d.calculate import calculate
from bridge2d.detail_file import read
from bridge2d.errors import Bridge2dError, InputError, QuantityError, SectionError
from bridge2d.junctions import junctions
from bridge2d.junctions.declaration import describe
from bridge2d.junctions.quantities import units_context
from bridge2d.solved_sections import SolvedSections
from bridge2d.solving import TOLERANCE
from bridge2d.units import SI

if TYPE_CHECKING:
    from bridge2d.detail import Detail
    from bridge2d.detail_file import LoadedDetail
    from bridge2d.results import Bounded, DetailResult
    from bridge2d.units import UnitSystem

Changes = Mapping[str, float | str]
"""Parameters and their values as a detail file has them."""


@dataclass(frozen=True)
class Base:
    """The detail file that variants come from: enough to read it again in another process.

    Attributes:
        text, path: of the file.
        attached: the files that it names, by their names.
        shown: units of the bare numbers of what is varied; the file's own unless given.
    """

    text: str
    path: Path
    attached: tuple[tuple[str, bytes], ...] = ()
    shown: UnitSystem | None = None

    @classmethod
    def of(cls, loaded: LoadedDetail) -> Base:
        """That of a file that was read.

        Args:
            loaded: the file.
        """
        return cls(loaded.text, loaded.path, tuple(loaded.files.items()), loaded.units.system)

    @property
    def files(self) -> list[Path]:
        """The file, and those that it names."""
        return [self.path, *(self.path.parent / name for name, _ in self.attached)]

    def loaded(self) -> LoadedDetail:
        """The file, read once in a process."""
        return _loaded(self)


@lru_cache(maxsize=4)
def _loaded(base: Base) -> LoadedDetail:
    return read(base.text, base.path, geometry=False, attached=dict(base.attached), shown=base.shown)


def varied(loaded: LoadedDetail, changes: Changes) -> Detail:
    """The detail with some parameters replaced, without what no row shows: airtight layer and watched lines.

    Args:
        loaded: the detail file.
        changes: the parameters.

    Raises:
        InputError: they do not fit, said with the parameter and what would be right.
    """
    junction = junctions()[loaded.detail.junction]
    own = loaded.data.get("units", SI)
    given: dict[str, Any] = {**loaded.data.get("parameters", {}), **_in_units(changes, loaded, own)}
    try:
        parameters = junction.parameters.model_validate(given, context=units_context(own))
        built: Detail = junction.build(parameters)
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        cause = first.get("ctx", {}).get("error")
        if isinstance(cause, QuantityError):
            where = ".".join(map(str, (*first["loc"], *cause.path)))
            raise InputError(f"{where}: {cause.message}", right=cause.right) from None
        raise InputError(f"{'.'.join(map(str, first['loc']))}: {first['msg']}") from None
    except InputError as error:
        raise InputError(f"{error.key}: {error.message}", right=error.right) from None
    known = loaded.detail
    # The airtight layer and watched lines take a fifth of the time, and no row has anything of them but for a hatch's.
    watched = built.hatch is not None
    sections = tuple(
        replace(section, airtight=(), watched=section.watched if watched else ()) for section in built.sections
    )
    return replace(built, title=known.title, requirements=known.requirements, sections=sections)


def _in_units(changes: Changes, loaded: LoadedDetail, own: UnitSystem) -> Changes:
    """The same with the unit of every number, where the detail is shown in other units than its file has."""
    system = loaded.units.system
    if system == own:
        return changes
    infos = {one.name: one for one in describe(junctions()[loaded.detail.junction].parameters)}

    def said(name: str, value: float | str) -> float | str:
        kind = infos[name].kind if name in infos else None
        return value if kind is None or isinstance(value, str) else f"{value!r} {kind.unit_in(system)}".rstrip()

    return {name: said(name, value) for name, value in changes.items()}


def computed(loaded: LoadedDetail, changes: Changes, tolerance: float = TOLERANCE) -> DetailResult:
    """A variant's numbers.

    Args:
        loaded: the detail file.
        changes: the parameters that differ from it.
        tolerance: widest relative bracket around L2D [-].

    Raises:
        InputError: the parameters do not fit, or a section cannot be computed.
    """
    try:
        return calculate(varied(loaded, changes), tolerance, memory=_SECTIONS)
    except SectionError as error:
        raise InputError(f"section {error.section}: {error.message}") from None


MOST_KNOWN = 100
"""So many sections are remembered, some hundred kilobytes each."""
_SECTIONS = SolvedSections(MOST_KNOWN)


# -- rows of a table ---------------------------------------------------------------------------------------------------

COMPUTED, REFUSED = "computed", "refused"
Row = dict[str, float | str | None]


def row(base: Base, changes: Changes, tolerance: float = TOLERANCE) -> Row:
    """A variant as a row: its numbers with their bounds in SI, or why it was refused.

    Args:
        base: the detail file.
        changes: the parameters that differ from it.
        tolerance: widest relative bracket around L2D [-].
    """
    try:
        return numbers(computed(base.loaded(), changes, tolerance))
    except Bridge2dError as error:
        return refused(error)


def refused(error: Bridge2dError) -> Row:
    """The row of a variant that cannot be computed.

    Args:
        error: why.
    """
    return {"status": REFUSED, "reason": " ".join(str(error).split())}


def numbers(result: DetailResult) -> Row:
    """The detail's own numbers, each with its bounds or its tolerance.

    Args:
        result: all numbers of the detail.
    """
    found: Row = {"status": COMPUTED, "reason": None}
    for psi in result.psi if not result.installations else ():
        found |= _bounded(f"psi_{psi.dimensions}", psi.value)
    for side in result.installations:
        found |= _bounded(f"psi_installation_{side.name}", side.psi)
    for name, value in (
        ("psi_installation", result.psi_installation),
        ("chi", result.chi.value if result.chi else None),
        ("u_installed", result.u_installed),
        ("u_section", result.u_section.u_value if result.u_section else None),
        ("hatch_loss", result.hatch.loss if result.hatch else None),
    ):
        found |= _bounded(name, value) if value else {}
    if result.f_rsi:
        coldest = min(result.f_rsi, key=lambda one: one.value)
        found |= {"f_rsi": coldest.value, "f_rsi_tolerance": coldest.tolerance}
    if result.requirements:
        found["limits"] = standing(result)
    return found


def _bounded(name: str, value: Bounded) -> Row:
    return {name: value.value, f"{name}_lower": value.lower, f"{name}_upper": value.upper}


MET, MISSED, UNDECIDED = "met", "not met", "undecided"


def standing(result: DetailResult) -> str:
    """How the detail stands to all of its limits: met for certain, one missed for certain, or undecided.

    Args:
        result: all numbers of the detail.
    """
    if any(one.certain and not one.met for one in result.requirements):
        return MISSED
    return MET if all(one.certain and one.met for one in result.requirements) else UNDECIDED
