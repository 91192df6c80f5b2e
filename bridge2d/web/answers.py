"""What `solve` prints beyond a detail's own numbers, as plain values for the page: climate, sections, computation."""

from __future__ import annotations

from typing import Any

from bridge2d import nomenclature as n
from bridge2d.airtight_words import NONE_DRAWN, airtight_lines, bodies_of, lacks_airtight_layer
from bridge2d.climate import ByMonth, Margin
from bridge2d.months import month_name
from bridge2d.months_words import (
    CRITERIA,
    NO_VERDICT,
    critical_lines,
    least_kept,
    margin_of,
    timber_lines,
    verdict_of,
)
from bridge2d.results import DetailResult, FlankingResult, SectionResult
from bridge2d.shown_units import DisplayUnits
from bridge2d.tables import Row, check_lines, section_rows

Plain = dict[str, Any]
STATES = {"met": "kept", "not met": "missed", "undecided": "undecided"}
WAITING = "estimated, tolerance follows"


def climate_told(found: ByMonth | None, shown: DisplayUnits, *, rough: bool = False) -> Plain | None:
    """What a climate by month asks for, and how far each temperature factor is from it; None where none is given.

    Args:
        found: what the climate asks for.
        shown: units of everything that is written.
        rough: whether it is a first look, whose temperature factors have no tolerance, so that verdicts wait for it.
    """
    if found is None:
        return None
    climate = found.climate
    return {
        "name": climate.name,
        "source": climate.source,
        "room": shown.sentence(climate.indoors),
        "critical": critical_lines(found),
        "margins": [_margin(one, rough) for one in found.told_margins],
        "least": [_margin(one, rough) for one in least_kept(found.told_margins).values()],
        "timber": [line for end in found.timber for line in timber_lines(end, shown)],
        "notes": [shown.sentence(note) for note in found.notes],
        "caution": NO_VERDICT if found.timber else "",
    }


def climate_limits(found: ByMonth | None) -> list[tuple[float, str]]:
    """What a climate by month asks for where it asks for most, and its name: for mould, and on the coldest day.

    That for condensation in its month is left out, since that for mould asks for more.

    Args:
        found: what the climate asks for.
    """
    asked = {one.criterion: one for one in found.margins} if found else {}
    wanted = [asked[criterion] for criterion in ("mould", "glazing") if criterion in asked]
    return [(one.asked, f"climate, {month_name(one.month)}: {CRITERIA[one.criterion]}") for one in wanted]


def _margin(one: Margin, rough: bool) -> Plain:
    return {
        "state": "follows" if rough else STATES[verdict_of(one)],
        "criterion": f"{CRITERIA[one.criterion]}, {month_name(one.month)}",
        "where": f"{one.environment} ({one.section})" if one.section else one.environment,
        "asked": f"{n.F_RSI.plain_symbol} ≥ {n.format_value(n.F_RSI, one.asked)}",
        "found": without_tolerance(n.format_estimate(n.F_RSI, one.value, one.tolerance), rough),
        "margin": margin_of(one),
    }


def sections_told(result: DetailResult, shown: DisplayUnits, *, rough: bool = False) -> list[Plain]:
    """Every number of each section, its rules that are broken and its airtight layer, with the words of `solve`.

    Args:
        result: of the whole chain.
        shown: units of everything that is written.
        rough: whether it is a first look, see `climate_told`.
    """
    return [_section(one, shown, rough) for one in result.sections]


def _section(one: SectionResult, shown: DisplayUnits, rough: bool) -> Plain:
    tight = one.airtight
    layer = airtight_lines(tight, shown, bodies_of(one.section)) if tight else []
    last = one.passes[-1]
    return {
        "title": one.section.title or one.section.name,
        "axes": one.section.axes,
        "rows": waiting_rows(section_rows(one, shown)) if rough else section_rows(one, shown),
        "layers": [(f"U of {element.name}", _layers(element, shown)) for element in one.flanking if element.layers],
        "airtight": [without_tolerance(line, rough) for line in layer],
        "checks": [line.strip() for line in check_lines(one, shown)[1:]],
        "mesher": one.mesher,
        "unknowns": last.unknowns,
        "balance": f"{one.balance:.1e}".replace("-", n.MINUS),
        "passes": [
            (k, f"{step.triangles}", f"{step.unknowns}", _bounds(step.lower, step.upper, one, shown))
            for k, step in enumerate(one.passes, 1)
        ],
    }


def _layers(element: FlankingResult, shown: DisplayUnits) -> list[tuple[str, str, str]]:
    """Name, thickness and conductivity of each layer, in their order."""
    return [
        (shown.made_name(layer.name), shown.length(layer.thickness), shown.value(n.CONDUCTIVITY, layer.conductivity))
        for layer in element.layers
    ]


def _bounds(lower: float | None, upper: float | None, one: SectionResult, shown: DisplayUnits) -> str:
    if lower is None or upper is None:
        return "–"
    return shown.bounded(n.coupling(one.section.revolution), lower, upper)


def no_airtight_layer(result: DetailResult) -> str:
    """What is said where no airtight layer is drawn; empty where one is.

    Args:
        result: of the whole chain.
    """
    return NONE_DRAWN if lacks_airtight_layer(result) else ""


def waiting_rows(rows: list[Row]) -> list[Row]:
    """Rows of a first look: estimates have no tolerance yet.

    Args:
        rows: of the screen's tables.
    """
    return [
        (name, without_tolerance(value, rough=True), WAITING) if sure.startswith("estimated") else (name, value, sure)
        for name, value, sure in rows
    ]


def without_tolerance(words: str, rough: bool) -> str:
    """An estimate in words without its tolerance where it is a first look.

    Args:
        words: such as "≈ 0.837 (tolerance 0.002)".
        rough: whether it is a first look.
    """
    before, found, rest = words.partition(" (tolerance")
    return before + rest.partition(")")[2] if rough and found else words
