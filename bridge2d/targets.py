"""Files that a command is asked to write: refused before anything is computed, written whole or not at all."""

from __future__ import annotations

from pathlib import Path

from bridge2d.errors import InputError
from bridge2d.whole_file import write_whole


def target(name: str | None, key: str, *endings: str) -> Path | None:
    """The path of a file that is to be written.

    Args:
        name: as the call gives it; None or empty where nothing is to be written.
        key: of the call, such as "-o".
        endings: what its name may end in, such as ".pdf".

    Raises:
        InputError: it cannot be written, or its name has another ending.
    """
    if not name:
        return None
    path = Path(name)
    if path.suffix.lower() not in endings:
        kinds = " or ".join(ending[1:].upper() for ending in endings)
        right = f"give a name that ends in {' or '.join(endings)}"
        raise InputError(f"the file is a {kinds}", file=name, key=key, right=right)
    if path.is_dir():
        raise InputError("this is a folder", file=name, key=key, right="give the name of a file in it")
    if not path.parent.is_dir():
        raise InputError("its folder does not exist", file=name, key=key, right="make the folder first")
    return path


def write(data: bytes, path: Path) -> None:
    """Write a file whole or not at all.

    Args:
        data: its bytes.
        path: where it belongs.

    Raises:
        InputError: it cannot be written.
    """
    try:
        write_whole(data, path)
    except OSError as error:
        raise InputError(f"the file cannot be written: {error.strerror or error}", file=str(path)) from None
