"""The report's chapters on an installed window: Ψ of each side term by term, their mean, and U of the window."""

from __future__ import annotations

from bridge2d import nomenclature as n
from bridge2d.detail import InstalledWindow
from bridge2d.drawing.scene import Run, runs
from bridge2d.report.computation_pages import COLUMNS, couplings
from bridge2d.report.layout import Block, Heading, NewPage, paragraph
from bridge2d.report.tables import table
from bridge2d.report.text import Words
from bridge2d.report.words import bounded, exact, firm, symbol, value
from bridge2d.results import Bounded, DetailResult, InstallationResult, TraceTerm
from bridge2d.shown_units import IN_SI, DisplayUnits

TRACE = "How Ψ comes about"
"""Title of the chapter that these pages stand in for where something is installed."""
SUMMARY = "The window as installed"

OF_INSTALLATION = (
    f"After ISO 10211:2017, clauses remembered: {firm('L2D = Φ/(θi − θe)')} (9.1, equation 16); "
    f"{firm('Ψ = L2D − ΣU·l')} (10.2, equation 18), with L2D of the window alone for the window's part of the sum."
)

Chapter = tuple[str, list[Block]]


def with_installation(chapters: list[Chapter], result: DetailResult, shown: DisplayUnits = IN_SI) -> list[Chapter]:
    """The report's chapters; where a window is installed, with its numbers first and its own trace.

    Args:
        chapters: title and blocks of each.
        result: all numbers of the detail.
        shown: units of everything that is written.
    """
    if not result.installations:
        return chapters
    own = [(title, trace(result, shown) if title == TRACE else blocks) for title, blocks in chapters]
    return [(SUMMARY, summary(result, shown)), *own]


def summary(result: DetailResult, shown: DisplayUnits = IN_SI) -> list[Block]:
    """Ψ of every side with its length, their mean, and U of the window alone and installed."""
    rows: list[tuple[Words, ...]] = [
        (
            side.name,
            value(n.LENGTH, side.length, shown),
            bounded(n.PSI, side.psi, shown),
            exact(n.PSI, side.psi.value, shown, unit=False),
            exact(n.COUPLING_3D, _loss(side), shown, unit=False),
        )
        for side in result.installations
    ]
    total = sum(side.length for side in result.installations)
    mean = result.psi_installation
    if mean is not None:
        loss = exact(n.COUPLING_3D, mean.value * total, shown, unit=False)
        middle = exact(n.PSI, mean.value, shown, unit=False)
        length = value(n.LENGTH, total, shown)
        rows.append(("mean, weighted by length", length, bounded(n.PSI, mean, shown), middle, loss))
    columns = [
        ("side", 40),
        (runs("length ", symbol(n.LENGTH)), 26, "end"),
        (runs("Ψ of installation"), 50, "end"),
        ("its middle", 22, "end"),
        (runs("Ψ·", symbol(n.LENGTH), f", {shown.unit(n.COUPLING_3D)}"), 26, "end"),
    ]
    words = (
        "Ψ of installation is one number in external, internal and overall internal dimensions: in all of them the "
        "wall's length is measured to the rough opening, the masonry's edge beside the foam, and the window's area is "
        "that over its frame."
    )
    found: list[Block] = [paragraph(words), table(columns, rows, heavy=(len(rows) - 1,))]
    if result.detail.window is not None and result.u_installed is not None:
        found += _window(result, result.detail.window, result.u_installed, shown)
    return [*found, NewPage()]


def _loss(side: InstallationResult) -> float:
    return side.psi.value * side.length


def _window(result: DetailResult, window: InstalledWindow, installed: Bounded, shown: DisplayUnits) -> list[Block]:
    """U of the window, from its parts and with its installation."""
    area, alone = exact(n.AREA, window.area, shown), exact(n.U_VALUE, window.u_window, shown)
    losses = _watts(sum(_loss(side) for side in result.installations), shown)
    rows: list[tuple[Words, ...]] = [
        _part(n.U_VALUE, "f", window.u_frame, n.AREA, window.frame_area, "frame", shown),
        _part(n.U_VALUE, "g", window.u_glazing, n.AREA, window.glazing_area, "glazing", shown),
        _part(n.PSI, "g", window.psi_edge, n.LENGTH, window.edge_length, "glazing's edge", shown),
        (runs(symbol(n.U_VALUE, "w"), "  window alone"), f"sum / {area} (ISO 10077-1)", alone),
        (runs("ΣΨ·", symbol(n.LENGTH), "  installation"), "the table above", losses),
        (
            runs(symbol(n.U_VALUE, "w,inst"), "  installed"),
            f"({alone} × {area} + {losses}) / {area}",
            exact(n.U_VALUE, installed.value, shown),
        ),
        (runs(symbol(n.U_VALUE, "w,inst"), ", as stated"), "", bounded(n.U_VALUE, installed, shown)),
    ]
    head = Heading(runs("U of the window, alone and installed"), level=2)
    return [*frame(result, shown), head, table(COLUMNS, rows, heavy=(3, 5, 6))]


def frame(result: DetailResult, shown: DisplayUnits = IN_SI) -> list[Block]:
    """U of a frame that is given by its polygons, term by term; nothing where U is given.

    Args:
        result: all numbers of the detail.
        shown: units of everything that is written.
    """
    given, u_frame = result.detail.frame, result.u_frame
    l2d = next((s.l2d for s in result.sections if given and s.section.name == given.section), None)
    if given is None or u_frame is None or l2d is None:
        return []
    rest = l2d.value - given.u_panel * given.panel_length
    rows: list[tuple[Words, ...]] = [
        (runs(symbol(n.L2D), f"  {given.section}"), "middle of its bracket", exact(n.L2D, l2d.value, shown)),
        (
            runs(f"{n.MINUS} ", symbol(n.U_VALUE, "p"), "·", Run("b", "italic"), Run("p", subscript=True), "  panel"),
            f"{exact(n.U_VALUE, given.u_panel, shown)} × {value(n.LENGTH, given.panel_length, shown)}",
            exact(n.L2D, -given.u_panel * given.panel_length, shown),
        ),
        (
            runs(symbol(n.U_VALUE, "f"), "  frame"),
            f"{exact(n.L2D, rest, shown, factor=True)} / {value(n.LENGTH, given.width, shown)}",
            exact(n.U_VALUE, u_frame.value, shown),
        ),
        (runs(symbol(n.U_VALUE, "f"), ", as stated"), "", bounded(n.U_VALUE, u_frame, shown)),
    ]
    head = Heading(runs("U of the frame, from its polygons (ISO 10077-2:2012, annex C, remembered)"), level=2)
    return [head, table(COLUMNS, rows, heavy=(2, 3))]


def _part(
    quantity: n.Quantity, index: str, number: float, by: n.Quantity, size: float, what: str, shown: DisplayUnits
) -> tuple[Words, ...]:
    """A row of the sum that makes U_w: the product of a U and an area, or of a Ψ and a length."""
    name = runs(symbol(quantity, index), "·", symbol(by, index), f"  {what}")
    return name, f"{exact(quantity, number, shown)} × {exact(by, size, shown)}", _watts(number * size, shown)


def _watts(loss: float, shown: DisplayUnits) -> str:
    """A loss per kelvin."""
    return exact(n.COUPLING_3D, loss, shown)


# -- trace ---------------------------------------------------------------------------------------------------------


def trace(result: DetailResult, shown: DisplayUnits = IN_SI) -> list[Block]:
    """Ψ of every side term by term, then their mean.

    Args:
        result: all numbers of the detail.
        shown: units of everything that is written.
    """
    found: list[Block] = [
        paragraph(OF_INSTALLATION),
        paragraph(
            "More decimals are printed here than are meant, so that the sums can be followed by hand. Both L2D are the "
            "middles of their brackets; the brackets of both count in that of Ψ. U and lengths have none."
        ),
    ]
    for side in result.installations:
        found += _side(side, shown)
    if result.psi_installation is not None:
        found += _mean(result, result.psi_installation, shown)
    return found + couplings(result, shown)


def _side(side: InstallationResult, shown: DisplayUnits) -> list[Block]:
    rows: list[tuple[Words, ...]] = [
        (runs(symbol(n.L2D), f"  {side.section}"), "middle of its bracket", exact(n.L2D, side.l2d.value, shown)),
        *(_wall(term, shown) for term in side.terms),
        (
            runs(f"{n.MINUS} ", symbol(n.L2D), f"  {side.reference}"),
            "middle of its bracket",
            exact(n.L2D, -side.reference_l2d.value, shown),
        ),
        ("Ψ of installation", "sum", exact(n.PSI, side.psi.value, shown)),
        ("Ψ of installation, as stated", "", bounded(n.PSI, side.psi, shown)),
    ]
    head = Heading(runs(f"Ψ = L2D − U·l − L2D of the window alone, {side.name}"), level=2)
    return [head, table(COLUMNS, rows, heavy=(len(rows) - 2, len(rows) - 1))]


def _wall(term: TraceTerm, shown: DisplayUnits) -> tuple[Words, ...]:
    return (
        runs(f"{n.MINUS} ", Run("U", "italic"), "·", Run("l", "italic"), f"  {term.name}"),
        f"{exact(n.U_VALUE, term.u_value, shown)} × {value(n.LENGTH, term.length, shown)}",
        exact(n.L2D, -term.u_value * term.length, shown),
    )


def _mean(result: DetailResult, mean: Bounded, shown: DisplayUnits) -> list[Block]:
    rows: list[tuple[Words, ...]] = [
        (
            runs("Ψ·", symbol(n.LENGTH), f"  {side.name}"),
            f"{exact(n.PSI, side.psi.value, shown)} × {value(n.LENGTH, side.length, shown)}",
            _watts(_loss(side), shown),
        )
        for side in result.installations
    ]
    total = sum(side.length for side in result.installations)
    rows += [
        ("mean Ψ of installation", f"sum / {value(n.LENGTH, total, shown)}", exact(n.PSI, mean.value, shown)),
        ("mean, as stated", "", bounded(n.PSI, mean, shown)),
    ]
    head = Heading(runs("Mean Ψ of installation, weighted by length"), level=2)
    return [head, table(COLUMNS, rows, heavy=(len(rows) - 2, len(rows) - 1))]
