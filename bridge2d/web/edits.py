"""Fields of the page from the declarations of parameters, and the detail's text with what was typed in them.

address → typed words → **text of the detail**. tomlkit writes, so that comments and order stay as they are; what is
typed is read and judged by `detail_file` alone.
"""

from __future__ import annotations

import json
import pickle
import re
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

from bridge2d.errors import InputError, QuantityError
from bridge2d.junctions import junctions
from bridge2d.junctions.declaration import Junction, MaterialChoice, ParameterInfo, describe
from bridge2d.new_files import toml_number
from bridge2d.shown_units import DisplayUnits
from bridge2d.units import SI, SYSTEMS, UnitSystem
from bridge2d.web.blocks import OWN_SETS, block_groups, put, put_blocks, value_of
from bridge2d.web.fields import Field, Group, plain_number
from bridge2d.web.further_blocks import further_groups, put_further
from bridge2d.web.remarks import with_remarks

HEAD = (
    ("title", "Title", "of the detail, as the sheet has it"),
    ("project", "Project", "whose building it is"),
    ("revision", "Revision", "of the sheet"),
    ("author", "Author", "who answers for it"),
    ("date", "Date", "as the sheet shall have it"),
)
"""Keys at the top of the file that have a field."""
LONGEST = 400
"""Longest text of one field."""
REMEMBERED = 16
"""Texts that fields begin with, whose documents are remembered."""
_NUMBER = re.compile(r"[-+]?\d+(\.\d+)?")


@dataclass(frozen=True)
class Document:
    """The text of a detail file and what the page knows of it without computing.

    Attributes:
        text: TOML.
        data: its values.
        junction: the junction; None where it names none that is known.
        system: units of its bare numbers.
    """

    text: str
    data: Mapping[str, Any] = field(repr=False)
    junction: Junction | None
    system: UnitSystem

    @property
    def blocks(self) -> bool:
        """Whether it is edited as text alone."""
        return self.junction is None or self.junction.blocks


def document(text: str) -> Document:
    """What the page knows of a text; one that cannot be read has no fields."""
    try:
        data: dict[str, Any] = tomllib.loads(text)
    except (ValueError, RecursionError):
        return Document(text, {}, None, SI)
    name = data.get("junction")
    junction = junctions().get(name) if isinstance(name, str) else None
    system = next((one for one in SYSTEMS if one == data.get("units", SI)), SI)
    return Document(text, data, junction, system)


def groups(of: Document, shown: UnitSystem, typed: Iterable[str] = ()) -> tuple[Group, ...]:
    """The form of a detail: its head, then its parameters by their groups.

    Args:
        of: the detail.
        shown: units in which numbers are shown.
        typed: names of fields in an address, among them those of limits that the text has not yet.
    """
    heads = tuple(
        Field(name, "text", label, _plain(of.data.get(name, "")), help=what, prefix="h") for name, label, what in HEAD
    )
    found: dict[str, list[Field]] = {}
    if of.junction is not None and not of.junction.blocks:
        known = of.data.get("parameters")
        given = known if isinstance(known, dict) else {}
        for info in describe(of.junction.parameters):
            found.setdefault(info.group, []).append(_field(info, given.get(info.name), of.system, shown))
    of_parameters = (Group(name, tuple(fields)) for name, fields in found.items())
    beside = (*block_groups(of.data, shown, typed), *further_groups(of.data, _measures(of), shown))
    return (*of_parameters, *beside, Group("Sheet", heads))


def _measures(of: Document) -> dict[str, str]:
    """Labels of the parameters that are numbers, by their names; none where two have one label."""
    if of.junction is None:
        return {}
    found = {info.name: info.label for info in describe(of.junction.parameters) if info.kind is not None}
    labels = list(found.values())
    return {name: label for name, label in found.items() if labels.count(label) == 1}


def _plain(value: object) -> str:
    return value if isinstance(value, str) else str(value)


def _field(info: ParameterInfo, typed: Any, system: UnitSystem, shown: UnitSystem) -> Field:
    common: dict[str, Any] = {
        "empty": _default_words(info, shown),
        "symbol": info.symbol,
        "limits": info.limits_in(shown),
        "help": DisplayUnits(shown).sentence(info.help),
    }
    if info.material:
        return _material_field(info, typed, common, system, shown)
    if info.kind is None:
        value = info.default if typed is None else typed
        kind = "words" if info.words else "text"
        return Field(info.name, kind, info.label, "" if value is None else str(value), choices=info.words, **common)
    value = _number(info, typed, system, shown)
    return Field(info.name, "number", info.label, value, unit=info.kind.unit_in(shown), **common)


def _default_words(info: ParameterInfo, shown: UnitSystem) -> str:
    """The default of a parameter, with its unit; empty where it has none."""
    if info.default is None or info.words:
        return ""
    if info.material:
        return str(_of_default(info)["material"])
    if info.kind is None:
        return str(info.default)
    number = _number(info, None, SI, shown)
    return f"{number} {info.kind.unit_in(shown)}".rstrip() if _NUMBER.fullmatch(number) else number


def _number(info: ParameterInfo, typed: Any, system: UnitSystem, shown: UnitSystem) -> str:
    """A number as the field shows it: as it was typed where its units are shown, else converted."""
    assert info.kind is not None
    if typed is None:
        if info.default is None:
            return ""
        text = toml_number(info.kind, info.default, shown, info.minimum, info.maximum)
        return str(json.loads(text)) if text.startswith('"') else text
    if shown == system:
        return str(typed)
    try:
        value = info.kind.read(typed, system)
    except QuantityError:
        return str(typed)
    return number_words(info, value, shown)


def number_words(info: ParameterInfo, value: float, shown: UnitSystem) -> str:
    """A converted number as its field shows it.

    Args:
        info: of the parameter.
        value: [SI].
        shown: units that are shown.
    """
    assert info.kind is not None
    number = info.kind.number(value, shown)
    return number if shown == SI or _NUMBER.fullmatch(number) else f"{number} {info.kind.unit_in(shown)}".rstrip()


def _material_field(
    info: ParameterInfo, typed: Any, common: dict[str, Any], system: UnitSystem, shown: UnitSystem
) -> Field:
    value = info.default if typed is None else typed
    own = ("", "")
    if isinstance(value, MaterialChoice):
        name = value.material.name
    elif isinstance(value, dict):
        name = str(value.get("material", ""))
        own = (_typed_conductivity(value.get("conductivity", ""), system, shown), str(value.get("basis", "")))
    else:
        name = "" if value is None else str(value)
    return Field(
        info.name, "material", info.label, name, choices=info.words, own=own, source=source_of(name, shown), **common
    )


def _typed_conductivity(typed: object, system: UnitSystem, shown: UnitSystem) -> str:
    from bridge2d import units

    if isinstance(typed, list):
        return json.dumps(typed, ensure_ascii=False)
    if shown == system or not isinstance(typed, int | float):
        return str(typed)
    return f"{typed} {units.CONDUCTIVITY.unit_in(system)}"


def source_of(name: str, shown: UnitSystem = SI) -> str:
    """Conductivity and source of a material of the catalogue in a sentence; empty where it has none of that name."""
    from bridge2d import units
    from bridge2d.materials import catalogue

    found = catalogue().get(name)
    if found is None:
        return ""
    along = found.conductivity_along
    text = f"λ {units.CONDUCTIVITY.show(found.conductivity, shown)}"
    if along is not None:
        text += f" across, {units.CONDUCTIVITY.show(along, shown)} along the grain"
    remembered = "" if found.read or "remembered" in found.source else " (remembered)"
    return f"{text}. {DisplayUnits(shown).sentence(found.source, both=True)}{remembered}"


# -- what was typed ----------------------------------------------------------------------------------------------------


def edited(of: Document, typed: Mapping[str, str], shown: UnitSystem) -> str:
    """The text of a detail with what was typed in its fields; all else in it stays as it is.

    Args:
        of: the detail.
        typed: words by the field's name in an address; "" puts the default where the file has the key.
        shown: units of the fields' bare numbers.

    Raises:
        InputError: the text is no TOML, or a name is no field's.
    """
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    if not typed:
        return of.text
    try:
        written = pickle.loads(_parsed(of.text))
    except (TOMLKitError, RecursionError):
        raise InputError("this is not TOML", right="mend it as text first") from None
    declared = {} if of.blocks or of.junction is None else {i.name: i for i in describe(of.junction.parameters)}
    for key, words in typed.items():
        kind, _, name = key.partition(".")
        if kind == "h" and name in {OWN_SETS, *(one for one, _, _ in HEAD)}:
            put(written, name, words or None)
        elif (kind == "p" and name.partition(".")[0] in declared) or kind in ("s", "r", "c", "o", "l"):
            continue
        else:
            raise InputError(f"there is no field {key[:60]!r}")
    if any(key.startswith("p.") for key in typed):
        if not isinstance(written.get("parameters"), dict):
            written["parameters"] = tomlkit.table()
        table: Any = written["parameters"]
        for info in declared.values():
            _put_parameter(table, info, typed, of.system, shown)
    put_blocks(written, of.data, typed, shown)
    put_further(written, typed, _measures(of), shown)
    return with_remarks(of.text, tomlkit.dumps(written))


@lru_cache(maxsize=REMEMBERED)
def _parsed(text: str) -> bytes:
    """A text's document to be written in, packed: to unpack it takes a tenth of the time that reading the text does."""
    import tomlkit

    return pickle.dumps(tomlkit.parse(text), protocol=5)


def _put_parameter(
    table: Any, info: ParameterInfo, typed: Mapping[str, str], system: UnitSystem, shown: UnitSystem
) -> None:
    import tomlkit
    from tomlkit.items import Table

    key = f"p.{info.name}"
    mine = {one: words.strip() for one, words in typed.items() if one == key or one.startswith(f"{key}.")}
    if not mine:
        return
    if not info.material:
        value = _value(info, mine[key], system, shown) if key in mine else table.get(info.name)
        put(table, info.name, _default(info, system) if value is None and info.name in table else value)
        return
    old = table.get(info.name)
    known = dict(old) if isinstance(old, dict) else ({"material": old} if isinstance(old, str) else _of_default(info))
    name = mine.get(key, str(known.get("material", "")))
    if not name and old is not None and info.default is not None:
        name = str(_of_default(info)["material"])
    if key in mine and f"{key}.conductivity" not in mine and mine[key] != known.get("material"):
        known = {}  # another material takes its own conductivity
    conductivity = mine.get(f"{key}.conductivity", known.get("conductivity", ""))
    basis = mine.get(f"{key}.basis", str(known.get("basis", "")))
    if conductivity in ("", None) and not basis:
        put(table, info.name, name or None)
        return
    value = _conductivity(conductivity, system, shown) if isinstance(conductivity, str) else conductivity
    chosen = {"material": name or None, "conductivity": None if value in ("", None) else value, "basis": basis or None}
    if isinstance(old, Table):  # a table of its own keeps its lines
        for one, given in chosen.items():
            put(old, one, given)
        return
    inline = tomlkit.inline_table()
    inline.update({one: given for one, given in chosen.items() if given is not None})
    put(table, info.name, inline)


def _default(info: ParameterInfo, system: UnitSystem) -> Any:
    """The default as a value of TOML, so that its line and what is said beside it stay; None where there is none."""
    if info.default is None or info.kind is None:
        return info.default
    return json.loads(toml_number(info.kind, info.default, system, info.minimum, info.maximum))


def _of_default(info: ParameterInfo) -> dict[str, Any]:
    value = info.default  # of the catalogue, or a word such as "air"
    return {"material": value.material.name if isinstance(value, MaterialChoice) else str(value)}


def _value(info: ParameterInfo, words: str, system: UnitSystem, shown: UnitSystem) -> Any:
    """What was typed as a value of TOML; None takes the key out."""
    if not words:
        return None
    if info.kind is None:
        return words
    plain = plain_number(words)
    if not _NUMBER.fullmatch(plain):
        fraction = info.kind.name == "length" and re.fullmatch(r"[\d /]+", plain)
        if fraction:
            return f"{words} {info.kind.unit_in(shown)}"
        plain = _of_the_file(plain, info, system, shown)
        if not _NUMBER.fullmatch(plain):
            return words
        return value_of(plain)
    if shown != system and info.kind.unit_in(shown) != info.kind.unit_in(system):
        return f"{plain} {info.kind.unit_in(shown)}"
    return value_of(plain)


def _of_the_file(words: str, info: ParameterInfo, system: UnitSystem, shown: UnitSystem) -> str:
    """Words that say the file's own unit because another one is shown, without it."""
    assert info.kind is not None
    unit = info.kind.unit_in(system)
    carries = shown != system and unit != info.kind.unit_in(shown) and words.endswith(f" {unit}")
    return words.removesuffix(unit).rstrip() if carries else words


def _conductivity(words: str, system: UnitSystem, shown: UnitSystem) -> Any:
    from bridge2d import units

    if words.startswith("["):
        try:
            return json.loads(words)
        except ValueError:
            return words
    plain = plain_number(words)
    if not _NUMBER.fullmatch(plain):
        return words
    return float(plain) if shown == system else f"{plain} {units.CONDUCTIVITY.unit_in(shown)}"
