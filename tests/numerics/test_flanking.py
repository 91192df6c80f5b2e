"""Flanking elements: layers, U and undisturbed lengths read from the section."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bridge2d.detail import FlankingElement, Region, Section
from bridge2d.errors import SectionError
from bridge2d.flanking import flanking_result
from bridge2d.section_check import check_section
from tests.shapes import material, mm, rectangle, section, surface


def wall(*cut: tuple[float, float], symmetric: bool = False) -> Section:
    """Two layers, 3 m wide, a nib on the inner layer from x = 2 m to 2.1 m."""
    of = section(
        [rectangle(0.8, 0, 0, 3000, 240), rectangle(0.04, 0, 240, 3000, 340), rectangle(0.8, 2000, 240, 2100, 340)],
        {"outside": 0, "inside": 20},
        [surface("outside", 0.04, (0, 0), (3000, 0)), surface("inside", 0.13, (0, 340), (3000, 340))],
    )
    return replace(of, flanking=(FlankingElement("wall", (mm(*cut)[0], mm(*cut)[1]), {"external": 3.0}, symmetric),))


def test_u_value_and_layers() -> None:
    found = flanking_result(wall((0, 0), (0, 340)), 0)
    assert [layer.thickness for layer in found.layers] == [0.24, 0.1]
    assert found.u_value == pytest.approx(1 / (0.04 + 0.24 / 0.8 + 0.1 / 0.04 + 0.13), rel=1e-14)  # exact
    assert found.environments == ("outside", "inside")
    assert found.uniform_length == pytest.approx(2.0)
    assert found.required_length == pytest.approx(1.02)  # 3 · 0.34


def test_the_cut_may_run_either_way_and_inside() -> None:
    one = flanking_result(wall((1000, 340), (1000, 0)), 0)
    assert one.u_value == pytest.approx(flanking_result(wall((0, 0), (0, 340)), 0).u_value, rel=1e-15)
    assert one.environments == ("inside", "outside")
    assert one.uniform_length == pytest.approx(1.0)  # the nearer of nib and end


def test_far_side_sees_the_nib_sooner() -> None:
    assert flanking_result(wall((3000, 0), (3000, 340)), 0).uniform_length == pytest.approx(0.9)


@pytest.mark.parametrize(
    ("cut", "message"),
    [
        (((0, 0), (0, 240)), "does not lie on a surface"),
        (((0, 0), (0, 0)), "no length"),
        (((-50, 0), (-50, 340)), "does not lie on a surface"),
        (((2000, 0), (2000, 340)), "boundary of two regions"),
        (((1000, 0), (1400, 340)), "right angle"),
    ],
)
def test_refused_cuts(cut: tuple[tuple[float, float], tuple[float, float]], message: str) -> None:
    with pytest.raises(SectionError, match=message) as caught:
        check_section(wall(*cut))
    assert caught.value.item == ("flanking", 0)


def test_timber_across_the_cut_counts_with_its_own_direction() -> None:
    def u(direction: float) -> float:
        plate = Region("timber", material(0.13, 0.23), mm((0, 0), (1000, 0), (1000, 100), (0, 100)), (), direction)
        of = section(
            [plate], {"a": 0, "b": 1}, [surface("a", 0.1, (0, 0), (1000, 0)), surface("b", 0.1, (0, 100), (1000, 100))]
        )
        return flanking_result(replace(of, flanking=(FlankingElement("w", ((0.5, 0), (0.5, 0.1)), {}),)), 0).u_value

    assert u(0) == pytest.approx(1 / (0.2 + 0.1 / 0.13))
    assert u(90) == pytest.approx(1 / (0.2 + 0.1 / 0.23))


def test_probe_outside_is_refused() -> None:
    of = wall((0, 0), (0, 340))
    from bridge2d.detail import Probe

    with pytest.raises(SectionError, match="outside the section") as caught:
        check_section(replace(of, probes=(Probe("on", (0, 0.34)), Probe("off", (0, 0.35)))))
    assert caught.value.item == ("probe", 1)
