"""One family of exceptions, each message written for the person at the desk.

They may arise at any step of the flow; the doors (command line, page) turn them into one message and exit status 2.
A message says where, what is wrong and what would be right.
"""

from __future__ import annotations

from collections.abc import Iterable

Item = tuple[str] | tuple[str, int]
"""The part of a section at fault: ("region", 2), ("surface", 0), ("flanking", 0), ("probe", 1) or ("section",)."""


class Bridge2dError(Exception):
    """Whatever the person at the desk can put right; str() is the message."""


class InputError(Bridge2dError):
    """A detail file or a call that is wrong.

    Attributes:
        message: what is wrong.
        file: path of the file, or empty.
        line: line of the file, counted from 1; None where there is none.
        key: the key at fault as the file writes it, or empty.
        right: what would be right, or empty.
    """

    def __init__(
        self, message: str, *, file: str = "", line: int | None = None, key: str = "", right: str = ""
    ) -> None:
        """Keep the parts, see the attributes."""
        super().__init__(message)
        self.message = message
        self.file = file
        self.line = line
        self.key = key
        self.right = right

    def in_file(self, name: str) -> InputError:
        """The same message with another name of the file, as who reads it knows it."""
        return InputError(self.message, file=name, line=self.line, key=self.key, right=self.right)

    def __str__(self) -> str:
        """One message: FILE, line N, KEY: what is wrong; what would be right."""
        where = [self.file] if self.file else []
        if self.line is not None:
            where.append(f"line {self.line}")
        if self.key:
            where.append(self.key)
        text = f"{self.message}; {self.right}" if self.right else self.message
        return f"{', '.join(where)}: {text}" if where else text


class QuantityError(ValueError):
    """A typed quantity that cannot be read; `message` says what is wrong, `right` what would be right.

    It is a ValueError so that the validation of a detail file picks it up and adds file, line and key.
    """

    def __init__(self, message: str, right: str = "", path: tuple[str | int, ...] = ()) -> None:
        """Keep the parts; `path` leads from the value that was checked to the part of it that is wrong."""
        super().__init__(f"{message}; {right}" if right else message)
        self.message = message
        self.right = right
        self.path = path


class SectionError(Bridge2dError):
    """Geometry that cannot be computed.

    Attributes:
        message: what is wrong, without naming the item ("stands apart from the rest of the section").
        item: the part of the section at fault, see `Item`; indices count from 0.
        section: name of the section, where the raiser knows it.
    """

    def __init__(self, message: str, item: Item = ("section",), section: str = "") -> None:
        """Keep the parts, see the attributes."""
        super().__init__(message)
        self.message = message
        self.item = item
        self.section = section


class MissingLibraryError(Bridge2dError):
    """A system library that the mesher needs is not on this machine."""


def nearest(word: str, known: Iterable[str]) -> str:
    """The known word most like the one typed, or empty where none is like it.

    Args:
        word: what was typed.
        known: the words that would be right.
    """
    from difflib import get_close_matches

    plain = {k.casefold(): k for k in known}
    found = get_close_matches(word.casefold()[:60], list(plain), n=1, cutoff=0.6)
    return plain[found[0]] if found else ""
