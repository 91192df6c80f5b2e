"""The PDF report of a detail.

results -> drawing -> **report**. `write_report` puts the chapters together; each chapter is a function of the results,
and all of them end as scenes in paper millimetres. What `enclosures` gathers travels inside the PDF (`archive`).
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

if TYPE_CHECKING:
    from collections.abc import Mapping

    from bridge2d.detail_drawing import Drawn
    from bridge2d.materials import Material
    from bridge2d.report.enclosures import Enclosure
    from bridge2d.report.flow import Pages
    from bridge2d.report.layout import Block, Paper
    from bridge2d.report.section_pictures import Pictures
    from bridge2d.results import DetailResult
    from bridge2d.shown_units import DisplayUnits


NEEDED = (
    "pikepdf",
    "reportlab.pdfgen.canvas",
    "bridge2d.drawing.pdf",
    "bridge2d.report.archive",
    "bridge2d.report.computation_pages",
    "bridge2d.report.first_page",
    "bridge2d.report.flow",
    "bridge2d.report.input_pages",
    "bridge2d.report.published_cases",
    "bridge2d.report.sensitivity_pages",
    "bridge2d.report.sheets",
    "bridge2d.report.temperature_pages",
    "bridge2d.verify.stored",
)
"""Modules that every report loads, and through which it loads most others."""


class Loaded(Protocol):
    """What the report needs of a detail file that was read."""

    @property
    def path(self) -> Path:
        """The file, as it was named."""

    @property
    def input_hash(self) -> str:
        """Fingerprint of the input."""

    @property
    def text(self) -> str:
        """The file's text."""

    @property
    def data(self) -> Mapping[str, Any]:
        """The file's data as it stands there."""

    @property
    def drawn(self) -> Drawn | None:
        """What the file took from a drawing."""

    @property
    def files(self) -> Mapping[str, bytes]:
        """Bytes of all other files that it was read from, by the name that the text gives them."""

    @property
    def materials(self) -> tuple[Material, ...]:
        """The catalogue's rows that it draws on."""


def load_parts() -> None:
    """Load what a report needs, while something else is waited for."""
    from importlib import import_module

    from bridge2d.drawing.pdf import register_fonts

    for name in NEEDED:
        import_module(name)
    register_fonts()


def prepared(result: DetailResult, loaded: Loaded, shown: DisplayUnits | None = None, paper: str = "A4") -> Pictures:
    """Draw a report's pictures and measure its texts, while what the result depends on is still looked for.

    Args:
        result: all other numbers of the detail.
        loaded: the detail file that they come from.
        shown: units of everything that is written; SI unless given.
        paper: "A4" or "Letter".

    Returns:
        pictures, for `write_report`.
    """
    from bridge2d.report.enclosures import enclosures
    from bridge2d.report.flow import flowed_without_remnant
    from bridge2d.report.layout import PAPERS
    from bridge2d.shown_units import IN_SI

    drawn: Pictures = {}
    shown = shown or IN_SI
    blocks = _blocks(result, loaded, enclosures(result, loaded, shown), shown, PAPERS[paper], drawn, awaited=True)
    flowed_without_remnant(blocks, PAPERS[paper])  # texts once measured are remembered
    return drawn


def write_report(
    result: DetailResult,
    loaded: Loaded,
    path: Path,
    shown: DisplayUnits | None = None,
    paper: str = "A4",
    drawn: Pictures | None = None,
    *,
    shared: bool = False,
) -> None:
    """Write the report of a detail; the file is written whole or not at all.

    Args:
        result: all numbers of the detail.
        loaded: the detail file that they come from.
        path: of the PDF.
        shown: units of everything that is written; SI unless given.
        paper: "A4" or "Letter".
        drawn: pictures that are there already, see `prepared`.
        shared: whether a copy of this process draws half of the others.

    Raises:
        OSError: the folder is missing or cannot be written.
    """
    from bridge2d.whole_file import write_whole

    write_whole(_made(result, loaded, shown, paper, drawn, shared=shared)[0], path)


def report_bytes(result: DetailResult, loaded: Loaded, shown: DisplayUnits | None = None, paper: str = "A4") -> bytes:
    """The report's bytes; the same for the same input.

    Args:
        result: all numbers of the detail.
        loaded: the detail file that they come from.
        shown: units of everything that is written; SI unless given.
        paper: "A4" or "Letter".
    """
    return _made(result, loaded, shown, paper)[0]


def report_to_bind(
    result: DetailResult, loaded: Loaded, shown: DisplayUnits | None = None, paper: str = "A4"
) -> tuple[bytes, Pages]:
    """The report's bytes without page numbers, and where in it they belong, for a volume of several reports.

    Args:
        result: all numbers of the detail.
        loaded: the detail file that they come from.
        shown: units of everything that is written; SI unless given.
        paper: "A4" or "Letter".
    """
    return _made(result, loaded, shown, paper, numbered=False)


def _made(
    result: DetailResult,
    loaded: Loaded,
    shown: DisplayUnits | None,
    paper: str,
    drawn: Pictures | None = None,
    *,
    numbered: bool = True,
    shared: bool = False,
) -> tuple[bytes, Pages]:
    """The report's bytes and pages."""
    from bridge2d.report.archive import archived
    from bridge2d.report.enclosures import enclosures
    from bridge2d.report.flow import flowed_without_remnant
    from bridge2d.report.layout import PAPERS
    from bridge2d.report.missing import missing_note, missing_signs
    from bridge2d.report.sheets import Running, page_words, pdf_bytes
    from bridge2d.shown_units import IN_SI

    shown, sheet = shown or IN_SI, PAPERS[paper]
    detail = result.detail
    running = Running(
        detail.title, detail.project, detail.revision, result.version, loaded.input_hash, detail.author, detail.date
    )
    enclosed = enclosures(result, loaded, shown)
    blocks = _blocks(result, loaded, enclosed, shown, sheet, drawn, shared=shared)
    pages = flowed_without_remnant(blocks, sheet, numbered)
    missing = missing_signs(pages, running)
    if missing:
        pages = flowed_without_remnant([*blocks, missing_note(missing)], sheet, numbered)
    count = None if numbered else 0
    plain = pdf_bytes(pages, running, sheet, count)
    return archived(plain, running, enclosed, page_words(pages, running, sheet, count)), pages


def _blocks(
    result: DetailResult,
    loaded: Loaded,
    enclosed: tuple[Enclosure, ...],
    shown: DisplayUnits,
    paper: Paper,
    drawn: Pictures | None = None,
    *,
    awaited: bool = False,
    shared: bool = False,
) -> list[Block]:
    """The whole report: first page, contents, chapters."""
    from bridge2d.drawing.scene import runs
    from bridge2d.drawing.shown_materials import material_numbers
    from bridge2d.report.first_page import first_page
    from bridge2d.report.layout import Heading, Space
    from bridge2d.report.section_pictures import SECTIONS, drawings

    detail = result.detail
    numbers = material_numbers(one.section for one in result.sections)
    chapters = _chapters(result, loaded, enclosed, shown, awaited=awaited)
    titles = [title for title, _ in chapters]
    front = first_page(result, numbers, titles, shown, paper, drawn)
    blocks: list[Block] = [*front.blocks]
    for number, (title, written) in enumerate(chapters, start=1):
        parts = written
        if title == SECTIONS:
            above = front.taken if number == 1 else 0.0
            parts = drawings(result.sections, numbers, detail.requirements, shown, paper, above, drawn, shared=shared)
        blocks += [Heading(runs(title), str(number)), *parts, Space(6.0)]
    return blocks[:-1]


def _chapters(
    result: DetailResult, loaded: Loaded, enclosed: tuple[Enclosure, ...], shown: DisplayUnits, *, awaited: bool
) -> list[tuple[str, list[Block]]]:
    """Title and blocks of each chapter; that with the pictures is empty, they are made for the room that is left.

    So is that of what the result depends on where it is still awaited: the contents have its line.
    """
    from bridge2d.drawing.shown_materials import material_numbers
    from bridge2d.report import computation_pages as computed
    from bridge2d.report import input_pages as given
    from bridge2d.report.airtight_pages import airtight
    from bridge2d.report.cautions import cautions
    from bridge2d.report.enclosure_pages import enclosed_files
    from bridge2d.report.hatch_pages import TITLE as HATCH
    from bridge2d.report.hatch_pages import hatch
    from bridge2d.report.installation_pages import with_installation
    from bridge2d.report.module_pages import with_module
    from bridge2d.report.month_pages import months
    from bridge2d.report.published_cases import TITLE as CASES
    from bridge2d.report.published_cases import quoted_cases
    from bridge2d.report.section_pictures import SECTIONS
    from bridge2d.report.sensitivity_pages import TITLE as DEPENDS
    from bridge2d.report.sensitivity_pages import sensitivities
    from bridge2d.report.temperature_pages import temperatures
    from bridge2d.report.words import has_timber

    detail = result.detail
    chapters: list[tuple[str, list[Block]]] = [
        (SECTIONS, []),
        (HATCH, hatch(result, shown)),
        ("Parameters", given.parameters(detail)),
        ("Materials", given.materials(material_numbers(one.section for one in result.sections), shown)),
        ("Conditions", given.conditions(detail, shown)),
        ("Flanking elements", given.flanking(result, shown) if any(s.flanking for s in result.sections) else []),
        (computed.trace_title(result), computed.trace(result, shown)),
        (
            "Surface and timber temperatures" if has_timber(detail) else "Surface temperatures",
            temperatures(result, shown),
        ),
        ("Climate by month", months(result, shown)),
        ("How sure the numbers are", computed.bracket(result, shown)),
        ("Checks after ISO 10211", computed.checks(result, shown)),
        (DEPENDS, sensitivities(result, shown)),
        (computed.model_title(result), computed.model(result, shown)),
        ("Airtight layer", airtight(result, shown)),
        ("What this sheet does not say", cautions(result, shown)),
        (
            "How it was computed",
            [*computed.computation(result, loaded.input_hash, loaded.path.name, shown), *enclosed_files(enclosed)],
        ),
        (CASES, quoted_cases(result.version, of_revolution=any(s.revolution for s in detail.sections), shown=shown)),
    ]
    empty = {SECTIONS, DEPENDS} if awaited else {SECTIONS}
    kept = [(title, parts) for title, parts in chapters if parts or title in empty]
    return with_module(with_installation(kept, result, shown), result, shown)
