"""What a PDF says of how it was written: its pages and enclosed files, and the title and version of its results.

Part of the second step of a recheck, beside `records`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from pydantic import Field

from bridge2d.errors import InputError
from bridge2d.recheck.opened import MOST_VOLUME_FILES, MOST_VOLUME_PAGES
from bridge2d.recheck.records import record
from bridge2d.recheck.stated import Line, Record
from bridge2d.report.enclosures import PAGE_DIGESTS, PAGES, RESULTS

if TYPE_CHECKING:
    from bridge2d.recheck.opened import Opened


class PageRecord(Record):
    """A page as it was written."""

    words: Annotated[str, Field(max_length=1_000_000)]
    sha256: Line


Count = Annotated[int, Field(ge=0)]


class Pages(Record):
    """What `pages.json` holds.

    Attributes:
        digests: how the fingerprints of the pages were made.
        pages: all of them.
        files: SHA-256 of every other enclosed file, by name.
        parts: of a volume, how many pages the schedule and each report have.
    """

    digests: int = 1
    pages: Annotated[list[PageRecord], Field(max_length=MOST_VOLUME_PAGES)]
    files: Annotated[dict[Line, Line], Field(max_length=MOST_VOLUME_FILES)] = Field(default_factory=dict)
    parts: Annotated[list[Count], Field(max_length=MOST_VOLUME_FILES)] = Field(default_factory=list)


class NamedRecord(Record):
    """What enclosed results say of themselves."""

    title: Line = ""
    version: Line = ""


def named(opened: Opened) -> tuple[str, str]:
    """Title and version of the enclosed results; empty where they cannot be read.

    Args:
        opened: the report.
    """
    try:
        found = record(NamedRecord, RESULTS, opened)
    except InputError:
        return "", ""
    return found.title, found.version


def pages(opened: Opened) -> Pages:
    """The pages as they were written.

    Args:
        opened: the report.

    Raises:
        InputError: their record is malformed, or its fingerprints are made in another way.
    """
    found = record(Pages, PAGES, opened)
    if found.digests != PAGE_DIGESTS:
        message = "its pages have fingerprints of another kind, as another version of bridge2d makes them"
        right = (
            "recheck it with the version that wrote it, which stands at the foot of its pages, or have it written again"
        )
        raise InputError(message, file=str(opened.path), right=right)
    return found
