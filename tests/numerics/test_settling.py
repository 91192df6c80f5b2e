"""Temperatures settle where they are of interest, and the tolerance stated for them holds against a far finer look."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from bridge2d.detail import Section
from bridge2d.junctions import junctions
from bridge2d.refinement import settle
from bridge2d.section_results import solve_section

NAMES = ["window_box", "joist_pocket", "roof_edge", "wall_corner"]


def sections(name: str) -> list[Section]:
    junction = junctions()[name]
    return list(junction.build(junction.parameters()).sections)


@pytest.mark.parametrize("name", NAMES)
def test_stated_tolerances_hold_against_a_far_finer_solution(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    # The reference: bracket a twentieth as wide, places divided until they change by 0.00002 of the span.
    stated = [solve_section(section, 1e-3) for section in sections(name)]
    monkeypatch.setattr("bridge2d.closer_look.AGREEMENT", 2e-5)
    for section, coarse in zip(sections(name), stated, strict=True):
        narrower = replace(section, psi_half_width=section.psi_half_width / 20)
        fine = solve_section(narrower, 5e-5)
        for one, other in zip(coarse.f_rsi, fine.f_rsi, strict=True):
            assert one.value == pytest.approx(other.value, abs=one.tolerance + other.tolerance)
        for mine, finer in zip((*coarse.probes, *coarse.watched), (*fine.probes, *fine.watched), strict=True):
            assert mine.temperature == pytest.approx(finer.temperature, abs=mine.tolerance + finer.tolerance)
            assert mine.temperature_f_rsi == pytest.approx(
                finer.temperature_f_rsi, abs=mine.tolerance + finer.tolerance
            )


def test_a_jump_of_the_surface_resistance_needs_few_unknowns() -> None:
    # Refining for the gap until the temperatures agreed took 10,750 unknowns at the head (without reduced radiation).
    for section in sections("window_box"):
        assert settle(section, 1e-3).passes[-1].warm.unknowns < 5000


def test_the_mesh_doubles_at_least_before_flows_count_as_settled() -> None:
    for name in ("window_box", "wall_corner"):
        for section in sections(name):
            settled = settle(section, 1e-3)
            assert settled.complete
            assert 2 * settled.earlier.mesh.unknowns <= settled.passes[-1].mesh.unknowns


def test_coldest_points_are_looked_at_closely_once_at_least() -> None:
    section = sections("window_box")[0]
    settled = settle(section, 1e-3)
    on, now = settled.passes[-1].on, settled.now
    distance = np.hypot(*(on.points[on.triangles[:, :3]] - now.coldest[0].point).transpose(2, 0, 1)).min(axis=1)
    size = np.sqrt(on.scale)
    assert size[distance < 1e-9].max() < np.median(size)
    assert np.all(settled.changes <= 1e-3 * now.span)
