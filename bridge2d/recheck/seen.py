"""Reads the pages of a PDF that somebody sent, and what lies over them; nothing of it is executed.

Part of the first step of a recheck, within the bounds that `opened` sets: **pages -> words, fingerprints, marks**.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from bridge2d.report.page_prints import Reading, page_print

if TYPE_CHECKING:
    from pypdf import PdfReader

KINDS = {"/Text": "note", "/FreeText": "text", "/Widget": "form field"}
"""What kinds of marks are called; others as the PDF calls them (ISO 32000-1, table 169)."""
SIGNATURE = "signature"
NOTES_WINDOW = "/Popup"
"""It shows nothing until its note is opened."""
LEADING = ("/GoTo", "/GoToR", "/URI", "/Named")
"""Actions that lead somewhere when a mark is clicked; all others act on the file or the machine."""


@dataclass(frozen=True)
class Page:
    """A page as it stands in the PDF.

    Attributes:
        words: all that can be read on it.
        digest: of all that makes it look as it does, see `page_prints`.
        added: kinds of the notes and marks that others have put over it.
        acts: whether it, or a mark over it, has a viewer do something.
    """

    words: str
    digest: str
    added: tuple[str, ...]
    acts: bool = False


def pages_of(reader: PdfReader, check: Callable[[int], None]) -> tuple[Page, ...]:
    """All pages, in their order.

    Args:
        reader: of the PDF.
        check: is told how many bytes were unpacked so far, and raises where these are too many.
    """
    unpacked = 0
    known: dict[object, str] = {}

    def counted(data: bytes) -> bytes:
        nonlocal unpacked
        unpacked += len(data)
        check(unpacked)
        return data

    def plain(value: Any) -> Any:
        told = _plain(value)
        if isinstance(told, tuple):
            counted(told[1])
        return told

    found = []
    for page in reader.pages:
        contents = page.get_contents()
        drawn = counted(contents.get_data()) if contents is not None else b""
        digest = page_print(page, drawn, Reading(plain, _key), known)
        words = page.extract_text() if drawn else ""
        notes = [one.get_object() for one in named(page, "/Annots")]
        added = tuple(filter(None, map(_kind_of_note, notes)))
        found.append(Page(words, digest, added, "/AA" in page or any(map(_acts, notes))))
    return tuple(found)


def named(dictionary: Any, key: str) -> Any:
    """A dictionary within another one; an empty one where there is none.

    Args:
        dictionary: the other one.
        key: of it.
    """
    return dictionary[key].get_object() if key in dictionary else {}


def printable(text: str) -> str:
    """A text from elsewhere that does no harm on a screen.

    Args:
        text: which may hold anything.
    """
    return "".join(sign if sign.isprintable() else "\N{REPLACEMENT CHARACTER}" for sign in text)


def _plain(value: Any) -> Any:
    """A value of pypdf, see `page_prints.Reading`."""
    from pypdf.generic import (
        ArrayObject,
        BooleanObject,
        ByteStringObject,
        DictionaryObject,
        NameObject,
        NullObject,
        StreamObject,
        TextStringObject,
    )

    value = value.get_object() if hasattr(value, "get_object") else value
    if isinstance(value, StreamObject):
        return {str(name): one for name, one in dict.items(value)}, value.get_data()
    if isinstance(value, DictionaryObject):
        return {str(name): one for name, one in dict.items(value)}
    if isinstance(value, ArrayObject):
        return list(list.__iter__(value))
    if isinstance(value, NullObject) or value is None:
        return None
    if isinstance(value, BooleanObject):
        return bool(value.value)
    if isinstance(value, NameObject):
        return str(value)
    if isinstance(value, TextStringObject):
        return value.original_bytes
    return bytes(value) if isinstance(value, ByteStringObject) else value


def _key(value: Any) -> object:
    """The number of an object that has one, see there."""
    from pypdf.generic import IndirectObject

    return (value.idnum, value.generation) if isinstance(value, IndirectObject) else None


# -- what lies over the pages, and what a viewer would do --------------------------------------------------------------


def _kind_of_note(note: Any) -> str:
    """What a note that shows something is; empty where it shows nothing, as a link without a border does."""
    kind = str(note.get("/Subtype", "/?"))
    if kind == NOTES_WINDOW or (kind == "/Link" and "/AP" not in note and not _has_border(note)):
        return ""
    if kind == "/Widget":
        left, bottom, right, top = (float(edge) for edge in named(note, "/Rect") or (0, 0, 0, 0))
        if left == right or bottom == top:
            return ""  # a signature that is not shown
        field = note if "/FT" in note else named(note, "/Parent")
        if field.get("/FT") == "/Sig":
            return SIGNATURE
    return KINDS.get(kind) or printable(kind.removeprefix("/"))[:30]


def _has_border(note: Any) -> bool:
    """Whether a link's border is drawn; it is unless its width is 0 (ISO 32000-1, tables 164 and 166)."""
    style, border = named(note, "/BS"), named(note, "/Border")
    width = style["/W"] if "/W" in style else border[2] if len(border) > 2 else 1
    return float(width) != 0.0


def _acts(note: Any) -> bool:
    """Whether a note does something by itself, or more than lead somewhere when it is clicked."""
    return "/AA" in note or ("/A" in note and named(note, "/A").get("/S") not in LEADING)


def actions_of(reader: PdfReader) -> tuple[str, ...]:
    """Entries by which a viewer would do something when the file is opened; nothing is done here (ISO 32000-1, 12.6).

    Args:
        reader: of the PDF.
    """
    root = reader.root_object
    found = [name for name in ("/OpenAction", "/AA") if name in root]
    found += ["/JavaScript"] if "/JavaScript" in named(root, "/Names") else []
    found += ["/XFA"] if "/XFA" in named(root, "/AcroForm") else []
    return tuple(found)
