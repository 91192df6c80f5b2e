"""The rows of a verification kept as data, so that a report can print them without computing.

rows -> **data/verification.csv** -> reports. They belong to the version and the day that the file names. What a reader
of them needs is this module alone; it loads nothing heavy.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass
from importlib import resources
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bridge2d.verify.records import Verified

FILE = "data/verification.csv"
COLUMNS = (
    "version",
    "date",
    "case",
    "title",
    "source",
    "kind",
    "number",
    "unit",
    "theirs",
    "band",
    "lower",
    "upper",
    "inside",
)
"""`lower` and `upper` are the bracket, or twice the value where it has none."""


@dataclass(frozen=True, slots=True)
class StoredRow:
    """A number of a published case as it was computed when the rows were stored.

    Attributes:
        name: short name of the case, and of its file in details/validation.
        title: of the case.
        number: which of its numbers.
        unit: of the three values.
        source: where theirs comes from.
        kind: a key of `records.KINDS`.
        theirs: the expected value.
        band: how far ours may lie from it.
        lower, upper: our bracket; twice the value where it has none.
        inside: whether ours agrees.
    """

    name: str
    title: str
    number: str
    unit: str
    source: str
    kind: str
    theirs: float
    band: float
    lower: float
    upper: float
    inside: bool


@dataclass(frozen=True, slots=True)
class StoredRows:
    """The rows with the version and the day (ISO 8601) that they belong to; all empty where none are stored."""

    version: str
    date: str
    rows: tuple[StoredRow, ...]


def stored_rows() -> StoredRows:
    """The rows that were stored with this package.

    Compare `version` with `bridge2d.__version__` before they are said to be this program's.
    """
    place = resources.files("bridge2d").joinpath(FILE)
    return read_rows(place.read_text(encoding="utf-8")) if place.is_file() else StoredRows("", "", ())


def read_rows(text: str) -> StoredRows:
    """The rows of a file that `rows_csv` wrote.

    Args:
        text: of the file.
    """
    found = list(csv.DictReader(io.StringIO(text)))
    if not found:
        return StoredRows("", "", ())
    rows = tuple(
        StoredRow(
            one["case"],
            one["title"],
            one["number"],
            one["unit"],
            one["source"],
            one["kind"],
            float(one["theirs"]),
            float(one["band"]),
            float(one["lower"]),
            float(one["upper"]),
            one["inside"] == "yes",
        )
        for one in found
    )
    return StoredRows(found[0]["version"], found[0]["date"], rows)


def rows_csv(cases: Sequence[Verified], version: str, date: str) -> str:
    """All rows as CSV, to nine digits.

    Args:
        cases: all of them, computed.
        version: of the program.
        date: ISO 8601.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    for one in cases:
        for row in one.rows:
            expected, (lower, upper) = row.expected, row.ends
            writer.writerow(
                (
                    version,
                    date,
                    one.case.name,
                    one.case.title,
                    one.case.source,
                    expected.kind,
                    expected.label,
                    expected.unit,
                    *(f"{number:.9g}" for number in (expected.theirs, expected.band, lower, upper)),
                    "yes" if row.inside else "no",
                )
            )
    return out.getvalue()
