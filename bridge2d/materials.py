"""Materials: one frozen record each, and the catalogue as data with a source per row.

The catalogue stands at the beginning of the flow: a detail file or a junction names a material, the numerics take its
conductivity, drawing and tables take the rest. Its rows lie in data/materials.csv, materials by kind and never by
brand. A row's source names the publication that the conductivity comes from, then the copy where one was read in its
stead, and whether it was read or is remembered. Its aliases are what the trade also says, kinds of wood and
abbreviations (common practice); the search and the answer to an unknown name know them, a detail file does not. The
spread from low to high takes in what the sources say and common practice. Density and vapour resistance factor are
the usual ones (ISO 10456:2007, Table 3, and DIN 4108-4; remembered where the row's source does not give them).
"""

from __future__ import annotations

import math
import os
import re
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, fields
from functools import cache
from types import MappingProxyType

GROUPS = (
    "masonry",
    "stone",
    "mortar",
    "plaster",
    "concrete",
    "screed",
    "timber",
    "wood-based panel",
    "board",
    "insulation",
    "metal",
    "plastic",
    "seal",
    "glass",
    "membrane",
    "covering",
    "ground",
    "fluid",
    "other",
)
"""The trade's kinds, in the catalogue's order; "other" is a material that the detail file brings along."""

HATCHES = (
    "brick",
    "stone",
    "concrete",
    "concrete_light",
    "mortar",
    "plaster",
    "timber",
    "board",
    "gypsum_board",
    "insulation_soft",
    "insulation_rigid",
    "metal",
    "plastic",
    "seal",
    "glass",
    "membrane",
    "earth",
    "gravel",
    "water",
    "air",
    "plain",
)
"""Kinds of hatch, after the drafting custom (ISO 128-50); "timber" is drawn along or across the grain."""

_LONGEST_NAME = 60  # of a typed name in a message
_SHORT = 3  # letters: a word this short is part of many others, as "fir" of "fire" and "firm"


@dataclass(frozen=True, slots=True)
class Material:
    """A material as the calculation and the documents need it.

    Attributes:
        name: the catalogue's name, or the region's own where the detail file gives a bare value.
        conductivity: design conductivity, across the grain where it has one [W/(m·K)].
        conductivity_along: along the grain [W/(m·K)]; None where the material is isotropic.
        group: the trade's kind ("masonry", "timber", "insulation", …), see GROUPS.
        hatch: drafting hatch (see HATCHES).
        low, high: range of the trade's values where they spread [W/(m·K)]; None where not known.
        density: dry density [kg/m³]; None where not known.
        vapour_factor: water vapour resistance factor μ [-], the lower one where the trade gives a dry and a wet one;
            None where not known, where the sheet's own counts, or where no vapour passes (metal, glass).
        source: where the conductivity comes from.
        read: True where that source was read for this catalogue, False where the value is remembered.
    """

    name: str
    conductivity: float
    conductivity_along: float | None = None
    group: str = "other"
    hatch: str = "plain"
    low: float | None = None
    high: float | None = None
    density: float | None = None
    vapour_factor: float | None = None
    source: str = ""
    read: bool = False


class UnknownMaterialError(KeyError):
    """A name that the catalogue does not have.

    Attributes:
        name: what was asked for.
        nearest: up to three names of the catalogue most like it, the most alike first.
    """

    def __init__(self, name: str, nearest: tuple[str, ...] = ()) -> None:
        """Keep the parts, see the attributes."""
        super().__init__(name)
        self.name = name
        self.nearest = nearest

    def __str__(self) -> str:
        """One sentence for the person at the desk; a KeyError would show the bare key."""
        likely = " or ".join(repr(name) for name in self.nearest)
        right = f"did you mean {likely}?" if likely else "`bridge2d materials` lists all it has."
        return f"The catalogue has no material {self.name[:_LONGEST_NAME]!r}; {right}"


_IN_STEAD: ContextVar[Mapping[str, Material] | None] = ContextVar("rows in the catalogue's stead", default=None)


def catalogue() -> Mapping[str, Material]:
    """The catalogue's materials by name, in the file's order and so by group; read at the first call."""
    return _IN_STEAD.get() or _catalogue()


@cache
def _catalogue() -> Mapping[str, Material]:
    return MappingProxyType({material.name: material for material, _ in _entries()})


def replaced() -> bool:
    """Whether rows stand in the stead of the catalogue's own, see `with_rows`."""
    return _IN_STEAD.get() is not None


@contextmanager
def with_rows(rows: Iterable[Material]) -> Iterator[None]:
    """A catalogue in which some rows stand in the stead of its own, for as long as the context lasts.

    Args:
        rows: materials that count instead of those of the same names.
    """
    token = _IN_STEAD.set(MappingProxyType({**_catalogue(), **{material.name: material for material in rows}}))
    try:
        yield
    finally:
        _IN_STEAD.reset(token)


def find(word: str) -> tuple[Material, ...]:
    """The catalogue's materials that a search finds, in the catalogue's order.

    Args:
        word: one word or several; a material is found where each of them, in upper or lower case, is part of its name,
            aliases, group or source. A word of up to three letters counts as part of a longer one only where it stands
            nowhere by itself. An empty text finds all.
    """
    texts = {
        material: "\n".join((material.name, *aliases, material.group, material.source)).casefold()
        for material, aliases in _entries()
    }
    found = set(texts)
    for each in word.casefold().split():
        hits = {material for material, text in texts.items() if each in text}
        if len(each) <= _SHORT:
            alone = re.compile(rf"(?<!\w){re.escape(each)}(?!\w)")
            hits = {material for material in hits if alone.search(texts[material])} or hits
        found &= hits
    return tuple(material for material in texts if material in found)


def get(name: str) -> Material:
    """The catalogue's material of this name.

    Args:
        name: the name as the catalogue writes it.

    Raises:
        UnknownMaterialError: there is none.
    """
    known = catalogue()
    if name not in known:
        raise UnknownMaterialError(name, _nearest(name, known))
    return known[name]


def _nearest(name: str, known: Mapping[str, Material]) -> tuple[str, ...]:
    """Up to three known names like the one typed: by an alias, the whole name, a search, or else by its words."""
    from difflib import get_close_matches

    typed = name[:_LONGEST_NAME].casefold()
    words = [word for word in typed.split() if len(word) > 2]  # "of" and "1 %" say nothing
    found = [material.name for material, aliases in _entries() if typed in aliases]
    found = found or get_close_matches(typed, known, n=3, cutoff=0.6)
    if words and not found:
        found = [material.name for material in find(" ".join(words))]
    if words and not found:
        split = {m.name: set(" ".join((m.name, *aliases)).replace(",", " ").split()) for m, aliases in _entries()}
        vocabulary = set().union(*split.values())
        likely = {like for word in words for like in get_close_matches(word, vocabulary, n=1, cutoff=0.75)}
        found = [each for each in known if likely & split[each]]
    return tuple(found[:3])


@cache
def _entries() -> tuple[tuple[Material, tuple[str, ...]], ...]:
    """Each material of the file with its aliases."""
    import csv

    # The module's own loader reads from a folder and from a zip alike; importlib.resources takes far longer to import.
    path = f"{__file__.rpartition(os.sep)[0]}{os.sep}data{os.sep}materials.csv"
    text = __spec__.loader.get_data(path).decode("utf-8")  # type: ignore[union-attr] # both loaders have it
    head, *rows = csv.reader(text.splitlines())
    named = [dict(zip(head, row, strict=True)) for row in rows]
    return tuple((_read_row(row), tuple(row["aliases"].split("; ")) if row["aliases"] else ()) for row in named)


def _read_row(row: dict[str, str]) -> Material:
    """The material of one row of the file."""
    return Material(
        name=row["name"],
        conductivity=float(row["conductivity"]),
        conductivity_along=_number(row["conductivity_along"]),
        group=row["group"],
        hatch=row["hatch"],
        low=_number(row["low"]),
        high=_number(row["high"]),
        density=_number(row["density"]),
        vapour_factor=_number(row["vapour_factor"]),
        source=row["source"],
        read=row["read"] == "yes",
    )


def _number(text: str) -> float | None:
    """The number of a cell; None for an empty one."""
    return float(text) if text else None


# -- rows that travel --------------------------------------------------------------------------------------------------

MOST_ROWS = 1000
"""More rows are refused."""
_LONGEST_CELL = 2000  # characters


def rows_text(materials: Iterable[Material]) -> str:
    """Rows of the catalogue as CSV, every number with all its digits.

    Args:
        materials: whose rows.
    """
    import csv
    import io

    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    names = [field.name for field in fields(Material)]
    writer.writerow(names)
    for material in materials:
        cells = {name: getattr(material, name) for name in names} | {"read": "yes" if material.read else "no"}
        writer.writerow(["" if cells[name] is None else cells[name] for name in names])
    return text.getvalue()


def read_rows(text: str) -> tuple[Material, ...]:
    """The materials of rows that `rows_text` wrote.

    Args:
        text: CSV.

    Raises:
        ValueError: it is none, or a row is no material; the message says which.
    """
    import csv

    lines = text.splitlines()
    if len(lines) > MOST_ROWS:
        raise ValueError(f"it has {len(lines)} rows; at most {MOST_ROWS} are read")
    try:
        head, *rows = csv.reader(lines, strict=True)
    except (csv.Error, ValueError):
        raise ValueError("it is no CSV with a heading") from None
    if head != [field.name for field in fields(Material)]:
        raise ValueError("its heading is not the catalogue's")
    found = []
    for number, row in enumerate(rows, start=2):
        try:
            found.append(_checked(_read_row(dict(zip(head, row, strict=True)))))
        except ValueError:
            raise ValueError(f"its row {number} is no material") from None
    return tuple(found)


def _checked(material: Material) -> Material:
    """A material from elsewhere whose texts can be printed and whose numbers can be computed with."""
    for text in (material.name, material.source):
        if len(text) > _LONGEST_CELL or not text.isprintable():
            raise ValueError(text)
    if not material.name or material.group not in GROUPS or material.hatch not in HATCHES:
        raise ValueError(material.name)
    for number in (material.conductivity, material.conductivity_along, material.low, material.high):
        if number is not None and not (math.isfinite(number) and number > 0.0):
            raise ValueError(material.name)
    return material
