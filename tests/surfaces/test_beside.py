"""What is computed in a process beside: the same as in this one, whatever becomes of the other."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from bridge2d.beside import Ahead

ROOT = Path(__file__).parents[2]
forks = pytest.mark.skipif(not hasattr(os, "fork"), reason="there is no fork here")


def in_a_process_of_its_own(code: str) -> str:
    """What a few lines print in a process that has one thread."""
    given = f"import os\nfrom bridge2d.beside import Ahead\nhere = os.getpid()\n{code}"
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    return subprocess.run(
        [sys.executable, "-c", given], env=environment, capture_output=True, text=True, check=True
    ).stdout.strip()


@forks
def test_a_value_comes_from_a_copy_of_the_process() -> None:
    assert in_a_process_of_its_own("print(Ahead(lambda: os.getpid() != here).value())") == "True"


@forks
@pytest.mark.parametrize("end", ["os._exit(3)", "os.kill(os.getpid(), 9)", "1 / 0"])
def test_what_a_lost_copy_would_have_said_is_computed_here(end: str) -> None:
    code = (
        f"def compute():\n    if os.getpid() != here:\n        {end}\n    return 'here'\nprint(Ahead(compute).value())"
    )
    assert in_a_process_of_its_own(code) == "here"


@forks
def test_an_error_is_raised_where_the_value_is_asked_for() -> None:
    code = "ahead = Ahead(lambda: [].pop())\ntry:\n    ahead.value()\nexcept IndexError as error:\n    print(error)"
    assert in_a_process_of_its_own(code) == "pop from empty list"


@forks
def test_a_copy_that_is_not_asked_is_let_go() -> None:
    """Without a pipe left open, which -W error would tell, and without waiting for what it computes."""
    code = (
        "import time, warnings\nwarnings.simplefilter('error')\nahead = Ahead(lambda: time.sleep(600))\nahead.close()\n"
        "del ahead\ntry:\n    os.waitpid(-1, os.WNOHANG)\nexcept ChildProcessError:\n    print('none is left')"
    )
    assert in_a_process_of_its_own(code) == "none is left"


@forks
def test_every_task_is_taken_once() -> None:
    code = (
        "import time\nfrom bridge2d.beside import Tasks\ntasks = Tasks(500)\n"
        "def taken():\n    found = []\n    for number in tasks:\n        found.append(number)\n"
        "        time.sleep(1e-4)\n    return found\ncopies = [Ahead(taken) for _ in range(3)]\n"
        "parts = [taken(), *(one.value() for one in copies)]\ntasks.close()\n"
        "print(sorted(sum(parts, [])) == list(range(500)), sum(map(bool, parts)) > 1)"
    )
    assert in_a_process_of_its_own(code) == "True True"


def test_beside_another_thread_nothing_is_copied() -> None:
    done = threading.Event()
    thread = threading.Thread(target=done.wait)
    thread.start()
    try:
        assert Ahead(os.getpid).value() == os.getpid()
    finally:
        done.set()
        thread.join()


@forks
@pytest.mark.parametrize("lost", ["", "os.kill(ready._child, 9)\n"])
def test_what_a_result_depends_on_comes_after_it(lost: str) -> None:
    """From the process that computed it; where that is gone, from this one."""
    detail = ROOT / "details" / "tollhouse_party_wall.toml"
    code = (
        "from bridge2d.beside import Computation\nready = Computation(inputs=True)\n"
        f"from bridge2d.detail_file import load\nloaded = load({str(detail)!r}, geometry=False)\n"
        "from bridge2d.variations import GivenInputs\n"
        "inputs = GivenInputs(loaded.detail, loaded.parameters, loaded.tolerances)\n"
        "ready.begin(loaded.detail, 1e-3, 'auto', '', inputs)\nresult = ready.result()\n"
        f"beside = ready.goes_on\n{lost}found = ready.sensitivities()\n"
        "from bridge2d.sensitivities.rows import sensitivities\n"
        "print(beside, ready.goes_on, found == sensitivities(result, loaded))"
    )
    assert in_a_process_of_its_own(code) == "True False True"


@forks
def test_nothing_goes_on_where_nothing_else_is_asked_for() -> None:
    detail = ROOT / "details" / "tollhouse_party_wall.toml"
    code = (
        "from bridge2d.beside import Computation\nready = Computation()\n"
        f"from bridge2d.detail_file import load\nloaded = load({str(detail)!r}, geometry=False)\n"
        "ready.begin(loaded.detail, 1e-3, 'auto', '')\nresult = ready.result()\n"
        "print(ready.goes_on, ready.sensitivities(), len(result.sections) > 0)"
    )
    assert in_a_process_of_its_own(code) == "False None True"


@forks
@pytest.mark.parametrize(
    ("name", "more"), [("tollhouse_party_wall.toml", ["--sensitivities"]), ("tollhouse_window_frame.toml", [])]
)
def test_a_report_is_the_same_with_and_without(name: str, more: list[str], tmp_path: Path) -> None:
    detail = ROOT / "details" / name
    code = (
        "from bridge2d import beside\nfrom bridge2d.cli import main\n{}\n"
        f"main({['report', str(detail), *more, '-o', 'one.pdf']!r})"
    )
    written = []
    for before in ("", "beside.hasattr = lambda of, name: name != 'fork' and hasattr(of, name)"):
        environment = {**os.environ, "PYTHONPATH": str(ROOT)}
        call = [sys.executable, "-c", code.format(before)]
        done = subprocess.run(call, cwd=tmp_path, env=environment, capture_output=True, check=False)
        assert done.returncode == 0, done.stderr
        written.append((tmp_path / "one.pdf").read_bytes())
    assert written[0] == written[1]
