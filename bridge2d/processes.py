"""Processes that compute side by side and stay for several tasks.

A tool below all that uses it: the schedule, the published cases, variants. Nothing of a task is known here.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from concurrent.futures import ProcessPoolExecutor

T = TypeVar("T")
R = TypeVar("R")
KEPT_MEMORY = {"MALLOC_MMAP_THRESHOLD_": "67108864", "MALLOC_TRIM_THRESHOLD_": "268435456"}
"""What glibc is told where it starts: arrays that come and go keep their memory, which saves some per cent of time."""


THREADS = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")
"""What tells the libraries below numpy how many threads they may have."""


def one_thread() -> None:
    """Let the libraries below numpy have one thread, unless told otherwise; best before numpy is loaded.

    Systems of linear equations of this size do not profit from more, which only take time to start, and the processes
    of a computation are as many as the processors already.
    """
    for name in THREADS:
        os.environ.setdefault(name, "1")


def processors() -> int:
    """How many processes can run side by side here."""
    affinity = getattr(os, "sched_getaffinity", None)
    return len(affinity(0)) if affinity else os.cpu_count() or 1


@contextmanager
def pool(jobs: int) -> Iterator[ProcessPoolExecutor]:
    """Processes that compute; those that wait are dropped when anything goes wrong here.

    Args:
        jobs: how many.
    """
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import get_context

    found = ProcessPoolExecutor(jobs, mp_context=get_context("spawn"), initializer=prepare)
    ours = [name for name in KEPT_MEMORY if name not in os.environ]
    os.environ.update({name: KEPT_MEMORY[name] for name in ours})  # processes are started when there is work for them
    try:
        yield found
        found.shutdown()
    except BaseException:
        found.shutdown(wait=False, cancel_futures=True)
        raise
    finally:
        for name in ours:
            os.environ.pop(name, None)


def side_by_side(compute: Callable[[T], R], items: Sequence[T], jobs: int = 0) -> list[R]:
    """A function of each of some items, in several processes.

    Args:
        compute: the function, which can be imported.
        items: plain records.
        jobs: how many processes; as many as there are processors unless given.
    """
    from multiprocessing import current_process

    jobs = min(jobs or processors(), len(items))
    if jobs <= 1 or current_process().daemon:  # such a process may have none of its own
        return [compute(item) for item in items]
    with pool(jobs) as beside:
        return list(beside.map(compute, items))


def prepare() -> None:
    """Get a process ready: one thread each, quiet when interrupted, gone when its parent is."""
    import signal

    one_thread()
    signal.signal(signal.SIGINT, signal.SIG_DFL)
    end_with_parent()


def end_with_parent() -> None:
    """End this process as soon as the one that started it is gone, whatever it is at."""
    from multiprocessing import connection, parent_process
    from threading import Thread

    parent = parent_process()

    def watch() -> None:
        if parent is not None:
            connection.wait([parent.sentinel])
            os._exit(1)

    Thread(target=watch, daemon=True).start()
