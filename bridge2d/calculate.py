"""The whole chain in one function: a detail in, all its numbers out.

detail -> sections solved -> Ψ, χ, fRsi -> limits. A reader who wants to know how a number came about starts here.
"""

from __future__ import annotations

import time
from dataclasses import replace
from typing import TYPE_CHECKING

from bridge2d import __version__
from bridge2d.detail import DIMENSION_SYSTEMS
from bridge2d.errors import SectionError
from bridge2d.hatches import frame_term, hatch_result
from bridge2d.installations import (
    frame_transmittance,
    installations,
    installed_transmittance,
    mean_psi,
    with_frame,
)
from bridge2d.months import by_month
from bridge2d.requirements import assess
from bridge2d.results import Bounded, Chi, DetailResult, Psi, SectionResult, TraceTerm
from bridge2d.solving import TOLERANCE

if TYPE_CHECKING:
    from bridge2d.detail import Detail
    from bridge2d.solved_sections import SolvedSections


def calculate(
    detail: Detail,
    tolerance: float = TOLERANCE,
    mesher: str = "auto",
    input_hash: str = "",
    most_passes: int | None = None,
    memory: SolvedSections | None = None,
) -> DetailResult:
    """Compute a detail.

    Args:
        detail: the junction's sections with the limits that it has to keep.
        tolerance: widest relative bracket around L2D [-]; where a section's Ψ asks for less, that counts.
        mesher: "auto", "grid" or "gmsh".
        input_hash: fingerprint of the input, printed with the results.
        most_passes: refinement ends after so many in any case, see `solve_section`; None goes on until all has settled.
        memory: knows sections that were solved before, and gets these; None solves all of them.

    Returns:
        All numbers of the detail.

    Raises:
        SectionError: a section cannot be computed.
        MissingLibraryError: gmsh is needed and its system libraries are missing.
    """
    from bridge2d.cavities import frozen
    from bridge2d.section_results import solve_section, with_cavities_of

    solve, freeze = (memory.solved, memory.frozen) if memory else (solve_section, frozen)
    begun = time.perf_counter()
    limited = {} if most_passes is None else {"most_passes": most_passes}
    sections = []
    if detail.frame is not None:
        alike = with_cavities_of(detail.sections, detail.frame.section, mesher, freeze)
        detail = replace(detail, sections=alike)
    for section in detail.sections:
        try:
            sections.append(solve(section, tolerance, mesher, **limited))
        except SectionError as error:
            error.section = section.name
            raise
    return combined(detail, tuple(sections), begun, input_hash)


def combined(detail: Detail, sections: tuple[SectionResult, ...], begun: float, input_hash: str) -> DetailResult:
    """The detail's own numbers from those of its sections.

    Args:
        detail: says how they are put together.
        sections: all sections' numbers.
        begun: when the computation began, by `time.perf_counter` [s].
        input_hash: fingerprint of the input.
    """
    # The surfaces of an element alone are not those of the building, so that no factor there is judged.
    sections = tuple(replace(one, f_rsi=()) if one.section.name in detail.alone else one for one in sections)
    chi = point_transmittance(detail, sections)
    sides = installations(detail, sections)
    u_frame = frame_transmittance(detail, sections)
    lower, window, upper = with_frame(detail.window, u_frame)
    mean = mean_psi(sides)
    psi = mean or linear_transmittances(detail, sections, chi, u_frame)
    factors = tuple(factor for section in sections for factor in section.f_rsi)
    module = None
    if detail.module is not None:
        from bridge2d.module_transmittance import module_transmittance

        module = module_transmittance(detail.module, sections)
    u_value = module.u_value if module else None
    met = tuple(assess(requirement, psi, chi, factors, u_value) for requirement in detail.requirements)
    seconds = time.perf_counter() - begun
    return DetailResult(
        replace(detail, window=window),
        sections,
        psi,
        chi,
        factors,
        met,
        seconds,
        __version__,
        input_hash,
        installations=sides,
        psi_installation=mean[0].value if mean else None,
        u_installed=installed_transmittance(lower, upper, sides),
        by_month=by_month(detail.climate, sections, bool(detail.installations)) if detail.climate else None,
        hatch=hatch_result(detail, sections, psi, u_frame),
        u_frame=u_frame,
        u_section=module,
    )


def point_transmittance(detail: Detail, sections: tuple[SectionResult, ...]) -> Chi | None:
    """χ = (L2D − ΣU·l)·depth of the repeated piece from the section that cuts it across, or L3D − ΣU·A of a round one.

    Args:
        detail: says which section and depth.
        sections: all sections' numbers.
    """
    combination = detail.combination
    section = _named(sections, combination.chi_section)
    if section is None or section.l2d is None:
        return None
    terms = _terms(section, "external")
    taken = sum(term.u_value * term.length for term in terms)
    depth = combination.chi_depth
    value = Bounded((section.l2d.lower - taken) * depth, (section.l2d.upper - taken) * depth)
    revolution, per_area = section.section.revolution, combination.per_area
    return Chi(value, section.l2d, terms, depth, combination.spacing, revolution, per_area)


def linear_transmittances(
    detail: Detail, sections: tuple[SectionResult, ...], chi: Chi | None, u_frame: Bounded | None = None
) -> tuple[Psi, ...]:
    """Ψ = L2D − ΣU·l, plus χ/s of repeated pieces, for every dimension system that all flanking elements know.

    Args:
        detail: says which section and spacing.
        sections: all sections' numbers.
        chi: of the repeated piece, or None.
        u_frame: U_f computed from the polygons of a hatch's glazed lid; its U_f·l is taken off too.
    """
    section = _named(sections, detail.combination.psi_section)
    if section is None or section.l2d is None or not section.flanking:
        return ()
    spacing = detail.combination.spacing
    repeated = None
    if chi is not None and spacing:
        repeated = Bounded(chi.value.lower / spacing, chi.value.upper / spacing)
    frame = frame_term(detail, u_frame)
    results = []
    for dimensions in DIMENSION_SYSTEMS:
        if all(dimensions in element.lengths for element in section.flanking):
            terms = _terms(section, dimensions)
            value = section.l2d.minus(sum(term.u_value * term.length for term in terms))
            if repeated is not None:
                value = value.plus(repeated)
            if frame is not None:
                terms, value = (*terms, frame[0]), value.minus(frame[1])
            results.append(Psi(dimensions, value, section.l2d, terms, repeated))
    return tuple(results)


def _terms(section: SectionResult, dimensions: str) -> tuple[TraceTerm, ...]:
    return tuple(TraceTerm(e.name, e.u_value, e.lengths[dimensions]) for e in section.flanking)


def _named(sections: tuple[SectionResult, ...], name: str) -> SectionResult | None:
    return next((section for section in sections if section.section.name == name), None)
