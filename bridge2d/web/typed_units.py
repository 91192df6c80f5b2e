"""What was typed in fields of one system of units, carried over into the other one without a change of its value.

Part of `states`. A bare number takes its unit along ("120" becomes "120 mm" where inches are shown) and loses it on the
way back; what a field shows of it is converted, see `shown_words`.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from bridge2d import units
from bridge2d.detail_blocks import SPOKEN
from bridge2d.errors import QuantityError
from bridge2d.junctions.declaration import ParameterInfo, describe
from bridge2d.units import INCH_POUND, SI, Kind, UnitSystem
from bridge2d.web.blocks import UNITS, quantity_in
from bridge2d.web.edits import Document, number_words
from bridge2d.web.fields import plain_number
from bridge2d.web.further_blocks import LENGTHS

NUMBER = re.compile(r"[-+−]?\d+(\.\d+)?|\d+ \d+/\d+|\d+/\d+")
"""A bare number, or inches with a fraction."""
Units = Mapping[UnitSystem, str]


def carried(of: Document, typed: Mapping[str, str], before: UnitSystem, now: UnitSystem) -> dict[str, str]:
    """The same for fields in other units.

    Args:
        of: the detail whose fields these are.
        typed: words by the field's name in an address.
        before: units of bare numbers in it.
        now: units of bare numbers in the result.
    """
    infos = _infos(of)
    found = {}
    for key, words in typed.items():
        unit = _units_of(of, infos, typed, key)
        found[key] = words if unit is None or unit[SI] == unit[INCH_POUND] else _carried(words, unit[before], unit[now])
    return found


def _carried(words: str, before: str, now: str) -> str:
    if NUMBER.fullmatch(words) or NUMBER.fullmatch(plain_number(words)):
        return f"{words if NUMBER.fullmatch(words) else plain_number(words)} {before}"
    number = words.removesuffix(now).rstrip() if now and words.endswith(now) else ""
    return number if NUMBER.fullmatch(number) else words


def _infos(of: Document) -> dict[str, ParameterInfo]:
    if of.junction is None or of.blocks:
        return {}
    return {one.name: one for one in describe(of.junction.parameters)}


def _units_of(of: Document, infos: Mapping[str, ParameterInfo], typed: Mapping[str, str], key: str) -> Units | None:
    """The unit of a field's bare number in both systems; None where it holds no such number."""
    kind, _, rest = key.partition(".")
    name, _, part = rest.partition(".")
    if kind == "p" and name in infos:
        of_field = units.CONDUCTIVITY if infos[name].material and part == "conductivity" else infos[name].kind
        return None if of_field is None or (part and part != "conductivity") else _units(of_field)
    if kind == "r" and part == "limit":
        said = typed.get(f"r.{name}.quantity") or quantity_in(of.data, name)
        quantity = next((one for one, spoken in SPOKEN.items() if said in (spoken, one)), "")
        return UNITS.get(quantity)
    if key == "l.length":
        return _units(units.LENGTH)
    return LENGTHS if key == "o.length" else None


def _units(kind: Kind) -> Units:
    return {system: kind.unit_in(system) for system in (SI, INCH_POUND)}


def shown_words(of: Document, key: str, words: str, shown: UnitSystem) -> str:
    """What the field of a number shows of words that say the other system's unit.

    Args:
        of: the detail whose field it is.
        key: the field's name in an address.
        words: that stand in the state.
        shown: units that are shown.
    """
    info = _infos(of).get(key.removeprefix("p."))
    other = SI if shown == INCH_POUND else INCH_POUND
    if info is None or info.kind is None or not key.startswith("p."):
        return words
    unit = info.kind.unit_in(other)
    number = words.removesuffix(unit).rstrip()
    if unit == info.kind.unit_in(shown) or not words.endswith(f" {unit}") or not NUMBER.fullmatch(number):
        return words
    try:
        return number_words(info, info.kind.read(words.replace("−", "-"), shown), shown)
    except QuantityError:
        return words
