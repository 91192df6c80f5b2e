"""The report's chapter on a hatch as a whole: U of its lid, its loss from its clear size, fRsi of its surfaces."""

from __future__ import annotations

from bridge2d import nomenclature as n
from bridge2d.detail import Hatch
from bridge2d.drawing.scene import Run, runs
from bridge2d.report.computation_pages import COLUMNS
from bridge2d.report.installation_pages import frame
from bridge2d.report.layout import Block, Heading, paragraph
from bridge2d.report.tables import table
from bridge2d.report.temperature_pages import place
from bridge2d.report.text import Words
from bridge2d.report.words import bounded, estimate, exact, length, symbol, value
from bridge2d.results import DetailResult, HatchResult
from bridge2d.shown_units import IN_SI, DisplayUnits

TITLE = "The hatch as a whole"
WORDS = (
    "U of the lid and the loss count the clear opening between the finished reveals, and Ψ in internal dimensions, "
    "whose lengths meet at its edge. All four sides have the Ψ of the section; what the four corners lose besides is "
    "three-dimensional and not included."
)
OF_FACTORS = (
    "Each at the coldest point of that surface, with the surface resistances of the temperature factor: those of "
    "frames and glazing on the frame, those of opaque surfaces on the reveal (ISO 13788)."
)


def hatch(result: DetailResult, shown: DisplayUnits = IN_SI) -> list[Block]:
    """U of the lid, loss term by term, and fRsi of frame, reveal and lid; empty where there is no hatch.

    Args:
        result: all numbers of the detail.
        shown: units of everything that is written.
    """
    given, found = result.detail.hatch, result.hatch
    if given is None or found is None:
        return []
    size = f"Clear size {length(given.width, shown)} × {length(given.length, shown)}. "
    note = paragraph(OF_FACTORS, size=8.0)
    head = Heading(runs("Temperature factors on its surfaces"), level=2)
    loss = [paragraph(size + WORDS), *frame(result, shown), _loss(given, found, shown)]
    return [*loss, head, _factors(found, shown), note]


def _loss(given: Hatch, found: HatchResult, shown: DisplayUnits) -> Block:
    """U·A of the lid's parts, Ψ_g·l of its glazing, Ψ·P of the junction, and their sum."""
    rows: list[tuple[Words, ...]] = [
        (
            runs(symbol(n.U_VALUE), "·", symbol(n.AREA), f"  {name}"),
            f"{exact(n.U_VALUE, u_value, shown)} × {exact(n.AREA, area, shown)}",
            exact(n.COUPLING_3D, u_value * area, shown),
        )
        for name, u_value, area in found.parts
    ]
    if given.edge:
        psi_edge, along = given.edge
        words = f"{value(n.PSI, psi_edge, shown)} × {value(n.LENGTH, along, shown)}"
        name = runs(symbol(n.PSI, "g"), "·", symbol(n.LENGTH, "g"), "  glazing's edge")
        rows.append((name, words, exact(n.COUPLING_3D, psi_edge * along, shown)))
    lid = len(rows)
    area, loss = exact(n.AREA, given.area, shown), found.loss.value
    rows += [
        (runs(symbol(n.U_VALUE), "  lid"), f"sum / {area}", exact(n.U_VALUE, found.u_lid.value, shown)),
        (
            runs("Ψ·", Run("P", "italic"), "  four sides"),
            f"{exact(n.PSI, found.psi.value, shown)} × {value(n.LENGTH, given.perimeter, shown)}",
            exact(n.COUPLING_3D, found.psi.value * given.perimeter, shown),
        ),
        ("loss of the whole hatch", "sum of all products", exact(n.COUPLING_3D, loss, shown)),
        ("loss, as stated", "", bounded(n.COUPLING_3D, found.loss, shown)),
    ]
    return table(COLUMNS, rows, heavy=(lid, lid + 2, lid + 3))


def _factors(found: HatchResult, shown: DisplayUnits) -> Block:
    rows: list[tuple[Words, ...]] = [
        (
            factor.name,
            estimate(n.F_RSI, factor.value, factor.tolerance, shown),
            value(n.SURFACE_TEMPERATURE, factor.temperature, shown),
            place(factor.point, shown),
            value(n.RESISTANCE, factor.surface_resistance, shown),
        )
        for factor in found.factors
    ]
    columns: list[tuple[Words, float]] = [
        ("surface", 36),
        (symbol(n.F_RSI), 44),
        (runs("coldest point ", symbol(n.SURFACE_TEMPERATURE)), 32),
        ("at x, y", 30),
        (symbol(n.INTERNAL_SURFACE_RESISTANCE), 26),
    ]
    return table(columns, rows)
