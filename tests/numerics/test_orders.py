"""Functions of third and fourth order: the reference triangle, spaces of mixed orders, and their bounds."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import sympy
from hypothesis import given, settings
from hypothesis import strategies as st

from bridge2d.detail import Region, Section, Surface
from bridge2d.elements import COUNT, SIDES, SLOTS, reference, shape_gradients, shape_values, side_matrices, side_shapes
from bridge2d.evaluation import at_points
from bridge2d.heat_flow import conditions
from bridge2d.mesh import SectionMesh, mesh_section, refine
from bridge2d.refinement import settle, start
from bridge2d.section_results import solve_section
from bridge2d.solution import Solution, solve, tensors
from bridge2d.spaces import space
from bridge2d.web.pointed import value_at
from tests.numerics.test_bounds import tilings
from tests.shapes import iso_10211_case_2, material, mm, quadrants, rectangle, section, strip, surface


def symbolic() -> tuple[list[sympy.Expr], tuple[sympy.Symbol, sympy.Symbol]]:
    """The functions, written down a second time."""
    x, y = sympy.symbols("x y")
    corner = [1 - x - y, x, y]
    nodes = [c * (2 * c - 1) for c in corner] + [4 * corner[a] * corner[b] for a, b in SIDES]
    odd = [corner[a] * corner[b] * (corner[b] - corner[a]) for a, b in SIDES]
    even = [corner[a] * corner[b] * (corner[b] - corner[a]) ** 2 for a, b in SIDES]
    inner = corner[0] * x * y
    return [*nodes, *odd, *even, inner, inner * x, inner * y], (x, y)


def over_triangle(expression: sympy.Expr, x: sympy.Symbol, y: sympy.Symbol) -> float:
    """∫ xⁱ yʲ over the reference triangle is i! j! / (i + j + 2)!."""
    total = sympy.Rational(0)
    for (i, j), factor in sympy.Poly(sympy.expand(expression), x, y).terms():
        total += factor * sympy.factorial(i) * sympy.factorial(j) / sympy.factorial(i + j + 2)
    return float(total)


@pytest.mark.parametrize("order", [2, 3, 4])
def test_reference_stiffness_is_exact(order: int) -> None:
    functions, (x, y) = symbolic()
    chosen = [functions[k] for k in SLOTS[order]]
    slopes = [(sympy.diff(f, x), sympy.diff(f, y)) for f in chosen]
    found = reference(order)[0].reshape(3, len(chosen), len(chosen))
    for i, a in enumerate(slopes):
        for j, b in enumerate(slopes):
            exact = [a[0] * b[0], a[0] * b[1] + a[1] * b[0], a[1] * b[1]]
            assert found[:, i, j] == pytest.approx([over_triangle(e, x, y) for e in exact], abs=1e-14)


def test_side_matrices_are_exact() -> None:
    s = sympy.Symbol("s")
    product, across = s * (1 - s), 2 * s - 1
    functions = [(1 - s) * (1 - 2 * s), s * across, 4 * product, product * across, product * across**2]
    mass, load, along = side_matrices()
    for i, a in enumerate(functions):
        assert load[i] == pytest.approx(float(sympy.integrate(a, (s, 0, 1))), abs=1e-15)
        for j, b in enumerate(functions):
            assert mass[i, j] == pytest.approx(float(sympy.integrate(a * b, (s, 0, 1))), abs=1e-15)
            slope = sympy.integrate(sympy.diff(a, s) * sympy.diff(b, s), (s, 0, 1))
            assert along[i, j] == pytest.approx(float(slope), abs=1e-14)


@pytest.mark.parametrize(("order", "count"), [(2, 6), (3, 10), (4, 15)])
def test_a_triangle_has_all_polynomials_of_its_order(order: int, count: int) -> None:
    x, y = np.random.default_rng(1).dirichlet(np.ones(3), 60)[:, :2].T
    functions = shape_values(np.stack([x, y]))[SLOTS[order]]
    powers = np.stack([x**i * y**j for i in range(order + 1) for j in range(order + 1 - i)])
    assert np.linalg.matrix_rank(functions) == len(functions) == len(powers) == count
    assert np.linalg.matrix_rank(np.concatenate([functions, powers])) == count


def test_higher_functions_vanish_at_the_nodes_and_inner_ones_on_all_sides() -> None:
    nodes = np.array([[0, 1, 0, 0.5, 0.5, 0], [0, 0, 1, 0, 0.5, 0.5]])
    assert np.array_equal(shape_values(nodes)[:6], np.eye(6))
    assert not shape_values(nodes)[6:].any()
    s = np.linspace(0, 1, 9)
    for number, ends in enumerate(((s, 0 * s), (1 - s, s), (0 * s, s))):
        values = shape_values(np.stack(ends))
        assert not np.delete(values[6:], [number, 3 + number], axis=0).any()
        assert values[[6 + number, 9 + number]] == pytest.approx(side_shapes(s)[0][3:], abs=1e-15)


def test_gradients_are_those_of_the_values() -> None:
    points, step = 0.4 * np.random.default_rng(2).random((2, 20)), 1e-6
    for axis in range(2):
        ahead, behind = points.copy(), points.copy()
        ahead[axis] += step
        behind[axis] -= step
        slope = (shape_values(ahead) - shape_values(behind)) / (2 * step)
        assert shape_gradients(points)[:, :, axis] == pytest.approx(slope, abs=1e-8)


# -- spaces ------------------------------------------------------------------------------------------------------------


def mixed(of: Section, seed: int = 1, mesh: SectionMesh | None = None) -> SectionMesh:
    """A mesh of a section with orders drawn at random."""
    mesh = mesh or start(of).mesh
    return replace(mesh, order=np.random.default_rng(seed).integers(2, 5, mesh.mesh.t.shape[1]))


def both(of: Section, mesh: SectionMesh) -> Solution:
    return solve(mesh, tensors(of), conditions(of))


def test_functions_are_continuous_where_orders_differ() -> None:
    mesh = mixed(quadrants(10.0), mesh=refine(mesh_section(quadrants(10.0)), np.array([0, 3])))
    on = space(mesh)
    values = np.random.default_rng(3).random(on.size)
    values[-1] = 0.0  # stands for functions that a triangle has not
    assert len({block.order for block in on.blocks}) == 3
    s = np.linspace(0, 1, 7)
    on_side = np.stack([np.stack([s, 0 * s]), np.stack([1 - s, s]), np.stack([0 * s, s])])
    seen: dict[int, np.ndarray[Any, Any]] = {}
    shared = 0
    for triangle, functions in enumerate(on.functions):
        for number, points in enumerate(on_side):
            along = values[functions] @ shape_values(points)
            side = int(mesh.mesh.t2f[number, triangle])
            if side in seen:
                shared += 1
                assert along == pytest.approx(seen[side], abs=1e-13)
            seen[side] = along
    assert shared == np.count_nonzero(np.bincount(mesh.mesh.t2f.ravel()) == 2)


def grained() -> Section:
    timber = replace(material(0.13), conductivity_along=0.33)
    of = section(
        [rectangle(0.8, 0, 0, 300, 200), Region("beam", timber, mm((100, 50), (300, 50), (300, 120), (100, 120)))],
        {"outside": 0, "inside": 1},
        [surface("outside", 0.04, (0, 0), (0, 200)), surface("inside", 0.13, (300, 0), (300, 200))],
    )
    return replace(of, regions=(of.regions[0], replace(of.regions[1], grain_direction=30.0)))


def holed() -> Section:
    hole = mm((150, 150), (350, 150), (350, 350), (150, 350))
    block = Region("block", material(1.0), mm((0, 0), (500, 0), (500, 500), (0, 500)), (hole,))
    return section(
        [block],
        {"outside": 0, "duct": 20},
        [surface("outside", 0.04, (0, 0), (500, 0)), Surface("duct", (*hole, hole[0]), 0.1, 0.1)],
    )


def half_prescribed() -> Section:
    of = quadrants(10.0)
    return replace(of, surfaces=tuple(replace(s, resistance=r) for s, r in zip(of.surfaces, (0.1, 0.0), strict=True)))


@pytest.mark.parametrize("of", [iso_10211_case_2(), grained(), holed(), half_prescribed()], ids=str)
@pytest.mark.parametrize("seed", [1, 2])
def test_bounds_of_mixed_orders_agree_in_both_ways_and_enclose(of: Section, seed: int) -> None:
    solution = both(of, mixed(of, seed))
    upper, lower = solution.warm.upper, solution.stream.lower
    assert upper == pytest.approx(solution.warm.flows, rel=1e-9)
    assert np.allclose(solution.gap.matrix, upper - lower, rtol=1e-7, atol=1e-10 * upper.max())
    assert solution.gap.triangle.min() >= 0
    exact = solve_section(replace(of, psi_half_width=1e3), 1e-5).coupling[0].coefficient
    assert lower[0, 0] <= exact.upper
    assert exact.lower <= upper[0, 0]


@settings(max_examples=15)
@given(tilings, st.integers(0, 1000))
def test_both_bounds_swap_under_duality_with_mixed_orders(tiles: list[list[float]], seed: int) -> None:
    # The stream function of a section is the temperature of its dual, with any functions: upper · lower = 1.
    one, other = strip(tiles, 120.0, 120.0), strip([[1 / k for k in c] for c in tiles], 120.0, 120.0, turned=True)
    first = both(one, mixed(one, seed, mesh_section(one)))
    second = both(other, mixed(other, seed, mesh_section(other)))
    assert first.warm.upper[0, 0] * second.stream.lower[0, 0] == pytest.approx(1.0, rel=1e-9)
    assert first.stream.lower[0, 0] * second.warm.upper[0, 0] == pytest.approx(1.0, rel=1e-9)


def test_each_order_narrows_the_bracket_of_a_smooth_field() -> None:
    # A twelfth of an annulus between two films. Order 3 has a gap of order 6, from which corners between chords take a
    # little; of order 4 they are all that is left on the finer mesh.
    sides = 24
    angles = [np.pi / 6 * k / sides for k in range(sides + 1)]
    inner = [(1000 * np.cos(a), 1000 * np.sin(a)) for a in angles]
    outer = [(3000 * np.cos(a), 3000 * np.sin(a)) for a in angles]
    of = section(
        [Region("ring", material(1.0), mm(*inner, *outer[::-1]))],
        {"in": 1, "out": 0},
        [surface("in", 0.02, *inner), surface("out", 0.02, *outer)],
    )
    mesh = mesh_section(of)
    finer = refine(mesh, np.arange(mesh.mesh.t.shape[1]))

    def gap(on: SectionMesh, order: int) -> float:
        return float(np.trace(both(of, replace(on, order=np.full(on.mesh.t.shape[1], order))).gap.matrix))

    assert np.log2(gap(mesh, 3) / gap(finer, 3)) > 5.3
    assert gap(mesh, 4) < gap(mesh, 3) / 20


def test_values_between_nodes_are_the_functions_own() -> None:
    of = grained()
    solution = both(of, mixed(of))
    on, nodes = solution.on, solution.warm.nodes[:, :1]
    local = np.random.default_rng(4).dirichlet(np.ones(3), len(on.triangles))
    points = np.einsum("mk,mka->ma", local, on.points[on.triangles[:, :3]])
    expected = [nodes[f, 0] @ shape_values(b[1:, None])[:, 0] for f, b in zip(on.functions, local, strict=True)]
    assert at_points(on, nodes, points)[:, 0] == pytest.approx(expected, abs=1e-12)


def test_fields_of_a_result_hold_the_higher_functions_whichever_way_a_triangle_turns() -> None:
    of = replace(grained(), psi_half_width=1e3)
    result = solve_section(of, 1e-5)
    solved = result.solved
    assert solved is not None
    higher = solved.higher
    assert higher is not None
    assert higher.temperature.shape == (len(solved.triangles), COUNT - 6)
    # The fields' triangles run counter-clockwise; the same field through both ways of writing it down.
    corners = solved.points[solved.triangles[:, :3]]
    one, other = (corners[:, 1] - corners[:, 0]).T, (corners[:, 2] - corners[:, 0]).T
    assert (one[0] * other[1] - one[1] * other[0]).min() > 0
    s = np.linspace(0.1, 0.9, 5)
    seen: dict[tuple[int, int], np.ndarray[Any, Any]] = {}
    values = np.concatenate([solved.temperature[solved.triangles], higher.temperature], axis=1)
    streams = np.concatenate([solved.stream, higher.stream], axis=1)
    for triangle, nodes in enumerate(solved.triangles[:, :3].tolist()):
        for number, points in enumerate(((s, 0 * s), (1 - s, s), (0 * s, s))):
            a, b = (nodes[k] for k in SIDES[number])
            along = np.stack([values[triangle], streams[triangle]]) @ shape_values(np.stack(points))
            along = along if a < b else along[:, ::-1]
            key = (min(a, b), max(a, b))
            assert along == pytest.approx(seen.setdefault(key, along), abs=1e-9)


def test_even_fields_are_the_solution_at_all_their_nodes() -> None:
    of = replace(grained(), psi_half_width=1e3)
    settled = settle(of, 1e-4)
    result = solve_section(of, 1e-4)
    fields, last = result.fields, settled.passes[-1]
    assert fields.higher is None
    assert len(fields.triangles) == 4 * len(last.on.triangles)
    corners = fields.points[fields.triangles[:, :3]]
    one, other = (corners[:, 1] - corners[:, 0]).T, (corners[:, 2] - corners[:, 0]).T
    area = one[0] * other[1] - one[1] * other[0]
    assert area.min() > 0
    assert area.sum() == pytest.approx(last.on.scale.sum())
    middles = fields.points[fields.triangles[:, 3:]]
    assert middles == pytest.approx(0.5 * (corners + np.roll(corners, -1, axis=1)), abs=1e-12)
    expected = at_points(last.on, last.warm.nodes @ np.array([0.0, 1.0])[:, None], fields.points)
    assert fields.temperature == pytest.approx(expected[:, 0], abs=1e-9)
    assert fields.rim is not None
    triangle, side, number = fields.rim.T
    start, end = (fields.points[fields.triangles[triangle, (side + k) % 3]] for k in (0, 1))
    lengths = np.bincount(number, np.hypot(*(end - start).T))
    assert lengths == pytest.approx([0.2, 0.2])
    assert value_at(result, (0.2, 0.1)) is not None
