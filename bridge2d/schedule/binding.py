"""One volume of the schedule's pages and all detail reports: one page count, bookmarks, the same bytes every time.

sums, reports of the details -> **bound PDF**. The reports come without page numbers, which are laid over them here.
"""

from __future__ import annotations

from collections.abc import Sequence
from io import BytesIO
from typing import TYPE_CHECKING, Any

from bridge2d.report.layout import PAGE_HEIGHT
from bridge2d.report.stamps import Stamp, stamps_pdf
from bridge2d.schedule.cache import Computed

if TYPE_CHECKING:
    from pikepdf import Object, OutlineItem, Page, Pdf

    from bridge2d.report.flow import Mark, PageReference

MILLIMETRES = 25.4 / 72.0
"""Of a point, the unit of a PDF's page."""


def bound(
    front: bytes,
    marks: Sequence[Mark],
    links: Sequence[PageReference],
    titles: Sequence[str],
    details: Sequence[Computed],
) -> bytes:
    """The volume's bytes.

    Args:
        front: the schedule's own pages, numbered already.
        marks: bookmarks into them.
        links: places on them that tell a page of the volume, counted from 0.
        titles: bookmark of each report.
        details: the reports, without page numbers.
    """
    from pikepdf import OutlineItem, Pdf

    with Pdf.open(BytesIO(front)) as volume:
        first = len(volume.pages)
        count = first + sum(detail.pages for detail in details)
        stamps: list[Stamp] = []
        for detail in details:
            with Pdf.open(BytesIO(detail.pdf)) as report:
                stamps += _stamps(report, detail, len(volume.pages))
                volume.pages.extend(report.pages)
                _take_attachments(report, volume)
        _lay_over(volume, first, stamps_pdf(stamps, count))
        for link in links:
            _link(volume, link)
        with volume.open_outline() as outline:
            outline.root.clear()
            outline.root.extend(_nested(marks, 0, PAGE_HEIGHT))
            for title, detail in zip(titles, details, strict=True):
                item = OutlineItem(title, first, "XYZ", top=_points(PAGE_HEIGHT))
                item.is_closed = True
                item.children.extend(_nested(detail.marks, first, PAGE_HEIGHT))
                outline.root.append(item)
                first += detail.pages
        written = BytesIO()
        volume.save(written, deterministic_id=True, fix_metadata_version=False)
    return written.getvalue()


def _points(millimetres: float) -> float:
    return round(millimetres / MILLIMETRES, 2)


def _stamps(report: Pdf, detail: Computed, before: int) -> list[Stamp]:
    """What is to be laid over a report's pages, of which some stand before it in the volume."""
    found = []
    for number, page in enumerate(report.pages):
        left, bottom, right, top = (float(edge) for edge in page.mediabox)
        told = tuple((x, y, before + target + 1) for on, x, y, target in detail.references if on == number)
        size = ((right - left) * MILLIMETRES, (top - bottom) * MILLIMETRES)
        found.append(Stamp(*size, before + number + 1, told))
    return found


def _lay_over(volume: Pdf, first: int, stamps: bytes) -> None:
    """Lay pages over those of the volume from some page on; every name is fixed, so that the bytes are."""
    from pikepdf import Array, Name, Pdf, Stream

    with Pdf.open(BytesIO(stamps)) as source:
        for page, stamp in zip(list(volume.pages)[first:], source.pages, strict=True):
            form = volume.copy_foreign(stamp.as_form_xobject())
            _own_resources(page)[Name.PageNumber] = form
            parts = page.obj.Contents
            inner: list[Object] = list(parts) if isinstance(parts, Array) else [parts]
            before, after = Stream(volume, b"q\n"), Stream(volume, b"\nQ q /PageNumber Do Q\n")
            page.obj.Contents = Array([volume.make_indirect(before), *inner, volume.make_indirect(after)])


def _own_resources(page: Page) -> Any:
    """The page's drawn objects by name, in dictionaries that no other page shares."""
    from pikepdf import Dictionary, Name

    resources = Dictionary(dict(page.resources.items()))
    objects: Any = page.resources.get(Name.XObject)
    resources[Name.XObject] = Dictionary(dict(objects.items()) if objects is not None else {})
    page.obj[Name.Resources] = resources
    return page.obj.Resources.XObject


def _take_attachments(report: Pdf, volume: Pdf) -> None:
    """Files attached to a report stay with the volume; one of a name that is taken gets a number."""
    from pikepdf import AttachedFileSpec

    for name, found in report.attachments.items():
        data = found.get_file().read_bytes()
        stem, dot, ending = name.rpartition(".")
        number, free = 1, name
        while free in volume.attachments:
            number += 1
            free = f"{stem or ending} {number}{dot + ending if stem else ''}"
        mime = found.get_file().mime_type
        spec = AttachedFileSpec(
            volume, data, description=found.description, filename=free, mime_type=mime, creation_date="", mod_date=""
        )
        volume.attachments[free] = spec


def _link(volume: Pdf, link: PageReference) -> None:
    """Make a line of the contents lead to its page."""
    from pikepdf import Array, Dictionary, Name

    page = volume.pages[link.page]
    box = [_points(edge) for edge in (link.x - 96.0, link.y - 1.4, link.x, link.y + 3.6)]
    target = Array([volume.pages[link.target].obj, Name.XYZ, 0, _points(PAGE_HEIGHT), 0])
    note = Dictionary(Type=Name.Annot, Subtype=Name.Link, Rect=Array(box), Border=Array([0, 0, 0]), F=4, Dest=target)
    if Name.Annots not in page.obj:
        page.obj.Annots = Array()
    page.obj.Annots.append(volume.make_indirect(note))


def _nested(marks: Sequence[tuple[str, int, int, float]], first: int, height: float) -> list[OutlineItem]:
    """Bookmarks with those of a higher level below the one before."""
    from pikepdf import OutlineItem

    found: list[OutlineItem] = []
    for title, level, page, top in marks:
        item = OutlineItem(title, first + page, "XYZ", left=0, top=_points(min(top + 4.0, height)), zoom=0)
        item.is_closed = True
        if level > 1 and found:
            found[-1].children.append(item)
        else:
            found.append(item)
    return found
