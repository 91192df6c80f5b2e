"""The assembled matrices against scikit-fem's own weak forms on the same mesh: exact to rounding."""

from __future__ import annotations

import sys
from dataclasses import replace

import numpy as np
import pytest
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from skfem import Basis, BilinearForm, ElementTriP2, FacetBasis, MeshTri
from skfem.helpers import dot, grad, mul

from bridge2d import sparse
from bridge2d.detail import Section
from bridge2d.elements import reference, side_matrices
from bridge2d.errors import MissingLibraryError
from bridge2d.mesh import SectionMesh
from bridge2d.refinement import settle, start
from bridge2d.spaces import assemble, gradients, space, stiffness
from bridge2d.sparse import Entries
from bridge2d.triangles import divided, triangles
from tests.benchmarks.joist_wall import wall
from tests.shapes import iso_10211_case_2


def distorted() -> SectionMesh:
    mesh = MeshTri.init_tensor(np.array([0, 0.01, 0.1, 0.35]), np.array([0, 0.02, 0.2])).refined(1)
    p = mesh.p.copy()
    p[0] += 0.02 * np.sin(20 * p[1])
    mesh = triangles(p, mesh.t)
    region = (np.arange(mesh.t.shape[1]) % 3).astype(np.int64)
    surface = np.full(mesh.facets.shape[1], -1, dtype=np.int64)
    surface[mesh.boundary_facets()] = 0
    return SectionMesh(mesh, region, surface, "grid")


def of_scikit_fem(made: SectionMesh) -> MeshTri:
    return MeshTri(made.mesh.p, made.mesh.t)


TENSOR = np.array([[[1.0, 0.0], [0.0, 1.0]], [[0.13, 0.03], [0.03, 0.23]], [[230.0, 0.0], [0.0, 230.0]]])


def test_stiffness_with_tensors() -> None:
    made = distorted()
    on = space(made)
    basis = Basis(of_scikit_fem(made), ElementTriP2())

    @BilinearForm
    def weak_form(u, v, w):  # type: ignore[no-untyped-def]
        return dot(mul(w.tensor, grad(u)), grad(v))

    per_cell = np.moveaxis(TENSOR[made.region], 0, -1)[..., None] * np.ones(basis.X.shape[1])
    expected = weak_form.assemble(basis, tensor=per_cell).toarray()
    found = assemble([(stiffness(on, TENSOR)[0], on.triangles)], len(on.points)).toarray()
    order = basis.element_dofs.T  # scikit-fem numbers the unknowns its own way
    number = np.empty(len(on.points), dtype=int)
    number[on.triangles] = order
    assert found == pytest.approx(expected[np.ix_(number, number)], abs=1e-12 * np.abs(expected).max())


def test_films() -> None:
    made = distorted()
    on = space(made)
    facets = FacetBasis(of_scikit_fem(made), ElementTriP2())
    basis = Basis(of_scikit_fem(made), ElementTriP2())
    number = np.empty(len(on.points), dtype=int)
    number[on.triangles] = basis.element_dofs.T

    @BilinearForm
    def mass(u, v, _):  # type: ignore[no-untyped-def]
        return u * v

    @BilinearForm
    def along(u, v, w):  # type: ignore[no-untyped-def]
        t = np.array([-w.n[1], w.n[0]])
        return dot(t, grad(u)) * dot(t, grad(v))

    for form, side, weight in (
        (mass, side_matrices()[0], on.rim.length),
        (along, side_matrices()[2], 1 / on.rim.length),
    ):
        expected = form.assemble(facets).toarray()
        found = assemble([(weight[:, None, None] * side[:3, :3], on.along(on.rim))], len(on.points)).toarray()
        assert found == pytest.approx(expected[np.ix_(number, number)], abs=1e-12 * np.abs(expected).max())


def test_gradients_of_a_quadratic_are_exact() -> None:
    on = space(distorted())
    x, y = on.points.T
    values = (1 + 2 * x - y + 3 * x * y - x**2 + 0.5 * y**2)[on.triangles][:, :, None]
    slope = gradients(on, on.blocks[0], values)
    # The points are the element's own: read them off fields whose gradients are linear.
    where = [gradients(on, on.blocks[0], c[on.triangles][:, :, None] ** 2)[..., 0] / 2 for c in (x, y)]
    px, py = where[0][..., 0], where[1][..., 1]  # d(x²)/dx / 2 = x
    assert slope[..., 0, 0] == pytest.approx(2 + 3 * py - 2 * px, abs=1e-9)
    assert slope[..., 1, 0] == pytest.approx(-1 + 3 * px + py, abs=1e-9)


def test_rim_runs_with_the_section_on_its_left() -> None:
    on = space(distorted())
    start = on.points[on.triangles[on.rim.triangle, on.rim.local[:, 0]]]
    end = on.points[on.triangles[on.rim.triangle, on.rim.local[:, 1]]]
    area = 0.5 * np.sum(start[:, 0] * end[:, 1] - end[:, 0] * start[:, 1])
    assert area == pytest.approx(0.5 * on.scale.sum())  # Green: positive, and the whole section's


def test_reference_weights() -> None:
    stiff, _, weights = reference()
    assert weights.sum() == pytest.approx(0.5)
    assert stiff.reshape(3, 6, 6).sum(axis=2) == pytest.approx(np.zeros((3, 6)), abs=1e-14)  # constants have no energy


def test_division_is_that_of_scikit_fem() -> None:
    random = np.random.default_rng(5)
    theirs = MeshTri.init_tensor(np.sort(random.random(7)), np.sort(random.random(6)))
    ours = triangles(theirs.p, theirs.t)
    region = np.arange(ours.t.shape[1]) % 3
    for _ in range(5):
        count = ours.t.shape[1]
        chosen = random.choice(count, size=count // 6 + 1, replace=False)
        theirs = theirs.with_subdomains({str(k): np.flatnonzero(region == k) for k in range(3)}).refined(chosen)
        ours, parent = divided(ours, chosen)
        region = region[parent]
        for name in ("p", "t", "facets", "t2f"):
            assert np.array_equal(getattr(ours, name), getattr(theirs, name)), name
        assert all(np.array_equal(theirs.subdomains[str(k)], np.flatnonzero(region == k)) for k in range(3))
        sides, triangle, local = ours.rim
        assert np.array_equal(sides, theirs.boundary_facets())
        assert np.array_equal(triangle, theirs.f2t[0, sides])
        assert np.array_equal(ours.t2f[local, triangle], sides)


def film_on_all() -> tuple[Entries, np.ndarray]:
    """A positive definite matrix of quadratic elements, and two right sides."""
    on = space(distorted())
    entries = assemble([(stiffness(on, TENSOR)[0], on.triangles)], len(on.points))
    at = np.arange(entries.size)
    whole = Entries(
        np.concatenate([entries.data, np.ones(entries.size)]),
        np.concatenate([entries.row, at]),
        np.concatenate([entries.col, at]),
        entries.size,
    )
    return whole, np.stack([on.points[:, 0], np.cos(9 * on.points[:, 1])], axis=1)


@pytest.fixture
def without_cholesky(monkeypatch: pytest.MonkeyPatch) -> None:
    """The machine of somebody who has not installed cvxopt."""
    monkeypatch.setattr(sparse, "_cholmod", lambda: None)


@pytest.mark.usefixtures("without_cholesky")
def test_scipys_public_functions_give_the_same_to_the_last_digit(monkeypatch: pytest.MonkeyPatch) -> None:
    entries, right = film_on_all()
    assert sparse._compiled() is not None
    found = sparse.solved(entries, right)
    assert np.array_equal(found, sparse._solved_by_scipy(entries, right))
    assert found == pytest.approx(np.linalg.solve(entries.toarray(), right), rel=1e-10)
    monkeypatch.setattr(sparse, "_compiled", lambda: None)  # another build of scipy
    assert np.array_equal(sparse.solved(entries, right), found)


def test_cholesky_agrees_with_the_solution_in_full() -> None:
    pytest.importorskip("cvxopt")
    entries, right = film_on_all()
    expected = np.linalg.solve(entries.toarray(), right)
    assert sparse.solved(entries, right) == pytest.approx(expected, rel=1e-10)
    # entries in the same places with other values: the order of elimination is known, the values are not
    other = replace(entries, data=np.where(entries.row == entries.col, 3.0, 1.0) * entries.data)
    again = sparse.solved(other, right)
    assert again == pytest.approx(np.linalg.solve(other.toarray(), right), rel=1e-10)
    assert np.abs(again - expected).max() > 1e-3
    assert sparse.solved(entries, right) == pytest.approx(expected, rel=1e-10)


def test_a_matrix_that_rounding_made_indefinite_goes_to_superlu() -> None:
    pytest.importorskip("cvxopt")
    entries = Entries(np.array([1.0, 2.0, 1.0]), np.array([0, 1, 1]), np.array([0, 0, 1]), 2)
    right = np.array([[5.0], [4.0]])
    assert sparse.solved(entries, right) == pytest.approx(np.array([[1.0], [2.0]]))  # exact: 1 + 2·2 = 5, 2·1 + 2 = 4


@pytest.mark.parametrize("of", [iso_10211_case_2(), wall()], ids=["iso 10211 case 2", "joist in a wall"])
def test_both_factorisations_give_brackets_around_one_value(of: Section, monkeypatch: pytest.MonkeyPatch) -> None:
    pytest.importorskip("cvxopt")
    by_cholesky = settle(of, 1e-3).passes[-1]
    monkeypatch.setattr(sparse, "_cholmod", lambda: None)
    by_superlu = settle(of, 1e-3).passes[-1]
    assert by_superlu.warm.unknowns == by_cholesky.warm.unknowns
    assert by_superlu.warm.nodes == pytest.approx(by_cholesky.warm.nodes, abs=1e-9)
    assert by_superlu.stream.lower == pytest.approx(by_cholesky.stream.lower, rel=1e-9)


def test_a_known_order_of_elimination_changes_nothing() -> None:
    """Entries in the places of a matrix that was solved before, several of them in one place."""
    pytest.importorskip("cvxopt")
    row, col = np.array([0, 1, 1, 2, 2, 0, 2, 1]), np.array([0, 0, 1, 1, 2, 0, 2, 0])
    first = Entries(np.array([4.0, -1.0, 5.0, -1.0, 6.0, 0.3, 0.1, 0.2]), row, col, 3)
    other = Entries(np.array([7.0, -2.0, 9.0, -0.5, 3.0, 0.7, 0.9, 0.3]), row.copy(), col.copy(), 3)
    right = np.arange(6.0).reshape(3, 2)
    sparse.forget()
    anew = sparse.solved(other, right)
    sparse.forget()
    sparse.solved(first, right)
    again = sparse.solved(other, right)
    assert np.array_equal(again, anew)
    assert other.toarray() @ again == pytest.approx(right, abs=1e-12)


def test_large_analyses_are_not_kept() -> None:
    pytest.importorskip("cvxopt")

    def kept() -> list[int]:
        sparse.forget()
        for size in range(2, 12):
            diagonal = np.arange(size)
            sparse.solved(Entries(np.ones(size), diagonal, diagonal, size), np.ones((size, 1)))
        return [one.entries.size for one in sparse._analyses]

    with sparse.keeping(20):
        assert kept() == [11, 10, 9]
    assert kept() == list(range(11, 1, -1))
    sparse.forget()


def test_connected_pieces_are_those_of_scipy() -> None:
    random = np.random.default_rng(3)
    for count, links in ((1, 0), (40, 20), (300, 290), (500, 700)):
        start, end = random.integers(0, count, (2, links))
        expected = connected_components(coo_array((np.ones(links), (start, end)), shape=(count, count)))[1]
        assert np.array_equal(sparse.connected(count, start, end), expected)
    chain = random.permutation(1000)
    assert not sparse.connected(1000, chain[1:], chain[:-1]).any()


@pytest.mark.usefixtures("without_cholesky")
def test_a_large_system_asks_for_multigrid(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sparse, "MULTIGRID_FROM", 2)
    monkeypatch.setitem(sys.modules, "pyamg", None)
    one = Entries(np.ones(2), np.arange(2), np.arange(2), 2)
    with pytest.raises(MissingLibraryError, match=r"2 unknowns.*cvxopt or pyamg"):
        sparse.solved(one, np.ones((2, 1)))


@pytest.mark.usefixtures("without_cholesky")
def test_multigrid_agrees_with_the_direct_solution(monkeypatch: pytest.MonkeyPatch) -> None:
    pytest.importorskip("pyamg")
    of = iso_10211_case_2()
    direct = start(of)
    monkeypatch.setattr(sparse, "MULTIGRID_FROM", 2)
    again = start(of)
    assert again.warm.nodes == pytest.approx(direct.warm.nodes, abs=1e-8)  # its residual is 1e-10 of the right side
    assert again.gap.matrix == pytest.approx(direct.gap.matrix, rel=1e-8)
    assert np.array_equal(start(of).warm.nodes, again.warm.nodes)
