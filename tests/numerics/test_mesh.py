"""Meshes keep the names of regions and surfaces, whatever is refined."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bridge2d.detail import Region, Section, Surface
from bridge2d.errors import MissingLibraryError, SectionError
from bridge2d.gmsh_mesh import load_gmsh
from bridge2d.mesh import GROWTH, SectionMesh, graded, mesh_section, refine
from bridge2d.partition import Grid, Overlay, partition
from tests.shapes import corner, iso_10211_case_2, material, mm, rectangle, ring, section, surface

ROOT = Path(__file__).parents[2]


def areas(made: SectionMesh, regions: int) -> np.ndarray:
    p, t = made.mesh.p, made.mesh.t
    a, b, c = p[:, t[0]], p[:, t[1]], p[:, t[2]]
    area = 0.5 * np.abs((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]))
    return np.bincount(made.region, area, minlength=regions)


def lengths(made: SectionMesh, surfaces: int) -> np.ndarray:
    sides = np.flatnonzero(made.surface >= 0)
    p, f = made.mesh.p, made.mesh.facets
    length = np.hypot(*(p[:, f[1, sides]] - p[:, f[0, sides]]))
    return np.bincount(made.surface[sides], length, minlength=surfaces)


@pytest.mark.parametrize("mesher", ["grid", "gmsh"])
def test_areas_and_edges_survive_refinement(mesher: str) -> None:
    of = iso_10211_case_2()
    made = mesh_section(of, mesher)
    # Later regions lie over earlier ones: areas in mm² by hand.
    expected = np.array([500 * 40 - 15 * 6.5 - 1.5 * 33.5, 500 * 6, 15 * 5, 15 * 1.5, 1.5 * 33.5, 500 * 1.5]) * 1e-6
    random = np.random.default_rng(1893)
    for _ in range(5):
        assert areas(made, 6) == pytest.approx(expected, rel=1e-12)
        assert lengths(made, 2) == pytest.approx([0.5, 0.5], rel=1e-12)
        count = made.mesh.t.shape[1]
        made = refine(made, random.choice(count, size=max(1, count // 7), replace=False))


def test_refined_mesh_is_another_one() -> None:
    made = mesh_section(corner(300, 100))
    before = made.mesh.t.copy()
    finer = refine(made, np.array([0]))
    assert np.array_equal(made.mesh.t, before)
    assert finer.mesh.t.shape[1] > before.shape[1]


def test_default_mesher_follows_the_edges() -> None:
    assert mesh_section(iso_10211_case_2()).mesher == "grid"
    oblique = section(
        [Region("wedge", material(1.0), mm((0, 0), (100, 0), (80, 50), (0, 50)))],
        {"a": 0, "b": 1},
        [surface("a", 0.1, (0, 0), (100, 0)), surface("b", 0.1, (0, 50), (80, 50))],
    )
    assert mesh_section(oblique).mesher == "gmsh"
    with pytest.raises(SectionError, match="not parallel to the axes"):
        mesh_section(oblique, "grid")


def test_missing_system_libraries_are_named(monkeypatch: pytest.MonkeyPatch) -> None:
    import builtins

    original = builtins.__import__

    def refuse(name: str, *args: object, **kwargs: object) -> object:
        if name == "gmsh":
            raise OSError("libGLU.so.1: cannot open shared object file: No such file or directory")
        return original(name, *args, **kwargs)  # type: ignore[arg-type]

    monkeypatch.setattr(builtins, "__import__", refuse)
    with pytest.raises(MissingLibraryError, match=r"libGLU\.so\.1.*apt-get install libglu1-mesa"):
        mesh_section(corner(300, 100), "gmsh")


def test_gmsh_leaves_a_broken_pipe_an_error() -> None:
    """A process that has meshed by gmsh does not end without a word when whoever reads from it is gone."""
    load_gmsh()
    written = """\
import os
from bridge2d.mesh import mesh_section
from tests.shapes import corner

mesh_section(corner(300, 100), "gmsh")
reading, writing = os.pipe()
os.close(reading)
try:
    os.write(writing, b"gone")
except BrokenPipeError:
    print("told")
"""
    ended = subprocess.run([sys.executable, "-c", written], capture_output=True, text=True, cwd=ROOT, check=False)
    assert (ended.stdout, ended.returncode) == ("told\n", 0), ended.stderr
    assert mesh_section(corner(300, 100)).mesher == "grid"


@settings(max_examples=150)
@given(st.lists(st.integers(1, 10_000_000), min_size=1, max_size=8))
def test_graded_lines(steps: list[int]) -> None:
    lines = np.concatenate([[0], np.cumsum(steps)]).astype(np.int64)
    finer, origin = graded(lines)
    assert set(lines.tolist()) <= set(finer.tolist())
    gaps = np.diff(finer)
    assert (gaps > 0).all()
    assert np.bincount(origin, gaps, minlength=len(steps)).tolist() == steps
    assert np.maximum(gaps[1:] / gaps[:-1], gaps[:-1] / gaps[1:]).max(initial=1.0) <= 4 * GROWTH
    assert len(gaps) <= 40 * len(steps)


def test_slip_of_a_micrometre_is_not_a_sliver() -> None:
    # 0.05 and 0.05000000000000001 are one coordinate.
    low = Region("low", material(1.0), ((0, 0), (0.3, 0), (0.3, 0.05), (0, 0.05)))
    high = Region("high", material(0.5), ((0, 0.05000000000000001), (0.3, 0.05000000000000001), (0.3, 0.1), (0, 0.1)))
    of = section(
        [low, high], {"a": 0, "b": 1}, [surface("a", 0.1, (0, 0), (300, 0)), surface("b", 0.1, (0, 100), (300, 100))]
    )
    parts = partition(of)
    assert isinstance(parts, Grid)
    assert parts.y.tolist() == [0, 50_000, 100_000]


# -- partition: what is refused, in both ways of dividing -------------------------------------------------------------


def skewed(of: Section) -> Section:
    """The same section, sheared, so that it has to be overlaid."""

    def shear(points: tuple[tuple[float, float], ...]) -> tuple[tuple[float, float], ...]:
        return tuple((round(x + 0.3 * y, 6), y) for x, y in points)

    return replace(
        of,
        regions=tuple(replace(r, polygon=shear(r.polygon), holes=tuple(map(shear, r.holes))) for r in of.regions),
        surfaces=tuple(replace(s, edge=shear(s.edge)) for s in of.surfaces),
    )


def blocks(*extra: Region, edge: tuple[tuple[float, float], ...] = ((0, 0), (100, 0))) -> Section:
    return section(
        [rectangle(1.0, 0, 0, 100, 100), *extra],
        {"a": 0, "b": 1},
        [surface("a", 0.1, *edge), surface("b", 0.1, (0, 100), (100, 100))],
    )


CASES = {
    "island": (blocks(rectangle(2.0, 200, 0, 300, 100)), ("region", 1), "stands apart"),
    "corner to corner": (blocks(rectangle(2.0, 100, 100, 200, 200)), ("region", 1), "stands apart"),
    # Blocks round a void; the void's corner touches the outside in (100, 100).
    "pinch": (
        blocks(
            rectangle(1.0, 100, -100, 200, 0),
            rectangle(1.0, 0, -100, 100, 0),
            rectangle(1.0, 200, -100, 300, 200),
            rectangle(1.0, 100, 100, 200, 200),
            edge=((0, 0), (0, 50)),
        ),
        None,
        "only in the point",
    ),
    "inside": (blocks(edge=((0, 50), (100, 50))), ("surface", 0), "does not run along the outline"),
    "outside": (blocks(edge=((0, -50), (100, -50))), ("surface", 0), "does not run along the outline"),
    "too long": (blocks(edge=((0, 0), (150, 0))), ("surface", 0), "does not run along the outline"),
    "twice": (blocks(edge=((0, 0), (0, 100), (50, 100))), ("surface", 1), "already taken"),
}


@pytest.mark.parametrize("name", CASES)
@pytest.mark.parametrize("way", ["grid", "overlay"])
def test_refused(name: str, way: str) -> None:
    of, item, message = CASES[name]
    if way == "overlay":
        of = skewed(of)
    with pytest.raises(SectionError, match=message) as caught:
        partition(of)
    if item:
        if item[0] == "region" and way == "overlay":
            assert caught.value.item[0] == "region"
        else:
            assert caught.value.item == item


def test_surface_may_start_and_end_within_an_edge() -> None:
    for way in (lambda s: s, skewed):
        of = way(blocks(edge=((20, 0), (70, 0))))
        made = mesh_section(of)
        assert lengths(made, 2) == pytest.approx([0.05, 0.1], rel=1e-9)


def test_overlay_closes_a_joint_whose_corner_lies_beside_an_edge() -> None:
    # The corner (33.333, 10) of one region lies 0.1 µm beside the oblique edge of the other.
    left = Region("left", material(1.0), mm((0, 0), (100, 30), (0, 30)))
    low = Region("low", material(1.0), mm((0, 0), (33.333, 9.9999), (33.333, 0)))
    right = Region("right", material(1.0), mm((33.333, 0), (33.333, 9.9999), (100, 30), (100, 0)))
    of = section(
        [left, low, right], {"a": 0, "b": 1}, [surface("a", 0, (0, 0), (100, 0)), surface("b", 0, (0, 30), (100, 30))]
    )
    parts = partition(of)
    assert isinstance(parts, Overlay)
    made = mesh_section(of)
    assert areas(made, 3).sum() == pytest.approx(0.1 * 0.03, rel=1e-5)
    assert len(np.unique(parts.outline)) == len(parts.outline)  # one closed line


def test_holes_are_meshed_round() -> None:
    made = mesh_section(ring(100, mm((-20, -20), (20, -20), (20, 20), (-20, 20))))
    assert areas(made, 1)[0] == pytest.approx(0.01 - 0.0016)
    assert lengths(made, 2) == pytest.approx([0.4, 0.16])


def test_surface_on_a_polyline_round_a_corner() -> None:
    of = blocks(edge=((0, 50), (0, 0), (100, 0), (100, 50)))
    assert lengths(mesh_section(of), 2)[0] == pytest.approx(0.2)


def test_sliver_is_refused_not_solved() -> None:
    thin = section(
        [rectangle(1.0, 0, 0, 100_000, 0.001)],
        {"a": 0, "b": 1},
        [Surface("a", mm((0, 0), (100_000, 0)), 0, 0), Surface("b", mm((0, 0.001), (100_000, 0.001)), 0, 0)],
    )
    with pytest.raises(SectionError, match="no triangle fits"):
        mesh_section(thin)
