"""Sparse linear systems: factorised by CHOLMOD where it is installed, else by SuperLU or, if large, by multigrid.

The two compiled modules of scipy that a solution needs are loaded from their files. Importing `scipy.sparse.linalg`
would run 600 modules first, which takes ten times as long as solving a section; where the files are not found, or do
not answer as expected, that is done all the same, and the numbers are the same to the last digit.
"""

from __future__ import annotations

import importlib.machinery
import importlib.util
from collections import deque
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import ModuleType
from typing import Any, Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from bridge2d.errors import MissingLibraryError

FloatArray = NDArray[np.float64]
Whole = NDArray[np.int64]
# Minimum degree on AᵀA + A and panels of one column are the quickest of SuperLU's choices at these sizes.
ORDERING: Literal["MMD_AT_PLUS_A"] = "MMD_AT_PLUS_A"
PIVOT, PANEL = 0.0, 1
MULTIGRID_FROM = 500_000
"""Systems of at least so many unknowns go to algebraic multigrid, whose memory grows less than SuperLU's; at 415 000
SuperLU is still quicker. Ordinary computations stay far below, see `closer_look.MOST_UNKNOWNS`."""
SUPERNODAL = 1
"""CHOLMOD joins columns to blocks where that pays, which it does in large systems; small ones then need no BLAS."""
RESIDUAL = 1e-10
"""Share of the residual that its iterations leave. Both bounds hold for whatever they find, only further apart."""
MOST_ITERATIONS = 400
COARSEST = 500
"""Unknowns of the coarsest grid, which is solved directly."""
NO_PYAMG = (
    "a system of {} unknowns needs the library cvxopt or pyamg, neither of which is installed: "
    "pip install 'bridge2d[fast]'; or ask for a wider bracket"
)


@dataclass(frozen=True)
class Entries:
    """A symmetric matrix as the sum of the entries on and below its diagonal.

    Attributes:
        data: shape (k,).
        row, col: where they stand, no column beyond its row; shape (k,).
        size: number of rows and of columns.
    """

    data: FloatArray
    row: Whole
    col: Whole
    size: int

    def in_full(self) -> tuple[FloatArray, Whole, Whole]:
        """All entries of the matrix with their rows and columns, those below the diagonal mirrored."""
        below = self.row > self.col
        row = np.concatenate([self.row, self.col[below]])
        return np.concatenate([self.data, self.data[below]]), row, np.concatenate([self.col, self.row[below]])

    def toarray(self) -> FloatArray:
        """The matrix in full; shape (size, size)."""
        data, row, col = self.in_full()
        full = np.zeros((self.size, self.size))
        np.add.at(full, (row, col), data)
        return full


@dataclass(frozen=True)
class Compressed:
    """A matrix by columns, rows rising within each.

    Attributes:
        pointers: first entry of each column; shape (size + 1,).
        rows: shape (k,).
        data: shape (k,).
    """

    pointers: NDArray[np.int32]
    rows: NDArray[np.int32]
    data: FloatArray


class Cholmod(NamedTuple):
    """What is used of cvxopt: its Cholesky factorisation and its matrices."""

    cholmod: Any
    spmatrix: Any
    matrix: Any
    symv: Any


@cache
def _cholmod() -> Cholmod | None:
    """CHOLMOD as cvxopt brings it; None where that is not installed."""
    try:
        from cvxopt import cholmod, matrix, spmatrix
        from cvxopt.base import symv
    except ImportError:
        return None
    cholmod.options["supernodal"] = SUPERNODAL
    return Cholmod(cholmod, spmatrix, matrix, symv)


@cache
def _compiled() -> tuple[ModuleType, ModuleType] | None:
    """The modules `_sparsetools` and `_superlu` of scipy without its rest; None where they cannot be had so."""
    try:
        found = importlib.util.find_spec("scipy")
        root = Path(next(iter((found and found.submodule_search_locations) or [""])))
        tools = _from_file(root / "sparse", "_sparsetools")
        factors = _from_file(root / "sparse" / "linalg" / "_dsolve", "_superlu")
        return (tools, factors) if _answers(tools, factors) else None
    except (ImportError, OSError, AttributeError, TypeError, ValueError, IndexError, RuntimeError):
        return None


def prepare() -> None:
    """Load what `solved` needs, so that the first call does not have to."""
    if _cholmod() is None:
        _compiled()


def _from_file(folder: Path, name: str) -> ModuleType:
    suffixes = importlib.machinery.EXTENSION_SUFFIXES
    finder = importlib.machinery.FileFinder(str(folder), (importlib.machinery.ExtensionFileLoader, suffixes))
    spec = finder.find_spec(name)
    if spec is None or spec.loader is None:
        raise ImportError(name)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def _answers(tools: ModuleType, factors: ModuleType) -> bool:
    """Whether both modules take what is given to them here and answer right, by a system of two equations."""
    row, column = np.array([0, 1, 1, 1]), np.array([0, 0, 1, 1])
    matrix = _by_columns(tools, Entries(np.array([2.0, 1.0, 2.0, 1.0]), row, column, 2))
    right = np.array([[4.0], [7.0]])
    answer = _factorised(factors, matrix).solve(right)
    return bool(np.allclose(answer, [[1.0], [2.0]]) and np.allclose(_times(tools, matrix, answer), right))


def _by_columns(tools: ModuleType, entries: Entries) -> Compressed:
    """The matrix in full, its entries sorted by columns and rows, those in one place added."""
    values, at_row, at_col = entries.in_full()
    row, col = at_row.astype(np.int32), at_col.astype(np.int32)
    size, count = entries.size, len(values)
    pointers = np.empty(size + 1, dtype=np.int32)
    rows, data = np.empty(count, dtype=np.int32), np.empty(count)
    tools.coo_tocsr(size, size, count, col, row, values, pointers, rows, data)
    tools.csr_sort_indices(size, pointers, rows, data)
    tools.csr_sum_duplicates(size, size, pointers, rows, data)
    kept = int(pointers[-1])
    return Compressed(pointers, rows[:kept].copy(), data[:kept].copy())


def _factorised(factors: ModuleType, matrix: Compressed) -> Any:
    """SuperLU's object, whose only use here is `solve`."""
    options = {
        "DiagPivotThresh": PIVOT,
        "ColPerm": ORDERING,
        "PanelSize": PANEL,
        "Relax": None,
        "SymmetricMode": True,
    }
    return factors.gstrf(
        len(matrix.pointers) - 1,
        len(matrix.data),
        matrix.data,
        matrix.rows,
        matrix.pointers,
        csc_construct_func=None,
        ilu=False,
        options=options,
    )


def _times(tools: ModuleType, matrix: Compressed, vectors: FloatArray) -> FloatArray:
    size, count = vectors.shape
    product = np.zeros_like(vectors)
    tools.csc_matvecs(
        size, size, count, matrix.pointers, matrix.rows, matrix.data, vectors.ravel(), product.reshape(-1)
    )
    return product


def solved(entries: Entries, right: FloatArray) -> FloatArray:
    """The solution of a symmetric positive definite system, corrected once by its own residual.

    Args:
        entries: the matrix.
        right: shape (n, k).

    Returns:
        shape (n, k).
    """
    right = np.ascontiguousarray(right)
    cholesky = _cholmod()
    if cholesky is not None:
        found = _by_cholesky(cholesky, entries, right)
        if found is not None:
            return found
    if entries.size >= MULTIGRID_FROM:
        return _by_multigrid(entries, right)
    compiled = _compiled()
    if compiled is None:
        return _solved_by_scipy(entries, right)
    tools, factors = compiled
    matrix = _by_columns(tools, entries)
    factorised = _factorised(factors, matrix)
    first = np.ascontiguousarray(factorised.solve(right))
    residual = right - _times(tools, matrix, first)
    return np.asarray(first + factorised.solve(residual))


@dataclass
class Analysis:
    """The order of elimination of a matrix, and the places of its entries, for which it holds again.

    Attributes:
        entries: of the matrix.
        lower: the matrix as CHOLMOD takes it, entries in one place added.
        factors: CHOLMOD's.
        slot: where each entry goes in `lower`; known once it is needed; shape (k,).
    """

    entries: Entries
    lower: Any
    factors: Any
    slot: Whole | None = None

    def fits(self, entries: Entries) -> bool:
        """Whether a matrix has its entries in the same places."""
        known = self.entries
        same = known.size == entries.size and len(known.row) == len(entries.row)
        return same and np.array_equal(known.row, entries.row) and np.array_equal(known.col, entries.col)

    def fill(self, matrix: Any, entries: Entries) -> None:
        """Make `lower` another matrix with its entries in the same places."""
        if self.slot is None:
            there = np.array(self.lower.J).ravel() * entries.size + np.array(self.lower.I).ravel()
            self.slot = np.searchsorted(there, self.entries.col * entries.size + self.entries.row)
        self.lower.V = matrix(np.bincount(self.slot, entries.data, minlength=len(self.lower)))


FEW, SMALL = 3, 60_000
"""So many analyses are kept in any case, and more of small matrices, while they have so many unknowns together. One
mesh brings three: of temperatures, of the stream function, and of temperatures with the surface resistances of the
temperature factor, the last of which has the places of the first. A moved mesh has those of the one that was moved."""
_analyses: deque[Analysis] = deque()
_small = [SMALL]


@contextmanager
def keeping(unknowns: int) -> Iterator[None]:
    """Keep the analyses of fewer matrices, where several processes solve side by side and memory counts.

    Args:
        unknowns: how many these have together, above `FEW` matrices.
    """
    before, _small[0] = _small[0], unknowns
    try:
        yield
    finally:
        _small[0] = before


def _by_cholesky(cholesky: Cholmod, entries: Entries, right: FloatArray) -> FloatArray | None:
    """The same by CHOLMOD; None where rounding has made the matrix indefinite."""
    cholmod, spmatrix, matrix, symv = cholesky
    try:
        known = next((one for one in _analyses if one.fits(entries)), None)
        if known:
            known.fill(matrix, entries)
        else:
            places = matrix(entries.row), matrix(entries.col)
            lower = spmatrix(matrix(entries.data), *places, (entries.size, entries.size))
            known = _kept(Analysis(entries, lower, cholmod.symbolic(lower)))
        lower, factors = known.lower, known.factors
        cholmod.numeric(lower, factors)
        first = matrix(right)
        cholmod.solve(factors, first)
        rest = matrix(right)
        for column in range(right.shape[1]):
            begin = column * entries.size
            symv(lower, first, rest, alpha=-1.0, beta=1.0, offsetx=begin, offsety=begin)
        cholmod.solve(factors, rest)
    except ArithmeticError:
        return None
    return np.asarray(np.array(first) + np.array(rest))


def _kept(new: Analysis) -> Analysis:
    """An analysis, kept for the next matrices; the oldest ones are dropped where they become too many."""
    _analyses.appendleft(new)
    while len(_analyses) > FEW and sum(one.entries.size for one in _analyses) > _small[0]:
        _analyses.pop()
    return new


def forget() -> None:
    """Drop every analysis, as if no matrix had been solved with yet."""
    _analyses.clear()


def _solved_by_scipy(entries: Entries, right: FloatArray) -> FloatArray:
    """The same by scipy's public functions."""
    from scipy.sparse import coo_array
    from scipy.sparse.linalg import splu

    data, *places = entries.in_full()
    matrix = coo_array((data, tuple(places)), shape=(entries.size, entries.size)).tocsc()
    factors = splu(
        matrix,
        permc_spec=ORDERING,
        diag_pivot_thresh=PIVOT,
        panel_size=PANEL,
        options={"SymmetricMode": True},
    )
    first = factors.solve(right)
    return np.asarray(first + factors.solve(np.ascontiguousarray(right - matrix @ first)))


def _by_multigrid(entries: Entries, right: FloatArray) -> FloatArray:
    """Conjugate gradients with smoothed aggregation.

    Raises:
        MissingLibraryError: pyamg is not installed.
    """
    try:
        from pyamg import smoothed_aggregation_solver
    except ImportError as error:
        raise MissingLibraryError(NO_PYAMG.format(entries.size)) from error
    from scipy.sparse import csr_array

    data, row, col = entries.in_full()
    matrix = csr_array((data, (row.astype(np.int32), col.astype(np.int32))), shape=(entries.size, entries.size))
    # Its estimates of spectral radii begin with random vectors of numpy's old generator; two runs have to agree.
    state = np.random.get_state()  # noqa: NPY002
    np.random.seed(0)  # noqa: NPY002
    try:
        grids = smoothed_aggregation_solver(matrix, symmetry="symmetric", max_coarse=COARSEST)
        solution = np.zeros_like(right)
        for column in range(right.shape[1]):
            solution[:, column] = grids.solve(right[:, column], tol=RESIDUAL, accel="cg", maxiter=MOST_ITERATIONS)
    finally:
        np.random.set_state(state)  # noqa: NPY002
    return solution


def connected(count: int, start: Whole, end: Whole) -> Whole:
    """The connected piece that each of some points belongs to, numbered in the order of their first points.

    Args:
        count: number of points.
        start: one end of each link; shape (k,).
        end: the other; shape (k,).

    Returns:
        shape (count,).
    """
    least = np.arange(count)
    while True:
        before = least.copy()
        lower = np.minimum(least[start], least[end])
        # The heads of both trees learn of the lower number, then every point asks its head's head.
        np.minimum.at(least, least[start], lower)
        np.minimum.at(least, least[end], lower)
        least = least[least]
        if np.array_equal(least, before):
            break
    first = least == np.arange(count)
    return np.asarray((np.cumsum(first) - 1)[least], dtype=np.int64)
