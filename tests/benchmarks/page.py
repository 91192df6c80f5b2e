"""How long the local page takes to answer a change, beside a bare computation of the same detail, in one run.

Run: python -m tests.benchmarks.page [DETAIL.toml …]

Each change is new, so that nothing is remembered: a first look (what is shown at once), and the rest (which replaces
it). Both come over the whole application but the network. Times are medians of changes taken in turn with bare
computations in a process that is as warm; machines differ and drift, so the ratio is what to compare.
"""

from __future__ import annotations

import os
import statistics
import sys
import tempfile
import time
import warnings
from collections.abc import Callable
from pathlib import Path
from urllib.parse import quote

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as in the processes of the page

from bridge2d.calculate import calculate
from bridge2d.detail_file import load
from bridge2d.web.app import page
from bridge2d.web.edits import document, groups
from bridge2d.web.working import Workshop

RUNS = 7
AIM = 0.150
"""What a first look should take on a machine with nothing else to do [s]."""
PORT = 8462


def main(details: list[str]) -> None:
    """Print the medians and ratios."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from starlette.testclient import TestClient
    paths = [Path(one) for one in details] or sorted(
        one for one in (Path(__file__).parents[2] / "details").glob("*.toml") if "building" not in one.name
    )
    workshop = Workshop(1)
    try:
        for path in paths:
            with tempfile.TemporaryDirectory() as folder:
                for one in path.parent.iterdir():
                    if one.suffix in (".toml", ".csv", ".dxf"):
                        (Path(folder) / one.name).write_bytes(one.read_bytes())
                client = TestClient(page(Path(folder), "token", PORT, workshop), base_url=f"http://127.0.0.1:{PORT}")
                client.get("/?token=token")
                _one(path, client.get)
    finally:
        workshop.close()


def _one(path: Path, get: Callable[..., object]) -> None:
    """One detail: a temperature that changes a little every time."""
    text = path.read_text(encoding="utf-8")
    if not any(one.name == "outside_temperature" for group in groups(document(text), "SI") for one in group.fields):
        print(f"{path.name:28} has no outside temperature to change")
        return
    times: dict[str, list[float]] = {"bare": [], "first": [], "rest": []}
    detail = load(path).detail
    for run in range(RUNS + 1):
        value = f"{-4.9 + 0.01 * run + 0.0001 * (time.time_ns() % 97):.4f}"
        address = f"/detail/{quote(path.name)}?p.outside_temperature={value}"
        times["first"].append(_timed(lambda a=address: get(a, headers={"hx-request": "true"})))
        times["rest"].append(_timed(lambda a=address: get(a, headers={"hx-request": "true", "x-refine": "yes"})))
        times["bare"].append(_timed(lambda: calculate(detail)))
    median = {name: statistics.median(taken[1:]) for name, taken in times.items()}  # the first round warms up
    print(
        f"{path.name:28} bare {1e3 * median['bare']:6.0f} ms   first look {1e3 * median['first']:6.0f} ms "
        f"({median['first'] / median['bare']:.2f} × bare{'' if median['first'] <= AIM else ', above the aim'})   "
        f"rest {1e3 * median['rest']:6.0f} ms ({median['rest'] / median['bare']:.2f} × bare)",
        flush=True,
    )


def _timed(call: Callable[[], object]) -> float:
    begun = time.perf_counter()
    call()
    return time.perf_counter() - begun


if __name__ == "__main__":
    main(sys.argv[1:])
