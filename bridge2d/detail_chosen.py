"""What a detail file chooses beside its junction: limits, some of them by the name of a set, and a climate.

Part of reading a detail file; the files that it names for this are read here. Few details choose either, so what reads
them is loaded when it is needed.
"""

from __future__ import annotations

from collections.abc import Mapping

from pydantic import ValidationError

from bridge2d.climate import Climate
from bridge2d.detail import Requirement
from bridge2d.detail_blocks import Head
from bridge2d.detail_findings import explained, findings
from bridge2d.detail_text import Source
from bridge2d.errors import InputError
from bridge2d.files_beside import bytes_beside
from bridge2d.toml_lines import Path as KeyPath

Files = dict[str, bytes]


def chosen_limits(
    head: Head, source: Source, attached: Mapping[str, bytes] | None
) -> tuple[tuple[Requirement, ...], tuple[KeyPath, ...], Files]:
    """The limits of a detail file, the key that each comes from, and the file of own sets by its name.

    Args:
        head: the blocks of limits and the names of sets.
        source: the detail file.
        attached: files at hand by name; None reads from the detail file's folder.

    Raises:
        InputError: a set or the file of sets is missing or wrong.
    """
    limits = [block.requirement() for block in head.requirement]
    origins: list[KeyPath] = [("requirement", number) for number in range(len(limits))]
    if head.requirement_sets is None and not head.requirements:
        return tuple(limits), tuple(origins), {}
    from bridge2d.requirement_sets import OWN, own_sets, requirement_set

    files: Files = {}
    own = None
    if head.requirement_sets is not None:
        path, data = bytes_beside(head.requirement_sets, OWN, ("requirement_sets",), source, attached)
        own, files[head.requirement_sets] = own_sets(data, path), data
    for number, name in enumerate(head.requirements):
        key = ("requirements", number)
        try:
            found = requirement_set(name, own)
        except InputError as error:
            raise source.error(key, error.message, error.right) from None
        limits += found
        origins += [key] * len(found)
    return tuple(limits), tuple(origins), files


def chosen_climate(head: Head, source: Source, attached: Mapping[str, bytes] | None) -> tuple[Climate | None, Files]:
    """The climate of a detail file and its table by name; None where the file has none.

    Args:
        head: the block.
        source: the detail file.
        attached: files at hand by name; None reads from the detail file's folder.

    Raises:
        InputError: a value or the table is missing or wrong.
    """
    if head.climate is None:
        return None, {}
    from bridge2d.climate_block import ClimateBlock
    from bridge2d.climate_file import climate_of

    try:
        block = ClimateBlock.model_validate(head.climate)
    except ValidationError as error:
        raise explained(findings(error)[0], ClimateBlock, ("climate",), source) from None
    return climate_of(block, source, attached)
