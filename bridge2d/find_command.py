"""`bridge2d find`: its words on the command line, and what it does with them.

Part of the command line, in a file of its own; like every command it imports what it needs when it runs.
"""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING

from bridge2d.errors import InputError
from bridge2d.variants.asked import LIMITS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bridge2d.detail import Requirement
    from bridge2d.shown_units import DisplayUnits
    from bridge2d.variants.finding import Found


def find_options(parser: argparse.ArgumentParser) -> None:
    """Declare the words of `find`, but for those of all commands that compute.

    Args:
        parser: of the command.
    """
    parser.add_argument(
        "--vary",
        metavar="NAME=FIRST:LAST",
        action="append",
        default=[],
        help="the parameter and its range; a second one as NAME=FIRST:LAST, NAME=FIRST:LAST:COUNT or NAME=VALUE,VALUE "
        "is set in turn",
    )
    parser.add_argument("--step", metavar="X", type=_positive, default=0.0, help="grid of the values (a round one)")
    parser.add_argument(
        "--every", action="store_true", help="compute each step of the grid, so that no one is left out"
    )
    for key, (_, _, words) in LIMITS.items():
        told = f"{words}, in the units of the file or of --units; else the file's limits"
        parser.add_argument(_flag(key), dest=key, metavar="X", help=told)
    systems = ("external", "internal", "overall_internal")
    parser.add_argument("--dimensions", choices=systems, default="", help="of --psi-max (external)")
    parser.add_argument("--json", action="store_true", help="one JSON object on standard output")


def _flag(key: str) -> str:
    return f"--{key.replace('_', '-')}"


def _positive(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = 0.0
    if not 0.0 < value < float("inf"):
        raise argparse.ArgumentTypeError(f"{text[:40]!r} is no step; write a number above 0, in the parameter's unit")
    return value


def find_value(arguments: argparse.Namespace) -> int:
    """Look for the value at which the limits are just met, and say so.

    Args:
        arguments: of the call.

    Returns:
        0, or 1 where no value meets the limits.
    """
    from bridge2d.detail_file import load
    from bridge2d.variants.axes import KEY, SECOND, SPAN_FORM, axis, named_once, span
    from bridge2d.variants.finding import find
    from bridge2d.variants.limits import limits
    from bridge2d.variants.varied import Changes

    loaded = load(arguments.detail, geometry=False, shown=arguments.units)
    if not 1 <= len(arguments.vary) <= 2:
        raise InputError(f"{len(arguments.vary)} parameters are varied", key=KEY, right=f"{SPAN_FORM}; once or twice")
    ranged = span(arguments.vary[0], loaded)
    fixed: list[Changes] = [{}]
    if arguments.vary[1:]:
        second = axis(arguments.vary[1], loaded, SECOND)
        named_once([ranged.info.name, second.name])
        fixed = [{second.name: value} for value in second.values]
    asked = {key: value for key in LIMITS if (value := getattr(arguments, key)) is not None}
    try:
        chosen = limits(asked, arguments.dimensions, loaded)
    except InputError as error:
        error.key = _flag(error.key)
        raise

    def told(value: float, standing: str) -> None:
        if sys.stderr.isatty():
            print(f"  {ranged.info.name} = {value:g} {ranged.unit}: {standing}", file=sys.stderr)

    how = {"told": told, "every": arguments.every}
    found = [find(loaded, ranged, chosen, one, arguments.step, arguments.tolerance, **how) for one in fixed]
    _show(found, chosen, loaded.units, json_wanted=arguments.json)
    return 0 if any(one.any_met for one in found) else 1


def _show(found: Sequence[Found], chosen: Sequence[Requirement], shown: DisplayUnits, *, json_wanted: bool) -> None:
    from bridge2d.variants.found_words import as_json, in_words
    from bridge2d.variants.limits import limit_words

    if json_wanted:
        import json

        print(json.dumps([as_json(one) for one in found], allow_nan=False, indent=2))
        return
    print("Limits: " + "; ".join(limit_words(one, shown) for one in chosen))
    for one in found:
        for words in in_words(one, shown):
            print(words)
    count = sum(len(one.trials) for one in found)
    print(
        f"{count} values computed; met and not met hold for each with its whole bracket or tolerance. {_beyond(found)}"
    )


def _beyond(found: Sequence[Found]) -> str:
    if all(one.every for one in found):
        return "Each step was computed; between the steps nothing is proven."
    return "Between them nothing is proven; --every computes each step."
