"""What the processes do for the page of many variants: what `bridge2d sweep` does, one variant at a time.

Part of `work`: words of a form in, plain values out.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bridge2d.call_words import whole_number
from bridge2d.errors import InputError
from bridge2d.solving import Solving
from bridge2d.variants.asked import read_limit
from bridge2d.web.fields import plain_number
from bridge2d.web.typed_rows import at, axis_of, chosen_once, loaded_of
from bridge2d.web.varying import MOST_VARIANTS

if TYPE_CHECKING:
    from bridge2d.units import UnitSystem
    from bridge2d.variants.gridded import Gridded
    from bridge2d.variants.sweeping import Plan
    from bridge2d.variants.varied import Changes, Row
    from bridge2d.web.varying import Form

Plain = dict[str, Any]
MOST_POINTS = 10**6
MOST_SEED = 10**9


def _plan(text: str, file: str, system: UnitSystem | None, solving: Solving, form: Form) -> Plan:
    from bridge2d.variants.sweeping import Plan
    from bridge2d.variants.varied import Base

    loaded = loaded_of(text, file, system)
    if not form.chosen:
        raise InputError("no parameter is chosen", key=form.rows[0].key, right="choose one")
    chosen_once(form.chosen)
    enough = 2 if form.other("points") else 0  # of a hypercube the ends
    axes = tuple(axis_of(row, loaded, enough) for row in form.chosen)
    with at("points"):
        points = whole_number("number of points", MOST_POINTS)(form.other("points")) if form.other("points") else 0
    with at("seed"):
        seed = whole_number("seed", MOST_SEED)(form.other("seed")) if form.other("seed") else 1
    with at("limit"):
        if form.other("limit"):
            read_limit(plain_number(form.other("limit")))
    plan = Plan(Base.of(loaded), axes, solving.tolerance, points, seed)
    if plan.size > MOST_VARIANTS:
        right = f"at most {MOST_VARIANTS} on the page; `bridge2d sweep` computes more of them, on all processors"
        key = "points" if points else form.chosen[-1].key
        raise InputError(f"these are {plan.size} variants", key=key, right=right)
    return plan


def sweep_plan(
    text: str,
    file: str,
    system: UnitSystem | None,
    solving: Solving,
    form: Form,
    rows: Sequence[Row] | None = None,
) -> Plain:
    """What a sweep is going to compute, all of its form being right; with its rows what between them.

    Args:
        text: TOML.
        file: path of its file.
        system: of the form's bare numbers.
        solving: how closely.
        form: what was typed.
        rows: of all variants.

    Raises:
        InputError: whatever is wrong, with the field as its key.
    """
    from bridge2d.variants.sweeping import between_variants

    plan = _plan(text, file, system, solving, form)
    axes = [(one.name, f"{one.info.label} [{one.unit}]" if one.unit else one.info.label) for one in plan.axes]
    return {"variants": plan.variants() if rows is None else between_variants(plan, rows), "axes": axes}


def sweep_row(text: str, file: str, system: UnitSystem | None, solving: Solving, changes: Changes) -> Row:
    """One variant of a sweep; sections that are those of a variant before are not computed again.

    Args:
        text: TOML.
        file: path of its file.
        system: of the bare numbers of what is varied.
        solving: how closely.
        changes: the parameters that differ from the text.

    Raises:
        InputError: the text is wrong.
    """
    from bridge2d.variants.varied import Base, row

    return row(Base.of(loaded_of(text, file, system)), changes, solving.tolerance)


def sweep_shown(
    text: str,
    file: str,
    system: UnitSystem | None,
    solving: Solving,
    form: Form,
    rows: Sequence[Row],
    between: Sequence[Row] = (),
) -> Plain:
    """What is said and drawn of a sweep whose rows are all there.

    Args:
        text: TOML.
        file: path of its file.
        system: in which everything is shown.
        solving: how closely.
        form: what was typed.
        rows: of all variants.
        between: rows between them.

    Raises:
        InputError: whatever is wrong with the form.
    """
    from bridge2d.variants.gridded import in_words
    from bridge2d.variants.rows import title
    from bridge2d.variants.sweeping import swept_of
    from bridge2d.variants.tabled import grids_of
    from bridge2d.web.inlined import inlined

    plan = _plan(text, file, system, solving, form)
    shown = plan.base.loaded().units
    over = grids_of(plan, swept_of(plan, rows, between), shown)
    said = {"of": "", "chart": "", "why": "", "words": [in_words(one, shown) for one in over]}
    names = [(one.name, title(one.name, shown)) for one in over]
    try:
        of = form.other("of") or next((name for name, _ in names), "")
        what = f"Chart of {title(of, shown)} over {' and '.join(axis.info.label for axis in plan.axes)}"
        said |= {"of": of, "chart": inlined(_chart(plan, over, form, ".svg"), what)}
    except InputError as error:
        said["why"] = f"{error.message}; {error.right}"
    return {**said, "names": names}


def _chart(plan: Plan, over: Sequence[Gridded], form: Form, ending: str) -> bytes:
    from bridge2d.variants.chart import chart_of

    limit = read_limit(plain_number(form.other("limit"))) if form.other("limit") else None
    return chart_of(form.other("of"), over, plan, ending, limit, plan.base.loaded().units)


def sweep_file(
    text: str,
    file: str,
    system: UnitSystem | None,
    solving: Solving,
    form: Form,
    rows: Sequence[Row],
    between: Sequence[Row],
    kind: str,
) -> bytes:
    """A file of a sweep whose rows are all there, as `bridge2d sweep` writes it.

    Args:
        text: TOML.
        file: path of its file.
        system: of the form's bare numbers, and of the chart.
        solving: how closely.
        form: what was typed.
        rows: of all variants.
        between: rows between them.
        kind: "csv", "about.csv", "parquet", "chart.pdf" or "chart.svg".

    Raises:
        InputError: whatever is wrong with the form, or there is no such chart.
        MissingLibraryError: Parquet needs a library that is not installed.
    """
    from bridge2d.variants.sweeping import swept_of
    from bridge2d.variants.tabled import files, grids_of

    plan = _plan(text, file, system, solving, form)
    swept = swept_of(plan, rows, between)
    if kind.startswith("chart"):
        return _chart(plan, grids_of(plan, swept, plan.base.loaded().units), form, Path(kind).suffix)
    table, *beside = (data for data, _ in files(plan, swept, Path(f"table.{kind}")))
    return beside[0] if kind == "about.csv" else table
