"""ISO 10077-1 and ISO 13789: sums of windows by hand (exact)."""

import pytest

from bridge2d.standards import iso_10077_1, iso_13789
from bridge2d.standards.iso_6946 import thermal_transmittance, total_resistance


@pytest.mark.parametrize(("u_value", "depth"), [(0.5, 0.044), (1.1, 0.078), (5.0, 0.03)])
def test_a_block_has_the_u_it_stands_for(u_value, depth):
    conductivity = iso_10077_1.block_conductivity(u_value, depth)
    found = thermal_transmittance(total_resistance([depth / conductivity], 0.13, 0.04))
    assert found == pytest.approx(u_value, rel=1e-12)


@pytest.mark.parametrize("u_value", [0.0, -1.0, 5.9, 7.0])
def test_a_u_that_no_block_can_have_is_refused(u_value):
    with pytest.raises(ValueError, match=r"has to be (above|below)"):
        iso_10077_1.block_conductivity(u_value, 0.07)


def test_window():
    # (1.4·0.6 + 0.6·1.0 + 5·0.04)/2 = 0.82
    assert iso_10077_1.window_transmittance(0.6, 1.4, 1.0, 0.6, 0.04, 5.0) == pytest.approx(0.82, rel=1e-15)
    with pytest.raises(ValueError, match="glazing's area"):
        iso_10077_1.window_transmittance(0.6, 0.0, 1.0, 0.6, 0.04, 5.0)


def test_installed_window():
    # (0.82·2 + 0.05·4 − 0.01·2)/2 = 0.91
    found = iso_13789.installed_transmittance(0.82, 2.0, [(0.05, 4.0), (-0.01, 2.0)])
    assert found == pytest.approx(0.91, rel=1e-15)
    with pytest.raises(ValueError, match="window's area"):
        iso_13789.installed_transmittance(0.82, 0.0, [])
