"""The report's chapter on published cases: what others found, and what the same version of the program finds."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple

from bridge2d.drawing.scene import Run, runs
from bridge2d.nomenclature import MINUS
from bridge2d.report.layout import WIDTH, Block, Heading, paragraph
from bridge2d.report.tables import table
from bridge2d.report.text import Words
from bridge2d.report.words import with_firm_units
from bridge2d.shown_units import IN_SI, DisplayUnits

if TYPE_CHECKING:
    from bridge2d.verify.stored import StoredRow

TITLE = "Published cases"
LEAST_BAND = 1e-9
"""A band no wider than this is rounding: the answer has to lie in the bracket."""


class PublishedCase(NamedTuple):
    """A quantity of a case with a known answer, as it is to be printed.

    Attributes:
        name: of the case and its quantity.
        source: where the answer stands.
        kind: what the answer is: "exact", "published", "remembered".
        theirs: the answer, with its unit.
        ours_lower, ours_upper: the bounds of this version, or the value twice, with unit.
        band: how far ours may lie from the answer; empty where that has to lie in the bracket as it is.
        verdict: whether both agree, in a word or two.
    """

    name: str
    source: str
    kind: str
    theirs: str
    ours_lower: str
    ours_upper: str
    band: str
    verdict: str


def published_cases(cases: Sequence[PublishedCase], version: str, of_all: str) -> list[Block]:
    """The chapter; nothing where there are no cases.

    Args:
        cases: in the order in which they are printed.
        version: of the program that computed both the cases and this report.
        of_all: what is said of all cases, of which these are some.
    """
    if not cases:
        return []
    words = (
        f"bridge2d {version}, the version that made this report, computed these cases too. Their answers are known: "
        "exact from a formula, published by others, or remembered, as the table says. Inside: the exact answer of a "
        "heat flow lies in the bracket; any other answer has ours within its band, which is the digits that its source "
        "prints or what is asked of us. That says that the program solves the stated model, and nothing about the "
        "model of this detail. A temperature has no bracket, so its two ends are one number."
    )
    rows: list[tuple[Words, ...]] = [
        (
            runs(Run(str(number), "bold")),
            case.name,
            with_firm_units(case.theirs),
            with_firm_units(case.ours_lower),
            with_firm_units(case.ours_upper),
            case.band,
            runs(Run(case.verdict, "bold")),
            case.kind,
        )
        for number, case in enumerate(cases, start=1)
    ]
    columns: list[tuple[Words, float] | tuple[Words, float, str]] = [
        ("", 7),
        ("case", 48),
        ("known answer", 21, "end"),
        ("ours, lower", 19, "end"),
        ("ours, upper", 19, "end"),
        ("band ±", 20, "end"),
        ("verdict", 16),
        ("kind", 18),
    ]
    sources: list[Block] = [
        paragraph(with_firm_units(case.source), size=6.8, width=WIDTH - 8.0, mark=str(number), indent=6.0, after=1.0)
        for number, case in enumerate(cases, start=1)
        if case.source
    ]
    head = Heading(runs("Sources of the answers"), level=2)
    return [paragraph(words), paragraph(of_all), table(columns, rows), *([head, *sources] if sources else [])]


QUOTED = (
    "iso_10211_case_1",
    "iso_10211_case_2",
    "iso_10077_2_d4",
    "iso_10077_2_d7",
    "quadrants_10",
    "square_ring_thick",
)
QUOTED_OF_REVOLUTION = ("disc_of_a_wall", "pipe", "pin_fin", "disc_on_ground")
"""The cases that a report quotes, and those that one of a solid of revolution quotes instead; all stand in the
validation report."""


def quoted_cases(version: str, *, of_revolution: bool, shown: DisplayUnits = IN_SI) -> list[Block]:
    """The chapter with the stored results of some published cases; nothing where they are another version's.

    Args:
        version: of the program that computes the report.
        of_revolution: whether the detail is a solid of revolution.
        shown: units of everything that is written.
    """
    from bridge2d.verify.stored import stored_rows

    stored = stored_rows()
    if stored.version != version:
        return []
    names = QUOTED_OF_REVOLUTION if of_revolution else QUOTED
    cases = [_quoted([row for row in stored.rows if row.name == name], shown) for name in names]
    known = [row for row in stored.rows if row.kind != "recomputed"]
    (count, held), (others, alike) = _counts(known), _counts([row for row in stored.rows if row.kind == "recomputed"])
    words = (
        f"Of each case that number is shown that lies farthest from its answer, as a share of its band. Of all {count} "
        f"cases with a known answer {held} are inside their band (bridge2d verify, {stored.date}); they stand in the "
        f"validation report, beside {others} that compare two methods of our own, of which {alike} agree; those "
        "validate nothing."
    )
    return published_cases([case for case in cases if case is not None], version, words)


def _quoted(rows: Sequence[StoredRow], shown: DisplayUnits) -> PublishedCase | None:
    """The row of a case that lies farthest from its answer."""
    if not rows:
        return None
    worst = max(rows, key=lambda row: abs(0.5 * (row.lower + row.upper) - row.theirs) / (row.band or LEAST_BAND))
    told = [shown.sentence(f"{number:.6g} {worst.unit}").replace("-", MINUS) for number in _numbers(worst)]
    theirs, lower, upper = (words.split(" ", 1)[0] for words in told)
    unit = told[0].partition(" ")[2]
    verdict = "inside" if all(row.inside for row in rows) else "NOT inside"
    source = shown.sentence(worst.source, both=True)
    return PublishedCase(
        f"{worst.title}: {worst.number}" + (f", {unit}" if unit else ""),
        source,
        worst.kind,
        theirs,
        lower,
        upper,
        _band(worst, shown),
        verdict,
    )


def _band(row: StoredRow, shown: DisplayUnits) -> str:
    """The band in the units that are shown; a temperature's is a difference."""
    if row.band <= LEAST_BAND:
        return "bracket"
    unit = "K" if row.unit == "°C" else row.unit
    return shown.sentence(f"{row.band:.8f}".rstrip("0").rstrip(".") + f" {unit}").partition(" ")[0]


def _numbers(row: StoredRow) -> tuple[float, float, float]:
    return row.theirs, row.lower, row.upper


def _counts(rows: Sequence[StoredRow]) -> tuple[int, int]:
    """How many cases there are, and of how many all numbers are inside."""
    names = dict.fromkeys(row.name for row in rows)
    return len(names), sum(all(row.inside for row in rows if row.name == name) for name in names)
