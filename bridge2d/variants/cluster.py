"""Chunks of variants on an existing dask.distributed cluster.

A chunk whose worker is lost is computed by another one, or by one that comes in its place. Where nobody comes, or the
scheduler is gone, that is told at once and not waited for without end.
"""

from __future__ import annotations

import logging
import queue
import re
import socket
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from typing import Any

from bridge2d.errors import InputError, MissingLibraryError
from bridge2d.variants.computing import Chunk, Computing, LostError, Rows, computed_chunk
from bridge2d.variants.varied import Base

NO_CLUSTER = "a sweep on a cluster needs the library distributed: pip install 'bridge2d[cluster]'"
ADDRESS = re.compile(
    r"(?:(?:tcp|tls|ws|wss|ucx)://)?(?P<host>\[[0-9a-fA-F:.]+\]|[\w.-]+):(?P<port>[0-9]{1,5})/?", re.ASCII
)
GREATEST_PORT = 65535
REACHED, CLOSED = 15.0, 2.0
"""So long a scheduler may take to answer, and a connection to be closed [s]."""
PATIENCE = 60.0
"""So long a cluster may be without any worker [s]."""
LOOK = 1.0
"""How often that is looked at [s]."""
RETRIES = 3
"""So often a chunk that ended with its worker is tried again."""


def checked_address(address: str) -> None:
    """Refuse an address that is none, or at which nobody listens, before the library is asked.

    Args:
        address: of a scheduler.

    Raises:
        InputError: see above.
    """
    found = ADDRESS.fullmatch(address)
    if not found or not 0 < int(found["port"]) <= GREATEST_PORT:
        raise _unreachable(f"{address[:60]!r} is no address")
    try:
        socket.create_connection((found["host"].strip("[]"), int(found["port"])), timeout=REACHED).close()
    except OSError as error:
        raise _unreachable(f"{address[:60]}: {error.strerror or error}") from None


def _unreachable(said: str) -> InputError:
    right = "give the address that the scheduler prints, such as tcp://127.0.0.1:8786"
    said = " ".join(said.split())[:120]
    return InputError(f"the scheduler cannot be reached ({said})", key="--scheduler", right=right)


@contextmanager
def on_cluster(base: Base, tolerance: float, scheduler: str) -> Iterator[Computing]:
    """On an existing cluster.

    Args:
        base: the detail file.
        tolerance: widest relative bracket around L2D [-].
        scheduler: its address.

    Raises:
        InputError: it cannot be reached.
        MissingLibraryError: distributed is not installed.
    """
    try:
        import distributed
    except ImportError:
        raise MissingLibraryError(NO_CLUSTER) from None
    checked_address(scheduler)
    cluster: Any = distributed  # its functions have no types
    with _quiet():
        try:
            client = cluster.Client(scheduler, timeout=f"{REACHED:.0f}s", set_as_default=False)
        except (OSError, ValueError, RuntimeError) as error:
            raise _unreachable(str(error)) from None
        try:
            yield lambda chunks: _rows(client, base, tolerance, chunks)
        finally:
            with suppress(Exception):  # whatever goes wrong with a scheduler that is gone
                client.close(timeout=CLOSED)


@contextmanager
def _quiet() -> Iterator[None]:
    """What the library logs of lost connections is said by us, in one message."""
    before = logging.root.manager.disable
    logging.disable(logging.CRITICAL)
    try:
        yield
    finally:
        logging.disable(before)


def _rows(client: Any, base: Base, tolerance: float, chunks: Sequence[Chunk]) -> Rows:
    """Rows as they come; a detail file that was lost with a worker is sent again by the scheduler, being a task."""
    done: queue.SimpleQueue[Any] = queue.SimpleQueue()
    try:
        sent = client.submit(_sent, base, pure=False)
        futures = [client.submit(computed_chunk, sent, tolerance, chunk, pure=False) for chunk in chunks]
        for future in futures:
            future.add_done_callback(done.put)
        left, tries = len(futures), dict.fromkeys((future.key for future in futures), RETRIES)
        watch = _Watch(client)
        while left:
            try:
                future = done.get(timeout=LOOK)
            except queue.Empty:
                watch.look()
                continue
            if future.status == "error" and tries[future.key] and _killed(future):
                tries[future.key] -= 1
                future.retry()
                future.add_done_callback(done.put)
                continue
            rows = future.result(timeout=REACHED)
            left -= 1
            yield rows
            future.release()
    except LostError:
        raise
    except Exception as error:
        if not _of_cluster(error):
            raise
        raise LostError(_said(error)) from None


def _sent(base: Base) -> Base:
    return base


def _killed(future: Any) -> bool:
    return type(future.exception(timeout=REACHED)).__name__ == "KilledWorker"


class _Watch:
    """Whether there is somebody who computes."""

    def __init__(self, client: Any) -> None:
        self.client, self.seen = client, time.monotonic()

    def look(self) -> None:
        """Look, and tell when nobody has been there for too long."""
        if self.client.status != "running":
            raise LostError("the scheduler is gone")
        if self.client.scheduler_info()["workers"]:
            self.seen = time.monotonic()
        elif time.monotonic() - self.seen > PATIENCE:
            raise LostError(f"the cluster has had no worker for {PATIENCE:.0f} s")


def _of_cluster(error: Exception) -> bool:
    """Whether an error is one of connections and workers, not of our own program."""
    from concurrent.futures import CancelledError

    return isinstance(error, OSError | TimeoutError | CancelledError) or type(error).__module__.startswith(
        "distributed"
    )


def _said(error: Exception) -> str:
    if type(error).__name__ == "KilledWorker":
        return f"workers of the cluster were lost {RETRIES + 1} times over the same variants"
    return "the scheduler or its last worker is gone"
