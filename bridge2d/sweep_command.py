"""`bridge2d sweep`: its words on the command line, and what it does with them.

Part of the command line, in a file of its own; like every command it imports what it needs when it runs.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from bridge2d.call_words import processes, whole_number
from bridge2d.errors import InputError

if TYPE_CHECKING:
    from pathlib import Path

    from bridge2d.shown_units import DisplayUnits
    from bridge2d.variants.gridded import Gridded
    from bridge2d.variants.sweeping import Journal, Plan
    from bridge2d.variants.varied import Changes, Row

MOST = 1_000_000
"""Variants of a sweep."""
MINUTES_FROM = 120.0
"""From so many seconds on the time left is told in minutes."""


def sweep_options(parser: argparse.ArgumentParser) -> None:
    """Declare the words of `sweep`, but for those of all commands that compute.

    Args:
        parser: of the command.
    """
    parser.add_argument(
        "--vary",
        metavar="NAME=…",
        action="append",
        default=[],
        help="FIRST:LAST:COUNT for evenly spaced values (FIRST:LAST with --hypercube), or VALUE,VALUE,… (VALUE;VALUE "
        "where one has a comma); once for each parameter",
    )
    parser.add_argument(
        "--hypercube",
        metavar="N",
        type=whole_number("number of points", MOST),
        default=0,
        help="N points of a Latin hypercube instead of the grid",
    )
    parser.add_argument("--seed", metavar="N", type=int, default=1, help="of the hypercube (1)")
    parser.add_argument("-o", dest="output", metavar="FILE", required=True, help="the table: FILE.csv or FILE.parquet")
    parser.add_argument("--chart", metavar="FILE", help="a chart over one or two numbers: FILE.pdf, .svg or .png")
    parser.add_argument("--of", metavar="COLUMN", default="", help="what the chart shows, such as f_rsi (the first)")
    parser.add_argument("--limit", metavar="X", type=_limit, help="drawn in the chart (the file's own limit)")
    parser.add_argument(
        "--between",
        metavar="N",
        type=_count,
        help="values computed between those of a grid, for the error of interpolation (16 or more); 0: none",
    )
    parser.add_argument("--jobs", metavar="N", type=processes, default=0, help="how many processes (all processors)")
    parser.add_argument("--scheduler", metavar="ADDRESS", default="", help="of a cluster that computes instead")


def _limit(text: str) -> float:
    from bridge2d.variants.asked import read_limit

    try:
        return read_limit(text)
    except InputError as error:
        right = f"{error.right}, in the unit of what the chart shows"
        raise argparse.ArgumentTypeError(f"{error.message}; {right}") from None


def _count(text: str) -> int:
    return 0 if text.strip() == "0" else whole_number("number of values", MOST)(text)


def sweep(arguments: argparse.Namespace) -> int:
    """Compute all variants and write their table.

    Args:
        arguments: of the call.

    Returns:
        0, or 1 where every variant was refused.
    """
    from bridge2d.processes import processors
    from bridge2d.targets import refuse_overwriting, target, write
    from bridge2d.variants.about import beside
    from bridge2d.variants.rows import parquet_bytes
    from bridge2d.variants.sweeping import JOURNAL_ENDING, Journal, swept
    from bridge2d.variants.tabled import files, grids_of
    from bridge2d.variants.varied import COMPUTED

    output = target(arguments.output, "-o", ".csv", ".parquet")
    chart = target(arguments.chart, "--chart", ".pdf", ".svg", ".png")
    assert output is not None
    plan = _plan(arguments)
    parquet = output.suffix.lower() == ".parquet"
    for one in (output,) if parquet else (output, beside(output)):
        refuse_overwriting(one, "-o", plan.base.files, "a file that is read")
    if parquet:
        parquet_bytes({}, {})  # says at once where the library is missing
    journal = Journal(output.with_name(output.name + JOURNAL_ENDING), plan)
    kept = len(journal.rows)
    try:
        if chart is not None:
            _refuse_chart(plan, journal, arguments.of)
        done = swept(plan, journal, arguments.jobs or processors(), arguments.scheduler, _progress(kept))
        for data, file in files(plan, done, output):
            write(data, file)
    except BaseException:
        journal.close()
        raise
    journal.close(done=True)
    shown = plan.base.loaded().units
    rows, over = done.rows, grids_of(plan, done, shown)
    _show(rows, over, kept, output, shown)
    if chart is not None:
        from bridge2d.variants.chart import chart_of

        write(chart_of(arguments.of, over, plan, chart.suffix.lower(), arguments.limit, shown), chart)
        print(f"{chart}: written")
    return 0 if any(found["status"] == COMPUTED for _, found in rows) else 1


def _plan(arguments: argparse.Namespace) -> Plan:
    from bridge2d.detail_file import load
    from bridge2d.variants.axes import FORM, KEY, axis, named_once
    from bridge2d.variants.sweeping import Plan
    from bridge2d.variants.varied import Base

    loaded = load(arguments.detail, geometry=False, shown=arguments.units)
    if not arguments.vary:
        raise InputError("nothing is varied", key=KEY, right=FORM)
    enough = 2 if arguments.hypercube else 0  # ends alone
    axes = tuple(axis(words, loaded, enough) for words in arguments.vary)
    named_once([one.name for one in axes])
    how = arguments.hypercube, arguments.seed, arguments.between
    plan = Plan(Base.of(loaded), axes, arguments.tolerance, *how)
    if plan.size > MOST:
        raise InputError(f"these are {plan.size} variants", key=KEY, right=f"at most {MOST}; or --hypercube N")
    return plan


def _refuse_chart(plan: Plan, journal: Journal, of: str) -> None:
    """Refuse a chart that there will not be; which numbers there are the first variant tells, and is kept."""
    from bridge2d.variants.chart import refuse_chart
    from bridge2d.variants.rows import numbers_of
    from bridge2d.variants.varied import row

    refuse_chart(plan, of, ())
    if of:
        first = plan.variants()[0]
        found = journal.rows.get(0) or row(plan.base, first, plan.tolerance)
        refuse_chart(plan, of, numbers_of([(first, found)]))
        if 0 not in journal.rows:
            journal.add(0, found)


def _progress(kept: int) -> Callable[[int, int, str], None] | None:
    """A line that is written over, with the time that is left."""
    if not sys.stderr.isatty():
        return None
    begun = time.monotonic()

    def told(done: int, count: int, what: str) -> None:
        gone = time.monotonic() - begun
        left = gone / (done - kept) * (count - done) if done > kept else None
        words = "" if left is None else f", about {_duration(left)} left"
        line = f"\r{done} of {count} {what}{words:<24}"
        sys.stderr.write(line + ("\r" + " " * len(line) + "\r" if done == count else ""))
        sys.stderr.flush()

    return told


def _duration(seconds: float) -> str:
    return f"{seconds:.0f} s" if seconds < MINUTES_FROM else f"{seconds / 60:.0f} min"


def _show(
    rows: Sequence[tuple[Changes, Row]], grids: Sequence[Gridded], kept: int, output: Path, shown: DisplayUnits
) -> None:
    from bridge2d.variants.gridded import in_words
    from bridge2d.variants.varied import REFUSED

    refused = sum(found["status"] == REFUSED for _, found in rows)
    again = f", {kept} of them by an earlier run" if kept else ""
    print(f"{output}: {len(rows)} variants written{again}; {refused} refused, with the reason in their rows")
    for grid in grids:
        print(f"  {in_words(grid, shown)}")
