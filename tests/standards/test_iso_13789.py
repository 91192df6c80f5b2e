"""ISO 13789 and DIN 4108 Beiblatt 2: sums over an envelope. Expected values are exact arithmetic."""

import pytest

from bridge2d.standards.din_4108_beiblatt_2 import mean_increase
from bridge2d.standards.iso_13789 import direct_transmission


def test_direct_transmission_adds_elements_edges_and_points():
    assert direct_transmission([(0.25, 40.0), (0.5, 2.0)], [(0.1, 10.0), (-0.05, 4.0)], [(0.02, 5)]) == pytest.approx(
        11.9
    )
    assert direct_transmission((), (), ()) == 0.0


def test_mean_increase_is_over_the_whole_area():
    assert mean_increase(4.5, 90.0) == 0.05
    assert mean_increase(-1.0, 10.0) == -0.1


@pytest.mark.parametrize("wrong", [float("nan"), float("inf")])
def test_what_is_not_finite_is_refused(wrong):
    with pytest.raises(ValueError, match="finite"):
        direct_transmission((), [(wrong, 1.0)], ())
    with pytest.raises(ValueError, match="finite"):
        mean_increase(wrong, 1.0)


@pytest.mark.parametrize("area", [0.0, -1.0])
def test_an_envelope_has_an_area(area):
    with pytest.raises(ValueError, match="above 0"):
        mean_increase(1.0, area)
