"""The files of a sweep: its table, and beside a CSV what it is a table of.

rows, and those between them → **files**.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from bridge2d.shown_units import IN_SI, DisplayUnits
from bridge2d.variants.about import about_bytes, beside, columns, facts, metadata
from bridge2d.variants.between import errors
from bridge2d.variants.gridded import Gridded, grids
from bridge2d.variants.rows import csv_bytes, parquet_bytes, table

if TYPE_CHECKING:
    from bridge2d.variants.sweeping import Plan, Swept


def grids_of(plan: Plan, swept: Swept, shown: DisplayUnits = IN_SI) -> list[Gridded]:
    """Every number of a sweep over its grid with its error of interpolation; none of a hypercube.

    Args:
        plan: the sweep.
        swept: its rows.
        shown: units of the numbers.
    """
    if plan.hypercube:
        return []
    off = errors(plan.axes, [row for _, row in swept.rows], swept.points, swept.between)
    return grids(plan.axes, swept.rows, shown, off, len(swept.between))


def files(plan: Plan, swept: Swept, output: Path) -> list[tuple[bytes, Path]]:
    """The files that a sweep writes.

    Args:
        plan: the sweep.
        swept: its rows.
        output: the table, a CSV or a Parquet file.

    Raises:
        MissingLibraryError: Parquet needs a library that is not installed.
    """
    over, count = grids_of(plan, swept), len(swept.rows)
    known = facts(plan, over, count)
    made = {**table(plan.axes, swept.rows), **columns(over, count)}
    if output.suffix.lower() == ".parquet":
        return [(parquet_bytes(made, {"bridge2d": plan.fingerprint, **metadata(known)}), output)]
    return [(csv_bytes(made), output), (about_bytes(known), beside(output))]
