"""Ψ of a window's installation, side by side of the opening, their mean, and U of the installed window.

Part of the step results of sections -> results of the detail; `calculate` calls it. Two solutions make one Ψ, and both
brackets count: lower bounds are taken off upper ones, so that the result holds for certain.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from bridge2d.detail import DIMENSION_SYSTEMS
from bridge2d.results import Bounded, InstallationResult, Psi, SectionResult, TraceTerm
from bridge2d.standards import iso_10077_1, iso_10077_2, iso_13789

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


def frame_transmittance(detail: Detail, sections: tuple[SectionResult, ...]) -> Bounded | None:
    """U_f = (L2D − U_p·b_p)/b_f of a frame given by its polygons [W/(m²·K)]; None where U_f is given.

    Args:
        detail: says which section, with which panel.
        sections: all sections' numbers.
    """
    frame = detail.frame
    l2d = next((one.l2d for one in sections if frame and one.section.name == frame.section), None)
    if frame is None or l2d is None:
        return None
    lower, upper = (
        iso_10077_2.frame_transmittance(end, frame.u_panel, frame.panel_length, frame.width)
        for end in (l2d.lower, l2d.upper)
    )
    return Bounded(lower, upper)


def with_frame(
    window: InstalledWindow | None, u_frame: Bounded | None
) -> tuple[InstalledWindow | None, InstalledWindow | None, InstalledWindow | None]:
    """The window with U_f at the lower end, in the middle and at the upper end of its bracket, and U_w from it.

    Args:
        window: as the detail has it.
        u_frame: computed U_f; None where it is given.
    """
    if window is None or u_frame is None:
        return window, window, window
    low, middle, high = (_with_u_frame(window, u) for u in (u_frame.lower, u_frame.value, u_frame.upper))
    return low, middle, high


def _with_u_frame(window: InstalledWindow, u_frame: float) -> InstalledWindow:
    u_window = iso_10077_1.window_transmittance(
        window.u_glazing, window.glazing_area, u_frame, window.frame_area, window.psi_edge, window.edge_length
    )
    return replace(window, u_frame=u_frame, u_window=u_window)


def installed_transmittance(
    lower_window: InstalledWindow | None, upper_window: InstalledWindow | None, sides: tuple[InstallationResult, ...]
) -> Bounded | None:
    """U of the installed window, (U_w·A_w + ΣΨ·l)/A_w [W/(m²·K)]; None where there is no window.

    Args:
        lower_window: the window alone with its least U_w.
        upper_window: with its greatest.
        sides: Ψ of every side.
    """
    if lower_window is None or upper_window is None or not sides:
        return None
    lower, upper = (
        iso_13789.installed_transmittance(window.u_window, window.area, [(psi, side.length) for psi, side in ends])
        for window, ends in (
            (lower_window, [(s.psi.lower, s) for s in sides]),
            (upper_window, [(s.psi.upper, s) for s in sides]),
        )
    )
    return Bounded(lower, upper)
