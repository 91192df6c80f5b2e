"""`bridge2d serve` itself: what it prints, where it listens, how it ends."""

from __future__ import annotations

import re
import signal
import socket
import subprocess
import sys
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest

from bridge2d.cli import main


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


def _runs(number: int) -> bool:
    try:
        return Path(f"/proc/{number}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False


def test_a_folder_that_there_is_not_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["serve", str(tmp_path / "nowhere")]) == 2
    assert "no such folder" in capsys.readouterr().err
    assert main(["serve", str(tmp_path), "--port", "99999999"]) == 2
    assert "no port" in capsys.readouterr().err


def test_a_port_that_is_taken_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        assert main(["serve", str(tmp_path), "--port", str(taken.getsockname()[1])]) == 2
    assert "is taken" in capsys.readouterr().err
