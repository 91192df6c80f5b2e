"""A comparison as plain values for its page: only what differs, and the drawings at one scale."""

from __future__ import annotations

from typing import Any

from bridge2d.comparison.alike import junction_words
from bridge2d.comparison.records import ClimateRow, Comparison
from bridge2d.comparison.screen import asked_text, climate_source, climate_text, limit_text, verdict_word
from bridge2d.report.comparison_pictures import known_sections, shown_sections

WIDTH = 116.0
"""Of each drawing [mm]."""


def comparison_plain(comparison: Comparison, section: str = "") -> dict[str, Any]:
    """What the page shows of a comparison.

    Args:
        comparison: the options held against the first.
        section: name of the section that is drawn; that with the coldest point unless given.

    Raises:
        InputError: no option has such a section.
    """
    shown = comparison.shown
    return {
        "options": [{"name": one.name, "description": one.description, "file": one.file} for one in comparison.options],
        "inputs": [{"symbol": row.symbol, "label": row.label, "values": row.values} for row in comparison.inputs],
        "rows": [
            {
                "symbol": row.symbol,
                "name": row.name,
                "values": [amount.shown(row.quantity, shown) if amount else "–" for amount in row.values],
                "differences": [
                    {"text": row.difference_text(number, shown), "verdict": one.verdict} if one else None
                    for number, one in enumerate(row.differences)
                ],
            }
            for row in comparison.rows
        ],
        "words": [{"name": row.name, "values": row.values} for row in comparison.words],
        "limits": [
            {
                "name": row.requirement.name,
                "limit": limit_text(row, shown),
                "verdicts": [{"word": verdict_word(one), "kept": one.met if one else None} for one in row.results],
            }
            for row in comparison.limits
        ]
        + [_climate_plain(row) for row in comparison.climate],
        "junctions": junction_words(comparison.options),
        "given": comparison.given,
        "remarks": comparison.remarks,
        "pictures": _pictures(comparison, section),
        "sections": list(known_sections(comparison)),
    }


def _climate_plain(row: ClimateRow) -> dict[str, Any]:
    """A criterion of the climate as the page shows a limit."""
    shared = row.shared
    verdicts = []
    for one, climate in zip(row.margins, row.climates, strict=True):
        asked = f", {asked_text(one)} ({climate_source(climate)})" if one and not shared else ""
        verdicts.append({"word": verdict_word(one) + asked, "kept": one.met if one else None})
    name = climate_source(shared[1]) if shared else "ISO 13788"
    return {"name": name, "limit": climate_text(row), "verdicts": verdicts}


def _pictures(comparison: Comparison, section: str) -> list[dict[str, Any]]:
    """One section of each option at a common scale, with a common scale of temperatures.

    The widest takes the whole width of its place and the others their share of it, so that all have one scale on the
    page too, whose places are equally wide.
    """
    from bridge2d.drawing.isotherms import common_span, isotherm_picture
    from bridge2d.drawing.svg import MARGIN, Layer, layers_svg

    shown, results = comparison.shown, [option.result for option in comparison.options]
    drawn = shown_sections(comparison, section)
    span = common_span(drawn, shown)
    first = [isotherm_picture(one, WIDTH, 120.0, span=span, shown=shown, bare=True) for one in drawn]
    scale = max(one.scale for one in first)
    limits = [result.detail.requirements for result in results]
    pictures = [
        isotherm_picture(one, WIDTH, 120.0, those, span=span, shown=shown, bare=True, at_least=scale)
        for one, those in zip(drawn, limits, strict=True)
    ]
    widest = max(picture.scene.width for picture in pictures) + 2 * MARGIN
    found = []
    for one, result, picture in zip(drawn, results, pictures, strict=True):
        scene = picture.scene
        title = f"Isotherms and heat-flow lines: {one.section.title}, {result.detail.title}"
        share = {"width": f"{100.0 * (scene.width + 2 * MARGIN) / widest:.3f}%"}
        svg = layers_svg((scene.width, scene.height), [Layer(scene.items, {})], title, marks=share)
        found.append({"svg": svg, "scale": picture.scale, "section": one.section.title})
    return found
