"""The report's chapters on what went in: parameters, materials, conditions, flanking elements."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

from bridge2d import nomenclature as n
from bridge2d.detail import Detail, Section
from bridge2d.drawing.scene import Run, runs, symbol_runs
from bridge2d.drawing.shown_materials import GIVEN, is_given
from bridge2d.materials import Material
from bridge2d.report.layout import WIDTH, Block, Heading, paragraph
from bridge2d.report.surface_reasons import surface_reasons
from bridge2d.report.tables import table
from bridge2d.report.text import Words
from bridge2d.report.words import SYSTEMS, exact, length, metres, said, symbol, typed, value, with_firm_units
from bridge2d.results import DetailResult, FlankingResult
from bridge2d.shown_units import IN_SI, DisplayUnits


def parameters(detail: Detail) -> list[Block]:
    """The table of parameters."""
    if not detail.parameters:
        return [paragraph("The detail was drawn freely and has no parameters; its shapes stand in the detail file.")]
    rows: list[tuple[Words, ...]] = [
        (symbol_runs(mark) if mark else "", label, typed(words))
        for mark, label, words in detail.parameters
        if (mark, label) not in detail.unused
    ]
    found: list[Block] = [table([("symbol", 18), ("parameter", 62), ("value", 88)], rows)]
    if detail.undrawn:
        marks = [runs(*symbol_runs(mark), f" ({label})") for mark, label, _ in detail.undrawn]
        listed = [run for k, one in enumerate(marks) for run in (*runs(", " if k else ""), *one)]
        words = runs("At no dimension of the drawings, as across them or no length: ", *listed, ".")
        found.append(paragraph(words, size=8.0))
    unused = "; ".join(dict.fromkeys(label for mark, label, _ in detail.parameters if (mark, label) in detail.unused))
    if unused:
        found.append(
            paragraph(f"Without effect here, as the piece is not there or another choice was made: {unused}.", size=8.0)
        )
    return found


MATERIALS_IN_INCH_POUND = (32.0, 31.5, 31.5, 26.0, 22.0)
"""Widths of columns of the table of materials, whose units are longer there [mm]."""
QUOTED = (
    "A source is quoted with its own SI numbers in square brackets. Conductivities that stand in it without a unit are "
    "in watts per metre and kelvin."
)


def materials(numbers: Mapping[Material, int], shown: DisplayUnits = IN_SI) -> list[Block]:
    """The table of materials with their sources.

    Args:
        numbers: of the materials as they are shown, see `shown_materials`.
        shown: units of everything that is written.
    """
    order = sorted(numbers.items(), key=lambda item: item[1])
    grained = any(material.conductivity_along is not None for material, _ in order)
    name, across, along, spread, source = (43.0, 25.0, 27.0, 26.0, 22.0) if shown.is_si else MATERIALS_IN_INCH_POUND
    columns: list[tuple[Words, float] | tuple[Words, float, str]] = [
        ("no.", 9),
        ("material", name),
        (symbol(n.CONDUCTIVITY), across),
        *([(runs(symbol(n.CONDUCTIVITY), " along the grain"), along)] if grained else []),
        ("values of the trade", spread),
        (symbol(n.VAPOUR_FACTOR), 16),
        ("source", source),
    ]
    note = (
        f"λ is the design thermal conductivity{', across the grain where there is one' if grained else ''}. μ is the "
        "water vapour resistance factor; it does not enter this calculation. “Read” means that the source itself was "
        "read for the catalogue, “remembered” that the value is known from the trade and is to be checked before it "
        "decides anything, “given” that it comes from the detail file."
    )
    sources = [_source(material, number, shown) for material, number in order]
    head = Heading(runs("Sources of the conductivities"), level=2)
    rows = [_material_row(material, number, shown, grained=grained) for material, number in order]
    quoted = [] if shown.is_si else [paragraph(QUOTED, size=8.0)]
    return [table(columns, rows), paragraph(note, size=8.0), head, *quoted, *sources]


def _material_row(material: Material, number: int, shown: DisplayUnits, *, grained: bool) -> tuple[Words, ...]:
    along = (
        value(n.CONDUCTIVITY, material.conductivity_along, shown) if material.conductivity_along is not None else "–"
    )
    vapour = value(n.VAPOUR_FACTOR, material.vapour_factor, shown) if material.vapour_factor is not None else "–"
    across = value(n.CONDUCTIVITY, material.conductivity, shown)
    values: list[Words] = [across, *([along] if grained else []), _spread(material, shown), vapour]
    return (_number(number), shown.made_name(material.name), *values, _known(material))


def _known(material: Material) -> str:
    """Whether the source of a conductivity was read, is remembered, or is the detail file itself."""
    if is_given(material):
        return "given"
    return "read" if material.read else "remembered"


def _number(number: int) -> tuple[Run, ...]:
    return runs(Run(str(number), "bold"))


def _spread(material: Material, shown: DisplayUnits) -> str:
    """Range of the trade's values."""
    if material.low is None and material.high is None:
        return "–"
    low = value(n.CONDUCTIVITY, material.conductivity if material.low is None else material.low, shown, unit=False)
    high = value(n.CONDUCTIVITY, material.conductivity if material.high is None else material.high, shown, unit=False)
    return f"{low} to {high}" if low != high else low


def _source(material: Material, number: int, shown: DisplayUnits) -> Block:
    words = shown.sentence(material.source.rstrip(".") or GIVEN, both=True)
    text = runs(Run(f"{shown.made_name(material.name)}: "), f"{words}.")
    return paragraph(with_firm_units_of(text), size=7.5, width=WIDTH, mark=str(number), indent=6.0, after=1.0)


def with_firm_units_of(text: tuple[Run, ...]) -> tuple[Run, ...]:
    """Runs in which no line breaks between a number and its unit."""
    return tuple(run._replace(text=with_firm_units(run.text)) for run in text)


def conditions(detail: Detail, shown: DisplayUnits = IN_SI) -> list[Block]:
    """Environments with temperatures and both kinds of surface resistances."""
    rows: list[tuple[Words, ...]] = []
    for section in detail.sections:
        for environment in section.environments:
            for flow, factor, girth in _surfaces(section, environment.name):
                rows.append(
                    (
                        section.title or section.name,
                        environment.name,
                        value(n.EXTERNAL_TEMPERATURE, environment.temperature, shown),
                        value(n.RESISTANCE, flow, shown),
                        value(n.RESISTANCE, factor, shown),
                        value(n.AREA, girth, shown) if section.revolution else metres(girth, shown),
                    )
                )
    columns: list[tuple[Words, float] | tuple[Words, float, str]] = [
        ("section", 40),
        ("environment", 26),
        (symbol(n.TEMPERATURE), 20),
        (runs(Run("R", "italic"), Run("s", subscript=True), " for the heat flow"), 28),
        (runs(Run("R", "italic"), Run("s", subscript=True), " for ", symbol(n.F_RSI)), 28),
        ("area of surface" if all(s.revolution for s in detail.sections) else "length of surface", 26),
    ]
    note = (
        "Two sets of surface resistances, because they answer two questions: how much heat flows, and how cold the "
        "coldest spot of a surface can get. Outlines without an environment are cut-off planes or planes of symmetry "
        "and let no heat through."
    )
    head = Heading(runs("Why these surface resistances"), level=2)
    return [table(columns, rows), head, surface_reasons(detail, shown), paragraph(said(note, shown), size=8.0)]


def _surfaces(section: Section, environment: str) -> list[tuple[float, float, float]]:
    """Pairs of surface resistances of an environment, with the length [m] or area [m²] of surface that has them."""
    girths: dict[tuple[float, float], float] = {}
    for surface in section.surfaces:
        if surface.environment == environment:
            pairs = zip(surface.edge[:-1], surface.edge[1:], strict=True)
            girth = sum(
                math.hypot(b[0] - a[0], b[1] - a[1]) * (math.pi * (a[0] + b[0]) if section.revolution else 1.0)
                for a, b in pairs
            )
            key = (surface.resistance, surface.f_rsi_resistance)
            girths[key] = girths.get(key, 0.0) + girth * (2.0 if section.mirrored else 1.0)
    return [(*key, girth) for key, girth in girths.items()]


LEAST = 1e-9
"""Resistances that differ by less are the same [m²·K/W]."""
R_BY_HAND, LAMBDA_BY_HAND = replace(n.RESISTANCE, decimals=4), replace(n.CONDUCTIVITY, decimals=4)
"""With a decimal more than elsewhere, so that a sum of layers comes out by hand."""
ROUND = (
    "Layers round an axis: with r the outer radius that the area refers to, R = r ln(r_a/r_i)/λ between the radii r_a "
    "and r_i of a layer, and a surface at the radius r_s counts with R_s r/r_s (EN ISO 12241, remembered)."
)


def _u_value() -> tuple[Run, ...]:
    """How U comes about."""
    surface = runs(Run("R", "italic"), Run("s", subscript=True))
    layers = runs("Σ", Run("d", "italic"), "/", Run("λ", "italic"))
    words = (
        ") of the layers that the cut plane runs through (ISO 6946), by formula, so it adds nothing to the bracket. "
    )
    words += "A layer that stands for joists and fill is that of the combined method, whose error is in no bracket."
    return runs(Run("U", "italic"), " = 1/(", surface, " + ", layers, " + ", surface, words)


def flanking(result: DetailResult, shown: DisplayUnits = IN_SI) -> list[Block]:
    """U of every flanking element, layer by layer."""
    found: list[Block] = [paragraph(_u_value())]
    seen: dict[tuple[object, ...], str] = {}
    for section in result.sections:
        for element in section.flanking:
            title = f"{element.name}, {section.section.title or section.section.name}"
            found.append(Heading(runs(title), level=2))
            key = (element.layers, element.resistances, element.environments)
            if key in seen:
                words = f"Layers as in “{seen[key]}”; {value(n.U_VALUE, element.u_value, shown)}."
                found.append(paragraph(words, after=1.0))
            else:
                seen[key] = title
                found.append(layer_table(element, shown))
                found += [paragraph(ROUND, size=8.0)] if _is_round(element) else []
            found.append(paragraph(_lengths(element, section.section.revolution, shown), size=8.0, after=4.0))
    return found


def _is_round(element: FlankingResult) -> bool:
    """Whether its layers lie round an axis, so that R is not d/λ."""
    return any(abs(layer.resistance - layer.thickness / layer.conductivity) > LEAST for layer in element.layers)


def layer_table(element: FlankingResult, shown: DisplayUnits = IN_SI) -> Block:
    """U of an element layer by layer.

    Args:
        element: the element.
        shown: units of everything that is written.
    """

    def only(number: float) -> tuple[Words, ...]:
        return "", "", value(R_BY_HAND, number, shown)

    rows: list[tuple[Words, ...]] = [(f"surface, {element.environments[0]}", *only(element.resistances[0]))]
    rows += [
        (
            shown.made_name(layer.name),
            length(layer.thickness, shown),
            value(LAMBDA_BY_HAND, layer.conductivity, shown),
            value(R_BY_HAND, layer.resistance, shown),
        )
        for layer in element.layers
    ]
    rows.append((f"surface, {element.environments[1]}", *only(element.resistances[1])))
    total = sum(element.resistances) + sum(layer.resistance for layer in element.layers)
    rows.append(("sum", *only(total)))
    rows.append(
        (
            runs(Run("U", "italic"), " = 1/sum"),
            "",
            exact(n.U_VALUE, element.u_value, shown),
            value(n.U_VALUE, element.u_value, shown),
        )
    )
    columns: list[tuple[Words, float] | tuple[Words, float, str]] = [
        ("layer", 66),
        (symbol(n.THICKNESS), 26, "end"),
        (symbol(n.CONDUCTIVITY), 38, "end"),
        (symbol(n.RESISTANCE), 38, "end"),
    ]
    return table(columns, rows, heavy=(len(rows) - 2, len(rows) - 1))


def _lengths(element: FlankingResult, of_revolution: bool, shown: DisplayUnits) -> str:
    lengths = [f"{SYSTEMS[key]} {metres(long, shown)}" for key, long in element.lengths.items() if key in SYSTEMS]
    words = f"Length: {', '.join(lengths)}. " if lengths else ""
    if of_revolution:
        words = f"Area: {exact(n.AREA, element.lengths['external'], shown)}. "
    if element.within:
        return f"{words}It lies within the section and has no cut-off plane."
    plane = (
        "its cut-off plane is a plane of symmetry"
        if element.symmetric
        else (
            f"uniform for {metres(element.uniform_length, shown)} before its cut-off plane, "
            f"{metres(element.required_length, shown)} asked for"
        )
    )
    return f"{words}The element is {plane}." if not element.symmetric else f"{words}Of the element, {plane}."
