"""How long the schedule of a building of sixty varied junctions takes: from nothing, with one detail changed, repeated.

Run: python -m tests.benchmarks.schedule [FOLDER]

Whole processes. The junctions are random variations, always the same, of joist, party wall, roof edge and window; the
cache is a fresh folder. User and system time are told beside the time that passed, since a busy machine stretches it.
"""

from __future__ import annotations

import os
import random
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

JUNCTIONS = 60
DETAILS = Path(__file__).parents[2] / "details"
VARIED = {
    "tollhouse_joist.toml": {"masonry_thickness": (240, 510), "joist_spacing": (500, 900), "joist_width": (60, 120)},
    "tollhouse_party_wall.toml": {"masonry_thickness": (240, 510), "return_length": (300, 900)},
    "tollhouse_roof_edge.toml": {"parapet_height": (250, 600), "roof_insulation_thickness": (160, 320)},
    "tollhouse_window.toml": {"window_width": (800, 1500), "window_height": (1200, 2100), "frame_width": (90, 130)},
}
"""Parameters that are drawn, with their limits [mm]."""


def building(seed: int = 1893) -> str:
    """The text of a building file with sixty junctions."""
    draw = random.Random(seed)
    blocks = ['title = "Sixty junctions"\ndimensions = "external"\n']
    for number in range(JUNCTIONS):
        name = list(VARIED)[number % len(VARIED)]
        drawn = {key: draw.randrange(low, high, 5) for key, (low, high) in VARIED[name].items()}
        drawn["insulation_thickness"] = draw.randrange(100 if "window" in name else 60, 160, 5)
        if "joist" in name:
            drawn["bay_insulation_thickness"] = drawn["insulation_thickness"]
        parameters = ", ".join(f"{key} = {value}" for key, value in drawn.items())
        amount = f"number = {draw.randrange(1, 9)}" if "window" in name else f"length = {draw.uniform(3, 40):.2f}"
        blocks.append(
            f'[[junction]]\nref = "{number + 1}"\nname = "{name.split("_", 1)[1][:-5]} {number + 1}"\n'
            f'detail = "{DETAILS / name}"\nparameters = {{ {parameters} }}\n{amount}\n'
        )
    return "\n".join(blocks)


def timed(file: Path, cache: Path) -> str:
    """Run the command once, and tell how long it took."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    begun = time.perf_counter()
    words = [sys.executable, "-m", "bridge2d", "schedule", str(file), "-o", str(file.with_suffix(".pdf"))]
    run = subprocess.run(
        words, env={**os.environ, "XDG_CACHE_HOME": str(cache)}, check=False, capture_output=True, encoding="utf-8"
    )
    passed = time.perf_counter() - begun
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    if run.returncode > 1 or not file.with_suffix(".pdf").exists():
        raise SystemExit(run.stderr)
    used = after.ru_utime - before.ru_utime + after.ru_stime - before.ru_stime
    return f"{passed:6.2f} s passed, {used:6.2f} s of processors"


def main(folder: Path) -> None:
    """Print the three times."""
    file, cache = folder / "sixty.toml", folder / "cache"
    file.write_text(building(), encoding="utf-8")
    print(f"load of the machine {os.getloadavg()[0]:.1f} on {os.cpu_count()} processors")
    print(f"from nothing        {timed(file, cache)}")
    print(f"repeated            {timed(file, cache)}")
    text = file.read_text(encoding="utf-8").replace("joist_width = ", "joist_depth = 250, joist_width = ", 1)
    file.write_text(text, encoding="utf-8")
    print(f"one detail changed  {timed(file, cache)}")


if __name__ == "__main__":
    if len(sys.argv) > 1:
        main(Path(sys.argv[1]))
    else:
        with tempfile.TemporaryDirectory() as temporary:
            main(Path(temporary))
