"""ISO 10211. Each expected value says whether it is exact, published (with its source) or remembered."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge2d.standards import iso_6946, iso_10211

# Case 3: published in the validation folder of the finite-element library Feel++ (toolboxes/heat/cases/Building/
# ThermalBridgesENISO10211), recomputed; coupling coefficients remembered, recomputed.
CASE_3_TEMPERATURES = {"α": 20.0, "β": 15.0, "outside": 0.0}
CASE_3_FLOWS = {"α": 46.09, "β": 13.89, "outside": -59.98}
CASE_3_COUPLINGS = {frozenset(("α", "outside")): 1.781, frozenset(("β", "outside")): 1.624, frozenset("αβ"): 2.094}


@pytest.mark.parametrize("name", CASE_3_TEMPERATURES)
def test_heat_flows_of_case_3(name):
    couplings = [
        (CASE_3_COUPLINGS[frozenset((name, other))], temperature)
        for other, temperature in CASE_3_TEMPERATURES.items()
        if other != name
    ]
    # the coefficients are rounded to 0.001 and act over 20 K at most
    assert iso_10211.heat_flow(CASE_3_TEMPERATURES[name], couplings) == pytest.approx(CASE_3_FLOWS[name], abs=0.02)


def test_balance_of_case_3():
    # published flows, rounded to 0.01 W: they balance exactly
    balance = iso_10211.heat_balance(list(CASE_3_FLOWS.values()))
    assert balance == pytest.approx(0.0, abs=1e-12)
    assert balance < iso_10211.LARGEST_BALANCE


def test_coupling_coefficient_of_case_2():
    # published (Feel++, as above): 9.5 W/m between 20 and 0 °C; recomputed with two-sided bounds 9.4914 to 9.4915
    published = iso_10211.coupling_coefficient(9.5, 20.0, 0.0)
    assert published == pytest.approx(0.475, rel=1e-14)
    assert iso_10211.coupling_coefficient(9.49145, 20.0, 0.0) == pytest.approx(published, abs=0.1 / 20)


def test_balance_of_the_wall_between_two_outdoor_temperatures():
    # exact series, printed to 1e-6: 9.584322 W/m to 0 °C, 4.675486 from 10 °C, 4.908836 from inside
    assert iso_10211.heat_balance([-9.584322, 4.675486, 4.908836]) < 1e-6


def test_balance_by_hand():
    # exact: |10 − 9| / (½ · 19)
    assert iso_10211.heat_balance([10.0, -9.0]) == pytest.approx(1 / 9.5, rel=1e-15)


def test_doubling_by_hand():
    # exact: |20.2 − 20| / 20
    difference = iso_10211.doubling_difference([10.1, -10.1], [10.0, -10.0])
    assert difference == pytest.approx(0.01, rel=1e-12)


def test_limits():
    # published: the balance; remembered: the doubling criterion
    assert iso_10211.LARGEST_BALANCE == 1e-4
    assert iso_10211.LARGEST_DOUBLING_DIFFERENCE == 0.01


@pytest.mark.parametrize(("thickness", "expected"), [(0.1, 1.0), (1 / 3, 1.0), (0.4, 1.2), (0.58, 1.74)])
def test_cut_off_distance(thickness, expected):
    # exact: max(1 m, 3 d)
    assert iso_10211.cut_off_distance(thickness) == pytest.approx(expected, rel=1e-14)


# exact: two equal walls with prescribed temperatures meet in a corner, S = (a + b)/t + 1 − (2 ln 2)/π = … + 0.55873,
# a and b measured inside
CORNER = 1.0 - 2.0 * math.log(2.0) / math.pi


@given(st.floats(0.05, 1.0), st.floats(0.02, 3.0), st.floats(1.0, 5.0))
def test_psi_of_a_corner_measured_inside(thickness, conductivity, length):
    u_value = iso_6946.thermal_transmittance(iso_6946.layer_resistance(thickness, conductivity))
    l2d = conductivity * (2 * length / thickness + CORNER)
    psi = iso_10211.linear_thermal_transmittance(l2d, [(u_value, length), (u_value, length)])
    assert psi / conductivity == pytest.approx(0.55873, abs=1e-5)


@given(st.floats(0.05, 1.0), st.floats(0.02, 3.0), st.floats(1.0, 5.0))
def test_psi_of_a_corner_measured_outside(thickness, conductivity, length):
    u_value = iso_6946.thermal_transmittance(iso_6946.layer_resistance(thickness, conductivity))
    l2d = conductivity * (2 * length / thickness + CORNER)
    outside = length + thickness
    psi = iso_10211.linear_thermal_transmittance(l2d, [(u_value, outside), (u_value, outside)])
    assert psi / conductivity == pytest.approx(0.55873 - 2.0, abs=1e-5)


def test_plane_wall_has_no_psi():
    assert iso_10211.linear_thermal_transmittance(0.48, [(0.24, 2.0)]) == 0.0


@pytest.mark.parametrize(
    ("l2d", "panel", "width", "u_frame", "tolerance"),
    [
        # remembered, recomputed: ISO 10077-2 (2012), D.4, L2D 0.346 ± 0.001 and U_f 1.36 ± 0.01
        (0.346, 1.0 / (0.13 + 0.04 + 0.028 / 0.035), 0.110, 1.36, 0.01),
        # remembered, recomputed: the same, D.7, L2D 0.285 ± 0.002 and U_f 1.31 ± 0.03
        (0.285, 1.0 / (0.17 + 0.024 / 0.035), 0.048, 1.31, 0.03),
    ],
)
def test_what_the_panel_leaves_of_a_frame(l2d, panel, width, u_frame, tolerance):
    rest = iso_10211.linear_thermal_transmittance(l2d, [(panel, 0.190)])
    assert rest / width == pytest.approx(u_frame, abs=tolerance)


def test_point_thermal_transmittance_by_hand():
    # exact: 3 − 0.5 · 4 − 0.1 · 2
    assert iso_10211.point_thermal_transmittance(3.0, [(0.5, 4.0)], [(0.1, 2.0)]) == pytest.approx(0.8, rel=1e-14)


@pytest.mark.parametrize(("surface", "room"), [(11.32, 20.0), (11.11, 15.0)])
def test_factor_and_surface_temperature_are_inverse(surface, room):
    # published (Feel++, as above): coldest surfaces of case 3
    factor = iso_10211.temperature_factor(surface, room, 0.0)
    assert factor == pytest.approx(surface / room, rel=1e-14)
    assert iso_10211.surface_temperature(factor, room, 0.0) == pytest.approx(surface, rel=1e-14)


def test_factor_of_the_warmest_outer_surface_of_case_4():
    # published (Feel++, as above): 0.805 °C between 1 and 0 °C
    assert iso_10211.temperature_factor(0.805, 1.0, 0.0) == pytest.approx(0.805, rel=1e-14)


@pytest.mark.parametrize(
    ("call", "value"),
    [
        (lambda: iso_10211.cut_off_distance(0.0), "0.0"),
        (lambda: iso_10211.cut_off_distance(math.inf), "inf"),
        (lambda: iso_10211.coupling_coefficient(10.0, 7.5, 7.5), "7.5"),
        (lambda: iso_10211.coupling_coefficient(math.nan, 20.0, 0.0), "nan"),
        (lambda: iso_10211.linear_thermal_transmittance(math.inf, []), "inf"),
        (lambda: iso_10211.point_thermal_transmittance(math.nan, [], []), "nan"),
        (lambda: iso_10211.temperature_factor(12.0, 5.25, 5.25), "5.25"),
        (lambda: iso_10211.temperature_factor(math.nan, 20.0, 0.0), "nan"),
        (lambda: iso_10211.heat_balance([0.0, 0.0]), "0.0, 0.0"),
        (lambda: iso_10211.heat_balance([1.0, math.nan]), "nan"),
        (lambda: iso_10211.doubling_difference([1.0], [0.0]), "0.0"),
    ],
)
def test_out_of_range_raises_with_the_value(call, value):
    with pytest.raises(ValueError, match=value):
        call()
