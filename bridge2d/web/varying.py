"""The forms of the pages that vary parameters: what was typed, by its names in an address.

address → **form** → read and judged in the processes by the same functions as the words of a call.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, NamedTuple

from bridge2d.junctions.declaration import ParameterInfo, describe
from bridge2d.variants.asked import LIMITS
from bridge2d.web.edits import groups
from bridge2d.web.states import State

MOST_VARIANTS = 300
"""Variants of a sweep on the page."""
LONGEST = 2000
"""Longest text of one field."""
FIND_OTHERS, SWEEP_OTHERS = ("dimensions", "step", "every"), ("points", "seed", "limit", "of")
"""Further fields of either page."""
PARTS = ("first", "last", "count", "list")


class Varied(NamedTuple):
    """A parameter and its values as they were typed.

    Attributes:
        key: of its fields in an address, such as "v1".
        name: of the parameter; empty where none is chosen.
        first, last, number: ends of evenly spaced values, and how many.
        listed: a list of values instead.
    """

    key: str
    name: str = ""
    first: str = ""
    last: str = ""
    number: str = ""
    listed: str = ""


class Form(NamedTuple):
    """What was typed.

    Attributes:
        rows: the parameters that are varied.
        limits: names of limits with what was typed.
        others: further fields, see `FIND_OTHERS` and `SWEEP_OTHERS`.
    """

    rows: tuple[Varied, ...]
    limits: tuple[tuple[str, str], ...] = ()
    others: tuple[tuple[str, str], ...] = ()

    @property
    def keys(self) -> frozenset[str]:
        """Names of all its fields in an address."""
        rows = (key for row in self.rows for key in (row.key, *(f"{row.key}.{part}" for part in PARTS)))
        return frozenset((*rows, *LIMITS, *FIND_OTHERS, *SWEEP_OTHERS))

    def other(self, name: str) -> str:
        """What was typed in a further field; empty where nothing was."""
        return dict(self.others).get(name, "")

    @property
    def chosen(self) -> tuple[Varied, ...]:
        """Rows with a parameter."""
        return tuple(row for row in self.rows if row.name)

    def having(self, **others: str) -> Form:
        """The form with other further fields."""
        kept = {**dict(self.others), **others}
        return self._replace(others=tuple((name, words) for name, words in kept.items() if words))

    def pairs(self) -> list[tuple[str, str]]:
        """The form in an address, without what is empty."""
        found = []
        for row in self.rows:
            found += [(row.key, row.name)]
            found += [(f"{row.key}.{part}", words) for part, words in zip(PARTS, row[2:], strict=True)]
        return [(key, words) for key, words in (*found, *self.limits, *self.others) if words]


def form_of(query: Mapping[str, str], rows: int, others: tuple[str, ...], *, limited: bool = False) -> Form:
    """The form that an address carries.

    Args:
        query: of the address.
        rows: how many parameters it has place for.
        others: names of its further fields.
        limited: whether it has limits.
    """

    def typed(name: str) -> str:
        return query.get(name, "").strip()[:LONGEST]

    keys = [f"v{number}" for number in range(1, rows + 1)]
    made = tuple(Varied(key, typed(key), *(typed(f"{key}.{part}") for part in PARTS)) for key in keys)
    limits = tuple((name, typed(name)) for name in LIMITS if typed(name)) if limited else ()
    return Form(made, limits, tuple((name, typed(name)) for name in others if typed(name)))


class Choice(NamedTuple):
    """A parameter to choose: its name, and what it is with the unit of its bare numbers."""

    name: str
    label: str


def choices(state: State, *, numbers: bool = False) -> dict[str, list[Choice]]:
    """Parameters that can be varied, by their groups.

    Args:
        state: of the detail.
        numbers: only quantities with values between two others.
    """
    from bridge2d.variants.axes import spannable

    found: dict[str, list[Choice]] = {}
    for info in infos(state):
        if spannable(info) if numbers else (info.kind or info.words or info.material):
            unit = info.kind.unit_in(state.shown) if info.kind else ""
            what = f"{info.label} [{unit}]" if unit else f"{info.label}{' (material)' if info.material else ''}"
            found.setdefault(info.group, []).append(Choice(info.name, what))
    return found


def infos(state: State) -> tuple[ParameterInfo, ...]:
    """Declarations of a detail's parameters; none of a free section."""
    junction = state.base.junction
    return () if junction is None or junction.blocks else tuple(describe(junction.parameters))


def movable(state: State) -> dict[str, ParameterInfo]:
    """Numbers that a slider can move, by their names.

    Args:
        state: of the detail.
    """
    return {one.name: one for one in infos(state) if one.kind is not None and one.default is not None}


def first_choice(known: Mapping[str, ParameterInfo]) -> list[str]:
    """The parameter to begin with, an insulation's thickness where there is one; none where there is no parameter.

    Args:
        known: parameters by their names.
    """
    liked = [one for one in known if "insulation_thickness" in one] or list(known)
    return liked[:1]


def usual_range(state: State, info: ParameterInfo) -> tuple[tuple[float, float], float]:
    """Ends of the range to look at, bare numbers in the units that are shown, and where the parameter stands [SI].

    Args:
        state: of the detail.
        info: a number.
    """
    assert info.kind is not None
    shown, key = state.shown, f"p.{info.name}"
    base = _value(info, _standing(state, key), shown)
    now = _value(info, state.typed.get(key, _standing(state, key)), shown)
    low, high = info.minimum, info.maximum
    lower, upper = (0.25 * base, 2.0 * base) if base > 0 else (base - 0.05, base + 0.1)
    if info.kind.name == "temperature":
        lower, upper = base - 10.0, base + 10.0
    lower = max(lower, low) if low is not None else lower
    upper = min(upper, high) if high is not None else upper
    lower, upper = min(lower, now), max(upper, now)
    first, last = (float(f"{info.kind.bare(one, shown):.6g}") for one in (lower, upper))
    return (first, last), now


def _standing(state: State, key: str) -> str:
    return next(one.value for group in groups(state.base, state.shown) for one in group.fields if one.key == key)


def _value(info: ParameterInfo, words: str, shown: Any) -> float:
    """What a field holds [SI]; the default where it cannot be read."""
    assert info.kind is not None
    try:
        number: Any = float(words) if words.replace(".", "", 1).lstrip("-").isdigit() else words
        return info.kind.read(number, shown)
    except ValueError:
        return float(info.default)
