"""Time to 0.01 % of L2D for a joist in an insulated wall: this tool beside NGSolve and plain scikit-fem, in one run.

Run: python -m tests.benchmarks.joist_wall            (needs the extra `benchmarks`: pip install '.[benchmarks]')

The wall: 1.5 m high; brick 330 mm (0.79), insulation 140 mm (0.039), plasterboard 13 mm (0.25); a joist 240 mm deep
(0.13) at mid-height reaches 110 mm into the brick and ends flush with the plasterboard; films 0.04 and 0.13 m²·K/W.

The partners are handed mesh sizes that were found beforehand to reach 0.01 %; they give no bound on their error. This
tool starts from the bare geometry, finds its mesh itself and returns a guaranteed bracket of 0.01 %. Warm: median of
repeated calls in one process, mesh included. Cold: median of whole processes, imports included. One thread each.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bridge2d.detail import Section

# Read when the libraries are first imported, which happens inside the functions.
for variable in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "NGS_NUM_THREADS"):
    os.environ.setdefault(variable, "1")

HEIGHT, DEPTH = 1.5, 0.24
LOW, HIGH = (HEIGHT - DEPTH) / 2, (HEIGHT + DEPTH) / 2
FACES = (0.0, 0.33, 0.47, 0.483)
END = 0.22
BRICK, INSULATION, BOARD, TIMBER = 0.79, 0.039, 0.25, 0.13
OUTSIDE, INSIDE = 0.04, 0.13
RECTANGLES = (
    (BRICK, FACES[0], 0.0, FACES[1], HEIGHT),
    (INSULATION, FACES[1], 0.0, FACES[2], HEIGHT),
    (BOARD, FACES[2], 0.0, FACES[3], HEIGHT),
    (TIMBER, END, LOW, FACES[3], HIGH),
)
TOLERANCE = 1e-4


def wall() -> Section:
    """The section; its Ψ asks for no narrower bracket than its L2D."""
    from tests.shapes import rectangle, section, surface

    height = 1000 * HEIGHT
    regions = [rectangle(k, *(1000 * v for v in box)) for k, *box in RECTANGLES]
    of = section(
        regions,
        {"outside": 0, "inside": 1},
        [surface("outside", OUTSIDE, (0, 0), (0, height)), surface("inside", INSIDE, (483, 0), (483, height))],
    )
    return replace(of, psi_half_width=1.0)


def ours(tolerance: float = TOLERANCE) -> float:
    """L2D by this tool [W/(m·K)]."""
    from bridge2d.section_results import solve_section

    result = solve_section(wall(), tolerance)
    assert result.l2d is not None
    assert result.l2d.upper - result.l2d.lower <= tolerance * result.l2d.value
    return result.l2d.value


def ngsolve() -> float:
    """L2D by NGSolve, fourth order, on a netgen mesh graded to the joist's corners [W/(m·K)]."""
    import ngsolve as ng
    from netgen.occ import Glue, OCCGeometry, X

    def face(x0: float, y0: float, x1: float, y1: float):  # type: ignore[no-untyped-def]
        from netgen.occ import WorkPlane

        return WorkPlane().MoveTo(x0, y0).Rectangle(x1 - x0, y1 - y0).Face()

    joist = face(*RECTANGLES[3][1:])
    joist.faces.name = "timber"
    parts = [joist]
    for name, (_, *box) in zip(("brick", "insulation", "board"), RECTANGLES[:3], strict=True):
        part = face(*box) - joist
        part.faces.name = name
        parts.append(part)
    whole = Glue(parts)
    whole.edges.Min(X).name = "outside"
    for edge in whole.edges:
        if abs(edge.center.x - FACES[3]) < 1e-9:
            edge.name = "inside"
    for vertex in whole.vertices:
        if any(
            abs(vertex.p.x - x) < 1e-9 and abs(vertex.p.y - y) < 1e-9 for x in (END, *FACES[1:]) for y in (LOW, HIGH)
        ):
            vertex.maxh = NGSOLVE_CORNER
    mesh = ng.Mesh(OCCGeometry(whole, dim=2).GenerateMesh(maxh=0.2, grading=NGSOLVE_GRADING))
    k = mesh.MaterialCF({"brick": BRICK, "insulation": INSULATION, "board": BOARD, "timber": TIMBER})
    space = ng.H1(mesh, order=4)
    u, v = space.TnT()
    film = mesh.BoundaryCF({"outside": 1 / OUTSIDE, "inside": 1 / INSIDE}, default=0)
    warm = mesh.BoundaryCF({"inside": 1 / INSIDE}, default=0)
    a = ng.BilinearForm(k * ng.grad(u) * ng.grad(v) * ng.dx + film * u * v * ng.ds, symmetric=True, condense=True)
    f = ng.LinearForm(warm * v * ng.ds)
    a.Assemble()
    f.Assemble()
    solution = ng.GridFunction(space)
    rhs = f.vec
    rhs.data += a.harmonic_extension_trans * rhs
    inverse = a.mat.Inverse(space.FreeDofs(True), inverse="sparsecholesky")
    solution.vec.data = inverse * rhs
    solution.vec.data += a.inner_solve * rhs
    solution.vec.data += a.harmonic_extension * solution.vec
    return float(ng.Integrate(warm * (1 - solution), mesh, ng.BND))


NGSOLVE_CORNER, NGSOLVE_GRADING = 0.005, 0.7


def scikit_fem() -> float:
    """L2D by plain scikit-fem, third order, on a gmsh mesh graded to the joist's corners [W/(m·K)]."""
    import gmsh
    import numpy as np
    import skfem
    from skfem.helpers import dot, grad

    gmsh.initialize(interruptible=False)
    gmsh.option.setNumber("General.Terminal", 0)
    boxes = [(2, gmsh.model.occ.addRectangle(x0, y0, 0, x1 - x0, y1 - y0)) for _, x0, y0, x1, y1 in RECTANGLES]
    gmsh.model.occ.fragment(boxes[:3], boxes[3:])
    gmsh.model.occ.synchronize()
    corners = [
        tag
        for _, tag in gmsh.model.getEntities(0)
        if (p := gmsh.model.getValue(0, tag, []))[0] > END - 1e-6 and min(abs(p[1] - LOW), abs(p[1] - HIGH)) < 1e-6
    ]
    gmsh.model.mesh.setSize(gmsh.model.getEntities(0), 0.25)
    gmsh.model.mesh.setSize([(0, tag) for tag in corners], SCIKIT_FEM_CORNER)
    gmsh.model.mesh.generate(2)
    tags, points, _ = gmsh.model.mesh.getNodes()
    number = np.zeros(int(tags.max()) + 1, dtype=int)
    number[tags] = np.arange(tags.size)
    nodes = gmsh.model.mesh.getElements(2)[2][0]
    gmsh.finalize()
    mesh = skfem.MeshTri(points.reshape(-1, 3).T[:2].copy(), number[nodes].reshape(-1, 3).T.copy())
    middle = mesh.p[:, mesh.t].mean(axis=1)
    k = np.zeros(mesh.t.shape[1])
    for value, x0, y0, x1, y1 in RECTANGLES:
        k[(middle[0] > x0) & (middle[0] < x1) & (middle[1] > y0) & (middle[1] < y1)] = value
    element = skfem.ElementTriP3()
    basis = skfem.Basis(mesh, element)

    @skfem.BilinearForm
    def conduction(u, v, w):  # type: ignore[no-untyped-def]
        return w.k * dot(grad(u), grad(v))

    @skfem.BilinearForm
    def film(u, v, _):  # type: ignore[no-untyped-def]
        return u * v

    @skfem.LinearForm
    def load(v, _):  # type: ignore[no-untyped-def]
        return v

    sides = {
        R: skfem.FacetBasis(mesh, element, facets=mesh.facets_satisfying(lambda p, x=x: abs(p[0] - x) < 1e-9))
        for R, x in ((OUTSIDE, FACES[0]), (INSIDE, FACES[3]))
    }
    matrix = conduction.assemble(basis, k=np.tile(k[:, None], basis.X.shape[1]))
    for resistance, side in sides.items():
        matrix = matrix + film.assemble(side) / resistance
    vector = load.assemble(sides[INSIDE]) / INSIDE
    u = skfem.solve(matrix, vector)
    return float(HEIGHT / INSIDE - vector @ u)


SCIKIT_FEM_CORNER = 0.01

SOLVERS: dict[str, Callable[[], float]] = {"this tool": ours, "NGSolve": ngsolve, "scikit-fem": scikit_fem}


def warm(solver: Callable[[], float], repeats: int = 9) -> float:
    """Median time of a call [s]."""
    solver()
    times = []
    for _ in range(repeats):
        begun = time.perf_counter()
        solver()
        times.append(time.perf_counter() - begun)
    return statistics.median(times)


def cold(name: str, repeats: int = 5) -> float:
    """Median time of a whole process [s]."""
    times = []
    for _ in range(repeats):
        begun = time.perf_counter()
        subprocess.run([sys.executable, "-m", __spec__.name, name], check=True, stdout=subprocess.DEVNULL)
        times.append(time.perf_counter() - begun)
    return statistics.median(times)


def main() -> None:
    """Print the table."""
    exact = ours(1e-6)
    print(f"L2D {exact:.6f} W/(m·K), from a bracket of 1e-6\n")
    print(f"{'solver':12} {'off by':>9} {'warm':>9} {'ours to it':>11} {'cold':>9} {'ours to it':>11}")
    warms = {name: warm(solver) for name, solver in SOLVERS.items()}
    colds = {name: cold(name) for name in SOLVERS}
    for name, solver in SOLVERS.items():
        off = abs(solver() / exact - 1)
        bracket = "bracketed" if name == "this tool" else "no bound"
        print(
            f"{name:12} {off:9.1e} {1000 * warms[name]:6.0f} ms {warms['this tool'] / warms[name]:11.2f} "
            f"{1000 * colds[name]:6.0f} ms {colds['this tool'] / colds[name]:11.2f}  {bracket}"
        )


if __name__ == "__main__":
    if len(sys.argv) > 1:
        print(SOLVERS[sys.argv[1]]())
    else:
        main()
