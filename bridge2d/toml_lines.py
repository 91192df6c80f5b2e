"""Where a key stands in a TOML text: a short walk over text that has already been read without error.

Used by the reading of detail files, only when a message needs a line.
"""

from __future__ import annotations

import re
from bisect import bisect_right

Path = tuple[str | int, ...]
"""Way from the top of the file to a value: ("region", 2, "polygon", 0)."""

_BARE = re.compile(r"[A-Za-z0-9_-]+")
_SKIP = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_SCALAR = re.compile(r"[^,\]}\n#]*")
_STRINGS = (
    re.compile(r'"""(?:\\.|[^\\])*?"{3,5}', re.DOTALL),
    re.compile(r"'''.*?'{3,5}", re.DOTALL),
    re.compile(r'"(?:\\.|[^"\\\n])*"'),
    re.compile(r"'[^'\n]*'"),
)


def key_lines(text: str) -> dict[Path, int]:
    """The line of every table, key and array element, counted from 1.

    Args:
        text: TOML that tomllib reads without error.
    """
    return _Walk(text).lines


def line_of(lines: dict[Path, int], path: Path) -> int | None:
    """The line of a path, or of the nearest part of the file that holds it; None at the top of the file.

    Args:
        lines: what `key_lines` found.
        path: the path.
    """
    for length in range(len(path), 0, -1):
        if path[:length] in lines:
            return lines[path[:length]]
    return None


class _Walk:
    """One walk over the text; `lines` is its result."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.ends = [found.start() for found in re.finditer("\n", text)]
        self.lines: dict[Path, int] = {}
        self.counts: dict[Path, int] = {}
        table: Path = ()
        self._skip()
        while self.at < len(text):
            table = self._header() if text[self.at] == "[" else self._pair(table)
            self._skip()

    def _skip(self) -> None:
        found = _SKIP.match(self.text, self.at)
        self.at = found.end() if found else self.at

    def _mark(self, path: Path) -> None:
        self.lines.setdefault(path, bisect_right(self.ends, self.at - 1) + 1)

    def _header(self) -> Path:
        """[table] or [[block]]: the path that the following keys belong to."""
        start, double = self.at, self.text.startswith("[[", self.at)
        self.at += 2 if double else 1
        names = self._names()
        after, self.at = self.at + (2 if double else 1), start
        path: Path = ()
        for position, name in enumerate(names):
            path = (*path, name)
            self._mark(path)
            if double and position == len(names) - 1:
                self.counts[path] = self.counts.get(path, 0) + 1
            if path in self.counts:  # the last block of that name is meant
                path = (*path, self.counts[path] - 1)
                self._mark(path)
        self.at = after
        return path

    def _names(self) -> list[str]:
        """A dotted key, up to the sign that follows it."""
        names = []
        while True:
            self._skip()
            bare = _BARE.match(self.text, self.at)
            quoted = None if bare else self._string()
            if bare:
                self.at = bare.end()
                names.append(bare.group())
            elif quoted is not None:
                names.append(_unquoted(quoted))
            self._skip()
            if not self.text.startswith(".", self.at):
                return names
            self.at += 1

    def _pair(self, table: Path) -> Path:
        """A key with its value; gives the table back, so that the walk goes on in it."""
        start = self.at
        names = self._names()
        after, self.at = self.at + 1, start
        path = table
        for name in names:
            path = (*path, name)
            self._mark(path)
        self.at = max(after, start + 1)
        self._value(path)
        return table

    def _value(self, path: Path) -> None:
        self._skip()
        self._mark(path)
        sign = self.text[self.at : self.at + 1]
        if sign == "[":
            self._items(path, "]")
        elif sign == "{":
            self._items(path, "}")
        elif self._string() is None:
            found = _SCALAR.match(self.text, self.at)
            self.at = found.end() if found else len(self.text)

    def _items(self, path: Path, closing: str) -> None:
        """The elements of an array, or the keys of an inline table."""
        self.at += 1
        number = 0
        self._skip()
        while self.at < len(self.text) and self.text[self.at] != closing:
            if closing == "]":
                self._value((*path, number))
            else:
                self._pair(path)
            number += 1
            self._skip()
            if self.text.startswith(",", self.at):
                self.at += 1
            self._skip()
        self.at += 1

    def _string(self) -> str | None:
        """The string that begins here, with its quotes."""
        for pattern in _STRINGS:
            found = pattern.match(self.text, self.at)
            if found:
                self.at = found.end()
                return found.group()
        return None


def _unquoted(text: str) -> str:
    """A quoted key without its quotes; escapes are read by tomllib itself."""
    import tomllib

    return str(next(iter(tomllib.loads(f"{text} = 0"))))
