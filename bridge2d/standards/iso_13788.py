"""ISO 13788: humidity at internal surfaces, from the room's air to the lowest admissible temperature factor.

Used beside the results: it says which f_Rsi a room asks for. Clause numbers are remembered, of the edition of 2012, and
so are the constants where nothing else is said; the formulas of the saturation pressure are the standard's annex E.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from bridge2d.standards._limits import require_between, require_not_negative
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
SATURATED = 1.0
"""Relative humidity at the surface that is just admissible where only condensation counts, as on frames [1]."""
COLDEST_DAY_HUMIDITY = 0.95
"""Relative humidity outside that goes with the mean annual minimum of the daily temperature [1]."""
CONTINENTAL_TEMPERATURE = ((10.0, 20.0), (20.0, 25.0))
"""Temperature outside and inside [°C] at both ends of the slope; constant beyond (values as in EN 15026)."""
CONTINENTAL_HUMIDITY = {"normal": ((-10.0, 0.30), (20.0, 0.60)), "high": ((-10.0, 0.40), (20.0, 0.70))}
"""Temperature outside [°C] and relative humidity inside [1] likewise, by occupancy (values as in EN 15026)."""

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

    Mould grows from 80 % on; on window frames, whose finish lets no water in, 100 % is admissible (ISO 13788:2001,
    annex D, quoted in "Tautropfen statt Eisblumen", GEB, geb-info.de, read there).

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


def lowest_admissible_factor(pressure: float, internal: float, external: float, critical_humidity: float) -> float:
    """Lowest admissible temperature factor for a room of known vapour pressure, (θsi,min − θe)/(θi − θe) [1].

    ISO 13788:2012, 5.3, equation (5)

    Above 1 no surface is warm enough: the room has to be warmer or drier. Below 0 any surface is.

    Args:
        pressure: vapour pressure of the room's air [Pa].
        internal: temperature of the room [°C].
        external: temperature outside [°C].
        critical_humidity: relative humidity at the surface that is just admissible [1].

    Raises:
        ValueError: a value is out of its range, or it is as warm outside as inside.
    """
    lowest = lowest_surface_temperature(pressure, critical_humidity)
    return temperature_factor(lowest, internal, external)


def relative_humidity(pressure: float, temperature: float) -> float:
    """Relative humidity of air of a vapour pressure beside a surface, φ = p/p_sat(θ) [1].

    ISO 13788:2012, 3.1 and annex E

    Args:
        pressure: vapour pressure of the air [Pa].
        temperature: temperature of the surface [°C].

    Returns:
        above 1 where the air condenses on the surface.

    Raises:
        ValueError: the temperature is not from -60 to 80.
    """
    return pressure / saturation_pressure(temperature)


def continental_temperature(external: float) -> float:
    """Temperature of rooms in a continental climate: 20 °C up to 10 °C outside, 25 °C from 20 °C outside [°C].

    ISO 13788:2012, annex A.1; the values are those of EN 15026:2007, annex C, remembered

    Args:
        external: temperature outside, a monthly mean [°C].

    Raises:
        ValueError: the temperature is not from -60 to 80.
    """
    return _on_slope(external, *CONTINENTAL_TEMPERATURE)


def continental_humidity(external: float, occupancy: str) -> float:
    """Relative humidity of rooms in a continental climate, rising from -10 °C to 20 °C outside [1].

    ISO 13788:2012, annex A.1; the values are those of EN 15026:2007, annex C, remembered

    Args:
        external: temperature outside, a monthly mean [°C].
        occupancy: "normal" (30 % to 60 %) or "high" (40 % to 70 %).

    Raises:
        ValueError: there is no such occupancy, or the temperature is not from -60 to 80.
    """
    if occupancy not in CONTINENTAL_HUMIDITY:
        raise ValueError(f"the occupancy is {occupancy!r}; it has to be 'normal' or 'high'")
    return _on_slope(external, *CONTINENTAL_HUMIDITY[occupancy])


def _on_slope(external: float, start: tuple[float, float], end: tuple[float, float]) -> float:
    """A quantity that is constant outside of two temperatures and changes evenly between them."""
    require_between("the temperature outside", external, LOWEST_TEMPERATURE, HIGHEST_TEMPERATURE, "°C")
    share = min(max((external - start[0]) / (end[0] - start[0]), 0.0), 1.0)
    return start[1] + share * (end[1] - start[1])


def falling_excess(at_zero: float, external: float) -> float:
    """Vapour pressure excess that falls from its value at θe = 0 °C to none at 20 °C [Pa].

    ISO 13788:2012, annex A.2; class 5 has no upper limit, so a value of its own is needed

    Args:
        at_zero: excess at 0 °C and below [Pa].
        external: temperature outside, a monthly mean [°C].

    Raises:
        ValueError: the excess is negative, or the temperature not from -60 to 80.
    """
    require_not_negative("the vapour pressure excess", at_zero, "Pa")
    require_between("the temperature outside", external, LOWEST_TEMPERATURE, HIGHEST_TEMPERATURE, "°C")
    return at_zero * min(max(1.0 - external / NO_EXCESS_TEMPERATURE, 0.0), 1.0)


def vapour_excess(humidity_class: int, external: float) -> float:
    """Vapour pressure excess of a humidity class, falling from θe = 0 °C to none at 20 °C [Pa].

    ISO 13788:2012, annex A.2

    Args:
        humidity_class: 1 to 4; the upper limit of the class is taken.
        external: temperature outside, a monthly mean [°C].

    Raises:
        ValueError: there is no such class, or the temperature is not from -60 to 80.
    """
    if humidity_class not in VAPOUR_EXCESS:
        raise ValueError(f"the humidity class is {humidity_class}; it has to be 1, 2, 3 or 4")
    return falling_excess(VAPOUR_EXCESS[humidity_class], external)


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
