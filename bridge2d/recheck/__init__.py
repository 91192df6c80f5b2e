"""Checks a report, or a bound volume of them, from what travels inside it.

PDF -> enclosed files -> computed again on other meshes -> **compared**, number by number and page by page. Nothing of
the PDF is executed, no other file is opened, and everything is taken for wrong until it has been checked.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bridge2d.errors import InputError

if TYPE_CHECKING:
    from bridge2d.recheck.again import Mesh
    from bridge2d.recheck.checked import Checked
    from bridge2d.recheck.compared import Row
    from bridge2d.recheck.opened import Opened
    from bridge2d.recheck.volume import VolumeChecked
    from bridge2d.shown_units import DisplayUnits


@dataclass(frozen=True)
class Recheck:
    """What came of it.

    Attributes:
        path: the PDF, as it was named.
        title: of the detail; empty where an enclosed file was changed so that it cannot be read.
        versions: of the program that wrote the report, and of this one.
        opened: the enclosed files and the pages.
        meshes: of each section, in the report and now.
        rows: every number, old and new; none where an enclosed file was changed so that it cannot be computed.
        findings: what disagrees, in a sentence each.
        catalogue: rows of the catalogue that are others today, in a sentence each; they do not count here.
        shown: units of the report's pages.
        reports: titles of the reports that a volume binds; their numbers and findings begin with their place.
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
    reports: tuple[str, ...] = ()

    @property
    def agrees(self) -> bool:
        """Whether everything agrees."""
        return not self.findings and all(row.inside for row in self.rows)


def recheck(path: str | Path) -> Recheck:
    """Take the input out of a report or a bound volume, compute it again on other meshes, and compare.

    Args:
        path: the PDF.

    Raises:
        InputError: it cannot be read, is no report, or what it encloses is missing, too large or malformed.
        MissingLibraryError: gmsh is needed and cannot start.
    """
    from bridge2d.recheck.opened import opened

    path = Path(path)
    found = opened(path)
    from bridge2d.recheck import pages
    from bridge2d.recheck.written import pages as as_written

    written = as_written(found)
    changed = tuple(pages.altered_files(found, written))
    try:
        return _way(found)(path, found)
    except InputError as error:
        _tell_where(error, path)
        if not changed:
            raise
        findings = (*pages.altered_pages(found, written.pages), *changed, f"nothing was computed again: {error}")
        return _uncomputed(path, found, findings)


def _way(found: Opened) -> Callable[[Path, Opened], Recheck]:
    from bridge2d.report.enclosures import CASES

    if found.is_comparison:
        return _of_comparison
    if found.reports:
        return _of_volume
    return _of_cases if found.detail == CASES else _of_report


def _tell_where(error: InputError, path: Path) -> None:
    """Name the PDF in a message that names an enclosed file at most."""
    if not error.file.startswith(str(path)):
        error.file = f"{path}, {error.file}" if error.file else str(path)


def _uncomputed(path: Path, found: Opened, findings: tuple[str, ...]) -> Recheck:
    """What is said where an enclosed file was changed and cannot be used."""
    from bridge2d import __version__
    from bridge2d.recheck.written import named
    from bridge2d.shown_units import IN_SI

    title, version = named(found)
    return Recheck(path, title, (version, __version__), found, (), (), findings, (), IN_SI)


def _of_report(path: Path, found: Opened) -> Recheck:
    from bridge2d.recheck.checked import checked
    from bridge2d.recheck.pages import altered_pages
    from bridge2d.recheck.written import pages

    done = checked(found)
    findings = (*altered_pages(found, pages(found).pages), *done.findings)
    return _recheck(path, found, replace(done, findings=findings), done.old.shown)


def _of_volume(path: Path, found: Opened) -> Recheck:
    from bridge2d.recheck.volume import volume_checked

    done = volume_checked(found)
    return _recheck(path, found, done, done.old.shown, tuple(detail.title for detail in done.old.details))


def _of_comparison(path: Path, found: Opened) -> Recheck:
    from bridge2d.recheck.options import options_checked

    done = options_checked(found)
    titles = tuple(f"{one.option}: {one.description}" for one in done.old.options)
    return _recheck(path, found, done, done.old.shown, titles)


def _of_cases(path: Path, found: Opened) -> Recheck:
    from bridge2d.recheck.cases import cases_checked
    from bridge2d.shown_units import IN_SI

    return _recheck(path, found, cases_checked(found), IN_SI)


def _recheck(
    path: Path, found: Opened, done: Checked | VolumeChecked[Any], shown: DisplayUnits, titles: tuple[str, ...] = ()
) -> Recheck:
    from bridge2d import __version__

    versions = (done.old.version, __version__)
    return Recheck(
        path, done.old.title, versions, found, done.meshes, done.rows, done.findings, done.catalogue, shown, titles
    )
