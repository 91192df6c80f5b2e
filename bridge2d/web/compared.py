"""A comparison as plain values for its page: only what differs, and the drawings at one scale."""

from __future__ import annotations

from typing import Any

from bridge2d.comparison.alike import junction_words
from bridge2d.comparison.records import ClimateRow, Comparison
from bridge2d.comparison.screen import asked_text, climate_source, climate_text, limit_text, verdict_word
from bridge2d.report.comparison_pictures import known_sections


def comparison_plain(comparison: Comparison, section: str = "", layers: tuple[str, ...] = ()) -> dict[str, Any]:
    """What the page shows of a comparison.

    Args:
        comparison: the options held against the first.
        section: name of the section that is drawn; of those that differ that with the coldest point unless given.
        layers: of the drawings.

    Raises:
        InputError: no option has such a section.
    """
    from bridge2d.web.option_pictures import option_pictures

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
        **option_pictures(comparison, section, layers),
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
