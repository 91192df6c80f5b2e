"""`bridge2d find`: its words on the command line, and what it does with them.

Part of the command line, in a file of its own; like every command it imports what it needs when it runs.
"""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING, Any

from bridge2d.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bridge2d.detail import Requirement
    from bridge2d.detail_file import LoadedDetail
    from bridge2d.variants.finding import Found

LIMITS = (
    ("psi_max", "psi", "maximum", "Ψ may be at most so much [W/(m·K)], in the dimension system of --dimensions"),
    ("chi_max", "chi", "maximum", "χ may be at most so much [W/K]"),
    ("u_max", "u_value", "maximum", "U of the section may be at most so much [W/(m²·K)]"),
    ("f_rsi_min", "f_rsi", "minimum", "fRsi has to be at least so much"),
)
"""Limits of the call: key, quantity, sense, help."""


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
        help="the parameter and its range; a second one as NAME=FIRST:LAST:COUNT or NAME=VALUE,VALUE is set in turn",
    )
    parser.add_argument("--step", metavar="X", type=_positive, default=0.0, help="grid of the values (a round one)")
    for key, _, _, words in LIMITS:
        flag = f"--{key.replace('_', '-')}"
        parser.add_argument(flag, dest=key, metavar="X", type=float, help=f"{words}; else the file's limits")
    parser.add_argument(
        "--dimensions", choices=("external", "internal", "overall_internal"), default="", help="of --psi-max"
    )
    parser.add_argument("--json", action="store_true", help="one JSON object on standard output")


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
    from bridge2d.variants.axes import KEY, SPAN_FORM, axis, named_once, span
    from bridge2d.variants.finding import find
    from bridge2d.variants.varied import Changes

    loaded = load(arguments.detail, geometry=False)
    if not 1 <= len(arguments.vary) <= 2:
        raise InputError(f"{len(arguments.vary)} parameters are varied", key=KEY, right=f"{SPAN_FORM}; once or twice")
    ranged = span(arguments.vary[0], loaded)
    fixed: list[Changes] = [{}]
    if arguments.vary[1:]:
        second = axis(arguments.vary[1], loaded)
        named_once([ranged.info.name, second.name])
        fixed = [{second.name: value} for value in second.values]
    limits = _limits(arguments, loaded)

    def told(value: float, standing: str) -> None:
        if sys.stderr.isatty():
            print(f"  {ranged.info.name} = {value:g} {ranged.unit}: {standing}", file=sys.stderr)

    found = [find(loaded, ranged, limits, one, arguments.step, arguments.tolerance, told) for one in fixed]
    _show(found, limits, json_wanted=arguments.json)
    return 0 if any(one.any_met for one in found) else 1


def _limits(arguments: argparse.Namespace, loaded: LoadedDetail) -> tuple[Requirement, ...]:
    """Those of the call; of the file where it has none."""
    from bridge2d.detail import Requirement

    said = []
    for key, quantity, sense, _ in LIMITS:
        limit = getattr(arguments, key)
        if limit is not None:
            dimensions = (arguments.dimensions or "external") if quantity == "psi" else ""
            said.append(Requirement(quantity, limit, sense, f"--{key.replace('_', '-')} {limit:g}", "call", dimensions))
    for one in said:
        _refuse_unknown(one, loaded)
    return tuple(said) or loaded.detail.requirements


def _refuse_unknown(one: Requirement, loaded: LoadedDetail) -> None:
    """A limit of a number that the detail does not have."""
    detail = loaded.detail
    has: dict[str, Any] = {
        "psi": detail.combination.psi_section or detail.installations or any(s.flanking for s in detail.sections),
        "chi": detail.combination.chi_section,
        "u_value": detail.module,
        "f_rsi": True,
    }
    if not has[one.quantity]:
        right = "leave it out; `bridge2d solve` shows what there is"
        raise InputError(
            f"the detail has no {one.quantity}", key=f"--{one.quantity.replace('_value', '')}-max", right=right
        )


def _show(found: Sequence[Found], limits: Sequence[Requirement], *, json_wanted: bool) -> None:
    from bridge2d.variants.finding import in_words

    if json_wanted:
        import json

        print(json.dumps([_json(one) for one in found], allow_nan=False, indent=2))
        return
    print("Limits: " + "; ".join(one.name or one.quantity for one in limits))
    for one in found:
        for words in in_words(one):
            print(words)
    print(f"{sum(len(one.trials) for one in found)} values computed; met and not met hold for the whole bracket.")


def _json(found: Found) -> dict[str, Any]:
    return {
        "parameter": found.span.info.name,
        "unit": found.span.unit or None,
        "first": found.span.first,
        "last": found.span.last,
        "step": found.step,
        "fixed": dict(found.fixed),
        "crossings": [
            {"met": one.met.value, "other": one.other.value, "standing": one.other.standing} for one in found.crossings
        ],
        "trials": [{"value": one.value, "standing": one.standing, **one.row} for one in found.trials],
    }
