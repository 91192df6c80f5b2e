"""`bridge2d compare`: its words on the command line, and what it does with them.

Part of the command line, in a file of its own; like every command it imports what it needs when it runs.
"""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from bridge2d.errors import InputError, SectionError
from bridge2d.targets import refuse_overwriting, writable, writing
from bridge2d.units import SI

if TYPE_CHECKING:
    from bridge2d.beside import Computation
    from bridge2d.comparison.records import Comparison
    from bridge2d.detail_file import LoadedDetail
    from bridge2d.results import DetailResult
    from bridge2d.units import UnitSystem

PER_OPTION = "once for all, or once for each in their order"
TERMS = (
    ("option", "NAME", "short name of an option"),
    ("description", "TEXT", "what the option is, in a line"),
    ("length", "L", f'length of the junction in the building [mm], or "12.4 m"; {PER_OPTION}'),
    ("number", "N", f"number of such windows or hatches, instead of a length; {PER_OPTION}"),
    ("cost_per_metre", "C", f'cost of a metre, or "20/ft"; {PER_OPTION}'),
    ("currency", "TEXT", "currency of the cost"),
    ("heating_degree_hours", "G", 'heating degree hours of a year [kKh/a], or "144 k°F·h/a"'),
    ("heating_degree_hours_source", "TEXT", "where the degree hours come from, in a line"),
    ("lifetime", "A", "years over which the cost is spread"),
    ("dimensions", "SYSTEM", "external, internal or overall_internal"),
)
"""Keys of the [comparison] block that may be said on the command line too."""


def compare_options(parser: argparse.ArgumentParser) -> None:
    """Declare the words of `compare`, but for those of all commands that compute.

    Args:
        parser: of the command.
    """
    parser.add_argument("details", metavar="DETAIL", nargs="+", help="two or more detail files (TOML)")
    parser.add_argument("-o", dest="output", metavar="FILE.pdf", help="the PDF; none is written unless given")
    parser.add_argument("--json", action="store_true", help="one JSON object on standard output")
    parser.add_argument("--paper", choices=("A4", "Letter"), default="A4", help="size of the PDF's pages (A4)")
    parser.add_argument(
        "--section", metavar="NAME", default="", help="which section the PDF shows (the coldest that differs)"
    )
    for key, metavar, words in TERMS:
        flag = f"--{key.replace('_', '-')}"
        parser.add_argument(flag, dest=key, metavar=metavar, action="append", default=[], help=words)


def compare(arguments: argparse.Namespace) -> int:
    """Compute all options and show them side by side.

    Args:
        arguments: of the call.

    Returns:
        0, or 1 where an option misses a limit.
    """
    if len(arguments.details) < 2:
        raise InputError("a comparison needs two details or more", key="compare", right="name a second file")
    target = _target(arguments)
    comparison = _computed(arguments)
    if target is not None:
        from bridge2d.report.comparison_pages import write_comparison

        with writing(target):
            write_comparison(comparison, target, arguments.section, arguments.paper)
    _show(comparison, target, json_wanted=arguments.json)
    return 0 if all(one is None or one.met for row in comparison.limits for one in row.results) else 1


def _show(comparison: Comparison, target: Path | None, *, json_wanted: bool) -> None:
    from bridge2d.comparison.screen import as_text, comparison_json

    if json_wanted:
        import json

        print(json.dumps(comparison_json(comparison), allow_nan=False, indent=2))
        return
    print(as_text(comparison))
    if target is not None:
        print(f"{target}: written")


def _computed(arguments: argparse.Namespace) -> Comparison:
    """Every option read and begun, each in a process beside this one, then all results held against each other."""
    from bridge2d.beside import Computation

    begun: list[Computation] = []
    loaded: list[LoadedDetail] = []
    try:
        for name in arguments.details:
            begun.append(Computation())
            from bridge2d.detail_file import load

            # one system for all: the one asked for, else that of the first file; JSON is SI
            system = SI if arguments.json else arguments.units or (loaded[0].units.system if loaded else None)
            one = load(name, geometry=False, shown=system)
            loaded.append(one)
            begun[-1].begin(one.detail, arguments.tolerance, arguments.mesher, one.input_hash)
        from bridge2d.comparison.terms import gathered

        own: UnitSystem = arguments.units or loaded[0].data.get("units", SI)
        terms = gathered(loaded, {key: getattr(arguments, key) for key, _, _ in TERMS}, own)
        results = [_result(one, computation) for one, computation in zip(loaded, begun, strict=True)]
        from bridge2d.comparison import compared

        return compared(loaded, results, terms, loaded[0].units)
    finally:
        for computation in reversed(begun):  # a later child may hold an earlier one's pipe
            computation.close()


def _result(one: LoadedDetail, computation: Computation) -> DetailResult:
    from bridge2d.detail_file import locate

    try:
        return computation.result()
    except SectionError as error:
        raise locate(error, one) from None


def _target(arguments: argparse.Namespace) -> Path | None:
    """The PDF's path, refused before anything is computed where it cannot be written."""
    if not arguments.output:
        return None
    target = writable(Path(arguments.output), "-o", (".pdf",), "the comparison is a PDF")
    refuse_overwriting(target, "-o", map(Path, arguments.details), "a detail file")
    return target
