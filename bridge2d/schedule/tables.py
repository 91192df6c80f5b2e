"""A building's numbers as JSON for other programs, as text for the screen, and as rows for spreadsheets."""

from __future__ import annotations

from typing import Any

from bridge2d import nomenclature as n
from bridge2d.building.records import Entry, Line, ScheduleResult, Verdict
from bridge2d.json_values import bracket
from bridge2d.module_words import LIMITED
from bridge2d.shown_units import IN_SI, DisplayUnits

UNITS = {
    "psi": "W/(m·K)",
    "chi": "W/K",
    "u_value": "W/(m²·K)",
    "length": "m",
    "area": "m²",
    "loss": "W/K",
    "share": "1",
    "increase": "W/(m²·K)",
    "total": "W/K",
}
"""Units of the JSON."""

Json = dict[str, Any]


def as_json(result: ScheduleResult) -> Json:
    """All numbers of a building as plain JSON values.

    Args:
        result: all sums.
    """
    building = result.building
    return {
        "title": building.title,
        "project": building.project,
        "revision": building.revision,
        "version": result.version,
        "dimensions": building.dimensions,
        "units": UNITS,
        "loss": {**bracket(result.loss), "given": result.given},
        "elements_loss": result.elements,
        "area": result.area or None,
        "increase": bracket(result.increase) if result.increase else None,
        "total": bracket(result.total) if result.total else None,
        "junctions": [_entry(k, entry, result) for k, entry in enumerate(result.entries)],
        "groups": [
            {
                "name": group.name,
                "loss": bracket(group.junctions),
                "elements_loss": group.elements if building.elements else None,
                "area": group.area or None,
                "increase": bracket(group.increase) if group.increase else None,
            }
            for group in result.groups
        ],
        "elements": [
            {"name": e.name, "group": e.group, "area": e.area, "u_value": e.u_value, "loss": e.loss, "source": e.source}
            for e in building.elements
        ],
        "would_help_most": [
            {
                "ref": gain.line.ref,
                "part": gain.line.part,
                "quantity": gain.line.quantity,
                "value": gain.line.value.value,
                "reference": gain.reference,
                "reference_is_limit": gain.limited,
                "excess": gain.excess,
                "saving": gain.saving,
            }
            for gain in result.gains
        ],
        "details": [
            {
                "file": variant.path.name,
                "title": detail.title,
                "input_hash": detail.input_hash,
                "parameters": {key: _plain(value) for key, value in variant.parameters.items()},
            }
            for variant, detail in zip(building.variants, result.details, strict=True)
        ],
        "kept": result.kept,
    }


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {str(key): _plain(one) for key, one in value.items()}
    if isinstance(value, list):
        return [_plain(one) for one in value]
    return value if isinstance(value, str | int | float | bool) else str(value)


def _entry(k: int, entry: Entry, result: ScheduleResult) -> Json:
    junction = entry.junction
    return {
        "ref": junction.ref,
        "name": junction.name,
        "group": junction.group,
        "given": entry.given,
        "detail": junction.variant,
        "loss": bracket(entry.loss),
        "share": entry.share,
        "lines": [_line(line) for line in result.lines if line.entry == k],
        "f_rsi": {"value": entry.f_rsi[0], "tolerance": entry.f_rsi[1]} if entry.f_rsi else None,
        "requirements": [_verdict(verdict) for verdict in entry.verdicts],
        "climate": [_verdict(verdict) for verdict in entry.climate],
    }


def _line(line: Line) -> Json:
    amount = "length" if line.quantity == "psi" else "number"
    numbers = {"value": line.value.value} if line.given else bracket(line.value)
    return {
        "part": line.part,
        "quantity": line.quantity,
        **numbers,
        amount: line.amount,
        "loss": bracket(line.loss),
        "source": line.source,
    }


def _verdict(verdict: Verdict) -> Json:
    asked = verdict.requirement
    return {
        "name": asked.name,
        "quantity": asked.quantity,
        "dimensions": asked.dimensions or None,
        "sense": asked.sense,
        "limit": asked.limit,
        "value": verdict.value,
        "met": verdict.met,
        "certain": verdict.certain,
        "source": asked.source,
    }


OF_CLIMATE = (
    "What the climate by month asks for besides (ISO 13788), which is no limit and leaves the exit status alone"
)

# -- the screen --------------------------------------------------------------------------------------------------------


def as_text(result: ScheduleResult, shown: DisplayUnits = IN_SI) -> str:
    """The sums, the junctions and the limits that are not kept, as aligned text.

    Args:
        result: all sums.
        shown: units of everything that is written.
    """
    building = result.building
    heading = [building.title, "=" * min(len(building.title), 100)]
    rows = [("ΣΨ·l + Σχ·n", shown.bounded(n.TRANSMISSION, result.loss.lower, result.loss.upper), _given(result, shown))]
    if result.increase:
        increase = shown.bounded(n.MEAN_INCREASE, result.increase.lower, result.increase.upper)
        rows.append(("ΔUtb, mean over the elements", increase, f"over {shown.value(n.AREA, result.area)}"))
    if result.total:
        rows.append(("with the elements", shown.bounded(n.TRANSMISSION, result.total.lower, result.total.upper), ""))
    entries = [(f"{e.junction.ref} {e.junction.name}", _loss(e, shown), _share(e)) for e in result.entries]
    blocks = [heading, _columns(rows), ["Junctions", *_columns(entries)]]
    every = [(entry, verdict) for entry in result.entries for verdict in entry.verdicts]
    missed = [_missed(entry, verdict, shown) for entry, verdict in every if not verdict.met]
    count = len(every)
    told = [f"Limits: {count - len(missed)} of {count} kept, with the whole bracket or tolerance"] if count else []
    blocks.append([*told, *missed])
    asked = [(entry, verdict) for entry in result.entries for verdict in entry.climate if not verdict.met]
    if asked:
        blocks.append([OF_CLIMATE, *(_missed(entry, verdict, shown) for entry, verdict in asked)])
    return "\n\n".join("\n".join(block) for block in blocks if block)


def _given(result: ScheduleResult, shown: DisplayUnits) -> str:
    if any(line.given for line in result.lines):
        return f"bounded; {shown.value(n.TRANSMISSION, result.given)} of it given, without a bracket"
    return "bounded"


def _loss(entry: Entry, shown: DisplayUnits) -> str:
    if entry.given:
        return shown.value(n.TRANSMISSION, entry.loss.value)
    return shown.bounded(n.TRANSMISSION, entry.loss.lower, entry.loss.upper)


def _share(entry: Entry) -> str:
    words = f"{100.0 * entry.share:.1f} %".replace("-", n.MINUS) if entry.share is not None else ""
    return f"{words}, given" if entry.given else words


def _missed(entry: Entry, verdict: Verdict, shown: DisplayUnits) -> str:
    asked = verdict.requirement
    quantity = {**LIMITED, "chi": n.CHI}[asked.quantity]
    found = shown.value(quantity, verdict.value) if verdict.value is not None else "not given"
    words = "NOT MET" if verdict.certain else "CANNOT BE TOLD"
    limit = shown.value(quantity, asked.limit)
    return f"  {words}: {entry.junction.ref} {entry.junction.name}: {asked.name}: {asked.sense} {limit}, found {found}"


def _columns(rows: list[tuple[str, str, str]]) -> list[str]:
    first = max((len(row[0]) for row in rows), default=0)
    second = max((len(row[1]) for row in rows), default=0)
    return [f"  {a:<{first}}  {b:>{second}}  {c}".rstrip() for a, b, c in rows]
