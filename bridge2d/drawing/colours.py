"""Colours of drawings and pages: one accent, pale tints of materials, and the scale of temperatures.

The scale runs from dark (cold) to light (warm), evenly in lightness, so that it reads the same in grey and for every
kind of colour vision. It was laid out in the perceptual space Oklab (B. Ottosson, 2020, formulas remembered) between
the anchors below: the blue of slate, the green of canal water, straw, and lime wash.
"""

from __future__ import annotations

import math
from functools import cache

ACCENT = "#1f6b70"
ACCENT_PALE = "#e3eeee"
INK = "#1d2326"
GREY = "#626c70"
RULE = "#b9c3c5"
PAPER = "#ffffff"
HEAT_LINE = "#3b2a22"

ANCHORS = ((0.50, 0.085, 258.0), (0.62, 0.075, 224.0), (0.74, 0.065, 184.0), (0.86, 0.065, 116.0), (0.965, 0.045, 80.0))
"""Lightness, chroma and hue [deg] at equal steps of temperature."""


@cache
def temperature_colour(share: float) -> str:
    """Colour of a temperature.

    Args:
        share: its place between the coldest (0) and the warmest (1).
    """
    at = min(max(share, 0.0), 1.0) * (len(ANCHORS) - 1)
    k = min(int(at), len(ANCHORS) - 2)
    lightness, chroma, hue = (a + (at - k) * (b - a) for a, b in zip(ANCHORS[k], ANCHORS[k + 1], strict=True))
    return oklch(lightness, chroma, hue)


def oklch(lightness: float, chroma: float, hue: float) -> str:
    """An sRGB colour from Oklab's lightness, chroma and hue [deg]."""
    a, b = chroma * math.cos(math.radians(hue)), chroma * math.sin(math.radians(hue))
    long = (lightness + 0.3963377774 * a + 0.2158037573 * b) ** 3
    middle = (lightness - 0.1055613458 * a - 0.0638541728 * b) ** 3
    short = (lightness - 0.0894841775 * a - 1.2914855480 * b) ** 3
    linear = (
        4.0767416621 * long - 3.3077115913 * middle + 0.2309699292 * short,
        -1.2684380046 * long + 2.6097574011 * middle - 0.3413193965 * short,
        -0.0041960863 * long - 0.7034186147 * middle + 1.7076147010 * short,
    )
    return "#" + "".join(f"{round(255 * _gamma(min(max(c, 0.0), 1.0))):02x}" for c in linear)


def _gamma(value: float) -> float:
    """Transfer function of sRGB (IEC 61966-2-1, remembered)."""
    return float(12.92 * value if value <= 0.0031308 else 1.055 * value ** (1 / 2.4) - 0.055)


def luminance(colour: str) -> float:
    """Relative luminance of a colour "#rrggbb", 0 for black, 1 for white (IEC 61966-2-1, remembered)."""
    parts = [int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def ink_on(colour: str) -> str:
    """The text colour that is read best on a ground."""
    return PAPER if luminance(colour) < 0.22 else INK
