"""One volume of the schedule's pages and all detail reports: one page count, bookmarks, the same bytes every time.

sums, reports of the details -> **bound PDF**. The reports come without page numbers, which are laid over them here;
their enclosed files travel along.
"""

from __future__ import annotations

from collections.abc import Sequence
from io import BytesIO
from typing import TYPE_CHECKING, Any, NamedTuple

from bridge2d.report.archive import page_digests, sealed
from bridge2d.report.enclosures import Enclosure
from bridge2d.report.layout import Paper
from bridge2d.report.sheets import Running
from bridge2d.report.stamps import Stamp, stamp_words, stamps_pdf
from bridge2d.schedule.cache import Computed
from bridge2d.schedule.enclosing import of_pages, taken_out

if TYPE_CHECKING:
    from pikepdf import OutlineItem, Page, Pdf

    from bridge2d.report.flow import Mark, PageReference

MILLIMETRES = 25.4 / 72.0
"""Of a point, the unit of a PDF's page."""


class Front(NamedTuple):
    """The schedule's own pages, which open the volume.

    Attributes:
        pdf: the pages, numbered already.
        words: of each page.
        marks: bookmarks into them.
        links: places on them that tell a page of the volume, counted from 0.
        running: what the metadata say.
        enclosed: files of the building.
        paper: of all pages.
    """

    pdf: bytes
    words: tuple[str, ...]
    marks: Sequence[Mark]
    links: Sequence[PageReference]
    running: Running
    enclosed: tuple[Enclosure, ...]
    paper: Paper


def bound(front: Front, titles: Sequence[str], details: Sequence[Computed]) -> bytes:
    """The volume's bytes.

    Args:
        front: the schedule's own pages.
        titles: bookmark of each report.
        details: the reports, without page numbers.
    """
    from pikepdf import Pdf

    taken = taken_out(details)
    with Pdf.open(BytesIO(front.pdf)) as volume:
        first = len(volume.pages)
        count = first + sum(detail.pages for detail in details)
        stamps: list[Stamp] = []
        for detail in details:
            with Pdf.open(BytesIO(detail.pdf)) as report:
                stamps += _stamps(report, detail, len(volume.pages))
                volume.pages.extend(report.pages)
        _lay_over(volume, first, stamps_pdf(stamps, count))
        for link in front.links:
            _link(volume, link, front.paper.height)
        _mark(volume, front, titles, details)
        written = [text for one in taken for text in one.words]
        over = [stamp_words(stamp, count) for stamp in stamps]
        words = [*front.words, *(f"{text} {more}" for text, more in zip(written, over, strict=True))]
        files = [*front.enclosed, *(file for one in taken for file in one.files)]
        pages = of_pages(words, page_digests(volume), files, first, details)
        return sealed(volume, front.running, [*files, pages])


def _mark(volume: Pdf, front: Front, titles: Sequence[str], details: Sequence[Computed]) -> None:
    """Bookmarks into the schedule, and below one for each report those into it."""
    from pikepdf import OutlineItem

    height, first = front.paper.height, len(front.words)
    with volume.open_outline() as outline:
        outline.root.clear()
        outline.root.extend(_nested(front.marks, 0, height))
        for title, detail in zip(titles, details, strict=True):
            item = OutlineItem(title, first, "XYZ", top=_points(height))
            item.is_closed = True
            item.children.extend(_nested(detail.marks, first, height))
            outline.root.append(item)
            first += detail.pages


def _points(millimetres: float) -> float:
    return round(float(millimetres) / MILLIMETRES, 2)


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
    from pikepdf import Name, Pdf, Stream

    with Pdf.open(BytesIO(stamps)) as source:
        for page, stamp in zip(list(volume.pages)[first:], source.pages, strict=True):
            form = volume.copy_foreign(stamp.as_form_xobject())
            _own_resources(page)[Name.PageNumber] = form
            drawn = b"q\n" + page.obj.Contents.read_bytes() + b"\nQ q /PageNumber Do Q\n"
            page.obj.Contents = volume.make_indirect(Stream(volume, drawn))


def _own_resources(page: Page) -> Any:
    """The page's drawn objects by name, in dictionaries that no other page shares."""
    from pikepdf import Dictionary, Name

    resources = Dictionary(dict(page.resources.items()))
    objects: Any = page.resources.get(Name.XObject)
    resources[Name.XObject] = Dictionary(dict(objects.items()) if objects is not None else {})
    page.obj[Name.Resources] = resources
    return page.obj.Resources.XObject


def _link(volume: Pdf, link: PageReference, height: float) -> None:
    """Make a line of the contents lead to its page."""
    from pikepdf import Array, Dictionary, Name

    page = volume.pages[link.page]
    box = [_points(edge) for edge in (link.x - 96.0, link.y - 1.4, link.x, link.y + 3.6)]
    target = Array([volume.pages[link.target].obj, Name.XYZ, 0, _points(height), 0])
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
