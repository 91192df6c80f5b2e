"""`bridge2d verify`: its words on the command line, and what it does with them.

Part of the command line, in a file of its own; like every command it imports what it needs when it runs.
"""

from __future__ import annotations

import argparse
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from bridge2d import __version__
from bridge2d.targets import target, write

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bridge2d.verify.records import Verified


def verify_options(parser: argparse.ArgumentParser) -> None:
    """Declare the words of `verify`.

    Args:
        parser: of the command.
    """
    parser.add_argument("-o", dest="output", metavar="FILE.pdf", help="the PDF; none is written unless given")
    parser.add_argument("--json", action="store_true", help="one JSON object on standard output")
    parser.add_argument("--csv", metavar="FILE", help="the rows as a table, which later reports quote")


def verify(arguments: argparse.Namespace) -> int:
    """Compute every published case and show ours beside theirs.

    Args:
        arguments: of the call.

    Returns:
        0, or 1 where a number lies outside its band.
    """
    proof = target(arguments.output, "-o", ".pdf")
    table = target(arguments.csv, "--csv", ".csv")
    from bridge2d.verify.cases import published_cases
    from bridge2d.verify.running import verified_cases

    cases = verified_cases(published_cases())
    if proof is not None:
        from bridge2d.report.verification_pages import verification_bytes

        write(verification_bytes(cases), proof)
    if table is not None:
        write(_rows(cases, table).encode(), table)
    _show(cases, [path for path in (proof, table) if path is not None], json_wanted=arguments.json)
    return 0 if all(one.inside for one in cases) else 1


def _show(cases: Sequence[Verified], written: Sequence[Path], *, json_wanted: bool) -> None:
    from bridge2d.verify.screen import as_json, as_text

    if json_wanted:
        import json

        print(json.dumps(as_json(cases), allow_nan=False, indent=2))
        return
    for path in written:
        print(f"{path}: written")
    print(as_text(cases))


def _rows(cases: Sequence[Verified], table: Path) -> str:
    """The rows as CSV; they keep their day where nothing else has changed."""
    from bridge2d.verify.stored import read_rows, rows_csv

    if table.exists():
        kept = table.read_text(encoding="utf-8")
        try:
            same = rows_csv(cases, __version__, read_rows(kept).date)
        except (KeyError, ValueError):  # a table of another kind
            same = ""
        if same == kept:
            return kept
    return rows_csv(cases, __version__, datetime.now(UTC).date().isoformat())
