"""Conversions: pint is the oracle for well-formed text; what people really type is tried against whole values."""

import math
import warnings

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge2d import units
from bridge2d.errors import QuantityError

# What a person types, and how pint has to be asked for the same; the factors are pint's, not ours.
LENGTHS = [
    ("240 mm", "240 mm"),
    ("24 cm", "24 cm"),
    ("0.24 m", "0.24 m"),
    ("0,24 m", "0.24 m"),
    ("0,125 m", "0.125 m"),
    ("240mm", "240 mm"),
    ("9 1/2 in", "9.5 in"),
    ('9 1/2"', "9.5 in"),
    ('9-1/2"', "9.5 in"),
    ("9 1/2 inches", "9.5 in"),
    ("3/4 in", "0.75 in"),
    ("3 1/2 in", "3.5 in"),
    (".5 in", "0.5 in"),
    ("1 ft", "1 ft"),
    ("12 1/2 ft", "12.5 ft"),
    ("1 ft 3 1/2 in", "15.5 in"),
    ("1' 3 1/2\"", "15.5 in"),
    ("1′ 3½″".replace("½", " 1/2"), "15.5 in"),
    ("-9 1/2 in", "-9.5 in"),
    ("−5 mm", "-5 mm"),
    ("1.5e2 mm", "150 mm"),
]
CONDUCTIVITIES = [
    ("0.039 W/(m K)", "0.039 W/m/K"),
    ("0,29 W/(m·K)", "0.29 W/m/K"),
    ("0.29 W/mK", "0.29 W/m/K"),
    ("0.29 W/(m*K)", "0.29 W/m/K"),
    ("0.29 W m⁻¹ K⁻¹", "0.29 W/m/K"),
    ("39 mW/(m K)", "0.039 W/m/K"),
    ("0.27 BTU in/(h ft2 °F)", "0.27 Btu_it*in/(hour*ft**2*delta_degF)"),
    ("0.27 Btu·in/(hr·ft²·°F)", "0.27 Btu_it*in/(hour*ft**2*delta_degF)"),
    ("0.02 Btu/(h·ft·°F)", "0.02 Btu_it/(hour*ft*delta_degF)"),
]
RESISTANCES = [
    ("0.13 m2 K/W", "0.13 m**2*K/W"),
    ("0,13 m²·K/W", "0.13 m**2*K/W"),
    ("R-0.7", "0.7 hour*ft**2*delta_degF/Btu_it"),
    ("R-20", "20 hour*ft**2*delta_degF/Btu_it"),
    ("R20", "20 hour*ft**2*delta_degF/Btu_it"),
    ("0.7 h ft2 °F/Btu", "0.7 hour*ft**2*delta_degF/Btu_it"),
    ("0.7 ft²·h·°F/BTU", "0.7 hour*ft**2*delta_degF/Btu_it"),
]
TRANSMITTANCES = [
    ("1.1 W/(m2 K)", "1.1 W/m**2/K"),
    ("1,1 W/(m²·K)", "1.1 W/m**2/K"),
    ("0.2 Btu/(h ft2 °F)", "0.2 Btu_it/(hour*ft**2*delta_degF)"),
]
POINTS = [("0.01 W/K", "0.01 W/K"), ("10 mW/K", "0.01 W/K"), ("1 Btu/(h °F)", "1 Btu_it/(hour*delta_degF)")]


@pytest.fixture(scope="module")
def oracle():
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        pint = pytest.importorskip("pint")
        registry = pint.UnitRegistry()
        registry.define("Btu_it = 1055.05585262 * joule")  # NIST SP 811, appendix B.8
    return registry


@pytest.mark.parametrize(("typed", "asked"), LENGTHS)
def test_length_agrees_with_oracle(oracle, typed, asked):
    assert units.read_length(typed) == pytest.approx(oracle.Quantity(asked).to("m").magnitude, rel=1e-14)


@pytest.mark.parametrize(("typed", "asked"), CONDUCTIVITIES)
def test_conductivity_agrees_with_oracle(oracle, typed, asked):
    expected = oracle.Quantity(asked).to("W/m/K").magnitude
    assert units.read_conductivity(typed) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(("typed", "asked"), RESISTANCES)
def test_resistance_agrees_with_oracle(oracle, typed, asked):
    expected = oracle.Quantity(asked).to("m**2*K/W").magnitude
    assert units.read_resistance(typed) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(("typed", "asked"), TRANSMITTANCES)
def test_transmittance(oracle, typed, asked):
    expected = oracle.Quantity(asked).to("W/m**2/K").magnitude
    assert units.read_transmittance(typed) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(("typed", "asked"), POINTS)
def test_point_transmittance_agrees_with_oracle(oracle, typed, asked):
    assert units.read_point_transmittance(typed) == pytest.approx(oracle.Quantity(asked).to("W/K").magnitude, rel=1e-12)


@pytest.mark.parametrize(
    ("typed", "value", "unit"),
    [("68 °F", 68, "degF"), ("20 °C", 20, "degC"), ("293 K", 293, "K"), ("-4 F", -4, "degF")],
)
def test_temperature_agrees_with_oracle(oracle, typed, value, unit):
    expected = oracle.Quantity(value, unit).to("degC").magnitude
    assert units.read_temperature(typed) == pytest.approx(expected, abs=1e-9)


def test_plain_numbers_have_the_unit_of_the_door():
    # exact, by definition of the doors
    assert units.read_length(240) == 0.24
    assert units.read_length(47.5) == 0.0475
    assert units.read_conductivity(0.039) == 0.039
    assert units.read_resistance(0) == 0.0
    assert units.read_temperature(-5) == -5.0
    assert units.read_angle("90 deg") == 90.0
    assert units.read_count(3) == 3.0


def test_spellings_of_one_value_are_one_number():
    # exact: a hash over the input must not depend on the spelling
    assert len({units.read_length(t) for t in (240, "240 mm", "24 cm", "0.24 m", "0,24 m")}) == 1
    assert units.read_length("9 1/2 in") == units.read_length(241.3) == 0.2413
    assert units.read_temperature("68 °F") == 20.0


TRAPS = [
    "240",
    "mm",
    "",
    "   ",
    "240 Mm",
    "240 parsec",
    "9**9**9 mm",
    "__import__('os') mm",
    "1_000 mm",
    "0x10 mm",
    "1e999 m",
    "nan mm",
    "inf m",
    "1,250 m",  # 1.25 m or 1250 m?
    "1.250,5 mm",
    "1 m 20 cm",
    "1/2 m",
    "9 1/0 in",
    "5 9/2 in",
    "1 1/2 1/2 in",
    "1 ft 13 in",
    "1 ft -3 in in",
    "١٢ mm",  # digits of another script
    "１２ mm",
    "240 mm; rm -rf",
    "R-20",
    "20 °C",
    "240 mm" + " " * 60,
    "9" * 200 + " mm",
]


@pytest.mark.parametrize("typed", TRAPS)
def test_a_text_that_is_no_length_is_refused_and_told_what_is_right(typed):
    with pytest.raises(QuantityError) as refused:
        units.read_length(typed)
    assert refused.value.message
    assert refused.value.right


@pytest.mark.parametrize("typed", [float("nan"), float("inf"), -float("inf"), 10**400, True, None, [1], {}, b"1"])
def test_what_is_no_number_is_refused(typed):
    for kind in (units.LENGTH, units.CONDUCTIVITY, units.RESISTANCE, units.TEMPERATURE, units.RATIO, units.COUNT):
        with pytest.raises(QuantityError):
            kind.read(typed)


@pytest.mark.parametrize("typed", ["0.3 W/(m2 K)", "0.29", "39 MW/(m K)", "0.3 m2 K/W", "240 mm", "0.29 W"])
def test_another_quantity_is_no_conductivity(typed):
    with pytest.raises(QuantityError):
        units.read_conductivity(typed)


@pytest.mark.parametrize(("typed", "wrong"), [("20 cc", "cc"), ("20 W", "W"), ("20 °c", "°c")])
def test_an_unknown_unit_is_named(typed, wrong):
    with pytest.raises(QuantityError, match=wrong):
        units.read_temperature(typed)


@pytest.mark.parametrize("typed", [2.5, "2", "two", -0.5])
def test_a_count_is_whole(typed):
    with pytest.raises(QuantityError, match="whole number"):
        units.read_count(typed)


@given(st.text(max_size=80))
def test_no_text_does_anything_but_read_or_refuse(typed):
    for read in (units.read_length, units.read_conductivity, units.read_resistance, units.read_temperature):
        try:
            value = read(typed)
        except QuantityError:
            continue
        assert math.isfinite(value)


@given(st.integers(-100_000_000, 100_000_000))
def test_formatted_lengths_come_back(micrometres):
    metres = micrometres / 1e6
    assert units.read_length(units.format_length_mm(metres)) == pytest.approx(metres, abs=1e-12)


@pytest.mark.parametrize(
    ("metres", "text"),
    [(0.24, "240 mm"), (0.2413, "241.3 mm"), (0.0, "0 mm"), (-0.000001, "-0.001 mm"), (12, "12000 mm")],
)
def test_format_length(metres, text):
    assert units.format_length_mm(metres) == text


def test_kinds_show_values_with_their_unit():
    assert units.LENGTH.show(0.33) == "330 mm"
    assert units.CONDUCTIVITY.show(0.04) == "0.04 W/(m·K)"
    assert units.RATIO.show(0.5) == "0.5"
