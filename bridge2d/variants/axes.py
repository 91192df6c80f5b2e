"""What of a detail is varied, and by which values: read from the words of a call.

A value is typed as in the detail file: a bare number is in the unit that the detail is shown in (the file's own unless
told otherwise), a text may have a unit of its own.
"""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from bridge2d import units
from bridge2d.errors import InputError, QuantityError, nearest
from bridge2d.junctions import junctions
from bridge2d.junctions.declaration import ParameterInfo, describe
from bridge2d.materials import catalogue

if TYPE_CHECKING:
    from bridge2d.detail_file import LoadedDetail

MOST_VALUES = 100_000
GREATEST, CLOSEST = 1e12, 1e-9
"""A value may be so great, and a range so narrow."""
KEY = "--vary"
FORM = "write NAME=FIRST:LAST:COUNT, such as insulation_thickness=40:200:9, or NAME=VALUE,VALUE,…"
SECOND = 5
"""Values of a second parameter of a search that is given by its ends alone."""
SPAN_FORM = "write NAME=FIRST:LAST, such as insulation_thickness=40:200"


@dataclass(frozen=True)
class Axis:
    """A parameter and its values as a detail file has them.

    Attributes:
        info: the parameter.
        values: numbers in `unit`, or words.
        unit: of the numbers; empty where they have none.
    """

    info: ParameterInfo
    values: tuple[float | str, ...]
    unit: str

    @property
    def name(self) -> str:
        """Name of the parameter."""
        return self.info.name

    @property
    def column(self) -> str:
        """Name of its column in a table: with the unit, where there is one."""
        return f"{self.name} [{self.unit}]" if self.unit else self.name


@dataclass(frozen=True)
class Span:
    """A parameter and the ends between which it may be, in `unit`."""

    info: ParameterInfo
    first: float
    last: float
    unit: str


def axis(words: str, loaded: LoadedDetail, count: int = 0) -> Axis:
    """A parameter with its values.

    Args:
        words: "name=first:last:count" or "name=value,value".
        loaded: the detail file.
        count: of evenly spaced values where "name=first:last" is enough; 0 where it is not.

    Raises:
        InputError: the words cannot be read, or the junction has no such parameter.
    """
    name, typed = _parted(words, FORM)
    info = parameter(name, loaded)
    parts = typed.split(":")
    if info.kind is not None and (len(parts) == 3 or (len(parts) == 2 and count)):
        count = _count(parts[2], words) if len(parts) == 3 else count
        return evenly(info, number(parts[0], info, loaded), number(parts[1], info, loaded), count, loaded)
    if len(parts) > 1:
        raise InputError(f"{words[:60]!r} cannot be read", key=KEY, right=FORM)
    return listed(info, typed, loaded)


def evenly(info: ParameterInfo, first: float, last: float, count: int, loaded: LoadedDetail) -> Axis:
    """A parameter with evenly spaced values.

    Args:
        info: the parameter, a number.
        first: value, in the unit of bare numbers.
        last: value, in the same unit.
        count: how many values.
        loaded: the detail file.

    Raises:
        InputError: the ends are one value, and more than one is asked for.
    """
    values = tuple(_short(first + (last - first) * k / max(count - 1, 1)) for k in range(count))
    _each_once(info, values)
    return Axis(info, values, unit_of(info, loaded))


def listed(info: ParameterInfo, typed: str, loaded: LoadedDetail) -> Axis:
    """A parameter with a list of values.

    Args:
        info: the parameter.
        typed: its values with commas between them, or semicolons where a value has a comma itself.
        loaded: the detail file.

    Raises:
        InputError: a value cannot be read, or stands there twice.
    """
    parts = [part.strip() for part in typed.split(";" if ";" in typed else ",")]
    values = tuple(parts) if info.kind is None else tuple(number(part, info, loaded) for part in parts)
    _each_once(info, values)
    _each_known(info, values)
    return Axis(info, values, unit_of(info, loaded))


def _each_known(info: ParameterInfo, values: Sequence[float | str]) -> None:
    """Refuse a material or word that there is not, before anything is computed."""
    known = [*(catalogue() if info.material else ()), *info.words]
    for value in values:
        if known and isinstance(value, str) and value not in known:
            like = nearest(value, known)
            listing = "`bridge2d materials` lists all" if info.material else f"write one of {', '.join(known)}"
            right = f"did you mean {like!r}? {listing}" if like else listing
            raise InputError(f"{info.name} has no value {value[:60]!r}", key=KEY, right=right)


def _each_once(info: ParameterInfo, values: Sequence[float | str]) -> None:
    """Refuse a value that is there twice: its rows would be the same."""
    known: set[float | str] = set()
    for value in values:
        if value in known:
            said = value[:40] if isinstance(value, str) else f"{value:g}"
            raise InputError(f"{info.name} has the value {said} twice", key=KEY, right="name each value once")
        known.add(value)


def unit_of(info: ParameterInfo, loaded: LoadedDetail) -> str:
    """Unit of a parameter's bare numbers in the units that the detail is shown in; empty where it has none.

    Args:
        info: the parameter.
        loaded: the detail file.
    """
    return info.kind.unit_in(loaded.units.system) if info.kind else ""


def span(words: str, loaded: LoadedDetail) -> Span:
    """A parameter with the ends between which a value is looked for.

    Args:
        words: "name=first:last".
        loaded: the detail file.

    Raises:
        InputError: the words cannot be read, or the parameter is no number.
    """
    name, typed = _parted(words, SPAN_FORM)
    info = parameter(name, loaded)
    if not spannable(info):
        raise InputError(f"{name} is no quantity that has values between two others", key=KEY, right=SPAN_FORM)
    parts = typed.split(":")
    if len(parts) != 2:
        raise InputError(f"{words[:60]!r} cannot be read", key=KEY, right=SPAN_FORM)
    return between(info, number(parts[0], info, loaded), number(parts[1], info, loaded), loaded)


def spannable(info: ParameterInfo) -> bool:
    """Whether a parameter is a quantity that has values between two others.

    Args:
        info: the parameter.
    """
    return info.kind is not None and info.kind is not units.COUNT


def between(info: ParameterInfo, first: float, last: float, loaded: LoadedDetail) -> Span:
    """A parameter with its ends.

    Args:
        info: the parameter, see `spannable`.
        first: the least value, in the unit of bare numbers.
        last: the greatest one, in the same unit.
        loaded: the detail file.

    Raises:
        InputError: they are not in order, or too close.
    """
    if first >= last:
        message = f"{info.name} would have to lie between {first:g} and {last:g}"
        raise InputError(message, key=KEY, right="the least first")
    if last - first < CLOSEST:
        message = f"between {first:.12g} and {last:.12g} there is no room for another value"
        raise InputError(message, key=KEY, right="give a wider range")
    return Span(info, first, last, unit_of(info, loaded))


def within(span: Span, loaded: LoadedDetail) -> Span:
    """The part of a range that lies within the declared limits of its parameter.

    Args:
        span: what is varied.
        loaded: the detail file.

    Raises:
        InputError: there is none.
    """
    info, system = span.info, loaded.units.system
    assert info.kind is not None
    least, most = (None if one is None else _short(info.kind.bare(one, system)) for one in (info.minimum, info.maximum))
    first = span.first if least is None else max(span.first, least)
    last = span.last if most is None else min(span.last, most)
    if last - first < CLOSEST:
        ends = " and ".join(f"at {word} {one:g}" for word, one in (("least", least), ("most", most)) if one is not None)
        message = f"{info.name} has no values from {span.first:g} to {span.last:g}"
        raise InputError(message, key=KEY, right=f"it is {ends} {span.unit}".rstrip())
    return replace(span, first=first, last=last)


def parameter(name: str, loaded: LoadedDetail) -> ParameterInfo:
    """The declaration of a parameter of the detail's junction.

    Args:
        name: of the parameter.
        loaded: the detail file.

    Raises:
        InputError: there is none of that name.
    """
    junction = junctions()[loaded.detail.junction]
    if junction.blocks:
        message = f"a {junction.title} has no parameters that could be varied"
        raise InputError(message, key=KEY, right="take a detail of a junction; `bridge2d junctions` lists them")
    known = {info.name: info for info in describe(junction.parameters)}
    if name not in known:
        like = nearest(name, list(known))
        right = (f"did you mean {like!r}? " if like else "") + f"`bridge2d junctions {junction.name}` lists them"
        raise InputError(f"the {junction.name} has no parameter {name[:60]!r}", key=KEY, right=right)
    return known[name]


def _parted(words: str, form: str) -> tuple[str, str]:
    name, sign, typed = words.partition("=")
    if not sign or not typed.strip():
        raise InputError(f"{words[:60]!r} cannot be read", key=KEY, right=form)
    return name.strip(), typed.strip()


def _count(text: str, words: str) -> int:
    text = text.strip()
    if not (text.isascii() and text.isdigit() and 1 <= int(text[:9]) <= MOST_VALUES):
        right = f"the third part is how many values, from 1 to {MOST_VALUES}"
        raise InputError(f"{words[:60]!r} cannot be read", key=KEY, right=right)
    return int(text)


def number(text: str, info: ParameterInfo, loaded: LoadedDetail) -> float:
    """A value that was typed as a bare number, in the units that the detail is shown in.

    Args:
        text: a bare number, or one with a unit of its own.
        info: the parameter, a number.
        loaded: the detail file.

    Raises:
        InputError: it cannot be read.
    """
    assert info.kind is not None
    system = loaded.units.system
    typed: Any = text.strip()
    with suppress(ValueError):
        typed = float(typed)
    try:
        value = _short(info.kind.bare(info.kind.read(typed, system), system))
    except QuantityError as error:
        raise InputError(f"{info.name}: {error.message}", key=KEY, right=error.right) from None
    if abs(value) > GREATEST:
        raise InputError(f"{info.name}: {value:g} is beyond all bounds", key=KEY, right=f"at most {GREATEST:g}")
    return value


def _short(value: float) -> float:
    """A number without the last digits that a conversion leaves."""
    return float(f"{value:.12g}")


def named_once(names: Sequence[str]) -> None:
    """Refuse a parameter that is varied twice.

    Args:
        names: of the parameters.

    Raises:
        InputError: one is.
    """
    for k, name in enumerate(names):
        if name in names[:k]:
            raise InputError(f"{name} is varied twice", key=KEY, right="name each parameter once")
