"""Holds the pages against what was written and against the enclosed results.

Fourth step of a recheck: pages -> **what disagrees**. Blanks and line breaks do not count.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import zip_longest
from typing import TYPE_CHECKING

from bridge2d.drawing.fonts import MISSING, has_sign
from bridge2d.recheck.numbers import numbers
from bridge2d.report.enclosures import CASES, PAGES, list_digest, numbered

if TYPE_CHECKING:
    from bridge2d.recheck.opened import Opened
    from bridge2d.recheck.records import Results
    from bridge2d.recheck.seen import Page
    from bridge2d.recheck.stated import Number
    from bridge2d.recheck.written import PageRecord, Pages
    from bridge2d.shown_units import DisplayUnits

MOST_NAMED = 3
"""Changed files that are named in one sentence."""
AROUND = 24
"""Signs that are shown on either side of the first difference."""


def altered_pages(opened: Opened, written: Sequence[PageRecord]) -> Iterator[str]:
    """The pages that are not as they were written, in a sentence each.

    Args:
        opened: the report.
        written: the pages as they were written.
    """
    if len(opened.pages) != len(written):
        yield f"the PDF has {len(opened.pages)} pages; it was written with {len(written)}"
    for number, (page, record) in enumerate(zip(opened.pages, written, strict=False), start=1):
        reads, wrote = _squeezed(page.words), _squeezed(record.words)
        if reads != wrote:
            yield f"page {number} reads “{_passage(reads, wrote)}” where it was written “{_passage(wrote, reads)}”"
        elif page.digest != record.sha256:
            yield (
                f"page {number} has the words that were written, but what is drawn on it, its fonts or its size were "
                "changed afterwards"
            )
    if opened.actions:
        named = ", ".join(opened.actions)
        yield f"the PDF would have a viewer do something when it is opened ({named}), which no report does"
    acting = [str(number) for number, page in enumerate(opened.pages, start=1) if page.acts]
    if acting:
        yield f"page {', '.join(acting)} would have a viewer do something"


def missing_from_pages(opened: Opened, old: Results) -> Iterator[str]:
    """Whatever of the enclosed results and files the pages do not say, in a sentence each.

    Args:
        opened: the report.
        old: the enclosed results.
    """
    yield from unsaid(opened.pages, numbers(old), old.shown)
    named = {"title": old.title, "fingerprint of the input": old.input_hash, "version": old.version}
    yield from unsaid_words(opened.pages, named)
    yield from unsaid_files(opened.pages, opened.files)


def unsaid(pages: Sequence[Page], found: Iterable[Number], shown: DisplayUnits) -> Iterator[str]:
    """Enclosed numbers that no page says, in a sentence each.

    Args:
        pages: on which they should stand.
        found: the numbers.
        shown: units of the pages.
    """
    whole = "\n".join(page.words for page in pages)
    for number in found:
        if number.kind == "implied":
            continue
        try:
            printed = number.printed(shown)
        except ValueError as error:
            yield f"the enclosed results are no numbers: {error}"
            continue
        if not stands(printed, whole):
            yield f"no page says {number.name} {printed}, as the enclosed results do"


def unsaid_words(pages: Sequence[Page], named: Mapping[str, str]) -> Iterator[str]:
    """Enclosed words that no page has, in a sentence each.

    Args:
        pages: on which they should stand.
        named: the words, by what they are.
    """
    text = "\n".join(_squeezed(page.words) for page in pages)
    for what, words in named.items():
        if _squeezed("".join(sign if has_sign(sign) else MISSING for sign in words)) not in text:
            yield f"no page has the {what} of the enclosed results, {words[:80]!r}"


def unsaid_files(pages: Sequence[Page], files: Mapping[str, bytes]) -> Iterator[str]:
    """Enclosed files that are not those whose SHA-256 stands on the pages, in a sentence each.

    Args:
        pages: on which it should stand.
        files: by name.
    """
    text = "\n".join(_squeezed(page.words) for page in pages)
    for name, data in files.items():
        if name != PAGES and hashlib.sha256(data).hexdigest() not in text:
            yield f"the enclosed file {name} is not the one whose SHA-256 stands on the pages: it was changed"


def unsaid_list(pages: Sequence[Page], files: Mapping[str, bytes], written: Mapping[str, str]) -> Iterator[str]:
    """Whether the enclosed files are those whose list has its SHA-256 on the pages; one sentence where not.

    Args:
        pages: on which it should stand.
        files: by name, without that of the pages' words.
        written: SHA-256 of each as it was written, by name; with it the changed ones are named.
    """
    if list_digest(files) in "\n".join(_squeezed(page.words) for page in pages):
        return
    changed = [name for name, data in files.items() if written.get(name) != hashlib.sha256(data).hexdigest()]
    missing = [name for name in written if name not in files]
    told = [f"{what} {_some(names)}" for what, names in (("changed:", changed), ("missing:", missing)) if names]
    yield f"the enclosed files are not those whose SHA-256 stands on the pages; {', '.join(told) or 'one was changed'}"


def _some(names: Sequence[str]) -> str:
    """Names of files, the first few of many."""
    return ", ".join(names[:MOST_NAMED]) + (f" and {len(names) - MOST_NAMED} more" if names[MOST_NAMED:] else "")


def altered_files(opened: Opened, written: Pages) -> Iterator[str]:
    """Enclosed files that are not those whose SHA-256 stands on the pages, in a sentence each; none is read.

    Args:
        opened: the report, or what binds several.
        written: the record of its pages.
    """
    if opened.detail == CASES or opened.is_comparison:
        own = numbered(0, len(opened.reports), PAGES) if opened.reports else PAGES
        files = {name: data for name, data in opened.enclosed.items() if name != own}
        yield from unsaid_list(opened.pages, files, written.files)
        return
    yield from unsaid_files(opened.pages, opened.files)
    for place, report in enumerate(opened.reports, start=1):
        yield from (f"report {place}: {words}" for words in unsaid_files(opened.pages, report.files))


def _squeezed(text: str) -> str:
    return "".join(text.split())


def stands(printed: str, text: str) -> bool:
    """Whether a number stands somewhere by itself, not as the end of a longer one.

    Args:
        printed: the number.
        text: of the pages.
    """
    spelled = r"\s*".join(map(re.escape, _squeezed(printed)))
    return re.search(rf"(?<![\d.−-])(?<![−-]\s){spelled}", text) is not None


def _passage(text: str, other: str) -> str:
    """The passage of a text where it differs first from another one."""
    pairs = enumerate(zip_longest(text, other))
    first = next((place for place, (a, b) in pairs if a != b), 0)
    shown = text[max(0, first - AROUND) : first + AROUND]
    return "".join(sign if sign.isprintable() else "\N{REPLACEMENT CHARACTER}" for sign in shown)
