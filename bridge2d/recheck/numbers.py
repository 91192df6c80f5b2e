"""The numbers of a report out of its enclosed results, as its pages print them.

Part of the second step of a recheck: records -> **numbers**. What is listed here is computed again, compared, and
looked for on the pages.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from bridge2d import nomenclature as n
from bridge2d.module_words import U
from bridge2d.recheck.by_month import month_numbers
from bridge2d.recheck.records import HatchRecord, Results, SectionRecord
from bridge2d.recheck.sensitivity import sensitivity_numbers
from bridge2d.recheck.stated import Bracket, Number, about, bracket, estimate, exact
from bridge2d.report.words import EXACT


def by_hand(quantity: n.Quantity) -> n.Quantity:
    """A quantity as a calculation prints it that is to be followed by hand.

    Args:
        quantity: with the decimals that are meant.
    """
    return replace(quantity, decimals=EXACT["decimals"])


def numbers(found: Results) -> Iterator[Number]:
    """Every number of a report that is printed and can be compared.

    Args:
        found: the results.
    """
    for psi in found.psi if not found.installations else ():
        yield bracket(f"Ψ, {psi.dimensions.replace('_', ' ')}", n.PSI, psi)
    yield from _of_window(found)
    if found.u_section:
        yield bracket("U of the wall, from its section", U, found.u_section)
        yield exact("U by the combined method", U, found.u_section.combined_method.u_value)
        yield bracket("increase of U", U, found.u_section.increase)
    if found.chi:
        yield bracket("χ of one piece", n.point_transmittance(found.chi.l3d is not None), found.chi)
        if found.chi.added_transmittance:
            yield bracket("ΔU of all pieces", n.ADDED_TRANSMITTANCE, found.chi.added_transmittance)
    if found.hatch:
        yield from _of_hatch(found.hatch, found.u_frame)
    for section in found.sections:
        yield from _of_section(section)
    if found.climate:
        yield from month_numbers(found.climate)
    if found.sensitivities:
        yield from sensitivity_numbers(found.sensitivities)


def _of_window(found: Results) -> Iterator[Number]:
    for side in found.installations:
        yield bracket(f"Ψ of installation, {side.name}", n.PSI, side.psi)
        if side.reference_l2d:
            yield bracket(f"L2D of the window alone, {side.name}", n.L2D, side.reference_l2d)
    if found.psi_installation:
        yield bracket("Ψ of installation, mean", n.PSI, found.psi_installation)
    if found.window:
        u_value, frame = found.window.u_value, found.u_frame
        half = 0.5 * (frame.upper - frame.lower) if frame else 0.0  # the frame is a part of the window
        name, quantity = "U of the window alone", by_hand(n.U_VALUE)
        yield (
            about(name, quantity, u_value, u_value - half, u_value + half) if frame else exact(name, quantity, u_value)
        )
    if found.u_installed:
        yield bracket("U of the installed window", n.U_VALUE, found.u_installed)
    if found.u_frame:
        yield bracket("U of the frame", n.U_VALUE, found.u_frame)


def _of_hatch(hatch: HatchRecord, u_frame: Bracket | None) -> Iterator[Number]:
    for part in hatch.parts:
        name, quantity, loss = f"U·A of {part.name}", by_hand(n.COUPLING_3D), part.u_value * part.area
        if u_frame and part.u_value == u_frame.value:  # computed from its polygons, as no other part is
            yield about(name, quantity, loss, u_frame.lower * part.area, u_frame.upper * part.area)
        else:
            yield exact(name, quantity, loss)
    if hatch.u_lid_bounds is None:
        yield exact("U of the lid", n.U_VALUE, hatch.u_lid)
    else:
        yield bracket("U of the lid", n.U_VALUE, hatch.u_lid_bounds)
    yield bracket("loss of the whole hatch", n.COUPLING_3D, hatch.loss)
    for factor in hatch.f_rsi:
        yield estimate(f"fRsi on {factor.name}", n.F_RSI, factor.value, factor.tolerance)


def _of_section(section: SectionRecord) -> Iterator[Number]:
    where = section.name
    for coupling in section.coupling:
        quantity = n.coupling(section.revolution)
        name = quantity.plain_symbol if section.whole else f"coupling {coupling.start} – {coupling.end}"
        yield bracket(f"{name}, {where}", quantity, coupling)
    for flow in section.heat_flows:
        name = f"heat flow from {flow.environment}, {where}"
        yield Number(name, "bracket", n.heat_flow(section.revolution), flow.flow, flow.lower, flow.upper)
    for element in section.flanking:
        yield exact(f"U of {element.name}, {where}", n.U_VALUE, element.u_value)
    for factor in section.f_rsi:
        yield estimate(f"fRsi of {factor.environment}, {where}", n.F_RSI, factor.value, factor.tolerance)
    for kind, probes in (("at", section.probes), ("lowest along", section.watched)):
        for probe in probes:
            name = f"θ {kind} {probe.name}, {where}"
            yield estimate(name, n.TEMPERATURE, probe.temperature, probe.tolerance)
            yield estimate(f"{name}, for fRsi", n.TEMPERATURE, probe.temperature_f_rsi, probe.tolerance)
