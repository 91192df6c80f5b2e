"""One report computed again and held against what it encloses: all steps of a recheck, in their order."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from bridge2d.materials import with_rows
from bridge2d.recheck.again import computed_again, detail_of
from bridge2d.recheck.compared import changed_rows, compared, identity
from bridge2d.recheck.pages import missing_from_pages
from bridge2d.recheck.records import Results, materials, results
from bridge2d.tables import as_json

if TYPE_CHECKING:
    from bridge2d.detail_file import LoadedDetail
    from bridge2d.recheck.again import Mesh
    from bridge2d.recheck.compared import Row
    from bridge2d.recheck.opened import Opened
    from bridge2d.results import DetailResult
    from bridge2d.units import UnitSystem


@dataclass(frozen=True)
class Checked:
    """What came of a report, but for its pages as they were written.

    Attributes:
        rows: every number, old and new.
        findings: what disagrees, in a sentence each.
        meshes: of each section, in the report and now.
        catalogue: rows of the catalogue that are others today, in a sentence each.
        old: the enclosed results.
        loaded: the enclosed detail file.
        result: its numbers computed again.
        document: the same as JSON values.
    """

    rows: tuple[Row, ...]
    findings: tuple[str, ...]
    meshes: tuple[Mesh, ...]
    catalogue: tuple[str, ...]
    old: Results
    loaded: LoadedDetail
    result: DetailResult
    document: Mapping[str, Any]


def checked(opened: Opened, *, shown: UnitSystem | None = None, printed: bool = True) -> Checked:
    """Compute the enclosed detail again on other meshes, and compare.

    Args:
        opened: the report, or a part of a volume with its pages.
        shown: units of what is said in words; those of the file unless given.
        printed: whether its pages are those of a report, which say all of its numbers.

    Raises:
        InputError: what it encloses is malformed, or cannot be computed.
        MissingLibraryError: gmsh is needed and cannot start.
    """
    old = results(opened)
    rows = materials(opened)
    with with_rows(rows):
        loaded = detail_of(opened, shown)
        result, meshes = computed_again(loaded, old)
    document = as_json(result)
    new = Results.model_validate(document)
    findings = (*(missing_from_pages(opened, old) if printed else ()), *identity(old, new))
    return Checked(compared(old, new), findings, meshes, changed_rows(rows), old, loaded, result, document)
