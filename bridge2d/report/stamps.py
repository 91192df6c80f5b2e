"""Page numbers of a bound volume, as pages that are laid over those of its parts."""

from __future__ import annotations

from collections.abc import Sequence
from io import BytesIO
from typing import NamedTuple

from bridge2d.drawing.colours import GREY
from bridge2d.drawing.scene import Item, Scene, Text, runs
from bridge2d.report.layout import BODY, Paper
from bridge2d.report.sheets import page_number, words_of


class Stamp(NamedTuple):
    """What is laid over one page.

    Attributes:
        width, height: of the page [mm].
        page: its number in the volume, counted from 1.
        references: right end [mm] of each page number in its contents, and the number.
    """

    width: float
    height: float
    page: int
    references: tuple[tuple[float, float, int], ...] = ()


def stamps_pdf(stamps: Sequence[Stamp], count: int) -> bytes:
    """A PDF with a page for every stamp; the same bytes for the same stamps.

    Args:
        stamps: in the order of the pages.
        count: how many pages the volume has.
    """
    from reportlab import rl_config
    from reportlab.pdfgen.canvas import Canvas

    from bridge2d.drawing.fonts import FILES
    from bridge2d.drawing.pdf import POINTS, draw_scene, register_fonts

    register_fonts()
    buffer = BytesIO()
    canvas = Canvas(buffer, invariant=1, pageCompression=1, initialFontName=FILES["regular"])
    for stamp in stamps:
        canvas.setPageSize((stamp.width * POINTS, stamp.height * POINTS))
        draw_scene(canvas, Scene(stamp.width, stamp.height, tuple(_items(stamp, count))))
        canvas.showPage()
    plain, rl_config.useA85 = rl_config.useA85, 0  # compressed streams as they are
    try:
        canvas.save()
    finally:
        rl_config.useA85 = plain
    return buffer.getvalue()


def stamp_words(stamp: Stamp, count: int) -> str:
    """The words of what is laid over a page.

    Args:
        stamp: of the page.
        count: how many pages the volume has.
    """
    return words_of(_items(stamp, count))


def _items(stamp: Stamp, count: int) -> list[Item]:
    numbers: list[Item] = [Text(x, y, runs(str(number)), BODY, "end", colour=GREY) for x, y, number in stamp.references]
    return [*numbers, page_number(Paper("", stamp.width, stamp.height).right, stamp.page, count)]
