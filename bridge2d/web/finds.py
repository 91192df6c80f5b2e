"""What the processes do for the page of a search: `bridge2d find`, one value of its second parameter at a time.

Part of `work`: words of a form in, plain values out.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from bridge2d.errors import InputError
from bridge2d.solving import Solving
from bridge2d.variants.asked import read_limit
from bridge2d.web.fields import plain_number
from bridge2d.web.typed_rows import at, axis_of, chosen_once, loaded_of, span_of

if TYPE_CHECKING:
    from bridge2d.detail import Requirement
    from bridge2d.detail_file import LoadedDetail
    from bridge2d.units import UnitSystem
    from bridge2d.variants.axes import Span
    from bridge2d.variants.finding import Crossing, Found
    from bridge2d.variants.varied import Changes
    from bridge2d.web.varying import Form

Plain = dict[str, Any]
MOST_SET, MOST_STEPS = 12, 200
"""Values of the second parameter, and steps of which each is computed."""

EVERY = "yes"
"""What the field says where each step of the grid is to be computed."""
Search = tuple["LoadedDetail", "Span", "tuple[Requirement, ...]", "list[Changes]", float]


def _search(text: str, file: str, system: UnitSystem | None, form: Form) -> Search:
    """Detail, range, limits, values of the second parameter, and step of a search."""
    from bridge2d.variants.axes import SECOND, within
    from bridge2d.variants.finding import grid
    from bridge2d.variants.limits import limits

    loaded = loaded_of(text, file, system)
    if not form.chosen:
        raise InputError("no parameter is chosen", key=form.rows[0].key, right="choose one")
    first, *others = form.chosen
    chosen_once(form.chosen)
    span = span_of(first, loaded)
    with at(f"{first.key}.last"):
        searched = within(span, loaded)
    fixed: list[Changes] = [{}]
    for row in others:
        axis = axis_of(row, loaded, SECOND)
        if len(axis.values) > MOST_SET:
            right = f"at most {MOST_SET} on the page; `bridge2d find` takes any number"
            raise InputError(f"these are {len(axis.values)} values", key=row.key, right=right)
        fixed = [{axis.name: value} for value in axis.values]
    asked = {name: plain_number(words) for name, words in form.limits}
    chosen = limits(asked, form.other("dimensions"), loaded)
    if not chosen:
        right = "give one here, or give the detail one of its own"
        raise InputError("there is no limit that could be met", key="psi_max", right=right)
    with at("step"):
        every = form.other("every") == EVERY
        places = grid(searched, _step(form.other("step")), every=every)
        if every and places.count > MOST_STEPS:
            right = f"at most {MOST_STEPS} on the page; `bridge2d find` computes more"
            raise InputError(f"these are {places.count} steps to be computed", right=right)
    return loaded, span, chosen, fixed, places.step


def _step(words: str) -> float:
    if not words:
        return 0.0
    step = read_limit(plain_number(words))
    if step <= 0.0:
        raise InputError(f"{words[:40]!r} is no step", right="write a number above 0")
    return step


def find_plan(text: str, file: str, system: UnitSystem | None, form: Form) -> Plain:
    """What a search is going to try, all of its form being right.

    Args:
        text: TOML.
        file: path of its file.
        system: of the form's bare numbers.
        form: what was typed.

    Raises:
        InputError: whatever is wrong, with the field as its key.
    """
    from bridge2d.variants.limits import limit_words

    loaded, _, chosen, fixed, _ = _search(text, file, system, form)
    return {"count": len(fixed), "limits": [limit_words(one, loaded.units) for one in chosen]}


def find_one(text: str, file: str, system: UnitSystem | None, solving: Solving, form: Form, number: int) -> Plain:
    """The search with one value of its second parameter.

    Args:
        text: TOML.
        file: path of its file.
        system: of the form's bare numbers, and in which everything is shown.
        solving: how closely it begins.
        form: what was typed.
        number: of the value.

    Raises:
        InputError: whatever is wrong.
    """
    from bridge2d.variants.finding import find
    from bridge2d.variants.found_words import as_json, fixed_in_words, in_words

    loaded, span, chosen, fixed, step = _search(text, file, system, form)
    every = form.other("every") == EVERY
    found = find(loaded, span, chosen, fixed[number], step, solving.tolerance, every=every)
    return {
        "words": in_words(found, loaded.units),
        "met": found.any_met,
        "crossings": [_crossing(one, found) for one in found.crossings],
        "fixed": fixed_in_words(found),
        "column": f"{span.info.label} [{span.unit}]" if span.unit else span.info.label,
        "trials": [(one.value, one.standing, one.row) for one in found.trials],
        "json": as_json(found),
    }


def _crossing(one: Crossing, found: Found) -> Plain:
    """What the link to the detail with the value found needs."""
    changes = {**found.fixed, found.span.info.name: one.met.value}
    return {"changes": changes, "tolerance": one.met.tolerance}
