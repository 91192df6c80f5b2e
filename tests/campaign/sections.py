"""Random sections as detail files, and what has to hold for each of them."""

from __future__ import annotations

import math
import random
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from bridge2d.detail import Section
from bridge2d.detail_file import read
from bridge2d.errors import Bridge2dError, InputError, SectionError
from bridge2d.junctions import NAMES, junctions
from bridge2d.junctions.declaration import ParameterInfo, describe
from bridge2d.results import SectionResult
from bridge2d.section_check import check_section
from bridge2d.section_results import solve_section
from tests.random_parameters import MATERIALS

LENGTH = tuple[int, int]
SLACK, FINE = 0.02, 1e-4
"""How far corners may lie beyond the environments, and the bracket with which that has to hold at last."""
TOLERANCE = 1e-2


@dataclass(frozen=True)
class Spec:
    """A section in whole millimetres: regions (λ, λ along or None, angle, corners), surfaces (name, R, line)."""

    regions: tuple[tuple[float, float | None, float, tuple[LENGTH, ...]], ...]
    surfaces: tuple[tuple[str, float, tuple[LENGTH, ...]], ...]
    temperatures: tuple[tuple[str, float], ...]
    revolution: bool = False

    def text(self) -> str:
        """The detail file."""
        lines = ['junction = "free_section"', 'title = "Random section"']
        lines += ["revolution = true"] if self.revolution else []
        for number, (k, along, angle, corners) in enumerate(self.regions):
            value = f"{k:g}" if along is None else f"[{along:g}, {k:g}]\ngrain_direction = {angle:g}"
            lines += ["[[region]]", f'name = "region {number}"', f"conductivity = {value}"]
            lines.append(f"polygon = {[list(p) for p in corners]}")
        known = dict(self.temperatures)
        for name, resistance, edge in self.surfaces:
            lines += ["[[environment]]", f'name = "{name}"', f"temperature = {known[name]:g}"]
            lines += [f"surface_resistance = {resistance:g}", f"edge = {[list(p) for p in edge]}"]
        return "\n".join(lines) + "\n"

    def moved(self, how: Any) -> Spec:
        """The same with every point moved by a function."""
        regions = tuple((k, a, g, tuple(how(*p) for p in corners)) for k, a, g, corners in self.regions)
        return replace(
            self, regions=regions, surfaces=tuple((n, r, tuple(how(*p) for p in e)) for n, r, e in self.surfaces)
        )

    def mirrored(self) -> Spec:
        """Left and right exchanged."""
        found = self.moved(lambda x, y: (-x, y))
        return replace(found, regions=tuple((k, a, -g, c) for k, a, g, c in found.regions))

    def upended(self) -> Spec:
        """Upper and lower exchanged, which leaves an axis of revolution where it is."""
        found = self.moved(lambda x, y: (x, -y))
        return replace(found, regions=tuple((k, a, -g, c) for k, a, g, c in found.regions))

    def turned(self) -> Spec:
        """A quarter turn."""
        found = self.moved(lambda x, y: (-y, x))
        return replace(found, regions=tuple((k, a, g + 90, c) for k, a, g, c in found.regions))

    def scaled(self, factor: float) -> Spec:
        """All conductivities times a factor, all surface resistances divided by it."""
        regions = tuple((k * factor, a and a * factor, g, c) for k, a, g, c in self.regions)
        return replace(self, regions=regions, surfaces=tuple((n, r / factor, e) for n, r, e in self.surfaces))


def _edges(rng: random.Random, count: int, start: int = 0) -> list[int]:
    found = [start]
    for _ in range(count):
        found.append(found[-1] + rng.choice([1, 2, 5, 10, 25, 60, 100, 250, rng.randint(3, 400)]))
    return found


def _conductivity(rng: random.Random) -> float:
    return float(f"{10 ** rng.uniform(-1.7, 2.4 if rng.random() < 0.15 else 0.7):.3g}")


def random_spec(rng: random.Random, kind: str) -> Spec:
    """A random section.

    Args:
        rng: where chance comes from.
        kind: "plane", "oblique" or "revolution".
    """
    xs = _edges(rng, rng.randint(1, 4), rng.choice([0, 20]) if kind == "revolution" else 0)
    ys = _edges(rng, rng.randint(1, 4))
    regions: list[Any] = []
    for i in range(len(xs) - 1):
        for j in range(len(ys) - 1):
            grained = kind != "revolution" and rng.random() < 0.1
            k = _conductivity(rng)
            corners = ((xs[i], ys[j]), (xs[i + 1], ys[j]), (xs[i + 1], ys[j + 1]), (xs[i], ys[j + 1]))
            angle = float(rng.choice([0, 90, 30, rng.randint(-80, 80)]))
            regions.append((k, float(f"{k * rng.uniform(1.1, 2.5):.3g}") if grained else None, angle, corners))
    if kind == "oblique":
        regions += [(_conductivity(rng), None, 0.0, _inner_polygon(rng, xs, ys)) for _ in range(rng.randint(1, 2))]
    low, high = float(rng.randint(-20, 10)), float(rng.randint(15, 40))
    temperatures = [("a", low), ("b", high)]
    surfaces = [("a", _resistance(rng), _piece(rng, xs, ys[0])), ("b", _resistance(rng), _piece(rng, xs, ys[-1]))]
    if rng.random() < 0.4:
        temperatures.append(("c", float(rng.randint(-10, 30))))
        y = ys[0] + max((ys[-1] - ys[0]) // 3, 1)
        top = ys[-1] - (ys[-1] - ys[0]) // 3
        if y < top:
            surfaces.append(("c", _resistance(rng), ((xs[-1], y), (xs[-1], top))))
        else:
            temperatures.pop()
    return Spec(tuple(regions), tuple(surfaces), tuple(temperatures), kind == "revolution")


def _resistance(rng: random.Random) -> float:
    return rng.choice([0.0, 0.04, 0.13, 0.25, round(rng.uniform(0.005, 1.0), 3)])


def _piece(rng: random.Random, xs: list[int], y: int) -> tuple[LENGTH, ...]:
    """The whole of a side, or a part of it."""
    left, right = xs[0], xs[-1]
    if rng.random() < 0.3 and right - left > 8:
        left += (right - left) // 4
    return ((left, y), (right, y))


def _inner_polygon(rng: random.Random, xs: list[int], ys: list[int]) -> tuple[LENGTH, ...]:
    """A star-shaped polygon within the outline."""
    cx, cy = 0.5 * (xs[0] + xs[-1]), 0.5 * (ys[0] + ys[-1])
    rx, ry = 0.49 * (xs[-1] - xs[0]), 0.49 * (ys[-1] - ys[0])
    angles = sorted(rng.uniform(0, 2 * math.pi) for _ in range(rng.randint(3, 7)))
    points = [
        (round(cx + rng.uniform(0.3, 1) * rx * math.cos(a)), round(cy + rng.uniform(0.3, 1) * ry * math.sin(a)))
        for a in angles
    ]
    return tuple(dict.fromkeys(points))


# -- what has to hold --------------------------------------------------------------------------------------------------


def refused(error: Bridge2dError) -> None:
    """A refusal is one message that a person reads."""
    assert 0 < len(str(error).strip()) < 2000, "a refusal that nobody reads"


def section_of(text: str) -> Section | None:
    """The section of a detail file; None where it is refused in one message."""
    try:
        loaded = read(text, Path("random.toml"))
    except InputError as error:
        refused(error)
        return None
    return replace(loaded.detail.sections[0], psi_half_width=1e3)


def solved(text: str, mesher: str = "auto") -> SectionResult | None:
    """The solved section; None where it is refused."""
    section = section_of(text)
    if section is None:
        return None
    try:
        return solve_section(section, TOLERANCE, mesher)
    except SectionError as error:
        refused(error)
        return None


def hold(result: SectionResult) -> None:
    """Brackets are ordered, heat is balanced, and no corner of the mesh is warmer or colder than the environments.

    Quadratic elements on a crude mesh may go beyond the environments while the bracket holds: where they do, that has
    to vanish with a bracket of 0.01 %.
    """
    for coupling in result.coupling:
        assert coupling.coefficient.lower <= coupling.coefficient.upper, coupling
    if result.l2d is not None:
        assert 0 < result.l2d.lower <= result.l2d.upper, result.l2d
        assert result.passes[-1].upper is not None
    for flow in result.heat_flows:
        assert flow.flow.lower <= flow.flow.upper, flow
    assert result.balance <= 1e-6, f"balance {result.balance}"
    if beyond(result) > SLACK:
        finer = solve_section(result.section, FINE, result.mesher)
        overlap(result, finer)
        assert beyond(finer) <= SLACK, f"{beyond(finer):.1%} beyond the environments"


def beyond(result: SectionResult) -> float:
    """How far the corners of the mesh are warmer or colder than the environments, as a share of their span."""
    given = [environment.temperature for environment in result.section.environments]
    corners = result.fields.temperature[np.unique(result.fields.triangles[:, :3])]
    excess = max(min(given) - corners.min(), corners.max() - max(given))
    span = max(given) - min(given)
    return float(excess / span) if span else float(excess > 1e-9)


def overlap(one: SectionResult, other: SectionResult, factor: float = 1.0) -> None:
    """The couplings' brackets of two computations of one section have values in common."""
    assert len(one.coupling) == len(other.coupling)
    for first, second in zip(one.coupling, other.coupling, strict=True):
        a, b = first.coefficient.times(factor), second.coefficient
        assert max(a.lower, b.lower) <= min(a.upper, b.upper) + 1e-11 * abs(a.value), (a, b)


def examine(spec: Spec, rng: random.Random) -> str:
    """Solve a random section and one of its relatives.

    Args:
        spec: the section.
        rng: chooses the relative.

    Returns:
        "held" or "refused".
    """
    plain = solved(spec.text())
    if plain is None:
        return "refused"
    hold(plain)
    ways = ["upended", "scaled", "gmsh"] if spec.revolution else ["mirrored", "turned", "scaled", "gmsh"]
    way = rng.choice(ways)
    if way == "gmsh":
        other = solved(spec.text(), "gmsh")
    else:
        factor = 8.0
        relative = spec.scaled(factor) if way == "scaled" else getattr(spec, way)()
        other = solved(relative.text())
    assert other is not None, f"refused only when {way}"
    hold(other)
    overlap(plain, other, 8.0 if way == "scaled" else 1.0)
    return "held"


# -- junctions ---------------------------------------------------------------------------------------------------------


def random_value(info: ParameterInfo, rng: random.Random) -> Any:
    """A value of a parameter within its limits, the limits often."""
    choices: list[Any] = [*info.words, *(MATERIALS if info.material else ())]
    if info.kind is not None and info.minimum is not None and info.maximum is not None:
        low, high = info.minimum / info.kind.factor, info.maximum / info.kind.factor
        choices += [low, high, min(max(round(rng.uniform(low, high), 2), low), high)]
    return rng.choice(choices)


def random_junction(rng: random.Random) -> str:
    """A detail file of a junction with some of its parameters at random."""
    name = rng.choice([one for one in NAMES if one != "free_section"])
    known = list(describe(junctions()[name].parameters))
    chosen = rng.sample(known, rng.randint(0, min(6, len(known))))
    lines = [f'junction = "{name}"', 'title = "Random junction"', "[parameters]"]
    for info in chosen:
        value = random_value(info, rng)
        lines.append(f"{info.name} = " + (f'"{value}"' if isinstance(value, str) else f"{value:g}"))
    return "\n".join(lines) + "\n"


def examine_junction(text: str) -> str:
    """Read a junction's detail and solve its first section; it may be refused, in one message that names a place."""
    try:
        loaded = read(text, Path("random.toml"))
    except InputError as error:
        refused(error)
        return "refused"
    section = loaded.detail.sections[0]
    check_section(section)
    hold(solve_section(replace(section, psi_half_width=1e3), TOLERANCE))
    return "held"
