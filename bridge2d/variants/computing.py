"""Chunks of variants computed: here, in processes that stay, or on a cluster that is there already.

plan → chunks → **rows as they come**. What is lost is told by one kind of error, `LostError`; what came before is kept.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager

from bridge2d.errors import Bridge2dError
from bridge2d.processes import pool
from bridge2d.variants.varied import Base, Changes, Row, row

Chunk = tuple[tuple[int, Changes], ...]
Rows = Iterator[list[tuple[int, Row]]]
Computing = Callable[[Sequence[Chunk]], Rows]
"""Gives the rows of chunks as they come."""


class LostError(Bridge2dError):
    """What computed is gone, and the rows that came before are kept."""


def computed_chunk(base: Base, tolerance: float, chunk: Chunk) -> list[tuple[int, Row]]:
    """Some variants, in a process that stays for several chunks.

    Args:
        base: the detail file.
        tolerance: widest relative bracket around L2D [-].
        chunk: number and changes of each.
    """
    return [(number, row(base, changes, tolerance)) for number, changes in chunk]


@contextmanager
def here(base: Base, tolerance: float, jobs: int) -> Iterator[Computing]:
    """In this process, or in several that stay.

    Args:
        base: the detail file.
        tolerance: widest relative bracket around L2D [-].
        jobs: how many processes.
    """
    if jobs <= 1:
        yield lambda chunks: (computed_chunk(base, tolerance, chunk) for chunk in chunks)
        return
    from concurrent.futures import as_completed
    from concurrent.futures.process import BrokenProcessPool

    with pool(jobs) as beside:

        def rows(chunks: Sequence[Chunk]) -> Rows:
            try:
                futures = [beside.submit(computed_chunk, base, tolerance, chunk) for chunk in chunks]
                for future in as_completed(futures):
                    yield future.result()
            except BrokenProcessPool:
                raise LostError("a process that computed was ended from outside") from None

        yield rows
