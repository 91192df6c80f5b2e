"""Files that a command is asked to write: refused before anything is computed, written whole or not at all."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from bridge2d.errors import InputError


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
    kinds = " or ".join(ending[1:].upper() for ending in endings)
    return writable(Path(name), key, endings, f"the file is a {kinds}")


def writable(path: Path, key: str, endings: Sequence[str], wrong: str) -> Path:
    """The path of a file that is to be written, as it is.

    Args:
        path: of the file.
        key: of the call, such as "-o".
        endings: what its name may end in, such as ".pdf".
        wrong: what is said of another ending.

    Raises:
        InputError: it cannot be written, or its name has another ending.
    """
    if path.suffix.lower() not in endings:
        said = " or ".join(part for part in (", ".join(endings[:-1]), endings[-1]) if part)
        raise InputError(wrong, file=str(path), key=key, right=f"give a name that ends in {said}")
    if path.is_dir():
        raise InputError("this is a folder", file=str(path), key=key, right="give the name of a file in it")
    if not path.parent.is_dir():
        raise InputError("its folder does not exist", file=str(path), key=key, right="make the folder first")
    return path


def refuse_overwriting(path: Path, key: str, read: Iterable[Path], what: str) -> None:
    """Refuse to write over a file that the call reads.

    Args:
        path: of the file that is to be written.
        key: of the call.
        read: files that the call reads.
        what: they are, such as "the detail file".

    Raises:
        InputError: it is one of them.
    """
    if path.exists() and any(one.exists() and path.samefile(one) for one in read):
        raise InputError(f"it would overwrite {what}", file=str(path), key=key, right="name another file")


@contextmanager
def writing(file: Path | str) -> Iterator[None]:
    """What goes wrong while a file is written, as a message.

    Args:
        file: its name.

    Raises:
        InputError: it cannot be written.
    """
    try:
        yield
    except OSError as error:
        raise InputError(f"the file cannot be written: {error.strerror or error}", file=str(file)) from None


def write(data: bytes, path: Path) -> None:
    """Write a file whole or not at all.

    Args:
        data: its bytes.
        path: where it belongs.

    Raises:
        InputError: it cannot be written.
    """
    from bridge2d.whole_file import write_whole

    with writing(path):
        write_whole(data, path)
