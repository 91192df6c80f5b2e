"""Ψ of a window's installation, side by side of the opening, their mean, and U of the installed window.

Part of the step results of sections -> results of the detail; `calculate` calls it. Two solutions make one Ψ, and both
brackets count: lower bounds are taken off upper ones, so that the result holds for certain.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from bridge2d.detail import DIMENSION_SYSTEMS
from bridge2d.results import Bounded, InstallationResult, Psi, SectionResult, TraceTerm
from bridge2d.standards import iso_13789

if TYPE_CHECKING:
    from bridge2d.detail import Detail, InstalledWindow


def installations(detail: Detail, sections: tuple[SectionResult, ...]) -> tuple[InstallationResult, ...]:
    """Ψ = L2D − ΣU·l − L2D of the element alone, for every side of the opening.

    The lengths of the flanking elements are those up to the rough opening, alike in every dimension system.

    Args:
        detail: says which sections, and how long each side is.
        sections: all sections' numbers.
    """
    by_name = {one.section.name: one for one in sections}
    found = []
    for side in detail.installations:
        section, reference = by_name[side.section], by_name[side.reference]
        if section.l2d is None or reference.l2d is None:
            continue
        terms = tuple(TraceTerm(e.name, e.u_value, e.lengths["external"]) for e in section.flanking)
        taken = sum(term.u_value * term.length for term in terms)
        psi = section.l2d.minus(taken).minus(reference.l2d)
        found.append(
            InstallationResult(
                side.name, psi, section.l2d, reference.l2d, terms, side.length, side.section, side.reference
            )
        )
    return tuple(found)


def mean_psi(sides: tuple[InstallationResult, ...]) -> tuple[Psi, ...]:
    """The length-weighted mean of the sides' Ψ, in every dimension system alike; empty where there are no sides.

    Its trace is the weighted mean of the sides' traces: each length of wall counts with its side's share.

    Args:
        sides: Ψ of every side.
    """
    total = sum(side.length for side in sides)
    if total <= 0:
        return ()
    value = l2d = reference = Bounded(0.0, 0.0)
    terms: list[TraceTerm] = []
    for side in sides:
        share = side.length / total
        value = value.plus(side.psi.times(share))
        l2d = l2d.plus(side.l2d.times(share))
        reference = reference.plus(side.reference_l2d.times(share))
        terms += [TraceTerm(f"{term.name}, {side.name}", term.u_value, term.length * share) for term in side.terms]
    return tuple(Psi(system, value, l2d, tuple(terms), reference_l2d=reference) for system in DIMENSION_SYSTEMS)


def installed_transmittance(window: InstalledWindow | None, sides: tuple[InstallationResult, ...]) -> Bounded | None:
    """U of the installed window, (U_w·A_w + ΣΨ·l)/A_w [W/(m²·K)]; None where there is no window.

    Args:
        window: the window alone.
        sides: Ψ of every side.
    """
    if window is None or not sides:
        return None
    lower, upper = (
        iso_13789.installed_transmittance(window.u_window, window.area, [(psi, side.length) for psi, side in ends])
        for ends in ([(s.psi.lower, s) for s in sides], [(s.psi.upper, s) for s in sides])
    )
    return Bounded(lower, upper)
