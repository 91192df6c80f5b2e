"""The only conversions: what a person types becomes SI, and back.

First step of the flow, used wherever input is read. A whitelist of our own reads the text; nothing is evaluated, so
that no text can mean something that was not meant. Inside: metres, W/(m·K), °C, m²·K/W.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass

from bridge2d.errors import QuantityError

LONGEST_TEXT = 60
"""A quantity of more characters than this is refused."""

INCH = 0.0254
"""International inch [m], exact (NIST SP 811, appendix B.8)."""
FOOT = 0.3048
"""International foot [m], exact (NIST SP 811, appendix B.8)."""
BTU = 1055.05585262
"""British thermal unit, International Table [J] (NIST SP 811, appendix B.8)."""
HOUR = 3600.0
"""Hour [s]."""
DEGREE_FAHRENHEIT = 5.0 / 9.0
"""Difference of one degree Fahrenheit [K], exact."""
ZERO_CELSIUS = 273.15
"""0 °C [K], exact."""

CONDUCTIVITY_RIGHT = (
    'write W/(m·K) as a number such as 0.039, or a text such as "0.039 W/(m K)" or "0.27 BTU in/(h ft2 °F)"'
)
LENGTH_RIGHT = 'write millimetres as a number such as 240, or a text such as "240 mm", "0.24 m" or "9 1/2 in"'
TEMPERATURE_RIGHT = 'write °C as a number such as 20, or a text such as "20 °C" or "68 °F"'
RESISTANCE_RIGHT = 'write m²·K/W as a number such as 0.13, or a text such as "0.13 m2 K/W" or "0.7 h ft2 °F/Btu"'
TRANSMITTANCE_RIGHT = 'write W/(m²·K) as a number such as 1.1, or a text such as "1.1 W/(m2 K)" or "0.2 Btu/(h ft2 °F)"'
POINT_RIGHT = 'write W/K as a number such as 0.01, or a text such as "0.01 W/K"'
ANGLE_RIGHT = 'write degrees as a number such as 90, or a text such as "90 deg"'

_NUMBER = r"[0-9]+(?:[.,][0-9]+)?(?:[eE][+-]?[0-9]{1,3})?|[.,][0-9]+"
_MEASURE = re.compile(rf"([+-]?)({_NUMBER})\s*(.*)", re.ASCII | re.DOTALL)


def _part(letter: str) -> str:
    """Pattern of a number, a fraction or both, with group names that begin with the letter."""
    fraction = rf"(?:(?P<{letter}w>[0-9]+)(?:\s+|-))?(?P<{letter}n>[0-9]+)\s*/\s*(?P<{letter}d>[0-9]+)"
    return rf"(?:{fraction}|(?P<{letter}v>{_NUMBER}))"


_FOOT_SIGN = r"\s*(?:feet|foot|ft|')"
_INCH_SIGN = r"\s*(?:inches|inch|in|\")"
_INCHES = re.compile(rf"(?P<sign>[+-]?)(?:(?P<feet>[0-9]+){_FOOT_SIGN}\s*-?\s*)?{_part('i')}{_INCH_SIGN}", re.ASCII)
_FEET = re.compile(rf"(?P<sign>[+-]?){_part('f')}{_FOOT_SIGN}", re.ASCII)

_LENGTHS = {"mm": 1e-3, "cm": 1e-2, "m": 1.0}
_SI_PER_LENGTH_KELVIN = ("W/(mK)", "W/mK", "W/m/K", "Wm-1K-1", "W/(Km)", "W/Km")
_CONDUCTIVITIES = (
    dict.fromkeys(_SI_PER_LENGTH_KELVIN, 1.0)
    | {f"m{name}": 1e-3 for name in _SI_PER_LENGTH_KELVIN}
    | dict.fromkeys(
        ("Btuin/(hft2F)", "Btuin/hft2F", "Btuin/(ft2hF)", "Btuin/ft2hF"),
        BTU * INCH / (HOUR * FOOT**2 * DEGREE_FAHRENHEIT),
    )
    | dict.fromkeys(("Btu/(hftF)", "Btu/hftF", "Btu/(fthF)", "Btu/fthF"), BTU / (HOUR * FOOT * DEGREE_FAHRENHEIT))
)
_IMPERIAL_RESISTANCE = HOUR * FOOT**2 * DEGREE_FAHRENHEIT / BTU
_RESISTANCES = dict.fromkeys(("m2K/W", "(m2K)/W", "Km2/W", "(Km2)/W"), 1.0) | dict.fromkeys(
    ("hft2F/Btu", "(hft2F)/Btu", "ft2hF/Btu", "(ft2hF)/Btu", "ft2Fh/Btu", "(ft2Fh)/Btu"), _IMPERIAL_RESISTANCE
)
_TRANSMITTANCES = dict.fromkeys(("W/(m2K)", "W/m2K", "W/m2/K", "Wm-2K-1", "W/(Km2)", "W/Km2"), 1.0) | dict.fromkeys(
    ("Btu/(hft2F)", "Btu/hft2F", "Btu/(ft2hF)", "Btu/ft2hF"), 1.0 / _IMPERIAL_RESISTANCE
)
_POINT_TRANSMITTANCES = {"W/K": 1.0, "mW/K": 1e-3, "Btu/(hF)": BTU / (HOUR * DEGREE_FAHRENHEIT)}
_ANGLES = {"deg": 1.0, "°": 1.0, "degrees": 1.0}
_CELSIUS = ("C", "°C", "degC")
_FAHRENHEIT = ("F", "°F", "degF")


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of quantity at the doors.

    Attributes:
        name: "length", "conductivity", …
        unit: unit of a bare number.
        factor: SI value of a bare 1 (lengths: 0.001).
        read: what was typed -> SI, raises `QuantityError`.
    """

    name: str
    unit: str
    factor: float
    read: Callable[[object], float]

    def show(self, value: float) -> str:
        """The value [SI] as a person reads it, with its unit."""
        if self.name == "length":
            return format_length_mm(value)
        return f"{plain(value / self.factor)} {self.unit}".rstrip()


def read_length(typed: object) -> float:
    """A length [m].

    Args:
        typed: a number [mm] or text with a unit: mm, cm, m, in, ft, also "9 1/2 in" and "1 ft 3 1/2 in".

    Raises:
        QuantityError: the text is none of these.
    """
    if isinstance(typed, str):
        text = _clean(typed, LENGTH_RIGHT)
        imperial = _imperial_length(text)
        metres = imperial if imperial is not None else _measure(text, _LENGTHS, LENGTH_RIGHT)
    else:
        metres = _number(typed, LENGTH_RIGHT) / 1000.0
    # Rounded to a picometre, so that 9 1/2 in and 241.3 mm are one number.
    return round(metres, 12)


def read_conductivity(typed: object) -> float:
    """A thermal conductivity, or a linear thermal transmittance, which has the same unit [W/(m·K)].

    Args:
        typed: a number [W/(m·K)] or text with a unit.

    Raises:
        QuantityError: the text is no such quantity.
    """
    return _read(typed, _CONDUCTIVITIES, CONDUCTIVITY_RIGHT)


def read_resistance(typed: object) -> float:
    """A thermal resistance [m²·K/W].

    Args:
        typed: a number [m²·K/W], text with a unit, or an R-value of the North American trade such as "R-0.7".

    Raises:
        QuantityError: the text is no such quantity.
    """
    if isinstance(typed, str):
        found = re.fullmatch(rf"R[\s-]?({_NUMBER})", _clean(typed, RESISTANCE_RIGHT), re.ASCII)
        if found:
            return _finite(_value(found[1], RESISTANCE_RIGHT) * _IMPERIAL_RESISTANCE, RESISTANCE_RIGHT)
    return _read(typed, _RESISTANCES, RESISTANCE_RIGHT)


def read_temperature(typed: object) -> float:
    """A temperature [°C].

    Args:
        typed: a number [°C] or text with the unit °C, °F or K.

    Raises:
        QuantityError: the text is no temperature.
    """
    if not isinstance(typed, str):
        return _number(typed, TEMPERATURE_RIGHT)
    value, unit = _split(_clean(typed, TEMPERATURE_RIGHT), TEMPERATURE_RIGHT)
    unit = unit.replace(" ", "")
    if unit in _CELSIUS:
        return value
    if unit in _FAHRENHEIT:
        # Rounded to a nanokelvin, so that 68 °F is 20 °C and not 20.000000000000004.
        return round((value - 32.0) * DEGREE_FAHRENHEIT, 9)
    if unit == "K":
        return round(value - ZERO_CELSIUS, 9)
    raise _unknown_unit(typed, unit, TEMPERATURE_RIGHT)


def read_transmittance(typed: object) -> float:
    """A thermal transmittance U [W/(m²·K)] from a number [W/(m²·K)] or text with a unit.

    Raises:
        QuantityError: the text is no such quantity.
    """
    return _read(typed, _TRANSMITTANCES, TRANSMITTANCE_RIGHT)


def read_point_transmittance(typed: object) -> float:
    """A point thermal transmittance [W/K] from a number [W/K] or text with a unit.

    Raises:
        QuantityError: the text is no such quantity.
    """
    return _read(typed, _POINT_TRANSMITTANCES, POINT_RIGHT)


def read_angle(typed: object) -> float:
    """An angle [deg] from a number [deg] or text with a unit.

    Raises:
        QuantityError: the text is no angle.
    """
    return _read(typed, _ANGLES, ANGLE_RIGHT)


def read_ratio(typed: object) -> float:
    """A number without a unit [-].

    Raises:
        QuantityError: it is no finite number.
    """
    right = "write a number such as 0.7, without quotes"
    if isinstance(typed, str):
        raise QuantityError(f"{typed[:LONGEST_TEXT]!r} is text where a number is expected", right)
    return _number(typed, right)


def read_count(typed: object) -> float:
    """A whole number, as a float [-].

    Raises:
        QuantityError: it is no whole number.
    """
    right = "write a whole number such as 2, without quotes"
    if isinstance(typed, str) or not _number(typed, right).is_integer():
        raise QuantityError(f"{typed!r:.60} is not a whole number", right)
    return _number(typed, right)


LENGTH = Kind("length", "mm", 1e-3, read_length)
CONDUCTIVITY = Kind("conductivity", "W/(m·K)", 1.0, read_conductivity)
RESISTANCE = Kind("resistance", "m²·K/W", 1.0, read_resistance)
TRANSMITTANCE = Kind("transmittance", "W/(m²·K)", 1.0, read_transmittance)
TEMPERATURE = Kind("temperature", "°C", 1.0, read_temperature)
ANGLE = Kind("angle", "deg", 1.0, read_angle)
RATIO = Kind("ratio", "", 1.0, read_ratio)
COUNT = Kind("count", "", 1.0, read_count)


def format_length_mm(metres: float) -> str:
    """A length [m] as text in millimetres, to the micrometre and without idle zeros: "240 mm", "241.3 mm"."""
    return f"{plain(round(metres * 1000.0, 3))} mm"


def plain(value: float) -> str:
    """A number without idle zeros and without an exponent where a person would write none."""
    if value == 0:
        return "0"
    if 1e-4 <= abs(value) < 1e9:
        return f"{value:.9f}".rstrip("0").rstrip(".")
    return f"{value:g}"


# -- reading text ------------------------------------------------------------------------------------------------


def _number(typed: object, right: str) -> float:
    """A bare number, refused unless finite; a Python bool is no number."""
    if isinstance(typed, bool) or not isinstance(typed, int | float):
        name = {bool: "true or false", list: "a list", dict: "a table", type(None): "nothing"}.get(
            type(typed), "a date"
        )
        raise QuantityError(f"{name} stands where a quantity is expected", right)
    try:
        return _finite(float(typed), right)
    except OverflowError:
        raise QuantityError("the number is far too large", right) from None


def _finite(value: float, right: str) -> float:
    if not math.isfinite(value):
        raise QuantityError("the number is not finite", right)
    return value


def _clean(typed: str, right: str) -> str:
    """The text with one way of writing minus, inch and foot signs and spaces."""
    if len(typed) > LONGEST_TEXT:
        raise QuantityError(f"the text {typed[:20]!r}… is longer than {LONGEST_TEXT} characters", right)
    text = typed.replace("−", "-").replace("″", '"').replace("′", "'").replace("\u00a0", " ").replace("\u202f", " ")
    if not text.strip():
        raise QuantityError("the text is empty", right)
    return text.strip()


def _value(text: str, right: str) -> float:
    """A number with decimal point or comma; a comma that may part thousands is refused."""
    if re.fullmatch(r"[1-9][0-9]{0,2},[0-9]{3}", text, re.ASCII):
        raise QuantityError(
            f"the comma in {text!r} may mark decimals or thousands",
            f"write {text.replace(',', '')} or {text.replace(',', '.')}",
        )
    return _finite(float(text.replace(",", ".")), right)


def _split(text: str, right: str) -> tuple[float, str]:
    """The number in front and the unit behind it."""
    found = _MEASURE.fullmatch(text)
    if not found:
        raise QuantityError(f"{text!r} does not begin with a plain number", right)
    sign, number, unit = found.groups()
    if not unit:
        raise QuantityError(f"{text!r} has no unit", right)
    return (-1.0 if sign == "-" else 1.0) * _value(number, right), unit


def _read(typed: object, units: dict[str, float], right: str) -> float:
    return _measure(_clean(typed, right), units, right) if isinstance(typed, str) else _number(typed, right)


def _measure(text: str, units: dict[str, float], right: str) -> float:
    value, unit = _split(text, right)
    factor = units.get(_plain_unit(unit))
    if factor is None:
        raise _unknown_unit(text, unit, right)
    return _finite(value * factor, right)


def _plain_unit(unit: str) -> str:
    """One spelling for the many ways of writing a compound unit."""
    for old, new in (("²", "2"), ("^2", "2"), ("⁻¹", "-1"), ("^-1", "-1"), ("℉", "F"), ("°F", "F"), ("degF", "F")):
        unit = unit.replace(old, new)
    unit = re.sub(r"[\s·⋅*]", "", unit)
    unit = re.sub("btu", "Btu", unit, flags=re.IGNORECASE)
    return re.sub(r"hr|hour", "h", unit)


def _unknown_unit(text: str, unit: str, right: str) -> QuantityError:
    return QuantityError(f"the unit {unit.strip()!r} in {text.strip()!r} is not one for this quantity", right)


def _imperial_length(text: str) -> float | None:
    """Feet and inches [m]; None where the text is neither."""
    found = _INCHES.fullmatch(text)
    if found:
        inches = _mixed(found, "i", text)
        feet = found["feet"]
        if feet is not None and inches >= 12:
            raise QuantityError(f"{text!r} has twelve inches or more beside its feet", 'write it as "1 ft 3 1/2 in"')
        metres = (inches + 12.0 * float(feet or 0)) * INCH
    else:
        found = _FEET.fullmatch(text)
        if not found:
            return None
        metres = _mixed(found, "f", text) * FOOT
    return _finite(-metres if found["sign"] == "-" else metres, LENGTH_RIGHT)


def _mixed(found: re.Match[str], part: str, text: str) -> float:
    """The number of a match: "9 1/2", "3/4" or "9.5"."""
    if found[f"{part}v"] is not None:
        return _value(found[f"{part}v"], LENGTH_RIGHT)
    whole, above, below = float(found[f"{part}w"] or 0), float(found[f"{part}n"]), float(found[f"{part}d"])
    if below == 0 or (found[f"{part}w"] is not None and above >= below):
        raise QuantityError(f"the fraction in {text!r} makes no sense", 'write it as "9 1/2 in"')
    return whole + above / below
