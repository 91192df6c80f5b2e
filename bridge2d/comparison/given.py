"""What heat in a year and costs rest on beside the detail, so that who has the sheet alone can compute them again."""

from __future__ import annotations

from collections.abc import Sequence

from bridge2d import nomenclature as n
from bridge2d.comparison.numbers import are_hatches
from bridge2d.comparison.records import Basis, Option
from bridge2d.shown_units import IN_SI, DisplayUnits


def given(options: Sequence[Option], basis: Basis, shown: DisplayUnits = IN_SI) -> tuple[str, ...]:
    """Lengths, degree hours and costs with where they come from, in a sentence each.

    Args:
        options: the options.
        basis: what they share.
        shown: units of the sentences.
    """
    found = _lengths(options, shown)
    if are_hatches(options):
        found.append(_of_hatches(options[0], shown))
    if basis.heating_degree_hours is not None:
        hours = shown.sentence(f"{basis.heating_degree_hours:g} kKh/a")
        found.append(f"Heating degree hours: {hours} ({basis.heating_degree_hours_source or 'no source is named'}).")
    if any(option.terms.cost_per_metre is not None for option in options):
        years = f", and so is the lifetime of {basis.lifetime:g} years" if basis.lifetime is not None else ""
        found.append(f"Costs are as whoever compares has given them{years}.")
    return tuple(found)


def _lengths(options: Sequence[Option], shown: DisplayUnits) -> list[str]:
    """The length of every option that has one; said once where all have the same."""
    told = [_length(option, shown) for option in options]
    if not any(told):
        return []
    if len(set(told)) == 1:
        return [f"Length: {told[0]}."]
    each = "; ".join(f"{option.name} {words or 'none'}" for option, words in zip(options, told, strict=True))
    return [f"Length: {each}."]


def _length(option: Option, shown: DisplayUnits) -> str:
    """Length and where it comes from; empty where there is none."""
    if option.length is None:
        return ""
    length, number, hatch = shown.long_length(option.length), option.terms.number, option.result.detail.hatch
    if option.terms.length is not None or number is None:
        return f"{length} as given"
    one = shown.long_length(option.length / number)
    if hatch is None:
        return f"{length}, the sides of {number} opening{'s' * (number > 1)} of {one} each"
    if number == 1:
        return f"{length}, the edge of 1 clear opening of {_clear(option, shown)}"
    return f"{length}, the edges of {number} clear openings of {_clear(option, shown)}"


def _clear(option: Option, shown: DisplayUnits) -> str:
    """Clear size of a hatch."""
    hatch = option.result.detail.hatch
    return f"{shown.length_number(hatch.width)} × {shown.length(hatch.length)}" if hatch else ""


def _of_hatches(option: Option, shown: DisplayUnits) -> str:
    """What the loss of a hatch is made of; options that are compared as a whole have one clear size."""
    hatch = option.result.detail.hatch
    if hatch is None:
        return ""
    number = option.terms.number or 1
    of_one = f"{number} × (U·A + Ψ·P)" if number > 1 else "U·A + Ψ·P"
    size = "" if option.terms.number else f", the clear opening being {_clear(option, shown)}"
    sizes = (
        f"A = {shown.value(n.AREA, hatch.area)} and P = {shown.long_length(hatch.perimeter)}{' each' * (number > 1)}"
    )
    return f"H = {of_one} with Ψ in internal dimensions, {sizes}{size}."
