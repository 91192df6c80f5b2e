"""Curves of Ψ, χ, U and f_Rsi over one parameter, with the limits, as SVG of the page's own colours."""

from __future__ import annotations

import math
from collections.abc import Sequence
from html import escape
from typing import Any

from bridge2d import nomenclature as n
from bridge2d.shown_units import DisplayUnits

DRAWN = {"psi": n.PSI, "chi": n.CHI, "u_value": n.U_VALUE, "f_rsi": n.F_RSI}
"""What has a curve where a detail has it, by the word of its limits."""
TITLE = 14.0
"""Where the name of what a curve shows stands."""
NAME = 14.0
"""From the place of a limit's name above its line to that below it."""
WIDTH, HEIGHT = 420.0, 190.0
LEFT, RIGHT, TOP, BOTTOM = 62.0, 12.0, 24.0, 36.0


def chart(
    points: Sequence[tuple[float, dict[str, Any] | None]],
    ends: tuple[float, float],
    now: float,
    quantity: str,
    words: str,
    shown: DisplayUnits,
) -> str:
    """One curve with its brackets or tolerances, its limits, and where the parameter stands.

    Args:
        points: number of the parameter, and the numbers there (None where there are none), ascending.
        ends: of the axis.
        now: where the parameter stands.
        quantity: one of `DRAWN`.
        words: what the axis measures, with its unit.
        shown: units of the numbers.
    """
    of = DRAWN[quantity]
    curve = [(x, *_range(numbers, quantity, of, shown)) for x, numbers in points if numbers and numbers.get(quantity)]
    limits = _limits(points, quantity, of, shown)
    values = [one for point in curve for one in point[1:]] + [limit for limit, _ in limits]
    low, high = _span(values)
    if quantity == "psi":
        low, high = min(low, 0.0), max(high, 0.0)

    def at(x: float, y: float) -> str:
        across = LEFT + (x - ends[0]) / ((ends[1] - ends[0]) or 1.0) * (WIDTH - LEFT - RIGHT)
        return f"{across:.1f},{HEIGHT - BOTTOM - (y - low) / (high - low) * (HEIGHT - TOP - BOTTOM):.1f}"

    name = said_of(points, quantity)
    name = f"{name} [{shown.unit(of)}]" if of.unit != "1" else name
    parts = [f'<svg class="chart" viewBox="0 0 {WIDTH:g} {HEIGHT:g}" role="img"><title>{escape(name)} over ']
    parts.append(f'{escape(words)}</title><text class="axis" x="4" y="{TITLE:g}">{escape(name)}</text>')
    for y in _ticks(low, high):
        (x0, y0), (x1, _) = (at(one, y).split(",") for one in ends)
        parts.append(f'<path class="grid" d="M{x0} {y0}H{x1}"/>')
        parts.append(f'<text class="tick" x="{LEFT - 6:g}" y="{float(y0) + 4:.1f}" text-anchor="end">{_said(y)}</text>')
    for x in _ticks(*ends):
        x0, y0 = at(x, low).split(",")
        parts.append(f'<text class="tick" x="{x0}" y="{float(y0) + 15:.1f}" text-anchor="middle">{_said(x)}</text>')
    parts.append(
        f'<text class="axis" x="{WIDTH - RIGHT:g}" y="{HEIGHT - 4:g}" text-anchor="end">{escape(words)}</text>'
    )
    names = [TITLE]
    for limit, told in limits:
        start, end = at(ends[0], limit), at(ends[1], limit)
        parts.append(f'<polyline class="limit" points="{start} {end}"/>')
        names.append(_free(float(end.split(",")[1]) - 4, names))
        parts.append(f'<text class="limit-name" x="{LEFT + 4:g}" y="{names[-1]:.1f}">{escape(told)}</text>')
    if curve:
        outline = [at(x, upper) for x, _, upper in curve] + [at(x, lower) for x, lower, _ in reversed(curve)]
        parts.append(f'<polygon class="bracket" points="{" ".join(outline)}"/>')
        middle = [at(x, 0.5 * (lower + upper)) for x, lower, upper in curve]
        parts.append(f'<polyline class="curve" points="{" ".join(middle)}"/>')
        for one in middle:
            x0, y0 = one.split(",")
            parts.append(f'<circle class="point" cx="{x0}" cy="{y0}" r="2.4"/>')
    x0, y0 = at(now, high).split(",")
    parts.append(f'<path class="now" d="M{x0} {y0}V{HEIGHT - BOTTOM:g}"/>')
    return "".join([*parts, "</svg>"])


def said_of(points: Sequence[tuple[float, dict[str, Any] | None]], quantity: str) -> str:
    """Symbol of what a curve shows, of Ψ with its dimensions: "Ψ, internal dimensions".

    Args:
        points: of the curve.
        quantity: one of `DRAWN`.
    """
    symbol = DRAWN[quantity].plain_symbol
    found = next((numbers["dimensions"] for _, numbers in points if numbers and numbers.get("dimensions")), "")
    return f"{symbol}, {found.replace('_', ' ')} dimensions" if quantity == "psi" and found else symbol


def _range(numbers: dict[str, Any], quantity: str, of: n.Quantity, shown: DisplayUnits) -> tuple[float, float]:
    first, second = numbers[quantity]
    lower, upper = (first - second, first + second) if quantity == "f_rsi" else (first, second)
    return float(shown.number(of, lower)), float(shown.number(of, upper))


def _limits(
    points: Sequence[tuple[float, dict[str, Any] | None]], quantity: str, of: n.Quantity, shown: DisplayUnits
) -> list[tuple[float, str]]:
    known = next((numbers for _, numbers in points if numbers and numbers.get("limits")), None)
    return [
        (float(shown.number(of, limit)), f"limit: {name}")
        for kind, limit, name in (known["limits"] if known else ())
        if kind == quantity
    ]


def _free(wanted: float, taken: Sequence[float]) -> float:
    """Where a limit's name stands: above its line, or below it where another name or the title is there already."""
    return wanted + NAME if any(abs(wanted - one) < NAME for one in taken) else wanted


def _span(values: Sequence[float]) -> tuple[float, float]:
    if not values:
        return 0.0, 1.0
    low, high = min(values), max(values)
    room = 0.12 * (high - low) or max(0.1 * abs(high), 0.01)
    return low - room, high + room


def _ticks(low: float, high: float) -> list[float]:
    """Round numbers, about four of them."""
    wanted = (high - low) / 4 or 1.0
    power = 10.0 ** math.floor(math.log10(wanted))
    step = next(m * power for m in (1.0, 2.0, 2.5, 5.0, 10.0) if m * power >= wanted * (1 - 1e-9))
    first = math.ceil(low / step - 1e-9)
    return [k * step for k in range(first, math.floor(high / step + 1e-9) + 1)]


def _said(value: float) -> str:
    return f"{value + 0.0:.6g}".replace("-", n.MINUS)
