"""The next mesh in one large step: corners are found, layers cut, orders raised; nothing of the section is lost."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bridge2d.detail import Section
from bridge2d.grading import CHEAP, MOST_LAYERS, begun, corners, graded
from bridge2d.heat_flow import conditions
from bridge2d.mesh import mesh_section, refine
from bridge2d.refinement import refine_once, settle, start
from bridge2d.solution import solve, tensors
from tests.numerics.test_bounds import tilings
from tests.numerics.test_mesh import areas, lengths
from tests.shapes import iso_10211_case_2, quadrants, rectangle, ring, section, strip, surface


def embedded() -> Section:
    return section(
        [rectangle(1.0, 0, 0, 300, 200), rectangle(0.1, 100, 50, 200, 120)],
        {"outside": 0, "inside": 1},
        [surface("outside", 0.04, (0, 0), (0, 200)), surface("inside", 0.13, (300, 0), (300, 90))],
    )


@pytest.mark.parametrize("mesher", ["grid", "gmsh"])
def test_corners_are_those_of_regions_and_of_surfaces(mesher: str) -> None:
    of = embedded()
    made = refine(mesh_section(of, mesher), np.array([0, 2]))
    found = {(round(1000 * x), round(1000 * y)) for x, y in made.mesh.p[:, corners(made, tensors(of))].T.tolist()}
    outline = {(0, 0), (300, 0), (300, 200), (0, 200)}
    assert found == outline | {(100, 50), (200, 50), (200, 120), (100, 120)} | {(300, 90)}


def test_chords_of_an_arc_make_no_corners() -> None:
    turns = 2 * np.pi * np.arange(48) / 48
    of = ring(300.0, tuple(zip(0.05 * np.cos(turns), 0.05 * np.sin(turns), strict=True)))
    made = mesh_section(of)
    found = np.abs(1000 * made.mesh.p[:, corners(made, tensors(of))])
    assert found == pytest.approx(np.full((2, 4), 150.0))


def test_a_line_within_one_material_makes_no_corners() -> None:
    of = embedded()
    same = replace(of, regions=tuple(replace(region, material=of.regions[0].material) for region in of.regions))
    made = mesh_section(same)
    found = {(round(1000 * x), round(1000 * y)) for x, y in made.mesh.p[:, corners(made, tensors(same))].T.tolist()}
    assert found == {(0, 0), (300, 0), (300, 200), (0, 200), (300, 90)}


@pytest.mark.parametrize("mesher", ["grid", "gmsh"])
def test_nothing_is_lost_and_layers_shrink_towards_corners(mesher: str) -> None:
    of = iso_10211_case_2()
    made = mesh_section(of, mesher)
    gap = solve(made, tensors(of), conditions(of)).gap.triangle
    finer = graded(made, tensors(of), gap, 1e-6 * gap.sum())
    assert finer is not None
    assert areas(finer, len(of.regions)) == pytest.approx(areas(made, len(of.regions)), rel=1e-12)
    assert lengths(finer, len(of.surfaces)) == pytest.approx(lengths(made, len(of.surfaces)), rel=1e-12)
    assert finer.order is not None
    assert set(finer.order.tolist()) <= {2, 3, 4}
    # The corners' innermost triangles: their sides are those before, cut at 0.15 as often as allowed.
    shortest = [np.hypot(*np.diff(m.mesh.p[:, m.mesh.facets], axis=2)[..., 0]).min() for m in (made, finer)]
    assert shortest[1] <= 0.15**MOST_LAYERS * shortest[0] * 1.01


@settings(max_examples=25)
@given(tilings, st.sampled_from([0.5, 1e-1, 1e-3, 1e-6]))
def test_the_next_mesh_is_sound_and_narrows_the_bracket(tiles: list[list[float]], share: float) -> None:
    of = strip(tiles, 120.0, 120.0)
    first = start(of)
    total = float(first.gap.triangle.sum())
    if total < 1e-9:
        return  # layers only: solved exactly on any mesh
    mesh = graded(first.mesh, tensors(of), first.gap.triangle, share * total)
    assert mesh is not None
    assert areas(mesh, len(of.regions)) == pytest.approx(areas(first.mesh, len(of.regions)), rel=1e-9)
    second = solve(mesh, tensors(of), conditions(of))
    assert np.trace(second.gap.matrix) < total
    assert max(first.stream.lower[0, 0], second.stream.lower[0, 0]) <= second.warm.upper[0, 0] * (1 + 1e-12)


def test_a_mesh_of_as_many_unknowns_as_asked() -> None:
    of = quadrants(10.0)
    first = start(of)
    for least in (200, 1000):
        mesh = graded(first.mesh, tensors(of), first.gap.triangle, 0.5 * float(first.gap.triangle.sum()), least=least)
        assert mesh is not None
        assert mesh.unknowns >= min(least, 8 * first.mesh.mesh.t.shape[1])


def test_a_first_mesh_has_the_highest_order_that_is_cheap() -> None:
    made = mesh_section(quadrants(10.0))
    while True:
        one = begun(made)
        assert one.order is None or one.unknowns <= CHEAP
        if one.order is None:
            break
        assert one.order.min() == one.order.max() == 4 or replace(one, order=one.order + 1).unknowns > CHEAP
        made = refine(made, np.arange(made.mesh.t.shape[1]))
    assert made.unknowns > CHEAP / 2


def test_a_narrow_bracket_takes_few_passes() -> None:
    of = replace(iso_10211_case_2(), psi_half_width=1e3)
    settled = settle(of, 1e-6)
    assert settled.complete
    assert len(settled.passes) <= 6
    assert settled.passes[-1].mesh.unknowns < 8000


def test_triangles_too_small_to_be_cut_have_their_orders_raised_and_then_the_loop_ends(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    of = quadrants(10.0)
    last = start(of)
    monkeypatch.setattr("bridge2d.closer_look.SMALLEST_SIDE", 1.0)
    last = replace(last, mesh=replace(last.mesh, order=None))
    for _ in range(4):
        following = refine_once(of, last, 1e-9, 1e-9)
        if following is None:
            break
        assert following.mesh.mesh.t.shape == last.mesh.mesh.t.shape
        last = following
    else:
        pytest.fail("does not end")


def test_a_corner_too_small_to_be_cut_leaves_the_others() -> None:
    of = iso_10211_case_2()
    made = mesh_section(of)
    gap = solve(made, tensors(of), conditions(of)).gap.triangle
    points = corners(made, tensors(of))
    small = (made.mesh.t == points[3]).any(axis=0)
    finer = graded(made, tensors(of), gap, 1e-6 * gap.sum(), small=small)
    assert finer is not None
    sides = made.mesh.p[:, made.mesh.facets[:, (made.mesh.facets == points[3]).any(axis=0)]]
    after = finer.mesh.p[:, finer.mesh.facets[:, (finer.mesh.facets == points[3]).any(axis=0)]]
    shortest = [np.hypot(*(s[:, 1] - s[:, 0])).min() for s in (sides, after)]
    assert shortest[1] >= 0.5 * shortest[0]
    assert finer.mesh.t.shape[1] > 2 * made.mesh.t.shape[1]
