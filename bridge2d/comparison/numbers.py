"""The rows of numbers: Ψ, χ, U, temperature factors, coldest points, and what the junctions lose in all."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from bridge2d import nomenclature as n
from bridge2d.comparison.alike import junctions_differ
from bridge2d.comparison.records import (
    EXACT,
    NOISE,
    Amount,
    Basis,
    Option,
    Row,
    bracket,
    difference,
    estimate,
)
from bridge2d.detail import DIMENSION_SYSTEMS, Section
from bridge2d.module_words import U
from bridge2d.results import DetailResult, Psi, TemperatureFactor

U_SECTION = "u section"
"""Key of the row of a plane element's U."""
LESS, MORE, NEITHER = -1, 1, 0
"""Which way is the better one."""
INDEX = {"external": "e", "internal": "i", "overall_internal": "oi"}
"""Subscripts of Ψ by dimension system (ISO 14683)."""


def row(
    options: Sequence[Option],
    key: str,
    quantity: n.Quantity,
    name: str,
    sense: int,
    found: Callable[[Option], Amount | None],
    *,
    symbol: str = "",
    plain: str = "",
    important: bool = False,
) -> Row:
    """One number of all options with its differences.

    Args:
        options: the options, the first one first.
        key: name in the JSON.
        quantity: what it is.
        name: in words of the trade.
        sense: which way is better; nothing says so of different junctions.
        found: the number of an option.
        symbol: the trade's letter; the quantity's unless given.
        plain: in words of who builds.
        important: whether it leads the table on paper.
    """
    values = tuple(found(option) for option in options)
    sense = NEITHER if junctions_differ(options) else sense
    between = replace(quantity, unit=quantity.difference_unit) if quantity.difference_unit else quantity
    differences = (None, *(difference(value, values[0], sense, between) for value in values[1:]))
    return Row(key, quantity, symbol or quantity.symbol, name, plain, values, differences, between, important)


def number_rows(options: Sequence[Option], basis: Basis) -> tuple[Row, ...]:
    """All rows that at least one option has a number for.

    Args:
        options: the options.
        basis: what they share.
    """
    whole = are_hatches(options)  # then their edges alone, by the metre, would only confuse
    rows = [*_psi_rows(options, basis), *([] if whole else _piece_row(options, basis)), *_window_rows(options)]
    rows += [_module_row(options), *_hatch_rows(options, basis)]
    rows += [*_temperature_rows(options), *([] if whole else _loss_rows(options, basis))]
    rows += _watched_rows(options) + _flanking_rows(options)
    if not any(option.result.psi or option.result.chi for option in options):
        rows = _coupling_rows(options) + rows
    return tuple(one for one in rows if any(value is not None for value in one.values))


def psi_of(option: Option, dimensions: str) -> Amount | None:
    """Ψ of an option in a dimension system; of an installed window their mean [W/(m·K)]."""
    result = option.result
    if result.psi_installation is not None:
        return bracket(result.psi_installation)
    return next((bracket(psi.value) for psi in result.psi if psi.dimensions == dimensions), None)


def _psi_rows(options: Sequence[Option], basis: Basis) -> list[Row]:
    sense = NEITHER if plane_parts_differ(options) else LESS
    rows = [
        row(
            options,
            f"psi {system}",
            n.PSI,
            f"{n.PSI.spoken}, {system.replace('_', ' ')} dimensions",
            sense,
            lambda option, system=system: psi_of(option, system),  # type: ignore[misc]
            symbol=f"Ψ_{INDEX[system]}",
            plain=f"heat loss per metre, {system.replace('_', ' ')}",
            important=system == basis.dimensions,
        )
        for system in DIMENSION_SYSTEMS
        if any(psi.dimensions == system for option in options for psi in option.result.psi)
    ]
    if rows and all(option.result.installations for option in options if option.result.psi):
        return _installation_rows(options)
    chi = row(
        options,
        "chi",
        n.point_transmittance(any(option.result.chi and option.result.chi.of_revolution for option in options)),
        f"{n.CHI.spoken} of one piece",
        sense,
        lambda option: bracket(option.result.chi.value) if option.result.chi else None,
        plain="heat loss of one piece",
    )
    return [*rows, chi]


def _installation_rows(options: Sequence[Option]) -> list[Row]:
    """Ψ of every side and their mean; the dimension systems make no difference there."""
    names = dict.fromkeys(side.name for option in options for side in option.result.installations)
    rows = [
        row(
            options,
            f"psi of installation {name}",
            n.PSI,
            f"Ψ of installation, {name}",
            LESS,
            lambda option, name=name: next(  # type: ignore[misc]
                (bracket(side.psi) for side in option.result.installations if side.name == name), None
            ),
        )
        for name in names
    ]
    mean = row(
        options,
        "psi of installation",
        n.PSI,
        "Ψ of installation, mean by length",
        LESS,
        lambda option: psi_of(option, ""),
        plain="heat loss per metre of the joint, mean",
        important=True,
    )
    return [mean, *rows]


def _window_rows(options: Sequence[Option]) -> list[Row]:
    def alone(option: Option) -> Amount | None:
        window = option.result.detail.window
        return Amount(window.u_window, window.u_window) if window else None

    def installed(option: Option) -> Amount | None:
        return bracket(option.result.u_installed) if option.result.u_installed else None

    return [
        row(options, "u alone", n.U_VALUE, "U before it is installed", LESS, alone),
        row(
            options, "u installed", n.U_VALUE, "U as installed", LESS, installed, plain="U as installed, joint included"
        ),
    ]


def _module_row(options: Sequence[Option]) -> Row:
    """U of a plane element with repeated pieces."""

    def found(option: Option) -> Amount | None:
        return bracket(option.result.u_section.u_value) if option.result.u_section else None

    return row(
        options, U_SECTION, U, "U of the wall, from its section", LESS, found, plain="U of the wall", important=True
    )


def are_hatches(options: Sequence[Option]) -> bool:
    """Whether each option is a whole hatch of the same clear size, whose losses compare as they are.

    Args:
        options: the options.
    """
    sizes = {(hatch.width, hatch.length) for one in options if (hatch := one.result.detail.hatch) is not None}
    return len(sizes) == 1 and all(one.result.hatch is not None for one in options)


def hatch_loss(option: Option) -> Amount | None:
    """U·A + Ψ·P of all hatches of the option [W/K]; of one unless the number is given."""
    found = option.result.hatch
    return bracket(found.loss).times(option.terms.number or 1) if found is not None else None


def hatch_annual(option: Option, basis: Basis) -> Amount | None:
    """Heat that they lose in a year [kWh/a]."""
    found, hours = hatch_loss(option), basis.heating_degree_hours
    return found.times(hours) if found is not None and hours is not None else None


def _hatch_rows(options: Sequence[Option], basis: Basis) -> list[Row]:
    """U of the lid, the loss of the whole hatch, and what that is in a year."""
    if not any(option.result.hatch for option in options):
        return []
    sense = LESS if are_hatches(options) else NEITHER
    count = options[0].terms.number or 1
    of = "the hatch" if count == 1 else f"{count} hatches"
    hours = f"{basis.heating_degree_hours:g} kKh/a" if basis.heating_degree_hours else ""

    def of_lid(option: Option) -> Amount | None:
        return bracket(option.result.hatch.u_lid) if option.result.hatch is not None else None

    return [
        row(
            options,
            "hatch loss",
            replace(n.JUNCTION_LOSS, symbol="H"),
            f"heat loss of {of} per kelvin, lid and edge, without corners",
            sense,
            hatch_loss,
            plain=f"heat loss of {of} per kelvin",
            important=True,
        ),
        row(
            options,
            "hatch annual",
            n.ANNUAL_HEAT,
            f"heat loss of {of} in a year at {hours}",
            sense,
            lambda option: hatch_annual(option, basis),
            symbol=" ",
            plain=f"{of} in a year, {hours}",
            important=True,
        ),
        row(options, "u lid", n.U_VALUE, "U of the lid", NEITHER, of_lid, plain="U of the lid"),
    ]


def _coupling_rows(options: Sequence[Option]) -> list[Row]:
    """Coupling coefficients, where no option has a Ψ."""

    def found(option: Option, key: tuple[str, str, str]) -> Amount | None:
        return next(
            (
                bracket(one.coefficient)
                for section in option.result.sections
                for one in section.coupling
                if (section.section.name, one.start, one.end) == key
            ),
            None,
        )

    keys = dict.fromkeys(
        (section.section.name, one.start, one.end)
        for option in options
        for section in option.result.sections
        for one in section.coupling
    )
    round_ones = {s.section.name for option in options for s in option.result.sections if s.section.revolution}
    return [
        row(
            options,
            f"coupling {' '.join(key)}",
            n.coupling(key[0] in round_ones),
            f"coupling coefficient {key[1]} – {key[2]}, {key[0]}",
            LESS,
            lambda option, key=key: found(option, key),  # type: ignore[misc]
        )
        for key in keys
    ]


# -- temperatures --------------------------------------------------------------------------------------------------


def coldest(result: DetailResult, environment: str = "") -> TemperatureFactor | None:
    """The lowest temperature factor, of one environment or of all."""
    known = [one for one in result.f_rsi if not environment or one.environment == environment]
    return min(known, key=lambda one: one.value, default=None)


def rooms(options: Sequence[Option]) -> list[str]:
    """Environments whose lowest factors are compared: by name where all options share the names, else all as one."""
    names = [list(dict.fromkeys(one.environment for one in option.result.f_rsi)) for option in options]
    return names[0] if len(names[0]) > 1 and all(set(one) == set(names[0]) for one in names) else [""]


def _temperature_rows(options: Sequence[Option]) -> list[Row]:
    def factor(option: Option, room: str) -> Amount | None:
        found = coldest(option.result, room)
        return estimate(found.value, found.tolerance) if found else None

    def temperature(option: Option, room: str) -> Amount | None:
        found = coldest(option.result, room)
        return estimate(found.temperature, option.result.kelvin(found)) if found else None

    rows = []
    for room in rooms(options):
        of = f" of {room}" if room else ""
        rows += [
            row(
                options,
                f"f_rsi {room}".strip(),
                n.F_RSI,
                f"{n.F_RSI.spoken}{of}, lowest",
                MORE,
                lambda option, room=room: factor(option, room),  # type: ignore[misc]
                plain=f"temperature factor{of}, lowest",
                important=True,
            ),
            row(
                options,
                f"coldest point {room}".strip(),
                n.SURFACE_TEMPERATURE,
                f"temperature of the coldest inside surface{of}",
                MORE,
                lambda option, room=room: temperature(option, room),  # type: ignore[misc]
                plain=f"coldest spot inside{of}",
                important=True,
            ),
        ]
    return rows


def _watched_rows(options: Sequence[Option]) -> list[Row]:
    """The lowest temperature along every watched line, such as a timber's end."""

    def found(option: Option, name: str) -> Amount | None:
        lines = [line for section in option.result.sections for line in section.watched if line.name == name]
        line = min(lines, key=lambda one: one.temperature_f_rsi, default=None)
        return estimate(line.temperature_f_rsi, line.tolerance) if line else None

    names = dict.fromkeys(
        line.name for option in options for section in option.result.sections for line in section.watched
    )
    return [
        row(
            options,
            f"watched {name}",
            n.TEMPERATURE,
            f"lowest temperature along {name}",
            MORE,
            lambda option, name=name: found(option, name),  # type: ignore[misc]
        )
        for name in names
    ]


def _flanking_rows(options: Sequence[Option]) -> list[Row]:
    """U of the plane elements, where it is not the same in all options."""

    def found(option: Option, name: str) -> Amount | None:
        value = flanking(option).get(name)
        return Amount(value, value, EXACT) if value is not None else None

    lids = {name for option in options if (hatch := option.result.detail.hatch) for name, _ in hatch.areas}
    names = dict.fromkeys(name for option in options for name in flanking(option) if name not in lids)
    rows = [
        row(
            options,
            f"u {name}",
            n.U_VALUE,
            f"U of {name}",
            LESS,
            lambda option, name=name: found(option, name),  # type: ignore[misc]
        )
        for name in names
    ]
    return [one for one in rows if any(d is None or abs(d.amount.value) > NOISE for d in one.differences[1:])]


def flanking(option: Option) -> dict[str, float]:
    """U of every flanking element by name [W/(m²·K)]."""
    return {element.name: element.u_value for section in option.result.sections for element in section.flanking}


# -- what is lost in all -------------------------------------------------------------------------------------------


def loss(option: Option, basis: Basis) -> Amount | None:
    """H = Ψ·l over the option's length [W/K], or χ times the number of pieces where χ is no part of Ψ.

    ISO 13789 calls it the heat transfer by thermal bridges.
    """
    result, terms = option.result, option.terms
    psi = psi_of(option, basis.dimensions)
    if psi is not None and option.length is not None:
        return psi.times(option.length)
    if psi is None and result.chi is not None and terms.number is not None:
        return bracket(result.chi.value).times(terms.number)
    return None


def per_metre(option: Option, basis: Basis) -> Amount | None:
    """Heat that a metre of the junction loses in a year, Ψ times the heating degree hours [kWh/(m·a)]."""
    psi, hours = psi_of(option, basis.dimensions), basis.heating_degree_hours
    return psi.times(hours) if psi is not None and hours is not None else None


def annual(option: Option, basis: Basis) -> Amount | None:
    """Heat that the junction loses in a year over its length [kWh/a]."""
    found, hours = loss(option, basis), basis.heating_degree_hours
    return found.times(hours) if found is not None and hours is not None else None


def plane_parts_differ(options: Sequence[Option]) -> bool:
    """Whether a plane element that options share has another U in one of them; Ψ alone then says too little."""
    first = flanking(options[0])
    return any(
        name in first and abs(first[name] - value) > NOISE
        for option in options[1:]
        for name, value in flanking(option).items()
    )


def _with_plane_parts(option: Option, first: Option, basis: Basis) -> Amount | None:
    """Ψ + ΣU·l of the option over the piece of building that the first option's section shows [W/(m·K)].

    Where both are one junction, they have one origin, and the pieces are those between the same cut planes: of what an
    option shows beyond them, or lacks, U·l is taken off or added. Sections that were drawn freely need not share an
    origin; there the lengths of the first one count.
    """
    psi, mine, theirs = psi_of(option, basis.dimensions), _trace(option, basis), _trace(first, basis)
    if psi is None or mine is None or theirs is None or {t.name for t in mine.terms} != {t.name for t in theirs.terms}:
        return None
    taken = 0.0
    lengths = {term.name: term.length for term in theirs.terms}
    for term in mine.terms:
        beyond = _beyond(option.result, first.result, term.name)
        taken += term.u_value * (lengths[term.name] if beyond is None else term.length - beyond)
    return Amount(psi.lower + taken, psi.upper + taken, psi.kind)


def _trace(option: Option, basis: Basis) -> Psi | None:
    """Ψ in the dimension system with its terms."""
    return next((one for one in option.result.psi if one.dimensions == basis.dimensions), None)


def _beyond(result: DetailResult, first: DetailResult, name: str) -> float | None:
    """How much further out an option's cut plane through an element lies than the first one's [m]; None if unknown."""
    if result.detail.junction != first.detail.junction or result.detail.junction == "free_section":
        return None
    sections = [_section_of(one, name) for one in (result, first)]
    own, other = (next(e for e in s.flanking if e.name == name) for s in sections)
    if own.within or other.within:
        return 0.0  # cut within the section, it tells the layers and is no end
    ends = np.array(own.cut)
    along = ends[1] - ends[0]
    outward = np.array([along[1], -along[0]]) / np.hypot(*along)
    points = np.array([point for region in sections[0].regions for point in region.polygon])
    if (ends.mean(axis=0) - 0.5 * (points.min(axis=0) + points.max(axis=0))) @ outward < 0:
        outward = -outward
    copies = 2.0 if sections[0].mirrored else 1.0
    return float(copies * (ends.mean(axis=0) - np.array(other.cut).mean(axis=0)) @ outward)


def _section_of(result: DetailResult, name: str) -> Section:
    """The section that Ψ starts from, if it has that flanking element of its terms; else the first that has it."""
    known = [one.section for one in result.sections if any(e.name == name for e in one.section.flanking)]
    start = result.detail.combination.psi_section
    return next((one for one in known if one.name == start), known[0])


def _piece_row(options: Sequence[Option], basis: Basis) -> list[Row]:
    """The junction with the plane parts beside it, where these are not the same in all options."""
    if not plane_parts_differ(options) or junctions_differ(options):
        return []
    if any(option.result.installations for option in options):
        return []
    trace = next((one for one in options[0].result.psi if one.dimensions == basis.dimensions), None)
    lengths = sum(term.length for term in trace.terms) if trace else 0.0
    piece = replace(n.L2D, key="piece", symbol=" ", spoken="heat loss of a piece of building")
    return [
        row(
            options,
            "piece",
            piece,
            f"junction and {n.format_value(METRES, lengths)} of plane parts beside it",
            LESS,
            lambda option: _with_plane_parts(option, options[0], basis),
            plain=f"with {n.format_value(METRES, lengths)} of plane parts beside it",
            important=True,
        )
    ]


def _loss_rows(options: Sequence[Option], basis: Basis) -> list[Row]:
    sense = NEITHER if plane_parts_differ(options) else LESS
    hours = f"{basis.heating_degree_hours:g} kKh/a" if basis.heating_degree_hours else ""
    share = length_words(options)
    return [
        row(
            options,
            "loss",
            n.JUNCTION_LOSS,
            f"heat loss per kelvin over {share}",
            sense,
            lambda option: loss(option, basis),
            plain=f"heat loss per kelvin, {share}",
        ),
        row(
            options,
            "annual per metre",
            n.ANNUAL_HEAT_PER_METRE,
            f"heat loss per metre and year at {hours}",
            sense,
            lambda option: per_metre(option, basis),
            symbol=" ",
            plain=f"per metre and year, {hours}",
        ),
        row(
            options,
            "annual",
            n.ANNUAL_HEAT,
            f"heat loss in a year over {share}, at {hours}",
            sense,
            lambda option: annual(option, basis),
            plain=f"heat loss in a year, {share}",
            important=True,
        ),
    ]


def length_words(options: Sequence[Option]) -> str:
    """The length of the junction that all options share, with the number of openings that it comes from.

    Args:
        options: the options.
    """
    first = options[0]
    if first.length is None or any(option.length != first.length for option in options):
        return "the length given"
    number = first.terms.number
    openings = f" ({number} openings)" if number and number > 1 else ""
    return f"{n.format_value(METRES, first.length)}{openings}"


METRES = n.Quantity("building_length", "l", "length in the building", "m", 2)
"""Lengths of a building need no more than centimetres."""
