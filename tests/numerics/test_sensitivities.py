"""Derivatives from one solution against differences of tightly bracketed solutions, and against closed forms.

A difference has its own doubt: half of both brackets over the step. It is made small beside what is asked for, and a
second difference with half the step takes away what the step hides (Richardson). SEARCH=1 takes fifty random sections
to 1e-4; the quick run takes a few.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from bridge2d.detail import Point, Region, Section
from bridge2d.section_results import solve_section
from bridge2d.sensitivities.inputs import material_inputs, surface_inputs
from bridge2d.sensitivities.motion import NoMotionError
from bridge2d.sensitivities.sections import Change, SectionForms, rates
from tests.shapes import material, mm, section, surface

SEARCH = bool(os.environ.get("SEARCH"))
COUNT = 50 if SEARCH else 3
ASKED = 1e-4
"""Largest relative error of a derivative."""
NARROW, NARROWER = (2e-6, 1e-7) if SEARCH else (5e-6, 1e-6)
"""Relative brackets of the solution that is differentiated, and of those whose difference is taken."""
LEAST_SHARE = 0.05
"""An input that carries less of L2D has a derivative that no difference of brackets tells to ASKED."""


def tiles(x: list[float], y: list[float], conductivities: list[list[float]], grain: float | None = None) -> Section:
    """A wall of tiles with a film below and one above; the first tile may have a grain."""
    regions = []
    for i in range(len(x) - 1):
        for j in range(len(y) - 1):
            corners = mm((x[i], y[j]), (x[i + 1], y[j]), (x[i + 1], y[j + 1]), (x[i], y[j + 1]))
            of = conductivities[i][j]
            own = grain is not None and i == j == 0
            made = material(of, 2.5 * of if own else None)
            regions.append(Region(f"{i}/{j}", replace(made, name=f"{i}/{j}"), corners, (), grain if own else None))
    surfaces = [
        surface("outside", 0.04, (x[0], y[0]), (x[-1], y[0])),
        surface("inside", 0.13, (x[-1], y[-1]), (x[0], y[-1])),
    ]
    return section(regions, {"outside": -5, "inside": 20}, surfaces)


def moved(one: Section, axis: int, place: float, amount: float) -> Section:
    """The section with all corners at a coordinate [m] moved along an axis."""

    def shifted(point: Point) -> Point:
        if abs(point[axis] - place) > 1e-9:
            return point
        x, y = point
        return (x + amount, y) if axis == 0 else (x, y + amount)

    regions = tuple(replace(r, polygon=tuple(map(shifted, r.polygon))) for r in one.regions)
    surfaces = tuple(replace(s, edge=tuple(map(shifted, s.edge))) for s in one.surfaces)
    return replace(one, regions=regions, surfaces=surfaces)


def change(forms: SectionForms, varied: Callable[[float], Section], step: float) -> Change:
    """How a section changes per unit of an amount, from one and two steps of it."""
    return rates(forms.section, varied(step), varied(2 * step), step).change(forms.mover)


def difference(varied: Callable[[float], Section], step: float) -> tuple[float, float]:
    """Derivative of L2D by two central differences, and its doubt."""
    found, doubts = [], []
    for h in (step, 0.5 * step):
        low, high = (solve_section(varied(k * h), NARROWER).l2d for k in (-1, 1))
        assert low is not None
        assert high is not None
        found.append((high.value - low.value) / (2 * h))
        doubts.append((high.half_width + low.half_width) / (2 * h))
    return (4 * found[1] - found[0]) / 3, (4 * doubts[1] + doubts[0]) / 3


def random_section(seed: int) -> tuple[Section, float, float, np.random.Generator]:
    """A section of two by two tiles, and the lines between them [m]."""
    random = np.random.default_rng(seed)
    across, up = (random.integers(60, 140, 2).tolist() for _ in range(2))
    x, y = [0, across[0], sum(across)], [0, up[0], sum(up)]
    conductivities = np.exp(random.uniform(np.log(0.1), np.log(1.5), (2, 2))).round(3).tolist()
    grain = float(random.integers(0, 180)) if seed % 2 else None
    return tiles(x, y, conductivities, grain), x[1] / 1000, y[1] / 1000, random


@pytest.mark.parametrize("seed", range(COUNT))
def test_derivatives_of_random_sections(seed: int) -> None:
    one, x, y, random = random_section(seed)
    result = solve_section(one, NARROW)
    forms = SectionForms(result)
    inputs = [*material_inputs([one]), *surface_inputs([one])]
    assert result.l2d is not None
    least = LEAST_SHARE * result.l2d.value
    inputs = [g for g in inputs if abs(forms.effect(g.change(one)).value) * g.value > least]
    chosen = [inputs[k] for k in random.choice(len(inputs), min(3, len(inputs)) if SEARCH else 1, replace=False)]
    for given in chosen:
        effect = forms.effect(given.change(one))
        found, doubt = difference(lambda h, given=given: given.varied(one, h), 0.04 * given.value)
        assert abs(effect.value - found) <= ASKED * abs(found) + doubt, given.name
        assert abs(effect.value - found) <= effect.tolerance + doubt + 1e-6 * abs(found), given.name
    for axis, place in ((0, x), (1, y)) if SEARCH else ((seed % 2, (x, y)[seed % 2]),):
        effect = forms.effect(change(forms, lambda h, axis=axis, place=place: moved(one, axis, place, h), 1e-4))
        found, doubt = difference(lambda h, axis=axis, place=place: moved(one, axis, place, h), 1e-3)
        assert abs(effect.value - found) <= ASKED * abs(found) + doubt, axis


# -- closed forms ------------------------------------------------------------------------------------------------------

WIDE, THICK, GIVEN = 0.5, (0.2, 0.1), (0.8, 0.04)


def plane_wall(revolution: bool = False, width: float = WIDE, thick: tuple[float, float] = THICK) -> Section:
    """Two plane layers, or a disc of them."""
    y = [0.0, 1000 * thick[0], 1000 * (thick[0] + thick[1])]
    return replace(tiles([0.0, 1000 * width], y, [list(GIVEN)]), revolution=revolution)


@pytest.mark.parametrize("revolution", [False, True])
def test_a_plane_wall_has_the_derivatives_of_its_u(revolution: bool) -> None:
    one = plane_wall(revolution)
    forms = SectionForms(solve_section(one, 1e-3))
    u = 1 / (0.04 + THICK[0] / GIVEN[0] + THICK[1] / GIVEN[1] + 0.13)
    size = np.pi * WIDE**2 if revolution else WIDE
    effects = [forms.effect(given.change(one)) for given in material_inputs([one])]
    expected = [size * u**2 * d / k**2 for d, k in zip(THICK, GIVEN, strict=True)]
    effects += [forms.effect(given.change(one)) for given in surface_inputs([one])]
    expected += [-size * u**2] * 2
    h = 1e-4
    thicker = change(forms, lambda k: plane_wall(revolution, thick=(0.2, 0.1 + k)), h)
    wider = change(forms, lambda k: plane_wall(revolution, WIDE + k), h)
    effects += [forms.effect(thicker), forms.effect(wider)]
    expected += [-size * u**2 / GIVEN[1], u * (2 * np.pi * WIDE if revolution else 1.0)]
    for effect, exact in zip(effects, expected, strict=True):
        assert effect.value == pytest.approx(exact, rel=1e-8)
        assert effect.tolerance <= 1e-6 * abs(exact)


@pytest.mark.parametrize(("grain", "axis"), [(0.0, "across"), (90.0, "along")])
def test_only_the_axis_that_the_heat_runs_along_counts(grain: float, axis: str) -> None:
    one = tiles([0, 500], [0, 200, 300], [[0.8, 0.04]], grain)
    forms = SectionForms(solve_section(one, 1e-3))
    for given in material_inputs([one]):
        effect = forms.effect(given.change(one)).value
        if given.axis and given.axis != axis:
            assert effect == pytest.approx(0.0, abs=1e-9)
        elif given.axis:
            u = 1 / (0.04 + 0.2 / given.value + 0.1 / 0.04 + 0.13)
            assert effect == pytest.approx(0.5 * u**2 * 0.2 / given.value**2, rel=1e-8)


def test_shares_of_all_materials_and_surfaces_are_the_whole() -> None:
    one = random_section(4)[0]
    result = solve_section(one, 1e-3)
    forms = SectionForms(result)
    shares = [forms.effect(given.change(one)).value * given.value for given in material_inputs([one])]
    shares += [-forms.effect(given.change(one)).value * given.value for given in surface_inputs([one])]
    assert result.l2d is not None
    assert sum(shares) == pytest.approx(result.l2d.value, rel=1e-9)


# -- movements ---------------------------------------------------------------------------------------------------------


def test_a_gap_that_opens_is_no_movement() -> None:
    one = plane_wall()
    forms = SectionForms(solve_section(one, 1e-2))
    h = 1e-4

    def apart(amount: float) -> Section:
        lower, upper = one.regions
        return replace(one, regions=(replace(lower, polygon=moved(one, 1, 0.2, amount).regions[0].polygon), upper))

    with pytest.raises(NoMotionError):
        change(forms, apart, h)


def test_a_corner_that_jumps_is_no_movement() -> None:
    one = plane_wall()
    forms = SectionForms(solve_section(one, 1e-2))
    with pytest.raises(NoMotionError):
        change(forms, lambda k: plane_wall(width=WIDE + 100 * k), 1e-4)


def test_a_step_that_opens_in_a_layer_is_no_movement() -> None:
    one = tiles([0, 100, 200], [0, 100, 200], [[0.8, 0.05], [0.8, 0.3]])

    def stepped(amount: float) -> Section:
        regions = list(one.regions)
        regions[:2] = moved(one, 1, 0.1, amount).regions[:2]
        return replace(one, regions=tuple(regions))

    forms = SectionForms(solve_section(one, 1e-2))
    for sign in (1, -1):
        with pytest.raises(NoMotionError):
            change(forms, stepped, sign * 1e-4)
