"""What the standards fix as numbers, and what the functions refuse: at the limit itself and just beyond it."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from bridge2d.standards import _limits, iso_6946, iso_10077_1, iso_10077_2, iso_10211, iso_13788

HEATED = [(-5.0, 0.85), (20.0, 0.7)]
"""A cold month and one that is as warm as the room."""


def test_fixed_values() -> None:
    # ISO 10077-2:2012, annexes B and C: 0.20, 30 mm, 0.035, 190 mm, 20 and 0 °C; ISO 13788:2012: 0.25, 0.13, 0.04, 0.8,
    # saturation at 100 %, 95 % on the coldest day; all remembered
    assert (iso_10077_2.CORNER_RESISTANCE, iso_10077_2.CORNER_LENGTH) == (0.20, 0.030)
    assert (iso_10077_2.PANEL_CONDUCTIVITY, iso_10077_1.GLAZING_LENGTH) == (0.035, 0.190)
    assert iso_10077_2.TEMPERATURES == (20.0, 0.0)
    surfaces = iso_13788.OPAQUE_SURFACE_RESISTANCE, iso_13788.GLAZING_SURFACE_RESISTANCE
    assert (*surfaces, iso_13788.EXTERNAL_SURFACE_RESISTANCE) == (0.25, 0.13, 0.04)
    humidities = iso_13788.CRITICAL_HUMIDITY, iso_13788.SATURATED, iso_13788.COLDEST_DAY_HUMIDITY
    assert humidities == (0.8, 1.0, 0.95)


def test_a_factor_and_its_temperature_are_one_thing() -> None:
    # fRsi 0.7 between −5 and 20 °C is 12.5 °C, exact
    assert iso_10211.surface_temperature(0.7, 20.0, -5.0) == pytest.approx(12.5, rel=1e-15)
    assert iso_10211.temperature_factor(12.5, 20.0, -5.0) == pytest.approx(0.7, rel=1e-15)


def test_each_part_of_a_window_counts_with_its_own_u() -> None:
    # (1.2·0.8 + 0.5·2.0 + 4·0.05)/1.7, exact
    found = iso_10077_1.window_transmittance(0.8, 1.2, 2.0, 0.5, 0.05, 4.0)
    assert found == pytest.approx((0.96 + 1.0 + 0.2) / 1.7, rel=1e-15)


def test_a_month_as_warm_as_the_room_asks_for_nothing() -> None:
    assert iso_13788.critical_month(HEATED, 20.0, 2).index == 0
    with pytest.raises(ValueError, match="colder than the room"):
        iso_13788.critical_month(HEATED[1:], 20.0, 2)


def test_pressure_and_temperature_of_saturation_meet_at_freezing() -> None:
    # 610.5 Pa at 0 °C over water and over ice alike (ISO 13788:2012, annex E)
    for near in (-1e-9, 0.0, 1e-9):
        assert iso_13788.saturation_pressure(near) == pytest.approx(610.5, rel=1e-9)
    over_ice = 610.5 * math.exp(21.875 * -0.5 / (265.5 - 0.5))
    assert iso_13788.saturation_pressure(-0.5) == pytest.approx(over_ice, rel=1e-12)
    assert iso_13788.saturation_temperature(over_ice) == pytest.approx(-0.5, abs=1e-9)


def test_the_combined_method_holds_up_to_a_ratio_of_one_and_a_half() -> None:
    # Two layers in halves, out of step: R' = a + b + Rsi + Rse, R'' = 4ab/(a + b) + Rsi + Rse; ISO 6946, 6.7.2
    near = iso_6946.combined_method([0.5, 0.5], [[1.0, 0.4], [0.4, 1.0]], 0.13, 0.04)
    assert (near.upper, near.lower) == pytest.approx((1.57, 1.6 / 1.4 + 0.17), rel=1e-12)
    with pytest.raises(ValueError, match=r"R'/R'' is 2\.379.*holds up to 1\.5"):
        iso_6946.combined_method([0.5, 0.5], [[1.0, 0.1], [0.1, 1.0]], 0.13, 0.04)


def test_up_to_five_kelvin_the_difference_across_a_layer_makes_no_odds() -> None:
    # ISO 6946, table D.1, remembered: 1.25 up to 5 K, then 0.73 ΔT^(1/3)
    found = [iso_6946.convective_coefficient(0.1, "horizontal", kelvin) for kelvin in (0.0, 5.0, 5.5)]
    assert found == pytest.approx([1.25, 1.25, 0.73 * 5.5 ** (1 / 3)], rel=1e-12)


ALLOWED: list[Callable[[], object]] = [
    lambda: _limits.require_not_negative("x", 0.0, "m"),
    lambda: iso_13788.vapour_pressure(20.0, 0.0),
    lambda: iso_13788.vapour_pressure(20.0, 1.0),
    lambda: iso_13788.saturation_pressure(-60.0),
    lambda: iso_13788.internal_vapour_pressure(0.0, 0.8, 3, 2.0),
    lambda: iso_10077_2.convective_coefficient(0.02, 0.02, 0.0),
    lambda: iso_10077_2.convective_coefficient(0.02, 0.02, 1000.0),
    lambda: iso_10077_2.radiative_coefficient(0.02, 0.02, mean_temperature=-100.0),
    lambda: iso_10077_2.radiative_coefficient(0.02, 0.02, mean_temperature=200.0),
    lambda: iso_10077_2.equivalent_rectangle(0.03 * 0.02, 0.03, 0.02),
    lambda: iso_6946.convective_coefficient(0.02, "up", 100.0),
    lambda: iso_6946.black_body_coefficient(-100.0),
    lambda: iso_6946.black_body_coefficient(200.0),
    lambda: iso_6946.intersurface_emittance(1.0, 1.0),
    lambda: iso_6946.parallel_resistance([0.0, 1.0], [1.0, 2.0]),
]
REFUSED: list[tuple[Callable[[], object], str]] = [
    (lambda: _limits.require_not_negative("x", -0.1, "m"), "x is -0.1 m; it has to be 0 m or above"),
    (lambda: _limits.require_positive("x", 0.0, "m"), "x is 0.0 m; it has to be above 0 m"),
    (lambda: _limits.require_between("x", 3.0, 1, 2, ""), "x is 3.0; it has to be from 1 to 2"),
    (lambda: iso_13788.vapour_pressure(20.0, -0.01), "from 0.0 to 1.0"),
    (lambda: iso_13788.vapour_pressure(20.0, 1.01), "from 0.0 to 1.0"),
    (lambda: iso_13788.saturation_pressure(-60.5), "from -60.0 to 80.0 °C"),
    (lambda: iso_13788.lowest_surface_temperature(1000.0, 0.0), "from 0.01 to 1.0"),
    (lambda: iso_13788.internal_vapour_pressure(0.0, 0.8, 3, 2.01), "from 1.0 to 2.0"),
    (lambda: iso_10077_2.convective_coefficient(0.02, 0.02, -0.5), "from 0.0 to 1000.0 K"),
    (lambda: iso_10077_2.convective_coefficient(0.02, 0.02, 1000.5), "from 0.0 to 1000.0 K"),
    (lambda: iso_10077_2.radiative_coefficient(0.02, 0.02, mean_temperature=-100.5), "from -100.0 to 200.0 °C"),
    (lambda: iso_10077_2.radiative_coefficient(0.02, 0.02, mean_temperature=200.5), "from -100.0 to 200.0 °C"),
    (lambda: iso_10077_2.equivalent_rectangle(-1e-6, 0.03, 0.02), "area of the cavity"),
    (lambda: iso_6946.convective_coefficient(0.02, "up", 100.5), "from 0.0 to 100.0 K"),
    (lambda: iso_6946.black_body_coefficient(-100.5), "from -100.0 to 200.0 °C"),
    (lambda: iso_6946.black_body_coefficient(200.5), "from -100.0 to 200.0 °C"),
    (lambda: iso_6946.intersurface_emittance(0.0, 0.9), "above 0"),
    (lambda: iso_6946.parallel_resistance([-0.5, 1.5], [1.0, 2.0]), "from 0.0 to 1.0"),
    (lambda: iso_10077_1.block_conductivity(5.89, 0.07), r"below 5\.88 W/\(m²·K\)"),
]


@pytest.mark.parametrize("number", range(len(ALLOWED)))
def test_the_limit_itself_is_allowed(number: int) -> None:
    ALLOWED[number]()


@pytest.mark.parametrize(("call", "words"), REFUSED, ids=range(len(REFUSED)))
def test_beyond_the_limit_is_refused_with_what_would_be_right(call: Callable[[], object], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        call()
