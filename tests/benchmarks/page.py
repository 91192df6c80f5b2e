"""How long the local page takes to answer a change, beside a bare computation of the same detail, in one run.

Run: python -m tests.benchmarks.page [DETAIL.toml …]

Each change is a new one of a dimension, by at most a millimetre to and fro, so that neither answers nor meshes are
remembered; sections that the dimension does not reach are, as for whoever changes it: a first look (what is shown at
once), and the rest (which replaces it). Both come over the whole application but the network. Times are medians of
changes taken in turn with bare computations in a process that is as warm; machines differ and drift, so the ratio is
what to compare.
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
from typing import TYPE_CHECKING, NamedTuple
from urllib.parse import quote

if TYPE_CHECKING:
    from httpx2 import Response

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as in the processes of the page

from bridge2d.calculate import calculate
from bridge2d.detail_file import LoadedDetail, load, read
from bridge2d.errors import InputError
from bridge2d.junctions.declaration import describe, is_varied
from bridge2d.units import LENGTH, SI
from bridge2d.web.app import page
from bridge2d.web.edits import document, edited
from bridge2d.web.working import Workshop

RUNS = 7
AIM = 0.150
"""What a first look should take on a machine with nothing else to do [s]."""
STEP = 0.001
"""By how much a dimension is changed at most [m]."""
PORT = 8462
HTMX = {"hx-request": "true", "hx-target": "sheet"}
"""What the browser's script sends along with a change."""


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


class Moved(NamedTuple):
    """A dimension that is changed.

    Attributes:
        name: of the parameter.
        value: where it stands in the file [m].
        lowest, highest: to which it is changed [m].
    """

    name: str
    value: float
    lowest: float
    highest: float

    def at(self, run: int) -> str:
        """A value that was not there before, above and below the file's in turn [mm]."""
        new = 0.5 + 0.4 * (time.time_ns() % 9973) / 9973  # share of the way to the end
        end = self.highest if run % 2 else self.lowest
        return f"{1e3 * (self.value + new * (end - self.value)):.6f}"


def moved(loaded: LoadedDetail) -> Moved | None:
    """The dimension to change, an insulation's thickness where it can be; None where none can be changed alone.

    Args:
        loaded: the detail.
    """
    found = []
    for info in describe(type(loaded.parameters)) if loaded.parameters else ():
        value = getattr(loaded.parameters, info.name)
        if info.kind is LENGTH and is_varied(info, value):
            lowest, highest = max(value - STEP, info.minimum or 0.0), min(value + STEP, info.maximum or value + STEP)
            if highest - lowest >= STEP:
                found.append(Moved(info.name, value, lowest, highest))
    found.sort(key=lambda one: "insulation_thickness" not in one.name)
    return next((one for one in found if _stands(one, loaded)), None)


def _stands(one: Moved, loaded: LoadedDetail) -> bool:
    """Whether the detail can be built with either end of a dimension and all others as they are."""
    try:
        for end in (one.lowest, one.highest):
            read(edited(document(loaded.text), {f"p.{one.name}": f"{1e3 * end:.6f}"}, SI), loaded.path)
    except InputError:
        return False
    return True


def _one(path: Path, get: Callable[..., Response]) -> None:
    """One detail: a dimension that changes a little every time."""
    loaded = load(path)
    dimension = moved(loaded)
    if dimension is None:
        print(f"{path.name:28} has no dimension to change")
        return
    units = f"&units={quote(SI)}"
    times: dict[str, list[float]] = {"bare": [], "first": [], "rest": []}
    for run in range(RUNS + 1):
        address = f"/detail/{quote(path.name)}?p.{dimension.name}={dimension.at(run)}{units}"
        times["first"].append(_timed(lambda a=address: _answered(get(a, headers=HTMX))))
        times["rest"].append(_timed(lambda a=address: _answered(get(a, headers=HTMX | {"x-refine": "yes"}))))
        times["bare"].append(_timed(lambda: calculate(loaded.detail)))
    median = {name: statistics.median(taken[1:]) for name, taken in times.items()}  # the first round warms up
    print(
        f"{path.name:28} bare {1e3 * median['bare']:6.0f} ms   first look {1e3 * median['first']:6.0f} ms "
        f"({median['first'] / median['bare']:.2f} × bare{'' if median['first'] <= AIM else ', above the aim'})   "
        f"rest {1e3 * median['rest']:6.0f} ms ({median['rest'] / median['bare']:.2f} × bare)",
        flush=True,
    )


def _answered(answer: Response) -> None:
    """Stop where a change is refused, which takes no time to tell."""
    if answer.status_code != 200 or 'aria-invalid="true"' in answer.text or "<svg" not in answer.text:
        raise SystemExit(f"{answer.url} shows no changed detail ({answer.status_code})")


def _timed(call: Callable[[], object]) -> float:
    begun = time.perf_counter()
    call()
    return time.perf_counter() - begun


if __name__ == "__main__":
    main(sys.argv[1:])
