"""Sections that several tests solve; measures in millimetres, as the published cases print them."""

from __future__ import annotations

import math

from bridge2d.detail import Environment, FlankingElement, Point, Probe, Region, Section, Surface
from bridge2d.materials import Material


def material(conductivity: float, along: float | None = None) -> Material:
    return Material(f"λ {conductivity:g}", conductivity, along)


def mm(*points: tuple[float, float]) -> tuple[Point, ...]:
    return tuple((x / 1000, y / 1000) for x, y in points)


def rectangle(conductivity: float, left: float, low: float, right: float, high: float) -> Region:
    corners = mm((left, low), (right, low), (right, high), (left, high))
    return Region(f"{conductivity:g} at {left:g}, {low:g}", material(conductivity), corners)


def surface(environment: str, resistance: float, *points: tuple[float, float]) -> Surface:
    return Surface(environment, mm(*points), resistance, resistance)


def section(
    regions: list[Region],
    temperatures: dict[str, float],
    surfaces: list[Surface],
    flanking: tuple[FlankingElement, ...] = (),
    probes: dict[str, tuple[float, float]] | None = None,
) -> Section:
    return Section(
        "section",
        "Section",
        tuple(regions),
        tuple(Environment(name, t) for name, t in temperatures.items()),
        tuple(surfaces),
        flanking,
        tuple(Probe(name, mm(point)[0]) for name, point in (probes or {}).items()),
    )


def strip(tiles: list[list[float]], width: float = 100.0, height: float = 100.0, turned: bool = False) -> Section:
    """A block of tiles, tiles[column][row], between two prescribed temperatures left and right, or below and above."""
    columns, rows = len(tiles), len(tiles[0])
    x = [width * i / columns for i in range(columns + 1)]
    y = [height * j / rows for j in range(rows + 1)]
    regions = [rectangle(tiles[i][j], x[i], y[j], x[i + 1], y[j + 1]) for i in range(columns) for j in range(rows)]
    if turned:
        surfaces = [
            surface("one", 0, (0, 0), (width, 0)),
            surface("other", 0, (0, height), (width, height)),
        ]
    else:
        surfaces = [
            surface("one", 0, (0, 0), (0, height)),
            surface("other", 0, (width, 0), (width, height)),
        ]
    return section(regions, {"one": 0, "other": 1}, surfaces)


def quadrants(ratio: float) -> Section:
    return strip([[ratio, 1.0], [1.0, ratio]])


def iso_10211_case_1() -> Section:
    a = 100.0
    probes = {f"{i}/{j}": (i * a, 8 * a - j * a) for j in range(1, 8) for i in range(1, 5)}
    return section(
        [rectangle(1.0, 0, 0, 8 * a, 8 * a)],
        {"hot": 20, "cold": 0},
        [
            surface("hot", 0, (0, 8 * a), (8 * a, 8 * a)),
            surface("cold", 0, (0, 8 * a), (0, 0), (8 * a, 0), (8 * a, 8 * a)),
        ],
        probes=probes,
    )


def iso_10211_case_2() -> Section:
    probes = {
        "A": (0, 47.5), "B": (500, 47.5), "C": (0, 41.5), "D": (15, 41.5), "E": (500, 41.5), "F": (0, 36.5),
        "G": (15, 36.5), "H": (0, 0), "I": (500, 0),
    }  # fmt: skip
    return section(
        [
            rectangle(0.029, 0, 0, 500, 47.5),
            rectangle(1.15, 0, 41.5, 500, 47.5),
            rectangle(0.12, 0, 36.5, 15, 41.5),
            rectangle(230, 0, 35.0, 15, 36.5),
            rectangle(230, 0, 1.5, 1.5, 35.0),
            rectangle(230, 0, 0, 500, 1.5),
        ],
        {"outside": 0, "inside": 20},
        [surface("outside", 0.06, (0, 47.5), (500, 47.5)), surface("inside", 0.11, (0, 0), (500, 0))],
        probes=probes,
    )


def corner(leg: float, thickness: float) -> Section:
    """Two walls of equal thickness round a corner, inner legs of equal length, temperatures prescribed."""
    end = leg + thickness
    t = thickness
    outline = mm((0, 0), (end, 0), (end, t), (t, t), (t, end), (0, end))
    return section(
        [Region("wall", material(1.0), outline)],
        {"outside": 0, "inside": 1},
        [surface("outside", 0, (0, end), (0, 0), (end, 0)), surface("inside", 0, (t, end), (t, t), (end, t))],
    )


def ring(outer: float, inner: tuple[Point, ...]) -> Section:
    """A square [mm] with a hole [m], both at prescribed temperatures."""
    h = outer / 2
    square = ((-h, -h), (h, -h), (h, h), (-h, h))
    return section(
        [Region("ring", material(1.0), mm(*square), holes=(inner,))],
        {"outside": 0, "inside": 1},
        [
            surface("outside", 0, *square, square[0]),
            Surface("inside", (*inner, inner[0]), 0, 0),
        ],
    )


def circle(radius: float, sides: int, centre: Point = (0.0, 0.0)) -> tuple[Point, ...]:
    """A polygon [m] with the area of a circle of that radius [mm]."""
    equal = radius / 1000 * math.sqrt(2 * math.pi / sides / math.sin(2 * math.pi / sides))
    angles = [2 * math.pi * (k + 0.5) / sides for k in range(sides)]
    return tuple((centre[0] + equal * math.cos(a), centre[1] + equal * math.sin(a)) for a in angles)


def slab(cold: dict[str, float]) -> Section:
    """Three layers, 1 m wide; outside in as many equal parts as there are temperatures."""
    width = 1000.0 / len(cold)
    outside = [surface(name, 0.04, (k * width, 0), ((k + 1) * width, 0)) for k, name in enumerate(cold)]
    return section(
        [rectangle(1.0, 0, 0, 1000, 100), rectangle(0.04, 0, 100, 1000, 200), rectangle(0.7, 0, 200, 1000, 400)],
        {"inside": 20, **cold},
        [surface("inside", 0.13, (0, 400), (1000, 400)), *outside],
        probes={"left": (0, 400), "middle": (500, 400), "right": (1000, 400)},
    )
