"""Opens a PDF that somebody sent, and takes out no more than it should hold.

First step of a recheck: **PDF -> enclosed files and pages**. Every size is bounded before a byte is unpacked, and the
unpacking itself stops at its bound. pypdf reads it, by another road than the one that wrote it.
"""

from __future__ import annotations

import io
import json
import logging
import re
import stat
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bridge2d.errors import InputError
from bridge2d.recheck.seen import Page, actions_of, named, pages_of, printable
from bridge2d.report.enclosures import (
    BESIDE,
    CASES,
    DETAIL_ENDING,
    DRAWING_ENDING,
    MATERIALS,
    NAME,
    PAGES,
    RESULTS,
    numbered,
    parted,
)

if TYPE_CHECKING:
    from pypdf import PdfReader

LARGEST_PDF = 60_000_000
LARGEST_FILE = 25_000_000
"""An enclosed file, or the instructions of one page, of more bytes when unpacked is refused."""
LARGEST_SUM = 150_000_000
"""All that is unpacked from one PDF."""
MOST_FILES, MOST_CASE_FILES, MOST_VOLUME_FILES = 20, 300, 12_000
MOST_PAGES, MOST_VOLUME_PAGES = 500, 5_000
"""In a report, and in a bound volume of many."""
MOST_OPERANDS = 10_000_000
DEEPEST = 8
"""Levels of the tree of enclosed files."""
RIGHT = "give a PDF that `bridge2d report`, `compare`, `schedule` or `verify` has written"

AS_WRITTEN = "ask for the file as it was written"

OF_REPORT, OF_PART, OF_BUILDING = (MATERIALS, RESULTS, PAGES), (MATERIALS, RESULTS), (RESULTS, PAGES)
"""Files that a report needs beside its detail file, one in a volume, and the volume itself."""
OURS = (MATERIALS, RESULTS, PAGES, CASES)
"""Names of enclosed files that tell their roles by themselves."""

Specification = tuple[str, str, Any]
"""Name and description of an enclosed file, and its stream."""


@dataclass(frozen=True)
class Opened:
    """What a report holds, or a bound volume.

    Attributes:
        path: the PDF; of a report in a volume with its number.
        files: the enclosed files that a report has, by name; of a volume those of the building.
        detail: name of the detail file among them, or of the building file.
        drawing: name of the drawing among them; empty where there is none.
        beside: names of the other files that the detail file names, by their description (`enclosures.BESIDE`).
        others: names of further files that others have enclosed; they were not unpacked.
        pages: in their order.
        reports: those that a volume binds, without their pages, which the volume has.
        actions: entries by which a viewer would do something when the file is opened.
    """

    path: Path
    files: dict[str, bytes]
    detail: str
    drawing: str
    beside: dict[str, str]
    others: tuple[str, ...]
    pages: tuple[Page, ...]
    reports: tuple[Opened, ...] = ()
    actions: tuple[str, ...] = ()

    @property
    def is_comparison(self) -> bool:
        """Whether the numbers are those of options, not of a building whose file has that name."""
        from bridge2d.report.comparison_enclosures import TERMS

        if not self.reports or self.detail != TERMS:
            return False
        try:
            return "options" in json.loads(self.files[RESULTS])
        except (ValueError, TypeError, RecursionError):  # said by whoever reads them
            return b"[[options]]" in self.files[self.detail]

    @property
    def enclosed(self) -> dict[str, bytes]:
        """All enclosed files, those of a volume with the numbers of their parts."""
        if not self.reports:
            return self.files
        parts, count = (self, *self.reports), len(self.reports)
        return {numbered(k, count, name): data for k, part in enumerate(parts) for name, data in part.files.items()}


def opened(path: Path) -> Opened:
    """The enclosed files and pages of a report.

    Args:
        path: the PDF.

    Raises:
        InputError: it cannot be read, or is no report; nothing beyond the bounds is unpacked.
    """
    data = _read(path)
    with _bounded():
        try:
            reader = _reader(data, path)
            specifications = _specifications(reader, path)
            volume = not any(name == RESULTS for name, _, _ in specifications) and any(
                parted(name) == (0, RESULTS) for name, _, _ in specifications
            )
            cases = any(name == CASES for name, _, _ in specifications)
            kind = _volume if volume else _validation if cases else _report
            found = kind(specifications, path)
            most = MOST_VOLUME_PAGES if volume else MOST_PAGES
            if len(reader.pages) > most:
                raise InputError(f"it has more than {most} pages", file=str(path), right=RIGHT)
            before = sum(map(len, found.enclosed.values()))
            pages = pages_of(reader, lambda unpacked: _check_sum(before + unpacked, path))
            return replace(found, pages=pages, actions=actions_of(reader))
        except InputError:
            raise
        except Exception as error:  # whatever a parser stumbles over in a file that somebody has made up
            raise _refused(error, path) from error


# -- the file ----------------------------------------------------------------------------------------------------------


def _read(path: Path) -> bytes:
    try:
        found = path.stat()
        if not stat.S_ISREG(found.st_mode):
            raise InputError("this is not an ordinary file", file=str(path), right=RIGHT)
        if found.st_size > LARGEST_PDF:
            size, most = found.st_size / 1e6, LARGEST_PDF / 1e6
            raise InputError(f"the file has {size:.1f} MB", file=str(path), right=f"a report may have {most:.0f} MB")
        data = path.read_bytes()
    except FileNotFoundError:
        raise InputError("there is no such file", file=str(path), right="check the name and the folder") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "its name is none that a file can have"
        raise InputError(f"the file cannot be read: {reason}", file=str(path)[:200]) from None
    if not data.startswith(b"%PDF-"):
        raise InputError("this is no PDF", file=str(path), right=RIGHT)
    return data


@contextmanager
def _bounded() -> Iterator[None]:
    """Bounds for all that pypdf unpacks, and none of its remarks on the screen."""
    from pypdf import apply_configuration

    remarks = logging.getLogger("pypdf")
    level = remarks.level
    remarks.setLevel(logging.CRITICAL + 1)
    try:
        with apply_configuration(
            zlib_maximum_output_length=LARGEST_FILE,
            lzw_maximum_output_length=LARGEST_FILE,
            run_length_maximum_output_length=LARGEST_FILE,
            brotli_maximum_output_length=LARGEST_FILE,
            jbig2_maximum_output_length=LARGEST_FILE,
            array_based_stream_maximum_output_length=LARGEST_FILE,
            maximum_declared_stream_length=LARGEST_PDF,
            zlib_maximum_recovery_input_length=0,
            stream_filters_maximum_length=2,
            stream_decoding_work_maximum_length=2 * LARGEST_FILE,
            stream_parsing_work_maximum_count=MOST_OPERANDS,
            page_tree_maximum_entries=2 * MOST_VOLUME_PAGES,
            jbig2dec_binary=None,
        ):
            yield
    finally:
        remarks.setLevel(level)


def _reader(data: bytes, path: Path) -> PdfReader:
    from pypdf import PdfReader

    class Unencrypted(PdfReader):
        """Refuses an encrypted PDF as soon as its trailer says so, before anything of it is deciphered."""

        @property
        def is_encrypted(self) -> bool:
            if "/Encrypt" in self.trailer:
                raise InputError("the PDF is encrypted", file=str(path), right=AS_WRITTEN)
            return False

    return Unencrypted(io.BytesIO(data), strict=True)


def _refused(error: Exception, path: Path) -> InputError:
    from pypdf.errors import LimitReachedError

    if isinstance(error, LimitReachedError | MemoryError):
        most = f"{LARGEST_FILE / 1e6:.0f} MB"
        return InputError(f"a part of it is larger than {most} when unpacked", file=str(path), right=RIGHT)
    said = " ".join(str(error).split())[:120]
    return InputError(f"the PDF is damaged or cut off ({printable(said)})", file=str(path), right=RIGHT)


# -- the enclosed files ------------------------------------------------------------------------------------------------


def _validation(specifications: Sequence[Specification], path: Path) -> Opened:
    """A validation with the detail files of its cases; its table of cases stands for the detail file."""
    files, _, others = _files(specifications, path, MOST_CASE_FILES)
    _check_sum(sum(map(len, files.values())), path)
    lacking = [name for name in OURS if name not in files]
    if lacking:
        raise InputError(f"of the enclosed files {', '.join(lacking)} is missing", file=str(path), right=RIGHT)
    return Opened(path, files, CASES, "", {}, others, ())


def _report(specifications: Sequence[Specification], path: Path, needed: tuple[str, ...] = OF_REPORT) -> Opened:
    """A report, or a part of a volume, of which some files are needed; without its pages."""
    files, beside, others = _files(specifications, path)
    detail, drawing = _roles(files, beside, path, needed)
    return Opened(path, files, detail, drawing, beside, others, ())


def _volume(specifications: Sequence[Specification], path: Path) -> Opened:
    """A bound volume, without its pages: each file belongs to the part whose number its name begins with."""
    parts: dict[int, list[Specification]] = {}
    others = []
    for name, what, stream in specifications:
        place = parted(name)
        if place is None:
            others.append(name)
        else:
            parts.setdefault(place[0], []).append((place[1], what, stream))
    count = max(parts)
    if len(parts) <= count:
        raise InputError("the reports in it are not numbered through", file=str(path), right=RIGHT)
    reports, unpacked = [], 0
    for number in range(1, count + 1):
        reports.append(_report(parts[number], path / str(number), OF_PART))
        unpacked += sum(map(len, reports[-1].files.values()))
        _check_sum(unpacked, path)
    building = _report(parts[0], path, OF_BUILDING)
    return replace(building, others=(*building.others, *others), reports=tuple(reports))


def _files(
    specifications: Sequence[Specification], path: Path, most: int = MOST_FILES
) -> tuple[dict[str, bytes], dict[str, str], tuple[str, ...]]:
    """The files that a report has, unpacked; the names of those beside the detail file, and those of others."""
    files: dict[str, bytes] = {}
    beside: dict[str, str] = {}
    others: list[str] = []
    if len(specifications) > most:
        raise InputError(f"it encloses more than {most} files", file=str(path), right=RIGHT)
    for name, what, stream in specifications:
        if not re.fullmatch(NAME, name):
            shown = printable(name)[:60]
            raise InputError(f"an enclosed file has the name {shown!r}", file=str(path), right="a name names no folder")
        if name in files or name in others:
            raise InputError(f"it encloses two files of the name {name[:60]!r}", file=str(path), right=RIGHT)
        if what in BESIDE and name not in OURS:
            if what in beside:
                raise InputError(f"it encloses two files that are {what}", file=str(path), right=RIGHT)
            beside[what] = name
            files[name] = _unpacked(stream, name, path)
        elif name in OURS or name.endswith((DETAIL_ENDING, DRAWING_ENDING)):
            files[name] = _unpacked(stream, name, path)
        else:
            others.append(name)
    return files, beside, tuple(others)


def _specifications(reader: PdfReader, path: Path) -> list[Specification]:
    """Names, descriptions and streams of the enclosed files (ISO 32000-1, 7.11.4); nothing is unpacked."""
    found = list(islice(_every_file(reader), MOST_VOLUME_FILES + 1))
    if len(found) > MOST_VOLUME_FILES:
        raise InputError(f"it encloses more than {MOST_FILES} files", file=str(path), right=RIGHT)
    return found


def _every_file(reader: PdfReader) -> Iterator[Specification]:
    tree = named(named(reader.root_object, "/Names"), "/EmbeddedFiles")
    for specification in _leaves(tree, DEEPEST):
        name = specification.get("/UF", specification.get("/F"))
        streams = specification["/EF"].get_object()
        what = specification.get("/Desc", "")
        yield (
            str(name.get_object()),
            str(what.get_object()) if what else "",
            streams.get("/F", streams.get("/UF")).get_object(),
        )


def _leaves(node: Any, levels: int) -> Iterator[Any]:
    """The values of a tree of names (ISO 32000-1, 7.9.6)."""
    for value in node.get("/Names", [])[1::2]:
        yield value.get_object()
    if levels:
        for kid in node.get("/Kids", []):
            yield from _leaves(kid.get_object(), levels - 1)


def _unpacked(stream: Any, name: str, path: Path) -> bytes:
    from pypdf.errors import LimitReachedError

    try:
        data: bytes = stream.get_data()
    except LimitReachedError:
        most = f"{LARGEST_FILE / 1e6:.0f} MB"
        raise InputError(
            f"the enclosed file {name[:60]!r} is larger than {most} when unpacked", file=str(path), right=RIGHT
        ) from None
    if len(data) > LARGEST_FILE:
        raise InputError(f"the enclosed file {name[:60]!r} has {len(data) / 1e6:.1f} MB", file=str(path), right=RIGHT)
    return data


def _roles(files: dict[str, bytes], beside: dict[str, str], path: Path, needed: tuple[str, ...]) -> tuple[str, str]:
    """Names of the detail file and of the drawing; what is beside them is neither."""
    if not files:
        raise InputError("the PDF encloses no detail file", file=str(path), right=RIGHT)
    own = [name for name in files if name not in beside.values()]
    details = [name for name in own if name.endswith(DETAIL_ENDING)]
    drawings = [name for name in own if name.endswith(DRAWING_ENDING)]
    lacking = [name for name in needed if name not in files]
    if not details:
        lacking.append("the detail file (.toml)")
    if lacking:
        raise InputError(f"of the enclosed files {', '.join(lacking)} is missing", file=str(path), right=RIGHT)
    if len(details) > 1 or len(drawings) > 1:
        raise InputError("it encloses two detail files or two drawings", file=str(path), right=RIGHT)
    return details[0], drawings[0] if drawings else ""


def _check_sum(unpacked: int, path: Path) -> None:
    if unpacked > LARGEST_SUM:
        most = f"{LARGEST_SUM / 1e6:.0f} MB"
        raise InputError(f"the PDF is larger than {most} when unpacked", file=str(path), right=RIGHT)
