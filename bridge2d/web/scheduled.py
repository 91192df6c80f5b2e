"""A building's schedule as plain values for its page."""

from __future__ import annotations

from typing import Any

from bridge2d import nomenclature as n
from bridge2d.building.records import Entry, Line, ScheduleResult, Verdict
from bridge2d.module_words import LIMITED
from bridge2d.shown_units import IN_SI, DisplayUnits

QUANTITY = {**LIMITED, "chi": n.CHI}


def schedule_plain(result: ScheduleResult, shown: DisplayUnits = IN_SI) -> dict[str, Any]:
    """What the page shows of a building.

    Args:
        result: all sums.
        shown: units of everything that is written.
    """
    building = result.building
    most = max((abs(entry.loss.value) for entry in result.entries), default=0.0)
    return {
        "title": building.title,
        "project": building.project,
        "dimensions": building.dimensions.replace("_", " "),
        "totals": _totals(result, shown),
        "entries": [_entry(k, entry, result, most, shown) for k, entry in enumerate(result.entries)],
        "kept": result.kept,
        "details": [variant.path.name for variant in building.variants],
    }


def _totals(result: ScheduleResult, shown: DisplayUnits) -> list[tuple[str, str]]:
    rows = [("ΣΨ·l + Σχ·n", shown.bounded(n.TRANSMISSION, result.loss.lower, result.loss.upper))]
    if any(line.given for line in result.lines):
        rows.append(("of it given, without a bracket", shown.value(n.TRANSMISSION, result.given)))
    if result.increase:
        increase = shown.bounded(n.MEAN_INCREASE, result.increase.lower, result.increase.upper)
        rows.append((f"ΔUtb over {shown.value(n.AREA, result.area)}", increase))
    if result.total:
        rows.append(("with the elements", shown.bounded(n.TRANSMISSION, result.total.lower, result.total.upper)))
    return rows


def _entry(k: int, entry: Entry, result: ScheduleResult, most: float, shown: DisplayUnits) -> dict[str, Any]:
    junction = entry.junction
    variant = result.building.variants[junction.variant] if junction.variant is not None else None
    loss = entry.loss
    return {
        "ref": junction.ref,
        "name": junction.name,
        "group": junction.group,
        "file": variant.path.name if variant else "",
        "lines": [_line(line, shown) for line in result.lines if line.entry == k],
        "loss": shown.value(n.TRANSMISSION, loss.value)
        if entry.given
        else shown.bounded(n.TRANSMISSION, loss.lower, loss.upper),
        "bar": (loss.value / most if most else 0.0),
        "share": f"{100.0 * entry.share:.1f} %".replace("-", n.MINUS) if entry.share is not None else "",
        "f_rsi": shown.estimate(n.F_RSI, *entry.f_rsi) if entry.f_rsi else "",
        "verdicts": [_verdict(one, shown) for one in (*entry.verdicts, *entry.climate)],
    }


def _line(line: Line, shown: DisplayUnits) -> dict[str, Any]:
    quantity = QUANTITY[line.quantity]
    value = line.value
    return {
        "part": line.part,
        "value": shown.value(quantity, value.value)
        if line.given
        else shown.bounded(quantity, value.lower, value.upper),
        "amount": shown.value(n.LENGTH, line.amount) if line.quantity == "psi" else f"{line.amount:g} ×",
        "given": line.given,
    }


def _verdict(one: Verdict, shown: DisplayUnits) -> dict[str, Any]:
    state = "kept" if one.met else ("missed" if one.certain else "undecided")
    quantity = QUANTITY[one.requirement.quantity]
    sense = "at most" if one.requirement.sense == "maximum" else "at least"
    return {
        "state": state,
        "name": one.requirement.name,
        "limit": f"{sense} {shown.value(quantity, one.requirement.limit)}",
    }
