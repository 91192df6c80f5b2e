"""Named sets of limits: those that come with the program, and a building's own in a file.

Part of reading a detail file: a name that the file chooses -> **limits**. The data stand in `data/requirements.toml`.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

from bridge2d.detail import Requirement
from bridge2d.detail_blocks import RequirementBlock
from bridge2d.detail_findings import explained, findings
from bridge2d.detail_text import Source, parse
from bridge2d.errors import InputError, nearest
from bridge2d.files_beside import Kind, text_of
from bridge2d.junctions.declaration import LineOfText

OWN = Kind("file of requirement sets", "our_limits.toml", largest=200_000)
"""What a file of own sets is, as a file beside the detail file."""
REMEMBERED = " (remembered)"
"""Ends the source of a value that was not read there."""


@dataclass(frozen=True, slots=True)
class RequirementSet:
    """Limits under one name.

    Attributes:
        name: by which a detail file or a building chooses it.
        title: whose limits they are.
        applies: to which uses, climates or conditions; may be empty.
        requirements: the limits, each with its source.
        read: whether the values were read at their source; None where that is not said.
    """

    name: str
    title: str
    applies: str
    requirements: tuple[Requirement, ...]
    read: bool | None = None


class _SetBlock(BaseModel):
    """A set as its file writes it: a table by its name with [[NAME.requirement]] blocks."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    title: LineOfText = ""
    applies: LineOfText = ""
    source: LineOfText = ""
    read: bool | None = None
    requirement: tuple[RequirementBlock, ...] = Field(
        min_length=1, description="write one [[NAME.requirement]] or more"
    )

    @model_validator(mode="before")
    @classmethod
    def _with_source(cls, data: Any) -> Any:
        """The blocks with the set's source where they have none of their own."""
        if not isinstance(data, dict) or "source" not in data or not isinstance(data.get("requirement"), list):
            return data
        source = {"source": data["source"]}
        return data | {"requirement": [source | b if isinstance(b, dict) else b for b in data["requirement"]]}

    def named(self, name: str) -> RequirementSet:
        """The set under its name."""
        ending = REMEMBERED if self.read is False else ""
        limits = tuple(_ending(block.requirement(), ending) for block in self.requirement)
        return RequirementSet(name, self.title or name, self.applies, limits, self.read)


def _ending(limit: Requirement, ending: str) -> Requirement:
    return replace(limit, source=limit.source + ending) if ending else limit


@cache
def requirement_sets() -> Mapping[str, RequirementSet]:
    """The sets that come with the program, by name."""
    path = "data/requirements.toml"
    return _read(resources.files("bridge2d").joinpath(path).read_text(encoding="utf-8"), path)


def own_sets(data: bytes, path: str) -> Mapping[str, RequirementSet]:
    """The sets of a file, by name.

    Args:
        data: the file's bytes: TOML with a table for each set.
        path: of the file, for messages.

    Raises:
        InputError: whatever is wrong with it, with line and key.
    """
    text = text_of(data, path)
    found = _read(text, path)
    for name in found:
        if name in requirement_sets():
            source = Source(text, Path(path))
            raise source.error((name,), "a set of this name comes with the program", "choose another name")
    return found


def requirement_set(name: str, own: Mapping[str, RequirementSet] | None = None) -> tuple[Requirement, ...]:
    """The limits of a set.

    Args:
        name: of the set.
        own: sets beside those that come with the program, see `own_sets`.

    Raises:
        InputError: there is no such set; the message names those most like it.
    """
    known = {**requirement_sets(), **(own or {})}
    if name not in known:
        raise InputError(f"there is no requirement set {name[:60]!r}", right=_like(name, known))
    return known[name].requirements


def _like(name: str, known: Mapping[str, RequirementSet]) -> str:
    listed = "`bridge2d requirements` lists the sets"
    starting = [one for one in known if name and one.startswith(name.casefold())]
    like = starting[:4] or [one for one in (nearest(name, known),) if one]
    return f"did you mean {' or '.join(map(repr, like))}? {listed}" if like else listed


def matching(word: str = "", own: Mapping[str, RequirementSet] | None = None) -> tuple[RequirementSet, ...]:
    """The sets of which a word is part of the name, the title or what they apply to; all for no word.

    Args:
        word: what is looked for.
        own: sets beside those that come with the program.

    Raises:
        InputError: nothing matches.
    """
    known = {**requirement_sets(), **(own or {})}
    found = _holding([word], known) or _holding(word.split(), known)
    if not found:
        raise InputError(f"no requirement set matches {word[:60]!r}", right=_like(word, known))
    return found


def _holding(parts: list[str], known: Mapping[str, RequirementSet]) -> tuple[RequirementSet, ...]:
    """The sets in which every part begins a word."""
    patterns = [re.compile(rf"(?<!\w){re.escape(part)}", re.IGNORECASE) for part in parts]
    return tuple(
        one
        for one in known.values()
        if all(pattern.search(f"{one.name} {one.title} {one.applies}") for pattern in patterns)
    )


def _read(text: str, path: str) -> dict[str, RequirementSet]:
    source = Source(text, Path(path))
    found = {}
    for name, table in parse(source).items():
        if not isinstance(table, dict):
            right = (
                f"write [[{name}.requirement]] with its keys below it" if isinstance(table, list) else "leave it out"
            )
            raise source.error((name,), "is no set", right)
        try:
            found[name] = _SetBlock.model_validate(table).named(name)
        except ValidationError as error:
            raise explained(findings(error)[0], _SetBlock, (name,), source) from None
    if not found:
        raise InputError("the file holds no set", file=path, right="write [NAME] and [[NAME.requirement]] blocks")
    return found
