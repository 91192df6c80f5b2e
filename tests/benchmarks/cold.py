"""How long a cold call takes, beside a process that does nothing but import scikit-fem, in one run.

Run: python -m tests.benchmarks.cold DETAIL.toml            (needs the extra `benchmarks`: pip install '.[benchmarks]')

Times are medians of whole processes, taken in turn; machines differ and drift, so the ratio is what to compare.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tests.benchmarks.memory import peak_of_call

RUNS = 9
SOLVE = ["-m", "bridge2d", "solve"]


def main(detail: str) -> None:
    """Print the medians and ratios."""
    with tempfile.TemporaryDirectory() as folder:
        calls = {
            "import scikit-fem": ["-c", "import skfem"],
            "solve": [*SOLVE, detail],
            "report": ["-m", "bridge2d", "report", detail, "-o", str(Path(folder) / "report.pdf")],
        }
        times: dict[str, list[float]] = {name: [] for name in calls}
        for _ in range(RUNS + 1):
            for name, call in calls.items():
                begun = time.perf_counter()
                subprocess.run([sys.executable, *call], check=False, stdout=subprocess.DEVNULL)
                times[name].append(time.perf_counter() - begun)
    yardstick = statistics.median(times["import scikit-fem"][1:])
    for name, taken in times.items():
        median = statistics.median(taken[1:])  # the first round fills the caches
        print(f"{name:20} {median:6.2f} s   {median / yardstick:5.2f} × import scikit-fem")
    if Path("/proc").exists():
        print(
            f"{'solve':20} {peak_of_call([sys.executable, *SOLVE, detail]):6.0f} MB at most, all its processes together"
        )


if __name__ == "__main__":
    main(sys.argv[1])
