"""`bridge2d serve` itself: what it prints, where it listens, how it ends."""

from __future__ import annotations

import contextlib
import re
import signal
import socket
import subprocess
import sys
import threading
import urllib.error
import urllib.request
from collections.abc import Iterator
from html import unescape
from pathlib import Path

import httpx2
import pytest

from bridge2d.cli import main
from bridge2d.detail_file import load, read
from bridge2d.units import SI
from bridge2d.web.edits import document, edited
from tests.web.conftest import DETAILS, FREE_SECTION


@pytest.fixture
def running(folder: Path) -> Iterator[tuple[subprocess.Popen[str], str]]:
    call = [sys.executable, "-m", "bridge2d", "serve", str(folder)]
    with subprocess.Popen(call, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        address = next(found[0] for line in process.stdout if (found := re.search(r"http://\S+", line)))
        yield process, address
        process.kill()


def test_it_prints_its_address_with_the_token(running: tuple[subprocess.Popen[str], str]) -> None:
    process, address = running
    assert re.fullmatch(r"http://127\.0\.0\.1:\d+/\?token=[\w-]{32}", address)
    with urllib.request.urlopen(address, timeout=60) as answer:
        assert answer.status == 200
        assert "server" not in answer.headers
    with pytest.raises(urllib.error.HTTPError, match="403"):
        urllib.request.urlopen(address.partition("?")[0], timeout=60)
    process.send_signal(signal.SIGINT)
    assert process.wait(30) in (0, 130)


def test_no_other_machine_reaches_it(running: tuple[subprocess.Popen[str], str]) -> None:
    """Another address of this very machine stands for another machine."""
    port = int(running[1].partition("/?")[0].rpartition(":")[2])
    with socket.socket() as line:
        line.settimeout(5)
        assert line.connect_ex(("127.0.0.2", port)) != 0


def test_its_processes_end_with_it(running: tuple[subprocess.Popen[str], str]) -> None:
    process, address = running
    with urllib.request.urlopen(address, timeout=60):
        pass
    children = Path(f"/proc/{process.pid}/task/{process.pid}/children")
    if not children.exists():
        pytest.skip("this system does not tell a process's children")
    numbers = [int(one) for one in children.read_text().split()]
    assert numbers
    process.kill()
    process.wait(30)
    for _ in range(100):
        left = [one for one in numbers if _runs(one)]
        if not left:
            return
        signal.sigtimedwait([], 0.1)
    pytest.fail(f"still there: {left}")


REVISIONS = ("first", "second")


def versions(text: str) -> tuple[str, str]:
    """A detail with either of two revisions, long enough that writing takes a while."""
    filler = "".join(f"# line {number} of a long file\n" for number in range(5_000))
    first, second = (f'revision = "{one}"\n{text}{filler}' for one in REVISIONS)
    return first, second


def saves(address: str, stop: threading.Event) -> None:
    """Save one revision after the other for as long as there is an answer."""
    home, _, token = address.partition("/?token=")
    with (
        contextlib.suppress(httpx2.HTTPError),
        httpx2.Client(base_url=home, timeout=60, follow_redirects=True) as visitor,
    ):
        visitor.get(f"/?token={token}")
        number = 0
        while not stop.is_set():
            number += 1
            page = visitor.get(f"/detail/two_layers.toml?h.revision={REVISIONS[number % 2]}").text
            found = dict(re.findall(r'<input type="hidden" name="(token|query|seen)" value="([^"]*)"', page))
            visitor.post("/detail/two_layers.toml/save", data={key: unescape(value) for key, value in found.items()})


@pytest.mark.parametrize("wait", [0.0, 0.11, 0.23, 0.42])
def test_killed_in_the_middle_of_saves_it_loses_nothing(folder: Path, wait: float) -> None:
    file = folder / "two_layers.toml"
    both = versions(FREE_SECTION)
    file.write_text(both[0], encoding="utf-8")
    call = [sys.executable, "-m", "bridge2d", "serve", str(folder)]
    stop = threading.Event()
    with subprocess.Popen(call, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True) as process:
        assert process.stdout is not None
        address = next(found[0] for line in process.stdout if (found := re.search(r"http://\S+", line)))
        thread = threading.Thread(target=saves, args=(address, stop))
        thread.start()
        kept = folder / "two_layers.toml~"
        try:
            for _ in range(600):
                if kept.exists():
                    break
                stop.wait(0.05)
            assert kept.exists(), "nothing was saved"
            stop.wait(wait)
        finally:  # else both would wait for each other
            process.kill()
            stop.set()
        thread.join(60)
    for one in (file, kept):
        assert one.read_text(encoding="utf-8") in both


def _runs(number: int) -> bool:
    try:
        return Path(f"/proc/{number}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False


def test_twenty_visitors_over_a_real_line_get_no_error(capsys: pytest.CaptureFixture[str]) -> None:
    """Some seconds of what `python -m tests.benchmarks.visitors` does for a minute."""
    from tests.benchmarks import visitors

    assert visitors.main(3.0) == 0
    found = re.match(r"(\d+) answers, 0 errors", capsys.readouterr().out)
    assert found
    assert int(found[1]) >= visitors.VISITORS


def test_a_folder_that_there_is_not_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["serve", str(tmp_path / "nowhere")]) == 2
    assert "no such folder" in capsys.readouterr().err
    assert main(["serve", str(tmp_path), "--port", "99999999"]) == 2
    assert "no port" in capsys.readouterr().err


def test_a_port_that_is_taken_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        assert main(["serve", str(tmp_path), "--port", str(taken.getsockname()[1])]) == 2
    assert "is taken" in capsys.readouterr().err


@pytest.mark.parametrize("name", ["window", "hatch_a", "joist"])
def test_the_measured_change_is_one_of_a_dimension(name: str) -> None:
    """What `python -m tests.benchmarks.page` changes: a new length each time, a millimetre to and fro at most."""
    from tests.benchmarks.page import moved

    path = DETAILS / f"tollhouse_{name}.toml"
    loaded = load(path)
    dimension = moved(loaded)
    assert dimension
    found = [float(dimension.at(run)) for run in range(4)]
    assert len(set(found)) == 4
    assert [one > 1e3 * dimension.value for one in found] == [False, True, False, True]
    assert all(0.4 < abs(one - 1e3 * dimension.value) < 1 for one in found)
    for one in found[:2]:
        changed = edited(document(loaded.text), {f"p.{dimension.name}": f"{one:.6f}"}, SI)
        assert read(changed, path, geometry=False).input_hash != loaded.input_hash
