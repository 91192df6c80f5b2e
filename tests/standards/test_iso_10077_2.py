"""ISO 10077-2:2012, cavities. The equivalent conductivities of examples D.4 and D.7 are remembered table values.

They were computed with the standard's rounded 2.11 W/(m²·K), which is 0.3 % above 2 σ T³ E of 283 K and ε = 0.9.
"""

import pytest

from bridge2d.standards import iso_10077_2
from bridge2d.standards.iso_6946 import black_body_coefficient, intersurface_emittance
from bridge2d.standards.iso_10077_2 import (
    convective_coefficient,
    equivalent_conductivity,
    equivalent_rectangle,
    radiative_coefficient,
)


@pytest.mark.parametrize(
    ("depth", "width", "slight", "expected"),
    [  # remembered: annex D, examples D.4 and D.7; d along the heat flow, b across [mm]
        (54, 6, False, 0.2050),
        (34, 5, False, 0.1304),
        (18, 5, True, 0.1428),
        (19, 12, False, 0.0815),
        (30, 5, False, 0.1156),
        (8, 3, True, None),
    ],
)
def test_rectangles(depth: float, width: float, slight: bool, expected: float | None) -> None:
    found = equivalent_conductivity(depth / 1000, width / 1000, slightly_ventilated=slight)
    if expected is None:  # narrower than 5 mm: still air, no convection (exact)
        still = equivalent_conductivity(depth / 1000, width / 1000, difference=0.0)
        assert found == pytest.approx(2 * still)
    else:
        assert found == pytest.approx(expected, rel=3e-3)


def test_the_value_remembered_for_283_k() -> None:
    # Remembered: h_r = 2.11 (1 + √(1 + (d/b)²) − d/b) for T_m = 283 K and ε = 0.9; here d = b.
    assert radiative_coefficient(0.01, 0.01, mean_temperature=283 - 273.15) == pytest.approx(2.11 * 2**0.5, rel=4e-3)


def test_wide_cavity_radiates_like_two_plates() -> None:
    # Exact limit for b much larger than d: 4 σ T³ E.
    plates = intersurface_emittance(0.9, 0.9) * black_body_coefficient(10.0)
    assert radiative_coefficient(0.001, 100.0) == pytest.approx(plates, rel=1e-4)


def test_an_angle_counts_as_a_rectangle_of_its_area() -> None:
    # Remembered: D.7, the upper corner chamber, 580 mm² in 25 × 31 mm, λ 0.1187.
    depth, width = equivalent_rectangle(580e-6, 0.031, 0.025)
    assert depth * width == pytest.approx(580e-6)
    assert depth / width == pytest.approx(31 / 25)
    assert equivalent_conductivity(depth, width) == pytest.approx(0.1187, rel=3e-3)


@pytest.mark.parametrize("area", [0.0, -1.0, 0.0011])
def test_impossible_areas_are_refused(area: float) -> None:
    with pytest.raises(ValueError, match="area of the cavity"):
        equivalent_rectangle(area, 0.031, 0.025)


@pytest.mark.parametrize(
    ("depth", "width", "difference", "expected"),
    [
        # exact: the larger of 0.025/d and 0.73 ΔT^(1/3); below 5 mm across it is 0.025/d alone
        (0.006, 0.054, 10.0, 0.025 / 0.006),
        (0.03, 0.01, 10.0, 0.73 * 10 ** (1 / 3)),
        (0.03, 0.01, 8.0, 1.46),
        (0.03, 0.0049, 8.0, 0.025 / 0.03),
        (0.03, 0.005, 8.0, 1.46),
    ],
)
def test_convection_in_a_cavity(depth, width, difference, expected):
    assert convective_coefficient(depth, width, difference) == pytest.approx(expected, rel=1e-12)


def test_corner_length_is_the_shorter_face_and_at_most_30_mm():
    # Exact by the rule of annex B (remembered).
    assert iso_10077_2.corner_length(0.012, 0.080) == 0.012
    assert iso_10077_2.corner_length(0.080, 0.037) == 0.030
    with pytest.raises(ValueError, match="above"):
        iso_10077_2.corner_length(0.0, 0.1)


def test_panel_and_frame_transmittance():
    # Exact: layers in series, and the definition of U_f.
    u_panel = iso_10077_2.panel_transmittance(0.028, 0.13, 0.04)
    assert u_panel == pytest.approx(1 / (0.13 + 0.8 + 0.04))
    assert iso_10077_2.frame_transmittance(0.346, u_panel, 0.190, 0.110) == pytest.approx(
        (0.346 - 0.19 * u_panel) / 0.11
    )
    for wrong in (
        lambda: iso_10077_2.panel_transmittance(0.0, 0.13, 0.04),
        lambda: iso_10077_2.frame_transmittance(1, 1, 0, 1),
    ):
        with pytest.raises(ValueError, match="above"):
            wrong()
