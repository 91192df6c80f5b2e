"""Reads and checks a building file; nothing is computed.

First step of a schedule: **building file** -> building -> details computed -> sums -> documents. Whatever is wrong is
said in one message with the file, the line, the key and what would be right.
"""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "1")  # looking for plugins takes as long as reading a file

from pydantic import ValidationError

from bridge2d.building.blocks import BuildingBlock, ElementBlock, JunctionBlock
from bridge2d.building.records import Building, DetailNumbers, Element, Junction, Variant
from bridge2d.detail import DIMENSION_SYSTEMS, Detail, Requirement
from bridge2d.detail_findings import explained, findings, unknown_key
from bridge2d.detail_text import Source, parse, read_text
from bridge2d.errors import InputError
from bridge2d.files_beside import bytes_beside
from bridge2d.requirement_sets import OWN, own_sets, requirement_set

MOST_JUNCTIONS = 2000
"""A building with more entries is refused."""
IN_WORDS = {"external": "external", "internal": "internal", "overall_internal": "overall internal"}


def load(path: str | Path) -> tuple[Building, Source]:
    """Read a building file.

    Args:
        path: the TOML file; its details are named from its folder.

    Returns:
        The building, and the file for later messages.

    Raises:
        InputError: whatever is wrong with it.
    """
    path = Path(path)
    return read(read_text(path), path)


def read(text: str, path: Path, attached: Mapping[str, bytes] | None = None) -> tuple[Building, Source]:
    """The building of a file whose text is already at hand, see `load`.

    Args:
        text: TOML.
        path: the name that messages give it.
        attached: its file of own sets by the name that the text gives it; then no other file is opened, and the texts
            of the details stay empty. None reads all of them from the folder of the path.

    Raises:
        InputError: whatever is wrong with it.
    """
    source = Source(text, path)
    data = parse(source)
    block = _validated(data, source)
    requirements, sets = _requirements(block, source, attached)
    _check_entries(block, source)
    texts = None if attached is None else dict.fromkeys((one.detail for one in block.junction), "")
    junctions, variants = _junctions(block, requirements, source, texts)
    building = Building(
        title=block.title or path.stem,
        project=block.project,
        revision=block.revision,
        author=block.author,
        date=block.date,
        dimensions=block.dimensions,
        requirements=requirements,
        requirement_set=block.requirements,
        junctions=junctions,
        elements=tuple(Element(e.name, e.group, e.area, e.u_value, e.source) for e in block.element),
        variants=variants,
        path=path,
        text=source.text,
        sets=sets,
    )
    return building, source


def wrong_keys(text: str, path: Path) -> tuple[InputError, ...]:
    """All that is wrong with the keys of a building file, in its order; none of its details is opened.

    Args:
        text: TOML.
        path: the name that messages give it.

    Raises:
        InputError: it is no TOML, or no building at all.
    """
    source = Source(text, path)
    return tuple(_findings(parse(source), source)[1])


def _validated(data: Mapping[str, Any], source: Source) -> BuildingBlock:
    block, wrong = _findings(data, source)
    if wrong or block is None:
        raise wrong[0]
    return block


def _findings(data: Mapping[str, Any], source: Source) -> tuple[BuildingBlock | None, list[InputError]]:
    """What the file holds, and all that is wrong with its keys by their lines."""
    known = tuple(BuildingBlock.model_fields)
    if "junction" in data and isinstance(data["junction"], str):
        right = "name a building file here, or compute this one with `bridge2d solve` or `bridge2d report`"
        raise source.error(("junction",), "this is a detail file, not a building", right)
    wrong = [unknown_key((key,), known, source) for key in data if key not in known]
    block: BuildingBlock | None = None
    try:
        block = BuildingBlock.model_validate(data)
    except ValidationError as error:
        wrong += [explained(one, BuildingBlock, (), source) for one in findings(error)]
    return block, sorted(wrong, key=lambda error: error.line or 10**9)


def _requirements(
    block: BuildingBlock, source: Source, attached: Mapping[str, bytes] | None
) -> tuple[tuple[Requirement, ...], tuple[str, bytes] | None]:
    """The building's limits and those of its set, all in its dimension system; and its file of own sets."""
    own = tuple(one.requirement() for one in block.requirement)
    for number, one in enumerate(own):
        _same_system(one.dimensions, block.dimensions, ("requirement", number, "dimensions"), "limit", source)
    sets, known = None, None
    if block.requirement_sets:
        path, data = bytes_beside(block.requirement_sets, OWN, ("requirement_sets",), source, attached)
        sets, known = (block.requirement_sets, data), own_sets(data, path)
    if not block.requirements:
        return own, sets
    try:
        named = requirement_set(block.requirements, known)
    except InputError as error:
        raise source.error(("requirements",), error.message, error.right) from None
    for one in named:
        _same_system(one.dimensions, block.dimensions, ("requirements",), f"limit {one.name!r} of this set", source)
    return own + named, sets


def _check_entries(block: BuildingBlock, source: Source) -> None:
    if not block.junction:
        raise source.error((), "the building has no junctions", "add a [[junction]] block")
    if len(block.junction) > MOST_JUNCTIONS:
        right = f"a building may have {MOST_JUNCTIONS}; divide it"
        raise source.error(("junction", MOST_JUNCTIONS), f"there are {len(block.junction)} junctions", right)
    for number, one in enumerate(block.junction):
        what = "Ψ" if one.psi is not None else "junction"
        _same_system(one.dimensions or "", block.dimensions, ("junction", number, "dimensions"), what, source)
    for number, element in enumerate(block.element):
        _same_system(element.dimensions or "", block.dimensions, ("element", number, "dimensions"), "area", source)
    _check_names(block, source)


def _same_system(stated: str, building: str, path: tuple[str | int, ...], what: str, source: Source) -> None:
    """Refuse what is measured in another way than the building."""
    if stated and stated != building:
        own, other = IN_WORDS[building], IN_WORDS[stated]
        message = f"the {what} is for {other} dimensions, and the building is measured in {own} ones"
        right = f"give it for {own} dimensions; different systems cannot be added up"
        raise source.error(path, message, right)


def _check_names(block: BuildingBlock, source: Source) -> None:
    """Refuse references given twice, and groups that differ in capitals alone, which spreadsheets take for one."""
    refs: dict[str, int] = {}
    for number, one in enumerate(block.junction):
        ref = one.ref or str(number + 1)
        if ref in refs:
            right = f"[[junction]] {refs[ref] + 1} has it already; give each its own"
            raise source.error(("junction", number, "ref"), f"the reference {ref[:40]!r} is given twice", right)
        refs[ref] = number
    groups: dict[str, str] = {}
    blocks: list[tuple[str, int, JunctionBlock | ElementBlock]] = [
        *(("junction", k, one) for k, one in enumerate(block.junction)),
        *(("element", k, one) for k, one in enumerate(block.element)),
    ]
    for kind, number, entry in blocks:
        before = groups.setdefault(entry.group.casefold(), entry.group)
        if before != entry.group:
            right = "write both alike if they are one, or give one another name"
            message = f"the group {entry.group[:40]!r} differs from {before[:40]!r} in capitals alone"
            raise source.error((kind, number, "group"), message, right)


def _junctions(
    block: BuildingBlock, requirements: tuple[Requirement, ...], source: Source, known: dict[str, str] | None
) -> tuple[tuple[Junction, ...], tuple[Variant, ...]]:
    """The entries, and every detail that they use, each once."""
    texts: dict[str, str] = known or {}
    variants: dict[str, Variant] = {}
    users: dict[str, list[int]] = {}
    junctions = []
    for number, one in enumerate(block.junction):
        variant = None
        if one.detail:
            text = _detail_text(one.detail, number, texts, source)
            title = one.name if one.parameters else ""
            found = Variant(_path_of(one.detail, source), text, one.parameters, title, requirements)
            key = json.dumps([one.detail, one.parameters, title], sort_keys=True, default=str)
            variants.setdefault(key, found)
            users.setdefault(key, []).append(number)
            variant = list(variants).index(key)
        junctions.append(
            Junction(
                one.ref or str(number + 1),
                one.name,
                one.group,
                variant,
                one.psi,
                one.chi,
                one.f_rsi,
                one.source,
                one.length,
                one.lengths,
                one.number,
            )
        )
    used = tuple(
        Variant(v.path, v.text, v.parameters, v.title, v.requirements, tuple(users[key])) for key, v in variants.items()
    )
    return tuple(junctions), used


def _path_of(name: str, source: Source) -> Path:
    return Path(source.file).parent / name


def _detail_text(name: str, number: int, texts: dict[str, str], source: Source) -> str:
    """The text of a detail file, read once; that it cannot be read is told at the key that names it."""
    if name not in texts:
        try:
            texts[name] = read_text(_path_of(name, source))
        except InputError as error:
            message = f"the detail {name[:80]!r} cannot be used: {error.message}"
            raise source.error(("junction", number, "detail"), message, error.right) from None
    return texts[name]


# -- whether a detail has what an entry asks of it -------------------------------------------------------------------


def systems_of(detail: Detail) -> tuple[str, ...]:
    """The dimension systems in which a detail will have a Ψ.

    Args:
        detail: before anything is computed.
    """
    if detail.installations:
        return DIMENSION_SYSTEMS
    section = next((s for s in detail.sections if s.name == detail.combination.psi_section), None)
    if section is None or not section.flanking or len({e.name for e in section.environments}) != 2:
        return ()
    return tuple(system for system in DIMENSION_SYSTEMS if all(system in f.lengths for f in section.flanking))


def check_use(junction: Junction, number: int, offered: Detail | DetailNumbers, building: Building, at: Source) -> None:
    """Refuse an entry that asks a detail for what it does not have.

    Args:
        junction: the entry.
        number: its place in the file, counted from 0.
        offered: the detail, before or after it was computed.
        building: says the dimension system.
        at: the building file.

    Raises:
        InputError: the detail has no Ψ in the building's dimension system, no χ, or no such side.
    """
    computed = isinstance(offered, DetailNumbers)
    systems = tuple(offered.psi) if isinstance(offered, DetailNumbers) else systems_of(offered)
    sides = [s.name for s in (offered.sides if isinstance(offered, DetailNumbers) else offered.installations)]
    has_chi = offered.chi is not None if isinstance(offered, DetailNumbers) else bool(offered.combination.chi_section)
    for side in junction.lengths:
        if side not in sides:
            right = f"its sides are {', '.join(sides)}" if sides else "write length = … (metres) or number = …"
            raise at.error(("junction", number, "lengths", side), f"the detail has no side {side[:40]!r}", right)
    if junction.length is not None and building.dimensions not in systems:
        known = " and ".join(IN_WORDS[s] for s in systems)
        found = f"only for {known} dimensions" if systems else "no Ψ at all"
        message = f"the detail has no Ψ for {IN_WORDS[building.dimensions]} dimensions ({found})"
        right = "give its flanking elements lengths in that system" + ("" if systems or not computed else ", or number")
        raise at.error(("junction", number, "detail"), message, right)
    if junction.number is not None and not (has_chi or sides):
        right = "write length = … (metres)"
        raise at.error(("junction", number, "number"), "the detail has neither a χ nor sides of a window", right)
    if junction.number is not None and junction.length is not None and sides:
        right = "write number = … (windows of the detail's size), or lengths of the sides"
        raise at.error(("junction", number, "length"), "windows are counted in two ways", right)
