"""What the comparison's page asks of its options: names, lengths, costs, how long it heats.

The fields stand filled with what the files say. What is changed in them is a part of the address and goes before the
file, which stays as it is. The fields of an option carry the option in their names ("length.NAME"), so that they stay
when the choice changes.
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
from bridge2d.web.edits import LONGEST
from bridge2d.web.fields import plain_number, refuse_millimetres

NAMES = ("option", "description")
"""What one file calls its option; another state of the same file is another option."""
OF_OPTION = (
    ("option", "Short name", "a letter where nothing is given"),
    ("description", "What it is", "in a line; the detail's title where nothing is given"),
    ("length", "Length in the building", ""),
    ("number", "or number of pieces", "of windows or hatches, instead of a length"),
    ("cost_per_metre", "Cost of a metre", ""),
)
"""Key, label and help of what each option may have."""
OF_ALL = (
    ("currency", "Currency", "of all costs"),
    ("heating_degree_hours", "Heating degree hours of a year", ""),
    ("heating_degree_hours_source", "where they come from", "printed beside them; changed hours need one of their own"),
    ("lifetime", "Lifetime", "years over which the cost is spread"),
    ("dimensions", "Dimensions", "of the lengths"),
)
"""The same of what all options share."""
UNITS = {"length": "m", "heating_degree_hours": "kKh/a", "lifetime": "years", "cost_per_metre": "/m"}
"""Units of bare numbers of the fields in SI; a length of a building is one of metres."""
SPOKEN = {key: words for words, key in DIMENSIONS.items() if key}
"""Dimension systems as fields say them."""


class Cell(NamedTuple):
    """A field of the page.

    Attributes:
        name: of the field in an address.
        said: what the file says, with its unit; empty where it says nothing.
        words: that stand in the field; those of the file unless others were typed.
    """

    name: str
    said: str
    words: str

    @property
    def changed(self) -> bool:
        """Whether the field says something else than the file."""
        return self.words != self.said


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
        unit = _unit(key, shown)
        cells = tuple(
            _cell(_of_file(key, data), f"{key}.{one}", typed, unit) for one, data in zip(wanted, files, strict=True)
        )
        found.append(Row(key, label, words or _right(key), unit, (), cells))
    for key, label, words in OF_ALL:
        unit = _unit(key, shown)
        by_file = list(dict.fromkeys(text for text in (_of_file(key, data) for data in files) if text))
        said = by_file[0] if len(by_file) == 1 else ""
        differing = f"the files differ ({', '.join(by_file)}): say which" if len(by_file) > 1 else ""
        choices = tuple(SPOKEN.items()) if key == "dimensions" else ()
        cells = (_cell(said, key, typed, unit),)
        found.append(Row(key, label, differing or words or _right(key), unit, choices, cells))
    return _with_own_source(found)


def _with_own_source(found: Sequence[Row]) -> tuple[Row, ...]:
    """Degree hours that were changed do not come from where the file's come from."""
    by_key = {row.key: row for row in found}
    hours, source = by_key["heating_degree_hours"].cells[0], by_key["heating_degree_hours_source"]
    cell = source.cells[0]
    if hours.changed and not cell.changed:
        by_key[source.key] = source._replace(cells=(cell._replace(words=""),))
    return tuple(by_key.values())


def _cell(said: str, name: str, typed: Mapping[str, str], unit: str) -> Cell:
    words = with_unit(typed[name].strip(), unit) if name in typed else said
    return Cell(name, said, words)


def with_unit(words: str, unit: str) -> str:
    """A bare number with the unit that stands beside its field; other words as they are.

    Args:
        words: that were typed.
        unit: of the field's bare numbers; empty where it has none.
    """
    try:
        float(plain_number(words))
    except ValueError:
        return words
    if unit in ("", "years"):
        return words
    return f"{words}{unit}" if unit.startswith("/") else f"{words} {unit}"


def shown_words(words: str, unit: str) -> str:
    """Words of a field without the unit that stands beside it.

    Args:
        words: of the field.
        unit: that stands beside it; empty where none does.
    """
    number = words.removesuffix(unit).strip() if unit else words
    return number if with_unit(number, unit) == words else words


def _of_file(key: str, data: Mapping[str, Any]) -> str:
    block = data.get("comparison")
    value = block.get(key, "") if isinstance(block, dict) else ""
    if isinstance(value, str) or key not in UNITS:
        return str(value)
    if key == "length" and isinstance(value, int | float):
        return f"{value:.10g} in" if data.get("units") == INCH_POUND else f"{value / 1000.0:.10g} m"
    return with_unit(f"{value:.10g}" if isinstance(value, int | float) else str(value), UNITS[key])


def _right(key: str) -> str:
    return f"such as {RIGHT_UNITS[key]}"


def _unit(key: str, shown: UnitSystem) -> str:
    return "" if shown != SI and key in RIGHT_UNITS else UNITS.get(key, "")


def call(form: Sequence[Row]) -> dict[str, list[str]]:
    """What was changed in the fields as the words of a call, see `comparison.terms.gathered`.

    Args:
        form: all rows.

    Raises:
        InputError: a bare length is none of a building's; its key is the field.
    """
    said = {}
    for row in form:
        words = [one.words if one.changed else "" for one in row.cells]
        if row.key == "length":
            for one in words:
                _refuse_millimetres(one)
        words = words if row.key in TEXTS else [plain_number(one) for one in words]
        if any(words):
            said[row.key] = words
    return said


def _refuse_millimetres(words: str) -> None:
    """Refuse a length in metres that somebody must have meant in millimetres."""
    try:
        metres = float(plain_number(words.removesuffix("m").strip()))
    except ValueError:
        return
    refuse_millimetres(metres, "--length", f'"{metres:g} mm" if it is that')


def overridden(form: Sequence[Row], number: int) -> tuple[str, ...]:
    """The keys of an option's file that a field says otherwise.

    Args:
        form: all rows.
        number: of the option, from 0.
    """
    cells = ((row.key, row.cells[number if len(row.cells) > 1 else 0]) for row in form)
    return tuple(key for key, cell in cells if cell.changed)


def changes(form: Sequence[Row]) -> dict[str, str]:
    """What an address has to say: the fields that say something else than the files.

    Args:
        form: all rows.
    """
    found = {cell.name: cell.words for row in form for cell in row.cells if cell.changed}
    if "heating_degree_hours" in found and not found.get("heating_degree_hours_source"):
        found.pop("heating_degree_hours_source", None)  # goes without saying
    return found


def typed_of(pairs: Sequence[tuple[str, str]]) -> dict[str, str]:
    """The fields of an address.

    Args:
        pairs: names and words of the address.
    """
    of_option, of_all = {key for key, *_ in OF_OPTION}, {key for key, *_ in OF_ALL}
    return {
        name: words[:LONGEST]
        for name, words in pairs
        if name in of_all or ("." in name and name.partition(".")[0] in of_option)
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


def without(text: str, keys: Sequence[str]) -> str:
    """A detail without some of what its file says of the option.

    Args:
        text: TOML.
        keys: of its [comparison] block.
    """
    import tomlkit

    if not keys:
        return text
    written = tomlkit.parse(text)
    block = written.get("comparison")
    if not isinstance(block, dict) or not any(key in block for key in keys):
        return text
    for key in keys:
        block.pop(key, None)
    return tomlkit.dumps(written)
