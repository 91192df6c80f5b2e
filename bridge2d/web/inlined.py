"""An SVG as a part of a page: its styles may stand in no attribute of their own, its ids in no other picture."""

from __future__ import annotations

from xml.etree import ElementTree as ET

SVG, XLINK = "http://www.w3.org/2000/svg", "http://www.w3.org/1999/xlink"
_BEFORE_AN_ID = (' id="', '="url(#', ' href="#')


def inlined(svg: bytes, title: str) -> str:
    """An SVG of our own as an element of a page.

    What its style attributes say becomes attributes of the elements, since a page with a strict content security policy
    ignores such styles.

    Args:
        svg: the file, as matplotlib writes it with its text as paths.
        title: what it shows.
    """
    root = ET.fromstring(svg)
    for parent in list(root.iter()):
        for child in [one for one in parent if _name(one) in ("metadata", "style")]:
            parent.remove(child)
    for one in root.iter():
        one.tag = _name(one)
        href = one.attrib.pop(f"{{{XLINK}}}href", None)
        if href is not None:
            one.set("href", href)
        for pair in one.attrib.pop("style", "").split(";"):
            key, sign, value = pair.partition(":")
            if sign:
                one.set(key.strip(), value.strip())
    for gone in ("width", "height"):
        root.attrib.pop(gone, None)
    root.attrib |= {"role": "img", "stroke-linejoin": "round", "stroke-linecap": "butt"}
    named = ET.Element("title")
    named.text = title
    root.insert(0, named)
    return ET.tostring(root, encoding="unicode")


def with_own_ids(svg: str, prefix: str) -> str:
    """An SVG whose ids, and what refers to them, begin with a word of its own, so that several stand on one page.

    Args:
        svg: of our own; a quotation mark in its texts is escaped.
        prefix: a word that no other picture of the page has.
    """
    word = "".join(one if one.isascii() and one.isalnum() else f"_{ord(one):x}" for one in prefix)
    for before in _BEFORE_AN_ID:
        svg = svg.replace(before, f"{before}{word}-")
    return svg


def _name(element: ET.Element) -> str:
    return element.tag.rpartition("}")[2]
