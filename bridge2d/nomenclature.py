"""Symbol, spoken name, unit and decimals of every quantity that is shown.

The last step of the flow takes all of this from here: screen, page, PDF and README; `shown_units` says the same in
inch-pound units. Three kinds of numbers have three printed forms: a plain value, a guaranteed bracket (with ±) and an
estimate (with ≈ and its tolerance).

Rounding is done on whole numbers of the last decimal, exactly, so that a printed bracket always contains the true one.
"""

import math
from dataclasses import dataclass
from fractions import Fraction

MINUS = "\N{MINUS SIGN}"
Number = float | Fraction
"""A value that is printed: a fraction where it was converted exactly to another unit."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """A quantity as it is shown.

    Attributes:
        key: name in code and in tables of this project.
        symbol: the trade's letter; what follows an underscore is set as a subscript.
        spoken: its name in a sentence.
        unit: SI unit; "1" for a pure number, which is printed without one.
        decimals: decimals that are printed.
        difference_unit: unit of a difference, where it is another one (kelvin for temperatures).
    """

    key: str
    symbol: str
    spoken: str
    unit: str
    decimals: int
    difference_unit: str = ""

    @property
    def plain_symbol(self) -> str:
        """The symbol where no subscript can be set."""
        return self.symbol.replace("_", "")


PSI = Quantity("psi", "Ψ", "linear thermal transmittance", "W/(m·K)", 4)
CHI = Quantity("chi", "χ", "point thermal transmittance", "W/K", 5)
CHI_OF_REVOLUTION = Quantity("chi_of_revolution", "χ", "point thermal transmittance", "W/K", 5)
L2D = Quantity("l2d", "L_2D", "thermal coupling coefficient", "W/(m·K)", 4)
U_VALUE = Quantity("u_value", "U", "thermal transmittance", "W/(m²·K)", 3)
ADDED_TRANSMITTANCE = Quantity("added_transmittance", "ΔU", "addition to the thermal transmittance", "W/(m²·K)", 4)
F_RSI = Quantity("f_rsi", "f_Rsi", "temperature factor", "1", 3)
SURFACE_TEMPERATURE = Quantity("surface_temperature", "θ_si", "internal surface temperature", "°C", 2, "K")
EXTERNAL_TEMPERATURE = Quantity("external_temperature", "θ_e", "external temperature", "°C", 1, "K")
INTERNAL_TEMPERATURE = Quantity("internal_temperature", "θ_i", "internal temperature", "°C", 1, "K")
TEMPERATURE = Quantity("temperature", "θ", "temperature", "°C", 2, "K")
DEW_POINT = Quantity("dew_point", "θ_d", "dew point", "°C", 2, "K")
TEMPERATURE_DIFFERENCE = Quantity("temperature_difference", "ΔT", "temperature difference", "K", 2)
CONDUCTIVITY = Quantity("conductivity", "λ", "thermal conductivity", "W/(m·K)", 3)
VAPOUR_FACTOR = Quantity("vapour_factor", "μ", "water vapour resistance factor", "1", 1)
DENSITY = Quantity("density", "ρ", "density", "kg/m³", 0)
EMISSIVITY = Quantity("emissivity", "ε", "emissivity", "1", 2)
INTERNAL_SURFACE_RESISTANCE = Quantity("r_si", "R_si", "internal surface resistance", "m²·K/W", 3)
EXTERNAL_SURFACE_RESISTANCE = Quantity("r_se", "R_se", "external surface resistance", "m²·K/W", 3)
RESISTANCE = Quantity("resistance", "R", "thermal resistance", "m²·K/W", 3)
HEAT_TRANSFER_COEFFICIENT = Quantity("heat_transfer_coefficient", "h", "heat transfer coefficient", "W/(m²·K)", 2)
THICKNESS = Quantity("thickness", "d", "thickness", "m", 4)
LENGTH = Quantity("length", "l", "length", "m", 4)
AREA = Quantity("area", "A", "area", "m²", 3)
NUMBER_PER_AREA = Quantity("number_per_area", "n", "number per area", "1/m²", 1)
SPACING = Quantity("spacing", "s", "spacing of repeated pieces", "m", 4)
GRAIN_DIRECTION = Quantity("grain_direction", "α", "direction of the grain", "deg", 1)
HEAT_FLUX = Quantity("heat_flux", "q", "density of heat flow rate", "W/m²", 2)
LINEAR_HEAT_FLOW = Quantity("linear_heat_flow", "Φ_l", "heat flow rate per length", "W/m", 3)
HEAT_FLOW = Quantity("heat_flow", "Φ", "heat flow rate", "W", 3)
COUPLING_3D = Quantity("l3d", "L_3D", "thermal coupling coefficient in three dimensions", "W/K", 4)
TRANSMISSION = Quantity("transmission", "H", "transmission heat transfer coefficient", "W/K", 3)
MEAN_INCREASE = Quantity("mean_increase", "ΔU_tb", "addition of the thermal bridges to the mean U", "W/(m²·K)", 4)
STREAM_FUNCTION = Quantity("stream_function", "ψ", "stream function", "W/m", 3)
VAPOUR_PRESSURE = Quantity("vapour_pressure", "p", "water vapour pressure", "Pa", 0)
HUMIDITY = Quantity("humidity", "φ", "relative humidity", "1", 2)
BALANCE = Quantity("balance", "b", "heat balance", "1", 7)
JUNCTION_LOSS = Quantity("junction_loss", "H_tb", "heat loss of the junctions per kelvin", "W/K", 3)
ANNUAL_HEAT = Quantity("annual_heat", "Q", "heat loss in a year", "kWh/a", 1)
ANNUAL_HEAT_PER_METRE = Quantity("annual_heat_per_metre", "q_l", "heat loss in a year per metre", "kWh/(m·a)", 2)

QUANTITIES = {
    quantity.key: quantity
    for quantity in (
        PSI,
        CHI,
        CHI_OF_REVOLUTION,
        L2D,
        U_VALUE,
        ADDED_TRANSMITTANCE,
        F_RSI,
        SURFACE_TEMPERATURE,
        EXTERNAL_TEMPERATURE,
        INTERNAL_TEMPERATURE,
        TEMPERATURE,
        DEW_POINT,
        TEMPERATURE_DIFFERENCE,
        CONDUCTIVITY,
        VAPOUR_FACTOR,
        DENSITY,
        EMISSIVITY,
        INTERNAL_SURFACE_RESISTANCE,
        EXTERNAL_SURFACE_RESISTANCE,
        RESISTANCE,
        HEAT_TRANSFER_COEFFICIENT,
        THICKNESS,
        LENGTH,
        AREA,
        NUMBER_PER_AREA,
        SPACING,
        GRAIN_DIRECTION,
        HEAT_FLUX,
        LINEAR_HEAT_FLOW,
        HEAT_FLOW,
        COUPLING_3D,
        TRANSMISSION,
        MEAN_INCREASE,
        STREAM_FUNCTION,
        VAPOUR_PRESSURE,
        HUMIDITY,
        BALANCE,
        JUNCTION_LOSS,
        ANNUAL_HEAT,
        ANNUAL_HEAT_PER_METRE,
    )
}
"""Every quantity by its key."""


def coupling(of_revolution: bool) -> Quantity:
    """The coupling coefficient of a section: per length, or of a whole solid of revolution."""
    return COUPLING_3D if of_revolution else L2D


def point_transmittance(of_revolution: bool) -> Quantity:
    """Point thermal transmittance χ; that of a screw needs more decimals than that of a joist."""
    return CHI_OF_REVOLUTION if of_revolution else CHI


def heat_flow(of_revolution: bool) -> Quantity:
    """The heat flow of a section: per length, or of a whole solid of revolution."""
    return HEAT_FLOW if of_revolution else LINEAR_HEAT_FLOW


def format_value(quantity: Quantity, value: Number, *, unit: bool = True) -> str:
    """A plain value: "0.297 W/(m²·K)", "−5.0 °C"; halves go to the even digit.

    Args:
        quantity: what the value is of.
        value: in the quantity's unit.
        unit: whether the unit follows.

    Raises:
        ValueError: the value is not a finite number.
    """
    _require_finite(quantity, value)
    number = _digits(_round_nearest(Fraction(value), quantity.decimals), quantity.decimals)
    return number + (_unit_text(quantity.unit) if unit else "")


def signed(words: str) -> str:
    """A number's words with a sign before them: "+0.031", "−0.0005 W/(m·K)".

    Args:
        words: as `format_value` makes them.
    """
    return words if words.startswith(MINUS) else f"+{words}"


def format_bounded(quantity: Quantity, lower: Number, upper: Number, *, unit: bool = True) -> str:
    """A guaranteed bracket: "0.1234 ± 0.0003 W/(m·K)".

    The value is the middle, rounded; the half width is rounded up, so that what is printed contains both bounds.

    Args:
        quantity: what the bracket is of.
        lower: lower bound, in the quantity's unit.
        upper: upper bound, in the quantity's unit.
        unit: whether the unit follows.

    Raises:
        ValueError: a bound is not a finite number, or the lower one is above the upper one.
    """
    _require_finite(quantity, lower, upper)
    if lower > upper:
        raise ValueError(f"the lower bound {lower} of the {quantity.spoken} is above the upper one {upper}")
    middle, half = _enclose(Fraction(lower), Fraction(upper), quantity.decimals)
    number = f"{_digits(middle, quantity.decimals)} ± {_digits(half, quantity.decimals)}"
    return number + (_unit_text(quantity.unit) if unit else "")


def format_ends(quantity: Quantity, lower: Number, upper: Number) -> tuple[str, str]:
    """Both bounds of a bracket with the unit, the lower one rounded down and the upper one up.

    Args:
        quantity: what the bracket is of.
        lower: lower bound, in the quantity's unit.
        upper: upper bound, in the quantity's unit.

    Raises:
        ValueError: a bound is not a finite number.
    """
    _require_finite(quantity, lower, upper)
    scale: int = 10**quantity.decimals
    counts = math.floor(Fraction(lower) * scale), math.ceil(Fraction(upper) * scale)
    low, high = (_digits(count, quantity.decimals) + _unit_text(quantity.unit) for count in counts)
    return low, high


def format_estimate(quantity: Quantity, value: Number, tolerance: Number, *, unit: bool = True) -> str:
    """An estimate: "≈ 12.62 °C (tolerance 0.02 K)"; never with ±, which is the bracket's.

    The tolerance is rounded up, so that what is printed contains value − tolerance and value + tolerance.

    Args:
        quantity: what the estimate is of.
        value: in the quantity's unit.
        tolerance: in the unit of its differences.
        unit: whether the units follow.

    Raises:
        ValueError: one of them is not a finite number, or the tolerance is negative.
    """
    _require_finite(quantity, value, tolerance)
    if tolerance < 0.0:
        raise ValueError(f"the tolerance of the {quantity.spoken} is {tolerance}; it has to be 0 or above")
    low, high = Fraction(value) - Fraction(tolerance), Fraction(value) + Fraction(tolerance)
    middle, half = _enclose(low, high, quantity.decimals)
    value_unit = _unit_text(quantity.unit) if unit else ""
    tolerance_unit = _unit_text(quantity.difference_unit or quantity.unit) if unit else ""
    number = _digits(middle, quantity.decimals)
    return f"≈ {number}{value_unit} (tolerance {_digits(half, quantity.decimals)}{tolerance_unit})"


def _require_finite(quantity: Quantity, *values: Number) -> None:
    for value in values:
        if not math.isfinite(value):
            raise ValueError(f"the {quantity.spoken} is {value}; only a finite number can be shown")


def _round_nearest(value: Fraction, decimals: int) -> int:
    scale: int = 10**decimals
    return round(value * scale)


def _enclose(low: Fraction, high: Fraction, decimals: int) -> tuple[int, int]:
    """Middle and half width in whole numbers of the last decimal, such that middle ± half contains low and high."""
    scale: int = 10**decimals
    middle = _round_nearest((low + high) / 2, decimals)
    half = max(middle - low * scale, high * scale - middle)
    return middle, math.ceil(half)


def _digits(count: int, decimals: int) -> str:
    """A whole number of last decimals as text; zero has no sign because a whole number has none."""
    digits = str(abs(count)).rjust(decimals + 1, "0")
    text = f"{digits[:-decimals]}.{digits[-decimals:]}" if decimals else digits
    return (MINUS if count < 0 else "") + text


def _unit_text(unit: str) -> str:
    return "" if unit == "1" else f" {unit}"
