"""The rows of a building's form, and its text with what was typed in them; tomlkit writes, so that comments stay.

Fields ↔ **text of the building**. What is typed is judged by `building.reading` alone, as the file's own.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from bridge2d.errors import InputError
from bridge2d.web.blocks import DIMENSIONS, put
from bridge2d.web.blocks import value_of as typed_value
from bridge2d.web.edits import HEAD as OF_DETAIL
from bridge2d.web.fields import refuse_millimetres
from bridge2d.web.remarks import with_remarks

HEAD = tuple((key, label) for key, label, _ in OF_DETAIL)
"""Keys at the top of the file that have a field, beside the dimensions: those of a detail."""
TEXTS = ("ref", "name", "group", "detail", "source")
NUMBERS = ("length", "number", "psi", "chi", "f_rsi")
TABLES = ("lengths", "parameters")
KEYS = (*TEXTS, *NUMBERS, *TABLES, "dimensions")
"""Keys of a [[junction]], in the order in which a new one is written."""
ORDER = ("ref", "name", "detail", "group", "parameters", "psi", "chi", "dimensions", "f_rsi", "length", "lengths")
LONGEST = 4000
"""Longest text of one field."""
MOST_ROWS = 150
"""A building of more rows is changed as text."""
IN_A_FORM = (
    (r'write (\w+) = (?:…|"[^"]*"|\{[^}]*\}|[\d.]+)', r"fill in \1"),
    (r'\bor (\w+) = (?:…|"[^"]*"|[\d.]+)', r"or \1"),
    (r'a plain Ψ needs its own, such as dimensions = "external", as', "choose the dimensions of the plain Ψ as"),
    (r"the key (\w+) is missing", r"\1 is missing"),
    (r'"', ""),
    (r"\bf_rsi\b", "fRsi"),
)
"""Words of a message to who writes TOML, and what a form says instead, in this order."""


@dataclass(frozen=True)
class Row:
    """A junction of the form.

    Attributes:
        was: its place in the file, from 0; None for a new one.
        words: of its fields by key.
        gone: whether it is to be taken out.
        messages: what is wrong, by key; "" for the row as a whole.
    """

    was: int | None
    words: Mapping[str, str]
    gone: bool = False
    messages: Mapping[str, str] = field(default_factory=dict)

    @property
    def plain(self) -> bool:
        """Whether it has a plain value, or measures or sides of its own."""
        keys = ("psi", "chi", "f_rsi", "source", "dimensions", *TABLES)
        return any(self.words.get(key) or key in self.messages for key in keys)

    @property
    def empty(self) -> bool:
        """Whether nothing was typed in a new row."""
        return self.was is None and not any(self.words.values())


def rows_of(text: str) -> tuple[dict[str, str], tuple[Row, ...]]:
    """The fields of a building: its head, and its junctions.

    Args:
        text: TOML.

    Raises:
        InputError: its junctions are not written as blocks, or there are too many.
    """
    data = _data(text)
    junctions = data.get("junction", [])
    if not isinstance(junctions, list) or not all(isinstance(one, dict) for one in junctions):
        raise InputError("its junctions are not written as [[junction]] blocks", right="change it as text")
    if len(junctions) > MOST_ROWS:
        raise InputError(f"it has {len(junctions)} junctions", right=f"change it as text beyond {MOST_ROWS}")
    head = {key: str(data.get(key, "")) for key in (*(one for one, _ in HEAD), "dimensions")}
    return head, tuple(Row(number, {key: _words(one.get(key)) for key in KEYS}) for number, one in enumerate(junctions))


def _data(text: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError):
        raise InputError("this is not TOML", right="mend it as text first") from None


def _words(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, dict):
        return ", ".join(f"{_name(name)} = {_toml(one)}" for name, one in value.items())
    return f"{value:.10g}" if isinstance(value, float) else str(value)


def _name(name: str) -> str:
    return name if re.fullmatch(r"[\w-]+", name, re.ASCII) else _toml(name)


def _toml(value: Any) -> str:
    import tomlkit

    return str(tomlkit.item(value).as_string())


def rows_typed(form: Mapping[str, str]) -> tuple[Row, ...]:
    """The rows of a form that was sent.

    Args:
        form: its fields; those of row 3 are called "3.name".
    """
    found = []
    for number in range(MOST_ROWS + 1):
        was = form.get(f"{number}.was")
        if was is None:
            break
        words = {key: form.get(f"{number}.{key}", "").strip() for key in KEYS}
        found.append(Row(int(was) if was.isdigit() else None, words, f"{number}.gone" in form))
    return tuple(found)


def edited_building(text: str, head: Mapping[str, str], typed: Sequence[Row]) -> str:
    """The text of a building with what was typed; all else in it stays as it is.

    Args:
        text: TOML; empty for a new building.
        head: words by key at the top.
        typed: all rows of the form; a file's row that is not among them stays.

    Raises:
        InputError: the text is written in a way that only an editor can change.
    """
    import tomlkit
    from tomlkit.exceptions import TOMLKitError
    from tomlkit.items import AoT

    old_head, old = rows_of(text)
    try:
        written: Any = tomlkit.parse(text)
    except (TOMLKitError, RecursionError):
        raise InputError("this is not TOML", right="mend it as text first") from None
    expected = _data(text)
    for key, words in head.items():
        if words != old_head.get(key, ""):
            put(written, key, words or None)
            _change(expected, key, words or None)
    if "junction" not in written:
        written["junction"] = tomlkit.aot()
    blocks = written["junction"]
    if not isinstance(blocks, AoT):
        raise InputError("its junctions are not written as [[junction]] blocks", right="change it as text")
    junctions = expected.setdefault("junction", [])
    _put_rows(blocks, junctions, old, typed)
    found = with_remarks(text, tomlkit.dumps(written))
    if _data(found) != expected:
        raise InputError("the file is written in a way that this form cannot change", right="change it as text")
    return found


def _put_rows(blocks: Any, junctions: list[dict[str, Any]], old: Sequence[Row], typed: Sequence[Row]) -> None:
    """Change, take out and add blocks of the document and of its values alike."""
    kept = [(one.was, one) for one in typed if one.was is not None and one.was < len(old)]
    for was, row in kept:
        for key in KEYS:
            if row.words.get(key, "") != old[was].words[key]:
                value = value_of(key, row.words.get(key, ""))
                _put(blocks[was], key, value)
                _change(junctions[was], key, value)
    for was in sorted((was for was, row in kept if row.gone), reverse=True):
        del blocks[was]
        del junctions[was]
    for row in typed:
        if row.was is None and not row.gone and not row.empty:
            block = {key: value_of(key, row.words[key]) for key in (*ORDER, "number", "source") if row.words.get(key)}
            _append(blocks, block)
            junctions.append(block)


def _change(table: dict[str, Any], key: str, value: Any) -> None:
    if value is None:
        table.pop(key, None)
    else:
        table[key] = value


def _put(block: Any, key: str, value: Any) -> None:
    """Set a key or take it out; a table of its own keeps its lines."""
    from tomlkit.items import Table

    old = block.get(key)
    if not isinstance(old, Table) or not isinstance(value, dict):
        put(block, key, _inline(value))
        return
    for name in [*old]:
        if name not in value:
            del old[name]
    for name, one in value.items():
        if old.get(name) != one:
            old[name] = one


def _inline(value: Any) -> Any:
    import tomlkit

    if not isinstance(value, dict):
        return value
    found = tomlkit.inline_table()
    found.update(value)
    return found


def _append(blocks: Any, block: Mapping[str, Any]) -> None:
    """A block more, after an empty line; remarks that stood after the last one stay at the end."""
    import tomlkit

    table = tomlkit.table()
    for key, value in block.items():
        table.add(key, _inline(value))
    table.trivia.indent = "\n"
    if blocks:
        body = blocks[-1].value.body
        last = max((k for k, (key, _) in enumerate(body) if key is not None), default=-1)
        table.value.body.extend(body[last + 1 :])
        del body[last + 1 :]
    blocks.append(table)


def value_of(key: str, words: str) -> Any:
    """What was typed in a field as a value of the file; None takes the key out.

    Args:
        key: of a [[junction]].
        words: that were typed.

    Raises:
        InputError: it is too long, a table's words are none, or a bare length is no building's.
    """
    if not words:
        return None
    if len(words) > LONGEST:
        raise InputError("what was typed is too long", key=key, right=f"at most {LONGEST} letters")
    if key in TABLES:
        try:
            return dict(tomllib.loads(f"x = {{ {words} }}")["x"])
        except (ValueError, RecursionError, TypeError, AttributeError):
            right = "write such as jamb = 12.4, head = 4.4" if key == "lengths" else "write such as name = 60"
            raise InputError(f"{words[:40]!r} cannot be read", key=key, right=right) from None
    if key not in NUMBERS:
        return words
    value = typed_value(words)
    if key == "length" and not isinstance(value, str):
        refuse_millimetres(value, key, f'"{value:g} m" if it is that long')
    return value


def with_messages(typed: Sequence[Row], wrong: Sequence[Mapping[str, Any]]) -> tuple[tuple[Row, ...], list[str]]:
    """The rows with what is wrong at its field, and what belongs to none.

    Args:
        typed: all rows of the form.
        wrong: see `buildings.building_wrong`, of the text with these rows.
    """
    written = [k for k, one in enumerate(typed) if one.was is not None and not one.gone]
    written += [k for k, one in enumerate(typed) if one.was is None and not one.gone and not one.empty]
    messages: dict[int, dict[str, str]] = {}
    others = []
    for one in wrong:
        found = re.match(r'\[\[junction\]\] (\d+)(?: "(?:[^"\\]|\\.)*")?(?:, (\w+))?', one["key"])
        if not found or int(found[1]) > len(written):
            told = "; ".join(words for words in (one["message"], one["right"]) if words)
            where = ", ".join(words for words in (one["file"], one["key"]) if words)
            others.append(f"{where}: {told}" if where else told)
            continue
        key = found[2] or ""
        missing = re.search(r"the key (\w+) is missing", one["message"])
        key = missing[1] if missing else key
        key = "length" if not key and "amount" in one["message"] else key
        of_row = messages.setdefault(written[int(found[1]) - 1], {})
        of_row.setdefault(key if key in KEYS else "", in_a_form(one["message"], one["right"]))
    return tuple(
        Row(one.was, one.words, one.gone, {**messages.get(k, {}), **one.messages}) for k, one in enumerate(typed)
    ), others


def in_a_form(message: str, right: str) -> str:
    """A message in a form's words.

    Args:
        message: what is wrong.
        right: what would be right; empty where that is clear.
    """
    text = f"{message}; {right}" if right else message
    for pattern, words in IN_A_FORM:
        text = re.sub(pattern, words, text)
    return text


SYSTEMS = tuple((key, words) for words, key in DIMENSIONS.items() if key)
"""Dimension systems of a building: as the file has them, and in words."""
