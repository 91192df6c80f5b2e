"""Writes a file whole or not at all; below everything that writes."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path


def write_whole(data: bytes, path: Path) -> None:
    """Write a file whole or not at all: into a temporary file beside it, then in its place.

    Args:
        data: its bytes.
        path: where it belongs.

    Raises:
        OSError: the folder is missing or cannot be written.
    """
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name[:80]}.", suffix=".part")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
        mask = os.umask(0)
        os.umask(mask)
        Path(name).chmod(0o666 & ~mask)
        Path(name).replace(path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
