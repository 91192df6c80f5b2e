"""The words of pages that were read before: a page that many tests read is parsed once."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from functools import wraps
from typing import Any

from pypdf import get_configuration
from pypdf.errors import PyPdfError
from pypdf.generic import ArrayObject, DictionaryObject, IndirectObject, StreamObject

Read = Callable[..., str]


def remembered(read: Read) -> Read:
    """A way of reading a page's words that remembers them.

    Args:
        read: the true one, `PageObject.extract_text`. It is called again as soon as a byte of the page's instructions,
            fonts or drawings differs, or a bound of pypdf.
    """
    known: dict[object, str] = {}

    @wraps(read)
    def words(page: Any, *args: Any, **settings: Any) -> str:
        if args or settings:
            return read(page, *args, **settings)
        try:
            told = {} if page.pdf is None else page.pdf.__dict__.setdefault("told_objects", {})
            key = get_configuration(), *(_print_of(page.get(name), told) for name in ("/Contents", "/Resources"))
        except (PyPdfError, RecursionError):
            return read(page)
        if key not in known:
            known[key] = read(page)
        return known[key]

    return words


def _print_of(value: Any, told: dict[tuple[int, int], bytes]) -> bytes:
    """A fingerprint of a value as it is stored, with all that lies within it.

    Args:
        value: of pypdf.
        told: fingerprints of the file's objects that were met before; more are put in.
    """
    if isinstance(value, IndirectObject):
        number = value.idnum, value.generation
        if number not in told:
            told[number] = _print_of(value.get_object(), told)
        return told[number]
    made = hashlib.sha256(type(value).__name__.encode())
    if isinstance(value, DictionaryObject):
        for name in sorted(dict.keys(value)):
            made.update(name.encode() + b"\0" + _print_of(dict.__getitem__(value, name), told))
        if isinstance(value, StreamObject):
            made.update(value._data)
    elif isinstance(value, ArrayObject):
        for one in list.__iter__(value):
            made.update(_print_of(one, told))
    else:
        made.update(repr(value).encode())
    return made.digest()
