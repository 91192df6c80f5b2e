"""ISO 6946. Each expected value says whether it is exact, published (with its source) or remembered."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge2d.standards import iso_6946

RESISTANCES = st.floats(0.01, 20.0)
DIRECTIONS = ("horizontal", "up", "down")


@pytest.mark.parametrize(("direction", "expected"), [("horizontal", 0.13), ("up", 0.10), ("down", 0.17)])
def test_internal_surface_resistance(direction, expected):
    # published: Spanish ministry document DA DB-HE/1
    assert iso_6946.internal_surface_resistance(direction) == expected


def test_external_surface_resistance():
    # published: Spanish ministry document DA DB-HE/1
    assert iso_6946.external_surface_resistance() == 0.04


@pytest.mark.parametrize(
    ("angle", "expected"),
    [(0.0, "horizontal"), (30.0, "horizontal"), (-30.0, "horizontal"), (31.0, "up"), (90.0, "up"), (-45.0, "down")],
)
def test_direction_of_a_sloping_flow(angle, expected):
    # remembered: ISO 6946, horizontal within 30° of the horizontal plane
    assert iso_6946.direction_of_heat_flow(angle) == expected


# remembered: table 8 of the standard (edition 2007: table 2), printed to 0.01; up, horizontal, down
AIR_LAYERS = {
    5: (0.11, 0.11, 0.11),
    7: (0.13, 0.13, 0.13),
    10: (0.15, 0.15, 0.15),
    15: (0.16, 0.17, 0.17),
    25: (0.16, 0.18, 0.19),
    50: (0.16, 0.18, 0.21),
    100: (0.16, 0.18, 0.22),
    300: (0.16, 0.18, 0.23),
}


@pytest.mark.parametrize("millimetres", AIR_LAYERS)
def test_table_of_unventilated_air_layers(millimetres):
    computed = tuple(
        round(iso_6946.air_layer_resistance(millimetres / 1000, direction), 2)
        for direction in ("up", "horizontal", "down")
    )
    assert computed == AIR_LAYERS[millimetres]


@pytest.mark.parametrize("direction", DIRECTIONS)
def test_convection_is_continuous_at_five_kelvin(direction):
    # exact up to the standard's own rounding of its coefficients (3 digits, so 2 %)
    below = iso_6946.convective_coefficient(0.3, direction, 5.0)
    above = iso_6946.convective_coefficient(0.3, direction, math.nextafter(5.0, 6.0))
    assert above == pytest.approx(below, rel=0.02)


@pytest.mark.parametrize(
    ("direction", "difference", "expected"),
    [
        # exact, the annex formulas at d = 300 mm (their coefficients remembered)
        ("horizontal", 5.0, 1.25),
        ("up", 5.0, 1.95),
        ("down", 5.0, 0.203821),  # 0.12 · 0.3^−0.44
        ("horizontal", 8.0, 1.46),  # 0.73 · ∛8
        ("up", 8.0, 2.28),  # 1.14 · ∛8
        ("down", 8.0, 0.225521),  # 0.09 · 8^0.187 · 0.3^−0.44
    ],
)
def test_convection_in_a_thick_layer(direction, difference, expected):
    assert iso_6946.convective_coefficient(0.3, direction, difference) == pytest.approx(expected, abs=1e-5)


def test_still_air_governs_a_thin_layer():
    # exact: 0.025/0.001
    assert iso_6946.convective_coefficient(0.001, "up", 20.0) == pytest.approx(25.0, rel=1e-12)


def test_black_body_coefficient():
    # exact: 4 · 5.67e-8 · 283.15³ = 5.1486426…, in decimal arithmetic
    assert iso_6946.black_body_coefficient(10.0) == pytest.approx(5.1486426, abs=1e-7)


def test_intersurface_emittance():
    # exact: 1/(2/0.9 − 1) = 9/11
    assert iso_6946.intersurface_emittance(0.9, 0.9) == pytest.approx(9 / 11, rel=1e-14)
    assert iso_6946.intersurface_emittance(1.0, 0.05) == pytest.approx(0.05, rel=1e-14)


def test_shape_factor_of_a_square_void():
    # exact: √2/2 at d = b
    assert iso_6946.void_shape_factor(0.02, 0.02) == pytest.approx(math.sqrt(2) / 2, rel=1e-14)


def test_shape_factor_limits():
    # exact: 1 for an endless layer, ½ for a deep shaft
    assert iso_6946.void_shape_factor(1e-9, 1.0) == pytest.approx(1.0, abs=1e-8)
    assert iso_6946.void_shape_factor(1e9, 1.0) == pytest.approx(0.5, abs=1e-8)


def test_narrow_void_by_hand():
    # exact, the annex formula: d = b = 20 mm, horizontal: h_a = 1.25, h_r = (9/11) · 5.1486426 · √2/2
    expected = 1 / (1.25 + 9 / 11 * 5.1486426 * math.sqrt(0.5))
    assert iso_6946.air_layer_resistance(0.02, "horizontal", width=0.02) == pytest.approx(expected, rel=1e-6)


def test_a_void_ten_times_as_wide_as_thick_is_a_layer():
    assert iso_6946.air_layer_resistance(0.02, "up", width=0.2) == iso_6946.air_layer_resistance(0.02, "up")
    assert iso_6946.air_layer_resistance(0.02, "up", width=0.199) > iso_6946.air_layer_resistance(0.02, "up")


def test_equivalent_conductivity_gives_the_resistance_back():
    resistance = iso_6946.air_layer_resistance(0.05, "horizontal")
    conductivity = iso_6946.equivalent_conductivity(0.05, resistance)
    assert iso_6946.layer_resistance(0.05, conductivity) == pytest.approx(resistance, rel=1e-14)


# published: Scottish Government, worked examples of U-value calculations, 2020: timber-framed wall with a brick leaf;
# layers from outside in: brick, cavity, sheathing, mineral wool beside timber, plasterboard
SCOTTISH_LAYERS = [(0.132, 0.132), (0.180, 0.180), (0.069, 0.069), (3.500, 1.167), (0.060, 0.060)]


def test_combined_method_of_the_scottish_example():
    combined = iso_6946.combined_method((0.85, 0.15), SCOTTISH_LAYERS, r_si=0.130, r_se=0.040)
    assert round(combined.upper, 3) == 3.435
    assert round(combined.lower, 3) == 3.304
    assert round(iso_6946.thermal_transmittance(combined.total), 3) == 0.297


def test_combined_method_encloses_the_section():
    # recomputed in two dimensions: the exact U lies between 0.2911 and 0.3027, which are 1/R' and 1/R''
    combined = iso_6946.combined_method((0.85, 0.15), SCOTTISH_LAYERS, r_si=0.130, r_se=0.040)
    assert iso_6946.thermal_transmittance(combined.upper) == pytest.approx(0.2911, abs=5e-5)
    assert iso_6946.thermal_transmittance(combined.lower) == pytest.approx(0.3027, abs=5e-5)


def test_largest_error_of_the_scottish_example():
    # exact from the published limits: (3.435 − 3.304)/(3.435 + 3.304) = 0.0194
    combined = iso_6946.combined_method((0.85, 0.15), SCOTTISH_LAYERS, r_si=0.130, r_se=0.040)
    assert combined.largest_relative_error == pytest.approx(0.0194, abs=2e-4)


@given(st.lists(st.tuples(RESISTANCES, st.floats(1.0, 1.5)), min_size=1, max_size=5), st.floats(0.0, 1.0))
def test_upper_limit_is_above_the_lower_one(pairs, share):
    # areas that differ by 1.5 at most keep R'/R'' below 1.5, so that the method always holds
    layers = [(resistance, ratio * resistance) for resistance, ratio in pairs]
    combined = iso_6946.combined_method((share, 1.0 - share), layers, 0.13, 0.04)
    assert combined.upper >= combined.lower * (1 - 1e-12)


@given(st.lists(RESISTANCES, min_size=1, max_size=6), st.floats(0.0, 1.0))
def test_homogeneous_layers_leave_nothing_between_the_limits(resistances, share):
    combined = iso_6946.combined_method((share, 1.0 - share), [(r, r) for r in resistances], 0.13, 0.04)
    plain = iso_6946.total_resistance(resistances, 0.13, 0.04)
    assert combined.upper == pytest.approx(plain, rel=1e-12)
    assert combined.lower == pytest.approx(plain, rel=1e-12)


def test_plane_wall():
    # exact: 0.13 + 0.33/0.77 + 0.06/0.04 + 0.04
    layers = [iso_6946.layer_resistance(0.33, 0.77), iso_6946.layer_resistance(0.06, 0.04)]
    total = iso_6946.total_resistance(layers, 0.13, 0.04)
    assert total == pytest.approx(2.0985714285714285, rel=1e-15)
    assert iso_6946.thermal_transmittance(total) == pytest.approx(1 / 2.0985714285714285, rel=1e-15)


def test_panel_of_the_wooden_frame():
    # exact: U_panel of ISO 10077-2 case D.4, 1/(0.13 + 0.04 + 0.028/0.035) = 1/0.97
    total = iso_6946.total_resistance([iso_6946.layer_resistance(0.028, 0.035)], 0.13, 0.04)
    assert iso_6946.thermal_transmittance(total) == pytest.approx(1 / 0.97, rel=1e-14)


@pytest.mark.parametrize(
    ("call", "value"),
    [
        (lambda: iso_6946.direction_of_heat_flow(91.0), "91.0"),
        (lambda: iso_6946.internal_surface_resistance("sideways"), "sideways"),
        (lambda: iso_6946.layer_resistance(-0.1, 0.04), "-0.1"),
        (lambda: iso_6946.layer_resistance(0.1, 0.0), "0.0"),
        (lambda: iso_6946.layer_resistance(math.nan, 0.04), "nan"),
        (lambda: iso_6946.total_resistance([-0.2], 0.13, 0.04), "-0.2"),
        (lambda: iso_6946.thermal_transmittance(0.0), "0.0"),
        (lambda: iso_6946.parallel_resistance((0.5, 0.6), (1.0, 2.0)), "1.1"),
        (lambda: iso_6946.parallel_resistance((1.0,), (1.0, 2.0)), "2 resistances"),
        (lambda: iso_6946.combined_method((0.5, 0.5), [(1.0,)], 0.13, 0.04), "1 resistances"),
        (lambda: iso_6946.combined_method((0.5, 0.5), [(10.0, 0.01), (0.01, 10.0)], 0.13, 0.04), "R'/R''"),
        (lambda: iso_6946.air_layer_resistance(0.31, "up"), "0.31"),
        (lambda: iso_6946.air_layer_resistance(0.0, "up"), "0.0"),
        (lambda: iso_6946.air_layer_resistance(0.02, "up", emissivities=(0.9, 1.2)), "1.2"),
        (lambda: iso_6946.convective_coefficient(0.02, "up", -3.0), "-3.0"),
        (lambda: iso_6946.black_body_coefficient(-300.0), "-300.0"),
        (lambda: iso_6946.void_shape_factor(0.02, 0.0), "0.0"),
        (lambda: iso_6946.equivalent_conductivity(0.02, -0.15), "-0.15"),
    ],
)
def test_out_of_range_raises_with_the_value(call, value):
    with pytest.raises(ValueError, match=value):
        call()


def test_resistance_limits_enclose_each_other():
    # Exact: two areas, one layer: both limits are the same parallel of paths only where surfaces are nothing.
    found = iso_6946.resistance_limits((0.1, 0.9), ((1.0, 4.0),), 0.13, 0.04)
    assert found.upper == pytest.approx(1 / (0.1 / 1.17 + 0.9 / 4.17))
    assert found.lower == pytest.approx(0.17 + 1 / (0.1 / 1.0 + 0.9 / 4.0))
    assert found.lower < found.upper
    with pytest.raises(ValueError, match="one for each"):
        iso_6946.resistance_limits((0.5, 0.5), ((1.0,),), 0.13, 0.04)
