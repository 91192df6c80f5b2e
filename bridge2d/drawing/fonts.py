"""The embedded fonts: where they lie, which signs they have and how wide these are.

Drawings and pages are laid out with these widths, so that what fits here fits in every output.
"""

from __future__ import annotations

import struct
from functools import cache
from pathlib import Path

FOLDER = Path(__file__).parent.parent / "report" / "fonts"
FILES = {
    "regular": "NotoSans-Regular",
    "bold": "NotoSans-Bold",
    "italic": "NotoSans-Italic",
    "signs": "NotoSansSigns-Regular",
}
"""Styles and their font files, which are also the fonts' names in the PDF."""
MISSING = "\N{WHITE SQUARE}"
"""Stands for a sign that no font has."""
MILLIMETRES_PER_POINT = 25.4 / 72.0
ASCENT = 0.76
"""Height of capitals with their accents above the baseline, in type sizes."""
DESCENT = 0.24
"""Depth below the baseline, in type sizes."""


@cache
def advances(style: str) -> dict[str, float]:
    """Width of each sign that a style's font has, in type sizes.

    Args:
        style: "regular", "bold", "italic" or "signs".
    """
    data = (FOLDER / f"{FILES[style]}.ttf").read_bytes()
    tables = {}
    for k in range(struct.unpack_from(">H", data, 4)[0]):
        tag, _, offset, _ = struct.unpack_from(">4sIII", data, 12 + 16 * k)
        tables[tag] = offset
    units = struct.unpack_from(">H", data, tables[b"head"] + 18)[0]
    long_ones = struct.unpack_from(">H", data, tables[b"hhea"] + 34)[0]
    widths = struct.unpack_from(">" + "Hh" * long_ones, data, tables[b"hmtx"])[::2]
    return {sign: widths[min(glyph, long_ones - 1)] / units for sign, glyph in _signs(data, tables[b"cmap"])}


def _signs(data: bytes, start: int) -> list[tuple[str, int]]:
    """Signs and glyph numbers of the basic plane (OpenType, cmap format 4)."""
    for k in range(struct.unpack_from(">H", data, start + 2)[0]):
        platform, encoding, offset = struct.unpack_from(">HHI", data, start + 4 + 8 * k)
        at = start + offset
        if (platform, encoding) in {(3, 1), (0, 3)} and struct.unpack_from(">H", data, at)[0] == 4:
            break
    else:
        raise ValueError("the font has no table of signs in format 4")
    count = struct.unpack_from(">H", data, at + 6)[0] // 2
    ends = struct.unpack_from(f">{count}H", data, at + 14)
    starts = struct.unpack_from(f">{count}H", data, at + 16 + 2 * count)
    deltas = struct.unpack_from(f">{count}H", data, at + 16 + 4 * count)
    offsets = struct.unpack_from(f">{count}H", data, at + 16 + 6 * count)
    found = []
    for k, (first, last) in enumerate(zip(starts, ends, strict=True)):
        for code in range(first, min(last, 0xFFFE) + 1):
            glyph = code
            if offsets[k]:
                glyph = struct.unpack_from(">H", data, at + 16 + 6 * count + 2 * k + offsets[k] + 2 * (code - first))[0]
            if offsets[k] == 0 or glyph:
                glyph = (glyph + deltas[k]) & 0xFFFF
            if glyph:
                found.append((chr(code), glyph))
    return found


def has_sign(sign: str) -> bool:
    """Whether a sign can be printed; a blank of any kind can.

    Args:
        sign: one character.
    """
    return sign.isspace() or sign in advances("regular") or sign in advances("signs")


@cache
def pieces(text: str, style: str) -> tuple[tuple[str, str], ...]:
    """Text divided by the fonts that have its signs.

    Args:
        text: any text; what no font has becomes a visible box, controls become spaces.
        style: style that is wanted.

    Returns:
        Pairs of style and text.
    """
    own, signs = advances(style), advances("signs")
    if all(sign in own for sign in text):
        return ((style, text),) if text else ()
    divided: list[list[str]] = []
    for given in text:
        sign = " " if given.isspace() else given
        using = style if sign in own else "signs"
        sign = sign if using == style or sign in signs else MISSING
        if divided and divided[-1][0] == using:
            divided[-1][1] += sign
        else:
            divided.append([using, sign])
    return tuple((using, part) for using, part in divided)


@cache
def text_width(text: str, style: str, size: float) -> float:
    """Width of a text [mm].

    Args:
        text: any text.
        style: style of its font.
        size: type size [pt].
    """
    total = 0.0
    for using, part in pieces(text, style):
        widths = advances(using)
        total += sum(widths[sign] for sign in part)
    return total * size * MILLIMETRES_PER_POINT
