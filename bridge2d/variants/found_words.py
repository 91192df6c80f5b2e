"""What came of a search, in words and for JSON.

found → **words**. Said is what holds: of the values that were computed, for certain where bounds decide and with its
whole tolerance where fRsi does; between them nothing is proven.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from bridge2d.shown_units import IN_SI, DisplayUnits
from bridge2d.variants.rows import cell, quantity
from bridge2d.variants.varied import MET, MISSED, REFUSED, UNDECIDED

if TYPE_CHECKING:
    from bridge2d.variants.finding import Crossing, Found
    from bridge2d.variants.trials import Trial

CERTAIN, ESTIMATED = "for certain", "with the whole tolerance of fRsi, which is an estimate"
BETWEEN = "between the values that were computed this is not proven"
UNTOLD = "undecided, since the limit lies within the bracket or the tolerance of fRsi"


def fixed_in_words(found: Found) -> str:
    """Other parameters that were set: "masonry_thickness = 240".

    Args:
        found: what came of the search.
    """
    said = {key: value if isinstance(value, str) else f"{value:g}" for key, value in found.fixed.items()}
    return ", ".join(f"{key} = {value}" for key, value in said.items())


def in_words(found: Found, shown: DisplayUnits = IN_SI) -> list[str]:
    """What was found, in a sentence each.

    Args:
        found: what came of the search.
        shown: units of the numbers.
    """
    name, of, beside = found.span.info.name, _unit(found), _beside(found)
    said = []
    for one in found.crossings:
        met, other = f"{one.met.value:.6g}", f"{one.other.value:.6g}"
        sure = f"all limits met, {_sure(one.met)}"
        beyond = _beyond(found, one)
        further = f"; at {beyond.value:.6g}{of}: {_other(beyond)}" if beyond else ""
        said.append(f"{name} = {met}{of}: {sure}; at {other}{of}: {_other(one.other)}{further}{beside}")
    return said or [_without_change(found, shown)]


def _beyond(found: Found, crossing: Crossing) -> Trial | None:
    """The nearest value beyond an undecided one that is decided, if it does not meet the limits."""
    if crossing.other.standing != UNDECIDED:
        return None
    onward = 1 if crossing.other.value > crossing.met.value else -1
    further = [one for one in found.trials[::onward] if onward * (one.value - crossing.other.value) > 0]
    decided = next((one for one in further if one.standing != UNDECIDED), None)
    return decided if decided and decided.standing == MISSED else None


def _without_change(found: Found, shown: DisplayUnits) -> str:
    """The sentence where all values that were computed stand alike, as far as they could be computed."""
    trials, name, of = found.trials, found.span.info.name, _unit(found)
    ends = f"from {found.searched.first:g} to {found.searched.last:g}{of}"
    if found.searched != found.span:
        ends += " (the limits of the parameter)"
    steps = f" in steps of {found.step:g}{of}" if found.every else ""
    standings = {trial.standing for trial in trials}
    sure = CERTAIN if all(trial.certain for trial in trials) else ESTIMATED
    near = f"; {_nearest(found, shown)}" if found.closest else ""
    tried = f"{len(trials)} values of {name} {ends}{steps}{_beside(found)}"
    proven = f"each of these steps was computed, {BETWEEN}" if found.every else BETWEEN
    if standings == {MET}:
        return f"all limits are met at each of {tried}, {sure}{near}; {proven}"
    if standings == {MISSED}:
        return f"the limits are met at none of {tried}, {sure}{near}; {proven}"
    counts = ", ".join(f"{sum(t.standing == s for t in trials)} {s}" for s in sorted(standings))
    return f"the limits are met at none of {tried}: {counts}{near}; {proven}"


def _nearest(found: Found, shown: DisplayUnits) -> str:
    """The value that comes closest, with its number: "closest is 115.1 mm with Ψ internal 0.0939 ± 0.0001 W/(m·K)"."""
    one = found.closest
    assert one is not None
    limit = found.limits[found.decisive]
    names = {
        "psi": (f"psi_{limit.dimensions}", "psi_installation"),
        "chi": ("chi",),
        "u_value": ("u_section",),
        "f_rsi": ("f_rsi",),
    }[limit.quantity]
    name = next((one_name for one_name in names if one_name in one.row), names[0])
    of = quantity(name)
    symbol = f"{of.plain_symbol} {limit.dimensions.replace('_', ' ')}".rstrip()
    unit = "" if of.unit == "1" else f" {shown.unit(of)}"
    near = "closest to the limit is" if one.standing == MET else "closest is"
    return f"{near} {one.value:.6g}{_unit(found)} with {symbol} {cell(one.row, name, shown)}{unit}"


def _sure(trial: Trial) -> str:
    return CERTAIN if trial.certain else ESTIMATED


def _other(trial: Trial) -> str:
    if trial.standing == REFUSED:
        return f"refused ({trial.row['reason']})"
    return UNTOLD if trial.standing == UNDECIDED else f"not met, {_sure(trial)}"


def _unit(found: Found) -> str:
    return f" {found.span.unit}" if found.span.unit else ""


def _beside(found: Found) -> str:
    return f", with {fixed_in_words(found)}" if found.fixed else ""


def as_json(found: Found) -> dict[str, Any]:
    """What was found, for JSON.

    Args:
        found: what came of the search.
    """
    return {
        "parameter": found.span.info.name,
        "unit": found.span.unit or None,
        "first": found.span.first,
        "last": found.span.last,
        "step": found.step,
        "fixed": dict(found.fixed),
        "crossings": [
            {"met": one.met.value, "other": one.other.value, "standing": one.other.standing} for one in found.crossings
        ],
        "trials": [
            {"value": one.value, "standing": one.standing, **one.row, "certain": one.certain} for one in found.trials
        ],
        "searched": {"first": found.searched.first, "last": found.searched.last},
        "every_step": found.every,
        "closest": found.closest.value if found.closest else None,
        "between": "not proven",
    }
