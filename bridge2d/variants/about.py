"""What a table of variants is a table of: program, detail, what is varied, all that is not, brackets, interpolation.

plan and rows → **facts** → a file beside the CSV, metadata of the Parquet, a line below the chart.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from bridge2d import __version__
from bridge2d import nomenclature as n
from bridge2d.junctions.declaration import describe
from bridge2d.solving import plain
from bridge2d.variants.gridded import rounded_up
from bridge2d.variants.rows import quantity

if TYPE_CHECKING:
    from bridge2d.variants.gridded import Gridded
    from bridge2d.variants.sweeping import Plan

ENDING = "_about.csv"
"""Of the file beside a table, in the place of ".csv"."""
SHORT_HASH = 12


class Fact(NamedTuple):
    """A line of the file beside a table: what, its value as text, and its unit."""

    what: str
    value: str
    unit: str = ""


def beside(table: Path) -> Path:
    """The file beside a table that says what it is of.

    Args:
        table: the CSV.
    """
    return table.with_name(table.stem + ENDING)


def facts(plan: Plan, grids: Sequence[Gridded], count: int) -> list[Fact]:
    """All that a reader of the table has to know.

    Args:
        plan: the sweep.
        grids: its numbers in SI; empty for a hypercube.
        count: of variants.
    """
    loaded = plan.base.loaded()
    form = f"Latin hypercube, seed {plan.seed}" if plan.hypercube else "grid of all values"
    found = [
        Fact("program", f"bridge2d {__version__}"),
        Fact("detail", loaded.detail.title),
        Fact("file", loaded.path.name),
        Fact("SHA-256 of the input that counts", loaded.input_hash),
        Fact("SHA-256 of the sweep", plan.fingerprint),
        Fact("junction", loaded.detail.junction),
        Fact("variants", f"{count}, {form}"),
        Fact("widest relative bracket around L2D that was asked for", plain(plan.tolerance)),
    ]
    for axis in plan.axes:
        said = "; ".join(one if isinstance(one, str) else f"{one:.9g}" for one in axis.values)
        found.append(Fact(f"varied: {axis.name}", said, axis.unit))
    return found + _numbers(grids) + _fixed(plan)


def _numbers(grids: Sequence[Gridded]) -> list[Fact]:
    found = []
    for one in grids:
        unit = quantity(one.name).unit
        unit = "" if unit == n.F_RSI.unit else unit
        what = "greatest half of a bracket" if one.bounded else "greatest tolerance (an estimate, no bounds)"
        found.append(Fact(f"{one.name}: {what}", rounded_up(one.half), unit))
        if one.interpolation is not None:
            what = f"error of linear interpolation, estimated: 4/3 of the most found at {one.between} values between"
            found.append(Fact(f"{one.name}: {what}", rounded_up(one.interpolation), unit))
    return found


def _fixed(plan: Plan) -> list[Fact]:
    """Parameters that are not varied, in the units that the detail is shown in."""
    loaded = plan.base.loaded()
    if loaded.parameters is None:
        return []
    varied = {axis.name for axis in plan.axes}
    shown = loaded.units.system
    infos = [info for info in describe(type(loaded.parameters)) if info.name not in varied]
    return [Fact(f"fixed: {info.name}", loaded.parameters.shown(info, shown)) for info in infos]


def about_bytes(known: Sequence[Fact]) -> bytes:
    """The facts as CSV, UTF-8 with a mark that spreadsheets know.

    Args:
        known: see `facts`.
    """
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(Fact._fields)
    writer.writerows(known)
    return out.getvalue().encode("utf-8-sig")


def metadata(known: Sequence[Fact]) -> dict[str, str]:
    """The facts as metadata of a Parquet file.

    Args:
        known: see `facts`.
    """
    return {one.what: f"{one.value} {one.unit}".rstrip() for one in known}


def columns(grids: Sequence[Gridded], count: int) -> dict[str, list[str | float]]:
    """Columns that are the same in every row: error of interpolation of each number, and the program's version.

    Args:
        grids: the numbers in SI; empty for a hypercube.
        count: of rows.
    """
    found: dict[str, list[str | float]] = {}
    for one in grids:
        if one.interpolation is not None:
            unit = quantity(one.name).unit
            name = f"{one.name}_interpolation"
            found[name if unit == n.F_RSI.unit else f"{name} [{unit}]"] = [float(rounded_up(one.interpolation))] * count
    return {**found, "version": [__version__] * count}


def below_chart(plan: Plan, drawn: Gridded) -> str:
    """The line below a chart: brackets, interpolation, and where all that is not varied stands.

    Args:
        plan: the sweep.
        drawn: the number that is drawn, in the units that are shown.
    """
    loaded = plan.base.loaded()
    half = rounded_up(drawn.half)
    said = [f"values within ± {half}" if drawn.bounded else f"values with a tolerance of {half}"]
    if drawn.interpolation is not None:
        said.append(f"off between them, by linear interpolation, up to about {rounded_up(drawn.interpolation)}")
    all_else = f"all else as in {loaded.path.name} (input {loaded.input_hash[:SHORT_HASH]})"
    return f"{', '.join(said)}; {all_else}; bridge2d {__version__}"
