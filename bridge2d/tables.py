"""The numbers of a detail as text for the screen and as JSON for other programs.

Last step of the flow: results -> **tables**. What a number is called and how many decimals it has comes from the
nomenclature; a bracket is printed with ±, an estimate with ≈.
"""

from __future__ import annotations

import math
from typing import Any

from bridge2d import nomenclature as n
from bridge2d.airtight_words import NONE_DRAWN, airtight_json, airtight_lines, bodies_of, lacks_airtight_layer
from bridge2d.hatch_words import frame_rows, hatch_json, hatch_rows
from bridge2d.json_values import bracket, millimetres
from bridge2d.module_words import LIMITED, module_json, module_rows
from bridge2d.months_words import months_json, months_lines
from bridge2d.results import (
    Check,
    DetailResult,
    FlankingResult,
    ProbeResult,
    Psi,
    RequirementResult,
    SectionResult,
    TemperatureFactor,
    TraceTerm,
)
from bridge2d.sensitivity_json import sensitivities_json
from bridge2d.sensitivity_screen import sensitivity_lines
from bridge2d.shown_units import IN_SI, DisplayUnits

JSON_UNITS = {
    "system": "SI",
    "l2d": "W/(m·K)",
    "l3d": "W/K",
    "coupling": "W/(m·K)",
    "heat_flows": "W/m",
    "psi": "W/(m·K)",
    "psi_installation": "W/(m·K)",
    "u_installed": "W/(m²·K)",
    "u_section": "W/(m²·K)",
    "resistance": "m²·K/W",
    "chi": "W/K",
    "u_value": "W/(m²·K)",
    "added_transmittance": "W/(m²·K)",
    "per_area": "1/m²",
    "temperature": "°C",
    "surface_resistance": "m²·K/W",
    "length": "mm",
    "lengths": "mm",
    "area": "m²",
    "perimeter": "mm",
    "u_lid": "W/(m²·K)",
    "loss": "W/K",
    "point": "mm",
    "seconds": "s",
    "vapour_pressure": "Pa",
    "saturation_pressure": "Pa",
}
"""Units of the JSON of `solve`, which is SI whatever is shown; lengths in millimetres."""
REVOLUTION_UNITS = {"l3d": "W/K", "coupling": "W/K", "heat_flows": "W", "passes": "W/K", "areas": "m²"}
"""Units of a section of revolution, where they differ."""
ALONE = ("l2d", "l3d", "coupling", "heat_flows", "flanking", "probes", "watched", "mesh", "passes", "balance", "checks")
"""What stands at the top level where there is one section, and is null there where there are several."""

Json = dict[str, Any]


# -- JSON ----------------------------------------------------------------------------------------------------------


def as_json(result: DetailResult) -> Json:
    """All numbers as plain JSON values, without NaN or infinity (null instead).

    Args:
        result: of the whole chain.
    """
    detail = result.detail
    sections = [_section_json(section) for section in result.sections]
    alone = sections[0] if len(sections) == 1 else dict.fromkeys(ALONE)
    document = {
        "title": detail.title,
        "junction": detail.junction,
        "version": result.version,
        "project": detail.project,
        "revision": detail.revision,
        "units": JSON_UNITS,
        **{key: alone[key] for key in ALONE},
        "psi": [{"dimensions": psi.dimensions, **bracket(psi.value)} for psi in result.psi],
        "psi_trace": [_trace_json(psi) for psi in result.psi],
        **_installed_json(result),
        "hatch": hatch_json(result),
        "u_section": module_json(result.u_section),
        "chi": _chi_json(result),
        "f_rsi": [_factor_json(factor) for factor in result.f_rsi],
        "requirements": [_requirement_json(one) for one in result.requirements],
        "climate": months_json(result.by_month),
        "sections": sections,
        "warnings": [warning for section in result.sections for warning in section.warnings],
        "notes": list(detail.notes),
        "cautions": list(detail.cautions),
        "seconds": result.seconds,
        "input_hash": result.input_hash,
    }
    if result.sensitivities is not None:
        document["sensitivities"] = sensitivities_json(result.sensitivities)
    cleaned: Json = _finite(document)
    return cleaned


def _section_json(section: SectionResult) -> Json:
    last = section.passes[-1]
    return {
        "name": section.section.name,
        "title": section.section.title,
        "mesher": section.mesher,
        "revolution": section.section.revolution,
        "l2d": bracket(section.l2d) if section.l2d and not section.section.revolution else None,
        "l3d": bracket(section.l2d) if section.l2d and section.section.revolution else None,
        **({"units": REVOLUTION_UNITS} if section.section.revolution else {}),
        "coupling": [{"from": c.start, "to": c.end, **bracket(c.coefficient)} for c in section.coupling],
        "heat_flows": [
            {"environment": h.environment, "flow": h.flow.value, "lower": h.flow.lower, "upper": h.flow.upper}
            for h in section.heat_flows
        ],
        "flanking": [_flanking_json(element, section.section.revolution) for element in section.flanking],
        "f_rsi": [_factor_json(factor) for factor in section.f_rsi],
        "probes": [_probe_json(probe) for probe in section.probes],
        "watched": [_probe_json(line) for line in section.watched],
        "mesh": {"triangles": last.triangles, "unknowns": last.unknowns},
        "passes": [
            {"triangles": p.triangles, "unknowns": p.unknowns, "lower": p.lower, "upper": p.upper}
            for p in section.passes
        ],
        "balance": section.balance,
        "checks": [_check_json(check) for check in section.checks],
        "warnings": list(section.warnings),
        "airtight": airtight_json(section.airtight),
    }


def _terms_json(terms: tuple[TraceTerm, ...]) -> list[Json]:
    return [{"name": t.name, "u_value": t.u_value, "length": millimetres(t.length)} for t in terms]


def _areas_json(terms: tuple[TraceTerm, ...]) -> list[Json]:
    return [{"name": t.name, "u_value": t.u_value, "area": t.length} for t in terms]


def _trace_json(psi: Psi) -> Json:
    repeated = psi.chi_over_spacing
    return {
        "dimensions": psi.dimensions,
        "l2d": bracket(psi.l2d),
        "terms": _terms_json(psi.terms),
        "chi_over_spacing": bracket(repeated) if repeated else None,
        "reference_l2d": bracket(psi.reference_l2d) if psi.reference_l2d else None,
    }


def _installed_json(result: DetailResult) -> Json:
    """Ψ of installation side by side, their mean, and the window; empty and null where nothing is installed."""
    window, mean, u_value = result.detail.window, result.psi_installation, result.u_installed
    return {
        "installations": [
            {
                "name": side.name,
                "psi": bracket(side.psi),
                "length": millimetres(side.length),
                "section": side.section,
                "reference": side.reference,
                "l2d": bracket(side.l2d),
                "reference_l2d": bracket(side.reference_l2d),
                "terms": _terms_json(side.terms),
            }
            for side in result.installations
        ],
        "psi_installation": bracket(mean) if mean else None,
        "window": {"u_value": window.u_window, "area": window.area} if window else None,
        "u_installed": bracket(u_value) if u_value else None,
        "u_frame": bracket(result.u_frame) if result.u_frame else None,
    }


def _chi_json(result: DetailResult) -> Json | None:
    chi = result.chi
    if chi is None:
        return None
    return {
        **bracket(chi.value),
        "l3d" if chi.of_revolution else "l2d": bracket(chi.l2d),
        "terms": _areas_json(chi.terms) if chi.of_revolution else _terms_json(chi.terms),
        "depth": millimetres(chi.depth),
        "spacing": millimetres(chi.spacing) if chi.spacing is not None else None,
        "per_area": chi.per_area,
        "added_transmittance": bracket(chi.added_transmittance) if chi.added_transmittance else None,
    }


def _flanking_json(element: FlankingResult, of_revolution: bool = False) -> Json:
    lengths = {system: millimetres(length) for system, length in element.lengths.items()}
    return {
        "name": element.name,
        "u_value": element.u_value,
        **({"areas": dict(element.lengths)} if of_revolution else {"lengths": lengths}),
        "environments": list(element.environments),
        "layers": [
            {"name": layer.name, "thickness": millimetres(layer.thickness), "conductivity": layer.conductivity}
            for layer in element.layers
        ],
    }


def _factor_json(factor: TemperatureFactor) -> Json:
    return {
        "environment": factor.environment,
        "value": factor.value,
        "temperature": factor.temperature,
        "point": [millimetres(x) for x in factor.point],
        "surface_resistance": factor.surface_resistance,
        "tolerance": factor.tolerance,
        "section": factor.section,
    }


def _probe_json(probe: ProbeResult) -> Json:
    return {
        "name": probe.name,
        "temperature": probe.temperature,
        "temperature_f_rsi": probe.temperature_f_rsi,
        "tolerance": probe.tolerance,
        "point": [millimetres(x) for x in probe.point],
    }


def _check_json(check: Check) -> Json:
    return {"name": check.name, "asked": check.asked, "found": check.found, "met": check.met, "source": check.source}


def _requirement_json(one: RequirementResult) -> Json:
    requirement = one.requirement
    return {
        "name": requirement.name,
        "quantity": requirement.quantity,
        "dimensions": requirement.dimensions or None,
        "sense": requirement.sense,
        "limit": requirement.limit,
        "value": one.value,
        "met": one.met,
        "certain": one.certain,
        "source": requirement.source,
    }


def _finite(value: Any) -> Any:
    """The value with null for every number that JSON has no sign for."""
    if isinstance(value, dict):
        return {key: _finite(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [_finite(one) for one in value]
    if isinstance(value, bool) or value is None or isinstance(value, str | int):
        return value
    number = float(value)  # numpy's floats too
    return number if math.isfinite(number) else None


# -- the screen ----------------------------------------------------------------------------------------------------

Row = tuple[str, str, str]
"""Name, value with unit, and whether it is bounded, estimated or given."""


def as_text(result: DetailResult, shown: DisplayUnits = IN_SI) -> str:
    """All numbers as aligned text, each with its unit and how sure it is.

    Args:
        result: of the whole chain.
        shown: units of everything that is written.
    """
    detail = result.detail
    heading = [detail.title, "=" * min(len(detail.title), 100)]
    about = (detail.project, detail.revision and f"revision {detail.revision}", detail.author, detail.date)
    if any(about):
        heading.append(" · ".join(text for text in about if text))
    blocks = [heading, _columns(_detail_rows(result, shown))]
    for section in result.sections:
        title = f"Section {section.section.name}" if len(result.sections) > 1 else "Section"
        axes = [f"  places: {section.section.axes}"] if section.section.axes else []
        blocks.append([title, *_columns(section_rows(section, shown)), *axes])
        blocks.append(check_lines(section, shown))
        blocks.append(_airtight_lines(section, shown))
    if lacks_airtight_layer(result):
        blocks.append(["Airtight layer", f"  {NONE_DRAWN}"])
    if result.requirements:
        blocks.append(["Requirements", *(requirement_line(one, shown) for one in result.requirements)])
    if result.by_month is not None:
        blocks.append(["Climate by month", *(f"  {line}" for line in months_lines(result.by_month, shown))])
    if result.sensitivities is not None:
        blocks.append(sensitivity_lines(result.sensitivities, shown))
    blocks.append([f"Caution: {shown.sentence(caution)}" for caution in detail.cautions])
    blocks.append(
        [
            "bounded: the true value of this section lies within ±, for certain; estimated (≈): from two refinements.",
            f"Computed in {result.seconds:.2f} s by bridge2d {result.version}.",
        ]
    )
    return "\n\n".join("\n".join(block) for block in blocks if block)


def _columns(rows: list[Row]) -> list[str]:
    if not rows:
        return []
    first = max(len(row[0]) for row in rows)
    second = max(len(row[1]) for row in rows)
    return [f"  {a:<{first}}  {b:<{second}}  {c}".rstrip() for a, b, c in rows]


def _spoken(dimensions: str) -> str:
    return dimensions.replace("_", " ")


def detail_rows(result: DetailResult, shown: DisplayUnits = IN_SI) -> list[tuple[str, str, str]]:
    """The detail's own numbers, those of its sections not among them: name, value with unit, how sure it is.

    Args:
        result: of the whole chain.
        shown: units of everything that is written.
    """
    return _detail_rows(result, shown)


def _detail_rows(result: DetailResult, shown: DisplayUnits) -> list[Row]:
    rows = (
        _installed_rows(result, shown)
        or module_rows(result.u_section, shown)
        or [
            (f"Ψ, {_spoken(p.dimensions)} dimensions", shown.bounded(n.PSI, p.value.lower, p.value.upper), "bounded")
            for p in result.psi
        ]
    )
    if result.chi is not None:
        value = result.chi.value
        quantity = n.point_transmittance(result.chi.of_revolution)
        rows.append(("χ of one piece", shown.bounded(quantity, value.lower, value.upper), "bounded"))
    if result.chi is not None and result.chi.added_transmittance is not None:
        added = result.chi.added_transmittance
        name = f"ΔU of {shown.value(n.NUMBER_PER_AREA, result.chi.per_area or 0.0)}"
        rows.append((name, shown.bounded(n.ADDED_TRANSMITTANCE, added.lower, added.upper), "bounded"))
    rows += hatch_rows(result, shown)
    many = len(result.sections) > 1
    for factor in result.f_rsi:
        where = f" ({factor.section})" if many and factor.section else ""
        name = f"{n.F_RSI.plain_symbol}, {factor.environment}{where}"
        rows.append((name, shown.estimate(n.F_RSI, factor.value, factor.tolerance), "estimated"))
        coldest = shown.value(n.SURFACE_TEMPERATURE, factor.temperature)
        at = f"at {shown.place(factor.point)}"
        rows.append(("  lowest surface temperature", f"≈ {coldest}", f"estimated, {at}"))
    for name in dict.fromkeys(line.name for section in result.sections for line in section.watched):
        lines = [line for section in result.sections for line in section.watched if line.name == name]
        coldest_line = min(lines, key=lambda line: line.temperature_f_rsi)
        value_there = shown.estimate(n.TEMPERATURE, coldest_line.temperature_f_rsi, coldest_line.tolerance)
        where = f", {coldest_line.section}" if many else ""
        rows.append((f"{name}, lowest", value_there, f"estimated, with the surface resistances of fRsi{where}"))
    return rows


def _installed_rows(result: DetailResult, shown: DisplayUnits) -> list[Row]:
    """Ψ of installation, where the dimension systems make no difference, and U of the installed window."""
    rows: list[Row] = []
    for side in result.installations:
        psi = shown.bounded(n.PSI, side.psi.lower, side.psi.upper)
        rows.append((f"Ψ of installation, {side.name}", psi, f"bounded; {shown.length(side.length)}"))
    mean, u_value, window = result.psi_installation, result.u_installed, result.detail.window
    if mean is not None:
        rows.append(("Ψ of installation, mean", shown.bounded(n.PSI, mean.lower, mean.upper), "bounded"))
    u_frame = result.u_frame
    if window is not None:
        rows += frame_rows(result, shown)
        how = "exact" if u_frame is None else "with the middle of the frame's bracket"
        rows.append(("U of the window alone", shown.value(n.U_VALUE, window.u_window), how))
    if u_value is not None:
        rows.append(("U of the installed window", shown.bounded(n.U_VALUE, u_value.lower, u_value.upper), "bounded"))
    return rows


def section_rows(section: SectionResult, shown: DisplayUnits = IN_SI) -> list[Row]:
    """The numbers of one section: name, value with unit, how sure it is.

    Args:
        section: with its numbers.
        shown: units of everything that is written.
    """
    rows: list[Row] = []
    revolution = section.section.revolution
    coupling = n.coupling(revolution)
    if section.l2d is not None:
        rows.append((coupling.plain_symbol, shown.bounded(coupling, section.l2d.lower, section.l2d.upper), "bounded"))
    else:
        rows.extend(
            (
                f"coupling {c.start} – {c.end}",
                shown.bounded(coupling, c.coefficient.lower, c.coefficient.upper),
                "bounded",
            )
            for c in section.coupling
        )
    for flow in section.heat_flows:
        value = shown.bounded(n.heat_flow(revolution), flow.flow.lower, flow.flow.upper)
        rows.append((f"heat flow from {flow.environment}", value, "bounded"))
    for element in section.flanking:
        if revolution:
            lengths = f"A = {shown.value(n.AREA, element.lengths['external'])}"
        else:
            lengths = ", ".join(f"{_spoken(k)} {shown.length(v)}" for k, v in element.lengths.items())
        rows.append((f"U of {element.name}", shown.value(n.U_VALUE, element.u_value), f"exact; {lengths}"))
    for probe in (*section.probes, *section.watched):
        kind = "temperature at" if probe in section.probes else "lowest temperature along"
        value = shown.estimate(n.TEMPERATURE, probe.temperature, probe.tolerance)
        rows.append((f"{kind} {probe.name}", value, "estimated"))
    last = section.passes[-1]
    rows.append(("mesh", f"{last.triangles} triangles", f"{section.mesher}, {len(section.passes)} passes"))
    return rows


def check_lines(section: SectionResult, shown: DisplayUnits = IN_SI) -> list[str]:
    """Rules that are broken or cannot be judged, and warnings, under a heading; a rule that is kept needs no line.

    Args:
        section: with its numbers.
        shown: units of everything that is written.
    """
    lines = []
    for check in section.checks:
        if check.met is not True:
            verdict = "not kept" if check.met is False else "not judged"
            lines.append(
                f"  {verdict}: {check.name}: asked {shown.sentence(check.asked)}, found {shown.sentence(check.found)}"
            )
    lines.extend(f"  warning: {shown.sentence(warning)}" for warning in section.warnings)
    return ["Checks", *lines] if lines else []


def _airtight_lines(section: SectionResult, shown: DisplayUnits) -> list[str]:
    return (
        [
            "Airtight layer",
            *(f"  {line}" for line in airtight_lines(section.airtight, shown, bodies_of(section.section))),
        ]
        if section.airtight
        else []
    )


def requirement_line(one: RequirementResult, shown: DisplayUnits = IN_SI) -> str:
    """A limit, what was found, and whether it is kept, on one line.

    Args:
        one: the limit and its verdict.
        shown: units of limit and value.
    """
    requirement = one.requirement
    quantity = LIMITED[requirement.quantity]
    limit, value = shown.value(quantity, requirement.limit), shown.value(quantity, one.value)
    if one.met:
        verdict = "met"
    else:
        verdict = "NOT MET" if one.certain else "UNDECIDED (the limit lies within the bracket or tolerance)"
    return f"  {verdict}: {requirement.name}: {requirement.sense} {limit}, found {value} ({requirement.source})"
