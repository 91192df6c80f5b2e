"""A process that is killed in the middle of writing leaves the old file as it was, whatever it writes."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from bridge2d.cli import main
from tests.small_building import building

pytestmark = pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="no process can be killed so here")

ROOT = Path(__file__).parents[2]
OLD = b"the file of before\n"
CHILD = """\
import os, signal, sys
from pathlib import Path
from bridge2d.cli import main

ending, moment = sys.argv[1:3]
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


def opened(handle, *words):
    file = open_file(handle, *words)
    name = os.readlink(f"/proc/self/fd/{handle}")
    return Half(file) if moment == "writing" and f"{ending}." in name else file


def replaced(self, target):
    if moment == "putting in place" and str(target).endswith(ending):
        die()
    return replace(self, target)


os.fdopen, Path.replace = opened, replaced
main(sys.argv[3:])
"""
MOMENTS = ("writing", "putting in place")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    building(tmp_path, 2)
    return tmp_path


def killed(folder: Path, ending: str, moment: str, *words: str) -> None:
    """Run a command that is killed while it writes a file of an ending."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "XDG_CACHE_HOME": str(folder / "kept")}
    call = [sys.executable, "-c", CHILD, ending, moment, *words]
    run = subprocess.run(call, cwd=folder, env=environment, capture_output=True, check=False)
    assert run.returncode == -signal.SIGKILL, run.stderr.decode()


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
def test_the_old_file_stays(folder: Path, what: str, moment: str, monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", str(folder / "kept"))
    ending, words = CALLS[what]
    out = folder / f"out{ending}"
    out.write_bytes(OLD)
    killed(folder, ending, moment, *words)
    assert out.read_bytes() == OLD
    assert main(_absolute(folder, words)) == 0
    assert out.read_bytes() != OLD  # what the killed one left behind hinders nobody


def _absolute(folder: Path, words: list[str]) -> list[str]:
    return [str(folder / word) if (folder / word).exists() and "." in word else word for word in words]


@pytest.mark.skipif(not Path("/proc/self/fd").exists(), reason="the system does not tell the name of an open file")
@pytest.mark.parametrize(("ending", "moment"), [(e, m) for e in (".detail", ".volume") for m in MOMENTS])
def test_a_cache_that_was_being_written_harms_nobody(folder: Path, ending: str, moment: str, monkeypatch):
    call = ["schedule", "house.toml", "-o", "out.pdf", "--jobs", "1"]
    killed(folder, ending, moment, *call)
    assert not (folder / "out.pdf").exists()
    monkeypatch.setenv("XDG_CACHE_HOME", str(folder / "kept"))
    written = []
    for more in ([], ["--no-cache"]):
        assert main(["schedule", str(folder / "house.toml"), "-o", str(folder / "out.pdf"), "--jobs", "1", *more]) == 0
        written.append((folder / "out.pdf").read_bytes())
    assert written[0] == written[1]
