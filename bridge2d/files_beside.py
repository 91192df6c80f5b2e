"""Files that a detail file names: read from its own folder or from bytes at hand, and from nowhere else.

Part of reading a detail file; drawings, tables of a climate and sets of requirements come this way.
"""

from __future__ import annotations

import stat
from collections.abc import Mapping
from pathlib import Path
from typing import NamedTuple

from bridge2d.detail_text import Source
from bridge2d.errors import InputError
from bridge2d.toml_lines import Path as KeyPath


class Kind(NamedTuple):
    """A kind of file.

    Attributes:
        name: what messages call one ("drawing").
        example: a name that would be right.
        largest: a file of more bytes is refused.
    """

    name: str
    example: str
    largest: int


def bytes_beside(
    name: str, kind: Kind, key: KeyPath, source: Source, attached: Mapping[str, bytes] | None
) -> tuple[str, bytes]:
    """Path for messages, and bytes, of a file that the detail file names.

    Args:
        name: as the detail file writes it.
        kind: what it should be.
        key: way to the key that names it.
        source: the detail file.
        attached: files at hand by name, and then no other is opened; None reads from the detail file's folder.

    Raises:
        InputError: it is not at hand, lies outside the folder, is missing, too large or cannot be read.
    """
    if attached is not None:
        if name not in attached:
            raise source.error(key, f"the {kind.name} {name!r} is not at hand", "send it along with the detail file")
        _refuse_large(len(attached[name]), kind, key, source)
        return name, attached[name]
    right = f'give a {kind.name} in the folder of the detail file, such as "{kind.example}"'
    folder = Path(source.file).parent
    try:
        real, home = (folder / name).resolve(), folder.resolve()
        if Path(name).is_absolute() or not real.is_relative_to(home):
            raise source.error(key, f"the {kind.name} {name[:60]!r} lies outside the detail file's folder", right)
        found = real.stat()
        if not stat.S_ISREG(found.st_mode):
            raise source.error(key, f"{name[:60]!r} is not an ordinary file", right)
        _refuse_large(found.st_size, kind, key, source)
        return str(folder / name), real.read_bytes()
    except FileNotFoundError:
        raise source.error(key, f"there is no {kind.name} {name[:60]!r}", right) from None
    except (OSError, ValueError, RuntimeError) as error:
        reason = getattr(error, "strerror", None) or "its name is none that a file can have"
        raise source.error(key, f"the {kind.name} cannot be read: {reason}", right) from None


def text_of(data: bytes, path: str) -> str:
    """The text of a file.

    Args:
        data: its bytes.
        path: of the file, for messages.

    Raises:
        InputError: it is no UTF-8 text.
    """
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        message = f"the byte 0x{data[error.start]:02x} is not UTF-8"
        raise InputError(message, file=path, line=line, right="save the file as UTF-8 text") from None


def _refuse_large(size: int, kind: Kind, key: KeyPath, source: Source) -> None:
    if size > kind.largest:
        most = f"a {kind.name} may have {kind.largest / 1e6:g} MB"
        raise source.error(key, f"the {kind.name} has {size / 1e6:.1f} MB", most)
