"""Fields for what stands beside a junction's parameters: sets of limits, limits of its own, the climate by month.

Part of `edits`: text of the detail ↔ fields. What is typed is put into the text as it is; `detail_file` judges it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Any, Literal

from bridge2d.detail_blocks import INCH_POUND_LIMITS, QUANTITIES, SPOKEN
from bridge2d.errors import InputError
from bridge2d.requirement_sets import requirement_sets
from bridge2d.units import INCH_POUND, SI, TRANSMITTANCE, UnitSystem
from bridge2d.web.fields import Field, Group, plain_number

NONE = "none"
OWN_SETS = "requirement_sets"
"""Key at the top that names a file of own sets."""
UNITS: dict[str, dict[UnitSystem, str]] = {
    "psi": {SI: "W/(m·K)", INCH_POUND: INCH_POUND_LIMITS["psi"]},
    "chi": {SI: "W/K", INCH_POUND: INCH_POUND_LIMITS["chi"]},
    "f_rsi": {SI: "", INCH_POUND: ""},
    "u_value": {SI: TRANSMITTANCE.unit_in(SI), INCH_POUND: INCH_POUND_LIMITS["u_value"]},
}
DIMENSIONS = {NONE: None, "external": "external", "internal": "internal", "overall internal": "overall_internal"}
OWN = ("quantity", "dimensions", "limit", "name", "source")
"""Fields of a limit of the detail's own."""
MOST_LIMITS = 40
"""More blocks than these are edited as text."""
CLIMATE = (
    ("name", "Place or data set", ""),
    ("source", "Source of the values", ""),
    ("file", "Table", "a CSV file of this folder with a column month; upload it on the first page"),
    ("outside_temperature", "Outside, monthly means", "twelve temperatures in °C, January to December, by spaces"),
    ("outside_humidity", "Outside, relative humidity", "twelve values such as 0.85, by spaces"),
    ("inside_temperature", "Room, temperature", "in °C, one value or twelve; 20 where it is left out"),
    ("inside_humidity", "Room, relative humidity", "one value or twelve, such as 0.5"),
    ("humidity_class", "Humidity class", "1 to 5 (ISO 13788, annex A.2), instead of the room's humidity"),
    (
        "vapour_excess",
        "Vapour pressure excess",
        "in Pa at 0 °C outside, for class 5 or in place of a class, such as 1400",
    ),
    ("occupancy", "Occupancy", "normal or high (ISO 13788, annex A.1), instead of both"),
    ("coldest_day", "Coldest day", "mean annual minimum of the daily temperature in °C, for glazing and frames"),
    ("heated_below", "Heated below", "months that are warmer outside, in °C, ask for nothing"),
)
"""Keys of the climate that have a field."""
CHOICES = {"humidity_class": ("", "1", "2", "3", "4", "5"), "occupancy": ("", "normal", "high")}
"""Keys of the climate that are one of a few words; the empty one takes the key out."""
LISTS = ("outside_temperature", "outside_humidity", "inside_temperature", "inside_humidity")
WORDS = ("name", "source", "file", "occupancy")
_NUMBER = re.compile(r"[-+]?\d+(\.\d+)?")


def block_groups(data: Mapping[str, Any], shown: UnitSystem = SI, typed: Iterable[str] = ()) -> tuple[Group, ...]:
    """The groups of a detail's limits and of its climate.

    Args:
        data: of the detail file.
        shown: units that are shown; a limit in others says its unit.
        typed: names of fields in an address, among them those of sets and limits that the file has not yet.
    """
    sets, own = (1 + max((_block_of(key, prefix) for key in typed), default=-1) for prefix in "sr")
    words = str(data.get(OWN_SETS, ""))
    told = "a .toml file of this folder, for sets that are not built in"
    file = Field(OWN_SETS, "text", "File of own sets", words, help=told, prefix="h")
    fields = (*_sets(data, sets), file, *_limits(data, shown, own))
    limits = Group("Limits", fields, closed=not (_names(data) or _blocks(data) or sets or own))
    return limits, Group("Climate by month", _climate(data), closed="climate" not in data)


def quantity_in(data: Mapping[str, Any], number: str) -> str:
    """What a limit of the detail's own is of; empty where there is none of that number.

    Args:
        data: of the detail file.
        number: of its block, from 0.
    """
    blocks = _blocks(data)
    return str(blocks[int(number)].get("quantity", "")) if number.isdigit() and int(number) < len(blocks) else ""


def _block_of(key: str, prefix: str) -> int:
    """Number of the set or limit that a field's name belongs to; -1 where it is none."""
    first, _, rest = key.partition(".")
    words = rest.partition(".")[0]
    return int(words) if first == prefix and words.isdigit() and len(words) < 3 else -1


def _sets(data: Mapping[str, Any], least: int) -> tuple[Field, ...]:
    """A choice for every set that is named or typed, and one more."""
    known = requirement_sets()
    names = _names(data)
    found = []
    for number, name in enumerate([*names, *[NONE] * max(1, min(least, MOST_LIMITS) + 1 - len(names))]):
        one = known.get(name)
        told = f"{one.title}. {one.applies}".strip() if one else ""
        label = "Set of limits" if number == 0 else "and the set"
        choices = (NONE, *known)
        found.append(Field(str(number), "words", label, name, choices=choices, help=told, prefix="s"))
    return tuple(found)


def _names(data: Mapping[str, Any]) -> list[str]:
    given = data.get("requirements", [])
    return [str(one) for one in ([given] if isinstance(given, str) else given if isinstance(given, list) else [])]


def _blocks(data: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    given = data.get("requirement", [])
    return [one for one in given if isinstance(one, dict)] if isinstance(given, list) else []


def _limits(data: Mapping[str, Any], shown: UnitSystem, least: int) -> tuple[Field, ...]:
    """Fields of every limit of the detail's own, in the file or typed, and of one more."""
    found: list[Field] = []
    blocks = _blocks(data)[:MOST_LIMITS]
    for number, block in enumerate([*blocks, *[{}] * max(1, min(least, MOST_LIMITS) + 1 - len(blocks))]):
        prefix = f"r.{number}"
        quantity = str(block.get("quantity", ""))
        choices = {
            "quantity": (NONE, *(SPOKEN[one] for one in QUANTITIES)),
            "dimensions": tuple(DIMENSIONS),
        }
        values = {
            "quantity": SPOKEN.get(quantity, quantity or NONE),
            "dimensions": next((w for w, key in DIMENSIONS.items() if key == block.get("dimensions")), NONE),
            "limit": _limit_words(block.get("maximum", block.get("minimum", "")), quantity, shown, system_in(data)),
            "name": str(block.get("name", "")),
            "source": str(block.get("source", "")),
        }
        helps = {
            "quantity": "none takes this limit away" if block else "none adds no limit",
            "dimensions": "of a Ψ, or of its lengths",
            "limit": "largest Ψ, χ or U, smallest f_Rsi",
            "source": "where the limit comes from",
        }
        which = f" {number + 1}" if block else ", another"
        for key in OWN:
            kind = "words" if key in choices else "text"
            words = f"Own limit{which}" if key == "quantity" else key
            told, choice = helps.get(key, ""), choices.get(key, ())
            found.append(Field(key, kind, words, values[key], choices=choice, help=told, prefix=prefix))
    return tuple(found)


def _limit_words(limit: object, quantity: str, shown: UnitSystem, system: UnitSystem) -> str:
    """A limit as its field shows it: with its unit where the file's bare numbers have another one than is shown."""
    unit = UNITS.get(quantity, UNITS["f_rsi"])[system]
    return f"{limit} {unit}" if shown != system and unit and isinstance(limit, int | float) else str(limit)


def system_in(data: Mapping[str, Any]) -> UnitSystem:
    """Units of the bare numbers of a detail file's data."""
    return INCH_POUND if data.get("units") == INCH_POUND else SI


def _climate(data: Mapping[str, Any]) -> tuple[Field, ...]:
    given = data.get("climate")
    known = given if isinstance(given, dict) else {}
    found = []
    for key, label, told in CLIMATE:
        choices = CHOICES.get(key, ())
        kind, value = "words" if choices else "text", _said(known.get(key, ""))
        found.append(Field(key, kind, label, value, help=told, choices=choices, prefix="c"))
    return tuple(found)


def _said(value: object) -> str:
    return " ".join(str(one) for one in value) if isinstance(value, list) else str(value)


# -- what was typed ----------------------------------------------------------------------------------------------------


def put_blocks(written: Any, data: Mapping[str, Any], typed: Mapping[str, str], shown: UnitSystem) -> None:
    """Put what was typed in these fields into a text's document; all else in it stays as it is.

    Args:
        written: the document that tomlkit has read.
        data: values of the same text.
        typed: words by the field's name in an address.
        shown: units of the fields' bare numbers.

    Raises:
        InputError: a field's name is none of theirs.
    """
    of_sets = {key: words for key, words in typed.items() if key.startswith("s.")}
    if of_sets:
        _put_sets(written, data, of_sets)
    of_limits = {key: words for key, words in typed.items() if key.startswith("r.")}
    if of_limits:
        _put_limits(written, data, of_limits, (shown, system_in(data)))
    of_climate = {key.partition(".")[2]: words for key, words in typed.items() if key.startswith("c.")}
    if of_climate:
        _put_climate(written, of_climate)


def _put_sets(written: Any, data: Mapping[str, Any], typed: Mapping[str, str]) -> None:
    names: list[str] = [*_names(data), *[NONE] * MOST_LIMITS]
    for key, words in typed.items():
        names[_number(key, len(names))] = words or NONE
    kept = [name for name in dict.fromkeys(names) if name != NONE]
    if kept:
        written["requirements"] = kept
    elif "requirements" in written:
        del written["requirements"]


def _put_limits(
    written: Any, data: Mapping[str, Any], typed: Mapping[str, str], systems: tuple[UnitSystem, UnitSystem]
) -> None:
    import tomlkit

    count = len(_blocks(data))
    if count == 0:
        written["requirement"] = tomlkit.aot()
    blocks = written["requirement"]
    gone: list[int] = []
    for asked in sorted({_number(key, count + MOST_LIMITS) for key in typed}):
        mine = {key.rpartition(".")[2]: words for key, words in typed.items() if key.startswith(f"r.{asked}.")}
        number = asked
        if asked >= count:
            if mine.get("quantity", NONE) == NONE:
                _refuse_without_quantity(asked, mine)
                continue
            number = len(blocks)
            blocks.append(tomlkit.table())
        if mine.get("quantity") == NONE:
            gone.append(number)
            continue
        _put_limit(blocks[number], mine, systems)
    for number in reversed(gone):
        del blocks[number]
    if not len(blocks):
        del written["requirement"]


def _refuse_without_quantity(number: int, typed: Mapping[str, str]) -> None:
    """A new limit of which something was typed is not left out in silence."""
    if any(typed.get(one) for one in ("limit", "name", "source")):
        right = "choose one, or empty the other fields of this limit"
        raise InputError("it is not said what is limited", key=f"[[requirement]] {number + 1}, quantity", right=right)


def _put_limit(block: Any, typed: Mapping[str, str], systems: tuple[UnitSystem, UnitSystem]) -> None:
    """One limit, at most what was typed of it, in the units that are shown and those of the file."""
    for key, words in typed.items():
        if key == "quantity":
            block["quantity"] = next((one for one, said in SPOKEN.items() if said == words), words)
        elif key == "dimensions":
            put(block, key, DIMENSIONS.get(words, words))
        elif key in ("name", "source"):
            put(block, key, words or None)
    quantity = str(block.get("quantity", ""))
    sense: Literal["minimum", "maximum"] = "minimum" if quantity == "f_rsi" else "maximum"
    other = "maximum" if sense == "minimum" else "minimum"
    limit = _limit(typed["limit"], quantity, *systems) if "limit" in typed else block.get(sense, block.get(other))
    put(block, other, None)
    put(block, sense, limit)
    if quantity != "psi":
        put(block, "dimensions", None)


def _limit(words: str, quantity: str, shown: UnitSystem, system: UnitSystem) -> Any:
    """A limit as a value of TOML: a bare number where the units that are shown are the file's."""
    plain = plain_number(words)
    if not _NUMBER.fullmatch(plain):
        return words or None
    unit = UNITS.get(quantity, UNITS["f_rsi"])[shown]
    return float(plain) if shown == system == SI or not unit else f"{plain} {unit}"


def _put_climate(written: Any, typed: Mapping[str, str]) -> None:
    import tomlkit

    if not isinstance(written.get("climate"), dict):
        written["climate"] = tomlkit.table()
    table: Any = written["climate"]
    for key, words in typed.items():
        put(table, key, _climate_value(key, words))
    if not len(table):
        del written["climate"]


def _climate_value(key: str, words: str) -> Any:
    if not words or key in WORDS:
        return words or None
    parts = [part for part in re.split(r"[\s;]+|,(?=\s)", words) if part]
    if key in LISTS and len(parts) > 1 and not (len(parts) == 2 and not _NUMBER.fullmatch(plain_number(parts[1]))):
        return [value_of(part) for part in parts]
    return value_of(words)


def value_of(words: str) -> Any:
    """A typed number as a value of TOML; all else stays text."""
    plain = plain_number(words)
    if not _NUMBER.fullmatch(plain):
        return words
    return float(plain) if "." in plain else int(plain)


def put(table: Any, key: str, value: Any) -> None:
    """Set a key or take it out; a comment behind it stays.

    Args:
        table: of tomlkit.
        key: in it.
        value: None to take it out.
    """
    if value is not None:
        table[key] = value
    elif key in table:
        del table[key]


def field_at_fault(key: str, message: str) -> str:
    """The field's name in an address that a message of the detail file belongs to; empty where it is none of these.

    Args:
        key: that the message names, such as '[[requirement]] 2 "roof", maximum'.
        message: what is wrong.
    """
    missing = re.search(r"the key (\w+) is missing", message)
    if found := re.match(r"\[\[requirement\]\] (\d+)", key):
        last = key.rpartition(", ")[2] if ", " in key else (missing[1] if missing else "")
        last = {"maximum": "limit", "minimum": "limit"}.get(last, last)
        last = "dimensions" if not last and "dimensions" in message else last
        return f"r.{int(found[1]) - 1}.{last if last in OWN else 'quantity'}"
    if key.startswith("requirements"):
        found = re.search(r"value (\d+)", key)
        return f"s.{int(found[1]) - 1 if found else 0}"
    if key.partition(".")[0].partition(",")[0] == "climate":
        name = key.partition(".")[2].partition(",")[0] or (missing[1] if missing else "")
        return f"c.{name if name in {one for one, _, _ in CLIMATE} else 'name'}"
    return ""


def _number(key: str, count: int) -> int:
    """Number of the block that a field belongs to."""
    words = key.split(".")[1]
    number = int(words) if words.isdigit() and len(words) < 4 else count
    if number >= count:
        raise InputError(f"there is no field {key[:60]!r}")
    return number
