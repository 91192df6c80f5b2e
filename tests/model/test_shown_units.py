"""Inch-pound units: exact factors, brackets that stay brackets, sentences, and what a bare number means.

Factors are exact by definition or published (NIST SP 811, appendix B.8 and B.9); the published ones are compared to
their seven printed digits.
"""

from __future__ import annotations

import re
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge2d import nomenclature as n
from bridge2d import units
from bridge2d.errors import QuantityError
from bridge2d.shown_units import IN_INCH_POUND, IN_SI, INCH_POUND_UNITS, DisplayUnits
from bridge2d.units import INCH_POUND

PUBLISHED = {
    # SI unit: what one of the inch-pound unit is in it, as NIST SP 811, appendix B.9, prints it.
    "m": 0.3048,
    "m²": 0.09290304,
    "1/m²": 1 / 0.09290304,
    "mm": 25.4,
    "m/s": 0.3048,
    "mm²": 645.16,
    "W/(m·K)": 1.730735,
    "W/(m²·K)": 5.678263,
    "m²·K/W": 0.1761102,
    "W/m²": 3.154591,
    "W": 0.2930711,
    "K": 5 / 9,
    "kg/m³": 16.01846,
    "Pa": 3386.389,
    # W/K and W/m: from the factors above (exact by definition): Btu/h by 5/9 K, by 0.3048 m.
    "W/K": 0.2930711 * 9 / 5,
    "W/m": 0.2930711 / 0.3048,
    # Heat and degree hours of a year: of the foot and of the degree alone, exact.
    "kWh/(m·a)": 1 / 0.3048,
    "kKh/a": 5 / 9,
}
FINITE = st.floats(-1e6, 1e6, allow_nan=False)


@pytest.mark.parametrize("unit", [unit for unit in INCH_POUND_UNITS if unit != "°C"])
def test_factors_are_those_of_the_tables(unit: str):
    assert float(INCH_POUND_UNITS[unit].size) == pytest.approx(PUBLISHED[unit], rel=3e-7)


def test_celsius_and_fahrenheit_meet_where_they_do():
    # Exact: water boils at 212 °F under a standard atmosphere, both scales meet at −40.
    assert IN_INCH_POUND.number(n.TEMPERATURE, 100.0) == 212
    assert IN_INCH_POUND.number(n.TEMPERATURE, -40.0) == -40
    assert IN_INCH_POUND.difference(n.TEMPERATURE, 10.0) == 18


def test_reading_and_showing_use_one_factor():
    for kind, quantity in (
        (units.CONDUCTIVITY, n.CONDUCTIVITY),
        (units.RESISTANCE, n.RESISTANCE),
        (units.TRANSMITTANCE, n.U_VALUE),
        (units.TEMPERATURE, n.TEMPERATURE),
    ):
        assert kind.unit_in(INCH_POUND) == IN_INCH_POUND.unit(quantity)
        assert kind.bare(0.37, INCH_POUND) == pytest.approx(float(IN_INCH_POUND.number(quantity, 0.37)), rel=1e-14)


@given(FINITE)
def test_there_and_back(value: float):
    for quantity in n.QUANTITIES.values():
        there = IN_INCH_POUND.number(quantity, value)
        assert IN_INCH_POUND.si(quantity, there) == pytest.approx(value, rel=1e-13, abs=1e-300)


@pytest.mark.parametrize(("kind", "value"), [(k, v) for k in units.KINDS for v in (0.0, 1.0, 2.0, 7.0, 25.0)])
def test_a_bare_number_comes_back(kind: units.Kind, value: float):
    # Within what reading itself rounds: a picometre, a nanokelvin.
    assert kind.read(kind.bare(value, INCH_POUND), INCH_POUND) == pytest.approx(value, rel=1e-12, abs=1e-9)


def test_every_quantity_can_be_shown():
    for quantity in n.QUANTITIES.values():
        text = IN_INCH_POUND.value(quantity, 1.0)
        assert not re.search(r"(?<![a-z])(mm|m|K|°C|W|Pa|kg)(?![a-z])|[mW]²", text), text
    with pytest.raises(ValueError, match="INCH_POUND_UNITS"):
        IN_INCH_POUND.value(n.Quantity("x", "x", "x", "cd", 1), 1.0)


def test_no_digit_is_lost():
    for quantity in n.QUANTITIES.values():
        shown = IN_INCH_POUND.quantity(quantity)
        last = Fraction(1, 10**quantity.decimals)
        assert abs(IN_INCH_POUND.difference(quantity, float(last))) >= Fraction(999, 1000) * Fraction(
            1, 10**shown.decimals
        )


@given(FINITE, st.floats(0.0, 10.0))
def test_a_bracket_stays_one(lower: float, width: float):
    upper = lower + width
    for quantity in (n.PSI, n.CHI, n.L2D, n.U_VALUE, n.LINEAR_HEAT_FLOW, n.TEMPERATURE):
        text = IN_INCH_POUND.bounded(quantity, lower, upper, unit=False).replace(n.MINUS, "-")
        middle, half = map(Fraction, text.split(" ± "))
        low, high = IN_INCH_POUND.number(quantity, lower), IN_INCH_POUND.number(quantity, upper)
        assert middle - half <= low <= high <= middle + half
        unit_of_last = Fraction(1, 10 ** IN_INCH_POUND.quantity(quantity).decimals)
        assert half <= Fraction(high - low) / 2 + 2 * unit_of_last
        ends = n.format_ends(IN_INCH_POUND.quantity(quantity), low, high)
        printed = [Fraction(end.replace(n.MINUS, "-").split(" ")[0]) for end in ends]
        assert printed[0] <= low <= high <= printed[1]


def test_a_tolerance_has_no_zero_point():
    # Exact: 12.625 °C = 54.725 °F, 0.25 K = 0.45 °F; the tolerance grows by what the middle was rounded, 0.005.
    assert IN_INCH_POUND.estimate(n.TEMPERATURE, 12.625, 0.25) == "≈ 54.72 °F (tolerance 0.46 °F)"
    assert IN_SI.estimate(n.TEMPERATURE, 12.625, 0.25) == "≈ 12.62 °C (tolerance 0.26 K)"


@pytest.mark.parametrize(
    ("metres", "text"),
    [
        (0.2413, "9 1/2 in"),
        (0.22225, "8 3/4 in"),
        (0.0015875, "1/16 in"),
        (0.001588, "1/16 in"),  # on whole micrometres
        (0.381, "15 in"),
        (0.0, "0 in"),
        (-0.01905, "−3/4 in"),
        (0.38, "14.961 in"),
        (0.0002, "0.007874 in"),
    ],
)
def test_lengths_as_a_rule_shows_them(metres: float, text: str):
    assert IN_INCH_POUND.length(metres) == text
    assert units.read_length(text) == pytest.approx(metres, abs=2e-6 if "." not in text else 2e-5)


@pytest.mark.parametrize(
    ("sentence", "shown"),
    [
        ("50 × 203.2 mm timber at 400 mm", "1.969 × 8 in timber at 15.748 in"),
        ("a slit of 2 to 10 mm joins it", "a slit of 0.07874 to 0.3937 in joins it"),
        ("mean temperature 10 °C, difference 10 K", "mean temperature 50 °F, difference 18 °F"),
        ("at (200, -12.5) mm: gap", "at (7.874, -0.492) in: gap"),
        ("Rsi 0.13 and Rse 0.04 m²·K/W (ISO 6946)", "Rsi 0.7382 and Rse 0.2271 h·ft²·°F/Btu (ISO 6946)"),
        ("χ = 0.0044 W/K", "χ = 0.008341 Btu/(h·°F)"),
        ("ISO 10077-2:2012, 6.3; page 10 of 12; 50 % at 3 d", "ISO 10077-2:2012, 6.3; page 10 of 12; 50 % at 3 d"),
        ("the unit 'K' in '300 K' of the joist's 25.4 mm", "the unit 'K' in '300 K' of the joist's 1 in"),
        ('write "240 mm" in millimetres', 'write "240 mm" in inches'),
        ("4.5 mm² overlap", "0.006975 in² overlap"),
    ],
)
def test_sentences(sentence: str, shown: str):
    assert IN_INCH_POUND.sentence(sentence) == shown
    assert IN_SI.sentence(sentence) == sentence


def test_a_quoted_source_keeps_its_own_numbers():
    quoted = IN_INCH_POUND.sentence("dry at 1690 to 1910 kg/m3", both=True)
    assert quoted == "dry at 105.5 to 119.2 lb/ft³ [1690 to 1910 kg/m3]"


def test_only_names_that_the_program_made_are_changed():
    assert IN_INCH_POUND.made_name("air layer, 20 mm") == "air layer, 0.7874 in"
    assert IN_INCH_POUND.made_name("unventilated cavity, 25.4 × 12.7 mm") == "unventilated cavity, 1 × 1/2 in"
    assert IN_INCH_POUND.made_name("the mason's 20 mm board") == "the mason's 20 mm board"


# -- R-values ------------------------------------------------------------------------------------------------------


def test_r_values_make_conductivities():
    # Exact: λ = d/R; R-1 is 1 h·ft²·°F/Btu.
    one = units.IMPERIAL_RESISTANCE
    for typed in ("R-3.8/in", "R-3.8 per inch", "r3.8 / in"):
        assert units.read_conductivity(typed) == pytest.approx(0.0254 / (3.8 * one), rel=1e-14)
    assert units.read_conductivity("R-13 at 3 1/2 in") == pytest.approx(0.0889 / (13 * one), rel=1e-14)
    assert units.read_resistance("R-13", INCH_POUND) == pytest.approx(13 * one, rel=1e-14)


@pytest.mark.parametrize(
    ("read", "typed", "says"),
    [
        (units.read_conductivity, "R-13", "of what thickness"),
        (units.read_conductivity, "R-0/in", "no conductivity"),
        (units.read_conductivity, "R-13 at 0 in", "no conductivity"),
        (units.read_conductivity, "R-13 at last", "begin with a plain number"),
        (units.read_resistance, "R-3.8/in", "of a thickness"),
        (units.read_linear_transmittance, "R-3.8/in", "plain number"),
    ],
)
def test_r_values_that_say_too_little(read: units.Reader, typed: str, says: str):
    with pytest.raises(QuantityError, match=says):
        read(typed)


def test_what_would_be_right_speaks_of_the_files_units():
    for read, unit in (
        (units.read_length, "inches"),
        (units.read_temperature, "°F as a number"),
        (units.read_conductivity, r"Btu/\(h·ft·°F\) as a number"),
        (units.read_resistance, "R-0.7"),
        (units.read_transmittance, r"Btu/\(h·ft²·°F\) as a number"),
        (units.read_point_transmittance, r"Btu/\(h·°F\) as a number"),
    ):
        with pytest.raises(QuantityError, match=unit):
            read([], INCH_POUND)


def test_si_is_what_it_was():
    assert DisplayUnits() == IN_SI
    for quantity in n.QUANTITIES.values():
        assert IN_SI.value(quantity, -1.23456) == n.format_value(quantity, -1.23456)
        assert IN_SI.bounded(quantity, 1.0, 1.5) == n.format_bounded(quantity, 1.0, 1.5)
        assert IN_SI.scale(quantity) == (1.0, 0.0)
