"""Checks a bound volume: each report by itself, then the sums of the building from what came out.

All steps of a recheck once more, for a PDF that binds several reports under a schedule. The enclosed building file says
what is summed up; the enclosed details say what it is made of, and nothing else is read.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Generic, TypeVar

from bridge2d.building.reading import check_use, read
from bridge2d.building.records import numbers_of
from bridge2d.building.sums import summed
from bridge2d.building.variants import applies
from bridge2d.detail_text import LARGEST_FILE
from bridge2d.errors import InputError
from bridge2d.recheck.checked import Checked, checked
from bridge2d.recheck.compared import Row, altered_limits, beside, off_middle, other_verdicts
from bridge2d.recheck.pages import altered_pages, unsaid, unsaid_files, unsaid_words
from bridge2d.recheck.records import malformed, record
from bridge2d.recheck.stated import Record
from bridge2d.recheck.sums import Sums, gain_numbers, sum_numbers
from bridge2d.recheck.written import Pages, pages
from bridge2d.report.enclosures import BESIDE, DETAIL_ENDING, LIMITS, PAGES, RESULTS, file_name, named_file
from bridge2d.schedule.running import building_fingerprint
from bridge2d.schedule.tables import as_json

if TYPE_CHECKING:
    from bridge2d.building.records import Building, ScheduleResult
    from bridge2d.detail_text import Source
    from bridge2d.recheck.again import Mesh
    from bridge2d.recheck.opened import Opened
    from bridge2d.recheck.seen import Page

NAMES = ("title", "project", "revision", "dimensions")


Together = TypeVar("Together", bound=Record)


@dataclass(frozen=True)
class VolumeChecked(Generic[Together]):
    """What came of several details in one PDF; numbers, findings and meshes are told apart by their names.

    Attributes:
        rows, findings, meshes, catalogue: see `checked.Checked`.
        old: what is enclosed of all of them together.
    """

    rows: tuple[Row, ...]
    findings: tuple[str, ...]
    meshes: tuple[Mesh, ...]
    catalogue: tuple[str, ...]
    old: Together


def of_parts(
    old: Together, found: Sequence[Checked], rows: Iterable[Row], findings: Iterable[str]
) -> VolumeChecked[Together]:
    """What came of a PDF, from what came of its reports.

    Args:
        old: what is enclosed of all of them together.
        found: of each report.
        rows: numbers of all of them together.
        findings: what disagrees beside those of each report.
    """
    counted = list(enumerate(found, start=1))
    return VolumeChecked(
        (*rows, *(replace(row, name=f"{k}: {row.name}") for k, one in counted for row in one.rows)),
        (*findings, *(f"report {k}: {words}" for k, one in counted for words in one.findings)),
        tuple(replace(mesh, section=f"{k}: {mesh.section}") for k, one in counted for mesh in one.meshes),
        tuple(dict.fromkeys(words for one in found for words in one.catalogue)),
        old,
    )


def volume_checked(opened: Opened) -> VolumeChecked[Sums]:
    """Compute every report of a volume again and sum up anew, and compare.

    Args:
        opened: the volume.

    Raises:
        InputError: what it encloses is malformed, or cannot be computed.
        MissingLibraryError: gmsh is needed and cannot start.
    """
    old = record(Sums, RESULTS, opened)
    written = pages(opened)
    front, slices = _slices(opened, written)
    building, source = _building(opened)
    found = [checked(replace(report, pages=part)) for report, part in zip(opened.reports, slices, strict=True)]
    result = _summed(building, source, found)
    new = Sums.model_validate({**as_json(result), "input_hash": building_fingerprint(result)})
    findings = [
        *altered_pages(opened, written.pages),
        *_missing(opened, front, old),
        *_identity(old, new),
        *_unlike(building, found, opened),
    ]
    rows = [
        *beside(sum_numbers(old), sum_numbers(new)),
        *(row for row in beside(gain_numbers(old), gain_numbers(new)) if row.old and row.new),
    ]
    return of_parts(old, found, rows, findings)


def _slices(opened: Opened, written: Pages) -> tuple[tuple[Page, ...], list[tuple[Page, ...]]]:
    """The pages of the schedule and of each report; all for each where pages were taken out or put in."""
    counts = written.parts
    if len(counts) != len(opened.reports) + 1 or sum(counts) != len(written.pages):
        raise malformed(PAGES, "its parts are not those of the volume", opened)
    if len(opened.pages) != len(written.pages):
        return opened.pages, [opened.pages] * len(opened.reports)
    starts = [sum(counts[:k]) for k in range(len(counts))]
    parts = [opened.pages[start : start + count] for start, count in zip(starts, counts, strict=True)]
    return parts[0], parts[1:]


def _building(opened: Opened) -> tuple[Building, Source]:
    """The enclosed building file, with the enclosed file of own limits; no other file is opened."""
    data, name = opened.files[opened.detail], opened.path / opened.detail
    if len(data) > LARGEST_FILE:
        raise InputError(f"the building file has {len(data) / 1e6:.1f} MB", file=str(name))
    try:
        text = data.decode("utf-8")
        named = named_file(tomllib.loads(text), BESIDE[LIMITS])
    except (ValueError, RecursionError):
        raise InputError("the enclosed building file is no TOML", file=str(name)) from None
    sets = {named: opened.files[opened.beside[LIMITS]]} if named and LIMITS in opened.beside else {}
    building, source = read(text, name, sets)
    if len(building.variants) != len(opened.reports):
        message = f"the building file uses {len(building.variants)} details, and {len(opened.reports)} are bound"
        raise InputError(message, file=str(name), right="ask for the file as it was written")
    return building, source


def _summed(building: Building, source: Source, found: Sequence[Checked]) -> ScheduleResult:
    """The sums of the building from the details computed again."""
    numbers = [numbers_of(one.document) for one in found]
    for number, junction in enumerate(building.junctions):
        if junction.variant is not None:
            check_use(junction, number, numbers[junction.variant], building, source)
    return summed(building, numbers)


def _missing(opened: Opened, front: Sequence[Page], old: Sums) -> Iterator[str]:
    """What of the enclosed sums and files the schedule's pages do not say."""
    yield from unsaid(front, [*sum_numbers(old), *gain_numbers(old)], old.shown)
    named = {"title": old.title, "fingerprint of the input": old.input_hash, "version": old.version}
    yield from unsaid_words(front, named)
    yield from unsaid_files(front, opened.files)


def _identity(old: Sums, new: Sums) -> Iterator[str]:
    """What beside the numbers disagrees between the enclosed sums and the enclosed files."""
    if old.input_hash != new.input_hash:
        yield "the enclosed building file and details are not the input of the enclosed sums: the fingerprint differs"
    for what in NAMES:
        before, after = getattr(old, what), getattr(new, what)
        if before != after:
            yield f"the {what} of the enclosed sums is {before[:60]!r}, that of the building file {after[:60]!r}"
    for what, before, after in (
        ("junctions", [(e.ref, e.name) for e in old.junctions], [(e.ref, e.name) for e in new.junctions]),
        ("details", old.details, new.details),
    ):
        if before != after:
            yield f"the {what} of the enclosed sums are not those of the enclosed files"
    yield from off_middle([*sum_numbers(old)])
    if altered_limits(old.limits, new.limits):
        yield "the limits of the enclosed sums are not those of the building file and the details"
    else:
        yield from other_verdicts(old.limits, new.limits)


def _unlike(building: Building, found: Sequence[Checked], opened: Opened) -> Iterator[str]:
    """Details that are not as the building file uses them, in a sentence each."""
    for number, (variant, one, report) in enumerate(
        zip(building.variants, found, opened.reports, strict=True), start=1
    ):
        if report.detail != file_name(variant.path, DETAIL_ENDING):
            yield f"report {number} is of {report.detail}, and the building file names {variant.path.name[:60]}"
        given: Any = one.loaded.data.get("parameters", {})
        for key, value in variant.parameters.items():
            if not isinstance(given, dict) or given.get(key) != value:
                yield f"report {number} does not have the {key} that the building file gives"
        if variant.title and one.result.detail.title != variant.title:
            yield f"report {number} does not have the name that the building file gives"
        for limit in variant.requirements:
            if applies(limit, one.result.detail):
                yield f"report {number} lacks the building's limit {limit.name[:60]!r}"
