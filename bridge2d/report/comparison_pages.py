"""The comparison as a PDF that who builds can read without training.

comparison -> drawing -> **report**. Two options stand on one page where their pictures stay large enough; where the
tables leave no room, and for more options, the pictures take the first page and the tables follow.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import takewhile
from pathlib import Path

from bridge2d import __version__
from bridge2d.comparison.records import Comparison, told
from bridge2d.comparison.screen import BEFORE_ROUNDING
from bridge2d.comparison.summary import summary
from bridge2d.drawing.colours import GREY
from bridge2d.drawing.scene import Item, Run, runs
from bridge2d.errors import InputError
from bridge2d.report.archive import archived
from bridge2d.report.cautions import caution_texts
from bridge2d.report.comparison_columns import better_paper, side_by_side
from bridge2d.report.comparison_enclosures import of_comparison
from bridge2d.report.comparison_parts import fine_parts
from bridge2d.report.comparison_pictures import Shapes, alike_words, shapes
from bridge2d.report.comparison_sheet import InShort, Paper, flowed, paper_of, pdf_bytes, sheet_words
from bridge2d.report.comparison_tables import PADS, TWO, input_table, limit_table, number_table
from bridge2d.report.enclosures import PAGES, list_digest, numbered
from bridge2d.report.flow import Pages
from bridge2d.report.layout import Block, Paragraph, Space, paragraph
from bridge2d.report.missing import missing_note, missing_signs
from bridge2d.report.sheets import Running
from bridge2d.report.tables import Table
from bridge2d.report.text import wrapped
from bridge2d.report.words import FIRM, with_firm_units

LEAST_SUBJECT = 5
"""Fewer letters that titles share say nothing."""
MOST = 6
"""Options on one sheet; more would be too small to read."""


def write_comparison(comparison: Comparison, path: Path, section: str = "", paper: str = "A4") -> None:
    """Write a comparison; the file is written whole or not at all.

    Args:
        comparison: the options.
        path: of the PDF.
        section: name of the section that is drawn; of those that differ the one with the coldest point unless given.
        paper: "A4" or "Letter".

    Raises:
        InputError: no option has that section, or there are too many options.
        OSError: the folder is missing or cannot be written.
    """
    from bridge2d.whole_file import write_whole

    write_whole(comparison_bytes(comparison, section, paper), path)


def comparison_bytes(comparison: Comparison, section: str = "", paper: str = "A4") -> bytes:
    """The comparison's bytes; the same for the same input.

    Args:
        comparison: the options.
        section: see `write_comparison`.
        paper: see there.
    """
    if len(comparison.options) > MOST:
        right = "compare fewer on paper; without -o the screen shows them all"
        raise InputError(f"a sheet has room for {MOST} options", key="compare", right=right)
    known = shapes(comparison, section)
    sheet = paper_of(paper, upright=True)
    if len(comparison.options) > TWO:
        papers = [sheet, paper_of(paper, upright=False)]
        rooms = [one.room - sum(block.height for block in _opening(comparison, one)) for one in papers]
        sheet = better_paper(comparison, known, list(zip(papers, rooms, strict=True)))
    names = [option.name for option in comparison.options]
    detail = comparison.options[0].result.detail
    title = f"Comparison of {', '.join(names[:-1])} and {names[-1]}"
    running = Running(title, detail.project, detail.revision, __version__, comparison.fingerprint)
    enclosed = of_comparison(comparison, title)
    alike = alike_words(comparison, known.sections)
    notes: list[Block] = [paragraph(alike, size=8.0, width=sheet.width)] if alike else []
    notes.append(_enclosure_note(list_digest({one.name: one.data for one in enclosed}), sheet))
    pages = _laid_out(comparison, known, sheet, notes)
    missing = missing_signs(Pages(tuple(map(tuple, pages)), ()), running)
    if missing:
        pages = _laid_out(comparison, known, sheet, [*notes, missing_note(missing)])
    drawn = pdf_bytes(pages, running, sheet)
    name = numbered(0, len(comparison.options), PAGES)
    return archived(drawn, running, enclosed, sheet_words(pages, running, sheet), name)


def _laid_out(comparison: Comparison, known: Shapes, sheet: Paper, more: Sequence[Block] = ()) -> list[list[Item]]:
    """All on one page where the pictures stay large enough, else the pictures on a page and the rest on others."""
    opening = _opening(comparison, sheet)
    tables, notes = _tables(comparison, sheet), [*_notes(comparison, sheet), *more]
    after = [*tables, *notes]
    taken = sum(block.height for block in opening)
    rest = sum(block.height for block in after)
    if len(comparison.options) <= TWO:
        columns = side_by_side(comparison, known, sheet, sheet.room - taken - rest)
        if columns is not None:
            return flowed([*opening, columns, *after], sheet)
    alone = side_by_side(comparison, known, sheet, sheet.room - taken, must=True)
    assert alone is not None
    parts = fine_parts(comparison, known, sheet.width)
    first = [*opening, alone]
    enlarged: list[Block] = [parts] if parts is not None else []
    # with fine parts what is different stands below them, all numbers on the page that follows, where that costs none
    breaks = [{len(first), len(first) + 2}, {len(first)}] if enlarged else [{len(first)}]
    tried = [
        flowed([*first, *enlarged, *(replace(table, pad=pad) for table in tables), *notes], sheet, where)
        for pad in PADS
        for where in breaks
    ]
    return min(tried, key=len)


def _opening(comparison: Comparison, sheet: Paper) -> list[Block]:
    """Title, whose it is, and the whole in short."""
    detail = comparison.options[0].result.detail
    names = [option.name for option in comparison.options]
    title = runs(Run("Which one? ", "bold"), f"{', '.join(names[:-1])} or {names[-1]}{_subject(comparison)}")
    about = " · ".join(part for part in (detail.project, detail.revision and f"revision {detail.revision}") if part)
    found: list[Block] = [Paragraph(wrapped(title, 13.0, sheet.width), 13.0, after=0.6)]
    if about:
        found.append(Paragraph(wrapped(runs(Run(about)), 8.0, sheet.width), 8.0, colour=GREY, after=1.6))
    return [*found, InShort(tuple(_whole_numbers(words) for words in summary(comparison)), sheet.width)]


def _subject(comparison: Comparison) -> str:
    """What all titles begin with, up to a comma where they differ; nothing where they share too little."""
    titles = [option.result.detail.title for option in comparison.options]
    letters = takewhile(lambda same: len(set(same)) == 1, zip(*titles, strict=False))
    shared = "".join(same[0] for same in letters)
    if shared not in titles:
        shared = shared.rpartition(",")[0] or shared.rpartition(" ")[0]
    shared = shared.strip(" ,:;–-")
    return f": {shared}" if len(shared) >= LEAST_SUBJECT else ""


def _whole_numbers(words: str) -> str:
    """A sentence in which no line breaks within a number with its bracket and unit."""
    return with_firm_units(words).replace("≈ ", f"≈{FIRM}").replace(" ± ", f"{FIRM}±{FIRM}")


def _tables(comparison: Comparison, sheet: Paper) -> list[Table]:
    found = [input_table(comparison, sheet.width), number_table(comparison, sheet.width)]
    has_limits = bool(comparison.limits or comparison.climate or comparison.words)
    return [*found, limit_table(comparison, sheet.width)] if has_limits else found


def _notes(comparison: Comparison, sheet: Paper) -> list[Block]:
    """Remarks, cautions and small print."""
    found: list[Block] = []
    if comparison.given:
        words = " ".join(with_firm_units(one).replace(" = ", f"{FIRM}={FIRM}") for one in comparison.given)
        found.append(paragraph(runs(Run("Given  ", "bold"), words), size=7.4, width=sheet.width, after=0.8))
    found += [
        paragraph(runs(Run("Mind  ", "bold"), with_firm_units(words)), size=7.4, width=sheet.width, after=0.8)
        for words in comparison.remarks
    ]
    said = dict.fromkeys(text for option in comparison.options for text in caution_texts(option.result))
    parts: list[Run] = [Run("What this sheet does not say  ", "bold")]
    for title, words in said:
        parts += [Run(f"{title}: ", "bold")] if title else []
        parts.append(Run(f"{with_firm_units(comparison.shown.sentence(words))}  "))
    found.append(paragraph(tuple(parts), size=6.6, width=sheet.width, after=1.2))
    found.append(paragraph(_small_print(comparison), size=5.8, width=sheet.width, colour=GREY, after=0.0))
    return [Space(0.6), *found]


def _enclosure_note(digest: str, sheet: Paper) -> Block:
    words = (
        "This PDF carries what it was made from; “bridge2d recheck FILE.pdf” takes it out and computes every number "
        f"again. SHA-256 of the list of the enclosed files: {digest}."
    )
    return paragraph(words, size=5.8, width=sheet.width, colour=GREY, after=0.0)


def _small_print(comparison: Comparison) -> str:
    basis = comparison.basis
    first = comparison.options[0].name
    heat = ""
    if basis.heating_degree_hours is not None:
        heat = (
            " Heat in a year is the heat loss per kelvin times the heating degree hours given; sun, people and "
            "ventilation are not counted."
        )
    if basis.lifetime is not None:
        heat += " Costs are not discounted."
    inputs = ", ".join(f"{option.name}: {option.file} {option.input_hash[:16]}" for option in comparison.options)
    words = (
        "±: the true value of the section as drawn lies within it, for certain; brackets add in a difference to "
        f"{first}. ≈: estimated, with its tolerance. “Cannot be told apart”: zero lies within the difference's range. "
        f"{BEFORE_ROUNDING} "
        "The range "
        f"says how well the equations are solved, not how well the building is known.{heat} "
        f"bridge2d {__version__}; inputs (SHA-256, first 16 digits) {inputs}; this comparison {comparison.fingerprint}."
    )
    return told(words, comparison.shown)
