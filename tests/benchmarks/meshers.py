"""Which mesher is quicker to a bracket of 0.1 %: the graded grid or gmsh, section by section, in one warm process.

Run: python -m tests.benchmarks.meshers

The default follows from this: the grid wherever it can be laid, gmsh for edges that are not parallel to the axes.
"""

from __future__ import annotations

import statistics
import time
from dataclasses import replace

from bridge2d.detail import Section
from bridge2d.junctions.joist_pocket import JoistPocket, build
from bridge2d.refinement import refine_once, start
from bridge2d.solution import narrow
from tests.shapes import corner, iso_10211_case_2, quadrants


def to_bracket(of: Section, mesher: str) -> tuple[float, int, int]:
    """Time [s], passes and triangles until the bracket is 0.1 % wide."""
    begun = time.perf_counter()
    passes = [start(of, mesher)]
    while not narrow(passes[-1], 1e-3, 1e3):
        passes.append(refine_once(of, passes[-1], 1e-3, 1e3))
    return time.perf_counter() - begun, len(passes), len(passes[-1].on.triangles)


def main() -> None:
    """Print the table."""
    sections = {
        "ISO 10211 case 2": iso_10211_case_2(),
        "corner of two walls": corner(1000, 100),
        "quadrants 1 : 10": quadrants(10),
        **{f"joist, {s.name}": s for s in build(JoistPocket()).sections},
    }
    columns = f"{'passes':>7} {'triangles':>10}"
    print(f"{'section':24} {'grid':>8} {columns} {'gmsh':>8} {columns}  gmsh/grid")
    for name, section in sections.items():
        of = replace(section, psi_half_width=1e3)
        rows = {}
        for mesher in ("grid", "gmsh"):
            to_bracket(of, mesher)
            runs = [to_bracket(of, mesher) for _ in range(5)]
            rows[mesher] = (statistics.median(r[0] for r in runs), *runs[0][1:])
        cells = "".join(f" {1000 * t:5.0f} ms {n:7} {m:10}" for t, n, m in rows.values())
        print(f"{name:24}{cells} {rows['gmsh'][0] / rows['grid'][0]:10.2f}")


if __name__ == "__main__":
    main()
