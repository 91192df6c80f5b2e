"""Limits and whether the results keep them.

Late step of the flow: results -> **requirements** -> documents. A limit counts as kept only where that is certain: a
bounded number keeps it with its whole bracket, an estimate with its whole tolerance.
"""

from __future__ import annotations

from bridge2d.detail import Requirement
from bridge2d.errors import InputError
from bridge2d.results import Bounded, Chi, Psi, RequirementResult, TemperatureFactor


def assess(
    requirement: Requirement,
    psi: tuple[Psi, ...],
    chi: Chi | None,
    f_rsi: tuple[TemperatureFactor, ...],
    u_value: Bounded | None = None,
) -> RequirementResult:
    """Whether the results keep a limit.

    Args:
        requirement: the limit.
        psi: Ψ in each dimension system [W/(m·K)].
        chi: χ of the repeated piece [W/K], or None.
        f_rsi: temperature factors of all environments and sections; the one that comes closest to breaking the limit
            counts [1].
        u_value: U of a plane element from its section [W/(m²·K)], or None.

    Raises:
        InputError: the results hold no number of that kind.
    """
    if requirement.quantity == "psi":
        found = next((one.value for one in psi if one.dimensions == requirement.dimensions), None)
        return judge(requirement, _present(found, requirement))
    if requirement.quantity == "chi":
        return judge(requirement, _present(chi.value if chi else None, requirement))
    if requirement.quantity == "u_value":
        return judge(requirement, _present(u_value, requirement))
    sign = 1.0 if requirement.sense == "minimum" else -1.0
    worst = min(f_rsi, key=lambda one: sign * one.value - one.tolerance, default=None)
    return judge(requirement, _present(worst, requirement))


def judge(requirement: Requirement, number: Bounded | TemperatureFactor) -> RequirementResult:
    """Whether one number keeps a limit.

    Args:
        requirement: the limit.
        number: a bracket, or an estimate with its tolerance.
    """
    if isinstance(number, Bounded):
        lower, upper = number.lower, number.upper
    else:
        lower, upper = number.value - number.tolerance, number.value + number.tolerance
    limit = requirement.limit
    met = upper <= limit if requirement.sense == "maximum" else lower >= limit
    broken = lower > limit if requirement.sense == "maximum" else upper < limit
    return RequirementResult(requirement, number.value, met, certain=met or broken)


def _present(number: Bounded | TemperatureFactor | None, requirement: Requirement) -> Bounded | TemperatureFactor:
    if number is None:
        raise InputError(
            f"the limit {requirement.name!r} asks for a {requirement.quantity} that this detail does not have",
            key="[[requirement]]",
            right="leave it out, or add what the number needs",
        )
    return number
