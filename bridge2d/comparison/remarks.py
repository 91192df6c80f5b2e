"""What has to be kept in mind when the differences are read: what they leave out, and what is not compared alike."""

from __future__ import annotations

from collections.abc import Sequence

from bridge2d.comparison.alike import junction_words, junctions_differ
from bridge2d.comparison.numbers import are_hatches, plane_parts_differ
from bridge2d.comparison.records import Basis, Option
from bridge2d.comparison.savings import saving_words

SHORTEST, LONGEST = 0.1, 1000.0
"""A junction that is shorter or longer in a building is asked about [m]."""


def remarks(options: Sequence[Option], basis: Basis) -> tuple[str, ...]:
    """Sentences on this comparison, the weightiest first; empty where nothing needs one.

    Args:
        options: the options.
        basis: what they share.
    """
    found = [
        _same_input(options),
        junction_words(options),
        _conditions(options),
        _climates(options),
        _plane_parts(options),
        _windows(options),
        _lengths(options),
        _unlikely_lengths(options),
        *_prices(options, basis),
        _dew_point(options),
    ]
    return tuple(words for words in found if words)


def _prices(options: Sequence[Option], basis: Basis) -> list[str]:
    """Why an option has no price of a saved kilowatt hour; said once for all where the plane parts differ."""
    if junctions_differ(options) or (plane_parts_differ(options) and not are_hatches(options)):
        return []
    return [saving_words(option, options[0], basis) for option in options[1:]]


def _same_input(options: Sequence[Option]) -> str:
    first = options[0]
    twins = [option.name for option in options[1:] if option.input_hash == first.input_hash]
    return f"{first.name} and {', '.join(twins)} have the very same input." if twins else ""


def _conditions(options: Sequence[Option]) -> str:
    """Temperatures, humidities and surface resistances that are not those of the first option."""

    def air(option: Option) -> set[tuple[float, float | None]]:
        return {(e.temperature, e.humidity) for s in option.result.sections for e in s.section.environments}

    def resistances(option: Option) -> set[tuple[float, float]]:
        return {(x.resistance, x.f_rsi_resistance) for s in option.result.sections for x in s.section.surfaces}

    differing = []
    if any(air(option) != air(options[0]) for option in options):
        differing.append("temperatures or humidities")
    if any(resistances(option) != resistances(options[0]) for option in options):
        differing.append("surface resistances")
    if not differing:
        return ""
    return f"The options are computed with different {' and '.join(differing)}: part of each difference is due to that."


def _climates(options: Sequence[Option]) -> str:
    """Climates that are not that of the first option, or that an option lacks."""
    months = [option.result.by_month for option in options]
    climates = [one.climate if one else None for one in months]
    if all(one == climates[0] for one in climates):
        return ""
    told = "; ".join(f"{o.name}: {c.name if c else 'none'}" for o, c in zip(options, climates, strict=True))
    return f"The options are not held against one and the same climate ({told})."


def _plane_parts(options: Sequence[Option]) -> str:
    """Flanking elements whose U differs: Ψ leaves them out."""
    if not plane_parts_differ(options) or junctions_differ(options):
        return ""
    if are_hatches(options):
        return (
            "The lids have different U-values, and Ψ is only what the edge adds to them: judge by the heat loss of the "
            "hatch, lid and edge together over the same clear opening. What its corners lose besides is in neither."
        )
    return (
        "The plane parts beside the junction have different U-values, and Ψ is only what the junction adds to them: a "
        "better wall may well come with a higher Ψ. Judge by the row that takes the plane parts along; for the same "
        "reason no saved kWh has a price here."
    )


def _dew_point(options: Sequence[Option]) -> str:
    layers = [section.airtight for option in options for section in option.result.sections if section.airtight]
    if not any(layer.dew_point is not None and layer.temperature < layer.dew_point for layer in layers):
        return ""
    return (
        "Dew point reached along the airtight layer: room air that gets there through a leak or a vapour-open layer "
        "can condense. Moisture needs an assessment of its own."
    )


def _windows(options: Sequence[Option]) -> str:
    known = {option.result.detail.window.u_window for option in options if option.result.detail.window}
    if len(known) < 2:
        return ""
    return "The windows themselves have different U-values; heat per metre and year is that of the joint alone."


def _lengths(options: Sequence[Option]) -> str:
    lengths = {option.length for option in options if option.length is not None}
    if len(lengths) < 2:
        return ""
    return "The lengths differ: what is lost in a year, and what that costs, differs for that reason too."


def _unlikely_lengths(options: Sequence[Option]) -> str:
    """Lengths that somebody may have meant in another unit."""
    found = [
        f"{option.name}: {option.terms.length:g} m"
        for option in options
        if option.terms.length is not None and not SHORTEST <= option.terms.length <= LONGEST
    ]
    if not found:
        return ""
    return (
        f"Are these lengths of the junction meant ({', '.join(found)})? A bare number in a detail file is millimetres."
    )
