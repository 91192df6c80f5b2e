"""Every variant of a grid, a list or a Latin hypercube, computed side by side and kept as it comes.

axes -> **plan** -> variants computed, in processes here or on a cluster -> rows. What is computed goes into a journal
beside the table at once, so that a sweep that was interrupted goes on where it stopped.
"""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Callable, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from itertools import product
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from bridge2d import __version__
from bridge2d.errors import InputError
from bridge2d.targets import writing
from bridge2d.variants.between import Cells, Point, places
from bridge2d.variants.computing import Chunk, Computing, LostError, here
from bridge2d.variants.varied import Base, Changes, Row

if TYPE_CHECKING:
    from bridge2d.variants.axes import Axis

CHUNK = 8
"""Variants that a process is given at a time."""
JOURNAL_ENDING = ".part"
Progress = Callable[[int, int, str], None]
"""Told how many of how many variants are done, and what they are."""


@dataclass(frozen=True)
class Plan:
    """All that is computed.

    Attributes:
        base: the detail file.
        axes: what is varied.
        tolerance: widest relative bracket around L2D [-].
        hypercube: how many points of a Latin hypercube; 0 for the grid of all values.
        seed: of the hypercube.
        between: how many values between those of a grid are computed too, see `places`; None for as many as usual.
    """

    base: Base
    axes: tuple[Axis, ...]
    tolerance: float
    hypercube: int = 0
    seed: int = 0
    between: int | None = None

    def variants(self) -> list[Changes]:
        """What each variant changes, in the order of the table's rows."""
        if self.hypercube:
            return _hypercube(self.axes, self.hypercube, self.seed)
        names = [axis.name for axis in self.axes]
        return [dict(zip(names, values, strict=True)) for values in product(*(axis.values for axis in self.axes))]

    @property
    def size(self) -> int:
        """How many variants there are."""
        return self.hypercube or math.prod(len(axis.values) for axis in self.axes)

    @property
    def fingerprint(self) -> str:
        """SHA-256 of all that the rows depend on."""
        told = {
            "version": __version__,
            "text": self.base.text,
            "attached": [(name, hashlib.sha256(data).hexdigest()) for name, data in self.base.attached],
            "axes": [(axis.column, axis.values) for axis in self.axes],
            "tolerance": self.tolerance,
            "hypercube": [self.hypercube, self.seed] if self.hypercube else None,
        }
        return hashlib.sha256(json.dumps(told, sort_keys=True).encode()).hexdigest()


def _hypercube(axes: Sequence[Axis], count: int, seed: int) -> list[Changes]:
    """Points of a Latin hypercube between the least and the greatest value of each axis."""
    from scipy.stats.qmc import LatinHypercube

    points = LatinHypercube(len(axes), rng=seed).random(count)
    found: list[Changes] = []
    for point in points.tolist():
        values = {}
        for axis, share in zip(axes, point, strict=True):
            if axis.info.kind is None or any(isinstance(value, str) for value in axis.values):
                values[axis.name] = axis.values[min(int(share * len(axis.values)), len(axis.values) - 1)]
            else:
                numbers = [float(value) for value in axis.values]
                values[axis.name] = float(f"{min(numbers) + share * (max(numbers) - min(numbers)):.6g}")
        found.append(values)
    return found


# -- the journal -------------------------------------------------------------------------------------------------------


class Journal:
    """Rows as they are computed, one a line, after a line that says what sweep they belong to."""

    def __init__(self, path: Path, plan: Plan) -> None:
        """Open it, and read what an interrupted run of the same sweep has left.

        Args:
            path: of the journal.
            plan: the sweep.

        Raises:
            InputError: it belongs to another sweep, or cannot be written.
        """
        self.path = path
        self.rows: dict[int, Row] = {}
        head = plan.fingerprint
        with writing(path):
            whole = 0
            if path.exists():
                whole = self._read(path.read_bytes(), head)
            self._file = path.open("r+b" if path.exists() else "wb")
            self._file.truncate(whole)
            self._file.seek(whole)
            if not whole:
                self._write({"sweep": head})

    def _read(self, data: bytes, head: str) -> int:
        """Take the rows of a journal; how many bytes of it are whole lines."""
        *lines, rest = data.split(b"\n")
        try:
            if lines and json.loads(lines[0]) != {"sweep": head}:
                raise ValueError
            for line in lines[1:]:
                number, found = json.loads(line)
                self.rows[int(number)] = found
        except (ValueError, TypeError):
            right = "remove it to begin anew, or repeat the call that it belongs to"
            raise InputError("the rows of another sweep stand in it", file=str(self.path), right=right) from None
        return len(data) - len(rest)

    def add(self, number: int, found: Row) -> None:
        """Keep a row.

        Args:
            number: of the variant.
            found: its row.
        """
        self.rows[number] = found
        self._write([number, found])

    def _write(self, line: Any) -> None:
        self._file.write(json.dumps(line, allow_nan=False).encode() + b"\n")
        self._file.flush()

    def close(self, *, done: bool = False) -> None:
        """Close it, and remove it where all is done or nothing was."""
        self._file.close()
        if done or not self.rows:
            self.path.unlink(missing_ok=True)


# -- computing ---------------------------------------------------------------------------------------------------------


class Swept(NamedTuple):
    """All variants with their rows.

    Attributes:
        rows: changes and row of each, in the order of the table.
        points: places between them at which was computed too; none of a hypercube.
        between: rows there.
    """

    rows: list[tuple[Changes, Row]]
    points: list[Point]
    between: list[Row]


def swept(plan: Plan, journal: Journal, jobs: int, scheduler: str = "", progress: Progress | None = None) -> Swept:
    """All variants with their rows; those that the journal holds are not computed again.

    Args:
        plan: the sweep.
        journal: of it.
        jobs: how many processes compute side by side.
        scheduler: address of a cluster's scheduler that computes instead; empty for processes here.
        progress: told after every chunk.

    Raises:
        InputError: the cluster cannot be reached, or what computed is gone; rows that came before are kept.
        MissingLibraryError: distributed is not installed.
    """
    variants = plan.variants()
    left = [(k, changes) for k, changes in enumerate(variants) if k not in journal.rows]
    chunks = _chunks(left)
    told = progress or (lambda *_: None)
    told(len(journal.rows), len(variants), "variants")
    try:
        with _computing(plan, min(jobs, len(chunks)), scheduler) as compute:
            for rows in compute(chunks):
                for number, found in rows:
                    journal.add(number, found)
                told(len(journal.rows), len(variants), "variants")
            done = [(changes, journal.rows[k]) for k, changes in enumerate(variants)]
            return Swept(done, *_between(plan, [found for _, found in done], compute, told))
    except LostError as error:
        message = f"{error}; {len(journal.rows)} of {len(variants)} variants are kept here"
        right = "the same call goes on from there"
        raise InputError(message, file=str(journal.path) if journal.rows else "", right=right) from None


def _computing(plan: Plan, jobs: int, scheduler: str) -> AbstractContextManager[Computing]:
    if not scheduler:
        return here(plan.base, plan.tolerance, jobs)
    from bridge2d.variants.cluster import on_cluster

    return on_cluster(plan.base, plan.tolerance, scheduler)


def _chunks(left: Sequence[tuple[int, Changes]]) -> list[Chunk]:
    return [tuple(left[k : k + CHUNK]) for k in range(0, len(left), CHUNK)]


def _between(plan: Plan, rows: Sequence[Row], compute: Computing, told: Progress) -> tuple[list[Point], list[Row]]:
    """Places between the rows of a grid, and their rows."""
    points, found = _points(plan, rows), dict[int, Row]()
    for some in compute(_chunks(list(enumerate(between_variants(plan, rows))))):
        found |= dict(some)
        told(len(found), len(points), "values between them")
    return points, [found[k] for k in range(len(points))]


def _points(plan: Plan, rows: Sequence[Row]) -> list[Point]:
    """Places between the rows at which is computed too; none of a hypercube."""
    return [] if plan.hypercube else places(plan.axes, rows, plan.between)


def between_variants(plan: Plan, rows: Sequence[Row]) -> list[Changes]:
    """What each variant between the rows of a grid changes.

    Args:
        plan: the sweep.
        rows: of all variants.
    """
    cells = Cells.of(plan.axes)
    return [cells.changes(point) for point in _points(plan, rows)]


def swept_of(plan: Plan, rows: Sequence[Row], between: Sequence[Row]) -> Swept:
    """A sweep whose rows were computed elsewhere.

    Args:
        plan: the sweep.
        rows: of all variants.
        between: of `between_variants`.
    """
    return Swept(list(zip(plan.variants(), rows, strict=True)), _points(plan, rows), list(between))
