"""The published cases solved by two independent finite-element codes, NGSolve and SfePy, on meshes of their own.

No validation: agreement of programs. Each is skipped where it is not installed (extra `solvers`). Their energies are
upper bounds of the heat flow, so they lie above our lower bound, and within the accuracy that their meshes reach.
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from bridge2d.calculate import calculate
from bridge2d.detail import Section
from bridge2d.detail_file import load
from bridge2d.results import Bounded
from bridge2d.solution import tensors
from bridge2d.verify.cases import published_cases

FILES = {case.name: case.files[0] for case in published_cases() if case.files}
ACCURACY = 2e-3
"""What their meshes reach, as a share of L2D; fine enough to tell a wrong surface or material."""

pytestmark = pytest.mark.filterwarnings("ignore")  # their warnings are not ours


def ours(name: str) -> tuple[Section, Bounded]:
    result = calculate(load(FILES[name]).detail, 1e-4).sections[0]
    assert result.l2d is not None
    return result.section, result.l2d


def assert_agrees(found: float, bracket: Bounded) -> None:
    """An upper bound of theirs, not below our lower bound and not far above our upper one."""
    assert found >= bracket.lower * (1 - 1e-9)
    assert found <= bracket.upper * (1 + ACCURACY)


# -- NGSolve: geometry by OpenCASCADE, mesh by Netgen, fourth order ----------------------------------------------------


def on_line(point: tuple[float, float], line: tuple[tuple[float, float], ...]) -> bool:
    """Whether a point lies on a line of straight pieces."""
    for (x, y), (u, v) in pairwise(line):
        length = math.hypot(u - x, v - y)
        across = abs((u - x) * (point[1] - y) - (v - y) * (point[0] - x)) / length
        along = ((u - x) * (point[0] - x) + (v - y) * (point[1] - y)) / length
        if across < 1e-9 and -1e-9 <= along <= length + 1e-9:
            return True
    return False


def occ_shape(section: Section, occ: Any) -> Any:
    """The section's regions as faces of one shape, "r" and a number, and its surfaces as edges, "s" and a number."""
    faces: list[Any] = []
    for number, region in enumerate(section.regions):
        work = occ.WorkPlane().MoveTo(*region.polygon[0])
        for point in region.polygon[1:]:
            work = work.LineTo(*point)
        face = work.Close().Face()
        face.faces.name = f"r{number}"
        faces = [one - face for one in faces]
        faces.append(face)
    shape = occ.Glue(faces)
    for edge in shape.edges:
        middle = (edge.center.x, edge.center.y)
        for number, surface in enumerate(section.surfaces):
            if on_line(middle, surface.edge):
                edge.name = f"s{number}"
    return shape


def ngsolve_energy(section: Section) -> float:
    """Energy of the temperature field between the two environments one kelvin apart [W/(m·K) or W/K]."""
    occ = pytest.importorskip("netgen.occ", reason="ngsolve is not installed")
    import ngsolve as ng

    shape = occ_shape(section, occ)
    size = max(max(abs(c) for p in r.polygon for c in p) for r in section.regions)
    mesh = ng.Mesh(occ.OCCGeometry(shape, dim=2).GenerateMesh(maxh=size / 12, quad_dominated=False))
    for _ in range(2):
        mesh.Refine()
    lam = tensors(section)
    conductivity = mesh.MaterialCF(
        {f"r{k}": ng.CoefficientFunction(tuple(lam[k].ravel().tolist()), dims=(2, 2)) for k in range(len(lam))}
    )
    weight = 2 * math.pi * ng.x if section.revolution else ng.CoefficientFunction(1.0)
    names = [environment.name for environment in section.environments]
    given = {k: float(names.index(s.environment)) for k, s in enumerate(section.surfaces)}
    fixed = [k for k, s in enumerate(section.surfaces) if s.resistance == 0]
    space = ng.H1(mesh, order=4, dirichlet="|".join(f"s{k}" for k in fixed))
    u, v = space.TnT()
    a, f = ng.BilinearForm(space), ng.LinearForm(space)
    a += weight * (conductivity * ng.grad(u)) * ng.grad(v) * ng.dx
    for k, surface in enumerate(section.surfaces):
        if surface.resistance:
            a += weight / surface.resistance * u * v * ng.ds(f"s{k}")
            f += weight * given[k] / surface.resistance * v * ng.ds(f"s{k}")
    a.Assemble()
    f.Assemble()
    field = ng.GridFunction(space)
    if fixed:
        field.Set(
            mesh.BoundaryCF({f"s{k}": given[k] for k in fixed}, default=0.0),
            definedon=mesh.Boundaries("|".join(f"s{k}" for k in fixed)),
        )
    rest = f.vec.CreateVector()
    rest.data = f.vec - a.mat * field.vec
    field.vec.data += a.mat.Inverse(space.FreeDofs(), "sparsecholesky") * rest
    gradient = ng.grad(field)
    energy = ng.Integrate(weight * (conductivity * gradient) * gradient * ng.dx, mesh)
    for k, surface in enumerate(section.surfaces):
        if surface.resistance:
            energy += ng.Integrate(weight / surface.resistance * (field - given[k]) ** 2 * ng.ds(f"s{k}"), mesh)
    return float(energy)


@pytest.mark.parametrize(
    "name", ["iso_10211_case_2", "iso_14683_balcony", "straight_fin_thick", "grained_corner", "pin_fin", "kite"]
)
def test_ngsolve_agrees(name: str) -> None:
    section, bracket = ours(name)
    assert_agrees(ngsolve_energy(section), bracket)


# -- SfePy: a graded grid of its own, biquadratic ----------------------------------------------------------------------


def graded(edges: list[float], count: int = 16) -> np.ndarray:
    """Coordinates with all edges among them, dense beside each of them (a cosine between two)."""
    spread = 0.5 * (1 - np.cos(np.linspace(0, np.pi, count + 1)))
    parts = [a + (b - a) * spread[:-1] for a, b in pairwise(edges)]
    return np.concatenate([*parts, [edges[-1]]])


def sfepy_energy(section: Section) -> float:
    """The same by SfePy, of a section with edges parallel to the axes."""
    pytest.importorskip("sfepy", reason="sfepy is not installed")
    from sfepy.base.base import output
    from sfepy.discrete import FieldVariable, Integral, Material, Problem
    from sfepy.discrete.conditions import Conditions, EssentialBC
    from sfepy.discrete.equations import Equation, Equations
    from sfepy.discrete.fem import FEDomain, Field, Mesh
    from sfepy.solvers.ls import ScipyDirect
    from sfepy.solvers.nls import Newton
    from sfepy.terms import Term

    output.set_output(quiet=True)
    x, y = (graded(sorted({round(p[axis], 9) for r in section.regions for p in r.polygon})) for axis in (0, 1))
    at = np.arange(len(x) * len(y)).reshape(len(x), len(y))
    cells = np.stack([at[:-1, :-1], at[1:, :-1], at[1:, 1:], at[:-1, 1:]], axis=-1).reshape(-1, 4)
    middles = np.stack(np.meshgrid(0.5 * (x[1:] + x[:-1]), 0.5 * (y[1:] + y[:-1]), indexing="ij"), -1).reshape(-1, 2)
    owner = np.full(len(cells), -1)
    for number, region in enumerate(section.regions):
        owner[within(middles, np.array(region.polygon))] = number
    cells, owner = cells[owner >= 0], owner[owner >= 0]
    points = np.stack(np.meshgrid(x, y, indexing="ij"), -1).reshape(-1, 2)
    used = np.unique(cells)
    new = np.full(len(points), -1)
    new[used] = np.arange(len(used))
    mesh = Mesh.from_data("section", points[used], None, [new[cells]], [owner.astype(np.int32)], ["2_4"])
    domain = FEDomain("section", mesh)
    omega = domain.create_region("Omega", "all")
    field = Field.from_args("temperature", np.float64, "scalar", omega, approx_order=2)
    u, v = FieldVariable("u", "unknown", field), FieldVariable("v", "test", field, primary_var_name="u")
    integral = Integral("i", order=4)
    lam = [region.material.conductivity for region in section.regions]
    terms, fixed = None, []
    for k in np.unique(owner):
        part = domain.create_region(f"R{k}", f"cells of group {k}")
        material = Material(f"m{k}", val=lam[k])
        term = Term.new(f"dw_laplace(m{k}.val, v, u)", integral, part, **{f"m{k}": material, "v": v, "u": u})
        terms = term if terms is None else terms + term
    names = [environment.name for environment in section.environments]
    films = []
    for k, surface in enumerate(section.surfaces):
        line = surface.edge
        region = facets(domain, k, line)
        given = float(names.index(surface.environment))
        if surface.resistance == 0:
            fixed.append(EssentialBC(f"fixed{k}", region, {"u.all": given}))
            continue
        film = Material(f"h{k}", val=1 / surface.resistance, given=given / surface.resistance)
        terms = terms + Term.new(f"dw_dot(h{k}.val, v, u)", integral, region, **{f"h{k}": film, "v": v, "u": u})
        terms = terms - Term.new(f"dw_integrate(h{k}.given, v)", integral, region, **{f"h{k}": film, "v": v})
        length = sum(math.dist(a, b) for a, b in pairwise(line))
        films.append((region, surface.resistance, length, given))
    problem = Problem("section", equations=Equations([Equation("balance", terms)]), active_only=False)
    problem.set_bcs(ebcs=Conditions(fixed))
    problem.set_solver(Newton({"i_max": 1, "eps_a": 1e-8}, lin_solver=ScipyDirect({})))
    problem.solve(save_results=False, verbose=False)
    energy = 0.0
    for k in np.unique(owner):
        energy += lam[k] * problem.evaluate(f"dw_laplace.4.R{k}(u, u)", mode="eval", verbose=False)
    for region, resistance, length, given in films:
        square = problem.evaluate(f"dw_dot.4.{region.name}(u, u)", mode="eval", verbose=False)
        whole = problem.evaluate(f"ev_integrate.4.{region.name}(u)", mode="eval", verbose=False)
        energy += (square - 2 * given * whole + given**2 * length) / resistance
    return float(energy)


def within(points: np.ndarray, polygon: np.ndarray) -> np.ndarray:
    """Whether points lie within a polygon (even-odd rule)."""
    found = np.zeros(len(points), dtype=bool)
    for (x, y), (u, v) in zip(polygon, np.roll(polygon, -1, axis=0), strict=True):
        crosses = (y > points[:, 1]) != (v > points[:, 1])
        if v != y:
            found ^= crosses & (points[:, 0] < (u - x) * (points[:, 1] - y) / (v - y) + x)
    return found


def facets(domain: Any, number: int, line: tuple[tuple[float, float], ...]) -> Any:
    """The sides of the mesh on a surface."""
    from sfepy.discrete import Function, Functions

    def chosen(coordinates: np.ndarray, domain: Any = None) -> np.ndarray:
        del domain
        return np.flatnonzero([on_line(tuple(point), line) for point in coordinates])

    known = Functions([Function(f"on{number}", chosen)])
    return domain.create_region(f"S{number}", f"vertices by on{number}", "facet", functions=known)


@pytest.mark.parametrize("name", ["iso_10211_case_2", "iso_14683_balcony", "straight_fin_thick"])
def test_sfepy_agrees(name: str) -> None:
    section, bracket = ours(name)
    assert_agrees(sfepy_energy(section), bracket)
