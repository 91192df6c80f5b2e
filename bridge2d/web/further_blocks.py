"""Fields for two more blocks of a detail file: what an option is compared by, and by how much inputs may be off.

Part of `edits`: text of the detail ↔ fields. What is typed is put into the text as it is; `detail_file` judges it.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from bridge2d.units import INCH_POUND, LENGTH, SI, UnitSystem
from bridge2d.web.blocks import DIMENSIONS, put, system_in, value_of
from bridge2d.web.fields import Field, Group, plain_number

COMPARISON = (
    ("option", "Name of the option", "one or two letters, such as A; it stands large on the sheet"),
    ("description", "What the option is", "in a line"),
    ("length", "Length in the building", "of this junction"),
    ("number", "or number", "of such windows or hatches, whose lengths the detail knows"),
    ("dimensions", "Dimensions of the length", "the first system that all options share where it is none"),
    ("cost_per_metre", "Cost per metre", 'with "/ft" behind it: per foot'),
    ("currency", "Currency", "of all costs"),
    ("lifetime", "Lifetime", "in years, over which a cost is spread"),
    ("heating_degree_hours", "Heating degree hours", "in kKh a year"),
    ("heating_degree_hours_source", "Source of the degree hours", "printed beside them"),
)
"""Keys of [comparison] with their fields."""
TOLERANCES = (
    ("length", "± of every dimension", "5 mm, and no more than a tenth of it, where it is left out"),
    (
        "conductivity",
        "± of conductivities",
        "as a share, where the catalogue has no range; 0.1, or 10 %, where left out",
    ),
    ("surface_resistance", "± of surface resistances", "as a share; they are agreed, so 0 where left out"),
    (
        "parameters",
        "± of single measures",
        "by their names in this form, such as: masonry = 10; joist depth = 5; in the units of the file",
    ),
    ("materials", "± of single conductivities", "in W/(m·K), such as: softwood = 0.02"),
)
"""Keys of [tolerances] with their fields."""
WORDS = ("option", "description", "currency", "heating_degree_hours_source")
LENGTHS: dict[UnitSystem, str] = {SI: "m", INCH_POUND: "ft"}
"""Units in which a length in the building is typed."""


def further_groups(data: Mapping[str, Any], labels: Mapping[str, str], shown: UnitSystem) -> tuple[Group, ...]:
    """The groups of what an option is compared by, and of tolerances.

    Args:
        data: of the detail file.
        labels: of parameters that may be off, by their names.
        shown: units that are shown.
    """
    compared, off = (_table(data, name) for name in ("comparison", "tolerances"))
    system = system_in(data)
    comparison = tuple(
        Field(
            key,
            "words" if key == "dimensions" else "text",
            label,
            _comparison_words(key, compared.get(key, ""), system),
            help=told,
            unit=LENGTHS[shown] if key == "length" else "",
            choices=tuple(DIMENSIONS) if key == "dimensions" else (),
            prefix="o",
        )
        for key, label, told in COMPARISON
    )
    tolerances = tuple(
        Field(
            key,
            "text",
            label,
            _tolerance_words(key, off.get(key, ""), labels, "" if system == shown else LENGTH.unit_in(system)),
            help=told.replace("5 mm", "5 mm (0.2 in)") if shown == INCH_POUND else told,
            unit=LENGTH.unit_in(shown) if key == "length" else "",
            prefix="l",
        )
        for key, label, told in TOLERANCES
    )
    return (
        Group("Comparison", comparison, closed="comparison" not in data),
        Group("Tolerances", tolerances, closed="tolerances" not in data),
    )


def _table(data: Mapping[str, Any], name: str) -> Mapping[str, Any]:
    found = data.get(name)
    return found if isinstance(found, dict) else {}


def _comparison_words(key: str, value: object, system: UnitSystem) -> str:
    if key == "dimensions":
        return next((words for words, one in DIMENSIONS.items() if one == (value or None)), str(value))
    if key == "length" and isinstance(value, int | float):  # a bare number of a file is no metre
        return f"{value} {'in' if system == INCH_POUND else 'mm'}"
    return str(value)


def _tolerance_words(key: str, value: object, labels: Mapping[str, str], unit: str) -> str:
    """What a field says of a value; a bare length of a file in other units gets that unit."""
    if key == "length" and unit and isinstance(value, int | float):
        return f"{value} {unit}"
    if not isinstance(value, dict):
        return str(value)
    names = labels if key == "parameters" else {}
    return "; ".join(f"{names.get(name, name)} = {amount}" for name, amount in value.items())


def put_further(written: Any, typed: Mapping[str, str], labels: Mapping[str, str], shown: UnitSystem) -> None:
    """Put what was typed in these fields into a text's document; all else in it stays as it is.

    Args:
        written: the document that tomlkit has read.
        typed: words by the field's name in an address.
        labels: of parameters that may be off, by their names.
        shown: units of the fields' bare numbers.
    """
    import tomlkit

    lengths = LENGTH.unit_in(system_in(written)), LENGTH.unit_in(shown)
    for prefix, name in (("o", "comparison"), ("l", "tolerances")):
        mine = {key[2:]: words for key, words in typed.items() if key.startswith(f"{prefix}.")}
        if not mine:
            continue
        if not isinstance(written.get(name), dict):
            written[name] = tomlkit.table()
        table: Any = written[name]
        for key, words in mine.items():
            put(table, key, _compared(key, words, shown) if prefix == "o" else _off(key, words, labels, lengths))
        if not len(table):
            del written[name]


def _compared(key: str, words: str, shown: UnitSystem) -> Any:
    if not words or key in WORDS:
        return words or None
    if key == "dimensions":
        return DIMENSIONS.get(words, words)
    value = value_of(words)
    return f"{value} {LENGTHS[shown]}" if key == "length" and not isinstance(value, str) else value


def _off(key: str, words: str, labels: Mapping[str, str], units: tuple[str, str]) -> Any:
    """What a tolerance becomes in a text; lengths are bare in the text's unit, and in the shown one get that."""
    import tomlkit

    if not words:
        return None
    if key == "length":
        bare, value = value_of(words.removesuffix(f" {units[0]}")), value_of(words)
        if isinstance(value, str):
            return value if isinstance(bare, str) else bare
        return value if units[0] == units[1] else f"{value} {units[1]}"
    if key not in ("parameters", "materials"):
        return value_of(words)
    names = {label: name for name, label in labels.items()} if key == "parameters" else {}
    table = tomlkit.inline_table()
    for part in filter(None, (one.strip() for one in words.split(";"))):
        found = re.fullmatch(r"(.+?)\s*[=±:]\s*(.+)", part)
        name, amount = found.groups() if found else (part, "")
        table[names.get(name, name)] = value_of(plain_number(amount))
    return table


def further_field_at_fault(key: str) -> str:
    """The field's name in an address that a message of the detail file belongs to; empty where it is none of these."""
    block, _, rest = key.partition(".")
    name = re.split("[.,]", rest)[0]
    for prefix, title, fields in (("o", "comparison", COMPARISON), ("l", "tolerances", TOLERANCES)):
        if block.partition(",")[0] == title:
            return f"{prefix}.{name if name in {one for one, _, _ in fields} else fields[0][0]}"
    return ""
