"""Every variant of a grid, a list or a Latin hypercube, computed side by side and kept as it comes.

axes -> **plan** -> variants computed, in processes here or on a cluster -> rows. What is computed goes into a journal
beside the table at once, so that a sweep that was interrupted goes on where it stopped.
"""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bridge2d import __version__
from bridge2d.errors import InputError, MissingLibraryError
from bridge2d.processes import pool
from bridge2d.targets import writing
from bridge2d.variants.varied import Base, Changes, Row, row

if TYPE_CHECKING:
    from bridge2d.variants.axes import Axis

CHUNK = 8
"""Variants that a process is given at a time."""
JOURNAL_ENDING = ".part"
NO_CLUSTER = "a sweep on a cluster needs the library distributed: pip install 'bridge2d[cluster]'"
Progress = Callable[[int, int], None]
"""Told how many of how many variants are done."""


@dataclass(frozen=True)
class Plan:
    """All that is computed.

    Attributes:
        base: the detail file.
        axes: what is varied.
        tolerance: widest relative bracket around L2D [-].
        hypercube: how many points of a Latin hypercube; 0 for the grid of all values.
        seed: of the hypercube.
    """

    base: Base
    axes: tuple[Axis, ...]
    tolerance: float
    hypercube: int = 0
    seed: int = 0

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
        """Close it, and remove it where all is done."""
        self._file.close()
        if done:
            self.path.unlink(missing_ok=True)


# -- computing ---------------------------------------------------------------------------------------------------------

Chunk = tuple[tuple[int, Changes], ...]


def computed_chunk(base: Base, tolerance: float, chunk: Chunk) -> list[tuple[int, Row]]:
    """Some variants, in a process that stays for several chunks.

    Args:
        base: the detail file.
        tolerance: widest relative bracket around L2D [-].
        chunk: number and changes of each.
    """
    return [(number, row(base, changes, tolerance)) for number, changes in chunk]


def swept(
    plan: Plan, journal: Journal, jobs: int, scheduler: str = "", progress: Progress | None = None
) -> list[tuple[Changes, Row]]:
    """All variants with their rows; those that the journal holds are not computed again.

    Args:
        plan: the sweep.
        journal: of it.
        jobs: how many processes compute side by side.
        scheduler: address of a cluster's scheduler that computes instead; empty for processes here.
        progress: told after every chunk.

    Raises:
        InputError: the cluster cannot be reached.
        MissingLibraryError: distributed is not installed.
    """
    variants = plan.variants()
    left = [(k, changes) for k, changes in enumerate(variants) if k not in journal.rows]
    chunks = [tuple(left[k : k + CHUNK]) for k in range(0, len(left), CHUNK)]
    source = _on_cluster(plan, chunks, scheduler) if scheduler else _here(plan, chunks, jobs)
    if progress:
        progress(len(journal.rows), len(variants))
    for rows in source:
        for number, found in rows:
            journal.add(number, found)
        if progress:
            progress(len(journal.rows), len(variants))
    return [(changes, journal.rows[k]) for k, changes in enumerate(variants)]


def _here(plan: Plan, chunks: Sequence[Chunk], jobs: int) -> Iterator[list[tuple[int, Row]]]:
    if min(jobs, len(chunks)) <= 1:
        for chunk in chunks:
            yield computed_chunk(plan.base, plan.tolerance, chunk)
        return
    from concurrent.futures import as_completed

    with pool(min(jobs, len(chunks))) as beside:
        futures = [beside.submit(computed_chunk, plan.base, plan.tolerance, chunk) for chunk in chunks]
        for future in as_completed(futures):
            yield future.result()


def _on_cluster(plan: Plan, chunks: Sequence[Chunk], scheduler: str) -> Iterator[list[tuple[int, Row]]]:
    """On an existing cluster, which gives a chunk to another worker where one is lost."""
    try:
        import distributed
    except ImportError:
        raise MissingLibraryError(NO_CLUSTER) from None
    cluster: Any = distributed  # its functions have no types
    try:
        client = cluster.Client(scheduler, timeout="15s", set_as_default=False)
    except (OSError, ValueError, TimeoutError) as error:
        right = "give the address that the scheduler prints, such as tcp://127.0.0.1:8786"
        said = " ".join(str(error).split())[:120]
        raise InputError(f"the scheduler cannot be reached ({said})", key="--scheduler", right=right) from None
    with client, client.as_current():
        base = client.scatter(plan.base, broadcast=True)
        again = {"pure": False, "retries": 3}
        futures = [client.submit(computed_chunk, base, plan.tolerance, chunk, **again) for chunk in chunks]
        for future in cluster.as_completed(futures):
            yield future.result()
            future.release()
