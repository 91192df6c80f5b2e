"""Derivatives from one solution against differences of tightly bracketed solutions, and against closed forms.

Of fifty random sections one input each is taken: a conductivity, along or across the grain, a film, a line between
tiles. The difference of L2D between two values far apart is the integral of its derivative, for which Gauss's rule
takes two values between; so the brackets are narrow beside it. SEARCH=1 takes every input of every section.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from bridge2d.calculate import combined
from bridge2d.detail import Combination, Detail, Point, Region, Section
from bridge2d.results import SectionResult
from bridge2d.section_results import solve_section
from bridge2d.sensitivities.beside import Beside, Solutions
from bridge2d.sensitivities.inputs import MaterialInput, SurfaceInput, material_inputs, surface_inputs
from bridge2d.sensitivities.motion import NoMotionError
from bridge2d.sensitivities.sections import Change, SectionForms, rates
from bridge2d.sensitivities.study import Study
from bridge2d.sensitivities.targets import Combination as CombinedSections
from bridge2d.sensitivities.targets import target_of
from bridge2d.variations import Variation
from tests.shapes import material, mm, section, surface

SEARCH = bool(os.environ.get("SEARCH"))
COUNT = 50
ASKED = 1e-4
"""Largest relative error of a derivative."""
NARROW = 1e-6
"""Relative bracket of all solutions."""
MIDDLE = 0.05
"""The middle of a bracket is nearer the truth than this share of its half, by all that is known of it."""
LEAST_SHARE = 0.1
"""An input that carries less of L2D has a derivative that no difference of brackets tells to ASKED."""
FAR = 0.04
"""How far to either side a value is varied, as a share of it."""
GAUSS = 1 / np.sqrt(3.0)


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


def solution(one: Section) -> SectionResult:
    """A section solved to the bracket of this test, whatever it asks for itself."""
    return solve_section(replace(one, psi_half_width=10.0), NARROW)


def random_section(seed: int) -> tuple[Section, list[float], list[float]]:
    """A section of two tiles, every fifth one of four, and the lines between tiles [mm]."""
    random = np.random.default_rng(seed)
    across, up = (random.integers(60, 140, 2).tolist() for _ in range(2))
    x, y = [0, across[0], sum(across)], [0, up[0], sum(up)] if seed % 5 == 0 else [0, sum(up)]
    spread = random.uniform(np.log(0.1), np.log(1.5), (2, len(y) - 1))
    grain = float(random.integers(0, 180)) if seed % 2 else None
    return tiles(x, y, np.exp(spread).round(3).tolist(), grain), x, y


Input = tuple[str, float, Callable[[float], Section], Callable[[SectionForms, float], Change]]
"""Name and value of an input, the section at another value, and how a section changes there."""


def inputs(one: Section, x: list[float], y: list[float]) -> list[Input]:
    """All inputs of a section."""
    found: list[Input] = [
        (
            given.name,
            given.value,
            lambda value, given=given: given.varied(one, value - given.value),
            lambda forms, value, given=given: replace(given, **_at(given, value)).change(forms.section),
        )
        for given in [*material_inputs([one]), *surface_inputs([one])]
    ]
    for axis, lines in ((0, x), (1, y)):
        for line in lines[1:]:

            def at(value: float, axis: int = axis, place: float = line / 1000) -> Section:
                return moved(one, axis, place, value - place)

            found.append(
                (f"line {axis} {line}", line / 1000, at, lambda forms, value, at=at: shifted(forms, at, value))
            )
    return found


def _at(given: MaterialInput | SurfaceInput, value: float) -> dict[str, object]:
    """The same input of the section at another value."""
    if isinstance(given, SurfaceInput):
        return {"value": value}
    key = "conductivity_along" if given.axis == "along" else "conductivity"
    return {"material": replace(given.material, **{key: value})}


def shifted(forms: SectionForms, at: Callable[[float], Section], value: float) -> Change:
    """How a section changes while a line moves on from a value."""
    return rates(forms.section, at(value + 1e-4), at(value + 2e-4), 1e-4).change(forms.mover)


@pytest.mark.parametrize("seed", range(COUNT))
def test_derivatives_of_random_sections(seed: int) -> None:
    one, x, y = random_section(seed)
    every = inputs(one, x, y)
    start = seed // 2 % len(every)
    chosen = every if SEARCH else [*every[start:], *every[:start]]
    for name, value, at, changes in chosen:
        step = FAR * value
        low, high = (solution(at(value + k * step)).l2d for k in (-1, 1))
        assert low is not None
        assert high is not None
        found = 0.5 * (high.value - low.value) / step
        if abs(found) * value < LEAST_SHARE * low.value:
            continue
        doubt = MIDDLE * 0.5 * (high.half_width + low.half_width) / step
        effects = []
        for k in (-GAUSS, GAUSS):
            there = value + k * step
            forms = SectionForms(solution(at(there)))
            effects.append(forms.effect(changes(forms, there)))
        mean, tolerance = (0.5 * sum(getattr(one, key) for one in effects) for key in ("value", "tolerance"))
        assert abs(mean - found) <= ASKED * abs(found) + doubt, name
        assert abs(mean - found) <= tolerance + doubt + 2e-5 * abs(found), name
        if not SEARCH:
            break


def stepped(one: Section, amount: float) -> Section:
    """The section with the line between its lower and upper left tile moved, not that on the right."""
    place = one.regions[0].polygon[2][1]
    left = moved(one, 1, place, amount).regions[:2]
    return replace(one, regions=(*left, *one.regions[2:]))


@pytest.mark.parametrize("seed", range(0, COUNT, 10))
def test_a_step_that_opens_in_a_random_section(seed: int) -> None:
    """Of two lines on one level one moves alone: the sections beside it lead to its effect on either side."""
    one = random_section(seed)[0]
    place = one.regions[0].polygon[2][1]
    middle = Detail("", "", (one,), Combination())
    result = combined(middle, (solution(one),), 0.0, "")
    target = target_of(result)
    assert target is not None
    study = Study(result, CombinedSections(target, result), [])
    varied = Variation(
        "line",
        "",
        "line",
        "length",
        place,
        1e-4,
        2e-3,
        middle,
        lambda value: replace(middle, sections=(stepped(one, value - place),)),
    )
    here = study.both(varied)
    assert here == [None, None]
    h = 5e-4
    l2d = [solution(stepped(one, k * h)).l2d for k in (-1, 0, 1)]
    for sign, found in zip((1, -1), Beside(study, Solutions(result)).both(varied, here), strict=True):
        near, own = l2d[1 + sign], l2d[1]
        assert near is not None
        assert own is not None
        assert found is not None
        other = l2d[1 - sign]
        assert other is not None
        bent = abs(near.value + other.value - 2 * own.value) / h
        doubt = MIDDLE * (near.half_width + own.half_width) / h
        true = sign * (near.value - own.value) / h
        assert abs(found.result.value - true) <= found.result.tolerance + doubt + bent


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
