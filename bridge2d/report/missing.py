"""Signs that no embedded font has: found on the finished pages, told on the last one."""

from __future__ import annotations

import unicodedata

from bridge2d.drawing.fonts import MISSING, has_sign
from bridge2d.drawing.scene import all_texts
from bridge2d.report.flow import Pages
from bridge2d.report.layout import Paragraph, paragraph
from bridge2d.report.sheets import Running


def missing_signs(pages: Pages, running: Running) -> list[str]:
    """The signs that are printed as boxes, in the order of their code points.

    Args:
        pages: what stands on the pages.
        running: header and footer.
    """
    used = {sign for items in pages.pages for text in all_texts(items) for run in text.runs for sign in run.text}
    used.update(running.title, running.project, running.revision)
    return sorted(sign for sign in used if not has_sign(sign))


def missing_note(signs: list[str]) -> Paragraph:
    """What boxes stand for, by code point and name.

    Args:
        signs: that no font has.
    """
    named = [f"U+{ord(sign):04X} {unicodedata.name(sign, 'without a name').lower()}" for sign in signs]
    return paragraph(
        f"{MISSING} stands for signs that the report's typeface does not have: {', '.join(named)}.", size=8.0
    )
