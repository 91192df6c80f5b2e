"""ISO 13788: humidity at internal surfaces, from the room's air to the lowest admissible temperature factor.

Used beside the results: it says which f_Rsi a room asks for. Clause numbers are remembered, of the edition of 2012, and
so are the constants; the formulas of the saturation pressure are the standard's annex E.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from bridge2d.standards._limits import require_between
from bridge2d.standards.iso_10211 import temperature_factor

CRITICAL_HUMIDITY = 0.8
"""Relative humidity at the surface above which mould grows [1]."""
OPAQUE_SURFACE_RESISTANCE = 0.25
"""R_si for the temperature factor of opaque surfaces [m²·K/W]."""
GLAZING_SURFACE_RESISTANCE = 0.13
"""R_si for the temperature factor of glazing and frames [m²·K/W]."""
EXTERNAL_SURFACE_RESISTANCE = 0.04
"""R_se that goes with either [m²·K/W]."""
VAPOUR_EXCESS = {1: 270.0, 2: 540.0, 3: 810.0, 4: 1080.0}
"""Upper limit of the vapour pressure excess of each humidity class at θe ≤ 0 °C [Pa]."""
NO_EXCESS_TEMPERATURE = 20.0
"""Outdoor temperature at which the excess has fallen to zero [°C]."""
SAFETY_FACTOR = 1.10
"""Factor on the excess that covers what a monthly mean hides [1]."""

LOWEST_TEMPERATURE = -60.0
"""Lowest temperature that the formulas are used for [°C]; ours, not the standard's."""
HIGHEST_TEMPERATURE = 80.0
"""Highest temperature that the formulas are used for [°C]; ours, not the standard's."""

_PRESSURE_AT_ZERO = 610.5  # saturation pressure at 0 °C [Pa]
_OVER_WATER = (17.269, 237.3)
_OVER_ICE = (21.875, 265.5)


@dataclass(frozen=True, slots=True)
class CriticalMonth:
    """The month that asks for the greatest temperature factor.

    Attributes:
        index: position in the list of months, from 0.
        surface_temperature: lowest admissible temperature of the surface in that month [°C].
        f_rsi: lowest admissible temperature factor [1].
    """

    index: int
    surface_temperature: float
    f_rsi: float


def factor_surface_resistance(*, glazing: bool) -> float:
    """Internal surface resistance R_si for the temperature factor [m²·K/W].

    ISO 13788:2012, 4.4.1, table 2

    Args:
        glazing: whether the surface is one of glazing or of a frame.
    """
    return GLAZING_SURFACE_RESISTANCE if glazing else OPAQUE_SURFACE_RESISTANCE


def saturation_pressure(temperature: float) -> float:
    """Saturation pressure of water vapour, over ice below 0 °C [Pa].

    ISO 13788:2012, annex E, equations (E.7) and (E.8)

    Args:
        temperature: temperature of the air [°C].

    Raises:
        ValueError: the temperature is not from -60 to 80.
    """
    require_between("the temperature", temperature, LOWEST_TEMPERATURE, HIGHEST_TEMPERATURE, "°C")
    a, b = _OVER_WATER if temperature >= 0.0 else _OVER_ICE
    return _PRESSURE_AT_ZERO * math.exp(a * temperature / (b + temperature))


def saturation_temperature(pressure: float) -> float:
    """Temperature at which a vapour pressure saturates the air [°C].

    ISO 13788:2012, annex E, equations (E.9) and (E.10)

    Args:
        pressure: vapour pressure [Pa].

    Raises:
        ValueError: the pressure is not one that saturates air from -60 to 80 °C.
    """
    low, high = saturation_pressure(LOWEST_TEMPERATURE), saturation_pressure(HIGHEST_TEMPERATURE)
    require_between("the vapour pressure", pressure, low, high, "Pa")
    a, b = _OVER_WATER if pressure >= _PRESSURE_AT_ZERO else _OVER_ICE
    exponent = math.log(pressure / _PRESSURE_AT_ZERO)
    return b * exponent / (a - exponent)


def vapour_pressure(temperature: float, humidity: float) -> float:
    """Vapour pressure of the air, p = φ p_sat(θ) [Pa].

    ISO 13788:2012, 3.1 and annex E

    Args:
        temperature: temperature of the air [°C].
        humidity: relative humidity [1].

    Raises:
        ValueError: the humidity is not from 0 to 1, or the temperature not from -60 to 80.
    """
    require_between("the relative humidity", humidity, 0.0, 1.0, "")
    return humidity * saturation_pressure(temperature)


def dew_point(temperature: float, humidity: float) -> float:
    """Dew point of the air [°C].

    ISO 13788:2012, annex E

    Args:
        temperature: temperature of the air [°C].
        humidity: relative humidity [1].

    Raises:
        ValueError: a value is out of its range, or the air so dry that its dew point is.
    """
    return saturation_temperature(vapour_pressure(temperature, humidity))


def lowest_surface_temperature(pressure: float, critical_humidity: float = CRITICAL_HUMIDITY) -> float:
    """Lowest temperature of a surface at which the air beside it keeps below the critical humidity [°C].

    ISO 13788:2012, 5.3, equation (4), and annex E

    Args:
        pressure: vapour pressure of the room's air [Pa].
        critical_humidity: relative humidity at the surface that is just admissible [1]; 1 asks for no condensation.

    Raises:
        ValueError: the critical humidity is not from 0.01 to 1, or the pressure is out of range.
    """
    require_between("the critical humidity", critical_humidity, 0.01, 1.0, "")
    return saturation_temperature(pressure / critical_humidity)


def lowest_admissible_f_rsi(
    internal: float, humidity: float, external: float, critical_humidity: float = CRITICAL_HUMIDITY
) -> float:
    """Lowest admissible temperature factor for a room of known humidity, f_Rsi,min = (θsi,min − θe)/(θi − θe) [1].

    ISO 13788:2012, 5.3, equation (5)

    Args:
        internal: temperature of the room [°C].
        humidity: relative humidity of the room's air [1].
        external: temperature outside [°C].
        critical_humidity: relative humidity at the surface that is just admissible [1].

    Raises:
        ValueError: a value is out of its range, or it is as warm outside as inside.
    """
    lowest = lowest_surface_temperature(vapour_pressure(internal, humidity), critical_humidity)
    return temperature_factor(lowest, internal, external)


def vapour_excess(humidity_class: int, external: float) -> float:
    """Vapour pressure excess of a humidity class, falling from θe = 0 °C to none at 20 °C [Pa].

    ISO 13788:2012, annex A, figure A.1

    Args:
        humidity_class: 1 to 4; the upper limit of the class is taken.
        external: temperature outside, a monthly mean [°C].

    Raises:
        ValueError: there is no such class, or the temperature is not from -60 to 80.
    """
    if humidity_class not in VAPOUR_EXCESS:
        raise ValueError(f"the humidity class is {humidity_class}; it has to be 1, 2, 3 or 4")
    require_between("the temperature outside", external, LOWEST_TEMPERATURE, HIGHEST_TEMPERATURE, "°C")
    share = 1.0 - external / NO_EXCESS_TEMPERATURE
    return VAPOUR_EXCESS[humidity_class] * min(max(share, 0.0), 1.0)


def internal_vapour_pressure(
    external: float, humidity: float, humidity_class: int, safety: float = SAFETY_FACTOR
) -> float:
    """Vapour pressure of a room's air, p_i = p_e + Δp·safety [Pa].

    ISO 13788:2012, 4.2.4, equation (2), and 5.3

    Args:
        external: temperature outside, a monthly mean [°C].
        humidity: relative humidity outside [1].
        humidity_class: of the room, 1 to 4.
        safety: factor on the excess [1]; 1 leaves it as it is.

    Raises:
        ValueError: a value is out of its range.
    """
    require_between("the factor on the vapour excess", safety, 1.0, 2.0, "")
    return vapour_pressure(external, humidity) + safety * vapour_excess(humidity_class, external)


def critical_month(
    months: Sequence[tuple[float, float]],
    internal: float,
    humidity_class: int,
    *,
    safety: float = SAFETY_FACTOR,
    critical_humidity: float = CRITICAL_HUMIDITY,
) -> CriticalMonth:
    """Month that asks for the greatest temperature factor, with that factor [1].

    ISO 13788:2012, 5.3, steps a) to g)

    Args:
        months: temperature outside [°C] and relative humidity outside [1] of each month.
        internal: temperature of the room [°C].
        humidity_class: of the room, 1 to 4.
        safety: factor on the vapour excess [1].
        critical_humidity: relative humidity at the surface that is just admissible [1].

    Raises:
        ValueError: a value is out of its range, or no month is colder than the room.
    """
    found = []
    for index, (external, humidity) in enumerate(months):
        if external >= internal:  # a month without heating asks for nothing
            continue
        pressure = internal_vapour_pressure(external, humidity, humidity_class, safety)
        lowest = lowest_surface_temperature(pressure, critical_humidity)
        found.append(CriticalMonth(index, lowest, temperature_factor(lowest, internal, external)))
    if not found:
        raise ValueError(f"no month is colder than the room at {internal} °C; one has to be")
    return max(found, key=lambda month: month.f_rsi)
