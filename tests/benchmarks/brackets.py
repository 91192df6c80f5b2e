"""A bracket of 0.01 % on L2D beside NGSolve fourth order without bound, for five sections, in one run.

Run: python -m tests.benchmarks.brackets            (needs the extra `benchmarks`: pip install '.[benchmarks]')

Sections: problems A (ISO 10211:2017, annex A, case 2) and B (a joist in a wall, see `joist_wall`), the Tollhouse's wall
through a joist, its hatch A, its window's jamb; cavities are frozen beforehand for both. NGSolve is handed the mesh
sizes that reach 0.01 % quickest among those of `SIZES`, sought beforehand and not timed; it gives no bound. This tool
starts from the bare geometry and ends with a bracket of 0.01 %, temperatures settled too. Warm: median of calls in one
process, mesh included. Cold: median of processes, imports included. Memory: peak of such a process. One thread each.
"""

from __future__ import annotations

import itertools
import os
import statistics
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

for variable in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "NGS_NUM_THREADS"):
    os.environ.setdefault(variable, "1")

if TYPE_CHECKING:
    from collections.abc import Callable

    from bridge2d.detail import Section

TOLERANCE = 1e-4
DETAILS = Path(__file__).parents[2] / "details"
SIZES = tuple(itertools.product((0.4, 0.2, 0.1), (0.05, 0.02, 0.01, 0.005, 0.002), (0.5, 0.7)))
"""Longest side, longest side at the corners of regions [m], grading."""
FROM_DETAILS = {
    "Tollhouse joist": ("tollhouse_joist.toml", "through joist"),
    "hatch A": ("tollhouse_hatch_a.toml", "half section"),
    "window jamb": ("tollhouse_window_frame.toml", "jamb"),
}
PROBLEMS = ("A", "B", *FROM_DETAILS)


def problem(name: str) -> Section:
    """The section; its Ψ asks for no narrower bracket than its L2D.

    Args:
        name: one of PROBLEMS.
    """
    from tests.benchmarks.joist_wall import wall
    from tests.shapes import iso_10211_case_2

    if name in FROM_DETAILS:
        from bridge2d.cavities import frozen
        from bridge2d.detail_file import load

        file, section = FROM_DETAILS[name]
        detail = load(DETAILS / file).detail
        of = frozen(next(one for one in detail.sections if one.name == section))[0]
        of = replace(of, regions=tuple(replace(region, cavity=None) for region in of.regions))
    else:
        of = iso_10211_case_2() if name == "A" else wall()
    return replace(of, psi_half_width=1e3)


def ours(of: Section, tolerance: float = TOLERANCE) -> float:
    """L2D by this tool [W/(m·K)].

    Args:
        of: the section.
        tolerance: relative width of the bracket.
    """
    from bridge2d.section_results import solve_section
    from bridge2d.sparse import forget

    forget()  # as of a section that was not solved before
    bracket = solve_section(of, tolerance).l2d
    assert bracket is not None
    assert bracket.upper - bracket.lower <= tolerance * bracket.value
    return bracket.value


def ngsolve(of: Section, sizes: tuple[float, float, float]) -> float:
    """L2D by NGSolve, fourth order, on a netgen mesh graded to the corners of regions [W/(m·K)].

    Args:
        of: the section.
        sizes: see SIZES.
    """
    import ngsolve as ng
    import numpy as np
    from netgen.occ import Glue, OCCGeometry, WorkPlane

    from bridge2d.solution import tensors

    ends = {point for surface in of.surfaces for point in surface.edge}

    def face(outline: tuple[tuple[float, float], ...]):  # type: ignore[no-untyped-def]
        polygon = _with_points(outline, ends)
        plane = WorkPlane().MoveTo(*polygon[0])
        for point in polygon[1:]:
            plane.LineTo(*point)
        return plane.Close().Face()

    longest, at_corners, grading = sizes
    parts: list[object] = []
    covered = None
    for number in reversed(range(len(of.regions))):
        region = of.regions[number]
        whole = face(region.polygon)
        part = whole
        for hole in region.holes:
            part = part - face(hole)
        part = part if covered is None else part - covered
        for one in part.faces:
            one.name = f"region{number}"
            parts.append(one)
        covered = whole if covered is None else covered + whole
    glued = Glue(parts)
    for vertex in glued.vertices:
        vertex.maxh = at_corners
    for edge in glued.edges:
        edge.name = _surface_at(of, edge.center.x, edge.center.y)
    mesh = ng.Mesh(OCCGeometry(glued, dim=2).GenerateMesh(maxh=longest, grading=grading))
    conductivity = tensors(of)
    k = mesh.MaterialCF(
        {
            f"region{n}": ng.CoefficientFunction(tuple(conductivity[n].ravel()), dims=(2, 2))
            for n in range(len(conductivity))
        }
    )
    space = ng.H1(mesh, order=4)
    u, v = space.TnT()
    films = {f"surface{n}": 1.0 / s.resistance for n, s in enumerate(of.surfaces)}
    warmest = of.environments[int(np.argmax([e.temperature for e in of.environments]))].name
    warm_films = {f"surface{n}": 1.0 / s.resistance for n, s in enumerate(of.surfaces) if s.environment == warmest}
    film, warm = mesh.BoundaryCF(films, default=0), mesh.BoundaryCF(warm_films, default=0)
    a = ng.BilinearForm(
        ng.InnerProduct(k * ng.grad(u), ng.grad(v)) * ng.dx + film * u * v * ng.ds, symmetric=True, condense=True
    )
    f = ng.LinearForm(warm * v * ng.ds)
    a.Assemble()
    f.Assemble()
    solution, rhs = ng.GridFunction(space), f.vec
    rhs.data += a.harmonic_extension_trans * rhs
    solution.vec.data = a.mat.Inverse(space.FreeDofs(True), inverse="sparsecholesky") * rhs
    solution.vec.data += a.inner_solve * rhs
    solution.vec.data += a.harmonic_extension * solution.vec
    copies = 2.0 if of.mirrored else 1.0
    return copies * float(ng.Integrate(warm * (1 - solution), mesh, ng.BND))


def _with_points(
    outline: tuple[tuple[float, float], ...], points: set[tuple[float, float]]
) -> list[tuple[float, float]]:
    """The outline with those of the points that lie within its sides."""
    result = []
    for (x0, y0), (x1, y1) in zip(outline, (*outline[1:], outline[0]), strict=True):
        length = ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5
        inside = []
        for x, y in points:
            off = abs((x - x0) * (y1 - y0) - (y - y0) * (x1 - x0)) / length
            along = ((x - x0) * (x1 - x0) + (y - y0) * (y1 - y0)) / length
            if off < 1e-7 and 1e-6 < along < length - 1e-6:
                inside.append((along, (x, y)))
        result += [(x0, y0), *(point for _, point in sorted(inside))]
    return result


def _surface_at(of: Section, x: float, y: float) -> str:
    """Name of the surface on which a point lies, or of none."""
    for number, surface in enumerate(of.surfaces):
        for (x0, y0), (x1, y1) in itertools.pairwise(surface.edge):
            length = ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5
            off = abs((x - x0) * (y1 - y0) - (y - y0) * (x1 - x0)) / length
            along = ((x - x0) * (x1 - x0) + (y - y0) * (y1 - y0)) / length
            if off < 1e-7 and -1e-7 < along < length + 1e-7:
                return f"surface{number}"
    return "adiabatic"


def timed(call: Callable[[], object], repeats: int) -> float:
    """Median time of a call after a first one [s]."""
    call()
    times = []
    for _ in range(repeats):
        begun = time.perf_counter()
        call()
        times.append(time.perf_counter() - begun)
    return statistics.median(times)


def sought(of: Section, exact: float) -> tuple[float, float, float] | None:
    """The mesh sizes with which NGSolve is within the tolerance quickest; None if with none."""
    reached = [sizes for sizes in SIZES if abs(ngsolve(of, sizes) / exact - 1) <= TOLERANCE]
    found = [(timed(lambda s=sizes: ngsolve(of, s), 2), sizes) for sizes in reached]
    return min(found)[1] if found else None


def cold(name: str, who: str, sizes: tuple[float, float, float]) -> tuple[float, float]:
    """Median time of whole processes [s] and their peak memory [MB]; the section is built within."""
    call = [sys.executable, "-m", __spec__.name, name, who, *map(str, sizes)]
    answers = []
    times = []
    for _ in range(5):
        begun = time.perf_counter()
        answers.append(subprocess.run(call, check=True, capture_output=True, text=True).stdout)
        times.append(time.perf_counter() - begun)
    return statistics.median(times), float(answers[-1])


def main() -> None:
    """Print the table."""
    print(
        f"{'section':16} {'warm':>8} {'partner':>8} {'ratio':>6} {'cold':>8} {'partner':>8} {'ratio':>6} {'memory':>8}"
    )
    for name in PROBLEMS:
        of = problem(name)
        sizes = sought(of, ours(of, 1e-6))
        if sizes is None:
            print(f"{name:16} NGSolve is not within 0.01 % on any of the meshes tried")
            continue
        warm = [timed(call, 7) for call in (lambda o=of: ours(o), lambda o=of, s=sizes: ngsolve(o, s))]
        (here, memory), (there, _) = (cold(name, who, sizes) for who in ("ours", "ngsolve"))
        print(
            f"{name:16} {1e3 * warm[0]:5.0f} ms {1e3 * warm[1]:5.0f} ms {warm[0] / warm[1]:6.2f} "
            f"{1e3 * here:5.0f} ms {1e3 * there:5.0f} ms {here / there:6.2f} {memory:5.0f} MB",
            flush=True,
        )


if __name__ == "__main__":
    if len(sys.argv) > 1:
        from tests.benchmarks.memory import peak_megabytes

        at_hand = problem(sys.argv[1])
        if sys.argv[2] == "ours":
            ours(at_hand)
        else:
            longest, corner, grading = map(float, sys.argv[3:6])
            ngsolve(at_hand, (longest, corner, grading))
        print(peak_megabytes())
    else:
        main()
