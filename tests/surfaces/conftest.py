"""Details whose fields are written down instead of solved, so that drawings and reports are tested without numerics.

`wall` has the exact fields of plane layers. `joist` has made-up smooth fields on real shapes: right for a picture, and
for nothing else.
"""

from __future__ import annotations

import json
import pickle
from collections.abc import Callable, Iterator
from functools import cache, wraps
from itertools import pairwise
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from bridge2d import gmsh_mesh
from bridge2d.calculate import calculate
from bridge2d.cli import main
from bridge2d.detail import (
    AirtightPiece,
    Combination,
    Detail,
    Dimension,
    Environment,
    FlankingElement,
    Probe,
    Region,
    Requirement,
    Section,
    Surface,
    WatchedLine,
)
from bridge2d.detail_file import read
from bridge2d.materials import Material
from bridge2d.recheck import again
from bridge2d.results import (
    Bounded,
    Check,
    Chi,
    Coupling,
    DetailResult,
    Fields,
    FlankingResult,
    HeatFlow,
    Layer,
    Pass,
    ProbeResult,
    Psi,
    RequirementResult,
    SectionResult,
    TemperatureFactor,
    TraceTerm,
)
from tests import small_detail

BRICK = Material("old brick", 0.77, hatch="brick", group="masonry", source="invented for the test", vapour_factor=8.0)
WOOL = Material("wood fibre", 0.040, hatch="insulation_soft", source="invented for the test", low=0.038, high=0.045)
BOARD = Material("lime plaster", 0.80, hatch="plaster", source="invented for the test", read=True)
TIMBER = Material("softwood", 0.13, 0.22, hatch="timber", source="invented for the test")
LAYERS = ((BRICK, 0.33), (WOOL, 0.06), (BOARD, 0.015))
R_SE, R_SI = 0.04, 0.13


def grid(x: np.ndarray, y: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Points and quadratic triangles on a grid of cells, each cut along its diagonal."""
    wide = np.sort(np.concatenate([x, 0.5 * (x[1:] + x[:-1])]))
    high = np.sort(np.concatenate([y, 0.5 * (y[1:] + y[:-1])]))
    points = np.array([[a, b] for b in high for a in wide])
    n = len(wide)
    corner = (2 * np.arange(len(y) - 1)[:, None] * n + 2 * np.arange(len(x) - 1)[None, :]).ravel()[:, None]
    below = corner + np.array([0, 2, 2 + 2 * n, 1, 2 + n, 1 + n])
    above = corner + np.array([0, 2 + 2 * n, 2 * n, 1 + n, 1 + 2 * n, n])
    return points, np.stack([below, above], axis=1).reshape(-1, 6)


def rectangle(left: float, low: float, right: float, high: float) -> tuple[tuple[float, float], ...]:
    return ((left, low), (right, low), (right, high), (left, high))


def plane_temperature(x: np.ndarray, r_si: float = R_SI) -> np.ndarray:
    """Exact temperature of the plane wall between −5 and 20 °C."""
    edges = np.cumsum([0.0, *(d for _, d in LAYERS)])
    resistance = np.cumsum([R_SE, *(d / m.conductivity for m, d in LAYERS)])
    return -5.0 + 25.0 * np.interp(x, edges, resistance) / (resistance[-1] + r_si)


def outward_region(points: np.ndarray, triangles: np.ndarray, regions: tuple[Region, ...]) -> np.ndarray:
    """Number of the last rectangular region around each triangle's middle."""
    middle = points[triangles[:, :3]].mean(axis=1)
    found = np.zeros(len(triangles), dtype=np.int64)
    for number, region in enumerate(regions):
        box = np.array(region.polygon)
        found[((middle > box.min(axis=0)) & (middle < box.max(axis=0))).all(axis=1)] = number
    return found


def section_result(section: Section, fields: Fields, **kept: object) -> SectionResult:
    bounded = Bounded(0.25967, 0.25977)
    flanking = tuple(
        FlankingResult(
            e.name,
            0.5,
            e.lengths,
            tuple(Layer(m.name, d, m.conductivity, d / m.conductivity) for m, d in LAYERS),
            ("outside", "inside"),
            (R_SE, R_SI),
            1.2,
            1.0,
            e.symmetric,
        )
        for e in section.flanking
    )
    values = {
        "section": section,
        "fields": fields,
        "mesher": "grid",
        "l2d": bounded,
        "coupling": (Coupling("outside", "inside", bounded),),
        "heat_flows": (HeatFlow("outside", Bounded(-6.5, -6.4)), HeatFlow("inside", Bounded(6.4, 6.5))),
        "flanking": flanking,
        "f_rsi": (TemperatureFactor("inside", 0.837, 15.925, (0.405, 0.3), 0.25, 0.0012, section.name),),
        "probes": tuple(ProbeResult(p.name, p.point, 1.234, 1.111, 0.02, section.name) for p in section.probes),
        "watched": tuple(ProbeResult(w.name, w.line[0], -1.05, -1.21, 0.01, section.name) for w in section.watched),
        "passes": (Pass(120, 277, 0.2578, 0.2612), Pass(660, 1377, 0.25967, 0.25977)),
        "balance": 1.2e-13,
        "checks": (
            Check("heat balance", "less than 0.0001", "1.2e-13", True, "ISO 10211"),
            Check("doubling criterion", "less than 1 %", "unknown", None, "ISO 10211"),
        ),
    }
    return SectionResult(**{**values, **kept})


@pytest.fixture
def wall() -> SectionResult:
    """A plane wall, 0.6 m of it, with the exact fields."""
    edges = np.cumsum([0.0, *(d for _, d in LAYERS)])
    regions = tuple(
        Region(m.name, m, rectangle(a, 0.0, b, 0.6)) for (m, _), a, b in zip(LAYERS, edges, edges[1:], strict=False)
    )
    x = np.unique(np.concatenate([np.linspace(a, b, 4) for a, b in pairwise(edges)]))
    points, triangles = grid(x, np.linspace(0.0, 0.6, 7))
    thick = float(edges[-1])
    flow = 25.0 / (R_SE + R_SI + sum(d / m.conductivity for m, d in LAYERS))
    fields = Fields(
        points,
        triangles,
        outward_region(points, triangles, regions),
        plane_temperature(points[:, 0]),
        plane_temperature(points[:, 0], 0.25),
        (flow * points[:, 1])[triangles],
        np.stack([m.conductivity * np.eye(2) for m, _ in LAYERS]),
    )
    section = Section(
        "wall",
        "Plane wall",
        regions,
        (Environment("outside", -5.0), Environment("inside", 20.0)),
        (
            Surface("outside", ((0.0, 0.6), (0.0, 0.0)), R_SE, R_SE),
            Surface("inside", ((thick, 0.0), (thick, 0.6)), R_SI, 0.25),
        ),
        dimensions=tuple(
            Dimension((a, 0.6), (b, 0.6), f"d_{k}", "top") for k, (a, b) in enumerate(pairwise(edges.tolist()), start=1)
        ),
    )
    return section_result(section, fields)


def joist_section(mirrored: bool = True) -> Section:
    """Plan of a joist in a wall, x along the wall; the half at x ≥ 0."""
    regions = (
        Region("masonry", BRICK, rectangle(0.0, 0.0, 0.3, 0.33)),
        Region("insulation", WOOL, rectangle(0.04, 0.33, 0.3, 0.39)),
        Region("finish", BOARD, rectangle(0.04, 0.39, 0.3, 0.405)),
        Region("joist", TIMBER, rectangle(0.0, 0.22, 0.04, 1.405), grain_direction=90.0),
    )
    return Section(
        "plan",
        "Plan through the joist",
        regions,
        (Environment("outside", -5.0), Environment("inside", 20.0)),
        (
            Surface("outside", ((0.0, 0.0), (0.3, 0.0)), R_SE, R_SE),
            Surface("inside", ((0.3, 0.405), (0.04, 0.405), (0.04, 1.405)), R_SI, 0.25),
        ),
        (FlankingElement("wall", ((0.3, 0.0), (0.3, 0.405)), {"external": 0.6, "internal": 0.6}, symmetric=True),),
        (Probe("middle of the end face", (0.0, 0.22)),),
        (WatchedLine("joist's end face", ((0.0, 0.22), (0.04, 0.22))),),
        (AirtightPiece("parge coat", ((0.04, 0.33), (0.3, 0.33))),),
        (
            Dimension((0.3, 0.0), (0.3, 0.33), "d_1", "right"),
            Dimension((0.3, 0.33), (0.3, 0.39), "d_2", "right"),
            Dimension((0.3, 0.39), (0.3, 0.405), "d_3", "right"),
            Dimension((-0.04, 0.0), (0.04, 0.0), "b", "bottom"),
            Dimension((-0.3, 0.0), (0.3, 0.0), "s", "bottom", 1),
            Dimension((-0.3, 0.22), (-0.3, 0.33), "a", "left"),
        ),
        mirrored=mirrored,
    )


@pytest.fixture
def joist() -> SectionResult:
    """A joist in a wall with made-up smooth fields; a picture, not a result."""
    section = joist_section()
    x = np.unique(np.concatenate([np.linspace(0.0, 0.04, 4), np.linspace(0.04, 0.3, 9)]))
    levels = (0.0, 0.22, 0.33, 0.39, 0.405, 1.405)
    y = np.unique(np.concatenate([np.linspace(a, b, 6) for a, b in pairwise(levels)]))
    points, triangles = grid(x, y)
    middle = points[triangles[:, :3]].mean(axis=1)
    triangles = triangles[(middle[:, 1] < 0.405) | (middle[:, 0] < 0.04)]
    used, numbers = np.unique(triangles, return_inverse=True)
    points, triangles = points[used], numbers.reshape(-1, 6)
    a, b = points.T
    warm = -4.0 + 23.0 / (1.0 + np.exp(-14.0 * (b - 0.30 - 0.05 * np.cos(10.0 * a))))
    stream = 6.0 * np.sin(np.pi * np.minimum(a, 0.3) / 0.6) * (1.0 + 0.2 * b)
    fields = Fields(
        points,
        triangles,
        outward_region(points, triangles, section.regions),
        warm,
        warm - 0.8,
        stream[triangles],
        np.stack([r.material.conductivity * np.eye(2) for r in section.regions]),
    )
    factor = TemperatureFactor("inside", 0.837, 15.925, (0.04, 0.405), 0.25, 0.0012, "plan")
    return section_result(section, fields, f_rsi=(factor,))


@pytest.fixture
def result(wall: SectionResult, joist: SectionResult) -> DetailResult:
    """A detail with every kind of number and every kind of verdict."""
    requirements = (
        Requirement("psi", 0.05543, "maximum", "edge of the floor", "brief, invented", "external"),
        Requirement("f_rsi", 0.9, "minimum", "mould", "brief, invented"),
        Requirement("psi", 0.06, "maximum", "generous edge", "brief, invented", "external"),
    )
    detail = Detail(
        "Joist end in the toll-keeper's room, invented",
        "joist_pocket",
        (wall.section, joist.section),
        Combination("wall", "plan", 0.22, 0.6),
        requirements,
        (("d_1", "masonry", "330 mm"), ("θ_e", "outside temperature", "-5 °C"), ("", "airtight layer", "parge coat")),
        ("The joist is reduced to a plan section.",),
        ("Have the timber looked at.",),
        "Tollhouse",
        "C",
    )
    l2d = Bounded(0.25967, 0.25977)
    terms = (TraceTerm("wall", 0.337149, 0.65),)
    taken = 0.337149 * 0.65
    chi = Chi(Bounded((l2d.lower - taken) * 0.22, (l2d.upper - taken) * 0.22), l2d, terms, 0.22, 0.6)
    added = Bounded(chi.value.lower / 0.6, chi.value.upper / 0.6)
    value = Bounded(l2d.lower - taken + added.lower, l2d.upper - taken + added.upper)
    psi = tuple(Psi(system, value, l2d, terms, added) for system in ("external", "internal"))
    verdicts = (
        RequirementResult(requirements[0], value.value, met=False, certain=False),
        RequirementResult(requirements[1], 0.837, met=False, certain=True),
        RequirementResult(requirements[2], value.value, met=True, certain=True),
    )
    return DetailResult(
        detail, (wall, joist), psi, chi, (*wall.f_rsi, *joist.f_rsi), verdicts, 0.5, "0.1.0", "ab12" * 16
    )


@pytest.fixture
def loaded(result: DetailResult) -> SimpleNamespace:
    return SimpleNamespace(
        detail=result.detail,
        text="",
        path=Path("joist.toml"),
        input_hash=result.input_hash,
        drawn=None,
        materials=(),
        data={},
        files={},
    )


# -- real details, solved for the drawings only ----------------------------------------------------------------------

HEAD = 'title = "Tollhouse (invented)"\n'


def joist_detail(parameters: str, rest: str = "") -> str:
    """A joist pocket's detail file."""
    return f'junction = "joist_pocket"\n{HEAD}[parameters]\n{parameters}\n{rest}'


def free_detail(*blocks: str) -> str:
    """A free section's detail file."""
    return "\n".join([f'junction = "free_section"\n{HEAD}', *blocks])


def region_block(name: str, conductivity: object, polygon: str, rest: str = "") -> str:
    return f'[[region]]\nname = "{name}"\nconductivity = {conductivity}\npolygon = {polygon}\n{rest}'


def air_block(name: str, temperature: float, resistance: float, edge: str) -> str:
    return (
        f'[[environment]]\nname = "{name}"\ntemperature = {temperature}\n'
        f"surface_resistance = {resistance}\nedge = {edge}"
    )


def flanking_block(name: str, cut: str, length: float) -> str:
    return f'[[flanking]]\nname = "{name}"\ncut = {cut}\nlengths = {{ external = {length} }}'


def probe_block(name: str, point: str) -> str:
    return f'[[probe]]\nname = "{name}"\npoint = {point}'


PLANE_WALL = free_detail(
    region_block("brick", 0.77, "[[0, 0], [330, 0], [330, 1000], [0, 1000]]"),
    region_block("foam board", 0.04, "[[330, 0], [410, 0], [410, 1000], [330, 1000]]"),
    air_block("outside", -5, 0.04, "[[0, 0], [0, 1000]]"),
    air_block("room", 20, 0.13, "[[410, 0], [410, 1000]]"),
    flanking_block("wall", "[[0, 0], [410, 0]]", 1000),
    probe_block("behind the board", "[330, 500]"),
)
CORNER = free_detail(
    region_block("brick", 0.77, "[[0, 0], [1600, 0], [1600, 330], [330, 330], [330, 1600], [0, 1600]]"),
    region_block("foam board", 0.04, "[[330, 330], [1600, 330], [1600, 410], [410, 410], [410, 1600], [330, 1600]]"),
    air_block("outside", -5, 0.04, "[[0, 1600], [0, 0], [1600, 0]]"),
    air_block("room", 20, 0.13, "[[1600, 410], [410, 410], [410, 1600]]"),
    flanking_block("wall to the right", "[[1600, 0], [1600, 410]]", 1600),
    flanking_block("wall upward", "[[0, 1600], [410, 1600]]", 1600),
    probe_block("outer corner", "[0, 0]"),
    probe_block("inner corner", "[410, 410]"),
    '[[airtight]]\nname = "plaster on the brick"\nline = [[1600, 330], [330, 330], [330, 1600]]',
)
SHAFT = "[[420, 120], [580, 120], [580, 280], [420, 280]]"
WITH_HOLE = free_detail(
    region_block("concrete", 1.6, "[[0, 0], [1000, 0], [1000, 400], [0, 400]]", f"holes = [{SHAFT}]"),
    region_block("lagging", 0.035, "[[400, 100], [600, 100], [600, 300], [400, 300]]", f"holes = [{SHAFT}]"),
    air_block("outside", -10, 0.04, "[[0, 0], [1000, 0]]"),
    air_block("room", 22, 0.13, "[[0, 400], [1000, 400]]"),
    air_block("shaft", 5, 0.1, "[[420, 120], [580, 120], [580, 280], [420, 280], [420, 120]]"),
    probe_block("over the shaft", "[500, 300]"),
)
OBLIQUE = free_detail(
    region_block("rafter zone", 0.05, "[[0, 0], [1600, 800], [1520, 980], [-80, 180]]"),
    region_block(
        "boards", "[0.22, 0.13]", "[[-80, 180], [1520, 980], [1509, 1002], [-91, 202]]", "grain_direction = 26.6"
    ),
    air_block("outside", -5, 0.04, "[[-91, 202], [1509, 1002]]"),
    air_block("attic", 20, 0.13, "[[0, 0], [1600, 800]]"),
    probe_block("under the boards", "[720, 580]"),
)
REAL_DETAILS = {
    "joist": joist_detail("render_thickness = 15"),
    "thin_wall": joist_detail(
        "masonry_thickness = 110\nbearing_length = 60\nend_gap = 5\nside_gap = 5\ninsulation_thickness = 60\n"
        "bay_insulation_thickness = 60\npad_thickness = 20"
    ),
    "thick_wall": joist_detail(
        "masonry_thickness = 900\nbearing_length = 250\ncavity_thickness = 30\npad_thickness = 25",
        '[[requirement]]\nquantity = "f_rsi"\nminimum = 0.7\nsource = "brief, invented"',
    ),
    "close": joist_detail("joist_spacing = 250\nboard_thickness = 12.5\nrender_thickness = 20"),
    "wide": joist_detail("joist_spacing = 1400\njoist_depth = 222.25"),
    "no_parge": joist_detail("parge_thickness = 0\nend_gap = 0\nside_gap = 0\nairtight_layer = 'membrane'"),
    "membrane": joist_detail('airtight_layer = "membrane"\nbay_insulation_thickness = 0'),
    "no_ceiling": joist_detail("ceiling_thickness = 0"),
    "no_subfloor": joist_detail("subfloor_thickness = 0\nboard_thickness = 0"),
    "plane_wall": PLANE_WALL,
    "corner": CORNER,
    "with_hole": WITH_HOLE,
    "oblique": OBLIQUE,
}
"""Detail files, all invented."""


@pytest.fixture(scope="session")
def real() -> Callable[[str], DetailResult]:
    """A real detail by its name, computed once and coarsely: for pictures and words, not for numbers."""

    @cache
    def computed(name: str) -> DetailResult:
        return calculate(read(REAL_DETAILS[name], Path(f"{name}.toml"), geometry=False).detail, tolerance=1e-2)

    return computed


@pytest.fixture(scope="session", autouse=True)
def solved_again() -> Iterator[None]:
    """A recheck solves a section for the first time, and is given the same result where it asks the same once more."""
    solve, known = again._solved, {}

    @wraps(solve)
    def solved(section: Section, then: str, tolerance: float) -> tuple[SectionResult, again.Mesh]:
        key = pickle.dumps((section, then, tolerance)), gmsh_mesh.load_gmsh  # which a test lets fail
        if key not in known:
            known[key] = solve(section, then, tolerance)
        return known[key]

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(again, "_solved", solved)
        yield


@pytest.fixture
def check(tmp_path, capsys) -> Callable[[bytes], tuple[int, dict, str]]:
    """Exit status, JSON and message of a recheck of the bytes of a PDF."""

    def checked(data: bytes) -> tuple[int, dict, str]:
        file = tmp_path / "checked.pdf"
        file.write_bytes(data)
        capsys.readouterr()
        status = main(["recheck", str(file), "--json"])
        out, err = capsys.readouterr()
        assert err.count("\n") == (1 if status == 2 else 0)
        return status, json.loads(out) if out else {}, err

    return checked


@pytest.fixture
def corner(tmp_path: Path) -> Path:
    """The file of a wall's corner."""
    file = tmp_path / "corner.toml"
    file.write_text(small_detail.CORNER, encoding="utf-8")
    return file
