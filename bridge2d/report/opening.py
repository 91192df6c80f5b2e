"""The report's first chapter: what was computed, what came out, and which limits are kept."""

from __future__ import annotations

from bridge2d import nomenclature as n
from bridge2d.detail import Detail
from bridge2d.drawing.colours import ACCENT, GREY
from bridge2d.drawing.scene import Run, runs
from bridge2d.report.layout import WIDTH, Block, Boxed, Paragraph, Space, paragraph
from bridge2d.report.limits_kept import OF_VERDICTS, has_limits, limits_kept
from bridge2d.report.module_pages import opening_rows
from bridge2d.report.tables import Table, table
from bridge2d.report.text import Words, wrapped
from bridge2d.report.words import (
    FIRM,
    SYSTEMS,
    bounded,
    estimate,
    psi_symbol,
    symbol,
    value,
)
from bridge2d.results import DetailResult, SectionResult, TemperatureFactor
from bridge2d.shown_units import IN_SI, DisplayUnits

INSIDE = 158.0
"""Width within the box of results [mm]."""
TITLE_SIZES = (21.0, 17.0, 14.0)
"""Type sizes of the title, the next one where it would have more than two lines [pt]."""


def opening(result: DetailResult, shown: DisplayUnits = IN_SI) -> list[Block]:
    """Title, whose it is, the box of results and verdicts, and what has to be said of them."""
    detail = result.detail
    size = next((size for size in TITLE_SIZES if len(wrapped((Run(detail.title),), size, WIDTH)) <= 2), TITLE_SIZES[-1])
    title = Paragraph(wrapped((Run(detail.title),), size, WIDTH), size, after=1.5)
    facts = [
        ("junction", runs(detail.junction.replace("_", " "))),
        ("project", runs(detail.project)),
        _edition(detail),
        ("sections", runs(", ".join(section.title or section.name for section in detail.sections))),
    ]
    lines: list[Block] = [
        paragraph(words, size=9.0, width=WIDTH, mark=name, indent=22.0, after=0.2)
        for name, words in facts
        if any(run.text for run in words)
    ]
    return [title, *lines, Space(4.0), result_box(result, shown), *_notes(result, shown)]


def _edition(detail: Detail) -> tuple[str, tuple[Run, ...]]:
    """Revision, author and date in one line."""
    given = [("revision", detail.revision), ("author", detail.author), ("date", detail.date)]
    (first, words), *others = [(name, words) for name, words in given if words] or [("", "")]
    more = [(Run(f"      {name}{FIRM}{FIRM}", colour=ACCENT), Run(said)) for name, said in others]
    return first, runs(words, *more)


def result_box(result: DetailResult, shown: DisplayUnits = IN_SI) -> Boxed:
    """The numbers and the verdicts."""
    none = "No limit was given in the detail file, so there is no verdict."
    limits: Block = (
        limits_kept(result, INSIDE, shown) if has_limits(result) else paragraph(none, width=INSIDE, after=0.0)
    )
    return Boxed((_numbers(result, shown), limits), pad=3.0, divisible=True)


Row = tuple[Words, ...]


def _numbers(result: DetailResult, shown: DisplayUnits) -> Table:
    rows = _transmittances(result, shown) or [row for section in result.sections for row in _flows(section, shown)]
    rows += _hatch(result, shown) + _factors(result, shown) + _watched(result, shown)
    return table([("", 9), ("result", 83), ("value", 50), ("kind", 16)], rows, width=INSIDE)


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
    of_lid = f"{n.U_VALUE.spoken} of the lid"
    exact = (symbol(n.U_VALUE), of_lid, value(n.U_VALUE, found.u_lid.value, shown), "formula")
    rows: list[Row] = [
        (symbol(n.U_VALUE), of_lid, bounded(n.U_VALUE, found.u_lid, shown), "bracket") if result.u_frame else exact,
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
    glazed = bool(result.installations) or (result.detail.hatch is not None and result.detail.hatch.edge is not None)
    without = ", without the spacer at the glazing's edge" if glazed else ""
    return [
        (
            symbol(n.F_RSI),
            f"{n.F_RSI.spoken} of {factor.environment}, lowest, in {factor.section}{without}",
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
        coldest = min(lines, key=lambda line: line.temperature_f_rsi)
        what = f"lowest temperature along {name}, in {coldest.section}, as for {n.F_RSI.plain_symbol}"
        lowest = estimate(n.TEMPERATURE, coldest.temperature_f_rsi, coldest.tolerance, shown)
        rows.append((symbol(n.TEMPERATURE), what, lowest, "estimate"))
    return rows


def lowest_factors(result: DetailResult) -> list[TemperatureFactor]:
    """The lowest temperature factor of each environment."""
    names = dict.fromkeys(factor.environment for factor in result.f_rsi)
    return [min((f for f in result.f_rsi if f.environment == name), key=lambda f: f.value) for name in names]


def dew_words(result: DetailResult, shown: DisplayUnits = IN_SI) -> list[str]:
    """A sentence for every environment whose air condenses on its coldest surface; the place may lie in any section.

    Args:
        result: all numbers of the detail.
        shown: units of everything that is written.
    """
    found = []
    for factor in lowest_factors(result):
        dew = result.environment_of(factor).dew_point
        if dew is not None and factor.temperature < dew:
            coldest, limit = (value(n.SURFACE_TEMPERATURE, one, shown) for one in (factor.temperature, dew))
            found.append(
                f"Condensation: the coldest surface, {coldest}, is below the dew point of the air there, {limit}; in "
                "these conditions water stands on it."
            )
    return found


def _notes(result: DetailResult, shown: DisplayUnits) -> list[Block]:
    found: list[Block] = []
    if result.requirements:
        found.append(paragraph(OF_VERDICTS, size=7.5, width=WIDTH, colour=GREY))
    return found + [
        paragraph(runs(Run("Note  ", "bold", colour=ACCENT), shown.sentence(warning)), width=WIDTH)
        for warning in (*dew_words(result, shown), *_warnings(result))
    ]


def _warnings(result: DetailResult) -> list[str]:
    return [f"{s.section.title or s.section.name}: {warning}" for s in result.sections for warning in s.warnings]
