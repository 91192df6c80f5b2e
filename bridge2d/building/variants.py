"""The text of a detail file as a building uses it, and the way back from a message to the line at fault.

Part of the step building -> details computed. The text stays a detail file: whoever has it computes the same numbers.
"""

from __future__ import annotations

import tomllib
from typing import Any

from bridge2d.building.reading import systems_of
from bridge2d.building.records import Variant
from bridge2d.detail import Detail, Requirement
from bridge2d.detail_file import LoadedDetail, read
from bridge2d.detail_text import Source
from bridge2d.errors import InputError
from bridge2d.toml_lines import Path as KeyPath
from bridge2d.units import SI, UnitSystem


def loaded_variant(variant: Variant, building: Source, shown: UnitSystem = SI) -> LoadedDetail:
    """The detail with the building's parameters, title and limits; its sections are not checked.

    Args:
        variant: what the building makes of a detail file.
        building: the building file, for messages.
        shown: system of units in which it is shown.

    Raises:
        InputError: the detail file is wrong, or what the building changes does not fit it.
    """
    text = _with_changes(variant, building)
    try:
        loaded = read(text, variant.path, geometry=False, shown=shown)
    except InputError as error:
        raise in_building(error, variant, building) from None
    added = tuple(r for r in variant.requirements if applies(r, loaded.detail))
    if not added:
        return loaded
    edited = _edited(text, {}, "", added, variant, building)
    return read(edited, variant.path, geometry=False, shown=shown)


def in_building(error: InputError, variant: Variant, building: Source) -> InputError:
    """The message about a detail, at the line of the file that is at fault.

    Args:
        error: what reading or computing the detail as the building uses it said.
        variant: the detail.
        building: the building file.
    """
    try:
        read(variant.text, variant.path)
    except InputError as own:
        return own  # the detail file is wrong by itself, and its lines are its own
    entry: KeyPath = ("junction", variant.users[0])
    if not variant.parameters:
        return building.error((*entry, "detail"), f"the detail cannot be used: {error.message}", error.right)
    named = error.key.partition(".")[2].partition(",")[0].partition(".")[0]
    path: KeyPath = (*entry, "parameters", *([named] if named in variant.parameters else []))
    return building.error(path, error.message, error.right)


def _with_changes(variant: Variant, building: Source) -> str:
    if not variant.parameters and not variant.title:
        return variant.text
    return _edited(variant.text, variant.parameters, variant.title, (), variant, building)


def _edited(
    text: str,
    parameters: Any,
    title: str,
    requirements: tuple[Requirement, ...],
    variant: Variant,
    building: Source,
) -> str:
    """The text with its comments kept, and values put in."""
    import tomlkit

    entry = ("junction", variant.users[0])
    try:
        document = tomlkit.parse(text)
        if title:
            document["title"] = title
        if parameters:
            if "parameters" not in document:
                document["parameters"] = tomlkit.table()
            table: Any = document["parameters"]
            for key, value in parameters.items():
                table[key] = value
        if requirements:
            _append_requirements(document, requirements)
        edited = tomlkit.dumps(document)
        tomllib.loads(edited)
    except Exception as error:  # noqa: BLE001 - tomlkit has no one family of errors; the file itself has been read
        reading = read(variant.text, variant.path, geometry=False)  # a file that is wrong says so by itself
        message = f"the detail {reading.path.name} cannot be changed: {str(error)[:120]}"
        raise building.error((*entry, "detail"), message, "put the changes into a file of their own") from None
    return edited


def _append_requirements(document: Any, requirements: tuple[Requirement, ...]) -> None:
    import tomlkit

    inline = isinstance(document.get("requirement"), tomlkit.items.Array)
    for one in requirements:
        block: Any = tomlkit.inline_table() if inline else tomlkit.table()
        block["quantity"] = one.quantity
        if one.dimensions:
            block["dimensions"] = one.dimensions
        block[one.sense] = one.limit
        block["name"] = one.name
        block["source"] = one.source
        if "requirement" not in document:
            document["requirement"] = tomlkit.aot()
        document["requirement"].append(block)


def applies(requirement: Requirement, detail: Detail) -> bool:
    """Whether a detail has the number that a limit of the building asks for, and not that limit already.

    Args:
        requirement: of the building.
        detail: as it was read.
    """
    alike = {(own.quantity, own.dimensions, own.limit) for own in detail.requirements}
    if (requirement.quantity, requirement.dimensions, requirement.limit) in alike:
        return False
    if requirement.quantity == "chi":
        return bool(detail.combination.chi_section)
    if requirement.quantity == "psi":
        return requirement.dimensions in systems_of(detail)
    return True
