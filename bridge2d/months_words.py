"""What the screen and the JSON say of a climate by month, and the sentences that the report shares with them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from bridge2d import nomenclature as n
from bridge2d.climate import MONTHS, ByMonth, Margin, TimberEnd
from bridge2d.months import month_name
from bridge2d.shown_units import IN_SI, DisplayUnits

CRITERIA = {
    "mould": "mould, 80 % at the surface",
    "condensation": "condensation, 100 % at the surface",
    "glazing": "condensation on glazing and frames",
}
"""What each criterion asks of the humidity at the surface (ISO 13788)."""
NO_VERDICT = (
    "Screening only: a steady heat calculation gives no verdict on decay. Rain, sun, storage of moisture, air leakage "
    "and time are not in it. Where timber ends get cold or damp air, have them judged by licensed practice with a "
    "hygrothermal simulation (the kind of method of EN 15026) and measurements of moisture."
)
"""The caution beside every temperature of timber by month."""

ABOUT = replace(n.TEMPERATURE, decimals=1)
"""Temperatures by month: a mean of a month is known no better than to a tenth of a degree."""
Json = dict[str, Any]


def least_kept(margins: Iterable[Margin]) -> dict[str, Margin]:
    """Of each criterion the margin that is least, in the order of `CRITERIA`.

    Args:
        margins: of temperature factors.
    """
    found: dict[str, Margin] = {}
    for one in sorted(margins, key=lambda it: it.margin):
        found.setdefault(one.criterion, one)
    return {name: found[name] for name in CRITERIA if name in found}


# -- JSON ----------------------------------------------------------------------------------------------------------


def months_json(found: ByMonth | None) -> Json | None:
    """A climate by month for JSON; None where the detail has none.

    Args:
        found: what the climate asks for.
    """
    if found is None:
        return None
    climate = found.climate
    return {
        "name": climate.name,
        "source": climate.source,
        "indoors": climate.indoors,
        "months": [_month_json(found, k) for k in range(len(found.needs))],
        "critical_month": {"mould": found.critical_mould, "condensation": found.critical_condensation},
        "coldest_day": _coldest_day_json(found),
        "margins": [_margin_json(one) for one in found.margins],
        "timber": [_timber_json(end) for end in found.timber],
        "notes": list(found.notes),
        "caution": NO_VERDICT if found.timber else None,
    }


def _month_json(found: ByMonth, k: int) -> Json:
    need = found.needs[k]
    return {
        "month": MONTHS[k],
        "outside_temperature": need.air.external,
        "outside_vapour_pressure": need.air.external_pressure,
        "inside_temperature": need.air.internal,
        "inside_vapour_pressure": need.air.internal_pressure,
        "lowest_surface_temperature": need.surface_temperature,
        "f_rsi_mould": need.mould,
        "f_rsi_condensation": need.condensation,
    }


def _coldest_day_json(found: ByMonth) -> Json | None:
    day = found.climate.coldest_day
    if day is None:
        return None
    return {"outside_temperature": day.external, "inside_temperature": day.internal, "f_rsi": found.glazing}


def _margin_json(one: Margin) -> Json:
    return {
        "criterion": one.criterion,
        "environment": one.environment,
        "section": one.section,
        "value": one.value,
        "tolerance": one.tolerance,
        "asked": one.asked,
        "month": None if one.month is None else MONTHS[one.month],
        "margin": one.margin,
        "met": one.met,
        "certain": one.certain,
    }


def _timber_json(end: TimberEnd) -> Json:
    return {
        "name": end.name,
        "section": end.section,
        "factor": end.factor,
        "tolerance": end.tolerance,
        "months": [
            {
                "month": MONTHS[k],
                "temperature": one.temperature,
                "saturation_pressure": one.saturation_pressure,
                "humidity_room_air": one.room_air,
                "humidity_outside_air": one.outside_air,
            }
            for k, one in enumerate(end.months)
        ],
    }


# -- sentences -----------------------------------------------------------------------------------------------------


def months_lines(found: ByMonth, shown: DisplayUnits = IN_SI) -> list[str]:
    """A climate by month on the screen: what it asks for, margins, timber, what could not be judged.

    Args:
        found: what the climate asks for.
        shown: units of everything that is written.
    """
    climate = found.climate
    lines = [f"{climate.name} ({climate.source})", f"room: {shown.sentence(climate.indoors)}", *critical_lines(found)]
    lines += [margin_line(one) for one in found.told_margins]
    for end in found.timber:
        lines += timber_lines(end, shown)
    lines += [shown.sentence(note) for note in found.notes]
    return [*lines, NO_VERDICT] if found.timber else lines


def critical_lines(found: ByMonth) -> list[str]:
    """What the critical months ask for, in a sentence each.

    Args:
        found: what the climate asks for.
    """
    if found.critical_mould is None or found.critical_condensation is None:
        return ["no month asks for anything: none is colder outside than the room and counted as heated"]
    mould, wet = found.needs[found.critical_mould], found.needs[found.critical_condensation]
    lines = [
        f"critical month for mould: {MONTHS[found.critical_mould]}, asks for {_factor(mould.mould)}",
        f"critical month for condensation: {MONTHS[found.critical_condensation]}, asks for {_factor(wet.condensation)}",
    ]
    if (mould.mould or 0.0) > 1.0:
        lines.append(
            "a temperature factor above 1 cannot be built: the room of that month is too damp; let it be warmer or "
            "drier, or leave months without heating out with heated_below"
        )
    if found.glazing is not None:
        lines.append(f"glazing and frames on the coldest day: {_factor(found.glazing)}")
    return lines


def _factor(value: float | None) -> str:
    return f"{n.F_RSI.plain_symbol} ≥ {n.format_value(n.F_RSI, value or 0.0)}"


def margin_line(one: Margin) -> str:
    """A margin on one line, verdict first.

    Args:
        one: the margin.
    """
    words = {"met": "kept", "not met": "NOT KEPT", "undecided": "UNDECIDED (the limit lies within the tolerance)"}
    value = n.format_estimate(n.F_RSI, one.value, one.tolerance)
    where = f"{one.environment} ({one.section})" if one.section else one.environment
    return (
        f"{words[verdict_of(one)]}: {CRITERIA[one.criterion]}, {month_name(one.month)}: {where} {value}, "
        f"margin {margin_of(one)}"
    )


def verdict_of(one: Margin) -> str:
    """Whether a margin is "met", "not met" or "undecided".

    Args:
        one: the margin.
    """
    if not one.certain:
        return "undecided"
    return "met" if one.met else "not met"


def margin_of(one: Margin) -> str:
    """A margin with its sign, between both factors as they are printed: "+0.031".

    Args:
        one: the margin.
    """
    decimals = n.F_RSI.decimals
    return n.signed(n.format_value(n.F_RSI, round(one.value, decimals) - round(one.asked, decimals) + 0.0))


def timber_lines(end: TimberEnd, shown: DisplayUnits = IN_SI) -> list[str]:
    """The coldest month of a timber, and how damp air would be there.

    Args:
        end: the watched line through the months.
        shown: units of the temperature.
    """
    one = end.months[end.coldest]
    temperature = shown.value(n.TEMPERATURE, one.temperature)
    words = f"{end.name} ({end.section}): coldest in {MONTHS[end.coldest]}, ≈ {temperature}; relative humidity there "
    return [f"{words}of room air that reaches it {percent(one.room_air)}, of outside air {percent(one.outside_air)}"]


def percent(humidity: float) -> str:
    """A relative humidity in whole percent; air beyond saturation condenses.

    Args:
        humidity: [1].
    """
    return "over 100 %" if humidity > 1.0 else f"{100.0 * humidity:.0f} %"
