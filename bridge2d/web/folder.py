"""The served folder: what lies in it, and the only way from a name to a file.

A name is one of a file right in the folder. No name leads out of it, neither by its spelling nor through a link.
"""

from __future__ import annotations

import os
import re
import tomllib
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from hashlib import sha256
from pathlib import Path
from threading import Lock
from typing import Any

from bridge2d.detail_text import LARGEST_FILE, read_text
from bridge2d.errors import InputError
from bridge2d.targets import writing
from bridge2d.whole_file import write_whole

NAME = re.compile(r"[\w(][\w .()+,=-]{0,99}\.(toml|dxf|csv)", re.ASCII | re.IGNORECASE)
"""Names that the page reads and writes."""
RESERVED = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)\.", re.IGNORECASE)
MOST_FILES = 500
"""So many files are listed."""


class OutsideError(InputError):
    """A name that leads to no file of the folder."""


class MissingError(InputError):
    """A name of a file that is not there."""


@dataclass(frozen=True)
class Listed:
    """A file of the list.

    Attributes:
        name: of the file.
        title: that it gives itself, or its name.
        junction: of a detail; empty for a building.
        wrong: why it cannot be read; empty where it can.
        sets: whether it holds sets of limits.
    """

    name: str
    title: str
    junction: str = ""
    wrong: str = ""
    sets: bool = False

    @property
    def kind(self) -> str:
        """What it is: "detail", "building" or "sets"."""
        return "detail" if self.junction or self.wrong else ("sets" if self.sets else "building")


@dataclass(frozen=True)
class Folder:
    """A folder whose files are shown and saved.

    Attributes:
        path: of the folder.
    """

    path: Path
    _lock: Lock = field(default_factory=Lock, init=False, repr=False, compare=False)

    def file(self, name: str) -> Path:
        """The path of a file of the folder, which need not exist.

        Args:
            name: of the file, without any folder.

        Raises:
            OutsideError: the name is none of this folder, or a link leads out of it.
        """
        if not NAME.fullmatch(name) or RESERVED.match(name):
            raise OutsideError(
                f"{name[:60]!r} is no file of this folder", right="names have letters, digits, - _ and end in .toml"
            )
        home = self.path.resolve()
        found = self.path / name
        real = found.resolve()
        if real.parent != home and not real.is_relative_to(home):
            raise OutsideError(f"{name[:60]!r} leads out of the folder", right="put the file itself into the folder")
        return found

    def text(self, name: str) -> str:
        """The text of a detail or building file.

        Raises:
            MissingError: there is none of this name.
            InputError: it is none of this folder, or cannot be read.
        """
        return read_text(self.there(name))

    def there(self, name: str) -> Path:
        """The path of a file of the folder that exists.

        Args:
            name: of the file, without any folder.

        Raises:
            OutsideError: the name is none of this folder.
            MissingError: there is none of this name.
        """
        path = self.file(name)
        if not path.is_file():
            raise MissingError("there is no such file", file=name)
        return path

    def listed(self) -> tuple[Listed, ...]:
        """Every detail, building and file of limits by name; a file that is something else is left out."""
        found = []
        for name in self._of(".toml")[:MOST_FILES]:
            one = self._listed(name)
            if one is not None:
                found.append(one)
        return tuple(found)

    def others(self, *endings: str) -> tuple[str, ...]:
        """Names of the drawings and tables of the folder.

        Args:
            endings: with their points, such as ".csv".
        """
        return tuple(name for name in self._of(*endings) if NAME.fullmatch(name))[:MOST_FILES]

    def left_out(self) -> tuple[str, ...]:
        """Names of files that would be listed if their names had other letters."""
        return tuple(name for name in self._of(".toml", ".dxf", ".csv") if not NAME.fullmatch(name))[:MOST_FILES]

    def removed(self) -> tuple[str, ...]:
        """Names of files that are there no more, but their version before."""
        names = [name.removesuffix("~") for name in self._of(".toml~", ".dxf~", ".csv~")]
        return tuple(one for one in names if NAME.fullmatch(one) and not (self.path / one).exists())[:MOST_FILES]

    def _of(self, *endings: str) -> list[str]:
        """Names of the files with one of some endings, in either case, hidden ones left out."""
        found = [one.name for one in self.path.iterdir() if one.suffix.lower() in endings and one.is_file()]
        return sorted((name for name in found if not name.startswith(".")), key=str.casefold)

    def _listed(self, name: str) -> Listed | None:
        if not NAME.fullmatch(name):
            return None
        try:
            data = tomllib.loads(self.text(name))
        except InputError as error:
            return Listed(name, name, wrong=error.message)
        except (ValueError, RecursionError):
            return Listed(name, name, "?", "this is not TOML")
        title = data.get("title")
        shown = title if isinstance(title, str) and title else name
        junction = data.get("junction")
        if isinstance(junction, str):
            return Listed(name, shown[:200], junction[:60])
        if isinstance(junction, list):
            return Listed(name, shown[:200])
        return Listed(name, name, sets=True) if holds_sets(data) else None

    def save(self, name: str, text: str, seen: str) -> str:
        """Write a file in the place of the one that was seen, which is kept beside it.

        Each of the two is written whole or not at all, the kept one first, so that whenever this stops, the text that
        was there and the text that is there are both whole.

        Args:
            name: of the file.
            text: its new text.
            seen: fingerprint of the text that the new one was made from, see `fingerprint`.

        Returns:
            The name of the kept file.

        Raises:
            InputError: it is none of this folder, a link, has changed meanwhile, or cannot be written.
        """
        with self._alone():
            return self._saved(name, text, seen)

    def _saved(self, name: str, text: str, seen: str) -> str:
        path = self._own(name)
        old = self.text(name)
        if fingerprint(old) != seen:
            right = "open it again to see what it says now, or save under another name"
            raise InputError("the file was changed by somebody else meanwhile", file=name, right=right)
        kept = self._kept(path)
        self._write(kept, path.read_bytes())
        self._write(path, text.encode("utf-8"))
        return kept.name

    def add(self, name: str, data: bytes) -> None:
        """Write a file that is not there yet.

        Raises:
            InputError: it is there, the name is none of this folder, or it cannot be written.
        """
        self._own(name)
        with self._alone(), writing(name):
            self._added(name, data)

    def _added(self, name: str, data: bytes) -> None:
        path = self._own(name)
        try:
            path.open("xb").close()  # the name is taken in one step, whoever else wants it
        except FileExistsError:
            raise InputError("the file exists already", file=name, right="choose another name") from None
        try:
            self._write(path, data)
        except BaseException:
            path.unlink(missing_ok=True)
            raise

    def remove(self, name: str, seen: str) -> str:
        """Take a file out of the list: in one step it becomes the version that is kept beside it.

        Args:
            name: of the file.
            seen: fingerprint of its bytes as they were shown, see `fingerprint_of`.

        Returns:
            The name of the kept file.

        Raises:
            InputError: it is none of this folder, a link, has changed meanwhile, or cannot be moved.
        """
        with self._alone(), writing(name):
            path = self._seen(name, seen)
            kept = self._kept(path)
            path.replace(kept)
            return kept.name

    def rename(self, name: str, new: str, seen: str) -> str:
        """Give a file another name; the old name stays beside it as a kept version.

        Args:
            name: of the file.
            new: name, which no file has.
            seen: fingerprint of its bytes as they were shown, see `fingerprint_of`.

        Returns:
            The name of the kept file.

        Raises:
            InputError: one of the names is none of this folder, the new one is taken, or the file has changed.
        """
        if Path(new).suffix.lower() != Path(name).suffix.lower():
            raise InputError("the new name has another ending", file=new, right=f"let it end in {Path(name).suffix}")
        with self._alone(), writing(name):
            path = self._seen(name, seen)
            kept = self._kept(path)
            self._added(new, path.read_bytes())
            path.replace(kept)
            return kept.name

    def restore(self, name: str) -> None:
        """Bring a removed file back from the version that is kept beside it.

        Args:
            name: of the file.

        Raises:
            InputError: no version is kept, or there is a file of this name.
        """
        with self._alone(), writing(name):
            self._added(name, self._kept_of(name).read_bytes())

    def before(self, name: str) -> str:
        """The text of the version that is kept of a file.

        Args:
            name: of the file.

        Raises:
            MissingError: no version is kept.
            InputError: the file is none of this folder, or the kept version is a link or cannot be read.
        """
        return read_text(self._kept_of(name))

    def _kept_of(self, name: str) -> Path:
        """The path of the version that is kept of a file."""
        kept = self._kept(self._own(name))
        if not kept.is_file():
            raise MissingError("no version of this file is kept", file=name)
        return kept

    def _seen(self, name: str, seen: str) -> Path:
        """The path of a file that is still as it was shown."""
        path = self._own(name)
        if fingerprint_of(self.there(name).read_bytes()) != seen:
            raise InputError("the file was changed by somebody else meanwhile", file=name, right="look at it again")
        return path

    @staticmethod
    def _kept(path: Path) -> Path:
        kept = path.with_name(f"{path.name}~")
        if kept.is_symlink():
            raise InputError("the kept version is a link", file=kept.name, right="take the link away")
        return kept

    @contextmanager
    def _alone(self) -> Iterator[None]:
        """Nobody else writes into the folder through a page, neither another thread nor another server's process."""
        with self._lock, _locked(self.path):
            yield

    def _own(self, name: str) -> Path:
        path = self.file(name)
        if path.is_symlink():
            raise OutsideError(f"{name!r} is a link, and links are not written", right="choose another name")
        return path

    def _write(self, path: Path, data: bytes) -> None:
        if path.suffix == ".toml" and len(data) > LARGEST_FILE:
            raise InputError("the text is too long", file=path.name, right=f"at most {LARGEST_FILE / 1e6:g} MB")
        with writing(path.name):
            write_whole(data, path)


@contextmanager
def _locked(folder: Path) -> Iterator[None]:
    """The folder itself is locked between processes, so that no file of a lock is left behind; not on every system."""
    try:
        from fcntl import LOCK_EX, flock

        handle = os.open(folder, os.O_RDONLY)
    except (ImportError, OSError):
        yield
        return
    try:
        with suppress(OSError):  # such as on a share that has no locks
            flock(handle, LOCK_EX)
        yield
    finally:
        os.close(handle)


def toml_name(typed: str) -> str:
    """A name that was typed for a new detail or building, with its ending; empty where nothing was typed.

    Args:
        typed: in a field.
    """
    name = typed.strip()
    return name if not name or name.lower().endswith(".toml") else f"{name}.toml"


def fingerprint(text: str) -> str:
    """SHA-256 of a text."""
    return sha256(text.encode("utf-8", "surrogatepass")).hexdigest()


def fingerprint_of(data: bytes) -> str:
    """SHA-256 of a file's bytes."""
    return sha256(data).hexdigest()


def holds_sets(data: Mapping[str, Any]) -> bool:
    """Whether a file holds sets of limits: nothing but tables, and limits in one of them.

    Args:
        data: of the file.
    """
    tables = [one for one in data.values() if isinstance(one, dict)]
    return len(tables) == len(data) > 0 and any("requirement" in one for one in tables)
