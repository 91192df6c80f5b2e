"""Computes the published cases side by side and puts ours beside theirs.

cases -> the whole chain, each case in a process that stays for several -> **rows**. Nothing of a case is known here but
its detail file: it goes the way that every user's file goes.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from importlib import import_module
from typing import TYPE_CHECKING

from bridge2d.errors import SectionError
from bridge2d.processes import side_by_side
from bridge2d.results import Bounded, DetailResult, SectionResult
from bridge2d.verify.records import Case, Expected, Found, Row, Verified

if TYPE_CHECKING:
    from pathlib import Path


def verified_cases(cases: Sequence[Case], jobs: int = 0) -> list[Verified]:
    """All cases computed.

    Args:
        cases: what is computed.
        jobs: how many processes compute side by side; as many as there are processors for 0.

    Raises:
        Bridge2dError: a detail file is wrong or cannot be computed.
    """
    return side_by_side(verified, cases, jobs)


def verified(case: Case) -> Verified:
    """One case computed.

    Args:
        case: what is computed.

    Raises:
        Bridge2dError: its detail file is wrong or cannot be computed.
    """
    return held_against(case, tuple(_computed(path, case.tolerance) for path in case.files))


def held_against(case: Case, results: tuple[DetailResult, ...]) -> Verified:
    """A case whose files are computed, beside what is expected of it.

    Args:
        case: what is expected.
        results: of its files.
    """
    rows = tuple(Row(case, expected, _found(expected, results)) for expected in case.expected)
    return Verified(case, rows, results)


def _computed(path: Path, tolerance: float) -> DetailResult:
    from bridge2d.calculate import calculate
    from bridge2d.detail_file import load, locate

    loaded = load(path, geometry=False)
    try:
        return calculate(loaded.detail, tolerance, "auto", loaded.input_hash)
    except SectionError as error:
        raise locate(error, loaded) from None


def _found(expected: Expected, results: Sequence[DetailResult]) -> Found:
    """Ours, (value − subtract)·times."""
    if expected.quantity == "formula":
        return Found(_formula(expected))
    value = QUANTITIES[expected.quantity](results, expected.of)
    if isinstance(value, Bounded):
        bracket = value.minus(expected.subtract).times(expected.times)
        return Found(bracket.value, bracket.lower, bracket.upper)
    return value


def _formula(expected: Expected) -> float:
    module, _, name = expected.function.partition(".")
    function: Callable[..., float] = getattr(import_module(f"bridge2d.standards.{module}"), name)
    return function(*expected.arguments)


# -- what of the results a quantity is ---------------------------------------------------------------------------------


def _l2d(results: Sequence[DetailResult], of: str) -> Bounded:
    del of
    return _bracket(results[0])


def _bracket(result: DetailResult) -> Bounded:
    found = result.sections[0].l2d
    if found is None:
        raise ValueError(f"{result.detail.title}: there is no L2D")
    return found


def _l2d_product(results: Sequence[DetailResult], of: str) -> Bounded:
    del of
    one, other = (_bracket(result) for result in results)
    return Bounded(one.lower * other.lower, one.upper * other.upper)


def _l2d_between(results: Sequence[DetailResult], of: str) -> Bounded:
    """From the lower bound of a section that loses less to the upper bound of one that loses more."""
    del of
    less, more = (_bracket(result) for result in results)
    return Bounded(less.lower, more.upper)


def _heat_flow(results: Sequence[DetailResult], of: str) -> Bounded:
    return next(flow.flow for flow in results[0].sections[0].heat_flows if flow.environment == of)


def _temperature(results: Sequence[DetailResult], of: str) -> Found:
    probe = next(probe for section in results[0].sections for probe in section.probes if probe.name == of)
    return Found(probe.temperature, tolerance=probe.tolerance)


def _psi(results: Sequence[DetailResult], of: str) -> Bounded:
    return next(psi.value for psi in results[0].psi if psi.dimensions == of)


def _chi(results: Sequence[DetailResult], of: str) -> Bounded:
    del of
    chi = results[0].chi
    if chi is None:
        raise ValueError(f"{results[0].detail.title}: there is no χ")
    return chi.value


def _conductivity(results: Sequence[DetailResult], of: str) -> Found:
    section: SectionResult = results[0].sections[0]
    return Found(next(region.material.conductivity for region in section.section.regions if region.name == of))


QUANTITIES: dict[str, Callable[[Sequence[DetailResult], str], Bounded | Found]] = {
    "l2d": _l2d,
    "l2d_product": _l2d_product,
    "l2d_between": _l2d_between,
    "heat_flow": _heat_flow,
    "temperature": _temperature,
    "psi": _psi,
    "chi": _chi,
    "conductivity": _conductivity,
}
"""What of the results a quantity is."""
