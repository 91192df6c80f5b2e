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

INSIDE = 155.0
"""Width within the box of results [mm]."""


def opening(result: DetailResult) -> list[Block]:
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
    return [title, *lines, Space(7.0), result_box(result), *_verdict_notes(result)]


def result_box(result: DetailResult) -> Boxed:
    """The numbers and the verdicts."""
    blocks: list[Block] = [_numbers(result)]
    if result.requirements:
        blocks.append(_requirements(result))
    else:
        blocks.append(
            paragraph("No limit was given in the detail file, so there is no verdict.", width=INSIDE, after=0.0)
        )
    return Boxed(tuple(blocks))


Row = tuple[Words, ...]


def _numbers(result: DetailResult) -> Table:
    rows = _transmittances(result) or [row for section in result.sections for row in _flows(section)]
    rows += _factors(result) + _watched(result)
    return table([("", 9), ("result", 60), ("", 40), ("kind", 14)], rows, width=INSIDE)


def _transmittances(result: DetailResult) -> list[Row]:
    """Ψ in every dimension system, and χ; of a window Ψ of every side, their mean, and U as installed; U of a wall."""
    if result.installations:
        return _installed(result)
    if result.u_section:
        return opening_rows(result.u_section)
    rows: list[Row] = [
        (
            psi_symbol(psi.dimensions),
            f"{n.PSI.spoken}, {SYSTEMS[psi.dimensions]} dimensions",
            bounded(n.PSI, psi.value),
            "bracket",
        )
        for psi in result.psi
    ]
    if result.chi:
        rows.append((symbol(n.CHI), f"{n.CHI.spoken} of one piece", bounded(n.CHI, result.chi.value), "bracket"))
    return rows


def _installed(result: DetailResult) -> list[Row]:
    rows: list[Row] = [
        (symbol(n.PSI), f"{n.PSI.spoken} of installation, {side.name}", bounded(n.PSI, side.psi), "bracket")
        for side in result.installations
    ]
    if result.psi_installation:
        name = f"{n.PSI.spoken} of installation, mean by length"
        rows.append((symbol(n.PSI), name, bounded(n.PSI, result.psi_installation), "bracket"))
    if result.u_installed:
        name = f"{n.U_VALUE.spoken} of the window as installed"
        rows.append((symbol(n.U_VALUE), name, bounded(n.U_VALUE, result.u_installed), "bracket"))
    return rows


def _flows(section: SectionResult) -> list[Row]:
    """L2D of a section, or its heat flows where it has none."""
    name = section.section.title or section.section.name
    if section.l2d:
        return [(symbol(n.L2D), f"{n.L2D.spoken}, {name}", bounded(n.L2D, section.l2d), "bracket")]
    return [
        (
            symbol(n.LINEAR_HEAT_FLOW),
            f"heat flow from {flow.environment}, {name}",
            bounded(n.LINEAR_HEAT_FLOW, flow.flow),
            "bracket",
        )
        for flow in section.heat_flows
    ]


def _factors(result: DetailResult) -> list[Row]:
    """The lowest temperature factor of each environment."""
    return [
        (
            symbol(n.F_RSI),
            f"{n.F_RSI.spoken} of {factor.environment}, lowest, in {factor.section}",
            estimate(n.F_RSI, factor.value, factor.tolerance),
            "estimate",
        )
        for factor in lowest_factors(result)
    ]


def _watched(result: DetailResult) -> list[Row]:
    """The lowest temperature along each watched line."""
    rows: list[Row] = []
    for name in dict.fromkeys(line.name for section in result.sections for line in section.watched):
        lines = [line for section in result.sections for line in section.watched if line.name == name]
        coldest = min(lines, key=lambda line: line.temperature)
        what = f"lowest temperature along {name}, in {coldest.section}"
        shown = estimate(n.TEMPERATURE, coldest.temperature, coldest.tolerance)
        rows.append((symbol(n.TEMPERATURE), what, shown, "estimate"))
    return rows


def lowest_factors(result: DetailResult) -> list[TemperatureFactor]:
    """The lowest temperature factor of each environment."""
    names = dict.fromkeys(factor.environment for factor in result.f_rsi)
    return [min((f for f in result.f_rsi if f.environment == name), key=lambda f: f.value) for name in names]


def _requirements(result: DetailResult) -> Table:
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
                runs(name, firm(f" {sense} "), value(quantity, asked.limit)),
                value(quantity, one.value),
                asked.source,
            )
        )
    columns = [("verdict", 22), ("requirement", 34), ("limit", 36), ("value", 27), ("source of the limit", 36)]
    return table(columns, rows, width=INSIDE)


def _verdict_notes(result: DetailResult) -> list[Block]:
    words = (
        "“Met” and “not met” hold for every value within the bracket or the tolerance. “Undecided” says that the limit "
        "itself lies within it: compute to a smaller tolerance."
    )
    found: list[Block] = [paragraph(words, size=8.0, colour=GREY)] if result.requirements else []
    found += [paragraph(runs(Run("Note  ", "bold", colour=ACCENT), warning)) for warning in _warnings(result)]
    return found


def _warnings(result: DetailResult) -> list[str]:
    return [f"{s.section.title or s.section.name}: {warning}" for s in result.sections for warning in s.warnings]
