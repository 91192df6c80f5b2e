"""Frozen records of a building: what its file says, and what came out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from bridge2d.climate import MONTHS, Margin, told_margins
from bridge2d.detail import Requirement
from bridge2d.months import month_name
from bridge2d.months_words import CRITERIA, least_kept
from bridge2d.results import Bounded


@dataclass(frozen=True)
class Variant:
    """A detail as the building uses it: a detail file with some parameters changed and the building's limits added.

    Attributes:
        path: the detail file, as messages and the report name it.
        text: the file's text as it stands there.
        parameters: what differs from the file.
        title: replaces the file's title; empty leaves it.
        requirements: limits of the building; a detail takes those that it has a number for.
        users: indices of the junctions that use it.
    """

    path: Path
    text: str
    parameters: Mapping[str, Any]
    title: str
    requirements: tuple[Requirement, ...]
    users: tuple[int, ...] = ()


@dataclass(frozen=True)
class Junction:
    """One entry of the schedule.

    Attributes:
        ref: short reference, unique in the building.
        name: what the tables call it; empty stands for the detail's title.
        group: orientation or part of the building; empty where none is given.
        variant: index of the detail among the building's; None for a plain value.
        psi: plain Ψ [W/(m·K)], None otherwise.
        chi: plain χ [W/K], None otherwise.
        f_rsi: temperature factor that the source of a plain value tells [1].
        source: where a plain value comes from.
        length: how long it is [m].
        lengths: how long each side of an installed window is in the building [m], by the side's name.
        number: how many pieces or windows.
    """

    ref: str
    name: str
    group: str
    variant: int | None = None
    psi: float | None = None
    chi: float | None = None
    f_rsi: float | None = None
    source: str = ""
    length: float | None = None
    lengths: Mapping[str, float] = field(default_factory=dict)
    number: int | None = None


@dataclass(frozen=True)
class Element:
    """A plane part of the envelope: area [m²] in the building's dimension system, U [W/(m²·K)]."""

    name: str
    group: str
    area: float
    u_value: float
    source: str = ""

    @property
    def loss(self) -> float:
        """U·A [W/K]."""
        return self.area * self.u_value


@dataclass(frozen=True)
class Building:
    """What a building file says.

    Attributes:
        title, project, revision, author, date: for the documents.
        dimensions: the dimension system of every Ψ, length and area.
        requirements: limits that every junction has to keep.
        requirement_set: name of the set that some of them come from, or empty.
        junctions, elements: in the order of the file.
        variants: the details to be computed, each once.
        path: the file.
        text: its text.
        sets: name and bytes of the file of own sets of limits, where it names one.
    """

    title: str
    project: str
    revision: str
    author: str
    date: str
    dimensions: str
    requirements: tuple[Requirement, ...]
    requirement_set: str
    junctions: tuple[Junction, ...]
    elements: tuple[Element, ...]
    variants: tuple[Variant, ...]
    path: Path
    text: str
    sets: tuple[str, bytes] | None = None


# -- what came out of a detail ----------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Side:
    """Ψ of one side of an installed window [W/(m·K)], and how long that side of one window is [m]."""

    name: str
    psi: Bounded
    length: float


@dataclass(frozen=True)
class Verdict:
    """A limit and what is known of a number that has to keep it.

    Attributes:
        requirement: the limit.
        value: what was found; None where the number is not known.
        met: whether it is kept for certain.
        certain: whether anything is certain; else the limit lies in the bracket or tolerance, or nothing is known.
    """

    requirement: Requirement
    value: float | None
    met: bool
    certain: bool


@dataclass(frozen=True)
class DetailNumbers:
    """What a schedule needs of a computed detail, all of it out of the JSON of `solve`.

    Attributes:
        title, junction, input_hash: see there.
        psi: Ψ by dimension system, χ/s of repeated pieces included [W/(m·K)].
        repeated: χ/s by dimension system, where there is one [W/(m·K)].
        chi: χ of one piece [W/K].
        sides: of an installed window.
        f_rsi: value and tolerance of the lowest temperature factor [1].
        verdicts: limits of the detail file and of the building.
        climate: what the detail's climate asks of it (ISO 13788), of each criterion what is least kept.
    """

    title: str
    junction: str
    input_hash: str
    psi: Mapping[str, Bounded]
    repeated: Mapping[str, Bounded]
    chi: Bounded | None
    sides: tuple[Side, ...]
    f_rsi: tuple[float, float] | None
    verdicts: tuple[Verdict, ...]
    climate: tuple[Verdict, ...] = ()


def numbers_of(document: Mapping[str, Any]) -> DetailNumbers:
    """The numbers out of the JSON of a detail.

    Args:
        document: as `tables.as_json` makes it.

    Raises:
        KeyError, TypeError, ValueError: it is not of that shape.
    """
    factors = [(float(one["value"]), float(one["tolerance"])) for one in document["f_rsi"]]
    repeated = {one["dimensions"]: one["chi_over_spacing"] for one in document["psi_trace"]}
    return DetailNumbers(
        title=_text(document["title"]),
        junction=_text(document["junction"]),
        input_hash=_text(document["input_hash"]),
        psi={_text(one["dimensions"]): _bounded(one) for one in document["psi"]},
        repeated={system: _bounded(one) for system, one in repeated.items() if one is not None},
        chi=_bounded(document["chi"]) if document["chi"] is not None else None,
        sides=tuple(
            Side(_text(one["name"]), _bounded(one["psi"]), float(one["length"]) / 1000.0)
            for one in document["installations"]
        ),
        f_rsi=min(factors, key=lambda one: one[0], default=None),
        verdicts=tuple(_verdict(one) for one in document["requirements"]),
        climate=_of_climate(document["climate"]) if document["climate"] is not None else (),
    )


def _text(value: object) -> str:
    if not isinstance(value, str):
        raise TypeError("no text")
    return value


def _bounded(numbers: Mapping[str, Any]) -> Bounded:
    lower, upper = float(numbers["lower"]), float(numbers["upper"])
    if not lower <= upper:
        raise ValueError("the lower bound is above the upper one")
    return Bounded(lower, upper)


def _verdict(one: Mapping[str, Any]) -> Verdict:
    requirement = Requirement(
        _text(one["quantity"]),
        float(one["limit"]),
        _text(one["sense"]),
        _text(one["name"]),
        _text(one["source"]),
        _text(one["dimensions"] or ""),
    )
    return Verdict(requirement, float(one["value"]), bool(one["met"]), bool(one["certain"]))


def _of_climate(climate: Mapping[str, Any]) -> tuple[Verdict, ...]:
    """Of each criterion the margin that is least, as a limit of the temperature factor."""
    least = least_kept(told_margins([_margin(one) for one in climate["margins"]]))
    source = f"ISO 13788 with the climate {_text(climate['name'])}"
    found = []
    for criterion, one in least.items():
        name = f"{CRITERIA[criterion]}, {month_name(one.month)}"
        asked = Requirement("f_rsi", one.asked, "minimum", name, source, "")
        found.append(Verdict(asked, one.value, one.met, one.certain))
    return tuple(found)


def _margin(one: Mapping[str, Any]) -> Margin:
    month = one["month"]
    return Margin(
        _text(one["criterion"]),
        _text(one["environment"]),
        _text(one["section"]),
        float(one["value"]),
        float(one["tolerance"]),
        float(one["asked"]),
        None if month is None else MONTHS.index(_text(month)),
        bool(one["met"]),
        bool(one["certain"]),
    )


# -- what came out of the building -------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Line:
    """One product of the sum: Ψ·l or χ·n.

    Attributes:
        entry: index of the junction in the building.
        ref, name, group: of the junction.
        part: which part of it ("jamb", "joists"); empty where it is all of it.
        quantity: "psi" or "chi".
        value: Ψ [W/(m·K)] or χ [W/K] with its bracket; a plain value has none.
        given: whether it is a plain value.
        amount: length [m] or number of pieces.
        source: of a plain value, or the detail file's name.
    """

    entry: int
    ref: str
    name: str
    group: str
    part: str
    quantity: str
    value: Bounded
    given: bool
    amount: float
    source: str

    @property
    def loss(self) -> Bounded:
        """Ψ·l or χ·n [W/K]."""
        return self.value.times(self.amount)


@dataclass(frozen=True)
class Entry:
    """A junction with its sum and its verdicts.

    Attributes:
        junction: as the file gives it, its name filled in.
        loss: of all its lines [W/K].
        share: of the sum of all losses above zero [1]; None where nothing is lost.
        given: whether it is a plain value.
        verdicts: the limits that it has to keep.
        f_rsi: value and tolerance [1]; the tolerance of a given value is zero.
        climate: what its detail's climate asks for; not among the limits that decide whether all are kept.
    """

    junction: Junction
    loss: Bounded
    share: float | None
    given: bool
    verdicts: tuple[Verdict, ...]
    f_rsi: tuple[float, float] | None
    climate: tuple[Verdict, ...] = ()


@dataclass(frozen=True)
class Group:
    """Sums of a group: H of its junctions with the bracket, of its elements [W/K], their area [m²]."""

    name: str
    junctions: Bounded
    elements: float
    area: float
    increase: Bounded | None


@dataclass(frozen=True)
class Gain:
    """What a junction loses above its limit, or above zero where it keeps its limit or has none.

    Attributes:
        entry: index of the junction.
        line: the product that it comes from.
        reference: the strictest limit of its Ψ or χ where it lies above it, else 0 [W/(m·K) or W/K].
        limited: whether the reference is a limit.
        excess: value less reference, per metre or piece.
        saving: that times the amount [W/K].
    """

    entry: int
    line: Line
    reference: float
    limited: bool
    excess: float
    saving: float


@dataclass(frozen=True)
class ScheduleResult:
    """All sums of a building.

    Attributes:
        building: what was asked.
        details: numbers of its variants, in their order.
        lines: every product.
        entries: every junction.
        groups: every group, in the order of the file.
        loss: ΣΨ·l + Σχ·n with its bracket, H_tb [W/K].
        given: the part of it that plain values make, which has no bracket [W/K].
        elements: ΣU·A [W/K]; None where the file has no elements.
        area: ΣA [m²].
        increase: ΔU_tb = H_tb/ΣA [W/(m²·K)]; None where there is no area.
        total: H_tb + ΣU·A [W/K]; None where the file has no elements.
        gains: what would help: by length, then by piece; above a limit first; the most per metre or piece first.
        version: of the program.
    """

    building: Building
    details: tuple[DetailNumbers, ...]
    lines: tuple[Line, ...]
    entries: tuple[Entry, ...]
    groups: tuple[Group, ...]
    loss: Bounded
    given: float
    elements: float | None
    area: float
    increase: Bounded | None
    total: Bounded | None
    gains: tuple[Gain, ...]
    version: str

    @property
    def kept(self) -> bool:
        """Whether every limit is kept for certain."""
        return all(verdict.met for entry in self.entries for verdict in entry.verdicts)
