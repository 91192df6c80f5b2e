"""Keeps what a computed detail gave, so that only changed details are computed again.

A file holds the JSON of `solve`, the places of page numbers and bookmarks, and the report's PDF; another one a bound
volume. Files are written whole or not at all and carry a checksum; whatever is not as it was written is computed again.
Nothing in them is ever executed.
"""

from __future__ import annotations

import hashlib
import json
import os
import sys
import tomllib
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import asdict, dataclass
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

from bridge2d import __version__
from bridge2d.building.records import DetailNumbers, Variant, numbers_of
from bridge2d.report.enclosures import BESIDE, named_file
from bridge2d.units import SI, UnitSystem
from bridge2d.whole_file import write_whole

MARK = b"bridge2d kept 1\n"
"""First line of a file; another number is another format."""
MOST_FILES = 2000
"""The cache keeps the files used last, up to this many."""
MOST_VOLUMES = 20
SUFFIX, VOLUME = ".detail", ".volume"


@dataclass(frozen=True)
class Computed:
    """What a computed detail gave.

    Attributes:
        document: the JSON of `solve`, without the time it took.
        pages: how many pages the report has.
        marks: bookmarks: title, level, page counted from 0, height [mm].
        references: page numbers left out: page, right end x and y [mm], the page told.
        pdf: the report without page numbers.
    """

    document: Mapping[str, Any]
    pages: int
    marks: tuple[tuple[str, int, int, float], ...]
    references: tuple[tuple[int, float, float, int], ...]
    pdf: bytes

    @property
    def numbers(self) -> DetailNumbers:
        """What the schedule needs of it."""
        return numbers_of(self.document)


def cache_folder() -> Path:
    """Where this machine keeps what can be made again: $XDG_CACHE_HOME, or the platform's own place."""
    named = os.environ.get("XDG_CACHE_HOME", "")
    if named and Path(named).is_absolute():
        return Path(named) / "bridge2d"
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local") / "bridge2d" / "Cache"
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Caches" / "bridge2d"
    return Path.home() / ".cache" / "bridge2d"


class Look(NamedTuple):
    """How a volume is written: the system of units of everything, and the paper's name."""

    system: UnitSystem = SI
    paper: str = "A4"


PLAIN = Look()


def fingerprint(variant: Variant, tolerance: float, look: Look = PLAIN) -> str:
    """SHA-256 of all that a computed detail depends on: its input, the tolerance, its look and the program.

    Args:
        variant: the detail as the building uses it.
        tolerance: relative width of the bracket around L2D [-].
        look: of the report.
    """
    everything = {
        "program": program(),
        "tolerance": tolerance,
        "file": variant.path.name,
        "text": variant.text,
        "parameters": variant.parameters,
        "title": variant.title,
        "requirements": [asdict(one) for one in variant.requirements],
        "beside": _beside(variant),
        "look": look,
    }
    text = json.dumps(everything, sort_keys=True, ensure_ascii=True, default=str)
    return hashlib.sha256(text.encode("ascii")).hexdigest()


@cache
def program() -> str:
    """The version, and whether a file of the program was changed without a new one."""
    package = Path(__file__).parents[1]
    found = [__version__, sys.version]
    for file in sorted(package.rglob("*")):
        if file.suffix != ".pyc" and file.is_file():
            state = file.stat()
            found.append(f"{file.relative_to(package).as_posix()} {state.st_size} {state.st_mtime_ns}")
    return hashlib.sha256("\n".join(found).encode()).hexdigest()


NAMED = (("drawing", "file"), *BESIDE.values())
"""Ways to the keys of a detail file that name other files."""


def _beside(variant: Variant) -> list[str]:
    """Checksums of the other files that a detail is read from; one that is wrong is told when it is read."""
    found = []
    with suppress(tomllib.TOMLDecodeError, RecursionError):
        data = tomllib.loads(variant.text)
        for keys in NAMED:
            name = named_file(data, keys)
            if name is not None:
                with suppress(OSError, ValueError):
                    found.append(hashlib.sha256((variant.path.parent / name).read_bytes()).hexdigest())
    return found


def stored(folder: Path, key: str) -> Computed | None:
    """What the cache holds of a detail; None where it holds nothing, or not what was written.

    Args:
        folder: of the cache.
        key: from `fingerprint`.
    """
    body = _read(folder / f"{key}{SUFFIX}", key)
    return unpacked(body) if body is not None else None


def store(folder: Path, key: str, computed: Computed) -> None:
    """Write a detail into the cache, whole or not at all.

    Args:
        folder: of the cache; made where it is missing.
        key: from `fingerprint`.
        computed: what the detail gave.

    Raises:
        OSError: the folder cannot be made or written.
    """
    _write(folder / f"{key}{SUFFIX}", key, packed(computed))


def stored_volume(folder: Path, key: str) -> bytes | None:
    """A bound PDF that the cache holds; None where it holds none, or not what was written.

    Args:
        folder: of the cache.
        key: SHA-256 of all that the volume depends on.
    """
    return _read(folder / f"{key}{VOLUME}", key)


def store_volume(folder: Path, key: str, pdf: bytes) -> None:
    """Write a bound PDF into the cache, whole or not at all.

    Args:
        folder: of the cache; made where it is missing.
        key: SHA-256 of all that the volume depends on.
        pdf: its bytes.

    Raises:
        OSError: the folder cannot be made or written.
    """
    _write(folder / f"{key}{VOLUME}", key, pdf)


def _write(path: Path, key: str, body: bytes) -> None:
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    write_whole(MARK + _checksum(key, body) + body, path)


def _read(path: Path, key: str) -> bytes | None:
    """What stands behind the first line and the checksum, which has to be its own."""
    try:
        data = path.read_bytes()
    except OSError:
        return None
    start = len(MARK) + 65
    body = data[start:]
    if data[:start] != MARK + _checksum(key, body):
        return None
    with suppress(OSError):
        os.utime(path)  # used now, so it is kept
    return body


def _checksum(key: str, body: bytes) -> bytes:
    return hashlib.sha256(key.encode("ascii") + body).hexdigest().encode("ascii") + b"\n"


def tidied(folder: Path) -> None:
    """Let go of the files used longest ago, and of those that an interrupted run left unfinished.

    Args:
        folder: of the cache.
    """
    with suppress(OSError):
        for suffix, most in ((SUFFIX, MOST_FILES), (VOLUME, MOST_VOLUMES)):
            files = [(path.stat().st_mtime, path) for path in folder.glob(f"[0-9a-f]*{suffix}")]
            newest = max((time for time, _ in files), default=0.0)
            left = [path for path in folder.glob(f".*{suffix}.*.part") if path.stat().st_mtime < newest - 3600]
            for path in [*left, *(path for _, path in sorted(files)[:-most])]:
                path.unlink(missing_ok=True)


def packed(computed: Computed) -> bytes:
    """A detail as bytes: length of the JSON, JSON, PDF.

    Args:
        computed: what the detail gave.
    """
    head = {
        "document": computed.document,
        "pages": computed.pages,
        "marks": computed.marks,
        "references": computed.references,
    }
    text = json.dumps(head, ensure_ascii=True, allow_nan=False).encode("ascii")
    return len(text).to_bytes(8, "big") + text + computed.pdf


def unpacked(body: bytes) -> Computed | None:
    """The contrary of `packed`; None for whatever is not of its shape.

    Args:
        body: the bytes.
    """
    end = 8 + int.from_bytes(body[:8], "big")
    try:
        head = json.loads(body[8:end])
        found = Computed(
            head["document"],
            int(head["pages"]),
            tuple((str(t), int(level), int(page), float(top)) for t, level, page, top in head["marks"]),
            tuple((int(page), float(x), float(y), int(target)) for page, x, y, target in head["references"]),
            body[end:],
        )
        _ = found.numbers
    except (KeyError, TypeError, ValueError, RecursionError):
        return None
    return found if found.pages > 0 and found.pdf.startswith(b"%PDF") else None
