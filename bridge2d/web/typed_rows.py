"""Parameters and values of a form, read in the processes as the words of a call are; what is wrong names its field.

form → **axes and ranges** → variants computed.
"""

from __future__ import annotations

import argparse
import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from bridge2d.call_words import whole_number
from bridge2d.errors import InputError
from bridge2d.web.fields import plain_number

if TYPE_CHECKING:
    from bridge2d.detail_file import LoadedDetail
    from bridge2d.units import UnitSystem
    from bridge2d.variants.axes import Axis, Span
    from bridge2d.web.varying import Varied


def loaded_of(text: str, file: str, system: UnitSystem | None) -> LoadedDetail:
    """The detail of a state.

    Args:
        text: TOML.
        file: path of its file.
        system: in which it is shown, and of the form's bare numbers.

    Raises:
        InputError: whatever is wrong with it.
    """
    from bridge2d.detail_file import read

    return read(text, Path(file), geometry=False, shown=system)


@contextmanager
def at(key: str) -> Iterator[None]:
    """What is wrong within belongs to this field."""
    try:
        yield
    except InputError as error:
        raise InputError(error.message, key=key, right=error.right) from None
    except argparse.ArgumentTypeError as error:
        raise InputError(str(error), key=key) from None


def axis_of(row: Varied, loaded: LoadedDetail, count: int = 0) -> Axis:
    """A parameter with its values.

    Args:
        row: what was typed.
        loaded: the detail.
        count: of evenly spaced values where none is typed; 0 where one has to be.

    Raises:
        InputError: it cannot be read; its key is the field.
    """
    from bridge2d.variants.axes import MOST_VALUES, evenly, listed, parameter

    with at(row.key):
        info = parameter(row.name, loaded)
    if row.listed:
        with at(f"{row.key}.list"):
            return listed(info, row.listed if info.kind is None else _listed(row.listed), loaded)
    if info.kind is None:
        right = "list them, with commas or semicolons between them"
        raise InputError(f"{info.label} is chosen by words", key=f"{row.key}.list", right=right)
    first, last = _ends(row, loaded)
    with at(f"{row.key}.count"):
        if row.number or not count:
            count = whole_number("number of values", MOST_VALUES)(row.number)
    with at(f"{row.key}.last"):
        return evenly(info, first, last, count, loaded)


def _listed(words: str) -> str:
    """A list of numbers with semicolons between them and decimal points, where its commas are decimal ones.

    Raises:
        InputError: a comma may be either.
    """
    if ";" in words:
        return "; ".join(plain_number(part.strip()) for part in words.split(";"))
    if re.search(r",\s*0\d", words) or (re.search(r"\d,\d", words) and re.search(r",\s", words)):
        right = "write semicolons between values with decimal commas"
        raise InputError(f"in {words[:40]!r} a comma may part values or be a decimal one", right=right)
    return words.replace("−", "-")


def _ends(row: Varied, loaded: LoadedDetail) -> tuple[float, float]:
    from bridge2d.variants.axes import number, parameter

    info = parameter(row.name, loaded)
    found = []
    for part, words in (("first", row.first), ("last", row.last)):
        with at(f"{row.key}.{part}"):
            if not words:
                raise InputError(f"{info.label} has no {part} value", right="write a number")
            found.append(number(plain_number(words), info, loaded))
    return found[0], found[1]


def span_of(row: Varied, loaded: LoadedDetail) -> Span:
    """A parameter with the ends between which a value is looked for.

    Args:
        row: what was typed.
        loaded: the detail.

    Raises:
        InputError: it cannot be read, or the parameter is no quantity; its key is the field.
    """
    from bridge2d.variants.axes import between, parameter, spannable

    with at(row.key):
        info = parameter(row.name, loaded)
        if not spannable(info):
            raise InputError(f"{info.label} has no values between two others", right="choose a measure")
    ends = _ends(row, loaded)
    with at(f"{row.key}.last"):
        return between(info, *ends, loaded)


def chosen_once(rows: Sequence[Varied]) -> None:
    """Refuse a parameter that is chosen twice.

    Args:
        rows: with a parameter each.

    Raises:
        InputError: one is; its key is the later row.
    """
    from bridge2d.variants.axes import named_once

    for k, row in enumerate(rows):
        with at(row.key):
            named_once([one.name for one in rows[: k + 1]])
