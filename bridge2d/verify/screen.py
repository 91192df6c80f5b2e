"""A verification on the screen, and as JSON."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from bridge2d import __version__
from bridge2d.nomenclature import MINUS
from bridge2d.verify.records import Expected, Row, Verified

HEADS = ("number", "kind", "theirs", "ours", "bracket", "difference", "band", "")
WIDTHS = (36, 10, 13, 13, 27, 11, 18, 7)
LEFT = (0, 1, 7)
"""Columns whose words begin at their left edge."""


def as_text(cases: Sequence[Verified]) -> str:
    """All cases as a table; the last line counts those inside their band.

    Args:
        cases: all of them, computed.
    """
    lines = [_line(HEADS)]
    group = ""
    for one in cases:
        if one.case.group != group:
            group = one.case.group
            lines += ["", group]
        lines += [f"  {one.case.title}", f"    source: {one.case.source}"]
        lines += [_line(row_words(row)) for row in one.rows]
    return "\n".join([*lines, "", last_line(cases)])


def last_line(cases: Sequence[Verified]) -> str:
    """How many cases there are, and how many of them have every number inside its band.

    Args:
        cases: all of them, computed.
    """
    return f"{len(cases)} cases, {sum(one.inside for one in cases)} inside their band"


def row_words(row: Row) -> tuple[str, ...]:
    """A row as words: number, kind, theirs, ours, bracket, difference, band, verdict.

    Args:
        row: ours beside theirs.
    """
    expected, found = row.expected, row.found
    theirs = as_printed(expected)
    bracket = ""
    if found.lower is not None and found.upper is not None:
        bracket = f"{number(found.lower)} to {number(found.upper)}"
    elif found.tolerance is not None:
        bracket = f"≈, tolerance {short(found.tolerance)}"
    band = "in the range" if expected.between is not None else f"± {short(expected.band)}"
    if expected.kind == "exact" and found.lower is not None:
        band = f"bracket ± {short(expected.band)}" if expected.band else "bracket"
    unit = f" [{expected.unit}]" if expected.unit not in ("", "1") else ""
    return (
        expected.label + unit,
        expected.kind,
        theirs,
        number(found.value),
        bracket,
        short(row.difference),
        band,
        "inside" if row.inside else "OUTSIDE",
    )


def number(value: float) -> str:
    """A number to six significant digits, with the typographic minus."""
    return f"{value:#.6g}".rstrip(".").replace("-", MINUS)


def as_printed(expected: Expected) -> str:
    """The expected value: an exact one to six digits, any other as its source prints it.

    Args:
        expected: the number.
    """
    if expected.between is not None:
        return f"{number(expected.between[0])} to {number(expected.between[1])}"
    return number(expected.theirs) if expected.kind == "exact" else f"{expected.theirs:g}".replace("-", MINUS)


def short(value: float) -> str:
    """A difference to two significant digits."""
    return f"{value:.2g}".replace("-", MINUS)


def _line(words: Sequence[str]) -> str:
    return ("    " + "  ".join(_cells(words))).rstrip()


def _cells(words: Sequence[str]) -> Iterator[str]:
    for k, (word, width) in enumerate(zip(words, WIDTHS, strict=True)):
        yield word.ljust(width) if k in LEFT else word.rjust(width)


def as_json(cases: Sequence[Verified]) -> dict[str, Any]:
    """The verification as one JSON object.

    Args:
        cases: all of them, computed.
    """
    return {
        "version": __version__,
        "cases": [
            {
                "name": one.case.name,
                "title": one.case.title,
                "group": one.case.group,
                "source": one.case.source,
                "note": one.case.note,
                "files": [path.name for path in one.case.files],
                "inside": one.inside,
                "values": [_value(row) for row in one.rows],
            }
            for one in cases
        ],
        "count": len(cases),
        "inside": sum(one.inside for one in cases),
    }


def _value(row: Row) -> dict[str, Any]:
    expected, found = row.expected, row.found
    return {
        "label": expected.label,
        "unit": expected.unit,
        "kind": expected.kind,
        "theirs": expected.theirs if expected.between is None else list(expected.between),
        "value": found.value,
        "lower": found.lower,
        "upper": found.upper,
        "tolerance": found.tolerance,
        "difference": row.difference,
        "band": expected.band,
        "inside": row.inside,
    }
