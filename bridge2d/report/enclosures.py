"""What travels inside the PDF: the detail file and the files beside it, the catalogue's rows, results, pages' words.

results -> **enclosures** -> report; `recheck` reads them back. Each file has one role, told by the ending of its name
or by the name itself, so that whoever takes them out knows which is which. A table of the climate and a file of own
sets of limits keep the names by which the detail file finds them; their description tells their role.
"""

from __future__ import annotations

import hashlib
import json
import re
from typing import TYPE_CHECKING, Any, NamedTuple

from bridge2d.shown_units import IN_SI, DisplayUnits

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import PurePath

    from bridge2d.report import Loaded
    from bridge2d.results import DetailResult

MATERIALS, RESULTS, PAGES = "materials.csv", "results.json", "pages.json"
CASES = "cases.json"
"""The published cases that a validation encloses, beside their detail files."""
PAGE_DIGESTS = 2
"""How the pages' fingerprints are made, in `pages.json`; another way gets another number."""
DETAIL_ENDING, DRAWING_ENDING = ".toml", ".dxf"
CLIMATE, LIMITS = "the table of its climate", "its own sets of limits"
"""Descriptions of the files that no name tells apart."""
BESIDE = {CLIMATE: ("climate", "file"), LIMITS: ("requirement_sets",)}
"""Which key of the detail file names a file of that description."""
BESIDE_FORMS = {CLIMATE: (".csv", "text/csv"), LIMITS: (".toml", "application/toml")}
"""Ending and MIME type of such a file."""
LONGEST_STEM = 100
"""Longest name of an enclosed file without its ending."""
NAME = rf"[^\x00-\x1f\x7f/\\:*?\"<>|.][^\x00-\x1f\x7f/\\:*?\"<>|]{{0,{LONGEST_STEM + 9}}}"
"""What a name may be: it names a file and no folder, on any system."""


class Enclosure(NamedTuple):
    """A file that travels inside the PDF.

    Attributes:
        name: of the file.
        what: it is, in a few words.
        kind: its MIME type.
        relation: what it is to the pages, "Source" or "Data" (ISO 19005-3, AFRelationship; remembered).
        data: its bytes.
    """

    name: str
    what: str
    kind: str
    relation: str
    data: bytes

    @property
    def digest(self) -> str:
        """SHA-256 of its bytes, hexadecimal."""
        return hashlib.sha256(self.data).hexdigest()


def enclosures(result: DetailResult, loaded: Loaded, shown: DisplayUnits = IN_SI) -> tuple[Enclosure, ...]:
    """The files that a report encloses, the same for the same input; `pages_file` comes later.

    Args:
        result: all numbers of the detail.
        loaded: the detail file that they come from.
        shown: units of the pages; the enclosed results are SI and say in which units the pages are.
    """
    from bridge2d.materials import rows_text
    from bridge2d.tables import as_json

    numbers = {key: value for key, value in as_json(result).items() if key != "seconds"}  # no two runs take as long
    numbers["shown_units"] = shown.system
    found = [
        Enclosure(
            file_name(loaded.path, DETAIL_ENDING),
            "the detail file",
            "application/toml",
            "Source",
            loaded.text.encode("utf-8"),
        )
    ]
    if loaded.drawn is not None:
        name = file_name(_plain_path(loaded.drawn.name), DRAWING_ENDING)
        found.append(Enclosure(name, "the drawing that it names", "image/vnd.dxf", "Source", loaded.drawn.data))
    found += _beside(loaded, {one.name for one in found} | {MATERIALS, RESULTS, PAGES})
    rows = rows_text(loaded.materials).encode("utf-8")
    found.append(Enclosure(MATERIALS, "the catalogue's rows that it draws on", "text/csv", "Source", rows))
    found.append(Enclosure(RESULTS, "all numbers of this report", "application/json", "Data", json_bytes(numbers)))
    return tuple(found)


def _beside(loaded: Loaded, taken: set[str]) -> list[Enclosure]:
    """The table of the climate and the file of own sets, under names that no other enclosed file has."""
    found = []
    for what, keys in BESIDE.items():
        named = named_file(loaded.data, keys)
        if named is None or named not in loaded.files:
            continue
        ending, kind = BESIDE_FORMS[what]
        name = file_name(_plain_path(named), ending)
        if name in taken:
            name = file_name(_plain_path(f"{keys[0]} {name}"), ending)
        taken.add(name)
        found.append(Enclosure(name, what, kind, "Source", loaded.files[named]))
    return found


def named_file(data: Mapping[str, Any], keys: Sequence[str]) -> str | None:
    """The name of a file that a detail file gives; None where it gives none.

    Args:
        data: the detail file's data, which may be anything.
        keys: way to the key that names it.
    """
    found: Any = data
    for key in keys:
        found = found.get(key) if isinstance(found, dict) else None
    return found if isinstance(found, str) else None


def pages_file(
    words: Sequence[str], digests: Sequence[str], enclosed: Sequence[Enclosure], parts: Sequence[int] = ()
) -> Enclosure:
    """The words of every page and the fingerprint of what is seen on it, so that an altered page is found.

    Args:
        words: of each page.
        digests: of each page, see `page_prints`.
        enclosed: all other files, so that an altered one can be named.
        parts: of a bound volume: how many pages the schedule and the report of each detail have.
    """
    pages = [{"words": text, "sha256": digest} for text, digest in zip(words, digests, strict=True)]
    files = {one.name: one.digest for one in enclosed}
    document = {"digests": PAGE_DIGESTS, "pages": pages, "files": files, **({"parts": list(parts)} if parts else {})}
    return Enclosure(PAGES, "the words of the pages", "application/json", "Data", json_bytes(document))


def numbered(number: int, count: int, name: str) -> str:
    """The name of a file in a bound volume, which tells the part of the volume that it belongs to.

    Args:
        number: 0 of the building, else that of the detail's report, counted from 1.
        count: of the reports.
        name: of the file by itself.
    """
    return f"{number:0{len(str(count))}d} {name}"


def parted(name: str) -> tuple[int, str] | None:
    """Number and name that `numbered` made one of; None where it is no such name.

    Args:
        name: of a file in a PDF.
    """
    found = re.fullmatch(r"([0-9]{1,4}) (.+)", name, re.DOTALL)
    return (int(found[1]), found[2]) if found else None


def list_digest(files: Mapping[str, bytes]) -> str:
    """SHA-256 of the list of files: of each, in the order of their names, its own SHA-256, two blanks and its name.

    Args:
        files: by name.
    """
    lines = [f"{hashlib.sha256(data).hexdigest()}  {name}\n" for name, data in sorted(files.items())]
    return hashlib.sha256("".join(lines).encode("utf-8")).hexdigest()


def file_name(path: PurePath, ending: str) -> str:
    """A name that any system takes for a file's, with the ending that tells its role.

    Args:
        path: the file's.
        ending: such as ".toml".
    """
    stem = re.sub(r"[\x00-\x1f\x7f/\\:*?\"<>|]", "_", path.stem).strip().lstrip(".")
    return f"{stem[:LONGEST_STEM] or 'detail'}{ending}"


def _plain_path(name: str) -> PurePath:
    from pathlib import PurePosixPath

    return PurePosixPath(name.replace("\\", "/"))


def json_bytes(document: object) -> bytes:
    """A document as JSON text; the same bytes for the same document.

    Args:
        document: of plain values.
    """
    return (json.dumps(document, allow_nan=False, ensure_ascii=False, indent=1) + "\n").encode("utf-8")
