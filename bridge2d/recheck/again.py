"""Computes the enclosed detail again, on meshes that have nothing to do with those of the report.

Third step of a recheck: enclosed detail -> **computed by the other mesher**, or by the same one from another start.
"""

from __future__ import annotations

import time
import tomllib
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from bridge2d.calculate import combined
from bridge2d.detail_file import LoadedDetail, locate, read
from bridge2d.detail_text import LARGEST_FILE
from bridge2d.errors import InputError, MissingLibraryError, SectionError
from bridge2d.report.enclosures import BESIDE, named_file
from bridge2d.solving import TOLERANCE

if TYPE_CHECKING:
    from pathlib import Path

    from bridge2d.detail import Section
    from bridge2d.recheck.opened import Opened
    from bridge2d.recheck.records import Results
    from bridge2d.results import DetailResult, SectionResult
    from bridge2d.units import UnitSystem

FINEST = 1e-5
"""Least relative bracket that is asked for, however narrow the report's own is."""
OTHER = {"grid": "gmsh", "gmsh": "grid"}
"""The mesher that checks another one."""


@dataclass(frozen=True)
class Mesh:
    """How a section was meshed.

    Attributes:
        section: its name.
        then, now: the mesher of the report and of the recheck.
        why: why it is the same one, with another first mesh; empty where it is the other one.
        triangles: of the recheck's last mesh.
    """

    section: str
    then: str
    now: str
    why: str
    triangles: int


def detail_of(opened: Opened, shown: UnitSystem | None = None) -> LoadedDetail:
    """The enclosed detail, with the enclosed drawing and files beside it; no other file is opened.

    Args:
        opened: the report.
        shown: units of what is said in words; those of the file unless given.

    Raises:
        InputError: whatever is wrong with it.
    """
    text, name = text_of(opened, opened.detail)
    try:
        keys = tomllib.loads(text)
    except (ValueError, RecursionError):
        raise InputError("the enclosed detail file is no TOML", file=str(name)) from None
    roles = [(way, opened.beside[what]) for what, way in BESIDE.items() if what in opened.beside]
    if opened.drawing:
        roles.append((("drawing", "file"), opened.drawing))
    attached = {named: opened.files[file] for way, file in roles if (named := named_file(keys, way)) is not None}
    return read(text, name, attached=attached, shown=shown)


def text_of(opened: Opened, file: str) -> tuple[str, Path]:
    """The text of an enclosed detail file, and where it is said to stand: as if the PDF were a folder.

    Args:
        opened: the PDF.
        file: name of the detail file.

    Raises:
        InputError: it is too large, or no text.
    """
    data = opened.files[file]
    name = opened.path / file  # its stem is a missing title
    if len(data) > LARGEST_FILE:
        raise InputError(f"the detail file has {len(data) / 1e6:.1f} MB", file=str(name))
    try:
        return data.decode("utf-8"), name
    except ValueError:
        raise InputError("the enclosed detail file is no text", file=str(name)) from None


def computed_again(
    loaded: LoadedDetail, old: Results, most: float = TOLERANCE
) -> tuple[DetailResult, tuple[Mesh, ...]]:
    """All numbers of the detail on other meshes, and which meshes these are.

    Args:
        loaded: the enclosed detail.
        old: the enclosed results.
        most: greatest relative bracket that is asked for.

    Raises:
        InputError: a section cannot be computed.
        MissingLibraryError: gmsh is needed and cannot start.
    """
    begun = time.perf_counter()
    known = {section.name: section for section in old.sections}
    sections, meshes = [], []
    detail = loaded.detail
    if detail.frame is not None:
        detail = replace(detail, sections=_alike(detail.sections, detail.frame.section))
    for section in detail.sections:
        then = known.get(section.name)
        mesher = then.mesher if then is not None and then.mesher in OTHER else "grid"
        tolerance = most
        whole = then.whole if then is not None else None
        if whole is not None and whole.value:
            width = abs(whole.upper - whole.lower) / abs(whole.value)
            tolerance = min(max(0.5 * width, FINEST), most)
        try:
            solved, mesh = _solved(section, mesher, tolerance)
        except SectionError as error:
            error.section = section.name
            raise locate(error, loaded) from None
        sections.append(solved)
        meshes.append(mesh)
    result = combined(detail, tuple(sections), begun, loaded.input_hash)
    if old.sensitivities is not None:
        from bridge2d.sensitivities.rows import with_sensitivities

        result = with_sensitivities(result, loaded, old.sensitivities.place)
    return result, tuple(meshes)


def _alike(sections: tuple[Section, ...], name: str) -> tuple[Section, ...]:
    """The sections with the cavities of one of them, on gmsh's mesh where that can be had."""
    from bridge2d.section_results import with_cavities_of

    try:
        return with_cavities_of(sections, name, "gmsh")
    except MissingLibraryError:
        return with_cavities_of(sections, name)


def _solved(section: Section, then: str, tolerance: float) -> tuple[SectionResult, Mesh]:
    """A section by the other mesher, or by the same one from another start where the other one cannot be used."""
    from bridge2d.mesh import OTHER_START
    from bridge2d.section_results import solve_section

    now, why = OTHER[then], ""
    try:
        result = solve_section(section, tolerance, now)
    except MissingLibraryError as error:
        why = str(error)
    except SectionError as error:
        why = f"the {now} cannot mesh it" if now == "grid" else f"gmsh cannot mesh it ({error.message[:80]})"
    if why:
        now = then
        result = solve_section(section, tolerance, then + OTHER_START)
    return result, Mesh(section.name, then, now, why, result.passes[-1].triangles)
