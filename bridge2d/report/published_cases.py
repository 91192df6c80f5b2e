"""The report's chapter on published cases: what others found, and what the same version of the program finds."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from bridge2d.drawing.scene import Run, runs
from bridge2d.report.layout import Block, paragraph
from bridge2d.report.tables import table
from bridge2d.report.text import Words
from bridge2d.report.words import with_firm_units

TITLE = "Published cases"


class PublishedCase(NamedTuple):
    """A quantity of a case with a known answer, as it is to be printed.

    Attributes:
        name: of the case and its quantity.
        source: where the answer stands.
        kind: what the answer is: "exact", "published", "remembered".
        theirs: the answer, with its unit.
        ours_lower, ours_upper: the bounds of this version, or value and tolerance of an estimate put so, with unit.
        verdict: whether both agree, in a word or two.
    """

    name: str
    source: str
    kind: str
    theirs: str
    ours_lower: str
    ours_upper: str
    verdict: str


def published_cases(cases: Sequence[PublishedCase], version: str) -> list[Block]:
    """The chapter; nothing where there are no cases.

    Args:
        cases: in the order in which they are printed.
        version: of the program that computed both the cases and this report.
    """
    if not cases:
        return []
    words = (
        f"bridge2d {version}, the version that made this report, computed these cases too. Their answers are known: "
        "exact from a formula, published by others, or remembered, as the table says. A bracket that holds the answer, "
        "or meets its printed digits, says that the program solves the stated model; it says nothing about the model "
        "of this detail."
    )
    rows: list[tuple[Words, ...]] = [
        (
            case.name,
            with_firm_units(case.theirs),
            with_firm_units(case.ours_lower),
            with_firm_units(case.ours_upper),
            runs(Run(case.verdict, "bold")),
            runs(f"{case.kind}; {case.source}" if case.source else case.kind),
        )
        for case in cases
    ]
    columns: list[tuple[Words, float] | tuple[Words, float, str]] = [
        ("case", 40),
        ("known answer", 27, "end"),
        ("ours, lower", 27, "end"),
        ("ours, upper", 27, "end"),
        ("verdict", 17),
        ("kind and source", 30),
    ]
    return [paragraph(words), table(columns, rows)]
