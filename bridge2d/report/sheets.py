"""Puts pages on paper: running header, footer, bookmarks, metadata."""

from __future__ import annotations

from collections.abc import Sequence
from io import BytesIO
from typing import NamedTuple

from bridge2d.drawing.colours import GREY, RULE
from bridge2d.drawing.fonts import pieces
from bridge2d.drawing.scene import Item, Scene, Text, all_texts, line, runs
from bridge2d.report.flow import Pages
from bridge2d.report.layout import A4, WIDTH, Paper
from bridge2d.report.text import shortened

SHORT_HASH = 10
RUNNING = 7.5
"""Type size of the running lines [pt]."""


class Running(NamedTuple):
    """What stands on every page and in the file's metadata."""

    title: str
    project: str
    revision: str
    version: str
    input_hash: str
    author: str = ""
    date: str = ""


def pdf_bytes(pages: Pages, running: Running, paper: Paper = A4, volume: int | None = None) -> bytes:
    """The PDF's bytes; the same for the same pages.

    Args:
        pages: what stands on them.
        running: header, footer and metadata.
        paper: on which the pages stand.
        volume: how many pages the volume has that these pages open; 0 leaves the page numbers out; None: these pages
            are all.
    """
    from reportlab import rl_config
    from reportlab.pdfgen.canvas import Canvas

    from bridge2d.drawing.fonts import FILES
    from bridge2d.drawing.pdf import POINTS, draw_scene, register_fonts

    register_fonts()
    buffer = BytesIO()
    size = (paper.width * POINTS, paper.height * POINTS)
    canvas = Canvas(buffer, pagesize=size, invariant=1, pageCompression=1, initialFontName=FILES["regular"], lang="en")
    _describe(canvas, running)
    marks = list(pages.marks)
    for number, items in enumerate(pages.pages):
        around = _around(running, number, len(pages.pages) if volume is None else volume, paper)
        draw_scene(canvas, Scene(paper.width, paper.height, (*around, *items)))
        for place, mark in enumerate(marks):
            if mark.page == number:
                canvas.bookmarkHorizontal(f"part{place}", 0, (mark.top + 4.0) * POINTS)
                canvas.addOutlineEntry(mark.title, f"part{place}", mark.level - 1, closed=mark.level == 1)
        canvas.showPage()
    plain, rl_config.useA85 = rl_config.useA85, 0  # compressed streams as they are: smaller and much quicker
    try:
        canvas.save()
    finally:
        rl_config.useA85 = plain
    return buffer.getvalue()


def page_words(pages: Pages, running: Running, paper: Paper = A4, volume: int | None = None) -> tuple[str, ...]:
    """All words of each page in the order in which they are drawn, with the signs that are printed.

    Args:
        pages: what stands on them.
        running: header and footer.
        paper: on which the pages stand.
        volume: see `pdf_bytes`.
    """
    count = len(pages.pages) if volume is None else volume
    return tuple(
        words_of((*_around(running, number, count, paper), *items)) for number, items in enumerate(pages.pages)
    )


def words_of(items: Sequence[Item]) -> str:
    """The words of some items in the order in which they are drawn, with the signs that are printed.

    Args:
        items: of a page.
    """
    return " ".join(_printed(text) for text in all_texts(items))


def _printed(text: Text) -> str:
    return "".join(part for run in text.runs for _, part in pieces(run.text, run.style))


def _around(running: Running, number: int, count: int, paper: Paper) -> tuple[Item, ...]:
    """Header and footer of a page, counted from 0."""
    return (*_header(running, paper), *_footer(running, number + 1, count, paper))


def _describe(canvas: object, running: Running) -> None:
    """Metadata without any date: two runs give the same file, and no made-up date is told."""
    from reportlab.pdfbase import pdfdoc

    class Information(pdfdoc.PDFInfo):  # type: ignore[misc]
        """Title, subject and producer only."""

        def format(self, document: object) -> object:
            """The dictionary as PDF writes it."""
            entries = {"Title": self.title, "Subject": self.subject, "Producer": self.producer, "Creator": self.creator}
            texts = {key: pdfdoc.PDFString(value) for key, value in entries.items()}
            return pdfdoc.PDFDictionary(texts).format(document)

    information = Information()
    information.title = running.title
    information.subject = " · ".join(part for part in (running.project, running.revision) if part) or "thermal bridge"
    information.producer = information.creator = f"bridge2d {running.version}"
    canvas._doc.info = information  # type: ignore[attr-defined]
    canvas.showOutline()  # type: ignore[attr-defined]


def _header(running: Running, paper: Paper) -> list[Item]:
    """Project, title, revision and fingerprint; what is too long is cut, but each keeps a part of the line."""
    top = paper.height - 14.0
    revision = shortened(running.revision, "regular", RUNNING, 0.25 * WIDTH)
    right = f"{revision}   {running.input_hash[:SHORT_HASH]}".strip()
    room = WIDTH - Text(0, 0, runs(right), RUNNING).width - 8.0
    title = Text(0, 0, runs(f" · {running.title}"), RUNNING).width
    project = shortened(running.project, "regular", RUNNING, max(0.45 * room, room - title))
    left = " · ".join(part for part in (project, running.title) if part)
    return [
        Text(paper.left, top, runs(shortened(left, "regular", RUNNING, room)), RUNNING, colour=GREY),
        Text(paper.right, top, runs(right), RUNNING, "end", colour=GREY),
        line((paper.left, top - 2.6), (paper.right, top - 2.6), width=0.12, stroke=RULE),
    ]


def _footer(running: Running, page: int, count: int, paper: Paper) -> list[Item]:
    version = Text(paper.left, 11.0, runs(f"bridge2d {running.version}"), RUNNING, colour=GREY)
    return [version, page_number(paper.right, page, count)] if count else [version]


def page_number(right: float, page: int, count: int) -> Text:
    """The page number in the footer.

    Args:
        right: where the page's text ends [mm].
        page: counted from 1.
        count: of all pages.
    """
    return Text(right, 11.0, runs(f"page {page} of {count}"), RUNNING, "end", colour=GREY)
