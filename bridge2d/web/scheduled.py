"""A building's schedule as plain values for its page."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from bridge2d import nomenclature as n
from bridge2d.building.records import Element, Entry, Gain, Group, Line, ScheduleResult, Verdict
from bridge2d.comparison.remarks import LONGEST, SHORTEST
from bridge2d.module_words import LIMITED
from bridge2d.shown_units import IN_SI, DisplayUnits

QUANTITY = {**LIMITED, "chi": n.CHI}


def schedule_plain(result: ScheduleResult, shown: DisplayUnits = IN_SI, texts: Sequence[str] = ()) -> dict[str, Any]:
    """What the page shows of a building.

    Args:
        result: all sums.
        shown: units of everything that is written.
        texts: of each detail as the building uses it.
    """
    from bridge2d.report.schedule_tables import OF_CLIMATE

    building = result.building
    most = max((abs(entry.loss.value) for entry in result.entries), default=0.0)
    return {
        "title": building.title,
        "project": building.project,
        "dimensions": building.dimensions.replace("_", " "),
        "totals": _totals(result, shown),
        "entries": [_entry(k, entry, result, most, shown, texts) for k, entry in enumerate(result.entries)],
        "climate": [_asked(entry, one, shown) for entry in result.entries for one in entry.climate],
        "of_climate": OF_CLIMATE,
        "sources": [(line.ref, line.name, line.source) for line in result.lines if line.given],
        "gains": [_gain(one, shown) for one in result.gains],
        "groups": [_group(one, shown) for one in result.groups] if len(result.groups) > 1 else [],
        "elements": [_element(one, shown) for one in building.elements],
        "verdicts": _verdicts(result),
        "unlikely": _unlikely(result, shown),
        "details": [variant.path.name for variant in building.variants],
    }


def _verdicts(result: ScheduleResult) -> list[dict[str, str]]:
    """How all limits together, and all that the climates ask, are kept."""
    found = []
    of_limits = [one for entry in result.entries for one in entry.verdicts]
    of_climate = [one for entry in result.entries for one in entry.climate]
    for name, all_of in (("Limits", of_limits), ("What the climate asks", of_climate)):
        missed = [one for one in all_of if not one.met]
        state = "missed" if any(one.certain for one in missed) else ("undecided" if missed else "kept")
        words = {
            "missed": f"{len(missed)} of {len(all_of)} not kept",
            "undecided": f"{len(missed)} of {len(all_of)} open",
        }
        if all_of or name == "Limits":
            word = words.get(state, "all kept") if all_of else ""
            found.append({"name": name, "state": state if all_of else "", "word": word})
    return found


def _unlikely(result: ScheduleResult, shown: DisplayUnits) -> list[str]:
    """Lengths that somebody may have meant in another unit."""
    junctions = [entry.junction for entry in result.entries]
    lengths = [
        (one.ref, length)
        for one in junctions
        for length in (*([one.length] if one.length is not None else []), *one.lengths.values())
    ]
    return [
        f"Is the length of {ref} meant ({shown.long_length(length)})? A bare number in a building file is metres."
        for ref, length in lengths
        if not SHORTEST <= length <= LONGEST
    ]


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


def _entry(
    k: int, entry: Entry, result: ScheduleResult, most: float, shown: DisplayUnits, texts: Sequence[str]
) -> dict[str, Any]:
    junction = entry.junction
    variant = result.building.variants[junction.variant] if junction.variant is not None else None
    loss = entry.loss
    return {
        "ref": junction.ref,
        "name": junction.name,
        "group": junction.group,
        "file": variant.path.name if variant else "",
        "text": texts[junction.variant] if texts and junction.variant is not None else "",
        "lines": [_line(line, shown) for line in result.lines if line.entry == k],
        "loss": shown.value(n.TRANSMISSION, loss.value)
        if entry.given
        else shown.bounded(n.TRANSMISSION, loss.lower, loss.upper),
        "bar": (loss.value / most if most else 0.0),
        "share": f"{100.0 * entry.share:.1f} %".replace("-", n.MINUS) if entry.share is not None else "",
        "f_rsi": shown.estimate(n.F_RSI, *entry.f_rsi) if entry.f_rsi else "",
        "verdicts": [_verdict(one, shown) for one in entry.verdicts],
        "asked": [_verdict(one, shown) for one in entry.climate],
    }


def _line(line: Line, shown: DisplayUnits) -> dict[str, Any]:
    quantity = QUANTITY[line.quantity]
    value = line.value
    return {
        "part": line.part,
        "value": shown.value(quantity, value.value)
        if line.given
        else shown.bounded(quantity, value.lower, value.upper),
        "amount": shown.long_length(line.amount) if line.quantity == "psi" else f"{line.amount:g} ×",
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


def _asked(entry: Entry, one: Verdict, shown: DisplayUnits) -> dict[str, Any]:
    """What the climate asks of a junction."""
    found = shown.value(n.F_RSI, one.value) if one.value is not None else "not given"
    return {"ref": entry.junction.ref, "junction": entry.junction.name, "found": found, **_verdict(one, shown)}


def _gain(one: Gain, shown: DisplayUnits) -> dict[str, Any]:
    quantity = n.PSI if one.line.quantity == "psi" else n.CHI
    return {
        "ref": one.line.ref,
        "name": f"{one.line.name}, {one.line.part}" if one.line.part else one.line.name,
        "value": shown.value(quantity, one.line.value.value),
        "reference": f"limit {shown.value(quantity, one.reference)}" if one.limited else "0",
        "excess": shown.value(quantity, one.excess),
        "saving": shown.value(n.TRANSMISSION, one.saving),
    }


def _group(one: Group, shown: DisplayUnits) -> dict[str, Any]:
    increase = one.increase
    return {
        "name": one.name or "without a group",
        "junctions": shown.bounded(n.TRANSMISSION, one.junctions.lower, one.junctions.upper),
        "elements": shown.value(n.TRANSMISSION, one.elements) if one.area else "–",
        "area": shown.value(n.AREA, one.area) if one.area else "–",
        "increase": shown.bounded(n.MEAN_INCREASE, increase.lower, increase.upper) if increase else "–",
    }


def _element(one: Element, shown: DisplayUnits) -> dict[str, Any]:
    return {
        "name": one.name,
        "group": one.group,
        "area": shown.value(n.AREA, one.area),
        "u_value": shown.value(n.U_VALUE, one.u_value),
        "loss": shown.value(n.TRANSMISSION, one.loss),
        "source": shown.sentence(one.source, both=True),
    }
