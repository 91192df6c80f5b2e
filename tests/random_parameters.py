"""Random parameters of a junction within its limits, and what has to hold for each of them."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise
from typing import Any

from hypothesis import strategies as st
from pydantic import ValidationError

from bridge2d import units
from bridge2d.calculate import calculate
from bridge2d.detail import Detail
from bridge2d.errors import InputError, QuantityError
from bridge2d.junctions.declaration import Junction, ParameterInfo, describe
from bridge2d.section_check import check_section

MATERIALS = ("softwood", "mineral foam board", "solid brick, old, 1600", "concrete 2200", "granite")
"""From insulation to stone; metals make no wall."""


def values(info: ParameterInfo) -> st.SearchStrategy[Any]:
    """Values of one parameter as a detail file writes them, its limits included."""
    choices: list[st.SearchStrategy[Any]] = []
    if info.words:
        choices.append(st.sampled_from(info.words))
    if info.material:
        choices.append(st.sampled_from(MATERIALS))
    if info.kind is units.COUNT:
        return st.integers(round(info.minimum or 0), round(info.maximum or 10))
    if info.kind is not None and info.minimum is not None and info.maximum is not None:
        low, high = info.minimum / info.kind.factor, info.maximum / info.kind.factor
        choices.append(st.floats(low, high).map(lambda x: min(max(round(x, 2), low), high)))
        choices.append(st.sampled_from((low, high)))
        if info.unit == "mm":
            choices.append(st.integers(math.ceil(low), math.floor(high)))
    assert choices, info.name
    return st.one_of(choices)


def parameters(junction: Junction) -> st.SearchStrategy[dict[str, Any]]:
    """Any of the junction's parameters, the others at their defaults."""
    fields = {info.name: values(info) for info in describe(junction.parameters)}
    return st.fixed_dictionaries({}, optional=fields)


def built_or_refused(junction: Junction, given: dict[str, Any]) -> Detail | None:
    """The detail with sound sections, or None after one refusal that names a parameter and what would be right."""
    refusal: InputError | QuantityError | None = None
    try:
        detail: Detail = junction.build(junction.parameters(**given))
    except InputError as error:
        refusal, key = error, error.key
    except ValidationError as found:  # what is refused while it is read; `detail_file` makes a message of it
        cause = found.errors()[0].get("ctx", {}).get("error")
        if not isinstance(cause, QuantityError):
            raise
        refusal, key = cause, str((*cause.path, *found.errors()[0]["loc"])[0])
    if refusal is not None:
        assert key in junction.parameters.model_fields
        assert refusal.message
        assert refusal.right
        return None
    for section in detail.sections:
        check_section(section)
    return detail


def assert_bracketed(detail: Detail, tolerance: float, half_width: float | None) -> None:
    """The detail is computed, each section to its tolerance and by every rule of the standard, without a warning.

    Args:
        detail: built and sound.
        tolerance: widest relative bracket around L2D.
        half_width: half the bracket around L2D that is allowed [W/(m·K)]; None for the sections' own, which makes Ψ
            narrow.
    """
    wide = {} if half_width is None else {"psi_half_width": half_width}
    result = calculate(replace(detail, sections=tuple(replace(one, **wide) for one in detail.sections)), tolerance)
    for section in result.sections:
        assert section.l2d is not None
        assert 0 < section.l2d.lower <= section.l2d.upper
        assert section.l2d.upper - section.l2d.lower <= tolerance * section.l2d.upper * (1 + 1e-6)
        # Corner temperatures of wild parameters may not settle; the bracket is narrow all the same.
        assert all("refinement ended" in warning for warning in section.warnings), section.warnings
        assert all(check.met for check in section.checks), section.checks
        assert section.airtight is None or not section.airtight.breaks, section.airtight
    if half_width is None:
        assert all(psi.value.half_width <= 0.0005 for psi in result.psi)
        assert all(side.psi.half_width <= 0.0005 for side in result.installations)
    assert len(result.psi) == (3 if detail.combination.psi_section or detail.installations else 0)
    assert (result.chi is not None) == bool(detail.combination.chi_section)
    assert (result.u_section is not None) == (detail.module is not None)
    if result.u_section is not None:
        # Exact: the limits of ISO 6946 enclose the section's U.
        found, combined = result.u_section.u_value, result.u_section.combined
        assert found.lower <= 1 / combined.lower * (1 + 1e-9)
        assert found.upper >= 1 / combined.upper * (1 - 1e-9)
    assert result.f_rsi
    assert all(0 < factor.value < 1 for factor in result.f_rsi)


def assert_declared_well(junction: Junction, detail: Detail, **changes: Any) -> None:
    """Symbols are unique, every length has one, and every dimension shows its parameter's value with its symbol.

    Args:
        junction: its declarations.
        detail: built with the changes.
        changes: of its parameters.
    """
    known = {info.name: info for info in describe(junction.parameters)}
    symbols = [info.symbol for info in known.values() if info.symbol]
    assert len(symbols) == len(set(symbols))
    assert all(info.symbol for info in known.values() if info.unit == "mm")
    chosen = junction.parameters(**changes)
    for section in detail.sections:
        assert section.dimensions
        for dimension in section.dimensions:
            half = dimension.symbol.endswith("/2")
            assert dimension.symbol.removesuffix("/2") == known[dimension.parameter].symbol
            along = 0 if dimension.side in ("top", "bottom") else 1
            measured = abs(dimension.end[along] - dimension.start[along])
            assert abs((2 if half else 1) * measured - getattr(chosen, dimension.parameter)) < 1e-9, dimension


def assert_airtight_line_is_unbroken(detail: Detail) -> None:
    """Every piece of the airtight layer begins where the one before ends; where a line ends, there is a cut plane."""
    for section in detail.sections:
        points = [point for region in section.regions for point in region.polygon]
        box = [(min(p[axis] for p in points), max(p[axis] for p in points)) for axis in (0, 1)]
        assert section.airtight
        ends = [section.airtight[0].line[0], section.airtight[-1].line[-1]]
        for before, after in pairwise(section.airtight):
            if before.line[-1] != after.line[0]:
                ends += [before.line[-1], after.line[0]]
        for point in ends:
            assert any(abs(point[axis] - edge) < 1e-9 for axis in (0, 1) for edge in box[axis]), point


def unit(conductivity: float) -> dict[str, Any]:
    """A material of this conductivity [W/(m·K)]."""
    return {"conductivity": conductivity, "basis": "test"}
