"""What a climate asks of a detail by month: lowest admissible temperature factors, margins, timber through the year.

Late step of the flow: results of the sections + climate -> **by month** -> documents. Nothing is solved again: with two
environments every temperature of a section is θe + f (θi − θe), and f is in the results.
"""

from __future__ import annotations

from typing import NamedTuple

from bridge2d.climate import MONTHS, AirState, ByMonth, Climate, Margin, MonthNeed, TimberEnd, TimberMonth
from bridge2d.results import ProbeResult, SectionResult, TemperatureFactor
from bridge2d.standards import iso_10211, iso_13788

SPAN = 1e-6
"""Least difference between the environments' temperatures for which a section says anything of other ones [K]."""


ON_FRAMES = (
    "Where the coldest point lies on the frame or the glazing, the rule for mould is not the standard's: 100 % is "
    "admissible there, on the coldest day"
)
"""Said where a window is installed, whose section has one temperature factor for wall and frame."""


def by_month(climate: Climate, sections: tuple[SectionResult, ...], glazed: bool = False) -> ByMonth:
    """What a climate asks of a detail, and whether its temperature factors keep it (ISO 13788:2012, 5.3).

    Args:
        climate: twelve months outside and in the room.
        sections: all sections' numbers.
        glazed: whether the detail has frames or glazing, so that the coldest day counts for all its factors.
    """
    needs = tuple(_need(air, climate.heated_below) for air in climate.months)
    mould = _greatest([need.mould for need in needs])
    condensation = _greatest([need.condensation for need in needs])
    glazing = _coldest_day(climate.coldest_day)
    asked = _asked(needs, mould, condensation, glazing)
    factors, notes = _judged(sections)
    margins = tuple(_margin(factor, one) for factor in factors for one in asked if glazed or one.belongs_to(factor))
    notes += [ON_FRAMES] if glazed else []
    timber, untold = _timber(climate, sections)
    return ByMonth(climate, needs, mould, condensation, glazing, margins, timber, (*notes, *untold))


def _need(air: AirState, heated_below: float | None) -> MonthNeed:
    lowest = iso_13788.lowest_surface_temperature(air.internal_pressure)
    heated = air.external < air.internal and (heated_below is None or air.external < heated_below)
    if not heated:
        return MonthNeed(air, lowest, None, None)
    mould, condensation = (
        iso_13788.lowest_admissible_factor(air.internal_pressure, air.internal, air.external, humidity)
        for humidity in (iso_13788.CRITICAL_HUMIDITY, iso_13788.SATURATED)
    )
    return MonthNeed(air, lowest, mould, condensation)


def _greatest(values: list[float | None]) -> int | None:
    """Number of the greatest value; None where there is none."""
    present = [(value, -k) for k, value in enumerate(values) if value is not None]
    return -max(present)[1] if present else None


def _coldest_day(air: AirState | None) -> float | None:
    if air is None or air.external >= air.internal:
        return None
    return iso_13788.lowest_admissible_factor(air.internal_pressure, air.internal, air.external, iso_13788.SATURATED)


# -- temperature factors -------------------------------------------------------------------------------------------


class _Asked(NamedTuple):
    """A criterion with what it asks for, and the month that asks for it."""

    criterion: str
    factor: float
    month: int | None

    def belongs_to(self, factor: TemperatureFactor) -> bool:
        """The coldest day counts where the coldest point has the surface resistance of glazing and frames."""
        glazed = factor.surface_resistance <= iso_13788.GLAZING_SURFACE_RESISTANCE + 1e-9
        return glazed or self.criterion != "glazing"


def _asked(
    needs: tuple[MonthNeed, ...], mould: int | None, condensation: int | None, glazing: float | None
) -> list[_Asked]:
    found = []
    if mould is not None and (value := needs[mould].mould) is not None:
        found.append(_Asked("mould", value, mould))
    if condensation is not None and (value := needs[condensation].condensation) is not None:
        found.append(_Asked("condensation", value, condensation))
    if glazing is not None:
        found.append(_Asked("glazing", glazing, None))
    return found


def _judged(sections: tuple[SectionResult, ...]) -> tuple[list[TemperatureFactor], list[str]]:
    """Temperature factors that the room's air of the climate belongs to, and why others are left out."""
    factors, notes = [], []
    for result in sections:
        given = {one.name: one.temperature for one in result.section.environments}
        for factor in result.f_rsi:
            if given[factor.environment] < max(given.values()) - SPAN:
                notes.append(
                    f"{factor.environment} in {factor.section} is not the warmest environment: the climate's room air "
                    "says nothing of it"
                )
                continue
            factors.append(factor)
        if len(given) > 2:
            notes.append(
                f"{result.section.name} has {len(given)} environments: its temperature factor holds where all their "
                "temperatures rise and fall in proportion"
            )
    return factors, notes


def _margin(factor: TemperatureFactor, asked: _Asked) -> Margin:
    met = factor.value - factor.tolerance >= asked.factor
    missed = factor.value + factor.tolerance < asked.factor
    return Margin(
        asked.criterion,
        factor.environment,
        factor.section,
        factor.value,
        factor.tolerance,
        asked.factor,
        asked.month,
        met,
        certain=met or missed,
    )


# -- timber --------------------------------------------------------------------------------------------------------


class _Place(NamedTuple):
    """A watched line of one section as a share of the difference between inside and outside."""

    line: ProbeResult
    factor: float
    tolerance: float


def _timber(climate: Climate, sections: tuple[SectionResult, ...]) -> tuple[tuple[TimberEnd, ...], list[str]]:
    """Every watched line through the year, from the section that shows it coldest."""
    places: dict[str, list[_Place]] = {}
    untold = []
    for result in sections:
        given = [one.temperature for one in result.section.environments]
        cold, span = min(given), max(given) - min(given)
        if result.watched and (len(given) != 2 or span <= SPAN):
            untold.append(
                f"watched lines of {result.section.name} need two environments of different temperature to be followed "
                "through the year"
            )
            continue
        for line in result.watched:
            factor = iso_10211.temperature_factor(line.temperature_f_rsi, cold + span, cold)
            places.setdefault(line.name, []).append(_Place(line, factor, line.tolerance / span))
    lowest = [min(found, key=lambda place: place.factor) for found in places.values()]
    return tuple(_through_the_year(climate, place) for place in lowest), untold


def _through_the_year(climate: Climate, place: _Place) -> TimberEnd:
    months = tuple(_timber_month(air, place.factor) for air in climate.months)
    return TimberEnd(place.line.name, place.line.section, place.factor, place.tolerance, months)


def _timber_month(air: AirState, factor: float) -> TimberMonth:
    temperature = iso_10211.surface_temperature(factor, air.internal, air.external)
    return TimberMonth(
        temperature,
        iso_13788.saturation_pressure(temperature),
        iso_13788.relative_humidity(air.internal_pressure, temperature),
        iso_13788.relative_humidity(air.external_pressure, temperature),
    )


def month_name(number: int | None) -> str:
    """Name of a month by its number from 0; of the coldest day for None."""
    return "coldest day" if number is None else MONTHS[number]
