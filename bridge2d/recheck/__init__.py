"""Checks a report from what travels inside it.

PDF -> enclosed files -> computed again on other meshes -> **compared**, number by number and page by page. Nothing of
the PDF is executed, no other file is opened, and everything is taken for wrong until it has been checked.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bridge2d.recheck.again import Mesh
    from bridge2d.recheck.compared import Row
    from bridge2d.recheck.opened import Opened
    from bridge2d.shown_units import DisplayUnits


@dataclass(frozen=True)
class Recheck:
    """What came of it.

    Attributes:
        path: the PDF, as it was named.
        title: of the detail.
        versions: of the program that wrote the report, and of this one.
        opened: the enclosed files and the pages.
        meshes: of each section, in the report and now.
        rows: every number, old and new.
        findings: what disagrees, in a sentence each.
        catalogue: rows of the catalogue that are others today, in a sentence each; they do not count here.
        shown: units of the report's pages.
    """

    path: Path
    title: str
    versions: tuple[str, str]
    opened: Opened
    meshes: tuple[Mesh, ...]
    rows: tuple[Row, ...]
    findings: tuple[str, ...]
    catalogue: tuple[str, ...]
    shown: DisplayUnits

    @property
    def agrees(self) -> bool:
        """Whether everything agrees."""
        return not self.findings and all(row.inside for row in self.rows)


def recheck(path: str | Path) -> Recheck:
    """Take the input out of a report, compute it again on other meshes, and compare.

    Args:
        path: the PDF.

    Raises:
        InputError: it cannot be read, is no report, or what it encloses is missing, too large or malformed.
        MissingLibraryError: gmsh is needed and cannot start.
    """
    from bridge2d import __version__
    from bridge2d.materials import with_rows
    from bridge2d.recheck import pages, records
    from bridge2d.recheck.again import computed_again, detail_of
    from bridge2d.recheck.compared import changed_rows, compared, identity
    from bridge2d.recheck.opened import opened
    from bridge2d.tables import as_json

    path = Path(path)
    found = opened(path)
    old = records.results(found)
    written = records.pages(found)
    rows = records.materials(found)
    with with_rows(rows):
        loaded = detail_of(found)
        result, meshes = computed_again(loaded, old)
    new = records.Results.model_validate(as_json(result))
    findings = (
        *pages.altered_pages(found, written),
        *pages.missing_from_pages(found, old),
        *identity(old, new),
    )
    return Recheck(
        path,
        old.title,
        (old.version, __version__),
        found,
        meshes,
        compared(old, new),
        findings,
        changed_rows(rows),
        old.shown,
    )
