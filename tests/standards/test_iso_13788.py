"""ISO 13788. Each expected value says whether it is exact, published (with its source) or remembered."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge2d.standards import iso_13788

# an invented year: temperature [°C] and relative humidity outside of each month
YEAR = [
    (-1.0, 0.85),
    (0.0, 0.84),
    (4.0, 0.78),
    (9.0, 0.72),
    (14.0, 0.68),
    (18.0, 0.69),
    (19.0, 0.73),
    (19.0, 0.75),
    (15.0, 0.79),
    (10.0, 0.83),
    (5.0, 0.88),
    (1.0, 0.88),
]


def test_dew_point_of_the_reference_room():
    # exact, evaluated from the formula: 20 °C and 50 %
    assert iso_13788.dew_point(20.0, 0.5) == pytest.approx(9.27, abs=0.005)


def test_lowest_surface_temperature_of_the_reference_room():
    # exact, evaluated from the formula; the figure 12.6 °C goes with DIN 4108-2 (remembered)
    lowest = iso_13788.lowest_surface_temperature(iso_13788.vapour_pressure(20.0, 0.5))
    assert lowest == pytest.approx(12.62, abs=0.005)


def test_factor_of_the_reference_room():
    # exact, evaluated from the formula; DIN 4108-2 rounds it to its requirement of 0.70 (remembered)
    assert iso_13788.lowest_admissible_f_rsi(20.0, 0.5, -5.0) == pytest.approx(0.705, abs=0.0005)


def test_saturation_pressure_at_zero():
    # exact: the formulas' own constant, from both sides
    assert iso_13788.saturation_pressure(0.0) == 610.5
    assert iso_13788.saturation_pressure(-1e-12) == pytest.approx(610.5, rel=1e-12)


@pytest.mark.parametrize(
    ("temperature", "expected"),
    [
        (20.0, 610.5 * math.exp(17.269 * 20 / 257.3)),  # exact: the formula over water
        (-10.0, 610.5 * math.exp(-218.75 / 255.5)),  # exact: the formula over ice
    ],
)
def test_saturation_pressure(temperature, expected):
    assert iso_13788.saturation_pressure(temperature) == pytest.approx(expected, rel=1e-14)


@given(st.floats(-59.9, 79.9))
def test_saturation_temperature_is_the_inverse(temperature):
    pressure = iso_13788.saturation_pressure(temperature)
    assert iso_13788.saturation_temperature(pressure) == pytest.approx(temperature, abs=1e-9)


@given(st.floats(-59.9, 79.0), st.floats(0.01, 0.9))
def test_saturation_pressure_rises(temperature, step):
    assert iso_13788.saturation_pressure(temperature + step) > iso_13788.saturation_pressure(temperature)


@pytest.mark.parametrize(("humidity_class", "excess"), [(1, 270.0), (2, 540.0), (3, 810.0), (4, 1080.0)])
def test_vapour_excess(humidity_class, excess):
    # remembered: annex A, figure A.1
    assert iso_13788.vapour_excess(humidity_class, -5.0) == excess
    assert iso_13788.vapour_excess(humidity_class, 0.0) == excess
    assert iso_13788.vapour_excess(humidity_class, 10.0) == pytest.approx(excess / 2, rel=1e-14)
    assert iso_13788.vapour_excess(humidity_class, 20.0) == 0.0
    assert iso_13788.vapour_excess(humidity_class, 25.0) == 0.0


def test_critical_month_with_the_factor():
    # recomputed (independent calculation of the same year): class 3, factor 1.10
    found = iso_13788.critical_month(YEAR, 20.0, 3)
    assert found.index == 1
    assert found.surface_temperature == pytest.approx(15.45, abs=0.005)
    assert found.f_rsi == pytest.approx(0.773, abs=0.0005)


def test_critical_month_without_the_factor():
    # recomputed, as above
    found = iso_13788.critical_month(YEAR, 20.0, 3, safety=1.0)
    assert found.index == 11
    assert found.f_rsi == pytest.approx(0.727, abs=0.0005)


def test_a_month_as_warm_as_the_room_asks_for_nothing():
    assert iso_13788.critical_month([(25.0, 0.9), (0.0, 0.8)], 20.0, 2).index == 1


POZNAN = [  # month: θe [°C], p_e [Pa], lowest admissible factor at 20 °C and 50 %, as published
    (0.2, 534, 0.628),
    (-1.8, 456, 0.661),
    (2.7, 585, 0.573),
    (8.3, 748, 0.372),
    (13.0, 927, -0.048),
    (16.8, 1336, -1.327),
    (18.2, 1501, -3.215),
    (18.4, 1530, -3.553),
    (13.5, 1254, -0.138),
    (7.0, 882, 0.432),
    (2.2, 648, 0.586),
    (-0.1, 561, 0.634),
]


@pytest.mark.parametrize(("external", "pressure", "expected"), POZNAN)
def test_a_published_year_at_a_constant_humidity(external, pressure, expected):
    # published: calculation by PN-EN ISO 13788:2013, chapter 5, for Poznań (typical year of 1971 to 2000), read in a
    # public repository of a sample house; θe is printed to 0.1 K there, which moves f by less than this tolerance
    room = iso_13788.vapour_pressure(20.0, 0.5)
    found = iso_13788.lowest_admissible_factor(room, 20.0, external, 0.8)
    assert room == pytest.approx(1168, abs=1.0)
    assert found == pytest.approx(expected, abs=0.0015 + 0.05 * abs(1 - found) / (19.95 - external))
    assert iso_13788.lowest_surface_temperature(room) == pytest.approx(12.6, abs=0.05)
    assert pressure < iso_13788.saturation_pressure(external)


def test_a_published_year_in_class_3():
    # published, as above: class 3 with the factor 1.10, critical month December, f = 0.800
    factors = []
    for external, pressure, _ in POZNAN:
        room = pressure + 1.1 * iso_13788.vapour_excess(3, external)
        factors.append(iso_13788.lowest_admissible_factor(room, 20.0, external, 0.8))
    assert max(range(12), key=lambda k: factors[k]) == 11
    assert factors[11] == pytest.approx(0.800, abs=0.002)


def test_lowest_admissible_factor_is_that_of_the_humidity():
    # exact: the same formula from the room's vapour pressure
    room = iso_13788.vapour_pressure(20.0, 0.5)
    assert iso_13788.lowest_admissible_factor(room, 20.0, -5.0, 0.8) == iso_13788.lowest_admissible_f_rsi(
        20.0, 0.5, -5.0
    )
    # exact: for condensation the surface may fall to the dew point
    assert iso_13788.lowest_admissible_factor(room, 20.0, -5.0, 1.0) == pytest.approx(
        (iso_13788.dew_point(20.0, 0.5) + 5.0) / 25.0, rel=1e-12
    )


@given(st.floats(-40.0, 40.0), st.floats(0.05, 1.0))
def test_relative_humidity_is_the_inverse_of_the_pressure(temperature, humidity):
    pressure = iso_13788.vapour_pressure(temperature, humidity)
    assert iso_13788.relative_humidity(pressure, temperature) == pytest.approx(humidity, rel=1e-12)


@pytest.mark.parametrize(
    ("external", "temperature", "normal", "high"),
    [
        (-20.0, 20.0, 0.3, 0.4),
        (-10.0, 20.0, 0.3, 0.4),
        (5.0, 20.0, 0.45, 0.55),
        (15.0, 22.5, 0.55, 0.65),
        (25.0, 25.0, 0.6, 0.7),
    ],
)
def test_rooms_of_a_continental_climate(external, temperature, normal, high):
    # remembered: EN 15026, annex C; exact between its points
    assert iso_13788.continental_temperature(external) == pytest.approx(temperature)
    assert iso_13788.continental_humidity(external, "normal") == pytest.approx(normal)
    assert iso_13788.continental_humidity(external, "high") == pytest.approx(high)


@pytest.mark.parametrize("number", [1, 2, 3, 4])
def test_the_excess_of_a_class_falls_like_any_other(number):
    limit = iso_13788.VAPOUR_EXCESS[number]
    for external in (-5.0, 0.0, 7.0, 20.0, 30.0):
        assert iso_13788.vapour_excess(number, external) == iso_13788.falling_excess(limit, external)


def test_surface_resistances_for_the_factor():
    # remembered: 4.4.1, table 2
    assert iso_13788.factor_surface_resistance(glazing=False) == 0.25
    assert iso_13788.factor_surface_resistance(glazing=True) == 0.13


@pytest.mark.parametrize(
    ("call", "value"),
    [
        (lambda: iso_13788.saturation_pressure(81.0), "81.0"),
        (lambda: iso_13788.saturation_pressure(math.nan), "nan"),
        (lambda: iso_13788.saturation_temperature(-3.0), "-3.0"),
        (lambda: iso_13788.vapour_pressure(20.0, 50.0), "50.0"),
        (lambda: iso_13788.dew_point(20.0, 0.0), "0.0"),
        (lambda: iso_13788.lowest_surface_temperature(1000.0, 1.2), "1.2"),
        (lambda: iso_13788.lowest_admissible_f_rsi(20.0, 0.5, 20.0), "20.0"),
        (lambda: iso_13788.vapour_excess(7, 0.0), "7"),
        (lambda: iso_13788.vapour_excess(3, -99.0), "-99.0"),
        (lambda: iso_13788.internal_vapour_pressure(0.0, 0.8, 3, safety=0.5), "0.5"),
        (lambda: iso_13788.continental_humidity(0.0, "low"), "low"),
        (lambda: iso_13788.continental_temperature(99.0), "99.0"),
        (lambda: iso_13788.falling_excess(-1.0, 0.0), "-1.0"),
        (lambda: iso_13788.lowest_admissible_factor(1000.0, 20.0, 20.0, 0.8), "20.0"),
        (lambda: iso_13788.relative_humidity(1000.0, 90.0), "90.0"),
        (lambda: iso_13788.critical_month([(22.0, 0.5)], 20.0, 3), "20.0"),
    ],
)
def test_out_of_range_raises_with_the_value(call, value):
    with pytest.raises(ValueError, match=value):
        call()
