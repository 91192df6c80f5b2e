"""What the comparison's page asks of its options beside their files: names, lengths, costs, how long it heats.

A field stands only where no file says it, because file and field must not contradict each other. The fields of an
option carry the option in their names ("length.NAME"), so that they stay when the choice changes.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from bridge2d.comparison.terms import TEXTS
from bridge2d.comparison_block import RIGHT_UNITS
from bridge2d.errors import InputError
from bridge2d.units import INCH_POUND, SI, UnitSystem
from bridge2d.web.blocks import DIMENSIONS
from bridge2d.web.fields import plain_number

NAMES = ("option", "description")
"""What one file calls its option; another state of the same file is another option."""
OF_OPTION = (
    ("option", "Short name", "a letter where nothing is given"),
    ("description", "What it is", "in a line; the detail's title where nothing is given"),
    ("length", "Length in the building", 'such as "12.4 m"'),
    ("number", "or number of pieces", "of windows or hatches, instead of a length"),
    ("cost_per_metre", "Cost of a metre", ""),
)
"""Key, label and help of what each option may have."""
OF_ALL = (
    ("currency", "Currency", "of all costs"),
    ("heating_degree_hours", "Heating degree hours of a year", ""),
    ("heating_degree_hours_source", "where they come from", "printed beside them"),
    ("lifetime", "Lifetime", "years over which the cost is spread"),
    ("dimensions", "Dimensions", "of the lengths"),
)
"""The same of what all options share."""
UNITS = {"length": "mm", "heating_degree_hours": "kKh/a", "lifetime": "years", "cost_per_metre": "/m"}
"""Units of bare numbers of a file in SI, and of the fields."""
SPOKEN = {key: words for words, key in DIMENSIONS.items() if key}
"""Dimension systems as fields say them."""


class Cell(NamedTuple):
    """A field of the page, or what a file says.

    Attributes:
        name: of the field in an address; empty where a file says it.
        words: that were typed, or of the file.
    """

    name: str
    words: str


class Row(NamedTuple):
    """One key of the [comparison] block.

    Attributes:
        key, label, help: of the key.
        unit: of a bare number in the units that are shown; empty where it has to be typed.
        choices: words to choose from; empty where anything may be typed.
        cells: one for each option, or one for all.
    """

    key: str
    label: str
    help: str
    unit: str
    choices: tuple[tuple[str, str], ...]
    cells: tuple[Cell, ...]


def rows(
    wanted: Sequence[str], files: Sequence[Mapping[str, Any]], typed: Mapping[str, str], shown: UnitSystem
) -> tuple[Row, ...]:
    """All rows of the form.

    Args:
        wanted: the options as they stand in the address.
        files: data of each option's file.
        typed: words by name of their field.
        shown: units that are shown.
    """
    found = []
    for key, label, words in OF_OPTION:
        cells = tuple(
            _cell(_of_file(key, data), f"{key}.{one}", typed) for one, data in zip(wanted, files, strict=True)
        )
        found.append(Row(key, label, words or _right(key), _unit(key, shown), (), cells))
    for key, label, words in OF_ALL:
        said = next((text for text in (_of_file(key, data) for data in files) if text), "")
        choices = tuple(SPOKEN.items()) if key == "dimensions" else ()
        cells = (_cell(said, key, typed),)
        found.append(Row(key, label, words or _right(key), _unit(key, shown), choices, cells))
    return tuple(found)


def _cell(said: str, name: str, typed: Mapping[str, str]) -> Cell:
    return Cell("", said) if said else Cell(name, typed.get(name, ""))


def _of_file(key: str, data: Mapping[str, Any]) -> str:
    block = data.get("comparison")
    value = block.get(key, "") if isinstance(block, dict) else ""
    if isinstance(value, str) or key not in UNITS:
        return SPOKEN.get(str(value), str(value))
    unit = "in" if key == "length" and data.get("units") == INCH_POUND else UNITS[key]
    return f"{value:g}{unit}" if unit.startswith("/") else f"{value:g} {unit}"


def _right(key: str) -> str:
    return f"such as {RIGHT_UNITS[key]}"


def _unit(key: str, shown: UnitSystem) -> str:
    return "" if shown != SI and key in RIGHT_UNITS else UNITS.get(key, "")


def call(form: Sequence[Row]) -> dict[str, list[str]]:
    """What the fields say as the words of a call, see `comparison.terms.gathered`; no key of which nothing is said.

    Args:
        form: all rows.
    """
    said = {}
    for row in form:
        words = [one.words.strip() if one.name else "" for one in row.cells]
        words = words if row.key in TEXTS else [plain_number(one) for one in words]
        if any(words):
            said[row.key] = words
    return said


def typed_of(pairs: Sequence[tuple[str, str]]) -> dict[str, str]:
    """The fields of an address that were filled in.

    Args:
        pairs: names and words of the address.
    """
    of_option, of_all = {key for key, *_ in OF_OPTION}, {key for key, *_ in OF_ALL}
    return {
        name: words
        for name, words in pairs
        if words.strip() and (name in of_all or ("." in name and name.partition(".")[0] in of_option))
    }


def at_fault(error: InputError) -> str:
    """The key whose row shows a message; empty where it is about something else.

    Args:
        error: of a comparison.
    """
    key = error.key.removeprefix("--").replace("-", "_")
    return key if error.key.startswith("--") and key in {one for one, *_ in (*OF_OPTION, *OF_ALL)} else ""


def data_of(text: str) -> dict[str, Any]:
    """Data of a detail; empty where its text cannot be read, which whoever computes it tells.

    Args:
        text: TOML.
    """
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return {}


def without_names(text: str) -> str:
    """A detail without what its file calls the option.

    Args:
        text: TOML.
    """
    import tomlkit

    written = tomlkit.parse(text)
    block = written.get("comparison")
    if not isinstance(block, dict) or not any(key in block for key in NAMES):
        return text
    for key in NAMES:
        block.pop(key, None)
    return tomlkit.dumps(written)
