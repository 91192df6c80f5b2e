"""The only conversions: what a person types becomes SI, and back.

First step of the flow, used wherever input is read. A whitelist of our own reads the text; nothing is evaluated, so
that no text can mean something that was not meant. Inside: metres, W/(m·K), °C, m²·K/W.

A bare number is in the unit of the file's system of units, SI or inch-pound; text says its unit itself. How numbers are
shown in either system stands in `shown_units`.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Literal, Protocol

from bridge2d.errors import QuantityError

UnitSystem = Literal["SI", "inch-pound"]
"""The two systems of units, as a detail file and the command line name them."""
SI: UnitSystem = "SI"
INCH_POUND: UnitSystem = "inch-pound"
SYSTEMS: tuple[UnitSystem, ...] = (SI, INCH_POUND)

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
R_VALUE_RIGHT = 'write the R-value per inch such as "R-3.8/in", or with its thickness such as "R-13 at 3 1/2 in"'
_RIGHT_IN_INCH_POUND = {
    CONDUCTIVITY_RIGHT: (
        'write Btu/(h·ft·°F) as a number such as 0.023, or a text such as "R-3.8/in", "0.27 BTU in/(h ft2 °F)" or '
        '"0.039 W/(m K)"'
    ),
    LENGTH_RIGHT: 'write inches as a number such as 9.5, or a text such as "9 1/2 in", "1 ft 3 1/2 in" or "240 mm"',
    TEMPERATURE_RIGHT: 'write °F as a number such as 68, or a text such as "68 °F" or "20 °C"',
    RESISTANCE_RIGHT: 'write h·ft²·°F/Btu as a number such as 0.7, or a text such as "R-0.7" or "0.13 m2 K/W"',
    TRANSMITTANCE_RIGHT: (
        'write Btu/(h·ft²·°F) as a number such as 0.2, or a text such as "0.2 Btu/(h ft2 °F)" or "1.1 W/(m2 K)"'
    ),
    POINT_RIGHT: 'write Btu/(h·°F) as a number such as 0.02, or a text such as "0.02 Btu/(h °F)" or "0.01 W/K"',
}

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

IMPERIAL_CONDUCTIVITY = BTU / (HOUR * FOOT * DEGREE_FAHRENHEIT)
"""1 Btu/(h·ft·°F) [W/(m·K)]."""
IMPERIAL_RESISTANCE = HOUR * FOOT**2 * DEGREE_FAHRENHEIT / BTU
"""1 h·ft²·°F/Btu, the unit of R-values [m²·K/W]."""
IMPERIAL_POINT_TRANSMITTANCE = BTU / (HOUR * DEGREE_FAHRENHEIT)
"""1 Btu/(h·°F) [W/K]."""

_LENGTHS = {"mm": 1e-3, "cm": 1e-2, "m": 1.0}
_SI_PER_LENGTH_KELVIN = ("W/(mK)", "W/mK", "W/m/K", "Wm-1K-1", "W/(Km)", "W/Km")
_CONDUCTIVITIES = (
    dict.fromkeys(_SI_PER_LENGTH_KELVIN, 1.0)
    | {f"m{name}": 1e-3 for name in _SI_PER_LENGTH_KELVIN}
    | dict.fromkeys(
        ("Btuin/(hft2F)", "Btuin/hft2F", "Btuin/(ft2hF)", "Btuin/ft2hF"),
        BTU * INCH / (HOUR * FOOT**2 * DEGREE_FAHRENHEIT),
    )
    | dict.fromkeys(("Btu/(hftF)", "Btu/hftF", "Btu/(fthF)", "Btu/fthF"), IMPERIAL_CONDUCTIVITY)
)
_RESISTANCES = dict.fromkeys(("m2K/W", "(m2K)/W", "Km2/W", "(Km2)/W"), 1.0) | dict.fromkeys(
    ("hft2F/Btu", "(hft2F)/Btu", "ft2hF/Btu", "(ft2hF)/Btu", "ft2Fh/Btu", "(ft2Fh)/Btu"), IMPERIAL_RESISTANCE
)
_TRANSMITTANCES = dict.fromkeys(("W/(m2K)", "W/m2K", "W/m2/K", "Wm-2K-1", "W/(Km2)", "W/Km2"), 1.0) | dict.fromkeys(
    ("Btu/(hft2F)", "Btu/hft2F", "Btu/(ft2hF)", "Btu/ft2hF"), 1.0 / IMPERIAL_RESISTANCE
)
_POINT_TRANSMITTANCES = {"W/K": 1.0, "mW/K": 1e-3, "Btu/(hF)": IMPERIAL_POINT_TRANSMITTANCE}
_ANGLES = {"deg": 1.0, "°": 1.0, "degrees": 1.0}
_CELSIUS = ("C", "°C", "degC")
_FAHRENHEIT = ("F", "°F", "degF")


class Reader(Protocol):
    """What was typed -> SI."""

    def __call__(self, typed: object, system: UnitSystem = SI, /) -> float:
        """The value [SI]; raises `QuantityError`."""


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of quantity at the doors.

    Attributes:
        name: "length", "conductivity", …
        unit: unit of a bare number in SI.
        factor: SI value of a bare 1 (lengths: 0.001).
        read: what was typed, and the system of bare numbers -> SI, raises `QuantityError`.
        inch_pound_unit: unit of a bare number in inch-pound units; empty where it is the same.
        inch_pound_factor: SI value of a bare 1 there; of temperatures that of one degree's difference.
    """

    name: str
    unit: str
    factor: float
    read: Reader
    inch_pound_unit: str = ""
    inch_pound_factor: float = 0.0

    def unit_in(self, system: UnitSystem) -> str:
        """Unit of a bare number in a system; empty for a pure number."""
        return self.inch_pound_unit if system == INCH_POUND and self.inch_pound_unit else self.unit

    def bare(self, value: float, system: UnitSystem = SI) -> float:
        """The value [SI] as a bare number of a system."""
        if system == SI or not self.inch_pound_unit:
            return value / self.factor
        return value / self.inch_pound_factor + (32.0 if self.name == "temperature" else 0.0)

    def number(self, value: float, system: UnitSystem = SI) -> str:
        """The value [SI] as a person reads it, without its unit; to five digits where it was converted."""
        if self.name == "length":
            return (format_length_inches(value) if system == INCH_POUND else format_length_mm(value)).rpartition(" ")[0]
        bare = self.bare(value, system)
        return plain(bare if system == SI or not self.inch_pound_unit else float(f"{bare:.5g}"))

    def show(self, value: float, system: UnitSystem = SI) -> str:
        """The value [SI] as a person reads it, with its unit."""
        return f"{self.number(value, system)} {self.unit_in(system)}".rstrip()


def read_length(typed: object, system: UnitSystem = SI) -> float:
    """A length [m].

    Args:
        typed: a number [mm] or text with a unit: mm, cm, m, in, ft, also "9 1/2 in" and "1 ft 3 1/2 in".
        system: of a bare number; in inch-pound units it is inches.

    Raises:
        QuantityError: the text is none of these.
    """
    if isinstance(typed, str):
        right = _right(LENGTH_RIGHT, system)
        text = _clean(typed, right)
        imperial = _imperial_length(text)
        metres = imperial if imperial is not None else _measure(text, _LENGTHS, right)
    elif system == INCH_POUND:
        metres = _number(typed, _right(LENGTH_RIGHT, system)) * INCH
    else:
        metres = _number(typed, LENGTH_RIGHT) / 1000.0
    # Rounded to a picometre, so that 9 1/2 in and 241.3 mm are one number.
    return round(metres, 12)


def read_conductivity(typed: object, system: UnitSystem = SI) -> float:
    """A thermal conductivity [W/(m·K)].

    Args:
        typed: a number [W/(m·K)], text with a unit, or an R-value of the North American trade with what it is the
            R-value of: "R-3.8/in" or "R-13 at 3 1/2 in".
        system: of a bare number; in inch-pound units it is Btu/(h·ft·°F).

    Raises:
        QuantityError: the text is no such quantity.
    """
    if isinstance(typed, str):
        resisting = _by_r_value(_clean(typed, _right(CONDUCTIVITY_RIGHT, system)))
        if resisting is not None:
            return resisting
    return read_linear_transmittance(typed, system)


def read_linear_transmittance(typed: object, system: UnitSystem = SI) -> float:
    """A linear thermal transmittance, which has the unit of a conductivity [W/(m·K)].

    Args:
        typed: a number [W/(m·K)] or text with a unit.
        system: of a bare number; in inch-pound units it is Btu/(h·ft·°F).

    Raises:
        QuantityError: the text is no such quantity.
    """
    return _read(typed, _CONDUCTIVITIES, CONDUCTIVITY_RIGHT, system, IMPERIAL_CONDUCTIVITY)


def read_resistance(typed: object, system: UnitSystem = SI) -> float:
    """A thermal resistance [m²·K/W].

    Args:
        typed: a number [m²·K/W], text with a unit, or an R-value of the North American trade such as "R-0.7".
        system: of a bare number; in inch-pound units it is h·ft²·°F/Btu.

    Raises:
        QuantityError: the text is no such quantity.
    """
    if isinstance(typed, str):
        right = _right(RESISTANCE_RIGHT, system)
        found = _R_VALUE.fullmatch(_clean(typed, right))
        if found and found["of"]:
            raise QuantityError(
                f"{typed.strip()!r} is the R-value of a thickness", 'write the whole one, such as "R-13"'
            )
        if found:
            return _finite(_value(found["r"], right) * IMPERIAL_RESISTANCE, right)
    return _read(typed, _RESISTANCES, RESISTANCE_RIGHT, system, IMPERIAL_RESISTANCE)


def read_temperature(typed: object, system: UnitSystem = SI) -> float:
    """A temperature [°C].

    Args:
        typed: a number [°C] or text with the unit °C, °F or K.
        system: of a bare number; in inch-pound units it is °F.

    Raises:
        QuantityError: the text is no temperature.
    """
    right = _right(TEMPERATURE_RIGHT, system)
    if not isinstance(typed, str):
        value = _number(typed, right)
        return _from_fahrenheit(value) if system == INCH_POUND else value
    value, unit = _split(_clean(typed, right), right)
    unit = unit.replace(" ", "")
    if unit in _CELSIUS:
        return value
    if unit in _FAHRENHEIT:
        return _from_fahrenheit(value)
    if unit == "K":
        return round(value - ZERO_CELSIUS, 9)
    raise _unknown_unit(typed, unit, right)


def _from_fahrenheit(value: float) -> float:
    # Rounded to a nanokelvin, so that 68 °F is 20 °C and not 20.000000000000004.
    return round((value - 32.0) * DEGREE_FAHRENHEIT, 9)


def read_transmittance(typed: object, system: UnitSystem = SI) -> float:
    """A thermal transmittance U [W/(m²·K)] from a number or text with a unit.

    Args:
        typed: a number [W/(m²·K)] or text with a unit.
        system: of a bare number; in inch-pound units it is Btu/(h·ft²·°F).

    Raises:
        QuantityError: the text is no such quantity.
    """
    return _read(typed, _TRANSMITTANCES, TRANSMITTANCE_RIGHT, system, 1.0 / IMPERIAL_RESISTANCE)


def read_point_transmittance(typed: object, system: UnitSystem = SI) -> float:
    """A point thermal transmittance [W/K] from a number or text with a unit.

    Args:
        typed: a number [W/K] or text with a unit.
        system: of a bare number; in inch-pound units it is Btu/(h·°F).

    Raises:
        QuantityError: the text is no such quantity.
    """
    return _read(typed, _POINT_TRANSMITTANCES, POINT_RIGHT, system, IMPERIAL_POINT_TRANSMITTANCE)


def read_angle(typed: object, system: UnitSystem = SI) -> float:
    """An angle [deg] from a number [deg] or text with a unit; the same in both systems.

    Raises:
        QuantityError: the text is no angle.
    """
    return _read(typed, _ANGLES, ANGLE_RIGHT, system, 1.0)


def read_ratio(typed: object, system: UnitSystem = SI) -> float:
    """A number without a unit [-].

    Raises:
        QuantityError: it is no finite number.
    """
    del system  # a pure number has none
    right = "write a number such as 0.7, without quotes"
    if isinstance(typed, str):
        raise QuantityError(f"{typed[:LONGEST_TEXT]!r} is text where a number is expected", right)
    return _number(typed, right)


def read_count(typed: object, system: UnitSystem = SI) -> float:
    """A whole number, as a float [-].

    Raises:
        QuantityError: it is no whole number.
    """
    del system  # ditto
    right = "write a whole number such as 2, without quotes"
    if isinstance(typed, str) or not _number(typed, right).is_integer():
        raise QuantityError(f"{typed!r:.60} is not a whole number", right)
    return _number(typed, right)


LENGTH = Kind("length", "mm", 1e-3, read_length, "in", INCH)
CONDUCTIVITY = Kind("conductivity", "W/(m·K)", 1.0, read_conductivity, "Btu/(h·ft·°F)", IMPERIAL_CONDUCTIVITY)
RESISTANCE = Kind("resistance", "m²·K/W", 1.0, read_resistance, "h·ft²·°F/Btu", IMPERIAL_RESISTANCE)
TRANSMITTANCE = Kind("transmittance", "W/(m²·K)", 1.0, read_transmittance, "Btu/(h·ft²·°F)", 1.0 / IMPERIAL_RESISTANCE)
TEMPERATURE = Kind("temperature", "°C", 1.0, read_temperature, "°F", DEGREE_FAHRENHEIT)
ANGLE = Kind("angle", "deg", 1.0, read_angle)
RATIO = Kind("ratio", "", 1.0, read_ratio)
COUNT = Kind("count", "", 1.0, read_count)
KINDS = (LENGTH, CONDUCTIVITY, RESISTANCE, TRANSMITTANCE, TEMPERATURE, ANGLE, RATIO, COUNT)


def format_length_mm(metres: float) -> str:
    """A length [m] as text in millimetres, to the micrometre and without idle zeros: "240 mm", "241.3 mm"."""
    return f"{plain(round(metres * 1000.0, 3))} mm"


def inches(metres: float) -> str:
    """A length [m] as inches: with a fraction where it is exact to 1/16 in, else decimals: "9 1/2", "12.992", "−3/4".

    Decimals are three at least, and as many as four digits need.
    """
    number = metres / INCH
    sixteenths = round(16.0 * number)
    sign = "−" if number < 0 else ""
    if abs(16.0 * number - sixteenths) < 4e-4:  # corners stand on whole micrometres: 0.6 µm are no difference
        whole, part = divmod(abs(sixteenths), 16)
        fraction = f"{part // math.gcd(part, 16)}/{16 // math.gcd(part, 16)}" if part else ""
        return (sign if sixteenths else "") + (f"{whole} {fraction}".strip() if whole or not fraction else fraction)
    decimals = max(3, 3 - math.floor(math.log10(abs(number))))
    return sign + f"{abs(number):.{decimals}f}".rstrip("0").rstrip(".")


def format_length_inches(metres: float) -> str:
    """A length [m] as text in inches, see `inches`: "9 1/2 in"."""
    return f"{inches(metres)} in"


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
        _value(number, right)
        raise QuantityError(f"{text!r} has no unit", right)
    return (-1.0 if sign == "-" else 1.0) * _value(number, right), unit


def _right(right: str, system: UnitSystem) -> str:
    """What would be right where bare numbers are in a system."""
    return right if system == SI else _RIGHT_IN_INCH_POUND.get(right, right)


def _read(typed: object, units: dict[str, float], right: str, system: UnitSystem, factor: float) -> float:
    """A quantity from text with one of some units, or from a bare number; the factor is that of inch-pound units."""
    right = _right(right, system)
    if isinstance(typed, str):
        return _measure(_clean(typed, right), units, right)
    return _finite(_number(typed, right) * (factor if system == INCH_POUND else 1.0), right)


_R_VALUE = re.compile(
    rf"R[\s-]?(?P<r>{_NUMBER})\s*(?P<of>(?:/|per\s)\s*in(?:ch)?|at\s(?P<thickness>.+))?", re.ASCII | re.IGNORECASE
)


def _by_r_value(text: str) -> float | None:
    """The conductivity [W/(m·K)] that an R-value of a thickness makes; None where the text is no R-value."""
    found = _R_VALUE.fullmatch(text)
    if not found:
        return None
    resistance = _value(found["r"], R_VALUE_RIGHT) * IMPERIAL_RESISTANCE
    if not found["of"]:
        raise QuantityError(f"{text!r} does not say of what thickness it is the R-value", R_VALUE_RIGHT)
    thickness = read_length(found["thickness"]) if found["thickness"] else INCH
    if resistance <= 0 or thickness <= 0:
        raise QuantityError(f"{text!r} makes no conductivity", R_VALUE_RIGHT)
    return _finite(thickness / resistance, R_VALUE_RIGHT)


def is_r_value(typed: object) -> bool:
    """Whether a text is a bare R-value such as "R-13", which is one of a thickness that stands elsewhere."""
    found = _R_VALUE.fullmatch(typed.strip()) if isinstance(typed, str) else None
    return found is not None and not found["of"]


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
