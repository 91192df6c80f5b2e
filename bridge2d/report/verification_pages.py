"""The validation as a PDF: every published case with its picture, how brackets close, what is guaranteed and what not.

verified cases -> **pages**. The same cases give the same bytes.
"""

from __future__ import annotations

import csv
import hashlib
import io
from collections.abc import Sequence
from dataclasses import replace
from importlib import resources

from bridge2d import __version__
from bridge2d.drawing.colours import GREY
from bridge2d.drawing.isotherms import isotherm_picture
from bridge2d.drawing.scene import Run, Scene, runs
from bridge2d.report.archive import archived
from bridge2d.report.contents import Contents
from bridge2d.report.enclosures import list_digest
from bridge2d.report.flow import flowed_without_remnant
from bridge2d.report.layout import WIDTH, Block, Boxed, Figure, Heading, Paragraph, Space, paragraph
from bridge2d.report.sheets import Running, page_words, pdf_bytes
from bridge2d.report.tables import Table, table
from bridge2d.report.text import wrapped
from bridge2d.report.verification_blocks import BESIDE, PICTURE, BesidePicture, Curve, convergence_chart
from bridge2d.report.verification_enclosures import of_cases
from bridge2d.report.verification_words import ABOUT, CAMPAIGN, CLOSING, ENCLOSED, GUARANTEED, LIMITS
from bridge2d.results import DetailResult
from bridge2d.verify.records import KINDS, Verified
from bridge2d.verify.screen import last_line, row_words

TITLE = "Validation of bridge2d"
COUNTS = "data/campaign.csv"
OUTCOMES = ("held", "refused", "failed")
SHOWN = (
    "quadrants_10",
    "iso_10211_case_2",
    "iso_10077_2_d4",
    "square_ring_thick",
    "iso_14683_balcony",
    "disc_on_ground",
)
"""Cases whose brackets the chart shows: the strongest singularity, thin metal, a frame, a smooth one, a slab, a rim."""

FEW = 12
"""Rows that stand beside the picture; more stand below it, over the whole width."""
KIND = 1
"""Place of the kind among a row's words; on paper it stands with the source."""


def verification_bytes(cases: Sequence[Verified]) -> bytes:
    """The PDF's bytes.

    Args:
        cases: all published cases, computed.
    """
    whole = fingerprint(cases)
    running = Running(TITLE, "", f"version {__version__}", __version__, whole)
    enclosed = of_cases(cases, TITLE, whole)
    note = ENCLOSED.format(digest=list_digest({one.name: one.data for one in enclosed}))
    blocks = [*_blocks(cases), Space(4.0), paragraph(_joined(f"{note} Fingerprint: {whole}."), size=7.0, colour=GREY)]
    pages = flowed_without_remnant(blocks)
    return archived(pdf_bytes(pages, running), running, enclosed, page_words(pages, running))


def fingerprint(cases: Sequence[Verified]) -> str:
    """SHA-256 of the expected values and the inputs of all cases.

    Args:
        cases: all published cases, computed.
    """
    digest = hashlib.sha256()
    for one in cases:
        digest.update(repr(one.case.expected).encode())
        for result in one.results:
            digest.update(result.input_hash.encode())
    return digest.hexdigest()


def _blocks(cases: Sequence[Verified]) -> list[Block]:
    chapters = [
        ("What is guaranteed", _listed(GUARANTEED)),
        ("The cases in short", _in_short(cases)),
        ("How the brackets close", _convergence(cases)),
        ("Damaged and random input", _campaign()),
        ("Limits of the method", _listed(LIMITS)),
        ("The cases", _cases(cases)),
    ]
    chapters = [(title, parts) for title, parts in chapters if parts]
    entries = tuple((str(k), title, "") for k, (title, _) in enumerate(chapters, start=1))
    blocks: list[Block] = [
        Paragraph(wrapped(runs(Run(TITLE, "bold")), 16.0, 168.0), 16.0, after=2.0),
        paragraph(_joined(ABOUT)),
        Boxed((paragraph(runs(Run(last_line(cases), "bold")), size=11.0, after=1.0), *_outside(cases))),
        Contents(entries),
        Space(3.0),
    ]
    for number, (title, parts) in enumerate(chapters, start=1):
        blocks += [Heading(runs(title), str(number)), *parts, Space(5.0)]
    return blocks


def _outside(cases: Sequence[Verified]) -> list[Block]:
    """Which cases do not agree."""
    wrong = [one.case.title for one in cases if not one.inside]
    return [paragraph(f"Outside: {'; '.join(wrong)}.", after=0.5)] if wrong else []


def _listed(words: str) -> list[Block]:
    """Paragraphs, parted by empty lines, as a list."""
    return [paragraph(_joined(part), mark="–") for part in words.split("\n\n")]


def _joined(words: str) -> str:
    return " ".join(words.split())


def _in_short(cases: Sequence[Verified]) -> list[Block]:
    groups = list(dict.fromkeys(one.case.group for one in cases))
    rows = []
    for group in [*groups, ""]:
        found = [one for one in cases if group in ("", one.case.group)]
        numbers = [row for one in found for row in one.rows]
        kinds = [str(sum(row.expected.kind == kind for row in numbers) or "") for kind in KINDS]
        inside = sum(row.inside for row in numbers)
        rows.append((group or "all", str(len(found)), *kinds, f"{inside} of {len(numbers)}"))
    heads = [("", 40.0), ("cases", 16.0, "end"), *((kind, 22.0, "end") for kind in KINDS), ("inside", 24.0, "end")]
    return [
        table(heads, rows, heavy=[len(rows) - 1]),
        *(paragraph(runs(Run(f"{kind}: ", "bold"), text), size=8.0, after=0.6) for kind, text in KINDS.items()),
    ]


def _convergence(cases: Sequence[Verified]) -> list[Block]:
    curves = [curve for name in SHOWN for one in cases if one.case.name == name for curve in _curves(one)]
    if not curves:
        return []
    caption = paragraph(
        _joined(CLOSING),
        size=8.0,
    )
    return [Figure(convergence_chart(curves, 74.0), caption)]


def _curves(one: Verified) -> list[Curve]:
    points = tuple(
        (step.unknowns, 2 * (step.upper - step.lower) / (step.upper + step.lower))
        for step in one.results[0].sections[0].passes
        if step.lower is not None and step.upper is not None and step.upper > step.lower
    )
    return [Curve(one.case.title, points)] if points else []


def _campaign() -> list[Block]:
    """Counts of the last robustness campaign, where they are stored."""
    place = resources.files("bridge2d").joinpath(COUNTS)
    rows = list(csv.DictReader(io.StringIO(place.read_text(encoding="utf-8")))) if place.is_file() else []
    if not rows:
        return []
    kinds = dict.fromkeys(one["kind"] for one in rows)
    shown = [(kind, *(str(_sum(rows, kind, key)) for key in OUTCOMES)) for kind in kinds]
    total = [str(sum(_sum(rows, kind, key) for kind in kinds)) for key in OUTCOMES]
    runs_made = dict.fromkeys((one["date"], one["version"], one["minutes"], one["seed"]) for one in rows)
    told = "; ".join(f"{day}, version {version}: {m} minutes, seed {seed}" for day, version, m, seed in runs_made)
    return [
        paragraph(_joined(CAMPAIGN)),
        table(
            [("", 60.0), ("held", 20.0, "end"), ("refused", 20.0, "end"), ("failed", 20.0, "end")],
            [*shown, ("all", *total)],
            heavy=[len(shown)],
            width=120.0,
        ),
        paragraph(f"Runs: {told}.", size=8.0, colour=GREY),
    ]


def _sum(rows: Sequence[dict[str, str]], kind: str, key: str) -> int:
    return sum(int(one[key]) for one in rows if one["kind"] == kind)


def _cases(cases: Sequence[Verified]) -> list[Block]:
    blocks: list[Block] = []
    group = ""
    for one in cases:
        if one.case.group != group:
            group = one.case.group
            blocks += [Heading(runs(group), level=2), Space(2.0)]
        rows = _rows(one, BESIDE if len(one.rows) <= FEW else WIDTH)
        few = [rows] if len(one.rows) <= FEW else []
        blocks.append(BesidePicture(_picture(one.results), [*_beside(one), *few]))
        blocks += [] if few else [rows]
    return blocks


def _picture(results: Sequence[DetailResult]) -> Scene | None:
    if not results:
        return None
    return isotherm_picture(results[0].sections[0], PICTURE, 40.0, bare=True).scene


def _beside(one: Verified) -> list[Block]:
    case = one.case
    head = paragraph(runs(Run(case.title, "bold")), size=9.0, width=BESIDE, after=0.8)
    source = f"{one.rows[0].expected.kind}: {case.source}"
    blocks: list[Block] = [head, paragraph(source, size=7.0, width=BESIDE, colour=GREY, after=0.8)]
    if case.note:
        first = case.note[0] if case.note.startswith("χ") else case.note[0].upper()
        note = f"{first}{case.note[1:]}."
        blocks.append(paragraph(note, size=7.0, width=BESIDE, colour=GREY, after=0.8))
    if case.files:
        names = ", ".join(f"details/validation/{path.name}" for path in case.files)
        blocks.append(paragraph(names, size=7.0, width=BESIDE, colour=GREY, after=1.2))
    return blocks


def _rows(one: Verified, width: float) -> Table:
    columns = [
        ("", 29.0),
        ("theirs", 16.5, "end"),
        ("ours", 19.5, "end"),
        ("bracket", 30.0, "end"),
        ("difference", 16.0, "end"),
        ("band", 17.0, "end"),
        ("", 12.0, "end"),
    ]
    rows = [[word for k, word in enumerate(row_words(row)) if k != KIND] for row in one.rows]
    found = table(columns, rows, width=width)
    return replace(found, size=6.8, after=2.0, pad=1.0)
