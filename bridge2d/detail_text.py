"""The text of a detail file, and the way from a key back to its line; the first half of `detail_file`."""

from __future__ import annotations

import json
import re
import stat
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from bridge2d.errors import InputError
from bridge2d.shown_units import IN_SI, DisplayUnits
from bridge2d.toml_lines import Path as KeyPath
from bridge2d.toml_lines import key_lines, line_of

LISTS = ("requirements",)
"""Keys at the top that hold plain values in a list, not blocks."""
LARGEST_FILE = 2_000_000
"""A detail file of more bytes is refused."""


class Source:
    """A file's text with the way from a key to a message; the walk over the text waits until a line is needed."""

    def __init__(self, text: str, path: Path) -> None:
        self.text = text
        self.file = str(path)
        self._lines: dict[KeyPath, int] | None = None
        self.data: Mapping[str, Any] = {}
        self.units: DisplayUnits = IN_SI
        """System of the file's bare numbers, in which messages speak too."""

    def line(self, path: KeyPath) -> int | None:
        """Line of a key path; None where the file's top is meant."""
        if self._lines is None:
            try:
                self._lines = key_lines(self.text)
            except RecursionError:  # brackets nested almost too deeply; the message goes without its line
                self._lines = {}
        return line_of(self._lines, path)

    def error(self, path: KeyPath, message: str, right: str = "") -> InputError:
        """The message for what is wrong at a key path."""
        return InputError(message, file=self.file, line=self.line(path), key=self.key(path), right=right)

    def built_error(self, path: KeyPath, message: str, right: str = "") -> InputError:
        """The same for a message whose numbers are SI, because nobody who raised it knows the file's units."""
        return self.error(path, self.units.sentence(message), self.units.sentence(right))

    def key(self, path: KeyPath) -> str:
        """A key path as a person reads it: `[[region]] 3 "concrete", polygon, point 4`."""
        words: list[str] = []
        rest = list(path)
        if rest[:1] == ["parameters"] and len(rest) >= 3 and isinstance(rest[2], int):
            words.append(
                f"[[{rest[0]}.{rest[1]}]] {rest[2] + 1}{self._block_name(str(rest[1]), rest[2], 'parameters')}"
            )
            rest = rest[3:]
        if len(rest) >= 2 and isinstance(rest[1], int) and rest[0] not in LISTS:
            block, number = str(rest[0]), rest[1]
            words.append(f"[[{block}]] {number + 1}{self._block_name(block, number)}")
            rest = rest[2:]
        keys = [str(k) for k in rest if isinstance(k, str)]
        if keys:
            words.append(".".join(k if re.fullmatch(r"[\w-]{1,40}", k) else repr(k[:40]) for k in keys))
        numbers = [k for k in rest if isinstance(k, int)]
        if numbers and keys[-1:] == ["holes"]:
            words.append(f"hole {numbers.pop(0) + 1}")
        if numbers:
            what = "value" if keys[:1] == ["climate"] or keys[:1] == list(LISTS) else "point"
            words.append(f"{'number' if keys[-1:] == ['conductivity'] else what} {numbers[0] + 1}")
        return ", ".join(words)

    def _block_name(self, block: str, number: int, table_of: str = "") -> str:
        holder = self.data.get(table_of) if table_of else self.data
        tables = holder.get(block) if isinstance(holder, Mapping) else None
        table = tables[number] if isinstance(tables, list) and number < len(tables) else None
        name = table.get("name") if isinstance(table, dict) else None
        return f" {json.dumps(name[:40], ensure_ascii=False)}" if isinstance(name, str) and name else ""


def read_text(path: Path) -> str:
    """The text of a file.

    Args:
        path: the file.

    Raises:
        InputError: there is no such file, it cannot be read, is too large, or is no UTF-8 text.
    """
    raw = _read_bytes(path)
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise InputError("the text is encoded as UTF-16", file=str(path), line=1, right="save it as UTF-8")
    if b"\0" in raw:
        line = raw[: raw.index(b"\0")].count(b"\n") + 1
        raise InputError(
            "this is a binary file", file=str(path), line=line, right="give a detail file, which is TOML text"
        )
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        message = f"the byte 0x{raw[error.start]:02x} is not UTF-8"
        raise InputError(message, file=str(path), line=line, right="save the file as UTF-8") from None
    if not text.strip():
        right = "`bridge2d new free_section FILE` writes one to begin with"
        raise InputError("the file is empty", file=str(path), right=right)
    return text


def _read_bytes(path: Path) -> bytes:
    try:
        found = path.stat()
        if stat.S_ISDIR(found.st_mode):
            raise InputError("this is a folder", file=str(path), right="name the detail file within it")
        if not stat.S_ISREG(found.st_mode):
            raise InputError("this is not an ordinary file", file=str(path), right="name a detail file")
        if found.st_size > LARGEST_FILE:
            size = f"the file has {found.st_size / 1e6:.1f} MB"
            raise InputError(size, file=str(path), right=f"a detail file may have {LARGEST_FILE / 1e6:.0f} MB")
        return path.read_bytes()
    except FileNotFoundError:
        raise InputError("there is no such file", file=str(path), right="check the name and the folder") from None
    except PermissionError:
        raise InputError(
            "the file may not be read", file=str(path), right="give yourself the right to read it"
        ) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "its name is none that a file can have"
        raise InputError(f"the file cannot be read: {reason}", file=str(path)[:200]) from None


def parse(source: Source) -> dict[str, Any]:
    """The data of the text."""
    right = "write one key = value per line, with text between double quotes"
    try:
        data = tomllib.loads(source.text)
    except tomllib.TOMLDecodeError as error:
        raise _syntax_error(str(error), source, right) from None
    except RecursionError:
        raise InputError("brackets are nested too deeply", file=source.file, right=right) from None
    except ValueError as error:  # a whole number of thousands of digits
        raise InputError(f"a value cannot be read: {str(error)[:80]}", file=source.file, right=right) from None
    source.data = data
    return data


def _syntax_error(said: str, source: Source, right: str) -> InputError:
    """The TOML reader's message with its line apart."""
    found = re.search(r" \(at (?:line (\d+), column (\d+)|end of document)\)$", said)
    if not found:
        return InputError(f"this is not TOML: {said[:200]}", file=source.file, right=right)
    what = said[: found.start()][:200]
    line = int(found[1]) if found[1] else source.text.rstrip().count("\n") + 1
    place = f" at column {found[2]}" if found[2] else " at the end of the file"
    if "verwrite" in what:
        right = "give each key once; several blocks of a kind have double brackets, such as [[region]]"
    return InputError(
        f"this is not TOML: {what[:1].lower()}{what[1:]}{place}", file=source.file, line=line, right=right
    )
