"""The PDF report of a detail.

results -> drawing -> **report**. `write_report` puts the chapters together; each chapter is a function of the results,
and all of them end as scenes in paper millimetres.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from bridge2d.report.layout import Block
    from bridge2d.results import DetailResult


class Loaded(Protocol):
    """What the report needs of a detail file that was read."""

    @property
    def path(self) -> Path:
        """The file, as it was named."""

    @property
    def input_hash(self) -> str:
        """Fingerprint of the input."""


def write_report(result: DetailResult, loaded: Loaded, path: Path) -> None:
    """Write the report of a detail; the file is written whole or not at all.

    Args:
        result: all numbers of the detail.
        loaded: the detail file that they come from.
        path: of the PDF.

    Raises:
        OSError: the folder is missing or cannot be written.
    """
    from bridge2d.whole_file import write_whole

    write_whole(report_bytes(result, loaded), path)


def report_bytes(result: DetailResult, loaded: Loaded) -> bytes:
    """The report's bytes; the same for the same input.

    Args:
        result: all numbers of the detail.
        loaded: the detail file that they come from.
    """
    from bridge2d.report.flow import flowed
    from bridge2d.report.missing import missing_note, missing_signs
    from bridge2d.report.sheets import Running, pdf_bytes

    detail = result.detail
    running = Running(detail.title, detail.project, detail.revision, result.version, loaded.input_hash)
    blocks = _blocks(result, _chapters(result, loaded))
    pages = flowed(blocks)
    missing = missing_signs(pages, running)
    if missing:
        pages = flowed([*blocks, missing_note(missing)])
    return pdf_bytes(pages, running)


def _blocks(result: DetailResult, chapters: list[tuple[str, list[Block]]]) -> list[Block]:
    """The whole report: opening, contents, chapters."""
    from bridge2d.drawing.scene import runs
    from bridge2d.report.layout import Contents, Heading, NewPage, Space
    from bridge2d.report.opening import opening

    entries = tuple((str(k), title, "") for k, (title, _) in enumerate(chapters, start=1))
    blocks: list[Block] = [*opening(result), Space(9.0), Contents(entries), NewPage()]
    for number, (title, parts) in enumerate(chapters, start=1):
        blocks += [Heading(runs(title), str(number)), *parts, Space(6.0)]
    return blocks


def _chapters(result: DetailResult, loaded: Loaded) -> list[tuple[str, list[Block]]]:
    from bridge2d.drawing.shown_materials import material_numbers
    from bridge2d.report import computation_pages as computed
    from bridge2d.report import input_pages as given
    from bridge2d.report.airtight_pages import airtight
    from bridge2d.report.cautions import cautions
    from bridge2d.report.installation_pages import with_installation
    from bridge2d.report.module_pages import with_module
    from bridge2d.report.section_pages import drawings, temperatures
    from bridge2d.report.words import has_timber

    detail = result.detail
    numbers = material_numbers(detail)
    chapters: list[tuple[str, list[Block]]] = [
        ("Sections", drawings(result.sections, numbers, detail.requirements)),
        ("Surface and timber temperatures" if has_timber(detail) else "Surface temperatures", temperatures(result)),
        ("How Ψ comes about" if result.psi else "Coupling coefficients", computed.trace(result)),
        ("How sure the numbers are", computed.bracket(result)),
        ("Airtight layer", airtight(result)),
        ("Flanking elements", given.flanking(result) if any(s.flanking for s in result.sections) else []),
        ("Parameters", given.parameters(detail)),
        ("Materials", given.materials(numbers)),
        ("Conditions", given.conditions(detail)),
        ("Checks after ISO 10211", computed.checks(result)),
        ("From three dimensions to two", computed.model(result)),
        ("What this sheet does not say", cautions(result)),
        ("How it was computed", computed.computation(result, loaded.input_hash, loaded.path.name)),
    ]
    return with_module(with_installation([(title, parts) for title, parts in chapters if parts], result), result)
