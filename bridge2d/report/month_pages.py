"""The report's chapter on the climate by month: what it asks for, the margins, and timber through the year."""

from __future__ import annotations

from collections.abc import Iterable

from bridge2d import nomenclature as n
from bridge2d.climate import MONTHS, ByMonth, Margin, MonthNeed, TimberEnd
from bridge2d.drawing.scene import Placed, Run, Scene, runs
from bridge2d.months import month_name
from bridge2d.months_words import ABOUT, CRITERIA, NO_VERDICT, critical_lines, margin_of, percent, verdict_of
from bridge2d.report.layout import WIDTH, Block, Boxed, Figure, Heading, Space, paragraph
from bridge2d.report.limits_kept import SIGNS
from bridge2d.report.month_chart import Line, Range, month_chart, round_range
from bridge2d.report.tables import table
from bridge2d.report.text import Words
from bridge2d.report.words import FIRM, estimate, firm, symbol, value, with_firm_units
from bridge2d.results import DetailResult
from bridge2d.shown_units import IN_SI, DisplayUnits
from bridge2d.standards import iso_13788

METHOD = (
    "After ISO 13788:2012, 5.3 (clauses remembered): each month's room air must not exceed 80 % relative humidity at "
    "a surface, or mould grows; at 100 % water condenses. The lowest temperature of the surface that keeps this, "
    "θsi,min, gives the lowest admissible temperature factor fRsi,min = (θsi,min − θe)/(θi − θe). The month that asks "
    "for most is the critical one. A monthly mean says nothing of single days."
)
PRESSURES = (
    "By hand: saturation at θ is 610.5 Pa · exp(17.269 θ/(237.3 + θ)), below 0 °C 610.5 Pa · exp(21.875 θ/(265.5 + "
    "θ)), θ in degrees Celsius (annex E); at θsi,min it is the vapour pressure of the room pi, over 0.8 for mould."
)
PRESSURES_IN_INCHES = (
    "By hand: saturation at θ is 0.18028 inHg · exp(17.269 (θ − 32)/(395.14 + θ)), below 32 °F 0.18028 inHg · "
    "exp(21.875 (θ − 32)/(445.9 + θ)), θ in degrees Fahrenheit (annex E, converted); at θsi,min it is the vapour "
    "pressure of the room pi, over 0.8 for mould."
)
NO_GLAZING = (
    "Frames and glazing have a rule of their own, condensation at the mean annual minimum of the daily temperature. "
    "The detail file gives none (coldest_day), so they are not judged."
)
MOULD_ASKS_MORE = "Where the limit for mould is met, that for condensation is met with more to spare and is not listed."
CHART, TIMBER_CHART = 62.0, 46.0
"""Heights of the charts [mm]."""
DAMPNESS = Range(0.0, 1.2, 0.2, 100.0, "{:.0f} %", limit=1.0)
"""Axis of relative humidities [1]; what is above it is drawn at its end."""
TEMPERATURE_STEPS = {True: 5.0, False: 10.0}
"""Step of the axis of temperatures, in degrees Celsius and, where SI is not shown, Fahrenheit."""
INSIDE = 155.0
"""Width within the box of the caution [mm]."""


def months(result: DetailResult, shown: DisplayUnits = IN_SI) -> list[Block]:
    """The chapter; nothing where the detail has no climate.

    Args:
        result: all numbers of the detail.
        shown: units of everything that is written.
    """
    found = result.by_month
    if found is None:
        return []
    climate = found.climate
    first = 2 * len(result.sections) + 1
    blocks: list[Block] = [
        paragraph(with_firm_units(METHOD)),
        paragraph(with_firm_units(PRESSURES if shown.is_si else PRESSURES_IN_INCHES), size=8.0),
        paragraph(runs(Run("Outside  ", "bold"), f"{climate.name}. Source: {climate.source}.")),
        paragraph(runs(Run("Room  ", "bold"), _sentence(shown.sentence(climate.indoors)))),
        *(paragraph(runs(Run(_sentence(words), "bold"))) for words in critical_lines(found)),
        _factor_chart(found, first),
        _needs(found, shown),
    ]
    if found.margins:
        blocks += [Heading(runs("The detail's temperature factors against the climate"), level=2), _margins(found)]
    if len(found.told_margins) < len(found.margins):
        blocks.append(paragraph(MOULD_ASKS_MORE, size=8.0))
    if climate.coldest_day is None and _has_frames(result):
        blocks.append(paragraph(NO_GLAZING, size=8.0))
    blocks += [paragraph(_sentence(shown.sentence(words)), size=8.0) for words in found.notes]
    for number, end in enumerate(found.timber, start=first + 1):
        blocks += _timber(found, end, number, shown)
    return blocks


def _has_frames(result: DetailResult) -> bool:
    frame = iso_13788.GLAZING_SURFACE_RESISTANCE + 1e-9
    return bool(result.installations) or any(factor.surface_resistance <= frame for factor in result.f_rsi)


def _sentence(words: str) -> str:
    return with_firm_units(f"{words[:1].upper()}{words[1:]}.")


def _caption(number: int, words: str) -> Words:
    return runs(Run(f"Figure {number}{FIRM}{FIRM}", "bold"), with_firm_units(words))


def _figure(scene: Scene, number: int, words: str) -> Figure:
    return Figure(scene, paragraph(_caption(number, words), size=8.0, width=WIDTH - 12.0))


# -- temperature factors -------------------------------------------------------------------------------------------


def _factor_chart(found: ByMonth, number: int) -> Figure:
    """What each month asks for, and the detail's lowest temperature factor."""
    mould = tuple(need.mould for need in found.needs)
    lines = [
        Line(runs("mould, 80 %"), mould, "dot"),
        Line(runs("condensation, 100 %"), tuple(need.condensation for need in found.needs), "square", dashed=True),
    ]
    own = min(found.margins, key=lambda one: one.value, default=None)
    if own is not None:
        name = runs(symbol(n.F_RSI), f" {value(n.F_RSI, own.value)}, {own.section or own.environment}")
        lines.append(Line(name, (own.value,) * 12, accent=True))
    top = max((one for one in mould if one is not None), default=1.0)
    axis = Range(0.0, 1.0 if top <= 1.0 else 1.2, 0.2)
    bold = [] if found.critical_mould is None else [found.critical_mould]
    words = (
        "Lowest admissible temperature factor by month for mould (dots) and condensation (squares, dashed), and the "
        "detail's lowest (heavy). The critical month for mould is set bold. Values below 0 are drawn at 0; a month "
        "without heating has none."
    )
    return _figure(month_chart(lines, axis, CHART, bold), number, words)


def _needs(found: ByMonth, shown: DisplayUnits) -> Block:
    rows: list[tuple[Words, ...]] = [_need_row(k, need, shown) for k, need in enumerate(found.needs)]
    columns: list[tuple[Words, float] | tuple[Words, float, str]] = [
        ("month", 22),
        (symbol(n.TEMPERATURE, "e"), 18, "end"),
        (symbol(n.HUMIDITY, "e"), 14, "end"),
        (symbol(n.TEMPERATURE, "i"), 18, "end"),
        (symbol(n.HUMIDITY, "i"), 14, "end"),
        (symbol(n.VAPOUR_PRESSURE, "i"), 20, "end"),
        (symbol(n.TEMPERATURE, "si,min"), 20, "end"),
        (runs(symbol(n.F_RSI, "Rsi,min"), ", mould"), 26, "end"),
        (runs(symbol(n.F_RSI, "Rsi,min"), ", condensation"), 26, "end"),
    ]
    heavy = () if found.critical_mould is None else (found.critical_mould,)
    return table(columns, rows, heavy=heavy)


def _need_row(number: int, need: MonthNeed, shown: DisplayUnits) -> tuple[Words, ...]:
    air = need.air
    outside = iso_13788.relative_humidity(air.external_pressure, air.external)
    inside = iso_13788.relative_humidity(air.internal_pressure, air.internal)
    return (
        MONTHS[number],
        value(n.EXTERNAL_TEMPERATURE, air.external, shown),
        firm(percent(outside)) if outside <= 1.0 else firm("100 %"),
        value(n.INTERNAL_TEMPERATURE, air.internal, shown),
        firm(f"{100.0 * inside:.0f} %"),
        value(n.VAPOUR_PRESSURE, air.internal_pressure, shown),
        value(n.TEMPERATURE, need.surface_temperature, shown),
        "none" if need.mould is None else value(n.F_RSI, need.mould),
        "none" if need.condensation is None else value(n.F_RSI, need.condensation),
    )


def _margins(found: ByMonth) -> Block:
    rows: list[tuple[Words, ...]] = [_margin_row(one) for one in found.told_margins]
    columns: list[tuple[Words, float] | tuple[Words, float, str]] = [
        ("verdict", 26),
        ("criterion", 50),
        ("section, environment", 38),
        (symbol(n.F_RSI), 36),
        ("asked", 16, "end"),
        ("margin", 18, "end"),
    ]
    return table(columns, rows)


def _margin_row(one: Margin) -> tuple[Words, ...]:
    verdict = verdict_of(one)
    return (
        runs(Run(f"{SIGNS[verdict]} {verdict}", "bold")),
        f"{with_firm_units(CRITERIA[one.criterion])}; {month_name(one.month)}",
        ", ".join(part for part in (one.section, one.environment) if part),
        estimate(n.F_RSI, one.value, one.tolerance),
        value(n.F_RSI, one.asked),
        margin_of(one),
    )


# -- timber --------------------------------------------------------------------------------------------------------


def _timber(found: ByMonth, end: TimberEnd, number: int, shown: DisplayUnits) -> list[Block]:
    """A watched line through the year, after its caution."""
    share = value(n.F_RSI, end.factor)
    words = (
        f"Coldest place along {end.name}, in {end.section}: its temperature is θe + {share} (θi − θe) in every month, "
        "with the surface resistances of the temperature factor. The humidity is that of air which reaches the place "
        "unchanged: room air through a leak, or outside air. Where two sections show the same timber, the colder one "
        "counts."
    )
    caution = Boxed((paragraph(runs(Run("Caution  ", "bold"), NO_VERDICT), width=INSIDE, after=0.0),))
    return [
        Heading(runs(f"{end.name[:1].upper()}{end.name[1:]} through the year"), level=2),
        paragraph(with_firm_units(words)),
        caution,
        _timber_table(found, end, shown),
        Space(1.0),
        _timber_charts(found, end, number, shown),
    ]


def _timber_table(found: ByMonth, end: TimberEnd, shown: DisplayUnits) -> Block:
    rows: list[tuple[Words, ...]] = [
        (
            MONTHS[k],
            value(n.EXTERNAL_TEMPERATURE, air.external, shown),
            firm(f"≈ {shown.value(ABOUT, one.temperature)}"),
            value(n.VAPOUR_PRESSURE, one.saturation_pressure, shown),
            value(n.VAPOUR_PRESSURE, air.internal_pressure, shown),
            firm(percent(one.room_air)),
            value(n.VAPOUR_PRESSURE, air.external_pressure, shown),
            firm(percent(one.outside_air)),
        )
        for k, (air, one) in enumerate(zip(found.climate.months, end.months, strict=True))
    ]
    wide = 20 if shown.is_si else 24  # "0.2086 inHg" is longer than "707 Pa"
    columns: list[tuple[Words, float] | tuple[Words, float, str]] = [
        ("month", 22),
        (symbol(n.TEMPERATURE, "e"), 18, "end"),
        (runs(symbol(n.TEMPERATURE), " there"), 20, "end"),
        (runs(symbol(n.VAPOUR_PRESSURE, "sat"), " there"), wide, "end"),
        (runs(symbol(n.VAPOUR_PRESSURE, "i"), " room air"), max(wide, 22), "end"),
        ("humidity with room air", 28, "end"),
        (runs(symbol(n.VAPOUR_PRESSURE, "e"), " outside air"), max(wide, 22), "end"),
        ("humidity with outside air", 28, "end"),
    ]
    return table(columns, rows, heavy=(end.coldest,))


def _timber_charts(found: ByMonth, end: TimberEnd, number: int, shown: DisplayUnits) -> Figure:
    """Temperatures above, humidities below."""
    air = found.climate.months
    factor, zero = shown.scale(n.TEMPERATURE)

    def degrees(temperatures: Iterable[float]) -> tuple[float, ...]:
        return tuple(factor * one + zero for one in temperatures)

    outside, inside = degrees(one.external for one in air), degrees(one.internal for one in air)
    there = degrees(one.temperature for one in end.months)
    warmth = [
        Line(runs("room"), inside, "square", dashed=True),
        Line(runs(end.name), there, accent=True, mark="dot"),
        Line(runs("outside"), outside, dashed=True),
    ]
    room, open_air = (tuple(getattr(one, key) for one in end.months) for key in ("room_air", "outside_air"))
    damp = [
        Line(runs("humidity with room air"), room, "dot"),
        Line(runs("humidity with outside air"), open_air, "square", dashed=True),
    ]
    unit = shown.unit(n.TEMPERATURE)
    scale = round_range((*outside, *inside), TEMPERATURE_STEPS[shown.is_si], f"{{:.0f}} {unit}")
    upper = month_chart(warmth, scale, TIMBER_CHART, (end.coldest,))
    lower = month_chart(damp, DAMPNESS, TIMBER_CHART, (end.coldest,))
    words = (
        f"{end.name[:1].upper()}{end.name[1:]}: temperature, and relative humidity of room air and outside air that "
        "reach it. The coldest month is set bold. At 100 % air condenses; what is above 120 % is drawn there."
    )
    return _figure(_stacked(upper, lower), number, words)


def _stacked(upper: Scene, lower: Scene) -> Scene:
    return Scene(WIDTH, upper.height + lower.height, (Placed(lower, 0.0, 0.0), Placed(upper, 0.0, lower.height)))
