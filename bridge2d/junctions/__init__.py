"""The junctions, one file each; a junction is imported when it is asked for, so that a cold start stays quick."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bridge2d.junctions.declaration import Junction

NAMES = (
    "joist_pocket",
    "window_box",
    "wall_corner",
    "party_wall",
    "partition_end",
    "floor_slab",
    "roof_edge",
    "framed_wall",
    "hatch_curb",
    "fixing",
    "sleeve",
    "free_section",
)
"""Every junction: the name in a detail file is the name of the module that exposes `JUNCTION`."""


class _Registry(Mapping[str, "Junction"]):
    """The junctions by name, each imported on first use."""

    def __getitem__(self, name: str) -> Junction:
        if name not in NAMES:
            raise KeyError(name)
        junction: Junction = import_module(f"{__name__}.{name}").JUNCTION
        return junction

    def __iter__(self) -> Iterator[str]:
        return iter(NAMES)

    def __len__(self) -> int:
        return len(NAMES)


def junctions() -> Mapping[str, Junction]:
    """Every junction by its name; looking one up imports it, listing the names imports none."""
    return _Registry()
