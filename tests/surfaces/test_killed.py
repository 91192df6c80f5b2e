"""A process that is killed in the middle of writing leaves the old file as it was, whatever it writes."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from bridge2d.cli import main
from tests.small_building import building

pytestmark = pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="no process can be killed so here")

ROOT = Path(__file__).parents[2]
OLD = b"the file of before\n"
CHILD = """\
import contextlib, io, json, os, signal, sys
from pathlib import Path

import bridge2d.calculate, bridge2d.comparison, bridge2d.drawing, bridge2d.report, bridge2d.schedule.command
from bridge2d.cli import main

open_file, replace = os.fdopen, Path.replace


def die():
    os.kill(os.getpid(), signal.SIGKILL)


class Half:
    def __init__(self, file):
        self.file = file

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.file.close()

    def write(self, data):
        self.file.write(data[: len(data) // 2])
        self.file.flush()
        os.fsync(self.file.fileno())
        die()


def run(folder, ending, moment, words):
    def opened(handle, *words):
        file = open_file(handle, *words)
        name = os.readlink(f"/proc/self/fd/{handle}")
        return Half(file) if moment == "writing" and f"{ending}." in name else file

    def replaced(self, target):
        if moment == "putting in place" and str(target).endswith(ending):
            die()
        return replace(self, target)

    os.fdopen, Path.replace = opened, replaced
    os.chdir(folder)
    os.environ["XDG_CACHE_HOME"] = str(Path(folder, "kept"))
    os.dup2(2, 1)  # what the command prints is none of the answers
    main(words)


with contextlib.redirect_stdout(io.StringIO()):
    assert main(["report", sys.argv[1]]) == 0  # its fonts are read, too
for line in sys.stdin:
    child = os.fork()
    if child == 0:
        run(*json.loads(line))
        os._exit(0)
    print(os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]), flush=True)
"""
MOMENTS = ("writing", "putting in place")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    building(tmp_path, 2)
    return tmp_path


@pytest.fixture(scope="module")
def beginning(tmp_path_factory: pytest.TempPathFactory) -> Iterator[subprocess.Popen[str]]:
    """A process that has loaded everything and whose copies run the commands: loading takes longer than these."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    folder = tmp_path_factory.mktemp("first")
    building(folder, 1)
    call = [sys.executable, "-c", CHILD, str(folder / "wall0.toml")]
    pipes = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE}
    with subprocess.Popen(call, env=environment, encoding="utf-8", **pipes) as process:
        yield process
        process.stdin.close()


def killed(beginning: subprocess.Popen[str], folder: Path, ending: str, moment: str, *words: str) -> None:
    """Run a command that is killed while it writes a file of an ending."""
    print(json.dumps([str(folder), ending, moment, words]), file=beginning.stdin, flush=True)
    assert int(beginning.stdout.readline()) == -signal.SIGKILL


CALLS = {
    "report": (".pdf", ["report", "wall0.toml", "-o", "out.pdf"]),
    "comparison": (".pdf", ["compare", "wall0.toml", "wall1.toml", "-o", "out.pdf"]),
    "volume": (".pdf", ["schedule", "house.toml", "-o", "out.pdf", "--jobs", "1"]),
    "table": (".csv", ["schedule", "house.toml", "--json", "--csv", "out.csv", "--jobs", "1"]),
    "workbook": (".xlsx", ["schedule", "house.toml", "--json", "--xlsx", "out.xlsx", "--jobs", "1"]),
    "drawing": (".svg", ["draw", "wall0.toml", "-o", "out.svg"]),
}


@pytest.mark.skipif(not Path("/proc/self/fd").exists(), reason="the system does not tell the name of an open file")
@pytest.mark.parametrize("moment", MOMENTS)
@pytest.mark.parametrize("what", CALLS)
def test_the_old_file_stays(beginning, folder: Path, what: str, moment: str, monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", str(folder / "kept"))
    ending, words = CALLS[what]
    out = folder / f"out{ending}"
    out.write_bytes(OLD)
    killed(beginning, folder, ending, moment, *words)
    assert out.read_bytes() == OLD
    assert main(_absolute(folder, words)) == 0
    assert out.read_bytes() != OLD  # what the killed one left behind hinders nobody


def _absolute(folder: Path, words: list[str]) -> list[str]:
    return [str(folder / word) if (folder / word).exists() and "." in word else word for word in words]


@pytest.mark.skipif(not Path("/proc/self/fd").exists(), reason="the system does not tell the name of an open file")
@pytest.mark.parametrize(("ending", "moment"), [(e, m) for e in (".detail", ".volume") for m in MOMENTS])
def test_a_cache_that_was_being_written_harms_nobody(beginning, folder: Path, ending: str, moment: str, monkeypatch):
    call = ["schedule", "house.toml", "-o", "out.pdf", "--jobs", "1"]
    killed(beginning, folder, ending, moment, *call)
    assert not (folder / "out.pdf").exists()
    monkeypatch.setenv("XDG_CACHE_HOME", str(folder / "kept"))
    written = []
    for more in ([], ["--no-cache"]):
        assert main(["schedule", str(folder / "house.toml"), "-o", str(folder / "out.pdf"), "--jobs", "1", *more]) == 0
        written.append((folder / "out.pdf").read_bytes())
    assert written[0] == written[1]
