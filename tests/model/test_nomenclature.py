"""Nomenclature: what is printed contains what is true."""

import math
import re
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge2d import nomenclature
from bridge2d.nomenclature import QUANTITIES, format_bounded, format_estimate, format_value

FINITE = st.floats(-1e6, 1e6)
ANY_QUANTITY = st.sampled_from(list(QUANTITIES.values()))


def read(number):
    return Fraction(number.replace("\N{MINUS SIGN}", "-"))


@given(ANY_QUANTITY, FINITE, FINITE)
def test_printed_bracket_contains_both_bounds(quantity, first, second):
    lower, upper = min(first, second), max(first, second)
    middle, half = map(read, format_bounded(quantity, lower, upper, unit=False).split(" ± "))
    assert middle - half <= Fraction(lower)
    assert Fraction(upper) <= middle + half


@given(ANY_QUANTITY, FINITE, st.floats(0.0, 1e-9))
def test_printed_bracket_contains_a_very_narrow_one(quantity, lower, width):
    upper = lower + width
    middle, half = map(read, format_bounded(quantity, lower, upper, unit=False).split(" ± "))
    assert middle - half <= Fraction(lower)
    assert Fraction(upper) <= middle + half


@given(ANY_QUANTITY, FINITE, FINITE)
def test_printed_bracket_is_no_wider_than_rounding_asks(quantity, first, second):
    lower, upper = min(first, second), max(first, second)
    _, half = map(read, format_bounded(quantity, lower, upper, unit=False).split(" ± "))
    last = Fraction(1, 10**quantity.decimals)
    # half a last digit from the middle, less than one from the half width
    assert half < (Fraction(upper) - Fraction(lower)) / 2 + last * Fraction(3, 2)


@given(ANY_QUANTITY, FINITE, st.floats(0.0, 1e3))
def test_printed_estimate_contains_its_tolerance(quantity, value, tolerance):
    printed = format_estimate(quantity, value, tolerance, unit=False)
    found = re.fullmatch(r"≈ (\S+) \(tolerance (\S+)\)", printed)
    assert found is not None
    middle, half = read(found[1]), read(found[2])
    assert middle - half <= Fraction(value) - Fraction(tolerance)
    assert Fraction(value) + Fraction(tolerance) <= middle + half
    assert "±" not in printed  # a bracket's sign


@given(ANY_QUANTITY, FINITE)
def test_printed_value_is_the_nearest(quantity, value):
    printed = format_value(quantity, value, unit=False)
    assert abs(read(printed) - Fraction(value)) <= Fraction(1, 2 * 10**quantity.decimals)


@given(ANY_QUANTITY, st.floats(-2.0, 2.0))
def test_zero_has_no_sign(quantity, value):
    printed = format_value(quantity, value, unit=False)
    assert printed.startswith(nomenclature.MINUS) == (read(printed) < 0)
    assert "-" not in printed


@pytest.mark.parametrize(
    ("printed", "expected"),
    [
        # exact: rounding by hand
        (format_bounded(nomenclature.PSI, 0.12312, 0.12365), "0.1234 ± 0.0003 W/(m·K)"),
        (format_bounded(nomenclature.PSI, 0.12340, 0.12341, unit=False), "0.1234 ± 0.0001"),
        (format_bounded(nomenclature.CHI, -0.0051, -0.0049), "−0.00500 ± 0.00011 W/K"),
        (format_bounded(nomenclature.L2D, 0.25, 0.25), "0.2500 ± 0.0000 W/(m·K)"),
        (format_value(nomenclature.F_RSI, 0.7049), "0.705"),
        (format_value(nomenclature.F_RSI, -0.0004), "0.000"),
        (format_value(nomenclature.PSI, -0.0), "0.0000 W/(m·K)"),
        (format_value(nomenclature.EXTERNAL_TEMPERATURE, -5), "−5.0 °C"),
        (format_value(nomenclature.DENSITY, 1800.0), "1800 kg/m³"),
        (format_value(nomenclature.CONDUCTIVITY, 0.04, unit=False), "0.040"),
        (format_estimate(nomenclature.SURFACE_TEMPERATURE, 12.62, 0.0), "≈ 12.62 °C (tolerance 0.01 K)"),
        (format_estimate(nomenclature.F_RSI, 0.75, 0.0015), "≈ 0.750 (tolerance 0.002)"),
    ],
)
def test_printed_form(printed, expected):
    assert printed == expected


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_what_is_not_finite_is_not_shown(value):
    with pytest.raises(ValueError, match=str(value)):
        format_value(nomenclature.PSI, value)
    with pytest.raises(ValueError, match=str(value)):
        format_bounded(nomenclature.PSI, value, value)
    with pytest.raises(ValueError, match=str(value)):
        format_estimate(nomenclature.F_RSI, 0.7, value)


def test_bounds_in_the_wrong_order_are_refused():
    with pytest.raises(ValueError, match=r"0\.2 .* 0\.1"):
        format_bounded(nomenclature.PSI, 0.2, 0.1)


def test_a_negative_tolerance_is_refused():
    with pytest.raises(ValueError, match=r"-0\.1"):
        format_estimate(nomenclature.F_RSI, 0.7, -0.1)


def test_every_quantity_stands_in_the_table():
    declared = {value for value in vars(nomenclature).values() if isinstance(value, nomenclature.Quantity)}
    assert declared == set(QUANTITIES.values())
    assert len(QUANTITIES) == len(declared)  # no key twice


def test_symbols_and_spoken_names_are_unique():
    # χ of a screw is χ with one decimal more.
    others = [quantity for quantity in QUANTITIES.values() if quantity is not nomenclature.CHI_OF_REVOLUTION]
    symbols = [quantity.symbol for quantity in others]
    spoken = [quantity.spoken for quantity in others]
    assert len(set(symbols)) == len(symbols)
    assert len(set(spoken)) == len(spoken)


def test_plain_symbol_drops_the_mark_of_the_subscript():
    assert nomenclature.F_RSI.plain_symbol == "fRsi"
    assert nomenclature.L2D.plain_symbol == "L2D"
