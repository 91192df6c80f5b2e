"""The schedule's tables: products, plain values and their sources, limits, what would help, groups and elements."""

from __future__ import annotations

from collections.abc import Sequence

from bridge2d import nomenclature as n
from bridge2d.building.records import Building, Gain, Group, Line, ScheduleResult, Verdict
from bridge2d.drawing.scene import Run, runs
from bridge2d.module_words import LIMITED
from bridge2d.report.layout import Block, Heading, paragraph
from bridge2d.report.limits_kept import margin_printed
from bridge2d.report.tables import table
from bridge2d.report.text import Words
from bridge2d.report.words import bounded, firm, psi_symbol, symbol, value
from bridge2d.shown_units import IN_SI, DisplayUnits

Row = tuple[Words, ...]
Columns = list[tuple[Words, float] | tuple[Words, float, str]]
NO_GROUP = "without a group"
REQUIREMENT_SYMBOLS = {**LIMITED, "chi": n.CHI}


def amount(line: Line, shown: DisplayUnits = IN_SI) -> str:
    """Length or number of a product with its unit.

    Args:
        line: the product.
        shown: units of everything that is written.
    """
    if line.quantity == "chi":
        return firm(f"{line.amount:.0f} pieces" if line.amount != 1 else "1 piece")
    return measure(n.LENGTH, line.amount, shown)


def measure(quantity: n.Quantity, number: float, shown: DisplayUnits = IN_SI, *, unit: bool = True) -> str:
    """A length or area with two decimals at least: to a millionth as it was given, to a thousandth where converted.

    Args:
        quantity: what it is.
        number: [m] or [m²].
        shown: units of everything that is written.
        unit: whether its unit follows.
    """
    decimals = 6 if shown.is_si else 3
    digits = f"{float(shown.number(quantity, round(number, 6))):.{decimals}f}"
    least = 2 - decimals
    return firm(f"{digits[:least]}{digits[least:].rstrip('0')} {shown.unit(quantity) if unit else ''}".strip())


def products(result: ScheduleResult, pages: Sequence[str], shown: DisplayUnits = IN_SI) -> list[Block]:
    """Every Ψ·l and χ·n with its sum.

    Args:
        result: all sums.
        pages: where the report of each detail begins, as text.
        shown: units of everything that is written.
    """
    grouped = any(line.group for line in result.lines)
    rows: list[Row] = []
    for line in result.lines:
        quantity = n.PSI if line.quantity == "psi" else n.CHI
        number = value(quantity, line.value.value, shown) if line.given else bounded(quantity, line.value, shown)
        loss = value(n.TRANSMISSION, line.loss.value, shown, unit=False)
        sure = loss if line.given else bounded(n.TRANSMISSION, line.loss, shown, unit=False)
        variant = result.building.junctions[line.entry].variant
        origin = "given" if variant is None else firm(f"p. {pages[variant]}")
        name = f"{line.name}, {line.part}" if line.part else line.name
        rows.append((line.ref, name, *([line.group] if grouped else []), number, amount(line, shown), sure, origin))
    total = bounded(n.TRANSMISSION, result.loss, shown, unit=False)
    rows.append(("", "sum", *([""] if grouped else []), "", "", total, ""))
    wider = 0 if shown.is_si else 9
    columns: Columns = [
        ("no.", 12),
        ("junction", (44 if grouped else 62) - wider),
        *([("group", 18)] if grouped else []),
        ("Ψ or χ", 38 + wider, "end"),
        ("length, pieces", 18, "end"),
        (f"Ψ·l or χ·n, {shown.unit(n.TRANSMISSION)}", 25, "end"),
        ("report", 13, "end"),
    ]
    found: list[Block] = [table(columns, rows, heavy=(len(rows) - 1,))]
    return found + _sources(result)


def _sources(result: ScheduleResult) -> list[Block]:
    """Plain values and where they come from."""
    given: list[Row] = [(line.ref, line.name, line.source) for line in result.lines if line.given]
    if not given:
        return []
    head = Heading(runs("Where the given values come from"), level=2)
    return [head, table([("no.", 12), ("junction", 60), ("source", 96)], given)]


# -- limits ------------------------------------------------------------------------------------------------------------

OF_MARGINS = (
    "The margin is the distance of the value to the limit, negative where the limit is missed, from both as they are "
    "printed. Ψ is held against its limit with χ/s of pieces that repeat, and as the mean by length of an "
    "installed window; its bracket, and the tolerance of fRsi, stand on the first page of its report."
)
OF_CLIMATE = (
    "What each detail's climate by month asks of its coldest point, of each criterion what is least kept (ISO 13788). "
    "It is none of the limits counted above. Where the coldest point lies on a frame or on glazing the rule for mould "
    "is not the standard's, which asks for no condensation on the coldest day there."
)
MISSED = "Every value within the bracket or tolerance misses the limit."
KEPT = (
    "Every value within the bracket (Ψ, χ, U) or within the tolerance (fRsi, an estimate) keeps the limit; a given "
    "value keeps it as its source has it. What a detail's report says beside its numbers counts here too."
)
OPEN = (
    "The limit lies within the bracket or tolerance (compute to a smaller tolerance), or the source of a given value "
    "does not tell the number."
)


def limits(result: ScheduleResult, shown: DisplayUnits = IN_SI) -> list[Block]:
    """Which junctions miss their limit, of which it cannot be told, and which keep it.

    Args:
        result: all sums.
        shown: units of everything that is written.
    """
    missed, open_, kept = verdicts(result)
    if not (missed or open_ or kept or any(entry.climate for entry in result.entries)):
        return [paragraph("Neither the building nor a detail names a limit, so there is no verdict.")]
    found: list[Block] = [paragraph(OF_MARGINS)]
    parts = (("Not met", missed, MISSED), ("Cannot be told", open_, OPEN), ("Met", kept, KEPT))
    for title, rows, words in parts:
        if rows:
            found.append(Heading(runs(f"{title} ({len(rows)})"), level=2))
            found += [paragraph(words)] if words else []
            found.append(table(LIMIT_COLUMNS, [_limit_row(*one, shown) for one in rows]))
    climate = [(e.junction.ref, e.junction.name, verdict) for e in result.entries for verdict in e.climate]
    if climate:
        found += [Heading(runs("What the climate asks"), level=2), paragraph(OF_CLIMATE)]
        found.append(table(LIMIT_COLUMNS, [_limit_row(*one, shown) for one in climate]))
    asked = dict.fromkeys((v.requirement.name, v.requirement.source) for _, _, v in (*missed, *open_, *kept, *climate))
    found.append(Heading(runs("Where the limits come from"), level=2))
    found.append(table([("requirement", 60), ("source", 108)], asked))
    return found


LIMIT_COLUMNS = [
    ("no.", 12),
    ("junction", 43),
    ("verdict", 24),
    ("requirement", 40),
    ("limit", 17, "end"),
    ("value", 15, "end"),
    ("margin", 17, "end"),
]


def verdicts(result: ScheduleResult) -> tuple[list[tuple[str, str, Verdict]], ...]:
    """Number, name and verdict of every limit: those missed, those open, those kept.

    Args:
        result: all sums.
    """
    every = [(e.junction.ref, e.junction.name, verdict) for e in result.entries for verdict in e.verdicts]
    return (
        [one for one in every if one[2].certain and not one[2].met],
        [one for one in every if not one[2].certain],
        [one for one in every if one[2].certain and one[2].met],
    )


def _limit_row(ref: str, name: str, verdict: Verdict, shown: DisplayUnits) -> Row:
    asked = verdict.requirement
    quantity = REQUIREMENT_SYMBOLS[asked.quantity]
    what = psi_symbol(asked.dimensions) if asked.dimensions else symbol(quantity)
    sense = "≤" if asked.sense == "maximum" else "≥"
    words = "○ cannot be told" if not verdict.certain else "✓ met" if verdict.met else "✗ not met"
    unit = "" if quantity.unit == "1" else f", {shown.unit(quantity)}"
    return (
        ref,
        name,
        runs(Run(words, "bold")),
        runs(f"{asked.name}: ", what, firm(unit)),
        firm(f"{sense} {value(quantity, asked.limit, shown, unit=False)}"),
        value(quantity, verdict.value, shown, unit=False) if verdict.value is not None else "not given",
        _margin(verdict, quantity, shown),
    )


def _margin(verdict: Verdict, quantity: n.Quantity, shown: DisplayUnits) -> str:
    if verdict.value is None:
        return ""
    kept = margin_printed(verdict.requirement, quantity, verdict.value, shown)
    return firm(n.signed(n.format_value(shown.quantity(quantity), kept, unit=False)))


# -- what would help ---------------------------------------------------------------------------------------------------


def gains(result: ScheduleResult, shown: DisplayUnits = IN_SI) -> list[Block]:
    """Where a better detail would help most per metre or piece: above the limit first, then above zero.

    Args:
        result: all sums.
        shown: units of everything that is written.
    """
    metre = "metre" if shown.is_si else "foot"
    words = (
        "Junctions above their strictest limit of Ψ or χ come first, ranked by how far they lie above it per "
        f"{metre} or piece. The others follow, ranked by Ψ or χ itself: a junction of 0 loses no more than the "
        "undisturbed elements do. The last column is that difference times the length or number: what the "
        "building would save if the junction were brought down to its limit, or to 0. Middles of brackets count. "
        "What a better detail costs, and whether it can be built, is not asked."
    )
    found: list[Block] = [paragraph(words)]
    for quantity in ("psi", "chi"):
        for limited in (True, False):
            chosen = [g for g in result.gains if g.line.quantity == quantity and g.limited == limited]
            if chosen:
                unit = metre if quantity == "psi" else "piece"
                where = "Above their limit" if limited else "Within their limit or without one"
                found.append(Heading(runs(f"{where}, per {unit}"), level=2))
                rows = [_gain_row(k, gain, shown) for k, gain in enumerate(chosen, start=1)]
                found.append(table(_gain_columns(quantity, limited, shown), rows))
    return found if result.gains else [*found, paragraph("No junction lies above its limit, or above 0.")]


def _gain_columns(quantity: str, limited: bool, shown: DisplayUnits) -> Columns:
    letter, of, count = ("Ψ", n.PSI, "length") if quantity == "psi" else ("χ", n.CHI, "pieces")
    unit = shown.unit(of)
    last: Columns = [(count, 22, "end"), (f"saving, {shown.unit(n.TRANSMISSION)}", 22, "end")]
    if not limited:
        return [("", 8), ("no.", 12), ("junction", 76), (f"{letter}, {unit}", 28, "end"), *last]
    limit: Columns = [("limit", 20, "end"), (f"above it, {unit}", 30, "end")]
    return [("", 8), ("no.", 12), ("junction", 48), (letter, 18, "end"), *limit, *last]


def _gain_row(rank: int, gain: Gain, shown: DisplayUnits) -> Row:
    line = gain.line
    quantity = n.PSI if line.quantity == "psi" else n.CHI
    name = f"{line.name}, {line.part}" if line.part else line.name
    above = (value(quantity, gain.reference, shown, unit=False), value(quantity, gain.excess, shown, unit=False))
    return (
        str(rank),
        line.ref,
        name,
        value(quantity, line.value.value, shown, unit=False),
        *(above if gain.limited else ()),
        amount(line, shown),
        value(n.TRANSMISSION, gain.saving, shown, unit=False),
    )


# -- groups and elements -----------------------------------------------------------------------------------------------


def groups(result: ScheduleResult, shown: DisplayUnits = IN_SI) -> list[Block]:
    """Sums by group, and the elements.

    Args:
        result: all sums.
        shown: units of everything that is written.
    """
    found: list[Block] = []
    if len(result.groups) > 1:
        found.append(
            table(
                _group_columns(shown),
                [*(_group_row(g, result, shown) for g in result.groups), _group_sum(result, shown)],
                heavy=(len(result.groups),),
            )
        )
    if result.building.elements:
        found += _elements(result.building, result.elements or 0.0, shown)
    return found


def _group_columns(shown: DisplayUnits) -> Columns:
    watts, area = shown.unit(n.TRANSMISSION), shown.unit(n.AREA)
    return [
        ("group", 40),
        (runs(f"ΣΨ·l + Σχ·n, {watts}"), 34, "end"),
        (runs(f"ΣU·A, {watts}"), 28, "end"),
        (runs(f"ΣA, {area}"), 28, "end"),
        (runs(symbol(n.MEAN_INCREASE), f", {shown.unit(n.MEAN_INCREASE)}"), 38, "end"),
    ]


def _group_row(group: Group, result: ScheduleResult, shown: DisplayUnits) -> Row:
    has_elements = bool(result.building.elements)
    return (
        group.name or NO_GROUP,
        bounded(n.TRANSMISSION, group.junctions, shown, unit=False),
        value(n.TRANSMISSION, group.elements, shown, unit=False) if has_elements else "",
        measure(n.AREA, group.area, shown, unit=False) if has_elements else "",
        bounded(n.MEAN_INCREASE, group.increase, shown, unit=False) if group.increase else "",
    )


def _group_sum(result: ScheduleResult, shown: DisplayUnits) -> Row:
    return (
        "all",
        bounded(n.TRANSMISSION, result.loss, shown, unit=False),
        value(n.TRANSMISSION, result.elements, shown, unit=False) if result.elements is not None else "",
        measure(n.AREA, result.area, shown, unit=False) if result.area else "",
        bounded(n.MEAN_INCREASE, result.increase, shown, unit=False) if result.increase else "",
    )


def _elements(building: Building, total: float, shown: DisplayUnits) -> list[Block]:
    rows: list[Row] = [
        (
            element.name,
            element.group,
            measure(n.AREA, element.area, shown, unit=False),
            value(n.U_VALUE, element.u_value, shown, unit=False),
            value(n.TRANSMISSION, element.loss, shown, unit=False),
            element.source,
        )
        for element in building.elements
    ]
    area = sum(element.area for element in building.elements)
    whole = measure(n.AREA, area, shown, unit=False)
    rows.append(("sum", "", whole, "", value(n.TRANSMISSION, total, shown, unit=False), ""))
    columns = [
        ("element", 42),
        ("group", 22),
        (runs(symbol(n.AREA), f", {shown.unit(n.AREA)}"), 20, "end"),
        (runs(symbol(n.U_VALUE), f", {shown.unit(n.U_VALUE)}"), 28, "end"),
        (runs(f"U·A, {shown.unit(n.TRANSMISSION)}"), 22, "end"),
        ("source", 34),
    ]
    return [Heading(runs("Elements"), level=2), table(columns, rows, heavy=(len(rows) - 1,))]
