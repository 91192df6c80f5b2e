"""A climate by month, and what it asks of a detail: frozen records of plain numbers.

Beside the detail and its results: `climate_file` makes the climate, `months` the results. Nothing is imported here.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol, TypeVar

MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)
"""The twelve months in their order."""


@dataclass(frozen=True, slots=True)
class AirState:
    """Mean temperature [°C] and vapour pressure [Pa] of the air outside and of the room."""

    external: float
    external_pressure: float
    internal: float
    internal_pressure: float


@dataclass(frozen=True, slots=True)
class Climate:
    """Twelve months outside and in the room.

    Attributes:
        name: of the place or data set.
        source: where the values outside come from.
        indoors: how the room's air was found, in a sentence.
        months: from January to December.
        coldest_day: at the mean annual minimum of the daily temperature, for glazing and frames; None where that is not
            given.
        heated_below: months warmer than this outside ask for nothing [°C]; None where all count that are colder than
            the room.
    """

    name: str
    source: str
    indoors: str
    months: tuple[AirState, ...]
    coldest_day: AirState | None = None
    heated_below: float | None = None


@dataclass(frozen=True, slots=True)
class MonthNeed:
    """What a month asks of surfaces.

    Attributes:
        air: outside and in the room.
        surface_temperature: lowest admissible one, 80 % at the surface [°C].
        mould: lowest admissible temperature factor, 80 % at the surface [1]; None in a month that asks for nothing.
        condensation: the same for 100 % [1].
    """

    air: AirState
    surface_temperature: float
    mould: float | None
    condensation: float | None


@dataclass(frozen=True, slots=True)
class Margin:
    """How far a temperature factor is from what the climate asks for.

    Attributes:
        criterion: "mould", "condensation", or "glazing" for condensation on glazing and frames on the coldest day.
        environment, section: of the temperature factor.
        value, tolerance: of the temperature factor [1].
        asked: lowest admissible temperature factor of the critical month, or of the coldest day [1].
        month: number of that month, from 0; None for the coldest day.
        met: whether it is kept for certain, with the whole tolerance.
        certain: whether keeping or missing it is certain.
    """

    criterion: str
    environment: str
    section: str
    value: float
    tolerance: float
    asked: float
    month: int | None
    met: bool
    certain: bool

    @property
    def margin(self) -> float:
        """Value less what is asked [1]."""
        return self.value - self.asked


class Kept(Protocol):
    """What tells whether a margin is told of."""

    @property
    def criterion(self) -> str:
        """As `Margin` has it, like the others."""

    @property
    def environment(self) -> str:
        """See there."""

    @property
    def section(self) -> str:
        """See there."""

    @property
    def met(self) -> bool:
        """See there."""


AMargin = TypeVar("AMargin", bound=Kept)


def told_margins(margins: Sequence[AMargin]) -> tuple[AMargin, ...]:
    """The margins without those for condensation where that for mould is kept, which asks for more.

    Args:
        margins: of all temperature factors.
    """
    kept = {(one.section, one.environment) for one in margins if one.criterion == "mould" and one.met}
    return tuple(
        one for one in margins if one.criterion != "condensation" or (one.section, one.environment) not in kept
    )


@dataclass(frozen=True, slots=True)
class TimberMonth:
    """A month at the coldest place of a timber; screening, no verdict on decay.

    Attributes:
        temperature: there [°C].
        saturation_pressure: there [Pa].
        room_air: relative humidity of room air that reaches the place [1]; above 1 it condenses.
        outside_air: relative humidity of outside air that reaches the place [1].
    """

    temperature: float
    saturation_pressure: float
    room_air: float
    outside_air: float


@dataclass(frozen=True, slots=True)
class TimberEnd:
    """The coldest place of a watched line through the months.

    Attributes:
        name: of the watched line.
        section: that gives the lowest temperature of those that show the line.
        factor: (θ − θe)/(θi − θe) there, with the surface resistances of the temperature factor [1].
        tolerance: of the factor [1].
        months: from January to December.
    """

    name: str
    section: str
    factor: float
    tolerance: float
    months: tuple[TimberMonth, ...]

    @property
    def coldest(self) -> int:
        """Number of the month in which it is coldest, from 0."""
        return min(range(len(self.months)), key=lambda k: self.months[k].temperature)


@dataclass(frozen=True, slots=True)
class ByMonth:
    """What a climate asks of a detail, month by month.

    Attributes:
        climate: the months.
        needs: what each month asks for.
        critical_mould, critical_condensation: number of the month that asks for most, from 0; None where none does.
        glazing: lowest admissible temperature factor of glazing and frames on the coldest day [1]; None where that day
            is not given.
        margins: of every temperature factor of the warmest rooms.
        timber: of every watched line.
        notes: what could not be judged, and why.
    """

    climate: Climate
    needs: tuple[MonthNeed, ...]
    critical_mould: int | None
    critical_condensation: int | None
    glazing: float | None
    margins: tuple[Margin, ...]
    timber: tuple[TimberEnd, ...]
    notes: tuple[str, ...] = ()

    @property
    def told_margins(self) -> tuple[Margin, ...]:
        """The margins that are told of, see `told_margins`."""
        return told_margins(self.margins)
