"""The computation in a process beside this one, so that a cold start uses two cores.

Loading the numerics takes longer than solving a detail. A command that will compute forks first: the child loads the
numerics while the parent reads and checks the detail file, and later loads what it needs to write. The child gets the
detail through a pipe and answers with the results, then with what they depend on where that is asked for; it never sees
the file. Where there is no fork, or numpy is loaded already, the computation runs in this process.
"""

from __future__ import annotations

import gc
import os
import pickle
import signal
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import closing, suppress
from typing import TYPE_CHECKING, BinaryIO, Generic, TypeVar

if TYPE_CHECKING:
    from bridge2d.detail import Detail
    from bridge2d.results import DetailResult
    from bridge2d.sensitivity_records import Sensitivities
    from bridge2d.variations import Inputs


class Computation:
    """A computation that is being got ready.

    Use: `ready = Computation()` as early as possible, `ready.begin(…)`, then `ready.result()` once, and where inputs
    were handed over `ready.sensitivities()` once; `ready.close()` in any case.
    """

    def __init__(self, *, inputs: bool = False) -> None:
        """Start loading the numerics beside this process, where that helps.

        Args:
            inputs: whether inputs will probably be handed over, so that what varies them is loaded too.
        """
        self._child = 0
        self._inputs: Inputs | None = None
        if hasattr(os, "fork") and "numpy" not in sys.modules:
            self._fork(inputs)

    def _fork(self, inputs: bool) -> None:
        asked, answered = os.pipe(), os.pipe()
        self._child = os.fork()
        if self._child == 0:  # pragma: no cover - runs in the child, which coverage does not follow
            os.close(asked[1])
            os.close(answered[0])
            _serve(os.fdopen(asked[0], "rb"), os.fdopen(answered[1], "wb"), inputs)
        os.close(asked[0])
        os.close(answered[1])
        self._question, self._answer = os.fdopen(asked[1], "wb"), os.fdopen(answered[0], "rb")

    def begin(
        self, detail: Detail, tolerance: float, mesher: str, input_hash: str, inputs: Inputs | None = None
    ) -> None:
        """Hand over what is to be computed; `result` waits for it.

        Args:
            detail: the detail.
            tolerance: see `calculate.calculate`, like the others.
            mesher: see there.
            input_hash: see there.
            inputs: how its inputs vary, where `sensitivities` will be asked for.
        """
        self._call, self._inputs = (detail, tolerance, mesher, input_hash), inputs
        if self._child:
            with self._question as question:
                pickle.dump((self._call, inputs), question, protocol=5)

    def result(self) -> DetailResult:
        """The results of what `begin` handed over.

        Raises:
            Bridge2dError: as `calculate.calculate` does.
        """
        self._result = self._answered() if self._child else _calculate(*self._call)
        return self._result

    def _answered(self) -> DetailResult:
        import numpy as np  # noqa: F401 - the results hold arrays; loaded while the child still computes

        try:
            answered = pickle.load(self._answer)  # written by our own child
        except EOFError:
            self.close()
            return _calculate(*self._call)  # the child is gone (killed, out of memory): here its fate is seen
        if self._inputs is None or isinstance(answered, tuple):
            self.close()
        if isinstance(answered, tuple):
            kind, arguments, state = answered
            error = kind.__new__(kind, *arguments)
            error.__dict__.update(state)
            raise error
        result: DetailResult = answered
        return result

    @property
    def goes_on(self) -> bool:
        """Whether something is still computed beside this process."""
        return self._child != 0

    def sensitivities(self) -> Sensitivities | None:
        """What the results depend on, waited for; None where no inputs were handed over, or no number has a bracket."""
        if self._child:
            with closing(self), suppress(EOFError):  # it is gone, or has failed: below is seen why
                found: Sensitivities | None = pickle.load(self._answer)  # written by our own child
                return found
        return None if self._inputs is None else _depending(self._result, self._inputs)

    def close(self) -> None:
        """Let the child go, whether it was asked or not."""
        if self._child:
            child, self._child = self._child, 0
            for pipe in (self._question, self._answer):
                if not pipe.closed:
                    pipe.close()
            os.kill(child, signal.SIGKILL)
            os.waitpid(child, 0)


T = TypeVar("T")
NUMBER = 4
"""Bytes of a task's number in the pipe."""


class Ahead(Generic[T]):
    """A value that is computed in a copy of this process while this one goes on.

    Use: `ahead = Ahead(compute)`, something else, then `ahead.value()` once, or `ahead.close()` where that something
    fails. Where there is no fork, or another thread might hold a lock that its copy would wait for, the value is
    computed when it is asked for.
    """

    def __init__(self, compute: Callable[[], T]) -> None:
        """Begin.

        Args:
            compute: what is to be computed; what it gives can be pickled.
        """
        self._compute, self._child = compute, 0
        if hasattr(os, "fork") and threading.active_count() == 1:
            answered = os.pipe()
            self._child = os.fork()
            if self._child == 0:  # pragma: no cover - runs in the child, which coverage does not follow
                os.close(answered[0])
                _give(compute, os.fdopen(answered[1], "wb"))
            os.close(answered[1])
            self._answer = os.fdopen(answered[0], "rb")

    def value(self) -> T:
        """The value, waited for.

        Raises:
            Exception: whatever computing it raises.
        """
        if not self._child:
            return self._compute()
        try:
            with self._answer as answer:
                value: T = pickle.load(answer)  # written by our own child
        except EOFError:
            return self._compute()  # it is gone, or has failed: here is seen why
        finally:
            self.close()
        return value

    def close(self) -> None:
        """Let the copy go, whether its value was asked for or not."""
        if self._child:
            child, self._child = self._child, 0
            self._answer.close()
            os.kill(child, signal.SIGKILL)
            os.waitpid(child, 0)


class Tasks:
    """Numbers of tasks that this process and its copies take one by one, so that none waits while another is busy.

    Use: make them before the copies, then `for number in tasks` in each of these; whoever asks first gets the next one.
    """

    def __init__(self, count: int) -> None:
        """Lay them out.

        Args:
            count: how many, up to 10,000: a pipe holds them all.
        """
        self._ahead, given = os.pipe()
        os.write(given, b"".join(number.to_bytes(NUMBER, "big") for number in range(count)))
        os.close(given)

    def __iter__(self) -> Iterator[int]:
        """The next ones that nobody has taken."""
        while taken := os.read(self._ahead, NUMBER):
            yield int.from_bytes(taken, "big")

    def close(self) -> None:
        """Take no more in this process."""
        os.close(self._ahead)


def _give(compute: Callable[[], object], answer: BinaryIO) -> None:  # pragma: no cover - runs in the child
    """The copy's whole life: compute, answer, end."""
    gc.disable()
    try:
        answer.write(pickle.dumps(compute(), protocol=5))
        answer.close()
    finally:
        os._exit(0)


def _calculate(detail: Detail, tolerance: float, mesher: str, input_hash: str) -> DetailResult:
    from bridge2d.calculate import calculate

    return calculate(detail, tolerance, mesher, input_hash)


def _depending(result: DetailResult, inputs: Inputs) -> Sensitivities | None:
    from bridge2d.sensitivities.rows import sensitivities

    return sensitivities(result, inputs)


def _serve(asked: BinaryIO, answer: BinaryIO, inputs: bool) -> None:  # pragma: no cover - runs in the child
    """The child's whole life: load the numerics, read one detail, answer, end."""
    status = 1
    gc.disable()  # one detail, then the process ends
    try:
        _load_numerics(inputs)
        call, varied = pickle.load(asked)  # written by our own parent
        found = _attempted(*call)
        _write(found, answer)
        if varied is not None and not isinstance(found, tuple):
            _write(_depending(found, varied), answer)
        answer.close()
        status = 0
    except (EOFError, BrokenPipeError, KeyboardInterrupt):
        pass  # the parent found the file wrong, or was stopped
    finally:
        os._exit(status)


def _attempted(detail: Detail, tolerance: float, mesher: str, input_hash: str) -> DetailResult | tuple[object, ...]:
    """The results, or what makes their error again."""
    from bridge2d.errors import Bridge2dError

    try:
        return _calculate(detail, tolerance, mesher, input_hash)
    except Bridge2dError as error:
        return type(error), error.args, error.__dict__


def _write(answered: object, answer: BinaryIO) -> None:
    answer.write(pickle.dumps(answered, protocol=5))
    answer.flush()


def _load_numerics(inputs: bool) -> None:
    import bridge2d.section_results
    import bridge2d.sparse

    bridge2d.sparse.prepare()
    if inputs:
        import bridge2d.sensitivities.rows
