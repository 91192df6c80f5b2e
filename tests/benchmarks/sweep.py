"""How long many variants of a joist's end take in two processes, beside one after the other without any reuse.

Run: python -m tests.benchmarks.sweep [VARIANTS]

The same grid both times, in one run: insulation, masonry, joist width and spacing, a tenth of the variants for the
plain loop. Printed are the time of a variant, the ratio, and what ten thousand would take at that pace.
"""

from __future__ import annotations

import os
import sys
import tempfile
import time
from itertools import islice, product
from pathlib import Path

from bridge2d.calculate import calculate
from bridge2d.detail_file import load
from bridge2d.variants.axes import axis
from bridge2d.variants.sweeping import Journal, Plan, swept
from bridge2d.variants.varied import Base, varied

DETAIL = Path(__file__).parents[2] / "details" / "tollhouse_joist.toml"
AXES = {
    "insulation_thickness": (40, 160),
    "masonry_thickness": (250, 510),
    "joist_width": (60, 120),
    "joist_spacing": (500, 900),
}


def main(count: int, folder: Path) -> None:
    """Print both times of a variant and their ratio."""
    loaded = load(DETAIL)
    each = max(2, round(count ** (1 / len(AXES))))
    axes = tuple(axis(f"{name}={low}:{high}:{each}", loaded) for name, (low, high) in AXES.items())
    plan = Plan(Base.of(loaded), axes, 1e-3)
    journal = Journal(folder / "rows.part", plan)
    print(f"load of the machine {os.getloadavg()[0]:.1f} on {os.cpu_count()} processors; {plan.size} variants")
    begun = time.perf_counter()
    rows = swept(plan, journal, os.cpu_count() or 1).rows
    together = (time.perf_counter() - begun) / plan.size
    journal.close(done=True)
    assert all(row["status"] == "computed" for _, row in rows)
    chosen = list(islice(product(*(one.values for one in axes)), 0, plan.size, 10))
    names = [one.name for one in axes]
    begun = time.perf_counter()
    for values in chosen:
        calculate(varied(loaded, dict(zip(names, values, strict=True))))
    alone = (time.perf_counter() - begun) / len(chosen)
    print(f"sweep {1000 * together:.0f} ms a variant, plain loop {1000 * alone:.0f} ms: ratio {together / alone:.2f}")
    print(f"ten thousand at that pace: {10_000 * together / 60:.1f} minutes")


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as made:
        main(int(sys.argv[1]) if len(sys.argv) > 1 else 1296, Path(made))
