"""The fingerprint of all that makes a page look as it does: instructions, drawings, fonts, colours, boxes and turning.

Whoever writes a PDF and whoever reads it use different libraries and have to come to the same fingerprint, also where
somebody has stored the file anew: what counts are resolved values and unpacked data, not numbers of objects, packing or
the order of keys. What lies over a page (signatures, notes) and what the file encloses is not part of it.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping
from typing import Any, NamedTuple

LOOKS = ("/Resources", "/MediaBox", "/CropBox", "/BleedBox", "/TrimBox", "/ArtBox", "/Rotate", "/UserUnit", "/Group")
"""Entries of a page that change how it looks (ISO 32000-1, table 30)."""
INHERITED = ("/Resources", "/MediaBox", "/CropBox", "/Rotate")
"""Those that it may have from the node above it (ISO 32000-1, 7.7.3.4)."""
PACKING = ("/Parent", "/Length", "/Filter", "/DecodeParms", "/DL")
"""Entries that tell how something is stored."""
DEEPEST = 24
"""Levels of values within values; no page of ours has so many."""
MOST_ANCESTORS = 40


class Reading(NamedTuple):
    """How a library's values are read.

    Attributes:
        plain: a value with its references resolved: dict, list, bytes, str (names with their slash), float, bool or
            None; of a stream a pair of its dictionary and its unpacked data.
        key: what tells an object with a number of its own from all others; None of a value that has none.
    """

    plain: Callable[[Any], Any]
    key: Callable[[Any], object]


def page_print(page: Any, drawn: bytes, reading: Reading, known: dict[object, str]) -> str:
    """The fingerprint of a page.

    Args:
        page: the page's dictionary, as a library has it.
        drawn: its instructions, unpacked.
        reading: how the library's values are read.
        known: fingerprints of objects that were met before in this file; more are put in.

    Returns:
        SHA-256 in hexadecimal digits.

    Raises:
        ValueError: values lie within values without end.
    """
    looks = {name: _entry(page, name, reading) for name in LOOKS}
    told = {name: _told(value, reading, known, 0) for name, value in looks.items() if value is not None}
    return hashlib.sha256(drawn + json.dumps(told, sort_keys=True).encode()).hexdigest()


def _entry(page: Any, name: str, reading: Reading) -> Any:
    """An entry of a page, or of what stands above it; None where there is none."""
    node = reading.plain(page)
    for _ in range(MOST_ANCESTORS):
        if name in node:
            return node[name]
        if name not in INHERITED or "/Parent" not in node:
            return None
        node = reading.plain(node["/Parent"])
    raise ValueError("the tree of pages is too deep")


def _told(value: Any, reading: Reading, known: dict[object, str], depth: int) -> Any:
    """A value as text or a truth value that is the same whoever reads it; the fingerprint of what holds others."""
    if depth > DEEPEST:
        raise ValueError("values lie within values without end")
    key = reading.key(value)
    if key is not None and key in known:
        return known[key]
    found = reading.plain(value)
    if isinstance(found, tuple):
        entries, data = found
        told: Any = [hashlib.sha256(data).hexdigest(), _entries(entries, reading, known, depth)]
    elif isinstance(found, Mapping):
        told = _entries(found, reading, known, depth)
    elif isinstance(found, list):
        told = [_told(one, reading, known, depth + 1) for one in found]
    elif isinstance(found, bytes):
        return found.hex()
    elif isinstance(found, bool) or found is None or isinstance(found, str):
        return found
    else:
        return f"{float(found):.6f}"
    # The same whether it has a number of its own or stands within another one.
    print_of = hashlib.sha256(json.dumps(told, sort_keys=True).encode()).hexdigest()
    if key is not None:
        known[key] = print_of
    return print_of


def _entries(entries: Mapping[str, Any], reading: Reading, known: dict[object, str], depth: int) -> dict[str, Any]:
    kept = {name: one for name, one in entries.items() if name not in PACKING}
    return {name: _told(one, reading, known, depth + 1) for name, one in kept.items()}
