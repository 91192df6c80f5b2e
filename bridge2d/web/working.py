"""The processes that compute: each does one task at a time, is watched, and is replaced when it goes astray.

A task is a function of `work` by its name with plain arguments. A process that takes too long, grows too large or dies
is ended, another one takes its place, and whoever asked gets a message. A spare process does short tasks alone, so that
an ordinary change is answered while all others compute something long.
"""

from __future__ import annotations

import os
import threading
import time
from contextlib import suppress
from multiprocessing import get_context
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from typing import Any

from bridge2d.errors import Bridge2dError, InputError
from bridge2d.processes import THREADS, end_with_parent

SECONDS = 60.0
"""A task that takes longer is ended."""
MEMORY = 3 * 1024**3
"""A process may have so many bytes of address space."""
QUICK = 8.0
"""A task that takes longer in a spare process is ended there and begun again in one of the others [s]."""
PATIENCE = 120.0
"""So long a task waits for a free process [s]."""


class WorkError(Bridge2dError):
    """A task that was ended or could not be begun."""


class LongError(WorkError):
    """A task that took too long."""


class BusyError(WorkError):
    """A task for which no process was free."""


class _Worker:
    """One process with the pipe to it."""

    def __init__(self, memory: int, spare: bool = False) -> None:
        self.spare = spare
        """Whether it does short tasks alone."""
        context = get_context("spawn")
        self.pipe, theirs = context.Pipe()
        self.process: BaseProcess = context.Process(target=_serve, args=(theirs, memory), daemon=True)
        self.process.start()
        theirs.close()
        self.known: str = ""
        """The last input that it has computed, and so has at hand."""
        self._stopping = threading.Lock()

    def stop(self) -> None:
        """End the process; whoever waits for its answer sees that it is gone."""
        with self._stopping, suppress(OSError, ValueError):
            self.process.kill()
            self.process.join(5)

    def end(self) -> None:
        """End it and close the pipe, which nobody but the thread that has taken it may do.

        The number of a closed pipe goes to the next file or socket that is opened: closed by one thread while another
        one still waits on it or closes it too, it would be that file's end.
        """
        self.stop()
        self.pipe.close()


class Workshop:
    """A few processes that compute."""

    def __init__(
        self, count: int | None = None, seconds: float = SECONDS, memory: int = MEMORY, spare: int = 0
    ) -> None:
        """Start them.

        Args:
            count: how many; as many as there are processors, at most four, unless given.
            seconds: a task that takes longer is ended [s].
            memory: address space of each [bytes].
            spare: so many more for short tasks alone.
        """
        self.count = count or max(1, min(4, os.cpu_count() or 1))
        self.seconds = seconds
        self.memory = memory
        self._free: list[_Worker] = [_Worker(memory, k >= self.count) for k in range(self.count + spare)]
        self._all = list(self._free)
        self._changed = threading.Condition()
        self._closed = False

    def do(self, task: str, *arguments: Any, key: str = "", seconds: float | None = None) -> Any:
        """Have a task done.

        Args:
            task: name of a function in `work`.
            arguments: of it, plain values.
            key: fingerprint of its input; a process that knows it already is preferred.
            seconds: a longer or shorter limit than the usual one [s].

        Raises:
            Bridge2dError: the task says so, or it was ended.
        """
        limit = seconds or self.seconds
        worker = self._taken(key, spare=limit <= self.seconds)
        if worker.spare and limit > QUICK:
            try:
                return self._done(worker, task, arguments, key, QUICK)
            except LongError:
                worker = self._taken(key, spare=False)
        return self._done(worker, task, arguments, key, limit)

    def _done(self, worker: _Worker, task: str, arguments: tuple[Any, ...], key: str, limit: float) -> Any:
        """Have a task done by a process that was taken, which is given back or replaced."""
        try:
            worker.pipe.send((task, arguments))
            if not worker.pipe.poll(limit):
                message = f"the computation took more than {limit:g} s and was stopped"
                raise LongError(f"{message}; look for a dimension or a conductivity that is far off")
            done, value = worker.pipe.recv()
        except WorkError:
            self._replaced(worker)
            raise
        except (EOFError, OSError):
            self._replaced(worker)
            raise WorkError(
                "the computation stopped in the middle, most likely for want of memory; look for a dimension or a "
                "conductivity that is far off"
            ) from None
        except BaseException:
            self._replaced(worker)
            raise
        worker.known = key
        self._given_back(worker)
        if done:
            return value
        raise _error(value)

    def close(self) -> None:
        """End all processes."""
        with self._changed:
            self._closed = True
            free, busy = self._free, [one for one in self._all if one not in self._free]
            self._all, self._free = [], []
            self._changed.notify_all()
        for worker in free:
            worker.end()
        for worker in busy:
            worker.stop()  # who has taken it ends it

    def _taken(self, key: str, *, spare: bool = True) -> _Worker:
        """A free process: one that knows the input, else one of those for all tasks, else a spare one if allowed."""
        until = time.monotonic() + PATIENCE
        with self._changed:
            while not (fit := [one for one in self._free if spare or not one.spare]):
                if self._closed:
                    raise WorkError("the page is closing")
                left = until - time.monotonic()
                if left <= 0 or not self._changed.wait(left):
                    raise BusyError("everything is busy computing; try again in a moment")
            if self._closed:
                raise WorkError("the page is closing")
            known = (one for one in fit if key and one.known == key)
            chosen = next(known, None) or min(fit, key=lambda one: one.spare)
            self._free.remove(chosen)
        # One that was ended from outside while it waited says nothing of the task.
        return chosen if chosen.process.is_alive() else self._fresh(chosen)

    def _given_back(self, worker: _Worker) -> None:
        with self._changed:
            if not self._closed:
                self._free.append(worker)
                self._changed.notify_all()  # not everybody takes a spare one
                return
        worker.end()

    def _replaced(self, worker: _Worker) -> None:
        if self._closed:
            worker.end()
        else:
            self._given_back(self._fresh(worker))

    def _fresh(self, worker: _Worker) -> _Worker:
        """Another process in the place of one that is gone or has to go."""
        worker.end()
        fresh = _Worker(self.memory, worker.spare)
        with self._changed:
            self._all = [*(one for one in self._all if one is not worker), fresh]
        return fresh


def _error(parts: dict[str, Any]) -> Bridge2dError:
    """What the task said, as the error that it was."""
    if parts["kind"] == "input":
        return InputError(
            parts["message"], file=parts["file"], line=parts["line"], key=parts["key"], right=parts["right"]
        )
    return WorkError(parts["message"])


# -- in the process that computes --------------------------------------------------------------------------------------


def _serve(pipe: Connection, memory: int) -> None:
    """Do one task after the other until the pipe is closed."""
    _prepare(memory)
    from bridge2d.web import work

    work.prepare()
    while True:
        try:
            task, arguments = pipe.recv()
        except (EOFError, OSError):
            return
        try:
            answer = (True, getattr(work, task)(*arguments))
        except InputError as error:
            parts = {"message": error.message, "file": error.file, "line": error.line, "key": error.key}
            answer = (False, {"kind": "input", "right": error.right, **parts})
        except Bridge2dError as error:
            answer = (False, {"kind": "other", "message": str(error)})
        except MemoryError:
            os._exit(3)  # what is left of the process is in no known state
        except Exception as error:  # noqa: BLE001 - the page goes on, and says what happened
            import sys
            import traceback

            traceback.print_exc(file=sys.stderr)
            message = f"this should not have happened ({type(error).__name__}); the terminal says more"
            answer = (False, {"kind": "other", "message": message})
        pipe.send(answer)


def _prepare(memory: int) -> None:
    """One thread each, deaf to Ctrl+C, which the server answers; no more memory than allowed; gone with its parent."""
    import signal

    for name in THREADS:
        os.environ[name] = "1"
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    with suppress(ImportError, ValueError, OSError):
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (memory, memory))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    end_with_parent()
