"""ISO 12241. Each expected value is exact."""

import math

import pytest

from bridge2d.standards import iso_12241


def test_a_cylindrical_layer_per_area_of_a_reference_cylinder():
    # exact: ln(3) of a layer from 20 to 60 mm, λ 0.5, per area of a cylinder of 100 mm
    assert iso_12241.cylindrical_resistance(0.02, 0.06, 0.5, 0.1) == pytest.approx(0.1 * math.log(3) / 0.5, rel=1e-14)


def test_layers_of_a_pipe_add_up():
    # exact: ln is additive
    parts = iso_12241.cylindrical_resistance(0.02, 0.03, 0.4, 0.1) + iso_12241.cylindrical_resistance(
        0.03, 0.07, 0.4, 0.1
    )
    assert iso_12241.cylindrical_resistance(0.02, 0.07, 0.4, 0.1) == pytest.approx(parts, rel=1e-14)


def test_a_thin_layer_is_plane():
    # exact in the limit: d/λ at its own radius; what is left is d/2r
    assert iso_12241.cylindrical_resistance(10.0, 10.001, 0.04, 10.0) == pytest.approx(0.001 / 0.04, rel=1e-4)


def test_a_layer_of_no_thickness_resists_nothing():
    assert iso_12241.cylindrical_resistance(0.05, 0.05, 0.4, 0.1) == 0.0


def test_a_surface_resistance_of_the_inner_face_counts_more_on_the_outer_one():
    # exact: R of the inner area times outer over inner radius
    assert iso_12241.cylindrical_surface_resistance(0.05, 0.02, 0.1) == pytest.approx(0.25, rel=1e-14)
    assert iso_12241.cylindrical_surface_resistance(0.05, 0.1, 0.1) == pytest.approx(0.05, rel=1e-14)


@pytest.mark.parametrize(
    ("call", "value"),
    [
        (lambda: iso_12241.cylindrical_resistance(-0.02, 0.06, 0.5, 0.1), "-0.02"),
        (lambda: iso_12241.cylindrical_resistance(0.06, 0.02, 0.5, 0.1), "0.02"),
        (lambda: iso_12241.cylindrical_resistance(0.02, 0.06, 0.0, 0.1), "0.0"),
        (lambda: iso_12241.cylindrical_surface_resistance(0.05, 0.0, 0.1), "0.0"),
        (lambda: iso_12241.cylindrical_surface_resistance(0.05, 0.1, -1.0), "-1.0"),
    ],
)
def test_out_of_range_raises_with_the_value(call, value):
    with pytest.raises(ValueError, match=value):
        call()
