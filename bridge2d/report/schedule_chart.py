"""The share of each junction as a bar, the largest first; bars are vectors that break over pages between rows."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from bridge2d import nomenclature as n
from bridge2d.building.records import Entry
from bridge2d.drawing.colours import ACCENT, ACCENT_PALE, GREY, INK, RULE
from bridge2d.drawing.scene import Item, Run, Text, line, rectangle, runs
from bridge2d.report.layout import SMALL, WIDTH, Block, Paragraph
from bridge2d.report.text import shortened, wrapped
from bridge2d.report.words import bounded, firm, value
from bridge2d.shown_units import IN_SI, DisplayUnits

ROW = 5.6
"""Height of a row [mm]."""
BAR = 3.4
NAMES = 58.0
"""Width of the names on the left [mm]."""
NUMBERS = 46.0
"""Width of the numbers on the right [mm]."""
LONGER = 8.0
"""What inch-pound units take more [mm]."""
SHARE = 15.0
"""Of which the share takes [mm]."""
GAP = 3.0
WHOLE = 150.0
"""Bars lower than this are not divided [mm]."""


TWO_LINES, LEADING = 6.2, 2.5
"""Type size [pt] of a name that is set in two lines, and their distance [mm]."""


class Bar(NamedTuple):
    """One junction: its name, W/K with its bracket, also in words, its share in words, and whether it is given."""

    name: str
    lower: float
    upper: float
    words: str
    share: str
    given: bool


class Bars(NamedTuple):
    """Bars on one scale.

    Attributes:
        bars: from above to below.
        low, high: ends of the scale [W/K], with zero between them.
        caption: what stands below the last bar.
        numbers: width of the numbers on the right [mm].
        after: space below [mm].
    """

    bars: tuple[Bar, ...]
    low: float
    high: float
    caption: tuple[Paragraph, ...] = ()
    numbers: float = NUMBERS
    after: float = 4.0

    @property
    def height(self) -> float:
        """See `Block`."""
        return ROW * len(self.bars) + sum(one.height for one in self.caption) + self.after

    @property
    def least(self) -> float:
        """How much of it has to stand together [mm]."""
        return self.height if self.height < WHOLE else 2 * ROW

    def items(self, left: float, top: float) -> list[Item]:
        """See `Block`."""
        found: list[Item] = []
        start, width = left + NAMES + GAP, WIDTH - NAMES - self.numbers - 2 * GAP
        span = max(self.high - self.low, 1e-12)

        def across(watts: float) -> float:
            return start + width * (watts - self.low) / span

        for k, bar in enumerate(self.bars):
            middle = top - ROW * (k + 0.5)
            base = middle - 1.0
            ends = sorted((across(0.0), across(0.5 * (bar.lower + bar.upper))))
            fill, stroke = (ACCENT_PALE, ACCENT) if bar.given else (ACCENT, None)
            found += [
                *_name(bar.name, left, middle),
                rectangle(ends[0], middle - BAR / 2, ends[1] - ends[0], BAR, fill=fill, stroke=stroke),
                Text(left + WIDTH - SHARE, base, runs(bar.words), SMALL, "end", colour=INK),
                Text(left + WIDTH, base, runs(bar.share), SMALL, "end", colour=INK),
            ]
            if across(bar.upper) - across(bar.lower) > 0.2:
                found += _bracket(across(bar.lower), across(bar.upper), middle)
        zero = across(0.0)
        found.append(line((zero, top), (zero, top - ROW * len(self.bars)), width=0.2, stroke=GREY))
        found.append(line((left, top), (left + WIDTH, top), width=0.1, stroke=RULE))
        top -= ROW * len(self.bars) + 1.5
        for one in self.caption:
            found += one.items(left, top)
            top -= one.height
        return found

    def split(self, room: float) -> tuple[Block, Block] | None:
        """See `Block`; never a bar alone, and few bars not at all."""
        if self.height < WHOLE:
            return None
        fitting = min(int(room / ROW), len(self.bars) - 2)
        if fitting < 2:
            return None
        return self._replace(bars=self.bars[:fitting], caption=(), after=0.0), self._replace(bars=self.bars[fitting:])


def _bracket(low: float, high: float, middle: float) -> list[Item]:
    """The bracket at the end of a bar."""
    return [
        line((low, middle), (high, middle), width=0.25, stroke=INK),
        line((low, middle - 0.8), (low, middle + 0.8), width=0.25, stroke=INK),
        line((high, middle - 0.8), (high, middle + 0.8), width=0.25, stroke=INK),
    ]


def share_words(share: float | None) -> str:
    """A share in percent; empty where there is none.

    Args:
        share: of the sum of all losses above zero [1].
    """
    return firm(f"{100.0 * share:.1f} %".replace("-", n.MINUS)) if share is not None else ""


def loss_bars(entries: Sequence[Entry], caption: Sequence[Paragraph] = (), shown: DisplayUnits = IN_SI) -> Bars:
    """The bars of a building's junctions, the largest loss first.

    Args:
        entries: every junction.
        caption: what stands below them.
        shown: units of everything that is written.
    """
    ordered = sorted(enumerate(entries), key=lambda one: (-one[1].loss.value, one[0]))
    bars = tuple(_bar(entry, shown) for _, entry in ordered)
    least = min(0.0, *(bar.lower for bar in bars)) if bars else 0.0
    most = max(0.0, *(bar.upper for bar in bars)) if bars else 0.0
    return Bars(bars, least, most, tuple(caption), NUMBERS if shown.is_si else NUMBERS + LONGER)


def _bar(entry: Entry, shown: DisplayUnits) -> Bar:
    loss = entry.loss
    number = value(n.TRANSMISSION, loss.value, shown) if entry.given else bounded(n.TRANSMISSION, loss, shown)
    name = f"{entry.junction.ref}  {entry.junction.name}"
    return Bar(name, loss.lower, loss.upper, number, share_words(entry.share), entry.given)


LEGEND = (
    Run("■ ", colour=ACCENT),
    Run("computed, with its bracket\N{NO-BREAK SPACE}\N{NO-BREAK SPACE}\N{NO-BREAK SPACE} "),
    Run("□ ", colour=ACCENT),
    Run("given, without one"),
)
"""What the two kinds of bars are."""


def _name(name: str, left: float, middle: float) -> list[Item]:
    """A junction's name, a long one in two small lines, what is longer still cut off."""
    if len(wrapped(runs(name), SMALL, NAMES)) == 1:
        return [Text(left, middle - 1.0, runs(name), SMALL)]
    first, *more = ("".join(run.text for run in words).strip() for words in wrapped(runs(name), TWO_LINES, NAMES))
    lines = [first, *([shortened(" ".join(more), "regular", TWO_LINES, NAMES)] if more else [])]
    base = middle - 0.8 + 0.5 * LEADING * (len(lines) - 1)
    return [Text(left, base - k * LEADING, runs(words), TWO_LINES) for k, words in enumerate(lines)]
