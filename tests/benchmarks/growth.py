"""Time and memory of both solutions against the number of unknowns, up to a million, with the fitted exponents.

Run: python -m tests.benchmarks.growth [CHART.svg]        (needs the extra `fast`, or the slower `large`)

The joist in a wall of `joist_wall`, refined to a bracket of 0.1 %, then everywhere. Each size is computed in a process
of its own, whose processor time and peak memory are printed; time is that of one pass, from mesh to bracket, without
loading. The exponents are fitted to the sizes from 10 000 unknowns on; between neighbouring sizes they are printed too,
since a fit may hide that the last ones are the steepest. With a path a chart is written there.
"""

from __future__ import annotations

import json
import subprocess
import sys
import time
from pathlib import Path

import numpy as np

LEAST = 1_000_000
SMALLEST_FITTED = 10_000
AIM = 1.2


def one(times: int) -> dict[str, float]:
    """One pass on the mesh that is refined everywhere so many times.

    Args:
        times: how often.

    Returns:
        unknowns; processor time [s]; peak memory of the process [MB]; relative width of the bracket.
    """
    from bridge2d.heat_flow import conditions
    from bridge2d.mesh import refine
    from bridge2d.refinement import refine_once, start
    from bridge2d.solution import narrow, solve, tensors
    from tests.benchmarks.joist_wall import wall
    from tests.benchmarks.memory import peak_megabytes

    section = wall()
    last = start(section)
    while not narrow(last, 1e-3, 1.0):
        finer = refine_once(section, last, 1e-3, 1.0)
        assert finer is not None
        last = finer
    mesh = last.mesh
    for _ in range(times - 1):
        mesh = refine(mesh, np.arange(mesh.mesh.t.shape[1]))
    begun = time.process_time()
    if times:
        mesh = refine(mesh, np.arange(mesh.mesh.t.shape[1]))
    solution = solve(mesh, tensors(section), conditions(section))
    taken = time.process_time() - begun
    return {
        "unknowns": solution.warm.unknowns,
        "seconds": taken,
        "megabytes": peak_megabytes(),
        "width": float(solution.gap.matrix[0, 0] / solution.warm.upper[0, 0]),
    }


def exponent(sizes: list[float], values: list[float]) -> float:
    """Slope of the straight line through the logarithms.

    Args:
        sizes: unknowns.
        values: time or memory at each.
    """
    return float(np.polyfit(np.log(sizes), np.log(values), 1)[0])


def main(chart: Path | None) -> None:
    """Print the table, and write the chart."""
    rows: list[dict[str, float]] = []
    print(f"{'unknowns':>10} {'time':>9} {'per unknown':>12} {'power':>6} {'peak memory':>12} {'bracket':>9}")
    while not rows or rows[-1]["unknowns"] < LEAST:
        answer = subprocess.run(
            [sys.executable, "-m", __spec__.name, "--one", str(len(rows))], check=True, capture_output=True, text=True
        )
        row = json.loads(answer.stdout)
        rows.append(row)
        last = (
            [exponent([one["unknowns"] for one in rows[-2:]], [one["seconds"] for one in rows[-2:]])]
            if rows[1:]
            else []
        )
        power = "".join(f"{one:.2f}" for one in last)
        print(
            f"{row['unknowns']:10.0f} {row['seconds']:7.2f} s {1e6 * row['seconds'] / row['unknowns']:9.1f} µs "
            f"{power:>6} {row['megabytes']:9.0f} MB {row['width']:9.1e}",
            flush=True,
        )
    fitted = [row for row in rows if row["unknowns"] >= SMALLEST_FITTED]
    sizes = [row["unknowns"] for row in fitted]
    slopes = {name: exponent(sizes, [row[name] for row in fitted]) for name in ("seconds", "megabytes")}
    print(f"time grows with the power {slopes['seconds']:.2f}, memory with {slopes['megabytes']:.2f}; aim {AIM}")
    if chart:
        draw(rows, slopes, chart)


def draw(rows: list[dict[str, float]], slopes: dict[str, float], path: Path) -> None:
    """The chart, both axes logarithmic.

    Args:
        rows: see `one`.
        slopes: fitted exponents.
        path: where it is written.
    """
    import matplotlib as mpl

    mpl.use("agg")
    mpl.rcParams["svg.hashsalt"] = "growth"
    import matplotlib.pyplot as plt

    figure, axes = plt.subplots(1, 2, figsize=(9.0, 4.0), layout="constrained")
    sizes = np.array([row["unknowns"] for row in rows])
    labels = {"seconds": "processor time of one pass [s]", "megabytes": "peak memory of the process [MB]"}
    for axis, (name, label) in zip(axes, labels.items(), strict=True):
        values = np.array([row[name] for row in rows])
        axis.loglog(sizes, values, "o-", color="black", markersize=4)
        axis.loglog(sizes, values[-1] * (sizes / sizes[-1]) ** AIM, ":", color="grey", label=f"power {AIM}")
        axis.set_xlabel("unknowns of the temperatures")
        axis.set_ylabel(label)
        axis.set_title(f"fitted power {slopes[name]:.2f}", fontsize=10)
        axis.grid(visible=True, which="both", linewidth=0.3)
        axis.legend()
    undated = {"CreationDate": None} if path.suffix == ".pdf" else {"Date": None}
    figure.savefig(path, metadata={**undated, "Title": "Time and memory against unknowns"})
    print(f"chart: {path}")


if __name__ == "__main__":
    if sys.argv[1:2] == ["--one"]:
        print(json.dumps(one(int(sys.argv[2]))))
    else:
        main(Path(sys.argv[1]) if len(sys.argv) > 1 else None)
