"""What the enclosed results say of a climate by month: records, and the numbers of it that are compared.

Part of the second step of a recheck. Humidities at timber follow from pressures and temperatures that are compared
too; beyond saturation the report says no more than that, and neither does a number here.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated

from pydantic import Field, FiniteFloat

from bridge2d import nomenclature as n
from bridge2d.climate import told_margins
from bridge2d.months_words import ABOUT
from bridge2d.recheck.stated import MANY, Line, Number, Record, about, exact
from bridge2d.standards import iso_13788

PERCENT = n.Quantity("humidity_percent", n.HUMIDITY.symbol, n.HUMIDITY.spoken, "%", 0)
"""Relative humidities as the tables by month print them."""
Temperature = Annotated[FiniteFloat, Field(ge=-273.15, le=1000.0)]
Tolerance = Annotated[FiniteFloat, Field(ge=0.0)]


class MonthRecord(Record):
    """A month: the air outside and in the room, and what it asks of surfaces ([°C], [Pa], [1])."""

    month: Line
    outside_temperature: Temperature
    outside_vapour_pressure: FiniteFloat
    inside_temperature: Temperature
    inside_vapour_pressure: FiniteFloat
    lowest_surface_temperature: Temperature
    f_rsi_mould: FiniteFloat | None
    f_rsi_condensation: FiniteFloat | None


class CriticalRecord(Record):
    """The months that ask for most, counted from 0."""

    mould: int | None
    condensation: int | None

    @property
    def both(self) -> tuple[int | None, int | None]:
        """For mould and for condensation."""
        return self.mould, self.condensation


class DayRecord(Record):
    """What the coldest day asks of glazing and frames [1]."""

    f_rsi: FiniteFloat | None


class MarginRecord(Record):
    """A temperature factor against what is asked for [1]."""

    criterion: Line
    environment: Line
    section: Line
    tolerance: Tolerance
    asked: FiniteFloat
    margin: FiniteFloat
    met: bool
    certain: bool

    @property
    def printed(self) -> float:
        """The margin between both factors as the pages print them."""
        decimals = n.F_RSI.decimals
        return round(self.margin + self.asked, decimals) - round(self.asked, decimals)

    @property
    def name(self) -> str:
        """Criterion and place."""
        return f"{self.criterion}, {self.section or self.environment}"


class TimberMonthRecord(Record):
    """A month at a timber: temperature [°C], saturation pressure [Pa], humidities [1]."""

    temperature: Temperature
    saturation_pressure: FiniteFloat
    humidity_room_air: FiniteFloat
    humidity_outside_air: FiniteFloat


class TimberRecord(Record):
    """A watched line through the year; its place as a share of the difference between inside and outside [1]."""

    name: Line
    section: Line
    factor: FiniteFloat
    tolerance: Tolerance
    months: Annotated[list[TimberMonthRecord], Field(max_length=12)]


class ClimateRecord(Record):
    """What the enclosed results hold of the climate."""

    months: Annotated[list[MonthRecord], Field(max_length=12)]
    critical_month: CriticalRecord
    coldest_day: DayRecord | None
    margins: Annotated[list[MarginRecord], Field(max_length=MANY)]
    timber: Annotated[list[TimberRecord], Field(max_length=MANY)]

    @property
    def told_margins(self) -> tuple[MarginRecord, ...]:
        """Those that the pages tell, see `climate.told_margins`."""
        return told_margins(self.margins)


def month_numbers(found: ClimateRecord) -> Iterator[Number]:
    """Every number of a climate by month that is printed and can be compared.

    Args:
        found: the climate.
    """
    for month in found.months:
        yield exact(f"θe, {month.month}", n.EXTERNAL_TEMPERATURE, month.outside_temperature)
        yield exact(f"θi, {month.month}", n.INTERNAL_TEMPERATURE, month.inside_temperature)
        if found.timber:
            yield exact(f"pe, {month.month}", n.VAPOUR_PRESSURE, month.outside_vapour_pressure)
        yield exact(f"pi, {month.month}", n.VAPOUR_PRESSURE, month.inside_vapour_pressure)
        yield exact(f"θsi,min, {month.month}", n.TEMPERATURE, month.lowest_surface_temperature)
        for what, factor in (("mould", month.f_rsi_mould), ("condensation", month.f_rsi_condensation)):
            if factor is not None:
                yield exact(f"fRsi,min for {what}, {month.month}", n.F_RSI, factor)
    if found.coldest_day and found.coldest_day.f_rsi is not None:
        yield exact("fRsi,min of glazing and frames, coldest day", n.F_RSI, found.coldest_day.f_rsi)
    for one in found.told_margins:
        yield exact(f"asked for {one.name}", n.F_RSI, one.asked)
        off = one.tolerance + 10.0**-n.F_RSI.decimals
        yield about(f"margin for {one.name}", n.F_RSI, one.printed, one.printed - off, one.printed + off)
    for end in found.timber:
        yield from _of_timber(end, found.months)


def _of_timber(end: TimberRecord, months: list[MonthRecord]) -> Iterator[Number]:
    """Place, temperatures, pressures and humidities; what follows from a temperature has the ends that it gives."""
    ends = end.factor - end.tolerance, end.factor + end.tolerance
    yield about(f"share of the difference at {end.name}", n.F_RSI, end.factor, *ends)
    for air, there in zip(months, end.months, strict=False):
        where = f"{end.name}, {air.month}"
        off = end.tolerance * abs(air.inside_temperature - air.outside_temperature)
        low, high = there.temperature - off, there.temperature + off
        yield about(f"θ of {where}", ABOUT, there.temperature, low, high)
        pressures = _saturation(low), _saturation(high)
        yield about(f"psat of {where}", n.VAPOUR_PRESSURE, there.saturation_pressure, *pressures)
        for what, humidity, pressure in (
            ("room air", there.humidity_room_air, air.inside_vapour_pressure),
            ("outside air", there.humidity_outside_air, air.outside_vapour_pressure),
        ):
            percents = (100.0 * min(one, 1.0) for one in (humidity, *(pressure / p for p in pressures)))
            yield about(f"φ of {what} at {where}", PERCENT, *percents)


def _saturation(temperature: float) -> float:
    """Saturation pressure [Pa], of a temperature beyond the standard's range that of its end."""
    lowest, highest = iso_13788.LOWEST_TEMPERATURE, iso_13788.HIGHEST_TEMPERATURE
    return iso_13788.saturation_pressure(min(max(temperature, lowest), highest))
