"""One section from its geometry to its numbers: the solved fields put into plain records.

Last step of the numerics. Where a number has a guaranteed bracket it leaves as `Bounded`, where it has a tolerance that
stands beside it, and nothing else leaves: no solver object is seen beyond this module.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from bridge2d.airtight import airtight_result
from bridge2d.cavities import frozen
from bridge2d.closer_look import AGREEMENT
from bridge2d.cuts import closed_holes
from bridge2d.elements import COUNT
from bridge2d.even_fields import even
from bridge2d.flanking import flanking_result
from bridge2d.partition import ADIABATIC
from bridge2d.refinement import MOST_PASSES, Settled, once, settle
from bridge2d.results import (
    AirtightResult,
    Bounded,
    Check,
    Coupling,
    Fields,
    FlankingResult,
    HeatFlow,
    HigherFields,
    Pass,
    ProbeResult,
    SectionResult,
    TemperatureFactor,
)
from bridge2d.section_check import check_probes, check_revolution
from bridge2d.solution import temperatures_of, tensors
from bridge2d.standards import iso_10211

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from bridge2d.cavities import FrozenCavity
    from bridge2d.detail import CutOff, Section
    from bridge2d.mesh import SectionMesh
    from bridge2d.results import IntArray
    from bridge2d.spaces import FloatArray, Rim

ROUNDING = 1e-12
"""Least allowance for rounding by which every bracket is widened on both sides, as a share of the couplings' sum."""
LEAST_TOLERANCE = 1e-4
"""Least tolerance stated for a temperature, as a share of the span of temperatures."""
TURNED = np.array([8, 7, 6, 11, 10, 9, 12, 14, 13])
"""Higher functions of a triangle whose second and third corner change places."""
FROZEN = (
    "conductivities of cavities ({}) were iterated on their heat flow and then frozen: the bracket holds for the "
    "frozen values"
)
NO_PSI = (
    "Ψ needs exactly two environments, and this section has {}: none is given; rooms of one temperature can share one "
    "name"
)
CUT_OFF_SOURCE = "ISO 10211:2017, 7.2.1, table 1 (clause remembered)"
SINGULAR = (
    "two environments with prescribed temperatures touch in a point, where the heat flow grows without limit: "
    "temperatures are given, heat flows have no value"
)


def solve_section(
    section: Section, tolerance: float, mesher: str = "auto", most_passes: int = MOST_PASSES
) -> SectionResult:
    """Solve a section and put its numbers into records.

    Args:
        section: the section.
        tolerance: widest relative bracket [-].
        mesher: see `mesh.mesh_section`.
        most_passes: refinement ends after so many in any case, see `refinement.settle`; after 1, which is a first look,
            temperatures have no second opinion, so their tolerances say nothing, and the airtight layer is left out.

    Raises:
        SectionError: the section cannot be computed.
        MissingLibraryError: gmsh is needed and cannot start.
    """
    check_revolution(section)
    check_probes(section)
    section, cavities = frozen(section, mesher)
    flanking = tuple(flanking_result(section, k) for k in range(len(section.flanking)))
    settled = settle(section, tolerance, mesher, most_passes)
    found = _result(section, settled, flanking, airtight=most_passes > 1)
    return replace(found, warnings=(*found.warnings, FROZEN.format(len(cavities)))) if cavities else found


def solve_on(section: Section, mesh: SectionMesh) -> SectionResult:
    """A section's numbers on a mesh that is there, without its airtight layer.

    There is no second opinion on temperatures, so that their tolerances say nothing.

    Args:
        section: the section, without cavities.
        mesh: of it.

    Raises:
        SectionError: rounding has spoiled the solution, or a flanking element cannot be read.
    """
    flanking = tuple(flanking_result(section, k) for k in range(len(section.flanking)))
    return _result(section, once(section, mesh), flanking, airtight=False)


def _result(
    section: Section, settled: Settled, flanking: tuple[FlankingResult, ...], *, airtight: bool
) -> SectionResult:
    last = settled.passes[-1]
    copies = 2.0 if section.mirrored else 1.0
    singular = last.warm.singular
    middle, width = _brackets(settled, copies)
    solved = _fields(section, settled)
    given = np.array([environment.temperature for environment in section.environments])
    flows = copies * last.warm.flows @ given
    return SectionResult(
        section=section,
        fields=even(solved),
        mesher=last.mesh.mesher,
        l2d=None if singular or len(given) != 2 else _bounded(middle, width, 0, 0),
        coupling=() if singular else _couplings(section, middle, width),
        heat_flows=() if singular else _heat_flows(section, middle, width, given),
        flanking=flanking,
        f_rsi=_factors(section, settled),
        probes=_probes(section, settled),
        watched=_watched(section, settled),
        passes=tuple(_pass(section, settled, k, copies) for k in range(len(settled.passes))),
        balance=iso_10211.heat_balance(flows.tolist()) if np.ptp(given) > 0 and not singular else 0.0,
        checks=_checks(section, settled, flanking, flows),
        airtight=_airtight(section, settled) if airtight else None,
        solved=None if solved.higher is None else solved,
        warnings=_warnings(section, settled),
    )


def with_cavities_of(
    sections: tuple[Section, ...],
    name: str,
    mesher: str = "auto",
    settle_cavities: Callable[[Section, str], tuple[Section, tuple[FrozenCavity, ...]]] = frozen,
) -> tuple[Section, ...]:
    """The sections of one frame with the cavities of one of them, computed there and frozen in all.

    Args:
        sections: all have the same cavities, in the same order.
        name: of the section that the conductivities are computed in.
        mesher: see `mesh.mesh_section`.
        settle_cavities: computes them; one that remembers saves the time where the frame was looked at before.

    Raises:
        SectionError: the conductivities do not settle.
    """
    reference = next(section for section in sections if section.name == name)
    computed = [r.material for r in settle_cavities(reference, mesher)[0].regions if r.cavity is not None]
    found = []
    for section in sections:
        following = iter(computed)
        regions = (
            r if r.cavity is None else replace(r, material=next(following), cavity=None) for r in section.regions
        )
        found.append(replace(section, regions=tuple(regions)))
    return tuple(found)


def _brackets(settled: Settled, copies: float) -> tuple[FloatArray, FloatArray]:
    """Middle and width of the bracket, as matrices over the environments; shape (E, E) [W/(m·K)]."""
    return _bracket_of(settled, len(settled.passes) - 1, copies)


def _bracket_of(settled: Settled, number: int, copies: float) -> tuple[FloatArray, FloatArray]:
    solution = settled.passes[number]
    upper, lower = solution.warm.upper, solution.stream.lower
    between = solution.gap.matrix
    # The same difference comes from the bounds and from the gap, the same energy from the field and from its heat flow;
    # where they disagree, rounding has been at work, and the bracket is widened by it. So it has where the gap, an
    # integral of squares, came out negative.
    doubt = np.abs(np.diag(upper - lower - between)) + np.abs(np.diag(upper - solution.warm.flows))
    doubt += np.maximum(-np.diag(between), 0.0)
    width = 0.5 * (between + between.T) + 2 * np.diag(doubt + ROUNDING * np.diag(upper))
    return copies * 0.5 * (upper + lower), copies * width


def _bounded(middle: FloatArray, width: FloatArray, i: int, j: int) -> Bounded:
    """Bracket around an entry of the true coupling matrix.

    As a quadratic form the true matrix lies between −W/2 and W/2 about the middle, so that each entry is within
    ½√(Wii Wjj) of the middle's (Cauchy and Schwarz).
    """
    half = 0.5 * float(np.sqrt(max(width[i, i], 0.0) * max(width[j, j], 0.0)))
    return Bounded(float(middle[i, j]) - half, float(middle[i, j]) + half)


def _couplings(section: Section, middle: FloatArray, width: FloatArray) -> tuple[Coupling, ...]:
    names = [environment.name for environment in section.environments]
    return tuple(
        Coupling(names[i], names[j], _bounded(-middle, width, i, j))
        for i in range(len(names))
        for j in range(i + 1, len(names))
    )


def _heat_flows(section: Section, middle: FloatArray, width: FloatArray, given: FloatArray) -> tuple[HeatFlow, ...]:
    # A common shift of all temperatures changes no flow; the middle of the span makes the bracket narrow.
    shifted = given - 0.5 * (given.max() + given.min())
    spread = float(np.sqrt(max(shifted @ width @ shifted, 0.0)))
    flows = []
    for i, environment in enumerate(section.environments):
        half = 0.5 * spread * float(np.sqrt(max(width[i, i], 0.0)))
        flow = float(middle[i] @ shifted)
        flows.append(HeatFlow(environment.name, Bounded(flow - half, flow + half)))
    return tuple(flows)


def _pass(section: Section, settled: Settled, number: int, copies: float) -> Pass:
    solution = settled.passes[number]
    size = len(solution.on.triangles), solution.warm.unknowns
    if solution.warm.singular or len(section.environments) != 2:
        return Pass(*size, None, None)
    l2d = _bounded(*_bracket_of(settled, number, copies), 0, 0)
    return Pass(*size, l2d.lower, l2d.upper)


def _tolerances(settled: Settled) -> FloatArray:
    """Of every temperature of interest, in the order of `Temperatures.values`; shape (k,) [K].

    Twice the change while the mesh became finer at its place, and twice the relative bracket for what the mesh
    elsewhere may still add; never below what is meaningful. The bracket of a solid of revolution is that of a wide disc
    and says little of the screw in its middle; there the least tolerance is what counts as settled.
    """
    span = settled.now.span
    least = AGREEMENT if settled.passes[-1].on.weights is not None else LEAST_TOLERANCE
    return np.maximum(2.0 * (settled.changes + settled.doubt * span), least * span)


def _factors(section: Section, settled: Settled) -> tuple[TemperatureFactor, ...]:
    cold = min(environment.temperature for environment in section.environments)
    factors = []
    tolerances = _tolerances(settled)[: len(settled.now.coldest)].tolist()
    for now, tolerance in zip(settled.now.coldest, tolerances, strict=True):
        warm = section.environments[now.environment]
        factors.append(
            TemperatureFactor(
                warm.name,
                iso_10211.temperature_factor(now.temperature, warm.temperature, cold),
                now.temperature,
                now.point,
                section.surfaces[now.surface].f_rsi_resistance,
                tolerance / (warm.temperature - cold),
                section.name,
            )
        )
    return tuple(factors)


def _probes(section: Section, settled: Settled) -> tuple[ProbeResult, ...]:
    now, first = settled.now.probes, len(settled.now.coldest)
    tolerances = _tolerances(settled)[first : first + now.size].reshape(now.shape)
    return tuple(
        ProbeResult(
            probe.name,
            probe.point,
            float(now[k, 0]),
            float(now[k, 1]),
            float(tolerances[k].max()),
            section.name,
        )
        for k, probe in enumerate(section.probes)
    )


def _watched(section: Section, settled: Settled) -> tuple[ProbeResult, ...]:
    """The lowest temperature along each watched line; lines of one name count as one.

    It lies at one of some sampled places, often a corner, and is known no better than what counts as settled.
    """
    now = settled.now.watched
    tolerances = _tolerances(settled)[len(settled.changes) - now.size :].reshape(now.shape)
    tolerances = np.maximum(tolerances, AGREEMENT * settled.now.span)
    found: dict[str, ProbeResult] = {}
    for k, watched in enumerate(section.watched):
        one = ProbeResult(
            watched.name,
            (float(settled.now.watched_points[k, 1, 0]), float(settled.now.watched_points[k, 1, 1])),
            float(now[k, 0]),
            float(now[k, 1]),
            float(tolerances[k].max()),
            section.name,
        )
        found[one.name] = _colder(found[one.name], one) if one.name in found else one
    return tuple(found.values())


def _colder(one: ProbeResult, other: ProbeResult) -> ProbeResult:
    """The lowest temperatures of two lines, at the place that is colder with the resistances of fRsi."""
    coldest = min(one, other, key=lambda line: line.temperature_f_rsi)
    return replace(
        coldest,
        temperature=min(one.temperature, other.temperature),
        tolerance=max(one.tolerance, other.tolerance),
    )


def _airtight(section: Section, settled: Settled) -> AirtightResult | None:
    if not section.airtight:
        return None
    last, earlier = settled.passes[-1].on, settled.earlier
    least = LEAST_TOLERANCE * settled.now.span
    before = temperatures_of(section, earlier).nodes_f_rsi
    return airtight_result(section, last, settled.now.nodes_f_rsi, earlier.on, before, least)


def _fields(section: Section, settled: Settled) -> Fields:
    last = settled.passes[-1]
    given = np.array([environment.temperature for environment in section.environments])
    corners = last.on.points[last.on.triangles[:, :3]]
    side, other = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    clockwise = side[:, 0] * other[:, 1] < side[:, 1] * other[:, 0]
    order = np.where(clockwise[:, None], [0, 2, 1, 5, 4, 3], [0, 1, 2, 3, 4, 5])
    stream = np.take_along_axis(last.stream.local[:, :6] @ given, order, axis=1)
    return Fields(
        last.on.points,
        np.take_along_axis(last.on.triangles, order, axis=1),
        last.on.region,
        settled.now.nodes[: len(last.on.points)],
        settled.now.nodes_f_rsi[: len(last.on.points)],
        stream,
        tensors(section),
        _rim(last.on.rim, clockwise),
        _higher(settled, given, clockwise),
    )


def _higher(settled: Settled, given: FloatArray, clockwise: NDArray[np.bool_]) -> HigherFields | None:
    """What functions of higher order add, for triangles whose second and third corner change places if clockwise."""
    last = settled.passes[-1]
    if last.mesh.order is None:
        return None
    # The side between both runs the other way then, against the sense of its function of third order.
    order = np.where(clockwise[:, None], TURNED, np.arange(6, COUNT))
    sense = np.ones((len(clockwise), COUNT - 6))
    sense[clockwise, 1] = -1.0
    found = settled.now.nodes[last.on.functions], settled.now.nodes_f_rsi[last.on.functions], last.stream.local @ given
    return HigherFields(last.mesh.order, *(sense * np.take_along_axis(one, order, axis=1) for one in found))


def _rim(rim: Rim, clockwise: NDArray[np.bool_]) -> IntArray:
    """Triangle, side and surface of each side that faces an environment, see `Fields.rim`."""
    facing = rim.where(rim.surface != ADIABATIC)
    middle = facing.local[:, 2]
    side = np.where(clockwise[facing.triangle], 5 - middle, middle - 3)
    return np.stack([facing.triangle, side, facing.surface], axis=1)


def _checks(
    section: Section, settled: Settled, flanking: tuple[FlankingResult, ...], flows: FloatArray
) -> tuple[Check, ...]:
    checks = [_cut_off(element) for element in flanking if not element.within]
    checks += [_other_cut_off(plane) for plane in section.cut_offs]
    last, earlier = settled.passes[-1], settled.earlier
    given = np.array([environment.temperature for environment in section.environments])
    if not last.warm.singular and np.ptp(given) > 0:
        coarse, fine = (np.abs(s.warm.flows @ given).tolist() for s in (earlier, last))
        change = iso_10211.doubling_difference(coarse, fine)
        checks.append(
            Check(
                "doubling criterion",
                "heat flows change by less than 1 % when the number of subdivisions is at least doubled",
                f"{100 * change:.2g} % from {earlier.mesh.unknowns} to {last.mesh.unknowns} unknowns, by the "
                "flows of the temperature solution",
                change <= 0.01,
                "ISO 10211:2017, 7.4 (clause remembered)",
            )
        )
        balance = iso_10211.heat_balance(flows.tolist())
        checks.append(
            Check(
                "heat balance",
                "sum of all heat flows less than 0.0001 of half the sum of their sizes",
                f"{balance:.1e}",
                balance < 1e-4,
                "ISO 10211:2017, 7.4 (clause remembered)",
            )
        )
    return tuple(checks)


def _other_cut_off(plane: CutOff) -> Check:
    required = iso_10211.cut_off_distance(plane.thickness)
    return Check(
        f"cut-off plane of {plane.name}",
        f"at max(1 m, 3 d) = {required:.3f} m",
        f"at {plane.distance:.3f} m",
        plane.distance >= required - 1e-6,
        CUT_OFF_SOURCE,
    )


def _cut_off(element: FlankingResult) -> Check:
    asked = f"undisturbed for max(1 m, 3 d) = {element.required_length:.3f} m, or a plane of symmetry"
    if element.symmetric:
        found, met = "plane of symmetry", True
    else:
        found = f"undisturbed for {element.uniform_length:.3f} m"
        met = element.uniform_length >= element.required_length - 1e-6
    return Check(f"cut-off plane at {element.name}", asked, found, met, CUT_OFF_SOURCE)


def _warnings(section: Section, settled: Settled) -> tuple[str, ...]:
    warnings = []
    if section.flanking and len(section.environments) != 2:
        warnings.append(NO_PSI.format(len(section.environments)))
    last = settled.passes[-1]
    if last.warm.singular:
        warnings.append(SINGULAR)
    if not settled.complete:
        warnings.append(
            f"refinement ended at {last.warm.unknowns} unknowns before the bracket was as narrow or the temperatures "
            f"as settled (to {AGREEMENT:g} of their span) as asked; the bracket printed holds all the same"
        )
    for x, y in closed_holes(last.on):
        warnings.append(
            f"a hole around ({1000 * x:g}, {1000 * y:g}) mm faces no environment and counts as adiabatic; "
            "if regions should touch there, close the gap"
        )
    return tuple(warnings)
