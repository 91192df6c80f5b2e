"""The report's chapters on how the numbers came about: trace, bracket, refinement, checks, model."""

from __future__ import annotations

import math
from collections.abc import Sequence

from bridge2d import nomenclature as n
from bridge2d.drawing.scene import Run, runs
from bridge2d.report.layout import Block, Figure, Heading, Paragraph, Together, paragraph
from bridge2d.report.refinement_chart import refinement_chart
from bridge2d.report.tables import table
from bridge2d.report.text import Words
from bridge2d.report.words import (
    SYSTEMS,
    bounded,
    checked,
    exact,
    exact_ends,
    firm,
    metres,
    psi_symbol,
    said,
    scientific,
    symbol,
)
from bridge2d.results import Bounded, Chi, DetailResult, Psi, SectionResult, TraceTerm
from bridge2d.shown_units import IN_SI, DisplayUnits


def trace_title(result: DetailResult) -> str:
    """Title of the chapter with the trace."""
    if result.psi:
        return "How Ψ comes about"
    return "How χ comes about" if result.chi else "Coupling coefficients"


def model_title(result: DetailResult) -> str:
    """Title of the chapter on the model."""
    round_ = all(section.section.revolution for section in result.sections)
    return "A solid of revolution" if round_ else "From three dimensions to two"


def trace(result: DetailResult, shown: DisplayUnits = IN_SI) -> list[Block]:
    """Ψ and χ term by term."""
    if not result.psi and not result.chi:
        return [*(paragraph(words) for words in why_no_psi(result)), *couplings(result, shown)]
    found: list[Block] = [paragraph(formulas_of(result)), paragraph(DECIMALS)]
    if result.chi:
        found += _chi(result.chi, shown)
    for psi in result.psi:
        found += _psi(result, psi, shown)
    return found + couplings(result, shown)


DECIMALS = (
    "More decimals are printed here than are meant, so that the sum can be followed by hand. The coupling "
    "coefficient is the middle of its bracket; U, lengths and areas have none. The last digit of a sum may differ by "
    "one."
)


def formulas_of(result: DetailResult) -> str:
    """The formulas that the sums follow, with their clauses."""
    of_revolution = result.chi is not None and result.chi.of_revolution
    formulas = []
    if result.psi or not of_revolution:
        formulas += [("L2D = Φ/(θi − θe)", "9.1, equation 16"), ("Ψ = L2D − ΣU·l", "10.2, equation 18")]
    if of_revolution:
        formulas += [("L3D = Φ/(θi − θe)", "9.1, equation 16"), ("χ = L3D − ΣU·A", "10.3, equation 20")]
    named = "; ".join(f"{firm(formula)} ({clause})" for formula, clause in formulas)
    words = f"After ISO 10211:2017, clauses remembered: {named}."
    if any(psi.chi_over_spacing for psi in result.psi):
        words += " χ/s spreads the repeated pieces evenly over the spacing s."
    return words


def why_no_psi(result: DetailResult) -> list[str]:
    """Why there is no Ψ, in a sentence per reason."""
    found = []
    for section in (one.section for one in result.sections):
        count = len(section.environments)
        if count != 2:
            found.append(
                f"Ψ needs exactly two environments; this section has {count}. Rooms of one temperature can share one "
                "name."
            )
        elif not any(element.lengths for element in section.flanking):
            found.append("The detail names no flanking elements with lengths, so there is no Ψ.")
        else:
            found.append(
                "The section's heat flows have no value, or its flanking lengths do not match, so there is no Ψ."
            )
    if any(one.coupling for one in result.sections):
        found.append("The coupling coefficients and heat flows of the sections are the result.")
    return list(dict.fromkeys(found))


def _terms(
    l2d: Bounded, terms: Sequence[TraceTerm], shown: DisplayUnits, of_revolution: bool = False
) -> list[tuple[Words, ...]]:
    coupling = n.coupling(of_revolution)
    rows: list[tuple[Words, ...]] = [(symbol(coupling), "middle of its bracket", exact(coupling, l2d.value, shown))]
    for term in terms:
        product = term.u_value * term.length
        size = exact(n.AREA, term.length, shown) if of_revolution else metres(term.length, shown)
        rows.append(
            (
                runs(
                    f"{n.MINUS} ",
                    Run("U", "italic"),
                    "·",
                    Run("A" if of_revolution else "l", "italic"),
                    f"  {term.name}",
                ),
                f"{exact(n.U_VALUE, term.u_value, shown, factor=of_revolution)} × {size}",
                exact(coupling, -product, shown),
            )
        )
    return rows


COLUMNS: list[tuple[Words, float] | tuple[Words, float, str]] = [("term", 57), ("from", 63), ("amount", 48, "end")]


def _chi(chi: Chi, shown: DisplayUnits) -> list[Block]:
    if chi.of_revolution:
        rows = _terms(chi.l2d, chi.terms, shown, of_revolution=True)
        rows.append((runs(symbol(n.CHI), " of one piece"), "sum", exact(n.CHI_OF_REVOLUTION, chi.value.value, shown)))
        rows.append((runs(symbol(n.CHI), ", as stated"), "", bounded(n.CHI_OF_REVOLUTION, chi.value, shown)))
        heavy = (len(rows) - 2, len(rows) - 1)
        if chi.added_transmittance is not None:
            words = runs(f"{shown.value(n.NUMBER_PER_AREA, chi.per_area or 0.0)} × ", symbol(n.CHI))
            added = bounded(n.ADDED_TRANSMITTANCE, chi.added_transmittance, shown)
            rows.append((symbol(n.ADDED_TRANSMITTANCE), words, added))
        head = Heading(runs("Point thermal transmittance χ = L3D − ΣU·A"), level=2)
        return [head, table(COLUMNS, rows, heavy=heavy)]
    rows = _terms(chi.l2d, chi.terms, shown)
    rest = chi.value.value / chi.depth
    rows.append(("sum", "", exact(n.L2D, rest, shown)))
    rows.append(
        (
            runs(symbol(n.CHI), " of one piece"),
            f"sum × {metres(chi.depth, shown)} of height or depth",
            exact(n.CHI, chi.value.value, shown),
        )
    )
    rows.append((runs(symbol(n.CHI), ", as stated"), "", bounded(n.CHI, chi.value, shown)))
    head = Heading(runs("Point thermal transmittance χ = (L2D − ΣU·l) × depth"), level=2)
    return [head, table(COLUMNS, rows, heavy=(len(rows) - 3, len(rows) - 1))]


def _psi(result: DetailResult, psi: Psi, shown: DisplayUnits) -> list[Block]:
    rows = _terms(psi.l2d, psi.terms, shown)
    if psi.chi_over_spacing is not None:
        chi = result.chi
        origin = ""
        if chi is not None and chi.spacing:
            origin = f"{exact(n.CHI, chi.value.value, shown)} / {metres(chi.spacing, shown)}"
        words = runs("+ ", symbol(n.CHI), "/", symbol(n.SPACING), "  repeated pieces")
        rows.append((words, origin, exact(n.PSI, psi.chi_over_spacing.value, shown)))
    rows.append((psi_symbol(psi.dimensions), "sum", exact(n.PSI, psi.value.value, shown)))
    rows.append((runs(psi_symbol(psi.dimensions), ", as stated"), "", bounded(n.PSI, psi.value, shown)))
    added = " + χ/s" if psi.chi_over_spacing is not None else ""
    head = Heading(runs(f"Ψ = L2D − ΣU·l{added}, {SYSTEMS[psi.dimensions]} dimensions"), level=2)
    return [head, table(COLUMNS, rows, heavy=(len(rows) - 2, len(rows) - 1))]


def couplings(result: DetailResult, shown: DisplayUnits = IN_SI) -> list[Block]:
    """Coupling coefficients and heat flows of every section."""
    rows: list[tuple[Words, ...]] = []
    for section in result.sections:
        name = section.section.title or section.section.name
        is_l2d = len(section.section.environments) == 2
        kind, heat = n.coupling(section.section.revolution), n.heat_flow(section.section.revolution)
        for coupling in section.coupling:
            what = symbol(kind) if is_l2d else runs("coupling coefficient")
            between = runs(what, f" between {coupling.start} and {coupling.end}")
            rows.append((name, between, bounded(kind, coupling.coefficient, shown)))
        rows += [
            (name, f"heat flow from {flow.environment} into the section", bounded(heat, flow.flow, shown))
            for flow in section.heat_flows
        ]
    if not rows:
        return []
    head = Heading(runs("Coupling coefficients and heat flows"), level=2)
    return [head, table([("section", 52), ("what", 64), ("bracket", 52, "end")], rows)]


# -- how sure ------------------------------------------------------------------------------------------------------


def bracket(result: DetailResult, shown: DisplayUnits = IN_SI) -> list[Block]:
    """What the bracket means, and the history of refinement."""
    words = (
        "A number with ± is the middle of a bracket: the true solution of the stated model lies within it for certain, "
        "because the temperature field gives an upper bound and the stream function a lower one (Prager and Synge, "
        "1947). ± is half the bracket and what rounding the middle takes away from it, rounded up. The model is the "
        "section with its corners on whole micrometres. The bracket does not cover what the "
        "model leaves out: materials that differ from the table, dimensions on "
        "site, surface resistances, air leakage, moisture, and the third dimension. Temperatures and temperature "
        "factors have no bracket, only a tolerance."
    )
    found: list[Block] = [paragraph(words), paragraph(OF_CHART)]
    for section in result.sections:
        found.append(Heading(runs(f"Refinement, {section.section.title or section.section.name}"), level=2))
        chart, passes = refinement_chart(section, shown), _passes(section, shown)
        found.append(Together((Figure(chart, Paragraph((), after=0.0)), passes)) if chart else passes)
    return found


OF_CHART = (
    "The charts show both bounds, pass by pass, over the number of unknowns (a logarithmic axis): the upper one full, "
    "with dots, the lower one dashed, with squares. The true value lies between them."
)
"""What the charts of refinement show."""

Columns = list[tuple[Words, float] | tuple[Words, float, str]]


def _passes(section: SectionResult, shown: DisplayUnits) -> Block:
    """Sizes of the meshes, and the bounds where L2D has any."""
    coupling = n.coupling(section.section.revolution)
    columns: Columns = [("pass", 14), ("triangles", 24, "end"), ("unknowns", 24, "end")]
    rows: list[tuple[Words, ...]] = [
        (str(number), str(one.triangles), str(one.unknowns)) for number, one in enumerate(section.passes, start=1)
    ]
    bounds = [(one.lower, one.upper) for one in section.passes if one.lower is not None and one.upper is not None]
    if len(bounds) < len(rows):
        return table(columns, rows, width=14.0 + 24.0 + 24.0)
    columns += [
        (runs("lower bound of ", symbol(coupling)), 40, "end"),
        (runs("upper bound of ", symbol(coupling)), 40, "end"),
        ("relative width", 26, "end"),
    ]
    history = [
        (*exact_ends(coupling, low, high, shown), _share((high - low) / max(abs(high + low) / 2, 1e-30)))
        for low, high in bounds
    ]
    return table(columns, [(*row, *more) for row, more in zip(rows, history, strict=True)])


def _share(part: float) -> str:
    """A share in percent with two digits, such as "0.038 %"."""
    percent = 100.0 * part
    decimals = max(0, 1 - math.floor(math.log10(percent))) if percent > 0 else 0
    return firm(f"{percent:.{min(decimals, 12)}f} %")


def checks(result: DetailResult, shown: DisplayUnits = IN_SI) -> list[Block]:
    """The rules of ISO 10211 that were checked."""
    found: list[Block] = []
    for section in result.sections:
        if not section.checks:
            continue
        rows: list[tuple[Words, ...]] = [
            (
                check.name,
                scientific(said(check.asked, shown)),
                scientific(said(check.found, shown)),
                runs(Run(checked(check.met), "bold")),
                check.source,
            )
            for check in section.checks
        ]
        found.append(Heading(runs(section.section.title or section.section.name), level=2))
        found.append(table([("rule", 34), ("asked", 48), ("found", 34), ("", 24), ("source", 32)], rows))
    return found or [paragraph("No rule could be checked.")]


# -- model and computation -----------------------------------------------------------------------------------------


def model(result: DetailResult, shown: DisplayUnits = IN_SI) -> list[Block]:
    """How three dimensions became two."""
    notes = result.detail.notes or (
        "The section is taken to go on unchanged in the third dimension; heat flows in its plane only."
        if not all(section.section.revolution for section in result.sections)
        else "The section is turned about its axis x = 0: a solid of revolution, solved as one.",
    )
    return [paragraph(said(note, shown), mark="–", after=1.6) for note in notes]


METHOD = (
    "finite elements of second to fourth order for temperature and stream function on one mesh, refined where the "
    "local gap is widest"
)


UNITS = "shown in inch-pound units, with the British thermal unit of the International Table; computed in SI"


def computation(result: DetailResult, input_hash: str, source: str, shown: DisplayUnits = IN_SI) -> list[Block]:
    """With what it was computed, and from which input."""
    rows: list[tuple[Words, ...]] = [
        ("program", f"bridge2d {result.version}"),
        ("input", source),
        ("fingerprint of the input (SHA-256)", input_hash),
        ("method", METHOD),
        *([] if shown.is_si else [("units", UNITS)]),
    ]
    for section in result.sections:
        name = section.section.title or section.section.name
        mesher = "graded grid" if section.mesher == "grid" else section.mesher
        last = section.passes[-1]
        words = f"{mesher}; {last.triangles} triangles, {last.unknowns} unknowns, {len(section.passes)} passes"
        balance = scientific(f"heat balance {section.balance:.1e}")
        rows.append((name, f"{words}; {balance}{_half(section)}"))
    return [table([("", 48), ("", 120)], rows)]


def _half(section: SectionResult) -> str:
    return "; half of a symmetric section, the numbers are those of the whole" if section.section.mirrored else ""
