"""The report's first chapter: what was computed, what came out, and which limits are kept."""

from __future__ import annotations

from bridge2d import nomenclature as n
from bridge2d.drawing.colours import ACCENT, GREY
from bridge2d.drawing.scene import Run, runs
from bridge2d.report.layout import Block, Boxed, Paragraph, Space, paragraph
from bridge2d.report.module_pages import opening_rows
from bridge2d.report.tables import Table, table
from bridge2d.report.text import Words, wrapped
from bridge2d.report.words import (
    SYSTEMS,
    bounded,
    estimate,
    firm,
    psi_symbol,
    quantity_of,
    symbol,
    value,
    verdict,
)
from bridge2d.results import DetailResult, SectionResult, TemperatureFactor
from bridge2d.shown_units import IN_SI, DisplayUnits

INSIDE = 155.0
"""Width within the box of results [mm]."""


def opening(result: DetailResult, shown: DisplayUnits = IN_SI) -> list[Block]:
    """Title, whose it is, and the box of results."""
    detail = result.detail
    title = Paragraph(wrapped((Run(detail.title),), 21.0, 168.0), 21.0, after=1.5)
    facts = [
        ("junction", detail.junction.replace("_", " ")),
        ("project", detail.project),
        ("revision", detail.revision),
        ("author", detail.author),
        ("date", detail.date),
        ("sections", ", ".join(section.title or section.name for section in detail.sections)),
    ]
    lines: list[Block] = [
        paragraph(words, size=9.0, width=168.0, mark=name, indent=22.0, after=0.4) for name, words in facts if words
    ]
    return [title, *lines, Space(7.0), result_box(result, shown), *_verdict_notes(result, shown)]


def result_box(result: DetailResult, shown: DisplayUnits = IN_SI) -> Boxed:
    """The numbers and the verdicts."""
    blocks: list[Block] = [_numbers(result, shown)]
    if result.requirements:
        blocks.append(_requirements(result, shown))
    else:
        blocks.append(
            paragraph("No limit was given in the detail file, so there is no verdict.", width=INSIDE, after=0.0)
        )
    return Boxed(tuple(blocks))


Row = tuple[Words, ...]


def _numbers(result: DetailResult, shown: DisplayUnits) -> Table:
    rows = _transmittances(result, shown) or [row for section in result.sections for row in _flows(section, shown)]
    rows += _hatch(result, shown) + _factors(result, shown) + _watched(result, shown)
    return table([("", 9), ("result", 60), ("", 40), ("kind", 14)], rows, width=INSIDE)


def _transmittances(result: DetailResult, shown: DisplayUnits) -> list[Row]:
    """Ψ in every dimension system, and χ; of a window Ψ of every side, their mean, and U as installed; U of a wall."""
    if result.installations:
        return _installed(result, shown)
    if result.u_section:
        return opening_rows(result.u_section, shown)
    rows: list[Row] = [
        (
            psi_symbol(psi.dimensions),
            f"{n.PSI.spoken}, {SYSTEMS[psi.dimensions]} dimensions",
            bounded(n.PSI, psi.value, shown),
            "bracket",
        )
        for psi in result.psi
    ]
    if result.chi:
        quantity = n.point_transmittance(result.chi.of_revolution)
        what = f"{n.CHI.spoken} of one piece"
        rows.append((symbol(n.CHI), what, bounded(quantity, result.chi.value, shown), "bracket"))
    if result.chi and result.chi.added_transmittance:
        name = f"added to U by {shown.value(n.NUMBER_PER_AREA, result.chi.per_area or 0.0)} pieces"
        added = bounded(n.ADDED_TRANSMITTANCE, result.chi.added_transmittance, shown)
        rows.append((symbol(n.ADDED_TRANSMITTANCE), name, added, "bracket"))
    return rows


def _installed(result: DetailResult, shown: DisplayUnits) -> list[Row]:
    rows: list[Row] = [
        (symbol(n.PSI), f"{n.PSI.spoken} of installation, {side.name}", bounded(n.PSI, side.psi, shown), "bracket")
        for side in result.installations
    ]
    if result.psi_installation:
        name = f"{n.PSI.spoken} of installation, mean by length"
        rows.append((symbol(n.PSI), name, bounded(n.PSI, result.psi_installation, shown), "bracket"))
    if result.u_installed:
        name = f"{n.U_VALUE.spoken} of the window as installed"
        rows.append((symbol(n.U_VALUE), name, bounded(n.U_VALUE, result.u_installed, shown), "bracket"))
    return rows


def _hatch(result: DetailResult, shown: DisplayUnits) -> list[Row]:
    """U of a hatch's lid, the hatch's loss, and fRsi of its surfaces."""
    found = result.hatch
    if found is None:
        return []
    rows: list[Row] = [
        (symbol(n.U_VALUE), f"{n.U_VALUE.spoken} of the lid", value(n.U_VALUE, found.u_lid, shown), "exact"),
        (
            runs(Run("H", "italic")),
            "loss of the whole hatch, without its corners",
            bounded(n.COUPLING_3D, found.loss, shown),
            "bracket",
        ),
    ]
    for factor in found.factors:
        words = f"{n.F_RSI.spoken} on the {factor.name.removeprefix('the ')}, lowest"
        rows.append((symbol(n.F_RSI), words, estimate(n.F_RSI, factor.value, factor.tolerance, shown), "estimate"))
    return rows


def _flows(section: SectionResult, shown: DisplayUnits) -> list[Row]:
    """L2D of a section, or its heat flows where it has none."""
    name = section.section.title or section.section.name
    if section.l2d:
        coupling = n.coupling(section.section.revolution)
        return [(symbol(coupling), f"{coupling.spoken}, {name}", bounded(coupling, section.l2d, shown), "bracket")]
    return [
        (
            symbol(n.heat_flow(section.section.revolution)),
            f"heat flow from {flow.environment}, {name}",
            bounded(n.heat_flow(section.section.revolution), flow.flow, shown),
            "bracket",
        )
        for flow in section.heat_flows
    ]


def _factors(result: DetailResult, shown: DisplayUnits) -> list[Row]:
    """The lowest temperature factor of each environment."""
    return [
        (
            symbol(n.F_RSI),
            f"{n.F_RSI.spoken} of {factor.environment}, lowest, in {factor.section}",
            estimate(n.F_RSI, factor.value, factor.tolerance, shown),
            "estimate",
        )
        for factor in lowest_factors(result)
    ]


def _watched(result: DetailResult, shown: DisplayUnits) -> list[Row]:
    """The lowest temperature along each watched line; a hatch's surfaces have their factors instead."""
    rows: list[Row] = []
    if result.hatch is not None:
        return rows
    for name in dict.fromkeys(line.name for section in result.sections for line in section.watched):
        lines = [line for section in result.sections for line in section.watched if line.name == name]
        coldest = min(lines, key=lambda line: line.temperature)
        what = f"lowest temperature along {name}, in {coldest.section}"
        lowest = estimate(n.TEMPERATURE, coldest.temperature, coldest.tolerance, shown)
        rows.append((symbol(n.TEMPERATURE), what, lowest, "estimate"))
    return rows


def lowest_factors(result: DetailResult) -> list[TemperatureFactor]:
    """The lowest temperature factor of each environment."""
    names = dict.fromkeys(factor.environment for factor in result.f_rsi)
    return [min((f for f in result.f_rsi if f.environment == name), key=lambda f: f.value) for name in names]


def _requirements(result: DetailResult, shown: DisplayUnits) -> Table:
    rows = []
    for one in result.requirements:
        sign, words = verdict(one)
        asked = one.requirement
        quantity = quantity_of(one)
        name = psi_symbol(asked.dimensions) if asked.dimensions else symbol(quantity)
        sense = "≤" if asked.sense == "maximum" else "≥"
        rows.append(
            (
                runs(Run(f"{sign} {words}", "bold")),
                asked.name or quantity.spoken,
                runs(name, firm(f" {sense} "), value(quantity, asked.limit, shown)),
                value(quantity, one.value, shown),
                asked.source,
            )
        )
    names = ("verdict", "requirement", "limit", "value", "source of the limit")
    columns = list(zip(names, (22, 34, 36, 27, 36) if shown.is_si else (19, 31, 40, 34, 31), strict=True))
    return table(columns, rows, width=INSIDE)


def _verdict_notes(result: DetailResult, shown: DisplayUnits) -> list[Block]:
    words = (
        "“Met” and “not met” hold for every value within the bracket or the tolerance. “Undecided” says that the limit "
        "itself lies within it: compute to a smaller tolerance."
    )
    found: list[Block] = [paragraph(words, size=8.0, colour=GREY)] if result.requirements else []
    found += [
        paragraph(runs(Run("Note  ", "bold", colour=ACCENT), shown.sentence(warning))) for warning in _warnings(result)
    ]
    return found


def _warnings(result: DetailResult) -> list[str]:
    return [f"{s.section.title or s.section.name}: {warning}" for s in result.sections for warning in s.warnings]
