"""What travels inside a bound volume: the building file, its sums, and what each detail's report encloses.

Part of the binding. Every name begins with a number, 0 for the building and from 1 on that of a report, so that whoever
takes the files out knows which belong together.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from io import BytesIO
from pathlib import PurePosixPath
from typing import TYPE_CHECKING, NamedTuple

from bridge2d.building.records import ScheduleResult
from bridge2d.report.enclosures import (
    DETAIL_ENDING,
    LIMITS,
    PAGES,
    RESULTS,
    Enclosure,
    file_name,
    json_bytes,
    numbered,
    pages_file,
)
from bridge2d.schedule.tables import as_json

if TYPE_CHECKING:
    from bridge2d.schedule.cache import Computed


class Taken(NamedTuple):
    """What a report encloses, and the words of its pages."""

    files: tuple[Enclosure, ...]
    words: tuple[str, ...]


def of_building(result: ScheduleResult, fingerprint: str, system: str) -> tuple[Enclosure, ...]:
    """The building file, its own sets of limits where it has some, and its sums; the same for the same input.

    Args:
        result: all sums.
        fingerprint: SHA-256 of the building file and of the input of every detail.
        system: of units, in which the pages are.
    """
    building, count = result.building, len(result.details)
    text = building.text.encode("utf-8")
    name = numbered(0, count, file_name(building.path, DETAIL_ENDING))
    found = [Enclosure(name, "the building file", "application/toml", "Source", text)]
    if building.sets is not None:
        named = file_name(PurePosixPath(building.sets[0].replace("\\", "/")), DETAIL_ENDING)
        own = numbered(0, count, named)
        own = numbered(0, count, f"limits {named}"[-109:]) if own == name else own
        found.append(Enclosure(own, LIMITS, "application/toml", "Source", building.sets[1]))
    sums = {**as_json(result), "input_hash": fingerprint, "shown_units": system}
    what = "all sums of the building"
    return (*found, Enclosure(numbered(0, count, RESULTS), what, "application/json", "Data", json_bytes(sums)))


def taken_out(details: Sequence[Computed]) -> list[Taken]:
    """The files that the reports enclose, numbered, and the words of their pages.

    Args:
        details: the reports, without page numbers.
    """
    from pikepdf import Pdf

    found = []
    for number, detail in enumerate(details, start=1):
        with Pdf.open(BytesIO(detail.pdf)) as report:
            files, words = [], ()
            for name, specification in report.attachments.items():
                file = specification.get_file()
                if name == PAGES:
                    words = tuple(page["words"] for page in json.loads(file.read_bytes())["pages"])
                    continue
                relation = str(specification.relationship).removeprefix("/")
                own = numbered(number, len(details), name)
                what = specification.description
                files.append(Enclosure(own, what, file.mime_type, relation, file.read_bytes()))
            found.append(Taken(tuple(files), words))
    return found


def of_pages(
    words: Sequence[str],
    digests: Sequence[str],
    enclosed: Sequence[Enclosure],
    front: int,
    details: Sequence[Computed],
) -> Enclosure:
    """The words of every page of the volume, and how many pages each part of it has.

    Args:
        words: of each page.
        digests: of each page.
        enclosed: all other files.
        front: how many pages the schedule has.
        details: the reports.
    """
    file = pages_file(words, digests, enclosed, [front, *(detail.pages for detail in details)])
    return file._replace(name=numbered(0, len(details), PAGES))
