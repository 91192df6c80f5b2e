"""The report's chapter on a wall with repeated pieces: U from its section, and the combined method beside it."""

from __future__ import annotations

from bridge2d import nomenclature as n
from bridge2d.drawing.scene import Run, runs
from bridge2d.module_words import U, percent
from bridge2d.report.computation_pages import COLUMNS, couplings
from bridge2d.report.input_pages import layer_table
from bridge2d.report.layout import Block, Heading, paragraph
from bridge2d.report.tables import table
from bridge2d.report.text import Words
from bridge2d.report.words import bounded, estimate, exact, firm, length, metres, symbol, value
from bridge2d.results import CombinedMethod, DetailResult, ModuleTransmittance
from bridge2d.shown_units import IN_SI, DisplayUnits

REPLACED = "Coupling coefficients"
"""Title of the chapter that these pages stand in for."""
TITLE = "How U comes about"
EXPLAINED = (
    "The section's U has a bracket that holds for certain. The combined method is a sum by hand: R' lets the heat run "
    "straight through each area, R'' makes both faces of every layer equally warm, and its R is the mean of both. The "
    "true U of the section lies between 1/R' and 1/R''; where both are far apart, the section's U is the one to use."
)

Chapter = tuple[str, list[Block]]
Row = tuple[Words, ...]


def with_module(chapters: list[Chapter], result: DetailResult, shown: DisplayUnits = IN_SI) -> list[Chapter]:
    """The report's chapters; for a wall with repeated pieces with the trace of its U.

    Args:
        chapters: title and blocks of each.
        result: all numbers of the detail.
        shown: units of everything that is written.
    """
    found = result.u_section
    if found is None:
        return chapters
    return [
        (TITLE, trace(result, found, shown)) if title == REPLACED else (title, blocks) for title, blocks in chapters
    ]


def opening_rows(found: ModuleTransmittance, shown: DisplayUnits = IN_SI) -> list[Row]:
    """Rows of the first page: U from the section, by the combined method, the increase, and fRsi over the stud.

    Args:
        found: U of the wall.
        shown: units of everything that is written.
    """
    combined = found.combined
    error = f"error up to {percent(combined.error)}" if not combined.objection else "not to be used here"
    by_hand = f"{U.spoken} by the combined method of ISO 6946, {firm(error)}"
    return [
        (symbol(U), f"{U.spoken} of the wall, from its section", bounded(U, found.u_value, shown), "bracket"),
        (symbol(U), by_hand, value(U, combined.u_value, shown), "by hand"),
        (
            runs("Δ", symbol(U)),
            f"increase over the wall without studs and battens, {firm(percent(_share(found)))}",
            bounded(U, found.increase, shown),
            "bracket",
        ),
        (
            symbol(n.F_RSI),
            f"{n.F_RSI.spoken} on the lining over the stud",
            estimate(n.F_RSI, found.f_rsi.value, found.f_rsi.tolerance, shown),
            "estimate",
        ),
    ]


def _share(found: ModuleTransmittance) -> float:
    return found.increase.value / found.without.u_value


def trace(result: DetailResult, found: ModuleTransmittance, shown: DisplayUnits = IN_SI) -> list[Block]:
    """U from the section, the combined method layer by layer, and the wall without studs and battens.

    Args:
        result: all numbers of the detail.
        found: U of the wall.
        shown: units of everything that is written.
    """
    return [
        paragraph(EXPLAINED),
        *_section(found, shown),
        *_combined(found.combined, shown),
        *_without(found, shown),
        *couplings(result, shown),
    ]


def _section(found: ModuleTransmittance, shown: DisplayUnits) -> list[Block]:
    wide = metres(found.width, shown)
    rows: list[Row] = [
        (symbol(n.L2D), "of one module, middle of its bracket", exact(n.L2D, found.l2d.value, shown)),
        (
            runs(symbol(U), f" = {n.L2D.plain_symbol}/", symbol(n.SPACING)),
            f"/ {wide}",
            exact(U, found.u_value.value, shown),
        ),
        (runs(symbol(U), ", as stated"), "", bounded(U, found.u_value, shown)),
        ("U without studs and battens", "layers in series, see below", exact(U, found.without.u_value, shown)),
        ("increase", f"{percent(_share(found))} of U without them", exact(U, found.increase.value, shown)),
        ("increase, as stated", "", bounded(U, found.increase, shown)),
    ]
    head = Heading(runs("U of the wall, from its section"), level=2)
    return [head, table(COLUMNS, rows, heavy=(2, 5))]


def _resistance(number: float, shown: DisplayUnits) -> str:
    return exact(n.RESISTANCE, number, shown, unit=False)


def _combined(found: CombinedMethod, shown: DisplayUnits) -> list[Block]:
    """The combined method: a column for each area, and one for the areas side by side."""
    letters = "abcdefgh"[: len(found.areas)]
    columns = [
        ("layer", 46),
        (symbol(n.THICKNESS), 20, "end"),
        *((runs(symbol(n.RESISTANCE, letter), f", {shown.unit(n.RESISTANCE)}"), 27, "end") for letter in letters),
        ("side by side", 27, "end"),
    ]
    outside, inside = found.surfaces
    rows: list[Row] = [
        ("share of the area", "", *(exact(n.HUMIDITY, area.fraction, shown) for area in found.areas), "1"),
        ("surface outside", "", *[_resistance(outside, shown)] * (len(found.areas) + 1)),
        *(
            (
                name,
                length(thick, shown),
                *(_resistance(area.resistances[k], shown) for area in found.areas),
                _resistance(resistance, shown),
            )
            for k, (name, thick, resistance) in enumerate(found.layers)
        ),
        ("surface inside", "", *[_resistance(inside, shown)] * (len(found.areas) + 1)),
        ("sum", "", *(_resistance(area.total, shown) for area in found.areas), _resistance(found.lower, shown)),
    ]
    words = "; ".join(f"{letter}: {area.name}" for letter, area in zip(letters, found.areas, strict=True))
    refused = f"The standard does not let the method be used here: {found.objection}."
    return [
        Heading(runs("Combined method of ISO 6946"), level=2),
        table(columns, rows, heavy=(len(rows) - 1,)),
        paragraph(f"Areas, with what is not alike in all of them: {words}. The last sum is R''.", size=8.0),
        _limits(found, shown),
        *([paragraph(refused)] if found.objection else []),
    ]


def _limits(found: CombinedMethod, shown: DisplayUnits) -> Block:
    upper, lower = runs(Run("R", "italic"), "'"), runs(Run("R", "italic"), "''")
    mean = 0.5 * (found.upper + found.lower)
    rows: list[Row] = [
        (runs(upper, ", upper limit"), "1/Σ(share/sum of the area)", exact(n.RESISTANCE, found.upper, shown)),
        (runs(lower, ", lower limit"), "sum of the layers side by side", exact(n.RESISTANCE, found.lower, shown)),
        (runs(Run("R", "italic"), ", mean of both"), "", exact(n.RESISTANCE, mean, shown)),
        (runs(symbol(U), " by the combined method"), f"1/{_resistance(mean, shown)}", exact(U, found.u_value, shown)),
        ("largest relative error", "half their distance over the mean (ISO 6946)", firm(percent(found.error))),
        (
            runs("limits of ", symbol(U)),
            runs("1/", upper, " and 1/", lower),
            firm(f"{value(U, 1 / found.upper, shown, unit=False)} to {value(U, 1 / found.lower, shown)}"),
        ),
    ]
    return table(COLUMNS, rows, heavy=(3,))


def _without(found: ModuleTransmittance, shown: DisplayUnits) -> list[Block]:
    return [Heading(runs("U without studs and battens"), level=2), layer_table(found.without, shown)]
